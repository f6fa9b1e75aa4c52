//! What is held of a take that nothing is said of: that it is neutral, as the strings are before any pickup.

use super::{JobError, Source};
use crate::measure::{ThirdOctave, ThirdOctaveMeter, looks_as_through_a_pickup};
use crate::quantity::{Db, Hertz, Seconds};
use crate::render::Channels;
use crate::set::Spectrum;
use crate::sound::SoundError;

/// What is listed as assumed.
pub const ASSUMED: &str = "the take is neutral: as the strings are, before any pickup";

/// What is told of a take that looks as if it were not.
pub const THROUGH_A_PICKUP: &str = "the take looks as if it went through a pickup and its cable, since its treble falls as steeply as \
                                theirs: heard as neutral it goes through twice; say which arrangement it was recorded through";

/// What is told of channels that are not those of coils.
const NOT_OF_COILS: &str = "the channels are nearly the same at all frequencies, as those of a stereo take are; what two coils hear \
                            differs, since they lie at different places under the strings";

/// How much of a source is looked at.
const LOOKED_AT: Seconds = Seconds::new(10.0);
const BLOCK: usize = 8192;
/// Where the channels of coils differ.
const COMPARED: [f64; 2] = [120.0, 5200.0];
/// Bands so far below the highest are not compared.
const COUNTED: Db = Db::new(40.0);
/// Channels that differ by less in every band are one sound: coils 10 mm apart differ by several times as much. A convention.
const NEARLY_THE_SAME: Db = Db::new(1.0);

/// Returns what speaks against what a take is held to be, where it is told whether it `went_through` a pickup.
///
/// # Errors
/// [`SoundError`] where the source cannot be read.
pub(super) fn doubt(source: &Source, went_through: bool) -> Result<Option<String>, JobError> {
    Ok(match source.channels {
        _ if source.is_made => None,
        Channels::Stereo if went_through => None,
        Channels::Stereo => through_a_pickup(source)?,
        Channels::Coils => not_of_coils(source)?,
    })
}

/// Returns what is to be told of a take that looks as if it had gone through a pickup already.
///
/// # Errors
/// [`SoundError`] where the source cannot be read.
fn through_a_pickup(source: &Source) -> Result<Option<String>, SoundError> {
    let spectra = spectra(source)?;
    let Some((first, others)) = spectra.split_first() else { return Ok(None) };
    let together: Vec<(Hertz, Db)> = first
        .iter()
        .enumerate()
        .map(|(band, own)| {
            let all = std::iter::once(own).chain(others.iter().map(|other| &other[band]));
            let power: f64 = all.map(|band| 10f64.powf(band.level().value() / 10.0)).sum();
            (own.centre(), Db::of_power(power))
        })
        .collect();
    Ok(looks_as_through_a_pickup(&together).then(|| THROUGH_A_PICKUP.to_owned()))
}

/// Returns what is to be told of a source by coils whose channels are those of a plain stereo take.
///
/// # Errors
/// [`SoundError`] where the source cannot be read.
fn not_of_coils(source: &Source) -> Result<Option<String>, SoundError> {
    let spectra = spectra(source)?;
    let [one, other] = spectra.as_slice() else { return Ok(None) };
    let highest = one.iter().map(|band| band.level().value()).fold(f64::NEG_INFINITY, f64::max);
    let mut compared = one.iter().zip(other).filter(|(band, _)| {
        (COMPARED[0]..=COMPARED[1]).contains(&band.centre().value())
            && band.level().value() > highest - COUNTED.value()
    });
    let same = |(one, other): (&ThirdOctave, &ThirdOctave)| {
        (one.level().value() - other.level().value()).abs() < NEARLY_THE_SAME.value()
    };
    Ok((highest.is_finite() && compared.all(same)).then(|| NOT_OF_COILS.to_owned()))
}

/// Returns the spectra of the channels of a source at its beginning; none where it cannot be measured.
fn spectra(source: &Source) -> Result<Vec<Spectrum>, SoundError> {
    let rate_hz = source.sound.rate_hz();
    let Ok(meter) = ThirdOctaveMeter::new(rate_hz, 1) else { return Ok(Vec::new()) };
    let mut meters = vec![meter; source.sound.channels()];
    let mut blocks = source.sound.blocks(BLOCK);
    while blocks.position() as f64 <= LOOKED_AT.value() * f64::from(rate_hz) {
        let Some(planes) = blocks.next_block()? else { break };
        for (meter, plane) in meters.iter_mut().zip(planes) {
            if meter.push(&[plane]).is_err() {
                return Ok(Vec::new());
            }
        }
    }
    Ok(meters.into_iter().map(ThirdOctaveMeter::finish).collect())
}
