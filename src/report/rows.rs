//! Figures and responses as comma-separated rows.

use super::{AmplifiedFigures, AtJack, FileFigures, SetFigures};
use crate::circuit::SolveError;
use crate::quantity::Hertz;
use crate::response::VoiceResponse;
use num_complex::Complex64;

/// Returns the figures of a set as comma-separated rows, one an arrangement, below a heading.
pub fn set_rows(figures: &SetFigures) -> String {
    let of_file = |prefix: &str| {
        ["file", "gain_db", "rms_dbfs", "loudness_lufs", "true_peak_dbtp", "spectral_centroid_hz"]
            .map(|field| format!("{prefix}_{field}"))
    };
    let mut heading: Vec<String> = [
        "name",
        "resonance_hz",
        "q",
        "peak_db",
        "peak_hz",
        "cutoff_hz",
        "gain_low_db",
        "dc_at_jack_ohm",
        "hum_db",
        "in_phase",
        "drop_rms_db",
        "drop_loudness_lu",
        "loudness_sone",
        "drop_heard_percent",
        "noise_dbv",
        "noise_dbv_a",
    ]
    .map(str::to_owned)
    .to_vec();
    heading.extend(of_file("matched"));
    heading.extend(of_file("as_is"));
    let amplified = [
        "added_sound_db",
        "broken_up_percent",
        "crest_db",
        "at_jack_drop_rms_db",
        "at_jack_drop_loudness_lu",
        "at_jack_drop_heard_percent",
    ];
    heading.extend(amplified.iter().filter(|_| figures.amplifier.is_some()).map(|name| (*name).to_owned()));
    let rows = figures.arrangements.iter().map(|a| {
        let mut row = vec![
            cell(&a.name),
            number(a.resonance_hz),
            number(a.q),
            number(a.peak_db),
            number(a.peak_hz),
            number(a.cutoff_hz),
            number(a.gain_low_db),
            number(a.dc_at_jack_ohm),
            number(a.hum_db),
            a.in_phase.to_string(),
            number(a.drop_rms_db),
            number(a.drop_loudness_lu),
            number(a.loudness_sone),
            number(a.drop_heard_percent),
            number(a.noise_dbv),
            number(a.noise_dbv_a),
        ];
        row.extend(file_cells(a.matched.as_ref()));
        row.extend(file_cells(a.as_is.as_ref()));
        row.extend(a.amplified.iter().flat_map(amplified_cells));
        row
    });
    written(std::iter::once(heading).chain(rows))
}

fn file_cells(file: Option<&FileFigures>) -> [String; 6] {
    let Some(file) = file else { return Default::default() };
    [
        cell(&file.file),
        number(Some(file.gain_db)),
        number(file.rms_dbfs),
        number(file.loudness_lufs),
        number(file.true_peak_dbtp),
        number(file.spectral_centroid_hz),
    ]
}

fn amplified_cells(own: &AmplifiedFigures) -> [String; 6] {
    let AtJack { drop_rms_db, drop_loudness_lu, drop_heard_percent, .. } = own.at_jack;
    let told = [own.added_sound_db, own.broken_up_percent, own.crest_db];
    let [added, broken, crest] = told.map(number);
    let [rms, loudness, heard] = [drop_rms_db, drop_loudness_lu, drop_heard_percent].map(number);
    [added, broken, crest, rms, loudness, heard]
}

/// Returns the response of a voice at `frequencies` as comma-separated rows: from each coil by itself, and from
/// all at their outputs.
///
/// # Errors
/// [`SolveError`] where the circuit has no solution at some frequency.
pub fn response_rows(response: &VoiceResponse, frequencies: &[Hertz]) -> Result<String, SolveError> {
    let heading =
        ["frequency_hz", "from", "real", "imaginary", "magnitude_db", "phase_deg"].map(str::to_owned);
    let mut rows = vec![heading.to_vec()];
    for f in frequencies {
        let paths = response.at(*f)?;
        let mut path = |from: &str, h: Complex64| {
            // A zero has no phase, and its level is minus infinity.
            let (level, phase) = if h == Complex64::ZERO {
                ("-inf".to_owned(), String::new())
            } else {
                (digits(20.0 * h.norm().log10()), digits(h.arg().to_degrees()))
            };
            rows.push(vec![digits(f.value()), from.to_owned(), digits(h.re), digits(h.im), level, phase]);
        };
        for (coil, own) in response.coils().iter().zip(&paths.0) {
            path(coil, *own);
        }
        path("both", response.both(&paths));
    }
    Ok(written(rows))
}

fn digits(value: f64) -> String {
    format!("{value:.11e}")
}

/// Returns a number, or nothing where there is none.
pub(crate) fn number(value: Option<f64>) -> String {
    value.map_or_else(String::new, |v| format!("{v}"))
}

/// Returns a text that no spreadsheet takes for a formula.
pub(crate) fn cell(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

/// Returns rows as comma-separated text.
pub(crate) fn written(rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    for row in rows {
        writer.write_record(row).expect("rows of one length go into memory");
    }
    String::from_utf8(writer.into_inner().expect("memory takes all")).expect("made of texts")
}

#[cfg(test)]
mod tests {
    use super::cell;

    #[test]
    fn no_text_is_taken_for_a_formula() {
        for text in ["=1+1", "+1", "-1", "@sum", "\t=1", "\r=1"] {
            assert_eq!(cell(text), format!("'{text}"));
        }
        assert_eq!(cell("split-a"), "split-a");
    }
}
