//! The coil arrangements that the trade has names for.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use super::Terminal::{AMinus, APlus, BMinus, BPlus, Ground, Hot};
use super::trade_word::{ARRANGEMENT_WORDS, meant};
use super::{Connection, Terminal};

/// A way to connect a pickup's coils between hot and ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Arrangement {
    /// Both coils one after the other, strings in phase.
    Series,
    /// Both coils side by side, strings in phase.
    Parallel,
    /// Coil A alone, coil B's ends joined to each other.
    SplitA,
    /// Coil B alone, coil A's ends joined to each other.
    SplitB,
    /// Coil A alone, coil B's + end left open and its − end on ground.
    SplitAOpen,
    /// Coil B alone, coil A's + end left open and its − end on ground.
    SplitBOpen,
    /// Series with coil B turned round: strings out of phase.
    SeriesReversed,
    /// Parallel with coil B turned round: strings out of phase.
    ParallelReversed,
    /// Series with a capacitor from the coils' joint to ground.
    SeriesBypassed,
    /// The one coil of a one-coil pickup.
    Alone,
}

/// A name that no arrangement has.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{given}` is no arrangement; there are {}", Arrangement::names().join(", "))]
pub struct UnknownArrangement {
    /// The name as given.
    pub given: String,
}

impl UnknownArrangement {
    /// Returns what was probably meant, in other spelling or by another word of the trade, as a hint.
    pub fn hint(&self) -> Option<String> {
        let names = Arrangement::names();
        meant(&self.given, &names, &ARRANGEMENT_WORDS)?.hint(&names)
    }
}

impl Arrangement {
    /// Every arrangement of a two-coil pickup.
    pub const TWO_COIL: [Self; 9] = [
        Self::Series,
        Self::Parallel,
        Self::SplitA,
        Self::SplitB,
        Self::SplitAOpen,
        Self::SplitBOpen,
        Self::SeriesReversed,
        Self::ParallelReversed,
        Self::SeriesBypassed,
    ];

    /// Returns the arrangement's name in options, files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Series => "series",
            Self::Parallel => "parallel",
            Self::SplitA => "split-a",
            Self::SplitB => "split-b",
            Self::SplitAOpen => "split-a-open",
            Self::SplitBOpen => "split-b-open",
            Self::SeriesReversed => "series-reversed",
            Self::ParallelReversed => "parallel-reversed",
            Self::SeriesBypassed => "series-bypassed",
            Self::Alone => "alone",
        }
    }

    /// Returns the joints that make the arrangement.
    ///
    /// The bypass capacitor of [`Arrangement::SeriesBypassed`] is a part, not a joint: its joints are those of
    /// [`Arrangement::Series`].
    pub const fn joints(self) -> &'static [&'static [Terminal]] {
        match self {
            Self::Series | Self::SeriesBypassed => &[&[Hot, APlus], &[AMinus, BPlus], &[BMinus, Ground]],
            Self::Parallel => &[&[Hot, APlus, BPlus], &[AMinus, BMinus, Ground]],
            Self::SplitA => &[&[Hot, APlus], &[AMinus, Ground], &[BPlus, BMinus]],
            Self::SplitB => &[&[Hot, BPlus], &[BMinus, Ground], &[APlus, AMinus]],
            Self::SplitAOpen => &[&[Hot, APlus], &[AMinus, BMinus, Ground]],
            Self::SplitBOpen => &[&[Hot, BPlus], &[AMinus, BMinus, Ground]],
            Self::SeriesReversed => &[&[Hot, APlus], &[AMinus, BMinus], &[BPlus, Ground]],
            Self::ParallelReversed => &[&[Hot, APlus, BMinus], &[AMinus, BPlus, Ground]],
            Self::Alone => &[&[Hot, APlus], &[AMinus, Ground]],
        }
    }

    /// Returns the joints as a partition of the terminals.
    pub fn connection(self) -> Connection {
        Connection::joining(self.joints().iter().copied())
    }

    fn names() -> Vec<&'static str> {
        Self::TWO_COIL.into_iter().chain([Self::Alone]).map(Self::name).collect()
    }
}

impl fmt::Display for Arrangement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Arrangement {
    type Err = UnknownArrangement;

    fn from_str(name: &str) -> Result<Self, Self::Err> {
        Self::TWO_COIL
            .into_iter()
            .chain([Self::Alone])
            .find(|a| a.name() == name)
            .ok_or_else(|| UnknownArrangement { given: name.to_owned() })
    }
}

#[cfg(test)]
mod tests {
    use super::Arrangement;

    #[test]
    fn an_arrangement_is_called_in_data_as_it_is_called_everywhere() {
        for arrangement in Arrangement::TWO_COIL.into_iter().chain([Arrangement::Alone]) {
            let text = serde_json::to_string(&arrangement).expect("a text");
            assert_eq!(text, format!("\"{}\"", arrangement.name()));
        }
    }

    #[test]
    fn a_name_that_no_arrangement_has_tells_what_was_meant_if_any_is_near() {
        let hint = |given: &str| given.parse::<Arrangement>().expect_err("no such name").hint();
        assert_eq!(hint("seris").as_deref(), Some("did you mean `series`?"));
        assert_eq!(hint("Split-B").as_deref(), Some("did you mean `split-b`?"));
        assert_eq!(hint("one coil").as_deref(), Some("that is `split-a`, `split-b` or `alone` here"));
        assert_eq!(hint("xyz"), None);
    }
}
