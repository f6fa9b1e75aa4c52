//! A pickup on a guitar, connected in one way, and its exact response.

use num_complex::Complex64;

use crate::circuit::{
    BuildError, Circuit, Driven, JackLoad, KnobCircuit, Mode, SolveError, modes, pickup_circuit,
    pickup_knobs, resistance_to_ground,
};
use crate::guitar::{Coil, Coils, Guitar, Pickup};
use crate::quantity::{Hertz, Metres, Ohms};
use crate::wiring::{Arrangement, Connection};

/// One way to connect a pickup, with the name by which it is asked for and reported.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Voice {
    name: String,
    connection: Connection,
    arrangement: Option<Arrangement>,
}

/// A voice that a pickup does not have.
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
    /// The circuit cannot be built.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The circuit cannot be solved.
    #[error(transparent)]
    Solve(#[from] SolveError),
}

/// The jack's voltage per volt of each coil's EMF.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paths {
    /// From coil A.
    pub a: Complex64,
    /// From coil B; zero for a one-coil pickup.
    pub b: Complex64,
}

/// A voice's circuit with all that its response is derived from.
#[derive(Debug, Clone)]
pub struct VoiceResponse {
    voice: Voice,
    circuit: Circuit,
    low: Paths,
    outputs: [f64; 2],
    hum: [f64; 2],
    /// The hum of coil A alone at the frequency where hum is stated.
    pub(super) hum_reference: f64,
    places: Vec<Metres>,
    dc_at_jack: Option<Ohms>,
}

/// The frequency at which low-frequency gain and hum are stated: the second harmonic of 50 Hz mains.
pub const LOW: Hertz = Hertz::new(100.0);
/// A frequency so low that only what is connected counts, not what is coupled.
const LOWEST: Hertz = Hertz::new(1.0);
/// A coil whose path is below this share of the other's is not sounding; 40 dB.
const SOUNDING: f64 = 0.01;

impl Voice {
    /// Returns the voice of a named arrangement.
    pub fn of(arrangement: Arrangement) -> Self {
        Self {
            name: arrangement.name().to_owned(),
            connection: arrangement.connection(),
            arrangement: Some(arrangement),
        }
    }

    /// Returns a voice called `name` of any connection, with the arrangement that it was recognised as.
    pub fn wired(name: impl Into<String>, connection: Connection, arrangement: Option<Arrangement>) -> Self {
        Self { name: name.into(), connection, arrangement }
    }

    /// Returns the name by which the voice is asked for and reported.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the arrangement, where the connection is one that has a name.
    pub fn arrangement(&self) -> Option<Arrangement> {
        self.arrangement
    }

    /// Returns what is joined to what.
    pub fn connection(&self) -> &Connection {
        &self.connection
    }

    /// Returns the response of `pickup` on `guitar` in this voice.
    ///
    /// # Errors
    /// [`VoiceError`] where the pickup has not the coils or the capacitor for it, or its circuit has no solution.
    pub fn response(&self, guitar: &Guitar, pickup: &Pickup) -> Result<VoiceResponse, VoiceError> {
        self.check_coils(pickup)?;
        let bypassed = self.bypassed();
        let build =
            |connection: &Connection, load| pickup_circuit(guitar, pickup, connection, bypassed, load);
        let circuit = circuit_of(&build(&self.connection, JackLoad::Plugged)?);
        let unplugged = build(&self.connection, JackLoad::Unplugged)?;
        let alone = match pickup.coils() {
            Coils::One(_) => Arrangement::Alone,
            Coils::Two { .. } => Arrangement::SplitAOpen,
        };
        let alone =
            circuit_of(&pickup_circuit(guitar, pickup, &alone.connection(), false, JackLoad::Plugged)?);
        let (a, b) = (pickup.coil_a(), pickup.coil_b());
        Ok(VoiceResponse {
            voice: self.clone(),
            low: paths(&circuit.response(LOWEST)?),
            circuit,
            outputs: [a.output(), b.map_or(0.0, Coil::output)],
            hum: [a.hum_at_plus(), b.map_or(0.0, Coil::hum_at_plus)],
            hum_reference: (paths(&alone.response(LOW)?).a * a.hum_at_plus()).norm(),
            places: pickup.coil_places(),
            dc_at_jack: resistance_to_ground(&unplugged.netlist, unplugged.jack)?,
        })
    }

    /// Returns the circuit of `pickup` on `guitar` in this voice as its knobs see it.
    ///
    /// # Errors
    /// [`VoiceError`] where the pickup has not the coils or the capacitor for it.
    pub fn with_knobs(&self, guitar: &Guitar, pickup: &Pickup) -> Result<KnobCircuit, VoiceError> {
        self.check_coils(pickup)?;
        Ok(pickup_knobs(guitar, pickup, &self.connection, self.bypassed())?)
    }

    fn bypassed(&self) -> bool {
        self.arrangement == Some(Arrangement::SeriesBypassed)
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

fn circuit_of(driven: &Driven) -> Circuit {
    Circuit::new(&driven.netlist, driven.jack)
}

fn paths(transfers: &[Complex64]) -> Paths {
    Paths { a: transfers[0], b: transfers[1] }
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
        self.circuit.response(frequency).map(|t| paths(&t))
    }

    /// Returns the sum of both paths, each at its coil's output.
    pub fn both(&self, paths: Paths) -> Complex64 {
        paths.a * self.outputs[0] + paths.b * self.outputs[1]
    }

    /// Returns the path in which the voice's character shows: both coils', or coil A's where the coils sound
    /// against each other.
    pub fn telling(&self, paths: Paths) -> Complex64 {
        if self.in_phase() { self.both(paths) } else { paths.a * self.outputs[0] }
    }

    /// Returns the jack's hum per volt of hum EMF in a coil of one turn, from the paths at its frequency.
    pub fn hum(&self, paths: Paths) -> Complex64 {
        paths.a * self.hum[0] + paths.b * self.hum[1]
    }

    /// Returns each coil's string EMF relative to a coil of output 1, coil A first.
    pub fn outputs(&self) -> [f64; 2] {
        self.outputs
    }

    /// Returns each coil's distance to the bridge, coil A first.
    pub fn places(&self) -> &[Metres] {
        &self.places
    }

    /// Returns whether each coil is connected so that it is heard, coil A first.
    pub fn sounding(&self) -> [bool; 2] {
        let (a, b) = (self.low.a.norm(), self.low.b.norm());
        let louder = a.max(b);
        [a > SOUNDING * louder, b > SOUNDING * louder]
    }

    /// Returns `false` where two coils are heard and the strings sound from one against the other.
    pub fn in_phase(&self) -> bool {
        self.sounding() != [true, true] || (self.low.a * self.low.b.conj()).re > 0.0
    }

    /// Returns the direct-current resistance at the jack with nothing plugged in, or `None` where it is open.
    pub fn dc_at_jack(&self) -> Option<Ohms> {
        self.dc_at_jack
    }

    /// Returns the circuit's natural modes; source 0 is coil A, source 1 coil B.
    pub fn modes(&self) -> Vec<Mode> {
        modes(&self.circuit)
    }

    /// Returns the share of a mode's excitation in the telling path.
    pub(super) fn excitation(&self, mode: &Mode) -> f64 {
        (self.telling(paths(&mode.residues)) / mode.pole).norm()
    }
}
