//! What one sees where recordings are set against what was foretold.

use std::sync::Arc;

use drywire::cautions;
use drywire::confirm::DifferenceAnswer;
use drywire::quantity::{counted, signed};
use maud::{Markup, html};

use super::super::guitar::{OpenState, shell_quoted};
use super::answered::{Answer, Standing, standing};
use super::voices::{Voices, between, of_guitar};
use crate::panel::guitars::{Confirmation, FILE, FolderName, TakesFor};
use crate::panel::server::Panel;
use crate::panel::view::{Field, notice};

/// So many strums of a voice tell something.
const STRUMS: usize = 8;
/// So many are played before the other throw.
const IN_A_BLOCK: usize = 4;

/// Returns what is to be played, what was recorded, and what that tells.
pub(in super::super) fn confirming(
    panel: &Arc<Panel>,
    at: &str,
    own: &FolderName,
    state: &OpenState,
) -> Markup {
    let Ok(guitar) = &*state.checked else {
        return html! { div data-part="confirm" { p { "Recordings are set against the guitar once its file has no fault." } } };
    };
    let recorded = match panel.guitars.confirmation(own) {
        Ok(recorded) => recorded,
        Err(error) => {
            return html! { div data-part="confirm" { (notice(&error.to_string(), &error.hint())) } };
        }
    };
    let voices = of_guitar(guitar);
    let between = between(&voices, &recorded.between);
    let standing = standing(panel, own, state.draft.text(), &state.checked, &recorded);
    html! {
        div.how-to data-part="how-to" {
            p { "Recordings tell whether the drop, the brightness and the phase of what was soldered are those that were foretold, and which arrangement each throw really is. No two strums are alike, and they tell no more than that allows." }
            p { strong { "Plug the guitar into the sound card’s instrument input, and leave the amplifier off." } " Who hears a throw that is softer plays harder. Every knob stands where the guitar’s file has it, and the gain stays as it is. " (cautions::EARS) }
        }
        div.bench.confirms {
            div.sheet {
                (against(&voices, &between))
                (record(&voices, &between, &recorded))
                (takes(at, &recorded))
            }
            div.told-of-it data-part="told" {
                (answer(&standing, at, recorded.takes.len()))
                details.command {
                    summary { "As a command" }
                    pre { (command(panel, own, &recorded)) }
                }
            }
        }
    }
}

/// Returns what chooses the two voices.
fn against(voices: &[Voices], between: &[String; 2]) -> Markup {
    html! {
        section.part #what {
            h2 { "What is set against each other" }
            @for ((place, label), chosen) in Confirmation::BETWEEN.iter().zip(["Against", "This one"]).zip(between) {
                @let id = Field::id_of(place);
                div.field data-part={ "f-" (place) } {
                    label for=(id) { (label) }
                    div.entry { select #(id) data-place=(place) { (choices(voices, chosen)) } }
                }
            }
        }
    }
}

fn choices(voices: &[Voices], chosen: &str) -> Markup {
    html! {
        @for Voices { kind, voices } in voices {
            optgroup label=(kind) {
                @for (name, title) in voices { option value=(name) selected[name == chosen] { (name) ": " (title) } }
            }
        }
        @if voices.iter().flat_map(|own| &own.voices).all(|(name, _)| name != chosen) {
            option value=(chosen) selected { @if chosen.is_empty() { "none" } @else { (chosen) } }
        }
    }
}

/// Returns how many strums of a voice were recorded.
fn strums_of(recorded: &Confirmation, voice: &str) -> usize {
    let of_voice = recorded.takes.iter().filter(|take| take.voice == voice);
    of_voice.filter_map(|take| take.strums).sum()
}

/// Returns what is to be played, and what records it.
fn record(voices: &[Voices], between: &[String; 2], recorded: &Confirmation) -> Markup {
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
            div.transport {
                button.strong #run type="button" aria-pressed="false" { "Record" }
                label.volume { "Input " meter #input-level min="-60" max="0" low="-34" high="-1" optimum="-12" value="-60" {} output #input-told {} }
                output.counted #counted aria-label="Strums heard" { "0" }
            }
            p.stage #stage role="status" hidden {}
            p.notice #sound-trouble role="alert" hidden {}
            div.row {
                label.upload { "Add a recording of this throw" input.unseen #file type="file" accept="audio/*,.wav,.flac,.aiff"; }
            }
        }
    }
}

/// Returns what was recorded.
fn takes(at: &str, recorded: &Confirmation) -> Markup {
    html! {
        section.part #takes data-part="takes" {
            h2 { "What was recorded" }
            @if recorded.takes.is_empty() { p { "Nothing so far. Recordings lie in the guitar’s folder, under confirmed, each with its day." } }
            ol.takes {
                @for (number, take) in recorded.takes.iter().enumerate() {
                    li {
                        strong { (take.voice) } " "
                        span.small { @if let Some(strums) = take.strums { (counted(strums, "strum")) ", " } (take.file) }
                        form.inline method="post" action={ (at) "take-out" } {
                            input type="hidden" name="number" value=(number);
                            button.quiet { "Take it out" span.unseen { ": " (take.voice) ", " (take.file) } }
                        }
                    }
                }
            }
            @if !recorded.takes.is_empty() {
                form method="post" action={ (at) "anew" } { button.quiet #anew { "Lay these aside and begin anew" } }
            }
        }
    }
}

/// Returns what the takes tell.
fn answer(standing: &Standing, at: &str, of: usize) -> Markup {
    html! {
        section.verdicts aria-labelledby="came-to" {
            h2 #came-to { "What the recordings tell" }
            @match standing {
                Standing::Nothing => p.verdict { "Nothing was recorded so far." },
                Standing::Works(words) => p.verdict.works role="status" data-said { (words) },
                Standing::Done(done) => { @match &**done {
                    Ok(answer) => (told(answer, at, of)),
                    Err(words) => p.verdict.missing role="status" data-said { (words) },
                } }
            }
        }
    }
}

fn told(answer: &Answer, at: &str, of: usize) -> Markup {
    let distinct = answer.told.distinct();
    let first = answer.told.differences.first().map(|difference| difference.between[0].as_str());
    let judged = distinct.iter().filter(|take| Some(take.name.as_str()) != first);
    let verdicts: Vec<String> = judged.map(|take| format!("{}: {}", take.name, take.verdict)).collect();
    html! {
        p.verdict.answered role="status" data-said { (verdicts.join("; ")) }
        @for take in &distinct {
            h3 { (take.name) ": " (take.verdict) }
            ul { @for part in take.words.split("; ") { li { (part) } } }
        }
        @for (number, difference) in answer.told.differences.iter().enumerate() {
            figure.fit {
                img src={ (at) "picture?number=" (number) "&of=" (of) } alt="What was measured, third octave by third octave, with its band, beside what is foretold with its own.";
                figcaption { "What was measured and what is foretold, each with two standard deviations either side." }
            }
            (differs(difference))
        }
        ul.remarks { @for line in &answer.told.notes { li { (line) } } }
    }
}

fn differs(difference: &DifferenceAnswer) -> Markup {
    let [first, later] = &difference.between;
    let plus_minus = |value: f64, sd: f64| format!("{} ± {sd:.1}", signed(value, 1));
    html! {
        h3 { (later) " against " (first) }
        p { "Level " (plus_minus(difference.level_db, difference.level_sd_db)) " dB, foretold " (plus_minus(difference.foretold_db, difference.foretold_sd_db)) " dB." }
        div.scroll role="region" aria-label={ "Third octaves, " (later) " against " (first) } tabindex="0" {
            table {
                thead { tr { th.n scope="col" { "Hz" } th.n scope="col" { "measured dB" } th.n scope="col" { "foretold dB" } } }
                tbody {
                    @for band in &difference.bands {
                        tr {
                            th.n scope="row" { (format!("{:.0}", band.hz)) }
                            td.n { (plus_minus(band.measured_db, band.sd_db)) }
                            td.n { (plus_minus(band.foretold_db, band.foretold_sd_db)) }
                        }
                    }
                }
            }
        }
    }
}

/// Returns the command that tells the same.
fn command(panel: &Panel, own: &FolderName, recorded: &Confirmation) -> String {
    let home = panel.guitars.root().join(own.as_str());
    let mut words =
        vec![format!("drywire confirm --guitar {}", shell_quoted(&home.join(FILE).display().to_string()))];
    let folder = home.join(TakesFor::Confirming.folder());
    let path = |file: &str| folder.join(file).display().to_string();
    let given =
        recorded.takes.iter().map(|take| shell_quoted(&format!("{}={}", take.voice, path(&take.file))));
    words.extend(given);
    words.join(" ")
}
