//! P6. Files of a set line up: equal lengths, and no delay beyond the circuit's own phase, so that switching between
//! them while they play is seamless.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::program::{Set, write_wav};
use crate::common::render::spectrum;
use drywire::guitar::Guitar;
use drywire::quantity::Hertz;
use drywire::response::Voice;

const DEGREES: f64 = 0.1;

#[test]
fn every_file_is_as_long_as_the_source_and_has_the_circuits_phase_and_no_more() {
    let folder = tempfile::tempdir().unwrap();
    let guitar = Guitar::built_in("set-neck").unwrap();
    for (rate, length) in [(44_100u32, 30_000usize), (96_000, 60_001)] {
        let at = length / 3;
        let mut impulse = vec![0.0; length];
        impulse[at] = 0.5;
        write_wav(&folder.path().join("impulse.wav"), &[impulse.clone(), impulse], rate);
        let arguments =
            ["impulse.wav", "--guitar", "set-neck", "--bits", "32f", "--source-channels", "coils"];
        let set = Set::without_page(
            folder.path(),
            &[&arguments[..], &["--arrangements", "series,parallel,split-b"]].concat(),
        );
        for arrangement in set.arrangements() {
            let name = arrangement["name"].as_str().unwrap();
            let voice = Voice::of(name.parse().unwrap());
            let response = voice.response(&guitar, &guitar.pickups()[0]).unwrap();
            for kind in ["matched", "as_is"] {
                let (planes, own_rate) = set.read(arrangement[kind]["file"].as_str().unwrap());
                assert_eq!((planes.len(), planes[0].len(), own_rate), (1, length, rate), "{name}");
                for f in [50.0, 300.0, 1500.0, 5000.0, 12_000.0] {
                    let expected = response.both(&response.at(Hertz::new(f)).unwrap());
                    let phase = (spectrum(&planes[0], at, f, rate) / expected).arg().to_degrees();
                    assert!(phase.abs() <= DEGREES, "{name} {kind} at {rate} Hz, {f} Hz: {phase} degrees");
                }
            }
        }
    }
}
