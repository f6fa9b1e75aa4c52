//! What a measurement of coils comes to, for reading.

use super::{Column, TextTable};
use crate::guitar::{Draft, Measurand};
use crate::impedance::{Found, Measured, Subject};
use crate::quantity::{Ohms, engineering, signed};
use crate::wiring::CoilName;

/// Returns the values of each coil with their standard deviations, beside what the guitar's file had.
pub fn measured_table(found: &Found, subject: &Subject) -> TextTable {
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

/// Returns the remarks: where it was measured, how far the circuit is off, source and input, health, and what else is to be known;
/// the input alone is told where the resistor `series` to it is stated.
pub fn measured_remarks(found: &Found, subject: &Subject, series: Option<Ohms>) -> Vec<String> {
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
        let (input, not_told) = match series.map(|series| source.input(series)) {
            Some(Ok(input)) => (format!(", the input alone {input}"), None),
            Some(Err(not_told)) => (String::new(), Some(not_told)),
            None => (String::new(), None),
        };
        lines.push(format!(
            "source and input together: {}{input}; the cable: {}",
            source.resistance, source.capacitance
        ));
        lines.extend(not_told);
    }
    lines.extend(found.coils.iter().map(|coil| format!("{}: {}", coil.name, coil.health.words())));
    if let Some(own) = found.coupling {
        lines.push(format!("coupling: {:.3} ± {:.3}", own.value, own.deviation));
    }
    lines.extend(found.notes.clone());
    lines
}

/// Returns the lines that `draft`, the guitar's file with what was measured, has and the file of `subject` has not.
pub fn measured_lines<'d>(subject: &Subject, draft: &'d Draft) -> Vec<&'d str> {
    let before: Vec<&str> = subject.draft().text().lines().collect();
    draft.text().lines().filter(|line| !before.contains(line)).collect()
}
