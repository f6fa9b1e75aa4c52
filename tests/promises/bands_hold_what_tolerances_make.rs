//! The bands are what part tolerances make of the figures: every part drawn evenly within its tolerance, the draws' own
//! circuits equal to an independent simulator's within 0.001 dB, the same bands on any number of threads.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::fmt::Write as _;
use std::process::Command;

use crate::common::decks::simulator_is_installed;
use crate::common::draws::deck;
use crate::common::neutral::neutral;
use crate::common::program::{drywire, succeeds};
use drywire::bands::{
    Band, Bands, BandsInput, CurveBand, Draws, Sensitivity, VoiceBands, bands, sensitivity,
};
use drywire::circuit::Sweep;
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::quantity::Hertz;
use drywire::response::{Scope, Selection, Setting as Position, Voice, VoiceResponse};
use drywire::wiring::Arrangement;
use serde_json::Value;

/// As many draws as the simulator is asked for.
const DRAWS: usize = 200;

fn told(guitar: &Guitar, draws: usize, workers: usize) -> Bands {
    let scope = Scope::from(&guitar.pickups()[0]);
    let voice = |a: Arrangement| Voice::of(a).response(guitar, scope).unwrap();
    let voices: Vec<VoiceResponse> =
        [Arrangement::Series, Arrangement::Parallel, Arrangement::SplitA].map(voice).to_vec();
    let source = neutral();
    bands(&BandsInput { guitar, scope, voices: &voices, baseline: 0, source: &source }, draws, workers)
        .unwrap()
}

/// What moves the first pickup of `guitar` in these arrangements.
fn moves(guitar: &Guitar, arrangements: &[Arrangement]) -> Vec<Sensitivity> {
    let voices: Vec<Voice> = arrangements.iter().map(|arrangement| Voice::of(*arrangement)).collect();
    let scope = Scope::from(&guitar.pickups()[0]);
    sensitivity(&Selection::of_voices(guitar, scope, &voices, 0).unwrap()).unwrap()
}

fn width(band: Band) -> f64 {
    band.high - band.low
}

#[test]
fn the_bands_are_the_same_on_any_number_of_threads() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    assert_eq!(told(&guitar, 130, 1), told(&guitar, 130, 3));
}

/// Figures found by an independent prototype with the same tolerances: resonance ±10 to 12 %, the drop from series to
/// parallel −5.82 to −5.74 dB, their difference 0.2 dB wide at 1 kHz, 2.4 at 3 kHz.
#[test]
fn the_bands_are_as_wide_as_an_independent_prototype_found_them() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let bands = told(&guitar, 2000, 2);
    for voice in &bands.voices {
        let band = voice.resonance.unwrap();
        let half = width(band) / (band.low + band.high);
        assert!((0.07..0.13).contains(&half), "{half}");
    }
    let drop = bands.voices[1].drop.unwrap();
    assert!((drop.low + 5.82).abs() < 0.03 && (drop.high + 5.75).abs() < 0.03, "{drop:?}");
    let loudness = bands.voices[1].drop_loudness.unwrap();
    assert!((-6.5..-5.5).contains(&loudness.low) && loudness.low < loudness.high && loudness.high < -5.4);
    let at = |hertz: f64| {
        let near = |c: &&CurveBand| (c.frequency.value() / hertz).ln().abs() < 0.016;
        width(bands.voices[1].difference.iter().find(near).unwrap().band)
    };
    assert!((0.1..0.3).contains(&at(1000.0)), "{}", at(1000.0));
    assert!((1.9..2.9).contains(&at(3000.0)), "{}", at(3000.0));
}

/// Series and parallel resonate an octave apart. Whether coil B is shorted or open, coil A sounds alone: a shorted coil
/// takes k² = 1.7 % of its inductance, so that its resonance moves by less than a hundredth.
#[test]
fn voices_that_no_draw_tells_apart_are_alike_and_those_that_all_do_are_not() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let scope = Scope::from(&guitar.pickups()[0]);
    let voices = [Arrangement::Series, Arrangement::Parallel, Arrangement::SplitA, Arrangement::SplitAOpen]
        .map(|a| Voice::of(a).response(&guitar, scope).unwrap());
    let source = neutral();
    let setting = BandsInput { guitar: &guitar, scope, voices: &voices, baseline: 0, source: &source };
    let alike: Vec<Vec<usize>> =
        bands(&setting, 200, 2).unwrap().voices.into_iter().map(|v| v.alike).collect();
    assert_eq!(alike, [vec![], vec![], vec![3], vec![2]]);
}

/// A coupling that may be anything from none to 0.8 makes the resonance of a coil beside a shorted one anything up to
/// 1/√(1 − 0.64) times its own: some draws tell that from an open one, others do not.
#[test]
fn voices_that_some_draws_tell_apart_and_others_do_not_are_alike() {
    let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\
        [tolerances]\ncoupling = [0, 0.8]\n";
    let guitar = Guitar::read(&Document::new("g.toml", text)).unwrap();
    let scope = Scope::from(&guitar.pickups()[0]);
    let voices = [Arrangement::SplitA, Arrangement::SplitAOpen]
        .map(|a| Voice::of(a).response(&guitar, scope).unwrap());
    let source = neutral();
    let bands =
        bands(&BandsInput { guitar: &guitar, scope, voices: &voices, baseline: 0, source: &source }, 300, 2)
            .unwrap();
    let widest = bands.voices[1].difference.iter().map(|at| width(at.band)).fold(0.0, f64::max);
    assert!(widest > 5.0, "{widest}");
    assert_eq!([&bands.voices[0].alike, &bands.voices[1].alike], [&[1], &[0]]);
}

/// Coils that sound against each other have no level at low frequency to speak of, and are told from the same coils in
/// phase by the strings, however alike their curves are.
#[test]
fn coils_against_each_other_have_no_drop_and_are_like_no_voice_in_phase() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let scope = Scope::from(&guitar.pickups()[0]);
    let voices = [Arrangement::Series, Arrangement::SeriesReversed]
        .map(|a| Voice::of(a).response(&guitar, scope).unwrap());
    let source = neutral();
    let told =
        bands(&BandsInput { guitar: &guitar, scope, voices: &voices, baseline: 0, source: &source }, 100, 2)
            .unwrap();
    assert_eq!(told.voices.iter().map(|v| v.drop).collect::<Vec<_>>(), [None, None]);
    assert!(told.voices.iter().all(|v| v.alike.is_empty()), "{told:?}");
    assert!(told.voices[0].drop_loudness.is_none() && told.voices[1].drop_loudness.is_some());
}

#[test]
fn responses_stand_against_the_baselines_low_frequency_and_loudness_counts_each_coil_at_its_output() {
    let with = |output: f64| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\ncoupling = 0.0\n[pickup.coil_b]\noutput = {output}\n\
             [tolerances]\ncoupling = [0, 0]\n"
        );
        let guitar = Guitar::read(&Document::new("g.toml", text)).unwrap();
        let scope = Scope::from(&guitar.pickups()[0]);
        let voices = [Arrangement::SplitA, Arrangement::SplitB]
            .map(|a| Voice::of(a).response(&guitar, scope).unwrap());
        let source = neutral();
        bands(&BandsInput { guitar: &guitar, scope, voices: &voices, baseline: 0, source: &source }, 100, 2)
            .unwrap()
            .voices
            .swap_remove(1)
    };
    let (once, twice) = (with(1.0), with(2.0));
    let rise = |of: fn(&VoiceBands) -> Band| of(&twice).low - of(&once).low;
    let octave = 20.0 * 2f64.log10();
    assert!((rise(|v| v.drop_loudness.unwrap()) - octave).abs() < 1e-9);
    assert!((rise(|v| v.drop.unwrap()) - octave).abs() < 1e-9);
    // The grid's point nearest to 100 Hz, where levels at low frequency are stated.
    let low = |v: &VoiceBands| {
        let near = |c: &&CurveBand| (c.frequency.value() / 100.0).ln().abs() < 0.016;
        v.response.iter().find(near).unwrap().band
    };
    for (band, drop) in [(low(&once), once.drop.unwrap()), (low(&twice), twice.drop.unwrap())] {
        assert!(
            (band.low - drop.low).abs() < 0.05 && (band.high - drop.high).abs() < 0.05,
            "{band:?} {drop:?}"
        );
    }
}

#[test]
fn a_part_matters_by_the_voice_that_it_moves_most() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let of = |arrangements: &[Arrangement]| moves(&guitar, arrangements);
    let both = of(&[Arrangement::SplitAOpen, Arrangement::Series]);
    let each = [of(&[Arrangement::SplitAOpen]), of(&[Arrangement::Series])];
    for part in &both {
        let [one, other] =
            each.each_ref().map(|all| all.iter().find(|m| m.part == part.part).unwrap().moves_db);
        assert!(part.moves_db.total_cmp(&one.max(other)).is_eq(), "{part:?}");
    }
}

/// At low frequency a pickup is its ohms and its reactance on the load: of a load drawn evenly from half to one and a
/// half times its value, nine in ten lie between 0.55 and 1.45 times, which bounds the drop from series to parallel.
#[test]
fn a_fixed_load_makes_the_band_that_its_divider_says() {
    let text = "format = 1\n[[pickup]]\nname = \"bridge\"\ncoupling = 0\n\
        [pickup.coil_a]\nresistance = \"4k\"\ninductance = \"2\"\ncapacitance = \"0\"\n\
        [pickup.coil_b]\nresistance = \"4k\"\ninductance = \"2\"\ncapacitance = \"0\"\n\
        [controls]\nload = \"50k\"\n[cable]\ntotal = \"0\"\n\
        [tolerances]\nresistors = \"50 %\"\ninductance = \"0 %\"\ncoupling = [0, 0]\n";
    let guitar = Guitar::read(&Document::new("load.toml", text)).unwrap();
    let drop = told(&guitar, 4000, 2).voices[1].drop.unwrap();
    let at = |load: f64| {
        let load = 1.0 / (1.0 / (50e3 * load) + 1.0 / 1e6);
        let reactance = std::f64::consts::TAU * 100.0 * 2.0;
        let gain = |coils: f64| load / (load + 4e3 * coils).hypot(reactance * coils);
        20.0 * (0.5 * gain(0.5) / gain(2.0)).log10()
    };
    // The meter's hundredth on the ohms and the draws' own spread.
    assert!((drop.low - at(1.45)).abs() < 0.03 && (drop.high - at(0.55)).abs() < 0.03, "{drop:?}");
}

#[test]
fn every_part_of_the_controls_is_among_what_may_move_the_sound() {
    let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"hot-ceramic\"\n[controls]\n\
        volume = { pot = \"500k\", turned = 5 }\ntone = { pot = \"500k\", turned = 3, capacitor = \"22n\" }\n\
        bleed = { capacitor = \"1n\", resistor = \"150k\", joined = \"parallel\" }\n\
        bass_cut = { pot = \"500k\", turned = 2, capacitor = \"2n\" }\nload = \"220k\"\n\
        [tolerances]\ncapacitors = \"50 %\"\nresistors = \"50 %\"\npots = \"50 %\"\n";
    let guitar = Guitar::read(&Document::new("g.toml", text)).unwrap();
    let all = moves(&guitar, &[Arrangement::Series]);
    for part in [
        "volume pot",
        "tone pot",
        "tone capacitor",
        "treble bleed's capacitor",
        "treble bleed's resistor",
        "bass cut's pot",
        "bass cut's capacitor",
        "fixed load",
    ] {
        let own = all.iter().find(|m| m.part == part).unwrap_or_else(|| panic!("{part}: {all:?}"));
        assert!(own.moves_db > 0.1, "{own:?}");
    }
    assert!(all.is_sorted_by(|a, b| a.moves_db >= b.moves_db), "{all:?}");
}

/// The inductance of a type is one unknown of both coils, which move together; two coils that the file states by themselves
/// are two, and two that were measured as a pair one.
#[test]
fn what_is_one_unknown_moves_at_once_and_says_how_it_is_measured() {
    let first = |coils: &str| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"narrow-blade\"\n{coils}[tolerances]\ncable = \"1 %\"\n"
        );
        let guitar = Guitar::read(&Document::new("g.toml", text)).unwrap();
        let all = moves(&guitar, &[Arrangement::Series]);
        let inductances: Vec<_> = all.iter().filter(|m| m.part.ends_with("inductance")).cloned().collect();
        (all[0].clone(), inductances)
    };
    let (first_of_type, of_type) = first("");
    assert_eq!((first_of_type.part.as_str(), of_type.len()), ("bridge, both coils, inductance", 1));
    assert!(first_of_type.measure_by.starts_with("an inductance meter at 1 kHz"), "{first_of_type:?}");
    let coil =
        |name: &str, measured: &str| format!("[pickup.coil_{name}]\ninductance = \"2.5\"\n{measured}\n");
    let (_, stated) = first(&(coil("a", "") + &coil("b", "")));
    let mut names: Vec<&str> = stated.iter().map(|m| m.part.as_str()).collect();
    names.sort_unstable();
    assert_eq!(names, ["bridge, coil A, inductance", "bridge, coil B, inductance"]);
    let pair = "measured = { inductance = \"3 %\", with = \"pair\" }";
    let (_, measured) = first(&(coil("a", pair) + &coil("b", pair)));
    assert_eq!(measured.len(), 1);
    // Both coils of a pair move a response about twice as far as one of them.
    let alone = "measured = { inductance = \"3 %\", with = \"alone\" }";
    let (_, apart) = first(&(coil("a", alone) + &coil("b", alone)));
    let ratio = measured[0].moves_db / apart[0].moves_db;
    assert!((1.8..2.2).contains(&ratio), "{ratio}");
}

#[test]
fn a_part_that_is_known_moves_nothing_and_the_one_that_is_least_known_moves_most() {
    let with = |tolerances: &str| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"hot-ceramic\"\n[tolerances]\n{tolerances}\n"
        );
        let guitar = Guitar::read(&Document::new("g.toml", text)).unwrap();
        moves(&guitar, &[Arrangement::Series])
    };
    let all = with("cable = \"60 %\"\npots = \"0 %\"");
    assert_eq!(all[0].part, "cable");
    let pots: Vec<f64> = all.iter().filter(|m| m.part.ends_with("pot")).map(|m| m.moves_db).collect();
    assert_eq!(pots, [0.0, 0.0]);
    let all = with("inductance = \"50 %\"\ncable = \"1 %\"");
    assert!(all[0].part.ends_with("inductance"), "{all:?}");
}

#[test]
fn the_first_two_hundred_draws_equal_an_independent_simulators_within_a_thousandth_of_a_decibel() {
    if !simulator_is_installed() {
        return;
    }
    let guitar = Guitar::built_in("set-neck").unwrap();
    let drawn: Vec<Guitar> = (0..DRAWS as u64).map(|n| Draws::of(&guitar).draw(n)).collect();
    let folder = tempfile::tempdir().unwrap();
    let mut text = "* draws\n".to_owned();
    let mut asked = String::new();
    for (n, guitar) in drawn.iter().enumerate() {
        text += &deck(guitar, n);
        write!(asked, " v(out{n})").unwrap();
    }
    writeln!(text, ".control\nset numdgt=12\nset wr_singlescale\nac dec 8 50 20k\nwrdata draws.data{asked}\nquit\n.endc\n.end")
        .unwrap();
    std::fs::write(folder.path().join("deck.cir"), text).unwrap();
    Command::new("ngspice").args(["-b", "deck.cir"]).current_dir(folder.path()).output().unwrap();
    let data = std::fs::read_to_string(folder.path().join("draws.data")).unwrap();
    let series = drywire::circuit::Strapping::of(Arrangement::Series);
    let middle = Voice::of_guitar(
        "middle",
        Position { pickups: vec![series; 2], throws: vec![1], switches: Vec::new() },
    );
    let sweep = Sweep::of(&middle.circuit(&guitar, Scope::Guitar).unwrap());
    let mut worst = 0.0f64;
    let rows: Vec<Vec<f64>> =
        data.lines().map(|l| l.split_whitespace().map(|x| x.parse().unwrap()).collect()).collect();
    assert!(rows.len() >= 20);
    let frequencies: Vec<Hertz> = rows.iter().map(|row| Hertz::new(row[0])).collect();
    for (n, guitar) in drawn.iter().enumerate() {
        let circuit = middle.circuit(guitar, Scope::Guitar).unwrap();
        let ours = sweep.responses(&circuit, &frequencies).unwrap();
        for (row, ours) in rows.iter().zip(&ours) {
            let theirs = row[1 + 2 * n].hypot(row[2 + 2 * n]);
            let off = 20.0 * (ours[0].norm() / theirs).log10();
            assert!(off.abs() <= 0.001, "draw {n}, {} Hz: {off} dB", row[0]);
            worst = worst.max(off.abs());
        }
    }
    println!("{DRAWS} draws at {} frequencies, worst {worst:.6} dB", rows.len());
}

#[test]
fn figures_and_sets_tell_their_bands_and_what_to_measure_first() {
    let folder = tempfile::tempdir().unwrap();
    let output = succeeds(folder.path(), &["figures", "--json", "--bands", "--draws", "200"]);
    let figures: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(figures["bands"]["draws"], 200);
    assert_eq!(figures["bands"]["matters"].as_array().unwrap().len(), 5);
    for arrangement in figures["arrangements"].as_array().unwrap() {
        let (own, band) = (&arrangement["resonance_hz"], &arrangement["bands"]["resonance_hz"]);
        let number = |v: &Value| v.as_f64().unwrap();
        assert!(number(&band["low"]) < number(own) && number(own) < number(&band["high"]), "{arrangement}");
        let (own, band) = (&arrangement["peak_hz"], &arrangement["bands"]["peak_hz"]);
        assert!(number(&band["low"]) < number(own) && number(own) < number(&band["high"]), "{arrangement}");
    }
    let asked =
        ["figures", "--bands", "--draws", "100", "--arrangements", "series,parallel,split-a,split-a-open"];
    let shown = String::from_utf8(succeeds(folder.path(), &asked).stdout).unwrap();
    assert!(shown.contains("Measure first:"), "{shown}");
    assert!(
        shown
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .contains("How: with the guitar unplugged, by a")
    );
    let told = shown.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("for sure: split-a from split-a-open; split-a-open from split-a."), "{shown}");
    let output = succeeds(folder.path(), &[&asked[..], &["--json"]].concat());
    let figures: Value = serde_json::from_slice(&output.stdout).unwrap();
    let own = &figures["arrangements"][1]["bands"];
    let cell = |field: &str| {
        let [low, high] = ["low", "high"].map(|end| format!("{:.1}", own[field][end].as_f64().unwrap()));
        format!("{low} to {high}").replace('-', "−")
    };
    let cells = [cell("drop_low_db"), cell("drop_loudness_lu")].join(" ");
    assert!(told.contains(&cells), "{cells}\n{shown}");
    let asked = ["hear", "low-note", "--bands", "--draws", "100", "--arrangements", "series,parallel"];
    succeeds(folder.path(), &asked);
    let plain = ["hear", "low-note", "--arrangements", "series,parallel", "--out", "plain"];
    succeeds(folder.path(), &plain);
    let read = |path: &str| std::fs::read_to_string(folder.path().join(path)).unwrap();
    let polygons = |svg: &str| svg.matches("<polygon").count();
    assert!(polygons(&read("drywire-out/response.svg")) >= polygons(&read("plain/response.svg")) + 3);
    let set: Value = serde_json::from_str(&read("drywire-out/figures.json")).unwrap();
    assert_eq!(set["bands"]["draws"], 100);
}

#[test]
fn a_tolerance_that_is_none_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let refused = |tolerances: &str| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[tolerances]\n{tolerances}\n"
        );
        std::fs::write(folder.path().join("g.toml"), text).unwrap();
        let output = drywire(folder.path(), &["figures", "--bands", "--guitar", "g.toml"]);
        assert_eq!(output.status.code(), Some(2));
        String::from_utf8(output.stderr).unwrap()
    };
    let told = refused("pots = \"150 %\"\ncable = \"a lot\"\ncoupling = [0.3, \"0.2\"]");
    for said in
        ["`pots` is 150 %; allowed is from 0 % to 90 %", "`cable` is `a lot`", "`coupling` is [0.3, 0.2]"]
    {
        assert!(told.contains(said), "{said}\n{told}");
    }
    let output = drywire(folder.path(), &["figures", "--bands", "--draws", "5"]);
    assert_eq!(output.status.code(), Some(2));
}
