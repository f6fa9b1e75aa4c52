//! The sheet of a guitar's values: every key that its file may have, in sections.

use std::collections::BTreeMap;
use std::sync::Arc;

use drywire::document::{Fault, Stated};
use drywire::guitar::keys::{GUITAR, Key, Kind, Table};
use drywire::guitar::{Draft, Guitar, KIND_UNKNOWN, Placed, nearest_presets};
use drywire::quantity::{Ohms, parse_quantity};
use drywire::wiring::{Arrangement, Switch};
use maud::{Markup, html};

use super::field::{Field, Form, SelectChoice};
use super::typed::Asked;

/// Of places in a guitar's file, how much the value there moves what is heard, in dB, and how it is measured.
pub(crate) type Moves = BTreeMap<String, (f64, &'static str)>;

/// What the sheet is made from.
#[derive(Debug)]
pub(crate) struct Sheet<'s> {
    /// The path of the guitar's page.
    pub(crate) at: &'s str,
    pub(crate) draft: &'s Draft,
    /// The guitar, where the draft has no fault.
    pub(crate) guitar: Option<&'s Guitar>,
    pub(crate) faults: &'s [Fault],
    pub(crate) asked: Option<&'s Asked>,
    pub(crate) moves: &'s Moves,
}

/// The keys that stand first in a section; the others follow on demand.
const FIRST: [&str; 22] = [
    "name",
    "scale",
    "like",
    "arrangement",
    "from_bridge",
    "resistance",
    "inductance",
    "capacitance",
    "pot",
    "turned",
    "capacitor",
    "resistor",
    "length",
    "total",
    "per_metre",
    "joints",
    "table",
    "stands",
    "ends",
    "on",
    "input",
    "output",
];

/// Returns all sections, the knobs before all others where they are `first`.
pub(crate) fn sections(sheet: &Sheet<'_>, knobs_first: bool) -> Markup {
    let values: BTreeMap<String, Placed> = sheet
        .guitar
        .map(Guitar::values)
        .unwrap_or_default()
        .into_iter()
        .map(|value| (value.place.clone(), value))
        .collect();
    let writer = Writer { sheet, stated: sheet.draft.document().stated(), values };
    html! {
        @if knobs_first { (writer.controls("controls", "")) }
        (writer.table(&GUITAR, "", "The guitar", true))
        @for i in 0..writer.count("pickup") { (writer.pickup(i)) }
        (writer.adds("pickup", "Add a pickup"))
        @for list in ["selector", "switch"] {
            @for i in 0..writer.count(list) {
                @let at = format!("{list}[{i}]");
                @let title = format!("{}: {}", if list == "switch" { "Switch" } else { "Selector" }, writer.stated(&format!("{at}.name")));
                (writer.below(list, &at, &title, true))
            }
        }
        (writer.adds("selector", "Add a selector among pickups"))
        (writer.adds("switch", "Add a switch around one pickup"))
        @if !knobs_first { (writer.controls("controls", "")) }
        @for (name, title) in [("blend", "Blend"), ("buffer", "Buffer")] {
            @if writer.is_there(name) { (writer.below(name, name, title, true)) } @else { (writer.adds(name, &format!("Add a {name}"))) }
        }
        (writer.below("harness", "harness", "The control cavity", false))
        (writer.below("cable", "cable", "Cable", false))
        (writer.below("input", "input", "Amplifier's input", false))
        (writer.below("tolerances", "tolerances", "How far parts may be off", false))
    }
}

struct Writer<'w> {
    sheet: &'w Sheet<'w>,
    stated: Stated<'w>,
    values: BTreeMap<String, Placed>,
}

impl Writer<'_> {
    /// Returns how many tables of a list are shown: those that the file has, and no more than it may have.
    fn count(&self, list: &str) -> usize {
        let there = list.parse().map_or(0, |place| self.stated.count_at(&place));
        there.min(most_of(list))
    }

    fn written(&self, place: &str) -> Option<String> {
        self.stated.written_at(&place.parse().ok()?)
    }

    fn stated(&self, place: &str) -> String {
        self.written(place).unwrap_or_default()
    }

    /// Returns whether the file has a table there, or the guitar any value of it.
    fn is_there(&self, place: &str) -> bool {
        let within = format!("{place}.");
        self.written(place).is_some() || self.values.keys().any(|own| own.starts_with(&within))
    }

    fn pickup(&self, i: usize) -> Markup {
        let at = format!("pickup[{i}]");
        let name = self.stated(&format!("{at}.name"));
        let place = |coil: &str| format!("{at}.{coil}");
        html! {
            (self.below("pickup", &at, &format!("Pickup: {name}"), self.count("pickup") > 1))
            @let has_two = self.is_there(&place("coil_b"));
            @for (coil, title) in [("coil_a", if has_two { "coil A, nearer the bridge" } else { "its coil" }), ("coil_b", "coil B, nearer the neck")] {
                @if self.is_there(&place(coil)) {
                    (self.below("coil_a", &place(coil), &format!("{name}, {title}"), false))
                }
            }
            @let own = format!("{at}.controls");
            @if self.is_there(&own) {
                (self.controls(&own, &format!("{name}, own ")))
            } @else {
                (self.adds(&format!("{own}.volume"), &format!("Add a volume pot of {name}'s own")))
            }
        }
    }

    fn controls(&self, at: &str, whose: &str) -> Markup {
        let title = |name: &str| capitalised(&format!("{whose}{}", name.replace('_', " ")));
        let told = |name: &str| format!("{whose}{}", name.replace('_', " "));
        html! {
            @for (name, words) in [("volume", "volume pot"), ("tone", "tone pot"), ("bleed", "treble bleed"), ("bass_cut", "bass cut")] {
                @let place = format!("{at}.{name}");
                @if self.is_there(&place) {
                    (self.below(name, &place, &title(words), true))
                } @else {
                    (self.adds(&place, &format!("Add a {}", told(words))))
                }
            }
            @if self.is_there(&format!("{at}.load")) { div.fields { (self.field(keys_of("controls"), "load", at)) } }
        }
    }

    /// Returns the section of the table at `at`, whose keys are those of the key `of`.
    fn below(&self, of: &str, at: &str, title: &str, is_removable: bool) -> Markup {
        html! {
            (self.table(keys_of(of), at, title, false))
            @if is_removable {
                form.remove method="post" action={ (self.sheet.at) "remove-part" } data-part={ "r-" (at) } {
                    button.quiet name="place" value=(at) { "Take out" span.unseen { " " (title) } }
                }
            }
        }
    }

    fn table(&self, table: &'static Table, at: &str, title: &str, is_top: bool) -> Markup {
        let is_value =
            |key: &&Key| !matches!(key.kind, Kind::Table(_) | Kind::Tables(..)) || key.name == "leads";
        let is_single = at.starts_with("pickup[") && !self.is_there(&format!("{at}.coil_b"));
        let is_shown = |key: &&Key| {
            is_value(key)
                && !(is_single && key.name == "arrangement" && self.stated(&within(at, key.name)).is_empty())
                && key.name != "format"
                && (!is_top || key.name != "joints" || self.count("pickup") > 1)
                && !matches!(key.kind, Kind::Correlations | Kind::TextsByName | Kind::NumbersByName)
        };
        let keys: Vec<&Key> = table.keys.iter().filter(is_shown).collect();
        let (first, more): (Vec<&Key>, Vec<&Key>) =
            keys.into_iter().partition(|key| FIRST.contains(&key.name));
        let is_unusual = more.iter().any(|key| !self.stated(&within(at, key.name)).is_empty());
        let id = if at.is_empty() { "guitar".to_owned() } else { at.replace(['[', ']', '.'], "-") };
        html! {
            section.part id={ "s-" (id) } aria-labelledby={ "h-" (id) } {
                h2 id={ "h-" (id) } data-part={ "t-" (id) } { (title) }
                div.fields { @for key in &first { (self.key(table, key, at)) } }
                @if !more.is_empty() {
                    details open[is_unusual] { summary { "More values" }
                        div.fields { @for key in &more { (self.key(table, key, at)) } }
                    }
                }
            }
        }
    }

    fn key(&self, table: &'static Table, key: &Key, at: &str) -> Markup {
        match key.kind {
            Kind::Table(below) => html! {
                @for own in below.keys { (self.field(below, own.name, &within(at, key.name))) }
            },
            _ => self.field(table, key.name, at),
        }
    }

    fn field(&self, table: &'static Table, name: &str, at: &str) -> Markup {
        let Some(key) = table.key(name) else { return html! {} };
        let place = within(at, name);
        let raw = self.written(&place);
        let form = self.form(key, at);
        let stated = raw.map(|raw| match key.kind {
            Kind::Joints | Kind::Wires => self.joints_as_lines(&place).unwrap_or(raw),
            Kind::Texts | Kind::Quantities(..) | Kind::Range => raw.trim_matches(['[', ']']).replace('"', ""),
            _ => raw,
        });
        let span = place.parse().ok().and_then(|place| self.stated.span_of(&place));
        let faults = self.sheet.faults.iter().filter(|fault| {
            span.as_ref().is_some_and(|own| own.start <= fault.span.start && fault.span.start < own.end)
        });
        let field = Field {
            label: label(name, at),
            doc: key.doc,
            has: self.values.get(&place).map(|value| (value.shown.clone(), value.origin)),
            usual: key.default,
            moves: self.sheet.moves.get(&place).copied(),
            faults: faults.map(Fault::told).collect(),
            asked: self.sheet.asked.filter(|asked| asked.place == place),
            form,
            stated,
            place,
        };
        field.markup()
    }

    fn form(&self, key: &Key, at: &str) -> Form {
        let same = |words: &[&str]| Form::Choice(words.iter().map(|word| SelectChoice::same(word)).collect());
        match key.kind {
            Kind::Choice(words) => same(words),
            Kind::Number { .. } if key.name == "turned" => Form::Knob,
            Kind::Arrangement => {
                let is_single = self.sheet.guitar.is_some_and(|guitar| {
                    let name = self.stated(&within(at, "name"));
                    guitar.pickup(Some(&name)).is_ok_and(|pickup| pickup.coil_b().is_none())
                });
                if is_single { same(&["alone"]) } else { same(&Arrangement::TWO_COIL.map(Arrangement::name)) }
            }
            Kind::Preset => {
                let ohms = parse_quantity::<Ohms>(&self.stated(&within(at, "coil_a.resistance"))).ok();
                let choices = nearest_presets(None, ohms).into_iter().map(|preset| SelectChoice {
                    value: preset.name.to_owned(),
                    shown: preset.title().to_owned(),
                });
                let unknown =
                    SelectChoice { value: KIND_UNKNOWN.to_owned(), shown: "don’t know".to_owned() };
                Form::Choice(std::iter::once(unknown).chain(choices).collect())
            }
            Kind::PickupName => {
                let names = self.sheet.draft.pickup_names();
                Form::Choice(
                    names
                        .iter()
                        .map(|name| SelectChoice { value: name.clone(), shown: name.clone() })
                        .collect(),
                )
            }
            Kind::Switch => Form::Choice(tables(Switch::built_in().iter())),
            Kind::Selector => Form::Choice(tables(Switch::selectors().iter().chain(Switch::built_in()))),
            Kind::Joints | Kind::Wires => Form::Lines,
            _ => Form::Text,
        }
    }

    /// Returns joints as lines, each with what meets there.
    fn joints_as_lines(&self, place: &str) -> Option<String> {
        let lists = self.stated.lists_at(&place.parse().ok()?)?;
        Some(lists.iter().map(|joint| joint.join(" · ")).collect::<Vec<_>>().join("\n"))
    }

    /// Returns what adds something at `place`, where there are fewer than there may be.
    fn adds(&self, place: &str, words: &str) -> Markup {
        let is_full = self.count(place) >= most_of(place);
        // A switch has two coils to switch, and a selector pickups to choose among.
        let is_of_use = match (place, self.sheet.guitar) {
            ("switch", Some(guitar)) => guitar.pickups().iter().any(|pickup| pickup.coil_b().is_some()),
            ("selector" | "blend", Some(guitar)) => guitar.pickups().len() > 1,
            // What is only assumed would no longer be, and nobody could see it.
            (_, guitar) => guitar.is_some(),
        };
        html! {
            @if !is_full && is_of_use {
                form.add method="post" action={ (self.sheet.at) "add-part" } data-part={ "a-" (place) } {
                    button.quiet name="place" value=(place) { "+ " (words) }
                }
            }
        }
    }
}

fn within(at: &str, name: &str) -> String {
    if at.is_empty() { name.to_owned() } else { format!("{at}.{name}") }
}

/// Returns how many tables the list `name` of a guitar's file may have; any number where it is no list.
fn most_of(name: &str) -> usize {
    match GUITAR.key(name).map(|key| key.kind) {
        Some(Kind::Tables(_, most)) => most,
        Some(_) | None => usize::MAX,
    }
}

/// Returns the table of keys at the key `name` of a guitar's file, a pickup or controls.
fn keys_of(name: &str) -> &'static Table {
    use drywire::guitar::keys::{CONTROLS, PICKUP};
    let key = [&GUITAR, &PICKUP, &CONTROLS].into_iter().find_map(|table| table.key(name));
    match key.map(|key| key.kind) {
        Some(Kind::Table(table) | Kind::Tables(table, _)) => table,
        Some(_) | None => &GUITAR,
    }
}

/// Returns `text` with its first letter large.
fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Returns what a value is called.
fn label(name: &str, at: &str) -> String {
    let words = match name {
        "from_bridge" => "Distance to the bridge",
        "spacing" => "Between the coils",
        "like" => "Built-in pickup to start from",
        "pot" => "Track",
        "mid" => "Track at mid-travel",
        "level" => "Level against the other pickups",
        "turned" => "Knob stands at",
        "loss" => "Parallel loss",
        "joints" => "Joints, one a line",
        "table" => "Kind of switch",
        "on" => "Pickup that it is on",
        "stands" => "Throw in which it stands",
        "per_metre" => "Capacitance a metre",
        "total" => "Capacitance of the whole",
        "joined" if at.ends_with("tone") => "Hangs",
        "plus" => "Lead: plus by the tap test",
        "minus" => "Lead: minus by the tap test",
        "start" => "Lead: start by a chart",
        "finish" => "Lead: finish by a chart",
        other => return capitalised(&other.replace('_', " ")),
    };
    words.to_owned()
}

fn tables<'t>(tables: impl Iterator<Item = &'t Arc<Switch>>) -> Vec<SelectChoice> {
    tables
        .map(|table| SelectChoice { value: table.name().to_owned(), shown: table.title().to_owned() })
        .collect()
}
