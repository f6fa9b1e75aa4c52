//! The wires of a cavity told lug by lug, as a person who looks at it sees them.
//!
//! A [`WireInterview`] holds the question to be put; each answer moves it on, or is refused and the question stands. It neither
//! prints nor reads.

use super::called::{lead_called, meant};
use super::wires::points_of_leads;
use super::{Harness, Part, PartKind, Parts, Terminal, Wire};
use crate::leads::Reply;

/// A conversation about what is soldered to each lug.
#[derive(Debug)]
pub struct WireInterview<'h> {
    parts: &'h Parts,
    /// Every terminal that may be asked for: lugs part by part, then leads.
    order: Vec<Terminal>,
    /// The place in that order of what is asked for.
    at: usize,
    told: Vec<Told>,
    is_stopped: bool,
}

/// An answer that was taken.
#[derive(Debug)]
struct Told {
    /// The place in the order of what was asked for.
    at: usize,
    wires: Vec<Wire>,
    is_skipped: bool,
}

impl<'h> WireInterview<'h> {
    /// What can be answered to any question.
    pub const ALWAYS: &'static str = "At any question: ? explains and lists the names, nothing means that nothing more is there, \
                                       skip leaves a lug out, back takes the last answer back, stop ends with what is known.";

    /// Returns a conversation about `harness`, of whose wires nothing is known.
    pub fn new(harness: &'h Harness) -> Self {
        let parts = harness.parts();
        let (lugs, leads): (Vec<Terminal>, Vec<Terminal>) =
            parts.terminals().partition(|own| !parts.is_lead(*own));
        Self { parts, order: [lugs, leads].concat(), at: 0, told: Vec::new(), is_stopped: false }
    }

    /// Returns the question to put, `None` where the conversation is over. Its last line is the question itself; lines before it
    /// explain.
    pub fn question(&self) -> Option<String> {
        let asked = self.asked()?;
        let part = self.parts.part_of(asked);
        let mut lines: Vec<String> = self.together().into_iter().collect();
        if self.parts.is_lead(asked) {
            let name = self.lead_name(asked);
            lines.push(format!("{name} is on no lug so far. What is it soldered to?"));
            return Some(lines.join("\n"));
        }
        if part.terminals().next() == Some(asked) {
            lines.push(orientation(self.parts, part));
        }
        let so_far: Vec<String> = self.on(asked).map(|other| self.parts.name_of(other)).collect();
        let name = self.parts.name_of(asked);
        lines.push(if so_far.is_empty() {
            format!("{name}: what is on it?")
        } else {
            format!("{name}: what is on it beside {}?", so_far.join(", "))
        });
        Some(lines.join("\n"))
    }

    /// Takes one line as the answer to the question.
    pub fn answer(&mut self, line: &str) -> Reply {
        let Some(asked) = self.asked() else { return Reply::Over };
        let answer = line.trim();
        match answer.to_lowercase().as_str() {
            "stop" | "quit" | "exit" => {
                self.is_stopped = true;
                return Reply::Over;
            }
            "?" | "help" => return Reply::Help(self.help()),
            "back" => {
                let Some(last) = self.told.pop() else {
                    return Reply::Refused("this is the first question".to_owned());
                };
                self.at = last.at;
                return Reply::Taken;
            }
            "skip" => self.told.push(Told { at: self.at, wires: Vec::new(), is_skipped: true }),
            _ => match self.wires_of(asked, answer) {
                Ok(wires) => self.told.push(Told { at: self.at, wires, is_skipped: false }),
                Err(why) => return Reply::Refused(why),
            },
        }
        let is_open = |at: &usize| {
            let own = self.order[*at];
            !self.parts.is_lead(own) || self.on(own).next().is_none()
        };
        self.at = (self.at + 1..self.order.len()).find(is_open).unwrap_or(self.order.len());
        if self.asked().is_none() { Reply::Over } else { Reply::Taken }
    }

    /// Returns the wires that were told, each once.
    pub fn wires(&self) -> Vec<Wire> {
        self.told.iter().flat_map(|told| told.wires.iter().copied()).collect()
    }

    /// Returns the terminals of which nothing was told: those left out, and those that were still to be asked for.
    pub fn untold(&self) -> Vec<Terminal> {
        let skipped = self.told.iter().filter(|told| told.is_skipped).map(|told| self.order[told.at]);
        skipped
            .chain(self.order[self.at..].iter().copied())
            .filter(|own| self.on(*own).next().is_none())
            .collect()
    }

    fn asked(&self) -> Option<Terminal> {
        self.order.get(self.at).copied().filter(|_| !self.is_stopped)
    }

    /// Returns what is on a terminal by what was told.
    fn on(&self, terminal: Terminal) -> impl Iterator<Item = Terminal> {
        self.told.iter().flat_map(|told| &told.wires).filter_map(move |[one, other]| match terminal {
            own if own == *one => Some(*other),
            own if own == *other => Some(*one),
            _ => None,
        })
    }

    /// Returns the new wires that lead from `asked` to what `answer` names.
    fn wires_of(&self, asked: Terminal, answer: &str) -> Result<Vec<Wire>, String> {
        if ["", "nothing", "nothing more", "none", "no", "-"].contains(&answer.to_lowercase().as_str()) {
            return Ok(Vec::new());
        }
        let mut all = self.wires();
        let before = all.len();
        for name in answer.split([',', ';']).map(str::trim).filter(|name| !name.is_empty()) {
            let is_free = |leg: Terminal| !all.iter().flatten().any(|end| *end == leg);
            let other = meant(self.parts, asked, name, is_free)?;
            if other == asked {
                return Err(format!(
                    "{} is what is asked for: name what is soldered to it",
                    self.parts.name_of(asked)
                ));
            }
            if all.iter().any(|wire| wire.contains(&asked) && wire.contains(&other)) {
                continue;
            }
            let wire = [asked, other];
            if let Some((lead, point)) = points_of_leads(self.parts, &all, wire).into_iter().next() {
                let [lead, point] = [wire[lead], point].map(|own| self.parts.name_of(own));
                return Err(format!(
                    "{lead} is on {point} already, and a lead or a leg ends at one point; say back to change that"
                ));
            }
            all.push(wire);
        }
        Ok(all.split_off(before))
    }

    /// Returns what the last answer joined, so that a slip is seen at once.
    fn together(&self) -> Option<String> {
        let last = self.told.last().filter(|told| !told.wires.is_empty())?;
        let mut net = vec![self.order[last.at]];
        let mut next = 0;
        while let Some(own) = net.get(next).copied() {
            let others: Vec<Terminal> = self.on(own).filter(|other| !net.contains(other)).collect();
            net.extend(others);
            next += 1;
        }
        net.sort_unstable();
        net.dedup();
        let names: Vec<String> = net.into_iter().map(|own| self.parts.name_of(own)).collect();
        Some(format!("Together now: {}.", names.join(", ")))
    }

    fn lead_name(&self, lead: Terminal) -> String {
        let name = self.parts.name_of(lead);
        lead_called(self.parts, lead).map_or_else(|| name.clone(), |called| format!("{name}, {called},"))
    }

    fn help(&self) -> String {
        let mut lines = vec![
            "Name what is soldered to the lug, with commas between: other lugs, leads by their colour or end, a capacitor or \
             resistor by its name, where either leg is as good as the other."
                .to_owned(),
        ];
        lines.extend(self.parts.all().iter().map(|part| {
            let lugs = part.terminals().map(|own| {
                let name = self.parts.name_of(own);
                lead_called(self.parts, own)
                    .map_or_else(|| name.clone(), |called| format!("{name} ({called})"))
            });
            format!("  {}", lugs.collect::<Vec<_>>().join(", "))
        }));
        lines.push(Self::ALWAYS.to_owned());
        lines.join("\n")
    }
}

/// Returns how the part is held, and in which order its lugs are asked for.
fn orientation(parts: &Parts, part: &Part) -> String {
    let name = part.name();
    let lugs = part.lugs().join(", ");
    match part.kind() {
        PartKind::Pot(..) => {
            format!(
                "{name}, a pot, seen from behind with its lugs up: 1, 2, 3 from left to right, then its case."
            )
        }
        PartKind::Lever(lever) => {
            let table = lever.table(parts.guitar()).name();
            format!("{name}, of the kind {table}, seen from behind; its lugs in their order: {lugs}.")
        }
        PartKind::Jack => format!("{name}: {lugs}. The tip's lug beeps to a plug's tip."),
        PartKind::Cavity => "The cavity's shield.".to_owned(),
        PartKind::TwoLegs(..)
        | PartKind::Pickup(_)
        | PartKind::Strings
        | PartKind::Buffer
        | PartKind::Battery => format!("{name}: {lugs}."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::Guitar;

    fn set_neck() -> Harness {
        Harness::of(&Guitar::built_in("set-neck").unwrap()).unwrap()
    }

    /// Answers every question by what is on the lug among `wires`.
    fn told_all(harness: &Harness, wires: &[Wire]) -> Vec<Wire> {
        let parts = harness.parts();
        let mut interview = WireInterview::new(harness);
        let mut questions = 0;
        while let Some(asked) = interview.asked() {
            let on: Vec<String> = wires
                .iter()
                .filter(|wire| wire.contains(&asked))
                .map(|[one, other]| parts.name_of(if *one == asked { *other } else { *one }))
                .collect();
            assert!(interview.question().unwrap().lines().last().unwrap().contains(&parts.name_of(asked)));
            let reply = interview.answer(&on.join(", "));
            assert!(matches!(reply, Reply::Taken | Reply::Over), "{reply:?}");
            questions += 1;
        }
        assert!(questions < parts.terminals().count(), "leads that are on a lug are not asked for");
        assert_eq!(interview.untold(), []);
        interview.wires()
    }

    #[test]
    fn wires_told_lug_by_lug_are_the_wires() {
        let harness = set_neck();
        let planned = harness.plan().unwrap().ends();
        let sorted = |wires: &[Wire]| {
            let mut wires = wires.to_vec();
            for wire in &mut wires {
                wire.sort_unstable();
            }
            wires.sort_unstable();
            wires
        };
        assert_eq!(sorted(&told_all(&harness, &planned)), sorted(&planned));
    }

    #[test]
    fn things_are_called_as_people_call_them_and_slips_are_refused() {
        let harness = set_neck();
        let mut interview = WireInterview::new(&harness);
        let name = |wire: &Wire| wire.map(|own| harness.parts().name_of(own));
        assert_eq!(interview.question().unwrap().lines().last(), Some("selector.1: what is on it?"));
        assert_eq!(interview.answer("bridge a+"), Reply::Taken);
        assert!(interview.question().unwrap().contains("Together now: bridge.a+, selector.1."));
        let twice = interview.answer("bridge.a+");
        assert!(
            matches!(&twice, Reply::Refused(why) if why.contains("is on selector.1 already")),
            "{twice:?}"
        );
        for (slip, said) in [
            ("0", "is what is asked for"),
            ("bridge.q", "it has bridge.a+"),
            ("tonne.1", "did you mean tone.1?"),
            ("bridge", "has several terminals; say which"),
            ("a-", "`a-` may be bridge.a- and neck.a-: say which"),
        ] {
            let reply = interview.answer(slip);
            assert!(matches!(&reply, Reply::Refused(why) if why.contains(said)), "{slip}: {reply:?}");
        }
        assert_eq!(interview.answer("neck.a+"), Reply::Taken);
        assert_eq!(interview.answer("back"), Reply::Taken);
        assert_eq!(interview.answer("Volume 3"), Reply::Taken);
        assert_eq!(interview.answer("nothing"), Reply::Taken);
        assert_eq!(interview.answer("skip"), Reply::Taken);
        let untold: Vec<String> =
            interview.untold().iter().map(|own| harness.parts().name_of(*own)).collect();
        assert!(untold.starts_with(&["selector.frame".to_owned()]), "{untold:?}");
        // On a pot `case` is its own, and a capacitor's legs are alike.
        assert_eq!(interview.answer("case, tone-cap"), Reply::Taken);
        assert_eq!(interview.answer("tip"), Reply::Taken);
        assert_eq!(interview.answer("tone-cap"), Reply::Taken);
        let wires: Vec<[String; 2]> = interview.wires().iter().map(name).collect();
        let wires: Vec<[&str; 2]> = wires.iter().map(|[one, other]| [one.as_str(), other.as_str()]).collect();
        assert_eq!(
            wires,
            [
                ["selector.1", "bridge.a+"],
                ["selector.0", "volume.3"],
                ["volume.1", "volume.case"],
                ["volume.1", "tone-cap.1"],
                ["volume.2", "jack.tip"],
                ["volume.3", "tone-cap.2"],
            ]
        );
        assert!(interview.question().unwrap().ends_with("volume.case: what is on it beside volume.1?"));
        assert!(matches!(interview.answer("?"), Reply::Help(text) if text.contains("jack.tip, jack.sleeve")));
        assert_eq!((interview.answer("stop"), interview.question()), (Reply::Over, None));
    }
}
