//! What lies between the coils and the amplifier: pots, treble bleed, bass cut, loads, buffer, cable, input.

use std::fmt;

use super::keys::Worded;
use super::{Origin, Value};
use crate::quantity::{Farads, Metres, Ohms};

/// How a pot's wiper moves along its track as the knob turns.
///
/// # Source
/// The audio taper is the usual approximation by two straight segments; makers' data sheets state the fraction
/// at mid-travel as 10 to 17 %.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Taper {
    /// The wiper follows the knob.
    Linear,
    /// Two straight segments that meet at mid-travel, with this fraction of the track.
    Audio {
        /// The fraction of the track at mid-travel, between 0 and 1.
        mid: f64,
    },
}

/// What a taper is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TaperKind {
    Audio,
    Linear,
}

/// How a treble bleed's resistor is joined to its capacitor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum BleedJoined {
    Parallel,
    Series,
}

/// A pot and where its knob stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pot {
    pub(crate) track: Value<Ohms>,
    pub(crate) taper: Value<Taper>,
    pub(crate) turned: Value<f64>,
}

/// Where a tone control hangs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ToneJoined {
    /// On the volume pot's input.
    BeforeVolume,
    /// On the volume pot's output.
    AfterVolume,
}

/// A tone pot with its capacitor to ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tone {
    pub(crate) pot: Pot,
    pub(crate) capacitor: Value<Farads>,
    pub(crate) joined: ToneJoined,
}

/// Which way round a volume pot is wired.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum VolumeWiring {
    /// The track is the input and the wiper the output: at zero it takes all pickups beside it down too.
    #[default]
    Dependent,
    /// The wiper is the input and the track the output: at zero it silences its own pickup alone.
    Independent,
}

/// A bass cut: a capacitor in the way of the signal, with a pot across it that is a short when turned up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BassCut {
    pub(crate) pot: Pot,
    pub(crate) capacitor: Farads,
}

/// A unity-gain buffer in the guitar: what lies behind it no longer loads the coils.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Buffer {
    pub(crate) input: Value<Ohms>,
    pub(crate) output: Value<Ohms>,
}

/// How a treble bleed's parts are joined across the volume pot's top leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum BleedForm {
    /// The capacitor alone.
    Capacitor,
    /// The capacitor with a resistor in parallel.
    Parallel(Ohms),
    /// The capacitor with a resistor in series.
    Series(Ohms),
}

/// A treble bleed: a path for high frequencies round the volume pot's top leg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bleed {
    pub(crate) capacitor: Farads,
    pub(crate) form: Value<BleedForm>,
}

/// What the signal passes: all of the guitar's, or those of one pickup before it is joined with others.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Controls {
    pub(crate) volume: Option<Pot>,
    pub(crate) wiring: VolumeWiring,
    pub(crate) tone: Option<Tone>,
    pub(crate) bleed: Option<Bleed>,
    pub(crate) bass_cut: Option<BassCut>,
    pub(crate) load: Option<Ohms>,
}

/// The cable from the jack to the amplifier.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cable {
    pub(crate) capacitance: Farads,
    pub(crate) by: CableBy,
}

/// What a cable's capacitance follows from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CableBy {
    /// The file states it as a whole.
    Total,
    /// Its length times its capacitance a metre.
    Length {
        /// The length.
        length: Value<Metres>,
        /// The capacitance a metre.
        per_metre: Value<Farads>,
    },
}

/// The amplifier's input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    pub(crate) resistance: Value<Ohms>,
    pub(crate) capacitance: Value<Farads>,
}

impl Worded for TaperKind {
    const WORDS: &'static [(&'static str, Self)] = &[("audio", Self::Audio), ("linear", Self::Linear)];
}

impl Worded for BleedJoined {
    const WORDS: &'static [(&'static str, Self)] = &[("parallel", Self::Parallel), ("series", Self::Series)];
}

impl Worded for ToneJoined {
    const WORDS: &'static [(&'static str, Self)] =
        &[("before-volume", Self::BeforeVolume), ("after-volume", Self::AfterVolume)];
}

impl Worded for VolumeWiring {
    const WORDS: &'static [(&'static str, Self)] =
        &[("dependent", Self::Dependent), ("independent", Self::Independent)];
}

impl fmt::Display for Taper {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Linear => "linear",
            Self::Audio { .. } => "audio",
        })
    }
}

impl Pot {
    /// The knob's position at the end of its travel.
    pub const FULL: f64 = 10.0;

    /// Returns the resistance of the whole track.
    pub fn track(&self) -> Ohms {
        self.track.value
    }

    /// Returns how the wiper moves along the track.
    pub fn taper(&self) -> Taper {
        self.taper.value
    }

    /// Returns the knob's position, 0 to 10.
    pub fn turned(&self) -> f64 {
        self.turned.value
    }

    /// Returns the fraction of the track between the wiper and the grounded (or, of a tone pot, the used) end,
    /// 0 to 1.
    pub fn fraction(&self) -> f64 {
        let x = self.turned.value / 10.0;
        match self.taper.value {
            Taper::Linear => x,
            Taper::Audio { mid } if x <= 0.5 => 2.0 * mid * x,
            Taper::Audio { mid } => mid + (1.0 - mid) * (2.0 * x - 1.0),
        }
    }

    /// Returns the same pot with this fraction of an audio taper's track at mid-travel.
    #[must_use]
    pub(crate) fn with_mid(self, mid: f64) -> Self {
        let taper = match self.taper.value {
            Taper::Linear => Taper::Linear,
            Taper::Audio { .. } => Taper::Audio { mid },
        };
        Self { taper: Value { value: taper, ..self.taper }, ..self }
    }

    /// Returns the same pot with its knob at `turned`, held within 0 to 10.
    #[must_use]
    pub fn at(self, turned: f64) -> Self {
        Self { turned: Value { value: turned.clamp(0.0, Self::FULL), ..self.turned }, ..self }
    }
}

impl Tone {
    /// Returns the pot.
    pub fn pot(&self) -> Pot {
        self.pot
    }

    /// Returns the capacitor.
    pub fn capacitor(&self) -> Farads {
        self.capacitor.value
    }

    /// Returns where it hangs.
    pub fn joined(&self) -> ToneJoined {
        self.joined
    }

    /// Returns the same tone control with its knob at `turned`, held within 0 to 10.
    #[must_use]
    pub fn at(self, turned: f64) -> Self {
        Self { pot: self.pot.at(turned), ..self }
    }
}

impl Bleed {
    /// Returns the capacitor.
    pub fn capacitor(&self) -> Farads {
        self.capacitor
    }

    /// Returns how the parts are joined.
    pub fn form(&self) -> BleedForm {
        self.form.value
    }
}

impl BassCut {
    /// Returns the pot across the capacitor.
    pub fn pot(&self) -> Pot {
        self.pot
    }

    /// Returns the capacitor.
    pub fn capacitor(&self) -> Farads {
        self.capacitor
    }
}

impl Buffer {
    /// Returns its input resistance.
    pub fn input(&self) -> Ohms {
        self.input.value
    }

    /// Returns its output resistance.
    pub fn output(&self) -> Ohms {
        self.output.value
    }
}

impl Controls {
    /// Returns the volume pot.
    pub fn volume(&self) -> Option<Pot> {
        self.volume
    }

    /// Returns which way round the volume pot is wired.
    pub fn wiring(&self) -> VolumeWiring {
        self.wiring
    }

    /// Returns the bass cut.
    pub fn bass_cut(&self) -> Option<BassCut> {
        self.bass_cut
    }

    /// Returns the fixed resistor from hot to ground before the volume pot.
    pub fn load(&self) -> Option<Ohms> {
        self.load
    }

    /// Returns the tone control.
    pub fn tone(&self) -> Option<Tone> {
        self.tone
    }

    /// Returns the treble bleed.
    pub fn bleed(&self) -> Option<Bleed> {
        self.bleed
    }
}

impl Controls {
    /// Returns the pot and the capacitor of the two pots that a guitar is taken to have whose file says nothing of them,
    /// where these are those.
    pub(super) fn usual_pots(&self) -> Option<(Pot, Farads)> {
        let Self {
            volume: Some(volume),
            wiring: _,
            tone: Some(tone),
            bleed: None,
            bass_cut: None,
            load: None,
        } = self
        else {
            return None;
        };
        let is_usual = |Pot { track, taper, turned }: &Pot| {
            [track.origin, taper.origin, turned.origin].iter().all(|origin| *origin == Origin::Default)
        };
        let are_usual = is_usual(volume) && is_usual(&tone.pot) && tone.capacitor.origin == Origin::Default;
        are_usual.then_some((*volume, tone.capacitor.value))
    }
}

impl Cable {
    /// Returns where its capacitance is from.
    pub fn origin(&self) -> Origin {
        match self.by {
            CableBy::Total => Origin::Stated,
            CableBy::Length { length, per_metre } if length.origin.is_stated() => per_metre.origin,
            CableBy::Length { length, per_metre: _ } => length.origin,
        }
    }

    /// Returns the capacitance of the whole cable.
    pub fn capacitance(&self) -> Farads {
        self.capacitance
    }
}

impl Input {
    /// Returns the resistance to ground.
    pub fn resistance(&self) -> Ohms {
        self.resistance.value
    }

    /// Returns the capacitance to ground.
    pub fn capacitance(&self) -> Farads {
        self.capacitance.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_audio_taper_has_its_fraction_at_mid_travel_and_both_ends_exact() {
        let pot = Pot {
            track: Value::stated(Ohms::new(500e3)),
            taper: Value::stated(Taper::Audio { mid: 0.13 }),
            turned: Value::stated(5.0),
        };
        assert_eq!(pot.fraction(), 0.13);
        assert_eq!(pot.at(0.0).fraction(), 0.0);
        assert_eq!(pot.at(10.0).fraction(), 1.0);
        assert!((pot.at(7.5).fraction() - 0.565).abs() < 1e-12);
    }

    #[test]
    fn a_linear_taper_puts_the_wiper_where_the_knob_is() {
        let pot = Pot {
            track: Value::stated(Ohms::new(250e3)),
            taper: Value::stated(Taper::Linear),
            turned: Value::stated(3.0),
        };
        assert_eq!(pot.fraction(), 0.3);
    }
}
