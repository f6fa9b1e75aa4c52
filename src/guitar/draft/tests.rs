use std::collections::BTreeSet;
use std::ops::Range;

use proptest::prelude::*;

use super::*;
use crate::guitar::keys::Table;
use crate::guitar::{EVERY_PART, guitar_presets};

const EVERYTHING: &str = include_str!("../../../fuzz/seeds/guitar/everything.toml");
/// The keys that stand in neither of the other two, mostly since they shut others out.
const THE_REST: &str = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\nbypass_resistor = \"4.7k\"\ncover = \"brass\"\nlevel = \"-3 dB\"\n\
    arrangement = \"parallel\"\nform = \"four\"\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n[[selector]]\nname = \"phase\"\n\
    table = \"on-on\"\njoints = [[\"bridge\", \"L1\"], [\"neck\", \"L2\"]]\nstands = 3\n[blend]\nmid = 0.12 # low\n\
    taper = \"audio\"\nends = [\"L1\", \"neck\"]\n[controls]\nvolume = { mid = 0.11 }\n\
    tone = { capacitors = [\"10n\", \"22n\"], chosen = 2 }\nbass_cut = { taper = \"audio\", mid = 0.14, capacitor = \"2n\" }\n\
    [tolerances]\npots = \"10 %\"\ntaper = [0.1, 0.2]\nresistance = \"1 %\"\ninductance = \"5 %\"\ncapacitance = \"9 %\"\nloss = \"20 %\"\n\
    capacitors = \"5 %\"\nresistors = \"1 %\"\ncable = \"9 %\"\ninput_resistance = \"9 %\"\n\
    input_capacitance = \"9 %\"\ncoupling = [0.1, 0.2]\n\
    [harness]\nturns = \"clockwise\"\njack = \"mono\"\nstrings = \"wire\"\nshield = \"foil\"\nground = \"star\"\n\
    under = { phase = \"tone\" }\nplaces = { volume = [120, 40] }\nwires = [[\"volume.2\", \"jack.tip\"]]\n";

fn draft(text: &str) -> Draft {
    Draft::of(Document::new("mine.toml", text))
}

/// The places of every value that `draft` states, in the tables of `table` below `at`.
fn stated(draft: &Draft, table: &'static Table, at: &str, found: &mut Vec<String>) {
    for key in table.keys {
        let place = if at.is_empty() { key.name.to_owned() } else { format!("{at}.{}", key.name) };
        match key.kind {
            Kind::Table(below) => stated(draft, below, &place, found),
            Kind::Tables(below, _) => {
                for i in 0..draft.count(&place).unwrap() {
                    stated(draft, below, &format!("{place}[{i}]"), found);
                }
            }
            // What stands there has names of the guitar's own parts.
            Kind::TextsByName | Kind::NumbersByName => {}
            _ if draft.get(&place).unwrap().is_some() => found.push(place),
            _ => {}
        }
    }
}

fn span(draft: &Draft, place: &str) -> Range<usize> {
    draft.document().span_of(&place.parse().unwrap()).unwrap()
}

#[test]
fn editing_any_one_value_of_a_built_in_guitar_leaves_every_other_byte() {
    for text in guitar_presets().iter().map(|preset| preset.text).chain([EVERYTHING, EVERY_PART, THE_REST]) {
        for text in [text.to_owned(), text.replace('\n', "\r\n"), text.trim_end().to_owned()] {
            let before = draft(&text);
            let mut places = Vec::new();
            stated(&before, &GUITAR, "", &mut places);
            assert!(places.len() > 12, "{places:?}");
            for place in places {
                let old = span(&before, &place);
                let mut after = before.clone();
                after.set(&place, "a \"new\" value").unwrap();
                let written = "\"a \\\"new\\\" value\"";
                assert_eq!(after.text(), [&text[..old.start], written, &text[old.end..]].concat(), "{place}");
                after.set(&place, "x").unwrap();
                assert_eq!(after.get(&place).unwrap().as_deref(), Some("x"));
                let mut without = before.clone();
                without.remove(&place).unwrap();
                assert_eq!(without.get(&place).unwrap(), None, "{place}");
                assert!(without.text().len() < text.len());
            }
        }
    }
}

/// The keys at which values stand in `table` and the tables below it, each with its table's doc.
fn values_of(table: &'static Table, found: &mut BTreeSet<(&'static str, &'static str)>) {
    for key in table.keys {
        match key.kind {
            Kind::Table(below) | Kind::Tables(below, _) => values_of(below, found),
            Kind::TextsByName | Kind::NumbersByName => {}
            _ => {
                found.insert((table.doc, key.name));
            }
        }
    }
}

#[test]
fn the_files_that_are_edited_state_every_key() {
    let mut missing = BTreeSet::new();
    values_of(&GUITAR, &mut missing);
    for text in [EVERYTHING, EVERY_PART, THE_REST] {
        let all = draft(text);
        let mut places = Vec::new();
        stated(&all, &GUITAR, "", &mut places);
        for place in places {
            let (table, key) = place.rsplit_once('.').unwrap_or(("", &place));
            let table = table.parse().ok().and_then(|table| GUITAR.key_at(&table));
            let doc = match table.map(|table| table.kind) {
                Some(Kind::Table(below) | Kind::Tables(below, _)) => below.doc,
                Some(_) | None => GUITAR.doc,
            };
            missing.retain(|(known, name)| (*known, *name) != (doc, key));
        }
    }
    assert!(missing.is_empty(), "{missing:?}");
}

#[test]
fn a_draft_with_three_faults_opens_shows_them_and_keeps_the_rest() {
    let text = "# mine\nformat = 1\nfuture = { x = 1 } # of a later version\n[[pickup]]\nname = \"bridge\"\n\
        like = \"mini\"   # the old one\n[pickup.coil_a]\nresistance = 3.61\nlos = \"220k\"\n";
    let mut draft = draft(text);
    let told = |draft: &Draft| draft.faults().iter().map(|fault| fault.span.clone()).collect::<Vec<_>>();
    let places = ["future", "3.61", "los"].map(|what| {
        let at = text.find(what).unwrap();
        at..at + what.len()
    });
    assert_eq!(told(&draft), places);
    draft.set("pickup[0].coil_a.resistance", "3.61k").unwrap();
    assert_eq!(draft.text(), text.replace("3.61", "\"3.61k\""));
    assert_eq!(told(&draft).len(), 2);
    assert!(draft.check().is_err());
}

#[test]
fn a_draft_that_is_no_toml_keeps_its_text_and_tells_its_faults() {
    let text = "format = 1\nscale = 648 mm\n[[pickup]\n";
    let mut draft = draft(text);
    assert_eq!(draft.faults().len(), 2, "{:?}", draft.faults());
    let refused = draft.set("scale", "648 mm").unwrap_err();
    assert_eq!(refused, DraftError::Edit(EditError::NotToml { line: 2 }));
    assert_eq!(draft.text(), text);
}

#[test]
fn what_is_not_there_is_added_where_it_belongs() {
    let text = "format = 1\n\n[[pickup]] # first\nname = \"bridge\"\nlike = \"mini\"\n\n[[pickup]]\nname = \"neck\"\n\
        like = \"mini\"\n\n[controls]\nvolume = { pot = \"500k\" } # loud\n";
    let mut draft = draft(text);
    for (place, value) in [
        ("scale", "628 mm"),
        ("pickup[0].from_bridge", "40 mm"),
        ("pickup[0].coil_a.resistance", "3.6k"),
        ("pickup[0].coil_a.leads.plus", "white"),
        ("pickup[0].coil_a.leads.minus", "grey"),
        ("pickup[1].controls.volume.pot", "500k"),
        ("controls.volume.taper", "linear"),
        ("controls.tone.capacitor", "22n"),
        ("cable.length", "6 m"),
    ] {
        draft.set(place, value).unwrap();
    }
    let switch = draft.add("switch").unwrap();
    draft.set(&switch.then("name").to_string(), "mode").unwrap();
    let third = draft.add("pickup").unwrap();
    draft.set(&third.then("name").to_string(), "middle").unwrap();
    assert_eq!(
        draft.text(),
        "format = 1\nscale = \"628 mm\"\n\n[[pickup]] # first\nname = \"bridge\"\nlike = \"mini\"\n\
         from_bridge = \"40 mm\"\n[pickup.coil_a]\nresistance = \"3.6k\"\n\
         leads = { plus = \"white\", minus = \"grey\" }\n\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n\
         [pickup.controls]\nvolume = { pot = \"500k\" }\n\n[[pickup]]\nname = \"middle\"\n\n[controls]\n\
         volume = { pot = \"500k\", taper = \"linear\" } # loud\ntone = { capacitor = \"22n\" }\n\n[cable]\n\
         length = \"6 m\"\n\n[[switch]]\nname = \"mode\"\n"
    );
    draft.remove("pickup[2]").unwrap();
    draft.remove("switch[0]").unwrap();
    draft.remove("cable").unwrap();
    draft.remove("controls.volume").unwrap();
    draft.remove("pickup[0].coil_a").unwrap();
    draft.remove("pickup[1].controls").unwrap();
    draft.remove("nothing.here").unwrap_err();
    let rest = "format = 1\nscale = \"628 mm\"\n\n[[pickup]] # first\nname = \"bridge\"\nlike = \"mini\"\n\
         from_bridge = \"40 mm\"\n\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n\n\n[controls]\n\
         tone = { capacitor = \"22n\" }\n\n\n";
    assert_eq!(draft.text(), rest);
    assert_eq!(draft.faults(), []);
}

#[test]
fn a_place_that_no_guitars_file_has_is_refused_with_the_nearest() {
    let mut draft = draft(EVERYTHING);
    let hint = |refusal: DraftError| refusal.hint();
    assert_eq!(
        hint(draft.set("pickup[0].coil_a.resistanse", "4k").unwrap_err()),
        "did you mean `resistance`?"
    );
    assert_eq!(
        hint(draft.set("pickup[0].like.x", "4k").unwrap_err()),
        "`drywire presets` copies out examples"
    );
    assert_eq!(hint(draft.set("pickup[9].name", "x").unwrap_err()), "add the table that it belongs to");
    assert_eq!(hint(draft.set("controls", "x").unwrap_err()), "name one of its values");
    assert!(draft.set("scale", Literal::Number(f64::NAN)).is_err());
    assert!(draft.add("scale").is_err() && draft.add("controls").is_err());
    assert_eq!(draft.text(), EVERYTHING);
}

/// Where a value may stand, what it is and whether the reader takes it there.
fn values_at_their_bounds(kind: Kind) -> Vec<(Literal, bool)> {
    match kind {
        Kind::Quantity(_, bounds) => {
            let (allowed, typical) = (bounds.allowed(), bounds.typical());
            let state = |value: f64, unit: &str| Literal::Text(format!("{value:e}{unit}"));
            let of = |value: f64, takes| (state(value, ""), takes);
            let with_unit = |value: f64, takes| (state(value, " m"), takes);
            let of: &dyn Fn(f64, bool) -> (Literal, bool) =
                if matches!(kind, Kind::Quantity(super::super::keys::Unit::Metres, _)) {
                    &with_unit
                } else {
                    &of
                };
            vec![
                of(*typical.start(), true),
                of(*typical.end(), true),
                of(allowed.start() * 0.99, false),
                of(allowed.end() * 1.01, false),
                of(0.0, bounds.allows_zero()),
            ]
        }
        Kind::Number { from, to, end_is_allowed } => vec![
            (Literal::Number(from), true),
            (Literal::Number(to), end_is_allowed),
            (Literal::Number(to + 0.01), false),
            (Literal::Number(from - 0.01), false),
        ],
        Kind::Choice(words) => {
            let mut values: Vec<_> = words.iter().map(|word| (Literal::from(*word), true)).collect();
            values.push((Literal::from("neither"), false));
            values
        }
        Kind::Level { from, to } => {
            let of = |level: f64, takes| (Literal::Text(format!("{level} dB")), takes);
            vec![of(from, true), of(to, true), of(from - 0.1, false), of(to + 0.1, false)]
        }
        Kind::Percent => vec![("90 %".into(), true), ("91 %".into(), false)],
        Kind::Range => {
            vec![(Literal::Numbers(vec![0.0, 0.9]), true), (Literal::Numbers(vec![0.5, 0.2]), false)]
        }
        Kind::Name => vec![("x-1".into(), true), ("X".into(), false)],
        Kind::Label => vec![("Ä b".into(), true), ("".into(), false)],
        _ => Vec::new(),
    }
}

#[test]
fn the_reader_takes_at_each_key_what_the_table_of_keys_says() {
    let of = |text| {
        let all = draft(text);
        let mut places = Vec::new();
        stated(&all, &GUITAR, "", &mut places);
        places.into_iter().map(move |place| (all.clone(), place)).collect::<Vec<_>>()
    };
    let mut looked_at = 0;
    for (all, place) in [EVERYTHING, EVERY_PART].into_iter().flat_map(of) {
        let key = GUITAR.key_at(&place.parse().unwrap()).unwrap();
        for (value, takes) in values_at_their_bounds(key.kind) {
            let mut changed = all.clone();
            changed.set(&place, value.clone()).unwrap();
            let here = span(&changed, &place);
            let is_refused = changed.faults().iter().any(|fault| fault.span == here);
            assert_eq!(is_refused, !takes, "{place} = {value}: {:?}", changed.faults());
            looked_at += 1;
        }
    }
    assert!(looked_at > 120, "{looked_at}");
}

/// The places at which values may stand in the tables of `table` below `at`, whether any do; of lists those there are.
fn possible(draft: &Draft, table: &'static Table, at: &str, found: &mut Vec<String>) {
    for key in table.keys {
        let place = if at.is_empty() { key.name.to_owned() } else { format!("{at}.{}", key.name) };
        match key.kind {
            Kind::Table(below) => possible(draft, below, &place, found),
            Kind::Tables(below, _) => {
                for i in 0..draft.count(&place).unwrap() {
                    possible(draft, below, &format!("{place}[{i}]"), found);
                }
            }
            _ => found.push(place),
        }
    }
}

#[test]
fn what_was_measured_is_put_into_a_coils_table() {
    let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\" # mine\n";
    let mut draft = draft(text);
    let list = ["inductance", "capacitance", "-0.6"].map(str::to_owned).to_vec();
    for (key, value) in [
        ("inductance", "1.62 H".into()),
        ("capacitance", "97p".into()),
        ("measured.inductance", "1 %".into()),
        ("measured.capacitance", "3 %".into()),
        ("measured.correlation", Literal::TextLists(vec![list])),
    ] {
        draft.set(&format!("pickup[0].coil_a.{key}"), value).unwrap();
    }
    assert_eq!(
        draft.text(),
        format!(
            "{text}[pickup.coil_a]\ninductance = \"1.62 H\"\ncapacitance = \"97p\"\nmeasured = {{ inductance = \"1 %\", \
             capacitance = \"3 %\", correlation = [[\"inductance\", \"capacitance\", \"-0.6\"]] }}\n"
        )
    );
    let guitar = draft.check().unwrap();
    assert_eq!(
        guitar.pickups()[0].measured(),
        ["p, coil A: inductance 1.62 H ± 1 %, capacitance 97.0 pF ± 3 %"]
    );
}

proptest! {
    // Each reads some hundred places after each edit.
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn after_random_edits_a_draft_reads_as_a_fresh_file_of_its_text(
        file in 0usize..9,
        edits in proptest::collection::vec((0usize..4000, 0usize..6, 0u8..4), 1..12),
    ) {
        let texts = guitar_presets().iter().map(|preset| preset.text).chain([EVERYTHING, EVERY_PART, THE_REST]);
        let texts: Vec<&str> = texts.collect();
        let mut edited = draft(texts[file % texts.len()]);
        for (which, value, what) in edits {
            let (mut places, mut all) = (Vec::new(), Vec::new());
            stated(&edited, &GUITAR, "", &mut places);
            possible(&edited, &GUITAR, "", &mut all);
            let place = if what < 2 { &places[which % places.len()] } else { &all[which % all.len()] };
            if what == 0 {
                edited.remove(place).unwrap();
                prop_assert_eq!(edited.get(place).unwrap(), None);
            } else {
                let value = ["4k7", "0", "x", "a\\b\"", "12 mm", "\u{e4}\n"][value];
                let before = edited.text().to_owned();
                if edited.set(place, value).is_ok() {
                    prop_assert_eq!(edited.get(place).unwrap(), Some(value.to_owned()));
                } else {
                    // What stands already can always be changed; a table by dotted keys takes nothing new.
                    prop_assert!(!places.contains(place), "{}", place);
                    prop_assert_eq!(edited.text(), before);
                }
            }
            let fresh = draft(edited.text());
            prop_assert_eq!(edited.check(), fresh.check());
            let mut others = Vec::new();
            stated(&fresh, &GUITAR, "", &mut others);
            for other in places.iter().filter(|other| *other != place) {
                prop_assert!(others.contains(other), "{} was lost with {}", other, place);
            }
        }
    }
}
