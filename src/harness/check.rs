//! A wiring checked: whether it is the circuit, what is on ground, and what is wrong.

use super::fault::{Checked, FaultKind, WiringFault};
use super::figures::{HIGH, LOW, Settings};
use super::metal::Metal;
use super::wiring::Wiring;
use super::{Harness, Wire, notes};
use crate::quantity::listed;
use crate::words::standing;

/// Less of every coil's voltage than this at the jack is silence.
pub(super) const SILENCE: f64 = 1e-3;

impl Harness {
    /// Returns what is found of these wires: whether they are the circuit, every fault, and what a meter reads.
    pub fn check(&self, wires: &[Wire]) -> Checked {
        let wiring = Wiring::of(&self.parts, &self.branches, wires);
        let full = Settings::full(&self.branches);
        let names = self.throws.names();
        let ohms = |place: usize| (names[place].clone(), self.ohms(&wiring, place, &full));
        let silent = (0..names.len()).filter(|place| self.is_silent(&wiring, *place, &full));
        let mut checked = Checked {
            same_circuit: self.differing(&wiring).next().is_none(),
            faults: Vec::new(),
            joints_missing: None,
            silent: silent.map(|place| names[place].clone()).collect(),
            notes: notes::of(self, wires),
            ohms_at_jack: (0..names.len()).map(ohms).collect(),
        };
        let solder = wiring.solder.clone();
        let mut metal = Metal::of(self, wiring);
        let mut others = self.found(metal.wiring());
        if let Some(grounded) = metal.grounded() {
            // Ground that is missing is one fault, whatever it makes of the circuit.
            let left = self.found(&grounded);
            if left.len() < others.len() {
                metal.explain();
                others = left;
            }
        }
        checked.faults = metal.into_faults();
        checked.faults.extend(others);
        if !checked.is_as_wanted() {
            checked.joints_missing = self.missing(wires, &solder);
        }
        checked
    }

    /// Returns whether nothing is wrong with a wiring but its circuit: all metal is on the sleeve, and a battery is switched.
    pub(super) fn is_safe(&self, wiring: &Wiring) -> bool {
        let always_on =
            || (0..self.throws.len()).any(|place| wiring.is_always_on(&self.branches, &self.throws, place));
        self.unsafe_metal(wiring).next().is_none() && !(self.branches.follower.is_some() && always_on())
    }

    /// Returns what is wrong with a wiring beside its metal.
    fn found(&self, wiring: &Wiring) -> Vec<WiringFault> {
        let mut faults = Vec::new();
        self.power(wiring, &mut faults);
        let differing: Vec<usize> = self.differing(wiring).collect();
        if !differing.is_empty() {
            self.judge(wiring, &differing, &mut faults);
        }
        faults
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
                Some(words) if levers == 1 && places.len() <= FEW => format!("{} ({name})", standing(words)),
                Some(_) | None => name.clone(),
            }
        };
        let told: Vec<String> = places.iter().map(one).collect();
        let listed = listed(&told);
        if levers == 1 && places.len() <= FEW { listed } else { format!("in {listed}") }
    }
}
