//! An open chord through the two coils: by how much parallel, each coil alone and the reversed arrangements are
//! below series, for one worked example of ideal strings.

use std::f64::consts::PI;

use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::pluck::{Layout, Phrase, PluckedTake, Recipe, Settings};
use drywire::quantity::{Hertz, Metres, Seconds};
use drywire::response::{Paths, Voice};
use num_complex::Complex64;
use realfft::RealFftPlanner;

const GUITAR: &str = r#"
format = 1
scale = "648 mm"
[[pickup]]
name = "bridge"
from_bridge = "50 mm"
spacing = "18.5 mm"
coupling = 0.10
coil_a = { resistance = "4.0k", inductance = "2.2 H", capacitance = "110p", loss = "250k" }
coil_b = { resistance = "4.0k", inductance = "2.2 H", capacitance = "110p", loss = "250k" }
[controls]
volume = { pot = "500k" }
tone = { pot = "500k", capacitor = "22n" }
[cable]
total = "360p"
[input]
resistance = "1M"
"#;

/// Six ideal strings plucked at 140 mm, coils that sense at a point, all modes falling by 60 dB in 4 s, the strings
/// 20 ms apart, 4 s.
fn chord(guitar: &Guitar) -> PluckedTake {
    let settings = Settings {
        pluck_at: Metres::new(0.140),
        contact: Metres::new(0.0),
        strum: Seconds::new(0.020),
        decay: Seconds::new(4.0),
        treble_damping: 1.0,
        stiffness: 0.0,
        length: Some(Seconds::new(4.0)),
        ..Settings::default()
    };
    let layout = Layout::of(guitar, guitar.pickups(), Metres::new(0.0)).expect("a layout");
    let phrase = Phrase::parse("chord", "022100").expect("a chord");
    Recipe::new(&phrase, layout, settings).expect("playable").render()
}

fn spectrum(signal: &[f64]) -> Vec<Complex64> {
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(signal.len());
    let mut bins = plan.make_output_vec();
    plan.process(&mut signal.to_vec(), &mut bins).expect("matching lengths");
    bins
}

/// The energy at the jack, Σ |A·H_A + B·H_B|², in decibels. The response is taken every 25 Hz and by lines between.
fn energy(guitar: &Guitar, arrangement: &str, coils: &[Vec<Complex64>], bin: f64) -> f64 {
    const STEP: f64 = 25.0;
    let voice = Voice::of(arrangement.parse().expect("an arrangement"));
    let response = voice.response(guitar, &guitar.pickups()[0]).expect("a response");
    let grid: Vec<Paths> = (0u32..=812)
        .map(|i| response.at(Hertz::new((STEP * f64::from(i)).max(1.0))).expect("a solution"))
        .collect();
    let mut total = 0.0;
    for (k, (a, b)) in coils[0].iter().zip(&coils[1]).enumerate() {
        let place = k as f64 * bin / STEP;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few hundred, not negative"
        )]
        let (i, along) = (place as usize, place.fract());
        if i + 1 >= grid.len() {
            break;
        }
        let between = |one: Complex64, other: Complex64| one * (1.0 - along) + other * along;
        let out = a * between(grid[i].0[0], grid[i + 1].0[0]) + b * between(grid[i].0[1], grid[i + 1].0[1]);
        total += out.norm_sqr();
    }
    10.0 * total.log10()
}

/// A partial at the jack: `value · e^(−σ (t − start)) · e^(iω (t − start))`.
struct Partial {
    value: Complex64,
    omega: f64,
    start: f64,
}

/// The same from the closed forms alone, with no sample rendered: sin(nπp/ℓ)/n for the pluck, sin(nπx/ℓ) for each
/// coil's place, and the energy ∫|Σ|² as the sum over pairs of partials. Only pairs within 30 Hz count; the strings'
/// octaves and fifths make many, and how they meet depends on the strum.
fn worked_out(guitar: &Guitar, arrangement: &str) -> f64 {
    let voice = Voice::of(arrangement.parse().expect("an arrangement"));
    let response = voice.response(guitar, &guitar.pickups()[0]).expect("a response");
    let sigma = 3.0 * 10f64.ln() / 4.0;
    let mut partials = Vec::new();
    for (string, (semitones_below_a4, fret)) in
        [(29, 0), (24, 2), (19, 2), (14, 1), (10, 0), (5, 0)].into_iter().enumerate()
    {
        let f0 = 440.0 * (f64::from(fret - semitones_below_a4) / 12.0).exp2();
        let length = 648.0 / (f64::from(fret) / 12.0).exp2();
        for n in (1u8..=255).map(f64::from).take_while(|n| n * f0 < 18_000.0) {
            let shape = |x: f64| (PI * n * x / length).sin();
            let paths = response.at(Hertz::new(n * f0)).expect("a solution");
            let value = (paths.0[0] * shape(40.75) + paths.0[1] * shape(59.25)) * (shape(140.0) / n);
            partials.push(Partial { value, omega: 2.0 * PI * n * f0, start: 0.02 * string as f64 });
        }
    }
    let mut total = 0.0;
    for one in &partials {
        for other in partials.iter().filter(|o| (o.omega - one.omega).abs() < 2.0 * PI * 30.0) {
            let from = one.start.max(other.start);
            let rate = Complex64::new(-2.0 * sigma, one.omega - other.omega);
            let integral = ((rate * 4.0).exp() - (rate * from).exp()) / rate;
            let turned = Complex64::from_polar(
                (sigma * (one.start + other.start)).exp(),
                other.omega * other.start - one.omega * one.start,
            );
            total += (one.value * other.value.conj() * turned * integral).re;
        }
    }
    10.0 * total.log10()
}

/// The rounded figures are from another program with other code for strings and circuit; half a decibel is what
/// such an example is given to. Those of the reversed arrangements, about −12 and −17, depend on how much treble
/// the strings have; for them the closed forms are the measure.
#[test]
fn the_open_chord_falls_below_series_as_worked_out_beforehand() {
    let guitar = Guitar::read(&Document::new("example", GUITAR)).expect("a guitar");
    let take = chord(&guitar);
    let coils: Vec<Vec<Complex64>> = take.coils().iter().map(|coil| spectrum(coil)).collect();
    let bin = f64::from(take.rate()) / take.sum().len() as f64;
    let (series, worked_out_series) = (energy(&guitar, "series", &coils, bin), worked_out(&guitar, "series"));
    for (arrangement, told) in [
        ("parallel", Some(-5.9)),
        ("split-a", Some(-7.3)),
        ("split-b", Some(-5.3)),
        ("series-reversed", None),
        ("parallel-reversed", None),
    ] {
        let drop = energy(&guitar, arrangement, &coils, bin) - series;
        let worked_out = worked_out(&guitar, arrangement) - worked_out_series;
        assert!((drop - worked_out).abs() < 0.05, "{arrangement}: {drop:.2} dB, worked out {worked_out:.2}");
        assert!(
            told.is_none_or(|told: f64| (drop - told).abs() < 0.5),
            "{arrangement}: {drop:.2} dB, told {told:?}"
        );
    }
}
