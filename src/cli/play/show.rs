//! The screen while a set plays.

use drywire::cautions;
use drywire::play::{FileLevels, View};
use drywire::set::StoredSet;

use crate::cli::session::{bar, clock, fitted, side_by_side};

/// What does not change on the screen.
pub(super) struct Show {
    title: String,
    takes: Vec<(String, Option<f64>)>,
    frames: u64,
    rate_hz: u32,
}

const KEYS: [&str; 9] = [
    "1-9, up, down: arrangement",
    "m: levels",
    "space: pause",
    "left, right: 2 s",
    "0: beginning",
    "[ ]: loop from, to here",
    "l: loop  w: whole",
    "- +: level",
    "q: leave",
];

impl Show {
    /// Returns what shows `set` at the sound card's rate.
    pub(super) fn new(set: &StoredSet, rate_hz: u32) -> Self {
        let figures = set.figures();
        let drops = figures.arrangements.iter().map(|a| (a.name.clone(), a.drop_loudness_lu));
        Self {
            title: match &figures.amplifier {
                None => format!("{}, {}", figures.guitar, figures.pickup),
                Some(amplifier) => format!(
                    "{}, {}, a generic amplifier: {}",
                    figures.guitar, figures.pickup, amplifier.setting
                ),
            },
            takes: drops.collect(),
            frames: set.frames() * u64::from(rate_hz) / u64::from(set.rate_hz()),
            rate_hz,
        }
    }

    /// Returns the screen's lines, none wider than `width`, with what matters most in the first `height`.
    pub(super) fn lines(&self, view: &View, width: usize, height: usize) -> Vec<String> {
        let mut lines: Vec<String> = fitted(&self.title, width).into_iter().take(1).collect();
        let status = self.status(view, width);
        let room = height.saturating_sub(lines.len() + status.len()).max(1);
        lines.extend(self.list(view, width, room));
        lines.extend(status);
        lines.push(String::new());
        lines.extend(side_by_side(&KEYS, width));
        lines.extend(fitted(cautions::EARS, width));
        lines.truncate(height);
        lines
    }

    /// Returns at most `room` of the takes, the one that is heard among them.
    fn list(&self, view: &View, width: usize, room: usize) -> Vec<String> {
        let longest = self.takes.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
        let first = (view.take + 1).saturating_sub(room);
        let shown = self.takes.iter().enumerate().skip(first).take(room);
        let line = |(i, (name, drop)): (usize, &(String, Option<f64>))| {
            let mark = if i == view.take { '>' } else { ' ' };
            let key = if i < 9 { (i + 1).to_string() } else { " ".to_owned() };
            let drop = drop.map_or_else(String::new, |lu| format!("{lu:+6.1} LU"));
            format!("{mark} {key} {name:<longest$} {drop}").trim_end().chars().take(width).collect()
        };
        shown.map(line).collect()
    }

    fn status(&self, view: &View, width: usize) -> Vec<String> {
        let levels = match view.levels {
            FileLevels::Matched => "matched levels",
            FileLevels::AsIs => "true levels",
        };
        let state = match (view.ended, view.plays) {
            (true, _) => "at the end",
            (false, true) => "playing",
            (false, false) => "paused",
        };
        let of = |frames| clock(frames, self.rate_hz);
        let round = if !view.loops {
            "once".to_owned()
        } else if view.region == (0..self.frames) {
            "loop".to_owned()
        } else {
            format!("loop {} to {}", of(view.region.start), of(view.region.end))
        };
        let at = format!("{} of {}, {round}", of(view.position), of(self.frames));
        let mut lines = vec![String::new()];
        lines.extend(fitted(&format!("{levels}, level {:.0}, {state}", view.trim), width));
        lines.extend(fitted(&at, width));
        let region = if view.loops { view.region.clone() } else { 0..0 };
        lines.push(bar(width.min(60), view.position, self.frames, &region));
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use drywire::quantity::Db;

    fn show(takes: usize) -> Show {
        let takes = (0..takes).map(|i| (format!("parallel-reversed-{i}"), Some(-5.9))).collect();
        Show {
            title: "A guitar with a long name, its bridge pickup".to_owned(),
            takes,
            frames: 144_000,
            rate_hz: 48_000,
        }
    }

    fn view() -> View {
        View {
            take: 3,
            levels: FileLevels::AsIs,
            trim: Db::new(-20.0),
            position: 48_000,
            region: 24_000..96_000,
            loops: true,
            plays: true,
            ended: false,
        }
    }

    #[test]
    fn a_terminal_of_forty_columns_shows_all_that_matters() {
        let lines = show(6).lines(&view(), 40, 24);
        assert!(lines.iter().all(|line| line.chars().count() <= 40), "{lines:#?}");
        let text = lines.join("\n");
        for part in [
            "> 4 parallel-reversed-3",
            "-5.9 LU",
            "true levels, level -20 dB, playing",
            "0:01.0 of 0:03.0",
            "loop 0:00.5 to 0:02.0",
            "q: leave",
            "Start playback low",
        ] {
            assert!(text.contains(part), "no `{part}` in\n{text}");
        }
    }

    #[test]
    fn a_low_or_narrow_terminal_still_shows_what_is_heard() {
        for (width, height) in [(40, 8), (20, 10), (200, 6)] {
            let lines = show(30).lines(&View { take: 25, ..view() }, width, height);
            assert!(lines.len() <= height);
            assert!(lines.iter().any(|line| line.starts_with('>')), "{width} by {height}: {lines:#?}");
        }
        assert!(show(3).lines(&view(), 0, 0).is_empty());
    }
}
