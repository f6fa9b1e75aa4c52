//! A blind comparison held: sound, keys, and trials until all are answered.

use std::sync::Arc;

use drywire::cautions;
use drywire::play::{Command, FileLevels, Player, Remote, Start, View};
use drywire::quantity::{Db, Seconds};
use drywire::set::StoredSet;

use super::trials::{Side, Trials};
use crate::cli::play::keys;
use crate::cli::session::{
    Attention, Going, Key, Session, attend, bar, clock, fitted, frames, is_attended, script, side_by_side,
};
use crate::cli::{Console, Failure};

/// What is compared, and how it is played.
pub(super) struct Comparison<'s> {
    pub(super) set: &'s StoredSet,
    /// The takes that A and B are.
    pub(super) pair: [usize; 2],
    pub(super) device: Option<&'s str>,
    pub(super) trim: Db,
    pub(super) part: Option<(Seconds, Seconds)>,
}

/// What is being heard.
#[derive(Clone, Copy, PartialEq)]
enum Ear {
    Side(Side),
    X,
}

const KEYS: [&str; 8] = [
    "a, x, b: listen",
    "1: X is A",
    "2: X is B",
    "space: pause",
    "left, right: 2 s",
    "[ ] l w: loop",
    "- +: level",
    "q: leave without a result",
];

impl Comparison<'_> {
    /// Holds all `trials` and returns them with their answers.
    pub(super) fn hold(&self, trials: Trials, console: &mut Console) -> Result<Trials, Failure> {
        let typed = if is_attended() { None } else { Some(script()?) };
        let first = trials.x().unwrap_or(Side::A);
        let session = Session::open(self.set, self.device, |takes| {
            let rate = takes.rate_hz();
            let start = Start {
                take: self.pair[first.index()],
                levels: FileLevels::Matched,
                trim: self.trim,
                region: self.part.map(|(from, to)| frames(from, rate)..frames(to, rate)),
                loops: true,
                cues: Vec::new(),
            };
            Player::new(Arc::new(takes), start)
        })?;
        let mut progress = Progress {
            comparison: self,
            remote: session.remote().clone(),
            rate_hz: session.rate_hz(),
            trials,
            ear: Ear::X,
        };
        let held = match &typed {
            None => progress.attended(&session),
            Some(keys) => progress.scripted(keys, &session),
        };
        session.close(console);
        let trials = progress.trials;
        match held? {
            Attention::Done => Ok(trials),
            Attention::More | Attention::Left | Attention::Called => Err(Failure::input(
                format!(
                    "left after {} of {} trials; there is no result",
                    trials.done(),
                    trials.run().trials()
                ),
                "the number of trials is fixed beforehand; begin again, with fewer if that was too many",
            )),
        }
    }
}

/// A comparison under way.
struct Progress<'s> {
    comparison: &'s Comparison<'s>,
    remote: Remote,
    rate_hz: u32,
    trials: Trials,
    ear: Ear,
}

impl Progress<'_> {
    fn attended(&mut self, session: &Session) -> Result<Attention, Failure> {
        let progress = std::cell::RefCell::new(self);
        let mut draw = |width: usize, height: usize| {
            let progress = progress.borrow();
            let mut lines = progress.lines(&progress.remote.view(), width);
            lines.truncate(height);
            lines
        };
        attend(session, &mut draw, &mut |key| progress.borrow_mut().act(key))
    }

    fn scripted(&mut self, keys: &str, session: &Session) -> Result<Attention, Failure> {
        for sign in keys.chars().filter(|sign| !sign.is_whitespace()) {
            if let Going::Called = session.going()? {
                return Ok(Attention::Called);
            }
            let key = Key::of(sign);
            let attention = if key == Key::Leave { Attention::Left } else { self.act(key) };
            if attention != Attention::More {
                return Ok(attention);
            }
        }
        Ok(Attention::More)
    }

    fn act(&mut self, key: Key) -> Attention {
        match key {
            Key::Sign('a') => self.hear(Ear::Side(Side::A)),
            Key::Sign('b') => self.hear(Ear::Side(Side::B)),
            Key::Sign('x') => self.hear(Ear::X),
            Key::Sign('1') => return self.answer(Side::A),
            Key::Sign('2') => return self.answer(Side::B),
            // What else could tell or change which take is heard is no key here.
            Key::Sign('3'..='9' | 'm') | Key::Up | Key::Down => {}
            other => {
                if let Some(command) = keys::command(other, self.rate_hz) {
                    self.remote.send(command);
                }
            }
        }
        Attention::More
    }

    fn answer(&mut self, side: Side) -> Attention {
        self.trials.answer(side);
        self.hear(Ear::X);
        if self.trials.x().is_none() { Attention::Done } else { Attention::More }
    }

    fn hear(&mut self, ear: Ear) {
        self.ear = ear;
        let side = match ear {
            Ear::Side(side) => Some(side),
            Ear::X => self.trials.x(),
        };
        if let Some(side) = side {
            self.remote.send(Command::Take(self.comparison.pair[side.index()]));
        }
    }

    /// Returns the screen's lines; nothing on it tells what X is.
    fn lines(&self, view: &View, width: usize) -> Vec<String> {
        let name = |side: Side| &self.comparison.set.takes()[self.comparison.pair[side.index()]].name;
        let heard = match self.ear {
            Ear::Side(side) => format!("you hear {}, {}", side.letter().to_ascii_uppercase(), name(side)),
            Ear::X => "you hear X".to_owned(),
        };
        let (trial, trials) = (self.trials.done() + 1, self.trials.run().trials());
        let state = if view.plays { "playing" } else { "paused" };
        let of = |frames| clock(frames, self.rate_hz);
        let whole =
            self.comparison.set.frames() * u64::from(self.rate_hz) / u64::from(self.comparison.set.rate_hz());
        let mut lines = fitted(
            &format!("Trial {trial} of {trials}: is X {} (A) or {} (B)?", name(Side::A), name(Side::B)),
            width,
        );
        lines.push(String::new());
        lines.extend(fitted(&format!("{heard}, level {:.0}, {state}", view.trim), width));
        lines.extend(fitted(&format!("{} of {}", of(view.position), of(whole)), width));
        lines.push(bar(width.min(60), view.position, whole, &view.region));
        lines.push(String::new());
        lines.extend(side_by_side(&KEYS, width));
        lines.extend(fitted(cautions::EARS, width));
        lines
    }
}
