//! What is wrong with a circuit, told by what is heard of it: with every knob loud, and with each turned.
//!
//! One cause is one fault. Volumes are judged first, with the other volumes half way, and all else with every volume at its
//! loud end, so that the silence of a volume that is backwards is no second fault.

use num_complex::Complex64;

use super::fault::{FaultKind, WiringFault};
use super::figures::{HIGH, LOW, Settings};
use super::wiring::Wiring;
use super::{Harness, Role, coils, differs, hanging, tones, volumes};

/// Less ohms than this between hot and ground are a short.
const SHORT: f64 = 50.0;

/// A circuit that is judged against the wanted one.
pub(super) struct Case<'h> {
    pub(super) harness: &'h Harness,
    pub(super) wiring: &'h Wiring,
    /// The states in which it is another circuit.
    pub(super) differing: &'h [usize],
}

/// A state in which both circuits are heard, or should be.
pub(super) struct Heard {
    pub(super) place: usize,
    /// The voltage of each coil at the jack, wanted and there.
    pub(super) wanted: Vec<Complex64>,
    pub(super) there: Vec<Complex64>,
}

impl Case<'_> {
    /// Returns what is heard at `hertz`, of the wanted circuit with `wanted` and of the one that is there with `there`.
    pub(super) fn heard(&self, place: usize, [wanted, there]: [&Settings; 2], hertz: f64) -> Heard {
        Heard {
            place,
            wanted: self.harness.heard(&self.harness.as_wanted, place, wanted, hertz),
            there: self.harness.heard(self.wiring, place, there, hertz),
        }
    }

    /// Returns the places of the tracks of this role.
    pub(super) fn tracks(&self, role: Role) -> Vec<usize> {
        let tracks = self.harness.branches.tracks.iter().enumerate();
        tracks.filter(|(_, track)| track.role == role).map(|(place, _)| place).collect()
    }

    /// Returns the name of the pot of the track at `place`.
    pub(super) fn name_of(&self, place: usize) -> &str {
        self.harness.parts.all()[self.harness.branches.tracks[place].part].name()
    }

    /// Returns what that pot is called in a sentence.
    pub(super) fn called(&self, place: usize) -> String {
        let track = &self.harness.branches.tracks[place];
        let knob = track.role.name();
        track.whose.map_or_else(
            || knob.to_owned(),
            |pickup| format!("the {} pickup's {knob}", self.harness.parts.guitar().pickups()[pickup].name()),
        )
    }
}

impl Harness {
    /// Adds what is wrong with the circuit of `wiring`, which is another in the states `differing`.
    pub(super) fn judge(&self, wiring: &Wiring, differing: &[usize], faults: &mut Vec<WiringFault>) {
        let case = Case { harness: self, wiring, differing };
        let full = Settings::full(&self.branches).blended(&self.branches);
        let (found, backwards) = volumes::judge(&case, &full);
        let loud = backwards.iter().fold(full.clone(), |settings, volume| settings.with(*volume, 0.0));
        let mut own = found;
        let (mut short, mut dead, mut sounding) = (Vec::new(), Vec::new(), Vec::new());
        for place in differing {
            let heard = case.heard(*place, [&full, &loud], LOW);
            let high = case.heard(*place, [&full, &loud], HIGH);
            let is_silent = |low: &[Complex64], high: &[Complex64]| {
                low.iter().chain(high).all(|own| own.norm() < super::check::SILENCE)
            };
            let wants_sound = !is_silent(&heard.wanted, &high.wanted);
            if is_silent(&heard.there, &high.there) {
                if !wants_sound || faults.iter().any(|fault| fault.kind == FaultKind::NoPower) {
                    continue;
                }
                if self.is_short(wiring, *place, &loud) { short.push(*place) } else { dead.push(*place) }
            } else {
                sounding.push(heard);
            }
        }
        for (kind, places, why) in [
            (FaultKind::Short, &short, "hot is joined to ground"),
            (FaultKind::Dead, &dead, "no sound finds its way to the tip"),
        ] {
            if !places.is_empty() {
                own.push(self.fault(kind, "", places, format!("silent {}: {why}", self.at(places))));
            }
        }
        own.extend(coils::judge(&case, &sounding));
        own.extend(tones::judge(&case, &sounding, [&full, &loud]));
        let is_named = |faults: &[WiringFault]| faults.iter().any(|fault| fault.kind.is_of_the_circuit());
        if !is_named(&own) && !is_named(faults) {
            own.push(differs::fault(&case));
        }
        own.extend(hanging::judge(&case));
        faults.extend(own);
    }

    fn is_short(&self, wiring: &Wiring, place: usize, settings: &Settings) -> bool {
        let [tip, sleeve] = wiring.jack;
        let hot = self.branches.follower.map_or(tip, |follower| follower.input);
        let is_low = |ohms: Option<f64>| ohms.is_some_and(|ohms| ohms < SHORT);
        is_low(self.ohms(wiring, place, settings))
            || is_low(self.ohms_between(wiring, place, settings, [hot, sleeve], None))
    }
}
