//! P18. The planned harness is the circuit that is heard: an independent general-purpose circuit simulator on the wires
//! equals the guitar's response within 0.001 dB, every state, three knob settings.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use crate::common::cavities::{deck, guitars, read};
use crate::common::decks::simulator_is_installed;
use drywire::circuit::{Circuit, JackLoad, Solder, Wired, circuit_of};
use drywire::guitar::Guitar;
use drywire::harness::Harness;
use drywire::jack::State;
use drywire::quantity::Hertz;
use num_complex::Complex64;

const DECIBELS: f64 = 0.001;
/// What is 100 dB below a coil's voltage is no sound.
const FLOOR: f64 = 1e-5;

/// Returns, for each coil, the jack's voltage per volt of its EMF at each frequency, by the simulator.
fn simulated(text: &str, coils: usize, folder: &Path) -> Vec<Vec<(f64, Complex64)>> {
    let mut whole = format!(
        "* a cavity\n{text}.options reltol=1e-9 gmin=1e-15\n.control\nset numdgt=12\nset wr_singlescale\n"
    );
    for coil in 1..=coils {
        writeln!(whole, "alter @vemf{coil}[acmag] = 1\nac dec 3 20 20k\nwrdata {coil}.data v(jack)").unwrap();
        writeln!(whole, "alter @vemf{coil}[acmag] = 0\ndestroy all").unwrap();
    }
    whole += "quit\n.endc\n.end\n";
    std::fs::write(folder.join("deck.cir"), &whole).unwrap();
    let run = Command::new("ngspice").args(["-b", "deck.cir"]).current_dir(folder).output().unwrap();
    let read = |coil: usize| {
        let text = std::fs::read_to_string(folder.join(format!("{coil}.data")));
        let text = text.unwrap_or_else(|_| panic!("{}\n{whole}", String::from_utf8_lossy(&run.stderr)));
        let numbers = |line: &str| line.split_whitespace().map(|x| x.parse().unwrap()).collect::<Vec<f64>>();
        text.lines().map(numbers).map(|row| (row[0], Complex64::new(row[1], row[2]))).collect()
    };
    (1..=coils).map(read).collect()
}

/// Returns a guitar's file with every knob that it states at `turned`.
fn turned(text: &str, turned: f64) -> String {
    let mut pieces = text.split("turned = ");
    let mut result = pieces.next().unwrap().to_owned();
    for piece in pieces {
        let rest = piece.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
        write!(result, "turned = {turned}{rest}").unwrap();
    }
    result
}

fn compare(guitar: &Guitar, name: &str, worst: &mut f64) -> usize {
    let harness = Harness::of(guitar).unwrap();
    let wires = harness.plan().unwrap().ends();
    let solder = Solder::of(guitar);
    let states = State::standing(guitar, 0).every(guitar, &guitar.levers());
    assert_eq!(states.len(), harness.throws().len());
    let mut compared = 0;
    for (place, state) in states.iter().enumerate() {
        assert_eq!(state.name(guitar), harness.throws().names()[place]);
        let nets = state.nets(guitar, &solder);
        let driven = circuit_of(guitar, Wired::Soldered(&nets), JackLoad::Plugged).unwrap();
        let circuit = Circuit::new(&driven.netlist, driven.jack);
        let folder = tempfile::tempdir().unwrap();
        let theirs = simulated(&deck(&harness, &wires, place), driven.netlist.sources(), folder.path());
        for (coil, rows) in theirs.iter().enumerate() {
            assert!(rows.len() >= 9, "{name}");
            for (hertz, theirs) in rows {
                let ours = circuit.response(Hertz::new(*hertz)).unwrap()[coil];
                if ours.norm() < FLOOR && theirs.norm() < 1.01 * FLOOR {
                    continue;
                }
                let difference = (20.0 * (theirs.norm() / ours.norm()).log10()).abs();
                assert!(
                    difference <= DECIBELS,
                    "{name}, {}, coil {coil}, {hertz} Hz: {ours} {theirs}",
                    state.name(guitar)
                );
                (*worst, compared) = (worst.max(difference), compared + 1);
            }
        }
    }
    compared
}

#[test]
fn the_simulator_on_the_wires_equals_the_response_in_every_state_and_knob_setting() {
    if !simulator_is_installed() {
        return;
    }
    let (mut compared, mut worst, mut count) = (0, 0.0_f64, 0);
    for (name, text) in guitars() {
        count += 1;
        for text in [text.clone(), turned(&text, 10.0), turned(&text, 3.0)] {
            compared += compare(&read(&text), &name, &mut worst);
        }
    }
    assert!(count >= 15 && compared > 4000, "{count} guitars, {compared} values");
    println!("{count} guitars, {compared} values, worst {worst:.1e} dB");
}
