//! P1. The circuit's response is the circuit's: equal to an independent general-purpose circuit simulator within
//! 0.001 dB and 0.01 degree, 20 Hz to 20 kHz, every arrangement and control position, wherever the response is
//! above −100 dB.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::circuits::references;
use drywire::quantity::Hertz;
use drywire::response::Voice;
use num_complex::Complex64;

const DECIBELS: f64 = 0.001;
const DEGREES: f64 = 0.01;
const FLOOR: f64 = 1e-5;

#[test]
fn the_circuits_response_equals_an_independent_simulators_within_a_thousandth_of_a_decibel() {
    let references = references();
    assert_eq!(references.len(), 27);
    let (mut worst_db, mut worst_deg, mut compared) = (0.0f64, 0.0f64, 0);
    for (i, reference) in references.iter().enumerate() {
        let voice = Voice::of(reference.arrangement.parse().unwrap());
        let response = voice.response(&reference.guitar, &reference.guitar.pickups()[0]).unwrap();
        for (k, f) in reference.frequency_hz.iter().enumerate() {
            let paths = response.at(Hertz::new(*f)).unwrap();
            for (coil, ours, theirs) in
                [("a", paths.0[0], reference.from_coil_a[k]), ("b", paths.0[1], reference.from_coil_b[k])]
            {
                let place = format!("circuit {i}, {}, coil {coil}, {f} Hz", reference.arrangement);
                if theirs.norm() <= FLOOR {
                    assert!(ours.norm() < 1.01 * FLOOR, "{place}: {ours} where the simulator has {theirs}");
                    continue;
                }
                let (db, deg) = difference(ours, theirs);
                assert!(db <= DECIBELS, "{place}: {db} dB");
                assert!(deg <= DEGREES, "{place}: {deg} degrees");
                (worst_db, worst_deg, compared) = (worst_db.max(db), worst_deg.max(deg), compared + 1);
            }
        }
    }
    assert!(compared > 2500, "only {compared} values lie above the floor");
    println!("{compared} values, worst {worst_db:.6} dB and {worst_deg:.6} degrees");
}

#[test]
fn the_resistance_at_the_jack_equals_an_independent_simulators() {
    for (i, reference) in references().iter().enumerate() {
        let voice = Voice::of(reference.arrangement.parse().unwrap());
        let response = voice.response(&reference.guitar, &reference.guitar.pickups()[0]).unwrap();
        let ours = response.dc_at_jack().expect("a path").value();
        let relative = (ours / reference.dc_at_jack_ohm - 1.0).abs();
        // The simulator's decks hold the pot's top leg at 1e-4 ohm and print ten digits.
        assert!(relative <= 1e-6, "circuit {i}: {ours} where the simulator has {}", reference.dc_at_jack_ohm);
    }
}

fn difference(ours: Complex64, theirs: Complex64) -> (f64, f64) {
    let ratio = ours / theirs;
    assert!(ratio.is_finite());
    ((20.0 * ratio.norm().log10()).abs(), ratio.arg().to_degrees().abs())
}
