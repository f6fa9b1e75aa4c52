//! A plucked source is clean: it starts and ends without a click, holds nothing above its band, keeps its coils'
//! balance at the stated peak, sounds alike at every rate, and is the same on every run.

use drywire::pluck::{CoilPlace, Layout, Phrase, PluckedTake, Recipe, Settings};
use drywire::quantity::{Dbfs, Metres, Seconds};
use realfft::RealFftPlanner;

fn played(phrase: &str, settings: Settings) -> PluckedTake {
    let louder = CoilPlace { output: 1.25, ..CoilPlace::at(Metres::new(0.05425)) };
    let coils = [CoilPlace::at(Metres::new(0.03575)), louder];
    let layout = Layout::new(Metres::new(0.648), &coils).expect("a layout");
    Recipe::new(&Phrase::parse("phrase", phrase).expect("a phrase"), layout, settings)
        .expect("playable")
        .render()
}

const PHRASE: &str = "E2:0.5 G3~ E4*0.6 -:0.25 ^022100:1 x.x.14.14.x.x";

/// The share of the signal's energy at or above `hertz`, in decibels.
fn energy_above(signal: &[f64], hertz: f64, rate: u32) -> f64 {
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(signal.len());
    let mut spectrum = plan.make_output_vec();
    plan.process(&mut signal.to_vec(), &mut spectrum).expect("matching lengths");
    let bin = f64::from(rate) / signal.len() as f64;
    let energy = |from: f64| -> f64 {
        spectrum.iter().enumerate().filter(|(k, _)| *k as f64 * bin >= from).map(|(_, x)| x.norm_sqr()).sum()
    };
    10.0 * (energy(hertz) / energy(0.0)).log10()
}

#[test]
fn nothing_is_above_the_band_and_so_no_start_stop_or_end_clicks() {
    for rate in [44_100, 48_000, 96_000] {
        let take = played(PHRASE, Settings { rate, ..Settings::default() });
        for coil in take.coils() {
            let above = energy_above(coil, 0.46 * f64::from(rate.min(48_000)), rate);
            assert!(above < -80.0, "{rate}: {above:.1} dB");
            let (first, last) = (coil[0].abs(), coil[coil.len() - 1].abs());
            assert!(first < 1e-12 && last < 1e-5, "{rate}: starts at {first}, ends at {last}");
        }
    }
}

#[test]
fn the_one_channel_is_exactly_the_sum_of_the_coils_each_times_its_output() {
    let take = played(PHRASE, Settings::default());
    let [a, b] = take.coils() else { panic!("two coils") };
    assert_eq!(take.sum().len(), a.len());
    for ((a, b), sum) in a.iter().zip(b).zip(take.sum()) {
        assert!((a + 1.25 * b - sum).abs() < 1e-15);
    }
}

#[test]
fn the_loudest_of_the_coils_and_their_sum_peaks_at_the_stated_level() {
    for peak in [-1.0, -6.0, -20.0] {
        let take = played("022100", Settings { peak: Dbfs::new(peak), ..Settings::default() });
        let highest =
            take.coils().iter().chain([&take.sum().to_vec()]).flatten().fold(0f64, |m, s| m.max(s.abs()));
        assert!((20.0 * highest.log10() - peak).abs() < 1e-9, "{highest}");
    }
}

#[test]
fn a_source_sounds_alike_at_every_rate() {
    let at = |rate: u32| played(PHRASE, Settings { rate, seed: 3, ..Settings::default() });
    let reference = at(48_000);
    for (rate, every) in [(96_000, 2), (192_000, 4)] {
        let take = at(rate);
        for (coil, expected) in take.coils().iter().zip(reference.coils()) {
            let kept: Vec<f64> = coil.iter().step_by(every).copied().collect();
            assert_eq!(kept.len(), expected.len());
            // The peaks fall between other samples, so that the gain alone differs.
            let gain = kept.iter().zip(expected).map(|(k, e)| k * e).sum::<f64>()
                / expected.iter().map(|e| e * e).sum::<f64>();
            for (k, (kept, expected)) in kept.iter().zip(expected).enumerate() {
                assert!((kept - gain * expected).abs() < 1e-8, "{rate}, frame {k}: {kept} {expected}");
            }
        }
    }
}

#[test]
fn the_same_recipe_gives_the_same_samples_and_another_seed_gives_others() {
    let at = |seed| played(PHRASE, Settings { seed, ..Settings::default() });
    assert_eq!(at(0), at(0));
    assert_eq!(at(5), at(5));
    assert_ne!(at(5).sum(), at(6).sum());
}

#[test]
fn a_note_is_silent_after_the_next_event_unless_it_is_let_ring() {
    let ringing = Settings { tempo: 60.0, length: Some(Seconds::new(3.0)), ..Settings::default() };
    let energy = |phrase: &str| -> f64 {
        let take = played(phrase, ringing.clone());
        take.sum()[120_000..140_000].iter().map(|s| s * s).sum()
    };
    assert!(energy("E2~ -") > 1e-3);
    assert!(energy("E2 -") < 1e-30);
}
