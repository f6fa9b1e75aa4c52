//! The tables of the stationary method.
//!
//! # Source
//! ISO 532-1:2017, tables A.3 to A.9, which are those of E. Zwicker, H. Fastl, U. Widmann, K. Kurakata, S. Kuwano,
//! S. Namba, "Program for calculating loudness according to DIN 45631 (ISO 532B)", J. Acoust. Soc. Jpn. (E) 12(1), 1991.

/// The third octaves that loudness is computed from, 25 Hz to 12.5 kHz.
pub const SONE_BANDS: usize = 28;
/// The lowest of them, which are weighted before they are put together, 25 Hz to 250 Hz.
pub(super) const LOW_BANDS: usize = 11;
/// The critical bands, approximately: three of low third octaves and the third octaves from 315 Hz up.
pub(super) const CRITICAL_BANDS: usize = 20;

/// The levels in dB up to which a row of [`LOW_WEIGHTS`] counts; the level meant is that of the band with its weight.
pub(super) const LOW_RANGES: [f64; 8] = [45.0, 55.0, 65.0, 71.0, 80.0, 90.0, 100.0, 120.0];

/// The weights of the low bands in dB, by range, after the equal-loudness contours.
pub(super) const LOW_WEIGHTS: [[f64; LOW_BANDS]; 8] = [
    [-32.0, -24.0, -16.0, -10.0, -5.0, 0.0, -7.0, -3.0, 0.0, -2.0, 0.0],
    [-29.0, -22.0, -15.0, -10.0, -4.0, 0.0, -7.0, -2.0, 0.0, -2.0, 0.0],
    [-27.0, -19.0, -14.0, -9.0, -4.0, 0.0, -6.0, -2.0, 0.0, -2.0, 0.0],
    [-25.0, -17.0, -12.0, -9.0, -3.0, 0.0, -5.0, -2.0, 0.0, -2.0, 0.0],
    [-23.0, -16.0, -11.0, -7.0, -3.0, 0.0, -4.0, -1.0, 0.0, -1.0, 0.0],
    [-20.0, -14.0, -10.0, -6.0, -3.0, 0.0, -4.0, -1.0, 0.0, -1.0, 0.0],
    [-18.0, -12.0, -9.0, -6.0, -2.0, 0.0, -3.0, -1.0, 0.0, -1.0, 0.0],
    [-15.0, -10.0, -8.0, -4.0, -2.0, 0.0, -3.0, -1.0, 0.0, -1.0, 0.0],
];

/// The low bands, by index, of which the first three critical bands are made: to 80, to 160 and to 250 Hz.
pub(super) const LOW_CRITICAL: [std::ops::Range<usize>; 3] = [0..6, 6..9, 9..LOW_BANDS];

/// The level of a critical band at the threshold in quiet, in dB, the ear's transmission apart.
pub(super) const THRESHOLD: [f64; CRITICAL_BANDS] =
    [30.0, 18.0, 12.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0, 3.0];

/// The ear's transmission, a0, in dB to be taken off.
pub(super) const TRANSMISSION: [f64; CRITICAL_BANDS] = [
    0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, -0.5, -1.6, -3.2, -5.4, -5.6, -4.0, -1.5, 2.0, 5.0,
    12.0,
];

/// What takes a third octave's level to its critical band's, in dB to be taken off.
pub(super) const BANDWIDTH: [f64; CRITICAL_BANDS] = [
    -0.25, -0.6, -0.8, -0.8, -0.5, 0.0, 0.5, 1.1, 1.5, 1.7, 1.8, 1.8, 1.7, 1.6, 1.4, 1.2, 0.8, 0.5, 0.0, -0.5,
];

/// The upper ends of the critical bands in Bark; the last is where the pattern ends.
pub(super) const UPPER_ENDS: [f64; CRITICAL_BANDS + 1] = [
    0.9, 1.8, 2.8, 3.5, 4.4, 5.4, 6.6, 7.9, 9.2, 10.6, 12.3, 13.8, 15.2, 16.7, 18.1, 19.3, 20.6, 21.8, 22.7,
    23.6, 24.0,
];

/// The specific loudnesses in sone per Bark down to which a row of [`SLOPES`] counts.
pub(super) const SLOPE_RANGES: [f64; 18] =
    [21.5, 18.0, 15.1, 11.5, 9.0, 6.1, 4.4, 3.1, 2.13, 1.36, 0.82, 0.42, 0.30, 0.22, 0.15, 0.10, 0.035, 0.0];

/// How steeply the specific loudness falls above a critical band, in sone per Bark², by range and by band: the first
/// column is that of the second band, the last that of the ninth and all above.
pub(super) const SLOPES: [[f64; 8]; 18] = [
    [13.0, 8.2, 6.3, 5.5, 5.5, 5.5, 5.5, 5.5],
    [9.0, 7.5, 6.0, 5.1, 4.5, 4.5, 4.5, 4.5],
    [7.8, 6.7, 5.6, 4.9, 4.4, 3.9, 3.9, 3.9],
    [6.2, 5.4, 4.6, 4.0, 3.5, 3.2, 3.2, 3.2],
    [4.5, 3.8, 3.6, 3.2, 2.9, 2.7, 2.7, 2.7],
    [3.7, 3.0, 2.8, 2.35, 2.2, 2.2, 2.2, 2.2],
    [2.9, 2.3, 2.1, 1.9, 1.8, 1.7, 1.7, 1.7],
    [2.4, 1.7, 1.5, 1.35, 1.3, 1.3, 1.3, 1.3],
    [1.95, 1.45, 1.3, 1.15, 1.1, 1.1, 1.1, 1.1],
    [1.5, 1.2, 0.94, 0.86, 0.82, 0.82, 0.82, 0.82],
    [0.72, 0.67, 0.64, 0.63, 0.62, 0.62, 0.62, 0.62],
    [0.59, 0.53, 0.51, 0.50, 0.42, 0.42, 0.42, 0.42],
    [0.40, 0.33, 0.26, 0.24, 0.24, 0.22, 0.22, 0.22],
    [0.27, 0.21, 0.20, 0.18, 0.17, 0.17, 0.17, 0.17],
    [0.16, 0.15, 0.14, 0.12, 0.11, 0.11, 0.11, 0.11],
    [0.12, 0.11, 0.10, 0.08, 0.08, 0.08, 0.08, 0.08],
    [0.09, 0.08, 0.07, 0.06, 0.06, 0.06, 0.06, 0.05],
    [0.06, 0.05, 0.03, 0.02, 0.02, 0.02, 0.02, 0.02],
];
