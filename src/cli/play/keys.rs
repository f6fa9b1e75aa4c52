//! Keys, and what they tell a player.

use drywire::play::Command;
use drywire::quantity::{Db, Seconds, parse_quantity};

use crate::cli::Failure;
use crate::cli::session::Key;

/// How far an arrow goes.
const SECONDS: i64 = 2;

/// Returns what `key` tells a player of takes at `rate_hz`.
pub(crate) fn command(key: Key, rate_hz: u32) -> Option<Command> {
    let far = SECONDS * i64::from(rate_hz);
    Some(match key {
        Key::Sign(digit @ '1'..='9') => Command::Take(digit as usize - '1' as usize),
        Key::Down => Command::NextTake,
        Key::Up => Command::PreviousTake,
        Key::Sign('m') => Command::SwitchLevels,
        Key::Sign(' ' | 'p') => Command::PauseOrPlay,
        Key::Left | Key::Sign('<' | ',') => Command::SeekBy(-far),
        Key::Right | Key::Sign('>' | '.') => Command::SeekBy(far),
        Key::Home | Key::Sign('0') => Command::Seek(0),
        Key::Sign('l') => Command::SwitchLoop,
        Key::Sign('[') => Command::LoopFromHere,
        Key::Sign(']') => Command::LoopToHere,
        Key::Sign('w') => Command::LoopAll,
        Key::Sign('-' | '_') => Command::TrimBy(Db::new(-1.0)),
        Key::Sign('+' | '=') => Command::TrimBy(Db::new(1.0)),
        Key::Leave => Command::Stop,
        Key::Sign(_) => return None,
    })
}

/// A key and when it is pressed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Press {
    pub(super) at: Seconds,
    pub(super) key: Key,
}

impl Press {
    /// Returns whether it leaves the program.
    pub(super) fn leaves(&self) -> bool {
        self.key == Key::Leave
    }
}

/// Returns the keys in `text`: words that are a time with its unit say when those after them are pressed.
pub(super) fn read(text: &str) -> Result<Vec<Press>, Failure> {
    let mut at = Seconds::new(0.0);
    let mut presses = Vec::new();
    for word in text.split_whitespace() {
        if let Some(time) = time(word) {
            if time < at {
                let message = format!("the keys on standard input go back in time, from {at} to {time}");
                return Err(Failure::input(message, "put them in the order in which they are pressed"));
            }
            at = time;
            continue;
        }
        for sign in word.chars() {
            let key = Key::of(sign);
            if command(key, 1).is_none() {
                let message = format!("`{}` on standard input is no key", sign.escape_debug());
                return Err(Failure::input(message, "`drywire play --help` lists the keys; p is the pause"));
            }
            presses.push(Press { at, key });
        }
    }
    Ok(presses)
}

/// Returns the time that a word states; the unit is wanted, since digits alone are keys.
fn time(word: &str) -> Option<Seconds> {
    parse_quantity(word).ok().filter(|t: &Seconds| word.ends_with('s') && *t >= Seconds::new(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_are_pressed_at_the_times_before_them() {
        let read = read("2 1.5s m+\n 1600ms Q").unwrap();
        let of = |at: f64, key| Press { at: Seconds::new(at), key };
        let wanted =
            [of(0.0, Key::Sign('2')), of(1.5, Key::Sign('m')), of(1.5, Key::Sign('+')), of(1.6, Key::Leave)];
        assert_eq!(read, wanted);
        assert!(super::read("").unwrap().is_empty());
    }

    #[test]
    fn what_is_no_key_and_time_that_goes_back_are_refused() {
        for text in ["x", "2s 1 1s 2", "\u{1b}[A", "1S"] {
            assert!(read(text).is_err(), "{text:?}");
        }
    }
}
