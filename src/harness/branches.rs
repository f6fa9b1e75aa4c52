//! What lies between the terminals inside the parts: tracks, coils, capacitors, resistors, the buffer.

use super::parts::{BRAID, COLD, HOT, bypass_of};
use super::{PartKind, Parts, Role, Terminal, TwoLegs};
use crate::guitar::{BleedForm, Bypass, Controls, Pot, Turns};
use crate::quantity::{Farads, Ohms};
use crate::wiring::{CoilName, Terminal as CoilEnd};

/// A pot's track with its wiper.
#[derive(Debug, Clone, Copy)]
pub(super) struct Track {
    /// Its place in [`Parts::all`].
    pub(super) part: usize,
    pub(super) role: Role,
    pub(super) whose: Option<usize>,
    pub(super) pot: Pot,
    /// The end that the wiper is at with the knob at 0.
    pub(super) low: Terminal,
    pub(super) wiper: Terminal,
    /// The end that it is at with the knob at 10.
    pub(super) high: Terminal,
}

/// What a part of two legs is worth.
#[derive(Debug, Clone, Copy)]
pub(super) enum Worth {
    Ohms(Ohms),
    Farads(Farads),
}

/// A part between two terminals.
#[derive(Debug, Clone, Copy)]
pub(super) struct Branch {
    pub(super) part: usize,
    pub(super) ends: [Terminal; 2],
    pub(super) worth: Worth,
}

/// A coil between its + and − ends.
#[derive(Debug, Clone, Copy)]
pub(super) struct CoilBranch {
    pub(super) part: usize,
    pub(super) pickup: usize,
    pub(super) coil: CoilName,
    pub(super) ends: [Terminal; 2],
}

/// The buffer with its battery.
#[derive(Debug, Clone, Copy)]
pub(super) struct Follower {
    pub(super) input: Terminal,
    pub(super) output: Terminal,
    pub(super) ground: Terminal,
    pub(super) supply: Terminal,
    /// The battery's + and −.
    pub(super) battery: [Terminal; 2],
    pub(super) output_ohms: Ohms,
}

/// All that is inside the parts of one cavity.
#[derive(Debug, Clone)]
pub(super) struct Branches {
    pub(super) tracks: Vec<Track>,
    pub(super) fixed: Vec<Branch>,
    pub(super) coils: Vec<CoilBranch>,
    pub(super) follower: Option<Follower>,
    /// What is joined inside a part.
    pub(super) inside: Vec<[Terminal; 2]>,
}

impl Branches {
    pub(super) fn of(parts: &Parts) -> Self {
        let mut branches = Self {
            tracks: Vec::new(),
            fixed: Vec::new(),
            coils: Vec::new(),
            follower: None,
            inside: Vec::new(),
        };
        for (place, part) in parts.all().iter().enumerate() {
            match part.kind() {
                PartKind::Pickup(pickup) => branches.pickup(parts, place, pickup),
                PartKind::Pot(role, whose) => branches.pot(parts, place, role, whose),
                PartKind::TwoLegs(what, whose) => branches.two_legs(parts, place, what, whose),
                PartKind::Buffer => branches.buffer(parts, place),
                PartKind::Lever(_)
                | PartKind::Jack
                | PartKind::Strings
                | PartKind::Cavity
                | PartKind::Battery => {}
            }
        }
        branches
    }

    fn pickup(&mut self, parts: &Parts, part: usize, place: usize) {
        let (own, pickup) = (&parts.all()[part], &parts.guitar().pickups()[place]);
        let at = |end: CoilEnd| match end {
            CoilEnd::Hot => own.lug(HOT),
            CoilEnd::Ground => own.lug(BRAID).or_else(|| own.lug(COLD)),
            CoilEnd::APlus | CoilEnd::AMinus | CoilEnd::BPlus | CoilEnd::BMinus => own.lug(end.name()),
        };
        for coil in pickup.coil_names() {
            if let (Some(plus), Some(minus)) = (at(coil.plus()), at(coil.minus())) {
                self.coils.push(CoilBranch { part, pickup: place, coil, ends: [plus, minus] });
            }
        }
        if pickup.is_joined_inside() {
            let connection = pickup.arrangement().connection();
            for end in CoilEnd::ALL {
                let first = CoilEnd::ALL[connection.node(end)];
                if let (Some(one), Some(other)) = (at(first), at(end)) {
                    self.inside.push([one, other]);
                }
            }
        }
    }

    fn pot(&mut self, parts: &Parts, part: usize, role: Role, whose: Option<usize>) {
        let controls = controls_of(parts, whose);
        let pot = match role {
            Role::Volume => controls.volume(),
            Role::Tone => controls.tone().map(|tone| tone.pot()),
            Role::BassCut => controls.bass_cut().map(|cut| cut.pot()),
            Role::Blend => parts.guitar().joined().blend().map(|blend| blend.pot()),
        };
        let own = &parts.all()[part];
        let [low, high] = match parts.guitar().cavity().turns() {
            Turns::Clockwise => [own.at(0), own.at(2)],
            Turns::CounterClockwise => [own.at(2), own.at(0)],
        };
        self.tracks.extend(pot.map(|pot| Track { part, role, whose, pot, low, wiper: own.at(1), high }));
    }

    fn two_legs(&mut self, parts: &Parts, part: usize, what: TwoLegs, whose: Option<usize>) {
        let controls = controls_of(parts, whose);
        let bypass = || whose.and_then(|place| bypass_of(parts.guitar(), place));
        let worth = match what {
            TwoLegs::ToneCapacitor => controls.tone().map(|tone| Worth::Farads(tone.capacitor())),
            TwoLegs::BleedCapacitor => controls.bleed().map(|bleed| Worth::Farads(bleed.capacitor())),
            TwoLegs::BleedResistor => controls.bleed().and_then(|bleed| match bleed.form() {
                BleedForm::Capacitor => None,
                BleedForm::Parallel(ohms) | BleedForm::Series(ohms) => Some(Worth::Ohms(ohms)),
            }),
            TwoLegs::BassCapacitor => controls.bass_cut().map(|cut| Worth::Farads(cut.capacitor())),
            TwoLegs::Load => controls.load().map(Worth::Ohms),
            TwoLegs::BypassCapacitor | TwoLegs::BypassResistor => bypass().map(|bypass| match bypass {
                Bypass::Capacitor(farads) => Worth::Farads(farads),
                Bypass::Resistor(ohms) => Worth::Ohms(ohms),
            }),
        };
        let own = &parts.all()[part];
        self.fixed.extend(worth.map(|worth| Branch { part, ends: [own.at(0), own.at(1)], worth }));
    }

    fn buffer(&mut self, parts: &Parts, part: usize) {
        let (Some(buffer), Some(battery)) = (parts.guitar().buffer(), parts.of_kind(PartKind::Battery))
        else {
            return;
        };
        let own = &parts.all()[part];
        let [input, output, ground, supply] = [0, 1, 2, 3].map(|lug| own.at(lug));
        self.fixed.push(Branch { part, ends: [input, ground], worth: Worth::Ohms(buffer.input()) });
        self.follower = Some(Follower {
            input,
            output,
            ground,
            supply,
            battery: [battery.at(0), battery.at(1)],
            output_ohms: buffer.output(),
        });
    }
}

/// Returns the controls of the pickup at the place `whose`, or the guitar's own.
pub(super) fn controls_of(parts: &Parts, whose: Option<usize>) -> &Controls {
    let guitar = parts.guitar();
    whose.map_or(guitar.controls(), |place| guitar.pickups()[place].controls())
}
