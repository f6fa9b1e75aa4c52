//! What each throw of a plan is, by the circuit's own solution.

use std::sync::LazyLock;

use super::Asked;
use crate::guitar::{Guitar, Pickup, guitar_presets};
use crate::jack::{Expected, Seat};
use crate::quantity::{Db, Hertz, Ohms};
use crate::response::{Paths, Voice, VoiceError, VoiceResponse};
use crate::wiring::{Arrangement, Connection, Function, Plan};

/// Two connections are the same circuit where their responses agree here, far below, below and at resonance.
const COMPARED: [Hertz; 3] = [Hertz::new(100.0), Hertz::new(1e3), Hertz::new(5e3)];
/// The rounding of the solver, relative to the largest response; different arrangements differ by far more.
const SAME: f64 = 1e-9;

/// What one throw is.
#[derive(Debug, Clone, PartialEq)]
pub struct ThrowFacts {
    /// The throw's number.
    pub throw: u8,
    /// Where the pickup's other switches stand, such as `phase:1`; nothing where it has none.
    pub with: Option<String>,
    /// What the terminals see of one another, by all switches of the pickup together.
    pub connection: Connection,
    /// Whether the strings are in phase; nothing where no coil is heard.
    pub in_phase: Option<bool>,
    /// Whether hum cancels; nothing where no coil is heard.
    pub hum_cancels: Option<bool>,
    /// The hum against one coil's in dB where two coils are heard, nothing below −120 dB.
    pub hum_db: Option<f64>,
    /// Whether two coils are heard whose top poles the guitar's file does not state, so that what their hum does is assumed.
    pub hum_is_assumed: bool,
    /// What a meter reads at the jack with nothing plugged in and the knobs full; nothing where a buffer stands between.
    pub reading: Option<Expected>,
}

impl ThrowFacts {
    /// Returns which throw it is and where the pickup's other switches then stand, such as `1` or `1 with phase:3`.
    pub fn place(&self) -> String {
        let with = self.with.as_ref().map(|with| format!(" with {with}")).unwrap_or_default();
        format!("{}{with}", self.throw)
    }

    /// Returns the reading with every part at its stated value, nothing where it is open or cannot be taken.
    pub fn dc_at_jack(&self) -> Option<Ohms> {
        self.reading.and_then(Expected::nominal)
    }
}

/// What the other switches of a pickup join while they stand in one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Beside {
    /// Where they stand, such as `phase:1`; nothing where there is none.
    pub(super) name: Option<String>,
    pub(super) connection: Connection,
}

impl Beside {
    /// Returns that there are no others.
    pub(super) fn nothing() -> Self {
        Self { name: None, connection: Connection::joining([]) }
    }
}

/// Returns what each throw of `plan` is for `pickup`, which has two coils and is read in `seat`, with its other switches
/// in each of the places `beside`.
pub(super) fn throw_facts(
    plan: &Plan,
    seat: &Seat<'_>,
    pickup: &Pickup,
    beside: &[Beside],
) -> Result<Vec<ThrowFacts>, VoiceError> {
    let mut all = Vec::new();
    for Beside { name, connection: others } in beside {
        for (throw, own) in plan.switch().throws().iter().zip(plan.throws()) {
            all.push(facts((throw.number(), name.clone()), own.and(*others), seat, pickup)?);
        }
    }
    Ok(all)
}

fn facts(
    (throw, with): (u8, Option<String>),
    connection: Connection,
    seat: &Seat<'_>,
    pickup: &Pickup,
) -> Result<ThrowFacts, VoiceError> {
    let reading = seat.expected(connection)?;
    let response = response(turned_up(), pickup, connection)?;
    let function = Function::of(&connection);
    let (in_phase, hum_cancels, hum_db) = match function {
        Function::Muted | Function::Dead => (None, None, None),
        // A lone coil has nothing to cancel its hum.
        Function::OneCoil { .. } => (Some(response.in_phase()), Some(false), None),
        Function::TwoCoils { .. } => {
            let low = response.at(COMPARED[0])?;
            let hum = |coil: usize| low.0[coil] * response.hum_weights()[coil];
            let cancels = (hum(0) * hum(1).conj()).re < 0.0;
            (Some(response.in_phase()), Some(cancels), response.hum_level(&low).map(Db::value))
        }
    };
    let hum_is_assumed = matches!(function, Function::TwoCoils { .. }) && !pickup.poles_are_known();
    Ok(ThrowFacts { throw, with, connection, in_phase, hum_cancels, hum_db, hum_is_assumed, reading })
}

/// Returns whether the solved circuit of `connection` is that of what is asked.
///
/// # Errors
/// [`VoiceError`] where a circuit has no solution.
pub fn is_as_asked(pickup: &Pickup, connection: &Connection, asked: Asked) -> Result<bool, VoiceError> {
    let same_as = |arrangement: Arrangement| is_same(pickup, *connection, arrangement.connection());
    match asked {
        Asked::Any => Ok(true),
        Asked::Named(arrangement) => same_as(arrangement),
        Asked::Off => {
            Ok(heard(pickup, *connection)?.iter().flat_map(|p| &p.0).all(|path| path.norm() < SAME))
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

fn is_same(pickup: &Pickup, one: Connection, other: Connection) -> Result<bool, VoiceError> {
    let (mut difference, mut largest) = (0.0_f64, 0.0_f64);
    for (Paths(one), Paths(other)) in heard(pickup, one)?.iter().zip(heard(pickup, other)?) {
        for (p, q) in one.iter().zip(other) {
            difference = difference.max((p - q).norm());
            largest = largest.max(q.norm());
        }
    }
    Ok(difference <= SAME * largest)
}

/// Returns each coil's path at the frequencies at which circuits are compared. What the lead's capacitance makes of it that one
/// coil and not the other is on the hot side is no difference of arrangement.
fn heard(pickup: &Pickup, connection: Connection) -> Result<Vec<Paths>, VoiceError> {
    let response = response(turned_up(), &pickup.without_lead(), connection)?;
    COMPARED.into_iter().map(|frequency| response.at(frequency).map_err(VoiceError::from)).collect()
}

fn response(guitar: &Guitar, pickup: &Pickup, connection: Connection) -> Result<VoiceResponse, VoiceError> {
    Voice::wired("throw", connection, Function::of(&connection).arrangement()).response(guitar, pickup)
}

/// Returns a guitar with its controls turned up: with the volume at zero every throw would be alike.
fn turned_up() -> &'static Guitar {
    static TURNED_UP: LazyLock<Guitar> = LazyLock::new(|| {
        Guitar::built_in(guitar_presets()[0].name).expect("the first of the built-in guitars is one of them")
    });
    &TURNED_UP
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::response::Selection;

    #[test]
    fn the_circuit_of_each_of_the_203_connections_confirms_what_it_is_recognised_as() {
        let guitar = turned_up();
        let (pickup, seat) = (&guitar.pickups()[0], Seat::of(guitar, 0).unwrap());
        for connection in Connection::all() {
            let found = facts((1, None), connection, &seat, pickup).unwrap();
            let recognised = Function::of(&connection);
            if let Some(arrangement) = recognised.arrangement() {
                assert!(is_same(pickup, connection, arrangement.connection()).unwrap(), "{connection:?}");
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
    fn hum_is_told_as_the_figures_of_the_guitar_have_it() {
        let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n[pickup.coil_a]\nresistance = \"3.61k\"\n\
                    [pickup.coil_b]\nresistance = \"4.05k\"\n";
        let unlike = Guitar::read(&Document::new("guitar.toml", text)).unwrap();
        let (pickup, seat) = (&unlike.pickups()[0], Seat::of(&unlike, 0).unwrap());
        let selection = Selection::of_names(&unlike, None, &["series", "split-a"], None).unwrap();
        let told = selection.responses()[0].figures().unwrap().hum.unwrap().value();
        let found = |arrangement: Arrangement| {
            facts((1, None), arrangement.connection(), &seat, pickup).unwrap().hum_db
        };
        assert!((-19.0..-18.0).contains(&told));
        assert!((found(Arrangement::Series).unwrap() - told).abs() < 0.5, "{told}");
        assert_eq!(found(Arrangement::SplitA), None);
    }

    #[test]
    fn the_meter_reads_the_coils_beside_the_volume_pot() {
        let guitar = turned_up();
        let (pickup, seat) = (&guitar.pickups()[0], Seat::of(guitar, 0).unwrap());
        let at_jack = |arrangement: Arrangement| {
            facts((1, None), arrangement.connection(), &seat, pickup).unwrap().dc_at_jack().unwrap().value()
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
