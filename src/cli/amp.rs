//! What is asked of an amplifier, by `hear` and `figures`.

use clap::{Args as ClapArgs, ValueEnum};
use drywire::amp::{Amplification, Cabinet, Drive, Headroom, Setting};
use drywire::quantity::{Db, Volts};

use super::Failure;
use super::typed::{DECIBELS, quantity};

#[derive(Debug, ClapArgs)]
pub(crate) struct AmpArgs {
    /// Hear it through a generic amplifier. Does it break up? never: clean; only when I dig in: edge; most of the time:
    /// driven; always: hard. Or the headroom in dB, from the baseline's loudest moment to where the amplifier clips, -60 to 60
    /// [default: off]
    #[arg(long, value_name = "off|clean|edge|driven|hard|DB", allow_hyphen_values = true, value_parser = amp)]
    amp: Option<Amp>,
    /// In place of a headroom: the loudest moment of the baseline at the jack, as the amplitude of a sine, such as 200 mV
    #[arg(long, value_name = "VOLTS", requires = "clips_at", allow_hyphen_values = true, value_parser = volts)]
    jack: Option<Volts>,
    /// Where the amplifier begins to clip, likewise, such as 50 mV
    #[arg(long, value_name = "VOLTS", requires = "jack", allow_hyphen_values = true, value_parser = volts)]
    clips_at: Option<Volts>,
    /// The loudspeaker after the amplifier: a guitar's in a closed box, or none [default: closed]
    #[arg(long, value_enum, ignore_case = true)]
    loudspeaker: Option<LoudspeakerKind>,
}

/// What is said of the amplifier.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Amp {
    Off,
    Driven(Drive),
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum LoudspeakerKind {
    Closed,
    None,
}

impl From<LoudspeakerKind> for Cabinet {
    fn from(kind: LoudspeakerKind) -> Self {
        match kind {
            LoudspeakerKind::Closed => Self::Closed,
            LoudspeakerKind::None => Self::None,
        }
    }
}

impl AmpArgs {
    /// Returns the amplifier asked for, if any.
    pub(crate) fn amplification(&self) -> Result<Option<Amplification>, Failure> {
        let drive = match (self.amp, self.jack.zip(self.clips_at)) {
            (Some(_), Some(_)) => {
                let message = "--amp and --jack both say how hard the amplifier is driven";
                return Err(Failure::input(message, "leave out --amp, or --jack and --clips-at"));
            }
            (None, Some((jack, clips_at))) => Some(Drive::measured(jack, clips_at).map_err(|error| {
                let hint =
                    "both are the amplitude of a sine: 1.41 times what a meter for alternating voltage reads";
                Failure::input(error.to_string(), hint).about("--jack")
            })?),
            (Some(Amp::Driven(drive)), None) => Some(drive),
            (Some(Amp::Off) | None, None) => None,
        };
        match (drive, self.loudspeaker) {
            (None, Some(_)) => {
                let message = "--loudspeaker says what follows an amplifier, and there is none";
                Err(Failure::input(message, "say how hard it is driven, such as --amp edge"))
            }
            (None, None) => Ok(None),
            (Some(drive), asked) => {
                Ok(Some(Amplification { drive, cabinet: asked.map_or(Cabinet::Closed, Into::into) }))
            }
        }
    }
}

fn amp(text: &str) -> Result<Amp, String> {
    let word = text.trim().to_lowercase();
    if word == "off" {
        return Ok(Amp::Off);
    }
    if let Some(setting) = Setting::ALL.into_iter().find(|setting| setting.name() == word) {
        return Ok(Amp::Driven(Drive::Set(setting)));
    }
    let stated = DECIBELS.number_within(&word, &Headroom::ALLOWED).ok();
    let headroom = stated.and_then(|level| Headroom::new(Db::new(level)));
    headroom.map(|headroom| Amp::Driven(Drive::Stated(headroom))).ok_or_else(|| {
        format!(
            "wanted is off, clean, edge, driven or hard, or a headroom from {} to {} dB, such as -12",
            Headroom::ALLOWED.start(),
            Headroom::ALLOWED.end()
        )
    })
}

fn volts(text: &str) -> Result<Volts, String> {
    let volts: Volts = quantity(text)?;
    if volts.value() > 0.0 {
        Ok(volts)
    } else {
        Err(format!("{volts} is no amplitude; wanted is one above 0 V"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_setting_a_headroom_and_nothing_else_is_read() {
        assert_eq!(amp("off"), Ok(Amp::Off));
        assert_eq!(amp(" Driven"), Ok(Amp::Driven(Drive::Set(Setting::Driven))));
        for (text, headroom) in [("-12", -12.0), ("\u{2212}12 dB", -12.0), ("6dB", 6.0), ("0", 0.0)] {
            let Ok(Amp::Driven(drive)) = amp(text) else { panic!("{text}") };
            assert_eq!(drive.headroom().level(), Db::new(headroom), "{text}");
        }
        for text in ["loud", "-61", "61", "nan", "", "12k"] {
            assert!(amp(text).is_err(), "{text}");
        }
    }
}
