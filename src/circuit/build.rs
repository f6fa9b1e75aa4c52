//! The circuit of one pickup on one guitar: coils, joints, controls, cable, input.

use super::{Element, KnobCircuit, KnobPart, Netlist, Node};
use crate::guitar::{BleedForm, Cable, Coil, Coils, Controls, Guitar, Input, Pickup};
use crate::quantity::{Henries, Ohms};
use crate::wiring::{Connection, Terminal};

/// Whether the cable and the amplifier are there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum JackLoad {
    /// The guitar is plugged in.
    Plugged,
    /// Nothing is plugged in, as when a meter reads at the jack.
    Unplugged,
}

/// A circuit and the node at which it is heard.
#[derive(Debug, Clone)]
pub struct Driven {
    /// The parts; source 0 is coil A's EMF and source 1 coil B's, each positive at its + end.
    pub netlist: Netlist,
    /// The jack's tip.
    pub jack: Node,
}

/// A connection that a pickup cannot be given.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BuildError {
    /// The joint of the coils is to be bypassed, and no capacitor is stated.
    #[error("pickup `{pickup}` has no bypass capacitor for `series-bypassed`")]
    NoBypass {
        /// The pickup's name.
        pickup: String,
    },
}

/// Returns the circuit of `pickup` on `guitar` with its terminals joined as `connection` says, the coils' joint
/// bypassed to ground where `bypassed`.
///
/// # Errors
/// [`BuildError::NoBypass`] where a bypass is asked for that the pickup does not have.
pub fn pickup_circuit(
    guitar: &Guitar,
    pickup: &Pickup,
    connection: &Connection,
    bypassed: bool,
    load: JackLoad,
) -> Result<Driven, BuildError> {
    built(Netlist::new(2), guitar, pickup, *connection, bypassed, load)
}

/// Returns the circuit of [`pickup_circuit`], plugged in, as its knobs see it.
///
/// # Errors
/// [`BuildError::NoBypass`] where a bypass is asked for that the pickup does not have.
pub fn pickup_knobs(
    guitar: &Guitar,
    pickup: &Pickup,
    connection: &Connection,
    bypassed: bool,
) -> Result<KnobCircuit, BuildError> {
    let netlist = Netlist::with_free_knobs(2);
    let driven = built(netlist, guitar, pickup, *connection, bypassed, JackLoad::Plugged)?;
    Ok(KnobCircuit::new(&driven.netlist, driven.jack))
}

fn built(
    mut netlist: Netlist,
    guitar: &Guitar,
    pickup: &Pickup,
    connection: Connection,
    bypassed: bool,
    load: JackLoad,
) -> Result<Driven, BuildError> {
    let terminals = Terminal::ALL.map(|terminal| netlist.node(terminal.name()));
    let at = |terminal: Terminal| terminals[terminal.index()];
    netlist.short(at(Terminal::Ground), Node::GROUND);
    for terminal in Terminal::ALL {
        netlist.short(terminals[connection.node(terminal)], at(terminal));
    }
    let a = add_coil(&mut netlist, pickup.coil_a(), [at(Terminal::APlus), at(Terminal::AMinus)], 0);
    if let Coils::Two { b, bypass, .. } = pickup.coils() {
        let b = add_coil(&mut netlist, b, [at(Terminal::BPlus), at(Terminal::BMinus)], 1);
        netlist.couple(a, b, pickup.mutual_inductance());
        if bypassed {
            let missing = || BuildError::NoBypass { pickup: pickup.name().to_string() };
            netlist.capacitor(at(Terminal::AMinus), Node::GROUND, bypass.ok_or_else(missing)?);
        }
    }
    let jack = add_controls(&mut netlist, guitar.controls(), at(Terminal::Hot));
    if load == JackLoad::Plugged {
        add_load(&mut netlist, guitar.cable(), guitar.input(), jack);
    }
    Ok(Driven { netlist, jack })
}

/// Adds a coil between its + and − ends and returns the inductor that couples to another coil's.
///
/// # Source
/// The EMF is in series with L and the loss lies across the two, because a core's eddy loop links the string's
/// flux as the coil does; an eddy section is the shorted secondary of a steel core or a cover: `(1−κ)L` in
/// series with `κL ∥ 2π f_c κ L`, each share of L carrying its share of the EMF.
fn add_coil(netlist: &mut Netlist, coil: &Coil, [plus, minus]: [Node; 2], source: usize) -> usize {
    let inner = netlist.node(format!("inside coil {}", source + 1));
    netlist.resistor(plus, inner, coil.resistance());
    netlist.capacitor(plus, minus, coil.capacitance());
    if let Some(loss) = coil.loss() {
        netlist.resistor(inner, minus, loss);
    }
    let inductance = coil.inductance().value();
    let shunted = coil.eddy().filter(|eddy| eddy.share > 0.0);
    let Some(eddy) = shunted else {
        return netlist.inductor(inner, minus, coil.inductance(), source, 1.0);
    };
    let core = netlist.node(format!("core of coil {}", source + 1));
    let share = eddy.share * inductance;
    let shunt = std::f64::consts::TAU * eddy.corner.value() * share;
    netlist.inductor(core, minus, Henries::new(share), source, eddy.share);
    netlist.resistor(core, minus, Ohms::new(shunt));
    netlist.inductor(inner, core, Henries::new(inductance - share), source, 1.0 - eddy.share)
}

/// Adds the pots and the bleed, and returns the node of the jack's tip.
fn add_controls(netlist: &mut Netlist, controls: &Controls, hot: Node) -> Node {
    if let Some(tone) = controls.tone() {
        let lug = netlist.node("tone capacitor");
        let used = Ohms::new(tone.pot().track().value() * tone.pot().fraction());
        netlist.turned(hot, lug, Element::Resistor(used), KnobPart::Tone);
        netlist.capacitor(lug, Node::GROUND, tone.capacitor());
    }
    let Some(volume) = controls.volume() else { return hot };
    let wiper = netlist.node("volume wiper");
    let (track, fraction) = (volume.track().value(), volume.fraction());
    let (above, below) = (Ohms::new(track * (1.0 - fraction)), Ohms::new(track * fraction));
    netlist.turned(hot, wiper, Element::Resistor(above), KnobPart::VolumeAbove);
    netlist.turned(wiper, Node::GROUND, Element::Resistor(below), KnobPart::VolumeBelow);
    if let Some(bleed) = controls.bleed() {
        match bleed.form() {
            BleedForm::Capacitor => netlist.capacitor(hot, wiper, bleed.capacitor()),
            BleedForm::Parallel(resistor) => {
                netlist.capacitor(hot, wiper, bleed.capacitor());
                netlist.resistor(hot, wiper, resistor);
            }
            BleedForm::Series(resistor) => {
                let between = netlist.node("treble bleed");
                netlist.capacitor(hot, between, bleed.capacitor());
                netlist.resistor(between, wiper, resistor);
            }
        }
    }
    wiper
}

fn add_load(netlist: &mut Netlist, cable: Cable, input: Input, jack: Node) {
    netlist.turned(jack, Node::GROUND, Element::Capacitor(cable.capacitance()), KnobPart::Cable);
    netlist.capacitor(jack, Node::GROUND, input.capacitance());
    netlist.resistor(jack, Node::GROUND, input.resistance());
}
