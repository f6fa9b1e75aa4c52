//! Which single part matters most, and so what to measure first.

use super::monte_carlo::{BandsInput, curve, unlike};
use crate::circuit::Sweep;
use crate::guitar::{Guitar, Part};
use crate::response::VoiceError;

/// A part and how far it alone moves what is heard.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// The part, with its pickup's name where it is a pickup's: `bridge, coil A, inductance`.
    pub part: String,
    /// By how much the response of the voice that it moves most differs between the ends of its tolerance, in dB by
    /// the rule of [`Listening`](crate::measure::Listening).
    pub moves_db: f64,
}

/// Returns every part of the guitar of `setting`, the one that moves most first.
///
/// # Errors
/// [`VoiceError`] where a circuit has no solution.
pub fn sensitivity(setting: &BandsInput<'_>) -> Result<Vec<Sensitivity>, VoiceError> {
    let tolerances = setting.guitar.tolerances();
    let mut named: Vec<(String, [f64; 2])> = Vec::new();
    let _ = setting.guitar.with_parts(|part| {
        named.push((called(part), tolerances.range(part.kind, part.origin, part.value)));
        part.value
    });
    let mut all = Vec::with_capacity(named.len());
    for (place, (part, range)) in named.into_iter().enumerate() {
        let [low, high] = range.map(|value| with_one(setting.guitar, place, value));
        let mut moves_db = 0.0f64;
        for voice in setting.voices {
            let sweep = Sweep::of(voice.circuit());
            let ends: Result<Vec<Vec<f64>>, VoiceError> = [&low, &high]
                .into_iter()
                .map(|guitar| Ok(curve(voice, &setting.circuit(guitar, voice.voice())?, &sweep)?))
                .collect();
            let ends = ends?;
            moves_db = moves_db.max(unlike(&ends[0], &ends[1]));
        }
        all.push(Sensitivity { part, moves_db });
    }
    all.sort_by(|a, b| b.moves_db.total_cmp(&a.moves_db));
    Ok(all)
}

fn called(part: Part<'_>) -> String {
    if part.of.is_empty() { part.called.to_owned() } else { format!("{}, {}", part.of, part.called) }
}

/// Returns the guitar with the part at `place` of its parts at `value`.
fn with_one(guitar: &Guitar, place: usize, value: f64) -> Guitar {
    let mut at = 0;
    guitar.with_parts(|part| {
        let own = at == place;
        at += 1;
        if own { value } else { part.value }
    })
}
