//! The page of a pickup's leads: what is known, the next reading with a drawing of where the probes go, and all readings.

use drywire::guitar::Draft;
use drywire::leads::{Fields, Readings, Report, Told, Verdict, further, identify, ways_left};
use drywire::quantity::counted;
use maud::{Markup, html};

use super::super::guitar::shell_quoted;
use super::super::shown::Shown;
use super::record::{COILS, Record};
use super::{of_guitar, pickup_of};
use crate::panel::guitars::{FILE, FolderName};
use crate::panel::server::Panel;
use crate::panel::view::{Doubted, probes};

/// Returns the page of the leads of the pickup that is shown.
pub(in super::super) fn leads_views(
    panel: &Panel,
    at: &str,
    own: &FolderName,
    draft: &Draft,
    shown: &Shown,
    doubted: Option<&Doubted>,
) -> Markup {
    let pickup = pickup_of(draft, shown);
    let record = of_guitar(&panel.guitars, own, &pickup);
    let names = draft.pickup_names();
    html! {
        @if names.len() > 1 {
            form.choice #leads-of method="get" action=(at) data-part="choice" {
                label { "The pickup on the bench "
                    select #heard name="heard" data-go {
                        @for name in &names { option value=(name) selected[*name == pickup] { (name) } }
                    }
                }
            }
        }
        @match record.readings() {
            Err(trouble) => div data-part="begin" { (trouble.notice()) (anew(at)) },
            Ok(None) => (begin_form(at, false)),
            Ok(Some((_, readings))) => (known(at, &readings, &command(&record, own), doubted, &|| put(at, draft, &pickup, &readings))),
        }
    }
}

/// Returns what the readings tell of the coils of each pickup, by the names that the person gave them, which a guitar's file has no
/// place for.
pub(in super::super) fn told_by_leads(panel: &Panel, own: &FolderName, draft: &Draft) -> Markup {
    let names = draft.pickup_names();
    let coils = |pickup: &str| -> Option<Vec<String>> {
        let (_, readings) = of_guitar(&panel.guitars, own, pickup).readings().ok().flatten()?;
        let rows = identify(&readings).by_coil();
        let told = |([coil, ohms, pole, sense], letter): ([String; 4], char)| {
            format!("{letter} is {coil}: {ohms}, top pole {pole}, wound {sense} from − to +")
        };
        (!rows.is_empty()).then(|| rows.into_iter().zip('A'..).map(told).collect())
    };
    html! {
        div data-part="told-by-leads" {
            @for pickup in &names {
                @if let Some(coils) = coils(pickup) { p.small { "As Leads has pickup " (pickup) ": coil " (coils.join("; coil ")) "." } }
            }
        }
    }
}

fn command(record: &Record<'_>, own: &FolderName) -> String {
    let readings = shell_quoted(&record.shown_path());
    let guitar = record.guitars.root().join(own.as_str()).join(FILE);
    let guitar = shell_quoted(&guitar.display().to_string());
    format!("drywire leads {readings} --save {guitar} --pickup {}", record.pickup)
}

/// Returns the form that asks what there is, and where it `is_named` there, what the pickup is called.
pub(super) fn begin_form(at: &str, is_named: bool) -> Markup {
    html! {
        div data-part="begin" {
            p.about { "Which lead belongs to which coil, and which end of it, found with a meter and a piece of steel. Nothing has to be known of the pickup: name its leads as you see them." }
            form.asks method="post" action={ (at) "begin" } {
                @if is_named { label { "What do you call the pickup? " input #called name="called" type="text" size="24" maxlength="60"; " " span.small { "left empty: pickup" } } }
                label { "Leads, with commas between them " input #leads name="leads" type="text" size="40" placeholder="white, grey, red, blue" required; }
                label { "Shield or bare wire, where there is one " input #shield name="shield" type="text" size="16" placeholder="bare"; }
                label { "The coils, as you tell them apart " input #coils name="coils" type="text" size="24" placeholder=(COILS); }
                p.small { "Near and far, as the pickup lies before you, unless you name them; one name means a pickup of one coil. The first is coil A, the one nearer the bridge." }
                button.strong { "Begin" }
            }
        }
    }
}

fn anew(at: &str) -> Markup {
    html! {
        form.remove method="post" action={ (at) "begin-anew" } {
            button.quiet #begin-anew { "Begin anew" }
            span.small { " What was read goes into the system’s bin." }
        }
    }
}

/// Returns what is known of a pickup whose leads are named; once they are certain, `put` puts them into a guitar.
pub(super) fn known(
    at: &str,
    readings: &Readings,
    command: &str,
    doubted: Option<&Doubted>,
    put: &dyn Fn() -> Markup,
) -> Markup {
    let report = identify(readings);
    let is_begun = readings.entries().is_empty() && report.verdict == Verdict::Ambiguous;
    html! {
        div.bench {
            div {
                div #verdict data-part="verdict" role="status" { p.verdict.certain[report.verdict == Verdict::Certain] {
                    @if is_begun { "Nothing is read yet. The leads can be assigned in " (counted(report.assignments_left, "way")) "; each reading strikes some of them out." } @else { (report.verdict_words()) }
                } }
                div data-part="next" {
                    @match &report.next {
                        Some(next) => { h2 { "Next" } (asked(at, readings, next, doubted)) },
                        None => (over(at, readings, &report, doubted, put)),
                    }
                }
                (any(at, readings, doubted))
            }
            div.findings {
                (found(&report, readings))
                (taken(at, readings))
                @for (title, items) in report.lists() {
                    section data-part={ "list " (title) } { h2 { (title) } ul { @for item in items { li { (item) } } } }
                }
                div data-part="anew" { (anew(at)) }
                details { summary { "As a command" } pre { (command) } }
            }
        }
    }
}

/// Returns the form for a reading, and a drawing of where the probes go.
fn asked(at: &str, readings: &Readings, next: &Told, doubted: Option<&Doubted>) -> Markup {
    let how = next.fields.how_to();
    let doubted = doubted.filter(|own| own.asked.place == ASKED);
    html! {
        p.asked { (next.words) }
        @match &next.fields {
            Fields::Ohms { between: [one, other], .. } => form.asks method="post" action={ (at) "read" } {
                input type="hidden" name="kind" value="ohms"; input type="hidden" name="one" value=(one); input type="hidden" name="other" value=(other);
                label { "The meter shows " (ohms(ASKED, doubted)) }
                (meant(doubted))
                div.row { button.strong { "Take it" } button.quiet #open name="open" value="yes" formnovalidate { "It is open" } }
            },
            Fields::Tap { coil, red, black, .. } => form.asks method="post" action={ (at) "read" } {
                input type="hidden" name="kind" value="tap"; input type="hidden" name="one" value=(red); input type="hidden" name="other" value=(black);
                input type="hidden" name="coil" value=(coil.as_deref().unwrap_or_default());
                p { "The first swing as the steel touches:" }
                div.row { @for (value, words) in SWINGS { button.strong name="reads" value=(value) { (words) } } }
            },
            Fields::Compass { coil, .. } => form.asks method="post" action={ (at) "read" } {
                input type="hidden" name="kind" value="compass"; input type="hidden" name="coil" value=(coil.as_deref().unwrap_or_default());
                div.row { @for pole in POLES { button.strong name="reads" value=(pole) { (pole) } } }
            },
            Fields::Undo { .. } => p { "Then take the readings of these two again." },
        }
        (probes(readings, &next.fields))
        details { summary { "How it is read" } p { (how) } }
    }
}

/// The identifier of the field for the ohms that are asked for, and of that for others.
const ASKED: &str = "reads";
const OTHERS: &str = "ohms-reads";

/// Returns the field for ohms, with what was typed there where that is asked about.
fn ohms(id: &str, doubted: Option<&Doubted>) -> Markup {
    html! {
        input type="hidden" name="field" value=(id);
        input id=(id) name="reads" type="text" size="10" placeholder="5.9k, or open" required autocomplete="off"
            value=[doubted.map(|own| &own.asked.text)] aria-invalid=[doubted.map(|_| "true")];
    }
}

/// Returns what is asked about what was typed, with a button for each that it may mean.
fn meant(doubted: Option<&Doubted>) -> Markup {
    html! {
        @if let Some(Doubted { asked, .. }) = doubted {
            p.fault data-asked { (asked.message) }
            div.row { @for reading in &asked.readings { button.strong name="meant" value=(reading.write) formnovalidate { (reading.shown) } } }
        }
    }
}

const SWINGS: [(&str, &str); 3] = [("+", "+ up"), ("-", "− down"), ("none", "none")];
const POLES: [&str; 2] = ["north", "south"];

/// Returns what puts what was found into the guitar, or that it is in.
fn put(at: &str, draft: &Draft, pickup: &str, readings: &Readings) -> Markup {
    let mut with = draft.clone();
    let is_in = identify(readings).put_into(&mut with, Some(pickup)).is_ok() && with.text() == draft.text();
    html! {
        @if is_in {
            p #is-in.verdict.certain role="status" { "It is in the guitar: leads, ohms, poles and windings of pickup " (pickup) ", as far as they are known." }
            @let guitar = at.trim_end_matches("leads/");
            p { "Next: " a href=(guitar) { "Guitar’s values" } ", or which lead goes on which lug at " a href={ (guitar) "plan/?heard=" (pickup) } { "Plan" } "." }
        } @else {
            form method="post" action={ (at) "put" } { button.strong #put { "Put into the guitar" } }
            p.small { "Leads, ohms, poles and windings of this pickup, as far as they are known; all else in the file stays as it is." }
        }
    }
}

/// Returns what to do where no reading settles more.
fn over(
    at: &str,
    readings: &Readings,
    report: &Report,
    doubted: Option<&Doubted>,
    put: &dyn Fn() -> Markup,
) -> Markup {
    html! {
        @match report.verdict {
            Verdict::Certain => {
                @if let Some(words) = report.strings_and_hum() { p { (words) } }
                (put())
                @if let Some(wanted) = further(readings) {
                    h2 { "Still worth a reading" }
                    p.small { "For the coils’ values and health, and for the hum. It can be left out." }
                    (asked(at, readings, &wanted, doubted))
                }
            },
            Verdict::Ambiguous => p { "No reading tells more. Take those again that you doubt." },
            Verdict::Contradictory => p { "Take back a reading that you doubt, and take it again." },
        }
    }
}

/// Returns the forms for readings that are not asked for.
fn any(at: &str, readings: &Readings, doubted: Option<&Doubted>) -> Markup {
    let doubted = doubted.filter(|own| own.asked.place == OTHERS);
    let leads: Vec<&str> =
        readings.leads().iter().chain(readings.shield()).map(drywire::leads::Word::as_str).collect();
    let coils: Vec<&str> =
        drywire::leads::Bobbin::BOTH.iter().filter_map(|bobbin| readings.bobbin_name(*bobbin)).collect();
    let one_of = |id: &str, name: &str, label: &str, of: &[&str], at: usize| {
        html! { label { (label) " " select id=(id) name=(name) { @for (i, own) in of.iter().enumerate() { option selected[i == at] { (own) } } } } }
    };
    let at_lead = |i: usize, usual: usize| {
        let named = doubted.and_then(|own| leads.iter().position(|lead| *lead == own.between[i]));
        named.unwrap_or(usual)
    };
    html! {
        details #any data-part="any" open[doubted.is_some()] {
            summary { "Another reading" }
            form.asks method="post" action={ (at) "read" } {
                input type="hidden" name="kind" value="ohms";
                (one_of("ohms-one", "one", "Ohms between", &leads, at_lead(0, 0))) (one_of("ohms-other", "other", "and", &leads, at_lead(1, 1)))
                label { "read " (ohms(OTHERS, doubted)) }
                (meant(doubted))
                button { "Take it" }
            }
            form.asks method="post" action={ (at) "read" } {
                input type="hidden" name="kind" value="tap";
                (one_of("tap-coil", "coil", "Tapping", &coils, 0)) (one_of("tap-red", "one", "red on", &leads, 0)) (one_of("tap-black", "other", "black on", &leads, 1))
                label { "swings " select #tap-swing name="reads" { @for (value, words) in SWINGS { option value=(value) { (words) } } } }
                button { "Take it" }
            }
            form.asks method="post" action={ (at) "read" } {
                input type="hidden" name="kind" value="compass";
                (one_of("compass-coil", "coil", "A compass over", &coils, 0)) (one_of("compass-pole", "reads", "says", &POLES, 0))
                button { "Take it" }
            }
        }
    }
}

/// Returns the leads and coils as far as they are known.
fn found(report: &Report, readings: &Readings) -> Markup {
    html! {
        div data-part="found" {
            @if report.verdict != Verdict::Contradictory {
                table { caption { "Leads" }
                    tr { th scope="col" { "lead" } th scope="col" { "coil" } th scope="col" { "end" } }
                    @for [lead, coil, end] in report.by_lead(readings) { tr { th scope="row" { bdi { (lead) } } td { bdi { (coil) } } td { (end) } } }
                }
                @let coils = report.by_coil();
                @if !coils.is_empty() {
                    table { caption { "Coils" }
                        tr { th scope="col" { "coil" } th scope="col" { "ohms" } th scope="col" { "top pole" } th scope="col" { "wound from − to +" } }
                        @for [coil, ohms, pole, sense] in coils { tr { th scope="row" { bdi { (coil) } } td { (ohms) } td { (pole) } td { (sense) } } }
                    }
                }
            }
        }
    }
}

/// Returns the readings that were taken, each with how many ways it leaves.
fn taken(at: &str, readings: &Readings) -> Markup {
    let told = readings.told();
    html! {
        div data-part="taken" {
            @if !told.is_empty() {
                h2 { "Readings" }
                ol.taken {
                    @for (i, (told, left)) in told.iter().zip(ways_left(readings)).enumerate() {
                        li {
                            span { (told.words) span.small { " leaves " (counted(left, "way")) " " } }
                            form method="post" action={ (at) "take-back" } {
                                input type="hidden" name="index" value=(i);
                                button.quiet id={ "take-back-" (i) } { "Take back" span.unseen { " " (told.words) } }
                            }
                        }
                    }
                }
            }
        }
    }
}
