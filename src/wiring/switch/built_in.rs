//! The switches and selectors that come with the program.

use std::fmt;
use std::sync::{Arc, LazyLock};

use super::Switch;
use crate::document::Document;
use crate::wiring::trade_word::{Meant, SWITCH_WORDS, meant};

macro_rules! tables {
    ($folder:literal: $($name:literal),+ $(,)?) => {
        [$(($name, include_str!(concat!("../../../presets/", $folder, "/", $name, ".toml")))),+]
    };
}

/// The files of the built-in switches: each one's name and text, smallest switch first.
pub const BUILT_IN: [(&str, &str); 5] =
    tables!("switches": "on-on-single", "on-on", "on-off-on", "on-on-on", "on-on-on-mirrored");

/// The files of the built-in selectors, which choose among pickups: each one's name and text.
pub const SELECTORS: [(&str, &str); 4] =
    tables!("selectors": "on-off", "three-way-toggle", "five-way-blade", "rotary-six");

impl Switch {
    /// Returns the switches that come with the program, those with fewer lugs and throws first.
    pub fn built_in() -> &'static [Arc<Self>] {
        static TABLES: LazyLock<Vec<Arc<Switch>>> = LazyLock::new(|| BUILT_IN.map(Switch::embedded).into());
        &TABLES
    }

    /// Returns the selectors that come with the program: switches that choose among pickups.
    pub fn selectors() -> &'static [Arc<Self>] {
        static TABLES: LazyLock<Vec<Arc<Switch>>> = LazyLock::new(|| SELECTORS.map(Switch::embedded).into());
        &TABLES
    }

    fn embedded((name, text): (&str, &str)) -> Arc<Self> {
        let read = Document::new(name, text).interpret(Self::read);
        Arc::new(read.expect("the built-in tables are checked by a test"))
    }

    /// Returns the built-in switch called `name`.
    ///
    /// # Errors
    /// [`UnknownSwitch`] with the names there are.
    pub fn named(name: &str) -> Result<Arc<Self>, UnknownSwitch> {
        Self::among(Self::built_in().iter(), name)
    }

    /// Returns the built-in selector or switch called `name`.
    ///
    /// # Errors
    /// [`UnknownSwitch`] with the names there are.
    pub fn selector_named(name: &str) -> Result<Arc<Self>, UnknownSwitch> {
        Self::among(Self::selectors().iter().chain(Self::built_in()), name)
    }

    fn among(
        mut known: impl Iterator<Item = &'static Arc<Self>> + Clone,
        name: &str,
    ) -> Result<Arc<Self>, UnknownSwitch> {
        let names = known.clone().map(|switch| switch.name()).collect();
        known
            .find(|switch| switch.name() == name)
            .cloned()
            .ok_or_else(|| UnknownSwitch { given: name.to_owned(), known: names })
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wiring::{Contact, Throw};

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
    fn a_switch_that_does_not_exist_is_refused_with_the_nearest() {
        let refusal = Switch::named("onon").unwrap_err();
        assert_eq!(refusal.hint(), "did you mean `on-on`?");
    }
}
