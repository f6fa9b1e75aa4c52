//! What is heard of a guitar, connected in one way, and its exact response.

use num_complex::Complex64;

use super::{Joining, Scope};
use crate::circuit::{
    BuildError, Circuit, JackLoad, KnobCircuit, Likeness, SolveError, Strapping, Sweep, Wired, circuit_of,
    knobs_of, resistance_to_ground,
};
use crate::guitar::{Coil, Guitar, Pickup};
use crate::quantity::{Hertz, Metres, Ohms};
use crate::wiring::{Arrangement, Connection};

/// One way to connect a pickup, or a whole guitar, with the name by which it is asked for and reported.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Voice {
    name: String,
    wiring: Wiring,
    arrangement: Option<Arrangement>,
}

/// What a voice connects.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Wiring {
    Pickup(Connection),
    Guitar(Setting),
}

/// How a whole guitar stands: each pickup's terminals, in the order of the guitar, and each selector's throw.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Setting {
    /// How each pickup is strapped.
    pub pickups: Vec<Strapping>,
    /// For each selector the place of its throw.
    pub throws: Vec<usize>,
    /// For each switch on a pickup the place of its throw; it counts where the switch is joined with others.
    pub switches: Vec<usize>,
}

/// A voice that what is heard does not have.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum VoiceError {
    /// The arrangement is one of two coils, or of one, and the pickup has the other number.
    #[error("pickup `{pickup}` has {coils}, and `{arrangement}` is not an arrangement of {coils}")]
    CoilCount {
        /// The pickup's name.
        pickup: String,
        /// `one coil` or `two coils`.
        coils: &'static str,
        /// The arrangement asked for.
        arrangement: Arrangement,
    },
    /// The voice is one of a whole guitar, and one pickup is heard, or the other way round.
    #[error("`{voice}` is not a way to connect {scope}")]
    Scope {
        /// The voice's name.
        voice: String,
        /// What is heard, in words.
        scope: String,
    },
    /// The circuit cannot be built.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The circuit cannot be solved.
    #[error(transparent)]
    Solve(#[from] SolveError),
}

impl VoiceError {
    /// Returns what to do about it.
    pub fn hint(&self) -> &'static str {
        match self {
            Self::CoilCount { arrangement: Arrangement::Alone, .. } => {
                "a two-coil pickup has series, parallel, split-a, split-b and their likes"
            }
            Self::CoilCount { .. } => "a one-coil pickup has the arrangement `alone`",
            Self::Scope { .. } => "list arrangements of a pickup or positions of the guitar, not both",
            Self::Build(_) => "state it in the guitar's file, such as bypass = \"22n\"",
            Self::Solve(_) => "some value of the guitar's file is extreme",
        }
    }
}

/// The jack's voltage per volt of each coil's EMF: coil A before coil B, pickup after pickup.
#[derive(Debug, Clone, PartialEq)]
pub struct Paths(pub Vec<Complex64>);

/// A voice's circuit with all that its response is derived from.
#[derive(Debug, Clone)]
pub struct VoiceResponse {
    voice: Voice,
    circuit: Circuit,
    outputs: Vec<f64>,
    telling: Vec<f64>,
    sounding: Vec<bool>,
    in_phase: bool,
    hum: Vec<f64>,
    /// The hum of coil A alone at the frequency where hum is stated.
    pub(super) hum_reference: f64,
    coils: Vec<String>,
    places: Vec<Metres>,
    places_by_pickup: Vec<Vec<Metres>>,
    scale: Metres,
    joining: Joining,
    dc_at_jack: Option<Ohms>,
}

/// The frequency at which low-frequency gain and hum are stated: the second harmonic of 50 Hz mains.
pub const LOW: Hertz = Hertz::new(100.0);
/// A frequency so low that only what is connected counts, not what is coupled.
pub(super) const LOWEST: Hertz = Hertz::new(1.0);
/// A coil whose path is below this share of the loudest is not sounding; 40 dB.
const SOUNDING: f64 = 0.01;

impl Voice {
    /// Returns the voice of a named arrangement.
    pub fn of(arrangement: Arrangement) -> Self {
        Self::wired(arrangement.name(), arrangement.connection(), Some(arrangement))
    }

    /// Returns a voice called `name` of any connection, with the arrangement that it was recognised as.
    pub fn wired(name: impl Into<String>, connection: Connection, arrangement: Option<Arrangement>) -> Self {
        Self { name: name.into(), wiring: Wiring::Pickup(connection), arrangement }
    }

    /// Returns a voice called `name` of a whole guitar.
    pub fn of_guitar(name: impl Into<String>, setting: Setting) -> Self {
        Self { name: name.into(), wiring: Wiring::Guitar(setting), arrangement: None }
    }

    /// Returns the name by which the voice is asked for and reported.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the arrangement, where the connection is one that has a name.
    pub fn arrangement(&self) -> Option<Arrangement> {
        self.arrangement
    }

    /// Returns how the pickup's terminals are joined; `None` of a whole guitar.
    pub fn connection(&self) -> Option<&Connection> {
        match &self.wiring {
            Wiring::Pickup(connection) => Some(connection),
            Wiring::Guitar(_) => None,
        }
    }

    /// Returns how the whole guitar stands; `None` of one pickup.
    pub fn setting(&self) -> Option<&Setting> {
        match &self.wiring {
            Wiring::Pickup(_) => None,
            Wiring::Guitar(setting) => Some(setting),
        }
    }

    /// Returns whether the voice is one of a whole guitar and not of one pickup.
    pub fn is_of_a_guitar(&self) -> bool {
        matches!(self.wiring, Wiring::Guitar(_))
    }

    /// Returns the response of what is heard of `guitar` in this voice.
    ///
    /// # Errors
    /// [`VoiceError`] where that has not the coils or the capacitor for it, or its circuit has no solution.
    pub fn response<'g>(
        &self,
        guitar: &'g Guitar,
        scope: impl Into<Scope<'g>>,
    ) -> Result<VoiceResponse, VoiceError> {
        let scope = scope.into();
        let wired = self.wired_as(scope)?;
        let circuit = self.circuit(guitar, scope)?;
        let unplugged = circuit_of(guitar, wired, JackLoad::Unplugged)?;
        let coils: Vec<&Coil> = scope.coils(guitar).collect();
        let outputs = scope.outputs(guitar);
        let low = circuit.response(LOWEST)?;
        let sounding = sounding(&low);
        let in_phase = in_phase(&low, &sounding);
        let heard = pickups_heard(guitar, scope, &sounding);
        Ok(VoiceResponse {
            voice: self.clone(),
            circuit,
            telling: if in_phase { outputs.clone() } else { first_of(&outputs, &sounding) },
            outputs,
            sounding,
            in_phase,
            hum: coils.iter().map(|coil| coil.hum_at_plus()).collect(),
            hum_reference: hum_alone(guitar, scope.pickups(guitar)[0])?,
            coils: scope.coil_names(guitar),
            places: scope.places(guitar),
            places_by_pickup: scope.places_by_pickup(guitar),
            scale: guitar.scale(),
            joining: Joining::of(&unplugged, &heard),
            dc_at_jack: resistance_to_ground(&unplugged.netlist, unplugged.jack)?,
        })
    }

    /// Returns the circuit of what is heard of `guitar` in this voice, plugged in.
    ///
    /// # Errors
    /// [`VoiceError`] where that has not the coils or the capacitor for it.
    pub fn circuit<'g>(
        &self,
        guitar: &'g Guitar,
        scope: impl Into<Scope<'g>>,
    ) -> Result<Circuit, VoiceError> {
        let plugged = circuit_of(guitar, self.wired_as(scope.into())?, JackLoad::Plugged)?;
        Ok(Circuit::new(&plugged.netlist, plugged.jack))
    }

    /// Returns the circuit of what is heard of `guitar` in this voice as the guitar's own knobs see it.
    ///
    /// # Errors
    /// [`VoiceError`] where that has not the coils or the capacitor for it.
    pub fn with_knobs<'g>(
        &self,
        guitar: &'g Guitar,
        scope: impl Into<Scope<'g>>,
    ) -> Result<KnobCircuit, VoiceError> {
        Ok(knobs_of(guitar, self.wired_as(scope.into())?)?)
    }

    /// Returns what of `guitar` is heard at the jack in this voice: voices of one likeness sound the same.
    ///
    /// # Errors
    /// [`VoiceError`] where that has not the coils or the capacitor for it.
    pub fn likeness<'g>(
        &self,
        guitar: &'g Guitar,
        scope: impl Into<Scope<'g>>,
    ) -> Result<Likeness, VoiceError> {
        let plugged = circuit_of(guitar, self.wired_as(scope.into())?, JackLoad::Plugged)?;
        Ok(plugged.netlist.likeness(plugged.jack))
    }

    fn wired_as<'w, 'g: 'w>(&'w self, scope: Scope<'g>) -> Result<Wired<'w>, VoiceError> {
        match (&self.wiring, scope) {
            (Wiring::Pickup(connection), Scope::Pickup(pickup)) => {
                self.check_coils(pickup)?;
                let bypassed = self.arrangement == Some(Arrangement::SeriesBypassed);
                Ok(Wired::Pickup(pickup, Strapping { connection: *connection, bypassed }))
            }
            (Wiring::Guitar(setting), Scope::Guitar) => {
                let Setting { pickups, throws, switches } = setting;
                Ok(Wired::Guitar { pickups, throws, switches })
            }
            (Wiring::Pickup(_), Scope::Guitar) | (Wiring::Guitar(_), Scope::Pickup(_)) => {
                Err(VoiceError::Scope { voice: self.name.clone(), scope: scope.to_string() })
            }
        }
    }

    fn check_coils(&self, pickup: &Pickup) -> Result<(), VoiceError> {
        let one_coil = pickup.coil_b().is_none();
        match self.arrangement {
            Some(arrangement) if (arrangement == Arrangement::Alone) != one_coil => {
                Err(VoiceError::CoilCount {
                    pickup: pickup.name().to_string(),
                    coils: if one_coil { "one coil" } else { "two coils" },
                    arrangement,
                })
            }
            Some(_) | None => Ok(()),
        }
    }
}

/// Returns the jack's hum at the frequency where hum is stated from coil A of `pickup` alone.
fn hum_alone(guitar: &Guitar, pickup: &Pickup) -> Result<f64, VoiceError> {
    let alone = if pickup.coil_b().is_none() { Arrangement::Alone } else { Arrangement::SplitAOpen };
    let strapping = Strapping { connection: alone.connection(), bypassed: false };
    let driven = circuit_of(guitar, Wired::Pickup(pickup, strapping), JackLoad::Plugged)?;
    let paths = Circuit::new(&driven.netlist, driven.jack).response(LOW)?;
    Ok((paths[0] * pickup.coil_a().hum_at_plus()).norm())
}

impl VoiceResponse {
    /// Returns the voice.
    pub fn voice(&self) -> &Voice {
        &self.voice
    }

    /// Returns the circuit's equations with all knobs where they stand.
    pub fn equations(&self) -> KnobCircuit {
        KnobCircuit::fixed(&self.circuit)
    }

    /// Returns each coil's path at `frequency`.
    ///
    /// # Errors
    /// [`SolveError`] where the circuit has no solution there.
    pub fn at(&self, frequency: Hertz) -> Result<Paths, SolveError> {
        self.circuit.response(frequency).map(Paths)
    }

    /// Returns each coil's path at each of `frequencies`, as [`VoiceResponse::at`] does and many times as fast.
    ///
    /// # Errors
    /// [`SolveError`] where the circuit has no solution at one of them.
    pub fn along(&self, frequencies: &[Hertz]) -> Result<Vec<Paths>, SolveError> {
        let responses = Sweep::of(&self.circuit).responses(&self.circuit, frequencies)?;
        Ok(responses.into_iter().map(Paths).collect())
    }

    /// Returns the sum of all paths, each at its coil's output.
    pub fn both(&self, paths: &Paths) -> Complex64 {
        dot(&paths.0, &self.outputs)
    }

    /// Returns the path in which the voice's character shows: all coils', or that of the first coil that is heard
    /// where coils sound against each other.
    pub fn telling(&self, paths: &Paths) -> Complex64 {
        dot(&paths.0, &self.telling)
    }

    /// Returns the weight of each coil in [`VoiceResponse::telling`].
    pub fn telling_weights(&self) -> &[f64] {
        &self.telling
    }

    /// Returns the jack's hum per volt of hum EMF in a coil of one turn, from the paths at its frequency.
    pub fn hum(&self, paths: &Paths) -> Complex64 {
        dot(&paths.0, &self.hum)
    }

    /// Returns each coil's hum EMF at its + end relative to that of a coil of one turn, with its sign.
    pub fn hum_weights(&self) -> &[f64] {
        &self.hum
    }

    /// Returns each coil's string EMF relative to a coil of output 1, coil A before coil B, pickup after pickup.
    pub fn outputs(&self) -> &[f64] {
        &self.outputs
    }

    /// Returns what each coil is called in rows, in the order of [`VoiceResponse::outputs`]: `coil_a`, or with its
    /// pickup's name before it, `neck.coil_a`.
    pub fn coils(&self) -> &[String] {
        &self.coils
    }

    /// Returns how the pickups that are heard are joined with each other.
    pub fn joining(&self) -> Joining {
        self.joining
    }

    /// Returns of each pickup of `guitar` that is in the circuit whether one of its coils is heard.
    pub fn pickups_heard<'g>(&self, guitar: &'g Guitar, scope: Scope<'g>) -> Vec<bool> {
        pickups_heard(guitar, scope, &self.sounding)
    }

    /// Returns each coil's distance to the bridge, in the order of [`VoiceResponse::outputs`].
    pub fn places(&self) -> &[Metres] {
        &self.places
    }

    /// Returns the same distances pickup by pickup.
    pub fn places_by_pickup(&self) -> &[Vec<Metres>] {
        &self.places_by_pickup
    }

    /// Returns the length of the guitar's open strings.
    pub fn scale(&self) -> Metres {
        self.scale
    }

    /// Returns whether each coil is connected so that it is heard, in the order of [`VoiceResponse::outputs`].
    pub fn sounding(&self) -> &[bool] {
        &self.sounding
    }

    /// Returns `false` where the strings sound from one coil that is heard against another.
    pub fn in_phase(&self) -> bool {
        self.in_phase
    }

    /// Returns the direct-current resistance at the jack with nothing plugged in, or `None` where it is open.
    pub fn dc_at_jack(&self) -> Option<Ohms> {
        self.dc_at_jack
    }

    /// Returns the circuit with all knobs where they stand, plugged in.
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }
}

fn pickups_heard<'g>(guitar: &'g Guitar, scope: Scope<'g>, sounding: &[bool]) -> Vec<bool> {
    let mut left = sounding;
    let of = scope.pickups(guitar).into_iter().map(|pickup| {
        let (own, rest) = left.split_at(pickup.coil_places().len());
        left = rest;
        own.contains(&true)
    });
    of.collect()
}

fn dot(paths: &[Complex64], weights: &[f64]) -> Complex64 {
    paths.iter().zip(weights).map(|(path, weight)| path * weight).sum()
}

fn sounding(low: &[Complex64]) -> Vec<bool> {
    let loudest = low.iter().map(|path| path.norm()).fold(0.0, f64::max);
    low.iter().map(|path| path.norm() > SOUNDING * loudest).collect()
}

fn in_phase(low: &[Complex64], sounding: &[bool]) -> bool {
    let mut heard = low.iter().zip(sounding).filter(|(_, sounds)| **sounds).map(|(path, _)| path);
    let Some(first) = heard.next() else { return true };
    heard.all(|path| (path * first.conj()).re > 0.0)
}

/// Returns the output of the first coil that sounds and nothing of the others.
fn first_of(outputs: &[f64], sounding: &[bool]) -> Vec<f64> {
    let first = sounding.iter().position(|sounds| *sounds);
    outputs.iter().enumerate().map(|(i, output)| if Some(i) == first { *output } else { 0.0 }).collect()
}
