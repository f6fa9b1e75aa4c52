//! The response against closed forms, handbook rules and the trade's.

use super::*;
use crate::circuit::modes;
use crate::document::Document;
use crate::guitar::Guitar;
use crate::quantity::{Db, Hertz};
use crate::wiring::Arrangement;

/// Two equal coils, no tone branch, no eddy section, the volume at full: the case in which the second-order form
/// is exact.
fn plain_guitar(coupling: f64, loss: &str) -> Guitar {
    let coil = format!("resistance = \"3.9k\"\ninductance = \"1.95\"\ncapacitance = \"100p\"\n{loss}\n");
    let text = format!(
        "format = 1\n[[pickup]]\nname = \"p\"\ncoupling = {coupling}\nbypass = \"22n\"\n[pickup.coil_a]\n{coil}[pickup.coil_b]\n{coil}\
         [controls]\nvolume = {{ pot = \"500k\" }}\n[cable]\ntotal = \"360p\"\n[input]\nresistance = \"1M\"\ncapacitance = \"0\"\n"
    );
    Guitar::read(&Document::new("plain", text)).unwrap()
}

fn heard(guitar: &Guitar, arrangement: Arrangement) -> VoiceResponse {
    Voice::of(arrangement).response(guitar, &guitar.pickups()[0]).unwrap()
}

#[test]
fn series_and_parallel_of_equal_coils_are_exactly_second_order_with_and_without_loss() {
    for loss in ["", "loss = \"220k\""] {
        let guitar = plain_guitar(0.13, loss);
        for arrangement in [Arrangement::Series, Arrangement::Parallel] {
            let second = SecondOrder::of(&guitar, &guitar.pickups()[0], arrangement);
            let circuit = heard(&guitar, arrangement);
            let distance = second.distance(&circuit).unwrap();
            assert!(distance.value() < 1e-6, "{arrangement}: {distance:.9}");
            let resonance = circuit.figures().unwrap().resonance.unwrap();
            assert!((resonance.frequency.value() / second.frequency().value() - 1.0).abs() < 1e-9);
            assert!((resonance.q / second.q() - 1.0).abs() < 1e-6, "{} {}", resonance.q, second.q());
        }
    }
}

#[test]
fn one_coil_beside_another_is_second_order_only_without_coupling() {
    let uncoupled = plain_guitar(0.0, "loss = \"220k\"");
    let coupled = plain_guitar(0.13, "loss = \"220k\"");
    for arrangement in [Arrangement::SplitA, Arrangement::SplitBOpen] {
        let distance = |guitar: &Guitar| {
            let second = SecondOrder::of(guitar, &guitar.pickups()[0], arrangement);
            let telling = heard(guitar, arrangement);
            second.distance(&telling).unwrap().value()
        };
        assert!(distance(&uncoupled) < 1e-6, "{arrangement}");
        assert!((1.0..2.0).contains(&distance(&coupled)), "{arrangement}: {}", distance(&coupled));
    }
}

/// Source: any handbook of network theory; inductors in series aiding add to L_A + L_B + 2M, side by side they
/// are (L_A L_B − M²)/(L_A + L_B − 2M); a resonance is at 1/(2π√(LC)).
#[test]
fn the_resonances_of_series_and_parallel_are_those_of_the_handbooks_inductances() {
    let guitar = plain_guitar(0.13, "");
    // Without loss and with loads of megohms the undamped frequency is 1/(2π√(LC)) within the loads' share R/R_L.
    for (arrangement, l, c) in [
        (Arrangement::Series, 2.0 * 1.95 * 1.13, 50e-12 + 360e-12),
        (Arrangement::Parallel, 1.95 * 1.13 / 2.0, 200e-12 + 360e-12),
    ] {
        let undamped = 1.0 / (std::f64::consts::TAU * f64::sqrt(l * c));
        let resonance = heard(&guitar, arrangement).figures().unwrap().resonance.unwrap();
        let r_over_load = 7800.0 / 333.3e3;
        assert!((resonance.frequency.value() / undamped - 1.0).abs() < r_over_load, "{arrangement}");
    }
}

/// Common practice, no source: parallel gives about half of series, hum cancels in both and not with one coil
/// alone, and the resonance of parallel is higher.
#[test]
fn parallel_is_half_of_series_brighter_and_as_free_of_hum() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let figures = |arrangement| heard(&guitar, arrangement).figures().unwrap();
    let (series, parallel, split) =
        (figures(Arrangement::Series), figures(Arrangement::Parallel), figures(Arrangement::SplitA));
    let drop = parallel.gain_low.unwrap() - series.gain_low.unwrap();
    assert!((drop.value() + 5.9).abs() < 0.2, "{drop}");
    assert!(parallel.resonance.unwrap().frequency > series.resonance.unwrap().frequency);
    // The lead's capacitance, which loads one end of each coil in series, leaves a little there.
    assert!((-120.0..-60.0).contains(&series.hum.unwrap().value()), "{:?}", series.hum);
    assert_eq!(parallel.hum, None);
    let twins = plain_guitar(0.13, "loss = \"220k\"");
    for arrangement in [Arrangement::Series, Arrangement::Parallel] {
        assert_eq!(heard(&twins, arrangement).figures().unwrap().hum, None, "{arrangement}");
    }
    assert!(split.hum.unwrap().value().abs() < 0.2, "{:?}", split.hum);
    // Equal coils read 4 : 2 : 1 before the pots shunt them.
    let dc = |f: Figures| f.dc_at_jack.unwrap().value();
    let before_the_pot = |r: f64| 1.0 / (1.0 / r - 1.0 / 500e3);
    assert!((before_the_pot(dc(series)) / before_the_pot(dc(parallel)) - 4.0).abs() < 1e-9);
    assert!((before_the_pot(dc(series)) / before_the_pot(dc(split)) - 2.0).abs() < 1e-9);
}

#[test]
fn reversed_voices_are_out_of_phase_hum_and_have_no_level_of_their_own() {
    let guitar = plain_guitar(0.13, "loss = \"220k\"");
    for arrangement in [Arrangement::SeriesReversed, Arrangement::ParallelReversed] {
        let figures = heard(&guitar, arrangement).figures().unwrap();
        assert!(!figures.in_phase);
        assert_eq!(figures.gain_low, None, "identical coil signals cancel");
        assert!(figures.resonance.is_some(), "told in coil A's path");
        let adds = if arrangement == Arrangement::SeriesReversed { 6.0 } else { 0.0 };
        assert!((figures.hum.unwrap().value() - adds).abs() < 0.3, "{arrangement}: {:?}", figures.hum);
    }
}

#[test]
fn a_shorted_coil_takes_a_little_of_its_neighbours_voltage_and_an_open_one_does_not() {
    let guitar = plain_guitar(0.13, "");
    let shorted = heard(&guitar, Arrangement::SplitA);
    let open = heard(&guitar, Arrangement::SplitAOpen);
    let f = Hertz::new(1500.0);
    let both = |r: &VoiceResponse| r.both(&r.at(f).unwrap()).norm();
    // −1.2 dB at k = 0.13, well above R/(2πL) = 318 Hz and below the resonance, which the inductance L(1 − k²)
    // moves by less than a hundredth.
    let drop = Db::of_amplitude(both(&shorted) / both(&open));
    assert!((drop.value() + 1.2).abs() < 0.15, "{drop:.3}");
    assert_eq!(shorted.sounding(), [true, false]);
}

#[test]
fn a_mode_that_equal_coils_never_excite_is_not_reported() {
    let guitar = plain_guitar(0.13, "");
    let response = heard(&guitar, Arrangement::Parallel);
    let ringing: Vec<f64> =
        modes(response.circuit()).iter().filter(|m| m.rings()).map(|m| m.frequency().value()).collect();
    let reported = response.figures().unwrap().resonance.unwrap().frequency.value();
    assert!(ringing.iter().any(|f| (f / reported - 1.0).abs() < 1e-9));
    assert!((2000.0..8000.0).contains(&reported), "{reported} of {ringing:?}");
}

#[test]
fn scaling_resistances_and_inductances_by_k_and_capacitances_by_one_over_k_leaves_the_response() {
    let scaled = |k: f64| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\n[pickup.coil_a]\nresistance = {}\ninductance = {}\ncapacitance = \"{:e}\"\nloss = {}\n\
             [pickup.coil_b]\nresistance = {}\ninductance = {}\ncapacitance = \"{:e}\"\n\
             [controls]\nvolume = {{ pot = {}, taper = \"linear\", turned = 6 }}\ntone = {{ pot = {}, capacitor = \"{:e}\" }}\n\
             [cable]\ntotal = \"{:e}\"\n[input]\nresistance = {}\ncapacitance = \"{:e}\"\n",
            3900.0 * k,
            1.95 * k,
            100e-12 / k,
            220e3 * k,
            4100.0 * k,
            2.1 * k,
            110e-12 / k,
            500e3 * k,
            500e3 * k,
            22e-9 / k,
            360e-12 / k,
            1e6 * k,
            80e-12 / k
        );
        Guitar::read(&Document::new("scaled", text)).unwrap()
    };
    let (one, other) = (scaled(1.0), scaled(3.7));
    for arrangement in [Arrangement::Series, Arrangement::Parallel, Arrangement::SplitBOpen] {
        let (one, other) = (heard(&one, arrangement), heard(&other, arrangement));
        for f in [50.0, 1000.0, 4000.0, 15_000.0] {
            let (p, q) = (one.at(Hertz::new(f)).unwrap(), other.at(Hertz::new(f)).unwrap());
            let off = p.0.iter().zip(&q.0).map(|(p, q)| (p - q).norm()).fold(0.0, f64::max);
            assert!(off < 1e-9, "{arrangement} {f}");
        }
    }
}

#[test]
fn a_take_recorded_through_a_voice_comes_back_through_it_unchanged_and_is_bounded_through_others() {
    let guitar = plain_guitar(0.13, "loss = \"220k\"");
    let recorded = Recorded::new(heard(&guitar, Arrangement::Series), StandsFor::Own).unwrap();
    let ratio = recorded.ratio_to(|f| recorded.at(f)).unwrap();
    for f in [30.0, 3000.0, 19_000.0] {
        let h = recorded.at(Hertz::new(f)).unwrap();
        // The bound costs 10⁻⁸ where the ratio is 18 dB below it.
        assert!((ratio.bounded(h, h) - 1.0).norm() < 1e-8);
    }
    assert_eq!(recorded.beyond_the_bound(ratio, |f| recorded.at(f)).unwrap(), None);
    let reversed = Recorded::new(heard(&guitar, Arrangement::ParallelReversed), StandsFor::Own);
    assert!(matches!(reversed, Err(RecordedError::OutOfPhase { .. })));
}

#[test]
fn a_dark_take_cannot_be_made_bright_beyond_the_bound_and_that_is_said() {
    let dark = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\n[controls]\nvolume = { pot = \"500k\" }\ntone = { pot = \"500k\", turned = 0 }\n";
    let dark = Guitar::read(&Document::new("dark", dark)).unwrap();
    let bright = Guitar::built_in("set-neck").unwrap();
    let recorded = Recorded::new(heard(&dark, Arrangement::Series), StandsFor::Own).unwrap();
    let target = heard(&bright, Arrangement::Series);
    let rule = OneChannel::rule(&target);
    let target = |f| target.at(f).map(|p| rule.transfer(f, &p, target.outputs()));
    let ratio = recorded.ratio_to(target).unwrap();
    let beyond = recorded.beyond_the_bound(ratio, target).unwrap().expect("far beyond");
    assert!(beyond.value() > 15.0, "{beyond}");
    let f = Hertz::new(6000.0);
    let bounded = ratio.bounded(target(f).unwrap(), recorded.at(f).unwrap()).norm();
    let low = (target(Hertz::new(100.0)).unwrap() / recorded.at(Hertz::new(100.0)).unwrap()).norm();
    assert!(Db::of_amplitude(bounded / low).value() <= 18.0);
}

#[test]
fn a_volume_knob_at_zero_is_silence_and_no_fault() {
    let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\n[controls]\nvolume = { pot = \"500k\", turned = 0 }\n";
    let guitar = Guitar::read(&Document::new("off", text)).unwrap();
    let figures = heard(&guitar, Arrangement::Series).figures().unwrap();
    assert_eq!((figures.resonance, figures.peak, figures.gain_low), (None, None, None));
    assert_eq!(figures.dc_at_jack.map(crate::quantity::Ohms::value), Some(0.0));
}

#[test]
fn a_pickups_level_moves_its_strings_and_not_its_hum() {
    let text = |level: &str| {
        format!(
            "format = 1\njoints = [[\"bridge\", \"neck\", \"out\"]]\n[[pickup]]\nname = \"bridge\"\nlike = \"single-coil\"\n\
             [[pickup]]\nname = \"neck\"\nlike = \"single-coil\"\nfrom_bridge = \"150 mm\"\n{level}"
        )
    };
    let guitar = |level| Guitar::read(&Document::new("mine.toml", text(level))).unwrap();
    let (plain, lower) = (guitar(""), guitar("level = \"-3 dB\"\n"));
    let alone = Voice::of(Arrangement::Alone);
    for (pickup, level) in [(0, 0.0), (1, -3.0)] {
        let [own, other] =
            [&lower, &plain].map(|guitar| alone.response(guitar, &guitar.pickups()[pickup]).unwrap());
        let told = 20.0 * (own.outputs()[0] / other.outputs()[0]).log10();
        assert!((told - level).abs() < 1e-9, "{told}");
        assert_eq!(own.hum_weights(), other.hum_weights(), "hum is as it was");
    }
    assert!(plain.assumed().iter().any(|line| line.starts_with("levels between pickups")));
    assert!(!lower.assumed().iter().any(|line| line.starts_with("levels between pickups")));
}

#[test]
fn a_shorted_coil_floats_at_direct_current_whatever_its_ohms() {
    for hundredths in 350..=450 {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\n[pickup.coil_a]\nresistance = \"3.61k\"\n\
             [pickup.coil_b]\nresistance = \"{}k\"\n",
            f64::from(hundredths) / 100.0
        );
        let guitar = Guitar::read(&Document::new("mine.toml", text)).unwrap();
        for arrangement in [Arrangement::SplitA, Arrangement::SplitB] {
            let response = heard(&guitar, arrangement);
            let paths = [0.0, 1.0].map(|hertz| response.at(Hertz::new(hertz)).unwrap().0);
            for (direct, slow) in paths[0].iter().zip(&paths[1]) {
                assert!(
                    (direct.norm() - slow.norm()).abs() < 1e-3,
                    "{hundredths} {arrangement}: {direct} {slow}"
                );
            }
        }
    }
}
