//! A whole guitar of two pickups with any values, written for a circuit simulator by hand.

use std::fmt::Write as _;

use drywire::guitar::{Coil, Guitar};

/// Writes a coil and returns its unshunted inductance.
fn coil_parts(deck: &mut String, coil: &Coil, n: &str, [plus, minus]: [&str; 2], value: f64) -> f64 {
    let (loss, inductance, eddy) =
        (coil.loss().unwrap().value(), coil.inductance().value(), coil.eddy().unwrap());
    let (share, corner) = (eddy.share.value, eddy.corner.value.value());
    let within = share * inductance;
    let unshunted = inductance - within;
    write!(
        deck,
        "r{n} {plus} i{n} {:e}\nc{n} {plus} {minus} {:e}\nrl{n} i{n} {minus} {loss:e}\n\
         v{n} i{n} x{n} dc 0 ac {:e}\nl{n} x{n} y{n} {unshunted:e}\n\
         vc{n} y{n} z{n} dc 0 ac {:e}\nlc{n} z{n} {minus} {within:e}\nrc{n} y{n} {minus} {:e}\n\
         cp{n} {plus} 0 {lead:e}\ncm{n} {minus} 0 {lead:e}\n",
        coil.resistance().value(),
        coil.capacitance().value(),
        value * (1.0 - share),
        value * share,
        std::f64::consts::TAU * corner * within,
        lead = coil.lead().value(),
    )
    .unwrap();
    unshunted
}

/// The middle position of two full-size pickups, both in series, with every part as `guitar` has it; its nodes and parts
/// end in `n`. The EMF of coil A of the first pickup is 1 V.
pub fn deck(guitar: &Guitar, n: usize) -> String {
    let mut deck = String::new();
    let out = format!("out{n}");
    for (p, pickup) in guitar.pickups().iter().enumerate() {
        let mid = format!("mid{p}_{n}");
        let names = [format!("{p}a_{n}"), format!("{p}b_{n}")];
        let first = if p == 0 { 1.0 } else { 0.0 };
        let a = coil_parts(&mut deck, pickup.coil_a(), &names[0], [&out, &mid], first);
        let b = coil_parts(&mut deck, pickup.coil_b().unwrap(), &names[1], [&mid, "0"], 0.0);
        let k = pickup.mutual_inductance().value() / (a * b).sqrt();
        writeln!(deck, "k{p}_{n} l{} l{} {k:e}", names[0], names[1]).unwrap();
    }
    let (controls, cable) =
        (guitar.controls(), guitar.cable().capacitance().value() + guitar.input().capacitance().value());
    let tone = controls.tone().unwrap();
    write!(
        deck,
        "rt{n} {out} t{n} {:e}\nct{n} t{n} 0 {:e}\nrv{n} {out} 0 {:e}\ncc{n} {out} 0 {cable:e}\nri{n} {out} 0 {:e}\n",
        tone.pot().track().value(),
        tone.capacitor().value(),
        controls.volume().unwrap().track().value(),
        guitar.input().resistance().value()
    )
    .unwrap();
    deck
}
