//! `drywire measure`: what the coils of a guitar are, measured with a sound card and a resistor.

use std::path::{Path, PathBuf};

use clap::Args as ClapArgs;
use drywire::cautions;
use drywire::impedance::{Section, Signal};
use drywire::job::SignalRequest;
use drywire::report::to_json;
use serde::Serialize;

use super::choose::ReplaceArgs;
use super::typed::rate;
use super::wrap::wrapped;
use super::{Console, Failure, Outcome};

/// Measure what the coils of this guitar are, with a sound card and a known resistor
///
/// With --signal the sound to play is written, and how to connect is told: three sweeps, one with nothing across the input, one
/// with a known resistor there, one with the guitar or a coil.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  drywire measure --signal sweep.wav\n  drywire measure --signal sweep.wav --rate 96k --json\n\nPlay and record with one sound card, without stopping. Unplug headphones and loudspeakers first, and the guitar from\nthe amplifier."
)]
pub(crate) struct Args {
    /// Write the sound to play into this file: WAV, 24 bit
    #[arg(long, value_name = "FILE.wav", required = true)]
    signal: Option<PathBuf>,
    /// Samples a second of the sound to play [default: 48000]
    #[arg(long, value_name = "HZ", allow_hyphen_values = true, requires = "signal", value_parser = |text: &str| rate(text, &Signal::RATES))]
    rate: Option<u32>,
    #[command(flatten)]
    replace: ReplaceArgs,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

#[derive(Serialize)]
struct SignalForm {
    file: String,
    rate_hz: u32,
    duration_s: f64,
    sections: [Section; 3],
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    if let Some(out) = &args.signal {
        write_signal(args, out, console)?;
    }
    Ok(Outcome::Done)
}

fn write_signal(args: &Args, out: &Path, console: &mut Console) -> Result<(), Failure> {
    let rate_hz = args.rate.unwrap_or(Signal::RATE);
    let signal = SignalRequest { rate_hz, out: out.to_owned(), existing: args.replace.existing() }.make()?;
    if args.json {
        let file = out.file_name().unwrap_or(out.as_os_str()).to_string_lossy().into_owned();
        let form = SignalForm {
            file,
            rate_hz: signal.rate_hz(),
            duration_s: Signal::seconds(),
            sections: Signal::sections(),
        };
        return console.result(to_json(&form));
    }
    console.note(format!(
        "wrote {}: {:.1} s at {} kHz",
        out.display(),
        Signal::seconds(),
        f64::from(rate_hz) / 1000.0
    ));
    console.table(connections())
}

/// Returns how to connect, and what comes when.
fn connections() -> String {
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
