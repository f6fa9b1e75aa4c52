//! What is to be played, what records it, and what was recorded.

use drywire::quantity::counted;
use maud::{Markup, html};

use super::NOTES;
use super::voices::{Voices, choices};
use crate::panel::guitars::{Confirmation, Played, TakeOfFlips};

/// So many strums of a voice tell something.
const STRUMS: usize = 8;
/// So many are played before the other throw.
const IN_A_BLOCK: usize = 4;

/// Returns what is to be played in the way that is chosen, and what records it.
pub(super) fn record(voices: &[Voices], between: &[String; 2], recorded: &Confirmation) -> Markup {
    match recorded.played {
        Played::Strums => strums(voices, between, recorded),
        Played::Flips => flips(between, recorded.flips.as_ref()),
    }
}

/// Returns what was recorded in the way that is chosen.
pub(super) fn takes(at: &str, recorded: &Confirmation) -> Markup {
    let is_any = match recorded.played {
        Played::Strums => !recorded.takes.is_empty(),
        Played::Flips => recorded.flips.is_some(),
    };
    html! {
        section.part #takes data-part="takes" {
            h2 { "What was recorded" }
            @if !is_any { p { "Nothing so far. Recordings lie in the guitar’s folder, under confirmed, each with its day." } }
            ol.takes {
                @match recorded.played {
                    Played::Strums => { @for (number, take) in recorded.takes.iter().enumerate() {
                        li {
                            strong { (take.voice) } " "
                            span.small { @if let Some(strums) = take.strums { (counted(strums, "strum")) ", " } (take.file) }
                            form.inline method="post" action={ (at) "take-out" } {
                                input type="hidden" name="number" value=(number);
                                (take_out(&take.voice, &take.file))
                            }
                        }
                    } }
                    Played::Flips => { @if let Some(take) = &recorded.flips {
                        @let [first, later] = &take.between;
                        @let voices = format!("{first} and {later}");
                        li {
                            strong { (voices) } " "
                            span.small { @if let Some([notes, throws]) = take.heard { (counted(notes, "note")) ", " (counted(throws, "throw")) ", " } (take.file) }
                            form.inline method="post" action={ (at) "take-out-flips" } { (take_out(&voices, &take.file)) }
                        }
                    } }
                }
            }
            @if is_any {
                form method="post" action={ (at) "anew" } { button.quiet #anew { "Lay these aside and begin anew" } }
            }
        }
    }
}

fn take_out(of: &str, file: &str) -> Markup {
    html! { button.quiet { "Take it out" span.unseen { ": " (of) ", " (file) } } }
}

/// Returns how many strums of a voice were recorded.
fn strums_of(recorded: &Confirmation, voice: &str) -> usize {
    let of_voice = recorded.takes.iter().filter(|take| take.voice == voice);
    of_voice.filter_map(|take| take.strums).sum()
}

fn strums(voices: &[Voices], between: &[String; 2], recorded: &Confirmation) -> Markup {
    let next = match recorded.takes.last() {
        Some(last) if last.voice == between[0] => &between[1],
        Some(_) | None => &between[0],
    };
    html! {
        section.part #record data-block=(IN_A_BLOCK) {
            h2 { "Play and record" }
            ol.small {
                li { "Set the switch, press Record, and play the same chord " (IN_A_BLOCK) " times, each left to ring for a second." }
                li { "Damp the strings, press Stop, set the switch to the other throw, and do the same." }
                li { "Go on by turns until each has " (STRUMS) " strums or more. Strum as you always do: how much you vary is found from that." }
            }
            div data-part="next" {
                p.next { "Next: " strong { (next) } }
                p.small {
                    @for name in between { @if !name.is_empty() { (name) ": " (counted(strums_of(recorded, name), "strum")) " so far. " } }
                }
                label { "Recorded in " select #voice { (choices(voices, next)) } }
            }
            (transport(&html! { output.counted #counted aria-label="Strums heard" { "0" } }))
            (add("Add a recording of this throw"))
        }
    }
}

fn flips([first, later]: &[String; 2], recorded: Option<&TakeOfFlips>) -> Markup {
    html! {
        section.part #record {
            h2 { "Play and record" }
            ol.small {
                li { "Set the switch to " strong { (first) } " and press Record." }
                li { "Let one string ring for three seconds, and throw the switch to " (later) " and back every half second while it does; then the next note. Whichever throw a note begins in, the first begins in " (first) "." }
                li { "Play " (NOTES) " notes or more over all strings and up the neck, never two at once: strings beat against each other. Then damp them and press Stop." }
            }
            div #between data-part="between" data-first=(first) data-later=(later) {
                p.next { "Begin in: " strong { (first) } }
                @if recorded.is_some() { p.small { "A new recording takes the place of the one below, which stays in the guitar’s folder." } }
            }
            (transport(&html! {
                span { output.counted #counted aria-label="Notes heard" { "0" } " notes" }
                span { output.counted #thrown aria-label="Throws of the switch heard" { "0" } " throws" }
            }))
            (add("Add a recording of notes"))
        }
    }
}

/// Returns what begins and ends a recording, and what is heard meanwhile.
fn transport(counts: &Markup) -> Markup {
    html! {
        div.transport {
            button.strong #run type="button" aria-pressed="false" { "Record" }
            label.volume { "Input " meter #input-level min="-60" max="0" low="-34" high="-1" optimum="-12" value="-60" {} output #input-told {} }
            (counts)
        }
        p.stage #stage role="status" hidden {}
        p.notice #sound-trouble role="alert" hidden {}
    }
}

fn add(words: &str) -> Markup {
    html! {
        div.row {
            label.upload { (words) input.unseen #file type="file" accept="audio/*,.wav,.flac,.aiff"; }
        }
    }
}
