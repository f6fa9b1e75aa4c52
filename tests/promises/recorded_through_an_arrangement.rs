//! A take recorded through an arrangement comes back through it unchanged, and through another by the bounded ratio of
//! the two.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::program::{Set, drywire, read_wav, repository, write_wav};
use crate::common::render::spectrum;
use drywire::guitar::Guitar;
use drywire::quantity::Hertz;
use drywire::response::{OneChannel, Recorded, Voice, VoiceResponse};

const NULL_DB: f64 = -90.0;
const DECIBELS: f64 = 0.01;
/// Where a one-channel take gives a voice only approximately, by 2 to 3 dB: what its short kernel may be off by.
const APPROXIMATELY: f64 = 0.1;

fn response(name: &str) -> VoiceResponse {
    let guitar = Guitar::built_in("set-neck").unwrap();
    Voice::of(name.parse().unwrap()).response(&guitar, &guitar.pickups()[0]).unwrap()
}

#[test]
fn a_direct_recording_comes_back_through_its_own_arrangement_to_minus_90_decibels() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let (source, _) = read_wav(recording.as_ref());
    for bits in ["24", "32f"] {
        let set = Set::heard(
            folder.path(),
            &[&recording, "--guitar", "set-neck", "--recorded-through", "series", "--bits", bits],
        );
        for kind in ["as_is", "matched"] {
            let entry = &set.arrangement("series")[kind];
            let undo = 10f64.powf(-entry["gain_db"].as_f64().unwrap() / 20.0);
            let (planes, _) = set.read(entry["file"].as_str().unwrap());
            let power = |samples: &mut dyn Iterator<Item = f64>| samples.map(|x| x * x).sum::<f64>();
            let left = power(&mut planes[0].iter().zip(&source[0]).map(|(heard, own)| heard * undo - own));
            let null = 10.0 * (left / power(&mut source[0].iter().copied())).log10();
            assert!(null <= NULL_DB, "{bits} bits, {kind}: {null} dB");
        }
        assert_eq!(set.figures["source"]["recorded_through"], "series");
    }
}

#[test]
fn another_arrangement_is_heard_by_the_bounded_ratio_of_the_two() {
    let folder = tempfile::tempdir().unwrap();
    let (rate, at) = (48_000, 12_000);
    let mut impulse = vec![0.0; 40_000];
    impulse[at] = 0.25;
    write_wav(&folder.path().join("impulse.wav"), &[impulse], rate);
    let recorded = Recorded::new(response("series")).unwrap();
    let arguments = ["impulse.wav", "--guitar", "set-neck", "--recorded-through", "series", "--bits", "32f"];
    let set = Set::heard(folder.path(), &arguments);
    for (name, allowed) in
        [("parallel", DECIBELS), ("split-a", APPROXIMATELY), ("series-reversed", APPROXIMATELY)]
    {
        let target = response(name);
        let rule = OneChannel::rule(&target);
        let target = |f| target.at(f).map(|paths| rule.transfer(f, &paths, target.outputs()));
        let ratio = recorded.ratio_to(target).unwrap();
        let entry = &set.arrangement(name)["as_is"];
        let gain = 0.25 * 10f64.powf(entry["gain_db"].as_f64().unwrap() / 20.0);
        let (planes, _) = set.read(entry["file"].as_str().unwrap());
        for i in 0..=60 {
            let f = 20.0 * 1000f64.powf(f64::from(i) / 60.0);
            let expected = ratio.bounded(target(Hertz::new(f)).unwrap(), recorded.at(Hertz::new(f)).unwrap());
            let heard = spectrum(&planes[0], at, f, rate) / gain;
            let off = (20.0 * (heard.norm() / expected.norm()).log10()).abs();
            assert!(off <= allowed, "{name}, {f} Hz: {off} dB");
        }
    }
}

#[test]
fn a_dark_take_is_warned_about_and_an_out_of_phase_one_refused() {
    let folder = tempfile::tempdir().unwrap();
    let dark = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n[controls]\n\
                volume = { pot = \"500k\" }\ntone = { pot = \"500k\", turned = 0 }\n";
    std::fs::write(folder.path().join("dark.toml"), dark).unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let through = ["--recorded-through", "series", "--recorded-guitar", "dark.toml", "--guitar", "set-neck"];
    let set = Set::heard(folder.path(), &[&[recording.as_str()][..], &through].concat());
    assert!(set.figures["notes"].to_string().contains("of its treble is not in the recording"));

    let refused = drywire(folder.path(), &["hear", &recording, "--recorded-through", "parallel-reversed"]);
    assert_eq!(refused.status.code(), Some(2));
    let told = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(told.contains("recorded out of phase") && told.contains("hint:"), "{told}");
    assert!(!folder.path().join("drywire-out").exists(), "a refusal writes nothing");
}
