//! What `measure` prints for reading.

use drywire::bands::{Band, Bands};
use drywire::cautions;
use drywire::guitar::{Draft, Guitar, Measurand};
use drywire::impedance::{Found, Measured, Refused, Signal, Subject};
use drywire::job::{Source, figures_of, with_bands};
use drywire::quantity::{Ohms, engineering, signed};
use drywire::report::{Column, TextTable};
use drywire::response::{Selection, SelectionError};
use drywire::wiring::CoilName;

use crate::cli::Failure;
use crate::cli::wrap::wrapped;

/// Returns how to connect, and what comes when.
pub(super) fn connections() -> String {
    let mut lines = vec![
        "Connect the sound card's output through a series resistor (100 kΩ; 10 kΩ to 1 MΩ serve) to its instrument input, a \
         cable's far end left free: what is measured hangs across that end, tip to sleeve. Play the file and record the input \
         without stopping, with one sound card, and turn the input down until it never reaches its end."
            .to_owned(),
    ];
    for (i, section) in Signal::sections().iter().enumerate() {
        let what = match i {
            0 => "nothing across the cable's end",
            1 => "the known resistor there, such as 10 kΩ with 1 %",
            _ => "the guitar there, by its jack with every knob at 10, or a coil by its leads",
        };
        lines.push(format!("{}. from {:.1} s to {:.1} s: {what}", i + 1, section.from_s, section.to_s));
    }
    lines.push("Connect the next one in the silence between.".to_owned());
    lines.extend([cautions::SWEEP, cautions::UNPLUG].map(str::to_owned));
    lines.iter().map(|line| wrapped(line, "", "  ")).collect::<Vec<_>>().join("\n")
}

/// Returns why nothing is told.
pub(super) fn refused(refused: &Refused) -> String {
    let told = wrapped(&format!("{}: {}", refused.verdict.words(), refused.words), "", "  ");
    format!("{told}\n{}", wrapped(refused.verdict.hint(), "  ", "  "))
}

fn shown(measurand: Measurand, value: f64) -> String {
    let symbol = match measurand {
        Measurand::Resistance | Measurand::Loss => "Ω",
        Measurand::Inductance => "H",
        Measurand::Capacitance => "F",
        Measurand::EddyCorner => "Hz",
        Measurand::EddyShare => return format!("{value:.3}"),
    };
    engineering(value, symbol, 3)
}

fn off(own: Measured) -> String {
    if own.value > 0.0 { format!("± {:.1} %", 100.0 * own.deviation / own.value) } else { String::new() }
}

/// Returns the values of each coil, with what its file had.
pub(super) fn values(found: &Found, subject: &Subject) -> TextTable {
    let mut table = TextTable::new([
        Column::words(["coil", ""]),
        Column::words(["value", ""]),
        Column::numbers(["measured", ""]),
        Column::words(["sd", ""]),
        Column::words(["before", ""]),
    ]);
    for coil in &found.coils {
        let before = match coil.name {
            CoilName::A => Some(subject.pickup().coil_a()),
            CoilName::B => subject.pickup().coil_b(),
        };
        for measurand in Measurand::ALL {
            let Some(own) = coil.values[measurand.index()] else { continue };
            let value = match own.value {
                value if value.is_finite() && value > 0.0 => shown(measurand, value),
                _ => "none".to_owned(),
            };
            let before =
                before.and_then(|coil| coil.measurand(measurand)).map(|(told, _)| told).unwrap_or_default();
            table.row([coil.name.to_string(), measurand.words().to_owned(), value, off(own), before]);
            if measurand == Measurand::Inductance {
                let own = coil.inductance_1khz;
                let value = shown(Measurand::Inductance, own.value);
                table.row([
                    coil.name.to_string(),
                    "inductance at 1 kHz".to_owned(),
                    value,
                    off(own),
                    String::new(),
                ]);
            }
        }
    }
    table
}

/// Returns what changes by it for the arrangements: where the response is highest, with its band.
pub(super) fn changes(subject: &Subject, after: &Guitar) -> Result<TextTable, Failure> {
    let mut table = TextTable::new([
        Column::words(["arrangement", ""]),
        Column::numbers(["peak before", "Hz"]),
        Column::words(["band", ""]),
        Column::numbers(["peak now", "Hz"]),
        Column::words(["band", ""]),
    ]);
    let pickup = subject.pickup().name().as_str();
    let [before, after] = [peaks(subject.guitar(), pickup)?, peaks(after, pickup)?];
    for ((name, before), (_, after)) in before.into_iter().zip(after) {
        let [before, after] = [before, after].map(|peak| match peak {
            Some((hz, band)) => {
                let band = band.map(|band| format!("± {:.0} %", 50.0 * (band.high - band.low) / hz));
                [signed(hz, 0), band.unwrap_or_default()]
            }
            None => ["none".to_owned(), String::new()],
        });
        let [[was, was_off], [is, is_off]] = [before, after];
        table.row([name, was, was_off, is, is_off]);
    }
    Ok(table)
}

type Peak = Option<(f64, Option<Band>)>;

/// Returns the peak of each arrangement that is usual for a pickup.
fn peaks(guitar: &Guitar, pickup: &str) -> Result<Vec<(String, Peak)>, Failure> {
    let own = guitar.pickup(Some(pickup)).map_err(SelectionError::from)?;
    let names: Vec<String> = if own.coil_b().is_some() {
        ["series", "parallel", "split-a"].map(str::to_owned).to_vec()
    } else {
        vec!["alone".to_owned()]
    };
    let selection = Selection::of_names(guitar, Some(pickup), &names, None)?;
    let mut figures = figures_of(&selection)?;
    let source = Source::plucked(guitar, selection.scope())?.sound;
    let bands = with_bands(&mut figures, &selection, Bands::USUAL_DRAWS, &source, 1)?;
    let told = figures.arrangements.iter().zip(&bands.voices);
    Ok(told.map(|(own, bands)| (own.name.clone(), own.peak_hz.map(|hz| (hz, bands.peak)))).collect())
}

/// Returns the remarks: how far the circuit is off, source and input, health, and what else is to be known.
pub(super) fn remarks(found: &Found, subject: &Subject, series: Option<Ohms>) -> String {
    let mut lines = Vec::new();
    let place = match subject.state() {
        Some(state) => format!("measured at the jack, in {state}, every knob at 10"),
        None => "measured by the leads".to_owned(),
    };
    lines.push(place);
    if let Some(misfit) = found.misfit {
        lines.push(format!(
            "the circuit is off by {:.2} dB rms from what was measured, most by {} dB at {}",
            misfit.rms_db,
            signed(misfit.worst_db, 2),
            misfit.worst_at
        ));
    }
    if let Some(source) = found.source {
        let input = series.map(|series| 1.0 / (1.0 / source.resistance.value() - 1.0 / series.value()));
        let input = input.filter(|ohms| ohms.is_finite() && *ohms > 0.0);
        let input = input.map(|ohms| format!(", the input alone {}", Ohms::new(ohms))).unwrap_or_default();
        lines.push(format!(
            "source and input together: {}{input}; the cable: {}",
            source.resistance, source.capacitance
        ));
    }
    lines.extend(found.coils.iter().map(|coil| format!("{}: {}", coil.name, coil.health.words())));
    if let Some(own) = found.coupling {
        lines.push(format!("coupling: {:.3} ± {:.3}", own.value, own.deviation));
    }
    lines.extend(found.notes.clone());
    lines.iter().map(|line| wrapped(line, "  - ", "    ")).collect::<Vec<_>>().join("\n")
}

/// Returns the lines that the guitar's file would have for what was measured.
pub(super) fn lines(subject: &Subject, draft: &Draft) -> String {
    let before: Vec<&str> = subject.draft().text().lines().collect();
    let new = draft.text().lines().filter(|line| !before.contains(line));
    let new: Vec<&str> = new.collect();
    format!("\nin the guitar's file:\n{}", new.join("\n"))
}
