//! Which tests settle which of several mistakes it is.

use super::bench::Bench;
use super::case::Case;
use super::check::{Check, Outcome, checks, outcome, vantages};
use super::suspect::{Cause, Suspect};
use crate::circuit::Spot;
use crate::jack::State;

/// The place of the case in which all is as drawn.
pub(super) const AS_DRAWN: usize = 0;

/// The outcomes of every test in every case.
pub(super) struct Settling<'b> {
    bench: &'b Bench,
    vantages: Vec<State>,
    checks: Vec<Check>,
    /// By case, then by test.
    outcomes: Vec<Vec<Outcome>>,
}

/// How much a test asks of a person, least first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Effort {
    /// A knob, a lever, and the meter at the jack.
    AtTheJack,
    /// Probes on lugs.
    OnLugs,
    /// Probes on the copper of leads.
    OnLeads,
    /// Steel on the coils.
    OnCoils,
    /// A lead unsoldered.
    Unsolder,
    /// A lead's colour trusted that may itself be what is mistaken.
    Trusting,
}

impl<'b> Settling<'b> {
    /// Returns the outcomes for `cases`, of which the first is that all is as drawn; the jack can also be read in the
    /// positions `unread`.
    pub(super) fn new(bench: &'b Bench, cases: &[Case<'_>], unread: impl Iterator<Item = usize>) -> Self {
        let vantages = vantages(bench);
        let checks: Vec<Check> = unread.map(Check::Read).chain(checks(bench, &vantages)).collect();
        let of = |case: &Case<'_>| checks.iter().map(|c| outcome(bench, &vantages, case, *c)).collect();
        let outcomes = cases.iter().map(of).collect();
        Self { bench, vantages, checks, outcomes }
    }

    /// Returns the tests that tell the case `own` from each of `others`, in words, and the others that no test
    /// tells from it.
    pub(super) fn tell(&self, own: usize, suspect: &Suspect, others: &[usize]) -> (Vec<String>, Vec<usize>) {
        let mut left = others.to_vec();
        let mut words = Vec::new();
        let differs =
            |check: usize, other: usize| self.outcomes[own][check].differs(&self.outcomes[other][check]);
        while !left.is_empty() {
            let strikes = |check: usize| left.iter().filter(|other| differs(check, **other)).count();
            let best = (0..self.checks.len()).filter(|check| strikes(*check) > 0).min_by_key(|check| {
                let effort = self.checks[*check].effort(suspect);
                let (split, is_at_hand) = (strikes(*check), self.is_at_hand(*check, suspect));
                (effort == Effort::Trusting, left.len() - split, effort, !is_at_hand)
            });
            let Some(best) = best else { break };
            words.push(self.checks[best].words(
                self.bench,
                &self.vantages,
                &self.outcomes[own][best],
                &self.outcomes[AS_DRAWN][best],
            ));
            left.retain(|other| !differs(best, *other));
        }
        (words, left)
    }
}

impl Settling<'_> {
    /// Returns whether a test is made at the very place that `suspect` is about.
    fn is_at_hand(&self, check: usize, suspect: &Suspect) -> bool {
        match (self.checks[check], suspect) {
            (Check::TurnUp(turned), Suspect::Knob(knob, _)) => turned == *knob,
            (Check::Look(looked_at), Suspect::Elsewhere(lever, _)) => looked_at == *lever,
            (Check::Continuity(_, site, points), Suspect::Mistake(mistake)) => {
                let concerned = mistake.concerned();
                let mut groups = self.bench.solder.at(site);
                let together = groups.any(|group| points.iter().all(|point| group.spots.contains(point)));
                let touched = points.iter().filter(|point| concerned.contains(point)).count();
                site == mistake.site && (touched == 2 || touched == 1 && together)
            }
            _ => false,
        }
    }
}

impl Check {
    fn effort(self, suspect: &Suspect) -> Effort {
        match self {
            Self::Read(_) | Self::TurnUp(_) | Self::Look(_) => Effort::AtTheJack,
            Self::Tap(..) => Effort::OnCoils,
            Self::Across(..) | Self::Bare(..) => Effort::Unsolder,
            Self::Continuity(_, _, points) if trusts(suspect, points) => Effort::Trusting,
            Self::Continuity(_, _, points) => {
                let on_lugs = points.iter().all(|point| matches!(point, Spot::Lug(..)));
                if on_lugs { Effort::OnLugs } else { Effort::OnLeads }
            }
        }
    }
}

/// Returns whether a test takes the name of a lead for granted that `suspect` says may be another's.
fn trusts(suspect: &Suspect, points: [Spot; 2]) -> bool {
    match suspect {
        Suspect::Knob(..) | Suspect::Elsewhere(..) => false,
        Suspect::Mistake(mistake) => match mistake.cause {
            Cause::Swapped(_) => mistake.concerned().iter().any(|spot| points.contains(spot)),
            Cause::Off(_) | Cause::Bridged(_) | Cause::Open(..) | Cause::Shorted(..) => false,
        },
    }
}
