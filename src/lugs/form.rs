//! The answers as data, for `--json`.

use serde::Serialize;

use super::{Described, Finding, Passing, ThrowFacts, Wanted};
use crate::jack::Expected;
use crate::quantity::Ohms;
use crate::wiring::{EndNames, PoleState, Switch, Terminal, TravelState};

/// The answer to a search.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SearchForm {
    /// The switch's name.
    pub switch: String,
    /// What was asked of each throw.
    pub asked: Vec<String>,
    /// Whether any plan does it.
    pub exists: bool,
    /// The fewest joints.
    pub joints: Option<usize>,
    /// How many plans do it with the fewest.
    pub solutions_with_fewest: usize,
    /// How many ways to join some of the things were looked at; they decide all others.
    pub searched: u64,
    /// How many ways to join all the things there are.
    pub ways: u64,
    /// Where no plan does it: the switches that can, nearest first, with what each throw then does.
    pub alternatives: Vec<AlternativeForm>,
    /// The plans, the most preferred first.
    pub plans: Vec<PlanForm>,
}

/// A switch, or an order of throws, that can do what was asked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AlternativeForm {
    /// The switch's name.
    pub switch: String,
    /// What each throw would do.
    pub throws: Vec<String>,
}

/// The answer to a check: one plan a switch.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CheckForm {
    /// The guitar's name.
    pub guitar: String,
    /// Whether no plan has a fault.
    pub sound: bool,
    /// The plans, in the order of the file.
    pub plans: Vec<PlanForm>,
}

/// A plan and what is told of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlanForm {
    /// The switch's own name in the guitar, where it has one.
    pub name: Option<String>,
    /// The contact table's name.
    pub table: String,
    /// `plus-minus` or `start-finish`: how the coils' ends are named.
    pub ends: &'static str,
    /// The number of joints.
    pub joints: usize,
    /// What meets at each point.
    pub groups: Vec<Vec<String>>,
    /// The jumpers between lugs.
    pub jumpers: Vec<[String; 2]>,
    /// Where selectors, and switches of other pickups, stand when the throws are read, such as `selector:1`; null where
    /// there are none.
    pub read_at: Option<String>,
    /// What each throw is; where the pickup has other switches, once for each place of these.
    pub throws: Vec<ThrowForm>,
    /// What hot and ground see in each combination of pole states.
    pub mid_travel: Vec<TravelForm>,
    /// The worst of them.
    pub worst_mid_travel: String,
    /// The faults.
    pub faults: Vec<FindingForm>,
    /// What is worth knowing and no fault.
    pub remarks: Vec<FindingForm>,
}

/// One throw.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThrowForm {
    /// The throw's number.
    pub throw: u8,
    /// Where the pickup's other switches stand, such as `phase:1`; null where it has none.
    pub with: Option<String>,
    /// Where the lever is.
    pub position: String,
    /// The arrangement's name, or the connection in words.
    pub arrangement: String,
    /// Whether the strings are in phase; null where no coil is heard.
    pub in_phase: Option<bool>,
    /// Whether hum cancels; null where no coil is heard.
    pub hum_cancels: Option<bool>,
    /// The ends connected to hot only.
    pub hanging: Vec<String>,
    /// What the meter reads at the jack with nothing plugged in and the knobs full; null where it reads open or nothing,
    /// for a buffer.
    pub dc_at_jack_ohm: Option<f64>,
    /// The least that parts and meter within their tolerances show, as `probe` tells it.
    pub low_ohm: Option<f64>,
    /// The most.
    pub high_ohm: Option<f64>,
    /// The kinds of the throw's faults.
    pub faults: Vec<&'static str>,
}

/// One combination of pole states.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TravelForm {
    /// What each pole joins, such as `L2-L1`, or `open`.
    pub poles: Vec<String>,
    /// What hot and ground see: the arrangement's name, or the connection in words.
    pub sees: String,
    /// The ends connected to hot only.
    pub hanging: Vec<String>,
    /// What is heard for a moment.
    pub passing: String,
}

/// A fault or a remark.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingForm {
    /// The throw it is about; null where it is about the whole plan.
    pub throw: Option<u8>,
    /// Where the pickup's other switches then stand; null where it has none.
    pub with: Option<String>,
    /// Its kind.
    pub kind: &'static str,
    /// What is the matter.
    pub what: String,
}

impl AlternativeForm {
    /// Returns the form of a request.
    pub fn new(wanted: &Wanted) -> Self {
        Self {
            switch: wanted.switch().name().to_owned(),
            throws: wanted.asked().iter().map(ToString::to_string).collect(),
        }
    }
}

impl PlanForm {
    /// Returns the form of a plan, of the guitar's switch of that `name` where it has one.
    pub fn new(described: &Described, name: Option<&str>) -> Self {
        let Described { plan, labels, .. } = described;
        let switch = plan.switch();
        let ends = |ends: Vec<Terminal>| ends.iter().map(|end| labels.end(*end).to_owned()).collect();
        let named = |group: &Vec<_>| group.iter().map(|t| labels.name(*t, switch).to_owned()).collect();
        let throw = |facts: &ThrowFacts| ThrowForm {
            throw: facts.throw,
            with: facts.with.clone(),
            position: position_of(switch, facts.throw),
            arrangement: facts.connection.label(),
            in_phase: facts.in_phase,
            hum_cancels: facts.hum_cancels,
            hanging: ends(facts.connection.hanging_from_hot()),
            dc_at_jack_ohm: facts.dc_at_jack().map(Ohms::value),
            low_ohm: facts.reading.and_then(Expected::band).map(|[low, _]| low.value()),
            high_ohm: facts.reading.and_then(Expected::band).map(|[_, high]| high.value()),
            faults: described
                .faults()
                .filter(|f| f.throw == Some(facts.throw) && f.with == facts.with)
                .map(|f| f.kind.name())
                .collect(),
        };
        let state = |state: TravelState| TravelForm {
            poles: state.poles.iter().map(|pole| pole_words(switch, pole)).collect(),
            sees: state.connection.label(),
            hanging: ends(state.connection.hanging_from_hot()),
            passing: Passing::of(&state.connection).to_string(),
        };
        Self {
            name: name.map(str::to_owned),
            table: switch.name().to_owned(),
            ends: match labels.names() {
                EndNames::PlusMinus => "plus-minus",
                EndNames::StartFinish => "start-finish",
            },
            joints: plan.joints(),
            groups: plan.groups().iter().map(named).collect(),
            jumpers: plan
                .soldering()
                .jumpers
                .iter()
                .map(|jumper| jumper.map(|lug| switch.name_of(lug).to_owned()))
                .collect(),
            read_at: described.read_at.as_ref().map(|at| at.name.clone()),
            throws: described.facts.iter().map(throw).collect(),
            mid_travel: described.travel().into_iter().map(state).collect(),
            worst_mid_travel: described.worst_passing().to_string(),
            faults: described.faults().map(FindingForm::new).collect(),
            remarks: described.remarks().map(FindingForm::new).collect(),
        }
    }
}

impl FindingForm {
    fn new(finding: &Finding) -> Self {
        let Finding { throw, with, kind, what } = finding;
        Self { throw: *throw, with: with.clone(), kind: kind.name(), what: what.clone() }
    }
}

fn position_of(switch: &Switch, number: u8) -> String {
    switch
        .throws()
        .iter()
        .find(|throw| throw.number() == number)
        .map(|throw| throw.position().to_owned())
        .unwrap_or_default()
}

/// Returns what a pole joins, such as `L2-L1`, or `open`.
pub(super) fn pole_words(switch: &Switch, pole: &PoleState) -> String {
    let joined = |contact: &[crate::wiring::Lug; 2]| contact.map(|lug| switch.name_of(lug)).join("-");
    match pole.contacts.as_slice() {
        [] => "open".to_owned(),
        contacts => contacts.iter().map(joined).collect::<Vec<_>>().join(" "),
    }
}
