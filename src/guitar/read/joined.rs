//! How pickups are joined, read from `joints`, `[[selector]]` and `[blend]`.

use std::sync::Arc;

use super::controls::pot;
use super::keyed::Keyed;
use crate::document::{Fault, Located, Name, Section, nearest};
use crate::guitar::{Blend, Joined, Lever, Linked, Pickup, Point, Selector};
use crate::quantity::Ohms;
use crate::wiring::{Soldered, Switch, Terminal, Thing, Throw, joints};

/// The words that joints know beside the pickups' names and lugs.
const WORDS: [(&str, Point); 2] = [("out", Point::Out), ("ground", Point::Ground)];
/// What makes of a pickup's name that of its ground conductor.
const COLD: &str = ".ground";

/// Returns how `pickups` are joined; every fault is noted. `switches` are those on the pickups.
pub(super) fn joined(
    top: &mut Keyed<'_, '_>,
    pickups: &[Pickup],
    switches: &[Soldered],
    default_pot: Ohms,
) -> Option<Joined> {
    let lists = top.text_lists("joints").unwrap_or_default();
    let read = top.tables("selector", |section| (sketch(section), section.span()));
    let sketches: Option<Vec<Sketch>> = read.iter().map(|(s, _)| s.clone()).collect();
    for (i, (selector, (_, span))) in sketches.iter().flatten().zip(&read).enumerate() {
        if sketches.iter().flatten().take(i).any(|earlier| earlier.name == selector.name) {
            top.note(Fault::new(span.clone(), format!("a second selector is named `{}`", selector.name)));
        }
    }
    let of_selectors = read.iter().enumerate().filter_map(|(place, (sketch, _))| {
        sketch.as_ref().map(|s| (&s.name, &*s.switch, Lever::Selector(place)))
    });
    let of_switches = switches.iter().enumerate();
    let of_switches = of_switches.map(|(place, s)| (&s.name().value, &**s.switch(), Lever::Switch(place)));
    let names = Names { pickups, levers: of_selectors.chain(of_switches).collect() };
    let fixed = joints::groups(top, &lists, |name| names.point(None, name));
    let selectors: Vec<Option<Selector>> = read
        .iter()
        .enumerate()
        .map(|(place, (sketch, _))| {
            let Sketch { name, switch, lists, stands } = sketch.clone()?;
            let at = Some((Lever::Selector(place), &*switch));
            let joints = joints::groups(top, &lists, |name| names.point(at, name))?;
            Some(Selector { name, switch, joints, stands })
        })
        .collect();
    let selectors: Option<Vec<Selector>> = selectors.into_iter().collect();
    let blend = match top.table("blend", |section| blend(section, &names, default_pot)) {
        Some(read) => Some(read?),
        None => None,
    };
    let around = around_switches(top, &names, switches);
    let mut joined = Joined { fixed: fixed?, selectors: selectors?, blend, linked: Vec::new() };
    joined.linked = linked(&joined, around?);
    if !joined.is_empty() {
        // A pickup whose switch is joined with others may lead on by its lugs.
        let leads_on =
            |pickup: &usize| joined.names(Point::Hot(*pickup)) || joined.linked_on(*pickup).is_some();
        let missing = (0..pickups.len()).filter(|i| !leads_on(i));
        let missing = missing.map(|i| pickups[i].name().as_str());
        let missing: Vec<&str> = missing.chain((!joined.leads_out()).then_some("out")).collect();
        if !missing.is_empty() {
            let message = format!("no joint, selector or blend names `{}`", missing.join("`, `"));
            let hint = "join every pickup by its name, and `out`, which leads on to the controls";
            top.note(Fault::new(top.span(), message).hint(hint));
        }
        for pickup in pickups.iter().filter(|p| WORDS.iter().any(|(word, _)| p.name().as_str() == *word)) {
            let message = format!("a pickup that is joined with others can not be named `{}`", pickup.name());
            top.note(Fault::new(top.span(), message));
        }
    }
    Some(joined)
}

/// Takes what tells how pickups are joined as read where the pickups themselves could not be: their names are not known.
pub(super) fn passed_over(top: &mut Section<'_>) -> Option<Joined> {
    for key in ["joints", "selector", "blend"] {
        top.pass_over(key);
    }
    None
}

/// A selector whose joints are still to be understood: they may name lugs of those that follow.
#[derive(Clone)]
struct Sketch {
    name: Name,
    switch: Arc<Switch>,
    lists: Vec<Located<Vec<Located<String>>>>,
    stands: usize,
}

fn sketch(section: &mut Keyed<'_, '_>) -> Option<Sketch> {
    let name = section.name("name");
    let table = section.text("table");
    let lists = section.text_lists("joints");
    for (key, hint) in [
        ("name", "name it, as in name = \"selector\""),
        ("table", "name the kind of switch, as in table = \"three-way-toggle\""),
        (
            "joints",
            "list what meets at each point, as in [[\"bridge\", \"1\"], [\"neck\", \"2\"], [\"out\", \"0\"]]",
        ),
    ] {
        if !section.has(key) {
            section.note_missing(key, hint);
        }
    }
    let stands = section.any_number("stands");
    let switch = table.and_then(|table| match Switch::selector_named(&table.value) {
        Ok(switch) => Some(switch),
        Err(unknown) => {
            section.note(Fault::new(table.span, unknown.to_string()).hint(unknown.hint()));
            None
        }
    })?;
    let stands = match stands {
        None => 0,
        Some(stated) => {
            let place = switch.throws().iter().map(Throw::number);
            let place =
                place.clone().position(|n| f64::from(n).total_cmp(&stated.value).is_eq()).ok_or(place);
            place
                .map_err(|numbers| {
                    let message = format!("`{}` has no throw {}", switch.name(), stated.value);
                    let known: Vec<String> = numbers.map(|n| n.to_string()).collect();
                    section
                        .note(Fault::new(stated.span, message).hint(format!("it has {}", known.join(", "))));
                })
                .ok()?
        }
    };
    Some(Sketch { name: name?.value, switch, lists: lists?, stands })
}

fn blend(section: &mut Keyed<'_, '_>, names: &Names<'_>, default_pot: Ohms) -> Option<Blend> {
    let pot = pot(section, Some(default_pot));
    if !section.has("ends") {
        section.note_missing("ends", "say what its track lies between, as in ends = [\"bridge\", \"neck\"]");
    }
    let ends = section.texts("ends")?;
    let found = ends.iter().map(|name| names.point(None, name).map_err(|fault| section.note(fault)).ok());
    let found: Vec<Point> = found.collect::<Vec<_>>().into_iter().collect::<Option<_>>()?;
    let Ok(ends) = <[Point; 2]>::try_from(found) else {
        let message = format!("a blend pot's track has two ends, and {} are named", ends.len());
        section.note(Fault::new(section.span(), message));
        return None;
    };
    Some(Blend { pot, ends })
}

/// The joints around one switch as points of the guitar, and whether some of them are lugs of other switches.
struct Around {
    switch: usize,
    pickup: usize,
    joints: Vec<Vec<Point>>,
    leads_elsewhere: bool,
}

/// Returns the joints around each of `switches` that is on a pickup of the guitar; every fault is noted.
fn around_switches(top: &Section<'_>, names: &Names<'_>, switches: &[Soldered]) -> Option<Vec<Around>> {
    let mut whole = true;
    let mut all = Vec::new();
    for (place, switch) in switches.iter().enumerate() {
        let on = match switch.on() {
            Some(on) => names.pickups.iter().position(|pickup| *pickup.name() == on.value),
            None => (names.pickups.len() == 1).then_some(0),
        };
        let Some(pickup) = on else { continue };
        let own = |thing: Thing| match thing {
            Thing::Terminal(terminal) => Point::Terminal(pickup, terminal),
            Thing::Shield => Point::Terminal(pickup, Terminal::Ground),
            Thing::Lug(lug) => Point::Lug(lug),
        };
        let groups = switch.groups(names.pickups[pickup].finish_is_plus());
        let mut joints: Vec<Vec<Point>> =
            groups.into_iter().map(|group| group.into_iter().map(own).collect()).collect();
        for (group, name) in switch.elsewhere() {
            match names.point(Some((Lever::Switch(place), switch.switch())), name) {
                Ok(point) => joints[*group].push(point),
                Err(fault) => {
                    top.note(fault);
                    whole = false;
                }
            }
        }
        let leads_elsewhere = !switch.elsewhere().is_empty();
        all.push(Around { switch: place, pickup, joints, leads_elsewhere });
    }
    whole.then_some(all)
}

/// Returns those switches that are joined with others, and those that are on one pickup with them.
fn linked(joined: &Joined, around: Vec<Around>) -> Vec<Linked> {
    let groups = joined.fixed.iter().chain(joined.selectors.iter().flat_map(|s| &s.joints));
    let of_blend = joined.blend.iter().flat_map(|blend| blend.ends);
    let met: Vec<Point> = groups
        .chain(around.iter().flat_map(|around| &around.joints))
        .flatten()
        .copied()
        .chain(of_blend)
        .collect();
    let is_met = |switch: usize| {
        met.iter().any(|point| matches!(point, Point::LugOf(Lever::Switch(of), _) if *of == switch))
    };
    let pickups: Vec<usize> = around
        .iter()
        .filter(|around| around.leads_elsewhere || is_met(around.switch))
        .map(|around| around.pickup)
        .collect();
    let linked = around.into_iter().filter(|around| pickups.contains(&around.pickup));
    linked
        .map(|Around { switch, pickup, joints, leads_elsewhere: _ }| Linked { switch, pickup, joints })
        .collect()
}

/// What joints may name.
struct Names<'n> {
    pickups: &'n [Pickup],
    /// Every selector and switch, by its name and with its lugs.
    levers: Vec<(&'n Name, &'n Switch, Lever)>,
}

impl Names<'_> {
    /// Returns what `name` calls at a joint, around a selector or switch where there is one.
    fn point(&self, at: Option<(Lever, &Switch)>, name: &Located<String>) -> Result<Point, Fault> {
        let given = name.value.as_str();
        let place = |name: &str| self.pickups.iter().position(|p| p.name().as_str() == name);
        let lug = || at.and_then(|(_, switch)| switch.lug(given)).map(Point::Lug);
        let word = || WORDS.iter().find(|(word, _)| *word == given).map(|(_, point)| *point);
        let cold = || given.strip_suffix(COLD).and_then(place).map(Point::Cold);
        let own = word().or_else(|| place(given).map(Point::Hot)).or_else(cold).or_else(lug);
        own.or_else(|| self.elsewhere(at, given)).ok_or_else(|| self.unknown(at, name))
    }

    /// Returns the lug that is called with the name of its switch before it, as in `selector.2`.
    fn elsewhere(&self, at: Option<(Lever, &Switch)>, given: &str) -> Option<Point> {
        let (name, lug) = given.split_once('.')?;
        let (_, switch, lever) = self.levers.iter().find(|(own, ..)| own.as_str() == name)?;
        let lug = switch.lug(lug)?;
        let is_own = at.is_some_and(|(own, _)| own == *lever);
        Some(if is_own { Point::Lug(lug) } else { Point::LugOf(*lever, lug) })
    }

    fn unknown(&self, at: Option<(Lever, &Switch)>, name: &Located<String>) -> Fault {
        let given = name.value.as_str();
        let fault = Fault::new(name.span.clone(), format!("the guitar has nothing called `{given}` to join"));
        let of_a_lever = given
            .split_once('.')
            .and_then(|(name, _)| self.levers.iter().find(|(own, ..)| own.as_str() == name));
        if let Some((name, switch, _)) = of_a_lever {
            let lugs: Vec<String> = switch.lug_names().iter().map(|lug| format!("{name}.{lug}")).collect();
            return fault.hint(format!("`{name}` has {}", lugs.join(", ")));
        }
        let mut known: Vec<String> = self.pickups.iter().map(Pickup::name).map(Name::to_string).collect();
        known.extend(WORDS.map(|(word, _)| word.to_owned()));
        known.extend(self.pickups.iter().map(|p| format!("{}{COLD}", p.name())));
        known.extend(at.iter().flat_map(|(_, switch)| switch.lug_names().iter().cloned()));
        let mut all = known.clone();
        let lugs_of = |(name, switch, _): &(&Name, &Switch, Lever)| {
            switch.lug_names().iter().map(|lug| format!("{name}.{lug}")).collect::<Vec<_>>()
        };
        all.extend(self.levers.iter().flat_map(lugs_of));
        match nearest(given, all.iter().map(String::as_str)) {
            Some(nearest) => fault.hint(format!("did you mean `{nearest}`?")),
            None => fault
                .hint(format!("there are {}, and the lugs of switches, as in selector.2", known.join(", "))),
        }
    }
}
