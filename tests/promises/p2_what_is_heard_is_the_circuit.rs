//! P2. What is heard is the circuit: with an impulse in one channel of a per-coil source, the output's spectrum
//! equals that coil's response; from a one-channel source, series and parallel equal half of `both`: within
//! 0.01 dB and 0.1 degree, 20 Hz to 20 kHz (to 0.45 of the rate where that is lower), every arrangement, every rate
//! from 44.1 to 192 kHz.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::render::{rendered, spectrum};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::quantity::Hertz;
use drywire::render::{Channels, Configuration, Model};
use drywire::response::{Voice, VoiceResponse};
use drywire::wiring::Arrangement;
use num_complex::Complex64;

const DECIBELS: f64 = 0.01;
const DEGREES: f64 = 0.1;
const RATES: [u32; 5] = [44_100, 48_000, 88_200, 96_000, 192_000];

/// Unequal coils, an eddy section, knobs turned down: a circuit in which nothing cancels by symmetry.
fn guitar() -> Guitar {
    let text = "format = 1\n[[pickup]]\nname = \"p\"\ncoupling = 0.15\nbypass = \"22n\"\n\
        [pickup.coil_a]\nresistance = \"3.9k\"\ninductance = \"1.95\"\ncapacitance = \"100p\"\nloss = \"220k\"\n\
        [pickup.coil_b]\nresistance = \"4.2k\"\ninductance = \"2.2\"\ncapacitance = \"120p\"\neddy_share = 0.25\neddy_corner = \"5k\"\noutput = 1.08\n\
        [controls]\nvolume = { pot = \"500k\", turned = 8 }\ntone = { pot = \"500k\", turned = 6, capacitor = \"22n\" }\nbleed = { capacitor = \"1n\", resistor = \"150k\" }\n\
        [cable]\ntotal = \"360p\"\n[input]\nresistance = \"1M\"\n";
    Guitar::read(&Document::new("p2", text)).unwrap()
}

/// An impulse far enough in for what lies before time zero, and the place where it is.
fn impulse(rate: u32) -> (Vec<f64>, usize) {
    let length = rate as usize / 2;
    let at = rate as usize / 10;
    let mut samples = vec![0.0; length];
    samples[at] = 1.0;
    (samples, at)
}

fn responses(guitar: &Guitar, arrangements: &[Arrangement]) -> Vec<VoiceResponse> {
    arrangements.iter().map(|a| Voice::of(*a).response(guitar, &guitar.pickups()[0]).unwrap()).collect()
}

fn configuration(guitar: &Guitar, rate_hz: u32, channels: Channels) -> Configuration<'_> {
    let source_channels = if channels == Channels::Coils { 2 } else { 1 };
    let pickup = &guitar.pickups()[0];
    Configuration {
        guitar,
        scope: pickup.into(),
        rate_hz,
        source_channels,
        channels,
        model: Model::Circuit,
        recorded: None,
        hum: None,
    }
}

/// Compares at 25 frequencies, where the response is above −100 dB.
fn assert_equal(
    place: &str,
    rate: u32,
    ours: impl Fn(f64) -> Complex64,
    theirs: impl Fn(Hertz) -> Complex64,
) {
    let top = 20e3f64.min(0.45 * f64::from(rate));
    for i in 0..=24 {
        let f = 20.0 * (top / 20.0).powf(f64::from(i) / 24.0);
        let expected = theirs(Hertz::new(f));
        let ratio = ours(f) / expected;
        assert!(expected.norm() > 1e-5, "{place}: the example is silent at {f} Hz");
        assert!(ratio.is_finite(), "{place}, {f} Hz");
        let (db, deg) = ((20.0 * ratio.norm().log10()).abs(), ratio.arg().to_degrees().abs());
        assert!(db <= DECIBELS && deg <= DEGREES, "{place}, {f} Hz: {db} dB, {deg} degrees");
    }
}

#[test]
fn an_impulse_in_one_coils_channel_comes_out_as_that_coils_response_at_every_rate() {
    let guitar = guitar();
    let outputs = [1.0, 1.08];
    for rate in RATES {
        let responses = responses(&guitar, &Arrangement::TWO_COIL);
        let (samples, at) = impulse(rate);
        let silence = vec![0.0; samples.len()];
        for (coil, planes) in
            [vec![samples.clone(), silence.clone()], vec![silence, samples]].into_iter().enumerate()
        {
            let heard = rendered(&configuration(&guitar, rate, Channels::Coils), &responses, planes);
            for (response, heard) in responses.iter().zip(&heard) {
                let name = response.voice().name();
                // The coil that a split leaves out couples in at high frequencies only.
                let left_out =
                    [["split-b", "split-b-open"], ["split-a", "split-a-open"]][coil].contains(&name);
                if left_out {
                    continue;
                }
                assert_eq!(heard.len(), 1, "one channel comes out");
                assert_equal(
                    &format!("{name} from coil {coil} at {rate} Hz"),
                    rate,
                    |f| spectrum(&heard[0], at, f, rate) / outputs[coil],
                    |f| {
                        let paths = response.at(f).unwrap();
                        paths.0[coil]
                    },
                );
            }
        }
    }
}

#[test]
fn a_one_channel_source_gives_series_and_parallel_as_half_of_both_at_every_rate() {
    let guitar = guitar();
    for rate in RATES {
        let responses = responses(&guitar, &[Arrangement::Series, Arrangement::Parallel]);
        let (samples, at) = impulse(rate);
        let heard = rendered(&configuration(&guitar, rate, Channels::Stereo), &responses, vec![samples]);
        for (response, heard) in responses.iter().zip(&heard) {
            assert_equal(
                &format!("{} at {rate} Hz", response.voice().name()),
                rate,
                |f| spectrum(&heard[0], at, f, rate),
                |f| response.both(&response.at(f).unwrap()) / 2.0,
            );
        }
    }
}

#[test]
fn both_channels_of_a_stereo_source_are_filtered_alike() {
    let guitar = guitar();
    let responses = responses(&guitar, &[Arrangement::Series, Arrangement::SplitB]);
    let (samples, _) = impulse(48_000);
    let mut configuration = configuration(&guitar, 48_000, Channels::Stereo);
    configuration.source_channels = 2;
    let halved: Vec<f64> = samples.iter().map(|x| x / 2.0).collect();
    for heard in rendered(&configuration, &responses, vec![samples, halved]) {
        assert_eq!(heard.len(), 2);
        assert!(heard[0].iter().zip(&heard[1]).all(|(l, r)| (l / 2.0 - r).abs() < 1e-15));
    }
}

#[test]
fn the_resonance_alone_is_heard_as_its_second_order_form_within_half_a_decibel() {
    // Where the form is exact: equal coils, no tone branch, the volume at full.
    let coil = "resistance = \"3.9k\"\ninductance = \"1.95\"\ncapacitance = \"100p\"\nloss = \"220k\"\n";
    let text = format!(
        "format = 1\n[[pickup]]\nname = \"p\"\n[pickup.coil_a]\n{coil}[pickup.coil_b]\n{coil}[controls]\nvolume = {{ pot = \"500k\" }}\n"
    );
    let guitar = Guitar::read(&Document::new("plain", text)).unwrap();
    let responses = responses(&guitar, &[Arrangement::Series, Arrangement::Parallel]);
    for rate in RATES {
        let (samples, at) = impulse(rate);
        let mut configuration = configuration(&guitar, rate, Channels::Stereo);
        configuration.model = Model::SecondOrder;
        let heard = rendered(&configuration, &responses, vec![samples]);
        for (response, heard) in responses.iter().zip(&heard) {
            let top = 20e3f64.min(0.45 * f64::from(rate));
            for i in 0..=24 {
                let f = 20.0 * (top / 20.0).powf(f64::from(i) / 24.0);
                let circuit = response.both(&response.at(Hertz::new(f)).unwrap()) / 2.0;
                let off = (20.0 * (spectrum(&heard[0], at, f, rate).norm() / circuit.norm()).log10()).abs();
                assert!(off < 0.5, "{} at {rate} Hz, {f} Hz: {off} dB", response.voice().name());
            }
        }
    }
}
