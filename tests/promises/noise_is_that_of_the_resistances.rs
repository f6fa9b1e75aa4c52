//! The thermal noise in the figures is Johnson's, of what the circuit's resistances come to at the jack.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::program::succeeds;
use serde_json::Value;

fn figures(guitar: &str, arguments: &[&str]) -> Value {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("g.toml"), guitar).unwrap();
    let all = ["figures", "--json", "--guitar", "g.toml"];
    serde_json::from_slice(&succeeds(folder.path(), &[&all, arguments].concat()).stdout).unwrap()
}

#[test]
fn a_coil_that_is_little_but_resistance_makes_what_the_formula_says() {
    // Up to 20 kHz so little inductance leaves the coil its 10 kΩ, beside the pot's 500 kΩ and the input's 1 MΩ.
    let guitar = "format = 1\n[controls]\nvolume = { pot = \"500k\", turned = 10 }\n\
        [cable]\nlength = \"0 m\"\nper_metre = \"120p\"\n[input]\nresistance = \"1M\"\ncapacitance = \"0\"\n\
        [[pickup]]\nname = \"one\"\n[pickup.coil_a]\nresistance = \"10k\"\ninductance = \"5 mH\"\ncapacitance = \"0\"\noutput = 1\n\
        winding = \"clockwise\"\ntop_pole = \"north\"\n";
    let told = figures(guitar, &[]);
    let parallel = 1.0 / (1.0 / 10e3 + 1.0 / 500e3 + 1.0 / 1e6);
    let expected = 10.0 * (4.0 * 1.380_649e-23 * 300.0 * parallel * 19_980.0f64).log10();
    let noise = told["arrangements"][0]["noise_dbv"].as_f64().unwrap();
    assert!((noise - expected).abs() < 0.05, "{noise} dBV for {expected}");
}

#[test]
fn every_arrangement_and_every_position_has_its_noise() {
    for arguments in [&[][..], &["--arrangements", "positions"]] {
        let folder = tempfile::tempdir().unwrap();
        let all = ["figures", "--json", "--guitar", "set-neck"];
        let told: Value =
            serde_json::from_slice(&succeeds(folder.path(), &[&all, arguments].concat()).stdout).unwrap();
        for arrangement in told["arrangements"].as_array().unwrap() {
            for field in ["noise_dbv", "noise_dbv_a"] {
                let level = arrangement[field].as_f64().unwrap();
                assert!((-125.0..-100.0).contains(&level), "{field} of {}: {level}", arrangement["name"]);
            }
        }
    }
}
