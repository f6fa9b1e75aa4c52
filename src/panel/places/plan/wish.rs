//! What is planned: the kind of switch and what its throws are to do, as a person chose it, as the guitar's own switch has it, or
//! something usual.

use std::sync::Arc;

use drywire::guitar::{Guitar, Pickup};
use drywire::lugs::{Asked, Labels, Wanted, is_linked, ranked};
use drywire::quantity::counted;
use drywire::wiring::Arrangement::{Parallel, Series, SeriesReversed, SplitA, SplitB};
use drywire::wiring::{Connection, Plan, Soldered, Switch};

use super::super::guitar::Trouble;
use super::super::shown::Shown;
use super::switch_of;

/// What is often wanted of a switch, with the simplest kind that does it. The first of a kind is what one begins with.
pub(super) const OFTEN: [(&str, &[Asked]); 7] = [
    ("on-on", &[Asked::Named(Series), Asked::Named(Parallel)]),
    ("on-on-on", &[Asked::Named(Series), Asked::Split, Asked::Named(Parallel)]),
    ("on-on", &[Asked::Named(Series), Asked::Split]),
    ("on-off-on", &[Asked::Named(SplitA), Asked::Named(Series), Asked::Named(SplitB)]),
    ("on-on", &[Asked::Named(Series), Asked::Named(SeriesReversed)]),
    ("on-off-on", &[Asked::Named(Series), Asked::Off, Asked::Named(Parallel)]),
    ("on-on-single", &[Asked::Named(Series), Asked::Split]),
];
/// How many of them are offered; the others are what a kind begins with.
pub(super) const OFFERED: usize = 5;

/// The switch that a pickup has.
pub(super) struct Own<'g> {
    pub(super) soldered: &'g Soldered,
    plan: Plan,
    /// What each throw does, nothing where that depends on other switches.
    throws: Option<Vec<Connection>>,
}

/// What is planned.
pub(super) struct Wish<'g> {
    pub(super) switch: Arc<Switch>,
    pub(super) asked: Vec<Asked>,
    pub(super) own: Option<Own<'g>>,
}

/// The plans that do what is planned, the most preferred first, but before them one that is in the guitar already.
pub(super) struct Planned {
    pub(super) wanted: Wanted,
    pub(super) plans: Vec<Plan>,
    /// How many ways to join some of the things were looked at; they decide all others.
    pub(super) searched: u64,
}

impl<'g> Own<'g> {
    fn of(guitar: &'g Guitar, pickup: &Pickup) -> Option<Self> {
        let (_, soldered) = switch_of(guitar, pickup)?;
        let plan = soldered.plan(Labels::of(pickup, soldered.names()).finish_is_plus());
        let throws = (!is_linked(guitar, soldered)).then(|| plan.throws());
        Some(Self { soldered, plan, throws })
    }

    fn is_of(&self, switch: &Switch) -> bool {
        self.soldered.switch().name() == switch.name()
    }

    /// Returns what could be asked of each of its throws.
    pub(super) fn asked(&self) -> Option<Vec<Asked>> {
        let asked = |throw: &Connection| Asked::all().find(|own| own.accepts(throw)).unwrap_or(Asked::Any);
        Some(self.throws.as_ref()?.iter().map(asked).collect())
    }

    /// Returns whether it is soldered as `plan` has it.
    pub(super) fn is(&self, plan: &Plan) -> bool {
        self.throws.is_some() && self.plan == *plan
    }

    /// Returns the number of its joints.
    pub(super) fn joints(&self) -> String {
        counted(self.plan.joints(), "joint")
    }
}

impl<'g> Wish<'g> {
    /// Returns what is planned for `pickup`.
    pub(super) fn of(guitar: &'g Guitar, pickup: &Pickup, shown: &Shown) -> Result<Self, Trouble> {
        let own = Own::of(guitar, pickup);
        let switch = match (shown.kind.as_str(), &own) {
            ("", Some(own)) => Arc::clone(own.soldered.switch()),
            (kind, _) => {
                let kind = if kind.is_empty() { OFTEN[0].0 } else { kind };
                Switch::named(kind).map_err(|error| Trouble::new(error.to_string(), error.hint()))?
            }
        };
        let has = own.as_ref().filter(|own| own.is_of(&switch)).and_then(Own::asked);
        let begun = has.unwrap_or_else(|| usual(&switch));
        let chosen = chosen(shown, &switch);
        let asked = begun.into_iter().zip(chosen).map(|(begun, chosen)| chosen.unwrap_or(begun)).collect();
        Ok(Self { switch, asked, own })
    }

    /// Returns whether the guitar's own switch does what is planned, however it is soldered.
    pub(super) fn is_done(&self) -> bool {
        let throws =
            self.own.as_ref().filter(|own| own.is_of(&self.switch)).and_then(|own| own.throws.as_ref());
        throws.is_some_and(|throws| {
            throws.iter().zip(&self.asked).all(|(throw, asked)| *asked != Asked::Any && asked.accepts(throw))
        })
    }

    /// Returns the plans for it.
    pub(super) fn planned(&self) -> Result<Planned, Trouble> {
        let wanted = Wanted::new(Arc::clone(&self.switch), self.asked.clone())
            .map_err(|error| Trouble::new(error.to_string(), ""))?;
        let found = wanted.fewest();
        let searched = found.searched;
        let mut plans: Vec<Plan> = ranked(found.plans).into_iter().map(|(_, plan)| plan).collect();
        let is_there = |plan: &Plan| self.own.as_ref().is_some_and(|own| own.is(plan));
        plans.sort_by_key(|plan| !is_there(plan));
        Ok(Planned { wanted, plans, searched })
    }
}

/// Returns what was chosen for each throw, nothing where that was for a kind of switch with other throws.
fn chosen(shown: &Shown, switch: &Switch) -> [Option<Asked>; 4] {
    let throws = |kind: &str| Switch::named(kind).map(|kind| kind.throws().len()).ok();
    if !shown.throws_of.is_empty() && throws(&shown.throws_of) != Some(switch.throws().len()) {
        return [None; 4];
    }
    [&shown.throw1, &shown.throw2, &shown.throw3, &shown.throw4].map(|chosen| chosen.parse().ok())
}

/// Returns what the throws of a kind of switch begin with: something that it can do.
fn usual(switch: &Switch) -> Vec<Asked> {
    let begins = |(kind, throws): &&(&str, &[Asked])| {
        let is_alike = switch.name().strip_prefix(kind).is_some_and(|rest| matches!(rest, "" | "-mirrored"));
        is_alike && throws.len() == switch.throws().len()
    };
    let usual = OFTEN.iter().find(begins).map(|(_, throws)| throws.to_vec());
    usual.unwrap_or_else(|| vec![Asked::Any; switch.throws().len()])
}

#[cfg(test)]
mod tests {
    use drywire::document::Document;

    use super::*;

    fn guitar(switch: &str) -> Guitar {
        let text = format!("format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n{switch}");
        Guitar::read(&Document::new("guitar.toml", text)).unwrap()
    }

    fn words(asked: &[Asked]) -> Vec<String> {
        asked.iter().map(ToString::to_string).collect()
    }

    #[test]
    fn what_a_kind_begins_with_and_what_is_often_wanted_can_be_done() {
        for (kind, throws) in OFTEN {
            let wanted = Wanted::new(Switch::named(kind).unwrap(), throws.to_vec()).unwrap();
            assert!(!wanted.fewest().plans.is_empty(), "{kind}: {throws:?}");
        }
        let guitar = guitar("");
        for kind in Switch::built_in() {
            let shown = Shown { kind: kind.name().to_owned(), ..Shown::default() };
            let wish =
                Wish::of(&guitar, &guitar.pickups()[0], &shown).unwrap_or_else(|e| panic!("{}", e.words()));
            let planned = wish.planned().unwrap_or_else(|e| panic!("{}", e.words()));
            assert!(!planned.plans.is_empty() && !wish.is_done(), "{}", kind.name());
            assert!(!wish.asked.contains(&Asked::Any), "{}", kind.name());
        }
    }

    #[test]
    fn throws_that_were_chosen_for_another_number_of_throws_are_not_taken_over() {
        let guitar = guitar("");
        let asked = |kind: &str, throws_of: &str| {
            let [kind, throws_of] = [kind, throws_of].map(str::to_owned);
            let [throw1, throw2] = ["parallel", "series"].map(str::to_owned);
            let shown = Shown { kind, throw1, throw2, throws_of, ..Shown::default() };
            Wish::of(&guitar, &guitar.pickups()[0], &shown).map(|wish| words(&wish.asked)).ok().unwrap()
        };
        assert_eq!(asked("on-on", "on-on"), ["parallel", "series"]);
        assert_eq!(asked("on-on-single", "on-on"), ["parallel", "series"]);
        assert_eq!(asked("on-on-on", "on-on"), ["series", "split", "parallel"]);
        assert_eq!(asked("on-on-on", ""), ["parallel", "series", "parallel"]);
    }

    #[test]
    fn it_begins_with_the_switch_that_the_guitar_has_and_knows_it() {
        let bare = guitar("");
        let pickup = &bare.pickups()[0];
        let three = Shown { kind: "on-on-on".to_owned(), ..Shown::default() };
        let new = Wish::of(&bare, pickup, &three).ok().unwrap().planned().ok().unwrap();
        assert!(new.plans.len() > 3);
        // The last of the plans whose middle throw has a name of its own is in the guitar.
        let is_named = |plan: &&Plan| {
            Asked::all().any(|own| matches!(own, Asked::Named(_)) && own.accepts(&plan.throws()[1]))
        };
        let plan = new.plans.iter().rfind(is_named).unwrap();
        let name = |thing: &drywire::wiring::Thing| {
            format!("\"{}\"", thing.name(plan.switch(), drywire::wiring::EndNames::PlusMinus, [true; 2]))
        };
        let group = |group: &Vec<drywire::wiring::Thing>| {
            format!("[{}]", group.iter().map(name).collect::<Vec<_>>().join(", "))
        };
        let joints = plan.groups().iter().map(group).collect::<Vec<_>>().join(", ");
        let switched =
            guitar(&format!("[[switch]]\nname = \"mode\"\ntable = \"on-on-on\"\njoints = [{joints}]\n"));
        let wish = |shown: &Shown| Wish::of(&switched, &switched.pickups()[0], shown).ok().unwrap();
        let begun = wish(&Shown::default());
        assert_eq!(begun.switch.name(), "on-on-on");
        let [first, middle, last] = begun.asked[..] else { panic!("{:?}", begun.asked) };
        assert_eq!([first, last], [Asked::Named(Series), Asked::Named(Parallel)]);
        assert!(matches!(middle, Asked::Named(_)), "the very coil that is heard: {middle}");
        assert!(begun.is_done());
        let planned = begun.planned().ok().unwrap();
        assert!(begun.own.as_ref().unwrap().is(&planned.plans[0]), "what is in comes first");
        // Another wish is not what is in, nor is another kind.
        let other =
            wish(&Shown { throw2: "split-b".to_owned(), throw1: "parallel".to_owned(), ..Shown::default() });
        assert!(!other.is_done() && other.switch.name() == "on-on-on");
        let two = wish(&Shown { kind: "on-on".to_owned(), ..Shown::default() });
        assert_eq!(words(&two.asked), ["series", "parallel"]);
        assert!(!two.is_done());
    }
}
