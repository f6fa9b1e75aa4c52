//! What `play` and `blind` share: the sound card, the keys, the screen, and the signals that end a run.

mod card;
mod screen;
mod signals;
mod terminal;

use std::io::{self, IsTerminal, Read};
use std::thread::sleep;
use std::time::{Duration, Instant};

use drywire::play::{Command, Player, Remote, Takes, TakesError};
use drywire::quantity::{Seconds, counted};
use drywire::set::StoredSet;

pub(crate) use card::device_list;
pub(crate) use screen::{bar, clock, fitted, side_by_side};
pub(crate) use terminal::Key;

use super::stored::no_sound;
use super::{Console, Failure};
use card::{Card, Mute, Sounding};
use signals::Signals;
use terminal::Terminal;

/// The longest text of keys that is read from standard input.
const LONGEST_SCRIPT: u64 = 64 * 1024;
/// How long a key is waited for before the screen is looked at again.
const WAIT: Duration = Duration::from_millis(50);
/// What a sound card may still hold when the last block was given to it.
const TAIL: Duration = Duration::from_millis(250);
/// How long the last fade is waited for.
const FADING: Duration = Duration::from_millis(150);

/// A set that sounds.
pub(crate) struct Session {
    sounding: Sounding,
    remote: Remote,
    signals: Signals,
    device: String,
    rate_hz: u32,
    own_rate_hz: u32,
}

/// What goes on while a set sounds.
pub(crate) enum Going {
    /// It plays.
    On,
    /// It came to its end.
    Ended,
    /// A signal ends the program.
    Called,
}

impl Session {
    /// Takes `set` into memory at a rate that the sound card called `device`, or the usual one, can do, and lets it
    /// sound through the player that `player` makes of it.
    pub(crate) fn open(
        set: &StoredSet,
        device: Option<&str>,
        player: impl FnOnce(Takes) -> (Player, Remote),
    ) -> Result<Self, Failure> {
        let mute = |mute: Mute| no_sound(set.folder(), &mute.to_string());
        let signals = Signals::watch().map_err(|e| no_sound(set.folder(), &e.to_string()))?;
        let card = Card::find(device, set.rate_hz(), set.channels()).map_err(mute)?;
        let (device, rate_hz) = (card.name().to_owned(), card.rate_hz());
        let takes =
            Takes::read(set, rate_hz).map_err(|e: TakesError| Failure::input(e.to_string(), e.hint()))?;
        let (player, remote) = player(takes);
        let sounding = card.sound(player).map_err(mute)?;
        Ok(Self { sounding, remote, signals, device, rate_hz, own_rate_hz: set.rate_hz() })
    }

    /// Returns what commands go to.
    pub(crate) fn remote(&self) -> &Remote {
        &self.remote
    }

    /// Returns the rate that the set is played at.
    pub(crate) fn rate_hz(&self) -> u32 {
        self.rate_hz
    }

    /// Returns what goes on.
    ///
    /// # Errors
    /// [`Failure`] where the sound card went away.
    pub(crate) fn going(&self) -> Result<Going, Failure> {
        if let Some(why) = self.sounding.lost() {
            let hint = "see that the device is still there; `drywire play --list-devices` lists them";
            return Err(Failure::input(format!("the sound card `{}` stopped: {why}", self.device), hint));
        }
        if self.signals.caught().is_some() {
            return Ok(Going::Called);
        }
        Ok(if self.remote.view().ended { Going::Ended } else { Going::On })
    }

    /// Fades out, waits for what the sound card still holds, and tells what it did. A signal that ended the run then
    /// ends the program as it would have without being watched.
    pub(crate) fn close(self, console: &mut Console) {
        let whole = self.remote.view().ended;
        self.remote.send(Command::Stop);
        let asked = Instant::now();
        while !self.remote.view().ended && asked.elapsed() < FADING {
            moment();
        }
        sleep(if whole { TAIL } else { FADING });
        let underruns = self.sounding.end();
        let (own, other) = (self.own_rate_hz, self.rate_hz);
        if own != other {
            console
                .note(format!("played at {other} Hz, since the sound card does not do the set's {own} Hz"));
        }
        if underruns > 0 {
            console.warn(format!(
                "the sound card ran dry {}; what was heard had gaps that the files do not have",
                counted(underruns, "time")
            ));
        } else {
            console.note(format!("played through `{}`; it never ran dry", self.device));
        }
        self.signals.obey();
    }
}

/// Waits a moment.
pub(crate) fn moment() {
    sleep(Duration::from_millis(10));
}

/// Returns the frames that pass at `rate_hz` in `time`.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a time that is not negative, saturated"
)]
pub(crate) fn frames(time: Seconds, rate_hz: u32) -> u64 {
    (time.value() * f64::from(rate_hz)).round() as u64
}

/// Returns whether a person is at the keys.
pub(crate) fn is_attended() -> bool {
    io::stdin().is_terminal()
}

/// Returns the keys that come from standard input where that is no terminal.
pub(crate) fn script() -> Result<String, Failure> {
    let mut text = String::new();
    let refused = |why: String| Failure::input(why, "give keys as text, or nothing: `</dev/null`");
    io::stdin()
        .take(LONGEST_SCRIPT + 1)
        .read_to_string(&mut text)
        .map_err(|e| refused(format!("the keys on standard input cannot be read: {e}")))?;
    if text.len() as u64 > LONGEST_SCRIPT {
        return Err(refused(format!("the keys on standard input have more than {LONGEST_SCRIPT} bytes")));
    }
    Ok(text)
}

/// Draws and takes keys until `act` says that it is enough or the set ends for good.
pub(crate) fn attend(
    session: &Session,
    draw: &mut dyn FnMut(usize, usize) -> Vec<String>,
    act: &mut dyn FnMut(Key) -> Attention,
) -> Result<Attention, Failure> {
    let unusable = |e: io::Error| Failure::input(format!("the terminal cannot be used: {e}"), "use --once");
    let mut terminal = Terminal::enter().map_err(unusable)?;
    loop {
        if let Going::Called = session.going()? {
            return Ok(Attention::Called);
        }
        let (width, height) = Terminal::size();
        terminal.draw(&draw(width, height)).map_err(unusable)?;
        if let Some(key) = terminal.key(WAIT).map_err(unusable)? {
            let attention = if key == Key::Leave { Attention::Left } else { act(key) };
            if attention != Attention::More {
                return Ok(attention);
            }
        }
    }
}

/// How it stands with a person at the keys.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Attention {
    /// More is to come.
    More,
    /// All is done.
    Done,
    /// The person left.
    Left,
    /// A signal called the program off.
    Called,
}
