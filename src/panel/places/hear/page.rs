//! The player beside a guitar's values.

use drywire::amp::Setting;
use drywire::cautions;
use drywire::page::{BLIND_PART, BlindRun, Glossary, WAVE_PART};
use drywire::pluck::built_in_sources;
use drywire::response::{OneChannel, Selection};
use maud::{Markup, PreEscaped, html};

use super::super::guitar::voices_of;
use super::super::shown::{COILS, OWN, Shown, Voices};
use super::sounds::LONGEST;
use crate::panel::guitars::{FolderName, TakesFor};
use crate::panel::server::Panel;
use crate::panel::view::Curves;

/// What is said of the files before they are written.
const TO_WRITE: &str = "Each at its true level and equally loud, with their figures, in the guitar’s folder.";

/// Returns the player and what is chosen for it.
pub(in super::super) fn hear_views(
    panel: &Panel,
    at: &str,
    own: &FolderName,
    shown: &Shown,
    Voices { selection, titles, chosen }: &Voices<'_>,
) -> Markup {
    let responses = selection.responses();
    html! {
        (player())
        form #hear .choice method="get" action=(at) data-part="choice" {
            (voices_of("Heard ", selection.guitar(), selection.scope()))
            (take(panel, own, shown, true))
            @if !shown.take.is_empty() { (through(selection, titles, shown)) }
            (amplifier(shown))
            fieldset.voices {
                legend { "Heard through" }
                @for (i, (response, title)) in responses.iter().zip(titles).enumerate() {
                    @let name = response.voice().name();
                    label.voice { input id={ "voice-" (name) } type="radio" name="voice" value=(name) checked[i == *chosen] data-go data-voice=(name);
                        span.title { (title) @if i == selection.baseline() { span.small { " (the others are told against it)" } } }
                        span.plain.small data-plain=(name) {}
                        span.figures.small data-figures=(name) {}
                    }
                }
            }
        }
        p.small { (PreEscaped(Glossary::FIGURES.marked("Figures: loudness in LU, level in RMS dB, brightness by the spectral centroid in Hz."))) }
        (PreEscaped(Glossary::FIGURES.notes()))
        p.small #notes role="status" {}
        div.row {
            button.quiet #write type="button" { "Write these as files" }
            p.small #written role="status" data-first=(TO_WRITE) { (TO_WRITE) }
        }
        p.notice #write-trouble role="alert" hidden {}
        (live(&responses.iter().map(|response| response.voice().name()).collect::<Vec<_>>(), titles, selection.baseline()))
        details #blind-place data-runs=(serde_json::to_string(&BlindRun::all()).unwrap_or_default()) {
            summary { "Blind comparison: can you tell two of them apart?" }
            (PreEscaped(BLIND_PART))
        }
        figure.curves data-part="curve" {
            @let curves = Curves::of(selection);
            (curves.picture(*chosen, titles, None))
            (curves.legend(*chosen, titles, None))
            figcaption { "Response at the jack with the knobs as they stand." }
        }
    }
}

/// Returns the player itself, which the script fills.
fn player() -> Markup {
    html! {
        section #player aria-labelledby="player-title" {
            h2 #player-title .unseen { "Player" }
            div.transport {
                button.strong #play type="button" aria-pressed="false" { "Play" }
                label { input #loops type="checkbox" checked; " Loop" }
                fieldset.levels {
                    legend.unseen { "Level" }
                    label { input #level-true type="radio" name="level-of" value="true" checked; " true level" }
                    label { input #level-matched type="radio" name="level-of" value="matched"; " equally loud" }
                }
                label.volume { "Playback level "
                    input #level type="range" min="-40" max="0" step="1" value="-12" aria-describedby="ears";
                    output for="level" #level-told { "−12 dB" }
                }
            }
            (PreEscaped(WAVE_PART))
            div.row {
                p.small #place { "0:00" }
                meter #meter min="-60" max="0" low="-12" high="-3" value="-60" aria-label="Level, in dB below full scale" {}
            }
            p.notice #sound-trouble role="alert" hidden {}
            p.small #ears { (cautions::EARS) }
            p.small.by-keys { "Keys, outside of a field: space plays and stops, 1 to 9 choose what it is heard through, M switches between true and equally loud." }
        }
    }
}

/// Returns what chooses whether it is heard through the amplifier, and how hard that is driven.
fn amplifier(shown: &Shown) -> Markup {
    let chosen = shown.setting();
    html! {
        fieldset.amplifier #amplifier aria-describedby="amplifier-is" {
            legend { "Through an amplifier: does yours break up?" }
            label { input #amp-off type="radio" name="amp" value="" checked[chosen.is_none()] data-go; span { "not heard" span.small { "off, at the jack" } } }
            @for setting in Setting::ALL {
                label { input id={ "amp-" (setting.name()) } type="radio" name="amp" value=(setting.name()) checked[chosen == Some(setting)] data-go;
                    span { (setting.answer()) span.small { (setting.name()) } }
                }
            }
        }
        p.small #amplifier-is { (cautions::DRIVEN) " " (cautions::AMPLIFIER) " It is driven as the first arrangement drives it with the knobs as they stand." }
    }
}

/// Returns what lets the guitar itself be heard as it would be rewired.
fn live(names: &[&str], titles: &[String], baseline: usize) -> Markup {
    html! {
        details #live-part {
            summary { "Play through it: your guitar as it would be rewired" }
            div data-part="live" {
                label { "It is wired now as "
                    select #wired {
                        @for (i, (name, title)) in names.iter().zip(titles).enumerate() { option value=(name) selected[i == baseline] { (title) } }
                    }
                }
            }
            p { "With the guitar in the sound card’s input, its knobs as above, it is heard as the arrangement chosen above would sound. "
                "Use headphones, or the loudspeaker is heard by the pickups and howls. " (cautions::EARS) }
            div.transport {
                button.strong #live type="button" aria-pressed="false" { "Listen to the input" }
                label.volume { "Playback level "
                    input #live-level type="range" min="-60" max="0" step="1" value="-20";
                    output #live-level-told for="live-level" { "−20 dB" }
                }
            }
            p.small { "It is heard as at the jack, without the amplifier." }
            p.small #live-told role="status" { "It is silent while this page is hidden." }
            p.notice #live-trouble role="alert" hidden {}
        }
    }
}

/// Returns what chooses a take that is there, and asks what it went through.
pub(in super::super) fn take_of(
    panel: &Panel,
    own: &FolderName,
    selection: &Selection<'_>,
    titles: &[String],
    shown: &Shown,
) -> Markup {
    html! {
        (take(panel, own, shown, false))
        @if !shown.take.is_empty() { (through(selection, titles, shown)) }
    }
}

/// Returns what chooses the take and, where one hears, takes others in.
fn take(panel: &Panel, own: &FolderName, shown: &Shown, takes_in: bool) -> Markup {
    let takes = panel.guitars.takes(own, TakesFor::Hearing);
    html! {
        label { "Take "
            select #take name="take" data-go {
                option value="" { "a chord plucked for this guitar, each coil by itself" }
                @for source in built_in_sources().iter().filter(|source| !source.by_coils) {
                    option value=(source.name) selected[source.name == shown.take] { (source.title) ", built in" }
                }
                @for name in &takes {
                    @let value = format!("{OWN}{name}");
                    option value=(value) selected[value == shown.take] { (name) }
                }
            }
        }
        @if takes_in {
            label.upload { "Add a take of your own" input.unseen #file type="file" accept="audio/*,.wav,.flac,.mp3,.ogg,.aiff"; }
            button.quiet #record type="button" { "Record one" }
            p.notice #take-trouble role="alert" data-asked hidden {}
        }
        @if takes_in && shown.own_take().is_some() {
            details #take-part {
                summary { "This take" }
                div.transport {
                    label { "Called " input #take-name type="text" value=(shown.own_take().unwrap_or_default()) size="18"; }
                    button.quiet #rename-take type="button" { "Rename" }
                    button.quiet #remove-take type="button" { "Into the bin" }
                }
                p.small #take-told role="status" {}
            }
            label { "From " input #from name="from" type="text" value=(shown.from) size="6" placeholder="loudest" data-go aria-describedby="from-told"; }
            span.small #from-told { "Where a take is longer than " (LONGEST) ", that much of it is played: minutes and seconds to begin at, or nothing for the loudest part." }
        }
    }
}

/// Returns what asks whether a take went through a pickup already.
fn through(selection: &Selection<'_>, titles: &[String], shown: &Shown) -> Markup {
    let own = shown.own_take().is_some();
    html! {
        label { "Did it go through this guitar’s pickup already? "
            select #through name="through" data-go {
                option value="" { @if own { "no, or I don’t know: it is taken as the strings sound" } @else { "no, it is made as the strings sound" } }
                @for (response, title) in selection.responses().iter().zip(titles) {
                    @let name = response.voice().name();
                    option value=(name) selected[name == shown.through] { "yes, through " (title) }
                }
                @if own { option value=(COILS) selected[shown.through == COILS] { "its channels are the coils, each by itself: exact" } }
            }
        }
        p.small { "A take from one pickup, in one channel or two, tells no coils apart: single coils, and coils against each other, are heard about as they are, within " (OneChannel::BOUND) "; the chord plucked for this guitar is exact." }
    }
}
