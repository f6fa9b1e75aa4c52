//! How pickups are joined, read from `joints`, `[[selector]]` and `[blend]`.

use super::controls::pot;
use super::{Remarks, keys};
use crate::document::{Fault, Located, Name, Section, nearest};
use crate::guitar::{Blend, Joined, Pickup, Point, Selector, bounds};
use crate::quantity::Ohms;
use crate::wiring::{Switch, Throw, joints};

/// More selectors than a guitar has room for.
const MAX_SELECTORS: usize = 8;
/// The words that joints know beside the pickups' names and lugs.
const WORDS: [(&str, Point); 2] = [("out", Point::Out), ("ground", Point::Ground)];
/// What makes of a pickup's name that of its ground conductor.
const COLD: &str = ".ground";

/// Returns how `pickups` are joined; every fault is noted.
pub(super) fn joined(
    top: &mut Section<'_>,
    pickups: &[Pickup],
    default_pot: Ohms,
    remarks: &mut Remarks,
) -> Option<Joined> {
    let fixed = match top.text_lists("joints") {
        Some(lists) => joints::groups(top, &lists, |name| point(pickups, None, name)),
        None => Some(Vec::new()),
    };
    let read = top.tables("selector", MAX_SELECTORS, |section| (selector(section, pickups), section.span()));
    let selectors: Option<Vec<Selector>> = read.iter().map(|(s, _)| s.clone()).collect();
    for (i, (selector, (_, span))) in selectors.iter().flatten().zip(&read).enumerate() {
        if selectors.iter().flatten().take(i).any(|earlier| earlier.name == selector.name) {
            top.note(Fault::new(span.clone(), format!("a second selector is named `{}`", selector.name)));
        }
    }
    let blend = match top.table("blend", |section| blend(section, pickups, default_pot, remarks)) {
        Some(read) => Some(read?),
        None => None,
    };
    let joined = Joined { fixed: fixed?, selectors: selectors?, blend };
    if !joined.is_empty() {
        let missing = (0..pickups.len()).filter(|i| !joined.names(Point::Hot(*i)));
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

fn selector(section: &mut Section<'_>, pickups: &[Pickup]) -> Option<Selector> {
    section.knows(&keys::SELECTOR);
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
    let stands = section.number("stands");
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
    let joints = joints::groups(section, &lists?, |name| point(pickups, Some(switch), name))?;
    Some(Selector { name: name?.value, switch, joints, stands })
}

fn blend(
    section: &mut Section<'_>,
    pickups: &[Pickup],
    default_pot: Ohms,
    remarks: &mut Remarks,
) -> Option<Blend> {
    section.knows(&keys::BLEND);
    let pot = pot(section, "blend", (&bounds::POT, default_pot), remarks);
    if !section.has("ends") {
        section.note_missing("ends", "say what its track lies between, as in ends = [\"bridge\", \"neck\"]");
    }
    let ends = section.texts("ends")?;
    let found = ends.iter().map(|name| point(pickups, None, name).map_err(|fault| section.note(fault)).ok());
    let found: Vec<Point> = found.collect::<Vec<_>>().into_iter().collect::<Option<_>>()?;
    let Ok(ends) = <[Point; 2]>::try_from(found) else {
        let message = format!("a blend pot's track has two ends, and {} are named", ends.len());
        section.note(Fault::new(section.span(), message));
        return None;
    };
    Some(Blend { pot, ends })
}

/// Returns what `name` calls at a joint, around `switch` where there is one.
fn point(
    pickups: &[Pickup],
    switch: Option<&'static Switch>,
    name: &Located<String>,
) -> Result<Point, Fault> {
    let given = name.value.as_str();
    let place = |name: &str| pickups.iter().position(|p| p.name().as_str() == name);
    let lug = || switch.and_then(|switch| switch.lug(given)).map(Point::Lug);
    let word = || WORDS.iter().find(|(word, _)| *word == given).map(|(_, point)| *point);
    let cold = || given.strip_suffix(COLD).and_then(place).map(Point::Cold);
    word().or_else(|| place(given).map(Point::Hot)).or_else(cold).or_else(lug).ok_or_else(|| {
        let mut known: Vec<String> = pickups.iter().map(Pickup::name).map(Name::to_string).collect();
        known.extend(WORDS.map(|(word, _)| word.to_owned()));
        known.extend(pickups.iter().map(|p| format!("{}{COLD}", p.name())));
        known.extend(switch.iter().flat_map(|switch| switch.lug_names().iter().cloned()));
        let fault = Fault::new(name.span.clone(), format!("the guitar has nothing called `{given}` to join"));
        match nearest(given, known.iter().map(String::as_str)) {
            Some(nearest) => fault.hint(format!("did you mean `{nearest}`?")),
            None => fault.hint(format!("there are {}", known.join(", "))),
        }
    })
}
