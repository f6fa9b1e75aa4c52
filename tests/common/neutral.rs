//! A neutral source by the coils.

use drywire::measure::CrossSpectrum;
use drywire::pluck::built_in_sources;
use drywire::sound::Sound;

/// The built-in chord by the coils of the first built-in guitar's first pickup.
pub fn neutral() -> CrossSpectrum {
    let sound = built_in_sources()[0];
    let sound = Sound::from_bytes(sound.name, sound.bytes).unwrap();
    CrossSpectrum::of(sound.rate_hz(), &sound.planes().unwrap())
}
