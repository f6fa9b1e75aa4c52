//! What one sees where something is made to be sent.

use drywire::lugs::is_linked;
use maud::{Markup, html};

use super::super::guitar::{OpenState, voices_of};
use super::super::hear::take_of;
use super::super::shown::{Shown, Voices};
use super::super::works::{Kind, Stage};
use super::made::surveys;
use crate::panel::guitars::FolderName;
use crate::panel::server::Panel;
use crate::panel::view::{notice, path_segment};

/// Returns what can be made, and what was.
pub(in super::super) fn sending(
    panel: &Panel,
    at: &str,
    own: &FolderName,
    state: &OpenState,
    shown: &Shown,
) -> Markup {
    let stage = panel.works.stage(own, Kind::Send);
    let is_busy = matches!(stage, Some(Stage::Works(_)));
    html! {
        p.about { "All of it is made on this machine and lies in the guitar’s folder, under sent; nothing is sent by itself." }
        div data-part="stage" {
            @match &stage {
                Some(Stage::Works(words)) => p.stage role="status" data-said { (words) },
                Some(Stage::Done(words)) => p.stage role="status" data-said { (words) },
                Some(Stage::Failed(words)) => (notice(words, "")),
                None => {}
            }
        }
        @match &*state.checked {
            Ok(guitar) => {
                section.part #listen {
                    h2 { "A page that plays" }
                    @match shown.voices(guitar) {
                        Ok(Voices { selection, titles, .. }) => {
                            p { "One file that opens in any browser: what you choose here, through every way of wiring it, to be switched while it plays." }
                            form #choice .choice method="get" action=(at) data-part="choice" {
                                (voices_of("Heard ", selection.guitar(), selection.scope()))
                                (take_of(panel, own, &selection, &titles, shown))
                            }
                            (button(at, "listen", "Make the page", is_busy))
                        }
                        Err(words) => (notice(&words, "")),
                    }
                }
                section.part #sheets {
                    h2 { "Sheets to print and solder from" }
                    (button(at, "cavity", "The whole cavity", is_busy))
                    @for switch in guitar.switches() {
                        @let name = switch.name().value.as_str();
                        @if !is_linked(guitar, switch) { (button(at, &format!("switch:{name}"), &format!("Switch {name}"), is_busy)) }
                    }
                }
            }
            Err(_) => div data-part="faulty" { p { "Pages and sheets are made once the file has no fault." } },
        }
        section.part #surveys data-part="surveys" {
            h2 { "The survey" }
            @let surveys = surveys(panel, own);
            @if surveys.is_empty() { p { "Made at the place Survey, it can be sent from here as one page." } }
            @for whose in &surveys { (button(at, &format!("survey:{whose}"), &format!("The survey of {whose}"), is_busy)) }
        }
        section.part #archive {
            h2 { "Everything" }
            p { "The guitar’s folder in one archive (ZIP): its file, takes, readings, sets and surveys." }
            (button(at, "archive", "Make the archive", is_busy))
        }
        section.part #made data-part="made" {
            h2 { "Made so far" }
            @let made = panel.guitars.sendable(own);
            @if made.is_empty() { p { "Nothing yet." } }
            ul.made {
                @for file in &made {
                    li { a href={ (at) "file/" (path_segment(&file.name)) } download=(file.name) { (file.name) } " " span.small { (size(file.bytes)) } }
                }
            }
        }
    }
}

fn button(at: &str, what: &str, words: &str, is_busy: bool) -> Markup {
    html! {
        form.make method="post" action={ (at) "make" } data-part={ "make-" (what) } {
            input type="hidden" name="what" value=(what);
            button disabled[is_busy] { (words) }
        }
    }
}

/// Returns a size in the largest unit of which there is at least one.
fn size(bytes: u64) -> String {
    match bytes {
        0..1_000 => format!("{bytes} B"),
        1_000..1_000_000 => format!("{:.0} kB", bytes as f64 / 1e3),
        _ => format!("{:.1} MB", bytes as f64 / 1e6),
    }
}
