//! What one sees where the guitar is measured.

use std::sync::Arc;

use drywire::cautions;
use drywire::guitar::Guitar;
use drywire::impedance::{CONNECT, Device, Signal};
use drywire::jack::State;
use drywire::markup::content;
use drywire::page::Glossary;
use drywire::page::html::{table, table_written};
use maud::{Markup, PreEscaped, html};

use super::super::guitar::{OpenState, option_of, shell_quoted};
use super::wanted::{At, Basis, USUAL_KNOWN, is_table, pickup_of};
use super::worked::{Bench, Outcome, Standing, Values};
use crate::panel::guitars::{FILE, FolderName, Measurement, TakesFor};
use crate::panel::server::Panel;
use crate::panel::view::{Asked, Field, connection, notice, path_segment};

/// What is said of the level before it was checked.
const LEVEL_WORDS: &str =
    "Checking plays the first sweep alone, with nothing connected: that is as loud as it gets.";

/// The most states of levers that are listed.
const MOST_STATES: u64 = 64;

/// Returns how the guitar is measured, and what that came to.
pub(in super::super) fn measuring(
    panel: &Arc<Panel>,
    at: &str,
    own: &FolderName,
    state: &OpenState,
    asked: Option<&Asked>,
) -> Markup {
    let Ok(guitar) = &*state.checked else {
        return html! { div data-part="measure" { p { "It is measured once the file has no fault." } } };
    };
    let measurement = match panel.guitars.measurement(own) {
        Ok(measurement) => measurement,
        Err(error) => {
            return html! { div data-part="measure" { (notice(&error.to_string(), &error.hint())) } };
        }
    };
    let bench = Bench { own, draft: &state.draft, measurement: &measurement };
    let standing = bench.standing(panel, guitar);
    let from = Basis::of(measurement.at("from")).unwrap_or(Basis::Recording);
    let told = Told { measurement: &measurement, asked };
    html! {
        div.how-to data-part="how-to" {
            p { strong { (cautions::UNPLUG) } " " strong { (cautions::SWEEP) } }
            p { (CONNECT) }
        }
        div.bench.measures {
            div.sheet {
                (what(guitar, &told))
                @match from {
                    Basis::Recording => (record(panel, at, own, guitar, &told)),
                    Basis::Readings => (readings(&told)),
                }
            }
            div.told-of-it data-part="told" {
                (came_to(&standing, at, state, &number_of(&measurement, state)))
                (PreEscaped(Glossary::COILS.notes()))
                details.command {
                    summary { "As a command" }
                    pre { (command(panel, own, guitar, &measurement, from)) }
                }
            }
        }
    }
}

/// Returns what tells one picture of the measurement from another.
fn number_of(measurement: &Measurement, state: &OpenState) -> String {
    use std::hash::{DefaultHasher, Hash, Hasher};
    let mut hasher = DefaultHasher::new();
    format!("{measurement:?}{}", state.draft.text()).hash(&mut hasher);
    hasher.finish().to_string()
}

/// What is told beside a recording, each in a field.
struct Told<'t> {
    measurement: &'t Measurement,
    asked: Option<&'t Asked>,
}

impl Told<'_> {
    fn field(
        &self,
        place: &str,
        label: &str,
        about: &str,
        entry: impl FnOnce(&str, &str) -> Markup,
    ) -> Markup {
        let id = Field::id_of(place);
        let described = format!("{id}-told");
        let asked = self.asked.filter(|asked| asked.place == place);
        html! {
            div.field.faulty[asked.is_some()] data-part={ "f-" (place) } id={ "f" (id) } {
                label for=(id) { (label) }
                div.entry { (entry(&id, &described)) }
                div.told id=(described) {
                    @if let Some(asked) = asked {
                        p.fault role="alert" data-asked { (asked.message) }
                        @if !asked.readings.is_empty() {
                            p.readings {
                                @for reading in &asked.readings { button type="button" data-place=(place) data-write=(reading.write) { (reading.shown) } }
                            }
                        }
                    }
                    @if !about.is_empty() { p.small { (about) } }
                }
            }
        }
    }

    fn text(&self, place: &str, label: &str, usual: &str, about: &str) -> Markup {
        let asked = self.asked.filter(|asked| asked.place == place);
        let text = asked.map_or(self.measurement.at(place), |asked| asked.text.as_str());
        let invalid = asked.map(|_| "true");
        self.field(place, label, about, |id, described| {
            html! {
                input #(id) type="text" value=(text) placeholder=(usual) data-place=(place) autocomplete="off" spellcheck="false"
                    aria-describedby=(described) aria-invalid=[invalid];
            }
        })
    }

    fn choice(&self, place: &str, label: &str, choices: &[(String, String)], about: &str) -> Markup {
        let chosen = self.measurement.at(place);
        self.field(place, label, about, |id, described| {
            html! {
                select #(id) data-place=(place) aria-describedby=(described) {
                    @for (value, words) in choices { option value=(value) selected[value == chosen] { (words) } }
                    @if !chosen.is_empty() && choices.iter().all(|(value, _)| value != chosen) { option value=(chosen) selected { (chosen) } }
                }
            }
        })
    }
}

fn pair(value: &str, words: &str) -> (String, String) {
    (value.to_owned(), words.to_owned())
}

/// Returns what is measured, and what the meter reads there.
fn what(guitar: &Guitar, told: &Told<'_>) -> Markup {
    let pickup = pickup_of(guitar, told.measurement);
    let has_two = guitar.pickups()[pickup].coil_b().is_some();
    let is_at_jack = At::of(told.measurement.at("at")) == Some(At::Jack);
    let places: Vec<_> = At::all(has_two).into_iter().map(|(value, words)| pair(value, words)).collect();
    let states = states(guitar, pickup);
    let pickups: Vec<_> = guitar
        .pickups()
        .iter()
        .enumerate()
        .map(|(i, own)| pair(if i == 0 { "" } else { own.name().as_str() }, own.name().as_str()))
        .collect();
    html! {
        section.part #what {
            h2 { "What is measured" }
            @if pickups.len() > 1 { (told.choice("pickup", "Pickup", &pickups, "")) }
            (told.choice("at", "Measured at", &places, if is_at_jack { "Every knob stands at 10, and nothing else is plugged in." } else { "These leads are off the guitar: nothing else is on them." }))
            @if is_at_jack && states.len() > 1 {
                (told.choice("state", "Levers stand in", &states, "Where the pickup is heard alone, in series if that can be."))
            }
            (told.text("ohms", "The meter reads there", "not read", "Before anything else is connected. It tells the coils’ resistance, and whether the known resistor is what it is said to be."))
            @if is_at_jack && guitar.controls().volume().is_some() {
                (told.text("volume_reads", "With the volume where it reads most", "not read", "Turn the volume until the meter at the jack reads most: four times that, less the coils’ ohms, is the volume’s track. Without it the file’s is taken."))
            }
            (told.choice("from", "Told from", &[pair("", "a recording, or another instrument’s table"), pair("readings", "readings of an inductance meter, or of resonances")], ""))
        }
    }
}

/// Returns the states of the levers, each with where they stand in words.
fn states(guitar: &Guitar, pickup: usize) -> Vec<(String, String)> {
    let standing = State::standing(guitar, pickup);
    let levers: Vec<_> = standing.throws().iter().map(|(lever, _)| *lever).collect();
    if levers.is_empty() {
        return Vec::new();
    }
    let all = if standing.ways(guitar) <= MOST_STATES {
        standing.every(guitar, &levers)
    } else {
        standing.with_one_moved(guitar)
    };
    let named = all.iter().map(|state| {
        let name = state.name(guitar);
        let words = match state.position(guitar) {
            Some(position) => format!("{position} ({name})"),
            None => name.clone(),
        };
        (name, words)
    });
    std::iter::once(pair("", "the first in which it is heard")).chain(named).collect()
}

/// Returns what plays and records, and what takes in what was recorded elsewhere.
fn record(panel: &Panel, at: &str, own: &FolderName, guitar: &Guitar, told: &Told<'_>) -> Markup {
    let mut takes: Vec<_> =
        panel.guitars.takes(own, TakesFor::Measuring).iter().map(|name| pair(name, name)).collect();
    takes.reverse();
    takes.insert(0, pair("", "none"));
    html! {
        section.part #connect {
            h2 { "Three connections, one recording" }
            ol.connections {
                @for (section, i) in Signal::sections().into_iter().zip(1..) {
                    li id={ "connection-" (i) } {
                        (connection(section.device))
                        p { strong { (i) ". " (heading(section.device)) } }
                        p.small { "From " (format!("{:.0}", section.from_s)) " s to " (format!("{:.0}", section.to_s)) " s: " (section.device.words()) "." }
                    }
                }
            }
            (told.text("known", "The known resistor", USUAL_KNOWN, "With its tolerance; without one it counts as 5 %. One of 5 % that a good meter read counts as 1 %."))
            (told.text("series", "The series resistor", "need not be known", "Only to tell the input by itself."))
        }
        section.part #record data-called=(guitar.pickups()[pickup_of(guitar, told.measurement)].name()) {
            h2 { "Play and record" }
            p { "The sweeps are played through the sound card and its input is recorded, without stopping. In the silence between two sweeps you have eight seconds to connect the next." }
            div.transport {
                button #check type="button" { "Check the level" }
                button.strong #run type="button" { "Play and record" }
                label.volume { "Input " meter #input-level min="-60" max="0" low="-34" high="-1" optimum="-12" value="-60" {} output #input-told {} }
            }
            p.stage #stage role="status" hidden {}
            p #countdown aria-hidden="true" hidden {}
            progress #progress max="1" value="0" hidden aria-label="How far the signal is" {}
            p.notice #sound-trouble role="alert" hidden {}
            figure.curves.incoming #incoming hidden {
                figcaption { "What comes in, drawn as it comes: 1 with nothing connected, 2 with the known resistor, 3 with the guitar or the coil. It is a preview; values are worked out of the whole recording once it has ended." }
                div #incoming-picture {}
                p.small #incoming-words {}
                details.how {
                    summary { "The same as a table" }
                    div.scroll role="region" aria-label="What comes in" tabindex="0" {
                        table {
                            thead { tr { th.n scope="col" { "Hz" } @for number in 1..=3 { th.n scope="col" { "sweep " (number) ", dB" } } th.n scope="col" { "impedance, kΩ" } } }
                            tbody #incoming-points {}
                        }
                    }
                }
            }
            p.small #level-words role="status" data-first=(LEVEL_WORDS) { (LEVEL_WORDS) }
        }
        section.part #recorded {
            h2 { "What was recorded" }
            (told.choice("take", "Recording", &takes, "All of them lie in the guitar’s folder, under measured, each with its day."))
            div.row data-part="recorded" {
                label.upload { "Add a recording" input.unseen #file type="file" accept="audio/*,.wav,.flac,.aiff"; }
                label.upload { "Add another instrument’s table" input.unseen #table type="file" accept=".csv,text/csv"; }
                @if !told.measurement.at("take").is_empty() {
                    form method="post" action={ (at) "remove-take" } {
                        input type="hidden" name="name" value=(told.measurement.at("take"));
                        button.quiet #remove-take { "Into the bin" }
                    }
                }
            }
            p.notice #file-trouble role="alert" hidden {}
            p.small { "A table has the columns frequency_hz, magnitude_ohm and phase_deg. To play the sweeps by another program: " a #sweep href={ (at) "sweep.wav?rate=" (Signal::RATE) } download="sweep.wav" { "the sound as a file" } "." }
        }
    }
}

/// Returns what is connected, in few words.
fn heading(device: Device) -> &'static str {
    match device {
        Device::Open => "Nothing connected",
        Device::Known => "The known resistor",
        Device::Guitar => "The guitar, or the coil",
    }
}

/// Returns the fields for single readings.
fn readings(told: &Told<'_>) -> Markup {
    html! {
        section.part #readings {
            h2 { "Readings" }
            (told.text("lcr", "An inductance meter reads", "such as 1.9H@1kHz", "In series mode, with the frequency at which it measures. It changes the inductance alone."))
            (told.text("resonance", "Resonances with capacitors across", "such as 3.1k with 470p, 2.4k with 1n", "Where the coil is loudest with each capacitor across it. They change inductance and capacitance."))
        }
    }
}

/// Returns what the measurement came to.
fn came_to(standing: &Standing, at: &str, state: &OpenState, number: &str) -> Markup {
    html! {
        section.verdicts aria-labelledby="came-to" {
            h2 #came-to { "What was found" }
            @match standing {
                Standing::Nothing => p.verdict { "Nothing was measured so far. Every figure of this guitar rests on usual values of its type until then." },
                Standing::Works(words) => p.verdict.works role="status" data-said { (words) },
                Standing::Done(outcome) => { @match &**outcome {
                    Outcome::Refused(refused) => {
                        p.verdict.refused role="status" data-said { "No values: " (refused.told()) }
                        p { (refused.words) "." }
                        p { strong { "What to do: " } (refused.hint()) "." }
                    }
                    Outcome::Failed(words) => (notice(words, "")),
                    Outcome::Values(values) => (found(values, at, state, number)),
                } }
            }
        }
    }
}

fn found(values: &Values, at: &str, state: &OpenState, number: &str) -> Markup {
    let are_in = values.are_in(state.draft.text());
    html! {
        p.verdict.measured role="status" data-said { "Measured; " (values.coils.join("; ")) "." @if are_in { " The values are in the guitar’s file." } }
        (PreEscaped(table_written("Values", &values.table, &explained, &content, &explained)))
        form.row method="post" action={ (at) "put" } {
            button.strong #put disabled[are_in] { "Take these values into the guitar" }
            span.small { @if are_in { "They are marked as measured there; undo takes them out again." } @else { "Only they change in its file, as measured; undo takes them back." } }
        }
        @if values.picture.is_some() {
            figure.fit {
                img src={ (at) "picture?of=" (path_segment(number)) } alt="Magnitude of the impedance as it was measured, with the circuit that follows it, and below it what the circuit leaves.";
                figcaption { "Points as measured, the line the circuit that was fitted; below, what is left between them." }
                details.how #points { summary { "The same as a table" } (PreEscaped(table("Impedance", &values.points, &content, &content))) }
            }
        }
        @match &values.peaks {
            Ok(peaks) => {
                h3 { "What changes by it: where the response is highest" }
                (PreEscaped(table("What changes", peaks, &explained, &content)))
            }
            Err(words) => (notice(words, "")),
        }
        ul.remarks { @for line in &values.remarks { li { (PreEscaped(explained(line))) } } }
        details.how { summary { "The lines of the guitar’s file" } pre { (values.lines.join("\n")) } }
    }
}

/// Returns a text in which terms explain themselves.
fn explained(text: &str) -> String {
    Glossary::COILS.marked(text)
}

/// The command that measures.
const COMMAND: &str = "drywire measure";

/// Returns the command that does the same.
fn command(panel: &Panel, own: &FolderName, guitar: &Guitar, told: &Measurement, from: Basis) -> String {
    let home = panel.guitars.root().join(own.as_str());
    let quoted = |path: &std::path::Path| shell_quoted(&path.display().to_string());
    let mut words = vec![COMMAND.to_owned()];
    let option = |name: &'static str, key: &str| {
        let text = told.at(key);
        (!text.is_empty()).then(|| format!("{} {}", option_of(name), shell_quoted(text)))
    };
    let mut more = Vec::new();
    match from {
        Basis::Recording => {
            let take = if told.at("take").is_empty() { "take.wav" } else { told.at("take") };
            let path = quoted(&home.join("measured").join(take));
            if is_table(take.as_ref()) {
                words.push(format!("{} {path}", option_of("drywire measure --impedance")));
            } else {
                words.push(path);
                let known = if told.at("known").is_empty() { USUAL_KNOWN } else { told.at("known") };
                words.push(format!("{} {}", option_of("drywire measure --known"), shell_quoted(known)));
                more.extend(option("drywire measure --series", "series"));
            }
        }
        Basis::Readings => {
            words.extend(option("drywire measure --lcr", "lcr"));
            words.extend(option("drywire measure --resonance", "resonance"));
        }
    }
    words.push(format!("{} {}", option_of("drywire measure --guitar"), quoted(&home.join(FILE))));
    if guitar.pickups().len() > 1 {
        words.push(format!(
            "{} {}",
            option_of("drywire measure --pickup"),
            guitar.pickups()[pickup_of(guitar, told)].name()
        ));
    }
    match told.at("at") {
        "" => words.extend(option("drywire measure --state", "state")),
        _ => words.extend(option("drywire measure --coil", "at")),
    }
    words.extend(option("drywire measure --ohms", "ohms"));
    if told.at("at").is_empty() {
        words.extend(
            option("drywire measure --volume-reads", "volume_reads").filter(|_| !told.at("ohms").is_empty()),
        );
    }
    words.extend(more);
    words.push(option_of("drywire measure --save").to_owned());
    words.join(" ")
}
