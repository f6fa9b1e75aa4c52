//! A wiring checked: whether it is the circuit, what is on ground, and what is wrong.

use super::fault::{Checked, FaultKind, WiringFault};
use super::figures::{HIGH, LOW, Settings};
use super::union::Union;
use super::wiring::Wiring;
use super::{Harness, PartKind, Terminal, Wire, notes};

/// Less of every coil's voltage than this at the jack is silence.
pub(super) const SILENCE: f64 = 1e-3;

/// What metal is joined to by solder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum MetalOn {
    Sleeve,
    Tip,
    Neither,
}

impl Harness {
    /// Returns what is found of these wires: whether they are the circuit, every fault, and what a meter reads.
    pub fn check(&self, wires: &[Wire]) -> Checked {
        let wiring = Wiring::of(&self.parts, &self.branches, wires);
        let full = Settings::full(&self.branches);
        let names = self.throws.names();
        let ohms = |place: usize| (names[place].clone(), self.ohms(&wiring, place, &full));
        let differing: Vec<usize> = self.differing(&wiring).collect();
        let silent = (0..names.len()).filter(|place| self.is_silent(&wiring, *place, &full));
        let mut checked = Checked {
            same_circuit: differing.is_empty(),
            faults: Vec::new(),
            silent: silent.map(|place| names[place].clone()).collect(),
            notes: notes::of(self, wires),
            ohms_at_jack: (0..names.len()).map(ohms).collect(),
        };
        let wiring = self.metal(wiring, &mut checked.faults);
        self.power(&wiring, &mut checked.faults);
        if !checked.same_circuit {
            self.judge(&wiring, &differing, &mut checked.faults);
        }
        checked
    }

    /// Returns whether nothing is wrong with a wiring but its circuit: all metal is on the sleeve, and a battery is switched.
    pub(super) fn is_safe(&self, wiring: &Wiring) -> bool {
        let always_on =
            || (0..self.throws.len()).any(|place| wiring.is_always_on(&self.branches, &self.throws, place));
        self.unsafe_metal(wiring) == 0 && !(self.branches.follower.is_some() && always_on())
    }

    /// Returns how much metal is not on the sleeve.
    pub(super) fn unsafe_metal(&self, wiring: &Wiring) -> usize {
        self.metals(&wiring.solder).filter(|(_, on)| *on != MetalOn::Sleeve).count()
    }

    fn metals<'h>(&'h self, solder: &'h Union) -> impl Iterator<Item = (Terminal, MetalOn)> + 'h {
        let [tip, sleeve] = self.parts.jack().map(Terminal::index);
        self.metal.iter().map(move |metal| {
            let on = if solder.joins(metal.index(), sleeve) {
                MetalOn::Sleeve
            } else if solder.joins(metal.index(), tip) {
                MetalOn::Tip
            } else {
                MetalOn::Neither
            };
            (*metal, on)
        })
    }

    /// Adds what is wrong with metal, and returns the wiring with its jack as it is meant.
    fn metal(&self, wiring: Wiring, faults: &mut Vec<WiringFault>) -> Wiring {
        let metals: Vec<(Terminal, MetalOn)> = self.metals(&wiring.solder).collect();
        let count = |wanted: MetalOn| metals.iter().filter(|(_, on)| *on == wanted).count();
        let is_swapped = count(MetalOn::Sleeve) == 0 && 2 * count(MetalOn::Tip) > metals.len();
        if is_swapped {
            let words = "tip and sleeve of the jack are exchanged: all metal is on the tip".to_owned();
            faults.push(WiringFault {
                kind: FaultKind::JackSwapped,
                what: "jack".to_owned(),
                positions: Vec::new(),
                words,
            });
        }
        for (metal, on) in metals {
            let name = self.parts.name_of(metal);
            let (kind, words) = match on {
                MetalOn::Sleeve => continue,
                MetalOn::Tip if is_swapped => continue,
                MetalOn::Tip => (
                    FaultKind::MetalOnHot,
                    format!("{} is on the tip: it hums, and more when touched", self.metal_words(metal)),
                ),
                MetalOn::Neither => (
                    FaultKind::Ungrounded,
                    format!("{} joined to nothing that is on ground", self.metal_words_are(metal)),
                ),
            };
            faults.push(WiringFault { kind, what: name, positions: Vec::new(), words });
        }
        if is_swapped { wiring.with_jack_swapped() } else { wiring }
    }

    fn metal_words(&self, metal: Terminal) -> String {
        let part = self.parts.part_of(metal);
        match part.kind() {
            PartKind::Strings => "the strings' wire".to_owned(),
            PartKind::Cavity => "the cavity's shield".to_owned(),
            PartKind::Pot(..)
            | PartKind::TwoLegs(..)
            | PartKind::Lever(_)
            | PartKind::Jack
            | PartKind::Pickup(_)
            | PartKind::Buffer
            | PartKind::Battery => format!("the {} of {}", self.parts.lug_of(metal), part.name()),
        }
    }

    fn metal_words_are(&self, metal: Terminal) -> String {
        match self.parts.part_of(metal).kind() {
            PartKind::Strings => "the strings are".to_owned(),
            PartKind::Pot(..)
            | PartKind::TwoLegs(..)
            | PartKind::Lever(_)
            | PartKind::Jack
            | PartKind::Pickup(_)
            | PartKind::Cavity
            | PartKind::Buffer
            | PartKind::Battery => format!("{} is", self.metal_words(metal)),
        }
    }

    fn power(&self, wiring: &Wiring, faults: &mut Vec<WiringFault>) {
        if self.branches.follower.is_none() {
            return;
        }
        let all = || 0..self.throws.len();
        let unpowered: Vec<usize> = all()
            .filter(|place| !Wiring::has_power(&self.branches, &wiring.nets(&self.throws, *place)))
            .collect();
        let always: Vec<usize> =
            all().filter(|place| wiring.is_always_on(&self.branches, &self.throws, *place)).collect();
        if !unpowered.is_empty() {
            let words = format!("the buffer has no power {}, and passes nothing", self.at(&unpowered));
            faults.push(self.fault(FaultKind::NoPower, "buffer", &unpowered, words));
        }
        if !always.is_empty() {
            let words = format!("the battery is on with nothing plugged in {}", self.at(&always));
            faults.push(self.fault(FaultKind::BatteryAlwaysOn, "battery", &always, words));
        }
    }

    pub(super) fn fault(&self, kind: FaultKind, what: &str, places: &[usize], words: String) -> WiringFault {
        let positions = places.iter().map(|place| self.throws.names()[*place].clone()).collect();
        WiringFault { kind, what: what.to_owned(), positions, words }
    }

    /// Returns whether nothing of any coil arrives at the jack.
    pub(super) fn is_silent(&self, wiring: &Wiring, place: usize, settings: &Settings) -> bool {
        [LOW, HIGH]
            .into_iter()
            .all(|hertz| self.heard(wiring, place, settings, hertz).iter().all(|own| own.norm() < SILENCE))
    }

    /// Returns where the levers stand in the states at these places: in people's words with the names after them, or, where
    /// there are several levers or many states, by the names.
    pub(super) fn at(&self, places: &[usize]) -> String {
        const FEW: usize = 3;
        if places.len() == self.throws.len() {
            return if places.len() == 1 { "as it is".to_owned() } else { "in every position".to_owned() };
        }
        let levers = self.parts.guitar().levers().len();
        let one = |place: &usize| {
            let name = &self.throws.names()[*place];
            match self.throws.position(*place) {
                Some(words) if levers == 1 && places.len() <= FEW => format!("{words} ({name})"),
                Some(_) | None => name.clone(),
            }
        };
        let told: Vec<String> = places.iter().map(one).collect();
        let (last, before) = told.split_last().expect("there is a state");
        let listed =
            if before.is_empty() { last.clone() } else { format!("{} and {last}", before.join(", ")) };
        if levers == 1 && places.len() <= FEW { listed } else { format!("in {listed}") }
    }
}
