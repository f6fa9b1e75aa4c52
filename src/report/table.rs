//! Figures for reading: aligned columns that fit a terminal of 80.

use std::fmt::Write;

use super::heard::in_words;
use super::{ArrangementFigures, SetFigures};
use crate::quantity::engineering;

/// A column: its heading, in one or two lines, and whether its cells stand at the right.
#[derive(Debug, Clone, Copy)]
pub struct Column {
    heading: [&'static str; 2],
    right: bool,
}

/// Rows of text in aligned columns.
#[derive(Debug, Clone)]
pub struct Table {
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

impl Table {
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

impl std::fmt::Display for Table {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let headings = (0..2).map(|line| self.columns.iter().map(|c| c.heading[line].to_owned()).collect());
        let lines: Vec<Vec<String>> = headings.chain(self.rows.iter().cloned()).collect();
        let width_of = |i: usize| lines.iter().map(|l| l[i].chars().count()).max().unwrap_or(0);
        let widths: Vec<usize> = (0..self.columns.len()).map(width_of).collect();
        let mut text = String::new();
        for line in &lines {
            let mut shown = String::new();
            for ((cell, column), width) in line.iter().zip(&self.columns).zip(&widths) {
                if column.right {
                    write!(shown, "{cell:>width$}  ")?;
                } else {
                    write!(shown, "{cell:<width$}  ")?;
                }
            }
            text.push_str(shown.trim_end());
            text.push('\n');
        }
        f.write_str(text.trim_end_matches('\n'))
    }
}

impl SetFigures {
    /// Returns the response's figures as a table.
    pub fn response_table(&self) -> Table {
        let low = self.baseline().and_then(|b| b.gain_low_db);
        let mut table = Table::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["reson.", "kHz"]),
            Column::numbers(["", "Q"]),
            Column::numbers(["peak", "dB"]),
            Column::numbers(["−3 dB", "kHz"]),
            Column::numbers(["level", "dB"]),
            Column::words(["", "hum"]),
            Column::numbers(["ohms", "at jack"]),
            Column::words(["", "strings"]),
        ]);
        for a in &self.arrangements {
            table.row([
                a.name.clone(),
                number(a.resonance_hz.map(|f| f / 1000.0), 2),
                number(a.q, 2),
                number(a.peak_db, 1),
                number(a.cutoff_hz.map(|f| f / 1000.0), 2),
                number(a.gain_low_db.zip(low).map(|(own, low)| own - low), 1),
                hum(a),
                quantity(a.dc_at_jack_ohm, "Ω"),
                if a.in_phase { "in phase" } else { "against" }.to_owned(),
            ]);
        }
        table
    }

    /// Returns the drops as a table.
    pub fn drop_table(&self) -> Table {
        let mut table = Table::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["drop", "RMS dB"]),
            Column::numbers(["drop", "LU"]),
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
    pub fn heard_table(&self) -> Table {
        let mut table = Table::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["noise", "dBV (A)"]),
            Column::numbers(["loudness", "sone"]),
            Column::words(["heard against the baseline", "at 60 to 85 dB SPL"]),
        ]);
        for a in &self.arrangements {
            let words = a.drop_heard_percent_60_to_85.map(in_words);
            table.row([
                a.name.clone(),
                number(a.noise_dbv_a, 1),
                number(a.loudness_sone, 1),
                words.unwrap_or_else(|| "–".to_owned()),
            ]);
        }
        table
    }

    /// Returns what was measured on the files as a table.
    pub fn sound_table(&self) -> Table {
        let mut table = Table::new([
            Column::words(["", "arrangement"]),
            Column::numbers(["drop", "RMS dB"]),
            Column::numbers(["drop", "LU"]),
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
                number(a.drop_rms_db, 1),
                number(a.drop_loudness_lu, 1),
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

fn hum(arrangement: &ArrangementFigures) -> String {
    match arrangement.hum_db {
        None => "cancels".to_owned(),
        Some(db) => format!("{} dB", signed(db, 1)),
    }
}

fn number(value: Option<f64>, digits: usize) -> String {
    value.map_or_else(|| "–".to_owned(), |v| signed(v, digits))
}

/// Writes a number with a true minus sign and without a negative zero.
pub(crate) fn signed(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let zero = text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.');
    if zero { text.trim_start_matches('-').to_owned() } else { text.replace('-', "−") }
}

fn quantity(value: Option<f64>, symbol: &str) -> String {
    value.map_or_else(|| "–".to_owned(), |v| engineering(v, symbol, 3))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_are_aligned_by_characters_and_lines_end_without_spaces() {
        let mut table = Table::new([Column::words(["", "name"]), Column::numbers(["drop", "dB"])]);
        table.row(["series".into(), "0.0".into()]);
        table.row(["parallel".into(), signed(-5.94, 1)]);
        assert_eq!(table.to_string(), "          drop\nname        dB\nseries     0.0\nparallel  −5.9");
    }

    #[test]
    fn a_negative_zero_is_zero() {
        assert_eq!((signed(-0.01, 1).as_str(), signed(-0.06, 1).as_str()), ("0.0", "−0.1"));
    }
}
