//! The answer: what must be read, what was, and what explains the difference.

use serde::Serialize;

use super::bench::Bench;
use super::case::{Case, Cases};
use super::settle::{AS_DRAWN, Settling};
use super::suspect::Suspect;
use super::suspects::{Read, elsewhere, knobs, mistakes};
use super::{Expected, Position, ReadingOf, Tolerance, unseen};
use crate::guitar::{Guitar, Knob, Origin, PartKind, Pickup, Pot};
use crate::leads::OhmmeterReading;
use crate::quantity::Ohms;
use crate::response::VoiceError;
use crate::wiring::CoilName;

/// What the readings say of the plan as drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum ProbeVerdict {
    /// Nothing was read.
    #[serde(rename = "nothing read")]
    NothingRead,
    /// Every reading is what the plan as drawn gives.
    #[serde(rename = "as expected")]
    AsExpected,
    /// Some reading is not, and at least one single mistake gives all of them.
    #[serde(rename = "explained")]
    Explained,
    /// Some reading is not, and no single mistake gives all of them.
    #[serde(rename = "unexplained")]
    Unexplained,
}

/// What `drywire probe` tells.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ProbeReport {
    /// The guitar's name.
    pub guitar: String,
    /// What the readings say.
    pub verdict: ProbeVerdict,
    /// How the knobs stand when readings are taken, in words such as `volume full`; null where there are none that matter.
    pub knobs: Option<String>,
    /// The number of states in which selectors and switches can stand, listed here or not; 0 where none is in.
    pub ways: u64,
    /// What must be read, and what was, state by state.
    pub throws: Vec<ThrowReading>,
    /// The single mistakes that give the readings, the best fit first. Where none gives all of them, those that
    /// give more of them than the plan as drawn.
    pub faults: Vec<Explanation>,
    /// What may be wrong although these readings are right.
    pub unseen_by_dc: Vec<Test>,
    /// What the expected values rest on, in words.
    pub rests_on: Vec<String>,
}

/// One state of selectors and switches, or one arrangement where there is neither.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThrowReading {
    /// The state's name, such as `mode:1` or `selector:2+mode:1`: selectors first, then switches; `as it is` where
    /// pickups are joined without either.
    pub throw: String,
    /// Where the lever is, or each by its name.
    pub position: Option<String>,
    /// The same one by one: where each selector and each switch stands.
    pub stands: Vec<Stands>,
    /// The arrangement's name, or the connection in words; where the guitar has several pickups, those heard with theirs.
    pub arrangement: String,
    /// The pickups that are heard.
    pub heard: Vec<String>,
    /// What the meter reads with every part at its stated value and the knobs full; null where it reads open.
    pub expected_ohm: Option<f64>,
    /// The least within the tolerances.
    pub low_ohm: Option<f64>,
    /// The most.
    pub high_ohm: Option<f64>,
    /// What it reads with the knobs where the file has them, where one is below full.
    pub as_set_ohm: Option<f64>,
    /// What was read, as it was given; null where nothing was.
    pub read: Option<String>,
    /// The same in ohms; null where it was open.
    pub read_ohm: Option<f64>,
    /// Whether it is what the plan as drawn gives; null where nothing was read.
    pub fits: Option<bool>,
}

/// Where a selector or a switch stands.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Stands {
    /// Its name.
    pub lever: String,
    /// The number of its throw.
    pub throw: u8,
    /// Where the lever is.
    pub position: String,
}

/// A single mistake that gives readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Explanation {
    /// The mistake in words.
    pub what: String,
    /// `off`, `swapped`, `bridged`, `coil-open`, `coil-shorted`, `elsewhere` (a selector or a switch stands in another
    /// throw than said), `volume`, `blend` or `bass-cut`.
    pub kind: &'static str,
    /// The pickup, selector or switch where it is; null where it is at none.
    pub at: Option<String>,
    /// The things that it concerns.
    pub things: Vec<String>,
    /// The throws whose readings it gives.
    pub explains: Vec<String>,
    /// What it reads, throw by throw; null where open.
    pub would_read_ohm: Vec<Option<f64>>,
    /// The other mistakes that read the same in every throw, within the band.
    pub indistinguishable_from: Vec<String>,
    /// The tests that tell it from every other mistake listed, with what they show if this is the matter.
    pub settle_by: String,
}

/// A fault that these readings do not show, and the test that does.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Test {
    /// The fault in words.
    pub what: String,
    /// The test in words.
    pub settle_by: String,
}

/// The most mistakes listed where none explains all readings.
const PARTLY: usize = 5;

/// Returns what must be read on `bench`, what `read` says of it, and what explains it.
///
/// # Errors
/// [`VoiceError`] where a circuit has no solution.
pub fn prove(bench: &Bench, read: &[ReadingOf]) -> Result<ProbeReport, VoiceError> {
    let is_listed = |reading: &ReadingOf| reading.states.iter().any(|state| bench.place_of(state).is_some());
    let unlisted =
        read.iter().filter(|reading| !is_listed(reading)).filter_map(|r| r.states.first().cloned());
    let bench = &bench.with(unlisted)?;
    let places = |reading: &ReadingOf| reading.states.iter().filter_map(|s| bench.place_of(s)).collect();
    let read: Vec<Read<'_>> = read.iter().map(|r| Read { positions: places(r), shown: &r.shown }).collect();
    let mut cases = Cases::new(bench);
    let drawn = cases.case(None)?;
    let wrong: Vec<usize> = (0..read.len()).filter(|r| !read[*r].fits(&drawn.reads)).collect();
    let mut suspects: Vec<Suspect> = mistakes(bench).into_iter().map(Suspect::Mistake).collect();
    if !wrong.is_empty() {
        suspects.extend(knobs(bench, &read)?);
        suspects.extend(elsewhere(bench, &read, &wrong));
    }
    let giving_all = explaining(&mut cases, &suspects, &read, read.len())?;
    let verdict = match (read.is_empty(), wrong.is_empty(), giving_all.is_empty()) {
        (true, ..) => ProbeVerdict::NothingRead,
        (false, true, _) => ProbeVerdict::AsExpected,
        (false, false, false) => ProbeVerdict::Explained,
        (false, false, true) => ProbeVerdict::Unexplained,
    };
    let listed = match verdict {
        ProbeVerdict::NothingRead | ProbeVerdict::AsExpected => Vec::new(),
        ProbeVerdict::Explained => giving_all.clone(),
        ProbeVerdict::Unexplained => {
            let more_than_as_drawn = read.len() - wrong.len() + 1;
            let mut some = explaining(&mut cases, &suspects, &read, more_than_as_drawn)?;
            some.truncate(PARTLY);
            some
        }
    };
    // Where all is right so far, what the readings taken leave open; else what no reading at the jack would show.
    let left_open = match verdict {
        ProbeVerdict::AsExpected => giving_all,
        ProbeVerdict::NothingRead | ProbeVerdict::Explained | ProbeVerdict::Unexplained => {
            reading_as_drawn(&mut cases, &suspects, &drawn)?
        }
    };
    let mut kept = vec![drawn];
    for suspect in listed.iter().chain(&left_open) {
        kept.push(cases.case(Some(*suspect))?);
    }
    let unread = (0..bench.positions.len()).filter(|place| read.iter().all(|r| !r.positions.contains(place)));
    let settling = Settling::new(bench, &kept, unread);
    let (explained, open) = (1..=listed.len(), listed.len() + 1..kept.len());
    let faults = explanations(bench, &kept, explained, &read, &settling);
    let mut unseen_by_dc: Vec<Test> = open
        .filter_map(|place| {
            let suspect = kept[place].suspect?;
            let (tests, _) = settling.tell(place, suspect, &[AS_DRAWN]);
            Some(Test { what: suspect.words(bench), settle_by: sentence(tests, &[]) })
        })
        .collect();
    unseen_by_dc.extend(unseen::on_any(&bench.guitar));
    Ok(ProbeReport {
        guitar: bench.guitar.name().to_owned(),
        verdict,
        knobs: knobs_in_words(&bench.guitar),
        ways: bench.ways(),
        throws: throws(bench, &kept[AS_DRAWN].reads, &read)?,
        faults,
        unseen_by_dc,
        rests_on: rests_on(bench),
    })
}

impl Read<'_> {
    /// Returns how far it is from what is read, by position, 1 at the edge of the band.
    fn off(&self, reads: &[Expected]) -> f64 {
        let off = self.positions.iter().map(|place| reads[*place].deviation(self.shown));
        off.fold(f64::INFINITY, f64::min)
    }

    fn fits(&self, reads: &[Expected]) -> bool {
        self.off(reads) <= 1.0
    }
}

/// Returns those of `suspects` that give at least so many of the readings, the best fit first.
fn explaining<'s>(
    cases: &mut Cases<'_>,
    suspects: &'s [Suspect],
    read: &[Read<'_>],
    least: usize,
) -> Result<Vec<&'s Suspect>, VoiceError> {
    let mut found: Vec<(f64, &Suspect)> = Vec::new();
    for suspect in suspects {
        let (mut off, mut given) = (0.0, 0);
        for reading in read {
            let mut nearest = f64::INFINITY;
            for place in &reading.positions {
                nearest = nearest.min(cases.reads(Some(suspect), *place)?.deviation(reading.shown));
            }
            given += usize::from(nearest <= 1.0);
            off += nearest.min(FAR);
        }
        if given >= least {
            found.push((off, suspect));
        }
    }
    found.sort_by(|one, other| one.0.total_cmp(&other.0));
    Ok(found.into_iter().map(|(_, suspect)| suspect).collect())
}

/// Returns those mistakes in what is soldered that a meter at the jack reads as it does where all is as drawn.
fn reading_as_drawn<'s>(
    cases: &mut Cases<'_>,
    suspects: &'s [Suspect],
    drawn: &Case<'_>,
) -> Result<Vec<&'s Suspect>, VoiceError> {
    let mut found = Vec::new();
    'suspects: for suspect in suspects {
        match suspect {
            Suspect::Mistake(_) => {}
            Suspect::Knob(..) | Suspect::Elsewhere(..) => continue,
        }
        for (place, expected) in drawn.reads.iter().enumerate() {
            if !cases.reads(Some(suspect), place)?.is_like(*expected) {
                continue 'suspects;
            }
        }
        found.push(suspect);
    }
    Ok(found)
}

/// A reading outside the band by more is as wrong as can be.
const FAR: f64 = 100.0;

fn throws(bench: &Bench, expected: &[Expected], read: &[Read<'_>]) -> Result<Vec<ThrowReading>, VoiceError> {
    let as_set = bench.as_set()?;
    let guitar = &bench.guitar;
    let row = |(place, at): (usize, &Position)| {
        let shown = read.iter().find(|r| r.positions.contains(&place)).map(|r| r.shown);
        let (low, high) =
            expected[place].band().map(|band| band.map(Ohms::value)).map(<(f64, f64)>::from).unzip();
        let stands = at.throws().iter().map(|(lever, throw)| {
            let throw = &lever.table(guitar).throws()[*throw];
            let (number, position) = (throw.number(), throw.position().to_owned());
            Stands { lever: lever.name(guitar).to_string(), throw: number, position }
        });
        ThrowReading {
            throw: at.name().to_owned(),
            position: at.state.position(guitar),
            stands: stands.collect(),
            arrangement: at.arrangement().to_owned(),
            heard: at.heard().to_vec(),
            expected_ohm: expected[place].nominal().map(Ohms::value),
            low_ohm: low,
            high_ohm: high,
            as_set_ohm: as_set.as_ref().and_then(|ohms| ohms[place]).map(Ohms::value),
            read: shown.map(ToString::to_string),
            read_ohm: shown.and_then(ohms_of),
            fits: shown.map(|shown| expected[place].fits(shown)),
        }
    };
    Ok(bench.positions().iter().enumerate().map(row).collect())
}

fn ohms_of(shown: &OhmmeterReading) -> Option<f64> {
    shown.closed().or(shown.leakage()).map(Ohms::value)
}

/// Returns what is told of the cases at the places `listed`.
fn explanations(
    bench: &Bench,
    cases: &[Case<'_>],
    listed: std::ops::RangeInclusive<usize>,
    read: &[Read<'_>],
    settling: &Settling<'_>,
) -> Vec<Explanation> {
    let words = |place: usize| cases[place].suspect.map(|s| s.words(bench)).unwrap_or_default();
    let mut all = Vec::new();
    for own in listed.clone() {
        let case = &cases[own];
        let Some(suspect) = case.suspect else { continue };
        let others: Vec<usize> = listed.clone().filter(|other| *other != own).collect();
        let alike = |other: &&usize| {
            cases[**other].reads.iter().zip(&case.reads).all(|(other, own)| other.is_like(*own))
        };
        let indistinguishable_from = others.iter().filter(alike).map(|other| words(*other)).collect();
        // Wherever a knob stands, it is turned full.
        let is_other = |other: &usize| cases[*other].suspect.is_none_or(|other| !other.is_same_knob(suspect));
        let others: Vec<usize> = others.into_iter().filter(is_other).collect();
        // A mistake that stands alone is still to be confirmed against the plan as drawn.
        let told_from = if others.is_empty() { vec![AS_DRAWN] } else { others };
        let (tests, same) = settling.tell(own, suspect, &told_from);
        let same: Vec<String> = same.into_iter().filter(|other| *other != AS_DRAWN).map(words).collect();
        let explained = read.iter().filter(|r| r.fits(&case.reads)).filter_map(|r| r.positions.first());
        all.push(Explanation {
            what: suspect.words(bench),
            kind: suspect.kind(),
            at: suspect.at(bench),
            things: suspect.things(bench),
            explains: explained.map(|place| bench.positions()[*place].name().to_owned()).collect(),
            would_read_ohm: case.reads.iter().map(|own| own.nominal().map(Ohms::value)).collect(),
            indistinguishable_from,
            settle_by: sentence(tests, &same),
        });
    }
    all
}

fn sentence(tests: Vec<String>, same: &[String]) -> String {
    let mut parts = tests;
    if !same.is_empty() {
        parts.push(format!("only the eye tells it from: {}", same.join("; ")));
    }
    if parts.is_empty() {
        parts.push("look at the joint: no test at the bench shows it".to_owned());
    }
    parts.join("; ")
}

/// Returns how the knobs stand when readings are taken, such as `volume full`; nothing where there are none that matter.
fn knobs_in_words(guitar: &Guitar) -> Option<String> {
    let knobs = guitar.knobs();
    let has = |is: fn(Knob) -> bool| knobs.iter().filter(|(knob, _)| is(*knob)).count();
    let volumes = has(|knob| matches!(knob, Knob::Volume(_)));
    let mut told = Vec::new();
    match volumes {
        0 => {}
        1 => told.push("volume full"),
        _ => told.push("every volume full"),
    }
    if has(|knob| matches!(knob, Knob::BassCut(_))) > 0 {
        told.push("bass cut at 10");
    }
    if has(|knob| matches!(knob, Knob::Blend)) > 0 {
        told.push("blend at 10");
    }
    (!told.is_empty()).then(|| told.join(", "))
}

fn rests_on(bench: &Bench) -> Vec<String> {
    let guitar = &bench.guitar;
    let percent = |share: f64| format!("{:.0} %", share * 100.0);
    let share = |kind| guitar.tolerances().range(kind, Origin::Default, 1.0)[1] - 1.0;
    let joined = !guitar.joined().is_empty();
    let mut lines = vec![format!(
        "nothing plugged in, {}, {}; the tone knob does not matter",
        if joined { "selectors and switches as named" } else { "the selector on this pickup alone" },
        volumes_in_words(guitar, &percent(share(PartKind::Pot))),
    )];
    for (knob, turned) in guitar.knobs().into_iter().filter(|(_, turned)| *turned < Pot::FULL) {
        lines.push(format!(
            "the file has {} at {turned} of 10: turn it full to read; left there, it reads as the column says",
            knob.words(guitar)
        ));
    }
    let measured = |pickup: &usize| joined || bench.is_measured(*pickup);
    for pickup in (0..guitar.pickups().len()).filter(measured).map(|place| &guitar.pickups()[place]) {
        for (name, coil) in CoilName::BOTH.into_iter().zip([Some(pickup.coil_a()), pickup.coil_b()]) {
            let Some(coil) = coil else { continue };
            lines.push(format!(
                "{}, {name}: {}, {}",
                pickup.name(),
                coil.resistance(),
                if coil.resistance_is_stated() {
                    "as the file states it, at 20 °C".to_owned()
                } else {
                    let built_in = coil.resistance().value();
                    let [low, high] = guitar
                        .tolerances()
                        .range(PartKind::Resistance, coil.resistance_origin(), built_in)
                        .map(Ohms::new);
                    format!("a built-in value, {low} to {high} in its type: measure yours and state it")
                }
            ));
        }
    }
    let [cold, warm] = Tolerance::ROOM;
    lines.push(format!(
        "the room at {cold} to {warm} °C: copper's resistance rises by {:.2} % a degree; the meter off by up to \
         {} and {}",
        Tolerance::COPPER * 100.0,
        percent(Tolerance::METER),
        Tolerance::METER_DIGIT
    ));
    lines
}

/// Returns the volume pots, which are read beside the coils, with their tolerance.
fn volumes_in_words(guitar: &Guitar, tolerance: &str) -> String {
    let own = guitar.controls().volume().map(|pot| format!("its pot {} ± {tolerance}", pot.track()));
    let of_pickup = |pickup: &Pickup| {
        let pot = pickup.controls().volume()?;
        Some(format!("{}'s {} ± {tolerance}", pickup.name(), pot.track()))
    };
    let all: Vec<String> = own.into_iter().chain(guitar.pickups().iter().filter_map(of_pickup)).collect();
    match all.as_slice() {
        [] => "the volume full (this guitar has none)".to_owned(),
        [only] => format!("the volume full ({only})"),
        several => format!("every volume full ({})", several.join(", ")),
    }
}
