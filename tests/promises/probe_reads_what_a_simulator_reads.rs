//! What the meter must read at the jack of a whole guitar is an independent circuit simulator's operating point: random
//! guitars of two and three pickups with selectors, joints, a blend pot and controls of their own, their knobs anywhere.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::path::Path;
use std::process::Command;

use crate::common::decks::{WholeGuitar, simulator_is_installed, whole_guitar};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::probe::Bench;

const GUITARS: u64 = 48;
/// Nothing that conducts is as large; the deck has a few resistors of 10¹² Ω so that every node has a potential.
const OPEN: f64 = 1e10;

/// Returns the resistance between tip and sleeve with the amplifier's input there, by the simulator.
fn simulated(guitar: &WholeGuitar, folder: &Path) -> f64 {
    let deck = format!(
        "* a whole guitar at the meter\n{}imeter 0 jack dc 1u\n.options reltol=1e-9 gmin=1e-18\n.control\n\
         set numdgt=12\nop\nprint v(jack)\nquit\n.endc\n.end\n",
        guitar.deck
    );
    std::fs::write(folder.join("deck.cir"), &deck).unwrap();
    let run = Command::new("ngspice").args(["-b", "deck.cir"]).current_dir(folder).output().unwrap();
    let text = String::from_utf8_lossy(&run.stdout).into_owned();
    let told = text.lines().find_map(|line| line.strip_prefix("v(jack) = "));
    told.unwrap_or_else(|| panic!("{text}\n{deck}")).trim().parse::<f64>().unwrap() / 1e-6
}

#[test]
fn the_ohms_of_whole_guitars_are_an_independent_simulators() {
    if !simulator_is_installed() {
        return;
    }
    let (mut compared, mut worst) = (0, 0.0_f64);
    for seed in 0..GUITARS {
        let folder = tempfile::tempdir().unwrap();
        let whole = whole_guitar(seed);
        let guitar = Guitar::read(&Document::new("guitar.toml", whole.file.clone())).unwrap();
        if guitar.buffer().is_some() {
            continue;
        }
        let bench = Bench::new(&guitar, None).unwrap();
        let name = if whole.position.contains(':') { whole.position.as_str() } else { "as it is" };
        let place = bench.positions().iter().position(|position| position.name() == name);
        let place = place.unwrap_or_else(|| panic!("{name} in {}", whole.file));
        // With every knob full the readings are those of the table, and `as_set` tells none.
        let Some(as_set) = bench.as_set().unwrap() else { continue };
        let ours = as_set[place];
        let input = guitar.input().resistance().value();
        let together = simulated(&whole, folder.path());
        let theirs = 1.0 / (1.0 / together - 1.0 / input);
        match ours {
            None => assert!(together > 0.999 * input, "{seed}: open, {theirs}\n{}", whole.file),
            Some(ours) if ours.value() < 1.0 => assert!(theirs < 1.1, "{seed}: {ours} {theirs}"),
            Some(ours) => {
                let relative = (ours.value() / theirs - 1.0).abs();
                assert!(theirs < OPEN && relative < 1e-4, "{seed}, {name}: {ours} {theirs}\n{}", whole.file);
                (compared, worst) = (compared + 1, worst.max(relative));
            }
        }
    }
    assert!(compared >= 20, "only {compared} guitars conduct");
    println!("{compared} guitars, worst {worst:.1e}");
}
