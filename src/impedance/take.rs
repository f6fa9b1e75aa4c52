//! A recording of the signal, read into an impedance.

use std::f64::consts::TAU;
use std::ops::RangeInclusive;

use num_complex::Complex64;

use super::bands::{Point, Ratio, ratios};
use super::locate::{Located, Thinned};
use super::section::Record;
use super::signal::Signal;
use super::timing::between_marks;
use super::{Known, Refused, Verdict};
use crate::quantity::{Farads, Hertz, Ohms, Seconds, counted};
use crate::sound::{Sound, SoundError};

/// A longer recording is not looked through.
const LONGEST: Seconds = Seconds::new(600.0);
/// The most channels looked at.
const CHANNELS: usize = 8;
/// Frames read at once.
const AT_ONCE: usize = 8192;
/// So many frames a section's marks may be off those of the others; a lost one is one.
const SLIP: f64 = 0.3;
/// How far clocks may be apart.
const APART: f64 = 100.5e-6;
/// Nearer than this they are one, and what the marks are off is noise.
const ONE_CLOCK: f64 = 0.05e-6;
/// Overtones above this share come from what is cut off: 0.2 %, -54 dB.
const BENT: f64 = 0.002;
/// So often samples in a row stand at full scale where it is no accident.
const AT_FULL_SCALE: usize = 4;
/// A level below which there is no signal to speak of: -80 dB against full scale.
const SILENT: f64 = 1e-4;
/// A ratio so near to one is that of a device which is not there.
pub(super) const UNCHANGED: f64 = 0.005;
/// What a device changes is of no use where noise makes it as uncertain as this.
const NOISY: f64 = 0.01;

/// A recording that cannot be read at all.
#[derive(Debug, thiserror::Error)]
pub enum TakeError {
    /// The sound cannot be read.
    #[error(transparent)]
    Sound(#[from] SoundError),
    /// The rate is too low.
    #[error("`{take}` has {given} Hz; allowed are {} to {} Hz", Signal::RATES.start(), Signal::RATES.end())]
    Rate {
        /// The recording's name.
        take: String,
        /// Its rate.
        given: u32,
    },
    /// It is too long.
    #[error("`{take}` lasts {given}; allowed are {LONGEST}")]
    TooLong {
        /// The recording's name.
        take: String,
        /// How long it lasts.
        given: Seconds,
    },
}

impl TakeError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::Sound(error) => error.hint().to_owned(),
            Self::Rate { .. } => "record at the sound card's own rate, such as 48 kHz".to_owned(),
            Self::TooLong { .. } => "cut it to what was recorded while the signal was played".to_owned(),
        }
    }
}

/// What source and input are as the device sees them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Source {
    /// The series resistor beside the input's resistance.
    pub resistance: Ohms,
    /// The capacitance of cable and input.
    pub capacitance: Farads,
}

impl Source {
    /// The resistors that may stand in series.
    pub const SERIES: RangeInclusive<Ohms> = Ohms::new(1e3)..=Ohms::new(10e6);

    /// Returns what the input alone is, the resistor in `series` being known; or why that is not told.
    ///
    /// # Errors
    /// Why not, in words, where the resistor is smaller than both together, or too small beside the input.
    pub fn input(&self, series: Ohms) -> Result<Ohms, String> {
        /// What is read of both together may be off by so much, with the known resistor's tolerance.
        const CLOSE: f64 = 0.9;
        let both = self.resistance;
        if series.value() < CLOSE * both.value() {
            return Err(format!(
                "the resistor in series is not {series}: with the input beside it, it would come to less than the {both} that were \
                 found; read it with the meter"
            ));
        }
        let input = 1.0 / (1.0 / both.value() - 1.0 / series.value());
        if input.is_finite() && input > 0.0 {
            Ok(Ohms::new(input))
        } else {
            Err(format!("the input is too large to be told beside a resistor of {series}"))
        }
    }
}

/// A recording that was read.
#[derive(Debug, Clone)]
pub struct Take {
    points: Vec<Point>,
    source: Source,
    notes: Vec<String>,
    source_at: Vec<Complex64>,
    ratios: Vec<Ratio>,
    rate_hz: u32,
}

impl Take {
    /// Reads `sound`, in which the resistor `known` hung across the input during the second section.
    ///
    /// Which channel is that of the guitar is found by what it tells. `Err` of the inner result says why there is no impedance.
    ///
    /// # Errors
    /// [`TakeError`] where the sound cannot be read.
    pub fn read(sound: &Sound, known: Known) -> Result<Result<Self, Refused>, TakeError> {
        let take = || sound.file_name().to_owned();
        let rate_hz = sound.rate_hz();
        if !Signal::RATES.contains(&rate_hz) {
            return Err(TakeError::Rate { take: take(), given: rate_hz });
        }
        if sound.duration() > LONGEST {
            return Err(TakeError::TooLong { take: take(), given: sound.duration() });
        }
        let channels = sound.channels().min(CHANNELS);
        let mut thinned = Thinned::new(rate_hz, channels);
        let mut blocks = sound.blocks(AT_ONCE);
        while let Some(block) = blocks.next_block()? {
            thinned.take(&block[..channels]);
        }
        let located = thinned.locate();
        let mut records: Vec<Option<[Record; 3]>> = located
            .iter()
            .map(|located| match located {
                Located::All(places) => Some(sections(places[0], rate_hz)),
                Located::Some(_) | Located::Nothing(_) => None,
            })
            .collect();
        blocks.restart();
        let mut start = 0;
        while let Some(block) = blocks.next_block()? {
            for (records, plane) in records.iter_mut().zip(block) {
                for record in records.iter_mut().flatten() {
                    record.take(start, plane);
                }
            }
            start += block[0].len() as u64;
        }
        let read = located.iter().zip(&records).map(|(located, records)| match (located, records) {
            (Located::All(places), Some(records)) => Self::of_channel(*places, records, rate_hz, known),
            (located, _) => Err(not_located(*located)),
        });
        Ok(best(read.collect()))
    }

    /// Returns the impedance, point by point.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// Returns what source and input are as the device sees them.
    pub fn source(&self) -> Source {
        self.source
    }

    /// Returns what is to be told of the recording.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// Returns the length of a frame.
    pub fn frame(&self) -> Seconds {
        Seconds::new(1.0 / f64::from(self.rate_hz))
    }

    /// Returns the impedance as it would be had the third section come so many frames earlier.
    pub fn moved(&self, frames: f64) -> Vec<Point> {
        points(&self.ratios, &self.source_at, frames / f64::from(self.rate_hz))
    }

    fn of_channel(
        places: [f64; 3],
        records: &[Record; 3],
        rate_hz: u32,
        known: Known,
    ) -> Result<Self, Refused> {
        let rate = f64::from(rate_hz);
        let first = places[0].round() - Signal::SWEEP_AT * rate;
        let starts = Signal::starts();
        let begins = |section: usize, stretch: f64| first + (starts[section] - starts[0]) * rate * stretch;
        for record in records {
            if record.runs_at_full_scale() > AT_FULL_SCALE {
                return Err(Refused::new(Verdict::Clipped, "samples in a row stand at the end of the range"));
            }
        }
        let nominal = (Signal::MARKS[1] - Signal::MARKS[0]) * rate;
        let apart: [f64; 3] =
            std::array::from_fn(|i| between_marks(&records[i], begins(i, 1.0), rate_hz) - nominal);
        let mean = apart.iter().sum::<f64>() / 3.0;
        let spread = apart.iter().map(|one| (one - mean).abs()).fold(0.0, f64::max);
        let drift = Some(mean / nominal).filter(|drift| drift.abs() > ONE_CLOCK).unwrap_or(0.0);
        let stretch = if drift.abs() > APART { 1.0 } else { 1.0 + drift };
        for (i, record) in records.iter().enumerate() {
            let overtones = record.overtones(begins(i, stretch), stretch);
            if overtones > BENT {
                let words = format!(
                    "overtones are {:.1} % of the sweep, as where a recording's peaks are cut off",
                    overtones * 100.0
                );
                return Err(Refused::new(Verdict::Clipped, words));
            }
        }
        let spectra: [_; 3] = std::array::from_fn(|i| records[i].spectrum(begins(i, stretch), stretch));
        let of_known = ratios(&spectra[0], &spectra[1]);
        let of_device = ratios(&spectra[0], &spectra[2]);
        let noise = noise(&of_known).max(noise(&of_device));
        if noise.is_nan() || noise > NOISY {
            let words = format!("noise makes what the devices change uncertain by {:.0} %", noise * 100.0);
            return Err(Refused::new(Verdict::TooQuiet, words));
        }
        if spread > SLIP {
            let words = format!(
                "the marks of the three sections are {} frames off where they belong",
                apart.map(|one| format!("{one:.1}")).join(", ")
            );
            return Err(Refused::new(Verdict::Slipped, words));
        }
        if drift.abs() > APART {
            let words = format!(
                "playing and recording ran at rates that are {:.0} parts in a million apart; corrected are up to 100",
                drift.abs() * 1e6
            );
            return Err(Refused::new(Verdict::TwoClocks, words));
        }
        // What devices delay is less than that.
        let is_elsewhere = (1..3).any(|i| {
            let off = places[i] - (begins(i, stretch) + Signal::SWEEP_AT * rate * stretch);
            off.abs() > 0.003 * rate
        });
        if is_elsewhere {
            return Err(Refused::new(
                Verdict::Slipped,
                "the sections are not as far apart as they were played",
            ));
        }
        is_there(&of_known, &of_device)?;
        let bridge = Bridge::of(&of_known, known, rate_hz)?;
        if bridge.slipped != 0 {
            let words = format!(
                "{} lost or added before the second section",
                counted(bridge.slipped.unsigned_abs(), "frame")
            );
            return Err(Refused::new(Verdict::Slipped, words));
        }
        let source_at: Vec<Complex64> = of_known.iter().map(|ratio| seen(ratio.value, known)).collect();
        let of_device: Vec<Ratio> = of_device
            .iter()
            .zip(&of_known)
            .map(|(device, known)| Ratio { variance: together(device, known), ..*device })
            .collect();
        let points = points(&of_device, &source_at, 0.0);
        let mut notes = Vec::new();
        if drift != 0.0 {
            let left = spread / nominal * 1e6;
            notes.push(format!(
                "playing and recording ran {:.1} parts in a million apart, which is corrected; {left:.2} remain",
                drift * 1e6
            ));
        }
        Ok(Self { points, source: bridge.source, notes, source_at, ratios: of_device, rate_hz })
    }
}

/// Returns the places of the sections' frames where the first sweep begins at the frame `place`.
fn sections(place: f64, rate_hz: u32) -> [Record; 3] {
    let rate = f64::from(rate_hz);
    let starts = Signal::starts();
    let first = place.round() - Signal::SWEEP_AT * rate;
    std::array::from_fn(|i| Record::at(first + (starts[i] - starts[0]) * rate, rate_hz))
}

fn not_located(located: Located) -> Refused {
    match located {
        Located::Some(count) if count >= Signal::sections().len() => Refused::new(
            Verdict::Slipped,
            "the three sweeps are there, and not as far apart as they were played",
        ),
        Located::Some(count) => Refused::new(
            Verdict::NotThisSignal,
            format!("of the signal's three sweeps the recording has {count}"),
        ),
        Located::All(_) => Refused::new(Verdict::NotThisSignal, "the sweeps are there"),
        Located::Nothing(level) if level < SILENT => Refused::new(
            Verdict::TooQuiet,
            format!(
                "no sweep is heard in a level of {:.0} dB against full scale",
                20.0 * level.max(1e-10).log10()
            ),
        ),
        Located::Nothing(_) => {
            Refused::new(Verdict::NotThisSignal, "no sweep of the signal is in the recording")
        }
    }
}

/// Returns the channel that was read, else why the one that came nearest to it was not.
fn best(mut read: Vec<Result<Take, Refused>>) -> Result<Take, Refused> {
    let noise = |take: &Take| take.points.iter().map(|point| point.deviation).sum::<f64>();
    let place = (0..read.len()).min_by(|a, b| match (&read[*a], &read[*b]) {
        (Ok(one), Ok(other)) => noise(one).total_cmp(&noise(other)),
        (Ok(_), Err(_)) => std::cmp::Ordering::Less,
        (Err(_), Ok(_)) => std::cmp::Ordering::Greater,
        (Err(one), Err(other)) => far(one.verdict).cmp(&far(other.verdict)),
    });
    let count = read.len();
    let read = read.swap_remove(place.unwrap_or(0));
    match (read, place) {
        (Ok(mut take), Some(place)) if count > 1 => {
            take.notes.push(format!("channel {} of {count} is that of the guitar", place + 1));
            Ok(take)
        }
        (read, _) => read,
    }
}

/// Returns how far from values a channel with this verdict is.
fn far(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Measured => 0,
        Verdict::Clipped => 1,
        Verdict::Slipped => 2,
        Verdict::TwoClocks => 3,
        Verdict::WrongResistor => 4,
        Verdict::Open => 5,
        Verdict::TooQuiet => 7,
        Verdict::NotThisSignal => 6,
    }
}

/// Returns the standard deviation of what a device changes, as a share of the whole, in the middle of all bands.
fn noise(ratios: &[Ratio]) -> f64 {
    let mut all: Vec<f64> = ratios.iter().map(|ratio| ratio.variance.sqrt() / ratio.value.norm()).collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Refuses sections in which nothing changes.
fn is_there(of_known: &[Ratio], of_device: &[Ratio]) -> Result<(), Refused> {
    let changed = |ratios: &[Ratio]| {
        let mut off: Vec<f64> = ratios.iter().map(|ratio| (ratio.value - 1.0).norm()).collect();
        off.sort_by(f64::total_cmp);
        off.get(off.len() / 2).copied().unwrap_or(0.0)
    };
    let [known, device] = [of_known, of_device].map(changed);
    if known < UNCHANGED && device < UNCHANGED {
        return Err(Refused::new(
            Verdict::NotThisSignal,
            "the three sweeps are alike, so nothing hung across this input",
        ));
    }
    if known < UNCHANGED {
        return Err(Refused::new(
            Verdict::WrongResistor,
            "the second sweep is as the first one, so no resistor hung across the input",
        ));
    }
    if device < UNCHANGED {
        return Err(Refused::new(
            Verdict::Open,
            "the third sweep is as the first one, so nothing conducts where the guitar or the coil hung",
        ));
    }
    Ok(())
}

/// Returns what source and input are as the device sees them, where the known resistor makes this ratio.
pub(super) fn seen(ratio: Complex64, known: Known) -> Complex64 {
    known.resistance().value() * (1.0 - ratio) / ratio
}

/// Returns the variance of a device's ratio that stands for its own and for the known resistor's together: both move the
/// logarithm of the impedance.
fn together(device: &Ratio, known: &Ratio) -> f64 {
    let moves = |ratio: &Ratio| 1.0 / (ratio.value * (1.0 - ratio.value)).norm_sqr();
    device.variance + known.variance * moves(known) / moves(device)
}

/// Returns the impedances that `ratios` tell where source and input are `source_at` and the section came `late` seconds too late.
fn points(ratios: &[Ratio], source_at: &[Complex64], late: f64) -> Vec<Point> {
    let point = |(ratio, source): (&Ratio, &Complex64)| {
        let value = ratio.value * Complex64::cis(TAU * ratio.hz * late);
        let moves = 1.0 / (value * (1.0 - value)).norm();
        Point {
            frequency: Hertz::new(ratio.hz),
            impedance: source * value / (1.0 - value),
            // The variance is of both parts together.
            deviation: (0.5 * ratio.variance).sqrt() * moves,
        }
    };
    ratios.iter().zip(source_at).map(point).collect()
}

/// What the known resistor tells.
struct Bridge {
    source: Source,
    /// By how many frames the second section is off the first.
    slipped: i32,
}

impl Bridge {
    /// Returns the resistance and capacitance that the ratios of the known resistor tell, and by how many frames they have to be
    /// moved to do so: a resistance beside a capacitance has one phase for its magnitude.
    fn of(ratios: &[Ratio], known: Known, rate_hz: u32) -> Result<Self, Refused> {
        const FARTHEST: i32 = 128;
        let late = |frames: i32| f64::from(frames) / f64::from(rate_hz);
        let fits = (-FARTHEST..=FARTHEST).map(|frames| (frames, Self::fit(ratios, known, late(frames))));
        let best = fits.min_by(|(_, (one, _)), (_, (other, _))| one.total_cmp(other));
        match best {
            Some((slipped, (_, source))) if !ratios.is_empty() => Ok(Self { source, slipped }),
            Some(_) | None => Err(Refused::new(Verdict::TooQuiet, "no band of the second sweep can be told")),
        }
    }

    /// Returns the source that comes nearest to `ratios`, had the section come `late` seconds earlier, and how far it is off.
    fn fit(ratios: &[Ratio], known: Known, late: f64) -> (f64, Source) {
        let resistance = known.resistance().value();
        let moved = |ratio: &Ratio| ratio.value * Complex64::cis(TAU * ratio.hz * late);
        let (mut conductance, mut susceptance, mut squares) = (0.0, 0.0, 0.0);
        for ratio in ratios {
            let omega = TAU * ratio.hz;
            let admittance = 1.0 / seen(moved(ratio), known);
            conductance += admittance.re / ratios.len() as f64;
            susceptance += omega * admittance.im;
            squares += omega * omega;
        }
        let capacitance = susceptance / squares;
        let off = |ratio: &Ratio| {
            let admittance = resistance * Complex64::new(conductance, TAU * ratio.hz * capacitance);
            (moved(ratio) * (1.0 + admittance) / admittance).ln().norm_sqr()
        };
        let source =
            Source { resistance: Ohms::new(1.0 / conductance), capacitance: Farads::new(capacitance) };
        (ratios.iter().map(off).sum(), source)
    }
}
