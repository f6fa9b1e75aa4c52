//! What a guitar does: its responses, its circuit, its figures.

use drywire::guitar::{Draft, Guitar};
use drywire::job::figures_of;
use drywire::markup::content;
use drywire::page::Glossary;
use drywire::page::html::table;
use drywire::response::Scope;
use drywire::schematic::schematic;
use maud::{Markup, PreEscaped, html};

use super::super::shown::{POSITIONS, Shown, Voices, positions};
use super::change::called_in;
use crate::panel::guitars::{FILE, FolderName, called};
use crate::panel::server::Panel;
use crate::panel::view::Curves;

pub(super) fn views(
    panel: &Panel,
    at: &str,
    draft: &Draft,
    own: &FolderName,
    shown: &Shown,
    Voices { selection, titles, chosen }: &Voices<'_>,
) -> Markup {
    let (guitar, scope) = (selection.guitar(), selection.scope());
    let responses = selection.responses();
    let other = other(panel, own, shown);
    let beside = other.as_ref().and_then(|(_, other)| Some(Curves::of(&shown.selection(other).ok()?)));
    let figures = figures_of(selection);
    let others = panel.guitars.names();
    // What each does comes first, its name second.
    let titled = |name: &str| {
        let own = responses.iter().position(|own| own.voice().name() == name);
        own.map_or_else(
            || content(name),
            |own| format!("{} <span class=\"key\">{}</span>", content(&titles[own]), content(name)),
        )
    };
    html! {
        form.choice method="get" action=(at) data-part="choice" {
            (voices_of("Responses of ", guitar, scope))
            label { "Drawn in front "
                select name="voice" data-go {
                    @for (i, (response, title)) in responses.iter().zip(titles).enumerate() {
                        option value=(response.voice().name()) selected[i == *chosen] { (title) }
                    }
                }
            }
            @if others.len() > 1 {
                label { "Compared with "
                    select name="beside" data-go {
                        option value="" { "nothing" }
                        @for (folder, called) in others.iter().filter(|(folder, _)| folder != own) {
                            option value=(folder) selected[folder.as_str() == shown.beside] { (called) }
                        }
                    }
                }
            }
        }
        figure.curves data-part="curve" {
            @let curves = Curves::of(selection);
            (curves.picture(*chosen, titles, beside.as_ref()))
            (curves.legend(*chosen, titles, other.as_ref().map(|(called, _)| called.as_str())))
            figcaption { "Response at the jack with the knobs as they stand, hertz across, decibels up, 0 dB where "
                (titles[selection.baseline()]) " is at 100 Hz."
                @if responses.iter().any(|own| !own.in_phase()) {
                    " Of coils out of phase it is the curve of one of them: what both leave depends on where along the string each lies. The table’s 100 Hz is what they leave of a string that both hear alike."
                }
            }
        }
        @if let Some((called, other)) = &other { (differences(draft, guitar, called, other)) }
        figure.circuit data-part="circuit" {
            div.scroll role="region" aria-label="The circuit" tabindex="0" { (PreEscaped(schematic(guitar, scope, &responses[*chosen]))) }
            figcaption { "The circuit as it stands: " (titles[*chosen]) }
        }
        @if let Ok(figures) = &figures {
            div data-part="figures" {
                (PreEscaped(table("Figures", &figures.response_table(), &|text| Glossary::FIGURES.marked(text), &titled)))
                p.small { "Peak: where the curve is highest; – where it only falls. The resonance that Survey tells is that of the coils with all capacitance: it lies higher, and is there where no peak is left. Hum, at most: where each coil has up to 3 % more or fewer turns than told; Plan tells it with the turns as they are told." }
            }
            (PreEscaped(Glossary::FIGURES.notes()))
            div data-part="notes" {
                @for note in &figures.notes { p.small { (note) } }
                p.small { "This is " (figures.honesty) "." }
            }
        }
        details.command data-part="command" {
            summary { "As a command" }
            pre { (command(panel, own, guitar, shown)) }
        }
    }
}

/// Returns what chooses whose voices are shown, where there are several.
pub(in crate::panel::places) fn voices_of(label: &str, guitar: &Guitar, scope: Scope<'_>) -> Markup {
    html! {
        @if guitar.pickups().len() > 1 {
            label { (label)
                select #heard name="heard" data-go {
                    @for pickup in guitar.pickups() {
                        @let name = pickup.name().as_str();
                        option value=(name) selected[is_heard(scope, name)] { "pickup " (name) }
                    }
                    @if !guitar.joined().is_empty() {
                        option value=(POSITIONS) selected[matches!(scope, Scope::Guitar)] { "the whole guitar" }
                    }
                }
            }
        }
    }
}

/// Returns the values by which two guitars differ.
fn differences(draft: &Draft, guitar: &Guitar, called: &str, other: &Guitar) -> Markup {
    let theirs: std::collections::BTreeMap<String, String> =
        other.values().into_iter().map(|value| (value.place, value.shown)).collect();
    let own = guitar.values();
    let unlike = own.iter().filter(|value| theirs.get(&value.place) != Some(&value.shown));
    let unlike: Vec<_> = unlike.collect();
    html! {
        div.scroll data-part="differences" role="region" aria-label="Values that differ" tabindex="0" {
            table {
                caption { @if unlike.is_empty() { "No value differs from " } @else { "Values that differ from " } bdi { (called) } }
                @if !unlike.is_empty() { tr { th scope="col" { "Value" } th scope="col" { "here" } th scope="col" { bdi { (called) } } } }
                @for value in &unlike {
                    tr {
                        th scope="row" { (called_in(draft, &value.place)) }
                        td { (value.shown) }
                        td { (theirs.get(&value.place).map_or("none", String::as_str)) }
                    }
                }
            }
        }
    }
}

/// Returns the guitar that is shown beside this one, and what it is called.
fn other(panel: &Panel, own: &FolderName, shown: &Shown) -> Option<(String, Guitar)> {
    let beside = FolderName::new(&shown.beside).filter(|beside| beside != own)?;
    let draft = panel.guitars.with(&beside, |open| open.draft().clone()).ok()?;
    Some((called(&draft, &beside), draft.check().ok()?))
}

fn is_heard(scope: Scope<'_>, name: &str) -> bool {
    match scope {
        Scope::Pickup(pickup) => pickup.name().as_str() == name,
        Scope::Guitar => false,
    }
}

/// Returns the command that tells the same figures.
fn command(panel: &Panel, own: &FolderName, guitar: &Guitar, shown: &Shown) -> String {
    let file = panel.guitars.root().join(own.as_str()).join(FILE);
    let path = shell_quoted(&file.display().to_string());
    match guitar.pickups().iter().find(|pickup| pickup.name().as_str() == shown.heard) {
        None if shown.heard == POSITIONS => {
            format!("drywire figures --guitar {path} --arrangements {}", positions(guitar).join(","))
        }
        Some(pickup) => format!("drywire figures --guitar {path} --pickup {}", pickup.name()),
        None => format!("drywire figures --guitar {path}"),
    }
}

/// Returns the option that `whole` ends in, which names its command before it.
pub(in crate::panel::places) fn option_of(whole: &'static str) -> &'static str {
    whole.find("--").map_or(whole, |at| &whole[at..])
}

/// Returns `text` as one word of a shell's line.
pub(in crate::panel::places) fn shell_quoted(text: &str) -> String {
    format!("'{}'", text.replace('\'', "'\\''"))
}
