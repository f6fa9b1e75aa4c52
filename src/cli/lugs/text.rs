//! The answers for reading, on a terminal of 80 columns.

use drywire::cautions;
use drywire::guitar::{Pickup, Pole};
use drywire::jack::Expected;
use drywire::lugs::{Described, Finding, Found, Passing, Preference, ThrowFacts, Wanted, rests_on};
use drywire::quantity::counted;
use drywire::report::{Column, TextTable};
use drywire::wiring::{Lug, Plan, Soldered, Switch, Thing, Throw};
use drywire::words::HUM_CANCELS;

use crate::cli::wrap::{indented, item, paragraph, section, wrap};

/// Returns the answer to a search that found plans: the whole first plan, and the others in short or, where they
/// were asked for by number, whole too.
pub(super) fn search(
    wanted: &Wanted,
    found: &Found,
    fewest: &[(Preference, Plan)],
    shown: &[Described],
    in_short: bool,
) -> String {
    let mut text = heading(wanted.switch(), &asked(wanted));
    let (count, joints) = (fewest.len(), fewest[0].0.joints);
    let plans = if count == 1 { "one plan has".to_owned() } else { format!("{count} plans have") };
    paragraph(
        &mut text,
        &format!(
            "{} the fewest possible, and {plans} as few. Proven: {} part-plans were looked at, \
             which decide all {} ways to join these things.",
            if joints == 1 { "1 joint is".to_owned() } else { format!("{joints} joints are") },
            grouped(found.searched),
            grouped(wanted.ways())
        ),
    );
    before_the_iron(&mut text, wanted.switch());
    let others = shown.len() - 1;
    let whole = if in_short { 1 } else { shown.len() };
    for (i, described) in shown.iter().enumerate().take(whole) {
        let title = match (others, described.plan.joints()) {
            (0, joints) => format!("2. Solder: {}", counted(joints, "joint")),
            (_, joints) => {
                format!("2. Solder: plan {} of {}, {}", i + 1, shown.len(), counted(joints, "joint"))
            }
        };
        section(&mut text, &title);
        solder(&mut text, described);
        throws(&mut text, described, "3.");
        on_the_way(&mut text, described, Some(fewest));
        findings(&mut text, described);
    }
    if shown.len() > whole {
        section(
            &mut text,
            &format!("The other plans with {}, the most preferred first", counted(joints, "joint")),
        );
        for described in &shown[whole..] {
            in_short_form(&mut text, described);
        }
    }
    if others == 0 && count > 1 {
        text.push('\n');
        paragraph(&mut text, "--fewest prints the other plans with as few joints, --best N the N best.");
    }
    text.trim_end().to_owned()
}

/// Returns the answer to a search that found none.
pub(super) fn no_plan(wanted: &Wanted, found: &Found, alternatives: &[Wanted]) -> String {
    let mut text = heading(wanted.switch(), &asked(wanted));
    paragraph(
        &mut text,
        &format!(
            "No plan does this. Proven: {} part-plans were looked at, which rule out all {} ways to join these \
             things.",
            grouped(found.searched),
            grouped(wanted.ways())
        ),
    );
    text.push('\n');
    match alternatives {
        [] => paragraph(&mut text, "No other order and no other built-in switch can do it either."),
        able => {
            paragraph(&mut text, "These can, the nearest first:");
            for other in able {
                let words =
                    format!("--switch {} --throws {}", other.switch(), asked(other).replace(", ", ","));
                wrap(&mut text, &words, "  ", "    ");
            }
        }
    }
    text.trim_end().to_owned()
}

/// Returns the answer to a check.
pub(super) fn check(switch: &Soldered, pickup: &Pickup, described: &Described) -> String {
    let name = &switch.name().value;
    let mut text = heading(switch.switch(), &format!("switch {name} on pickup {}", pickup.name()));
    let faults = described.faults().count();
    let verdict = match faults {
        0 => "No fault found".to_owned(),
        1 => "One fault found".to_owned(),
        faults => format!("{faults} faults found"),
    };
    let is_coil_end = |thing: &Thing| matches!(thing, Thing::Terminal(end) if end.coil().is_some());
    let named = match switch.names() {
        Some(names) => format!("its ends go by {names}"),
        None if described.plan.groups().iter().flatten().any(is_coil_end) => {
            "its ends go by their leads".to_owned()
        }
        None => "no coil end is joined".to_owned(),
    };
    paragraph(&mut text, &format!("{verdict}; {}; {named}.", counted(described.plan.joints(), "joint")));
    findings(&mut text, described);
    section(&mut text, "What is soldered");
    solder(&mut text, described);
    throws(&mut text, described, "");
    on_the_way(&mut text, described, None);
    section(&mut text, "Before touching it");
    cautions(&mut text);
    text.push('\n');
    text.push_str(&footing(pickup, true));
    text.trim_end().to_owned()
}

/// Returns what the readings and signs rest on.
pub(super) fn footing(pickup: &Pickup, is_own: bool) -> String {
    let mut text = String::new();
    if is_own {
        paragraph(&mut text, "Taken from the guitar's file, or assumed there:");
        for coil in rests_on(pickup) {
            item(&mut text, &coil);
        }
    } else {
        paragraph(
            &mut text,
            "The ohms are a built-in pickup's; name your own by --guitar. a+ and b+ are the ends that read \
             positive when steel touches that coil's poles, a is the coil nearer the bridge: find them with \
             `drywire leads` first.",
        );
    }
    text.trim_end().to_owned()
}

fn heading(switch: &Switch, what: &str) -> String {
    let mut text = String::new();
    paragraph(&mut text, &format!("{switch}: {what}"));
    paragraph(&mut text, switch.title());
    text.push('\n');
    text
}

fn asked(wanted: &Wanted) -> String {
    wanted.asked().iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

fn before_the_iron(text: &mut String, switch: &Switch) {
    section(text, "Before the iron is hot");
    cautions(text);
    section(text, "1. Check the bare switch, meter on continuity");
    paragraph(text, "Lugs are seen from behind, top to bottom; on a push-pull pot the knob is at the top.");
    let mut table = TextTable::new([
        Column::numbers(["", "throw"]),
        Column::words(["", "position"]),
        Column::words(["", "these pairs beep, no others"]),
    ]);
    for throw in switch.throws() {
        table.row([throw.number().to_string(), position(throw), contacts(switch, throw)]);
    }
    indented(text, &table);
    paragraph(text, "If it differs, turn the switch round, or choose the table that fits it.");
}

fn cautions(text: &mut String) {
    for caution in cautions::BENCH {
        item(text, caution);
    }
}

fn solder(text: &mut String, described: &Described) {
    let Described { plan, labels, .. } = described;
    let (switch, soldering) = (plan.switch(), plan.soldering());
    let wires =
        |wires: &[Thing]| wires.iter().map(|wire| labels.wire(*wire, switch)).collect::<Vec<_>>().join(", ");
    for lug in switch.lugs() {
        let mut joined: Vec<String> = Vec::new();
        if !soldering.at_lug[lug.index()].is_empty() {
            joined.push(wires(&soldering.at_lug[lug.index()]));
        }
        joined.extend(soldering.linked(lug).map(|other: Lug| format!("jumper to {}", switch.name_of(other))));
        let joined = if joined.is_empty() { "nothing".to_owned() } else { joined.join("; ") };
        wrap(text, &joined, &format!("  {:<5}", switch.name_of(lug)), "       ");
    }
    for splice in &soldering.splices {
        item(text, &format!("off the switch, joined and insulated: {}", wires(splice)));
    }
    item(text, "jumpers first, then the coil leads, then ground and hot");
    item(text, "the cable's shield and the bridge-ground wire stay on ground");
}

fn throws(text: &mut String, described: &Described, number: &str) {
    section(text, format!("{number} What each throw does").trim_start());
    let mut table = TextTable::new([
        Column::words(["", "throw"]),
        Column::words(["", "position"]),
        Column::words(["", "arrangement"]),
        Column::words(["", "strings"]),
        Column::words(["", "hum"]),
        Column::numbers(["ohms", "at jack"]),
    ]);
    let switch = described.plan.switch();
    let (mut in_words, mut bands) = (Vec::new(), Vec::new());
    for (throw, facts) in switch.throws().iter().cycle().zip(&described.facts) {
        let place = facts.place();
        let arrangement = if let Some(named) = facts.connection.arrangement() {
            named.name().to_owned()
        } else {
            in_words.push(format!("throw {place}: {}", facts.connection.words()));
            "see below".to_owned()
        };
        bands.push(format!("{place} {}", band(facts)));
        let ohms = match facts.reading {
            None => "–".to_owned(),
            Some(_) => facts.dc_at_jack().map_or_else(|| "open".to_owned(), |ohms| ohms.to_string()),
        };
        table.row([place, throw.position().to_owned(), arrangement, strings(facts), hum(facts), ohms]);
    }
    indented(text, &table);
    for words in in_words {
        item(text, &words);
    }
    if described.facts.iter().any(|facts| facts.hum_is_assumed) {
        item(text, &format!("Hum: two coils cancel it so far {}.", Pole::HUM_IF_OPPOSITE));
    }
    if described.facts.iter().all(|facts| facts.reading.is_none()) {
        item(
            text,
            "Ohms: a buffer stands between the coils and the jack, so that a meter there reads nothing of them.",
        );
        return;
    }
    let at = described.read_at.as_ref().map(|at| format!("{}, ", at.words)).unwrap_or_default();
    item(
        text,
        &format!(
            "Ohms: {at}volume full, nothing plugged in. Within the tolerances throw {}.",
            bands.join(", throw ")
        ),
    );
}

/// Returns the range that a reading may lie in.
fn band(facts: &ThrowFacts) -> String {
    match facts.reading.and_then(Expected::band) {
        None => "reads open".to_owned(),
        Some([low, high]) => format!("reads {low} to {high}"),
    }
}

fn strings(facts: &ThrowFacts) -> String {
    match facts.in_phase {
        Some(true) => "in phase",
        Some(false) => "out of phase",
        None => "silent",
    }
    .to_owned()
}

fn hum(facts: &ThrowFacts) -> String {
    match facts.hum_cancels {
        Some(true) => HUM_CANCELS,
        Some(false) => "hums",
        None => "–",
    }
    .to_owned()
}

/// Says what is heard while the lever travels, and whether any of the plans with the fewest joints is better.
fn on_the_way(text: &mut String, described: &Described, fewest: Option<&[(Preference, Plan)]>) {
    let worst = described.worst_passing();
    if worst == Passing::Sounds {
        item(text, "On the way between throws something always sounds.");
        return;
    }
    let avoidable = fewest.map(|plans| plans.iter().any(|(marks, _)| marks.worst_passing < worst));
    let others = match avoidable {
        None => "",
        Some(true) => ". A plan with as few joints avoids it",
        Some(false) => ". No plan with as few joints avoids it",
    };
    item(text, &format!("For a moment on the way between throws, at worst: {worst}{others}."));
}

fn in_short_form(text: &mut String, described: &Described) {
    let Described { plan, labels, .. } = described;
    let group = |group: &Vec<Thing>| {
        group.iter().map(|thing| labels.name(*thing, plan.switch())).collect::<Vec<_>>().join("·")
    };
    let groups: Vec<String> = plan.groups().iter().map(group).collect();
    item(text, &format!("{}  (between throws: {})", groups.join("  "), described.worst_passing()));
}

fn findings(text: &mut String, described: &Described) {
    for (title, found) in [
        ("Faults", described.faults().collect::<Vec<&Finding>>()),
        ("Worth knowing", described.remarks().collect()),
    ] {
        if found.is_empty() {
            continue;
        }
        section(text, title);
        for finding in found {
            let place = finding.place().map(|place| format!("{place}: ")).unwrap_or_default();
            item(text, &format!("{place}{}", finding.what));
        }
    }
}

fn position(throw: &Throw) -> String {
    match throw.knob() {
        Some(knob) => format!("{}; knob {knob}", throw.position()),
        None => throw.position().to_owned(),
    }
}

fn contacts(switch: &Switch, throw: &Throw) -> String {
    let pairs: Vec<String> =
        throw.contacts().iter().map(|pair| pair.map(|lug| switch.name_of(lug)).join("-")).collect();
    if pairs.is_empty() { "none".to_owned() } else { pairs.join(", ") }
}

/// Writes a number with its digits in groups of three.
fn grouped(number: u64) -> String {
    let digits = number.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}
