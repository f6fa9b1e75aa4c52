//! A take recorded through an arrangement, a throw or a position of the whole guitar comes back through it unchanged, and
//! through another by the bounded ratio of the two.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::common::program::{Set, drywire, read_wav, repository, write_wav};
use crate::common::render::spectrum;
use drywire::guitar::Guitar;
use drywire::quantity::Hertz;
use drywire::response::{OneChannel, Recorded, StandsFor, Voice, VoiceResponse};

const NULL_DB: f64 = -90.0;
const DECIBELS: f64 = 0.01;
/// Where a one-channel take gives a voice only approximately: what its short kernel may be off by. It evens the response out
/// over some 100 Hz, so that of a dip the bottom is off by more, against which nothing is heard beside its sides: there it is
/// held to the highest that the response has within a third octave.
const APPROXIMATELY: f64 = 0.15;
const SIXTHS: [f64; 5] = [-2.0, -1.0, 0.0, 1.0, 2.0];

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
        let set = Set::without_page(
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

/// A set-neck guitar with a switch on its bridge pickup: series, nothing, parallel.
fn switched() -> String {
    let set_neck = std::fs::read_to_string(repository("presets/guitars/set-neck.toml")).unwrap();
    set_neck
        + "[[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-off-on\"\njoints = [[\"a+\", \"hot\", \"L3\"], \
           [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n"
}

#[test]
fn a_take_made_through_a_position_comes_back_through_whatever_is_the_same_circuit() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("mine.toml"), switched()).unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let (source, _) = read_wav(recording.as_ref());
    // In its first throw the selector leaves the bridge pickup alone, which the switch's first throw connects in series.
    for (through, listed, same) in [
        ("selector:2+mode:3", "selector:2+mode:3,selector:1", "selector:2+mode:3"),
        ("selector:1", "series,split-a", "series"),
        ("selector:1+bridge=parallel", "parallel,series", "parallel"),
        ("selector:1+mode:3", "throws", "mode:3"),
        ("mode:1", "throws", "mode:1"),
        ("series", "positions", "selector:1"),
        ("mode:1", "positions", "selector:1"),
    ] {
        let asked = ["--guitar", "mine.toml", "--recorded-through", through, "--arrangements", listed];
        let set =
            Set::heard(folder.path(), &[&asked[..], &[&recording, "--bits", "32f", "--no-page"]].concat());
        let entry = &set.arrangement(same)["as_is"];
        let undo = 10f64.powf(-entry["gain_db"].as_f64().unwrap() / 20.0);
        let (planes, _) = set.read(entry["file"].as_str().unwrap());
        let power = |samples: &mut dyn Iterator<Item = f64>| samples.map(|x| x * x).sum::<f64>();
        let left = power(&mut planes[0].iter().zip(&source[0]).map(|(heard, own)| heard * undo - own));
        let null = 10.0 * (left / power(&mut source[0].iter().copied())).log10();
        assert!(null <= NULL_DB, "{through}, {same}: {null} dB");
        assert_eq!(set.figures["source"]["recorded_through"], through);
        let notes = set.figures["notes"].to_string();
        let is_mixed = through.contains("selector") != same.contains("selector") && through != "mode:1";
        assert_eq!(notes.contains("the take is held to be made through"), is_mixed, "{through}: {notes}");
    }
}

#[test]
fn a_pickup_at_another_place_is_as_loud_as_the_strings_swing_there() {
    let folder = tempfile::tempdir().unwrap();
    let recording = repository("tests/data/harmonics_mono.wav");
    let drop = |arguments: &[&str]| {
        let all = [&["--guitar", "set-neck", "--match", "rms", "--no-page", &recording], arguments].concat();
        let set = Set::heard(folder.path(), &all);
        set.arrangement("selector:3")["drop_rms_db"].as_f64().unwrap()
    };
    let positions = ["--arrangements", "positions", "--recorded-through"];
    let whole = drop(&[&positions[..], &["selector:1"]].concat());
    let apart = drop(&[&positions[..], &["series"]].concat());
    // Harmonics of half a kilohertz and more: higher than where strings swing wider the further they are from the bridge.
    assert!((whole - apart).abs() < 0.01 && (0.5..3.0).contains(&whole), "{whole} {apart}");
}

#[test]
fn a_voice_that_cannot_be_is_said_once_before_any_source_is_opened() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("mine.toml"), switched()).unwrap();
    std::fs::create_dir(folder.path().join("takes")).unwrap();
    for take in ["takes/a.wav", "takes/b.wav"] {
        std::fs::write(folder.path().join(take), "no sound at all").unwrap();
    }
    let refused = |through: &str, more: &[&str]| {
        let asked = ["hear", "missing.wav", "takes", "--guitar", "mine.toml", "--recorded-through", through];
        let refused = drywire(folder.path(), &[&asked[..], more].concat());
        let told = String::from_utf8_lossy(&refused.stderr).into_owned();
        assert_eq!(refused.status.code(), Some(2), "{told}");
        assert!(told.matches("error:").count() == 1 && told.matches("hint:").count() == 1, "{told}");
        assert!(!told.contains("wav") && !told.contains("separate several"), "{told}");
        assert!(refused.stdout.is_empty() && !folder.path().join("drywire-out").exists());
        told
    };
    for (through, said) in [
        ("nonsense", "--recorded-through: `nonsense` is no arrangement"),
        ("serie", "did you mean `series`?"),
        ("alone", "`alone` is not an arrangement of two coils"),
        ("series-bypassed", "no bypass capacitor"),
        ("parallel-reversed", "recorded out of phase"),
        ("selector:2+neck=series-reversed", "recorded out of phase"),
        ("mode:2", "nothing is heard through `mode:2`"),
        ("selector:1+mode:2", "nothing is heard through `selector:1+mode:2`"),
        ("selector:4", "selector `selector` has no throw `4`"),
        ("mode:4", "switch `mode` has no throw `4`"),
        ("throws", "`throws` is several, and one is wanted"),
        ("positions", "`positions` is several, and one is wanted"),
        ("middle=series", "the guitar has no pickup `middle`"),
    ] {
        assert!(refused(through, &[]).contains(said), "{through}: {}", refused(through, &[]));
    }
    let told = refused("selector:1+x", &["--arrangements", "positions"]);
    assert!(told.contains("`x` is no part of a position"), "{told}");
    let told = refused("series", &["--source-channels", "coils"]);
    assert!(told.contains("was not recorded through an arrangement"), "{told}");
    for listed in ["throws", "positions"] {
        let told = drywire(
            folder.path(),
            &["hear", "takes", "--guitar", "mine.toml", "--model", "second-order", "--arrangements", listed],
        );
        let told = String::from_utf8_lossy(&told.stderr).into_owned();
        assert!(told.contains("is no named arrangement") && !told.contains("a.wav"), "{told}");
    }
    let told = drywire(folder.path(), &["hear", "--recorded-through", "series"]);
    let told = String::from_utf8_lossy(&told.stderr).into_owned();
    assert!(told.contains("no take is named"), "{told}");
}

/// The highest of a response within a third octave around a frequency.
fn highest_near(f: f64, response: &impl Fn(f64) -> f64) -> f64 {
    SIXTHS.iter().map(|steps| response(f * 2f64.powf(steps / 12.0))).fold(0.0, f64::max)
}

#[test]
fn another_arrangement_is_heard_by_the_bounded_ratio_of_the_two() {
    let folder = tempfile::tempdir().unwrap();
    let (rate, at) = (48_000, 12_000);
    let mut impulse = vec![0.0; 40_000];
    impulse[at] = 0.25;
    write_wav(&folder.path().join("impulse.wav"), &[impulse], rate);
    let recorded = Recorded::new(response("series"), StandsFor::Own).unwrap();
    let arguments = ["impulse.wav", "--guitar", "set-neck", "--recorded-through", "series", "--bits", "32f"];
    let set = Set::without_page(folder.path(), &arguments);
    for (name, allowed) in
        [("parallel", DECIBELS), ("split-a", APPROXIMATELY), ("series-reversed", APPROXIMATELY)]
    {
        let target = response(name);
        let rule = OneChannel::rule(&target);
        let target = |f| target.at(f).map(|paths| rule.transfer(f, &paths, target.outputs()));
        let ratio = recorded.ratio_to(target).unwrap();
        let wanted = |f: f64| {
            ratio.bounded(target(Hertz::new(f)).unwrap(), recorded.at(Hertz::new(f)).unwrap()).norm()
        };
        let entry = &set.arrangement(name)["as_is"];
        let gain = 0.25 * 10f64.powf(entry["gain_db"].as_f64().unwrap() / 20.0);
        let (planes, _) = set.read(entry["file"].as_str().unwrap());
        for i in 0..=60 {
            let f = 20.0 * 1000f64.powf(f64::from(i) / 60.0);
            let heard = spectrum(&planes[0], at, f, rate) / gain;
            let against = if allowed > DECIBELS { highest_near(f, &wanted) } else { wanted(f) };
            let off = (20.0 * (1.0 + (heard.norm() - wanted(f)).abs() / against).log10()).abs();
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
    let set = Set::without_page(folder.path(), &[&[recording.as_str()][..], &through].concat());
    assert!(set.figures["notes"].to_string().contains("of its treble is not in the recording"));

    let refused = drywire(folder.path(), &["hear", &recording, "--recorded-through", "parallel-reversed"]);
    assert_eq!(refused.status.code(), Some(2));
    let told = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(told.contains("recorded out of phase") && told.contains("hint:"), "{told}");
    assert!(!folder.path().join("drywire-out").exists(), "a refusal writes nothing");
}
