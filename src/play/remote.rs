//! What a player is told, and what it shows of itself.

use std::ops::Range;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, AtomicUsize, Ordering};
use std::sync::mpsc::SyncSender;

use crate::quantity::Db;

/// Which files of a set are heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileLevels {
    /// All at one loudness.
    Matched,
    /// Each at its true level.
    AsIs,
}

impl FileLevels {
    /// Returns the other ones.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Matched => Self::AsIs,
            Self::AsIs => Self::Matched,
        }
    }
}

/// What a player can be told. Frames are those of its takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Command {
    /// Let the take of this number be heard; one that does not exist is passed over.
    Take(usize),
    /// Let the next take be heard; after the last comes the first.
    NextTake,
    /// Let the take before be heard; before the first comes the last.
    PreviousTake,
    /// Change between matched and true levels.
    SwitchLevels,
    /// Change the trim by so much, within what is allowed.
    TrimBy(Db),
    /// Pause, go on, or begin again after the end.
    PauseOrPlay,
    /// Go to a frame.
    Seek(u64),
    /// Go so many frames forward, or back.
    SeekBy(i64),
    /// Change between playing round and round and once through.
    SwitchLoop,
    /// Let the loop begin here.
    LoopFromHere,
    /// Let the loop end here.
    LoopToHere,
    /// Let the loop be the whole take.
    LoopAll,
    /// Fade out and end.
    Stop,
}

/// What a player shows of itself at some moment.
#[derive(Debug, Clone, PartialEq)]
pub struct View {
    /// The take that is heard.
    pub take: usize,
    /// At which levels.
    pub levels: FileLevels,
    /// The trim.
    pub trim: Db,
    /// The frame that is heard next.
    pub position: u64,
    /// The loop's frames.
    pub region: Range<u64>,
    /// Whether it plays round and round.
    pub loops: bool,
    /// Whether it plays, and is not paused.
    pub plays: bool,
    /// Whether it came to its end.
    pub ended: bool,
}

/// A [`View`] that a player writes and a remote reads, without either waiting for the other.
#[derive(Debug, Default)]
pub(super) struct Status {
    take: AtomicUsize,
    as_is: AtomicBool,
    trim: AtomicU64,
    position: AtomicU64,
    from: AtomicU64,
    to: AtomicU64,
    loops: AtomicBool,
    plays: AtomicBool,
    ended: AtomicBool,
}

impl Status {
    pub(super) fn show(&self, view: &View) {
        self.take.store(view.take, Ordering::Relaxed);
        self.as_is.store(view.levels == FileLevels::AsIs, Ordering::Relaxed);
        self.trim.store(view.trim.value().to_bits(), Ordering::Relaxed);
        self.position.store(view.position, Ordering::Relaxed);
        self.from.store(view.region.start, Ordering::Relaxed);
        self.to.store(view.region.end, Ordering::Relaxed);
        self.loops.store(view.loops, Ordering::Relaxed);
        self.plays.store(view.plays, Ordering::Relaxed);
        self.ended.store(view.ended, Ordering::Release);
    }
}

/// Where a player is controlled from.
#[derive(Debug, Clone)]
pub struct Remote {
    commands: SyncSender<Command>,
    status: Arc<Status>,
}

impl Remote {
    pub(super) fn new(commands: SyncSender<Command>, status: Arc<Status>) -> Self {
        Self { commands, status }
    }

    /// Sends a command, which is obeyed with the next block; one that comes while very many wait is lost.
    pub fn send(&self, command: Command) {
        // It is lost too where the player is gone, which then has nothing to do.
        let _ = self.commands.try_send(command);
    }

    /// Returns what the player showed last. Its parts may be of two blocks that follow each other.
    pub fn view(&self) -> View {
        let status = &self.status;
        View {
            ended: status.ended.load(Ordering::Acquire),
            take: status.take.load(Ordering::Relaxed),
            levels: if status.as_is.load(Ordering::Relaxed) { FileLevels::AsIs } else { FileLevels::Matched },
            trim: Db::new(f64::from_bits(status.trim.load(Ordering::Relaxed))),
            position: status.position.load(Ordering::Relaxed),
            region: status.from.load(Ordering::Relaxed)..status.to.load(Ordering::Relaxed),
            loops: status.loops.load(Ordering::Relaxed),
            plays: status.plays.load(Ordering::Relaxed),
        }
    }
}
