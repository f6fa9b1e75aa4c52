//! One voice made ready to be heard: its kernels and, for the resonance alone, its section.

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::{Hum, RenderError};
use crate::circuit::SolveError;
use crate::filter::{Fidelity, Kernel, Output, SectionFilter};
use crate::guitar::Guitar;
use crate::quantity::{Db, Hertz};
use crate::response::{LOW, OneChannel, Recorded, Scope, SecondOrder, VoiceResponse};

/// What a source's channels stand for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Channels {
    /// Each channel is a sound of its own, filtered like the others.
    Stereo,
    /// Channel 1 is coil A's signal, channel 2 coil B's, and so on for every pickup heard; one channel comes out.
    Coils,
}

/// What a voice is rendered by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Model {
    /// The whole circuit.
    Circuit,
    /// Its resonance alone.
    SecondOrder,
}

/// What all takes of a set have in common.
#[derive(Debug, Clone)]
pub struct Configuration<'s> {
    /// The guitar.
    pub guitar: &'s Guitar,
    /// What of it is heard.
    pub scope: Scope<'s>,
    /// Samples a second.
    pub rate_hz: u32,
    /// The source's channels.
    pub source_channels: usize,
    /// What they stand for.
    pub channels: Channels,
    /// What the voices are rendered by.
    pub model: Model,
    /// The voice that the source was recorded through, if any.
    pub recorded: Option<&'s Recorded>,
    /// The mains hum that is added at the jack, if any; always that of the whole circuit.
    pub hum: Option<Hum>,
}

/// A voice ready to be rendered.
#[derive(Debug, Clone)]
pub struct Take {
    /// The voice's name.
    pub name: String,
    /// What each output channel is made of.
    pub(super) outputs: Vec<Output>,
    /// The resonance that follows the kernels, where it is not in them.
    pub(super) section: Option<SectionFilter>,
    /// The hum that is added to every output channel, until it repeats itself; empty where none is.
    pub(super) hum: Vec<f64>,
    /// Whether the source gives this voice only approximately.
    pub approximate: bool,
    /// How far the bound cuts what the recording lacks, where that is worth a warning.
    pub beyond_the_bound: Option<Db>,
}

impl Take {
    /// Returns the kernels of the take's first output channel, one for each of the source's channels that it is made
    /// of; the section of the resonance alone is not in them.
    pub fn kernels(&self) -> Vec<&Kernel> {
        self.outputs[0].paths.iter().map(|(_, kernel)| kernel).collect()
    }

    /// Returns the take with its kernels whole, which is exact to the last bit that is written, and slower.
    #[must_use]
    pub fn undivided(&self) -> Self {
        let whole = |output: &Output| {
            let paths = output.paths.iter().map(|(channel, kernel)| (*channel, kernel.clone().undivided()));
            Output { paths: paths.collect() }
        };
        Self { outputs: self.outputs.iter().map(whole).collect(), ..self.clone() }
    }
}

impl Configuration<'_> {
    /// Returns the number of channels of every take.
    pub fn output_channels(&self) -> usize {
        match self.channels {
            Channels::Stereo => self.source_channels,
            Channels::Coils => 1,
        }
    }

    /// Returns the take of a voice.
    ///
    /// # Errors
    /// [`RenderError`] where the source has not a channel for each coil or too many channels, or the voice has no
    /// kernel.
    pub fn take(&self, response: &VoiceResponse) -> Result<Take, RenderError> {
        self.check_channels(response)?;
        match self.channels {
            Channels::Stereo => self.take_of_one_channel(response),
            Channels::Coils => self.take_of_coils(response),
        }
    }

    fn check_channels(&self, response: &VoiceResponse) -> Result<(), RenderError> {
        let given = self.source_channels;
        let coils = response.places().len();
        match self.channels {
            Channels::Stereo if given > 2 => {
                Err(RenderError::Channels { given, wanted: "one or two are rendered alike" })
            }
            Channels::Coils if given != coils => Err(RenderError::Channels {
                given,
                wanted: "a source by coils has as many as there are coils in what is heard",
            }),
            Channels::Stereo | Channels::Coils => Ok(()),
        }
    }

    fn take_of_coils(&self, response: &VoiceResponse) -> Result<Take, RenderError> {
        let outputs = response.outputs();
        let kernel = |coil: usize| match self.model {
            Model::Circuit => Ok(Kernel::along(self.rate_hz, Fidelity::Exact, |bins| {
                let paths = response.along(bins)?;
                Ok::<_, SolveError>(paths.iter().map(|paths| paths.0[coil] * outputs[coil]).collect())
            })?),
            Model::SecondOrder => {
                let share = self.second_order(response)?.shares()[coil] * outputs[coil];
                self.constant(share)
            }
        };
        let kernels: Result<Vec<(usize, Kernel)>, RenderError> =
            (0..self.source_channels).map(|coil| kernel(coil).map(|k| (coil, k))).collect();
        Ok(Take {
            name: response.voice().name().to_owned(),
            outputs: vec![Output { paths: kernels? }],
            section: self.section(response)?,
            hum: self.hum_of(response)?,
            approximate: false,
            beyond_the_bound: None,
        })
    }

    fn take_of_one_channel(&self, response: &VoiceResponse) -> Result<Take, RenderError> {
        let rule = self.rule(response);
        let fidelity = if rule.is_approximate() { Fidelity::Approximate } else { Fidelity::Exact };
        let outputs = response.outputs();
        let target = |f: Hertz| response.at(f).map(|paths| rule.transfer(f, &paths, outputs));
        let mut beyond_the_bound = None;
        let kernel = match (self.model, self.recorded) {
            (Model::Circuit, None) => {
                Kernel::along(self.rate_hz, fidelity, |bins| rule.along(response, bins))?
            }
            (Model::Circuit, Some(recorded)) => {
                let ratio = recorded.ratio_to(target)?;
                beyond_the_bound = recorded.beyond_the_bound(ratio, target)?;
                Kernel::along(self.rate_hz, fidelity, |bins| {
                    let pairs = rule.along(response, bins)?.into_iter().zip(recorded.along(bins)?);
                    Ok::<_, SolveError>(pairs.map(|(own, taken)| ratio.bounded(own, taken)).collect())
                })?
            }
            (Model::SecondOrder, _) => {
                let shares = self.second_order(response)?.shares();
                Kernel::of(self.rate_hz, fidelity, |f| {
                    let heard = rule.shares(f).into_iter().zip(shares).zip(outputs);
                    Ok::<Complex64, SolveError>(
                        heard.map(|((part, share), output)| part * share * output).sum(),
                    )
                })?
            }
        };
        Ok(Take {
            name: response.voice().name().to_owned(),
            outputs: (0..self.source_channels).map(|c| Output { paths: vec![(c, kernel.clone())] }).collect(),
            section: self.section(response)?,
            hum: self.hum_of(response)?,
            approximate: rule.is_approximate(),
            beyond_the_bound,
        })
    }

    /// Returns how a one-channel source is given to the coils of a voice.
    pub fn rule(&self, response: &VoiceResponse) -> OneChannel {
        self.recorded.map_or_else(|| OneChannel::rule(response), |recorded| recorded.rule_of(response))
    }

    /// Returns the resonance alone of a voice.
    ///
    /// # Errors
    /// [`RenderError::Unnamed`] where the voice is no named arrangement.
    pub fn second_order(&self, response: &VoiceResponse) -> Result<SecondOrder, RenderError> {
        let voice = response.voice();
        let arrangement =
            voice.arrangement().ok_or_else(|| RenderError::Unnamed { name: voice.name().to_owned() })?;
        match self.scope {
            Scope::Pickup(pickup) => Ok(SecondOrder::of(self.guitar, pickup, arrangement)),
            Scope::Guitar => Err(RenderError::Unnamed { name: voice.name().to_owned() }),
        }
    }

    /// Returns the section that follows the kernels where the voices are rendered by their resonance alone.
    ///
    /// # Errors
    /// [`RenderError::Unnamed`] where the voice is no named arrangement.
    pub fn section(&self, response: &VoiceResponse) -> Result<Option<SectionFilter>, RenderError> {
        match self.model {
            Model::Circuit => Ok(None),
            Model::SecondOrder => {
                let alone = self.second_order(response)?;
                Ok(Some(SectionFilter::low_pass(self.rate_hz, alone.frequency(), alone.q(), alone.gain())))
            }
        }
    }

    fn hum_of(&self, response: &VoiceResponse) -> Result<Vec<f64>, RenderError> {
        /// A convention: what is left of hum below this is the lead's alone.
        const CANCELS: Db = Db::new(-60.0);
        let cancels = response.hum_level(&response.at(LOW)?).is_none_or(|level| level < CANCELS);
        let hum = self.hum.filter(|_| !cancels);
        Ok(hum.map(|hum| hum.at_jack(response, self.rate_hz)).transpose()?.unwrap_or_default())
    }

    fn constant(&self, gain: f64) -> Result<Kernel, RenderError> {
        Ok(Kernel::of(self.rate_hz, Fidelity::Exact, |_| Ok::<Complex64, SolveError>(Complex64::from(gain)))?)
    }
}
