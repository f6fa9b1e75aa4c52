//! A phrase in time: when each string is let go, how hard, where, and until when it sounds.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::check::Checks;
use super::phrase::Stroke;
use super::{Phrase, Settings, Unplayable};

/// A string let go once. Times are in seconds, places in metres from the bridge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Pluck {
    pub(super) stroke: Stroke,
    pub(super) start: f64,
    /// When it is silent again, if before the end of the source.
    pub(super) stop: Option<f64>,
    pub(super) force: f64,
    pub(super) at: f64,
}

/// Every pluck of a phrase, and how long the phrase lasts.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Performance {
    pub(super) plucks: Vec<Pluck>,
    pub(super) seconds: f64,
}

/// How far a hand is off at most, either way: in time (s), in force (a share) and in place (m). A convention.
const SWAY: (f64, f64, f64) = (0.004, 0.1, 0.003);

/// Plays `phrase` as `settings` say, and notes strums that outlast their event.
pub(super) fn perform(phrase: &Phrase, settings: &Settings, checks: &mut Checks) -> Performance {
    let (strum, beat) = (settings.strum.value(), 60.0 / settings.tempo);
    let mut hand = Hand::of_seed(settings.seed);
    let mut plucks: Vec<Pluck> = Vec::new();
    let mut now = 0.0;
    let last = phrase.events().len() - 1;
    for (number, event) in phrase.events().iter().enumerate() {
        let next = now + event.beats * beat;
        let after = strum * event.strokes.len().saturating_sub(1) as f64;
        if number < last && after >= next - now {
            checks.fault(Unplayable::StrumTooLong { event: number + 1, after, length: next - now });
        }
        for (nth, stroke) in event.strokes.iter().enumerate() {
            let start = (now + strum * nth as f64 + SWAY.0 * hand.sway()).max(0.0);
            let before = plucks.iter_mut().rfind(|p| p.stroke.string == stroke.string);
            if let Some(before) = before {
                before.stop = Some(before.stop.map_or(start, |stop| stop.min(start)));
            }
            plucks.push(Pluck {
                stroke: *stroke,
                start,
                stop: (number < last && !event.rings).then_some(next),
                force: event.force * (1.0 + SWAY.1 * hand.sway()),
                at: settings.pluck_at.value() + SWAY.2 * hand.sway(),
            });
        }
        now = next;
    }
    Performance { plucks, seconds: now }
}

/// The small irregularity of a hand, the same for the same seed on every machine.
struct Hand(Option<ChaCha8Rng>);

impl Hand {
    /// A hand without any for a seed of zero.
    fn of_seed(seed: u64) -> Self {
        Self((seed != 0).then(|| ChaCha8Rng::seed_from_u64(seed)))
    }

    /// The next number, even between −1 and 1.
    fn sway(&mut self) -> f64 {
        // The upper 53 bits of a word are a whole number that a double holds exactly.
        self.0.as_mut().map_or(0.0, |rng| (rng.next_u64() >> 11) as f64 / (1u64 << 52) as f64 - 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Seconds;

    fn played(text: &str, settings: &Settings) -> Vec<(f64, Option<f64>)> {
        let mut checks = Checks::default();
        let performance = perform(&Phrase::parse("x", text).unwrap(), settings, &mut checks);
        checks.passed(()).unwrap();
        performance.plucks.iter().map(|p| (p.start, p.stop)).collect()
    }

    #[test]
    fn a_note_sounds_until_the_next_event_or_rings_until_its_string_is_played_again() {
        let settings = Settings { tempo: 60.0, ..Settings::default() };
        assert_eq!(
            played("E2~ A2 - G2 -:0.5 B3", &settings),
            [(0.0, Some(3.0)), (1.0, Some(2.0)), (3.0, Some(4.0)), (4.5, None)]
        );
    }

    #[test]
    fn a_chord_is_strummed_string_by_string_and_one_that_outlasts_its_event_is_refused() {
        let settings = Settings { tempo: 60.0, strum: Seconds::new(0.02), ..Settings::default() };
        let starts: Vec<f64> = played("^022100", &settings).iter().map(|p| p.0).collect();
        assert_eq!(starts, [0.0, 0.02, 0.04, 0.06, 0.08, 0.1]);
        let mut checks = Checks::default();
        perform(&Phrase::parse("x", "022100:0.0625 E2").unwrap(), &settings, &mut checks);
        assert!(matches!(checks.passed(()).unwrap_err()[..], [Unplayable::StrumTooLong { event: 1, .. }]));
    }

    #[test]
    fn a_seed_moves_each_pluck_a_little_and_always_alike() {
        let (straight, swayed) = (Settings::default(), Settings { seed: 7, ..Settings::default() });
        let text = "E2 A2 D3 G3 B3 E4";
        assert_eq!(played(text, &swayed), played(text, &swayed));
        let offs: Vec<f64> = played(text, &swayed)
            .iter()
            .zip(played(text, &straight))
            .map(|(a, b)| (a.0 - b.0).abs())
            .collect();
        assert!(offs[1..].iter().all(|off| *off > 0.0 && *off < SWAY.0), "{offs:?}");
        assert_ne!(played(text, &swayed), played(text, &Settings { seed: 8, ..Settings::default() }));
    }
}
