//! P20. The amplifier is the one described: linear for small signals, its curves exact, its aliases out of hearing, its clip
//! point where it must be, the same however it is cut, and what it adds told as it is.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "counts of samples are positive")]

use std::f64::consts::{PI, TAU};

use crate::common::amplified::{after, at_the_loudspeaker, line, sine};
use crate::common::render::spectrum;
use drywire::amp::{Cabinet, Chain, Curve, Setting, Stages, rate_factor};
use drywire::measure::AddedSoundMeter;
use drywire::quantity::Hertz;
use num_complex::Complex64;
use realfft::RealFftPlanner;

const RATES: [u32; 5] = [44_100, 48_000, 88_200, 96_000, 192_000];

fn decibels(ratio: f64) -> f64 {
    20.0 * ratio.log10()
}

/// Returns the amplitude of a sine that is as loud as the loudest moment at a setting.
fn amplitude(setting: Setting) -> f64 {
    Stages::clip_point() * (-setting.headroom().level()).amplitude()
}

#[test]
fn a1_a_small_signal_passes_the_linear_chain_without_delay() {
    const SMALL: f64 = 1e-6;
    let coupling = |f: f64| Complex64::new(0.0, f) / Complex64::new(7.23, f);
    let (mut worst_db, mut worst_deg) = (0.0f64, 0.0f64);
    for rate in RATES {
        let mut impulse = vec![0.0; rate as usize];
        let zero = 2000;
        impulse[zero] = SMALL;
        let [heard, _] = at_the_loudspeaker(rate, 1.0, &impulse);
        assert_eq!(heard.len(), impulse.len());
        let highest = 20e3f64.min(0.45 * f64::from(rate));
        for step in 0..=40 {
            let f = 20.0 * (highest / 20.0).powf(f64::from(step) / 40.0);
            let expected = coupling(f).powi(2) * Cabinet::Closed.response(Hertz::new(f));
            let ratio = spectrum(&heard, zero, f, rate) / SMALL / expected;
            let (db, deg) = (decibels(ratio.norm()).abs(), ratio.arg().to_degrees().abs());
            assert!(db <= 0.01 && deg <= 0.1, "{rate}: {f} Hz is {db} dB and {deg} degrees off");
            (worst_db, worst_deg) = (worst_db.max(db), worst_deg.max(deg));
        }
    }
    println!("A1: worst {worst_db:.5} dB and {worst_deg:.4} degree");
}

#[test]
fn a8_what_sounds_near_either_end_of_a_take_is_heard_where_it_is() {
    const SMALL: f64 = 1e-6;
    for rate in RATES {
        let length = 3000;
        let impulse_at = |at: usize| {
            let mut impulse = vec![0.0; length];
            impulse[at] = SMALL;
            let [heard, linear] = at_the_loudspeaker(rate, 1.0, &impulse);
            assert_eq!([heard.len(), linear.len()], [length; 2]);
            [heard, linear]
        };
        let [_, middle] = impulse_at(length / 2);
        let largest = middle.iter().fold(0.0f64, |most, x| most.max(x.abs()));
        for at in [0, 1, 20, length - 90, length - 40, length - 12, length - 1] {
            let [heard, linear] = impulse_at(at);
            let off = heard.iter().zip(&linear).map(|(heard, linear)| (heard - linear).abs());
            let off = off.fold(0.0, f64::max) / largest;
            // The half-bands leave out what is above hearing, which an impulse has and the loudspeaker nearly has not.
            assert!(off < 0.02, "{rate} Hz, an impulse at {at} of {length}: {off}");
        }
    }
}

/// Returns the Bessel function of the first kind of whole `order`, by its integral.
fn bessel(order: i32, x: f64) -> f64 {
    const POINTS: u32 = 400;
    let at = |n: u32| {
        let turn = PI * (f64::from(n) + 0.5) / f64::from(POINTS);
        (f64::from(order) * turn - x * turn.sin()).cos()
    };
    (0..POINTS).map(at).sum::<f64>() / f64::from(POINTS)
}

#[test]
fn a2_known_curves_give_their_known_lines() {
    const RATE: u32 = 48_000;
    let mut worst = f64::NEG_INFINITY;
    let mut near = |what: String, found: f64, expected: f64| {
        let off = decibels((found - expected).abs());
        assert!(off <= -90.0, "{what}: {found} where {expected} is right, {off} dB");
        worst = worst.max(off);
    };
    let sin = Stages::alone(Curve::of(20.0, 8192, |u| (u.sin(), u.cos())));
    for beta in [0.5, 2.0, 5.0] {
        let heard = after(&sin, RATE, beta, &sine(RATE, 1000.0, 1.0, 9600));
        for n in 1..20 {
            let expected = if n % 2 == 1 { 2.0 * bessel(n, beta).abs() } else { 0.0 };
            let found = line(&heard[4800..], 1000.0 * f64::from(n), RATE);
            near(format!("harmonic {n} of sin({beta} sin)"), found, expected);
        }
    }
    // Orders high enough to meet one another are small.
    let two: Vec<f64> = sine(RATE, 1000.0, 1.3, 14_400)
        .iter()
        .zip(sine(RATE, 1730.0, 0.9, 14_400))
        .map(|(one, other)| one + other)
        .collect();
    let heard = after(&sin, RATE, 1.0, &two);
    for (m, n) in (-7i32..=7).flat_map(|m| (-7i32..=7).map(move |n| (m, n))) {
        let f = 1000.0 * f64::from(m) + 1730.0 * f64::from(n);
        if (1.0..19_999.0).contains(&f) {
            let odd = (m + n) % 2 != 0;
            let expected = if odd { 2.0 * (bessel(m, 1.3) * bessel(n, 0.9)).abs() } else { 0.0 };
            near(format!("line {m}, {n}"), line(&heard[9600..], f, RATE), expected);
        }
    }
    let third = Stages::alone(Curve::of(2.0, 64, |u| (4.0 * u.powi(3) - 3.0 * u, 12.0 * u * u - 3.0)));
    let heard = after(&third, RATE, 1.0, &sine(RATE, 1000.0, 1.0, 9600));
    for n in 0..20 {
        let expected = if n == 3 { 1.0 } else { 0.0 };
        near(format!("harmonic {n} of T3"), line(&heard[4800..], 1000.0 * f64::from(n), RATE), expected);
    }
    println!("A2: worst {worst:.1} dB");
}

#[test]
fn a3_two_tones_give_the_lines_that_quadrature_gives() {
    const RATE: u32 = 48_000;
    const POINTS: u32 = 192;
    let stages = Stages::generic().uncoupled();
    for setting in [Setting::Edge, Setting::Driven] {
        // Both tones together reach the amplitude of a sine that is as loud as the loudest moment.
        let each = amplitude(setting) / 2.0;
        let tones: Vec<f64> = sine(RATE, 3000.0, each, 9600)
            .iter()
            .zip(sine(RATE, 3300.0, each, 9600))
            .map(|(one, other)| one + other)
            .collect();
        let heard = after(&stages, RATE, 1.0, &tones);
        // A line is a sum over all m and n that lie on it: a quadrature over both phases at once.
        let turn = |n: u32| TAU * f64::from(n) / f64::from(POINTS);
        let pairs = (0..POINTS).flat_map(|i| (0..POINTS).map(move |k| (turn(i), turn(k))));
        let values: Vec<(f64, f64, f64)> =
            pairs.map(|(a, b)| (a, b, stages.at(each * a.sin() + each * b.sin()))).collect();
        let share = |m: i32, n: i32| -> Complex64 {
            let term =
                |(a, b, v): &(f64, f64, f64)| Complex64::cis(-(f64::from(m) * a + f64::from(n) * b)) * v;
            values.iter().map(term).sum::<Complex64>() / f64::from(POINTS * POINTS)
        };
        // 10 m + 11 n = k has the solutions m = −k + 11 i, n = k − 10 i.
        let on_line = |k: i32| -> Complex64 {
            let whole = (-12..=12).map(|i| (-k + 11 * i, k - 10 * i));
            whole.filter(|(m, n)| m.abs() + n.abs() < 50).map(|(m, n)| share(m, n)).sum()
        };
        let largest = line(&heard[4800..], 3000.0, RATE);
        let mut worst = f64::NEG_INFINITY;
        for k in 1..66 {
            let found = line(&heard[4800..], 300.0 * f64::from(k), RATE);
            let expected = 2.0 * on_line(k).norm();
            let off = decibels((found - expected).abs() / largest);
            assert!(off <= -80.0, "{}: {k} times 300 Hz: {found} against {expected}", setting.name());
            worst = worst.max(off);
        }
        println!("A3: {}: worst {worst:.1} dB of the largest", setting.name());
    }
}

#[test]
fn a4_the_clip_point_and_its_harmonics_are_where_they_must_be() {
    let (stages, clip) = (Stages::generic(), Stages::clip_point());
    let harmonics: Vec<f64> = (1..40).map(|n| stages.harmonic(clip, n).abs()).collect();
    let against = |n: usize| decibels(harmonics[n - 1] / harmonics[0]);
    let thd = harmonics[1..].iter().map(|h| h * h).sum::<f64>().sqrt() / harmonics[0] * 100.0;
    println!("A4: {clip:.5}, THD_F {thd:.3} %, 2nd {:.2} dB, 3rd {:.2} dB", against(2), against(3));
    assert!((clip - 0.69961).abs() < 1e-4);
    assert!((thd - 4.556).abs() < 0.01);
    assert!((against(2) + 31.84).abs() < 0.01 && (against(3) + 28.51).abs() < 0.01);
    assert!((decibels(harmonics[0] / clip) + 1.0).abs() < 1e-6);
}

/// Returns the highest level below 20 kHz that is no harmonic of the sine in bin `own`, the limiter's full scale being 1.
fn alias(heard: &[f64], own: usize, rate: u32) -> f64 {
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(heard.len());
    let (mut input, mut output) = (heard.to_vec(), plan.make_output_vec());
    plan.process(&mut input, &mut output).unwrap();
    let highest = (20e3 / f64::from(rate) * heard.len() as f64) as usize;
    let lines = output[..highest].iter().enumerate().filter(|(bin, _)| bin % own != 0);
    decibels(lines.map(|(_, line)| 2.0 * line.norm() / heard.len() as f64).fold(0.0, f64::max))
}

#[test]
fn a7_aliases_are_out_of_hearing_at_every_rate() {
    const LENGTH: usize = 16_384;
    for (setting, bound) in [(Setting::Driven, -110.0), (Setting::Hard, -80.0)] {
        let mut worst = [f64::NEG_INFINITY; 2];
        for rate in RATES {
            // Long enough for the couplings to come to rest.
            let settled = rate as usize / 2;
            for f in [80.0, 330.0, 1100.0, 2300.0, 3700.0, 5000.0] {
                let own = (f * LENGTH as f64 / f64::from(rate)) as usize | 1;
                let exact = own as f64 * f64::from(rate) / LENGTH as f64;
                let tone = sine(rate, exact, amplitude(setting), settled + LENGTH + rate as usize / 4);
                let before = after(Stages::generic(), rate, 1.0, &tone);
                let [behind, _] = at_the_loudspeaker(rate, 1.0, &tone);
                for (worst, heard) in worst.iter_mut().zip([before, behind]) {
                    let level = alias(&heard[settled..settled + LENGTH], own, rate);
                    assert!(level <= bound, "{}: {exact} Hz at {rate}: {level} dB", setting.name());
                    *worst = worst.max(level);
                }
            }
        }
        let [before, behind] = worst;
        println!("A7: {}: {before:.1} dB before, {behind:.1} dB behind the loudspeaker", setting.name());
    }
}

#[test]
fn a8_the_same_comes_out_however_it_is_cut_silence_stays_silence_and_dc_is_kept_out() {
    let rate = 44_100;
    let tone = sine(rate, 196.0, amplitude(Setting::Hard), 30_000);
    let whole = after(Stages::generic(), rate, 1.0, &tone);
    let (mut cut, mut chain) = (Vec::new(), Chain::new(rate, Stages::generic(), 1.0));
    let mut rest = tone.as_slice();
    for length in [1, 7, 128, 129, 4096, 2, 0, 1000].into_iter().cycle() {
        let (now, later) = rest.split_at(length.min(rest.len()));
        chain.run(now, &mut cut);
        rest = later;
        if rest.is_empty() {
            break;
        }
    }
    assert!(whole.iter().zip(&cut).all(|(a, b)| a.to_bits() == b.to_bits()) && whole.len() == cut.len());
    for rate in RATES {
        assert!(after(Stages::generic(), rate, 1e6, &[0.0; 1000]).iter().all(|x| *x == 0.0), "{rate}");
    }
    // After a sound its state dies away to nothing and not to numbers that processors are slow with.
    let dying = [tone, vec![0.0; 3 * rate as usize]].concat();
    let end = after(Stages::generic(), rate, 1.0, &dying);
    assert!(end[end.len() - 1000..].iter().all(|x| *x == 0.0));
    let tone = sine(rate, 200.0, amplitude(Setting::Hard), 2 * rate as usize);
    let [heard, _] = at_the_loudspeaker(rate, 1.0, &tone);
    let heard = &heard[rate as usize..rate as usize + 22_050];
    let count = heard.len() as f64;
    let (dc, rms) =
        (heard.iter().sum::<f64>() / count, (heard.iter().map(|x| x * x).sum::<f64>() / count).sqrt());
    println!("A8: DC {:.0} dB below the RMS, {} times the rate", decibels(rms / dc.abs()), rate_factor(rate));
    assert!(decibels(rms / dc.abs()) >= 100.0);
}

#[test]
fn a9_the_sound_that_is_added_to_a_sine_is_its_thd() {
    const RATE: u32 = 48_000;
    let mut worst = 0.0f64;
    for setting in [Setting::Clean, Setting::Edge, Setting::Driven] {
        for f in [200.0, 1000.0] {
            let tone = sine(RATE, f, amplitude(setting), 2 * RATE as usize);
            let both = at_the_loudspeaker(RATE, 1.0, &tone);
            let [heard, linear] = both.each_ref().map(|all| &all[RATE as usize..RATE as usize + 24_000]);
            let mut meter = AddedSoundMeter::new(RATE, 1);
            meter.push(&[heard], &[linear]);
            let told = 100.0 * meter.finish().level().unwrap().amplitude();
            let harmonics: Vec<f64> = (1..200)
                .map(|n| f * f64::from(n))
                .take_while(|f| *f < 24e3)
                .map(|f| line(heard, f, RATE))
                .collect();
            let power = |lines: &[f64]| lines.iter().map(|h| h * h).sum::<f64>();
            let thd = 100.0 * (power(&harmonics[1..]) / power(&harmonics)).sqrt();
            assert!((told - thd).abs() < 0.1, "{} at {f} Hz: {told} %, and THD_R is {thd} %", setting.name());
            worst = worst.max((told - thd).abs());
        }
    }
    println!("A9: worst {worst:.4} points");
}
