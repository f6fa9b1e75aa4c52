//! What a meter must read on a wired cavity is an independent circuit simulator's operating point, with knobs turned as well;
//! the band holds every guitar within its tolerances; what ohms can show of single mistakes is explained.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::process::Command;

use crate::common::cavities::{deck, guitars, read};
use crate::common::decks::simulator_is_installed;
use drywire::guitar::Guitar;
use drywire::harness::{Harness, Meter, ReadWhere};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Returns the knobs of a cavity with a place for each, as in `volume@0`.
fn knobs(harness: &Harness) -> Vec<String> {
    let pots = harness.parts().all().iter().filter(|part| part.lugs().iter().any(|lug| lug == "case"));
    pots.flat_map(|part| {
        let places: &[u8] = if part.name().ends_with("volume") { &[0, 5] } else { &[0] };
        places.iter().map(|place| format!("{}@{place}", part.name()))
    })
    .collect()
}

/// Returns every place of reading at the jack, with the knobs that are turned from 10 there.
fn places(harness: &Harness) -> Vec<(usize, Option<String>, ReadWhere)> {
    let mut all = Vec::new();
    for (state, name) in harness.throws().names().iter().enumerate() {
        for knob in std::iter::once(None).chain(knobs(harness).into_iter().map(Some)) {
            let levers = if name == "as it is" { String::new() } else { format!("{name}+") };
            let text = match &knob {
                None => name.clone(),
                Some(knob) => format!("{levers}{knob}"),
            };
            let reading = harness.reading(&format!("{text}=1.0k")).unwrap_or_else(|e| panic!("{e}"));
            all.push((state, knob, reading.place));
        }
    }
    all
}

/// Returns a guitar's file with every knob at 10 but the one of a name such as `neck-volume@5`.
fn turned(guitar: &Guitar, knob: Option<&str>) -> Guitar {
    use drywire::guitar::Knob;
    let full = guitar.with_knobs_full();
    let Some((name, place)) = knob.and_then(|knob| knob.split_once('@')) else { return full };
    let place: f64 = place.parse().unwrap();
    let of = |name: &str| guitar.pickups().iter().position(|pickup| pickup.name().as_str() == name);
    let (whose, what) = match name {
        "volume" | "bass-cut" | "blend" | "tone" => (None, name),
        other => {
            let (pickup, what) = other.rsplit_once('-').unwrap();
            (of(pickup), what)
        }
    };
    let knob = match what {
        "volume" => Knob::Volume(whose),
        "bass-cut" => Knob::BassCut(whose),
        "blend" => Knob::Blend,
        // No direct current flows there.
        _ => return full,
    };
    full.with_knob_at(knob, place)
}

#[test]
fn the_ohms_with_every_knob_turned_are_the_simulators_operating_point() {
    if !simulator_is_installed() {
        return;
    }
    let (mut compared, mut worst) = (0, 0.0_f64);
    for (name, text) in guitars() {
        let guitar = read(&text);
        if guitar.buffer().is_some() || name == "many-states" {
            continue;
        }
        let harness = Harness::of(&guitar).unwrap();
        let meter = Meter::of(&harness).unwrap();
        for (state, knob, place) in places(&harness) {
            let standing = Harness::of(&turned(&guitar, knob.as_deref())).unwrap();
            let deck = deck(&standing, &standing.simple_wires(), state);
            let input = guitar.input().resistance().value();
            let tip = deck.lines().find_map(|line| line.strip_prefix("ejack jack 0 ")).unwrap();
            let tip = tip.split(' ').next().unwrap();
            let whole = format!(
                "* a cavity at the meter\n{deck}imeter 0 {tip} dc 1u\n.options reltol=1e-9 gmin=1e-18\n.control\n\
                 set numdgt=12\nop\nprint v(jack)\nquit\n.endc\n.end\n"
            );
            let folder = tempfile::tempdir().unwrap();
            std::fs::write(folder.path().join("deck.cir"), &whole).unwrap();
            let run =
                Command::new("ngspice").args(["-b", "deck.cir"]).current_dir(folder.path()).output().unwrap();
            let told = String::from_utf8_lossy(&run.stdout).into_owned();
            let volts = told.lines().find_map(|line| line.strip_prefix("v(jack) = "));
            // A tip on ground has no voltage to be told.
            let together = if tip == "0" {
                0.0
            } else {
                volts.unwrap_or_else(|| panic!("{told}\n{whole}")).trim().parse::<f64>().unwrap() / 1e-6
            };
            let expected = meter.expected(place).nominal();
            match expected {
                None => assert!(together > 0.999 * input, "{name}, {state}, {knob:?}: open, {together}"),
                Some(ours) if ours.value() < 1.0 => {
                    assert!(together < 1.1, "{name}, {state}, {knob:?}: {ours} {together}");
                }
                Some(ours) => {
                    let theirs = 1.0 / (1.0 / together - 1.0 / input);
                    let relative = (ours.value() / theirs - 1.0).abs();
                    assert!(relative < 1e-3, "{name}, {state}, {knob:?}: {ours} {theirs}");
                    (compared, worst) = (compared + 1, worst.max(relative));
                }
            }
        }
    }
    assert!(compared > 100, "{compared} readings");
    println!("{compared} readings, worst {worst:.1e}");
}

#[test]
fn the_band_holds_every_guitar_within_its_tolerances() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    for (name, text) in guitars() {
        let guitar = read(&text);
        if guitar.buffer().is_some() || name == "many-states" {
            continue;
        }
        let harness = Harness::of(&guitar).unwrap();
        let meter = Meter::of(&harness).unwrap();
        let places = places(&harness);
        for _ in 0..80 {
            let drawn = guitar.with_parts(|part| {
                let [low, high] = guitar.tolerances().range(part.kind, part.origin, part.value);
                let share = f64::from(u32::try_from(random.next_u64() >> 32).unwrap()) / f64::from(u32::MAX);
                low + share * (high - low)
            });
            let theirs = Meter::of(&Harness::of(&drawn).unwrap()).unwrap();
            for (_, knob, place) in &places {
                let (band, own) = (meter.expected(*place).band(), theirs.expected(*place).nominal());
                match (band, own) {
                    (None, None) => {}
                    (Some([low, high]), Some(own)) => {
                        assert!(
                            (low.value()..=high.value()).contains(&own.value()),
                            "{name}, {knob:?}: {low} {own} {high}"
                        );
                    }
                    different => panic!("{name}, {knob:?}: {different:?}"),
                }
            }
        }
    }
}

#[test]
fn readings_with_a_knob_turned_are_explained_by_the_mistake_that_gives_them() {
    let text = guitars().into_iter().find(|(name, _)| name == "set-neck").unwrap().1;
    let harness = Harness::of(&read(&text)).unwrap();
    let meter = Meter::of(&harness).unwrap();
    let judge = |texts: &[&str]| {
        let readings: Vec<_> = texts.iter().map(|text| harness.reading(text).unwrap()).collect();
        meter.judge(&harness.simple_wires(), &readings)
    };
    let right = judge(&["selector:1=7.7k", "selector:1+volume@0=0", "tone.case=beep", "tone.3=open"]);
    assert!(right.readings.iter().all(|reading| reading.fits), "{right:#?}");
    assert!(right.explained_by.is_empty());
    // Volume backwards: nothing at 10, the pickup at 0.
    let backwards = judge(&["selector:1=0", "selector:1+volume@0=7.6k"]);
    assert!(backwards.readings.iter().all(|reading| !reading.fits));
    let told = &backwards.explained_by;
    let exchanged = "what is on the left lug of the volume control (volume.1) and on the right lug of the volume control (volume.3) is exchanged";
    assert!(told.contains(&exchanged.to_owned()), "{told:?}");
    // The jack's contacts exchanged: metal reads the pickup.
    let swapped = judge(&["tone.case=7.7k", "volume.case=7.7k"]);
    assert!(
        swapped.explained_by.contains(
            &"what is on the jack's tip (jack.tip) and on the jack's sleeve (jack.sleeve) is exchanged"
                .to_owned()
        ),
        "{swapped:#?}"
    );
    // Lugs 2 and 3 touching are found half way.
    let touching = judge(&["selector:1=7.7k", "selector:1+volume@5=7.7k"]);
    let touch = |told: &String| told.contains("(volume.2) and ") && told.ends_with("(volume.3) touch");
    assert!(touching.explained_by.iter().any(touch), "{touching:#?}");
}

#[test]
fn what_no_reading_shows_is_listed_whole_each_with_its_test() {
    for (name, text) in guitars() {
        let harness = Harness::of(&read(&text)).unwrap();
        let unseen = Meter::of(&harness).unwrap().unseen(&harness.plan().unwrap().ends());
        let all: Vec<&String> = unseen.iter().flat_map(|own| &own.mistakes).collect();
        // A mistake told with these names, and with these words after them.
        let is_told = |told: &str, names: &[&str], words: &str| {
            names.iter().all(|name| told.contains(&format!("({name})"))) && told.ends_with(words)
        };
        let test_of = |names: &[&str], words: &str| {
            let mistake = format!("{names:?} {words}");
            let of = unseen.iter().find(|own| own.mistakes.iter().any(|told| is_told(told, names, words)));
            of.unwrap_or_else(|| panic!("{name}: {mistake}\n{all:#?}")).settle_by.as_str()
        };
        assert!(unseen.iter().all(|own| !own.settle_by.is_empty() && !own.mistakes.is_empty()), "{name}");
        if name != "set-neck" {
            continue;
        }
        println!("{} unseen", all.len());
        // The whole tone branch, phase, which of two like pickups it is, by ear; volume 2 and 3 touching is read at 5.
        for (names, words) in [
            (&["tone.2"][..], "are not joined"),
            (&["tone.1", "tone.2"], "touch"),
            (&[], "the track of the tone control is broken"),
        ] {
            let test = test_of(names, words);
            assert!(test.contains("the tone control must read its track"), "{name}: {test}");
            assert!(test.contains("the sound must darken evenly as it is turned down"), "{name}: {test}");
        }
        let test = test_of(&["tone.1", "tone.3"], "is exchanged");
        assert!(test.contains("the right lug of the volume control (volume.3) must beep"), "{name}: {test}");
        for by_ear in [
            ["bridge.a+", "bridge.a-"],
            ["neck.a+", "neck.b-"],
            ["bridge.a+", "neck.a+"],
            ["selector.1", "selector.2"],
        ] {
            let test = test_of(&by_ear, "is exchanged");
            assert!(test.contains("tap each coil's poles with steel"), "{name}: {test}");
        }
        for read_otherwise in [&["volume.2", "volume.3"][..], &["strings.wire"], &["jack.tip"]] {
            let is_there =
                all.iter().any(|told| is_told(told, read_otherwise, "") && !told.ends_with("exchanged"));
            assert!(!is_there, "{read_otherwise:?}: {all:#?}");
        }
    }
}
