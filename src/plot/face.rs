//! The typeface: its two weights, and texts measured and cut to a width.

use std::sync::LazyLock;

use plotters::style::{FontDesc, FontFamily, FontStyle, register_font};

/// The weights that pictures are set in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Strong,
}

/// The family as an SVG asks for it: ours, else what the viewer has. The typeface is registered under the whole
/// list, because the SVG writes down what it is registered under.
const FAMILY: &str =
    "Inter, system-ui, -apple-system, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, sans-serif";

/// The typeface's ascender less its descender, in ems: 2728 + 680 of 2816 units. The rasteriser takes this height
/// for a font's size.
pub(super) const LINE: f64 = 3408.0 / 2816.0;

/// The typeface compressed, for an SVG to carry: weight in CSS, and file.
pub(super) const CARRIED: [(u16, &[u8]); 2] =
    [(400, include_bytes!("font/regular.woff2")), (700, include_bytes!("font/semibold.woff2"))];

static REGISTERED: LazyLock<()> = LazyLock::new(|| {
    let files: [(FontStyle, &'static [u8]); 2] = [
        (FontStyle::Normal, include_bytes!("font/regular.otf")),
        (FontStyle::Bold, include_bytes!("font/semibold.otf")),
    ];
    for (style, file) in files {
        assert!(register_font(FAMILY, style, file).is_ok(), "the embedded typeface is a typeface");
    }
});

/// Returns the font of `weight` whose size is `size` in the drawing library's terms.
pub(super) fn font(weight: Weight, size: f64) -> FontDesc<'static> {
    LazyLock::force(&REGISTERED);
    let style = match weight {
        Weight::Regular => FontStyle::Normal,
        Weight::Strong => FontStyle::Bold,
    };
    FontDesc::new(FontFamily::Name(FAMILY), size, style)
}

/// Returns the width of `text` at a size of `size` per em, in the size's unit.
pub(super) fn width(text: &str, weight: Weight, size: f64) -> f64 {
    // Measured large, because widths come in whole pixels.
    const LARGE: f64 = 1000.0;
    // Where the typeface has nothing another one steps in, whose letters are hardly wider than an em.
    let others = |c: &char| matches!(c, '\u{1100}'..='\u{1fff}' | '\u{2300}'..);
    let (others, ours): (String, String) = text.chars().partition(others);
    let whole = font(weight, LARGE * LINE).layout_box(&ours).map_or(0, |(_, (width, _))| width);
    (f64::from(whole) / LARGE + others.chars().count() as f64) * size
}

/// Returns `text`, cut at its end where it is wider than `room`.
pub(super) fn cut(text: &str, weight: Weight, size: f64, room: f64) -> String {
    if width(text, weight, size) <= room {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().collect();
    loop {
        kept.pop();
        let shown = kept.iter().collect::<String>().trim_end().to_owned() + "…";
        if kept.is_empty() || width(&shown, weight, size) <= room {
            return shown;
        }
    }
}

/// Returns `text`, cut in its middle where it is wider than `room`: names that begin alike often end otherwise.
pub(super) fn shortened(text: &str, weight: Weight, size: f64, room: f64) -> String {
    let letters: Vec<char> = text.chars().collect();
    let kept = |kept: usize| {
        let (head, tail) = letters.split_at(kept.div_ceil(2));
        let tail = &tail[tail.len() - kept / 2..];
        format!("{}…{}", head.iter().collect::<String>(), tail.iter().collect::<String>())
    };
    if width(text, weight, size) <= room {
        return text.to_owned();
    }
    let fits = (1..letters.len()).rev().map(kept).find(|shown| width(shown, weight, size) <= room);
    fits.unwrap_or_else(|| "…".to_owned())
}

/// Returns `text` broken at spaces into lines no wider than `room`, except for single words that are.
pub(super) fn wrapped(text: &str, weight: Weight, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match (lines.last_mut(), longer) {
            (Some(line), Some(longer)) if width(&longer, weight, size) <= room => *line = longer,
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}

/// Returns a position's name broken after its `+` and `=` into lines no wider than `room`; a single part that is wider
/// is cut.
pub(super) fn parted(name: &str, weight: Weight, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for part in name.split_inclusive(['+', '=']) {
        let longer = lines.last().map(|line| format!("{line}{part}"));
        match (lines.last_mut(), longer) {
            (Some(line), Some(longer)) if width(&longer, weight, size) <= room => *line = longer,
            _ => lines.push(cut(part, weight, size, room)),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_figure_is_as_wide_as_the_typeface_says() {
        // The advances of both letters in the source font, in units of an em of 2816.
        for (text, units) in [("n", 1648.0), ("−", 1856.0)] {
            let em = width(text, Weight::Regular, 1.0);
            assert!((em - units / 2816.0).abs() < 2e-3, "{text}: {em}");
        }
    }

    #[test]
    fn a_text_is_cut_to_its_room_and_lines_keep_every_word() {
        let long = "a guitar with a very long name";
        let shown = cut(long, Weight::Strong, 10.0, 80.0);
        assert!(shown.ends_with('…') && width(&shown, Weight::Strong, 10.0) <= 80.0 && shown.len() > 8);
        assert_eq!(cut(long, Weight::Strong, 10.0, 1e3), long);
        let short = shortened(long, Weight::Strong, 10.0, 80.0);
        assert!(short.starts_with("a guit") && short.ends_with("name") && short.contains('…'), "{short}");
        assert!(width(&short, Weight::Strong, 10.0) <= 80.0);
        assert_eq!(shortened(long, Weight::Strong, 10.0, 1e3), long);
        assert_eq!(shortened(long, Weight::Strong, 10.0, 0.0), "…");
        let lines = wrapped(long, Weight::Regular, 10.0, 80.0);
        assert!(lines.len() > 1 && lines.iter().all(|l| width(l, Weight::Regular, 10.0) <= 80.0));
        assert_eq!(lines.join(" "), long);
        let name = "selector:2+add-neck:1+bridge=split-b";
        let lines = parted(name, Weight::Strong, 10.0, 80.0);
        assert!(lines.len() > 1 && lines.iter().all(|l| width(l, Weight::Strong, 10.0) <= 80.0));
        assert_eq!(lines.concat(), name);
        assert!(parted(name, Weight::Strong, 10.0, 40.0).iter().any(|l| l.ends_with('…')));
    }
}
