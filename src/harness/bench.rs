//! A guitar's cavity with all that is asked of it.

use super::branches::Branches;
use super::identity::{Exact, Signature};
use super::union::Union;
use super::wiring::Wiring;
use super::{HarnessError, Parts, Terminal, Throws, Wanted, Wire};
use crate::guitar::Guitar;

/// The control cavity of one guitar: its parts, its states, the nets that its file asks for.
#[derive(Debug, Clone)]
pub struct Harness {
    pub(super) parts: Parts,
    pub(super) branches: Branches,
    pub(super) throws: Throws,
    pub(super) wanted: Wanted,
    pub(super) exact: Exact,
    /// The cavity as it is wanted.
    pub(super) as_wanted: Wiring,
    /// Its signature in every state.
    pub(super) signatures: Vec<Signature>,
    /// What of it is metal.
    pub(super) metal: Vec<Terminal>,
}

impl Harness {
    /// Returns the cavity of `guitar`.
    ///
    /// # Errors
    /// [`HarnessError`] where none follows from its file.
    pub fn of(guitar: &Guitar) -> Result<Self, HarnessError> {
        let parts = Parts::of(guitar)?;
        let (branches, throws, wanted) = (Branches::of(&parts), Throws::of(&parts)?, Wanted::of(&parts));
        let mut solder = Union::apart(parts.len());
        for pair in wanted.nets().iter().flat_map(|net| net.windows(2)) {
            solder.join(pair[0].index(), pair[1].index());
        }
        let as_wanted = Wiring::soldered(&parts, &branches, solder);
        let exact = Exact::of(&branches);
        let signature = |place| exact.signature(&branches, &throws, &as_wanted, place);
        let signatures = (0..throws.len()).map(signature).collect();
        let metal = parts.terminals().filter(|terminal| parts.is_metal(*terminal)).collect();
        Ok(Self { parts, branches, throws, wanted, exact, as_wanted, signatures, metal })
    }

    /// Returns the parts.
    pub fn parts(&self) -> &Parts {
        &self.parts
    }

    /// Returns the states.
    pub fn throws(&self) -> &Throws {
        &self.throws
    }

    /// Returns what must be joined.
    pub fn wanted(&self) -> &Wanted {
        &self.wanted
    }

    /// Returns wires that make the wanted nets, each a chain, whatever their length.
    pub fn simple_wires(&self) -> Vec<Wire> {
        self.wanted.nets().iter().flat_map(|net| net.windows(2).map(|pair| [pair[0], pair[1]])).collect()
    }

    /// Returns whether `wires` make the circuit that the guitar's file asks for, in every state.
    pub fn is_same_circuit(&self, wires: &[Wire]) -> bool {
        let wiring = Wiring::of(&self.parts, &self.branches, wires);
        self.differing(&wiring).next().is_none()
    }

    /// Returns the states in which `wiring` is another circuit.
    pub(super) fn differing(&self, wiring: &Wiring) -> impl Iterator<Item = usize> {
        (0..self.throws.len()).filter(move |place| self.signature(wiring, *place) != self.signatures[*place])
    }

    /// Returns the signature of `wiring` in the state at `place`.
    pub(super) fn signature(&self, wiring: &Wiring, place: usize) -> Signature {
        self.exact.signature(&self.branches, &self.throws, wiring, place)
    }
}
