//! A plan with all that is told about it.

use super::{Asked, Drawn, Finding, Labels, Passing, Preference, ThrowFacts, facts, findings, throw_facts};
use crate::guitar::{Guitar, Pickup};
use crate::response::VoiceError;
use crate::wiring::Plan;

/// A plan, its names, what its throws are and what is to be found about it.
#[derive(Debug, Clone)]
pub struct Described {
    /// The plan.
    pub plan: Plan,
    /// What its things are called.
    pub labels: Labels,
    /// What each throw is.
    pub facts: Vec<ThrowFacts>,
    /// Its marks among other plans.
    pub preference: Preference,
    /// Its faults, and what is worth knowing.
    pub findings: Vec<Finding>,
}

impl Described {
    /// Returns what is to be told about `plan` for `pickup` on `guitar`, of whose throws `asked` was asked.
    ///
    /// # Errors
    /// [`VoiceError`] where a throw's circuit has no solution.
    pub fn new(
        plan: Plan,
        labels: Labels,
        guitar: &Guitar,
        pickup: &Pickup,
        asked: Option<&[Asked]>,
    ) -> Result<Self, VoiceError> {
        let facts = throw_facts(&plan, guitar, pickup)?;
        let found = findings(&Drawn { plan: &plan, facts: &facts, labels: &labels, asked });
        Ok(Self { preference: Preference::of(&plan), plan, labels, facts, findings: found })
    }

    /// Returns the findings for which the plan is faulty.
    pub fn faults(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| finding.kind.is_fault())
    }

    /// Returns the findings that are no faults.
    pub fn remarks(&self) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(|finding| !finding.kind.is_fault())
    }

    /// Returns the worst that is heard while the lever travels.
    pub fn worst_passing(&self) -> Passing {
        self.preference.worst_passing
    }
}

/// Returns the number of the first throw of `plan` whose solved circuit is not that of what is asked, which would
/// be a fault of the search.
///
/// # Errors
/// [`VoiceError`] where a throw's circuit has no solution.
pub fn first_contradiction(plan: &Plan, asked: &[Asked], pickup: &Pickup) -> Result<Option<u8>, VoiceError> {
    for ((throw, connection), asked) in plan.switch().throws().iter().zip(plan.throws()).zip(asked) {
        if !facts::is_as_asked(pickup, &connection, *asked)? {
            return Ok(Some(throw.number()));
        }
    }
    Ok(None)
}
