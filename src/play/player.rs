//! The mixing core: block by block, whatever their lengths, without waiting and without allocating.

use std::ops::Range;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, sync_channel};

use super::remote::Status;
use super::{Command, FileLevels, Remote, Takes, View, allowed_trim};
use crate::quantity::{Db, Seconds};

/// How long a cross-fade lasts.
pub const FADE: Seconds = Seconds::new(0.010);

/// The shortest loop: a few fades.
const SHORTEST_LOOP: Seconds = Seconds::new(0.050);

/// More commands than fingers give between two blocks.
const WAITING: usize = 64;

/// A command that is obeyed at a moment known beforehand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cue {
    /// The frames that were played before it, pauses counted.
    pub at: u64,
    /// The command.
    pub command: Command,
}

/// How playback begins.
#[derive(Debug, Clone, PartialEq)]
pub struct Start {
    /// The take.
    pub take: usize,
    /// Its levels.
    pub levels: FileLevels,
    /// The trim.
    pub trim: Db,
    /// The frames of the loop, if not all of the take.
    pub region: Option<Range<u64>>,
    /// Whether it plays round and round.
    pub loops: bool,
    /// What is known beforehand.
    pub cues: Vec<Cue>,
}

/// Something to be heard, or silence at some place.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Voice {
    take: usize,
    levels: FileLevels,
    gain: f32,
    sounds: bool,
    /// The next frame; before the take's beginning and after its end is silence.
    cursor: i64,
}

/// What becomes of a set in the sound card.
#[derive(Debug)]
pub struct Player {
    takes: Arc<Takes>,
    fade: usize,
    shortest: i64,
    now: Voice,
    /// The voice faded to, and the frames of the fade that are done.
    next: Option<(Voice, usize)>,
    /// What is asked for; it is heard once no fade is under way.
    wish: Wish,
    region: Range<i64>,
    loops: bool,
    ended: bool,
    cues: std::vec::IntoIter<Cue>,
    played: u64,
    commands: Receiver<Command>,
    status: Arc<Status>,
}

#[derive(Debug, Clone, Copy)]
struct Wish {
    take: usize,
    levels: FileLevels,
    trim: Db,
    plays: bool,
    /// Where to go, if anywhere.
    to: Option<i64>,
    /// Whether all is over once silence is reached.
    stops: bool,
}

impl Player {
    /// Returns a player of `takes` and its remote.
    ///
    /// It begins at the beginning of the loop. A loop that is too short or does not lie in the take is taken for one
    /// over all of it.
    pub fn new(takes: Arc<Takes>, mut start: Start) -> (Self, Remote) {
        let (sender, commands) = sync_channel(WAITING);
        let status = Arc::new(Status::default());
        let take = start.take.min(takes.names().len() - 1);
        let trim = allowed_trim(start.trim);
        let wish = Wish { take, levels: start.levels, trim, plays: true, to: None, stops: false };
        let frames = signed(takes.frames());
        let mut player = Self {
            fade: usize::try_from(frames_of(FADE, takes.rate_hz()).max(1)).unwrap_or(1),
            shortest: frames_of(SHORTEST_LOOP, takes.rate_hz()),
            // The take's own beginning is no jump.
            now: Voice { take, levels: start.levels, gain: gain_of(trim), sounds: true, cursor: 0 },
            next: None,
            wish,
            region: 0..frames,
            loops: false,
            ended: false,
            cues: {
                start.cues.sort_by_key(|cue| cue.at);
                start.cues.into_iter()
            },
            played: 0,
            commands,
            status: Arc::clone(&status),
            takes,
        };
        if let Some(region) = start.region {
            let frame = |frame: u64| i64::try_from(frame).unwrap_or(frames).min(frames);
            player.loop_over(frame(region.start)..frame(region.end), 0..frames);
        }
        player.loops = start.loops && player.may_loop();
        if player.loops && player.region.start > 0 {
            // Anywhere else it is one.
            (player.now.cursor, player.now.sounds) = (player.region.start, false);
        }
        player.show();
        (player, Remote::new(sender, status))
    }

    /// Fills `out`, frames of `channels` samples, with what is heard next.
    ///
    /// One channel goes to the first two; more than there are go to as many, or all into one.
    pub fn fill(&mut self, out: &mut [f32], channels: usize) {
        while let Ok(command) = self.commands.try_recv() {
            self.obey(command);
        }
        let mut rest = out;
        while !rest.is_empty() {
            self.obey_cues();
            self.turn();
            let now = self.frames_until_turn().min(rest.len() / channels);
            let (block, after) = rest.split_at_mut(now * channels);
            self.mix(block, channels);
            self.advance(now);
            rest = after;
        }
        self.show();
    }

    /// Returns whether all was played, or playing was stopped, so that only silence follows.
    pub fn has_ended(&self) -> bool {
        self.ended
    }

    fn obey_cues(&mut self) {
        while let Some(cue) = self.cues.as_slice().first().copied().filter(|cue| cue.at <= self.played) {
            self.cues.next();
            self.obey(cue.command);
        }
    }

    fn obey(&mut self, command: Command) {
        if self.wish.stops {
            return;
        }
        let (frames, takes) = (self.frames(), self.takes.names().len());
        // Where the ear is: at what is faded to, or asked for.
        let here = self.wish.to.unwrap_or(self.next.map_or(self.now, |(to, _)| to).cursor).clamp(0, frames);
        match command {
            Command::Take(take) if take < takes => self.wish.take = take,
            Command::Take(_) => {}
            Command::NextTake => self.wish.take = (self.wish.take + 1) % takes,
            Command::PreviousTake => self.wish.take = (self.wish.take + takes - 1) % takes,
            Command::SwitchLevels => self.wish.levels = self.wish.levels.other(),
            Command::TrimBy(change) => self.wish.trim = allowed_trim(self.wish.trim + change),
            Command::PauseOrPlay => {
                self.wish.plays = !self.wish.plays;
                if self.ended {
                    (self.wish.to, self.ended) = (Some(0), false);
                }
            }
            Command::Seek(to) => self.go_to(i64::try_from(to).unwrap_or(frames)),
            Command::SeekBy(by) => self.go_to(here.saturating_add(by)),
            Command::SwitchLoop => self.loops = !self.loops && self.may_loop(),
            Command::LoopFromHere => self.loop_over(here..self.region.end, here..frames),
            Command::LoopToHere => self.loop_over(self.region.start..here, 0..here),
            Command::LoopAll => self.region = 0..frames,
            Command::Stop => (self.wish.plays, self.wish.stops) = (false, true),
        }
    }

    /// Goes to a frame of the loop where there is one, else to one of the take.
    fn go_to(&mut self, frame: i64) {
        let within = if self.loops { self.region.clone() } else { 0..self.frames() };
        self.wish.to = Some(frame.clamp(within.start, within.end - 1));
        if self.ended {
            (self.wish.plays, self.ended) = (true, false);
        }
    }

    /// Loops over `wanted`, or else over the `other`, whichever is long enough.
    fn loop_over(&mut self, wanted: Range<i64>, other: Range<i64>) {
        let is_long_enough = |region: &Range<i64>| region.end - region.start >= self.shortest;
        if let Some(region) = [wanted, other].into_iter().find(is_long_enough) {
            (self.region, self.loops) = (region, true);
        }
    }

    fn may_loop(&self) -> bool {
        self.frames() >= self.shortest
    }

    fn frames(&self) -> i64 {
        signed(self.takes.frames())
    }

    /// Returns the frame from which a loop goes back; late enough for its end to be heard, and early enough for the
    /// fade to be over by the end of the take.
    fn turning_point(&self) -> i64 {
        self.region.end.min(self.frames() - signed(self.fade))
    }

    /// Begins a fade where something else is asked for than is heard, and ends the take at its end.
    fn turn(&mut self) {
        if self.next.is_some() {
            return;
        }
        if self.now.sounds && !self.loops && self.wish.to.is_none() && self.now.cursor >= self.frames() {
            (self.now.sounds, self.wish.plays, self.ended) = (false, false, true);
        }
        let wish = &mut self.wish;
        let mut to = Voice {
            take: wish.take,
            levels: wish.levels,
            gain: gain_of(wish.trim),
            sounds: wish.plays,
            cursor: wish.to.take().unwrap_or(self.now.cursor),
        };
        let turn = self.turning_point();
        if self.loops && self.now.sounds && to.cursor >= turn {
            // Before its beginning a take is silent, so a loop over all of it fades out, and begins as the take does.
            let back = to.cursor - (self.region.end - self.region.start);
            to.cursor = if back < turn { back } else { self.region.start };
        }
        if !self.now.sounds && !to.sounds {
            self.now = to;
            self.ended |= self.wish.stops;
        } else if to != self.now {
            self.next = Some((to, 0));
        }
    }

    /// Returns the number of frames, at least one, until [`Player::turn`] may have something to do.
    fn frames_until_turn(&self) -> usize {
        let until_cue = self.cues.as_slice().first().map_or(u64::MAX, |cue| cue.at - self.played);
        let until_turn = match self.next {
            Some((_, done)) => signed(self.fade - done),
            None if !self.now.sounds => i64::MAX,
            None if self.loops => self.turning_point() - self.now.cursor,
            None => self.frames() - self.now.cursor,
        };
        let frames = until_cue.min(until_turn.max(1).cast_unsigned()).max(1);
        usize::try_from(frames).unwrap_or(usize::MAX)
    }

    fn mix(&self, out: &mut [f32], channels: usize) {
        for (n, frame) in out.chunks_exact_mut(channels).enumerate() {
            for (channel, sample) in frame.iter_mut().enumerate() {
                let now = self.heard(&self.now, n, channel, channels);
                *sample = match &self.next {
                    None => now,
                    Some((to, done)) => {
                        let weight = (done + n) as f32 / self.fade as f32;
                        // Two that are the same stay the same.
                        now + (self.heard(to, n, channel, channels) - now) * weight
                    }
                };
            }
        }
    }

    /// Returns what `channel` of `of` holds of a voice, `ahead` frames from now.
    fn heard(&self, voice: &Voice, ahead: usize, channel: usize, of: usize) -> f32 {
        let own = self.takes.channels();
        let frame = usize::try_from(voice.cursor + signed(ahead)).ok().filter(|f| *f < self.takes.frames());
        let Some(frame) = frame.filter(|_| voice.sounds) else { return 0.0 };
        let frame = &self.takes.samples(voice.take, voice.levels)[frame * own..][..own];
        let sample = match (own, of) {
            (1, _) if channel < 2 => frame[0],
            (2.., 1) => frame.iter().sum::<f32>() / own as f32,
            _ => frame.get(channel).copied().unwrap_or(0.0),
        };
        sample * voice.gain
    }

    fn advance(&mut self, frames: usize) {
        self.played += frames as u64;
        let on = |voice: &mut Voice| voice.cursor += if voice.sounds { signed(frames) } else { 0 };
        on(&mut self.now);
        if let Some((mut to, done)) = self.next.take() {
            on(&mut to);
            if done + frames >= self.fade {
                self.now = to;
            } else {
                self.next = Some((to, done + frames));
            }
        }
    }

    fn show(&self) {
        let frames = |frame: i64| frame.clamp(0, self.frames()).cast_unsigned();
        self.status.show(&View {
            take: self.wish.take,
            levels: self.wish.levels,
            trim: self.wish.trim,
            position: frames(self.next.map_or(self.now, |(to, _)| to).cursor),
            region: frames(self.region.start)..frames(self.region.end),
            loops: self.loops,
            plays: self.wish.plays,
            ended: self.ended,
        });
    }
}

/// Returns a number of frames as one that may be subtracted from.
fn signed(frames: usize) -> i64 {
    // No memory holds more samples than that.
    i64::try_from(frames).unwrap_or(i64::MAX)
}

#[expect(clippy::cast_possible_truncation, reason = "a rate's frames in a moment are few")]
fn frames_of(time: Seconds, rate_hz: u32) -> i64 {
    (time.value() * f64::from(rate_hz)).round() as i64
}

#[expect(clippy::cast_possible_truncation, reason = "samples are single precision")]
fn gain_of(trim: Db) -> f32 {
    trim.amplitude() as f32
}
