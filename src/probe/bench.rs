//! What is measured: every throw of every soldered switch, or the arrangements of a pickup that has none.

use super::expected::{Corners, Expected, at_jack};
use crate::document::Name;
use crate::guitar::{Guitar, Pickup};
use crate::lugs::Labels;
use crate::quantity::Ohms;
use crate::response::VoiceError;
use crate::wiring::{Connection, Contact, Plan, Throw};

/// A guitar at the bench, its volume full, with all that is measured at its jack.
#[derive(Debug, Clone)]
pub struct Bench {
    pub(super) guitar: Guitar,
    pub(super) mounts: Vec<Mount>,
    positions: Vec<Position>,
    pub(super) full: Corners,
}

/// A soldered switch with its plan as drawn.
#[derive(Debug, Clone)]
pub(super) struct Mount {
    pub(super) plan: Plan,
    pub(super) labels: Labels,
}

/// One thing to measure: a throw, or an arrangement of a pickup without a switch.
#[derive(Debug, Clone)]
pub struct Position {
    name: String,
    lever: Option<&'static Throw>,
    pickup: Name,
    pub(super) mount: Option<usize>,
    pub(super) drawn: Connection,
}

impl Bench {
    /// Returns everything that can be measured on `guitar`: the throws of its switches or, where it has none, the
    /// arrangements of `pickup`.
    pub fn new(guitar: &Guitar, pickup: &Pickup) -> Self {
        let mut bench = Self {
            guitar: guitar.clone(),
            mounts: Vec::new(),
            positions: Vec::new(),
            full: Corners::new(guitar, Self::FULL),
        };
        for (mount, switch) in guitar.switches().iter().enumerate() {
            let on = guitar.switched_by(switch);
            let labels = Labels::of(on, switch.names());
            let plan = switch.plan(labels.finish_is_plus());
            for (throw, drawn) in switch.switch().throws().iter().zip(plan.throws()) {
                bench.positions.push(Position {
                    name: format!("{}:{}", switch.name().value, throw.number()),
                    lever: Some(throw),
                    pickup: on.name().clone(),
                    mount: Some(mount),
                    drawn,
                });
            }
            bench.mounts.push(Mount { plan, labels });
        }
        if bench.mounts.is_empty() {
            bench.positions.extend(pickup.arrangements().into_iter().map(|arrangement| Position {
                name: arrangement.name().to_owned(),
                lever: None,
                pickup: pickup.name().clone(),
                mount: None,
                drawn: arrangement.connection(),
            }));
        }
        bench
    }

    /// The volume knob's position at which readings are taken.
    pub const FULL: f64 = 10.0;

    /// Returns what can be measured, in the order of the file.
    pub fn positions(&self) -> &[Position] {
        &self.positions
    }

    /// Returns whether any switch is soldered in, so that readings of its throws can be judged.
    pub fn has_switch(&self) -> bool {
        !self.mounts.is_empty()
    }

    /// Returns what the meter reads in each position with the volume full and everything as drawn.
    ///
    /// # Errors
    /// [`VoiceError`] where a circuit has no solution.
    pub fn expected(&self) -> Result<Vec<Expected>, VoiceError> {
        self.positions.iter().map(|p| self.full.expected(&p.pickup, p.drawn)).collect()
    }

    /// Returns what the meter reads in each position with the volume where the file has it, or nothing where that
    /// is full or there is no volume pot.
    ///
    /// # Errors
    /// [`VoiceError`] where a circuit has no solution.
    pub fn as_set(&self) -> Result<Option<Vec<Option<Ohms>>>, VoiceError> {
        let below = self.guitar.controls().volume().is_some_and(|pot| pot.turned() < Self::FULL);
        let read = |p: &Position| at_jack(&self.guitar, &p.pickup, p.drawn);
        below.then(|| self.positions.iter().map(read).collect()).transpose()
    }
}

impl Position {
    /// Returns the name by which a reading is given, such as `mode:1` or `series`.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns where the lever is, `None` where there is no switch.
    pub fn lever(&self) -> Option<&'static Throw> {
        self.lever
    }

    /// Returns what the joints and contacts make of the pickup, the arrangement's name where it has one.
    pub fn arrangement(&self) -> String {
        self.drawn.label()
    }

    /// Returns the pickup that is measured.
    pub fn pickup(&self) -> &Name {
        &self.pickup
    }

    pub(super) fn contacts(&self) -> &'static [Contact] {
        self.lever.map_or(&[], Throw::contacts)
    }
}
