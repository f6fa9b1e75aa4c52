//! What the way in which coils are connected does to their voltages on the way to the amplifier.

mod figures;
mod hum;
mod joining;
mod named;
mod noise;
mod one_channel;
mod positions;
mod recorded;
mod scope;
mod second_order;
mod selection;
mod voice;

pub use figures::{Figures, Peak, Resonance};
pub use hum::{HumBand, TURNS_OFF};
pub use joining::Joining;
pub use named::{
    ALL, POSITIONS, SelectionError, THROWS, USUAL, baseline_among, names_position, voice_named, voices_named,
};
pub use noise::ThermalNoise;
pub use one_channel::{OneChannel, Split, StandsFor, wave_speeds};
pub use positions::{
    PositionError, arranged, every_linked_throw, selected, switch_named, switched, throw_numbered, thrown,
};
pub use recorded::{Ratio, Recorded, RecordedError};
pub use scope::Scope;
pub use second_order::SecondOrder;
pub use selection::Selection;
pub use voice::{LOW, Paths, Setting, Voice, VoiceError, VoiceResponse};

#[cfg(test)]
mod tests;
