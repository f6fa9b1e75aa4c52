//! Where frequencies and levels lie on a sheet, and which of them are written beside it.

use super::picture::REACH;
use super::scene::whole;

/// A logarithmic frequency axis across a panel.
#[derive(Debug, Clone, Copy)]
pub(super) struct FrequencyAxis {
    pub(super) left: f64,
    pub(super) right: f64,
}

/// A linear axis of decibels; `low` lies at `at_low`, `high` at `at_high`.
#[derive(Debug, Clone, Copy)]
pub(super) struct LevelAxis {
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) at_low: f64,
    pub(super) at_high: f64,
}

/// The frequencies written below a panel; those that are powers of ten have a grid line.
pub(super) const WRITTEN: [(f64, &str, bool); 9] = [
    (50.0, "50 Hz", false),
    (100.0, "100", true),
    (200.0, "200", false),
    (500.0, "500", false),
    (1e3, "1k", true),
    (2e3, "2k", false),
    (5e3, "5k", false),
    (1e4, "10k", true),
    (2e4, "20k", false),
];

/// Half an amplitude: the step in which levels are read.
const STEP: f64 = 6.0;

impl FrequencyAxis {
    pub(super) fn place(self, f: f64) -> f64 {
        self.left + (f / REACH.0).ln() / (REACH.1 / REACH.0).ln() * (self.right - self.left)
    }
}

impl LevelAxis {
    /// Returns an axis whose range holds `range`, in whole steps, but never leaves `limit`.
    pub(super) fn holding(range: (f64, f64), limit: (f64, f64), (at_low, at_high): (f64, f64)) -> Self {
        let whole = |x: f64, up: bool| {
            let steps = x.clamp(limit.0, limit.1) / STEP;
            STEP * if up { steps.ceil() } else { steps.floor() }
        };
        let (low, high) = (whole(range.0, false), whole(range.1, true));
        Self { low, high: high.max(low + STEP), at_low, at_high }
    }

    pub(super) fn place(self, level: f64) -> f64 {
        self.at_low + (level - self.low) / (self.high - self.low) * (self.at_high - self.at_low)
    }

    /// Returns the place of a level, or one clearly off the axis for a level far beyond it: a canvas knows no numbers
    /// without end.
    pub(super) fn place_near(self, level: f64) -> f64 {
        let beyond = 4.0 * (self.high - self.low);
        self.place(level.clamp(self.low - beyond, self.high + beyond))
    }

    /// Returns the place of a level, or of the end of the axis that it lies beyond.
    pub(super) fn place_within(self, level: f64) -> f64 {
        self.place(level.clamp(self.low, self.high))
    }

    /// Returns the levels written beside the axis, at least `room` apart.
    pub(super) fn written(self, room: f64) -> Vec<f64> {
        let steps = ((self.high - self.low) / STEP).round();
        let apart = (self.at_high - self.at_low).abs() / steps;
        let every = (room / apart).ceil().max(1.0);
        // Counted from zero, so that zero is among them.
        let first = (self.low / (STEP * every)).ceil();
        let last = (self.high / (STEP * every)).floor();
        (whole(first)..=whole(last)).map(|i| f64::from(i) * STEP * every).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_axis_begins_and_ends_at_whole_steps_around_its_range_and_stays_within_limits() {
        let axis = LevelAxis::holding((-28.9, 3.1), (-60.0, 30.0), (100.0, 0.0));
        assert_eq!((axis.low, axis.high), (-30.0, 6.0));
        assert_eq!(axis.place(-30.0), 100.0);
        assert_eq!(axis.place_within(99.0), 0.0);
        let wild = LevelAxis::holding((-1e308, f64::INFINITY), (-60.0, 30.0), (100.0, 0.0));
        assert_eq!((wild.low, wild.high), (-60.0, 30.0));
    }

    #[test]
    fn written_levels_hold_zero_and_thin_out_where_there_is_no_room() {
        let axis = LevelAxis::holding((-30.0, 6.0), (-60.0, 30.0), (100.0, 0.0));
        assert_eq!(axis.written(10.0), [-30.0, -24.0, -18.0, -12.0, -6.0, 0.0, 6.0]);
        assert_eq!(axis.written(30.0), [-24.0, -12.0, 0.0]);
    }

    #[test]
    fn an_octave_is_as_wide_everywhere() {
        let axis = FrequencyAxis { left: 10.0, right: 110.0 };
        let octave = |f: f64| axis.place(2.0 * f) - axis.place(f);
        assert!((octave(60.0) - octave(9000.0)).abs() < 1e-9);
        assert_eq!((axis.place(50.0), axis.place(20e3)), (10.0, 110.0));
    }
}
