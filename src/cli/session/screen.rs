//! Pieces of a screen: text that fits it, clocks, and a bar.

use crate::cli::wrap::wrapped_to;

/// Returns `text` in lines of at most `width` columns.
pub(crate) fn fitted(text: &str, width: usize) -> Vec<String> {
    // A word that is wider than the screen is cut; nothing else can be done with it.
    wrapped_to(width, text, "", "").lines().map(|line| line.chars().take(width).collect()).collect()
}

/// Returns `items` side by side in lines of at most `width` columns, each whole where it fits.
pub(crate) fn side_by_side(items: &[&str], width: usize) -> Vec<String> {
    const BETWEEN: &str = "   ";
    let mut lines: Vec<String> = Vec::new();
    for item in items {
        match lines.last_mut() {
            Some(line) if line.chars().count() + BETWEEN.len() + item.chars().count() <= width => {
                line.push_str(BETWEEN);
                line.push_str(item);
            }
            Some(_) | None => lines.extend(fitted(item, width)),
        }
    }
    lines
}

/// Returns a moment as minutes, seconds and tenths.
pub(crate) fn clock(frames: u64, rate_hz: u32) -> String {
    let tenths = frames * 10 / u64::from(rate_hz.max(1));
    format!("{}:{:02}.{}", tenths / 600, tenths / 10 % 60, tenths % 10)
}

/// Returns a line of `width` columns that shows where `at` is in `of`, and the part of it that is looped over.
pub(crate) fn bar(width: usize, at: u64, of: u64, region: &std::ops::Range<u64>) -> String {
    let column = |frame: u64| {
        let share = frame as f64 / of.max(1) as f64;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a share of a screen's width"
        )]
        let column = (share * width as f64) as usize;
        column.min(width.saturating_sub(1))
    };
    let (from, to, here) = (column(region.start), column(region.end), column(at));
    let sign = |c: usize| match c {
        c if c == here => '#',
        c if (from..=to).contains(&c) => '=',
        _ => '.',
    };
    (0..width).map(sign).collect()
}

#[cfg(test)]
mod tests {
    use super::{bar, clock, fitted, side_by_side};

    #[test]
    fn a_moment_is_told_in_minutes_seconds_and_tenths() {
        assert_eq!(clock(0, 48_000), "0:00.0");
        assert_eq!(clock(61 * 48_000 + 4_800, 48_000), "1:01.1");
    }

    #[test]
    fn a_bar_has_its_width_and_shows_the_place() {
        assert_eq!(bar(10, 50, 100, &(20..80)), "..===#===.");
        assert_eq!(bar(4, 100, 100, &(0..100)), "===#");
        assert_eq!(bar(0, 1, 2, &(0..2)), "");
    }

    #[test]
    fn nothing_is_wider_than_the_screen() {
        let lines = fitted(&format!("some words and {}", "x".repeat(100)), 40);
        assert!(lines.iter().all(|line| line.chars().count() <= 40), "{lines:?}");
        assert_eq!(side_by_side(&["q leave", "m levels", "a b c"], 18), ["q leave   m levels", "a b c"]);
        assert_eq!(side_by_side(&["q leave", "m levels"], 4), ["q", "leav", "m", "leve"]);
    }
}
