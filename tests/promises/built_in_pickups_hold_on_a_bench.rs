//! Built-in pickups hold on a bench: they peak where public measurements have them, stated ohms scale what the turns scale, a
//! file that states every value is the circuit that it states, and a cover takes the treble that it takes.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use crate::common::circuits::references;
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::quantity::Hertz;
use drywire::response::{Voice, VoiceResponse};
use drywire::wiring::Arrangement;

fn heard(text: &str, arrangement: Arrangement) -> VoiceResponse {
    let guitar = Guitar::read(&Document::new("bench.toml", text)).unwrap();
    Voice::of(arrangement).response(&guitar, &guitar.pickups()[0]).unwrap()
}

/// A pickup like `vintage-full-size` with `more` in its table, as it is loaded where it is usually measured.
fn on_the_bench(more: &str) -> String {
    format!(
        "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\n{more}[controls]\n\
         [cable]\ntotal = \"470p\"\n[input]\nresistance = \"200k\"\ncapacitance = \"0\"\n"
    )
}

#[test]
fn the_vintage_pickup_peaks_where_public_measurements_have_it() {
    let peak = heard(&on_the_bench(""), Arrangement::Series).figures().unwrap().peak.unwrap();
    assert!((peak.frequency.value() - 2860.0).abs() < 15.0, "{:?}", peak.frequency);
    assert!((peak.level.value() - 3.2).abs() < 0.05, "{:?}", peak.level);
}

/// 4.3 kΩ of the same wire are 4.3/3.9 times the turns: inductance and loss go with their square, the winding's capacitance with
/// them, an eddy section's share and corner and the lead stay.
#[test]
fn a_coil_of_4_3_kilohms_peaks_as_one_of_as_many_turns_more() {
    let turns: f64 = 4.3 / 3.9;
    let scaled =
        on_the_bench("[pickup.coil_a]\nresistance = \"4.3k\"\n[pickup.coil_b]\nresistance = \"4.3k\"\n");
    let coil = format!(
        "resistance = \"4.3k\"\ninductance = {}\ncapacitance = \"{:e}\"\nloss = {}\neddy_share = 0.12\neddy_corner = \"2.2k\"\n",
        2.0 * turns.powi(2),
        120e-12 * turns,
        350e3 * turns.powi(2)
    );
    let stated =
        on_the_bench(&format!("lead_capacitance = \"40p\"\n[pickup.coil_a]\n{coil}[pickup.coil_b]\n{coil}"));
    for arrangement in [Arrangement::Series, Arrangement::Parallel, Arrangement::SplitA] {
        let [one, other] =
            [&scaled, &stated].map(|text| heard(text, arrangement).figures().unwrap().peak.unwrap());
        let off = (one.level - other.level).value();
        println!("{arrangement}: {} at {}, {off:+.4} dB off", one.level, one.frequency);
        assert!(off.abs() < 0.1, "{arrangement}: {off} dB");
        assert!((one.frequency.value() / other.frequency.value() - 1.0).abs() < 0.001, "{arrangement}");
    }
}

#[test]
fn a_circuit_whose_values_are_all_stated_is_the_same_in_both_spellings() {
    let mut compared = 0;
    for reference in references() {
        let Some(like) = &reference.like else { continue };
        let voice = Voice::of(reference.arrangement.parse().unwrap());
        let [own, like] =
            [&reference.guitar, like].map(|guitar| voice.response(guitar, &guitar.pickups()[0]).unwrap());
        for frequency in reference.frequency_hz.iter().map(|f| Hertz::new(*f)) {
            let [own, like] = [&own, &like].map(|voice| voice.at(frequency).unwrap().0);
            assert_eq!(own, like, "{} at {frequency}", reference.arrangement);
        }
        compared += 1;
    }
    assert!(compared > 10, "{compared}");
}

#[test]
fn a_cover_of_brass_takes_a_decibel_from_the_upper_middle_and_one_of_nickel_silver_little() {
    let level = |cover: &str| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\ncover = \"{cover}\"\n"
        );
        let voice = heard(&text, Arrangement::Series);
        let at = |f: f64| 20.0 * voice.telling(&voice.at(Hertz::new(f)).unwrap()).norm().log10();
        let steps = (0..=10).map(|i| at(3000.0 + 100.0 * f64::from(i)));
        (steps.sum::<f64>() / 11.0, at(200.0))
    };
    let (none, nickel, brass) = (level("none"), level("nickel-silver"), level("brass"));
    assert!((-1.5..=-1.1).contains(&(brass.0 - none.0)), "{}", brass.0 - none.0);
    assert!((-0.6..=-0.2).contains(&(nickel.0 - none.0)), "{}", nickel.0 - none.0);
    assert!((brass.1 - none.1).abs() < 0.02, "{}", brass.1 - none.1);
}
