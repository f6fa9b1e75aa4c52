//! What a control cavity of 61 terminals and more, in 60 states, takes to plan, to check and to mend.

#![allow(clippy::unwrap_used, reason = "a bench stops where its data are not as expected")]

use divan::{Bencher, black_box};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::harness::{Change, Harness, Wire};

fn main() {
    divan::main();
}

/// Returns a cavity of 60 states, and its wires.
fn cavity() -> (Harness, Vec<Wire>) {
    let document = Document::new("many-states.toml", include_str!("../tests/data/many-states.toml"));
    let harness = Harness::of(&Guitar::read(&document).unwrap()).unwrap();
    assert!(harness.throws().len() == 60 && harness.parts().terminals().count() >= 61);
    let wires = harness.simple_wires();
    (harness, wires)
}

/// Returns a cavity whose volume is backwards.
fn faulty() -> (Harness, Vec<Wire>) {
    let (harness, wires) = cavity();
    let lugs = ["volume.1", "volume.3"].map(|name| harness.parts().terminal(name).unwrap());
    let wires = Change::Exchange(lugs).applied(&wires);
    (harness, wires)
}

#[divan::bench]
fn checked_right(bencher: Bencher) {
    let (harness, wires) = cavity();
    bencher.bench(|| black_box(&harness).check(&wires).is_as_wanted());
}

#[divan::bench]
fn checked_faulty(bencher: Bencher) {
    let (harness, wires) = faulty();
    bencher.bench(|| black_box(&harness).check(&wires).is_as_wanted());
}

#[divan::bench]
fn planned(bencher: Bencher) {
    let (harness, _) = cavity();
    bencher.bench(|| black_box(&harness).plan());
}

#[divan::bench]
fn mended(bencher: Bencher) {
    let (harness, wires) = faulty();
    bencher.bench(|| black_box(&harness).mends(&wires));
}
