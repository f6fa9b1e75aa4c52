//! Which part of a source the page carries.

use std::ops::Range;

use crate::filter::base_length;
use crate::quantity::Seconds;
use crate::sound::{Sound, SoundError};

/// The longest part that a page carries where nobody asks for another: at 24 bits, one channel and 48 kHz, 20 s are
/// 3.8 MB of page.
pub const USUAL_EXCERPT: Seconds = Seconds::new(20.0);

/// The part of a source that a page plays, with as much before and after it as a voice rings over.
#[derive(Debug, Clone, PartialEq)]
pub struct Excerpt {
    rate_hz: u32,
    frames: u64,
    played: Range<u64>,
    carried: Range<u64>,
    planes: Vec<Vec<f64>>,
}

/// How the energies of a source are summed up to find its loudest part: ten a second.
const ENERGIES_PER_SECOND: u32 = 10;
/// How long an amplifier's couplings, at 7.23 Hz, know of what they heard: to less than a step of 24 bits.
const AMPLIFIER_KNOWS: Seconds = Seconds::new(0.5);

impl Excerpt {
    /// Returns the loudest part of `sound` (the one of most energy, the earliest of several) that lasts `longest`, or
    /// the whole where it lasts no longer.
    ///
    /// # Errors
    /// [`SoundError`] where the sound cannot be read.
    pub fn loudest(sound: &Sound, longest: Seconds) -> Result<Self, SoundError> {
        let length = frames_of(longest, sound);
        let start = if length >= sound.frames() { 0 } else { loudest_start(sound, length)? };
        Self::cut(sound, start, length)
    }

    /// Returns the part of `sound` that begins at `start` and lasts `length`, moved and shortened so that it lies
    /// within the sound.
    ///
    /// # Errors
    /// [`SoundError`] where the sound cannot be read.
    pub fn at(sound: &Sound, start: Seconds, length: Seconds) -> Result<Self, SoundError> {
        Self::cut(sound, frames_of(start, sound), frames_of(length, sound))
    }

    fn cut(sound: &Sound, start: u64, length: u64) -> Result<Self, SoundError> {
        let frames = sound.frames();
        let length = length.clamp(1, frames);
        let start = start.min(frames - length);
        let played = start..start + length;
        // A kernel's length before the part is what still rings in it, and before that what an amplifier still knows of; what
        // follows it matters less far.
        let rings = base_length(sound.rate_hz()) as u64;
        let begins = rings + frames_of(AMPLIFIER_KNOWS, sound);
        let carried = played.start.saturating_sub(begins)..(played.end + rings).min(frames);
        let planes = sound.planes_within(&carried)?;
        Ok(Self { rate_hz: sound.rate_hz(), frames, played, carried, planes })
    }

    /// Returns the sample rate in hertz.
    pub fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    /// Returns the samples that are carried, one plane a channel; what is played begins [`Excerpt::lead`] frames
    /// later.
    pub fn planes(&self) -> &[Vec<f64>] {
        &self.planes
    }

    /// Returns how many of the carried frames lie before the part that is played.
    pub fn lead(&self) -> u64 {
        self.played.start - self.carried.start
    }

    /// Returns the frames of the source that are played.
    pub fn played(&self) -> Range<u64> {
        self.played.clone()
    }

    /// Returns whether the whole source is played.
    pub fn is_whole(&self) -> bool {
        self.played == (0..self.frames)
    }

    /// Returns when in the source the part begins, and how long the part and the source last.
    pub fn times(&self) -> [Seconds; 3] {
        [self.played.start, self.played.end - self.played.start, self.frames]
            .map(|frames| Seconds::new(frames as f64 / f64::from(self.rate_hz)))
    }
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a negative time is zero and one too long the longest, which `cut` brings into the sound"
)]
fn frames_of(time: Seconds, sound: &Sound) -> u64 {
    (time.value().max(0.0) * f64::from(sound.rate_hz())).round() as u64
}

/// Returns the frame at which the part of `length` frames with most energy begins, a tenth of a second fine.
fn loudest_start(sound: &Sound, length: u64) -> Result<u64, SoundError> {
    let step = (sound.rate_hz() / ENERGIES_PER_SECOND).max(1) as usize;
    let mut blocks = sound.blocks(step);
    let mut sums = vec![0.0];
    let mut sum = 0.0;
    while let Some(planes) = blocks.next_block()? {
        sum += planes.iter().flatten().map(|x| x * x).sum::<f64>();
        sums.push(sum);
    }
    let window = usize::try_from(length / step as u64).unwrap_or(usize::MAX).max(1);
    let starts = 0..sums.len().saturating_sub(window);
    let energy = |start: &usize| sums[start + window] - sums[*start];
    let loudest = starts.rev().max_by(|a, b| energy(a).total_cmp(&energy(b))).unwrap_or(0);
    Ok(loudest as u64 * step as u64)
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: u32 = 8000;

    /// Ten seconds of noise at a tenth of full scale, twice as loud between 6 and 8 s.
    fn sound() -> Sound {
        let sample = |n: u32| {
            let noise = f64::from(n.wrapping_mul(2654435761) >> 8) / f64::from(1u32 << 23) - 1.0;
            noise * if (6 * RATE..8 * RATE).contains(&n) { 0.2 } else { 0.1 }
        };
        Sound::from_planes("noise", RATE, vec![(0..10 * RATE).map(sample).collect()]).unwrap()
    }

    #[test]
    fn the_loudest_part_is_the_one_of_most_energy_with_what_rings_into_it() {
        let excerpt = Excerpt::loudest(&sound(), Seconds::new(2.0)).unwrap();
        assert_eq!(excerpt.played(), 48_000..64_000);
        assert_eq!((excerpt.lead(), excerpt.planes()[0].len()), (12_192, 12_192 + 16_000 + 8192));
        let whole = Excerpt::loudest(&sound(), Seconds::new(10.0)).unwrap();
        assert_eq!(excerpt.planes()[0], whole.planes()[0][48_000 - 12_192..64_000 + 8192]);
        assert!(!excerpt.is_whole());
        assert_eq!(excerpt.times(), [6.0, 2.0, 10.0].map(Seconds::new));
    }

    #[test]
    fn a_source_no_longer_than_asked_for_is_carried_whole() {
        for longest in [10.0, 20.0, f64::MAX] {
            let excerpt = Excerpt::loudest(&sound(), Seconds::new(longest)).unwrap();
            assert!(excerpt.is_whole());
            assert_eq!((excerpt.lead(), excerpt.planes()[0].len()), (0, 80_000));
        }
    }

    #[test]
    fn a_part_asked_for_is_moved_into_the_source() {
        let at = |start, length| {
            Excerpt::at(&sound(), Seconds::new(start), Seconds::new(length)).unwrap().played()
        };
        assert_eq!(at(1.0, 2.0), 8000..24_000);
        assert_eq!(at(9.5, 2.0), 64_000..80_000);
        assert_eq!(at(-3.0, 0.0), 0..1);
        assert_eq!(at(1e9, 1e9), 0..80_000);
    }

    #[test]
    fn of_equally_loud_parts_the_earliest_is_taken() {
        let silence = Sound::from_planes("silence", RATE, vec![vec![0.0; 80_000]]).unwrap();
        assert_eq!(Excerpt::loudest(&silence, Seconds::new(2.0)).unwrap().played(), 0..16_000);
    }
}
