//! What is asked of hum.

use clap::{Args as ClapArgs, ValueEnum};
use drywire::quantity::Dbfs;
use drywire::render::{Hum, Mains};

use crate::cli::Failure;
use crate::cli::typed::FULL_SCALE;

#[derive(Debug, ClapArgs)]
pub(super) struct HumArgs {
    /// Add mains hum through each coil's winding sense: of 50 or 60 Hz, with its harmonics
    #[arg(long, value_enum, default_value_t = HumKind::Off, value_name = "off|50|60",
        ignore_case = true)]
    hum: HumKind,
    /// The RMS level of the hum in a coil of one turn, against the source's full scale in a coil of output 1
    /// [default: -50]
    #[arg(long, value_name = "dBFS", allow_hyphen_values = true, value_parser = hum_level)]
    hum_level: Option<Dbfs>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum HumKind {
    Off,
    #[value(name = "50", aliases = ["50hz", "50 hz"])]
    Hz50,
    #[value(name = "60", aliases = ["60hz", "60 hz"])]
    Hz60,
}

/// Returns the hum asked for.
pub(super) fn hum(args: &HumArgs) -> Result<Option<Hum>, Failure> {
    let HumArgs { hum, hum_level } = *args;
    let mains = match (hum, hum_level) {
        (HumKind::Off, None) => return Ok(None),
        (HumKind::Off, Some(_)) => {
            let message = "--hum-level says how strong hum is, and --hum says off";
            return Err(Failure::input(message, "name the mains, such as --hum 50"));
        }
        (HumKind::Hz50, _) => Mains::Hz50,
        (HumKind::Hz60, _) => Mains::Hz60,
    };
    Ok(Some(Hum::new(mains, hum_level.unwrap_or(Hum::USUAL))))
}

fn hum_level(text: &str) -> Result<Dbfs, String> {
    let allowed = Hum::LEVELS.start().value()..=Hum::LEVELS.end().value();
    FULL_SCALE.number_within(text, &allowed).map(Dbfs::new)
}
