//! What a connection does: which coils lie between hot and ground, and how.

use super::Terminal::{Ground, Hot};
use super::{Arrangement, CoilName, Connection, Sense, Terminal};

/// What a connection does at the jack. Connections of one function sound alike: it says nothing of where a
/// shorted coil is held, which end of an open coil is, or the order of two coils in series.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Function {
    /// Hot is joined to ground: silence.
    Muted,
    /// No coil lies between hot and ground.
    Dead,
    /// One coil lies between hot and ground.
    OneCoil {
        /// The coil that is heard.
        coil: CoilName,
        /// How it stands.
        sense: Sense,
        /// What the unused coil does.
        other: Unused,
    },
    /// Both coils lie between hot and ground.
    TwoCoils {
        /// How they are joined.
        joined: CoilsJoined,
        /// How coil A stands.
        a: Sense,
        /// How coil B stands.
        b: Sense,
    },
}

/// What an unused coil's ends do; it matters because the coils are coupled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Unused {
    /// They are joined: a current flows in the coil.
    Shorted,
    /// At least one is free or nothing leads on from it: no current flows.
    Open,
}

/// How two coils are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CoilsJoined {
    /// One after the other.
    Series,
    /// Side by side.
    Parallel,
}

impl Function {
    /// Returns what `connection` does.
    pub fn of(connection: &Connection) -> Self {
        if connection.joins(Hot, Ground) {
            return Self::Muted;
        }
        let across = |coil| sense_between(*connection, coil, Hot, Ground);
        let unused = |coil: CoilName| {
            if connection.joins(coil.plus(), coil.minus()) { Unused::Shorted } else { Unused::Open }
        };
        match (across(CoilName::A), across(CoilName::B)) {
            (Some(a), Some(b)) => Self::TwoCoils { joined: CoilsJoined::Parallel, a, b },
            (Some(sense), None) => Self::OneCoil { coil: CoilName::A, sense, other: unused(CoilName::B) },
            (None, Some(sense)) => Self::OneCoil { coil: CoilName::B, sense, other: unused(CoilName::A) },
            (None, None) => match series_from_hot(*connection) {
                Some([a, b]) => Self::TwoCoils { joined: CoilsJoined::Series, a, b },
                None => Self::Dead,
            },
        }
    }

    /// Returns the named arrangement that does the same, polarity included.
    pub fn arrangement(self) -> Option<Arrangement> {
        use Sense::{Turned, Upright};
        match self {
            Self::TwoCoils { joined: CoilsJoined::Series, a: Upright, b: Upright } => {
                Some(Arrangement::Series)
            }
            Self::TwoCoils { joined: CoilsJoined::Parallel, a: Upright, b: Upright } => {
                Some(Arrangement::Parallel)
            }
            Self::TwoCoils { joined: CoilsJoined::Series, a: Upright, b: Turned } => {
                Some(Arrangement::SeriesReversed)
            }
            Self::TwoCoils { joined: CoilsJoined::Parallel, a: Upright, b: Turned } => {
                Some(Arrangement::ParallelReversed)
            }
            Self::OneCoil { coil: CoilName::A, sense: Upright, other: Unused::Shorted } => {
                Some(Arrangement::SplitA)
            }
            Self::OneCoil { coil: CoilName::B, sense: Upright, other: Unused::Shorted } => {
                Some(Arrangement::SplitB)
            }
            Self::OneCoil { coil: CoilName::A, sense: Upright, other: Unused::Open } => {
                Some(Arrangement::SplitAOpen)
            }
            Self::OneCoil { coil: CoilName::B, sense: Upright, other: Unused::Open } => {
                Some(Arrangement::SplitBOpen)
            }
            Self::Muted
            | Self::Dead
            | Self::OneCoil { sense: Turned, .. }
            | Self::TwoCoils { a: Turned, .. } => None,
        }
    }

    /// Returns whether `coil` lies between hot and ground.
    pub fn uses(self, coil: CoilName) -> bool {
        match self {
            Self::Muted | Self::Dead => false,
            Self::OneCoil { coil: used, .. } => used == coil,
            Self::TwoCoils { .. } => true,
        }
    }

    /// Returns whether both coils are heard and their ends named + point the same way; `None` where fewer than
    /// two are.
    pub fn in_phase(self) -> Option<bool> {
        match self {
            Self::Muted | Self::Dead | Self::OneCoil { .. } => None,
            Self::TwoCoils { a, b, .. } => Some(a == b),
        }
    }

    /// Returns whether all that is heard stands with its − ends toward hot, so that the pickup as a whole is
    /// turned round.
    pub fn is_turned(self) -> bool {
        match self {
            Self::Muted | Self::Dead => false,
            Self::OneCoil { sense, .. } => sense == Sense::Turned,
            Self::TwoCoils { a, b, .. } => a == Sense::Turned && b == Sense::Turned,
        }
    }
}

impl Connection {
    /// Returns the ends of unused coils that are joined to hot: a coil that hangs from hot adds no tone and
    /// picks up noise.
    pub fn hanging_from_hot(&self) -> Vec<Terminal> {
        let function = Function::of(self);
        let mut ends = Vec::new();
        if function != Function::Muted {
            for coil in CoilName::BOTH.into_iter().filter(|coil| !function.uses(*coil)) {
                ends.extend([coil.plus(), coil.minus()].into_iter().filter(|end| self.joins(*end, Hot)));
            }
        }
        ends
    }

    /// Returns whether an unused coil hangs from hot by one end, the other leading nowhere.
    pub fn dangles_from_hot(&self) -> bool {
        CoilName::BOTH.into_iter().any(|coil| {
            let ends = [coil.plus(), coil.minus()];
            self.hanging_from_hot().iter().filter(|end| ends.contains(end)).count() == 1
        })
    }

    /// Returns the named arrangement that the connection is; none where a coil hangs from hot, which the names do
    /// not say.
    pub fn arrangement(&self) -> Option<Arrangement> {
        let open = |named: &Arrangement| matches!(named, Arrangement::SplitAOpen | Arrangement::SplitBOpen);
        Function::of(self).arrangement().filter(|named| !open(named) || self.hanging_from_hot().is_empty())
    }
}

/// Returns how `coil` stands where it lies from `above` to `below` and nothing of it is shorted.
fn sense_between(connection: Connection, coil: CoilName, above: Terminal, below: Terminal) -> Option<Sense> {
    let lies = |up, down| connection.joins(up, above) && connection.joins(down, below);
    if connection.joins(coil.plus(), coil.minus()) {
        None
    } else if lies(coil.plus(), coil.minus()) {
        Some(Sense::Upright)
    } else if lies(coil.minus(), coil.plus()) {
        Some(Sense::Turned)
    } else {
        None
    }
}

/// Returns the senses of coil A and coil B where the two lie one after the other from hot to ground.
fn series_from_hot(connection: Connection) -> Option<[Sense; 2]> {
    for upper in CoilName::BOTH {
        for middle in [upper.plus(), upper.minus()] {
            let above = sense_between(connection, upper, Hot, middle);
            let below = sense_between(connection, upper.other(), middle, Ground);
            if let (Some(above), Some(below)) = (above, below) {
                return Some(match upper {
                    CoilName::A => [above, below],
                    CoilName::B => [below, above],
                });
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::Terminal::{AMinus, APlus, BMinus, BPlus};
    use super::*;

    #[test]
    fn every_named_arrangement_is_recognised_as_itself() {
        for arrangement in Arrangement::TWO_COIL {
            // The capacitor of the bypassed series is a part and no joint.
            let expected = match arrangement {
                Arrangement::SeriesBypassed => Arrangement::Series,
                other => other,
            };
            assert_eq!(Function::of(&arrangement.connection()).arrangement(), Some(expected));
        }
    }

    /// Returns the voltage at hot against ground, into 1 kΩ, of one volt in coil A (3 Ω) or coil B (5 Ω): nodal
    /// analysis by Gaussian elimination, each node tied to ground by 10 GΩ so that none floats.
    fn measured(connection: Connection, source: CoilName) -> f64 {
        let mut rows = [[0.0_f64; 7]; 6];
        let mut part = |p: usize, m: usize, siemens: f64, emf: f64| {
            // The current `emf · siemens` flows out at the + end.
            rows[p][p] += siemens;
            rows[m][m] += siemens;
            rows[p][m] -= siemens;
            rows[m][p] -= siemens;
            rows[p][6] += emf * siemens;
            rows[m][6] -= emf * siemens;
        };
        let at = |terminal| connection.node(terminal);
        for (coil, ohms) in [(CoilName::A, 3.0), (CoilName::B, 5.0)] {
            part(at(coil.plus()), at(coil.minus()), 1.0 / ohms, f64::from(u8::from(coil == source)));
        }
        part(at(Hot), at(Ground), 1e-3, 0.0);
        for node in 0..6 {
            part(node, at(Ground), 1e-10, 0.0);
        }
        rows[at(Ground)] = [0.0; 7];
        rows[at(Ground)][at(Ground)] = 1.0;
        for k in 0..6 {
            let pivot = rows[k];
            for row in rows.iter_mut().skip(k + 1) {
                let factor = row[k] / pivot[k];
                row.iter_mut().zip(pivot).for_each(|(entry, above)| *entry -= factor * above);
            }
        }
        let mut volts = [0.0; 6];
        for k in (0..6).rev() {
            let known: f64 = (k + 1..6).map(|j| rows[k][j] * volts[j]).sum();
            volts[k] = (rows[k][6] - known) / rows[k][k];
        }
        volts[at(Hot)]
    }

    #[test]
    fn what_each_of_the_203_connections_does_is_what_nodal_analysis_finds() {
        for connection in Connection::all() {
            let sign = |sense| if sense == Sense::Upright { 1.0 } else { -1.0 };
            let (a, b) = match Function::of(&connection) {
                Function::Muted | Function::Dead => (0.0, 0.0),
                Function::OneCoil { coil: CoilName::A, sense, .. } => (sign(sense) * 1000.0 / 1003.0, 0.0),
                Function::OneCoil { coil: CoilName::B, sense, .. } => (0.0, sign(sense) * 1000.0 / 1005.0),
                Function::TwoCoils { joined: CoilsJoined::Series, a, b } => {
                    (sign(a) * 1000.0 / 1008.0, sign(b) * 1000.0 / 1008.0)
                }
                Function::TwoCoils { joined: CoilsJoined::Parallel, a, b } => {
                    let total = 1.0 / 3.0 + 1.0 / 5.0 + 1e-3;
                    (sign(a) / 3.0 / total, sign(b) / 5.0 / total)
                }
            };
            for (source, expected) in [(CoilName::A, a), (CoilName::B, b)] {
                // Five ties at no more than a volt move hot, at 1 kΩ, by at most 5e-7 V.
                let found = measured(connection, source);
                assert!((found - expected).abs() < 1e-6, "{connection:?}: {found} for {expected}");
            }
        }
    }

    #[test]
    fn the_203_connections_fall_into_classes_whose_sizes_add_up() {
        let mut counts = std::collections::BTreeMap::new();
        for connection in Connection::all() {
            let class = match Function::of(&connection) {
                Function::Muted => "muted",
                Function::Dead => "dead",
                Function::OneCoil { .. } => "one coil",
                Function::TwoCoils { joined: CoilsJoined::Series, .. } => "series",
                Function::TwoCoils { joined: CoilsJoined::Parallel, .. } => "parallel",
            };
            *counts.entry(class).or_insert(0) += 1;
        }
        // Muted: hot and ground are one point, so the partitions of five (Bell 52). Parallel: two senses each.
        // Series: two orders of two senses each. One coil: two coils, two senses, and 3 ways for the unused
        // one to be shorted and 5 to be open.
        let expected = [
            ("dead", 203 - 52 - 4 - 8 - 32),
            ("muted", 52),
            ("one coil", 32),
            ("parallel", 4),
            ("series", 8),
        ];
        assert_eq!(counts.into_iter().collect::<Vec<_>>(), expected);
    }

    #[test]
    fn an_end_hangs_where_its_coil_is_unused_and_on_hot() {
        let one = Connection::joining([&[Hot, APlus, BPlus][..], &[AMinus, Ground]]);
        assert_eq!(one.hanging_from_hot(), [BPlus]);
        assert!(one.dangles_from_hot());
        let shorted = Connection::joining([&[Hot, APlus, BPlus, BMinus][..], &[AMinus, Ground]]);
        assert_eq!(shorted.hanging_from_hot(), [BPlus, BMinus]);
        assert!(!shorted.dangles_from_hot());
        for arrangement in Arrangement::TWO_COIL {
            assert_eq!(arrangement.connection().hanging_from_hot(), []);
        }
    }
}
