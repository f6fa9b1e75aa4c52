//! What a meter, a needle and a compass said.

use std::fmt;

use crate::guitar::Pole;
use crate::quantity::{Ohms, parse_quantity};

/// A lead or the shield, by its place among the conductors of the [`Readings`](super::Readings) it belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Conductor(pub(super) u8);

impl Conductor {
    /// Returns the conductor's place: the leads in their order, then the shield.
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// One of the two coils, told apart by its bobbin: the one named first and the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Bobbin {
    /// The coil named first.
    First,
    /// The other coil.
    Second,
}

impl Bobbin {
    /// Both coils.
    pub const BOTH: [Self; 2] = [Self::First, Self::Second];

    /// Returns 0 for the first coil and 1 for the second.
    pub const fn index(self) -> usize {
        self as usize
    }
}

/// What an ohmmeter showed.
#[derive(Debug, Clone, PartialEq)]
pub struct OhmmeterReading {
    shown: String,
    ohms: Option<Ohms>,
}

/// A text that no ohmmeter shows.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MeterError {
    /// The text is neither a resistance nor `open`.
    #[error("`{}` is not a resistance such as 5.9k, 5k9 or 5900, nor `open`", given.escape_debug())]
    NoResistance {
        /// The text as given.
        given: String,
    },
    /// The resistance is below zero.
    #[error("`{}` is below zero, which no resistance is", given.escape_debug())]
    Negative {
        /// The text as given.
        given: String,
    },
    /// The number may have been read on more than one range.
    #[error("`{}` may be {_0}: write {}", _0.given, _0.in_writing())]
    Unclear(Unclear),
}

/// A number without a unit that one meter shows for ohms and another for kilohms; a lone 1 many show for an open
/// circuit. It is shown as all that it may be, such as `5.9 Ω or 5.9 kΩ`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unclear {
    given: String,
    may_be_open: bool,
}

impl Unclear {
    /// From here to below [`Unclear::TO`] a bare number is a short or a joint in ohms, and a coil in kilohms.
    const FROM: f64 = 1.0;
    const TO: f64 = 100.0;

    /// Returns what is unclear about `shown`, `None` where it can be but one thing.
    fn about(shown: &str) -> Option<Self> {
        let is_bare = shown.chars().all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | ' '));
        let number: f64 = shown.replace(',', ".").replace(' ', "").parse().ok()?;
        let given = shown.trim_end_matches(['.', ',', ' ']).replace(',', ".");
        let may_be_open = given == "1";
        (is_bare && (Self::FROM..Self::TO).contains(&number)).then_some(Self { given, may_be_open })
    }

    /// Returns whether the number may stand for an open circuit.
    pub fn may_be_open(&self) -> bool {
        self.may_be_open
    }

    /// Returns the reading where `word` says which it is: a unit, or `open` where it may be open.
    pub(super) fn said_by(&self, word: &str) -> Option<OhmmeterReading> {
        let shown = match word.to_lowercase().as_str() {
            "k" | "kω" | "kohm" | "kohms" | "kilohm" | "kilohms" => format!("{}k", self.given),
            "ω" | "ohm" | "ohms" | "r" => format!("{} ohm", self.given),
            "y" | "yes" if self.may_be_open => "open".to_owned(),
            _ => return None,
        };
        OhmmeterReading::parse(&shown).ok()
    }

    /// Returns all that it may be: each as it is written without a doubt, and as it is shown.
    pub fn ways(&self) -> Vec<[String; 2]> {
        let open = self.may_be_open.then(|| ["open", "open"].map(str::to_owned));
        let number = &self.given;
        let units = [
            [format!("{number} ohm"), format!("{number} Ω")],
            [format!("{number}k"), format!("{number} kΩ")],
        ];
        open.into_iter().chain(units).collect()
    }

    fn in_writing(&self) -> String {
        let open = if self.may_be_open { "open, " } else { "" };
        format!("{open}{0} ohm or {0}k", self.given)
    }
}

impl fmt::Display for Unclear {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let open = if self.may_be_open { "open, " } else { "" };
        write!(f, "{open}{0} Ω or {0} kΩ", self.given)
    }
}

impl OhmmeterReading {
    /// From here on a reading counts as open: no coil of a pickup has as much, fingers on the probes do.
    pub const OPEN_FROM: Ohms = Ohms::new(1e6);
    const LONGEST: usize = 24;

    /// Returns what `text` says: a resistance in any notation, or `open`, which many meters show as `OL` or `0L` with a
    /// point anywhere.
    ///
    /// # Errors
    /// [`MeterError`] where it is neither, or negative, or a number that may be ohms or kilohms.
    pub fn parse(text: &str) -> Result<Self, MeterError> {
        let shown = text.trim();
        let given = || shown.chars().take(2 * Self::LONGEST).collect();
        if is_open(shown) {
            return Ok(Self { shown: shown.to_owned(), ohms: None });
        }
        if let Some(unclear) = Unclear::about(shown) {
            return Err(MeterError::Unclear(unclear));
        }
        let fits = shown.chars().count() <= Self::LONGEST && !shown.chars().any(char::is_control);
        match parse_quantity::<Ohms>(shown) {
            Ok(ohms) if fits && ohms.value() >= 0.0 => Ok(Self { shown: shown.to_owned(), ohms: Some(ohms) }),
            Ok(ohms) if ohms.value() < 0.0 => Err(MeterError::Negative { given: given() }),
            Ok(_) | Err(_) => Err(MeterError::NoResistance { given: given() }),
        }
    }

    /// Returns the resistance, `None` where it was open or at least [`OhmmeterReading::OPEN_FROM`].
    pub fn closed(&self) -> Option<Ohms> {
        self.ohms.filter(|ohms| *ohms < Self::OPEN_FROM)
    }

    /// Returns the resistance where one was shown that is too large to be a coil's.
    pub fn leakage(&self) -> Option<Ohms> {
        self.ohms.filter(|ohms| *ohms >= Self::OPEN_FROM)
    }
}

/// Returns whether `shown` is what a meter or a person writes for an open circuit.
fn is_open(shown: &str) -> bool {
    const OPEN: [&str; 8] = ["open", "ol", "0l", "\u{221e}", "inf", "infinity", "infinite", "overload"];
    const UNITS: [&str; 4] = ["mω", "kω", "ω", "ohm"];
    let small = shown.to_lowercase();
    let word = UNITS.iter().find_map(|unit| small.strip_suffix(unit)).unwrap_or(&small);
    let letters: String = word.chars().filter(|c| !matches!(c, '.' | ' ')).collect();
    OPEN.contains(&letters.as_str())
}

impl fmt::Display for OhmmeterReading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.shown)
    }
}

/// The first swing of the needle, or of the digits, on touching a coil's poles with steel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Swing {
    /// Upwards.
    Plus,
    /// Downwards.
    Minus,
    /// At most a third of what the tapped coil's own leads show.
    None,
}

impl Swing {
    /// The swings by the text that stands for each in files.
    pub const CHOICES: [(&'static str, Self); 3] =
        [("+", Self::Plus), ("-", Self::Minus), ("none", Self::None)];

    /// Returns the swing that a person's `word` says, `None` where it says none.
    pub fn called(word: &str) -> Option<Self> {
        match word.trim().to_lowercase().as_str() {
            "+" | "plus" | "up" => Some(Self::Plus),
            "-" | "\u{2212}" | "minus" | "down" => Some(Self::Minus),
            "none" | "0" => Some(Self::None),
            _ => None,
        }
    }

    /// Returns the swing's text in files and reports.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Plus => "+",
            Self::Minus => "-",
            Self::None => "none",
        }
    }
}

/// One reading taken on the bench.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// The resistance between two conductors.
    Ohms {
        /// The two conductors, which differ.
        between: [Conductor; 2],
        /// What the meter showed.
        reads: OhmmeterReading,
    },
    /// The swing of a meter on two conductors while a coil's poles are touched with steel.
    Tap {
        /// The coil touched.
        coil: Bobbin,
        /// The conductor on the red probe.
        red: Conductor,
        /// The conductor on the black probe, not that on the red one.
        black: Conductor,
        /// The first swing.
        swing: Swing,
    },
    /// The pole at a coil's top, by a compass.
    Compass {
        /// The coil.
        coil: Bobbin,
        /// The pole that faces the strings.
        top_pole: Pole,
    },
}

impl Reading {
    /// Returns whether `other` says the same of the same wires; the probes may have changed places.
    pub(super) fn repeats(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Ohms { between: [a, b], reads }, Self::Ohms { between: [c, d], reads: again }) => {
                ((a, b) == (c, d) || (a, b) == (d, c)) && reads.closed() == again.closed()
            }
            (
                Self::Tap { coil, red, black, swing },
                Self::Tap { coil: own, red: other_red, black: other_black, swing: again },
            ) => {
                let turned = match again {
                    Swing::Plus => Swing::Minus,
                    Swing::Minus => Swing::Plus,
                    Swing::None => Swing::None,
                };
                coil == own
                    && ((red, black, *swing) == (other_red, other_black, *again)
                        || (red, black, *swing) == (other_black, other_red, turned))
            }
            (Self::Ohms { .. } | Self::Tap { .. } | Self::Compass { .. }, _) => false,
        }
    }
}

/// Returns the pole's name in files and reports.
pub(super) const fn pole_name(pole: Pole) -> &'static str {
    match pole {
        Pole::North => "north",
        Pole::South => "south",
    }
}

/// Returns the pole that a person's `word` says, `None` where it says none.
pub fn pole_called(word: &str) -> Option<Pole> {
    match word.trim().to_lowercase().as_str() {
        "north" | "n" => Some(Pole::North),
        "south" | "s" => Some(Pole::South),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reading_is_repeated_where_it_says_the_same_of_the_same_wires() {
        let [a, b, c] = [0, 1, 2].map(Conductor);
        let ohms =
            |between, shown: &str| Reading::Ohms { between, reads: OhmmeterReading::parse(shown).unwrap() };
        let tap = |coil, [red, black]: [Conductor; 2], swing| Reading::Tap { coil, red, black, swing };
        assert!(ohms([a, b], "open").repeats(&ohms([b, a], "OL")));
        assert!(ohms([a, b], "3.6k").repeats(&ohms([a, b], "3k6")));
        assert!(!ohms([a, b], "3.6k").repeats(&ohms([a, b], "3.7k")));
        assert!(!ohms([a, b], "open").repeats(&ohms([a, c], "open")));
        let first = tap(Bobbin::First, [a, b], Swing::Plus);
        assert!(first.repeats(&first) && first.repeats(&tap(Bobbin::First, [b, a], Swing::Minus)));
        assert!(!first.repeats(&tap(Bobbin::First, [b, a], Swing::Plus)));
        assert!(!first.repeats(&tap(Bobbin::Second, [a, b], Swing::Plus)));
        let compass = Reading::Compass { coil: Bobbin::First, top_pole: Pole::North };
        assert!(!compass.repeats(&compass), "twice is surer");
    }

    #[test]
    fn a_meter_shows_a_resistance_or_that_the_circuit_is_open() {
        assert_eq!(OhmmeterReading::parse("5k9").map(|m| m.closed()), Ok(Some(Ohms::new(5900.0))));
        assert_eq!(OhmmeterReading::parse("0.0").map(|m| m.closed()), Ok(Some(Ohms::new(0.0))));
        for text in [
            "open", "OL", " Open ", "0L", ".OL", "O.L", "0.L", "OL.", "O.L MΩ", "\u{221e}", "inf", "Infinity",
        ] {
            assert_eq!(OhmmeterReading::parse(text).map(|m| m.closed()), Ok(None), "{text}");
        }
        let fingers = OhmmeterReading::parse("2.2M").expect("a resistance");
        assert_eq!((fingers.closed(), fingers.leakage()), (None, Some(Ohms::new(2.2e6))));
    }

    #[test]
    fn what_no_meter_shows_is_refused_with_what_was_given() {
        for text in ["12 apples", "", "about 6k", "0000000000000000000000005.9k", "nan", "5.9.1", "L"] {
            let refusal = OhmmeterReading::parse(text).expect_err(text);
            assert_eq!(refusal, MeterError::NoResistance { given: text.to_owned() });
        }
        assert_eq!(OhmmeterReading::parse("-5k"), Err(MeterError::Negative { given: "-5k".to_owned() }));
    }

    #[test]
    fn a_number_that_may_be_ohms_or_kilohms_is_unclear_and_a_lone_one_may_be_open() {
        let said = |text: &str| OhmmeterReading::parse(text).map_err(|e| e.to_string()).expect_err(text);
        assert_eq!(said("5.9"), "`5.9` may be 5.9 Ω or 5.9 kΩ: write 5.9 ohm or 5.9k");
        assert_eq!(said("12"), "`12` may be 12 Ω or 12 kΩ: write 12 ohm or 12k");
        for lone in ["1", "1.", "1 .", " 1 "] {
            assert_eq!(said(lone), "`1` may be open, 1 Ω or 1 kΩ: write open, 1 ohm or 1k", "{lone}");
        }
        assert!(!said("1.0").contains("open"));
        for clear in ["0", "0.3", "150", "4150", "5.9k", "5.9 Ω", "5.9 ohm", "5R9", "5k9", "5.9e3", "0.0"] {
            assert!(OhmmeterReading::parse(clear).is_ok(), "{clear}");
        }
    }

    #[test]
    fn one_word_makes_clear_what_an_unclear_number_is() {
        let unclear = |text: &str| match OhmmeterReading::parse(text) {
            Err(MeterError::Unclear(unclear)) => unclear,
            other => panic!("{other:?}"),
        };
        let closed = |text: &str, word: &str| unclear(text).said_by(word).and_then(|meter| meter.closed());
        assert_eq!(closed("5.9", "kΩ"), Some(Ohms::new(5900.0)));
        assert_eq!(closed("5.9", "ohm"), Some(Ohms::new(5.9)));
        assert_eq!((unclear("5.9").said_by("yes"), unclear("5.9").said_by("perhaps")), (None, None));
        assert_eq!(unclear("1").said_by("y").map(|meter| meter.closed()), Some(None));
    }
}
