//! What each throw of a plan is, by the circuit's own solution.

use num_complex::Complex64;

use super::Asked;
use crate::circuit::{BuildError, Circuit, JackLoad, SolveError, pickup_circuit, resistance_to_ground};
use crate::guitar::{Guitar, Pickup};
use crate::quantity::{Hertz, Ohms};
use crate::wiring::{Arrangement, Connection, Function, Plan, Terminal};

/// Strings and hum are compared here, far below every resonance.
const LOW: Hertz = Hertz::new(100.0);
/// Two connections are the same circuit where their responses agree here.
const COMPARED: [Hertz; 3] = [LOW, Hertz::new(1e3), Hertz::new(5e3)];
/// The rounding of the solver, relative to the largest response; different arrangements differ by far more.
const SAME: f64 = 1e-9;

/// What one throw is.
#[derive(Debug, Clone, PartialEq)]
pub struct ThrowFacts {
    /// The throw's number.
    pub throw: u8,
    /// What the terminals see of one another.
    pub connection: Connection,
    /// Whether the strings are in phase; nothing where no coil is heard.
    pub in_phase: Option<bool>,
    /// Whether hum cancels; nothing where no coil is heard.
    pub hum_cancels: Option<bool>,
    /// What a meter reads at the jack with nothing plugged in; nothing where it reads open.
    pub dc_at_jack: Option<Ohms>,
}

/// Why the circuit of a throw gave no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum FactsError {
    /// The circuit could not be built.
    #[error(transparent)]
    Build(#[from] BuildError),
    /// The circuit has no solution.
    #[error(transparent)]
    Solve(#[from] SolveError),
}

impl ThrowFacts {
    /// Returns the ends of unused coils that hang from hot.
    pub fn hanging(&self) -> Vec<Terminal> {
        self.connection.hanging_from_hot()
    }

    /// Returns the arrangement's name where it has one and nothing hangs from hot that the name would hide, and
    /// else the connection in words.
    pub fn arrangement(&self) -> String {
        match self.named() {
            Some(named) => named.name().to_owned(),
            None => self.connection.words(),
        }
    }

    /// Returns the named arrangement that the throw is.
    pub fn named(&self) -> Option<Arrangement> {
        let hides = |named: &Arrangement| match named {
            Arrangement::SplitAOpen | Arrangement::SplitBOpen => !self.hanging().is_empty(),
            _ => false,
        };
        Function::of(&self.connection).arrangement().filter(|named| !hides(named))
    }
}

/// Returns what each throw of `plan` is for `pickup` on `guitar`.
///
/// # Errors
/// [`FactsError`] where a throw's circuit has no solution.
pub fn throw_facts(plan: &Plan, guitar: &Guitar, pickup: &Pickup) -> Result<Vec<ThrowFacts>, FactsError> {
    let throws = plan.switch().throws().iter().zip(plan.throws());
    throws.map(|(throw, connection)| facts(throw.number(), connection, guitar, pickup)).collect()
}

fn facts(
    throw: u8,
    connection: Connection,
    guitar: &Guitar,
    pickup: &Pickup,
) -> Result<ThrowFacts, FactsError> {
    let unplugged = pickup_circuit(guitar, pickup, &connection, false, JackLoad::Unplugged)?;
    let dc_at_jack = resistance_to_ground(&unplugged.netlist, unplugged.jack)?;
    let [a, b] = paths(pickup, &connection, LOW)?;
    let aligned = |a: Complex64, b: Complex64| (a * b.conj()).re > 0.0;
    let hum = |coil: Option<&crate::guitar::Coil>| coil.map_or(0.0, crate::guitar::Coil::hum_at_plus);
    let (in_phase, hum_cancels) = match Function::of(&connection) {
        Function::Muted | Function::Dead => (None, None),
        // A lone coil has nothing to be out of phase with, and nothing to cancel its hum.
        Function::OneCoil { .. } => (Some(true), Some(false)),
        Function::TwoCoils { .. } => {
            let (hum_a, hum_b) = (hum(Some(pickup.coil_a())), hum(pickup.coil_b()));
            (Some(aligned(a, b)), Some(aligned(a * hum_a, -b * hum_b)))
        }
    };
    Ok(ThrowFacts { throw, connection, in_phase, hum_cancels, dc_at_jack })
}

/// Returns whether the solved circuit of `connection` is that of what is asked.
///
/// # Errors
/// [`FactsError`] where a circuit has no solution.
pub fn is_as_asked(pickup: &Pickup, connection: &Connection, asked: Asked) -> Result<bool, FactsError> {
    let same_as = |arrangement: Arrangement| is_same(pickup, connection, &arrangement.connection());
    match asked {
        Asked::Any => Ok(true),
        Asked::Named(arrangement) => same_as(arrangement),
        Asked::Off => {
            let mut silent = true;
            for frequency in COMPARED {
                silent &= paths(pickup, connection, frequency)?.iter().all(|path| path.norm() < SAME);
            }
            Ok(silent)
        }
        Asked::Split => {
            let splits =
                [Arrangement::SplitA, Arrangement::SplitB, Arrangement::SplitAOpen, Arrangement::SplitBOpen];
            let mut same = false;
            for split in splits {
                same |= same_as(split)?;
            }
            Ok(same)
        }
    }
}

fn is_same(pickup: &Pickup, one: &Connection, other: &Connection) -> Result<bool, FactsError> {
    let (mut difference, mut largest) = (0.0_f64, 0.0_f64);
    for frequency in COMPARED {
        for (p, q) in paths(pickup, one, frequency)?.iter().zip(paths(pickup, other, frequency)?) {
            difference = difference.max((p - q).norm());
            largest = largest.max(q.norm());
        }
    }
    Ok(difference <= SAME * largest)
}

/// Returns the response at the jack to each coil's EMF, with the controls of the built-in guitar, which are all
/// turned up: with the volume at zero every throw would be alike.
fn paths(pickup: &Pickup, connection: &Connection, frequency: Hertz) -> Result<[Complex64; 2], FactsError> {
    let open = reference_guitar();
    let driven = pickup_circuit(open, pickup, connection, false, JackLoad::Plugged)?;
    let paths = Circuit::new(&driven.netlist, driven.jack).response(frequency)?;
    Ok([paths[0], paths[1]])
}

fn reference_guitar() -> &'static Guitar {
    static REFERENCE: std::sync::LazyLock<Guitar> = std::sync::LazyLock::new(|| {
        let preset = crate::guitar::guitar_presets()[0];
        Guitar::built_in(preset.name).expect("the first of the built-in guitars is one of them")
    });
    &REFERENCE
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_circuit_of_each_of_the_203_connections_confirms_what_it_is_recognised_as() {
        let guitar = reference_guitar();
        let pickup = &guitar.pickups()[0];
        for connection in Connection::all() {
            let found = facts(1, connection, guitar, pickup).unwrap();
            let recognised = Function::of(&connection);
            if let Some(arrangement) = recognised.arrangement() {
                assert!(is_same(pickup, &connection, &arrangement.connection()).unwrap(), "{connection:?}");
            }
            if let Some(in_phase) = recognised.in_phase() {
                assert_eq!(found.in_phase, Some(in_phase), "{connection:?}");
                // Top poles are opposite in the built-in pickup, so what is in phase cancels hum.
                assert_eq!(found.hum_cancels, Some(in_phase), "{connection:?}");
            }
            let silent = is_as_asked(pickup, &connection, Asked::Off).unwrap();
            assert_eq!(silent, matches!(recognised, Function::Muted | Function::Dead), "{connection:?}");
        }
    }

    #[test]
    fn the_meter_reads_the_coils_beside_the_volume_pot() {
        let guitar = reference_guitar();
        let pickup = &guitar.pickups()[0];
        let at_jack = |arrangement: Arrangement| {
            facts(1, arrangement.connection(), guitar, pickup).unwrap().dc_at_jack.unwrap().value()
        };
        // R_read = R R_v / (R + R_v) with two coils of 3.9 kΩ and a pot of 500 kΩ.
        for (arrangement, coils) in
            [(Arrangement::Series, 7800.0), (Arrangement::Parallel, 1950.0), (Arrangement::SplitA, 3900.0)]
        {
            let expected = coils * 500e3 / (coils + 500e3);
            assert!((at_jack(arrangement) - expected).abs() < 1e-6 * expected);
        }
    }
}
