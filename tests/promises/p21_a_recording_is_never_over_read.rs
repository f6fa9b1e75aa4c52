//! P21. A recording is never over-read: stated standard deviations cover (60 to 76 % at 1 σ), recognition at the rates of the design
//! less 3 points and false alarms at most 1 %, on sessions made apart from the program's plucks with a person's variation and guitars
//! off by their ranges.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a test stops where something is not as expected, and tells figures"
)]

use std::collections::BTreeMap;
use std::sync::OnceLock;

use drywire::confirm::{
    Block, Confirmation, Fault as TakeFault, Forecast, Session, TakeAnswer, Verdict, centre,
};
use drywire::guitar::Guitar;

use crate::common::strums::{Bench, Broken, Chance, Hand, Player, USUAL, Voiced};

const COVERED: [f64; 2] = [0.60, 0.76];
/// How often eight strums a throw recognise a voice, less 3 points; "which coil" is told of splits.
const RECOGNISED: [(&str, f64); 4] =
    [("series", 0.97), ("parallel", 0.91), ("series-reversed", 0.93), ("parallel-reversed", 0.95)];
const WHICH_COIL: f64 = 0.95;
const FALSE_ALARMS: f64 = 0.01;

const VOICES: [&str; 6] =
    ["series", "parallel", "split-a", "split-b", "series-reversed", "parallel-reversed"];
const GUITARS: u64 = 60;

fn guitar() -> &'static Guitar {
    static GUITAR: OnceLock<Guitar> = OnceLock::new();
    GUITAR.get_or_init(|| Guitar::built_in("set-neck").unwrap())
}

fn session(drawn: [&str; 2]) -> Session<'static> {
    Session::new(guitar(), Some("bridge"), &drawn).unwrap()
}

/// What is foretold holds for all pairs of named arrangements.
fn forecast() -> &'static Forecast {
    static FORECAST: OnceLock<Forecast> = OnceLock::new();
    FORECAST.get_or_init(|| session(["series", "parallel"]).forecast(2).unwrap())
}

/// Half of the splits leave the other coil open.
fn recorded(voice: &str, case: u64) -> String {
    if voice.starts_with("split") && case % 2 == 1 { format!("{voice}-open") } else { voice.to_owned() }
}

/// A share so low that a true share of `least` gives it once in forty.
fn at_least(least: f64, count: usize) -> f64 {
    least - 2.0 * (least * (1.0 - least) / count as f64).sqrt()
}

fn later(told: &Confirmation) -> &TakeAnswer {
    told.takes.iter().find(|take| take.name != told.takes[0].name).unwrap()
}

/// One person with one guitar that is off by its ranges.
struct Case {
    chance: Chance,
    player: Player,
    bench: Bench,
}

impl Case {
    fn new(seed: u64, hand: Hand) -> Self {
        let mut chance = Chance::new(seed);
        let bench = Bench::off(&mut chance);
        let player = Player::new(hand, &mut chance);
        Self { chance, player, bench }
    }

    fn voiced(&self, arrangement: &str) -> Voiced {
        self.player.voiced(&self.bench, arrangement)
    }

    /// What is told where `real` was recorded and `drawn` was meant, with so much gain on the later takes.
    fn told(&mut self, real: [&str; 2], drawn: [&str; 2], gain_db: f64) -> Confirmation {
        let voices = real.map(|voice| self.voiced(voice));
        let blocks = self.player.session(voices.each_ref(), [2, 4], gain_db, &mut self.chance);
        session(drawn).confirm(blocks, forecast())
    }
}

#[derive(Default)]
struct Share {
    inside: usize,
    all: usize,
}

impl Share {
    fn count(&mut self, is_inside: bool) {
        self.inside += usize::from(is_inside);
        self.all += 1;
    }

    fn value(&self) -> f64 {
        self.inside as f64 / self.all.max(1) as f64
    }
}

#[test]
fn standard_deviations_cover_and_voices_are_recognised() {
    let [mut level, mut bands, mut foretold_level, mut foretold_bands, mut false_alarms] =
        [(); 5].map(|()| Share::default());
    let mut table: BTreeMap<(&str, String), usize> = BTreeMap::new();
    let mut verdicts: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let (mut which, mut widths) = (Share::default(), Vec::new());
    for (voice, seed) in VOICES.into_iter().flat_map(|voice| (0..GUITARS).map(move |seed| (voice, seed))) {
        let mut case = Case::new(1000 + seed, USUAL);
        let real = recorded(voice, seed);
        let told =
            case.told(["series", &real], ["series", if voice == "series" { "parallel" } else { &real }], 0.0);
        let voices = ["series", &real].map(|voice| case.voiced(voice));
        let (truth, truth_level) = case.player.truth(voices.each_ref(), &mut case.chance);
        let difference = &told.differences[0];
        level.count((difference.level_db - truth_level).abs() < difference.level_sd_db);
        widths.push(difference.level_sd_db);
        if voice != "series" {
            foretold_level.count((difference.foretold_db - truth_level).abs() < difference.foretold_sd_db);
        }
        for band in &difference.bands {
            let place = (0..truth.len()).find(|own| (centre(*own).value() - band.hz).abs() < 1.0).unwrap();
            bands.count((band.measured_db - truth[place]).abs() < band.sd_db);
            if voice != "series" {
                foretold_bands.count((band.foretold_db - truth[place]).abs() < band.foretold_sd_db);
            }
        }
        let take = later(&told);
        if take.verdict == Verdict::Consistent {
            assert!(take.consistent_with[0].p >= 0.01, "{}", take.words);
        }
        let best = take.consistent_with.first().map_or("none", |own| own.name.trim_end_matches("-open"));
        *table.entry((voice, best.to_owned())).or_default() += 1;
        *verdicts.entry((voice, take.verdict.words())).or_default() += 1;
        if voice.starts_with("split") && best.starts_with("split") {
            which.count(best == voice);
        }
        if !voice.ends_with("reversed") {
            false_alarms.count(take.words.contains("out of phase"));
        }
        let names: Vec<&str> = take.consistent_with.iter().map(|own| own.name.as_str()).collect();
        for name in ["split-a", "split-b"] {
            assert_eq!(names.contains(&name), names.contains(&&*format!("{name}-open")), "{names:?}");
        }
    }
    for (of, share) in [
        ("level", &level),
        ("third octaves", &bands),
        ("foretold level", &foretold_level),
        ("foretold third octaves", &foretold_bands),
    ] {
        println!("{of}: {:.1} % of {} inside one standard deviation", 100.0 * share.value(), share.all);
    }
    widths.sort_by(f64::total_cmp);
    println!("standard deviation of a level from eight strums: {:.2} dB", widths[widths.len() / 2]);
    println!("recorded, best, of {GUITARS}: {table:?}");
    println!("verdicts: {verdicts:?}");
    println!(
        "which coil is split: {:.1} %; false alarms: {:.2} %",
        100.0 * which.value(),
        100.0 * false_alarms.value()
    );
    for share in [&level, &bands, &foretold_level, &foretold_bands] {
        let wide = 2.0 * (0.68 * 0.32 / level.all as f64).sqrt();
        assert!((COVERED[0] - wide..COVERED[1] + wide).contains(&share.value()), "{}", share.value());
    }
    for (voice, least) in RECOGNISED {
        let right = table.get(&(voice, voice.to_owned())).copied().unwrap_or(0) as f64 / GUITARS as f64;
        assert!(right >= at_least(least, 60), "{voice}: {right}");
    }
    assert!(which.value() >= at_least(WHICH_COIL, which.all), "{}", which.value());
    assert!(false_alarms.value() <= FALSE_ALARMS, "{}", false_alarms.value());
}

/// What is recorded, what is drawn, what the later takes' gain is, which verdict in how many of a hundred at least, and which words.
type Fault = (&'static str, [&'static str; 2], [&'static str; 2], f64, Verdict, f64, &'static str);

#[test]
fn faults_are_told_as_the_rule_says_and_no_further() {
    const CASES: u64 = 30;
    let drawn = ["series", "parallel"];
    let faults: [Fault; 9] = [
        ("as drawn", drawn, drawn, 0.0, Verdict::Consistent, 0.85, "consistent with parallel, as drawn"),
        (
            "swapped",
            ["parallel", "series"],
            drawn,
            0.0,
            Verdict::NotConsistent,
            0.95,
            "the throws being swapped",
        ),
        (
            "a dead throw",
            ["series", "series"],
            drawn,
            0.0,
            Verdict::NotConsistent,
            0.95,
            "does not do what is drawn",
        ),
        (
            "a coil reversed",
            ["series", "parallel-reversed"],
            drawn,
            0.0,
            Verdict::NotConsistent,
            0.95,
            "out of phase",
        ),
        (
            "a coil dead",
            ["series", "split-a"],
            drawn,
            0.0,
            Verdict::NotConsistent,
            0.6,
            "consistent with split-a or split-a-open",
        ),
        ("gain up", drawn, drawn, 6.0, Verdict::CannotBeTold, 0.9, "gain of the recording"),
        ("gain far up", drawn, drawn, 12.0, Verdict::CannotBeTold, 0.9, "gain of the recording"),
        ("gain down", drawn, drawn, -8.0, Verdict::CannotBeTold, 0.9, "gain of the recording"),
        (
            "crossed in both throws",
            ["series-reversed", "parallel-reversed"],
            drawn,
            0.0,
            Verdict::Consistent,
            0.0,
            "crossed in every throw",
        ),
    ];
    for (fault, real, drawn, gain, verdict, least, words) in faults {
        let [mut right, mut said] = [(); 2].map(|()| Share::default());
        let mut others = Vec::new();
        for seed in 0..CASES {
            let told = Case::new(5000 + seed, USUAL).told(real, drawn, gain);
            assert_eq!(
                told.takes[0].verdict,
                Verdict::CannotBeTold,
                "the first is what others are told against"
            );
            let take = later(&told);
            right.count(take.verdict == verdict);
            if take.verdict == verdict {
                said.count(take.words.contains(words));
            } else {
                others.push(take.words.clone());
            }
            assert!(take.words.contains("crossed in every throw"), "{}", take.words);
            // That is asked and never claimed.
            let claimed = take.words.replace("whether a coil is dead", "");
            assert!(!claimed.contains("coil is dead"), "{}", take.words);
        }
        println!(
            "{fault}: {} of {} {verdict}; {:.0} % so worded",
            right.inside,
            right.all,
            100.0 * said.value()
        );
        for other in others.iter().take(3) {
            println!("    else: {other}");
        }
        assert!(right.value() >= at_least(least, right.all), "{fault}: {}", right.value());
        assert!(said.value() >= 0.9 || said.all == 0, "{fault}: {}", said.value());
    }
}

/// In a take so far below the loudest nothing is heard.
fn silenced(mut blocks: Vec<Block>) -> Vec<Block> {
    const NOTHING: f64 = 60.0;
    let loudest_of = |block: &Block| block.strums.iter().flat_map(|own| own.bands).fold(f64::MIN, f64::max);
    let loudest = blocks.iter().map(loudest_of).fold(f64::MIN, f64::max);
    for block in &mut blocks {
        if loudest_of(block) < loudest - NOTHING {
            block.strums.clear();
            block.fault = Some(TakeFault::Silent);
        }
    }
    blocks
}

/// What is recorded where one coil is dead: in both throws, or in the later or the first alone, as by a joint that is cold there. One
/// coil in place of two in parallel is told apart as often as voices are recognised; all else always.
#[test]
fn a_dead_coil_is_not_told_to_be_as_drawn() {
    const CASES: u64 = 12;
    const RECOGNISED_AS_DEAD: f64 = 0.9;
    let faults: Vec<([&str; 2], [bool; 2])> = [["series", "parallel"], ["parallel", "series"]]
        .into_iter()
        .flat_map(|drawn| [[true, true], [false, true], [true, false]].map(|throws| (drawn, throws)))
        .collect();
    for ((drawn, throws), how) in
        faults.into_iter().flat_map(|fault| [Broken::Open, Broken::Shorted].map(|how| (fault, how)))
    {
        let mut verdicts: BTreeMap<&str, usize> = BTreeMap::new();
        let mut told_apart = Share::default();
        for (seed, coil) in (0..CASES).flat_map(|seed| [(seed, 0), (seed, 1)]) {
            let mut case = Case::new(9000 + seed, USUAL);
            let dead = case.bench.clone().with_dead(coil, how);
            let voices = [0, 1].map(|voice| {
                case.player.voiced(if throws[voice] { &dead } else { &case.bench }, drawn[voice])
            });
            let blocks = silenced(case.player.session(voices.each_ref(), [2, 4], 0.0, &mut case.chance));
            let is_silent = blocks.iter().any(|block| block.fault.is_some());
            let told = session(drawn).confirm(blocks, forecast());
            let take = later(&told);
            told_apart.count(take.verdict != Verdict::Consistent);
            let what = format!("{drawn:?} {throws:?} {how:?}: {}", take.words);
            // What no arrangement explains is no changed gain either, whose tone would fit.
            assert!(throws != [true, true] || !take.words.contains("the tone fits"), "{what}");
            if is_silent {
                assert!(told.takes.iter().any(|take| take.words.contains("the throw is dead")), "{what}");
            } else if take.words.contains("no arrangement") {
                assert!(take.words.contains("by the ohms at the jack whether a coil is dead"), "{what}");
            }
            let is_said = |note: &String| note.contains("whether one coil is dead is not told by a level");
            assert!(told.notes.iter().any(is_said), "{what}");
            *verdicts.entry(take.verdict.words()).or_default() += 1;
        }
        println!("{drawn:?}, a coil {how:?} in {throws:?}: {verdicts:?}");
        let is_one_for_both = how == Broken::Open && throws == drawn.map(|voice| voice == "parallel");
        let least = if is_one_for_both { at_least(RECOGNISED_AS_DEAD, told_apart.all) } else { 1.0 };
        assert!(told_apart.value() >= least, "{drawn:?} {throws:?} {how:?}: {}", told_apart.value());
    }
}
