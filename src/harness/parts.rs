//! The parts of a control cavity and the terminals at which they are soldered.

use crate::document::Name;
use crate::guitar::{
    BleedForm, Bypass, Coils, Controls, Guitar, Jack, Lever, Pickup, PickupForm, Shielding, Strings,
};
use crate::wiring::{Arrangement, Terminal as CoilEnd};

/// A point of a part at which something can be soldered: its place among all of [`Parts`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Terminal(pub(super) u16);

/// What a pot does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Takes the level down.
    Volume,
    /// Takes the treble down.
    Tone,
    /// Takes the bass down.
    BassCut,
    /// Goes over from one pickup to another.
    Blend,
}

/// A part of two legs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TwoLegs {
    /// The tone control's capacitor.
    ToneCapacitor,
    /// The treble bleed's capacitor.
    BleedCapacitor,
    /// The treble bleed's resistor.
    BleedResistor,
    /// The bass cut's capacitor.
    BassCapacitor,
    /// The capacitor from the coils' joint to ground.
    BypassCapacitor,
    /// The resistor from the coils' joint to ground.
    BypassResistor,
    /// A fixed resistor from hot to ground.
    Load,
}

/// What a part is; those of one pickup carry its place in [`Guitar::pickups`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PartKind {
    /// A pot.
    Pot(Role, Option<usize>),
    /// A capacitor or a resistor.
    TwoLegs(TwoLegs, Option<usize>),
    /// A selector or a switch.
    Lever(Lever),
    /// The jack.
    Jack,
    /// The pickup at this place.
    Pickup(usize),
    /// The strings, by the wire that leads to them.
    Strings,
    /// The shield of the cavity.
    Cavity,
    /// The buffer.
    Buffer,
    /// Its battery.
    Battery,
}

/// A part with its terminals.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    name: String,
    kind: PartKind,
    /// What its terminals are called, in the order of [`Terminal`].
    lugs: Vec<String>,
    first: u16,
    /// How many of the terminals can be reached with an iron; the others are inside.
    reached: usize,
}

/// All parts of one guitar's cavity.
#[derive(Debug, Clone, PartialEq)]
pub struct Parts {
    guitar: Guitar,
    all: Vec<Part>,
    /// The part that each terminal is of.
    owner: Vec<usize>,
}

/// A guitar for which no cavity follows from its file.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum HarnessError {
    /// Nothing says how its pickups are joined.
    #[error("the guitar's file does not say how its {pickups} pickups are joined")]
    NotJoined {
        /// How many there are.
        pickups: usize,
    },
    /// Two of its parts would be called alike.
    #[error("two parts of the guitar are called `{name}`")]
    SameName {
        /// The name.
        name: String,
    },
    /// Its selectors and switches can stand in more ways than are looked at.
    #[error("its selectors and switches can stand in {ways} ways; allowed are up to {}", super::throws::MOST)]
    TooManyStates {
        /// In how many.
        ways: u64,
    },
}

impl HarnessError {
    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::NotJoined { .. } => {
                "add a table headed [[selector]], or joints = [[\"bridge\", \"neck\", \"out\"]], to its file"
            }
            Self::SameName { .. } => {
                "call the pickup, selector or switch otherwise: parts are called volume, tone, jack and so on, those of \
                 one pickup by its name before that"
            }
            Self::TooManyStates { .. } => "leave out of the file what is not to be wired anew",
        }
    }
}

impl TwoLegs {
    fn name(self) -> &'static str {
        match self {
            Self::ToneCapacitor => "tone-cap",
            Self::BleedCapacitor => "bleed-cap",
            Self::BleedResistor => "bleed-res",
            Self::BassCapacitor => "bass-cap",
            Self::BypassCapacitor => "bypass-cap",
            Self::BypassResistor => "bypass-res",
            Self::Load => "load",
        }
    }
}

impl Role {
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Volume => "volume",
            Self::Tone => "tone",
            Self::BassCut => "bass-cut",
            Self::Blend => "blend",
        }
    }
}

impl Part {
    /// Returns what it is called.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns what it is.
    pub fn kind(&self) -> PartKind {
        self.kind
    }

    /// Returns its terminals, all of them within reach.
    pub fn terminals(&self) -> impl Iterator<Item = Terminal> + use<> {
        (self.first..).take(self.reached).map(Terminal)
    }

    /// Returns the name of each of its terminals that are within reach, such as `2` or `case`.
    pub fn lugs(&self) -> &[String] {
        &self.lugs[..self.reached]
    }

    /// Returns its terminal called `lug`, within reach or not.
    pub(super) fn lug(&self, lug: &str) -> Option<Terminal> {
        (self.first..).zip(&self.lugs).find(|(_, own)| *own == lug).map(|(at, _)| Terminal(at))
    }

    /// Returns its terminal of this place among all of its own.
    pub(super) fn at(&self, place: u16) -> Terminal {
        Terminal(self.first + place)
    }
}

impl Terminal {
    /// Returns its place.
    pub(super) fn index(self) -> usize {
        usize::from(self.0)
    }
}

impl Parts {
    /// Returns the parts of the cavity of `guitar`.
    ///
    /// # Errors
    /// [`HarnessError`] where its file does not say enough, or two parts would have one name.
    pub fn of(guitar: &Guitar) -> Result<Self, HarnessError> {
        let pickups = guitar.pickups().len();
        if guitar.joined().is_empty() && pickups > 1 {
            return Err(HarnessError::NotJoined { pickups });
        }
        let mut parts = Self { guitar: guitar.clone(), all: Vec::new(), owner: Vec::new() };
        for (place, pickup) in guitar.pickups().iter().enumerate() {
            parts.pickup(place, pickup);
        }
        for lever in guitar.levers() {
            parts.lever(guitar, lever);
        }
        for (place, pickup) in guitar.pickups().iter().enumerate() {
            parts.controls(pickup.controls(), Some(place));
        }
        if guitar.joined().blend().is_some() {
            parts.pot(Role::Blend, None);
        }
        parts.controls(guitar.controls(), None);
        parts.add(
            "jack",
            PartKind::Jack,
            match guitar.jack() {
                Jack::Mono => &["tip", "sleeve"],
                Jack::Stereo => &["tip", "sleeve", "ring"],
            },
        );
        match guitar.cavity().strings() {
            Strings::Wire => parts.add("strings", PartKind::Strings, &["wire"]),
            Strings::None => {}
        }
        match guitar.cavity().shield() {
            Shielding::Foil | Shielding::Paint => parts.add("cavity", PartKind::Cavity, &["tab"]),
            Shielding::None => {}
        }
        if guitar.buffer().is_some() {
            parts.add("buffer", PartKind::Buffer, &["in", "out", "ground", "supply"]);
            parts.add("battery", PartKind::Battery, &["+", "-"]);
        }
        let mut names: Vec<&str> = parts.all.iter().map(Part::name).collect();
        names.sort_unstable();
        match names.windows(2).find(|pair| pair[0] == pair[1]) {
            Some(pair) => Err(HarnessError::SameName { name: pair[0].to_owned() }),
            None => Ok(parts),
        }
    }

    /// Returns the guitar.
    pub fn guitar(&self) -> &Guitar {
        &self.guitar
    }

    /// Returns all parts.
    pub fn all(&self) -> &[Part] {
        &self.all
    }

    /// Returns the part called `name`.
    pub fn named(&self, name: &str) -> Option<&Part> {
        self.all.iter().find(|part| part.name == name)
    }

    /// Returns the part of this kind.
    pub fn of_kind(&self, kind: PartKind) -> Option<&Part> {
        self.all.iter().find(|part| part.kind == kind)
    }

    /// Returns every terminal within reach, part by part.
    pub fn terminals(&self) -> impl Iterator<Item = Terminal> {
        self.all.iter().flat_map(Part::terminals)
    }

    /// Returns the number of terminals, those inside parts among them.
    pub(super) fn len(&self) -> usize {
        self.owner.len()
    }

    /// Returns the part that `terminal` is of.
    pub fn part_of(&self, terminal: Terminal) -> &Part {
        &self.all[self.owner[terminal.index()]]
    }

    /// Returns the terminal's name, such as `volume.2`.
    pub fn name_of(&self, terminal: Terminal) -> String {
        format!("{}.{}", self.part_of(terminal).name, self.lug_of(terminal))
    }

    /// Returns the terminal's name within its part.
    pub fn lug_of(&self, terminal: Terminal) -> &str {
        let part = self.part_of(terminal);
        &part.lugs[terminal.index() - usize::from(part.first)]
    }

    /// Returns the terminal called `name`, such as `volume.2`.
    pub fn terminal(&self, name: &str) -> Option<Terminal> {
        let (part, lug) = name.split_once('.')?;
        let part = self.named(part)?;
        part.lugs().iter().any(|own| own == lug).then(|| part.lug(lug)).flatten()
    }

    /// Returns whether it is metal that a hand or the air touches: it must be joined to the sleeve by solder.
    pub fn is_metal(&self, terminal: Terminal) -> bool {
        match self.part_of(terminal).kind {
            PartKind::Pot(..) => self.lug_of(terminal) == "case",
            PartKind::Lever(_) => self.lug_of(terminal) == FRAME,
            PartKind::Pickup(_) => matches!(self.lug_of(terminal), SHIELD | BRAID),
            PartKind::Strings | PartKind::Cavity => true,
            PartKind::TwoLegs(..) | PartKind::Jack | PartKind::Buffer | PartKind::Battery => false,
        }
    }

    /// Returns whether it is the end of a lead or a leg, which reaches one other point.
    pub fn is_lead(&self, terminal: Terminal) -> bool {
        match self.part_of(terminal).kind {
            PartKind::Pickup(_) | PartKind::TwoLegs(..) | PartKind::Strings | PartKind::Battery => true,
            PartKind::Pot(..) | PartKind::Lever(_) | PartKind::Jack | PartKind::Cavity | PartKind::Buffer => {
                false
            }
        }
    }

    /// Returns the jack's tip and sleeve.
    ///
    /// # Panics
    /// Never: every cavity has a jack.
    pub fn jack(&self) -> [Terminal; 2] {
        let jack = self.of_kind(PartKind::Jack).expect("every cavity has a jack");
        [jack.at(0), jack.at(1)]
    }

    fn add<T: AsRef<str>>(&mut self, name: impl Into<String>, kind: PartKind, lugs: &[T]) {
        self.add_with_inside(name, kind, lugs, &[]);
    }

    fn add_with_inside<T: AsRef<str>>(
        &mut self,
        name: impl Into<String>,
        kind: PartKind,
        lugs: &[T],
        inside: &[&str],
    ) {
        let own = lugs.iter().map(|lug| lug.as_ref().to_owned());
        let all: Vec<String> = own.chain(inside.iter().map(|lug| (*lug).to_owned())).collect();
        // Eight selectors of 24 lugs, eight switches and four pickups with all controls have some 600 terminals.
        let first = u16::try_from(self.owner.len()).unwrap_or(u16::MAX);
        self.owner.extend(all.iter().map(|_| self.all.len()));
        self.all.push(Part { name: name.into(), kind, lugs: all, first, reached: lugs.len() });
    }

    fn pickup(&mut self, place: usize, pickup: &Pickup) {
        let ends: Vec<&str> =
            pickup.coil_names().flat_map(|coil| [coil.plus(), coil.minus()]).map(CoilEnd::name).collect();
        let kind = PartKind::Pickup(place);
        let name = pickup.name().as_str();
        match pickup.form() {
            PickupForm::Four => self.add(name, kind, &[ends, vec![SHIELD]].concat()),
            PickupForm::Two if pickup.is_joined_inside() => {
                self.add_with_inside(name, kind, &[HOT, COLD], &ends);
            }
            PickupForm::Two => self.add(name, kind, &ends),
            PickupForm::Braid => self.add_with_inside(name, kind, &[HOT, BRAID], &ends),
        }
    }

    fn lever(&mut self, guitar: &Guitar, lever: Lever) {
        let table = lever.table(guitar);
        let mut lugs = table.lug_names().to_vec();
        match lever {
            Lever::Selector(_) if table.name() != FRAMELESS => lugs.push(FRAME.to_owned()),
            Lever::Selector(_) | Lever::Switch(_) => {}
        }
        self.add(lever.name(guitar).as_str(), PartKind::Lever(lever), &lugs);
    }

    fn controls(&mut self, controls: &Controls, whose: Option<usize>) {
        if controls.bass_cut().is_some() {
            self.pot(Role::BassCut, whose);
            self.two_legs(TwoLegs::BassCapacitor, whose);
        }
        if controls.load().is_some() {
            self.two_legs(TwoLegs::Load, whose);
        }
        if controls.volume().is_some() {
            self.pot(Role::Volume, whose);
        }
        if let Some(bleed) = controls.bleed() {
            self.two_legs(TwoLegs::BleedCapacitor, whose);
            match bleed.form() {
                BleedForm::Capacitor => {}
                BleedForm::Parallel(_) | BleedForm::Series(_) => self.two_legs(TwoLegs::BleedResistor, whose),
            }
        }
        if controls.tone().is_some() {
            self.pot(Role::Tone, whose);
            self.two_legs(TwoLegs::ToneCapacitor, whose);
        }
        match whose.and_then(|place| bypass_of(&self.guitar, place)) {
            Some(Bypass::Capacitor(_)) => self.two_legs(TwoLegs::BypassCapacitor, whose),
            Some(Bypass::Resistor(_)) => self.two_legs(TwoLegs::BypassResistor, whose),
            None => {}
        }
    }

    fn pot(&mut self, role: Role, whose: Option<usize>) {
        let name = self.own_name(role.name(), whose);
        self.add(name, PartKind::Pot(role, whose), &["1", "2", "3", "case"]);
    }

    fn two_legs(&mut self, what: TwoLegs, whose: Option<usize>) {
        let name = self.own_name(what.name(), whose);
        self.add(name, PartKind::TwoLegs(what, whose), &["1", "2"]);
    }

    fn own_name(&self, name: &str, whose: Option<usize>) -> String {
        let of = |pickup: &Name| format!("{pickup}-{name}");
        whose.map_or_else(|| name.to_owned(), |place| of(self.guitar.pickups()[place].name()))
    }
}

/// Returns what leads from the joint of the coils of the pickup at `place` to ground, where its arrangement has it and no
/// switch decides.
pub(super) fn bypass_of(guitar: &Guitar, place: usize) -> Option<Bypass> {
    let pickup = &guitar.pickups()[place];
    let is_switched = (0..guitar.switches().len()).any(|switch| guitar.pickup_switched_at(switch) == place);
    match pickup.coils() {
        Coils::Two { bypass, .. } if !is_switched && pickup.arrangement() == Arrangement::SeriesBypassed => {
            *bypass
        }
        Coils::One(_) | Coils::Two { .. } => None,
    }
}

/// What the lugs of parts are called that are no pot's.
pub(super) const FRAME: &str = "frame";
pub(super) const SHIELD: &str = "shield";
pub(super) const BRAID: &str = "braid";
pub(super) const HOT: &str = "hot";
pub(super) const COLD: &str = "cold";
/// The selector without a frame: a mini toggle is grounded by its nut.
const FRAMELESS: &str = "on-off";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_parts_of_a_set_neck_guitar_have_the_names_of_the_bench() {
        let parts = Parts::of(&Guitar::built_in("set-neck").unwrap()).unwrap();
        let names: Vec<String> = parts.terminals().map(|terminal| parts.name_of(terminal)).collect();
        assert_eq!(names.len(), 27, "{names:?}");
        for name in [
            "bridge.a+",
            "neck.shield",
            "selector.0",
            "selector.frame",
            "volume.case",
            "tone-cap.2",
            "jack.sleeve",
        ] {
            assert!(names.iter().any(|own| own == name), "{name}");
            assert_eq!(parts.terminal(name).map(|terminal| parts.name_of(terminal)).as_deref(), Some(name));
        }
        let metal = parts.terminals().filter(|terminal| parts.is_metal(*terminal)).count();
        assert_eq!(metal, 6, "two shields, two cases, a frame, the strings");
    }

    #[test]
    fn a_guitar_whose_pickups_are_not_joined_has_no_harness() {
        let refused = Parts::of(&Guitar::built_in("short-scale-blade").unwrap()).unwrap_err();
        assert_eq!(refused, HarnessError::NotJoined { pickups: 2 });
    }
}
