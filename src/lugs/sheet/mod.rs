//! The worksheet: one page to print and solder from, complete in itself.

pub(crate) mod colour;
mod drawing;
mod schematic;

use std::fmt::Write;

use super::{Described, Finding, Passing, ThrowFacts, rests_on};
use crate::cautions;
use crate::guitar::{Guitar, Pickup, Pole};
use crate::jack::Expected;
use crate::markup::{COLOURS, Escaped, Head, content, list};
use crate::quantity::{Ohms, counted};
use crate::wiring::{Function, Lug, Switch, Thing, Throw};
use crate::words;

/// The page's style, kept as files of their own.
pub(crate) const STYLE: &str = concat!(include_str!("colours.css"), include_str!("sheet.css"));
/// The style of a [`picture`] within an element of class `wiring` on another page.
pub const PICTURE_STYLE: &str =
    concat!(include_str!("colours.css"), ".wiring {\n", include_str!("sheet.css"), "}\n");
/// Between two lugs that are joined: a hyphen at which no line breaks.
const TO: &str = "\u{2011}";

/// Returns the page for a plan for `pickup` on `guitar`, of the guitar's switch of that `name` where it has one.
pub fn sheet(described: &Described, guitar: &Guitar, pickup: &Pickup, name: Option<&str>) -> String {
    let switch = described.plan.switch();
    let title: Vec<String> = described.facts.iter().map(|facts| facts.connection.label()).collect();
    let title = title.join(" · ");
    let called = name.map(|name| format!("“{name}”, ")).unwrap_or_default();
    let joints = counted(described.plan.joints(), "joint");
    let head = Head {
        about: &title,
        kind: "wiring sheet",
        style: &[COLOURS, STYLE],
        scripts: &[],
        has_worker: false,
        has_pictures: false,
    };
    format!(
        "{head}\n<body class=\"wiring\">\n<main>\n\
         <header>\n<p class=\"kicker\">Wiring sheet</p>\n<h1>{title}</h1>\n\
         <p class=\"about\">{called}{switch} switch ({about}) for the {pickup} pickup of <bdi>{guitar}</bdi>. \
         {joints}.</p>\n</header>\n\
         {faults}{cautions}{plan}{throws}{work}\
         <footer>\n<p>Ohms and signs rest on: {rests}. Measure your own coils before relying on them.</p>\n\
         </footer>\n</main>\n</body>\n</html>\n",
        title = Escaped(&title),
        called = Escaped(&called),
        about = Escaped(switch.title()),
        pickup = Escaped(pickup.name().as_str()),
        guitar = Escaped(guitar.name()),
        faults = faults(described),
        cautions = listed("cautions", "Before you start", &cautions::BENCH.map(str::to_owned)),
        plan = plan(described),
        throws = throws(described, "What each throw does"),
        work = work(described),
        rests = content(&rests_on(pickup).join("; ")),
    )
}

fn faults(described: &Described) -> String {
    let words = |finding: &Finding| {
        let place = finding.place().map(|place| format!("{place}: ")).unwrap_or_default();
        capital(&format!("{place}{}", finding.what))
    };
    let faults: Vec<String> = described.faults().map(words).collect();
    if faults.is_empty() { String::new() } else { listed("faults", "This plan has faults", &faults) }
}

pub(crate) fn listed(class: &str, title: &str, items: &[String]) -> String {
    format!("<section class=\"{class}\">\n<h2>{title}</h2>\n{}</section>\n", list(items))
}

/// Returns a part of a page with the switch drawn from behind, and what each throw does; the throws are counted there, whatever
/// number they have in the contact table.
pub fn picture(described: &Described) -> String {
    plan(described) + &throws_called(described, "What each throw does", |place, _| place + 1)
}

/// Returns the drawing and, beside it, the same in words.
fn plan(described: &Described) -> String {
    let Described { plan, labels, .. } = described;
    let (switch, soldering) = (plan.switch(), plan.soldering());
    let wires = |wires: &[Thing]| -> String {
        let shown = wires.iter().map(|wire| format!("<b>{}</b>", content(&labels.wire(*wire, switch))));
        shown.collect::<Vec<_>>().join(", ")
    };
    let mut rows = String::new();
    for lug in switch.lugs() {
        let mut cells: Vec<String> = Vec::new();
        let at_lug = &soldering.at_lug[lug.index()];
        if !at_lug.is_empty() {
            cells.push(wires(at_lug));
        }
        let jumper = |other: Lug| format!("jumper to {}", content(switch.name_of(other)));
        cells.extend(soldering.linked(lug).map(jumper));
        let cell = if cells.is_empty() { "<i>nothing</i>".to_owned() } else { cells.join("; ") };
        let name = content(switch.name_of(lug));
        let _ = writeln!(rows, "<tr><th scope=\"row\">{name}</th><td>{cell}</td></tr>");
    }
    for splice in &soldering.splices {
        let _ = writeln!(
            rows,
            "<tr><th scope=\"row\">off</th><td>{}, joined off the switch</td></tr>",
            wires(splice)
        );
    }
    format!(
        "<section class=\"plan\">\n<h2>The switch from behind</h2>\n<figure>\n{}\n\
         <figcaption>Lugs toward you, top up; on a push-pull pot the knob is at the top.{}</figcaption>\n</figure>\n<table>\n<thead><tr><th>Lug</th><th>Solder to it</th></tr></thead>\n\
         <tbody>\n{rows}</tbody>\n</table>\n</section>\n",
        drawing::switch(plan, labels),
        if soldering.jumpers.is_empty() { "" } else { " Inside the outline: jumpers." }
    )
}

/// Returns what each throw does, with its contacts and its schematic.
pub(crate) fn throws(described: &Described, title: &str) -> String {
    throws_called(described, title, |_, throw| throw.number().into())
}

fn throws_called(described: &Described, title: &str, number: impl Fn(usize, &Throw) -> usize) -> String {
    let switch = described.plan.switch();
    let card = |(place, (throw, facts)): (usize, (&Throw, &ThrowFacts))| {
        let knob = throw.knob().map(|knob| format!("; knob {knob}")).unwrap_or_default();
        format!(
            "<article>\n<p class=\"position\"><b>Throw {}</b> {}{}</p>\n<div class=\"pictures\">{}{}</div>\n\
             <h3>{}</h3>\n<p class=\"facts\">{}</p>\n</article>\n",
            number(place, throw),
            Escaped(throw.position()),
            Escaped(&knob),
            drawing::contacts(switch, throw),
            schematic::schematic(facts.connection),
            Escaped(&facts.connection.label()),
            Escaped(&facts_of(facts)),
        )
    };
    let cards: String = switch.throws().iter().zip(&described.facts).enumerate().map(card).collect();
    let between = match described.worst_passing() {
        Passing::Sounds => "Between throws something always sounds.".to_owned(),
        worst => format!("For a moment between throws, at worst: {worst}."),
    };
    format!(
        "<section class=\"throws\">\n<h2>{}</h2>\n<div class=\"cards\">\n{cards}</div>\n\
         <p class=\"between\">{}</p>\n</section>\n",
        content(title),
        Escaped(&between)
    )
}

fn facts_of(facts: &ThrowFacts) -> String {
    let hum = if facts.hum_cancels == Some(true) {
        format!("hum cancels, {}", words::hum_left(facts.hum_db))
    } else {
        "hums".to_owned()
    };
    let hum = if facts.hum_is_assumed { format!("{hum} {}", Pole::HUM_IF_OPPOSITE) } else { hum };
    let heard = match (Function::of(&facts.connection), facts.in_phase) {
        (Function::Muted | Function::Dead, _) | (_, None) => "Silent".to_owned(),
        (Function::OneCoil { .. }, Some(_)) => "One coil, so it hums".to_owned(),
        (Function::TwoCoils { .. }, Some(true)) => format!("Strings in phase, {hum}"),
        (Function::TwoCoils { .. }, Some(false)) => format!("Strings out of phase, {hum}"),
    };
    let named_in_full = match facts.connection.arrangement() {
        Some(_) if facts.connection.words() != facts.connection.label() => {
            format!(" {}.", capital(&facts.connection.words()))
        }
        Some(_) | None => String::new(),
    };
    format!("{heard}.{named_in_full}")
}

fn capital(words: &str) -> String {
    let mut chars = words.chars();
    chars.next().map(|first| first.to_uppercase().chain(chars).collect()).unwrap_or_default()
}

/// Returns the order of work, each step with a box to tick.
fn work(described: &Described) -> String {
    let Described { plan, facts, .. } = described;
    let switch = plan.switch();
    let soldering = plan.soldering();
    let jumpers: Vec<String> =
        soldering.jumpers.iter().map(|jumper| jumper.map(|lug| switch.name_of(lug)).join(TO)).collect();
    let mut steps = vec![
        "Photograph the wiring as it is, and note which lead is where.".to_owned(),
        format!(
            "Check the bare switch with the meter on continuity: {}. If it differs, turn it round or use another \
             table.",
            switch.throws().iter().map(|throw| beeps(switch, throw)).collect::<Vec<_>>().join("; ")
        ),
    ];
    if !jumpers.is_empty() {
        steps.push(format!("Fit the {}: {}.", plural(jumpers.len(), "jumper"), jumpers.join(", ")));
    }
    steps.extend(
        [
            "Solder the coil leads, lug by lug; insulate what is joined off the switch.",
            "Solder ground, then hot. Shield and bridge-ground wire stay on ground.",
            "Tug every wire. Look for whiskers of solder between neighbouring lugs.",
        ]
        .map(str::to_owned),
    );
    let steps = steps.iter().map(|step| format!("<li>{}</li>\n", content(step))).collect::<Vec<_>>().concat();
    let read_at = described.read_at.as_ref().map(|at| format!(", {}", at.words)).unwrap_or_default();
    let mut rows = String::new();
    for facts in facts {
        let _ = writeln!(
            rows,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td class=\"yours\"></td></tr>",
            Escaped(&facts.place()),
            Escaped(&facts.connection.label()),
            expected(facts)
        );
    }
    format!(
        "<div class=\"bench\">\n<section class=\"work\">\n<h2>Order of work</h2>\n<ol>\n{steps}</ol>\n</section>\n\
         <section class=\"proof\">\n<h2>Prove it at the jack</h2>\n\
         <p>The meter at the jack, nothing else plugged in, volume full{at}. Ohms cannot show phase: with the meter on DC \
         millivolts touch steel to one coil’s poles, then to the other’s; where both coils sound in phase, both \
         first swings go the same way.</p>\n<table>\n<thead><tr><th>Throw</th><th>Does</th><th>Must read</th>\
         <th>Yours</th></tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</section>\n</div>\n",
        at = Escaped(&read_at)
    )
}

/// Returns which lugs a throw joins, in words.
pub(crate) fn beeps(switch: &Switch, throw: &Throw) -> String {
    let pairs: Vec<String> =
        throw.contacts().iter().map(|pair| pair.map(|lug| switch.name_of(lug)).join(TO)).collect();
    let pairs = if pairs.is_empty() { "nothing".to_owned() } else { pairs.join(" and ") };
    format!("throw {} joins {pairs}", throw.number())
}

fn plural(count: usize, word: &str) -> String {
    if count == 1 { word.to_owned() } else { format!("{word}s") }
}

/// Returns the range that a reading at the jack may lie in.
fn expected(facts: &ThrowFacts) -> String {
    match facts.reading {
        None => "nothing: a buffer stands between".to_owned(),
        Some(reading) => must_read(reading),
    }
}

/// Returns the range that a reading may lie in.
pub fn must_read(reading: Expected) -> String {
    let told = |ohms: Ohms| ohms.to_string().replace(' ', "\u{a0}");
    match reading {
        Expected::Open => "open".to_owned(),
        Expected::Ohms { nominal, .. } if nominal.value() == 0.0 => "near 0 Ω".to_owned(),
        Expected::Ohms { low, high, .. } => format!("{} to {}", told(low), told(high)),
    }
}
