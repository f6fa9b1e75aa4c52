//! P10. Lead identification never guesses: a tap alone gives the strings' polarity, a compass alone the pole, both
//! together the winding's sense and whether hum cancels; a compass reading that nothing bears out is reported
//! unconfirmed.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use crate::bench::{Chance, Line, Pickup};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::leads::{
    ChartNames, CoilReport, Fields, Readings, Report, Verdict, chart_of_pickup, explain_chart, identify,
};

const TAPS: &str = include_str!("../data/taps.csv");

/// Returns the swing while steel nears the top of a coil, by the law of induction alone.
fn swing_by_induction(north: bool, clockwise_to_red: bool) -> &'static str {
    // Flux through the coil towards the viewer above: out of a north pole, into a south one. Steel makes it more.
    let flux_change = if north { 1.0 } else { -1.0 };
    // A growing flux towards the viewer drives current clockwise (Lenz: its own flux points away). The wire is a
    // source: current driven from black to red inside it leaves at red, which is then positive.
    let driven_clockwise = flux_change;
    let towards_red = if clockwise_to_red { driven_clockwise } else { -driven_clockwise };
    if towards_red > 0.0 { "+" } else { "-" }
}

fn rows() -> Vec<[&'static str; 4]> {
    TAPS.lines()
        .skip(1)
        .map(|row| row.split(',').collect::<Vec<_>>().try_into().expect("four columns"))
        .collect()
}

#[test]
fn the_table_of_taps_is_what_induction_gives() {
    let rows = rows();
    assert_eq!(rows.len(), 4);
    for [pole, winding, touch, release] in rows {
        assert_eq!(touch, swing_by_induction(pole == "north", winding == "clockwise"), "{pole}, {winding}");
        assert_ne!(touch, release);
    }
}

#[test]
fn each_row_of_the_table_gives_back_its_winding() {
    for [pole, winding, touch, _] in rows() {
        let text = format!(
            "leads = [\"white\", \"grey\"]\ncoils = [\"only\"]\n[[tap]]\ncoil = \"only\"\nred = \"white\"\n\
             black = \"grey\"\nswing = \"{touch}\"\n[[compass]]\ncoil = \"only\"\ntop_pole = \"{pole}\"\n"
        );
        let report = identify(&Readings::read(&Document::new("row", text)).unwrap());
        assert_eq!(report.verdict, Verdict::Certain, "{report:?}");
        let coil = &report.coils[0];
        // The table goes from black (grey) to red (white), the report from minus to plus.
        let black_to_red_is_minus_to_plus = coil.plus.as_deref() == Some("white");
        let reversed = if winding == "clockwise" { "counter-clockwise" } else { "clockwise" };
        let expected = if black_to_red_is_minus_to_plus { winding } else { reversed };
        assert_eq!(coil.sense, Some(expected), "{pole}, {winding}");
        assert_eq!(report.hum_cancels_in_phase, None, "one coil cancels nothing");
    }
}

fn with_compass(poles: [Option<bool>; 2]) -> (Pickup, Report) {
    let mut chance = Chance(7);
    let pickup = Pickup::sound(&mut chance, false);
    let mut lines = pickup.full(&mut chance);
    for (coil, pole) in pickup.coils.iter().zip(poles) {
        lines.extend(pole.map(|north| Line::compass(coil, north)));
    }
    let report = identify(&pickup.readings(&lines));
    (pickup, report)
}

fn of<'r>(report: &'r Report, name: &str) -> &'r CoilReport {
    report.coils.iter().find(|c| c.name.as_deref() == Some(name)).expect("a coil of that name")
}

#[test]
fn poles_that_were_not_read_stay_unknown_and_leave_the_leads_certain() {
    let (_, report) = with_compass([None, None]);
    assert_eq!(report.verdict, Verdict::Certain);
    assert!(report.coils.iter().all(|c| c.top_pole.is_none() && c.sense.is_none()));
    assert_eq!(report.hum_cancels_in_phase, None);
    assert!(report.not_told.iter().any(|t| t.contains("top pole of")), "{:?}", report.not_told);
}

#[test]
fn a_lone_compass_reading_is_reported_unconfirmed() {
    for north in [true, false] {
        let (pickup, report) = with_compass([Some(north), None]);
        assert_eq!(report.verdict, Verdict::Certain);
        let pole = if north { "north" } else { "south" };
        assert_eq!(of(&report, pickup.coils[0]).top_pole, Some(pole));
        assert_eq!(of(&report, pickup.coils[1]).top_pole, None, "the other pole is not inferred");
        assert_eq!(report.hum_cancels_in_phase, None);
        let [told] = report.unconfirmed.as_slice() else { panic!("{:?}", report.unconfirmed) };
        let Fields::Compass { coil, top_pole } = &told.fields else { panic!("{told:?}") };
        assert_eq!((coil.as_deref(), *top_pole), (Some(pickup.coils[0]), Some(pole)));
    }
}

#[test]
fn opposite_poles_bear_each_other_out_and_cancel_hum_and_equal_ones_do_neither() {
    let (_, opposite) = with_compass([Some(true), Some(false)]);
    assert_eq!(opposite.hum_cancels_in_phase, Some(true));
    assert!(opposite.unconfirmed.is_empty());
    let (_, equal) = with_compass([Some(true), Some(true)]);
    assert_eq!(equal.hum_cancels_in_phase, Some(false));
    assert_eq!(equal.unconfirmed.len(), 2);
}

#[test]
fn a_compass_that_contradicts_itself_is_a_clash_of_its_two_readings() {
    let mut chance = Chance(3);
    let pickup = Pickup::sound(&mut chance, false);
    let mut lines = pickup.full(&mut chance);
    lines.extend([Line::compass(pickup.coils[0], true), Line::compass(pickup.coils[0], false)]);
    let report = identify(&pickup.readings(&lines));
    assert_eq!(report.verdict, Verdict::Contradictory);
    assert_eq!((report.conflicts.len(), report.conflicts[0].len()), (1, 2));
}

#[test]
fn a_chart_that_starts_both_coils_alike_is_told_to_be_a_trap_for_the_names_of_taps() {
    let (pickup, report) = with_compass([Some(true), Some(false)]);
    // Wound alike over opposite poles: the finish is + on the north coil and - on the south coil.
    let [[plus, minus], [other_plus, other_minus]] = pickup.plus_minus;
    let chart = |start: &str, finish: &str| ChartNames { start: start.to_owned(), finish: finish.to_owned() };
    let said = explain_chart(&report, &[chart(minus, plus), chart(other_plus, other_minus)]);
    assert_eq!(said.len(), 3, "{said:?}");
    assert!(said[0].contains("agree") && !said[0].contains("disagree"), "{said:?}");
    assert!(said[1].contains("disagree"), "{said:?}");
    assert!(said[2].contains("out of phase"), "{said:?}");
    let said = explain_chart(&report, &[chart(minus, plus), chart(other_minus, other_plus)]);
    assert_eq!(said.len(), 2, "no trap where both finishes are +: {said:?}");
    let guitar = format!(
        "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n\
         [pickup.coil_a]\nleads = {{ start = \"{minus}\", finish = \"{plus}\" }}\n\
         [pickup.coil_b]\nleads = {{ plus = \"{other_plus}\", minus = \"{other_minus}\" }}\n"
    );
    let guitar = Guitar::read(&Document::new("guitar.toml", guitar)).unwrap();
    assert_eq!(chart_of_pickup(&guitar.pickups()[0]), [chart(minus, plus)], "taps are no chart");
    let said = explain_chart(&report, &[chart(minus, other_plus)]);
    assert!(said[0].contains("is not this pickup's"), "{said:?}");
}
