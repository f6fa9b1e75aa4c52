//! Small sets made by hand, without a circuit.

use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::program::write_wav;

/// Writes a set of `takes`, each a name with its matched and its as-is channels, into `folder`, and returns its
/// figures.
pub fn write_set(folder: &Path, rate: u32, takes: &[(&str, [Vec<Vec<f64>>; 2])]) -> Value {
    let mut arrangements = Vec::new();
    for (name, levels) in takes {
        let mut entry = json!({
            "name": name, "resonance_hz": null, "q": null, "peak_db": null, "cutoff_hz": null, "gain_low_db": null,
            "dc_at_jack_ohm": null, "hum_db": null, "in_phase": true, "second_order_off_db": null,
            "approximate": false, "drop_rms_db": 0.0, "drop_loudness_lu": 0.0,
        });
        for ((field, place), planes) in [("matched", "matched"), ("as_is", "as-is")].iter().zip(levels) {
            let file = format!("{place}/{}.wav", name.replace(':', "-"));
            std::fs::create_dir_all(folder.join(place)).unwrap();
            write_wav(&folder.join(&file), planes, rate);
            entry[*field] = json!({
                "file": file, "gain_db": 0.0, "rms_dbfs": -20.0, "loudness_lufs": -20.0, "true_peak_dbtp": -3.0,
                "spectral_centroid_hz": 500.0,
            });
        }
        arrangements.push(entry);
    }
    let planes = &takes[0].1[0];
    let figures = json!({
        "schema": 1, "program": "drywire", "honesty": "a test", "guitar": "bench", "pickup": "bridge",
        "baseline": takes[0].0,
        "source": {
            "file": "take.wav", "rate_hz": rate, "channels": planes.len(),
            "duration_s": planes[0].len() as f64 / f64::from(rate), "recorded_through": "neutral",
            "channels_are": "stereo", "model": "circuit", "matched_by": "loudness", "spectral_centroid": "-",
            "rms": "-",
        },
        "assumed": [], "notes": [], "arrangements": arrangements,
    });
    write_figures(folder, &figures);
    figures
}

/// Writes `figures` into `folder`.
pub fn write_figures(folder: &Path, figures: &Value) -> PathBuf {
    let path = folder.join("figures.json");
    std::fs::write(&path, serde_json::to_string_pretty(figures).unwrap()).unwrap();
    path
}

/// A channel of `frames` samples of a sine of `hertz` and `amplitude`.
pub fn sine(frames: usize, rate: u32, hertz: f64, amplitude: f64) -> Vec<f64> {
    let step = std::f64::consts::TAU * hertz / f64::from(rate);
    (0..frames).map(|n| amplitude * (step * n as f64).sin()).collect()
}
