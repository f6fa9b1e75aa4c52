//! What one sees where what was soldered is proven.

use drywire::cautions;
use drywire::harness::MeterReport;
use drywire::jack::Expected;
use drywire::lugs::must_read;
use drywire::probe::{Explanation, KeptReading, KeptReadings, ProbeReport, ProbeVerdict, Test, ThrowReading};
use drywire::quantity::{Ohms, counted};
use maud::{Markup, html};

use super::super::guitar::{OpenState, shell_quoted};
use super::is_of_metal;
use super::judged::{Judged, JudgedCavity};
use super::verdict::Together;
use crate::panel::guitars::{FILE, FolderName};
use crate::panel::server::Panel;
use crate::panel::view::{Asked, Field, notice};

/// Returns what must be read, what was, and what that says.
pub(in super::super) fn proof(
    panel: &Panel,
    at: &str,
    own: &FolderName,
    state: &OpenState,
    asked: Option<&Asked>,
) -> Markup {
    let Ok(guitar) = &*state.checked else {
        return html! { div data-part="proof" { p { "What the meter must read is worked out once the file has no fault." } } };
    };
    let kept = match panel.guitars.proof(own) {
        Ok(kept) => kept,
        Err(error) => return html! { div data-part="proof" { (notice(&error.to_string(), &error.hint())) } },
    };
    let judged = match Judged::of(guitar, &state.draft, kept.readings(), &panel.unseen) {
        Ok(judged) => judged,
        Err(words) => return html! { div data-part="proof" { (notice(&words, "")) } },
    };
    let file = panel.guitars.root().join(own.as_str()).join(FILE);
    html! {
        (how(judged.report.as_ref()))
        div.bench.proves {
            div.sheet {
                @if let Some(report) = &judged.report { (at_the_jack(report, judged.is_readable, &kept, asked)) }
                @if let Some(cavity) = &judged.cavity {
                    section.part #cavity {
                        h2 { "In the cavity" }
                        @match cavity {
                            Ok(cavity) => (of_the_cavity(cavity, &kept, asked)),
                            Err(words) => (notice(words, "")),
                        }
                    }
                }
                (strays(&judged.strays, at))
                (earlier(panel, own, at, &kept))
            }
            div.told-of-it data-part="told" {
                (said(&judged, at))
                details.command {
                    summary { "As a command" }
                    pre { (command(&file.display().to_string(), &kept, &judged.strays)) }
                }
            }
        }
    }
}

/// Returns how readings are taken, the cautions first.
fn how(report: Option<&ProbeReport>) -> Markup {
    let knobs = report.and_then(|report| report.knobs.as_deref()).map(|knobs| format!(", {knobs}"));
    html! {
        div.how-to data-part="how-to" {
            p { strong { (cautions::UNPLUG) } " " (cautions::PASSIVE) }
            p { "Meter on ohms, 20 kΩ range or automatic, at a cable’s far end or at the jack: tip to sleeve, nothing else plugged in" (knobs.unwrap_or_default())
                ". Write what it shows; OL or open where it shows none."
            }
        }
    }
}

fn at_the_jack(
    report: &ProbeReport,
    is_readable: bool,
    kept: &KeptReadings,
    asked: Option<&Asked>,
) -> Markup {
    html! {
        section.part #at-the-jack {
            h2 { "Tip to sleeve" }
            @if !is_readable {
                p { "No switch or selector is soldered in here, so each arrangement is told as if it were soldered for good. Once the guitar’s file has one, what the meter reads can be entered beside it." }
            }
            @for row in &report.throws {
                @if is_readable { (throw(row, kept, asked)) } @else {
                    div.field { span { (row.arrangement) } span { "must read " (told_of(expected(row))) } }
                }
            }
            @if report.ways > report.throws.len() as u64 {
                p.small { (report.ways) " positions in all: those listed are one lever off from where the guitar stands." }
            }
        }
    }
}

fn throw(row: &ThrowReading, kept: &KeptReadings, asked: Option<&Asked>) -> Markup {
    let (title, name) = match &row.position {
        Some(position) => (position.as_str(), row.throw.as_str()),
        None => (row.throw.as_str(), ""),
    };
    let as_set = row.as_set_ohm.map(|ohms| format!("; {} with the knobs as they stand", Ohms::new(ohms)));
    let more = format!("{}{}", row.arrangement, as_set.unwrap_or_default());
    let field = ReadingField {
        place: &row.throw,
        title,
        name,
        must: told_of(expected(row)),
        more: &more,
        fits: row.fits,
    };
    field.markup(kept, asked)
}

/// Returns what must be read: the value, and between what it may lie.
fn told_of(expected: Expected) -> String {
    match expected {
        Expected::Ohms { nominal, low, .. } if low > Ohms::new(0.0) => {
            format!("{nominal} ({})", must_read(expected))
        }
        Expected::Ohms { .. } | Expected::Open => must_read(expected),
    }
}

fn expected(row: &ThrowReading) -> Expected {
    match (row.expected_ohm, row.low_ohm, row.high_ohm) {
        (Some(nominal), Some(low), Some(high)) => {
            let [nominal, low, high] = [nominal, low, high].map(Ohms::new);
            Expected::Ohms { nominal, low, high }
        }
        (Some(_) | None, _, _) => Expected::Open,
    }
}

fn of_the_cavity(cavity: &JudgedCavity, kept: &KeptReadings, asked: Option<&Asked>) -> Markup {
    html! {
        p.small { "One knob turned, all others at 10; and the meter on continuity between metal and the jack’s sleeve." }
        @for check in &cavity.checks {
            @let must = if check.is_metal { "a beep".to_owned() } else { told_of(check.expected) };
            (ReadingField { place: &check.name, title: &check.words, name: &check.name, must, more: "", fits: cavity.at(&check.name).map(|reading| reading.fits) }.markup(kept, asked))
        }
    }
}

/// Where one reading is entered.
struct ReadingField<'r> {
    place: &'r str,
    title: &'r str,
    name: &'r str,
    must: String,
    more: &'r str,
    fits: Option<bool>,
}

impl ReadingField<'_> {
    fn markup(&self, kept: &KeptReadings, asked: Option<&Asked>) -> Markup {
        let Self { place, title, name, must, more, fits } = self;
        let id = Field::id_of(place);
        let described = format!("{id}-told");
        let asked = asked.filter(|asked| asked.place == *place);
        let known = kept.at(place);
        let text = asked.map_or_else(|| known.map_or("", |reading| &reading.reads), |asked| &asked.text);
        let (is_wrong, invalid) = (*fits == Some(false), asked.map(|_| "true"));
        html! {
            div.field.reading.faulty[is_wrong || asked.is_some()] data-part={ "f-" (place) } id={ "f" (id) } {
                label for=(id) { (title) @if !name.is_empty() { " " span.key { (name) } } }
                div.entry {
                    @if is_of_metal(place) {
                        select #(id) data-place=(place) aria-describedby=(described) aria-invalid=[invalid] {
                            option value="" selected[text.is_empty()] { "not tried" }
                            option value="beep" selected[text == "beep"] { "it beeps" }
                            option value="open" selected[text == "open"] { "no beep" }
                            @if !matches!(text, "" | "beep" | "open") { option value=(text) selected { (text) } }
                        }
                    } @else {
                        input #(id) type="text" value=(text) placeholder="not read" data-place=(place) autocomplete="off" spellcheck="false"
                            aria-describedby=(described) aria-invalid=[invalid];
                    }
                    output.reads.judgement for=(id) {
                        @match fits { Some(true) => "✓ as it must", Some(false) => "✗ not so", None => "" }
                    }
                }
                div.told id=(described) {
                    @if let Some(asked) = asked {
                        p.fault role="alert" data-asked { (asked.message) }
                        @if !asked.readings.is_empty() {
                            p.readings {
                                @for reading in &asked.readings { button type="button" data-place=(place) data-write=(reading.write) { (reading.shown) } }
                            }
                        }
                    }
                    p { "must read " strong { (must) } }
                    @if !more.is_empty() { p.small { (more) } }
                    @if let Some(date) = known.and_then(|reading| reading.date.as_ref()) { p.small { "read on " (date) } }
                }
            }
        }
    }
}

/// Returns what the readings say.
fn said(judged: &Judged, at: &str) -> Markup {
    let cavity = judged.cavity.as_ref().and_then(|cavity| cavity.as_ref().ok());
    let (jack, metered) = (judged.report.as_ref(), cavity.map(|cavity| &cavity.report));
    let together = Together::of(jack, metered);
    html! {
        section.verdicts aria-labelledby="said-of-it" {
            h2 #said-of-it { "What the readings say" }
            p.verdict data-said role="status" { (together.words(jack, metered)) }
            @match (together, jack, metered) {
                (Together::AtTheJack | Together::AtTheJackOnly, Some(report), _) => { (suspects(report)) }
                (Together::InTheCavity, _, Some(report)) => { (mistakes(report)) }
                (Together::AsStated, ..) => p { a href={ (at.trim_end_matches("prove/")) "cavity/" } { "What is wrong with these wires" } },
                (Together::AtTheJack | Together::AtTheJackOnly | Together::InTheCavity | Together::Nothing | Together::AsExpected | Together::Unexplained, ..) => {}
            }
            @if jack.is_none() {
                p { "The guitar has a buffer, through which a meter at the jack reads nothing of the coils. Take the battery out and read before the buffer." }
            }
            @if let Some(report) = jack { (unseen(report, together)) }
            @if let Some(cavity) = cavity.filter(|cavity| !cavity.unseen.is_empty()) {
                details.unseen-by-meter #unseen-in-cavity {
                    summary { "In the cavity no reading at the jack shows: " (counted(cavity.unseen.iter().map(|own| own.mistakes.len()).sum::<usize>(), "mistake")) }
                    @for own in &*cavity.unseen {
                        ul { @for mistake in &own.mistakes { li { (mistake) } } }
                        p { "Test: " (own.settle_by) }
                    }
                }
            }
            @if let Some(report) = jack {
                details.how { summary { "What this rests on" } ul { @for line in &report.rests_on { li { (line) } } } }
            }
        }
    }
}

/// Returns the mistakes that give the readings at the jack.
fn suspects(report: &ProbeReport) -> Markup {
    html! {
        @if !report.faults.is_empty() {
            ol.suspects { @for fault in &report.faults { (suspect(report, fault)) } }
        }
    }
}

/// Returns the mistakes in the cavity that give all readings, those of one test together.
fn mistakes(report: &MeterReport) -> Markup {
    let mut by_test: Vec<(&str, Vec<&str>)> = Vec::new();
    for (mistake, test) in report.explained_by.iter().zip(&report.settle_by) {
        match by_test.iter_mut().find(|(own, _)| own == test) {
            Some((_, mistakes)) => mistakes.push(mistake),
            None => by_test.push((test, vec![mistake])),
        }
    }
    html! {
        @for (test, mistakes) in &by_test {
            ul.suspects { @for mistake in mistakes { li { strong { (mistake) } } } }
            p { "Test: " (test) }
        }
    }
}

fn suspect(report: &ProbeReport, fault: &Explanation) -> Markup {
    let stands = |throw: &ThrowReading| throw.position.clone().unwrap_or_else(|| throw.throw.clone());
    let reads = report.throws.iter().zip(&fault.would_read_ohm).map(|(throw, ohms)| {
        let ohms = ohms.map_or_else(|| "open".to_owned(), |own| Ohms::new(own).to_string());
        format!("{} {ohms}", stands(throw))
    });
    let explained = report.throws.iter().filter(|throw| fault.explains.contains(&throw.throw)).map(stands);
    let alike = report
        .faults
        .iter()
        .enumerate()
        .filter(|(_, other)| fault.indistinguishable_from.contains(&other.what));
    let alike: Vec<String> = alike.map(|(place, _)| (place + 1).to_string()).collect();
    html! {
        li {
            p { strong { (fault.what) } }
            p.small {
                "It would read: " (reads.collect::<Vec<_>>().join(", ")) "."
                @if report.verdict == ProbeVerdict::Unexplained { " It explains only: " (explained.collect::<Vec<_>>().join(", ")) "." }
                @if !alike.is_empty() { " To a meter at the jack it is the same as " (alike.join(", ")) "." }
            }
            p { "Test: " (fault.settle_by) }
        }
    }
}

/// Returns what the readings do not show.
fn unseen(report: &ProbeReport, together: Together) -> Markup {
    let is_right = report.verdict == ProbeVerdict::AsExpected && together == Together::AsExpected;
    let heading = if is_right || report.verdict != ProbeVerdict::AsExpected {
        report.unseen_heading()
    } else {
        "Not shown by the readings at the jack"
    };
    html! {
        @if !report.unseen_by_dc.is_empty() {
            details.unseen-by-meter #unseen-at-jack {
                summary { (heading) ": " (counted(report.unseen_by_dc.len(), "mistake")) }
                ul {
                    @for Test { what, settle_by } in &report.unseen_by_dc {
                        li { (what) @if is_right { ". Test: " (settle_by) } }
                    }
                }
                @if !is_right { p.small { "A test for each is told once every reading is as expected." } }
            }
        }
    }
}

fn strays(strays: &[(KeptReading, String)], at: &str) -> Markup {
    html! {
        section.part #strays data-part="strays" hidden[strays.is_empty()] {
            h2 { "Kept, and not of the guitar as it is now" }
            @for (reading, why) in strays {
                form.row method="post" action={ (at) "set" } {
                    input type="hidden" name="place" value=(reading.place);
                    input type="hidden" name="value" value="";
                    span { (reading.place) ": " (reading.reads) @if let Some(date) = &reading.date { ", read on " (date) } }
                    button.quiet { "Take it out" span.unseen { " " (reading.place) } }
                    span.small { (why) }
                }
            }
        }
    }
}

fn earlier(panel: &Panel, own: &FolderName, at: &str, kept: &KeptReadings) -> Markup {
    let earlier = panel.guitars.earlier_readings(own);
    html! {
        div #earlier data-part="earlier" {
            @if !kept.readings().is_empty() {
                form method="post" action={ (at) "anew" } { button.quiet #anew { "Lay these readings aside and begin anew" } }
            }
            @if !earlier.is_empty() { p.small { "Kept of before, in the guitar’s folder: readings/" (earlier.join(", readings/")) } }
        }
    }
}

/// Returns the command that tells the same; it would refuse readings that are not of the guitar.
fn command(file: &str, kept: &KeptReadings, strays: &[(KeptReading, String)]) -> String {
    let is_own = |reading: &&KeptReading| strays.iter().all(|(stray, _)| stray != *reading);
    // Readings are told apart by commas, which a decimal comma must not be.
    let told = kept
        .readings()
        .iter()
        .filter(is_own)
        .map(|KeptReading { place, reads, .. }| format!("{place}={}", reads.replace(',', ".")));
    let told = told.collect::<Vec<_>>().join(",");
    if told.is_empty() {
        return format!("drywire probe --guitar {}", shell_quoted(file));
    }
    format!("drywire probe --guitar {} --read {}", shell_quoted(file), shell_quoted(&told))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_command_reads_what_is_of_the_guitar_alone() {
        let mut kept = KeptReadings::new("proof.toml");
        for (place, reads) in [("mode:1", "7,9k"), ("nowhere:7", "5k")] {
            kept.keep(place, reads, "2026-11-27").unwrap();
        }
        let stray = (kept.readings()[1].clone(), "there is no such state".to_owned());
        let told = command("mine.toml", &kept, std::slice::from_ref(&stray));
        assert_eq!(told, "drywire probe --guitar 'mine.toml' --read 'mode:1=7.9k'");
        kept.keep("mode:1", "", "2026-11-27").unwrap();
        assert_eq!(command("mine.toml", &kept, &[stray]), "drywire probe --guitar 'mine.toml'");
    }
}
