//! The sound card.

use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use cpal::traits::{DeviceTrait, HostTrait, StreamTrait};
use cpal::{
    BufferSize, Device, Error, ErrorKind, FromSample, SampleFormat, SizedSample, Stream, StreamConfig,
    SupportedStreamConfigRange,
};
use drywire::play::Player;

/// The frames asked for at once: 21 ms at 48 kHz. Left to itself, one system asked for single frames and another for
/// two seconds of them.
const BLOCK_FRAMES: u32 = 1024;
/// The samples mixed at once, whatever the sound card asks for.
const MIXED: usize = 8192;
/// A player that has ended lets the card wait: some, with no clock of their own, ask as fast as they can.
const ENDED: Duration = Duration::from_millis(5);

/// Why nothing sounds.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Mute {
    /// There is no such device.
    #[error("there is no output device `{given}`{}", known_devices(known))]
    Unknown { given: String, known: Vec<String> },
    /// Several are called so.
    #[error("`{given}` is several output devices: {}", known.join(", "))]
    Several { given: String, known: Vec<String> },
    /// There is none at all, or it cannot be opened.
    #[error("no output device could be opened: {0}")]
    Closed(String),
}

fn known_devices(known: &[String]) -> String {
    if known.is_empty() { String::new() } else { format!("; there are {}", known.join(", ")) }
}

/// A sound card, and how it is to be asked.
pub(crate) struct Card {
    device: Device,
    name: String,
    config: StreamConfig,
    format: SampleFormat,
    chatter: Chatter,
}

/// A sound card that plays.
pub(crate) struct Sounding {
    stream: Stream,
    troubles: Arc<Troubles>,
    _chatter: Chatter,
}

/// What went wrong on the way.
#[derive(Default)]
struct Troubles {
    underruns: AtomicU64,
    lost: Mutex<Option<String>>,
}

impl Troubles {
    fn note(&self, error: &Error) {
        match error.kind() {
            ErrorKind::Xrun => {
                self.underruns.fetch_add(1, Ordering::Relaxed);
            }
            // It still plays.
            ErrorKind::RealtimeDenied | ErrorKind::DeviceChanged => {}
            _ => {
                *self.lost.lock().unwrap_or_else(PoisonError::into_inner) = Some(error.to_string());
            }
        }
    }
}

/// Returns the output devices, each with its name for `--device` and what the system says of it.
pub(crate) fn device_list() -> Result<Vec<(String, String)>, Mute> {
    let _chatter = Chatter::caught();
    Ok(devices()?.iter().map(|device| (id_of(device), told_of(device))).collect())
}

/// Returns the usual device, where it can be opened, and all others.
fn devices() -> Result<Vec<Device>, Mute> {
    let host = cpal::default_host();
    // One is named even where there is none; only opening it tells.
    let opens =
        |device: &Device| device.supported_output_configs().is_ok_and(|mut offers| offers.next().is_some());
    let mut devices: Vec<Device> = host.default_output_device().filter(opens).into_iter().collect();
    for device in host.output_devices().map_err(|e| Mute::Closed(e.to_string()))? {
        if devices.iter().all(|known| id_of(known) != id_of(&device)) {
            devices.push(device);
        }
    }
    Ok(devices)
}

fn id_of(device: &Device) -> String {
    device.id().map_or_else(|_| told_of(device), |id| id.id().to_owned())
}

fn told_of(device: &Device) -> String {
    device.description().map_or_else(|_| "unnamed".to_owned(), |d| d.name().to_owned())
}

/// Returns the one device called `given`, by its whole name or by a part that no other has.
fn named(given: &str) -> Result<Device, Mute> {
    let devices = devices()?;
    let names: Vec<[String; 2]> = devices.iter().map(|d| [id_of(d), told_of(d)]).collect();
    let part = given.to_lowercase();
    let whole = |names: &[String; 2]| names.iter().any(|name| name == given);
    let holds = |names: &[String; 2]| names.iter().any(|name| name.to_lowercase().contains(&part));
    let places = |fits: &dyn Fn(&[String; 2]) -> bool| -> Vec<usize> {
        names.iter().enumerate().filter(|(_, names)| fits(names)).map(|(i, _)| i).collect()
    };
    let found = Some(places(&whole)).filter(|p| !p.is_empty()).unwrap_or_else(|| places(&holds));
    let called = |places: &[usize]| places.iter().map(|i| names[*i][0].clone()).collect();
    match *found {
        [one] => Ok(devices.into_iter().nth(one).expect("it was counted")),
        [] => {
            let all: Vec<usize> = (0..names.len()).collect();
            Err(Mute::Unknown { given: given.to_owned(), known: called(&all) })
        }
        _ => Err(Mute::Several { given: given.to_owned(), known: called(&found) }),
    }
}

impl Card {
    /// Finds the device called `name`, or the usual one, and how it comes nearest to `rate_hz` and `channels`.
    pub(crate) fn find(name: Option<&str>, rate_hz: u32, channels: usize) -> Result<Self, Mute> {
        let chatter = Chatter::caught();
        let device = match name {
            Some(name) => named(name)?,
            None => cpal::default_host()
                .default_output_device()
                .ok_or_else(|| Mute::Closed("there is none".to_owned()))?,
        };
        let offers = device.supported_output_configs().map_err(|e| chatter.explain(&e))?;
        let (config, format) = nearest(offers, rate_hz, channels)
            .ok_or_else(|| Mute::Closed("it takes no samples of a kind that is known".to_owned()))?;
        Ok(Self { name: id_of(&device), config, format, device, chatter })
    }

    pub(crate) fn name(&self) -> &str {
        &self.name
    }

    pub(crate) fn rate_hz(&self) -> u32 {
        self.config.sample_rate
    }

    /// Lets the card ask `player` for what is heard.
    pub(crate) fn sound(self, player: Player) -> Result<Sounding, Mute> {
        let troubles = Arc::new(Troubles::default());
        let stream = match self.format {
            SampleFormat::I16 => self.stream::<i16>(player, &troubles),
            SampleFormat::I32 => self.stream::<i32>(player, &troubles),
            SampleFormat::U8 => self.stream::<u8>(player, &troubles),
            _ => self.stream::<f32>(player, &troubles),
        };
        let stream = stream.map_err(|e| self.chatter.explain(&e))?;
        stream.play().map_err(|e| self.chatter.explain(&e))?;
        Ok(Sounding { stream, troubles, _chatter: self.chatter })
    }

    fn stream<T: SizedSample + FromSample<f32>>(
        &self,
        mut player: Player,
        troubles: &Arc<Troubles>,
    ) -> Result<Stream, Error> {
        let channels = usize::from(self.config.channels);
        let mut mixed = vec![0.0; MIXED / channels * channels];
        let fill = move |out: &mut [T], _: &cpal::OutputCallbackInfo| {
            for chunk in out.chunks_mut(mixed.len()) {
                let mixed = &mut mixed[..chunk.len()];
                player.fill(mixed, channels);
                for (sample, mixed) in chunk.iter_mut().zip(mixed.iter()) {
                    *sample = T::from_sample(*mixed);
                }
            }
            if player.has_ended() {
                std::thread::sleep(ENDED);
            }
        };
        let troubles = Arc::clone(troubles);
        self.device.build_output_stream(self.config, fill, move |error| troubles.note(&error), None)
    }
}

/// Returns whether samples of this kind can be made.
fn is_known(format: SampleFormat) -> bool {
    matches!(format, SampleFormat::F32 | SampleFormat::I32 | SampleFormat::I16 | SampleFormat::U8)
}

/// Returns what of `offers` comes nearest to `rate_hz` and `channels`.
fn nearest(
    offers: impl Iterator<Item = SupportedStreamConfigRange>,
    rate_hz: u32,
    channels: usize,
) -> Option<(StreamConfig, SampleFormat)> {
    let offer = offers
        .filter(|offer| is_known(offer.sample_format()))
        .min_by_key(|offer| distance(offer, rate_hz, channels))?;
    let config = StreamConfig {
        channels: offer.channels(),
        sample_rate: rate_hz.clamp(offer.min_sample_rate(), offer.max_sample_rate()),
        buffer_size: BufferSize::Fixed(BLOCK_FRAMES),
    };
    Some((config, offer.sample_format()))
}

/// Returns how far an offer is from what is wanted, the rate first, then how samples are stored, then channels.
fn distance(offer: &SupportedStreamConfigRange, rate_hz: u32, channels: usize) -> (u32, u32, usize) {
    let nearest = rate_hz.clamp(offer.min_sample_rate(), offer.max_sample_rate());
    let format = match offer.sample_format() {
        SampleFormat::F32 => 0,
        SampleFormat::I32 => 1,
        SampleFormat::I16 => 2,
        _ => 3,
    };
    let offered = usize::from(offer.channels());
    // Too few channels are mixed, too many stay silent.
    let unlike = if offered < channels { 1000 * (channels - offered) } else { offered - channels };
    (nearest.abs_diff(rate_hz), format, unlike)
}

impl Sounding {
    /// Returns why the card went away, if it did.
    pub(crate) fn lost(&self) -> Option<String> {
        self.troubles.lost.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Ends playing and returns how often the card ran dry.
    pub(crate) fn end(self) -> u64 {
        drop(self.stream);
        self.troubles.underruns.load(Ordering::Relaxed)
    }
}

/// What the sound system says on its own, kept off the terminal.
struct Chatter {
    #[cfg(target_os = "linux")]
    output: Option<std::rc::Rc<std::cell::RefCell<alsa::Output>>>,
}

impl Chatter {
    #[cfg(target_os = "linux")]
    fn caught() -> Self {
        Self { output: alsa::Output::local_error_handler().ok() }
    }

    #[cfg(not(target_os = "linux"))]
    fn caught() -> Self {
        Self {}
    }

    /// Returns `error` with the last thing that the system said of it.
    fn explain(&self, error: &Error) -> Mute {
        Mute::Closed(match self.last_line() {
            Some(line) => format!("{error} ({line})"),
            None => error.to_string(),
        })
    }

    #[cfg(target_os = "linux")]
    fn last_line(&self) -> Option<String> {
        let said = self.output.as_ref()?.borrow().to_string();
        said.lines().rev().map(str::trim).find(|line| !line.is_empty()).map(str::to_owned)
    }

    #[cfg(not(target_os = "linux"))]
    fn last_line(&self) -> Option<String> {
        None
    }
}

#[cfg(test)]
mod tests {
    use cpal::SupportedBufferSize;

    use super::*;

    fn offer(channels: u16, rates: [u32; 2], format: SampleFormat) -> SupportedStreamConfigRange {
        let [least, most] = rates;
        SupportedStreamConfigRange::new(channels, least, most, SupportedBufferSize::Unknown, format)
    }

    #[test]
    fn the_sets_own_rate_comes_before_all_else_and_then_floats_and_its_channels() {
        let any = [8000, 192_000];
        let offers = [
            offer(2, [44_100, 44_100], SampleFormat::F32),
            offer(1, any, SampleFormat::I16),
            offer(2, any, SampleFormat::F32),
            offer(1, any, SampleFormat::F32),
            offer(1, any, SampleFormat::F64),
        ];
        let (config, format) = nearest(offers.into_iter(), 48_000, 1).unwrap();
        assert_eq!((config.channels, config.sample_rate, format), (1, 48_000, SampleFormat::F32));
        let (config, _) = nearest(offers.into_iter(), 48_000, 2).unwrap();
        assert_eq!(config.channels, 2);
        let (config, _) = nearest(offers[..1].iter().copied(), 96_000, 1).unwrap();
        assert_eq!((config.channels, config.sample_rate), (2, 44_100));
        assert!(nearest(offers[4..].iter().copied(), 48_000, 1).is_none());
    }

    #[test]
    fn a_card_that_runs_dry_is_counted_and_one_that_goes_away_is_told() {
        let troubles = Troubles::default();
        for kind in [ErrorKind::Xrun, ErrorKind::RealtimeDenied, ErrorKind::Xrun, ErrorKind::DeviceChanged] {
            troubles.note(&Error::new(kind));
        }
        assert_eq!(troubles.underruns.load(Ordering::Relaxed), 2);
        assert!(troubles.lost.lock().unwrap().is_none());
        troubles.note(&Error::new(ErrorKind::DeviceNotAvailable));
        assert!(troubles.lost.lock().unwrap().as_ref().is_some_and(|why| why.contains("not available")));
    }
}
