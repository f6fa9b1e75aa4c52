//! Figures for reading: aligned columns that fit a terminal.

use super::{ArrangementFigures, SetFigures};
use crate::quantity::{engineering, signed};
use crate::words::{self, loudness_with_figures};

/// What stands between two columns.
const GAP: &str = "  ";
/// Words are not broken into columns narrower than this.
const LEAST: usize = 16;

/// A column: its heading, in one or two lines, and whether its cells stand at the right.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    heading: [&'static str; 2],
    right: bool,
}

/// Rows of text in aligned columns.
#[derive(Debug, Clone)]
pub struct TextTable {
    columns: Vec<Column>,
    rows: Vec<Vec<String>>,
}

impl Column {
    /// Returns a column of words.
    pub const fn words(heading: [&'static str; 2]) -> Self {
        Self { heading, right: false }
    }

    /// Returns a column of numbers.
    pub const fn numbers(heading: [&'static str; 2]) -> Self {
        Self { heading, right: true }
    }

    /// Returns the heading in one line.
    pub fn title(&self) -> String {
        let [upper, lower] = self.heading;
        // A word that is broken at the end of the first line is put together again.
        match upper.strip_suffix('-') {
            Some(part) => format!("{part}{lower}"),
            None => format!("{upper} {lower}").trim().to_owned(),
        }
    }

    /// Returns whether the column holds numbers.
    pub fn is_numbers(&self) -> bool {
        self.right
    }
}

impl TextTable {
    /// Returns a table without rows.
    pub fn new(columns: impl Into<Vec<Column>>) -> Self {
        Self { columns: columns.into(), rows: Vec::new() }
    }

    /// Returns the columns.
    pub fn columns(&self) -> &[Column] {
        &self.columns
    }

    /// Returns the rows, one cell a column.
    pub fn rows(&self) -> &[Vec<String>] {
        &self.rows
    }

    /// Adds a row of as many cells as there are columns.
    pub fn row(&mut self, cells: impl IntoIterator<Item = String>) {
        self.rows.push(cells.into_iter().collect());
        debug_assert_eq!(self.rows.last().map(Vec::len), Some(self.columns.len()));
    }
}

impl TextTable {
    /// Returns the table in lines of at most `width` characters: where it is wider, its words are broken, and where
    /// that is not enough, each row is written cell by cell.
    pub fn within(&self, width: usize) -> String {
        let Some(widths) = self.widths(width) else { return self.row_by_row(width) };
        let headings = (0..2).map(|line| self.columns.iter().map(|c| c.heading[line].to_owned()).collect());
        let lines: Vec<String> = headings
            .chain(self.rows.iter().cloned())
            .flat_map(|cells: Vec<String>| self.lines(&cells, &widths))
            .collect();
        lines.join("\n")
    }

    /// Returns the columns' widths in a table that is not wider than `width`; `None` where its words would have to be
    /// broken too finely to be read.
    fn widths(&self, width: usize) -> Option<Vec<usize>> {
        let heading = |i: usize| self.columns[i].heading.iter().map(|h| length(h)).max().unwrap_or(0);
        let cells = |i: usize| self.rows.iter().map(|row| length(&row[i])).max().unwrap_or(0);
        let mut widths: Vec<usize> = (0..self.columns.len()).map(|i| heading(i).max(cells(i))).collect();
        let gaps = GAP.len() * widths.len().saturating_sub(1);
        while widths.iter().sum::<usize>() + gaps > width {
            let can_give = |i: &usize| !self.columns[*i].right && widths[*i] > heading(*i).max(LEAST);
            let widest = (0..widths.len()).filter(can_give).max_by_key(|i| widths[*i])?;
            widths[widest] -= 1;
        }
        Some(widths)
    }

    /// Returns one row's lines.
    fn lines(&self, cells: &[String], widths: &[usize]) -> Vec<String> {
        let broken: Vec<Vec<String>> =
            cells.iter().zip(widths).map(|(cell, width)| filled(&pieces(cell), *width)).collect();
        let count = broken.iter().map(Vec::len).max().unwrap_or(0);
        let line = |i: usize| {
            let cells = broken.iter().zip(&self.columns).zip(widths).map(|((parts, column), width)| {
                let part = parts.get(i).map_or("", String::as_str);
                if column.right { format!("{part:>width$}") } else { format!("{part:<width$}") }
            });
            cells.collect::<Vec<_>>().join(GAP).trim_end().to_owned()
        };
        (0..count).map(line).collect()
    }

    /// Returns each row as a list of its cells, each after its heading.
    fn row_by_row(&self, width: usize) -> String {
        let inner = width.saturating_sub(GAP.len());
        let row = |cells: &Vec<String>| {
            let titled = self.columns.iter().zip(cells).filter(|(_, cell)| !cell.is_empty());
            let mut items: Vec<String> =
                titled.map(|(column, cell)| format!("{}: {cell}, ", column.title())).collect();
            if let Some(last) = items.last_mut() {
                last.truncate(last.len() - ", ".len());
            }
            let whole_or_broken = |item| if length(item) > inner { pieces(item) } else { vec![item] };
            let parts: Vec<&str> = items.iter().map(String::as_str).flat_map(whole_or_broken).collect();
            filled(&parts, inner).join(&format!("\n{GAP}"))
        };
        self.rows.iter().map(row).collect::<Vec<_>>().join("\n")
    }
}

impl std::fmt::Display for TextTable {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.within(usize::MAX))
    }
}

fn length(text: &str) -> usize {
    text.chars().count()
}

/// Returns the parts between which a cell may be broken: words, and what a position's name joins by `+`.
fn pieces(text: &str) -> Vec<&str> {
    let breaks = text.char_indices().filter_map(|(at, c)| match c {
        ' ' => Some(at + 1),
        '+' => Some(at),
        _ => None,
    });
    let ends: Vec<usize> = breaks.chain([text.len()]).collect();
    let starts = std::iter::once(0).chain(ends.iter().copied());
    starts.zip(&ends).map(|(start, end)| &text[start..*end]).filter(|piece| !piece.is_empty()).collect()
}

/// Returns `pieces` in lines of at most `width` characters; one that is longer is broken after its hyphens, and where
/// that is not enough it is cut, for nothing may be left out.
fn filled(pieces: &[&str], width: usize) -> Vec<String> {
    let width = width.max(1);
    let is_long = |part: &&str| length(part.trim_end()) > width;
    let finer = pieces.iter().flat_map(|piece| -> Vec<&str> {
        if is_long(piece) { piece.split_inclusive(['-', '=']).collect() } else { vec![piece] }
    });
    let mut lines = vec![String::new()];
    for part in finer {
        let line = lines.last_mut().expect("there is always a line");
        if length(line) + length(part.trim_end()) <= width {
            line.push_str(part);
            continue;
        }
        if line.is_empty() {
            lines.pop();
        }
        let (word, space) = part.split_at(part.trim_end().len());
        let characters: Vec<char> = word.chars().collect();
        lines.extend(characters.chunks(width).map(|cut| cut.iter().collect::<String>()));
        lines.last_mut().expect("a part has a character").push_str(space);
    }
    lines.iter().map(|line| line.trim_end().to_owned()).collect()
}

impl SetFigures {
    /// Returns the response's figures as a table.
    pub fn response_table(&self) -> TextTable {
        let low = self.baseline().and_then(|b| b.gain_low_db);
        let mut table = TextTable::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["peak", "kHz"]),
            Column::numbers(["peak", "dB"]),
            Column::numbers(["", "Q"]),
            Column::numbers(["−3 dB", "kHz"]),
            Column::numbers(["100 Hz", "dB"]),
            Column::words(["hum,", "at most"]),
            Column::numbers(["ohms", "at jack"]),
            Column::words(["", "strings"]),
        ]);
        for a in &self.arrangements {
            table.row([
                a.name.clone(),
                number(a.peak_hz.map(|f| f / 1000.0), 2),
                number(a.peak_db, 1),
                number(a.q, 2),
                number(a.cutoff_hz.map(|f| f / 1000.0), 2),
                number(a.gain_low_db.zip(low).map(|(own, low)| own - low), 1),
                hum(a),
                quantity(a.dc_at_jack_ohm, "Ω"),
                if a.in_phase { "in phase" } else { "against" }.to_owned(),
            ]);
        }
        table
    }

    /// Returns how far the levels are from the baseline's, and the noise, as a table.
    pub fn level_table(&self) -> TextTable {
        let mut table = TextTable::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["change", "RMS dB"]),
            Column::numbers(["change", "LU"]),
            Column::numbers(["noise", "dBV"]),
            Column::numbers(["noise", "dBV (A)"]),
        ]);
        for a in &self.arrangements {
            table.row([
                a.name.clone(),
                number(a.drop_rms_db, 1),
                number(a.drop_loudness_lu, 1),
                number(a.noise_dbv, 1),
                number(a.noise_dbv_a, 1),
            ]);
        }
        table
    }

    /// Returns what a listener would tell of the files, and the noise without any sound, as a table.
    pub fn heard_table(&self) -> TextTable {
        let mut table = TextTable::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["noise", "dBV (A)"]),
            Column::numbers(["loudness", "sone"]),
            Column::words(match self.amplifier {
                None => ["heard against the baseline,", "clean, at 60 to 85 dB SPL"],
                Some(_) => ["heard against the baseline,", "amplified, at 60 to 85 dB SPL"],
            }),
        ]);
        for a in &self.arrangements {
            let words = a.drop_heard_percent_60_to_85.map(loudness_with_figures);
            table.row([
                a.name.clone(),
                number(a.noise_dbv_a, 1),
                number(a.loudness_sone, 1),
                words.unwrap_or_else(|| "–".to_owned()),
            ]);
        }
        table
    }

    /// Returns what is left of each change behind the amplifier beside what it is at the jack, in dB of RMS, in LU and in percent
    /// of the loudness in sones, as a table; nothing where there is no amplifier.
    pub fn amplifier_table(&self) -> Option<TextTable> {
        self.amplifier.as_ref()?;
        let mut table = TextTable::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["jack", "dB"]),
            Column::numbers(["loudsp.", "dB"]),
            Column::numbers(["jack", "LU"]),
            Column::numbers(["loudsp.", "LU"]),
            Column::numbers(["jack", "%"]),
            Column::numbers(["loudsp.", "%"]),
            Column::numbers(["added", "dB"]),
            Column::numbers(["broken", "up %"]),
        ]);
        for a in &self.arrangements {
            let Some(amplified) = &a.amplified else { continue };
            let jack = &amplified.at_jack;
            table.row([
                a.name.clone(),
                number(jack.drop_rms_db, 1),
                number(a.drop_rms_db, 1),
                number(jack.drop_loudness_lu, 1),
                number(a.drop_loudness_lu, 1),
                number(jack.drop_heard_percent, 0),
                number(a.drop_heard_percent, 0),
                number(amplified.added_sound_db, 0),
                number(amplified.broken_up_percent, 0),
            ]);
        }
        Some(table)
    }

    /// Returns what was measured on the files as a table.
    pub fn sound_table(&self) -> TextTable {
        let mut table = TextTable::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["change", "RMS dB"]),
            Column::numbers(["change", "LU"]),
            Column::numbers(["as is", "LUFS"]),
            Column::numbers(["peak", "dBTP"]),
            Column::numbers(["centroid", "Hz"]),
            Column::numbers(["gain to", "match dB"]),
            Column::numbers(["matched", "LUFS"]),
        ]);
        for a in &self.arrangements {
            let (as_is, matched) = (a.as_is.as_ref(), a.matched.as_ref());
            let to_match = matched.zip(as_is).map(|(m, o)| m.gain_db - o.gain_db);
            table.row([
                a.name.clone(),
                nearly(a, a.drop_rms_db),
                nearly(a, a.drop_loudness_lu),
                number(as_is.and_then(|f| f.loudness_lufs), 1),
                number(as_is.and_then(|f| f.true_peak_dbtp), 1),
                number(as_is.and_then(|f| f.spectral_centroid_hz), 0),
                number(to_match, 1),
                number(matched.and_then(|f| f.loudness_lufs), 1),
            ]);
        }
        table
    }
}

/// Returns a level against the baseline, marked where the source gives the arrangement only approximately.
fn nearly(arrangement: &ArrangementFigures, level: Option<f64>) -> String {
    let mark = if arrangement.approximate == Some(true) { "≈ " } else { "" };
    level.map_or_else(|| "–".to_owned(), |level| format!("{mark}{}", signed(level, 1)))
}

fn hum(arrangement: &ArrangementFigures) -> String {
    let most = arrangement.hum_band_db.and_then(|[_, most]| most);
    most.map_or_else(|| words::hum(arrangement.hum_db), |most| format!("{} dB", signed(most, 1)))
}

fn number(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "–".to_owned(), |v| signed(v, digits))
}

fn quantity(value: Option<f64>, symbol: &str) -> String {
    value.map_or_else(|| "–".to_owned(), |v| engineering(v, symbol, 3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_aligned_by_characters_and_lines_end_without_spaces() {
        let mut table = TextTable::new([Column::words(["", "name"]), Column::numbers(["drop", "dB"])]);
        table.row(["series".into(), "0.0".into()]);
        table.row(["parallel".into(), signed(-5.94, 1)]);
        assert_eq!(table.to_string(), "          drop\nname        dB\nseries     0.0\nparallel  −5.9");
    }

    fn long_names() -> TextTable {
        let mut table = TextTable::new([
            Column::words(["", "position"]),
            Column::numbers(["reson.", "kHz"]),
            Column::words(["", "strings"]),
        ]);
        for name in ["selector:1", "selector:2+bridge=split-a+neck=parallel-reversed", &"long-".repeat(12)] {
            table.row([name.into(), "10.25".into(), "in phase".into()]);
        }
        table
    }

    #[test]
    fn no_line_is_wider_than_asked_and_nothing_is_lost() {
        let table = long_names();
        let bare = |text: &str| text.split_whitespace().collect::<String>();
        for width in [16, 20, 33, 34, 40, 60, 77, 78, 200] {
            let text = table.within(width);
            assert!(
                text.lines().all(|line| length(line) <= width && line == line.trim_end()),
                "{width}:\n{text}"
            );
            for (name, cell) in table.rows().iter().flat_map(|row| [(&row[0], &row[1]), (&row[0], &row[2])]) {
                assert!(bare(&text).contains(&bare(cell)), "{width}: {cell}\n{text}");
                let parts = name.split(['+', '-', '=', ':']).map(bare);
                assert!(parts.clone().all(|part| bare(&text).contains(&part)), "{width}: {name}\n{text}");
            }
        }
        assert_eq!(table.within(78), table.to_string(), "what fits is left as it is");
    }

    #[test]
    fn a_long_name_is_broken_where_its_parts_are_joined() {
        let shown = long_names().within(44);
        let lines: Vec<&str> = shown.lines().collect();
        assert_eq!(lines[3], "selector:2+bridge=split-a    10.25  in phase");
        assert_eq!(lines[4], "+neck=parallel-reversed");
        let narrower = long_names().within(36);
        let lines: Vec<&str> = narrower.lines().collect();
        assert_eq!(lines[4..7], ["+bridge=split-a", "+neck=parallel-", "reversed"]);
    }

    #[test]
    fn where_columns_cannot_be_kept_each_row_is_told_cell_by_cell() {
        let mut table =
            TextTable::new([Column::words(["", "name"]), Column::numbers(["gain to", "match dB"])]);
        table.row(["series".into(), "0.0".into()]);
        table.row(["split-a".into(), "7.6".into()]);
        let told = "name: series,\n  gain to match\n  dB: 0.0\nname: split-a,\n  gain to match\n  dB: 7.6";
        assert_eq!(table.within(16), told);
    }
}
