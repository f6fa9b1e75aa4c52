//! A pickup: one coil or two, and where on the guitar.

use std::fmt;

use super::{Coil, Controls, Cover, PickupForm, Value};
use crate::document::Name;
use crate::quantity::{Db, Farads, Henries, Metres, Ohms};
use crate::wiring::{Arrangement, CoilName, FinishIsPlus};

/// What leads from the joint of two coils to ground: a capacitor, or a resistor for a partial split.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Bypass {
    /// A capacitor: coil B is split off for treble alone.
    Capacitor(Farads),
    /// A resistor: coil B is split off in part.
    Resistor(Ohms),
}

impl fmt::Display for Bypass {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Capacitor(capacitor) => capacitor.fmt(f),
            Self::Resistor(resistor) => resistor.fmt(f),
        }
    }
}

/// The coils of a pickup.
#[derive(Debug, Clone, PartialEq)]
#[allow(clippy::large_enum_variant, reason = "a guitar has four pickups at most")]
pub enum Coils {
    /// A one-coil pickup.
    One(Coil),
    /// A two-coil pickup; coil A is nearer the bridge.
    Two {
        /// Coil A.
        a: Coil,
        /// Coil B.
        b: Coil,
        /// The magnitude k of the coupling between the coils, from 0 to below 1.
        coupling: Value<f64>,
        /// What leads from the coils' joint to ground, where something is fitted.
        bypass: Option<Bypass>,
    },
}

/// A pickup and its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Pickup {
    pub(crate) name: Name,
    /// The built-in pickup that it starts from, assumed where its kind is not known.
    pub(crate) like: Option<Value<&'static str>>,
    pub(crate) from_bridge: Value<Metres>,
    pub(crate) spacing: Value<Metres>,
    pub(crate) coils: Coils,
    pub(crate) cover: Value<Cover>,
    pub(crate) level: Value<Db>,
    pub(crate) arrangement: Arrangement,
    pub(crate) controls: Controls,
    pub(crate) form: PickupForm,
}

impl Pickup {
    /// The levels that a guitar's file may state, in decibels, from the least to the most.
    pub const LEVELS: [f64; 2] = [-40.0, 40.0];

    /// Returns the pickup's name.
    pub fn name(&self) -> &Name {
        &self.name
    }

    /// Returns the distance from the pickup's centre to the bridge saddle.
    pub fn from_bridge(&self) -> Metres {
        self.from_bridge.value
    }

    /// Returns the distance between the coils' centres; zero for a one-coil pickup.
    pub fn spacing(&self) -> Metres {
        self.spacing.value
    }

    /// Returns the coils.
    pub fn coils(&self) -> &Coils {
        &self.coils
    }

    /// Returns what lies over the coils.
    pub fn cover(&self) -> Cover {
        self.cover.value
    }

    /// Returns how much louder than the guitar's other pickups it hears the strings, beyond what its place and its coils' values
    /// make.
    pub fn level(&self) -> Db {
        self.level.value
    }

    /// Returns whether the file states that level.
    pub fn states_level(&self) -> bool {
        self.level.origin.is_stated()
    }

    /// Returns the pickup without its lead's capacitance.
    #[must_use]
    pub fn without_lead(&self) -> Self {
        let bare = |coil: &Coil| {
            let mut coil = coil.clone();
            coil.lead.value = Farads::new(0.0);
            coil
        };
        let coils = match &self.coils {
            Coils::One(coil) => Coils::One(bare(coil)),
            Coils::Two { a, b, coupling, bypass } => {
                Coils::Two { a: bare(a), b: bare(b), coupling: *coupling, bypass: *bypass }
            }
        };
        Self { coils, ..self.clone() }
    }

    /// Returns the names of its coils.
    pub fn coil_names(&self) -> impl Iterator<Item = CoilName> {
        CoilName::BOTH.into_iter().take(self.coil_places().len())
    }

    /// Returns the arrangement that it has in the guitar, where no switch decides.
    pub fn arrangement(&self) -> Arrangement {
        self.arrangement
    }

    /// Returns the pickup's own controls, which its signal passes before it is joined with others.
    pub fn controls(&self) -> &Controls {
        &self.controls
    }

    /// Returns coil A, the one nearer the bridge or the only one.
    pub fn coil_a(&self) -> &Coil {
        match &self.coils {
            Coils::One(coil) => coil,
            Coils::Two { a, .. } => a,
        }
    }

    /// Returns coil B, where there is one.
    pub fn coil_b(&self) -> Option<&Coil> {
        match &self.coils {
            Coils::One(_) => None,
            Coils::Two { b, .. } => Some(b),
        }
    }

    /// Returns whether the guitar's file states the top pole of each coil: without both it is assumed whether hum cancels.
    pub fn poles_are_known(&self) -> bool {
        [Some(self.coil_a()), self.coil_b()]
            .into_iter()
            .flatten()
            .all(|coil| coil.top_pole.origin.is_stated())
    }

    /// Returns of each coil, A first, whether its finish is its tap-positive end; that of a coil that is not there is
    /// taken so.
    pub fn finish_is_plus(&self) -> FinishIsPlus {
        [Some(self.coil_a()), self.coil_b()].map(|coil| coil.is_none_or(Coil::finish_is_plus))
    }

    /// Returns each coil's distance to the bridge, coil A first.
    pub fn coil_places(&self) -> Vec<Metres> {
        let (centre, half) = (self.from_bridge().value(), self.spacing().value() / 2.0);
        match self.coils {
            Coils::One(_) => vec![self.from_bridge()],
            Coils::Two { .. } => vec![Metres::new(centre - half), Metres::new(centre + half)],
        }
    }

    /// Returns the magnitude of the coupling between the coils; nothing where there is one coil.
    pub fn coupling(&self) -> Option<f64> {
        match &self.coils {
            Coils::One(_) => None,
            Coils::Two { coupling, .. } => Some(coupling.value),
        }
    }

    /// Returns the mutual inductance of the coils' unshunted inductors with the + ends as reference.
    ///
    /// # Source
    /// `M = −p_A p_B k √(L_A′ L_B′)`: in the ordinary pickup, top poles opposite, the coils aid in series.
    pub fn mutual_inductance(&self) -> Henries {
        match &self.coils {
            Coils::One(_) => Henries::new(0.0),
            Coils::Two { a, b, coupling, .. } => {
                let unshunted =
                    |c: &Coil| c.inductance().value() * (1.0 - c.eddy.map_or(0.0, |e| e.share.value));
                let sign = -a.top_pole().sign() * b.top_pole().sign();
                Henries::new(sign * coupling.value * (unshunted(a) * unshunted(b)).sqrt())
            }
        }
    }

    /// Returns the arrangements that this pickup can be heard in without further parts.
    pub fn arrangements(&self) -> Vec<Arrangement> {
        match &self.coils {
            Coils::One(_) => vec![Arrangement::Alone],
            Coils::Two { bypass, .. } => Arrangement::TWO_COIL
                .into_iter()
                .filter(|a| *a != Arrangement::SeriesBypassed || bypass.is_some())
                .collect(),
        }
    }
}
