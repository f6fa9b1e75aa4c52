//! Whether two wirings are the same circuit.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::Throws;
use super::branches::Branches;
use super::field::{Field, Residue};
use super::network::{Admittances, Network};
use super::wiring::Wiring;

/// The transfers of all coils in one state, up to their common sign: equal for equal circuits, and different for different
/// ones but with a probability below 10⁻¹⁵.
///
/// Every half of a track, every other part, every coil and every pair of coils has a number of its own, so that nothing
/// depends on where knobs stand or what parts are worth. The capacitances of leads are left out.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Signature(Vec<Residue>);

/// What every part of one cavity admits, as numbers that nothing relates to one another.
#[derive(Debug, Clone)]
pub(super) struct Exact {
    admittances: Admittances<Residue>,
}

/// A place in which a part's number stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Slot {
    Track(usize),
    Fixed(usize),
    Coil(usize),
}

impl Exact {
    pub(super) fn of(branches: &Branches) -> Self {
        let mut random = ChaCha8Rng::seed_from_u64(SEED);
        let mut next = || Residue::new(random.next_u64());
        let admittances = Admittances {
            tracks: branches.tracks.iter().map(|_| [next(), next()]).collect(),
            fixed: branches.fixed.iter().map(|_| next()).collect(),
            coils: branches.coils.iter().map(|_| next()).collect(),
            mutual: branches.pairs().map(|first| (first, next())).collect(),
            load: next(),
            follower: branches.follower.map(|_| next()),
        };
        Self { admittances }
    }

    /// Returns the signature of a wiring in the state at `place`.
    pub(super) fn signature(
        &self,
        branches: &Branches,
        throws: &Throws,
        wiring: &Wiring,
        place: usize,
    ) -> Signature {
        let nets = wiring.nets(throws, place);
        let network = Network { branches, nets: &nets, jack: wiring.jack };
        let transfers = if branches.follower.is_none() || Wiring::has_power(branches, &nets) {
            network.transfers(&self.admittances)
        } else {
            network.transfers(&Admittances { follower: None, ..self.admittances.clone() })
        };
        Signature::of(transfers)
    }

    /// Returns the same with the part of this place worth something else.
    pub(super) fn with_another(&self, slot: Slot) -> Self {
        let mut admittances = self.admittances.clone();
        let another = Residue::new(SEED);
        match slot {
            Slot::Track(place) => {
                admittances.tracks[place] = admittances.tracks[place].map(|own| own * another);
            }
            Slot::Fixed(place) => admittances.fixed[place] = admittances.fixed[place] * another,
            Slot::Coil(place) => admittances.coils[place] = admittances.coils[place] * another,
        }
        Self { admittances }
    }
}

impl Signature {
    fn of(mut transfers: Vec<Residue>) -> Self {
        if let Some(first) = transfers.iter().find(|own| **own != Residue::ZERO)
            && first.either_sign()[0] != *first
        {
            for own in &mut transfers {
                *own = Residue::ZERO - *own;
            }
        }
        Self(transfers)
    }
}

impl Branches {
    /// Returns the place of the first coil of each pair.
    pub(super) fn pairs(&self) -> impl Iterator<Item = usize> {
        (1..self.coils.len())
            .filter(|second| self.coils[*second].pickup == self.coils[*second - 1].pickup)
            .map(|second| second - 1)
    }
}

/// Any number: what follows from it must be the same on every run.
const SEED: u64 = 0x9E37_79B9_7F4A_7C15;
