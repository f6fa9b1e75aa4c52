//! What of a guitar is heard: one pickup by itself, or all that its selectors join.

use std::fmt;

use crate::guitar::{Coil, Guitar, Pickup};
use crate::quantity::Metres;

/// One pickup, or the whole guitar.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scope<'g> {
    /// One pickup, its hot conductor on the guitar's controls.
    Pickup(&'g Pickup),
    /// All pickups as the guitar joins them.
    Guitar,
}

impl<'g> From<&'g Pickup> for Scope<'g> {
    fn from(pickup: &'g Pickup) -> Self {
        Self::Pickup(pickup)
    }
}

impl<'g> Scope<'g> {
    /// Returns the same on a guitar with the same pickups.
    ///
    /// # Panics
    /// Where `guitar` has no pickup of that name.
    #[must_use]
    pub fn on(self, guitar: &Guitar) -> Scope<'_> {
        match self {
            Self::Pickup(pickup) => {
                let same = guitar.pickup(Some(pickup.name().as_str()));
                Scope::Pickup(same.expect("a guitar with the same pickups"))
            }
            Self::Guitar => Scope::Guitar,
        }
    }

    /// Returns the pickups of `guitar` that are in the circuit, at least one.
    pub fn pickups(self, guitar: &'g Guitar) -> Vec<&'g Pickup> {
        match self {
            Self::Pickup(pickup) => vec![pickup],
            Self::Guitar => guitar.pickups().iter().collect(),
        }
    }

    /// Returns the coils of those pickups: coil A before coil B, pickup after pickup.
    pub fn coils(self, guitar: &'g Guitar) -> impl Iterator<Item = &'g Coil> {
        self.pickups(guitar).into_iter().flat_map(|p| std::iter::once(p.coil_a()).chain(p.coil_b()))
    }

    /// Returns each of those coils' string EMF relative to that of a coil of output 1 in a pickup of level 0 dB.
    pub(super) fn outputs(self, guitar: &'g Guitar) -> Vec<f64> {
        let of = |pickup: &'g Pickup| {
            let level = pickup.level().amplitude();
            std::iter::once(pickup.coil_a()).chain(pickup.coil_b()).map(move |coil| coil.output() * level)
        };
        self.pickups(guitar).into_iter().flat_map(of).collect()
    }

    /// Returns what each of those coils is called in rows.
    pub(super) fn coil_names(self, guitar: &'g Guitar) -> Vec<String> {
        let of = |pickup: &Pickup| {
            let before = match self {
                Self::Pickup(_) => String::new(),
                Self::Guitar => format!("{}.", pickup.name()),
            };
            let names = ["coil_a", "coil_b"].into_iter().take(pickup.coil_places().len());
            names.map(|name| format!("{before}{name}")).collect::<Vec<String>>()
        };
        self.pickups(guitar).into_iter().flat_map(of).collect()
    }

    /// Returns the distance of each of those coils to the bridge.
    pub fn places(self, guitar: &'g Guitar) -> Vec<Metres> {
        self.pickups(guitar).into_iter().flat_map(Pickup::coil_places).collect()
    }

    /// Returns the same distances pickup by pickup.
    pub fn places_by_pickup(self, guitar: &'g Guitar) -> Vec<Vec<Metres>> {
        self.pickups(guitar).into_iter().map(Pickup::coil_places).collect()
    }
}

impl fmt::Display for Scope<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pickup(pickup) => pickup.name().fmt(f),
            Self::Guitar => f.pad("whole guitar"),
        }
    }
}
