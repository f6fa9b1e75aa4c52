//! A blind comparison held: sound, keys, and trials until all are answered.

use std::sync::Arc;

use drywire::cautions;
use drywire::play::{Command, Levels, Player, Remote, Start, View};
use drywire::quantity::{Db, Seconds};
use drywire::set::StoredSet;

use super::session::{Session, Side};
use crate::cli::play::keys;
use crate::cli::stage::{
    Attention, Going, Key, Stage, attend, bar, clock, fitted, frames, is_attended, script, side_by_side,
};
use crate::cli::{Console, Failure};

/// What is compared, and how it is played.
pub(super) struct Sitting<'s> {
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

impl Sitting<'_> {
    /// Holds all trials of `session` and returns it with its answers.
    pub(super) fn hold(&self, session: Session, console: &mut Console) -> Result<Session, Failure> {
        let typed = if is_attended() { None } else { Some(script()?) };
        let first = session.x().unwrap_or(Side::A);
        let stage = Stage::open(self.set, self.device, |takes| {
            let rate = takes.rate_hz();
            let start = Start {
                take: self.pair[first.index()],
                levels: Levels::Matched,
                trim: self.trim,
                region: self.part.map(|(from, to)| frames(from, rate)..frames(to, rate)),
                loops: true,
                cues: Vec::new(),
            };
            Player::new(Arc::new(takes), start)
        })?;
        let mut trials = Trials {
            sitting: self,
            remote: stage.remote().clone(),
            rate_hz: stage.rate_hz(),
            session,
            ear: Ear::X,
        };
        let held = match &typed {
            None => trials.attended(&stage),
            Some(keys) => trials.scripted(keys, &stage),
        };
        stage.close(console);
        let session = trials.session;
        match held? {
            Attention::Done => Ok(session),
            Attention::More | Attention::Left | Attention::Called => Err(Failure::input(
                format!(
                    "left after {} of {} trials; there is no result",
                    session.done(),
                    session.run().trials()
                ),
                "the number of trials is fixed beforehand; begin again, with fewer if that was too many",
            )),
        }
    }
}

struct Trials<'s> {
    sitting: &'s Sitting<'s>,
    remote: Remote,
    rate_hz: u32,
    session: Session,
    ear: Ear,
}

impl Trials<'_> {
    fn attended(&mut self, stage: &Stage) -> Result<Attention, Failure> {
        let trials = std::cell::RefCell::new(self);
        let mut draw = |width: usize, height: usize| {
            let trials = trials.borrow();
            let mut lines = trials.lines(&trials.remote.view(), width);
            lines.truncate(height);
            lines
        };
        attend(stage, &mut draw, &mut |key| trials.borrow_mut().act(key))
    }

    fn scripted(&mut self, keys: &str, stage: &Stage) -> Result<Attention, Failure> {
        for sign in keys.chars().filter(|sign| !sign.is_whitespace()) {
            if let Going::Called = stage.going()? {
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
        self.session.answer(side);
        self.hear(Ear::X);
        if self.session.x().is_none() { Attention::Done } else { Attention::More }
    }

    fn hear(&mut self, ear: Ear) {
        self.ear = ear;
        let side = match ear {
            Ear::Side(side) => Some(side),
            Ear::X => self.session.x(),
        };
        if let Some(side) = side {
            self.remote.send(Command::Take(self.sitting.pair[side.index()]));
        }
    }

    /// Returns the screen's lines; nothing on it tells what X is.
    fn lines(&self, view: &View, width: usize) -> Vec<String> {
        let name = |side: Side| &self.sitting.set.takes()[self.sitting.pair[side.index()]].name;
        let heard = match self.ear {
            Ear::Side(side) => format!("you hear {}, {}", side.letter().to_ascii_uppercase(), name(side)),
            Ear::X => "you hear X".to_owned(),
        };
        let (trial, trials) = (self.session.done() + 1, self.session.run().trials());
        let state = if view.plays { "playing" } else { "paused" };
        let of = |frames| clock(frames, self.rate_hz);
        let whole =
            self.sitting.set.frames() * u64::from(self.rate_hz) / u64::from(self.sitting.set.rate_hz());
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
