//! What a single coil, or coils against each other, sound like from a source that is the sum of the coils is near to what they
//! sound like from the coils themselves: the bounds that are told, measured on sources of known coils.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use drywire::guitar::Guitar;
use drywire::pluck::{CoilPlace, Layout, Phrase, Recipe, Settings};
use drywire::quantity::Hertz;
use drywire::response::{OneChannel, Voice, VoiceResponse};
use num_complex::Complex64;
use realfft::RealFftPlanner;

const CHORD: &str = "^022100:4";
const PHRASE: &str = "E2:0.5~ B2~ G3~ F#3 | D3:1 E3:0.5 - | A2~ E3~ C4~ B3 | G#3:1*0.8 ^022100:3*0.5";
const NOTES: [&str; 6] = ["E2:4", "A2:4", "D3:4", "G3:4", "B3@2:4", "E5@1:4"];
/// Bands further below the loudest are not counted.
const COUNTED_DB: f64 = 40.0;

/// The spectra of the two coils of `pickup` and the width of a bin.
fn coils(guitar: &Guitar, pickup: &str, phrase: &str) -> (Vec<Vec<Complex64>>, f64) {
    let layout = Layout::of(guitar, [guitar.pickup(Some(pickup)).unwrap()], CoilPlace::APERTURE).unwrap();
    let phrase = Phrase::parse("test", phrase).unwrap();
    let take = Recipe::new(&phrase, layout, Settings::default()).unwrap().render();
    let length = take.coils()[0].len();
    let transform = RealFftPlanner::new().plan_fft_forward(length);
    let of = |coil: &Vec<f64>| {
        let mut spectrum = transform.make_output_vec();
        transform.process(&mut coil.clone(), &mut spectrum).unwrap();
        spectrum
    };
    (take.coils().iter().map(of).collect(), f64::from(take.rate()) / length as f64)
}

/// How far off a voice is in level, and in third octaves (rms), in decibels.
#[derive(Clone, Copy)]
struct Off {
    level: f64,
    bands: f64,
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "places of bands and of a grid")]
fn off(response: &VoiceResponse, coils: &[Vec<Complex64>], width: f64) -> Off {
    let rule = OneChannel::rule(response);
    assert!(rule.is_approximate());
    // The circuit's own response is smooth enough to be worked out every 20 Hz.
    let grid: Vec<Hertz> = (0..=1200).map(|step| Hertz::new(20.0 * f64::from(step))).collect();
    let paths = response.along(&grid).unwrap();
    let mut bands = vec![[0.0; 2]; 27];
    for bin in 1..coils[0].len() {
        let frequency = Hertz::new(bin as f64 * width);
        // Third octaves about 1000 Hz * 10^(n/10), n from -13 to 13.
        let place = (10.0 * (frequency.value() / 1000.0).log10()).round() + 13.0;
        if !(0.0..27.0).contains(&place) {
            continue;
        }
        let paths = &paths[(frequency.value() / 20.0).round() as usize];
        let heard = paths.0.iter().zip(response.outputs()).zip(coils);
        let exact: Complex64 = heard.map(|((path, output), coil)| path * output * coil[bin]).sum();
        let together: Complex64 = coils.iter().map(|coil| coil[bin]).sum();
        let near = rule.transfer(frequency, paths, response.outputs()) * together;
        let band = &mut bands[place as usize];
        band[0] += exact.norm_sqr();
        band[1] += near.norm_sqr();
    }
    let decibels = |[exact, near]: [f64; 2]| 10.0 * (near / exact).log10();
    let total = bands.iter().fold([0.0; 2], |sum, band| [sum[0] + band[0], sum[1] + band[1]]);
    let loudest = bands.iter().map(|band| band[0]).fold(0.0, f64::max);
    let counted = bands.iter().filter(|band| band[0] > loudest * 10f64.powf(-COUNTED_DB / 10.0));
    let squares: Vec<f64> = counted.map(|band| decibels(*band).powi(2)).collect();
    Off { level: decibels(total), bands: (squares.iter().sum::<f64>() / squares.len() as f64).sqrt() }
}

#[test]
fn a_single_coil_and_coils_against_each_other_are_within_the_bounds_that_are_told() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let mut table = String::new();
    for pickup in ["bridge", "neck"] {
        let sources =
            [("chord", CHORD), ("phrase", PHRASE)].into_iter().chain(NOTES.map(|note| (note, note)));
        for (called, phrase) in sources {
            let (coils, width) = coils(&guitar, pickup, phrase);
            let several = phrase != called;
            for name in ["split-a", "split-b", "series-reversed"] {
                let voice = Voice::of(name.parse().unwrap());
                let response = voice.response(&guitar, guitar.pickup(Some(pickup)).unwrap()).unwrap();
                let Off { level, bands } = off(&response, &coils, width);
                table.push_str(&format!("{pickup} {called} {name}: {level:+.2} dB, {bands:.1} dB rms\n"));
                let most = match (several, name) {
                    (true, "series-reversed") => 6.0,
                    (true, _) => 1.5,
                    (false, "series-reversed") => 15.0,
                    (false, _) => 8.0,
                };
                assert!(bands <= most, "{table}");
                if several && name != "series-reversed" {
                    assert!(level.abs() <= 0.5, "{table}");
                }
            }
        }
    }
    for bound in ["1.5 and 6 dB for chords and phrases", "8 and 15 dB for single notes"] {
        assert!(OneChannel::BOUND.contains(bound));
    }
    println!("{table}");
}
