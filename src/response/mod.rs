//! What a pickup's arrangement does to its coils' voltages on the way to the amplifier.

mod figures;
mod one_channel;
mod recorded;
mod second_order;
mod voice;

pub use figures::{Figures, Resonance};
pub use one_channel::OneChannel;
pub use recorded::{Ratio, Recorded, RecordedError};
pub use second_order::SecondOrder;
pub use voice::{LOW, Paths, Voice, VoiceError, VoiceResponse};

#[cfg(test)]
mod tests;
