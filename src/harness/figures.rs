//! What is heard of a wiring, and what a meter reads: figures by which differences between circuits are named.
//!
//! Coils are taken as resistance and inductance alone, since levels are compared with wide margins; the exact comparison is
//! [`super::identity`]'s.

use num_complex::Complex64;

use super::branches::{Branches, Worth};
use super::network::{Admittances, Network};
use super::wiring::Wiring;
use super::{Harness, Role};
use crate::guitar::Coil;
use crate::wiring::CoilName;

/// Where every knob stands: the fraction of each track below its wiper.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Settings(Vec<f64>);

/// What is broken, by its place among the branches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Without {
    Coil(usize),
    Track(usize),
}

/// Where basses are heard, and where trebles are, in hertz.
pub(super) const LOW: f64 = 100.0;
pub(super) const HIGH: f64 = 5000.0;

/// What is left of a track at its end.
const END: f64 = 1e-9;

impl Settings {
    /// Returns every knob at 10.
    pub(super) fn full(branches: &Branches) -> Self {
        Self(vec![1.0; branches.tracks.len()])
    }

    /// Returns the same with a blend pot in the middle of its track, where both its pickups are heard.
    pub(super) fn blended(self, branches: &Branches) -> Self {
        let of = |(own, track): (f64, Role)| match track {
            Role::Blend => 0.5,
            Role::Volume | Role::Tone | Role::BassCut => own,
        };
        Self(self.0.into_iter().zip(branches.tracks.iter().map(|track| track.role)).map(of).collect())
    }

    /// Returns the same with the wiper of the track at `place` at this fraction.
    pub(super) fn with(&self, place: usize, fraction: f64) -> Self {
        let mut settings = self.clone();
        settings.0[place] = fraction;
        settings
    }

    fn halves(&self) -> impl Iterator<Item = [f64; 2]> {
        self.0.iter().map(|own| {
            let below = own.clamp(END, 1.0 - END);
            [below, 1.0 - below]
        })
    }
}

impl Harness {
    /// Returns the voltage at the jack per volt of each coil's EMF, coil by coil, in the state at `place`.
    pub(super) fn heard(
        &self,
        wiring: &Wiring,
        place: usize,
        settings: &Settings,
        hertz: f64,
    ) -> Vec<Complex64> {
        let branches = &self.branches;
        let nets = wiring.nets(&self.throws, place);
        let mut admittances = self.audible(settings, hertz);
        if !Wiring::has_power(branches, &nets) {
            admittances.follower = None;
        }
        Network { branches, nets: &nets, jack: wiring.jack }.transfers(&admittances)
    }

    /// Returns what a meter reads between tip and sleeve with nothing plugged in, in ohms; nothing where it is open.
    pub(super) fn ohms(&self, wiring: &Wiring, place: usize, settings: &Settings) -> Option<f64> {
        self.ohms_between(wiring, place, settings, wiring.jack, None)
    }

    /// Returns what a meter reads between two terminals with nothing plugged in, where something may be broken.
    pub(super) fn ohms_between(
        &self,
        wiring: &Wiring,
        place: usize,
        settings: &Settings,
        between: [super::Terminal; 2],
        without: Option<Without>,
    ) -> Option<f64> {
        let mut nets = wiring.unplugged(&self.throws, place);
        for (own, (track, fraction)) in self.branches.tracks.iter().zip(&settings.0).enumerate() {
            if without == Some(Without::Track(own)) {
                continue;
            }
            if *fraction <= 0.0 {
                nets.join(track.low.index(), track.wiper.index());
            } else if *fraction >= 1.0 {
                nets.join(track.wiper.index(), track.high.index());
            }
        }
        let mut conductances = self.conductances(settings);
        match without {
            Some(Without::Coil(coil)) => conductances.coils[coil] = 0.0,
            Some(Without::Track(track)) => conductances.tracks[track] = [0.0; 2],
            None => {}
        }
        Network { branches: &self.branches, nets: &nets, jack: between }.ohms(&conductances)
    }

    fn audible(&self, settings: &Settings, hertz: f64) -> Admittances<Complex64> {
        let (branches, guitar) = (&self.branches, self.parts.guitar());
        let omega = std::f64::consts::TAU * hertz;
        let siemens = |ohms: f64| Complex64::from(1.0 / ohms);
        let impedance =
            |coil: &Coil| Complex64::new(coil.resistance().value(), omega * coil.inductance().value());
        let mut coils = vec![Complex64::ZERO; branches.coils.len()];
        for (own, branch) in coils.iter_mut().zip(&branches.coils) {
            *own = impedance(self.coil_of(branch.pickup, branch.coil)).inv();
        }
        let mut mutual = Vec::new();
        for first in branches.pairs() {
            let between = Complex64::new(
                0.0,
                omega * guitar.pickups()[branches.coils[first].pickup].mutual_inductance().value(),
            );
            let [a, b] = [first, first + 1].map(|place| coils[place].inv());
            let determinant = a * b - between * between;
            (coils[first], coils[first + 1]) = (b / determinant, a / determinant);
            mutual.push((first, -between / determinant));
        }
        let farads = guitar.cable().capacitance().value() + guitar.input().capacitance().value();
        Admittances {
            tracks: self.tracks(settings, siemens),
            fixed: branches
                .fixed
                .iter()
                .map(|branch| match branch.worth {
                    Worth::Ohms(ohms) => siemens(ohms.value()),
                    Worth::Farads(farads) => Complex64::new(0.0, omega * farads.value()),
                })
                .collect(),
            coils,
            mutual,
            load: Complex64::new(1.0 / guitar.input().resistance().value(), omega * farads),
            follower: branches.follower.map(|follower| siemens(follower.output_ohms.value())),
        }
    }

    fn conductances(&self, settings: &Settings) -> Admittances<f64> {
        let branches = &self.branches;
        Admittances {
            tracks: self.tracks(settings, f64::recip),
            fixed: branches
                .fixed
                .iter()
                .map(|branch| match branch.worth {
                    Worth::Ohms(ohms) => 1.0 / ohms.value(),
                    Worth::Farads(_) => 0.0,
                })
                .collect(),
            coils: branches
                .coils
                .iter()
                .map(|branch| 1.0 / self.coil_of(branch.pickup, branch.coil).resistance().value())
                .collect(),
            mutual: Vec::new(),
            load: 0.0,
            follower: None,
        }
    }

    /// Returns what the tracks below and above their wipers admit, `of` so many ohms.
    fn tracks<F>(&self, settings: &Settings, of: impl Fn(f64) -> F) -> Vec<[F; 2]> {
        let tracks = self.branches.tracks.iter().map(|own| own.pot.track().value());
        tracks.zip(settings.halves()).map(|(track, halves)| halves.map(|half| of(half * track))).collect()
    }

    fn coil_of(&self, pickup: usize, coil: CoilName) -> &Coil {
        let pickup = &self.parts.guitar().pickups()[pickup];
        match coil {
            CoilName::A => pickup.coil_a(),
            CoilName::B => pickup.coil_b().unwrap_or(pickup.coil_a()),
        }
    }
}
