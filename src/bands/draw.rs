//! Guitars with parts drawn within their tolerances.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::guitar::{
    Guitar, MEASURANDS, Measurand, MeasuredWith, Measurement, Part, PartKind, Tolerances, Variation,
};
use crate::wiring::CoilName;

/// The seed of every draw: the same guitar has the same bands wherever and whenever they are worked out.
const SEED: u64 = 0x6472_7977_6972_6501;

/// Draws of one guitar, numbered from 0.
#[derive(Debug, Clone, Copy)]
pub struct Draws<'g> {
    guitar: &'g Guitar,
}

impl<'g> Draws<'g> {
    /// Returns the draws of `guitar` within its tolerances.
    pub fn of(guitar: &'g Guitar) -> Self {
        Self { guitar }
    }

    /// Returns the draw of this number, which does not depend on any other: each part evenly within its tolerance; a coil's
    /// values that are a built-in pickup's evenly within the ranges of its type, for both coils at one place of these, each
    /// coil off that by up to [`Tolerances::OWN`]; and what was measured as the errors of its measurement are spread:
    /// normally, with their correlations, and for both coils of a pair alike.
    pub fn draw(&self, number: u64) -> Guitar {
        let mut chance = ChaCha8Rng::seed_from_u64(SEED);
        chance.set_stream(number);
        let tolerances = self.guitar.tolerances();
        let mut errors = Errors::default();
        let mut places = Places::default();
        self.guitar.with_parts(|part| {
            if let Some(error) = errors.of(&part, &mut chance) {
                return off_by(&part, error);
            }
            match tolerances.variation(part.kind, part.origin, part.value) {
                Variation::Alone([low, high]) => low + (high - low) * even(&mut chance),
                Variation::AsType([low, high]) => {
                    let of_type = low + (high - low) * places.of(&part, &mut chance);
                    held(part.kind, of_type * (1.0 + Tolerances::OWN * (2.0 * even(&mut chance) - 1.0)))
                }
            }
        })
    }
}

/// Returns a number from 0 to below 1 of 53 bits, as many as a double has.
fn even(chance: &mut ChaCha8Rng) -> f64 {
    (chance.next_u64() >> 11) as f64 / (1u64 << 53) as f64
}

/// Returns two independent numbers of a standard normal distribution.
///
/// # Source
/// G. E. P. Box, M. E. Muller, *A Note on the Generation of Random Normal Deviates*, 1958.
fn normal(chance: &mut ChaCha8Rng) -> [f64; 2] {
    let radius = (-2.0 * (1.0 - even(chance)).ln()).sqrt();
    let (sin, cos) = (std::f64::consts::TAU * even(chance)).sin_cos();
    [radius * cos, radius * sin]
}

/// Returns the measured value of `part` with an `error` as a share of it: not less than a twentieth of what was measured,
/// and of an eddy section's share not all of an inductance.
fn off_by(part: &Part<'_>, error: f64) -> f64 {
    const LEAST: f64 = 0.05;
    held(part.kind, part.value * (1.0 + error).max(LEAST))
}

/// Returns `value`, of an eddy section's share not all of an inductance.
fn held(kind: PartKind, value: f64) -> f64 {
    const MOST_SHARE: f64 = 0.99;
    if kind == PartKind::EddyShare { value.min(MOST_SHARE) } else { value }
}

/// The places, from 0 to 1, of a pickup's values within the ranges of its type.
#[derive(Default)]
struct Places {
    of: String,
    drawn: Vec<(PartKind, f64)>,
}

impl Places {
    /// Returns the place of `part`, the same for both coils of a pickup.
    fn of(&mut self, part: &Part<'_>, chance: &mut ChaCha8Rng) -> f64 {
        if self.of != part.of {
            part.of.clone_into(&mut self.of);
            self.drawn.clear();
        }
        if let Some((_, place)) = self.drawn.iter().find(|(kind, _)| *kind == part.kind) {
            return *place;
        }
        let place = even(chance);
        self.drawn.push((part.kind, place));
        place
    }
}

/// The errors of the coil that was met last, and so of the pickup whose other coil may be next.
#[derive(Default)]
struct Errors {
    met: Option<(String, CoilName, MeasuredWith)>,
    independent: [f64; MEASURANDS],
}

impl Errors {
    /// Returns the error of `part` as a share of its value, where that was measured.
    fn of(&mut self, part: &Part<'_>, chance: &mut ChaCha8Rng) -> Option<f64> {
        let (deviation, measurement) = (part.origin.deviation()?, part.measurement?);
        let (coil, measurand) = (part.coil?, Measurand::of(part.kind)?);
        self.meet(part.of, coil, measurement, chance);
        Some(deviation * measurement.correlated(&self.independent)[measurand.index()])
    }

    fn meet(&mut self, pickup: &str, coil: CoilName, measurement: &Measurement, chance: &mut ChaCha8Rng) {
        let is_pair = match &self.met {
            Some((met, same, _)) if met == pickup && *same == coil => return,
            Some((met, _, MeasuredWith::Pair)) => met == pickup && measurement.with() == MeasuredWith::Pair,
            Some((.., MeasuredWith::Alone)) | None => false,
        };
        let drawn: [[f64; 2]; MEASURANDS / 2] = std::array::from_fn(|_| normal(chance));
        let resistance = Measurand::Resistance.index();
        for (i, (independent, drawn)) in
            self.independent.iter_mut().zip(drawn.into_iter().flatten()).enumerate()
        {
            // Each coil's ohms are read by themselves, also of a pair that was swept as one.
            if !is_pair || i == resistance {
                *independent = drawn;
            }
        }
        self.met = Some((pickup.to_owned(), coil, measurement.with()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    #[test]
    fn draws_lie_evenly_within_the_tolerances_and_are_the_same_every_time() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let draws = Draws::of(&guitar);
        assert_eq!(draws.draw(7), draws.draw(7));
        let all: Vec<Guitar> = (0..40).map(|number| draws.draw(number)).collect();
        for (number, one) in all.iter().enumerate() {
            assert!(!all[..number].contains(one), "draw {number} is an earlier one again");
        }
        let tolerances = guitar.tolerances();
        let (mut sums, mut squares, mut count) = (0.0, 0.0, 0.0);
        for number in 0..400 {
            let mut nominal = Vec::new();
            let _ = guitar.with_parts(|part| {
                nominal.push((part.kind, part.origin, part.value));
                part.value
            });
            let mut at = 0;
            let _ = draws.draw(number).with_parts(|part| {
                let (kind, origin, value) = nominal[at];
                at += 1;
                assert_eq!(kind, part.kind);
                let [low, high] = tolerances.range(kind, origin, value);
                assert!((low..=high).contains(&part.value), "{part:?}");
                // What is a type's is no even spread any more with each coil's own share.
                if kind != PartKind::Coupling && part.coil.is_none() {
                    let share = (part.value - low) / (high - low);
                    (sums, squares, count) = (sums + share, squares + share * share, count + 1.0);
                }
                part.value
            });
            assert_eq!(at, nominal.len());
        }
        // An even spread from 0 to 1 has mean 1/2 and variance 1/12; thrice the standard error of so many draws.
        let mean: f64 = sums / count;
        let variance = squares / count - mean * mean;
        assert!((mean - 0.5).abs() < 3.0 * (1.0 / 12.0 / count).sqrt(), "{mean}");
        assert!((variance - 1.0 / 12.0).abs() < 0.003, "{variance}");
    }

    #[test]
    fn a_types_values_go_together_for_both_coils_and_each_coil_is_a_little_off() {
        let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\n[[pickup]]\nname = \"q\"\n\
            like = \"vintage-full-size\"\nfrom_bridge = \"150 mm\"\n";
        let guitar = Guitar::read(&Document::new("mine.toml", text)).unwrap();
        let draws = Draws::of(&guitar);
        let inductances = |number: u64| -> Vec<f64> {
            let mut values = Vec::new();
            let _ = draws.draw(number).with_parts(|part| {
                if part.kind == PartKind::Inductance {
                    values.push(part.value);
                }
                part.value
            });
            values
        };
        let drawn: Vec<Vec<f64>> = (0..2000).map(inductances).collect();
        let (mut least, mut most, mut unlike, mut pickups) = (f64::MAX, 0.0f64, 0.0f64, 0.0f64);
        for coils in &drawn {
            for (a, b) in [(coils[0], coils[1]), (coils[2], coils[3])] {
                unlike = unlike.max((a / b - 1.0).abs());
                (least, most) = (least.min(a), most.max(a));
            }
            pickups = pickups.max((coils[0] / coils[2] - 1.0).abs());
        }
        assert!((0.055..1.03 / 0.97 - 1.0).contains(&unlike), "{unlike}");
        // The file's limits are 1.75 H and 2.35 H.
        assert!(
            (1.75 * 0.97..1.75).contains(&least) && (2.35..2.35 * 1.03).contains(&most),
            "{least} {most}"
        );
        assert!(pickups > 0.25, "{pickups}");
    }

    /// The parts of pickup `p` in each of many draws of a guitar whose coils state `measured`.
    fn drawn(measured: [&str; 2]) -> Vec<Vec<f64>> {
        let values = "inductance = \"2\"\ncapacitance = \"100p\"\nloss = \"200k\"\nresistance = \"4k\"\n";
        let [a, b] = measured;
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\n[pickup.coil_a]\n{values}measured = {a}\n\
             [pickup.coil_b]\n{values}measured = {b}\n"
        );
        let guitar = Guitar::read(&Document::new("mine.toml", text)).unwrap();
        let draws = Draws::of(&guitar);
        let parts = |number: u64| {
            let mut values = Vec::new();
            let _ = draws.draw(number).with_parts(|part| {
                if part.coil.is_some() && Measurand::of(part.kind).is_some() {
                    values.push(part.value);
                }
                part.value
            });
            values
        };
        (0..4000).map(parts).collect()
    }

    /// The means, and the covariances as shares of the means, of values drawn together.
    fn moments(draws: &[Vec<f64>]) -> (Vec<f64>, Vec<Vec<f64>>) {
        let count = draws.len() as f64;
        let of = 0..draws[0].len();
        let means: Vec<f64> = of.clone().map(|i| draws.iter().map(|d| d[i]).sum::<f64>() / count).collect();
        let covariance = |i: usize, j: usize| {
            draws.iter().map(|d| (d[i] / means[i] - 1.0) * (d[j] / means[j] - 1.0)).sum::<f64>() / count
        };
        let all = of.clone().map(|i| of.clone().map(|j| covariance(i, j)).collect()).collect();
        (means, all)
    }

    #[test]
    fn measured_values_are_drawn_by_their_deviations_and_correlations() {
        let measured = "{ inductance = \"2 %\", capacitance = \"5 %\", correlation = \
            [[\"inductance\", \"capacitance\", \"-0.6\"]] }";
        let (means, covariances) = moments(&drawn([measured, "{ inductance = \"1 %\" }"]));
        // Resistance, inductance, capacitance, loss of coil A, then of coil B.
        assert!((means[1] / 2.0 - 1.0).abs() < 0.002, "{}", means[1]);
        for (i, deviation) in [(1, 0.02), (2, 0.05), (5, 0.01)] {
            assert!((covariances[i][i].sqrt() / deviation - 1.0).abs() < 0.04, "{i}: {}", covariances[i][i]);
        }
        let correlation =
            |i: usize, j: usize| covariances[i][j] / (covariances[i][i] * covariances[j][j]).sqrt();
        assert!((correlation(1, 2) + 0.6).abs() < 0.04, "{}", correlation(1, 2));
        for (i, j) in [(1, 5), (0, 1), (1, 3), (2, 6)] {
            assert!(correlation(i, j).abs() < 0.06, "{i}, {j}: {}", correlation(i, j));
        }
        // What was not measured lies within its tolerance as before: evenly.
        assert!((covariances[3][3].sqrt() - 0.3 / 3f64.sqrt()).abs() < 0.005, "{}", covariances[3][3]);
        let normal = drawn([measured, "{ inductance = \"1 %\" }"]);
        let within = normal.iter().filter(|d| (d[1] / 2.0 - 1.0).abs() < 0.02).count() as f64 / 4000.0;
        assert!((within - 0.6827).abs() < 0.03, "{within}");
    }

    #[test]
    fn both_coils_of_a_pair_are_off_alike_but_for_their_resistances() {
        let pair = "{ resistance = \"1 %\", inductance = \"2 %\", with = \"pair\" }";
        let (_, covariances) = moments(&drawn([pair, pair]));
        let correlation =
            |i: usize, j: usize| covariances[i][j] / (covariances[i][i] * covariances[j][j]).sqrt();
        assert!((correlation(1, 5) - 1.0).abs() < 1e-9, "{}", correlation(1, 5));
        assert!(correlation(0, 4).abs() < 0.06, "{}", correlation(0, 4));
        assert!((covariances[4][4].sqrt() / 0.01 - 1.0).abs() < 0.04);
    }

    #[test]
    fn a_measured_eddy_section_is_drawn_and_takes_no_whole_inductance() {
        let measured = "{ eddy_share = \"40 %\", eddy_corner = \"10 %\" }";
        let values =
            "inductance = \"2\"\ncapacitance = \"100p\"\nresistance = \"4k\"\neddy_corner = \"5k\"\n";
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\n[pickup.coil_a]\n{values}eddy_share = 0.7\nmeasured = {measured}\n"
        );
        let guitar = Guitar::read(&Document::new("mine.toml", text)).unwrap();
        let (mut shares, mut corners) = (Vec::new(), Vec::new());
        for number in 0..2000 {
            let _ = Draws::of(&guitar).draw(number).with_parts(|part| {
                match part.kind {
                    PartKind::EddyShare => shares.push(part.value),
                    PartKind::EddyCorner => corners.push(vec![part.value]),
                    _ => {}
                }
                part.value
            });
        }
        assert!(shares.len() == 2000 && shares.iter().all(|share| (0.03..=0.99).contains(share)));
        assert!(shares.iter().any(|share| *share > 0.98) && shares.iter().any(|share| *share < 0.2));
        let (means, covariances) = moments(&corners);
        assert!((means[0] / 5000.0 - 1.0).abs() < 0.01 && (covariances[0][0].sqrt() - 0.1).abs() < 0.006);
    }
}
