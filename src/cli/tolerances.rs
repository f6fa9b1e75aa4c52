//! How sure the figures are: the options that `hear` and `figures` share.

use clap::Args;
use drywire::bands::Bands;

use super::typed::whole;

#[derive(Debug, Args)]
pub(crate) struct ToleranceArgs {
    /// Tell how far part tolerances move the figures, by drawing guitars within them
    #[arg(long)]
    bands: bool,
    /// How many guitars are drawn for --bands
    #[arg(long, value_name = "NUMBER", default_value_t = Bands::USUAL_DRAWS, requires = "bands",
        allow_hyphen_values = true,
        value_parser = whole::<u32>(u64::from(*Bands::DRAWS.start())..=u64::from(*Bands::DRAWS.end())))]
    draws: u32,
}

impl ToleranceArgs {
    /// Returns how many guitars are to be drawn, where bands are asked for.
    pub(crate) fn draws(&self) -> Option<u32> {
        self.bands.then_some(self.draws)
    }
}
