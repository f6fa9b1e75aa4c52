//! An impedance that another instrument measured, as a table.

use std::f64::consts::PI;

use num_complex::Complex64;

use super::ReadingError;
use super::bands::{FROM, Point, TO};
use crate::quantity::Hertz;

/// What the columns are, in their order.
const HEADING: [&str; 3] = ["frequency_hz", "magnitude_ohm", "phase_deg"];
/// What may stand between values. Where it is not the first, a comma is a decimal sign.
const BETWEEN: [u8; 3] = [b',', b';', b'\t'];
/// The standard deviation of another instrument's impedance at a point.
const OF_CURVE: f64 = 0.003;

/// Returns the impedance that a table of `frequency_hz,magnitude_ohm,phase_deg` states, in twelfths of an octave: text in UTF-8 or
/// UTF-16 with commas, semicolons or tabs between its values.
///
/// # Errors
/// [`ReadingError`] where it is no text, a row states none, or there are too few between [`FROM`] and [`TO`].
pub fn curve(table: &[u8]) -> Result<Vec<Point>, ReadingError> {
    const FEWEST: usize = 12;
    let mut told: Vec<(i32, f64, Complex64)> = Vec::new();
    for (hz, impedance) in rows(&text_of(table).ok_or(ReadingError::NoText)?)? {
        if (FROM.value()..=TO.value()).contains(&hz) {
            #[expect(clippy::cast_possible_truncation, reason = "some hundred twelfths of an octave at most")]
            let twelfth = (12.0 * hz.log2()).round() as i32;
            told.push((twelfth, hz.ln(), impedance));
        }
    }
    told.sort_by(|one, other| one.1.total_cmp(&other.1));
    let points: Vec<Point> = told
        .chunk_by(|one, other| one.0 == other.0)
        .map(|band| {
            let count = band.len() as f64;
            Point {
                frequency: Hertz::new((band.iter().map(|(_, hz, _)| hz).sum::<f64>() / count).exp()),
                impedance: (band.iter().map(|(.., log)| log).sum::<Complex64>() / count).exp(),
                deviation: OF_CURVE,
            }
        })
        .collect();
    if points.len() < FEWEST { Err(ReadingError::Few { given: points.len() }) } else { Ok(points) }
}

/// Returns what a file's bytes say, in UTF-8 or in UTF-16 as spreadsheets write it, with a mark at its beginning or without.
fn text_of(bytes: &[u8]) -> Option<String> {
    let pairs = |bytes: &[u8], unit: fn([u8; 2]) -> u16| {
        let units = bytes.chunks_exact(2).map(|pair| unit([pair[0], pair[1]]));
        char::decode_utf16(units).collect::<Result<String, _>>().ok()
    };
    match bytes {
        [0xff, 0xfe, rest @ ..] => pairs(rest, u16::from_le_bytes),
        [0xfe, 0xff, rest @ ..] => pairs(rest, u16::from_be_bytes),
        [_, 0, ..] => pairs(bytes, u16::from_le_bytes),
        [0, _, ..] => pairs(bytes, u16::from_be_bytes),
        _ => {
            let text = str::from_utf8(bytes).ok()?;
            Some(text.strip_prefix('\u{feff}').unwrap_or(text).to_owned())
        }
    }
}

/// Returns each row's frequency in hertz and the logarithm of the impedance in ohms.
fn rows(text: &str) -> Result<Vec<(f64, Complex64)>, ReadingError> {
    let row_error = |row: usize, what: String| ReadingError::Row { row, what };
    let heading = text.lines().next().unwrap_or_default();
    let is_parted = |between: &&u8| {
        let names = heading.split(char::from(**between)).map(|name| name.trim().trim_matches('"'));
        names.eq(HEADING)
    };
    let between = BETWEEN.iter().find(is_parted).ok_or_else(|| row_error(1, format!("it is `{heading}`")))?;
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .delimiter(*between)
        .from_reader(text.as_bytes());
    let mut rows = Vec::new();
    for (place, record) in reader.records().enumerate() {
        let row = place + 2;
        let record = record.map_err(|error| row_error(row, error.to_string()))?;
        let number = |text: &str| {
            let with_point = if *between == BETWEEN[0] { text.to_owned() } else { text.replace(',', ".") };
            with_point.parse::<f64>().map_err(|_| row_error(row, format!("`{text}` is no number")))
        };
        let numbers: Vec<f64> = record.iter().map(number).collect::<Result<_, _>>()?;
        let [hz, magnitude, phase] = numbers[..] else {
            return Err(row_error(
                row,
                format!("it has {} numbers, and {} are wanted", numbers.len(), HEADING.len()),
            ));
        };
        let is_one =
            hz.is_finite() && hz > 0.0 && magnitude.is_finite() && magnitude > 0.0 && phase.abs() <= 360.0;
        if !is_one {
            return Err(row_error(row, format!("{hz}, {magnitude}, {phase} is no impedance at a frequency")));
        }
        rows.push((hz, Complex64::new(magnitude.ln(), phase * PI / 180.0)));
    }
    Ok(rows)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A table with this between its values.
    fn table(between: char) -> String {
        let row = |i: i32| {
            let hz = 100.0 * 200f64.powf(f64::from(i) / 399.0);
            format!("{hz},{},45", hz * 2.0)
        };
        let rows = (0..400).map(row).collect::<Vec<_>>().join("\n");
        let table = format!("frequency_hz,magnitude_ohm,phase_deg\n{rows}\n");
        if between == ',' { table } else { table.replace(',', &between.to_string()).replace('.', ",") }
    }

    #[test]
    fn a_curve_is_read_in_twelfths_however_a_spreadsheet_writes_it() {
        let plain = curve(table(',').as_bytes()).unwrap();
        assert!((70..75).contains(&plain.len()), "{}", plain.len());
        for point in &plain {
            assert!((point.impedance.norm() / point.frequency.value() - 2.0).abs() < 1e-9);
            assert!((point.impedance.arg() - PI / 4.0).abs() < 1e-9);
        }
        assert_eq!(curve(table(';').as_bytes()).unwrap(), plain);
        assert_eq!(curve(table('\t').replace('\n', "\r\n").as_bytes()).unwrap(), plain);
        assert_eq!(curve(format!("\u{feff}{}", table(',')).as_bytes()).unwrap(), plain);
        for order in [u16::to_le_bytes, u16::to_be_bytes] {
            for mark in ["", "\u{feff}"] {
                let text = format!("{mark}{}", table(';'));
                let bytes: Vec<u8> = text.encode_utf16().flat_map(order).collect();
                assert_eq!(curve(&bytes).unwrap(), plain);
            }
        }
    }

    #[test]
    fn faults_of_a_curve_are_told_by_row() {
        for (text, told) in [
            ("f,z\n1,2\n", "row 1 of the curve: it is `f,z`"),
            ("", "row 1"),
            (
                "frequency_hz,magnitude_ohm,phase_deg\n100,2\n",
                "row 2 of the curve: it has 2 numbers, and 3 are wanted",
            ),
            ("frequency_hz,magnitude_ohm,phase_deg\n300,1,2,5,45\n", "it has 5 numbers"),
            (
                "frequency_hz,magnitude_ohm,phase_deg\n300,-2,0\n",
                "row 2 of the curve: 300, -2, 0 is no impedance",
            ),
            ("frequency_hz;magnitude_ohm;phase_deg\n300;much;0\n", "`much` is no number"),
            ("frequency_hz,magnitude_ohm,phase_deg\n300,2,0\n", "has 1 point from"),
        ] {
            let error = curve(text.as_bytes()).unwrap_err();
            assert!(error.to_string().contains(told) && !error.hint().is_empty(), "{text}: {error}");
        }
        let error = curve(b"frequency_hz\xff").unwrap_err();
        assert!(error.to_string().contains("UTF-16") && error.hint().contains("UTF-8"), "{error}");
    }
}
