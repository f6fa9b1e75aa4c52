//! The circuit of a guitar, or of one of its pickups: coils, joints, controls, cable, input.

mod parts;

use self::parts::{Whose, add_coil, add_controls, add_load, legs};
use super::{KnobCircuit, Netlist, Nets, Node, Spot};
use crate::guitar::{
    Blend, Buffer, Bypass, Coils, Guitar, Joined, Lever, Linked, Pickup, Point, Pot, Selector,
};
use crate::wiring::{Arrangement, Connection, Contact, Switch, Terminal};

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
    /// The parts; the sources are the coils' EMFs, coil A's before coil B's and pickup after pickup, each positive at
    /// its coil's + end.
    pub netlist: Netlist,
    /// The jack's tip.
    pub jack: Node,
    /// The two conductors of each pickup, behind its own controls.
    pub ends: Vec<Ends>,
}

/// The two conductors that lead from a pickup to the others.
#[derive(Debug, Clone, Copy)]
pub struct Ends {
    /// The one that the pickup alone has toward the guitar's controls.
    pub hot: Node,
    /// The one that it alone has on ground.
    pub cold: Node,
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

/// How one pickup's own terminals are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Strapping {
    /// What is joined to what.
    pub connection: Connection,
    /// Whether the coils' joint is bypassed to ground.
    pub bypassed: bool,
}

impl Strapping {
    /// Returns the strapping of a named arrangement.
    pub fn of(arrangement: Arrangement) -> Self {
        let bypassed = arrangement == Arrangement::SeriesBypassed;
        Self { connection: arrangement.connection(), bypassed }
    }
}

/// What of a guitar is heard.
#[derive(Debug, Clone, Copy)]
pub enum Wired<'g> {
    /// One pickup by itself.
    Pickup(&'g Pickup, Strapping),
    /// All pickups, as joints and selectors join them.
    Guitar {
        /// How each pickup is strapped, in the order of the guitar.
        pickups: &'g [Strapping],
        /// For each selector the place of the throw in which it stands.
        throws: &'g [usize],
        /// For each switch on a pickup the same; it counts where the switch is joined with others.
        switches: &'g [usize],
    },
    /// All pickups, as what is soldered and the closed contacts join them.
    Soldered(&'g Nets),
}

/// Returns the circuit of what is `wired` on `guitar`.
///
/// # Errors
/// [`BuildError::NoBypass`] where a bypass is asked for that a pickup does not have.
pub fn circuit_of(guitar: &Guitar, wired: Wired<'_>, load: JackLoad) -> Result<Driven, BuildError> {
    built(Netlist::new(wired.coils(guitar)), guitar, wired, load)
}

/// Returns the circuit of [`circuit_of`], plugged in, as the guitar's own knobs see it.
///
/// # Errors
/// [`BuildError::NoBypass`] where a bypass is asked for that a pickup does not have.
pub fn knobs_of(guitar: &Guitar, wired: Wired<'_>) -> Result<KnobCircuit, BuildError> {
    let netlist = Netlist::with_free_knobs(wired.coils(guitar));
    let driven = built(netlist, guitar, wired, JackLoad::Plugged)?;
    Ok(KnobCircuit::new(&driven.netlist, driven.jack))
}

impl Wired<'_> {
    fn coils(&self, guitar: &Guitar) -> usize {
        match self {
            Self::Pickup(pickup, _) => pickup.coil_places().len(),
            Self::Guitar { .. } | Self::Soldered(_) => {
                guitar.pickups().iter().map(|p| p.coil_places().len()).sum()
            }
        }
    }
}

fn built(
    mut netlist: Netlist,
    guitar: &Guitar,
    wired: Wired<'_>,
    load: JackLoad,
) -> Result<Driven, BuildError> {
    let Guitar {
        name: _,
        scale: _,
        pickups: own,
        // How each pickup is strapped says what its switch does, or joints do.
        switches: _,
        joined: _,
        controls,
        buffer,
        tolerances: _,
        cable,
        input,
        // What is in the cavity decides how it is wired, not what is heard.
        cavity: _,
        notes: _,
    } = guitar;
    let mut ends = Vec::new();
    let out = match wired {
        Wired::Pickup(pickup, strapping) => {
            let (alone, _) = add_pickup(&mut netlist, pickup, strapping, 0)?;
            netlist.short(alone.cold, Node::GROUND);
            ends.push(alone);
            alone.hot
        }
        Wired::Guitar { pickups, throws, switches } => {
            let (mut source, mut added) = (0, Vec::new());
            for (pickup, strapping) in own.iter().zip(pickups) {
                added.push(add_pickup(&mut netlist, pickup, *strapping, source)?);
                source += pickup.coil_places().len();
            }
            let out = add_joints(&mut netlist, guitar, [throws, switches], &added);
            let is_linked = |place: usize| guitar.joined().linked_on(place).is_some();
            ends.extend(added.iter().enumerate().map(|(place, (ends, terminals))| {
                if is_linked(place) { led(&netlist, *ends, terminals, out) } else { *ends }
            }));
            out
        }
        Wired::Soldered(nets) => add_soldered(&mut netlist, guitar, nets, &mut ends)?,
    };
    let behind = add_controls(&mut netlist, controls, out, Whose::Guitar);
    let jack = match buffer {
        None => behind,
        Some(Buffer { input, output }) => {
            netlist.resistor(behind, Node::GROUND, input.value);
            let jack = netlist.node("jack");
            netlist.follower(behind, jack, output.value);
            jack
        }
    };
    if load == JackLoad::Plugged {
        add_load(&mut netlist, *cable, *input, jack);
    }
    Ok(Driven { netlist, jack, ends })
}

/// Adds a pickup with its own controls, and returns its conductors and its terminals; its coils' EMFs are the sources
/// from `source` on.
fn add_pickup(
    netlist: &mut Netlist,
    pickup: &Pickup,
    Strapping { connection, bypassed }: Strapping,
    source: usize,
) -> Result<(Ends, [Node; 6]), BuildError> {
    // The coils' places decide what the strings give them, not the circuit.
    let Pickup {
        name,
        like: _,
        from_bridge: _,
        spacing: _,
        coils,
        cover: _,
        level: _,
        arrangement: _,
        controls,
        form: _,
    } = pickup;
    let terminals = Terminal::ALL.map(|terminal| netlist.node(format!("{name} {terminal}")));
    let at = |terminal: Terminal| terminals[terminal.index()];
    for terminal in Terminal::ALL {
        netlist.short(terminals[connection.node(terminal)], at(terminal));
    }
    let mut add_a = |coil| add_coil(netlist, coil, [at(Terminal::APlus), at(Terminal::AMinus)], source);
    match coils {
        Coils::One(coil) => {
            add_a(coil);
        }
        // What k is of these two inductors, the pickup tells.
        Coils::Two { a, b, coupling: _, bypass } => {
            let a = add_a(a);
            let b = add_coil(netlist, b, [at(Terminal::BPlus), at(Terminal::BMinus)], source + 1);
            netlist.couple(a, b, pickup.mutual_inductance());
            if bypassed {
                let missing = || BuildError::NoBypass { pickup: name.to_string() };
                match bypass.ok_or_else(missing)? {
                    Bypass::Capacitor(capacitor) => {
                        netlist.capacitor(at(Terminal::AMinus), Node::GROUND, capacitor);
                    }
                    Bypass::Resistor(resistor) => {
                        netlist.resistor(at(Terminal::AMinus), Node::GROUND, resistor);
                    }
                }
            }
        }
    }
    let hot = add_controls(netlist, controls, at(Terminal::Hot), Whose::Pickup);
    Ok((Ends { hot, cold: at(Terminal::Ground) }, terminals))
}

/// Returns the conductors of a pickup whose switch is joined with others: its terminals that lead out and to ground, where
/// any do.
fn led(netlist: &Netlist, Ends { hot, cold }: Ends, terminals: &[Node; 6], out: Node) -> Ends {
    let meeting = |point: Node| terminals.iter().copied().find(|terminal| netlist.joined(*terminal, point));
    Ends { hot: meeting(out).unwrap_or(hot), cold: meeting(Node::GROUND).unwrap_or(cold) }
}

/// What stands between points of a guitar and is thrown.
struct Gear<'g> {
    lever: Lever,
    joints: &'g [Vec<Point>],
    contacts: &'g [Contact],
    lugs: Vec<Node>,
}

/// Returns the selectors of `guitar` and those of its switches that are joined with others, each standing in its throw.
fn gears<'g>(netlist: &mut Netlist, guitar: &'g Guitar, [throws, switches]: [&[usize]; 2]) -> Vec<Gear<'g>> {
    let Joined { fixed: _, selectors, blend: _, linked } = guitar.joined();
    let selectors = selectors.iter().zip(throws).enumerate().map(|(place, (selector, throw))| {
        let Selector { name: _, switch, joints, stands: _ } = selector;
        (Lever::Selector(place), joints.as_slice(), &**switch, *throw)
    });
    let linked = linked.iter().map(|Linked { switch, pickup: _, joints }| {
        let table: &Switch = guitar.switches()[*switch].switch();
        (Lever::Switch(*switch), joints.as_slice(), table, switches[*switch])
    });
    let gear = |(lever, joints, table, throw): (Lever, &'g [Vec<Point>], &'g Switch, usize)| {
        let name = lever.name(guitar);
        let lugs = table.lug_names().iter().map(|lug| netlist.node(format!("{name} {lug}"))).collect();
        Gear { lever, joints, contacts: table.throws()[throw].contacts(), lugs }
    };
    selectors.chain(linked).map(gear).collect()
}

/// Adds joints, selectors and blend pot between `pickups`, each with its conductors and its terminals, and returns the node
/// that leads on to the guitar's controls.
fn add_joints(
    netlist: &mut Netlist,
    guitar: &Guitar,
    throws: [&[usize]; 2],
    pickups: &[(Ends, [Node; 6])],
) -> Node {
    let joined = guitar.joined();
    let Joined { fixed, selectors: _, blend, linked: _ } = joined;
    let out = netlist.node("out");
    for (place, (ends, _)) in pickups.iter().enumerate() {
        if !joined.names(Point::Cold(place)) {
            netlist.short(ends.cold, Node::GROUND);
        }
    }
    let gears = gears(netlist, guitar, throws);
    let at = |point: Point, own: &[Node]| match point {
        Point::Hot(pickup) => pickups[pickup].0.hot,
        Point::Cold(pickup) => pickups[pickup].0.cold,
        Point::Terminal(pickup, terminal) => pickups[pickup].1[terminal.index()],
        Point::Out => out,
        Point::Ground => Node::GROUND,
        Point::Lug(lug) => own[lug.index()],
        Point::LugOf(lever, lug) => {
            let gear = gears.iter().find(|gear| gear.lever == lever);
            gear.expect("a switch whose lug a joint names is joined with others").lugs[lug.index()]
        }
    };
    let join = |netlist: &mut Netlist, groups: &[Vec<Point>], own: &[Node]| {
        for pair in groups.iter().flat_map(|group| group.windows(2)) {
            netlist.short(at(pair[0], own), at(pair[1], own));
        }
    };
    join(netlist, fixed, &[]);
    for Gear { lever: _, joints, contacts, lugs } in &gears {
        join(netlist, joints, lugs);
        for [one, other] in *contacts {
            netlist.short(lugs[one.index()], lugs[other.index()]);
        }
    }
    if let Some(Blend { pot, ends }) = blend {
        add_blend(netlist, *pot, ends.map(|end| at(end, &[])), out);
    }
    out
}

fn add_blend(netlist: &mut Netlist, pot: Pot, [first, second]: [Node; 2], out: Node) {
    let [to_first, to_second] = legs(pot);
    netlist.resistor(first, out, to_first);
    netlist.resistor(out, second, to_second);
}

/// Adds all pickups joined as `nets` says, and returns the node that leads on to the guitar's controls.
fn add_soldered(
    netlist: &mut Netlist,
    guitar: &Guitar,
    nets: &Nets,
    all: &mut Vec<Ends>,
) -> Result<Node, BuildError> {
    let out = netlist.node("out");
    let mut spots = vec![(Spot::Ground, Node::GROUND), (Spot::Out, out)];
    let mut source = 0;
    for (place, pickup) in guitar.pickups().iter().enumerate() {
        let apart = Strapping { connection: Connection::joining([]), bypassed: nets.is_bypassed(place) };
        let (ends, terminals) = add_pickup(netlist, pickup, apart, source)?;
        all.push(ends);
        source += pickup.coil_places().len();
        spots.extend(
            Terminal::ALL.into_iter().zip(terminals).map(|(t, node)| (Spot::Terminal(place, t), node)),
        );
        spots.push((Spot::Behind(place), ends.hot));
    }
    if let Some(blend) = guitar.joined().blend() {
        let ends = ["first", "second"].map(|end| netlist.node(format!("blend, {end} end")));
        add_blend(netlist, blend.pot(), ends, out);
        spots.extend(ends.into_iter().enumerate().map(|(end, node)| (Spot::BlendEnd(end), node)));
    }
    for (i, (spot, node)) in spots.iter().enumerate() {
        if let Some((_, same)) = spots[..i].iter().find(|(other, _)| nets.joins(*other, *spot)) {
            netlist.short(*same, *node);
        }
    }
    Ok(out)
}
