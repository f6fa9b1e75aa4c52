//! What one sees of a survey: the few that stand for all, and all of them, sifted.

use std::path::Path;

use drywire::quantity::{counted, signed};
use drywire::survey::{CircuitFigures, Radii, SurveyFigures};
use drywire::words;
use maud::{Markup, html};

use super::super::guitar::{OpenState, option_of, shell_quoted};
use super::super::shown::Shown;
use super::super::works::{Kind, Stage};
use super::ways::Ways;
use super::{heard_at, known, whose};
use crate::panel::guitars::{FILE, FolderName};
use crate::panel::server::Panel;
use crate::panel::view::{notice, path_segment};

/// The most circuits that are listed at once.
const MOST_LISTED: usize = 200;

/// Returns the survey of what is shown, and what makes it.
pub(in super::super) fn surveyed(
    panel: &Panel,
    at: &str,
    own: &FolderName,
    state: &OpenState,
    shown: &Shown,
) -> Markup {
    let Ok(guitar) = &*state.checked else {
        return html! { div data-part="survey" { p { "A survey is made once the file has no fault." } } };
    };
    let pickups: Vec<&str> = guitar.pickups().iter().map(|pickup| pickup.name().as_str()).collect();
    let heard = pickups.iter().find(|name| **name == shown.heard).copied().unwrap_or_default();
    let heard = if pickups.len() == 1 { pickups[0] } else { heard };
    let stage = panel.works.stage(own, Kind::Survey);
    let home = panel.guitars.root().join(own.as_str());
    let ways = Ways::of(guitar, heard, &shown.ways);
    let folder = home.join("surveys").join(whose(heard, ways));
    let figures = known(&home, &folder);
    let hear = |circuit: &CircuitFigures| {
        let at = at.trim_end_matches("survey/");
        let of = path_segment(&heard_at(guitar, heard));
        format!("{at}hear/?heard={of}&voice={}", path_segment(&circuit.name))
    };
    html! {
        p.about { "How near the ways to join the coils lie to one another, heard by the program with a plucked chord: what is worth a switch for its tone. " strong { "Levels are taken out first: tone alone is compared." } " What sounds like another, only softer, counts as the same here; how much softer it is stands beside it, and is heard at Hear." }
        div data-part="stage" {
            @match &stage {
                Some(Stage::Works(words) | Stage::Done(words)) => p.stage role="status" data-said { (words) },
                Some(Stage::Failed(words)) => (notice(words, "")),
                None => {}
            }
        }
        @let is_switched = ways != Ways::Only;
        @if pickups.len() > 1 || is_switched {
            form #choice .choice method="get" action=(at) data-part="choice" {
                @if pickups.len() > 1 {
                    label { "Of "
                        select #heard name="heard" data-go {
                            option value="" selected[heard.is_empty()] { "all pickups together" }
                            @for name in &pickups { option value=(name) selected[*name == heard] { "pickup " (name) " alone" } }
                        }
                    }
                }
                @if is_switched {
                    label { "What is surveyed "
                        select #ways name="ways" data-go {
                            @for own in [Ways::Every, Ways::AsSwitched] { option value=(own.name()) selected[own == ways] { (own.words()) } }
                        }
                    }
                }
            }
        }
        @if !is_switched { p #surveyed { "What is surveyed: " (ways.words()) "." } }
        form #survey .choice method="post" action={ (at) "make" } data-part="ask" {
            input type="hidden" name="heard" value=(heard);
            input type="hidden" name="ways" value=(ways.name());
            label { "Keep so many that every other sounds within "
                select #within name="within" {
                    @for within in ["1.5", "3", "6"] { option value=(within) selected[within == "3"] { (within) " dB" } }
                }
            }
            span.small { "of one of them in tone: 1 dB can just be told side by side, 3 dB is plain." }
            button.strong #make disabled[matches!(stage, Some(Stage::Works(_)))] { @if figures.is_some() { "Make it anew" } @else { "Make the survey" } }
        }
        @match &figures {
            None => div data-part="survey" { p { "There is none so far. A large one takes a while, and is worked out beside what else is done here." } },
            Some((figures, is_old)) => {
                @if *is_old { div data-part="old" { p.notice { "The guitar’s file was changed since this survey was made." } } }
                (kept(figures, &hear))
                (all(figures, at, shown, &hear))
                details.how data-part="rests" {
                    summary { "What this rests on" }
                    p.small { (figures.distance) }
                    @for line in figures.measured.iter().chain(&figures.assumed).chain(&figures.notes) { p.small { (line) } }
                    p.small { "This is " (figures.honesty) "." }
                }
            }
        }
        details.command data-part="command" {
            summary { "As a command" }
            @let asked = ways.arrangements(guitar).iter().map(ToString::to_string).collect::<Vec<_>>().join(",");
            pre { (command(&home.join(FILE), &folder, if pickups.len() > 1 { heard } else { "" }, &asked)) }
        }
    }
}

/// Returns the command that surveys the guitar of `file` into `out`, one pickup alone and `asked` arrangements where there are any.
fn command(file: &Path, out: &Path, pickup: &str, asked: &str) -> String {
    let [file, out] = [file, out].map(|path| shell_quoted(&path.display().to_string()));
    let mut words = vec![format!("drywire survey --guitar {file}")];
    let options = [
        ("drywire survey --pickup", pickup),
        ("drywire survey --arrangements", asked),
        ("drywire survey --out", &out),
    ];
    let given = options.into_iter().filter(|(_, value)| !value.is_empty());
    words.extend(given.map(|(whole, value)| format!("{} {value}", option_of(whole))));
    words.join(" ")
}

/// Returns the few that stand for all, those that are out of phase apart.
fn kept(figures: &SurveyFigures, hear: &dyn Fn(&CircuitFigures) -> String) -> Markup {
    let in_phase = figures.kept().filter(|own| own.in_phase).count();
    let listed = |kept: Vec<&CircuitFigures>, start: usize| {
        html! {
            ol.kept start=(start) {
                @for circuit in kept {
                    li {
                        p { strong { (circuit.title) } " " span.key { (circuit.name) } }
                        p { (plain(figures, circuit)) }
                        p.small { (facts(circuit)) "; stands for " (figures.stands_for(circuit)) }
                        a.hear href=(hear(circuit)) { "Hear it" span.unseen { ": " (circuit.title) } }
                    }
                }
            }
        }
    };
    html! {
        section.part #kept data-part="kept" {
            h2 { "Worth keeping" }
            p.verdict { (figures.verdict()) }
            p.small { (figures.count()) ". Levels are against " (figures.baseline) "." }
            (listed(figures.kept().take(in_phase).collect(), 1))
            @if let Some(words) = as_it_is(figures) { p #as-it-is { (words) } }
            @if in_phase < figures.kept().count() {
                h3 { "Out of phase, kept apart" }
                p.small { "Thin, for the coils’ strings cancel each other. None of the above is given up for these." }
                (listed(figures.kept().skip(in_phase).collect(), in_phase + 1))
            }
            p.small { "The resonance is that of the coils with all capacitance. The peak at Guitar, where the curve is highest, lies lower, and there is none where knobs and loads damp it." }
        }
    }
}

/// Returns what there is to say of what levels are against, where its tone is near one that is kept.
fn as_it_is(figures: &SurveyFigures) -> Option<String> {
    let own = figures.circuits.iter().find(|own| own.name == figures.baseline)?;
    let (near, place) =
        figures.kept().zip(1..).find(|(kept, _)| own.nearest.as_deref() == Some(&kept.name))?;
    let (off, level) = (own.nearest_db?, near.level_db?);
    (near.name != own.name).then(|| {
        format!(
            "Levels are against {} ({}), which is not to be given up by this: in tone it is {} dB from no. {place}, but no. {place} is \
             at {} dB against it. Hear both at true level.",
            own.title,
            own.name,
            signed(off, 1),
            signed(level, 1)
        )
    })
}

/// Returns what it sounds like in words; two that cancel each other are said to.
fn plain(figures: &SurveyFigures, circuit: &CircuitFigures) -> String {
    let told = figures.answer(circuit).map_or_else(|| "silent".to_owned(), |answer| answer.to_string());
    if circuit.in_phase { told } else { format!("{told}; the strings sound out of phase, thin") }
}

fn facts(circuit: &CircuitFigures) -> String {
    let mut facts = Vec::new();
    if let Some(resonance) = circuit.resonance_hz {
        facts.push(format!("resonance {:.2} kHz", resonance / 1000.0));
    }
    if let Some(level) = circuit.level_db {
        facts.push(format!("level {} dB", signed(level, 1)));
    }
    facts.push(format!("hum {}", words::hum(circuit.hum_db)));
    facts.join(", ")
}

/// Returns all circuits, or those that are looked for, by that of the kept which is nearest to each.
fn all(figures: &SurveyFigures, at: &str, shown: &Shown, hear: &dyn Fn(&CircuitFigures) -> String) -> Markup {
    let wanted = shown.find.to_lowercase();
    let is_wanted = |circuit: &&CircuitFigures| {
        let has = |word: &str| {
            circuit.title.to_lowercase().contains(word) || circuit.name.to_lowercase().contains(word)
        };
        wanted.split_whitespace().all(has)
    };
    let mut found: Vec<&CircuitFigures> = figures.circuits.iter().filter(is_wanted).collect();
    found.sort_by_key(|circuit| !circuit.in_phase);
    let listed = &found[..found.len().min(MOST_LISTED)];
    let near = |kept: &str| -> Vec<&CircuitFigures> {
        listed.iter().copied().filter(|own| own.nearest.as_deref() == Some(kept)).collect()
    };
    let kept = figures.kept().zip(1..);
    let kept = kept.map(|(kept, place)| (format!("Near no. {place}, {}", kept.title), near(&kept.name)));
    let is_near =
        |own: &CircuitFigures| figures.kept().any(|kept| own.nearest.as_deref() == Some(&kept.name));
    let others: Vec<&CircuitFigures> = listed.iter().copied().filter(|own| !is_near(own)).collect();
    let groups: Vec<(String, Vec<&CircuitFigures>)> =
        kept.chain([("Near none of them".to_owned(), others)]).filter(|(_, own)| !own.is_empty()).collect();
    html! {
        section.part #all {
            h2 { "All of them" }
            form #sift .choice method="get" action=(at) data-part="sift" {
                input type="hidden" name="heard" value=(shown.heard);
                label { "With the words " input #find name="find" type="text" value=(shown.find) size="18" data-go; }
                span.small role="status" { (found.len()) " of " (figures.circuits.len()) @if found.len() > MOST_LISTED { "; the first " (MOST_LISTED) " are listed" } }
            }
            div data-part="listed" {
                @for (title, circuits) in &groups {
                    details.near open[!wanted.is_empty()] {
                        summary { (title) ": " (counted(circuits.len(), "circuit")) }
                        (table(figures, circuits, title, hear))
                    }
                }
            }
            p.small { "Tone off by: how far its tone is from that of the one worth keeping that is nearest. Nearer than " (Radii::ALIKE) " to one another two can hardly be told apart once they are equally loud." }
        }
    }
}

/// Returns a table of circuits that lie near the same one.
fn table(
    figures: &SurveyFigures,
    circuits: &[&CircuitFigures],
    title: &str,
    hear: &dyn Fn(&CircuitFigures) -> String,
) -> Markup {
    html! {
        div.scroll role="region" aria-label=(title) tabindex="0" {
            table.circuits {
                thead { tr { th scope="col" { "What it is" } th scope="col" { "Sounds" } th scope="col" { "Level dB" } th scope="col" { "Resonance kHz" } th scope="col" { "Tone off by dB" } th scope="col" { "Hear" } } }
                tbody {
                    @for circuit in circuits {
                        tr {
                            th scope="row" { (circuit.title) " " span.key { (circuit.name) } @if circuit.combinations.len() > 1 { " " span.small { "(" (circuit.combinations.len()) " combinations)" } } }
                            td { (plain(figures, circuit)) }
                            td { (circuit.level_db.map_or_else(|| "–".to_owned(), |level| signed(level, 1))) }
                            td { (circuit.resonance_hz.map_or_else(|| "–".to_owned(), |hertz| format!("{:.2}", hertz / 1000.0))) }
                            td { (circuit.nearest_db.map_or_else(|| "–".to_owned(), |off| signed(off, 1))) }
                            td { a.hear href=(hear(circuit)) { "Hear" span.unseen { " " (circuit.title) } } }
                        }
                    }
                }
            }
        }
    }
}
