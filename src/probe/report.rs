//! The answer: what must be read, what was, and what explains the difference.

use serde::Serialize;

use super::bench::Bench;
use super::check::{heard, readings};
use super::expected::{Corners, Tolerance};
use super::settle::{AS_DRAWN, Case, Settling};
use super::suspect::{Suspect, mistakes};
use super::{Expected, Position, ReadingOf, unseen};
use crate::leads::Meter;
use crate::quantity::Ohms;
use crate::response::VoiceError;
use crate::wiring::CoilName;

/// What the readings say of the plan as drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Verdict {
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
pub struct Report {
    /// The guitar's name.
    pub guitar: String,
    /// What the readings say.
    pub verdict: Verdict,
    /// What must be read, and what was, throw by throw.
    pub throws: Vec<ThrowReading>,
    /// The single mistakes that give the readings, the best fit first. Where none gives all of them, those that
    /// give more of them than the plan as drawn.
    pub faults: Vec<Explanation>,
    /// What may be wrong although these readings are right.
    pub unseen_by_dc: Vec<Test>,
    /// What the expected values rest on, in words.
    pub rests_on: Vec<String>,
}

/// One throw, or one arrangement where there is no switch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThrowReading {
    /// The throw's name, such as `mode:1`.
    pub throw: String,
    /// Where the lever is.
    pub position: Option<String>,
    /// The arrangement's name, or the connection in words.
    pub arrangement: String,
    /// What the meter reads with every part at its stated value and the volume full; null where it reads open.
    pub expected_ohm: Option<f64>,
    /// The least within the tolerances.
    pub low_ohm: Option<f64>,
    /// The most.
    pub high_ohm: Option<f64>,
    /// What it reads with the volume where the file has it, where that is below full.
    pub as_set_ohm: Option<f64>,
    /// What was read, as it was given; null where nothing was.
    pub read: Option<String>,
    /// The same in ohms; null where it was open.
    pub read_ohm: Option<f64>,
    /// Whether it is what the plan as drawn gives; null where nothing was read.
    pub fits: Option<bool>,
}

/// A single mistake that gives readings.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Explanation {
    /// The mistake in words.
    pub what: String,
    /// `off`, `swapped`, `bridged`, `coil-open`, `coil-shorted` or `volume`.
    pub kind: &'static str,
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
pub fn prove(bench: &Bench, read: &[ReadingOf]) -> Result<Report, VoiceError> {
    let expected = bench.expected()?;
    let throws = throws(bench, &expected, read)?;
    let as_drawn = read.iter().filter(|r| expected[r.position].fits(&r.shown)).count();
    let mut cases = vec![Case { suspect: None, reads: expected.clone() }];
    let suspects: Vec<Suspect> = mistakes(bench).into_iter().map(Suspect::Mistake).collect();
    for suspect in &suspects {
        cases.push(Case { suspect: Some(suspect), reads: readings(bench, Some(suspect))? });
    }
    let volume = if as_drawn < read.len() { volume(bench, read)? } else { None };
    if let Some(suspect) = &volume {
        cases.push(Case { suspect: Some(suspect), reads: readings(bench, Some(suspect))? });
    }
    let unread = (0..expected.len()).filter(|place| read.iter().all(|r| r.position != *place));
    let settling = Settling::new(bench, &cases, unread.collect::<Vec<_>>().into_iter());
    let given = |case: &Case<'_>| read.iter().filter(|r| case.reads[r.position].fits(&r.shown)).count();

    let mut listed: Vec<usize> = (1..cases.len()).filter(|case| given(&cases[*case]) == read.len()).collect();
    let verdict = match (read.len(), as_drawn == read.len(), listed.is_empty()) {
        (0, ..) => Verdict::NothingRead,
        (_, true, _) => Verdict::AsExpected,
        (_, false, false) => Verdict::Explained,
        (_, false, true) => Verdict::Unexplained,
    };
    if verdict == Verdict::Unexplained {
        listed = (1..cases.len()).filter(|case| given(&cases[*case]) > as_drawn).collect();
    }
    let off = |case: &Case<'_>| -> f64 {
        read.iter().map(|r| case.reads[r.position].deviation(&r.shown).min(FAR)).sum()
    };
    listed.sort_by(|one, other| off(&cases[*one]).total_cmp(&off(&cases[*other])));
    let faults = match verdict {
        Verdict::NothingRead | Verdict::AsExpected => Vec::new(),
        Verdict::Explained => explanations(bench, &cases, &listed, read, &settling),
        Verdict::Unexplained => {
            listed.truncate(PARTLY);
            explanations(bench, &cases, &listed, read, &settling)
        }
    };
    // Where all is right so far, what the readings taken leave open; else what no reading at the jack would show.
    let is_unseen = |case: &Case<'_>| match verdict {
        Verdict::AsExpected => given(case) == read.len(),
        Verdict::NothingRead | Verdict::Explained | Verdict::Unexplained => {
            case.reads.iter().zip(&expected).all(|(own, drawn)| own.is_like(*drawn))
        }
    };
    let mut unseen_by_dc = Vec::new();
    for (place, case) in cases.iter().enumerate().filter(|(_, case)| is_unseen(case)) {
        let Some(suspect) = case.suspect else { continue };
        let (tests, _) = settling.tell(place, suspect, &[AS_DRAWN]);
        unseen_by_dc.push(Test { what: suspect.words(bench), settle_by: sentence(tests, &[]) });
    }
    unseen_by_dc.extend(unseen::on_any(&bench.guitar));
    let rests_on = rests_on(bench);
    Ok(Report { guitar: bench.guitar.name().to_owned(), verdict, throws, faults, unseen_by_dc, rests_on })
}

/// A reading outside the band by more is as wrong as can be.
const FAR: f64 = 100.0;

fn throws(bench: &Bench, expected: &[Expected], read: &[ReadingOf]) -> Result<Vec<ThrowReading>, VoiceError> {
    let as_set = bench.as_set()?;
    let row = |(place, at): (usize, &Position)| {
        let shown = read.iter().find(|r| r.position == place).map(|r| &r.shown);
        let (low, high) = match expected[place] {
            Expected::Open => (None, None),
            Expected::Ohms { low, high, .. } => (Some(low.value()), Some(high.value())),
        };
        ThrowReading {
            throw: at.name().to_owned(),
            position: at.lever().map(|throw| throw.position().to_owned()),
            arrangement: at.arrangement(),
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

fn ohms_of(shown: &Meter) -> Option<f64> {
    shown.closed().or(shown.leakage()).map(Ohms::value)
}

fn explanations(
    bench: &Bench,
    cases: &[Case<'_>],
    listed: &[usize],
    read: &[ReadingOf],
    settling: &Settling<'_>,
) -> Vec<Explanation> {
    let words = |place: usize| cases[place].suspect.map(|s| s.words(bench)).unwrap_or_default();
    let mut all = Vec::new();
    for own in listed {
        let case = &cases[*own];
        let Some(suspect) = case.suspect else { continue };
        let others: Vec<usize> = listed.iter().copied().filter(|other| other != own).collect();
        let alike = |other: &&usize| {
            cases[**other].reads.iter().zip(&case.reads).all(|(other, own)| other.is_like(*own))
        };
        let indistinguishable_from = others.iter().filter(alike).map(|other| words(*other)).collect();
        // A mistake that stands alone is still to be confirmed against the plan as drawn.
        let told_from = if others.is_empty() { vec![AS_DRAWN] } else { others };
        let (tests, same) = settling.tell(*own, suspect, &told_from);
        let same: Vec<String> = same.into_iter().filter(|other| *other != AS_DRAWN).map(words).collect();
        let explained = read.iter().filter(|r| case.reads[r.position].fits(&r.shown));
        all.push(Explanation {
            what: suspect.words(bench),
            kind: suspect.kind(),
            things: suspect.things(bench),
            explains: explained.map(|r| bench.positions()[r.position].name().to_owned()).collect(),
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

/// The steps of the volume knob that are looked at; they lie close together at both ends of its travel, where the
/// reading changes most.
const STEPS: u32 = 400;

/// Returns the volume's position that gives the readings best, where there is a volume.
fn volume(bench: &Bench, read: &[ReadingOf]) -> Result<Option<Suspect>, VoiceError> {
    if bench.guitar.controls().volume().is_none() {
        return Ok(None);
    }
    let mut best = (f64::INFINITY, Bench::FULL);
    for step in 0..STEPS {
        let angle = std::f64::consts::FRAC_PI_2 * f64::from(step) / f64::from(STEPS);
        let turned = Bench::FULL * angle.sin().powi(2);
        let corners = Corners::new(&bench.guitar, turned);
        let mut off = 0.0;
        for reading in read {
            let at = &bench.positions()[reading.position];
            let nominal = corners.nominal(at.pickup(), heard(at, None))?.map_or(f64::INFINITY, Ohms::value);
            off += off_by(nominal, &reading.shown);
        }
        if off < best.0 {
            best = (off, turned);
        }
    }
    Ok(Some(Suspect::Volume(best.1)))
}

/// Returns how far a reading is from a value, as a ratio's logarithm, squared.
fn off_by(nominal: f64, shown: &Meter) -> f64 {
    let digit = Tolerance::METER_DIGIT.value();
    let shown = ohms_of(shown).unwrap_or(f64::INFINITY).min(Meter::OPEN_FROM.value());
    ((nominal.min(Meter::OPEN_FROM.value()) + digit) / (shown + digit)).ln().powi(2)
}

fn rests_on(bench: &Bench) -> Vec<String> {
    let percent = |share: f64| format!("{:.0} %", share * 100.0);
    let controls = bench.guitar.controls();
    let mut lines = vec![format!(
        "nothing plugged in, the selector on this pickup alone, the volume full ({}); the tone knob does not matter",
        match controls.volume() {
            Some(pot) => format!("its pot {} ± {}", pot.track(), percent(Tolerance::POT)),
            None => "this guitar has none".to_owned(),
        }
    )];
    if let Some(pot) = controls.volume().filter(|pot| pot.turned() < Bench::FULL) {
        lines.push(format!(
            "the file has the volume at {} of 10: turn it full to read; left there, it reads as the column says",
            pot.turned()
        ));
    }
    let mut pickups: Vec<&crate::document::Name> = bench.positions().iter().map(Position::pickup).collect();
    pickups.dedup();
    for pickup in pickups.into_iter().filter_map(|name| bench.guitar.pickup(Some(name.as_str())).ok()) {
        for (name, coil) in CoilName::BOTH.into_iter().zip([Some(pickup.coil_a()), pickup.coil_b()]) {
            let Some(coil) = coil else { continue };
            lines.push(format!(
                "{}, {name}: {}, {}",
                pickup.name(),
                coil.resistance(),
                if coil.resistance_is_stated() {
                    "as the file states it, at 20 °C".to_owned()
                } else {
                    format!(
                        "a built-in value ± {}: measure yours and state it",
                        percent(Tolerance::BUILT_IN_COIL)
                    )
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
