//! A switch as data: its lugs, and the contacts that each throw closes.

use std::fmt;
use std::sync::LazyLock;

use super::trade_word::{Meant, SWITCH_WORDS, meant};
use crate::document::{Document, Fault, Located, Name, Section};

/// The most lugs a switch may have.
pub const MAX_LUGS: usize = 24;
/// The most characters of a lug's name.
const LONGEST_LUG: usize = 8;
/// The most throws a switch may have.
const MAX_THROWS: u8 = 12;

macro_rules! tables {
    ($folder:literal: $($name:literal),+ $(,)?) => {
        [$(($name, include_str!(concat!("../../presets/", $folder, "/", $name, ".toml")))),+]
    };
}

/// The files of the built-in switches: each one's name and text, smallest switch first.
pub const BUILT_IN: [(&str, &str); 5] =
    tables!("switches": "on-on-single", "on-on", "on-off-on", "on-on-on", "on-on-on-mirrored");

/// The files of the built-in selectors, which choose among pickups: each one's name and text.
pub const SELECTORS: [(&str, &str); 4] =
    tables!("selectors": "on-off", "three-way-toggle", "five-way-blade", "rotary-six");

/// A lug of one switch: its place in [`Switch::lugs`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Lug(u8);

impl Lug {
    /// Returns the lug's place in [`Switch::lugs`].
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// A contact: two lugs that a throw joins.
pub type Contact = [Lug; 2];

/// A switch's contact table.
#[derive(Debug, Clone, PartialEq)]
pub struct Switch {
    name: Name,
    title: String,
    lugs: Vec<String>,
    poles: Vec<SwitchPole>,
    throws: Vec<Throw>,
}

/// A column of lugs of which one, the common, is joined to one of the others.
#[derive(Debug, Clone, PartialEq)]
pub struct SwitchPole {
    name: String,
    lugs: Vec<Lug>,
    common: Lug,
}

/// A position of a switch.
#[derive(Debug, Clone, PartialEq)]
pub struct Throw {
    number: u8,
    position: String,
    knob: Option<String>,
    contacts: Vec<Contact>,
}

/// What one pole joins in one position of its travel; nothing where it is between contacts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PoleState {
    /// The contacts that are closed.
    pub contacts: Vec<Contact>,
}

impl SwitchPole {
    /// Returns the pole's name, such as `left`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the pole's lugs from top to bottom, seen from behind.
    pub fn lugs(&self) -> &[Lug] {
        &self.lugs
    }

    /// Returns the lug that every contact of the pole has in common.
    pub fn common(&self) -> Lug {
        self.common
    }
}

impl Throw {
    /// Returns the throw's number, from 1.
    pub fn number(&self) -> u8 {
        self.number
    }

    /// Returns where the lever is, in words.
    pub fn position(&self) -> &str {
        &self.position
    }

    /// Returns where the knob of a push-pull pot with this switch is, in words.
    pub fn knob(&self) -> Option<&str> {
        self.knob.as_deref()
    }

    /// Returns the contacts that are closed.
    pub fn contacts(&self) -> &[Contact] {
        &self.contacts
    }
}

impl Switch {
    /// Returns the switches that come with the program, those with fewer lugs and throws first.
    pub fn built_in() -> &'static [Self] {
        static TABLES: LazyLock<Vec<Switch>> = LazyLock::new(|| BUILT_IN.map(Switch::embedded).into());
        &TABLES
    }

    /// Returns the selectors that come with the program: switches that choose among pickups.
    pub fn selectors() -> &'static [Self] {
        static TABLES: LazyLock<Vec<Switch>> = LazyLock::new(|| SELECTORS.map(Switch::embedded).into());
        &TABLES
    }

    fn embedded((name, text): (&str, &str)) -> Self {
        Document::new(name, text).interpret(Self::read).expect("the built-in tables are checked by a test")
    }

    /// Returns the built-in switch called `name`.
    ///
    /// # Errors
    /// [`UnknownSwitch`] with the names there are.
    pub fn named(name: &str) -> Result<&'static Self, UnknownSwitch> {
        Self::among(Self::built_in().iter(), name)
    }

    /// Returns the built-in selector or switch called `name`.
    ///
    /// # Errors
    /// [`UnknownSwitch`] with the names there are.
    pub fn selector_named(name: &str) -> Result<&'static Self, UnknownSwitch> {
        Self::among(Self::selectors().iter().chain(Self::built_in()), name)
    }

    fn among(
        mut known: impl Iterator<Item = &'static Self> + Clone,
        name: &str,
    ) -> Result<&'static Self, UnknownSwitch> {
        let names = known.clone().map(Self::name).collect();
        known
            .find(|switch| switch.name() == name)
            .ok_or_else(|| UnknownSwitch { given: name.to_owned(), known: names })
    }

    /// Returns the switch that the table `section` states; every fault is noted there.
    pub fn read(section: &mut Section<'_>) -> Option<Self> {
        if let Some(format) = section.number("format").filter(|f| f.value.total_cmp(&1.0).is_ne()) {
            let message = format!("format {} is not known; this program reads format 1", format.value);
            section.note(Fault::new(format.span, message));
        }
        let name = section.name("name");
        let title = section.label("title");
        for key in ["format", "name", "title"] {
            if !section.has(key) {
                section.note_missing(key, "every table begins with format = 1, a name and a title");
            }
        }
        let mut reading = Reading::default();
        let poles = section.tables("pole", MAX_LUGS, |pole| reading.pole(pole));
        let throws = section.tables("throw", MAX_THROWS.into(), |throw| reading.throw(throw));
        for (key, given) in [("pole", poles.len()), ("throw", throws.len())] {
            if given == 0 {
                let message = format!("a switch has at least one {key}");
                section.note(Fault::new(section.span(), message).hint(format!("head each with [[{key}]]")));
            }
        }
        let poles = poles.into_iter().collect::<Option<Vec<_>>>()?;
        let throws = throws.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Self { name: name?.value, title: title?.value, lugs: reading.lugs, poles, throws })
    }

    /// Returns the switch's name.
    pub fn name(&self) -> &str {
        self.name.as_str()
    }

    /// Returns what kind of switch it is, in a few words.
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Returns the lugs, pole by pole and from top to bottom.
    pub fn lugs(&self) -> impl Iterator<Item = Lug> + use<> {
        (0..).take(self.lugs.len()).map(Lug)
    }

    /// Returns the lug's name, such as `L1`.
    ///
    /// # Panics
    /// Where `lug` is another switch's and this one has fewer.
    pub fn name_of(&self, lug: Lug) -> &str {
        &self.lugs[lug.index()]
    }

    /// Returns the lug called `name`.
    pub fn lug(&self, name: &str) -> Option<Lug> {
        self.lugs().find(|lug| self.name_of(*lug) == name)
    }

    /// Returns the names of all lugs.
    pub fn lug_names(&self) -> &[String] {
        &self.lugs
    }

    /// Returns the poles from left to right, seen from behind.
    pub fn poles(&self) -> &[SwitchPole] {
        &self.poles
    }

    /// Returns the throws in the order of the lever's travel.
    pub fn throws(&self) -> &[Throw] {
        &self.throws
    }

    /// Returns whether `lug` is its pole's common one.
    pub fn is_common(&self, lug: Lug) -> bool {
        self.poles.iter().any(|pole| pole.common == lug)
    }

    /// Returns, pole by pole, the states of its travel: what it joins in each throw that differs, and nothing,
    /// which it joins on the way from one to the next.
    pub fn travel(&self) -> Vec<Vec<PoleState>> {
        let states_of = |pole: &SwitchPole| {
            let mut states: Vec<PoleState> = Vec::new();
            for throw in &self.throws {
                let own = throw.contacts.iter().filter(|c| pole.lugs.contains(&c[0])).copied();
                let state = PoleState { contacts: own.collect() };
                if !states.contains(&state) {
                    states.push(state);
                }
            }
            let open = PoleState { contacts: Vec::new() };
            if !states.contains(&open) {
                states.insert(states.len().min(1), open);
            }
            states
        };
        self.poles.iter().map(states_of).collect()
    }
}

impl fmt::Display for Switch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// A name that no built-in switch has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownSwitch {
    given: String,
    known: Vec<&'static str>,
}

impl UnknownSwitch {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        const TOLD: &str = "`drywire presets` tells what each does";
        let meant = meant(&self.given, &self.known, &SWITCH_WORDS);
        match (meant, meant.and_then(|meant| meant.hint(&self.known))) {
            (Some(Meant::Usual(_)), Some(hint)) => format!("{hint}; {TOLD}"),
            (_, Some(hint)) => hint,
            (Some(Meant::Usual([selector, ..])), None) => {
                format!(
                    "that chooses among pickups: a [[selector]] of the guitar's file, with table = \"{selector}\""
                )
            }
            (_, None) => TOLD.to_owned(),
        }
    }
}

impl fmt::Display for UnknownSwitch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "`{}` is no switch; there are {}", self.given, self.known.join(", "))
    }
}

impl std::error::Error for UnknownSwitch {}

/// The lugs and throws of a table read so far.
#[derive(Default)]
struct Reading {
    lugs: Vec<String>,
    /// The lugs of each pole, and its common one.
    columns: Vec<(Vec<Lug>, Lug)>,
    numbers: Vec<u8>,
}

impl Reading {
    fn pole(&mut self, section: &mut Section<'_>) -> Option<SwitchPole> {
        let name = section.label("name");
        let common = section.text("common");
        let names = section.texts("lugs");
        for (key, hint) in [
            ("name", "call the pole by its side, as in name = \"left\""),
            ("common", "name the lug that every contact of the pole has in common"),
            ("lugs", "list them from top to bottom, as in [\"L1\", \"L2\", \"L3\"]"),
        ] {
            if !section.has(key) {
                section.note_missing(key, hint);
            }
        }
        let mut lugs = Vec::new();
        for name in names? {
            if !(1..=LONGEST_LUG).contains(&name.value.chars().count())
                || name.value.chars().any(char::is_control)
            {
                let message = format!("a lug has a name of 1 to {LONGEST_LUG} characters, such as `L1`");
                section.note(Fault::new(name.span, message));
            } else if self.lugs.contains(&name.value) {
                section.note(Fault::new(name.span, format!("lug `{}` is named twice", name.value)));
            } else if self.lugs.len() == MAX_LUGS {
                section.note(Fault::new(name.span, format!("a switch has at most {MAX_LUGS} lugs")));
                break;
            } else {
                lugs.push(Lug(u8::try_from(self.lugs.len()).ok()?));
                self.lugs.push(name.value);
            }
        }
        let common = common?;
        let Some(common) = lugs.iter().copied().find(|lug| self.lugs[lug.index()] == common.value) else {
            let message = format!("the pole has no lug `{}`", common.value);
            section.note(Fault::new(common.span, message));
            return None;
        };
        self.columns.push((lugs.clone(), common));
        Some(SwitchPole { name: name?.value, lugs, common })
    }

    fn throw(&mut self, section: &mut Section<'_>) -> Option<Throw> {
        let number = self.number(section);
        let position = section.label("position");
        let knob = section.label("knob").map(|text| text.value);
        let pairs = section.text_lists("contacts");
        for (key, hint) in [
            ("number", "number the throws from 1"),
            ("position", "say where the lever is, as in position = \"lever toward lugs 3\""),
            ("contacts", "list the pairs that the throw joins, or [] where it joins none"),
        ] {
            if !section.has(key) {
                section.note_missing(key, hint);
            }
        }
        let contacts: Vec<_> = pairs?.iter().map(|pair| self.contact(section, pair)).collect();
        let contacts = contacts.into_iter().collect::<Option<_>>()?;
        Some(Throw { number: number?, position: position?.value, knob, contacts })
    }

    fn number(&mut self, section: &mut Section<'_>) -> Option<u8> {
        let number = section.number("number")?;
        let wanted = (1..=MAX_THROWS).find(|n| f64::from(*n).total_cmp(&number.value).is_eq());
        let Some(value) = wanted else {
            let message =
                format!("`number` is {}; a throw has a whole number from 1 to {MAX_THROWS}", number.value);
            section.note(Fault::new(number.span, message));
            return None;
        };
        if self.numbers.contains(&value) {
            section.note(Fault::new(number.span, format!("there are two throws with the number {value}")));
        }
        self.numbers.push(value);
        Some(value)
    }

    fn contact(&self, section: &Section<'_>, pair: &Located<Vec<Located<String>>>) -> Option<Contact> {
        let [one, other] = pair.value.as_slice() else {
            let message = format!("a contact joins two lugs, and {} are given", pair.value.len());
            section.note(Fault::new(pair.span.clone(), message));
            return None;
        };
        let find = |name: &Located<String>| {
            let found = self.lugs.iter().position(|lug| *lug == name.value);
            if found.is_none() {
                let message = format!("no pole has a lug `{}`", name.value);
                section.note(
                    Fault::new(name.span.clone(), message)
                        .hint(format!("there are {}", self.lugs.join(", "))),
                );
            }
            found.and_then(|index| u8::try_from(index).ok()).map(Lug)
        };
        let (one, other) = (find(one)?, find(other)?);
        let in_column = |(lugs, common): &(Vec<Lug>, Lug)| {
            one != other
                && (one == *common && lugs.contains(&other) || other == *common && lugs.contains(&one))
        };
        if self.columns.iter().any(in_column) {
            return Some([one, other]);
        }
        let message = "a contact joins a pole's common lug to another of the same pole";
        section.note(Fault::new(pair.span.clone(), message));
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_switches_join_what_their_names_say() {
        let told = |name: &str| {
            let switch = Switch::selector_named(name).unwrap();
            let contact = |c: &Contact| format!("{}-{}", switch.name_of(c[0]), switch.name_of(c[1]));
            let throw = |t: &Throw| {
                let contacts: Vec<_> = t.contacts().iter().map(contact).collect();
                format!("{}: {}", t.number(), contacts.join(" "))
            };
            switch.throws().iter().map(throw).collect::<Vec<_>>()
        };
        assert_eq!(told("on-on"), ["1: L2-L1 R2-R1", "3: L2-L3 R2-R3"]);
        assert_eq!(told("on-on-on"), ["1: L2-L1 R2-R1", "2: L2-L1 R2-R3", "3: L2-L3 R2-R3"]);
        assert_eq!(told("on-on-on-mirrored"), ["1: L2-L1 R2-R1", "2: L2-L3 R2-R1", "3: L2-L3 R2-R3"]);
        assert_eq!(told("on-off-on"), ["1: L2-L1 R2-R1", "2: ", "3: L2-L3 R2-R3"]);
        assert_eq!(told("on-on-single"), ["1: L2-L1", "3: L2-L3"]);
        assert_eq!(told("on-off"), ["1: ", "2: 1-2"]);
        assert_eq!(told("three-way-toggle"), ["1: 0-1", "2: 0-1 0-2", "3: 0-2"]);
        let five = told("five-way-blade");
        assert_eq!(
            five[1..4],
            ["2: A0-A1 A0-A2 B0-B1 B0-B2", "3: A0-A2 B0-B2", "4: A0-A2 A0-A3 B0-B2 B0-B3"]
        );
        assert_eq!((five.len(), told("rotary-six")[5].as_str()), (5, "6: A0-A6 B0-B6"));
    }

    #[test]
    fn a_built_in_file_is_called_as_the_switch_in_it() {
        let files = BUILT_IN.iter().chain(&SELECTORS);
        for ((name, _), switch) in files.zip(Switch::built_in().iter().chain(Switch::selectors())) {
            assert_eq!(*name, switch.name());
        }
    }

    #[test]
    fn every_pole_travels_through_two_contacts_and_nothing() {
        for switch in Switch::built_in() {
            for states in switch.travel() {
                let closed: Vec<usize> = states.iter().map(|state| state.contacts.len()).collect();
                assert_eq!(closed, [1, 0, 1], "{switch}");
            }
        }
    }

    #[test]
    fn a_table_with_faults_is_refused_with_all_of_them() {
        let text = "format = 2\nname = \"x\"\ntitle = \"y\"\n\
            [[pole]]\nname = \"left\"\nlugs = [\"L1\", \"L1\"]\ncommon = \"L9\"\n\
            [[throw]]\nnumber = 1.5\nposition = \"up\"\ncontacts = [[\"L1\"], [\"L1\", \"R7\"], [\"L1\", \"L1\"]]\n\
            [[throw]]\nposition = \"down\"\ncontact = []\n";
        let refusal = Document::new("table.toml", text).interpret(Switch::read).expect_err("ten faults");
        let lines: Vec<usize> = refusal.faults().iter().map(|f| refusal.line_of(f)).collect();
        assert_eq!(lines, [1, 6, 7, 9, 11, 11, 11, 12, 12, 14], "{refusal}");
    }

    #[test]
    fn a_switch_that_does_not_exist_is_refused_with_the_nearest() {
        let refusal = Switch::named("onon").unwrap_err();
        assert_eq!(refusal.hint(), "did you mean `on-on`?");
    }
}
