//! What a guitar's file says of its control cavity beside the circuit: parts, places, and the wires that are there.

use super::keys::Worded;
use super::{Coils, Guitar, Pickup};
use crate::document::Located;
use crate::quantity::Metres;

/// Which way a knob turns up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Turns {
    /// Clockwise, seen from the front.
    #[default]
    Clockwise,
    /// The other way, as on a guitar for the left hand with pots of its own.
    CounterClockwise,
}

/// The contacts of a jack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Jack {
    /// Tip and sleeve.
    Mono,
    /// Tip, ring and sleeve: the plug joins ring to sleeve, which switches a battery.
    Stereo,
}

/// Whether a wire leads from the bridge to the cavity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Strings {
    /// A wire that grounds the strings.
    #[default]
    Wire,
    /// None, as with strings that are no metal.
    None,
}

/// What shields the cavity.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shielding {
    /// Nothing.
    #[default]
    None,
    /// Foil.
    Foil,
    /// Conductive paint.
    Paint,
}

/// How ground is led.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Grounding {
    /// From case to case.
    #[default]
    Bus,
    /// All on one case.
    Star,
}

/// What leaves a pickup.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PickupForm {
    /// A lead from every end of its coils, and a shield.
    Four,
    /// Two leads, no shield; two coils are joined inside.
    Two,
    /// One lead in a braid that is ground and shield; two coils are joined inside.
    Braid,
}

/// A wire that a person soldered, from one terminal to another, by their names.
pub type NamedWire = Located<[Located<String>; 2]>;

/// The control cavity as the file states it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Cavity {
    pub(crate) turns: Turns,
    pub(crate) jack: Option<Jack>,
    pub(crate) strings: Strings,
    pub(crate) shield: Shielding,
    pub(crate) ground: Grounding,
    pub(crate) under: Vec<(Located<String>, Located<String>)>,
    pub(crate) places: Vec<(Located<String>, [Metres; 2])>,
    pub(crate) wires: Option<Vec<NamedWire>>,
    pub(crate) is_stated: bool,
}

impl Worded for Turns {
    const WORDS: &'static [(&'static str, Self)] =
        &[("clockwise", Self::Clockwise), ("counter-clockwise", Self::CounterClockwise)];
}

impl Worded for Jack {
    const WORDS: &'static [(&'static str, Self)] = &[("mono", Self::Mono), ("stereo", Self::Stereo)];
}

impl Worded for Strings {
    const WORDS: &'static [(&'static str, Self)] = &[("wire", Self::Wire), ("none", Self::None)];
}

impl Worded for Shielding {
    const WORDS: &'static [(&'static str, Self)] =
        &[("none", Self::None), ("foil", Self::Foil), ("paint", Self::Paint)];
}

impl Worded for Grounding {
    const WORDS: &'static [(&'static str, Self)] = &[("bus", Self::Bus), ("star", Self::Star)];
}

impl Worded for PickupForm {
    const WORDS: &'static [(&'static str, Self)] =
        &[("four", Self::Four), ("two", Self::Two), ("braid", Self::Braid)];
}

impl PickupForm {
    /// Returns the form that is usual with such coils.
    pub(super) fn usual(coils: &Coils) -> Self {
        match coils {
            Coils::One(_) => Self::Two,
            Coils::Two { .. } => Self::Four,
        }
    }
}

impl Pickup {
    /// Returns what leaves it.
    pub fn form(&self) -> PickupForm {
        self.form
    }

    /// Returns whether its two coils are joined inside, so that no switch can join them otherwise.
    pub fn is_joined_inside(&self) -> bool {
        match self.form {
            PickupForm::Four => false,
            PickupForm::Two => self.coil_b().is_some(),
            PickupForm::Braid => true,
        }
    }
}

impl Cavity {
    /// Returns which way its knobs turn up.
    pub fn turns(&self) -> Turns {
        self.turns
    }

    /// Returns whether a wire grounds the strings.
    pub fn strings(&self) -> Strings {
        self.strings
    }

    /// Returns what shields it.
    pub fn shield(&self) -> Shielding {
        self.shield
    }

    /// Returns how ground is led.
    pub fn ground(&self) -> Grounding {
        self.ground
    }

    /// Returns the switches that lie under a pot, each with the pot: push-pull pots.
    pub fn under(&self) -> &[(Located<String>, Located<String>)] {
        &self.under
    }

    /// Returns the parts whose places are stated, from the cavity's top left corner seen from behind, to the right and
    /// down.
    pub fn places(&self) -> &[(Located<String>, [Metres; 2])] {
        &self.places
    }

    /// Returns the wires that are soldered in, where the file states any.
    pub fn wires(&self) -> Option<&[NamedWire]> {
        self.wires.as_deref()
    }

    /// Returns whether the file has a table of it.
    pub fn is_stated(&self) -> bool {
        self.is_stated
    }
}

impl Guitar {
    /// Returns its control cavity.
    pub fn cavity(&self) -> &Cavity {
        &self.cavity
    }

    /// Returns the contacts of its jack: a ring is there where a battery is to be switched, unless the file says otherwise.
    pub fn jack(&self) -> Jack {
        self.cavity.jack.unwrap_or(if self.buffer.is_some() { Jack::Stereo } else { Jack::Mono })
    }
}
