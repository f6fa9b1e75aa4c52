//! How sure the values of a coil are that were measured, and how their errors go together.

use super::PartKind;
use super::keys::Worded;

/// A value of a coil that can be measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measurand {
    /// The wire's resistance.
    Resistance,
    /// The inductance.
    Inductance,
    /// The winding's capacitance.
    Capacitance,
    /// The parallel loss.
    Loss,
    /// The eddy section's share.
    EddyShare,
    /// The eddy section's corner frequency.
    EddyCorner,
}

/// How many values of a coil can be measured.
pub const MEASURANDS: usize = Measurand::ALL.len();

impl Measurand {
    /// All of them, the resistance first.
    pub const ALL: [Self; 6] = [
        Self::Resistance,
        Self::Inductance,
        Self::Capacitance,
        Self::Loss,
        Self::EddyShare,
        Self::EddyCorner,
    ];

    /// Returns its place in [`Measurand::ALL`].
    pub const fn index(self) -> usize {
        self as usize
    }

    /// Returns the key at which a guitar's file states it.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Resistance => "resistance",
            Self::Inductance => "inductance",
            Self::Capacitance => "capacitance",
            Self::Loss => "loss",
            Self::EddyShare => "eddy_share",
            Self::EddyCorner => "eddy_corner",
        }
    }

    /// Returns what it is called in sentences.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Resistance => "resistance",
            Self::Inductance => "inductance",
            Self::Capacitance => "capacitance",
            Self::Loss => "loss",
            Self::EddyShare => "eddy share",
            Self::EddyCorner => "eddy corner",
        }
    }

    /// Returns which value of a coil parts of this kind are, if any.
    pub const fn of(kind: PartKind) -> Option<Self> {
        match kind {
            PartKind::Resistance => Some(Self::Resistance),
            PartKind::Inductance => Some(Self::Inductance),
            PartKind::Capacitance => Some(Self::Capacitance),
            PartKind::Loss => Some(Self::Loss),
            PartKind::EddyShare => Some(Self::EddyShare),
            PartKind::EddyCorner => Some(Self::EddyCorner),
            PartKind::Lead
            | PartKind::Output
            | PartKind::Turns
            | PartKind::Coupling
            | PartKind::Pot
            | PartKind::Taper
            | PartKind::Capacitor
            | PartKind::Resistor
            | PartKind::Cable
            | PartKind::InputResistance
            | PartKind::InputCapacitance => None,
        }
    }
}

/// What a coil was measured with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasuredWith {
    /// Nothing: by itself.
    Alone,
    /// The other coil, both as one: but for their resistances they are then off alike.
    Pair,
}

impl Worded for MeasuredWith {
    const WORDS: &'static [(&'static str, Self)] = &[("alone", Self::Alone), ("pair", Self::Pair)];
}

/// How a coil was measured. How sure each value is, its [`super::Origin`] tells.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurement {
    with: MeasuredWith,
    /// The lower triangle whose product with its transpose is the correlation of the errors.
    factor: [[f64; MEASURANDS]; MEASURANDS],
}

impl Measurement {
    /// Returns a measurement with such correlations between the errors of pairs of values, each above −1 and below 1;
    /// nothing where no errors can have them all.
    pub(super) fn new(
        with: MeasuredWith,
        correlations: impl IntoIterator<Item = ([Measurand; 2], f64)>,
    ) -> Option<Self> {
        let mut matrix = [[0.0; MEASURANDS]; MEASURANDS];
        for (i, row) in matrix.iter_mut().enumerate() {
            row[i] = 1.0;
        }
        for ([one, other], correlation) in correlations {
            matrix[one.index()][other.index()] = correlation;
            matrix[other.index()][one.index()] = correlation;
        }
        Some(Self { with, factor: cholesky(&matrix)? })
    }

    /// Returns what the coil was measured with.
    pub fn with(&self) -> MeasuredWith {
        self.with
    }

    /// Returns errors in standard deviations, in the order of [`Measurand::ALL`], of the stated correlation, out of as many
    /// `independent` ones. That of the resistance is the first of those itself.
    pub fn correlated(&self, independent: &[f64; MEASURANDS]) -> [f64; MEASURANDS] {
        self.factor.map(|row| row.iter().zip(independent).map(|(factor, error)| factor * error).sum())
    }
}

/// Returns the lower triangle whose product with its transpose is `matrix`, where that is positive definite.
///
/// # Source
/// G. H. Golub, C. F. Van Loan, *Matrix Computations*, 4th edition, 2013, section 4.2.
fn cholesky(matrix: &[[f64; MEASURANDS]; MEASURANDS]) -> Option<[[f64; MEASURANDS]; MEASURANDS]> {
    /// Below this the errors of one value follow from those of the others.
    const LEAST_PIVOT: f64 = 1e-9;
    let mut factor = [[0.0; MEASURANDS]; MEASURANDS];
    for i in 0..MEASURANDS {
        for j in 0..=i {
            let rest = matrix[i][j] - (0..j).map(|k| factor[i][k] * factor[j][k]).sum::<f64>();
            if i == j {
                factor[i][i] = Some(rest).filter(|rest| *rest > LEAST_PIVOT)?.sqrt();
            } else {
                factor[i][j] = rest / factor[j][j];
            }
        }
    }
    Some(factor)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn errors_have_the_correlation_that_is_stated() {
        let correlations = [
            ([Measurand::Inductance, Measurand::Capacitance], -0.6),
            ([Measurand::Capacitance, Measurand::Loss], 0.3),
            ([Measurand::Resistance, Measurand::Inductance], 0.2),
        ];
        let measurement = Measurement::new(MeasuredWith::Alone, correlations).unwrap();
        // The product of the triangle with its transpose, row by row, from its answers to unit errors.
        let columns: Vec<[f64; MEASURANDS]> = (0..MEASURANDS)
            .map(|i| measurement.correlated(&std::array::from_fn(|k| f64::from(u8::from(k == i)))))
            .collect();
        for one in Measurand::ALL {
            for other in Measurand::ALL {
                let product: f64 = columns.iter().map(|c| c[one.index()] * c[other.index()]).sum();
                let stated = correlations
                    .iter()
                    .find(|([a, b], _)| [*a, *b] == [one, other] || [*b, *a] == [one, other])
                    .map_or(if one == other { 1.0 } else { 0.0 }, |(_, correlation)| *correlation);
                assert!((product - stated).abs() < 1e-12, "{one:?} {other:?}: {product}");
            }
        }
        assert_eq!(columns[0][0], 1.0);
    }

    #[test]
    fn correlations_that_contradict_each_other_make_no_measurement() {
        use Measurand::{Capacitance, Inductance, Loss};
        let correlations =
            [([Inductance, Capacitance], 0.9), ([Capacitance, Loss], 0.9), ([Inductance, Loss], -0.9)];
        assert_eq!(Measurement::new(MeasuredWith::Pair, correlations), None);
    }
}
