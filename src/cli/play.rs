//! `drywire play`: a set through the sound card, switched while it plays.

#[cfg(feature = "sound-card")]
pub(crate) mod keys;
#[cfg(feature = "sound-card")]
mod show;

use std::path::PathBuf;

use clap::Args as ClapArgs;
use drywire::play::{HIGHEST_TRIM, LOWEST_TRIM};
use drywire::quantity::{Db, Seconds};
use drywire::set::StoredSet;

#[cfg(not(feature = "sound-card"))]
use super::stored::without_card;
use super::stored::{note_amplifier, place_of, stored};
use super::typed::{DECIBELS, part};
use super::{Console, Failure, Outcome};

/// Where `hear` puts a set unless told otherwise; its page is offered where no set is named.
const USUAL_FOLDER: &str = "drywire-out";

const HELP: &str = "\
Keys:
  1 to 9, up, down   the arrangement that is heard
  m                  matched or true levels
  space, p           pause, go on
  left, right, <, >  two seconds back, forward
  home, 0            to the beginning
  [, ]               loop from here, to here
  l, w               loop or not; loop over the whole take
  -, +               quieter, louder by 1 dB; never louder than the files
  q, escape          leave

Where standard input is no terminal it is read for keys before playing begins, each after the
time it is pressed at, and the set is played once through:
  echo '1s 2  2s m  3s q' | drywire play drywire-out

Examples:
  drywire play drywire-out
  drywire play drywire-out --start parallel --as-is --level -12dB
  drywire play drywire-out --loop=0.5s-1.5s
  drywire play --list-devices

Caution: start playback low. Levels are set by gain alone, there is no limiter, and a resonant
rise can surprise. Mind your daily sound dose.";

/// Play a set through the sound card and switch between its arrangements while it plays
#[derive(Debug, ClapArgs)]
#[command(after_help = HELP)]
pub(crate) struct Args {
    /// The folder of the set that `hear` wrote
    #[arg(value_name = "DIR", required_unless_present = "list_devices")]
    folder: Option<PathBuf>,
    /// The output device, by its name or a part of it [default: the system's]
    #[arg(long, value_name = "NAME")]
    device: Option<String>,
    /// List the output devices
    #[arg(long, conflicts_with = "folder")]
    list_devices: bool,
    /// The level to begin with, against the files' own, which is the highest
    #[arg(long, value_name = "DB", default_value = USUAL_LEVEL, allow_hyphen_values = true, value_parser = level)]
    level: Db,
    /// The arrangement to begin with [default: the baseline]
    #[arg(long, value_name = "ARRANGEMENT")]
    start: Option<String>,
    /// Begin with the files at their true levels
    #[arg(long)]
    as_is: bool,
    /// Play round and round, over a part if one is given; usual where keys can be pressed
    #[arg(
        long = "loop", value_name = "FROM-TO", num_args = 0..=1, require_equals = true, default_missing_value = "all",
        value_parser = looped, conflicts_with = "once"
    )]
    looped: Option<Looped>,
    /// Play once through and end, without any keys
    #[arg(long)]
    once: bool,
}

/// What is played round and round.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Looped {
    All,
    Part(Seconds, Seconds),
}

fn looped(text: &str) -> Result<Looped, String> {
    if text == "all" { Ok(Looped::All) } else { part(text).map(|(from, to)| Looped::Part(from, to)) }
}

/// The level at which playback begins, the library's usual one.
pub(crate) const USUAL_LEVEL: &str = "-20dB";

/// Returns the level that an option's text states, or why it is none.
pub(crate) fn level(text: &str) -> Result<Db, String> {
    let allowed = LOWEST_TRIM.value()..=HIGHEST_TRIM.value();
    let level = DECIBELS.number_within(text, &allowed).map(Db::new);
    level.map_err(|e| format!("{e}, the highest being the files' own level"))
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let Some(folder) = &args.folder else { return list(console) };
    let set = stored(folder)?;
    let take = place_of(&set, args.start.as_ref().unwrap_or(&set.figures().baseline))?;
    check_part(args, &set)?;
    note_amplifier(&set, console);
    play(args, &set, take, console)
}

fn check_part(args: &Args, set: &StoredSet) -> Result<(), Failure> {
    let length = set.takes()[0].matched.duration();
    match args.looped {
        Some(Looped::Part(_, to)) if to > length => Err(Failure::input(
            format!("--loop ends at {to}, and the set is {length} long"),
            "choose an earlier end",
        )),
        Some(Looped::Part(..) | Looped::All) | None => Ok(()),
    }
}

#[cfg(not(feature = "sound-card"))]
fn list(_: &mut Console) -> Result<Outcome, Failure> {
    Err(without_card(USUAL_FOLDER.as_ref()))
}

#[cfg(not(feature = "sound-card"))]
fn play(_: &Args, set: &StoredSet, _: usize, _: &mut Console) -> Result<Outcome, Failure> {
    Err(without_card(set.folder()))
}

#[cfg(feature = "sound-card")]
use with_card::{list, play};

#[cfg(feature = "sound-card")]
mod with_card {
    use std::sync::Arc;

    use drywire::cautions;
    use drywire::play::{Cue, FileLevels, Player, Remote, Start, Takes};
    use drywire::set::StoredSet;

    use super::keys::{self, Press};
    use super::show::Show;
    use super::{Args, Console, Failure, Looped, Outcome, USUAL_FOLDER};
    use crate::cli::session::{
        Attention, Going, Key, Session, attend, device_list, frames, is_attended, moment, script,
    };
    use crate::cli::stored::no_sound;
    use crate::cli::wrap::wrapped;

    pub(super) fn play(
        args: &Args,
        set: &StoredSet,
        take: usize,
        console: &mut Console,
    ) -> Result<Outcome, Failure> {
        let is_attended = is_attended() && !args.once;
        let presses = if is_attended || args.once { Vec::new() } else { keys::read(&script()?)? };
        check_end(args, is_attended, &presses)?;
        console.note(wrapped(cautions::EARS, "", ""));
        let session = Session::open(set, args.device.as_deref(), |takes| {
            player(args, takes, take, is_attended, &presses)
        })?;
        let played = if is_attended { hear(set, &session) } else { wait(&session) };
        session.close(console);
        played.map(|()| Outcome::Done)
    }

    pub(super) fn list(console: &mut Console) -> Result<Outcome, Failure> {
        let devices = device_list().map_err(|e| no_sound(USUAL_FOLDER.as_ref(), &e.to_string()))?;
        if devices.is_empty() {
            return Err(no_sound(USUAL_FOLDER.as_ref(), "there is no output device"));
        }
        for (name, told) in devices {
            console.result(format!("{name}  {told}"))?;
        }
        Ok(Outcome::Done)
    }

    /// Nothing would end a loop that no key ends.
    fn check_end(args: &Args, is_attended: bool, presses: &[Press]) -> Result<(), Failure> {
        if is_attended || args.looped.is_none() || presses.iter().any(Press::leaves) {
            return Ok(());
        }
        Err(Failure::input(
            "--loop plays round and round, and no key on standard input leaves",
            "add a time and a q to the keys, such as 10s q, or leave out --loop",
        ))
    }

    fn player(
        args: &Args,
        takes: Takes,
        take: usize,
        is_attended: bool,
        presses: &[Press],
    ) -> (Player, Remote) {
        let rate = takes.rate_hz();
        let cues = presses.iter().filter_map(|press| {
            Some(Cue { at: frames(press.at, rate), command: keys::command(press.key, rate)? })
        });
        let start = Start {
            take,
            levels: if args.as_is { FileLevels::AsIs } else { FileLevels::Matched },
            trim: args.level,
            region: match args.looped {
                Some(Looped::Part(from, to)) => Some(frames(from, rate)..frames(to, rate)),
                Some(Looped::All) | None => None,
            },
            loops: args.looped.is_some() || is_attended,
            cues: cues.collect(),
        };
        Player::new(Arc::new(takes), start)
    }

    /// Plays for a person at the keys.
    fn hear(set: &StoredSet, session: &Session) -> Result<(), Failure> {
        let show = Show::new(set, session.rate_hz());
        let mut draw = |width: usize, height: usize| show.lines(&session.remote().view(), width, height);
        let mut act = |key: Key| {
            if let Some(command) = keys::command(key, session.rate_hz()) {
                session.remote().send(command);
            }
            Attention::More
        };
        attend(session, &mut draw, &mut act).map(|_| ())
    }

    /// Plays to the end.
    fn wait(session: &Session) -> Result<(), Failure> {
        while let Going::On = session.going()? {
            moment();
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::{USUAL_LEVEL, level};
    use drywire::play::USUAL_TRIM;
    use drywire::quantity::Db;

    #[test]
    fn a_level_is_at_most_the_files_own_and_low_unless_it_is_set() {
        assert_eq!(level(USUAL_LEVEL), Ok(USUAL_TRIM));
        for (text, value) in [("-20dB", -20.0), ("0", 0.0), ("-6.5 db", -6.5), ("\u{2212}3", -3.0)] {
            assert_eq!(level(text), Ok(Db::new(value)), "{text}");
        }
        for text in ["1dB", "-61", "inf", "NaN", "", "loud"] {
            assert!(level(text).is_err(), "{text}");
        }
    }
}
