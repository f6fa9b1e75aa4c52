//! The points of a whole guitar at which things are soldered.

use crate::guitar::{Guitar, Lever};
use crate::wiring::{Lug, Terminal};

/// A point at which something is soldered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Spot {
    /// The jack's sleeve.
    Ground,
    /// What leads on to the guitar's controls.
    Out,
    /// An end of the blend pot's track, the first or the second.
    BlendEnd(usize),
    /// A terminal of the pickup at this place: a coil's end, or one of its two conductors before its own controls.
    Terminal(usize, Terminal),
    /// The hot conductor of that pickup behind its own controls.
    Behind(usize),
    /// The shield of its cable, always on its ground conductor.
    Shield(usize),
    /// A lug of a selector or a switch.
    Lug(Lever, Lug),
}

/// Where the spots of one guitar stand in a list: all that parts hang on before any lug.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Layout {
    pickups: usize,
    /// Each lever with the place of its first lug.
    levers: Vec<(Lever, usize)>,
    len: usize,
}

/// Ground, out and the blend pot's ends.
const FEW: usize = 4;
/// The terminals of a pickup, its hot conductor behind its own controls, and its shield.
const EACH: usize = Terminal::ALL.len() + 2;

impl Layout {
    pub(super) fn of(guitar: &Guitar) -> Self {
        let pickups = guitar.pickups().len();
        let mut len = FEW + EACH * pickups;
        let mut levers = Vec::new();
        for lever in guitar.levers() {
            levers.push((lever, len));
            len += lever.table(guitar).lug_names().len();
        }
        Self { pickups, levers, len }
    }

    /// Returns the number of spots.
    pub(super) fn len(&self) -> usize {
        self.len
    }

    /// Returns the number of the first spots, those that parts hang on.
    pub(super) fn with_parts(&self) -> usize {
        FEW + EACH * self.pickups
    }

    /// Returns the place of `spot`.
    ///
    /// # Panics
    /// Where it is one of another guitar.
    pub(super) fn place(&self, spot: Spot) -> usize {
        match spot {
            Spot::Ground => 0,
            Spot::Out => 1,
            Spot::BlendEnd(end) => 2 + end,
            Spot::Terminal(pickup, terminal) => FEW + EACH * pickup + terminal.index(),
            Spot::Behind(pickup) => FEW + EACH * pickup + Terminal::ALL.len(),
            Spot::Shield(pickup) => FEW + EACH * pickup + Terminal::ALL.len() + 1,
            Spot::Lug(lever, lug) => {
                let first = self.levers.iter().find(|(own, _)| *own == lever).map(|(_, first)| first);
                first.expect("a lever of this guitar") + lug.index()
            }
        }
    }
}
