//! What a sound measures: its levels, its loudness, its brightness and its long-term spectrum.
//!
//! A meter takes the sound in blocks of any length, one slice of samples a channel, and gives its figures at the
//! end; the memory does not grow with the sound but for the energies that loudness needs, 36,000 numbers an
//! hour, and no figure depends on how the sound was cut. [`LevelMeter`] has what matching levels needs,
//! [`CentroidMeter`] and [`ThirdOctaveMeter`] are apart because they cost as much again.
//!
//! A sample that is not finite is refused by its place, and never measured as something else.

mod added_sound;
mod centroid;
mod cross_spectrum;
mod energy;
mod forecast;
mod guard;
mod k_weighting;
mod levels;
mod listening;
mod loudest;
mod loudness;
mod loudspeaker;
mod meter;
mod pickup_fall;
mod sones;
mod third_octaves;
mod transform;
mod true_peak;
mod windows;

pub use added_sound::{AddedSound, AddedSoundMeter};
pub use centroid::{CENTROID_DEFINITION, CentroidMeter};
pub use cross_spectrum::{CrossSpectrum, MixLevels};
pub use forecast::{Forecast, Foretold};
pub use guard::{CHANNELS, LARGEST_SAMPLE, RATES, Unmeasurable};
pub use levels::{LevelMeter, Levels};
pub use listening::{FLOOR, Listening};
pub use loudest::LoudestMeter;
pub use loudness::Loudness;
pub use loudspeaker::Loudspeaker;
pub use meter::{Measures, Meter};
pub use pickup_fall::looks_as_through_a_pickup;
pub use sones::{SONE_BANDS, heard_change, heard_change_over_levels, sones, sones_of};
pub use third_octaves::{ThirdOctave, ThirdOctaveMeter};
pub(crate) use transform::{HannTransform, padded_spectrum};
pub(crate) use true_peak::bessel_i0;
