//! What is asked of one throw.

use std::fmt;
use std::str::FromStr;

use crate::wiring::trade_word::{ARRANGEMENT_WORDS, meant};
use crate::wiring::{Arrangement, Connection, Function, Sense};

/// What a throw is to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// A named arrangement, joined as its definition says.
    Named(Arrangement),
    /// Either coil alone, its + end toward hot, whatever the other does.
    Split,
    /// Nothing to be heard: hot muted or left open.
    Off,
    /// Anything.
    Any,
}

/// A word that asks for nothing that a throw can do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AskedError {
    /// There is no such arrangement.
    Unknown {
        /// The word as given.
        given: String,
    },
    /// The arrangement needs more than joints, or only one coil.
    NotByJoints {
        /// The arrangement.
        arrangement: Arrangement,
    },
}

/// The arrangements that joints alone can make of two coils.
const NAMED: [Arrangement; 8] = [
    Arrangement::Series,
    Arrangement::Parallel,
    Arrangement::SplitA,
    Arrangement::SplitB,
    Arrangement::SplitAOpen,
    Arrangement::SplitBOpen,
    Arrangement::SeriesReversed,
    Arrangement::ParallelReversed,
];

impl Asked {
    /// Returns everything that can be asked of a throw, named arrangements first.
    pub fn all() -> impl Iterator<Item = Self> {
        NAMED.into_iter().map(Self::Named).chain([Self::Split, Self::Off, Self::Any])
    }

    /// Returns whether `connection` is what is asked.
    ///
    /// A named arrangement is asked for exactly: all that its definition joins is joined, coil A first, and
    /// nothing more that would change what it does. What the definition leaves open, such as where a shorted
    /// coil is held, is open here too.
    pub fn accepts(self, connection: &Connection) -> bool {
        let function = Function::of(connection);
        match self {
            Self::Named(arrangement) => {
                let named = arrangement.connection();
                named.is_within(connection) && Function::of(&named) == function
            }
            Self::Split => matches!(function, Function::OneCoil { sense: Sense::Upright, .. }),
            Self::Off => matches!(function, Function::Muted | Function::Dead),
            Self::Any => true,
        }
    }
}

impl fmt::Display for Asked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Named(arrangement) => arrangement.fmt(f),
            Self::Split => f.pad("split"),
            Self::Off => f.pad("off"),
            Self::Any => f.pad("any"),
        }
    }
}

impl FromStr for Asked {
    type Err = AskedError;

    fn from_str(word: &str) -> Result<Self, Self::Err> {
        if let Some(asked) = Self::all().find(|asked| asked.to_string() == word) {
            return Ok(asked);
        }
        Err(match word.parse::<Arrangement>() {
            Ok(arrangement) => AskedError::NotByJoints { arrangement },
            Err(_) => AskedError::Unknown { given: word.to_owned() },
        })
    }
}

impl AskedError {
    /// Returns what to do about it.
    pub fn hint(&self) -> String {
        let words: Vec<String> = Asked::all().map(|asked| asked.to_string()).collect();
        let all = || format!("a throw can be asked for {}", words.join(", "));
        match self {
            Self::Unknown { given } => {
                let words: Vec<&str> = words.iter().map(String::as_str).collect();
                let meant = meant(given, &words, &ARRANGEMENT_WORDS);
                meant.and_then(|meant| meant.hint(&words)).unwrap_or_else(all)
            }
            Self::NotByJoints { .. } => all(),
        }
    }
}

impl fmt::Display for AskedError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown { given } => write!(f, "`{given}` is no arrangement that a throw can be asked for"),
            Self::NotByJoints { arrangement: Arrangement::SeriesBypassed } => {
                f.write_str("`series-bypassed` takes a capacitor, and a plan is made of joints alone")
            }
            Self::NotByJoints { arrangement } => {
                write!(f, "`{arrangement}` is a one-coil pickup's, which leaves nothing to switch")
            }
        }
    }
}

impl std::error::Error for AskedError {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wiring::Terminal::{AMinus, APlus, BMinus, BPlus, Ground, Hot};

    #[test]
    fn a_named_arrangement_is_asked_for_exactly_coil_a_first() {
        let accepted = |asked: Asked| Connection::all().iter().filter(|c| asked.accepts(c)).count();
        for asked in Asked::all() {
            let expected = match asked {
                // The shorted coil may float, or be held on hot or on ground.
                Asked::Named(Arrangement::SplitA | Arrangement::SplitB) => 3,
                Asked::Named(_) => 1,
                // Two coils; the other shorted in three ways or open in five.
                Asked::Split => 16,
                // Muted: Bell(5). Dead: what the classes of all 203 leave.
                Asked::Off => 52 + 107,
                Asked::Any => 203,
            };
            assert_eq!(accepted(asked), expected, "{asked}");
        }
        let b_first = Connection::joining([&[Hot, BPlus][..], &[BMinus, APlus], &[AMinus, Ground]]);
        assert!(!Asked::Named(Arrangement::Series).accepts(&b_first));
    }

    #[test]
    fn a_word_that_asks_for_nothing_is_refused_with_what_to_write() {
        assert_eq!("paralel".parse::<Asked>().unwrap_err().hint(), "did you mean `parallel`?");
        assert!(matches!("series-bypassed".parse::<Asked>(), Err(AskedError::NotByJoints { .. })));
        assert!("alone".parse::<Asked>().unwrap_err().to_string().contains("nothing to switch"));
    }
}
