//! What `measure` prints for reading.

use drywire::cautions;
use drywire::guitar::Draft;
use drywire::impedance::{CONNECT, Found, Refused, Signal, Subject};
use drywire::quantity::Ohms;
use drywire::report::{measured_lines, measured_remarks};

use crate::cli::wrap::wrapped;

/// Returns how to connect, and what comes when.
pub(super) fn connections() -> String {
    let mut lines = vec![format!(
        "{CONNECT} Play the file and record the input without stopping, with one sound card, and turn the input down until it \
         never reaches its end."
    )];
    let sections = Signal::sections().into_iter().zip(1..);
    lines.extend(sections.map(|(section, i)| {
        format!("{i}. from {:.1} s to {:.1} s: {}", section.from_s, section.to_s, section.device.words())
    }));
    lines.push("Connect the next one in the silence between.".to_owned());
    lines.extend([cautions::SWEEP, cautions::UNPLUG].map(str::to_owned));
    lines.iter().map(|line| wrapped(line, "", "  ")).collect::<Vec<_>>().join("\n")
}

/// Returns why nothing is told.
pub(super) fn refused(refused: &Refused) -> String {
    let told = wrapped(&format!("{}: {}", refused.told(), refused.words), "", "  ");
    format!("{told}\n{}", wrapped(refused.hint(), "  ", "  "))
}

/// Returns the remarks.
pub(super) fn remarks(found: &Found, subject: &Subject, series: Option<Ohms>) -> String {
    let lines = measured_remarks(found, subject, series);
    lines.iter().map(|line| wrapped(line, "  - ", "    ")).collect::<Vec<_>>().join("\n")
}

/// Returns the lines that the guitar's file would have for what was measured.
pub(super) fn lines(subject: &Subject, draft: &Draft) -> String {
    format!("\nin the guitar's file:\n{}", measured_lines(subject, draft).join("\n"))
}
