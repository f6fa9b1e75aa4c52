use crate::document::{Document, Refusal};
use crate::guitar::{
    Coil, Coils, Grounding, Guitar, Jack, MeasuredWith, Origin, Pickup, PickupForm, Shielding, Strings,
    Turns, guitar_presets, pickup_presets,
};
use crate::quantity::{Farads, Metres, Ohms};
use crate::wiring::Arrangement;

const PICKUP: &str = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n";

fn read(text: &str) -> Result<Guitar, Refusal> {
    Guitar::read(&Document::new("mine.toml", text))
}

fn refused(text: &str) -> Refusal {
    read(text).expect_err(text)
}

/// The message and the hint of the one fault of `text`.
fn only_fault(text: &str) -> (String, String) {
    let refusal = refused(text);
    assert_eq!(refusal.faults().len(), 1, "{refusal}");
    let fault = &refusal.faults()[0];
    (fault.message.clone(), fault.hint.clone().unwrap_or_default())
}

#[test]
fn a_value_that_lacks_its_prefix_is_refused_with_both_readings() {
    let in_coil = |line: &str| format!("{PICKUP}[pickup.coil_a]\n{line}\n");
    let in_tone = |value: &str| format!("{PICKUP}[controls]\ntone = {{ {value} }}\n");
    for (text, said) in [
        (in_coil("resistance = 3.61"), "`resistance` may be 3.61 Ω, or 3.61 kΩ: write 3.61k"),
        (in_coil("resistance = \"3,61\""), "`resistance` may be 3.61 Ω, or 3.61 kΩ: write 3.61k"),
        (in_coil("inductance = 1950"), "`inductance` may be 1950 H, or 1950 mH: write 1950m"),
        (in_coil("capacitance = 100"), "`capacitance` may be 100 F, or 100 pF: write 100p"),
        (in_coil("loss = \"220\""), "`loss` may be 220 Ω, or 220 kΩ: write 220k"),
        (in_tone("pot = 500"), "`pot` may be 500 Ω, or 500 kΩ: write 500k"),
        (in_tone("capacitor = 0.022"), "`capacitor` may be 0.022 F, or 0.022 µF: write 0.022u"),
        (in_tone("capacitor = 22"), "`capacitor` may be 22 F, or 22 nF: write 22n"),
        (in_tone("capacitors = [0.022, \"47n\"]"), "`capacitors` may be 0.022 F, or 0.022 µF: write 0.022u"),
        (format!("{PICKUP}[input]\nresistance = 1\n"), "`resistance` may be 1 Ω, or 1 MΩ: write 1M"),
        (format!("{PICKUP}from_bridge = 45\n"), "`from_bridge` is 45 without its unit, which may be 45 mm"),
        (
            format!("{PICKUP}from_bridge = 4.5\n"),
            "`from_bridge` is 4.5 without its unit, which may be 4.5 cm, or 4.5 in",
        ),
        (format!("{PICKUP}[cable]\nlength = 6\n"), "`length` is 6 without its unit, which may be 6 m"),
        (
            in_coil("resistance = \"3,610\""),
            "`resistance`: `3,610` may be 3.61 Ω, or 3.61 kΩ: write 3.610 or 3610",
        ),
        (
            in_coil("resistance = \"3.610,5\""),
            "`resistance`: `3.610,5` may be 3.61 kΩ, or 3.61 Ω: write 3610.5 or 3.6105",
        ),
    ] {
        let (message, hint) = only_fault(&text);
        assert_eq!(message, said, "{text}");
        assert!(hint.is_empty() || hint.contains("= \""), "{hint}");
    }
    let (_, hint) = only_fault(&in_coil("resistance = 3.61"));
    assert_eq!(hint, "in quotes: resistance = \"3.61k\"; if 3.61 Ω is meant, write \"3.61 Ω\"");
}

#[test]
fn every_way_to_write_a_value_without_doubt_is_read() {
    let resistance = |written: &str| {
        let guitar = read(&format!("{PICKUP}[pickup.coil_a]\nresistance = {written}\n"));
        guitar.map(|guitar| guitar.pickups()[0].coil_a().resistance())
    };
    for written in
        ["\"3.61k\"", "\"3,61k\"", "\"3k61\"", "3610", "\"3610\"", "3.61e3", "\"3.61 kΩ\"", "\"3,61 kOhm\""]
    {
        assert_eq!(resistance(written), Ok(Ohms::new(3610.0)), "{written}");
    }
    // What says how large it is meant to be is believed.
    for written in ["\"30 Ω\"", "\"30R\"", "3.0e1"] {
        let rest = "inductance = \"2 H\"\ncapacitance = \"100p\"";
        assert_eq!(resistance(&format!("{written}\n{rest}")), Ok(Ohms::new(30.0)), "{written}");
    }
    for written in
        ["\"0.022u\"", "\"22n\"", "\"22nF\"", "\".022 µF\"", "\"0,022 µF\"", "2.2e-8", "0.000000022"]
    {
        let guitar =
            read(&format!("{PICKUP}[controls]\ntone = {{ capacitor = {written} }}\n")).expect(written);
        assert_eq!(guitar.controls().tone().map(|t| t.capacitor()), Some(Farads::new(22e-9)), "{written}");
    }
}

#[test]
fn a_value_without_its_quotes_is_told_to_have_them() {
    let (message, hint) = only_fault(&format!("{PICKUP}[pickup.coil_a]\nresistance = 3.61k\n"));
    assert_eq!((message.as_str(), hint.as_str()), ("`3.61k` wants quotes", "write \"3.61k\""));
}

#[test]
fn a_file_of_another_kind_is_told_as_what_it_is() {
    for preset in pickup_presets() {
        let (message, hint) = only_fault(preset.text);
        assert_eq!(message, "this is a pickup's file, where a guitar's file is wanted");
        assert!(hint.contains("[[pickup]]") && hint.contains("[pickup.coil_a]"), "{hint}");
    }
    let readings = include_str!("../../../presets/example/drawer.toml");
    let (message, hint) = only_fault(readings);
    assert_eq!(message, "this is a file of meter readings, where a guitar's file is wanted");
    assert!(hint.contains("drywire leads"), "{hint}");
    let switch = include_str!("../../../presets/switches/on-on.toml");
    assert_eq!(only_fault(switch).0, "this is a switch's contact table, where a guitar's file is wanted");
    let (message, hint) = only_fault("{ \"schema\": 1, \"arrangements\": [] }");
    assert!(message.contains("a set's figures") && hint.contains("drywire play"), "{message} {hint}");
    // A file that is a guitar's in any way is read as one.
    assert!(
        refused("format = 1\n[coil_a]\nresistance = \"4k\"\n[cable]\n").to_string().contains("no `pickup`")
    );
}

#[test]
fn a_heading_that_is_nearly_right_leads_to_the_right_one() {
    let coil = "name = \"bridge\"\nlike = \"mini\"\n";
    for (text, message, hint) in [
        (format!("format = 1\n[[pickups]]\n{coil}"), "unknown key `pickups`", "did you mean [[pickup]]?"),
        (format!("format = 1\n[pickups]\n{coil}"), "unknown key `pickups`", "did you mean [[pickup]]?"),
        (
            format!("format = 1\n[pickup]\n{coil}[pickup.coil_a]\n"),
            "`pickup` is one table where there may be several",
            "head each [[pickup]], in double brackets",
        ),
        (
            format!("format = 1\n[[pickup]]\n{coil}[[pickup.coil_a]]\nresistance = \"4k\"\n"),
            "`pickup.coil_a` is headed [[pickup.coil_a]], and there is one of it",
            "head it [pickup.coil_a], in single brackets",
        ),
        (
            format!("format = 1\n[[pickup]]\n{coil}[[controls]]\nload = \"1M\"\n"),
            "`controls` is headed [[controls]], and there is one of it",
            "head it [controls], in single brackets",
        ),
        (
            format!("format = 1\n[[pickup]]\n{coil}[[control]]\n"),
            "unknown key `control`",
            "did you mean [controls]?",
        ),
        (
            format!("format = 1\n[[pickup]]\n{coil}[switches]\n"),
            "unknown key `switches`",
            "did you mean [[switch]]?",
        ),
        (
            format!("format = 1\n[[pickup]]\n{coil}[pickup.coil]\n"),
            "unknown key `coil` in `pickup`",
            "did you mean `coil_a`?",
        ),
        (
            format!("format = 1\n[[pickup]]\n{coil}[controls]\nvolume = \"500k\"\n"),
            "`volume` is a string where a table is wanted",
            "such as volume = { pot = \"500k\" }",
        ),
        (
            format!("format = 1\n[[pickup]]\n{coil}[pickup.coil_a]\nleads = [\"white\", \"green\"]\n"),
            "`leads` is an array where a table is wanted",
            "such as leads = { start = \"white\", finish = \"green\" }",
        ),
        (
            format!("format = 1\n[[pickup]]\n{coil}[pickup.coil_a]\nleads = true\n"),
            "`leads` is a boolean where a table is wanted",
            "head it [pickup.coil_a.leads], with its keys on the lines below",
        ),
        (
            format!("format = 1\n[[pickup]]\n{coil}leads = [\"white\", \"green\"]\n"),
            "`leads` is of a coil, since each coil has two leads of its own",
            "state them coil by coil, such as leads = { start = \"white\", finish = \"green\" } below \
             [pickup.coil_a]; `drywire leads` finds which is which",
        ),
    ] {
        let told = only_fault(&text);
        assert_eq!((told.0.as_str(), told.1.as_str()), (message, hint));
    }
}

#[test]
fn a_hint_lists_every_key_of_the_table_also_those_that_were_not_asked_for() {
    let all = "known here: format, name, scale, pickup, switch, joints, selector, blend, controls, buffer, tolerances, \
               cable, input, harness";
    assert_eq!(only_fault(&format!("xyzzy = 1\n{PICKUP}")).1, all);
    let (_, hint) = only_fault(&format!("{PICKUP}[controls]\ntone = {{ xyzzy = 1 }}\n"));
    assert_eq!(hint, "known here: pot, taper, mid, turned, capacitor, capacitors, chosen, joined");
    let (message, _) = only_fault(&format!("{PICKUP}[controls]\ntone = {{ chosen = 1 }}\n"));
    assert!(message.contains("there are no `capacitors`"), "{message}");
}

const LEADS: &str = "[pickup.coil_a]\nleads = { plus = \"white\", minus = \"green\" }\n\
    [pickup.coil_b]\nleads = { start = \"red\", finish = \"black\" }\n";

fn switched(leads: &str, joints: &str) -> String {
    format!(
        "{PICKUP}{leads}[[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\njoints = {joints}\n"
    )
}

#[test]
fn leads_are_joined_by_their_colours() {
    // Both coils are wound clockwise, coil B under a south pole: its + end is its start.
    for joints in [
        "[[\"white\", \"hot\", \"L3\"], [\"green\", \"L1\", \"R2\"], [\"red\", \"L2\"], [\"black\", \"ground\", \"R3\"]]",
        "[[\"a+\", \"hot\", \"L3\"], [\"Green\", \"L1\", \"R2\"], [\"red\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]",
        "[[\"a-finish\", \"hot\", \"L3\"], [\"green\", \"L1\", \"R2\"], [\"red\", \"L2\"], [\"b-finish\", \"ground\", \"R3\"]]",
    ] {
        let guitar = read(&switched(LEADS, joints)).expect(joints);
        let switch = &guitar.switches()[0];
        let finish_is_plus =
            [guitar.pickups()[0].coil_a(), guitar.pickups()[0].coil_b().unwrap()].map(Coil::finish_is_plus);
        let throws = switch.plan(finish_is_plus).throws();
        assert_eq!(throws[0], Arrangement::Series.connection(), "{joints}");
        assert_eq!(throws[1], Arrangement::Parallel.connection(), "{joints}");
    }
}

#[test]
fn green_is_never_taken_for_ground() {
    let joints = "[[\"green\", \"ground\"]]";
    let (message, hint) = only_fault(&switched("", joints));
    assert_eq!(message, "`green` can not be joined around a switch `on-on`");
    assert!(hint.contains("leads = { plus = \"green\"") && !hint.contains("`ground`"), "{hint}");
    let (_, hint) = only_fault(&switched(&LEADS.replace("green", "blue"), joints));
    assert_eq!(hint, "the pickup's leads are white, blue, red, black");
}

#[test]
fn a_lead_that_is_called_as_something_else_is_refused_at_its_place() {
    let joints = "[[\"a+\", \"hot\"]]";
    for (called, line, said) in [
        ("white", 8, "a second coil end has a lead called `white`"),
        ("Green", 8, "a second coil end has a lead called `Green`"),
        ("black", 8, "a second coil end has a lead called `black`"),
        ("hot", 8, "no lead can be called `hot`"),
        ("Ground", 8, "no lead can be called `Ground`"),
        ("shield", 8, "no lead can be called `shield`"),
        ("a+", 8, "no lead can be called `a+`"),
        ("b-start", 8, "no lead can be called `b-start`"),
        ("R3", 8, "a lead of pickup `bridge` is called `R3`, as is lug R3 of its switch `mode`"),
    ] {
        let refusal = refused(&switched(&LEADS.replace("red", called), joints));
        assert_eq!(refusal.faults().len(), 1, "{refusal}");
        assert!(refusal.faults()[0].message.starts_with(said), "{refusal}");
        assert_eq!(refusal.line_of(&refusal.faults()[0]), line, "{refusal}");
    }
}

#[test]
fn a_pickup_that_can_not_be_read_makes_no_faults_of_its_leads_in_joints() {
    let text = switched(
        &LEADS.replace("[pickup.coil_b]", "resistance = \"-4k\"\n[pickup.coil_b]"),
        "[[\"red\", \"L1\"]]",
    );
    assert!(only_fault(&text).0.starts_with("`resistance` is -4.00 kΩ"));
}

#[test]
fn the_built_in_guitars_are_free_of_doubt() {
    for preset in guitar_presets() {
        assert!(read(preset.text).is_ok(), "{}", preset.name);
    }
}

/// A pickup of two coils whose first one's table ends with `measured`.
fn coil_measured(measured: &str) -> String {
    let values = "resistance = \"4k\"\ninductance = \"2\"\ncapacitance = \"100p\"\n";
    format!(
        "format = 1\n[[pickup]]\nname = \"p\"\n[pickup.coil_b]\n{values}[pickup.coil_a]\n{values}measured = {measured}\n"
    )
}

#[test]
fn each_value_knows_where_it_is_from() {
    let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\ncoupling = 0.12\n[pickup.coil_a]\n\
        resistance = \"4.2k\"\nmeasured = { resistance = \"0.5 %\" }\n[pickup.coil_b]\ninductance = \"2.1\"\n\
        output = 1.1\n[cable]\nlength = \"6 m\"\n";
    let guitar = read(text).expect("complete");
    let preset = "vintage-full-size";
    let (scaled, built_in) =
        (Origin::Scaled { preset, spread: None }, Origin::Preset { preset, spread: None });
    let from = |origin: Origin| origin.within(None);
    let pickup = &guitar.pickups()[0];
    let (a, b) = (pickup.coil_a(), pickup.coil_b().expect("two"));
    assert_eq!(a.resistance.origin, Origin::Measured { deviation: 0.005 });
    assert_eq!(
        [a.inductance.origin, a.capacitance.origin, a.output.origin, a.turns.origin].map(from),
        [scaled; 4]
    );
    assert_eq!([a.winding.origin, a.top_pole.origin], [built_in; 2]);
    assert_eq!(a.loss.map(|loss| from(loss.origin)), Some(scaled));
    assert_eq!([b.inductance.origin, b.output.origin, b.turns.origin], [Origin::Stated; 3]);
    assert_eq!([b.resistance.origin, b.capacitance.origin].map(from), [built_in; 2]);
    assert_eq!(pickup.spacing.origin, built_in);
    assert_eq!([pickup.from_bridge.origin, guitar.scale.origin, guitar.cable.origin()], [Origin::Default; 3]);
    assert_eq!(
        pickup.assumed(),
        [
            "p, coil A, inductance: 2.32 H, from `vintage-full-size`, scaled to the stated resistance",
            "p, coil A, capacitance: 129 pF, from `vintage-full-size`, scaled to the stated resistance",
            "p, coil A, loss: 406 kΩ, from `vintage-full-size`, scaled to the stated resistance",
            "p, coil A, lead's capacitance: 40.0 pF, from `vintage-full-size`",
            "p, coil A, output: 1.077, from `vintage-full-size`, scaled to the stated resistance",
            "p, coil B, resistance: 3.90 kΩ, from `vintage-full-size`",
            "p, coil B, capacitance: 120 pF, from `vintage-full-size`",
            "p, coil B, loss: 219 kΩ, from `vintage-full-size`",
            "p, distance to the bridge: 45.0 mm",
            "p, coil spacing: 18.5 mm",
        ]
    );
    assert_eq!(
        guitar.assumed(),
        [
            "scale: 648 mm",
            "controls: volume and tone pots of 500 kΩ, audio taper, full, with 22.0 nF on the tone pot",
            "cable, per metre: 120 pF",
            "amplifier input: 1.00 MΩ, 100 pF",
        ]
    );
    assert_eq!(pickup.measured(), ["p, coil A: resistance 4.20 kΩ ± 0.5 %"]);
}

/// With the same bobbin and core, inductance and loss go with the square of the turns.
#[test]
fn a_stated_resistance_scales_inductance_and_loss_by_its_square_and_the_rest_with_it() {
    let coil = |values: &str| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\n[pickup.coil_a]\n{values}"
        );
        read(&text).expect("complete").pickups()[0].coil_a().clone()
    };
    let (own, scaled) = (coil(""), coil("resistance = \"4.3k\"\n"));
    let ratio: f64 = 4.3 / 3.9;
    let loss = |coil: &Coil| coil.loss.expect("it has one").value.value();
    for (found, was, power) in [
        (scaled.inductance().value(), own.inductance().value(), 2),
        (loss(&scaled), loss(&own), 2),
        (scaled.capacitance().value(), own.capacitance().value(), 1),
        (scaled.output(), own.output(), 1),
    ] {
        assert!((found / was / ratio.powi(power) - 1.0).abs() < 1e-12, "{found} {was}");
    }
    assert!((loss(&coil("resistance = \"4.3k\"\nloss = \"300k\"\n")) - 300e3).abs() < 1e-6);
}

#[test]
fn a_resistance_that_is_hardly_of_the_same_wire_is_remarked_on_with_the_nearest_built_in_pickup() {
    let notes = |like: &str, ohms: &str| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"{like}\"\n[pickup.coil_a]\nresistance = \"{ohms}\"\n"
        );
        read(&text).expect("complete").notes().join("\n")
    };
    for ohms in ["3.4k", "3.9k", "4.6k"] {
        assert!(!notes("vintage-full-size", ohms).contains("wire"), "{ohms}");
    }
    let heavier = notes("vintage-full-size", "7k");
    assert!(
        heavier.contains("coil_a.resistance: 7.00 kΩ are 1.79 times those of `vintage-full-size`"),
        "{heavier}"
    );
    assert!(heavier.contains("`hot-ceramic` is nearer to it"), "{heavier}");
    assert!(notes("mini", "2.2k").contains("which is hardly the same wire"), "no other is nearer");
}

#[test]
fn a_measured_coil_tells_its_deviations() {
    let measured = "{ inductance = \"1 %\", capacitance = \"3,5 %\", correlation = [[\"inductance\", \"capacitance\", \"-0.62\"]] }";
    let guitar = read(&coil_measured(measured)).expect("complete");
    assert_eq!(
        guitar.pickups()[0].measured(),
        ["p, coil A: inductance 2.00 H ± 1 %, capacitance 100 pF ± 3.5 %"]
    );
    let measurement = guitar.pickups()[0].coil_a().measurement().expect("measured");
    assert_eq!(measurement.with(), MeasuredWith::Alone);
    assert!((measurement.correlated(&[0.0, 1.0, 0.0, 0.0, 0.0, 0.0])[2] + 0.62).abs() < 1e-12);
}

#[test]
fn what_is_wrong_with_a_measurement_is_told_where_it_stands() {
    let of =
        |list: &str| format!("{{ inductance = \"1 %\", capacitance = \"3 %\", correlation = [{list}] }}");
    let sure = |sure: &str, list: &str| {
        format!(
            "{{ inductance = \"1 %\", capacitance = \"3 %\", resistance = \"1 %\", {sure}correlation = [{list}] }}"
        )
    };
    for (measured, place, message) in [
        ("{ inductance = \"1\" }".to_owned(), "\"1\"", "`inductance` is `1`, which is no tolerance"),
        (
            "{ inductance = \"91 %\" }".to_owned(),
            "\"91 %\"",
            "`inductance` is 91 %; allowed is from 0 % to 90 %",
        ),
        (
            "{ inductance = \"1 %\", loss = \"7 %\" }".to_owned(),
            "loss = ",
            "`measured` tells how sure `loss` is, which the coil does not state",
        ),
        (
            "{ induktance = \"1 %\", inductance = \"1 %\" }".to_owned(),
            "induktance",
            "unknown key `induktance`",
        ),
        ("{ with = \"alone\" }".to_owned(), "{ with", "`measured` tells of no value how sure it is"),
        ("{ inductance = \"1 %\", with = \"both\" }".to_owned(), "\"both\"", "`with` is `both` where one of"),
        (
            of("[\"inductance\", \"-0.6\"]"),
            "[\"inductance\", \"-0.6\"]",
            "a correlation is of two values, and 2",
        ),
        (
            of("[\"inductance\", \"los\", \"-0.6\"]"),
            "\"los\"",
            "`los` is no value of a coil that is measured",
        ),
        (
            of("[\"inductance\", \"loss\", \"-0.6\"]"),
            "\"loss\"",
            "`correlation` names `loss`, and `measured` does not say how sure it is",
        ),
        (
            of("[\"inductance\", \"inductance\", \"0.6\"]"),
            "[\"inductance\", \"ind",
            "a correlation of `inductance` with",
        ),
        (
            of("[\"inductance\", \"capacitance\", \"1\"]"),
            "\"1\"",
            "a correlation is `1`; allowed is above -1",
        ),
        (
            of("[\"inductance\", \"capacitance\", \"0.1\"], [\"capacitance\", \"inductance\", \"0.1\"]"),
            "[\"capacitance\", \"inductance\"",
            "the correlation of `capacitance` and `inductance` is stated twice",
        ),
        (
            sure(
                "",
                "[\"inductance\", \"capacitance\", \"0.9\"], [\"capacitance\", \"resistance\", \"0.9\"], \
                [\"inductance\", \"resistance\", \"-0.9\"]",
            ),
            "correlation",
            "no errors can have all the correlations that are stated",
        ),
        (
            "{ inductance = \"1 %\", with = \"pair\" }".to_owned(),
            "[[pickup]]",
            "one coil was `measured` as a pair",
        ),
    ] {
        let text = coil_measured(&measured);
        let refusal = refused(&text);
        assert_eq!(refusal.faults().len(), 1, "{refusal}");
        let fault = &refusal.faults()[0];
        assert!(fault.message.starts_with(message), "{refusal}");
        assert_eq!(fault.span.start, text.rfind(place).unwrap(), "{message}: {refusal}");
    }
    let one =
        coil_measured("{ inductance = \"1 %\", with = \"pair\" }").replace("[pickup.coil_b]", "[other]");
    assert!(
        refused(&one).to_string().contains("`measured` tells of a pair of coils, and this pickup has one")
    );
}

#[test]
fn what_was_measured_on_a_built_in_pickup_is_no_measurement_of_the_guitars() {
    for preset in pickup_presets() {
        let guitar = Guitar::with_built_in_pickup(preset.name).expect("listed");
        assert_eq!(guitar.pickups()[0].measured(), [""; 0]);
        let origin = guitar.pickups()[0].coil_a().inductance.origin;
        assert_eq!(origin.within(None), Origin::Preset { preset: preset.name, spread: None });
    }
}

/// A built-in pickup's every value that may vary has a range, and a scaled coil's is scaled with it; where its ohms are those
/// of other wire, the inductance may be that of one gauge more or less as well.
#[test]
fn built_in_values_have_the_ranges_of_their_types() {
    for preset in pickup_presets() {
        let guitar = Guitar::with_built_in_pickup(preset.name).expect("listed");
        let pickup = &guitar.pickups()[0];
        for coil in [Some(pickup.coil_a()), pickup.coil_b()].into_iter().flatten() {
            let Coil { resistance, inductance, capacitance, loss, eddy, output, turns, .. } = coil;
            let origins =
                [resistance.origin, inductance.origin, capacitance.origin, output.origin, turns.origin];
            let of_loss = loss.map(|loss| loss.origin);
            let of_eddy = eddy.map(|eddy| [eddy.share.origin, eddy.corner.origin]);
            for origin in origins.into_iter().chain(of_loss).chain(of_eddy.into_iter().flatten()) {
                let [low, high] = origin.spread().expect(preset.name).limits(1.0);
                assert!(low < 1.0 && high > 1.0, "{}: {low} to {high}", preset.name);
            }
        }
        if let Coils::Two { coupling, .. } = pickup.coils() {
            assert!(coupling.origin.spread().is_some(), "{}", preset.name);
        }
    }
    let inductance = |ohms: &str| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"vintage-full-size\"\n[pickup.coil_a]\nresistance = \"{ohms}\"\n"
        );
        let guitar = read(&text).expect("complete");
        let inductance = guitar.pickups()[0].coil_a().inductance;
        let limits = inductance.origin.spread().expect("a range").limits(inductance.value.value());
        (limits, guitar.notes().join("; "))
    };
    let near = |[low, high]: [f64; 2], ends: [f64; 2]| {
        (low / ends[0] - 1.0).abs() < 1e-9 && (high / ends[1] - 1.0).abs() < 1e-9
    };
    let same = inductance("4.29k");
    assert!(near(same.0, [1.75 * 1.21, 2.35 * 1.21]) && same.1.is_empty(), "{same:?}");
    let gauge = 1.261f64.powi(2);
    let more = inductance("5.85k");
    assert!(near(more.0, [1.75 * 2.25 / gauge, 2.35 * 2.25]), "{more:?}");
    assert!(more.1.contains("one gauge thinner the inductance is 37 % less"), "{more:?}");
    assert!(more.1.contains("bands take it to be 2.48 H to 5.29 H"), "{more:?}");
    let less = inductance("1.95k");
    assert!(near(less.0, [1.75 * 0.25, 2.35 * 0.25 * gauge]), "{less:?}");
    assert!(less.1.contains("one gauge thicker the inductance is 59 % more"), "{less:?}");
}

#[test]
fn a_range_of_a_built_in_pickup_holds_its_value() {
    let preset = pickup_presets()[0].text;
    let read = |text: &str| {
        Document::new("built-in x", text.to_owned()).interpret(|top| super::built_in(top, "x")).map(|_| ())
    };
    assert!(read(preset).is_ok());
    for (stated, instead, told) in [
        ("[\"1.75 H\", \"2.35 H\"]", "[\"2.1 H\", \"2.35 H\"]", "`inductance_range` does not hold the value"),
        ("[\"1.75 H\", \"2.35 H\"]", "[\"2.35 H\"]", "`inductance_range` has 1 values; allowed are two"),
        ("[0.08, 0.18]", "[0.18, 0.08]", "`coupling_range` does not hold the value"),
        ("[0.9, 1.1]", "[0.9, 1, 1.1]", "`output_range` has 3 values; allowed are two"),
    ] {
        let refusal = read(&preset.replacen(stated, instead, 1)).expect_err(told).to_string();
        assert!(refusal.contains(told), "{refusal}");
    }
}

#[test]
fn a_control_cavity_is_read_and_what_it_leaves_out_is_usual() {
    let guitar = read(&format!(
        "{PICKUP}form = \"braid\"\n[harness]\nturns = \"counter-clockwise\"\nground = \"star\"\nshield = \"foil\"\n\
         under = {{ split = \"tone\" }}\nplaces = {{ volume = [120, 40.5] }}\nwires = [[\"volume.2\", \"jack.tip\"]]\n"
    ))
    .unwrap();
    let cavity = guitar.cavity();
    assert_eq!(guitar.pickups()[0].form(), PickupForm::Braid);
    assert_eq!((cavity.turns(), cavity.ground()), (Turns::CounterClockwise, Grounding::Star));
    assert_eq!((cavity.shield(), cavity.strings()), (Shielding::Foil, Strings::Wire));
    assert_eq!(cavity.under()[0].1.value, "tone");
    assert_eq!(cavity.places()[0].1, [Metres::new(0.12), Metres::new(0.0405)]);
    assert_eq!(cavity.wires().unwrap()[0].value[1].value, "jack.tip");
    let usual = read(PICKUP).unwrap();
    assert_eq!((usual.jack(), usual.pickups()[0].form()), (Jack::Mono, PickupForm::Four));
    assert_eq!((usual.cavity().wires(), usual.cavity().is_stated()), (None, false));
    assert_eq!(read(&format!("{PICKUP}[buffer]\n")).unwrap().jack(), Jack::Stereo);
}

#[test]
fn every_fault_of_a_control_cavity_is_told() {
    let wires = vec!["[\"volume.2\", \"jack.tip\"]"; 201].join(", ");
    let switch = "[[switch]]\nname = \"mode\"\ntable = \"on-on\"\njoints = [[\"a+\", \"hot\"]]\n";
    let refusal = refused(&format!(
        "{PICKUP}form = \"two\"\n{switch}[buffer]\n[harness]\njack = \"mono\"\nturns = \"left\"\n\
         places = {{ volume = [120, -4] }}\nwires = [{wires}, [\"volume.2\"]]\n"
    ))
    .to_string();
    for said in [
        "whose form says that they are joined inside",
        "a mono jack has no ring",
        "`turns` is `left` where one of clockwise, counter-clockwise is wanted",
        "the place of `volume` is no pair of millimetres",
        "202 wires; allowed are up to 200",
    ] {
        assert!(refusal.contains(said), "{said}\n---\n{refusal}");
    }
    let (message, _) = only_fault(&format!("{PICKUP}[harness]\nwires = [[\"volume.2\"]]\n"));
    assert_eq!(message, "a wire has two ends, and 1 are named");
    let braid = "form = \"braid\"\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n";
    let joints = "[[selector]]\nname = \"s\"\ntable = \"three-way-toggle\"\n\
        joints = [[\"bridge\", \"1\"], [\"neck\", \"2\"], [\"out\", \"0\"], [\"bridge.ground\", \"ground\"]]\n";
    let (message, _) = only_fault(&format!("{PICKUP}{braid}{joints}"));
    assert!(message.contains("the braid of pickup `bridge` is on ground"), "{message}");
}

/// A coil whose values are all stated is the same circuit whether it starts from a built-in pickup or not, and one that states
/// its inductance alone has a core that is told by its loss; what a pickup's file says of its lead holds all the same.
#[test]
fn a_coil_that_states_its_inductance_or_loss_takes_no_eddy_section_and_no_lead() {
    let pickup = |like: &str, coil: &str| {
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\n{like}[pickup.coil_a]\n{coil}[pickup.coil_b]\n{coil}"
        );
        read(&text).expect("complete").pickups()[0].clone()
    };
    let like = "like = \"vintage-full-size\"\n";
    let stated = "resistance = \"4k\"\ninductance = \"2.1\"\ncapacitance = \"110p\"\nloss = \"240k\"\n";
    let values = |pickup: &Pickup| {
        [Some(pickup.coil_a()), pickup.coil_b()].map(|coil| {
            let coil = coil.expect("two");
            (
                coil.resistance(),
                coil.inductance(),
                coil.capacitance(),
                coil.loss(),
                coil.eddy().is_some(),
                coil.lead(),
            )
        })
    };
    assert_eq!(values(&pickup(like, stated)), values(&pickup("", stated)));
    for coil in ["inductance = \"2.1\"\n", "loss = \"240k\"\n"] {
        let pickup = pickup(like, coil);
        assert!(pickup.coil_a().eddy().is_none() && pickup.coil_a().lead() == Farads::new(0.0), "{coil}");
    }
    let alone = pickup(like, "inductance = \"2.1\"\n").coil_a().loss().expect("a loss");
    assert!((alone.value() / (350e3 / 1.6) - 1.0).abs() < 1e-12, "{alone}");
    for coil in ["capacitance = \"90p\"\n", "resistance = \"4k\"\n"] {
        let pickup = pickup(like, coil);
        assert!(pickup.coil_a().eddy().is_some() && pickup.coil_a().lead() == Farads::new(40e-12), "{coil}");
    }
    let led = pickup("like = \"vintage-full-size\"\nlead_capacitance = \"60p\"\n", stated);
    assert_eq!([led.coil_a().lead(), led.coil_b().expect("two").lead()], [Farads::new(60e-12); 2]);
}

#[test]
fn a_cover_raises_the_eddy_section_of_a_built_in_pickup_alone() {
    let eddy = |cover: &str| {
        let text = format!("format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\ncover = \"{cover}\"\n");
        let eddy = read(&text).expect("complete").pickups()[0].coil_a().eddy().expect("steel");
        (eddy.share.value, eddy.corner.value.value())
    };
    let (none, nickel, brass) = (eddy("none"), eddy("nickel-silver"), eddy("brass"));
    assert!(none.0 < nickel.0 && nickel.0 < brass.0 && none.1 < nickel.1 && nickel.1 < brass.1);
    assert!((brass.0 - none.0 - 0.045).abs() < 1e-12 && (brass.1 / none.1 - 2.7 / 2.1).abs() < 1e-12);
    let own = coil_measured("{ inductance = \"1 %\" }")
        .replace("name = \"p\"\n", "name = \"p\"\ncover = \"brass\"\n");
    let guitar = read(&own).expect("complete");
    assert!(guitar.notes()[0].contains("cover is brass and does nothing"), "{:?}", guitar.notes());
    let told =
        refused("format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\ncover = \"steel\"\n").to_string();
    assert!(told.contains("nickel-silver"), "{told}");
}
