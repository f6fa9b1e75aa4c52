//! A plucked string sounds as the two waves that travel on it: the sum of modes equals d'Alembert's solution,
//! which knows no modes, at every coil and every moment.
//!
//! # Source
//! J. le R. d'Alembert's solution of the wave equation in any text on strings: y(x, t) = ½ [Y(x + ct) + Y(x − ct)],
//! Y the initial shape, odd about both ends. Its mean velocity over a short time is a difference of two
//! displacements, so that the oracle holds neither sines nor series.

use std::f64::consts::PI;

use drywire::pluck::{CoilPlace, Layout, Phrase, Recipe, Settings};
use drywire::quantity::{Metres, Seconds};

const SCALE: f64 = 0.648;
const PLUCKED: f64 = 0.140;
/// Two near the bridge and one beyond the pluck, none so near to it that the first wave arrives within the first
/// samples: there the program's band limit, and not the string, decides what is heard.
const COILS: [f64; 3] = [0.04075, 0.05925, 0.200];
const RATE: u32 = 48_000;
/// Oracle samples in one of the program's.
const FINE: usize = 32;
const DECAY: f64 = 4.0;

/// The string held aside by one at the pluck, odd about both ends and so of period 2ℓ.
fn shape(x: f64, length: f64) -> f64 {
    let x = x.rem_euclid(2.0 * length);
    let (x, side) = if x > length { (2.0 * length - x, -1.0) } else { (x, 1.0) };
    side * (x / PLUCKED).min((length - x) / (length - PLUCKED))
}

/// The mean velocity at `coil` in each of the fine steps, decaying by 60 dB in [`DECAY`].
fn travelling(coil: f64, length: f64, speed: f64, count: usize) -> Vec<f64> {
    let step = 1.0 / (f64::from(RATE) * FINE as f64);
    let displaced = |t: f64| 0.5 * (shape(coil + speed * t, length) + shape(coil - speed * t, length));
    (0..count)
        .map(|k| {
            // Centred on the step's own time, so that the mean has no delay.
            let t = k as f64 * step;
            let velocity = (displaced(t + step / 2.0) - displaced((t - step / 2.0).max(0.0))) / step;
            velocity * 10f64.powf(-3.0 * t / DECAY)
        })
        .collect()
}

/// A low-pass kernel in continuous time: −6 dB at 10 kHz, closed above 15 kHz, so that no mode is in the
/// program's own taper. Blackman's window over ± 0.6 ms.
fn kernel(t: f64) -> f64 {
    const CUT: f64 = 10_000.0;
    const HALF: f64 = 0.0006;
    if t.abs() >= HALF {
        return 0.0;
    }
    let window = 0.42 + 0.5 * (PI * t / HALF).cos() + 0.08 * (2.0 * PI * t / HALF).cos();
    let x = 2.0 * CUT * t;
    let sinc = if x == 0.0 { 1.0 } else { (PI * x).sin() / (PI * x) };
    2.0 * CUT * sinc * window
}

/// The signal through the kernel, at the program's samples.
fn smoothed(signal: &[f64], every: usize, outputs: usize) -> Vec<f64> {
    let step = 1.0 / (f64::from(RATE) * every as f64);
    let reach = 29 * every;
    let taps: Vec<f64> = (0..=2 * reach).map(|i| kernel((i as f64 - reach as f64) * step) * step).collect();
    let mut padded = vec![0.0; reach];
    padded.extend_from_slice(signal);
    (0..outputs).map(|k| padded[k * every..].iter().zip(&taps).map(|(s, tap)| s * tap).sum()).collect()
}

fn residual_db(phrase: &str, open: f64, fret: u8) -> f64 {
    let coils = COILS.map(|x| CoilPlace { aperture: Metres::new(0.0), ..CoilPlace::at(Metres::new(x)) });
    let layout = Layout::new(Metres::new(SCALE), &coils).expect("a layout");
    let settings = Settings {
        pluck_at: Metres::new(PLUCKED),
        contact: Metres::new(0.0),
        decay: Seconds::new(DECAY),
        treble_damping: 1.0,
        stiffness: 0.0,
        rate: RATE,
        length: Some(Seconds::new(0.25)),
        ..Settings::default()
    };
    let take = Recipe::new(&Phrase::parse("x", phrase).expect("a phrase"), layout, settings)
        .expect("playable")
        .render();

    // The last 15 ms are the source's end, where the program brings the string to rest.
    let outputs = 10_000;
    let (length, speed) = (SCALE / 2f64.powf(f64::from(fret) / 12.0), 2.0 * SCALE * open);
    let mut pairs = Vec::new();
    for (coil, made) in COILS.iter().zip(take.coils()) {
        let oracle = travelling(*coil, length, speed, FINE * (outputs + 40));
        pairs.extend(smoothed(made, 1, outputs).into_iter().zip(smoothed(&oracle, FINE, outputs)));
    }
    assert_eq!(pairs.len(), COILS.len() * outputs);
    // One unknown for all coils: the gain to the stated peak.
    let power: f64 = pairs.iter().map(|(_, o)| o * o).sum();
    let gain: f64 = pairs.iter().map(|(m, o)| m * o).sum::<f64>() / power;
    let off: f64 = pairs.iter().map(|(m, o)| (m - gain * o).powi(2)).sum();
    10.0 * (off / (gain * gain * power)).log10()
}

#[test]
fn the_sum_of_modes_is_the_sum_of_two_travelling_waves() {
    for (phrase, open, fret) in [("E2", 82.40689, 0), ("A2@6", 82.40689, 5), ("E4", 329.62756, 0)] {
        let residual = residual_db(phrase, open, fret);
        println!("{phrase}: {residual:.1} dB");
        assert!(residual < -80.0, "{phrase}: residual {residual:.1} dB");
    }
}
