//! What takes tell, in words.

use super::Verdict;
use super::answer::ConsistentWith;
use super::playing::Fault;
use super::weigh::{Cause, Fit, REFUSED, Seen, Weighed};
use crate::quantity::{counted, signed};

/// What no ratio of two takes tells, and what does.
const UNSEEN: &str = "a coil whose leads are crossed in every throw is not seen by this: unplug the guitar from the amplifier, put \
    the meter on millivolts at the jack, and tap each coil's poles with steel: the first swing must be the same way";
/// What tells a dead coil.
const DEAD: &str = "whether one coil is dead is not told by a level: the ohms at the jack tell, or five seconds of damped strings \
    near mains, where one coil hums and two in parallel some 25 dB less";

/// What makes takes fit nothing.
const LOOK: &str = "look whether knobs, cable, chord and the place of picking were the same in both takes, whether the guitar's file \
    has this pickup's values, and by the ohms at the jack whether a coil is dead";

/// What is told of a voice.
#[derive(Debug, Clone)]
pub(super) struct Told {
    pub(super) verdict: Verdict,
    pub(super) consistent_with: Vec<ConsistentWith>,
    pub(super) words: String,
}

/// Returns what is told of the first voice, or of one that is set against nothing.
pub(super) fn of_first(first: &str, is_first: bool) -> Told {
    let words = if is_first {
        format!("the other takes are told against {first}; by itself it is not judged: {UNSEEN}")
    } else {
        format!("there are no strums both of this throw and of {first} that could be set against each other")
    };
    Told { verdict: Verdict::CannotBeTold, consistent_with: Vec::new(), words }
}

/// Returns what is told of a later voice; `called` has the names of a group, `between` those of the two voices.
pub(super) fn of<'n>(weighed: &Weighed, called: &dyn Fn(usize) -> Vec<&'n str>, between: [&str; 2]) -> Told {
    let name = |group: usize| called(group).join(" or ");
    let drawn = name(weighed.drawn);
    let [first, later] = between;
    let (cause, fit) = weighed.best;
    let verdict = verdict(weighed);
    let mut parts = vec![match (verdict, cause) {
        (_, Cause::Gain) => format!(
            "the tone fits {drawn}, as drawn, and the level fits nothing: {} dB, foretold {}. The gain of the recording may have \
             been changed between the takes, which cannot be told from a drop: leave it as it is, and play both throws again",
            signed(weighed.measured_level, 1),
            foretold(weighed)
        ),
        (Verdict::Consistent, _) => {
            format!("consistent with {drawn}, as drawn ({})", agreement(&weighed.own))
        }
        (Verdict::CannotBeTold, _) if !fit.is_one() => format!(
            "consistent with no arrangement of this guitar ({} for {drawn}): {LOOK}",
            agreement(&weighed.own)
        ),
        (Verdict::CannotBeTold, Cause::Voice(group)) if group == weighed.drawn => {
            format!("{drawn}, as drawn, fits best, and poorly ({}): {LOOK}", agreement(&weighed.own))
        }
        (Verdict::CannotBeTold, Cause::Voice(group)) => {
            format!(
                "cannot be told from these takes: {} fits somewhat better than {drawn}, which is drawn",
                name(group)
            )
        }
        (Verdict::CannotBeTold, Cause::First(group)) => {
            format!(
                "cannot be told from these takes: {first} as {} in place of {}, which is drawn, fits somewhat better",
                name(group),
                name(weighed.first)
            )
        }
        (Verdict::CannotBeTold, Cause::Swapped) => {
            format!(
                "cannot be told from these takes: {later} and {first} the other way round fit somewhat better"
            )
        }
        (Verdict::NotConsistent, Cause::Swapped) => format!(
            "not consistent with {drawn}, which is drawn; consistent with the throws being swapped: {later} sounds as {first} is to, \
             and {first} as {later} is to"
        ),
        (Verdict::NotConsistent, Cause::First(group)) => format!(
            "not consistent with {drawn} against {}, which are drawn; consistent with {later} being as drawn and {first} being {}",
            name(weighed.first),
            name(group)
        ),
        (Verdict::NotConsistent, Cause::Voice(group)) if group == weighed.first => format!(
            "not consistent with {drawn}, which is drawn; both throws sound alike: the throw does not do what is drawn"
        ),
        (Verdict::NotConsistent, Cause::Voice(group)) => {
            let out_of_phase = if weighed.rule.seen == Seen::OutOfPhase { ", out of phase" } else { "" };
            format!(
                "not consistent with {drawn}, which is drawn; consistent with {}{out_of_phase}",
                name(group)
            )
        }
    }];
    parts.push(low(weighed, first));
    let others: Vec<String> = weighed
        .voices
        .iter()
        .filter(|(group, own)| is_left(weighed, own) && *group != weighed.drawn)
        .filter(|(group, _)| cause != Cause::Voice(*group))
        .map(|(group, _)| name(*group))
        .collect();
    if !others.is_empty() && verdict != Verdict::NotConsistent {
        parts.push(format!("{} cannot be ruled out", others.join(", ")));
    }
    let is_open = verdict == Verdict::CannotBeTold && cause != Cause::Gain || !others.is_empty();
    if let (true, Some(rival), true) = (is_open, weighed.rival, fit.agrees()) {
        parts.push(more(weighed, &drawn, &name(rival)));
    }
    parts.push(UNSEEN.to_owned());
    Told { verdict, consistent_with: consistent_with(weighed, called), words: parts.join("; ") }
}

fn verdict(weighed: &Weighed) -> Verdict {
    let (cause, fit) = weighed.best;
    match cause {
        Cause::Gain => Verdict::CannotBeTold,
        Cause::Voice(_) | Cause::First(_) | Cause::Swapped if !fit.is_one() => Verdict::CannotBeTold,
        Cause::Voice(group) if group == weighed.drawn && fit.agrees() => Verdict::Consistent,
        Cause::Voice(group) if group == weighed.drawn => Verdict::CannotBeTold,
        Cause::Voice(_) | Cause::First(_) | Cause::Swapped if weighed.lag < REFUSED => Verdict::CannotBeTold,
        Cause::Voice(_) | Cause::First(_) | Cause::Swapped => Verdict::NotConsistent,
    }
}

fn consistent_with<'n>(weighed: &Weighed, called: &dyn Fn(usize) -> Vec<&'n str>) -> Vec<ConsistentWith> {
    let (cause, fit) = weighed.best;
    // Of throws that are swapped the later one is what the first is to be; a changed gain leaves the tone of what is drawn.
    let best = match cause {
        Cause::Voice(_) | Cause::First(_) => None,
        Cause::Swapped => Some((weighed.first, fit)),
        Cause::Gain => Some((weighed.drawn, fit)),
    };
    let left = weighed.voices.iter().copied().filter(|(_, own)| is_left(weighed, own));
    let left = left.filter(|(group, _)| best.is_none_or(|(known, _)| known != *group));
    best.into_iter()
        .filter(|(_, fit)| fit.is_one())
        .chain(left)
        .flat_map(|(group, fit)| {
            let entry = move |name: &'n str| ConsistentWith {
                name: name.to_owned(),
                chi2: fit.chi2,
                degrees: fit.degrees,
                p: fit.p,
            };
            called(group).into_iter().map(entry)
        })
        .collect()
}

/// Returns whether a voice is not refused.
fn is_left(weighed: &Weighed, own: &Fit) -> bool {
    own.is_one() && own.lag_behind(&weighed.best.1) < REFUSED
}

/// Returns the agreement of a fit in words, with its figures.
fn agreement(fit: &Fit) -> String {
    let how = match fit.p {
        p if p >= 0.1 => "it agrees as well as takes can",
        _ if fit.agrees() => "it agrees fairly",
        _ if fit.is_one() => "it agrees poorly",
        _ => "it does not agree",
    };
    format!("{how}: χ² {:.0} of {}", fit.chi2, counted(fit.degrees, "third octave"))
}

fn foretold(weighed: &Weighed) -> String {
    format!("{} ± {:.1}", signed(weighed.level, 1), weighed.level_sd)
}

/// Returns what the rule sees below 800 Hz.
fn low(weighed: &Weighed, first: &str) -> String {
    let rule = weighed.rule;
    let seen = match rule.seen {
        Seen::AsDrawn => "as drawn",
        Seen::NoChange => "hardly any change",
        Seen::Swapped => "the other way round",
        Seen::OutOfPhase => "as coils that sound against each other",
        Seen::Unclear => "unclear",
    };
    let rise = match rule.rise {
        Some(rise) => format!(", and {} dB from there to 4.5 to 8 kHz", signed(rise, 0)),
        None => String::new(),
    };
    format!(
        "below 800 Hz {} dB against {first}, foretold {}{rise}: {seen}",
        signed(rule.low, 1),
        signed(rule.foretold, 1)
    )
}

fn more(weighed: &Weighed, drawn: &str, rival: &str) -> String {
    match (weighed.more, weighed.is_of_strums) {
        (Some(more), _) => format!("{} more a throw would tell {drawn} from {rival}", counted(more, "strum")),
        (None, true) => {
            format!("no number of strums tells {drawn} from {rival} for sure: the ohms at the jack do")
        }
        (None, false) => format!("the ohms at the jack tell {drawn} from {rival}"),
    }
}

/// Returns what is told where the gain of some voices' takes was changed between their blocks.
pub(super) fn with_gain(mut told: Told, changed: &[(&String, f64)]) -> Told {
    for (name, apart) in changed {
        told.verdict = Verdict::CannotBeTold;
        told.words = format!(
            "the takes of {name} are {apart:.1} dB apart, which nobody drifts: the gain of the recording was changed, or they were not \
             all played in the throw that is named, and no level is told; {}",
            told.words
        );
    }
    told
}

/// Returns what is told of a take that tells nothing.
pub(super) fn of_fault(fault: Fault) -> &'static str {
    match fault {
        Fault::Silent => {
            "nothing is heard in this take: look whether cable and volume are up; if they are, the throw is dead, and the ohms at \
             the jack tell why"
        }
        Fault::NoStrum => {
            "something is heard in this take and no strum stands out of it: let each chord ring for a second, and turn the input up \
             where noise is nearly as loud"
        }
        Fault::Clipped => {
            "peaks are cut off in this take, and it is left out: turn the input down, and play both throws again"
        }
        Fault::AnotherChord => {
            "another chord is heard in this take than in the first, and it is left out: play the same chord in both throws"
        }
    }
}

/// Returns what is told of strums that were left out.
pub(super) fn of_odd(count: usize) -> String {
    let is = if count == 1 { "is" } else { "are" };
    format!("; {} {is} left out, far louder or softer than the rest", counted(count, "strum"))
}

/// Returns what a take of single notes was.
pub(super) fn of_notes(notes: usize, throws: usize, chords: usize) -> String {
    let left_out = match chords {
        0 => String::new(),
        count => format!("; {} are left out", counted(count, "chord")),
    };
    format!(
        "{} rang while the switch was thrown {}: partial by partial, with no player in it{left_out}",
        counted(notes, "note"),
        counted(throws, "time")
    )
}

/// Returns what is to be said besides.
pub(super) fn notes(has_several_coils: bool) -> Vec<String> {
    let mut notes =
        vec!["two takes tell how one throw is against the other, and nothing that both have".to_owned()];
    if has_several_coils {
        notes.push(DEAD.to_owned());
    }
    notes
}
