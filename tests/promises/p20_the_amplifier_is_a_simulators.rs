//! P20. The amplifier's stages and its loudspeaker's box are what an independent circuit simulator makes of their parts.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "counts of samples are positive")]

use std::f64::consts::{PI, TAU};
use std::fmt::Write as _;
use std::process::Command;

use crate::common::amplified::after;
use crate::common::decks::simulator_is_installed;
use drywire::amp::{Cabinet, Stages, TriodeSolution};
use drywire::measure::Loudspeaker;
use drywire::quantity::Hertz;
use num_complex::Complex64;

/// Returns the columns that the simulator writes for `deck`.
fn simulated(deck: &str) -> Vec<Vec<f64>> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("deck.cir"), deck).unwrap();
    let run = Command::new("ngspice").args(["-b", "deck.cir"]).current_dir(folder.path()).output().unwrap();
    let text = std::fs::read_to_string(folder.path().join("out.data"));
    let text = text.unwrap_or_else(|_| panic!("{}\n{deck}", String::from_utf8_lossy(&run.stderr)));
    let rows = text.lines().map(|line| line.split_whitespace().map(|x| x.parse().unwrap()).collect());
    rows.collect()
}

/// The stage between the nodes `in` and `a`, as its parts stand in the description.
fn stage() -> String {
    let bias = TriodeSolution::solved().bias();
    format!(
        "rg in g 68k\nri g d 2k\ndg d k grid\n.model grid d(is=1e-9)\nvk k 0 {bias:.12}\nvb b 0 250\nra b a 100k\n\
         be e 0 v = v(a,k)/600*ln(1+exp(600*(0.01+v(g,k)/sqrt(300+v(a,k)*v(a,k)))))\n\
         bt a k i = 2*pwr(max(v(e),0),1.4)/1060\n.options reltol=1e-7 abstol=1e-15 vntol=1e-9 gmin=1e-18\n"
    )
}

fn control(run: &str, columns: &str) -> String {
    format!(
        ".control\nset numdgt=14\nset wr_singlescale\n{run}\nwrdata out.data {columns}\nquit\n.endc\n.end\n"
    )
}

fn rms(values: impl Iterator<Item = f64> + Clone) -> f64 {
    (values.clone().map(|x| x * x).sum::<f64>() / values.count() as f64).sqrt()
}

#[test]
fn a5_the_first_stage_is_the_simulators() {
    if !simulator_is_installed() {
        return;
    }
    let (solution, stages) = (TriodeSolution::solved(), Stages::generic());
    let rest = {
        let deck = format!("* at rest\nvin in 0 0\n{}{}", stage(), control("tran 1u 10u", "v(a)"));
        simulated(&deck).last().unwrap()[1]
    };
    let mut worst = f64::NEG_INFINITY;
    for volts in [0.2, 1.0, 6.0] {
        for hertz in [200.0, 5000.0] {
            let end = 2.0 / hertz;
            let run = format!("tran {0} {end} 0 {0}", end / 2000.0);
            let deck = format!(
                "* a stage with a fixed cathode\nvin in 0 sin(0 {volts} {hertz})\n{}{}",
                stage(),
                control(&run, "v(in) v(a)")
            );
            let rows = simulated(&deck);
            assert!(rows.len() > 1500, "{}", rows.len());
            let theirs = |row: &Vec<f64>| (row[2] - rest) / solution.gain();
            let ours = |row: &Vec<f64>| stages.first_at(row[1] * solution.scale()) / solution.scale();
            let off = rms(rows.iter().map(|row| theirs(row) - ours(row))) / rms(rows.iter().map(theirs));
            let off = 20.0 * off.log10();
            assert!(off <= -90.0, "{volts} V at {hertz} Hz: {off} dB");
            worst = worst.max(off);
        }
    }
    println!("A5: the stage, worst {worst:.1} dB");
}

/// Returns the lines at `frequencies` of values at moments, under a Hann window from `from` to `to` seconds.
fn lines(values: &[(f64, f64)], frequencies: &[f64], from: f64, to: f64) -> Vec<Complex64> {
    let windowed: Vec<(f64, f64)> = values
        .iter()
        .filter(|(t, _)| (from..=to).contains(t))
        .map(|(t, v)| (*t, v * (PI * (t - from) / (to - from)).sin().powi(2)))
        .collect();
    let at = |f: f64| {
        let turned = |(t, v): (f64, f64)| Complex64::cis(-TAU * f * t) * v;
        let areas =
            windowed.windows(2).map(|ends| (turned(ends[0]) + turned(ends[1])) * (ends[1].0 - ends[0].0));
        areas.sum::<Complex64>() * 2.0 / (to - from)
    };
    frequencies.iter().map(|f| at(*f)).collect()
}

#[test]
fn a5_the_whole_chain_to_the_limiter_is_the_simulators() {
    const RATE: u32 = 48_000;
    const END: f64 = 0.045;
    if !simulator_is_installed() {
        return;
    }
    let (solution, clip) = (TriodeSolution::solved(), Stages::clip_point());
    let delay = drywire::amp::Chain::new(RATE, Stages::generic(), 1.0).delay() / f64::from(RATE);
    // 22 nF and 1 MΩ to the digits of their corner.
    let farads = 1.0 / (TAU * 7.23 * 1e6);
    let rest = simulated(&format!("* at rest\nvin in 0 0\n{}{}", stage(), control("tran 1u 10u", "v(a)")));
    let rest = rest.last().unwrap()[1];
    let mut worst = f64::NEG_INFINITY;
    for tones in [&[200.0][..], &[200.0, 300.0, 500.0], &[1000.0], &[5000.0]] {
        for level in [-12.0, 0.0, 12.0] {
            // Short against a period, since both the simulator and the sums over its moments are by trapezia.
            let step = (1.0 / 800.0 / tones.iter().copied().fold(0.0, f64::max)).min(1e-6);
            let each = clip * 10f64.powf(level / 20.0) / tones.len() as f64;
            let mut deck = "* gain, couplings, stage, limiter\n".to_owned();
            for (n, hertz) in tones.iter().enumerate() {
                let below = if n == 0 { "0".to_owned() } else { format!("s{n}") };
                writeln!(deck, "vs{n} s{} {below} sin(0 {each:.15} {hertz})", n + 1).unwrap();
            }
            write!(
                deck,
                "c1 s{} c {farads:e}\nr1 c 0 1meg\ne1 in 0 c 0 {:.12}\n{}\
                 bf f 0 v = {:.12}*(v(a)-{rest:.12})/({:.12})\nc2 f h {farads:e}\nr2 h 0 1meg\nbo out 0 v = tanh(v(h))\n{}",
                tones.len(),
                1.0 / solution.scale(),
                stage(),
                solution.scale(),
                solution.gain(),
                control(&format!("tran {step:e} {END} 0 {step:e}"), "v(out)")
            )
            .unwrap();
            let theirs: Vec<(f64, f64)> = simulated(&deck).iter().map(|row| (row[0], row[1])).collect();
            let at = |n: usize| n as f64 / f64::from(RATE);
            let input: Vec<f64> = (0..(END * f64::from(RATE)) as usize + 200)
                .map(|n| tones.iter().map(|hertz| each * (TAU * hertz * at(n)).sin()).sum())
                .collect();
            let ours = after(Stages::generic(), RATE, 1.0, &input);
            let ours: Vec<(f64, f64)> = ours.iter().enumerate().map(|(n, y)| (at(n) - delay, *y)).collect();
            let apart = if tones.len() == 1 { tones[0] } else { 100.0 };
            let frequencies: Vec<f64> =
                (1..200).map(|n| apart * f64::from(n)).take_while(|f| *f < 20e3).collect();
            let (from, to) = (0.02, 0.04);
            let (ours, theirs) =
                (lines(&ours, &frequencies, from, to), lines(&theirs, &frequencies, from, to));
            let largest = theirs.iter().map(|line| line.norm()).fold(0.0, f64::max);
            for ((f, own), other) in frequencies.iter().zip(&ours).zip(&theirs) {
                let off = 20.0 * ((own - other).norm() / largest).log10();
                assert!(off <= -90.0, "{tones:?} at {level} dB: {f} Hz is {off} dB off");
                worst = worst.max(off);
            }
        }
    }
    println!("A5: the chain, worst {worst:.1} dB");
}

#[test]
fn a6_the_box_is_its_electrical_equivalent_and_the_kernel_is_the_formula() {
    let loudspeaker = Loudspeaker::GENERIC;
    if simulator_is_installed() {
        // A driver of 75 Hz, Qts 0.6 and 60 l in 40 l: the box's air is a second spring beside the suspension.
        let stiffer = 1.0f64 + 60.0 / 40.0;
        let inductance = 1.0 / (TAU * 75.0).powi(2) / 1e-6;
        let resistance = 0.6 / (TAU * 75.0 * 1e-6);
        let deck = format!(
            "* a closed box\nvin in 0 dc 0 ac 1\ncm in out 1u\nls out 0 {inductance:.15e}\nlb out 0 {:.15e}\n\
             rt out 0 {resistance:.15e}\n{}",
            inductance / (stiffer - 1.0),
            control("ac dec 20 20 20000", "v(out)")
        );
        let mut worst = 0.0f64;
        let rows = simulated(&deck);
        assert_eq!(rows.len(), 61);
        for row in rows {
            let ratio = loudspeaker.closed_box(Hertz::new(row[0])) / Complex64::new(row[1], row[2]);
            worst = worst.max((20.0 * ratio.norm().log10()).abs());
        }
        println!("A6: the box, worst {worst:.0e} dB");
        assert!(worst < 1e-6, "{worst}");
    }
    let mut worst = 0.0f64;
    for rate in [44_100u32, 48_000, 96_000, 192_000] {
        let kernel = Cabinet::Closed.kernel(rate, 0.0);
        for step in 0..=60 {
            let f = 20.0 * 1000f64.powf(f64::from(step) / 60.0);
            let turn = -TAU * f / f64::from(rate);
            let found: Complex64 = kernel
                .taps()
                .iter()
                .enumerate()
                .map(|(n, tap)| Complex64::cis(turn * (n as f64 - kernel.before() as f64)) * tap)
                .sum();
            worst = worst.max((20.0 * (found / loudspeaker.response(Hertz::new(f))).norm().log10()).abs());
        }
    }
    println!("A6: the kernel, worst {worst:.5} dB");
    assert!(worst < 0.01, "{worst}");
}
