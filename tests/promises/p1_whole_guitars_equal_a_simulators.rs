//! P1 for whole guitars. The circuit's response is the circuit's: random guitars of two and three pickups with selectors,
//! phase switches before them, joints, controls of their own and tone circuits equal an independent general-purpose
//! circuit simulator within 0.001 dB and 0.01 degree, 20 Hz to 20 kHz, wherever the response is above −100 dB.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use crate::common::decks::{WholeGuitar, simulator_is_installed, whole_guitar};
use num_complex::Complex64;

const GUITARS: u64 = 64;
const DECIBELS: f64 = 0.001;
const DEGREES: f64 = 0.01;
const FLOOR: f64 = 1e-5;

/// Returns, for each coil, the jack's voltage per volt of its EMF at each frequency, by the simulator.
fn simulated(guitar: &WholeGuitar, folder: &Path) -> Vec<Vec<(f64, Complex64)>> {
    let mut deck = format!(
        "* a whole guitar\n{}.options reltol=1e-9\n.control\nset numdgt=12\nset wr_singlescale\n",
        guitar.deck
    );
    for coil in 1..=guitar.coils {
        writeln!(deck, "alter @vemf{coil}[acmag] = 1\nac dec 12 20 20k\nwrdata {coil}.data v(jack)").unwrap();
        writeln!(deck, "alter @vemf{coil}[acmag] = 0\ndestroy all").unwrap();
    }
    deck += "quit\n.endc\n.end\n";
    std::fs::write(folder.join("deck.cir"), &deck).unwrap();
    let run = Command::new("ngspice").args(["-b", "deck.cir"]).current_dir(folder).output().unwrap();
    let read = |coil: usize| {
        let text = std::fs::read_to_string(folder.join(format!("{coil}.data")));
        let text = text.unwrap_or_else(|_| panic!("{}\n{deck}", String::from_utf8_lossy(&run.stderr)));
        let numbers = |line: &str| line.split_whitespace().map(|x| x.parse().unwrap()).collect::<Vec<f64>>();
        text.lines().map(numbers).map(|row| (row[0], Complex64::new(row[1], row[2]))).collect()
    };
    (1..=guitar.coils).map(read).collect()
}

/// Returns the program's answer for the same frequencies.
fn answered(guitar: &WholeGuitar, folder: &Path) -> Vec<Vec<Complex64>> {
    std::fs::write(folder.join("guitar.toml"), &guitar.file).unwrap();
    let position = guitar.position.as_str();
    let points = ["--start", "20", "--stop", "20k", "--points", "37"];
    let asked = ["response", "--guitar", "guitar.toml", "--arrangement", position];
    let output = crate::common::program::drywire(folder, &[&asked[..], &points].concat());
    assert!(output.status.success(), "{}\n{}", String::from_utf8_lossy(&output.stderr), guitar.file);
    let mut coils: Vec<(String, Vec<Complex64>)> = Vec::new();
    for row in csv::Reader::from_reader(output.stdout.as_slice()).records() {
        let row = row.unwrap();
        let value = Complex64::new(row[2].parse().unwrap(), row[3].parse().unwrap());
        match coils.iter_mut().find(|(from, _)| *from == row[1]) {
            Some((_, values)) => values.push(value),
            None => coils.push((row[1].to_owned(), vec![value])),
        }
    }
    coils.into_iter().filter(|(from, _)| from != "both").map(|(_, values)| values).collect()
}

#[test]
fn a_whole_guitars_response_equals_an_independent_simulators_within_a_thousandth_of_a_decibel() {
    if !simulator_is_installed() {
        return;
    }
    let (mut worst_db, mut worst_deg, mut compared) = (0.0f64, 0.0f64, 0);
    for seed in 0..GUITARS {
        let folder = tempfile::tempdir().unwrap();
        let guitar = whole_guitar(seed);
        let (theirs, ours) = (simulated(&guitar, folder.path()), answered(&guitar, folder.path()));
        assert_eq!(ours.len(), guitar.coils, "guitar {seed}\n{}", guitar.file);
        for (coil, (theirs, ours)) in theirs.iter().zip(&ours).enumerate() {
            assert_eq!((theirs.len(), ours.len()), (37, 37), "guitar {seed}");
            for ((f, theirs), ours) in theirs.iter().zip(ours) {
                let place = || {
                    format!(
                        "guitar {seed}, {}, coil {}, {f} Hz\n{}\n{}",
                        guitar.position,
                        coil + 1,
                        guitar.file,
                        guitar.deck
                    )
                };
                if theirs.norm() <= FLOOR {
                    assert!(ours.norm() < 1.01 * FLOOR, "{ours}, {}", place());
                    continue;
                }
                let ratio = ours / theirs;
                assert!(ratio.is_finite(), "{}", place());
                let (db, deg) = ((20.0 * ratio.norm().log10()).abs(), ratio.arg().to_degrees().abs());
                assert!(db <= DECIBELS && deg <= DEGREES, "{db} dB, {deg} degrees, {}", place());
                (worst_db, worst_deg, compared) = (worst_db.max(db), worst_deg.max(deg), compared + 1);
            }
        }
    }
    assert!(compared > 4000, "only {compared} values lie above the floor");
    println!("{compared} values, worst {worst_db:.6} dB and {worst_deg:.6} degrees");
}
