//! A whole guitar of two pickups with any values, written for a circuit simulator by hand.

use std::fmt::Write as _;

use drywire::guitar::{Coil, Guitar};

fn coil_parts(deck: &mut String, coil: &Coil, n: &str, [plus, minus]: [&str; 2], value: &str) {
    let loss = coil.loss().unwrap().value();
    write!(
        deck,
        "r{n} {plus} i{n} {:e}\nc{n} {plus} {minus} {:e}\nrl{n} i{n} {minus} {loss:e}\nv{n} i{n} x{n} dc 0 ac {value}\n\
         l{n} x{n} {minus} {:e}\n",
        coil.resistance().value(),
        coil.capacitance().value(),
        coil.inductance().value()
    )
    .unwrap();
}

/// The middle position of two full-size pickups, both in series, with every part as `guitar` has it; its nodes and parts
/// end in `n`. The EMF of coil A of the first pickup is 1 V.
pub fn deck(guitar: &Guitar, n: usize) -> String {
    let mut deck = String::new();
    let out = format!("out{n}");
    for (p, pickup) in guitar.pickups().iter().enumerate() {
        let mid = format!("mid{p}_{n}");
        let names = [format!("{p}a_{n}"), format!("{p}b_{n}")];
        let first = if p == 0 { "1" } else { "0" };
        coil_parts(&mut deck, pickup.coil_a(), &names[0], [&out, &mid], first);
        coil_parts(&mut deck, pickup.coil_b().unwrap(), &names[1], [&mid, "0"], "0");
        let l = |c: &Coil| c.inductance().value();
        let k =
            pickup.mutual_inductance().value() / (l(pickup.coil_a()) * l(pickup.coil_b().unwrap())).sqrt();
        writeln!(deck, "k{p}_{n} l{} l{} {k:e}", names[0], names[1]).unwrap();
    }
    let (controls, cable) = (guitar.controls(), guitar.cable().capacitance().value());
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
