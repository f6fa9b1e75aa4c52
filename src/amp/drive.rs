//! How hard the amplifier is driven.

use std::fmt;
use std::ops::RangeInclusive;

use super::cabinet::Cabinet;
use super::stages::Stages;
use crate::quantity::{Db, Volts};

/// How far the loudest moment of the baseline lies below the clip point, in dB: negative where it lies above.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Headroom(Db);

impl Headroom {
    /// The headrooms that may be asked for, in dB: from five times as far past the clip point as hard drive to what is as good
    /// as linear.
    pub const ALLOWED: RangeInclusive<f64> = -60.0..=60.0;

    /// Returns the headroom of `level`, or nothing where it is not one of [`Headroom::ALLOWED`].
    pub fn new(level: Db) -> Option<Self> {
        Self::ALLOWED.contains(&level.value()).then_some(Self(level))
    }

    /// Returns the level.
    pub const fn level(self) -> Db {
        self.0
    }
}

/// Settings as a player would tell them. The headrooms are a convention.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Setting {
    /// It never breaks up.
    Clean,
    /// It breaks up only in the loudest moments.
    Edge,
    /// It breaks up most of the time.
    Driven,
    /// It always breaks up.
    Hard,
}

impl Setting {
    /// All settings, the cleanest first.
    pub const ALL: [Self; 4] = [Self::Clean, Self::Edge, Self::Driven, Self::Hard];

    /// Returns the setting's name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Clean => "clean",
            Self::Edge => "edge",
            Self::Driven => "driven",
            Self::Hard => "hard",
        }
    }

    /// Returns the answer to whether it breaks up.
    pub const fn answer(self) -> &'static str {
        match self {
            Self::Clean => "never",
            Self::Edge => "only when I dig in",
            Self::Driven => "most of the time",
            Self::Hard => "always",
        }
    }

    /// Returns how far the loudest moment lies below the clip point.
    pub const fn headroom(self) -> Headroom {
        Headroom(Db::new(match self {
            Self::Clean => 12.0,
            Self::Edge => 0.0,
            Self::Driven => -12.0,
            Self::Hard => -24.0,
        }))
    }
}

/// How hard the amplifier is driven, as it was asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drive {
    /// One of the settings.
    Set(Setting),
    /// A headroom.
    Stated(Headroom),
    /// What was measured, both as the amplitude of a sine.
    Measured {
        /// The loudest moment of the baseline at the jack.
        jack: Volts,
        /// Where the amplifier begins to clip.
        clips_at: Volts,
    },
}

/// Voltages whose headroom is none that may be asked for.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("{jack} at the jack against {clips_at} is a headroom of {:.0} dB, and {} to {} dB are rendered",
    Db::of_amplitude(clips_at.value() / jack.value()).value(), Headroom::ALLOWED.start(), Headroom::ALLOWED.end())]
pub struct DriveError {
    /// The loudest moment at the jack.
    jack: Volts,
    /// Where the amplifier begins to clip.
    clips_at: Volts,
}

impl Drive {
    /// Returns the drive of voltages, both as the amplitude of a sine.
    ///
    /// # Errors
    /// [`DriveError`] where the headroom is not one of [`Headroom::ALLOWED`].
    pub fn measured(jack: Volts, clips_at: Volts) -> Result<Self, DriveError> {
        let is_one = Headroom::new(Db::of_amplitude(clips_at.value() / jack.value())).is_some();
        let is_one = is_one && jack.value() > 0.0 && clips_at.value() > 0.0;
        if is_one { Ok(Self::Measured { jack, clips_at }) } else { Err(DriveError { jack, clips_at }) }
    }

    /// Returns how far the loudest moment lies below the clip point.
    pub fn headroom(self) -> Headroom {
        match self {
            Self::Set(setting) => setting.headroom(),
            Self::Stated(headroom) => headroom,
            Self::Measured { jack, clips_at } => Headroom(Db::of_amplitude(clips_at.value() / jack.value())),
        }
    }

    /// Returns the gain before the stages where the loudest moment at the jack has the amplitude `loudest`.
    pub fn gain(self, loudest: f64) -> f64 {
        Stages::clip_point() * (-self.headroom().level()).amplitude() / loudest
    }
}

impl fmt::Display for Drive {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Set(setting) => f.pad(setting.name()),
            Self::Stated(_) => f.pad("stated headroom"),
            Self::Measured { .. } => f.pad("measured voltages"),
        }
    }
}

/// An amplifier as it is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amplification {
    /// How hard it is driven.
    pub drive: Drive,
    /// What follows its stages.
    pub cabinet: Cabinet,
}
