//! A coil, controls and what a guitar is plugged into, as parts between nodes.

use crate::circuit::{Element, KnobPart, Netlist, Node};
use crate::guitar::{
    BassCut, Bleed, BleedForm, Cable, Coil, Controls, Eddy, Input, Pot, Tone, ToneJoined, VolumeWiring,
};
use crate::quantity::{Henries, Ohms};

/// Adds a coil between its + and − ends and returns the inductor that couples to another coil's.
///
/// # Source
/// The EMF is in series with L and the loss lies across the two, because a core's eddy loop links the string's
/// flux as the coil does; an eddy section is the shorted secondary of a steel core or a cover: `(1−κ)L` in
/// series with `κL ∥ 2π f_c κ L`, each share of L carrying its share of the EMF. The lead's shield is on ground.
pub(super) fn add_coil(netlist: &mut Netlist, coil: &Coil, [plus, minus]: [Node; 2], source: usize) -> usize {
    // Output, turns, winding and pole say how large and which way round the EMFs of strings and hum are.
    let Coil {
        resistance,
        inductance,
        capacitance,
        loss,
        eddy,
        lead,
        output: _,
        turns: _,
        winding: _,
        top_pole: _,
        leads: _,
        measurement: _,
    } = coil;
    let inner = netlist.node(format!("inside coil {}", source + 1));
    netlist.resistor(plus, inner, resistance.value);
    netlist.capacitor(plus, minus, capacitance.value);
    for end in [plus, minus] {
        netlist.capacitor(end, Node::GROUND, lead.value);
    }
    if let Some(loss) = loss {
        netlist.resistor(inner, minus, loss.value);
    }
    let shunted = eddy.filter(|eddy| eddy.share.value > 0.0);
    let Some(Eddy { share, corner }) = shunted else {
        return netlist.inductor(inner, minus, inductance.value, source, 1.0);
    };
    let core = netlist.node(format!("core of coil {}", source + 1));
    let (inductance, share) = (inductance.value.value(), share.value);
    let within = share * inductance;
    let shunt = std::f64::consts::TAU * corner.value.value() * within;
    netlist.inductor(core, minus, Henries::new(within), source, share);
    netlist.resistor(core, minus, Ohms::new(shunt));
    netlist.inductor(inner, core, Henries::new(inductance - within), source, 1.0 - share)
}

/// Whose controls they are: the guitar's own can be turned on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Whose {
    Guitar,
    Pickup,
}

impl Whose {
    fn resistor(self, netlist: &mut Netlist, [a, b]: [Node; 2], ohms: Ohms, part: KnobPart) {
        match self {
            Self::Guitar => netlist.turned(a, b, Element::Resistor(ohms), part),
            Self::Pickup => netlist.resistor(a, b, ohms),
        }
    }
}

/// Returns the two parts of a pot's track: that below the wiper, which its fraction tells, and the rest.
pub(super) fn legs(pot: Pot) -> [Ohms; 2] {
    let (track, fraction) = (pot.track().value(), pot.fraction());
    [track * fraction, track * (1.0 - fraction)].map(Ohms::new)
}

/// Adds bass cut, load, pots and bleed, and returns the node that leads on.
pub(super) fn add_controls(netlist: &mut Netlist, controls: &Controls, hot: Node, whose: Whose) -> Node {
    let Controls { volume, wiring, tone, bleed, bass_cut, load } = controls;
    let hot = match bass_cut {
        None => hot,
        Some(BassCut { pot, capacitor }) => {
            let behind = netlist.node("bass cut");
            netlist.capacitor(hot, behind, *capacitor);
            let [_, used] = legs(*pot);
            netlist.resistor(hot, behind, used);
            behind
        }
    };
    if let Some(load) = load {
        netlist.resistor(hot, Node::GROUND, *load);
    }
    let out = match volume {
        None => hot,
        Some(volume) => {
            let far = netlist.node("volume");
            let [below, above] = legs(*volume);
            // The end of the track's lower part that is not ground is the wiper.
            let wiper = match wiring {
                VolumeWiring::Dependent => far,
                VolumeWiring::Independent => hot,
            };
            whose.resistor(netlist, [hot, far], above, KnobPart::VolumeAbove);
            whose.resistor(netlist, [wiper, Node::GROUND], below, KnobPart::VolumeBelow);
            far
        }
    };
    if let Some(Bleed { capacitor, form }) = bleed {
        match &form.value {
            BleedForm::Capacitor => netlist.capacitor(hot, out, *capacitor),
            BleedForm::Parallel(resistor) => {
                netlist.capacitor(hot, out, *capacitor);
                netlist.resistor(hot, out, *resistor);
            }
            BleedForm::Series(resistor) => {
                let between = netlist.node("treble bleed");
                netlist.capacitor(hot, between, *capacitor);
                netlist.resistor(between, out, *resistor);
            }
        }
    }
    if let Some(Tone { pot, capacitor, joined }) = tone {
        let lug = netlist.node("tone capacitor");
        let hung = match joined {
            ToneJoined::BeforeVolume => hot,
            ToneJoined::AfterVolume => out,
        };
        let [used, _] = legs(*pot);
        whose.resistor(netlist, [hung, lug], used, KnobPart::Tone);
        netlist.capacitor(lug, Node::GROUND, capacitor.value);
    }
    out
}

pub(super) fn add_load(netlist: &mut Netlist, cable: Cable, input: Input, jack: Node) {
    // What its capacitance follows from is the file's.
    let Cable { capacitance, by: _ } = cable;
    netlist.turned(jack, Node::GROUND, Element::Capacitor(capacitance), KnobPart::Cable);
    let Input { resistance, capacitance } = input;
    netlist.capacitor(jack, Node::GROUND, capacitance.value);
    netlist.resistor(jack, Node::GROUND, resistance.value);
}
