//! What one sees where recordings are set against what was foretold.

use std::sync::Arc;

use drywire::cautions;
use drywire::confirm::DifferenceAnswer;
use drywire::quantity::signed;
use maud::{Markup, html};

use super::super::guitar::{OpenState, shell_quoted};
use super::answered::{Answer, Standing, standing};
use super::record::{record, takes};
use super::voices::{Voices, between, choices, of_guitar};
use crate::panel::guitars::{Confirmation, FILE, FolderName, Played, TakesFor};
use crate::panel::server::Panel;
use crate::panel::view::{Field, notice, path_segment};

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
                (against(&voices, &between, recorded.played))
                (record(&voices, &between, &recorded))
                (takes(at, &recorded))
            }
            div.told-of-it data-part="told" {
                (answer(&standing, at, &number_of(&recorded)))
                details.command {
                    summary { "As a command" }
                    pre { (command(panel, own, &recorded, &between)) }
                }
            }
        }
    }
}

/// Returns what tells one picture of the recordings from another.
fn number_of(recorded: &Confirmation) -> String {
    match (recorded.played, &recorded.flips) {
        (Played::Flips, Some(take)) => path_segment(&take.file),
        (Played::Flips, None) | (Played::Strums, _) => recorded.takes.len().to_string(),
    }
}

/// Returns what chooses the two voices, and how they are recorded.
fn against(voices: &[Voices], between: &[String; 2], played: Played) -> Markup {
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
            @let id = Field::id_of("way");
            div.field data-part="f-way" {
                label for=(id) { "Recorded by" }
                div.entry {
                    select #(id) data-place="way" aria-describedby="way-told" {
                        @for way in Played::ALL { option value=(way.kept()) selected[way == played] { (in_words(way)) } }
                    }
                }
                div.told #way-told { p.small { "Strums tell level and tone as you play them. Single notes leave the player out of it: they tell the difference of two throws of a switch to a few tenths of a decibel from 315 Hz to 2.5 kHz, and nothing of the treble." } }
            }
        }
    }
}

/// Returns what a way to record is called.
fn in_words(way: Played) -> &'static str {
    match way {
        Played::Strums => "strums of one chord, in both by turns",
        Played::Flips => "single notes, the switch thrown while they ring",
    }
}

/// Returns what the takes tell.
fn answer(standing: &Standing, at: &str, of: &str) -> Markup {
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

fn told(answer: &Answer, at: &str, of: &str) -> Markup {
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
        p { "Level " (plus_minus(difference.level_db, difference.level_sd_db)) " dB, foretold " (plus_minus(difference.foretold_db, difference.foretold_sd_db)) " dB." span.small { " ± is one standard deviation: two times in three the truth lies within it." } }
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
fn command(panel: &Panel, own: &FolderName, recorded: &Confirmation, between: &[String; 2]) -> String {
    let home = panel.guitars.root().join(own.as_str());
    let folder = home.join(TakesFor::Confirming.folder());
    let path = |file: &str| folder.join(file).display().to_string();
    let guitar = shell_quoted(&home.join(FILE).display().to_string());
    match (recorded.played, &recorded.flips) {
        (Played::Flips, take) => {
            let (take, [first, later]) = match take {
                Some(take) => (shell_quoted(&path(&take.file)), &take.between),
                None => ("notes.wav".to_owned(), between),
            };
            let between = shell_quoted(&format!("{first},{later}"));
            format!("drywire confirm --guitar {guitar} --flips {take} --between {between}")
        }
        (Played::Strums, _) => {
            let given = recorded
                .takes
                .iter()
                .map(|take| shell_quoted(&format!("{}={}", take.voice, path(&take.file))));
            [format!("drywire confirm --guitar {guitar}")]
                .into_iter()
                .chain(given)
                .collect::<Vec<_>>()
                .join(" ")
        }
    }
}
