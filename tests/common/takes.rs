//! Recordings of a measurement's signal, made of circuits that an independent simulator solved.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "frames of recordings, which are few and not negative"
)]

use std::f64::consts::TAU;
use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use drywire::impedance::Signal;
use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use realfft::RealFftPlanner;

/// A coil on a core in which currents diffuse: a ladder of sections of an inductor beside a resistor.
///
/// # Source
/// The inductance of a plate in which the field diffuses is that of `tanh(√(sτ))/√(sτ)`, whose partial fractions are
/// `8/(π²(2n−1)²)` each beside a corner of `(2n−1)²` times the first.
#[derive(Debug, Clone, Copy)]
pub struct SteelCoil {
    pub ohms: f64,
    pub henries: f64,
    pub farads: f64,
    pub loss: f64,
    /// The share of the inductance that is the core's, and its first corner in hertz.
    pub core: [f64; 2],
    /// That of a cover.
    pub cover: [f64; 2],
}

/// The sections of a core.
const SECTIONS: u32 = 10;

impl SteelCoil {
    /// Each inductor with its resistor, if it has one: the air's first.
    fn inductors(&self) -> Vec<(f64, Option<f64>)> {
        let section = |n: u32| {
            let odd = f64::from(2 * n + 1);
            let own = self.core[0] * self.henries * 8.0 / (TAU / 2.0 * odd).powi(2);
            (own, Some(TAU * self.core[1] * odd * odd * own))
        };
        let mut all: Vec<(f64, Option<f64>)> =
            (0..SECTIONS).map(section).filter(|(own, _)| *own > 0.0).collect();
        if self.cover[0] > 0.0 {
            let own = self.cover[0] * self.henries;
            all.push((own, Some(TAU * self.cover[1] * own)));
        }
        let others: f64 = all.iter().map(|(own, _)| own).sum();
        all.insert(0, (self.henries - others, None));
        all
    }

    /// The impedance without wire and winding's capacitance.
    pub fn core(&self, hz: f64) -> Complex64 {
        let s = Complex64::new(0.0, TAU * hz);
        let section = |(own, beside): (f64, Option<f64>)| match beside {
            None => s * own,
            Some(ohms) => 1.0 / (1.0 / (s * own) + 1.0 / ohms),
        };
        let inductive: Complex64 = self.inductors().into_iter().map(section).sum();
        1.0 / (1.0 / inductive + 1.0 / self.loss)
    }

    /// The inductance at 1 kHz.
    pub fn at_1khz(&self) -> f64 {
        self.core(1000.0).im / (TAU * 1000.0)
    }

    /// The inductance of the air, by which two coils are coupled.
    pub fn air(&self) -> f64 {
        self.inductors()[0].0
    }

    /// The coil as parts between two nodes, its parts called by `name`, with so much EMF.
    pub fn deck(&self, name: &str, [plus, minus]: [&str; 2], emf: f64) -> String {
        let mut text = String::new();
        writeln!(text, "r{name} {plus} {name}i {}", self.ohms).unwrap();
        writeln!(text, "rl{name} {name}i {minus} {}", self.loss).unwrap();
        writeln!(text, "c{name} {plus} {minus} {:e}", self.farads).unwrap();
        let inductors = self.inductors();
        let mut at = format!("{name}i");
        for (i, (own, beside)) in inductors.iter().enumerate() {
            let next = if i + 1 == inductors.len() { minus.to_owned() } else { format!("{name}n{i}") };
            writeln!(text, "l{name}{i} {at} {name}e{i} {own:e}").unwrap();
            writeln!(text, "v{name}{i} {name}e{i} {next} dc 0 ac {:e}", -emf * own / self.henries).unwrap();
            if let Some(ohms) = beside {
                writeln!(text, "rs{name}{i} {at} {next} {ohms:e}").unwrap();
            }
            at = next;
        }
        text
    }
}

/// What is between two coils of a pickup.
pub fn coupled(names: [&str; 2], k: f64) -> String {
    format!("k{}{} l{}0 l{}0 {k}\n", names[0], names[1], names[0], names[1])
}

/// How a recording is made.
#[derive(Debug, Clone, Copy)]
pub struct Recorder {
    pub rate: u32,
    pub series: f64,
    pub input: f64,
    pub cable: f64,
    /// What the known resistor really has.
    pub known: f64,
    pub noise: f64,
    pub hum: f64,
    pub mains: f64,
    pub gain: f64,
    /// Bits of a sample; 0 of a float.
    pub bits: i32,
    pub seed: u64,
}

impl Default for Recorder {
    fn default() -> Self {
        Self {
            rate: 48_000,
            series: 100e3,
            input: 1e6,
            cable: 400e-12,
            known: 10e3,
            noise: 3.2e-5,
            hum: 2e-3,
            mains: 50.0,
            gain: 1.0,
            bits: 24,
            seed: 1,
        }
    }
}

/// The simulator's answer at frequencies from 10 Hz to 100 kHz: of each node's voltage.
pub fn simulated(folder: &Path, circuit: &str, nodes: &[&str]) -> Vec<Vec<(f64, Complex64)>> {
    let voltages: Vec<String> = nodes.iter().map(|node| format!("v({node})")).collect();
    let deck = format!(
        "* bench\n{circuit}.options reltol=1e-9\n.control\nset numdgt=12\nset wr_singlescale\nac dec 400 10 100k\nwrdata out.data {}\nquit\n.endc\n.end\n",
        voltages.join(" ")
    );
    std::fs::write(folder.join("deck.cir"), &deck).unwrap();
    let run = Command::new("ngspice").args(["-b", "deck.cir"]).current_dir(folder).output().unwrap();
    let text = std::fs::read_to_string(folder.join("out.data"))
        .unwrap_or_else(|_| panic!("{}\n{deck}", String::from_utf8_lossy(&run.stderr)));
    let rows: Vec<Vec<f64>> =
        text.lines().map(|line| line.split_whitespace().map(|x| x.parse().unwrap()).collect()).collect();
    let of = |node: usize| {
        rows.iter().map(|row| (row[0], Complex64::new(row[1 + 2 * node], row[2 + 2 * node]))).collect()
    };
    (0..nodes.len()).map(of).collect()
}

impl Recorder {
    /// The recording of the device whose parts are `device`, between the node `x` and ground.
    pub fn record(&self, folder: &Path, device: &str) -> Vec<f64> {
        let mut circuit = "vs s 0 dc 0 ac 1\n".to_owned();
        for node in ["o", "k", "x"] {
            let Self { series, input, cable, .. } = self;
            writeln!(
                circuit,
                "rs{node} s {node} {series}\nri{node} {node} 0 {input}\ncc{node} {node} 0 {cable:e}"
            )
            .unwrap();
        }
        writeln!(circuit, "rk k 0 {}\n{device}", self.known).unwrap();
        let paths = simulated(folder, &circuit, &["o", "k", "x"]);
        let played = Signal::new(self.rate).unwrap().samples();
        let mut recorded = vec![0.0; played.len()];
        let rate = f64::from(self.rate);
        for (section, path) in Signal::sections().iter().zip(&paths) {
            let [from, to] = [section.from_s, section.to_s].map(|s| (s * rate).round() as usize);
            let heard = through(&played[from..to], path, rate);
            for (out, heard) in recorded[from..].iter_mut().zip(heard) {
                *out += heard;
            }
        }
        let mut random = ChaCha8Rng::seed_from_u64(self.seed);
        let mut uniform = || f64::from(random.next_u32()) / f64::from(u32::MAX) - 0.5;
        let phases: Vec<f64> = (0..9).map(|_| TAU * uniform()).collect();
        // At all rates a period of the mains is a whole number of frames.
        let period = (rate / self.mains).round() as usize;
        let hum: Vec<f64> = (0..period)
            .map(|i| {
                let turn = TAU * i as f64 / period as f64;
                let tones = phases.iter().zip(1..);
                tones.map(|(phase, n)| (f64::from(n) * turn + phase).sin() / f64::from(n)).sum()
            })
            .collect();
        for (i, out) in recorded.iter_mut().enumerate() {
            let noise = (0..3).map(|_| uniform()).sum::<f64>() * 2.0;
            let hum = hum[i % period];
            *out = self.gain * (*out + self.noise * noise + self.hum * hum);
            if self.bits > 0 {
                let steps = 2f64.powi(self.bits - 1);
                *out = (*out * steps).round() / steps;
            }
        }
        recorded
    }
}

/// `played` through a path, and what rings on for a moment.
fn through(played: &[f64], path: &[(f64, Complex64)], rate: f64) -> Vec<f64> {
    let length = played.len() + (0.2 * rate) as usize;
    let size = length.next_power_of_two();
    let mut planner = RealFftPlanner::new();
    let (forward, inverse) = (planner.plan_fft_forward(size), planner.plan_fft_inverse(size));
    let mut padded = played.to_vec();
    padded.resize(size, 0.0);
    let mut bins = forward.make_output_vec();
    forward.process(&mut padded, &mut bins).unwrap();
    // Between the simulator's frequencies the logarithm is a line over the logarithm of the frequency.
    let logs: Vec<Complex64> = path.iter().map(|(_, value)| value.ln()).collect();
    let step = (path[1].0 / path[0].0).ln();
    for (k, bin) in bins.iter_mut().enumerate() {
        let hz = (k as f64 * rate / size as f64).clamp(path[0].0, path[path.len() - 2].0);
        let place = (hz / path[0].0).ln() / step;
        let at = (place as usize).min(logs.len() - 2);
        let mut turn = logs[at + 1] - logs[at];
        turn.im -= TAU * (turn.im / TAU).round();
        *bin *= (logs[at] + turn * (place - at as f64)).exp();
    }
    let last = bins.len() - 1;
    bins[0].im = 0.0;
    bins[last].im = 0.0;
    let mut out = inverse.make_output_vec();
    inverse.process(&mut bins, &mut out).unwrap();
    out[..length].iter().map(|x| x / size as f64).collect()
}

/// A number from `[low, high]` that each `seed` has one of.
pub fn drawn(seed: u64, [low, high]: [f64; 2]) -> f64 {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    low + (high - low) * f64::from(random.next_u32()) / f64::from(u32::MAX)
}
