//! A connection told in words.

use super::Terminal::{Ground, Hot};
use super::{CoilName, CoilsJoined, Connection, Function, Sense};

impl Connection {
    /// Returns the arrangement's name where the connection has one, and else the connection in words.
    pub fn label(&self) -> String {
        self.arrangement().map_or_else(|| self.words(), |named| named.name().to_owned())
    }

    /// Returns the connection in plain words, such as `coil A alone, coil B hanging from hot`.
    pub fn words(&self) -> String {
        match Function::of(self) {
            Function::Muted => "hot shorted to ground".to_owned(),
            Function::Dead => {
                let hanging: Vec<String> = CoilName::BOTH
                    .into_iter()
                    .filter(|coil| self.hangs(*coil))
                    .map(|c| c.to_string())
                    .collect();
                match hanging.as_slice() {
                    [] => "nothing connected to hot".to_owned(),
                    coils => format!("nothing to ground, {} hanging from hot", coils.join(" and ")),
                }
            }
            Function::OneCoil { coil, sense, .. } => {
                let turned = match sense {
                    Sense::Upright => "",
                    Sense::Turned => " and turned round",
                };
                format!("{coil} alone{turned}, {}", self.unused_words(coil.other()))
            }
            Function::TwoCoils { joined, a, b } => {
                let (name, order) = match joined {
                    CoilsJoined::Series
                        if self.joins(Hot, CoilName::A.plus()) || self.joins(Hot, CoilName::A.minus()) =>
                    {
                        ("series", "")
                    }
                    CoilsJoined::Series => ("series", ", coil B nearer hot"),
                    CoilsJoined::Parallel => ("parallel", ""),
                };
                let turned = match (a, b) {
                    (Sense::Upright, Sense::Upright) => "",
                    (Sense::Upright, Sense::Turned) => " with coil B reversed",
                    (Sense::Turned, Sense::Upright) => " with coil A reversed",
                    (Sense::Turned, Sense::Turned) => " with both coils turned round",
                };
                format!("{name}{turned}{order}")
            }
        }
    }

    fn hangs(self, coil: CoilName) -> bool {
        self.hanging_from_hot().iter().any(|end| [coil.plus(), coil.minus()].contains(end))
    }

    /// Returns where the unused `coil` is held, in words.
    fn unused_words(self, coil: CoilName) -> String {
        let on = |place| self.joins(coil.plus(), place) || self.joins(coil.minus(), place);
        let shorted = self.joins(coil.plus(), coil.minus());
        let how = match (shorted, on(Hot), on(Ground)) {
            (false, true, _) => "hanging from hot",
            (false, false, true) => "open, one end on ground",
            (false, false, false) => "not connected",
            (true, true, _) => "shorted on hot",
            (true, false, true) => "shorted on ground",
            (true, false, false) => "shorted",
        };
        format!("{coil} {how}")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wiring::Terminal::{AMinus, APlus, BMinus, BPlus};

    #[test]
    fn connections_without_a_name_are_told_in_words() {
        for (groups, words) in [
            (&[&[Hot, APlus, BPlus][..], &[AMinus, Ground]][..], "coil A alone, coil B hanging from hot"),
            (&[&[Hot, APlus], &[AMinus, BPlus, BMinus, Ground]], "coil A alone, coil B shorted on ground"),
            (&[&[Hot, APlus], &[AMinus, Ground]], "coil A alone, coil B not connected"),
            (&[&[Hot, APlus], &[AMinus, BMinus, Ground]], "coil A alone, coil B open, one end on ground"),
            (&[&[Hot, BMinus], &[BPlus, Ground]], "coil B alone and turned round, coil A not connected"),
            (&[&[Hot, BPlus], &[BMinus, APlus], &[AMinus, Ground]], "series, coil B nearer hot"),
            (
                &[&[Hot, BMinus], &[BPlus, APlus], &[AMinus, Ground]],
                "series with coil B reversed, coil B nearer hot",
            ),
            (&[&[Hot, BMinus, AMinus], &[BPlus, APlus, Ground]], "parallel with both coils turned round"),
            (&[&[Hot, APlus], &[AMinus, BPlus]], "nothing to ground, coil A hanging from hot"),
            (&[&[APlus, BPlus], &[AMinus, BMinus]], "nothing connected to hot"),
            (&[&[Hot, APlus, BPlus], &[AMinus, Ground, BPlus]], "hot shorted to ground"),
        ] {
            assert_eq!(Connection::joining(groups.iter().copied()).words(), words);
        }
    }

    #[test]
    fn a_coil_that_hangs_from_hot_is_told_and_not_named_away() {
        let hanging = Connection::joining([&[Hot, APlus, BPlus][..], &[AMinus, Ground]]);
        assert_eq!(hanging.label(), "coil A alone, coil B hanging from hot");
        let on_ground = Connection::joining([&[Hot, APlus][..], &[AMinus, BPlus, Ground]]);
        assert_eq!(on_ground.label(), "split-a-open");
    }
}
