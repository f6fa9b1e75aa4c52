//! The joints around a switch, as a guitar's file lists them, with one made or undone.

use drywire::document::Literal;
use drywire::guitar::{Draft, Pickup};
use drywire::lugs::Labels;
use drywire::wiring::{EndNames, FinishIsPlus, Soldered, Switch, Terminal, Thing};

use super::super::guitar::Trouble;

/// The groups of what is soldered together, each thing with the word that the file has for it.
pub(super) struct Joints<'g> {
    groups: Vec<Vec<(Thing, String)>>,
    switch: &'g Switch,
    names: EndNames,
    finish_is_plus: FinishIsPlus,
}

/// Returns all that can be soldered around a switch.
pub(super) fn things(switch: &Switch) -> impl Iterator<Item = Thing> {
    Terminal::ALL.into_iter().map(Thing::Terminal).chain([Thing::Shield]).chain(switch.lugs().map(Thing::Lug))
}

/// Returns what a thing is called in the panel's own forms.
pub(super) fn word_of(thing: Thing, switch: &Switch) -> &str {
    thing.name(switch, EndNames::PlusMinus, [true; 2])
}

impl<'g> Joints<'g> {
    /// Returns the joints around `switch`, at its place in the file, on `pickup`.
    pub(super) fn of(
        draft: &Draft,
        place: usize,
        pickup: &Pickup,
        switch: &'g Soldered,
    ) -> Result<Self, Trouble> {
        let elsewhere = || {
            Trouble::new(
                "a joint of this switch leads to another switch",
                "change its joints where the guitar’s values are",
            )
        };
        if !switch.elsewhere().is_empty() {
            return Err(elsewhere());
        }
        let labels = Labels::of(pickup, switch.names());
        let at = format!("switch[{place}].joints").parse().map_err(|_| elsewhere())?;
        let written = draft.document().lists_at(&at).unwrap_or_default();
        let groups = switch.groups(labels.finish_is_plus());
        let groups =
            groups.into_iter().zip(written).map(|(group, words)| group.into_iter().zip(words).collect());
        Ok(Self {
            groups: groups.collect(),
            switch: switch.switch(),
            names: labels.names(),
            finish_is_plus: labels.finish_is_plus(),
        })
    }

    fn thing(&self, word: &str) -> Result<Thing, Trouble> {
        let found = things(self.switch).find(|thing| word_of(*thing, self.switch) == word);
        found.ok_or_else(|| {
            let all: Vec<&str> = things(self.switch).map(|thing| word_of(thing, self.switch)).collect();
            let message = if word.is_empty() {
                "no wire is picked up".to_owned()
            } else {
                format!("there is no `{word}`")
            };
            Trouble::new(message, format!("choose among {}", all.join(", ")))
        })
    }

    fn place_of(&self, thing: Thing) -> Option<usize> {
        self.groups.iter().position(|group| group.iter().any(|(own, _)| *own == thing))
    }

    /// Returns a thing with the word by which the file calls its like.
    fn written(&self, thing: Thing) -> (Thing, String) {
        (thing, thing.name(self.switch, self.names, self.finish_is_plus).to_owned())
    }

    /// Puts a thing down on another: a wire leaves what it was soldered to, a lug is joined with all that is soldered to it, as by
    /// a jumper. Nothing is done where they are soldered together already. Returns what was done.
    pub(super) fn put(&mut self, thing: &str, to: &str) -> Result<String, Trouble> {
        let (one, other) = (self.thing(thing)?, self.thing(to)?);
        if one == other {
            return Err(Trouble::new(format!("`{thing}` is that itself"), "choose another lug"));
        }
        let called = format!("{thing} soldered to {to}");
        if self.place_of(one).is_some_and(|place| Some(place) == self.place_of(other)) {
            return Ok(called);
        }
        let moved = match one {
            Thing::Lug(_) => self.place_of(one).map(|place| self.groups.remove(place)),
            Thing::Terminal(_) | Thing::Shield => {
                self.off(one);
                None
            }
        };
        let moved = moved.unwrap_or_else(|| vec![self.written(one)]);
        match self.place_of(other) {
            Some(place) => self.groups[place].extend(moved),
            None => self.groups.push(moved.into_iter().chain([self.written(other)]).collect()),
        }
        Ok(called)
    }

    /// Takes a thing off all that it is soldered to; returns what was done.
    pub(super) fn unsolder(&mut self, thing: &str) -> Result<String, Trouble> {
        let own = self.thing(thing)?;
        self.off(own);
        Ok(format!("{thing} unsoldered"))
    }

    fn off(&mut self, own: Thing) {
        for group in &mut self.groups {
            group.retain(|(other, _)| *other != own);
        }
        self.groups.retain(|group| group.len() > 1);
    }

    /// Returns what the file has to say.
    pub(super) fn literal(self) -> Literal {
        let words = |group: Vec<(Thing, String)>| group.into_iter().map(|(_, word)| word).collect();
        Literal::TextLists(self.groups.into_iter().map(words).collect())
    }
}
