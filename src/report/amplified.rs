//! What an amplifier makes of a set, as data.

use serde::{Deserialize, Serialize};

use super::finite;
use crate::amp::{Amplification, Cabinet, Stages};
use crate::quantity::Db;

/// How the amplifier, its settings and its measures are defined.
pub const AMPLIFIER_DEFINITION: &str = "a generic amplifier and loudspeaker, no particular ones: gain, a triode stage, a limiter \
     (tanh), couplings at 7.23 Hz, at 352.8 kHz or more; a loudspeaker in a closed box. The gain is one for all arrangements: \
     the headroom is from the loudest 50 ms of the baseline at the jack to the clip point, the amplitude of a sine whose \
     fundamental comes out 1 dB low; both levels are amplitudes of sines against the source's full scale. Added sound: in each \
     50 ms what remains after a gain is fitted to the sound without the curves, against the whole. Broken up: the share of the \
     50 ms within 30 dB of the baseline's loudest in which that is 5 % or more";

/// The amplifier that a set is heard through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AmplifierFigures {
    /// The setting's name, or how it is stated.
    pub setting: String,
    /// How far the loudest moment of the baseline at the jack lies below the clip point.
    pub headroom_db: f64,
    /// The loudest 50 ms of the baseline at the jack, as the amplitude of a sine against the source's full scale; null where all
    /// is silent.
    pub loudest_50ms_dbfs: Option<f64>,
    /// The level at the jack at which it clips, likewise.
    pub clip_point_dbfs: Option<f64>,
    /// What follows its stages.
    pub loudspeaker: Cabinet,
    /// How all this is defined.
    pub definition: String,
}

/// What an amplifier makes of one arrangement, beside what it is without.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AmplifiedFigures {
    /// The level of the sound that is added, against the whole; null for silence.
    pub added_sound_db: Option<f64>,
    /// The share of the sounding time in which it is broken up.
    pub broken_up_percent: Option<f64>,
    /// The true peak over the RMS of the as-is file.
    pub crest_db: Option<f64>,
    /// The changes without the amplifier.
    pub at_jack: AtJack,
}

/// The changes against the baseline without an amplifier.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct AtJack {
    /// RMS.
    pub drop_rms_db: Option<f64>,
    /// Loudness.
    pub drop_loudness_lu: Option<f64>,
    /// Loudness in sones, in percent more; negative where it is less loud.
    pub drop_heard_percent: Option<f64>,
    /// The least and the most of that where the baseline is heard at 60 to 85 dB SPL.
    pub drop_heard_percent_60_to_85: Option<[f64; 2]>,
}

impl AmplifierFigures {
    /// Returns the figures of `asked` where the loudest moment of the baseline has this amplitude.
    pub fn new(asked: Amplification, loudest: f64) -> Self {
        let headroom = asked.drive.headroom().level();
        let loudest = Db::of_amplitude(loudest);
        Self {
            setting: asked.drive.to_string(),
            headroom_db: headroom.value(),
            loudest_50ms_dbfs: finite(loudest.value()),
            clip_point_dbfs: finite((loudest + headroom).value()),
            loudspeaker: asked.cabinet,
            definition: AMPLIFIER_DEFINITION.to_owned(),
        }
    }

    /// Returns the gain before the stages; nothing where all is silent.
    pub fn gain(&self) -> Option<f64> {
        self.clip_point_dbfs.map(|level| Stages::clip_point() / Db::new(level).amplitude())
    }

    /// Returns the setting in words: `a generic amplifier, driven: the loudest moments lie 12 dB above where it clips`.
    pub fn words(&self) -> String {
        let far = Db::new(self.headroom_db.abs());
        let place = if self.headroom_db > 0.0 {
            format!("{far:.0} below where it clips")
        } else if self.headroom_db < 0.0 {
            format!("{far:.0} above where it clips")
        } else {
            "where it begins to clip".to_owned()
        };
        let speaker = match self.loudspeaker {
            Cabinet::Closed => "its loudspeaker",
            Cabinet::None => "no loudspeaker",
        };
        format!(
            "a generic amplifier and {speaker}, {}: the baseline's loudest moments lie {place}",
            self.setting
        )
    }
}
