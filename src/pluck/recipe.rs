//! What is played, on what, and how: checked as a whole.

use std::ops::RangeInclusive;

use super::check::Checks;
use super::performance::{Performance, perform};
use super::strings::Sounding;
use super::{CoilPlace, Layout, Phrase, STANDARD, Unplayable};
use crate::guitar::{Guitar, Pickup};
use crate::quantity::{Dbfs, Metres, Seconds};

/// The most samples of a take, over all its channels: two minutes of eight coils at 48 kHz and their sum, and
/// somewhat more; half a gibibyte.
pub const MAX_SAMPLES: u64 = 1 << 26;

/// How a phrase is played and rendered. The default is a convention: a plectrum over the strings, 140 mm from
/// the bridge.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Where the strings are plucked, from the bridge; the place stays when a string is fretted.
    pub pluck_at: Metres,
    /// The length of string that the plectrum or finger touches, 0 to 50 mm.
    pub contact: Metres,
    /// The time from one string of a chord to the next, 0 to 1 s.
    pub strum: Seconds,
    /// Beats in a minute, 20 to 400.
    pub tempo: f64,
    /// The time in which a fundamental falls by 60 dB, 50 ms to 100 s.
    pub decay: Seconds,
    /// How many times faster a mode at 5 kHz falls than its fundamental, 1 (all modes alike) to 1000.
    pub treble_damping: f64,
    /// A factor on every string's inharmonicity coefficient, 0 (ideal strings) to 100.
    pub stiffness: f64,
    /// How long the source lasts, 50 ms to 600 s; `None`: as long as its phrase.
    pub length: Option<Seconds>,
    /// Samples a second, 8 to 384 kHz.
    pub rate: u32,
    /// The sample peak of the loudest among the coils and their sum, −60 to −1 dBFS.
    pub peak: Dbfs,
    /// Which small irregularity of the hand is played; 0: none.
    pub seed: u64,
}

impl Settings {
    /// The tempos, in beats a minute.
    pub const TEMPOS: RangeInclusive<f64> = 20.0..=400.0;
    /// The factors by which a mode at 5 kHz may fall faster.
    pub const TREBLE_DAMPINGS: RangeInclusive<f64> = 1.0..=1000.0;
    /// The factors on inharmonicity.
    pub const STIFFNESSES: RangeInclusive<f64> = 0.0..=100.0;
    /// The rates, in samples a second.
    pub const RATES: RangeInclusive<u32> = 8_000..=384_000;
    /// The peaks.
    pub const PEAKS: RangeInclusive<Dbfs> = Dbfs::new(-60.0)..=Dbfs::new(-1.0);
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            pluck_at: Metres::new(0.140),
            contact: Metres::new(0.002),
            strum: Seconds::new(0.020),
            tempo: 90.0,
            decay: Seconds::new(6.0),
            treble_damping: 6.0,
            stiffness: 1.0,
            length: None,
            rate: 48_000,
            peak: Dbfs::new(-6.0),
            seed: 0,
        }
    }
}

/// A source that can be rendered.
#[derive(Debug, Clone)]
pub struct Recipe {
    pub(super) layout: Layout,
    pub(super) settings: Settings,
    pub(super) performance: Performance,
    pub(super) frames: usize,
}

/// The chord that stands for any playing where nothing is asked for: an open E, the six strings of the standard tuning.
const CHORD: &str = "022100";
const CHORD_LENGTH: Seconds = Seconds::new(3.0);

impl Recipe {
    /// Returns the recipe of an open chord, sensed by the coils of `pickups` on `guitar`.
    ///
    /// # Errors
    /// As for [`Layout::of`] and [`Recipe::new`].
    ///
    /// # Panics
    /// Only where this module's own chord could not be read, which tests rule out.
    pub fn open_chord<'p>(
        guitar: &Guitar,
        pickups: impl IntoIterator<Item = &'p Pickup>,
    ) -> Result<Self, Vec<Unplayable>> {
        let layout = Layout::of(guitar, pickups, CoilPlace::APERTURE)?;
        let settings = Settings { length: Some(CHORD_LENGTH), ..Settings::default() };
        let phrase = Phrase::parse("chord", CHORD).expect("six frets of a chord");
        Self::new(&phrase, layout, settings)
    }

    /// Returns the recipe of `phrase`, played on the standard tuning as `settings` say and sensed by the coils of
    /// `layout`.
    ///
    /// # Errors
    /// Every [`Unplayable`] found: settings outside their ranges, places beyond a fretted string's end, strums
    /// that outlast their event, more than [`MAX_SAMPLES`].
    pub fn new(phrase: &Phrase, layout: Layout, settings: Settings) -> Result<Self, Vec<Unplayable>> {
        let mut checks = Checks::default();
        check_ranges(&settings, &mut checks);
        // Nothing can be played at a tempo or in a length that is none.
        checks.passed_so_far()?;
        let performance = perform(phrase, &settings, &mut checks);
        check_places(&performance, &layout, &mut checks);
        let seconds = settings.length.map_or(performance.seconds, Seconds::value);
        if settings.length.is_none() {
            checks.range("the phrase's length", Seconds::new(seconds), LENGTHS);
        }
        if let Some(late) = performance.plucks.iter().find(|pluck| pluck.start >= seconds) {
            checks.fault(Unplayable::TooShort {
                start: Seconds::new(late.start),
                length: Seconds::new(seconds),
            });
        }
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "bounded by the ranges above"
        )]
        let frames = (seconds * f64::from(settings.rate)).round() as u64;
        let samples = frames * (layout.coils().len() as u64 + 1);
        if samples > MAX_SAMPLES {
            checks.fault(Unplayable::TooLarge { samples });
        }
        #[expect(clippy::cast_possible_truncation, reason = "at most MAX_SAMPLES")]
        let frames = frames as usize;
        checks.passed(Self { layout, settings, performance, frames })
    }

    /// Returns the scale and the coils.
    pub const fn layout(&self) -> &Layout {
        &self.layout
    }

    /// Returns how many frames the take will have.
    pub const fn frames(&self) -> usize {
        self.frames
    }
}

/// How long a source may last, whether that is asked for or its phrase's own.
const LENGTHS: RangeInclusive<Seconds> = Seconds::new(0.05)..=Seconds::new(600.0);

fn check_ranges(settings: &Settings, checks: &mut Checks) {
    let millimetres = |least: f64, most: f64| Metres::new(least / 1000.0)..=Metres::new(most / 1000.0);
    let seconds = |least, most| Seconds::new(least)..=Seconds::new(most);
    checks.range("the pluck's distance from the bridge", settings.pluck_at, millimetres(5.0, 1000.0));
    checks.range("the length that is touched", settings.contact, millimetres(0.0, 50.0));
    checks.range("the strum's time between strings", settings.strum, seconds(0.0, 1.0));
    checks.range("the tempo in beats a minute", settings.tempo, Settings::TEMPOS);
    checks.range("the decay by 60 dB", settings.decay, seconds(0.05, 100.0));
    checks.range("the damping of the treble", settings.treble_damping, Settings::TREBLE_DAMPINGS);
    checks.range("the factor on the stiffness", settings.stiffness, Settings::STIFFNESSES);
    if let Some(length) = settings.length {
        checks.range("the source's length", length, LENGTHS);
    }
    checks.range("the rate in samples a second", settings.rate, Settings::RATES);
    checks.range("the peak", settings.peak, Settings::PEAKS);
}

/// Notes each string and fret once at which the pluck or a coil is beyond what is left of the string.
fn check_places(performance: &Performance, layout: &Layout, checks: &mut Checks) {
    let mut seen = Vec::new();
    for pluck in &performance.plucks {
        let stroke = pluck.stroke;
        if seen.contains(&stroke) {
            continue;
        }
        seen.push(stroke);
        let length = STANDARD[stroke.string].sounding(stroke.fret, layout.scale().value(), 1.0).length;
        let farthest = layout.coils().iter().map(|c| c.from_bridge.value()).fold(0.0, f64::max);
        for (what, at) in [("the pluck", pluck.at), ("a coil", farthest)] {
            if at >= length {
                checks.fault(Unplayable::BeyondTheFret {
                    what,
                    at: Metres::new(at),
                    string: STANDARD.len() - stroke.string,
                    fret: stroke.fret,
                    length: Metres::new(length),
                });
            }
        }
    }
}

impl Recipe {
    /// Returns what sounds when `stroke` is played.
    pub(super) fn sounding(&self, stroke: super::phrase::Stroke) -> Sounding {
        STANDARD[stroke.string].sounding(stroke.fret, self.layout.scale().value(), self.settings.stiffness)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pluck::CoilPlace;

    fn refused(text: &str, settings: Settings) -> Vec<String> {
        let coils = [0.03575, 0.05425, 0.165].map(|x| CoilPlace::at(Metres::new(x)));
        let layout = Layout::new(Metres::new(0.648), &coils).unwrap();
        let phrase = Phrase::parse("x", text).unwrap();
        Recipe::new(&phrase, layout, settings).unwrap_err().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn every_setting_out_of_range_is_refused_and_told() {
        let off = Settings {
            pluck_at: Metres::new(0.0),
            contact: Metres::new(-0.001),
            strum: Seconds::new(f64::NAN),
            tempo: 0.0,
            decay: Seconds::new(0.0),
            treble_damping: 0.5,
            stiffness: f64::INFINITY,
            length: Some(Seconds::new(1e9)),
            rate: 0,
            peak: Dbfs::new(0.0),
            seed: 0,
        };
        let told = refused("E2", off);
        assert_eq!(told.len(), 10, "{told:#?}");
        assert_eq!(told[7], "the source's length is 1.00 Gs, outside 50.0 ms to 600 s");
    }

    #[test]
    fn a_phrase_too_short_or_too_long_for_a_source_is_refused() {
        let fast = Settings { tempo: 400.0, ..Settings::default() };
        assert_eq!(refused("E2:0.1", fast), ["the phrase's length is 15.0 ms, outside 50.0 ms to 600 s"]);
        let slow = Settings { tempo: 20.0, rate: 8_000, ..Settings::default() };
        assert_eq!(
            refused("E2:64 E2 E2 E2", slow),
            ["the phrase's length is 768 s, outside 50.0 ms to 600 s"]
        );
    }

    #[test]
    fn a_pluck_or_coil_beyond_the_fretted_strings_end_is_refused_once() {
        let told = refused("E6 E6 D#6", Settings { pluck_at: Metres::new(0.17), ..Settings::default() });
        assert_eq!(told.len(), 2, "{told:#?}");
        assert_eq!(
            told[0],
            "the pluck is 170 mm from the bridge, but string 1 at fret 24 is only 162 mm long"
        );
    }

    #[test]
    fn a_source_that_ends_before_its_last_pluck_is_refused() {
        let short = Settings { length: Some(Seconds::new(0.1)), tempo: 60.0, ..Settings::default() };
        assert_eq!(
            refused("E2 A2 022100", short)[..],
            ["a string is plucked at 1.00 s, but the source ends at 100 ms"]
        );
    }

    #[test]
    fn more_memory_than_is_given_is_refused() {
        let long = Settings { length: Some(Seconds::new(600.0)), ..Settings::default() };
        assert_eq!(
            refused("E2", long),
            ["115200000 samples in all channels, where at most 67108864 are allowed"]
        );
    }

    proptest::proptest! {
        #![proptest_config(proptest::prelude::ProptestConfig::with_cases(48))]
        #[test]
        fn whatever_is_allowed_is_rendered_finite_at_its_peak(
            (pluck_at, contact, decay, damping) in (0.005..0.16, 0.0..0.05, 0.05..100.0, 1.0..1000.0),
            (stiffness, rate, peak, seed) in (0.0..100.0, 8_000u32..=96_000, -60.0..-1.0, 0u64..3),
            (aperture, output) in (0.0..0.07, 0.0..1000.0),
            text in proptest::sample::select(vec!["E2", "E6~ 320003", "A#3 ^022100", "x.14.14.13.12.12~ A2", "B3@3"]),
        ) {
            let coils = [0.036, 0.15].map(|x| CoilPlace { output, aperture: Metres::new(aperture), ..CoilPlace::at(Metres::new(x)) });
            let layout = Layout::new(Metres::new(0.648), &coils).unwrap();
            let settings = Settings {
                pluck_at: Metres::new(pluck_at),
                contact: Metres::new(contact),
                decay: Seconds::new(decay),
                treble_damping: damping,
                stiffness,
                rate,
                peak: Dbfs::new(peak),
                seed,
                tempo: 400.0,
                ..Settings::default()
            };
            if let Ok(recipe) = Recipe::new(&Phrase::parse("x", text).unwrap(), layout, settings) {
                let take = recipe.render();
                let all = || take.coils().iter().map(Vec::as_slice).chain([take.sum()]).flatten();
                proptest::prop_assert!(all().all(|s| s.is_finite()));
                let highest = all().fold(0.0f64, |most, s| most.max(s.abs()));
                proptest::prop_assert!((20.0 * highest.log10() - peak).abs() < 1e-6, "{highest}");
            }
        }
    }
}
