//! All single mistakes that a guitar can be soldered with or read with.

use super::bench::Bench;
use super::suspect::{Cause, Mistake, Stood, Suspect};
use crate::circuit::{Site, Solder, Spot};
use crate::guitar::{Guitar, Knob, Lever, Pot};
use crate::jack::{AtJack, State, Tolerance};
use crate::leads::OhmmeterReading;
use crate::quantity::Ohms;
use crate::response::VoiceError;
use crate::wiring::{CoilName, Switch, Terminal};

/// Returns every single mistake in what is soldered on `bench` that changes what some position connects.
pub(super) fn mistakes(bench: &Bench) -> Vec<Mistake> {
    let mut all: Vec<Mistake> = Vec::new();
    let drawn: Vec<_> = bench.positions.iter().map(|position| bench.drawn(position).key()).collect();
    for mistake in bench.sites().into_iter().flat_map(|site| at_site(bench, site)) {
        // In a group of two it is the same whether one is off the other or the other off the one.
        let is_known = || {
            matches!(mistake.cause, Cause::Off(_))
                && all.iter().any(|known| {
                    known.site == mistake.site && joined(&known.soldered) == joined(&mistake.soldered)
                })
        };
        let changes = bench.positions.iter().zip(&drawn).any(|(position, drawn)| {
            let nets = mistake.heard(position.state.nets(&bench.guitar, &mistake.soldered));
            nets.key() != *drawn
        });
        if changes && !is_known() {
            all.push(mistake);
        }
    }
    all
}

/// Returns the groups of more than one thing.
fn joined(solder: &Solder) -> Vec<Vec<Spot>> {
    solder.groups().iter().filter(|group| group.spots.len() > 1).map(|group| group.spots.clone()).collect()
}

fn at_site(bench: &Bench, site: Site) -> Vec<Mistake> {
    let Bench { guitar, solder, .. } = bench;
    let mut found = Vec::new();
    let mut add = |cause, soldered| found.push(Mistake { site, cause, soldered });
    match site {
        Site::Pickup(pickup) => {
            let own = &guitar.pickups()[pickup];
            if solder.at(site).next().is_some() && guitar.pickups().len() > 1 {
                let ends = [Terminal::Hot, Terminal::Ground].map(|end| Spot::Terminal(pickup, end));
                add(Cause::Swapped(ends), solder.swapped(&[site], ends));
            }
            let coils = CoilName::BOTH.into_iter().take(own.coil_places().len());
            for coil in coils {
                let ends = [coil.plus(), coil.minus()].map(|end| Spot::Terminal(pickup, end));
                add(Cause::Open(pickup, coil), solder.clone());
                add(Cause::Shorted(pickup, coil), solder.bridged(site, ends));
            }
        }
        Site::Lever(_) | Site::Joints | Site::Blend => {
            for spot in solder.at(site).flat_map(|group| &group.spots) {
                add(Cause::Off(*spot), solder.without(site, *spot));
            }
            let sites = swapped_with(guitar, site);
            let wires = wires_at(bench, site);
            for (i, one) in wires.iter().enumerate() {
                for other in &wires[i + 1..] {
                    add(Cause::Swapped([*one, *other]), solder.swapped(&sites, [*one, *other]));
                }
            }
            if let Site::Lever(lever) = site {
                for pair in neighbours(lever, lever.table(guitar)) {
                    add(Cause::Bridged(pair), solder.bridged(site, pair));
                }
            }
        }
    }
    found
}

/// Returns the sites at which two wires change places when they do at `site`: a pickup's leads go to all its switches.
fn swapped_with(guitar: &Guitar, site: Site) -> Vec<Site> {
    let Site::Lever(Lever::Switch(own)) = site else { return vec![site] };
    let on = guitar.pickup_switched_at(own);
    let same = (0..guitar.switches().len()).filter(|switch| guitar.pickup_switched_at(*switch) == on);
    same.map(|switch| Site::Lever(Lever::Switch(switch))).collect()
}

/// Returns the wires that can be mistaken for each other at `site`: all leads of a switched pickup, each once where it
/// has several switches, and else those that are soldered there.
pub(super) fn wires_at(bench: &Bench, site: Site) -> Vec<Spot> {
    let Bench { guitar, solder, .. } = bench;
    if let Site::Lever(Lever::Switch(switch)) = site {
        let on = guitar.pickup_switched_at(switch);
        let is_first = (0..switch).all(|other| guitar.pickup_switched_at(other) != on);
        return if is_first { Terminal::ALL.map(|end| Spot::Terminal(on, end)).to_vec() } else { Vec::new() };
    }
    let mut wires: Vec<Spot> = solder
        .at(site)
        .flat_map(|group| group.spots.iter().copied())
        .filter(|spot| !matches!(spot, Spot::Lug(..) | Spot::BlendEnd(_)))
        .collect();
    wires.sort();
    wires.dedup();
    wires
}

/// Returns the pairs of lugs that a drop of solder can bridge: one below the other, or side by side.
pub(super) fn neighbours(lever: Lever, switch: &Switch) -> Vec<[Spot; 2]> {
    let below = switch.poles().iter().flat_map(|pole| pole.lugs().windows(2).map(|pair| [pair[0], pair[1]]));
    let beside = switch
        .poles()
        .windows(2)
        .flat_map(|poles| poles[0].lugs().iter().zip(poles[1].lugs()).map(|(one, other)| [*one, *other]));
    below.chain(beside).map(|pair| pair.map(|lug| Spot::Lug(lever, lug))).collect()
}

/// What was read in one state or, where a lever was left out that does not matter, in any of several.
pub(super) struct Read<'r> {
    /// The places of the positions that it may have been.
    pub(super) positions: Vec<usize>,
    pub(super) shown: &'r OhmmeterReading,
}

/// Returns the ways in which a lever may have stood elsewhere: always in one throw, counted from the other end, or, where
/// one reading alone is `wrong`, elsewhere in that one.
pub(super) fn elsewhere(bench: &Bench, read: &[Read<'_>], wrong: &[usize]) -> Vec<Suspect> {
    let guitar = &bench.guitar;
    let state = |place: usize| &bench.positions[place].state;
    let said: Vec<&State> = read.iter().filter_map(|r| r.positions.first()).map(|p| state(*p)).collect();
    let mut all = Vec::new();
    for lever in guitar.levers().into_iter().filter(|lever| said.iter().any(|s| s.throw_of(*lever).is_some()))
    {
        let throws = lever.table(guitar).throws().len();
        let others =
            |throw: usize| said.iter().any(|state| state.throw_of(lever).is_some_and(|t| t != throw));
        all.extend((0..throws).filter(|t| others(*t)).map(|t| Suspect::Elsewhere(lever, Stood::Always(t))));
        let first = said.iter().find_map(|state| state.throw_of(lever));
        if first.is_some_and(others) {
            all.push(Suspect::Elsewhere(lever, Stood::Reversed));
        }
        if let [only] = wrong
            && let Some(state) = read[*only].positions.first().map(|place| state(*place))
            && let Some(own) = state.throw_of(lever)
        {
            // With every other reading said to be in that throw already, it is the same as always there.
            let rest = |throw: usize| {
                said.iter().filter(|s| **s != state).any(|s| s.throw_of(lever).is_some_and(|t| t != throw))
            };
            let once = (0..throws).filter(|throw| *throw != own && rest(*throw));
            all.extend(once.map(|t| Suspect::Elsewhere(lever, Stood::Once(state.clone(), t))));
        }
    }
    all
}

/// The steps of a knob that are looked at first; they lie close together at both ends of its travel, where the reading
/// changes most.
const STEPS: u32 = 60;
/// The steps to either side of the best that are looked at next, each time closer.
const CLOSER: i32 = 8;
/// Beyond this a knob is full.
const NOT_FULL: f64 = 0.9975;

/// Returns for each knob the positions that give the readings best: a reading just below that with the knob full may be one
/// near the end of its travel as well.
///
/// # Errors
/// [`VoiceError`] where a circuit has no solution.
pub(super) fn knobs(bench: &Bench, read: &[Read<'_>]) -> Result<Vec<Suspect>, VoiceError> {
    let mut all = Vec::new();
    for (knob, _) in bench.guitar.knobs() {
        let off = |angle: f64| off_at(bench, read, knob, angle);
        let step = 1.0 / f64::from(STEPS);
        let angles: Vec<f64> = (0..STEPS).map(|place| f64::from(place) * step).collect();
        let offs = angles.iter().map(|angle| off(*angle)).collect::<Result<Vec<f64>, VoiceError>>()?;
        let beside = |place: Option<usize>| place.and_then(|p| offs.get(p)).copied().unwrap_or(f64::INFINITY);
        // Of equal neighbours the first is the lowest.
        let is_lowest = |place: &usize| {
            offs[*place] < beside(place.checked_sub(1)) && offs[*place] <= beside(place.checked_add(1))
        };
        for place in (0..offs.len()).filter(is_lowest) {
            let angle = closer((offs[place], angles[place]), step, off)?;
            all.push(Suspect::Knob(knob, turned(angle)));
        }
    }
    Ok(all)
}

/// Returns the angle near `best`, one of a grid of `step` with how far it is off, that is off least.
fn closer(
    mut best: (f64, f64),
    mut step: f64,
    off: impl Fn(f64) -> Result<f64, VoiceError>,
) -> Result<f64, VoiceError> {
    for _ in 0..2 {
        let (_, middle) = best;
        step /= f64::from(CLOSER);
        for place in -CLOSER..=CLOSER {
            let angle = middle + f64::from(place) * step;
            let off = off(angle)?;
            if off < best.0 {
                best = (off, angle);
            }
        }
    }
    Ok(best.1)
}

/// Returns where a knob stands at an angle from 0 to 1: its positions lie closer at both ends of its travel.
fn turned(angle: f64) -> f64 {
    Pot::FULL * (angle.clamp(0.0, NOT_FULL) * std::f64::consts::FRAC_PI_2).sin().powi(2)
}

/// Returns how far the readings are off in all with `knob` at an angle.
fn off_at(bench: &Bench, read: &[Read<'_>], knob: Knob, angle: f64) -> Result<f64, VoiceError> {
    let at = AtJack::full_but(&bench.guitar, knob, turned(angle));
    let mut off = 0.0;
    for reading in read {
        let mut least = f64::INFINITY;
        for place in &reading.positions {
            let nominal = at.nominal(&bench.drawn(&bench.positions[*place]))?;
            least = least.min(off_by(nominal, reading.shown));
        }
        off += least;
    }
    Ok(off)
}

/// Returns how far a reading is from a value, as a ratio's logarithm, squared.
fn off_by(nominal: Option<Ohms>, shown: &OhmmeterReading) -> f64 {
    let digit = Tolerance::METER_DIGIT.value();
    let within =
        |ohms: Option<Ohms>| ohms.map_or(f64::INFINITY, Ohms::value).min(OhmmeterReading::OPEN_FROM.value());
    let shown = within(shown.closed().or(shown.leakage()));
    ((within(nominal) + digit) / (shown + digit)).ln().powi(2)
}
