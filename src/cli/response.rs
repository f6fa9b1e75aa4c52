//! `drywire response`: the complex response for a spreadsheet or a check.

use clap::Args as ClapArgs;
use drywire::quantity::Hertz;
use drywire::report::response_rows;
use drywire::response::{VoiceError, voice_named};

use super::choose::GuitarArgs;
use super::typed::{quantity, whole};
use super::{Console, Failure, Outcome};

/// Print one arrangement's complex response as CSV
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Columns: frequency_hz,from,real,imaginary,magnitude_db,phase_deg. `from` is coil_a, coil_b (the\njack's voltage per volt of that coil's EMF, the other at zero) or both (each at its output).\n\nExamples:\n  drywire response --arrangement parallel > parallel.csv\n  drywire response --guitar mine.toml --arrangement series --start 1k --stop 10k --points 181"
)]
pub(crate) struct Args {
    #[command(flatten)]
    guitar: GuitarArgs,
    /// The arrangement, or a throw of a soldered switch such as `mode:1`
    #[arg(long, value_name = "NAME", default_value = "series")]
    arrangement: String,
    /// The lowest frequency
    #[arg(long, value_name = "HZ", default_value = "20", allow_hyphen_values = true, value_parser = frequency)]
    start: Hertz,
    /// The highest frequency
    #[arg(long, value_name = "HZ", default_value = "20k", allow_hyphen_values = true, value_parser = frequency)]
    stop: Hertz,
    /// How many frequencies, spaced evenly on a logarithmic scale, ends included
    #[arg(long, value_name = "NUMBER", default_value = "61", allow_hyphen_values = true,
        value_parser = whole::<u32>(2..=100_000))]
    points: u32,
}

const LOWEST: f64 = 0.001;
const HIGHEST: f64 = 1e9;

fn frequency(text: &str) -> Result<Hertz, String> {
    let frequency: Hertz = quantity(text)?;
    if (LOWEST..=HIGHEST).contains(&frequency.value()) {
        Ok(frequency)
    } else {
        Err(format!("{frequency} is not between {} and {}", Hertz::new(LOWEST), Hertz::new(HIGHEST)))
    }
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = args.guitar.guitar()?;
    let scope = args.guitar.scope(&guitar, std::slice::from_ref(&args.arrangement))?;
    let response = voice_named(&guitar, scope, &args.arrangement)?.response(&guitar, scope)?;
    let (start, stop) = (args.start.value(), args.stop.value());
    if start >= stop {
        let message = format!("--start {} is not below --stop {}", args.start, args.stop);
        return Err(Failure::input(message, "give the lower frequency first"));
    }
    let last = args.points - 1;
    let frequencies: Vec<Hertz> = (0..=last)
        .map(|i| match i {
            0 => args.start,
            i if i == last => args.stop,
            i => Hertz::new(start * (stop / start).powf(f64::from(i) / f64::from(last))),
        })
        .collect();
    let rows = response_rows(&response, &frequencies).map_err(VoiceError::from)?;
    console.result(rows.trim_end())?;
    Ok(Outcome::Done)
}
