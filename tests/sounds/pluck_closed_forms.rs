//! Every coil hears a string from its own place: combs, nulls, level ratios, partials and decays of the rendered
//! sound are those of the closed forms.

use std::f64::consts::{PI, TAU};

use drywire::pluck::{CoilPlace, Layout, Phrase, PluckedTake, Recipe, Settings};
use drywire::quantity::{Metres, Seconds};
use num_complex::Complex64;

const SCALE: f64 = 0.648;
/// The open strings with their inharmonicity coefficients.
const STRINGS: [(&str, f64, f64); 6] = [
    ("E2", 82.41, 1e-4),
    ("A2", 110.0, 6e-5),
    ("D3", 146.83, 4e-5),
    ("G3", 196.0, 1.1e-4),
    ("B3", 246.94, 4e-5),
    ("E4", 329.63, 1.3e-5),
];

fn points(millimetres: &[f64]) -> Vec<CoilPlace> {
    millimetres
        .iter()
        .map(|mm| CoilPlace { aperture: Metres::new(0.0), ..CoilPlace::at(Metres::new(mm / 1000.0)) })
        .collect()
}

fn ideal(seconds: f64) -> Settings {
    Settings {
        contact: Metres::new(0.0),
        stiffness: 0.0,
        treble_damping: 1.0,
        length: Some(Seconds::new(seconds)),
        ..Settings::default()
    }
}

fn played(phrase: &str, coils: &[CoilPlace], settings: Settings) -> PluckedTake {
    let layout = Layout::new(Metres::new(SCALE), coils).expect("a layout");
    Recipe::new(&Phrase::parse("phrase", phrase).expect("a phrase"), layout, settings)
        .expect("playable")
        .render()
}

/// The spectrum of `signal` at `hertz`, under a Blackman–Harris window, whose side lobes are 92 dB down.
fn at(signal: &[f64], hertz: f64, rate: u32) -> Complex64 {
    let around = Complex64::from_polar(1.0, TAU / (signal.len() - 1) as f64);
    let turn = Complex64::from_polar(1.0, -TAU * hertz / f64::from(rate));
    let (mut along, mut phase, mut sum) =
        (Complex64::new(1.0, 0.0), Complex64::new(1.0, 0.0), Complex64::ZERO);
    for sample in signal {
        let u = along.re;
        let (twice, thrice) = (2.0 * u * u - 1.0, (4.0 * u * u - 3.0) * u);
        let window = 0.35875 - 0.48829 * u + 0.14128 * twice - 0.01168 * thrice;
        sum += phase * (sample * window);
        along *= around;
        phase *= turn;
    }
    sum
}

/// The part of `one`, with its sign, that `other` is multiplied by at `hertz`.
fn ratio(one: &[f64], other: &[f64], hertz: f64, rate: u32) -> f64 {
    (at(one, hertz, rate) / at(other, hertz, rate)).re
}

/// Where `shape` of the harmonics of `f0` first changes its sign, by the line between the two harmonics about it.
///
/// The shapes looked at are sines and cosines that turn by less than 0.75 rad from one harmonic to the next: the
/// line is then off by less than a fiftieth of their spacing.
fn first_zero(f0: f64, shape: impl Fn(f64) -> f64) -> f64 {
    let mut below = shape(1.0);
    for n in (2u8..).map(f64::from) {
        let here = shape(n);
        if here * below <= 0.0 {
            return (n - here / (here - below)) * f0;
        }
        below = here;
    }
    panic!("no change of sign below the 255th harmonic");
}

fn summed(one: &[f64], other: &[f64], sign: f64) -> Vec<f64> {
    assert_eq!(one.len(), other.len());
    one.iter().zip(other).map(|(a, b)| a + sign * b).collect()
}

fn db(amplitude: f64) -> f64 {
    20.0 * amplitude.abs().log10()
}

/// The amplitudes of the harmonics at a coil, sin(nπd/ℓ), measured against those at a coil so near the bridge that
/// they grow as n.
fn comb_zero(take: &PluckedTake, coil: usize, f0: f64) -> f64 {
    let near = take.coils().last().expect("a coil near the bridge");
    first_zero(f0, |n| n * ratio(&take.coils()[coil], near, n * f0, take.rate()))
}

/// m·c/(2d) with c = 2ℓf₀.
#[test]
fn a_coils_first_comb_zero_is_at_the_wave_speed_over_twice_its_distance() {
    for (name, f0, _) in STRINGS {
        let take = played(name, &points(&[45.0, 150.0, 1.0]), ideal(1.0));
        for (coil, d) in [(0, 0.045), (1, 0.150)] {
            let (zero, expected) = (comb_zero(&take, coil, f0), 2.0 * SCALE * f0 / (2.0 * d));
            assert!((zero - expected).abs() < 0.02 * f0, "{name} {d}: {zero} Hz, not {expected}");
        }
    }
}

#[test]
fn a_harmonic_on_a_comb_zero_is_absent() {
    // ℓ/9 and ℓ/14 from the bridge: every 9th harmonic, and every 14th.
    let take = played("A2", &points(&[648.0 / 9.0, 648.0 / 14.0, 1.0]), ideal(0.4));
    let [ninth, fourteenth, near] = take.coils() else { panic!("three coils") };
    for (coil, first) in [(ninth, 9), (fourteenth, 14)] {
        for n in 1..=60 {
            let level = db(ratio(coil, near, 110.0 * f64::from(n), take.rate()));
            assert_eq!(level < -80.0, n % first == 0, "harmonic {n} of {first}: {level} dB");
        }
    }
}

#[test]
fn a_comb_zero_stays_in_hertz_when_the_string_is_fretted() {
    for fret in [3, 7, 12] {
        let f0 = 82.4069 * 2f64.powf(f64::from(fret) / 12.0);
        let take = played(&format!("{fret}.x.x.x.x.x"), &points(&[45.0, 1.0]), ideal(1.0));
        let zero = comb_zero(&take, 0, f0);
        assert!((zero - 1186.7).abs() < 0.02 * f0, "fret {fret}: {zero} Hz");
    }
}

/// 2 cos(πfs/c): two coils s apart against one coil midway between them.
#[test]
fn two_coils_in_phase_first_cancel_at_the_wave_speed_over_twice_their_spacing() {
    for (name, f0, _) in STRINGS {
        for s in [18.5, 10.0] {
            let expected = 2.0 * SCALE * f0 / (2.0 * s / 1000.0);
            // Above that the program's own band limit is near.
            if expected > 15_000.0 {
                continue;
            }
            let take = played(name, &points(&[44.0 - s / 2.0, 44.0 + s / 2.0, 44.0]), ideal(1.0));
            let [a, b, middle] = take.coils() else { panic!("three coils") };
            let both = summed(a, b, 1.0);
            let against = |n: f64| ratio(&both, middle, n * f0, take.rate());
            assert!((against(1.0) - 2.0).abs() < 0.01, "{name} {s}");
            let zero = first_zero(f0, against);
            assert!((zero - expected).abs() < 0.02 * f0, "{name} {s}: {zero} Hz, not {expected}");
        }
    }
}

/// The falls are closed forms of sin(π(d ± s/2)/ℓ), given to half a decibel.
#[test]
fn out_of_phase_the_fundamental_falls_by_six_twelve_and_nineteen_and_a_half_decibels() {
    for (d, s, fall) in [(45.0, 18.5, 6.0), (45.0, 10.0, 12.0), (150.0, 18.5, 19.5)] {
        let take = played("E2", &points(&[d - s / 2.0, d + s / 2.0]), ideal(1.0));
        let [a, b] = take.coils() else { panic!("two coils") };
        let fell = -db(ratio(&summed(a, b, -1.0), a, 82.4069, take.rate()));
        let exact = |x: f64| (PI * x / 648.0).sin();
        let wanted = -db((exact(d + s / 2.0) - exact(d - s / 2.0)) / exact(d - s / 2.0));
        assert!((fell - wanted).abs() < 0.001, "{d} {s}: {fell} dB, not {wanted}");
        assert!((fell - fall).abs() < 0.5, "{d} {s}: {fell} dB, not about {fall}");
    }
}

/// At low frequency a coil hears in proportion to its distance from the bridge: B louder than A by x_B/x_A, and
/// of their sum A is −7.8 dB, B −4.6 and the difference −14.7 for coils at 40.75 and 59.25 mm. The sines of the
/// fundamental are off from that limit by less than a fifth of a decibel.
#[test]
fn at_the_fundamental_the_coils_are_as_loud_as_they_are_far_from_the_bridge() {
    let settings = Settings { strum: Seconds::new(0.02), decay: Seconds::new(4.0), ..ideal(4.0) };
    let take = played("022100", &points(&[40.75, 59.25]), settings);
    let [a, b] = take.coils() else { panic!("two coils") };
    let (both, difference) = (summed(a, b, 1.0), summed(a, b, -1.0));
    let against = |one: &[f64], other: &[f64]| db(ratio(one, other, 82.4069, take.rate()));
    let (sin_a, sin_b) = ((PI * 40.75 / 648.0).sin(), (PI * 59.25 / 648.0).sin());
    for (level, exact, limit) in [
        (against(b, a), sin_b / sin_a, 3.25),
        (against(a, &both), sin_a / (sin_a + sin_b), -7.8),
        (against(b, &both), sin_b / (sin_a + sin_b), -4.6),
        (against(&difference, &both), (sin_b - sin_a) / (sin_a + sin_b), -14.7),
    ] {
        assert!((level - db(exact)).abs() < 0.001, "{level} dB, not {}", db(exact));
        assert!((level - limit).abs() < 0.2, "{level} dB, not about {limit}");
    }
}

/// f_n = n f₀ √(1 + B n²): H. Fletcher, *Normal Vibration Frequencies of a Stiff Piano String*, JASA 36, 1964.
#[test]
fn partials_are_as_inharmonic_as_fletchers_formula_says() {
    for (name, f0, b) in STRINGS {
        let settings = Settings { stiffness: 1.0, decay: Seconds::new(20.0), ..ideal(2.0) };
        let take = played(name, &points(&[10.0]), settings);
        let signal = &take.coils()[0][..80_000];
        for n in [1.0, 2.0, 5.0, 12.0, 25.0] {
            let wanted = n * f0 * (1.0_f64 + b * n * n).sqrt();
            let found = peak_near(signal, wanted, take.rate());
            // The frequencies of the table are rounded to 5 mHz, times n.
            assert!(
                (found - wanted).abs() < 0.01 + 0.005 * n,
                "{name} partial {n}: {found} Hz, not {wanted}"
            );
        }
    }
}

/// The frequency within 1 Hz of `hertz` where the spectrum is highest: the vertex of a parabola in decibels.
fn peak_near(signal: &[f64], hertz: f64, rate: u32) -> f64 {
    let level = |f: f64| db(at(signal, f, rate).norm());
    let (below, here, above) = (level(hertz - 0.5), level(hertz), level(hertz + 0.5));
    hertz + 0.25 * (above - below) / (2.0 * here - above - below)
}

#[test]
fn each_partial_falls_as_the_decay_and_its_damping_say() {
    let settings = Settings { decay: Seconds::new(4.0), treble_damping: 6.0, ..ideal(3.0) };
    let take = played("E2", &points(&[10.0]), settings);
    let signal = &take.coils()[0];
    let second = 48_000;
    // From half a second on, in one second: 15 dB at the fundamental, 6 times that at 5 kHz, and between them by
    // the square of the frequency.
    for n in [1.0, 12.0, 24.0, 36.0, 60.0] {
        let f = n * 82.4069;
        let level = |from: usize| db(at(&signal[from..from + second / 2], f, take.rate()).norm());
        let fell = level(second / 2) - level(second / 2 + second);
        let wanted = 15.0 * (1.0 + 5.0 * (f * f - 82.4069f64.powi(2)) / (25e6 - 82.4069f64.powi(2)));
        assert!((fell - wanted).abs() < 0.05, "partial {n}: {fell} dB, not {wanted}");
    }
}

/// sinc(fw/c) for both the aperture of a coil and the contact of a pluck.
#[test]
fn an_aperture_and_a_contact_each_take_the_mean_over_their_width() {
    let wide = CoilPlace { aperture: Metres::new(0.012), ..points(&[20.0])[0] };
    let coils = [points(&[20.0])[0], wide];
    let take = played("A2", &coils, ideal(1.0));
    let touched = played("A2", &coils, Settings { contact: Metres::new(0.012), ..ideal(1.0) });
    let speed = 2.0 * SCALE * 110.0;
    let sinc = |f: f64| (PI * f * 0.012 / speed).sin() / (PI * f * 0.012 / speed);
    let fundamental = ratio(&touched.coils()[0], &take.coils()[0], 110.0, take.rate()) / sinc(110.0);
    for n in [1.0, 10.0, 40.0, 80.0, 110.0] {
        let f = 110.0 * n;
        let sensed = ratio(&take.coils()[1], &take.coils()[0], f, take.rate());
        assert!((sensed - sinc(f)).abs() < 1e-4, "{f} Hz: {sensed}, not {}", sinc(f));
        let held = ratio(&touched.coils()[0], &take.coils()[0], f, take.rate()) / fundamental;
        assert!((held - sinc(f)).abs() < 1e-4, "{f} Hz: {held}, not {}", sinc(f));
    }
}
