//! A recording of the signal while it still comes in: its level, the marks that were found in it, and what the sweeps have passed.
//!
//! It is for looking at. Values come from a [`Take`](super::Take) alone, once all of it was recorded.

use std::f64::consts::PI;
use std::mem::take;

use num_complex::Complex64;

use super::Known;
use super::bands::{BANDS, centre};
use super::locate::{LEAST, OFF, likeness};
use super::signal::{Device, Signal, SignalError, frames};
use super::take::{UNCHANGED, seen};
use crate::quantity::{Db, Dbfs, Hertz, Ohms, Seconds};

/// What comes in is gone through in steps of this length in seconds.
const STEP: f64 = 0.1;
/// So much of what came in last is kept, in seconds: the marks are looked for in it.
const KEPT: f64 = 0.5;

/// A recording of the [`Signal`] as far as it has come in.
///
/// Each band of a section is known as soon as its sweep has passed it: what came in meanwhile, turned back by the sweep's own phase,
/// under a window that is as long as the band.
#[derive(Debug, Clone)]
pub struct Preview {
    rate_hz: u32,
    /// What came in last, a plane of samples a channel, and the number of the frame with which it begins.
    recent: Vec<Vec<f64>>,
    first: usize,
    /// How many frames were gone through.
    done: usize,
    levels: Vec<Dbfs>,
    place: Option<Place>,
    marks: Vec<Mark>,
    /// What each section's sweep came in as in the bands that it has passed, against what is played.
    passed: [Vec<Complex64>; 3],
    passing: Passing,
}

/// Where the signal is.
#[derive(Debug, Clone, Copy)]
struct Place {
    channel: usize,
    /// The frame at which the first section begins.
    begins: f64,
}

/// A band that is being passed.
#[derive(Debug, Clone, Copy, Default)]
struct Passing {
    sum: Complex64,
    weights: f64,
}

/// A mark of a section: it has two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// What is connected in its section.
    pub device: Device,
    /// When it begins, from the recording's beginning; where it was not found, when it should have.
    pub at: Seconds,
    /// Whether it was found.
    pub is_found: bool,
}

impl Preview {
    /// For how long each of the levels is.
    pub const STEP: Seconds = Seconds::new(STEP);

    /// Returns a recording at `rate_hz` with so many channels of which nothing has come in yet.
    ///
    /// # Errors
    /// [`SignalError::Rate`] where the signal has no such rate.
    pub fn new(rate_hz: u32, channels: usize) -> Result<Self, SignalError> {
        Signal::new(rate_hz)?;
        Ok(Self {
            rate_hz,
            recent: vec![Vec::new(); channels],
            first: 0,
            done: 0,
            levels: Vec::new(),
            place: None,
            marks: Vec::new(),
            passed: Default::default(),
            passing: Passing::default(),
        })
    }

    /// Takes what came in next, a plane of samples a channel; channels beyond those that were told are left out.
    pub fn take(&mut self, block: &[Vec<f64>]) {
        for (own, plane) in self.recent.iter_mut().zip(block) {
            own.extend(plane);
        }
        let step = self.frames(STEP);
        let come = self.first + self.recent.iter().map(Vec::len).min().unwrap_or(0);
        while self.done + step <= come {
            self.go_on(step);
        }
        let old = self.done.saturating_sub(self.frames(KEPT)).saturating_sub(self.first);
        for own in &mut self.recent {
            own.drain(..old);
        }
        self.first += old;
    }

    /// Returns how long what has come in is.
    pub fn lasts(&self) -> Seconds {
        Seconds::new(self.done as f64 / self.rate())
    }

    /// Returns the highest sample of each [`Preview::STEP`], of all channels.
    pub fn levels(&self) -> &[Dbfs] {
        &self.levels
    }

    /// Returns the marks that were found or missed, in the order of the signal.
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Returns the level of the sweep that passed `device`, against what is played, in the bands that it has passed.
    pub fn received(&self, device: Device) -> Vec<(Hertz, Db)> {
        let levels = self.passed[device as usize].iter().map(|value| Db::of_amplitude(value.norm()));
        frequencies().zip(levels).collect()
    }

    /// Returns the magnitude of the impedance in the bands that the third sweep has passed, `known` being the resistor across the
    /// input during the second one. Bands in which a device changes too little to tell are left out.
    pub fn impedance(&self, known: Known) -> Vec<(Hertz, Ohms)> {
        let [open, resistor, guitar] = &self.passed;
        let told = |((open, resistor), guitar): ((&Complex64, &Complex64), &Complex64)| {
            let [resistor, guitar] = [resistor / open, guitar / open];
            let is_told = [resistor, guitar].iter().all(|ratio| (1.0 - ratio).norm() > UNCHANGED);
            is_told.then(|| Ohms::new((seen(resistor, known) * guitar / (1.0 - guitar)).norm()))
        };
        let all = open.iter().zip(resistor).zip(guitar).map(told);
        frequencies().zip(all).filter_map(|(hz, ohms)| Some((hz, ohms?))).collect()
    }

    fn rate(&self) -> f64 {
        f64::from(self.rate_hz)
    }

    fn frames(&self, seconds: f64) -> usize {
        frames(seconds * self.rate())
    }

    /// Goes through the next so many frames.
    fn go_on(&mut self, step: usize) {
        let from = self.done;
        self.done += step;
        let come = |plane: &Vec<f64>| {
            let part = &plane[from - self.first..self.done - self.first];
            part.iter().fold(0.0_f64, |most, sample| most.max(sample.abs()))
        };
        let highest = self.recent.iter().map(come).fold(0.0, f64::max);
        self.levels.push(Dbfs::new(20.0 * highest.log10()));
        match self.place {
            None => self.look_for_first(step),
            Some(place) => {
                self.follow(place, from);
                self.look_for_next(place);
            }
        }
    }

    /// Looks for the first mark in what came in last.
    fn look_for_first(&mut self, step: usize) {
        let [length, guard] = [Signal::MARK, OFF].map(|seconds| self.frames(seconds));
        let Some(from) = self.done.checked_sub(length + step + guard) else { return };
        let from = from.max(self.first);
        let found = (0..self.recent.len()).filter_map(|channel| {
            let (alike, at) = self.mark_in(channel, from, self.done)?;
            let part = &self.recent[channel][at - self.first..at + length - self.first];
            let power: f64 = part.iter().map(|sample| sample * sample).sum();
            // One that may still be rising is found in the next step.
            (alike >= LEAST && at + length + guard <= self.done).then_some((alike * power, channel, at))
        });
        if let Some((_, channel, at)) = found.max_by(|one, other| one.0.total_cmp(&other.0)) {
            self.place = Some(Place { channel, begins: at as f64 - Signal::MARKS[0] * self.rate() });
            self.mark(Device::ALL[0], at as f64, true);
        }
    }

    /// Looks for the next mark, once all has come in among which it is.
    fn look_for_next(&mut self, place: Place) {
        let number = self.marks.len();
        let Some(device) = Device::ALL.get(number / Signal::MARKS.len()) else { return };
        let at = Self::begins(*device) + Signal::MARKS[number % Signal::MARKS.len()];
        let expected = place.begins + at * self.rate();
        let [from, to] =
            [-OFF, OFF + Signal::MARK].map(|beside| frames(expected + beside * self.rate()).max(self.first));
        if to > self.done {
            return;
        }
        let best = self.mark_in(place.channel, from, to);
        match best.filter(|(alike, _)| *alike >= LEAST) {
            Some((_, at)) => self.mark(*device, at as f64, true),
            None => self.mark(*device, expected, false),
        }
        if !self.is_followed(Device::ALL[0]) {
            // What was taken for the first mark is another one, or something else.
            self.passed = Default::default();
        }
    }

    fn mark(&mut self, device: Device, frame: f64, is_found: bool) {
        self.marks.push(Mark { device, at: Seconds::new(frame / self.rate()), is_found });
    }

    /// Returns how alike a mark is what begins at the frame that is most so, and that frame, among what is between two frames.
    fn mark_in(&self, channel: usize, from: usize, to: usize) -> Option<(f64, usize)> {
        let length = self.frames(Signal::MARK);
        let part = self.recent[channel].get(from - self.first..to - self.first)?;
        if part.len() < length {
            return None;
        }
        // Whatever a device does to its phase, what comes in is made of these two.
        let turned = |quarter: usize| {
            let mark: Vec<f64> = (0..length).map(|n| Signal::mark(n as f64 / self.rate())[quarter]).collect();
            likeness(part, &mark)
        };
        let alike = turned(0).into_iter().zip(turned(1)).map(|(one, other)| one + other);
        let best = alike.enumerate().max_by(|one, other| one.1.total_cmp(&other.1));
        best.map(|(place, alike)| (alike, from + place))
    }

    /// Returns when the section of `device` begins, in seconds from the first one's beginning.
    fn begins(device: Device) -> f64 {
        let starts = Signal::starts();
        starts[device as usize] - starts[0]
    }

    /// Returns whether all marks of the first section, and the first one of that of `device`, were found as far as they have come in.
    fn is_followed(&self, device: Device) -> bool {
        let mut of_first = self.marks.iter().filter(|mark| mark.device == Device::ALL[0]);
        let own = self.marks.iter().find(|mark| mark.device == device);
        of_first.all(|mark| mark.is_found) && own.is_some_and(|mark| mark.is_found)
    }

    /// Follows the sweeps through the frames from `from` on.
    fn follow(&mut self, place: Place, from: usize) {
        let half = 2f64.powf(1.0 / 24.0);
        let lowest = Signal::passes(centre(*BANDS.start()) / half);
        let lasts = Signal::passes(centre(*BANDS.start()) * half) - lowest;
        let (rate, count) = (self.rate(), BANDS.count());
        for device in Device::ALL {
            if !self.is_followed(device) {
                continue;
            }
            let own = &mut self.passed[device as usize];
            let begins = place.begins + (Self::begins(device) + Signal::SWEEP_AT) * rate;
            for (frame, sample) in (from..self.done).zip(&self.recent[place.channel][from - self.first..]) {
                let time = (frame as f64 - begins) / rate;
                let passes = (time - lowest) / lasts;
                if passes >= (own.len() + 1) as f64 && own.len() < count {
                    own.push(take(&mut self.passing).value());
                }
                if passes < 0.0 || own.len() == count {
                    continue;
                }
                let weight = (PI * passes.fract()).sin().powi(2);
                self.passing.sum += sample * weight * Complex64::cis(-Signal::phase(time));
                self.passing.weights += weight;
            }
        }
    }
}

impl Passing {
    /// Returns what came in, against what is played.
    fn value(self) -> Complex64 {
        Complex64::new(0.0, 2.0) * self.sum / (Signal::PEAK * self.weights.max(f64::MIN_POSITIVE))
    }
}

fn frequencies() -> impl Iterator<Item = Hertz> {
    BANDS.map(|band| Hertz::new(centre(band)))
}

#[cfg(test)]
mod tests {
    use super::super::tests::{Bench, coil};
    use super::*;

    /// How long the recorder runs before the signal, in seconds.
    const AHEAD: f64 = 1.234;

    fn known() -> Known {
        "10k 1%".parse().unwrap()
    }

    /// Returns what a recording on the second of two channels has come to once each of `times` was reached.
    fn at_times(rate_hz: u32, samples: &[f64], times: &[f64]) -> Vec<Preview> {
        let rate = f64::from(rate_hz);
        let ahead = vec![0.0; frames(AHEAD * rate)];
        let whole: Vec<f64> = ahead.iter().chain(samples).copied().collect();
        let mut preview = Preview::new(rate_hz, 2).unwrap();
        let (mut come, mut seen) = (0, Vec::new());
        // As pieces come from a browser, none as long as another.
        for time in times {
            while come < frames(time * rate).min(whole.len()) {
                let to = (come + 1 + (come * 7919) % 30_000).min(frames(time * rate)).min(whole.len());
                let part = whole[come..to].to_vec();
                preview.take(&[part.iter().map(|sample| 0.01 * sample).collect(), part]);
                come = to;
            }
            seen.push(preview.clone());
        }
        seen
    }

    /// Returns the time at which the sweep of `device` passes `hz`.
    fn passed(device: Device, hz: f64) -> f64 {
        AHEAD + Signal::starts()[device as usize] + Signal::SWEEP_AT + Signal::passes(hz)
    }

    #[test]
    fn each_band_is_there_once_its_sweep_has_passed_and_near_what_the_whole_take_tells() {
        for bench in [
            Bench::default(),
            Bench {
                rate: 44_100,
                series: 220e3,
                input: 470e3,
                cable: 700e-12,
                gain: 0.3,
                ..Bench::default()
            },
        ] {
            let samples = bench.record(&coil);
            let times = [1.0, passed(Device::Open, 1e3), passed(Device::Guitar, 2e3), 100.0];
            let [begins, first, third, all] = at_times(bench.rate, &samples, &times).try_into().unwrap();
            assert!(begins.marks().is_empty() && begins.received(Device::Open).is_empty());
            let highest = |of: Vec<(Hertz, Db)>| of.last().map_or(0.0, |(hz, _)| hz.value());
            // A step is gone through once it is whole, and a band once its end is passed.
            let near = |hz: f64, wanted: f64| (0.85 * wanted..wanted).contains(&hz);
            assert!(near(highest(first.received(Device::Open)), 1e3), "{:?}", first.received(Device::Open));
            assert!(first.received(Device::Known).is_empty() && first.impedance(known()).is_empty());
            let told = third.impedance(known());
            assert!(near(told.last().unwrap().0.value(), 2e3), "{told:?}");
            assert_eq!((first.marks().len(), third.marks().len(), all.marks().len()), (1, 5, 6));

            for (mark, section) in all.marks().iter().zip([0, 0, 1, 1, 2, 2]) {
                let number =
                    usize::from(mark == all.marks().iter().rfind(|own| own.device == mark.device).unwrap());
                let at = AHEAD + Signal::starts()[section] + Signal::MARKS[number];
                assert!(mark.is_found && (mark.at.value() - at).abs() < 1e-3, "{mark:?}: {at}");
            }
            let take = bench.read(samples).unwrap();
            let told = all.impedance(known());
            assert_eq!(told.len(), take.points().len());
            let off: Vec<f64> = told
                .iter()
                .zip(take.points())
                .map(|((hz, ohms), point)| {
                    assert_eq!(*hz, point.frequency);
                    Db::of_amplitude(ohms.value() / point.impedance.norm()).value().abs()
                })
                .collect();
            let most = off.iter().copied().fold(0.0, f64::max);
            let rms = (off.iter().map(|db| db * db).sum::<f64>() / off.len() as f64).sqrt();
            assert!(rms < 0.2 && most < 0.6, "off by {rms} dB rms, {most} dB at most");
        }
    }

    #[test]
    fn the_level_is_that_of_the_louder_channel_step_by_step() {
        let mut preview = Preview::new(48_000, 2).unwrap();
        let plane = |level: f64| vec![level; 4800];
        for levels in [[0.0, 0.0], [0.1, -0.5], [0.25, 0.1]] {
            preview.take(&levels.map(plane));
        }
        preview.take(&[vec![1.0; 4000], vec![1.0; 4000]]);
        let levels: Vec<f64> = preview.levels().iter().map(|level| level.value().max(-99.0)).collect();
        assert_eq!(levels.len(), 3);
        for (level, wanted) in levels.into_iter().zip([-99.0, -6.02, -12.04]) {
            assert!((level - wanted).abs() < 0.01, "{level}");
        }
        assert_eq!(preview.lasts(), Seconds::new(0.3));
    }

    #[test]
    fn what_is_no_signal_has_no_marks_and_a_mark_that_is_missed_takes_its_curve() {
        let bench = Bench::default();
        let samples = bench.record(&coil);
        let muted = |from: f64, to: f64| {
            let mut rest = samples.clone();
            rest[frames(from * 48e3)..frames(to * 48e3)].fill(0.0);
            at_times(bench.rate, &rest, &[100.0]).remove(0)
        };
        let starts = Signal::starts();
        let whole = muted(0.0, 0.0);
        assert!(whole.marks().iter().all(|mark| mark.is_found));
        // The second section's first mark.
        let without = muted(starts[1], starts[1] + 0.3);
        let found: Vec<bool> = without.marks().iter().map(|mark| mark.is_found).collect();
        assert_eq!(found, [true, true, false, true, true, true]);
        assert!(without.received(Device::Known).is_empty() && without.impedance(known()).is_empty());
        assert_eq!(without.received(Device::Guitar), whole.received(Device::Guitar));
        // The first section's second mark: nothing is where it should be.
        let without = muted(starts[0] + 8.9, starts[0] + 9.2);
        assert!(Device::ALL.iter().all(|device| without.received(*device).is_empty()));
        let noise: Vec<f64> = samples[..20_000].iter().copied().cycle().take(480_000).collect();
        assert!(at_times(bench.rate, &noise, &[100.0])[0].marks().is_empty());
        let refused = Preview::new(22_050, 1).unwrap_err();
        assert!(refused.to_string().contains("44100 to 192000 Hz"), "{refused}");
    }
}
