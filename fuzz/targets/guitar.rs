//! A guitar file: read, each of its pickups heard and proved in every way that it can be connected, and its control
//! cavity wired and checked.

use drywire::guitar::{Guitar, Pickup};
use drywire::harness::Harness;
use drywire::lugs::{Described, sheet};
use drywire::probe::{Bench, prove};
use drywire::quantity::Hertz;
use drywire::response::{Voice, VoiceError};

use super::{check_refusal, document};

/// Reads the bytes and works out what the other commands would.
pub fn run(bytes: &[u8]) {
    let Some(document) = document(bytes) else { return };
    let guitar = match Guitar::read(&document) {
        Ok(guitar) => guitar,
        Err(refusal) => return check_refusal(&refusal),
    };
    assert!((1..=4).contains(&guitar.pickups().len()));
    for pickup in guitar.pickups() {
        hear(&guitar, pickup);
        if let Ok(bench) = Bench::new(&guitar, Some(pickup)) {
            assert!(!guitar.joined().is_empty() || !bench.positions().is_empty());
        }
    }
    if let Ok(bench) = Bench::new(&guitar, None) {
        assert!(!bench.positions().is_empty());
        if bench.ways() <= MOST_PROVED
            && let Ok(report) = prove(&bench, &[])
        {
            assert_eq!(report.throws.len(), bench.positions().len());
        }
    }
    if let Ok(harness) = Harness::of(&guitar)
        && harness.throws().len() <= MOST_WIRED
    {
        let wires = harness.plan().map_or_else(|| harness.simple_wires(), |plan| plan.ends());
        let found = harness.check(&wires);
        assert!(found.same_circuit && found.is_as_wanted(), "{found:?}");
        if let Some((_, without)) = wires.split_first() {
            let _ = harness.check(without);
        }
    }
    for switch in guitar.switches() {
        let pickup = guitar.switched_by(switch);
        if let Ok(described) = Described::soldered(&guitar, switch, None) {
            assert!(!sheet(&described, &guitar, pickup, None).contains("<script"));
        }
    }
}

/// Guitars of more states are not wired, for the time that it takes.
const MOST_WIRED: usize = 12;
/// Guitars of more states are proved by no mistake, for the time that it takes.
const MOST_PROVED: u64 = 6;

fn hear(guitar: &Guitar, pickup: &Pickup) {
    for arrangement in pickup.arrangements() {
        match respond(guitar, pickup, &Voice::of(arrangement)) {
            Ok(()) | Err(VoiceError::Solve(_) | VoiceError::Build(_)) => {}
            Err(refusal @ (VoiceError::CoilCount { .. } | VoiceError::Scope { .. })) => panic!("{refusal}"),
        }
    }
}

fn respond(guitar: &Guitar, pickup: &Pickup, voice: &Voice) -> Result<(), VoiceError> {
    let response = voice.response(guitar, pickup)?;
    for hertz in [20.0, 1e3, 20e3] {
        let paths = response.at(Hertz::new(hertz))?;
        assert!(paths.0.iter().all(|h| h.is_finite()), "{voice:?} at {hertz} Hz: {paths:?}");
    }
    let figures = response.figures()?;
    if let Some(resonance) = figures.resonance {
        assert!(resonance.frequency.value() > 0.0 && resonance.q.is_finite());
    }
    Ok(())
}
