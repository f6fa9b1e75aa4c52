//! What is measured: coils of a pickup by their leads, or a guitar at its jack.

use std::f64::consts::TAU;

use num_complex::Complex64;

use crate::circuit::{Circuit, JackLoad, Nets, Solder, Strapping, Wired, circuit_of};
use crate::document::Literal;
use crate::guitar::{Coil, Draft, DraftError, Guitar, Measurand, Pickup};
use crate::jack::{AtJack, Seat, State, heard};
use crate::probe::{JackReadingError, state_named};
use crate::quantity::{Hertz, Ohms, engineering};
use crate::response::VoiceError;
use crate::wiring::{Arrangement, CoilName, Connection, Terminal};

/// Which coils of a pickup are measured by their leads.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// One alone, the other coil's leads free.
    One(CoilName),
    /// Both in series.
    Both,
}

/// Where it is measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Place {
    /// At the leads of these coils, off all controls.
    Leads(Which),
    /// At the jack, every knob at 10, its levers in the state of this name, or the first one.
    Jack(Option<String>),
}

/// A guitar, what of it is measured, and the file that is to have the values.
#[derive(Debug, Clone)]
pub struct Subject {
    draft: Draft,
    guitar: Guitar,
    pickup: usize,
    which: Which,
    seat: Seated,
}

#[derive(Debug, Clone)]
enum Seated {
    Leads(Strapping),
    Jack(Nets, String),
}

/// What cannot be measured.
#[derive(Debug, thiserror::Error)]
pub enum SubjectError {
    /// The pickup has one coil.
    #[error("pickup `{pickup}` has one coil, and {asked} is asked for")]
    OneCoil {
        /// The pickup's name.
        pickup: String,
        /// What is asked for.
        asked: &'static str,
    },
    /// A buffer stands between the coils and the jack.
    #[error("`{guitar}` has a buffer, through which nothing of the coils is measured at the jack")]
    Buffer {
        /// The guitar's name.
        guitar: String,
    },
    /// The pickup is not heard there.
    #[error("pickup `{pickup}` does not lead to the jack in `{state}`")]
    NotHeard {
        /// The pickup's name.
        pickup: String,
        /// The state's name.
        state: String,
    },
    /// There is no such state.
    #[error(transparent)]
    State(#[from] JackReadingError),
    /// A circuit has no solution.
    #[error(transparent)]
    Voice(#[from] VoiceError),
    /// Single readings of which not all can be true.
    #[error("the readings contradict each other: {what}")]
    Contradictory {
        /// Which, and what would go with the others.
        what: String,
    },
    /// The meter's reading is none of coils like these.
    #[error(
        "{ohms} was read; coils like these have between a twelfth of the ohms that the file has, and twelve times as many"
    )]
    NoCoilsOhms {
        /// What was read.
        ohms: Ohms,
    },
    /// The values cannot be put into the file.
    #[error(transparent)]
    Draft(#[from] DraftError),
    /// The guitar's file with the values has faults.
    #[error("the guitar's file cannot hold what is measured: {0}")]
    Refused(String),
}

impl SubjectError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::OneCoil { .. } => "measure coil a, or the pickup at the jack".to_owned(),
            Self::Buffer { .. } => "measure the coils at their leads, before the buffer".to_owned(),
            Self::NotHeard { .. } => "name a state in which it is heard, alone where that can be".to_owned(),
            Self::State(error) => error.hint(),
            Self::Voice(error) => error.hint().to_owned(),
            Self::Contradictory { .. } => {
                "take each once more; look at the prefixes, and whether a cable or a control hung across the coil".to_owned()
            }
            Self::NoCoilsOhms { .. } => {
                "write 3.9k where kilohms were read, and open where the meter shows OL; a reading far too low is of a short".to_owned()
            }
            Self::Draft(error) => error.hint(),
            Self::Refused(_) => "look whether its values are beyond what any coil has".to_owned(),
        }
    }
}

impl Subject {
    /// Returns what is measured at `place` of the pickup at the place `pickup` of the guitar whose file is `draft` and which is
    /// `guitar`.
    ///
    /// # Errors
    /// [`SubjectError`] where that cannot be.
    pub fn new(draft: Draft, guitar: Guitar, pickup: usize, place: Place) -> Result<Self, SubjectError> {
        let own = &guitar.pickups()[pickup];
        let has_one = own.coil_b().is_none();
        let (which, seat) = match place {
            Place::Leads(which) => {
                let asked = match which {
                    Which::One(CoilName::A) => None,
                    Which::One(CoilName::B) => Some("coil b"),
                    Which::Both => Some("both"),
                };
                if let Some(asked) = asked.filter(|_| has_one) {
                    return Err(SubjectError::OneCoil { pickup: own.name().to_string(), asked });
                }
                (which, Seated::Leads(strapping(which)))
            }
            Place::Jack(state) => {
                let which = if has_one { Which::One(CoilName::A) } else { Which::Both };
                (which, at_jack(&guitar, pickup, state.as_deref())?)
            }
        };
        Ok(Self { draft, guitar, pickup, which, seat })
    }

    /// Returns the guitar as its file has it.
    pub fn guitar(&self) -> &Guitar {
        &self.guitar
    }

    /// Returns the guitar's file.
    pub fn draft(&self) -> &Draft {
        &self.draft
    }

    /// Returns the pickup that is measured.
    pub fn pickup(&self) -> &Pickup {
        &self.guitar.pickups()[self.pickup]
    }

    /// Returns its place among the guitar's.
    pub fn pickup_place(&self) -> usize {
        self.pickup
    }

    /// Returns which of its coils are measured.
    pub fn which(&self) -> Which {
        self.which
    }

    /// Returns the coils that are measured.
    pub fn coils(&self) -> Vec<CoilName> {
        match self.which {
            Which::One(coil) => vec![coil],
            Which::Both => CoilName::BOTH.to_vec(),
        }
    }

    /// Returns whether it is measured at the jack.
    pub fn is_at_jack(&self) -> bool {
        matches!(self.seat, Seated::Jack(..))
    }

    /// Returns the name of the state in which the levers stand; nothing at the leads.
    pub fn state(&self) -> Option<&str> {
        match &self.seat {
            Seated::Leads(_) => None,
            Seated::Jack(_, state) => Some(state),
        }
    }

    /// Returns a coil of the pickup as its file has it.
    pub(super) fn coil(&self, name: CoilName) -> &Coil {
        match (name, self.pickup().coil_b()) {
            (CoilName::B, Some(b)) => b,
            (CoilName::A | CoilName::B, _) => self.pickup().coil_a(),
        }
    }

    /// Returns whether the values of `coil` are found: it is measured, or nothing is known of it and it is taken for the other.
    pub(super) fn moves(&self, coil: CoilName) -> bool {
        match self.which {
            Which::Both => true,
            Which::One(measured) => measured == coil || !self.coil(coil).inductance.origin.is_stated(),
        }
    }

    /// Returns the file with a value of every kind stated for each coil that moves, from which a fit starts; with an eddy section
    /// or without.
    pub(super) fn start(&self, with_section: bool) -> Result<Guitar, SubjectError> {
        let mut draft = self.draft.clone();
        for coil in self.moving() {
            let own = match self.which {
                Which::One(measured) => self.coil(measured),
                Which::Both => self.coil(coil),
            };
            let table = self.table(coil);
            self.clear(&mut draft, coil)?;
            let resistance = own.resistance().value();
            put(&mut draft, &table, Measurand::Resistance, resistance)?;
            let inductance = own.inductance().value();
            put(&mut draft, &table, Measurand::Inductance, inductance)?;
            put(&mut draft, &table, Measurand::Capacitance, USUAL_CAPACITANCE)?;
            let loss = if with_section { LOSS_BESIDE } else { LOSS_ALONE };
            put(&mut draft, &table, Measurand::Loss, loss * inductance)?;
            if with_section {
                put(&mut draft, &table, Measurand::EddyShare, USUAL_SHARE)?;
                put(&mut draft, &table, Measurand::EddyCorner, USUAL_CORNER)?;
                // A section varies where it was measured.
                for measurand in [Measurand::EddyShare, Measurand::EddyCorner] {
                    draft.set(&format!("{table}.measured.{}", measurand.key()), "1 %")?;
                }
            }
        }
        checked(&draft)
    }

    /// Returns the coils that move.
    pub(super) fn moving(&self) -> Vec<CoilName> {
        let has_b = self.pickup().coil_b().is_some();
        CoilName::BOTH
            .into_iter()
            .filter(|coil| (*coil == CoilName::A || has_b) && self.moves(*coil))
            .collect()
    }

    /// Returns the place of a coil's table in the file.
    pub(super) fn table(&self, coil: CoilName) -> String {
        let name = match coil {
            CoilName::A => "coil_a",
            CoilName::B => "coil_b",
        };
        format!("pickup[{}].{name}", self.pickup)
    }

    /// Takes what the file says of how `coil` was measured, and of its eddy section, out of `draft`.
    pub(super) fn clear(&self, draft: &mut Draft, coil: CoilName) -> Result<(), SubjectError> {
        let table = self.table(coil);
        for key in ["measured", "eddy_share", "eddy_corner"] {
            let place = format!("{table}.{key}");
            let is_there =
                draft.get(&place)?.is_some() || key == "measured" && self.coil(coil).measurement().is_some();
            if is_there {
                draft.remove(&place)?;
            }
        }
        Ok(())
    }

    /// Returns the circuit of what is measured, of the guitar as `guitar`.
    pub(super) fn circuit(&self, guitar: &Guitar) -> Result<Circuit, VoiceError> {
        let driven = match &self.seat {
            Seated::Leads(strapping) => circuit_of(
                guitar,
                Wired::Pickup(&guitar.pickups()[self.pickup], *strapping),
                JackLoad::Unplugged,
            )?,
            Seated::Jack(nets, _) => circuit_of(guitar, Wired::Soldered(nets), JackLoad::Unplugged)?,
        };
        Ok(Circuit::new(&driven.netlist, driven.jack))
    }

    /// Returns `guitar` as it is measured: without controls at the leads, with every knob at 10 at the jack.
    pub(super) fn as_measured(&self, guitar: &Guitar) -> Guitar {
        match self.seat {
            Seated::Leads(_) => guitar.without_controls(),
            Seated::Jack(..) => guitar.with_everything_full(),
        }
    }
}

/// The values that a fit starts from where all is unknown: those of a steel-cored coil. Loss in ohms a henry.
const USUAL_CAPACITANCE: f64 = 120e-12;
const LOSS_BESIDE: f64 = 175e3;
const LOSS_ALONE: f64 = 110e3;
const USUAL_SHARE: f64 = 0.12;
const USUAL_CORNER: f64 = 2200.0;

/// Returns the impedance of a circuit at a frequency.
pub(super) fn impedance(circuit: &Circuit, frequency: Hertz) -> Result<Complex64, VoiceError> {
    Ok(circuit.output_impedance(Complex64::new(0.0, TAU * frequency.value()))?)
}

/// Returns the guitar of a file that was changed.
pub(super) fn checked(draft: &Draft) -> Result<Guitar, SubjectError> {
    draft.check().map_err(|refusal| SubjectError::Refused(refusal.faults()[0].told()))
}

/// States a value of a coil in the table at `table`.
pub(super) fn put(
    draft: &mut Draft,
    table: &str,
    measurand: Measurand,
    value: f64,
) -> Result<(), DraftError> {
    const DIGITS: usize = 4;
    let text = |symbol: &str| Literal::Text(engineering(value, symbol, DIGITS));
    let literal = match measurand {
        Measurand::Resistance | Measurand::Loss => text("Ω"),
        Measurand::Inductance => text("H"),
        Measurand::Capacitance => text("F"),
        Measurand::EddyCorner => text("Hz"),
        Measurand::EddyShare => Literal::Number((value * 1e4).round() / 1e4),
    };
    draft.set(&format!("{table}.{}", measurand.key()), literal)
}

fn strapping(which: Which) -> Strapping {
    let connection = match which {
        Which::Both => Arrangement::Series.connection(),
        Which::One(coil) => {
            Connection::joining([&[Terminal::Hot, coil.plus()][..], &[Terminal::Ground, coil.minus()][..]])
        }
    };
    Strapping { connection, bypassed: false }
}

fn at_jack(guitar: &Guitar, pickup: usize, named: Option<&str>) -> Result<Seated, SubjectError> {
    if guitar.buffer().is_some() {
        return Err(SubjectError::Buffer { guitar: guitar.name().to_owned() });
    }
    let solder = Solder::of(guitar);
    let at = AtJack::full(guitar);
    let reaches = |state: &State| -> Result<bool, VoiceError> {
        Ok(heard(guitar, &at.swings(&state.nets(guitar, &solder))?)[pickup])
    };
    let state = if let Some(name) = named {
        state_named(guitar, pickup, name)?
    } else {
        let standing = State::standing(guitar, pickup);
        let levers: Vec<_> = standing.throws().iter().map(|(lever, _)| *lever).collect();
        let first = levers.into_iter().fold(standing, |state, lever| state.with(lever, 0));
        if reaches(&first)? { first } else { Seat::of(guitar, pickup)?.state().clone() }
    };
    if !reaches(&state)? {
        let pickup = guitar.pickups()[pickup].name().to_string();
        return Err(SubjectError::NotHeard { pickup, state: state.name(guitar) });
    }
    Ok(Seated::Jack(state.nets(guitar, &solder), state.name(guitar)))
}

impl Place {
    /// Returns where that is, in words.
    pub fn words(&self) -> &'static str {
        match self {
            Self::Leads(_) => "at the leads",
            Self::Jack(_) => "at the jack",
        }
    }
}
