//! Whether a hypothesis agrees with readings.
//!
//! How ohms are compared: a reading may be off by 5 % of itself and 2 Ω: 2 % for the meter and 3 % for the
//! copper's temperature, which changes it by 0.393 % a kelvin (0.00393/K at 20 °C, the handbook's value), so by 3 %
//! over 7.6 K; 2 Ω for probes and leads. Below 10 Ω nothing is a coil, above 200 Ω nothing is a joint or a short
//! (the trade's "near zero"; no source), and between the two a reading may be either. Two coils in one reading
//! add where they are joined.

use super::hypothesis::{Hypotheses, Hypothesis};
use super::network::{PARTS, Way};
use super::reading::{Conductor, OhmmeterReading, Reading, Swing};
use crate::quantity::Ohms;

/// The relative error of a reading.
const RELATIVE: f64 = 0.05;
/// The absolute error of a reading, in ohms.
const ABSOLUTE: f64 = 2.0;
/// The most that a joint or a short reads, in ohms.
pub(super) const NEAR_ZERO_UP_TO: f64 = 200.0;
/// The least that a half of a coil reads, in ohms; a coil is two of them.
const HALF_FROM: f64 = 5.0;

/// Rounds of drawing bounds together; slow creeping is cut off after them, which keeps the hypothesis.
const ROUNDS: usize = 20;

/// What a resistance reading comes to for the hypotheses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Passage {
    /// No current passes.
    Open,
    /// The two are joined, or the coil between them is shorted.
    Joined,
    /// Some length of wire lies between.
    Wire,
}

impl Hypotheses {
    /// Returns the way from `black` to `red`, where there is one.
    pub(super) fn way(&self, h: &Hypothesis, black: Conductor, red: Conductor) -> Option<Way> {
        let (black, red) = (h.seat(black)?, h.seat(red)?);
        self.network(h).way(black.index(), red.index())
    }

    /// Returns how current passes between two conductors.
    pub(super) fn passage(&self, h: &Hypothesis, between: [Conductor; 2]) -> Passage {
        match self.way(h, between[0], between[1]) {
            None => Passage::Open,
            Some(Way { parts: 0, .. }) => Passage::Joined,
            Some(_) => Passage::Wire,
        }
    }

    /// Returns whether `reading` is possible, whatever the coils' resistances are.
    ///
    /// A compass says nothing about leads, so that every hypothesis allows it.
    pub(super) fn allows(&self, h: &Hypothesis, reading: &Reading) -> bool {
        match reading {
            Reading::Ohms { between, reads } => self.allows_ohms(h, *between, reads),
            Reading::Tap { coil, red, black, swing } => match self.way(h, *black, *red) {
                Some(way) => way.swings[coil.index()].holds(*swing),
                None => *swing == Swing::None,
            },
            Reading::Compass { .. } => true,
        }
    }

    fn allows_ohms(&self, h: &Hypothesis, between: [Conductor; 2], reads: &OhmmeterReading) -> bool {
        match (self.passage(h, between), reads.closed()) {
            (Passage::Open, ohms) => ohms.is_none(),
            (Passage::Joined, ohms) => ohms.is_some_and(|r| r.value() <= NEAR_ZERO_UP_TO),
            (Passage::Wire, ohms) => ohms.is_some_and(|r| r.value() >= HALF_FROM),
        }
    }

    /// Returns whether the coils can have resistances that agree with all resistance readings among `readings`,
    /// each of which is allowed by itself.
    pub(super) fn has_resistances<'r>(
        &self,
        h: &Hypothesis,
        readings: impl Iterator<Item = &'r Reading>,
    ) -> bool {
        let mut sums: Vec<Sum> = Vec::new();
        for reading in readings {
            let Reading::Ohms { between, reads } = reading else { continue };
            let parts = self.way(h, between[0], between[1]).map_or(0, |way| way.parts);
            let Some(shown) = reads.closed().map(Ohms::value).filter(|_| parts != 0) else { continue };
            let margin = RELATIVE * shown + ABSOLUTE;
            let (least, most) = (shown - margin, shown + margin);
            match sums.iter_mut().find(|sum| sum.parts == parts) {
                Some(sum) => (sum.least, sum.most) = (sum.least.max(least), sum.most.min(most)),
                None => sums.push(Sum { parts, least, most }),
            }
        }
        sums.iter().all(|sum| sum.least <= sum.most) && have_a_solution(&sums)
    }
}

/// What readings say about the sum of some parts of wire, in ohms.
struct Sum {
    parts: u8,
    least: f64,
    most: f64,
}

/// Parts that every sum holds together or not at all: one unknown.
struct Unknown {
    parts: u8,
    least: f64,
    most: f64,
}

/// Returns whether parts of wire can have all of those sums.
///
/// Bounds on each unknown are drawn together until they rest; where they cross there is no solution. Where a coil
/// is one unknown, as it is unless something is joined to its middle, that finds every contradiction; elsewhere
/// it may leave one unfound, which keeps a hypothesis alive and never strikes one wrongly.
fn have_a_solution(sums: &[Sum]) -> bool {
    let mut unknowns: Vec<Unknown> = Vec::new();
    for part in (0..PARTS).map(|i| 1 << i) {
        let inseparable = |known: u8| sums.iter().all(|s| (s.parts & known != 0) == (s.parts & part != 0));
        match unknowns.iter_mut().find(|u| inseparable(u.parts)) {
            Some(unknown) => {
                unknown.parts |= part;
                unknown.least += HALF_FROM;
            }
            None => unknowns.push(Unknown { parts: part, least: HALF_FROM, most: f64::INFINITY }),
        }
    }
    for _ in 0..ROUNDS {
        let mut rests = true;
        for sum in sums {
            let among: Vec<usize> =
                (0..unknowns.len()).filter(|i| unknowns[*i].parts & sum.parts != 0).collect();
            for this in &among {
                let others = || among.iter().filter(|other| *other != this).map(|other| &unknowns[*other]);
                let least = sum.least - others().map(|u| u.most).sum::<f64>();
                let most = sum.most - others().map(|u| u.least).sum::<f64>();
                let unknown = &mut unknowns[*this];
                rests &= unknown.least >= least && unknown.most <= most;
                unknown.least = unknown.least.max(least);
                unknown.most = unknown.most.min(most);
                if unknown.least > unknown.most {
                    return false;
                }
            }
        }
        if rests {
            break;
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use crate::document::Document;
    use crate::leads::{Readings, Verdict, identify};

    fn verdict(leads: &str, ohms: &[(&str, &str, &str)]) -> Verdict {
        let tables = ohms.iter().map(|(one, other, reads)| {
            format!("[[ohms]]\nbetween = [\"{one}\", \"{other}\"]\nreads = \"{reads}\"\n")
        });
        let text = format!("leads = [{leads}]\n{}", tables.collect::<String>());
        identify(&Readings::read(&Document::new("x", text)).expect("readings")).verdict
    }

    #[test]
    fn a_coil_read_again_warm_is_the_same_coil_and_one_a_fifth_off_is_not() {
        let four = "\"a\", \"b\", \"c\", \"d\"";
        // 8.00 kΩ at 20 °C is 8.31 kΩ at 30 °C.
        let warm = [("a", "b", "8.00k"), ("b", "a", "8.31k"), ("a", "c", "open")];
        assert_eq!(verdict(four, &warm), Verdict::Ambiguous);
        let other = [("a", "b", "8.0k"), ("b", "a", "9.6k")];
        assert_eq!(verdict(four, &other), Verdict::Contradictory);
    }

    #[test]
    fn two_coils_in_one_reading_add() {
        let three = "\"a\", \"b\", \"c\"";
        let adding = [("a", "b", "4.0k"), ("b", "c", "4.2k"), ("a", "c", "8.3k")];
        assert_eq!(verdict(three, &adding), Verdict::Ambiguous);
        let not_adding = [("a", "b", "4.0k"), ("b", "c", "4.2k"), ("a", "c", "6.0k")];
        assert_eq!(verdict(three, &not_adding), Verdict::Contradictory);
    }

    #[test]
    fn between_near_zero_and_a_coil_a_reading_may_be_either() {
        let two = "\"a\", \"b\"";
        for reads in ["0", "3 ohm", "50 ohm", "190", "500", "900k", "OL"] {
            assert_eq!(verdict(two, &[("a", "b", reads)]), Verdict::Ambiguous, "{reads}");
        }
        assert_eq!(verdict(two, &[("a", "b", "1 ohm"), ("a", "b", "300")]), Verdict::Contradictory);
    }
}
