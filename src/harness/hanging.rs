//! Coils that hang on hot: whatever field passes them is heard as hum.

use super::fault::{FaultKind, WiringFault};
use super::judge::Case;
use super::union::Union;
use super::wiring::Wiring;
use super::{Harness, Terminal, coils};

/// Returns a fault for each coil that hangs on hot and does not in the wanted circuit.
pub(super) fn judge(case: &Case<'_>) -> Vec<WiringFault> {
    let harness = case.harness;
    let mut places = vec![Vec::new(); harness.branches.coils.len()];
    for place in case.differing {
        let wanted = harness.hanging(&harness.as_wanted, *place);
        let there = harness.hanging(case.wiring, *place);
        for (coil, hangs) in there.into_iter().enumerate() {
            if hangs && !wanted[coil] {
                places[coil].push(*place);
            }
        }
    }
    let told = places.into_iter().enumerate().filter(|(_, places)| !places.is_empty());
    told.map(|(coil, places)| {
        let branch = &harness.branches.coils[coil];
        let name = format!("{}, {}", harness.parts.guitar().pickups()[branch.pickup].name(), branch.coil);
        let words = format!(
            "{} has one end on hot and the other on nothing {}: it picks up hum",
            coils::called(harness, coil),
            harness.at(&places)
        );
        harness.fault(FaultKind::Hanging, &name, &places, words)
    })
    .collect()
}

impl Harness {
    /// Returns of each coil whether it is held by hot alone in the state at `place`: it is in a dead end, and that ends at a
    /// net from which the tip is reached otherwise than through ground.
    fn hanging(&self, wiring: &Wiring, place: usize) -> Vec<bool> {
        let nets = wiring.nets(&self.throws, place);
        let net = |terminal: Terminal| nets.least(terminal.index());
        let [tip, sleeve] = wiring.jack.map(net);
        let branches = &self.branches;
        let coils = branches.coils.iter().map(|coil| coil.ends);
        let fixed = branches.fixed.iter().map(|branch| branch.ends);
        let tracks =
            branches.tracks.iter().flat_map(|track| [[track.low, track.wiper], [track.wiper, track.high]]);
        let edges: Vec<[usize; 2]> = coils.chain(fixed).chain(tracks).map(|ends| ends.map(net)).collect();
        // The net that each pruned edge hung on.
        let mut held: Vec<Option<usize>> = vec![None; edges.len()];
        let is_left =
            |held: &[Option<usize>], edge: usize| held[edge].is_none() && edges[edge][0] != edges[edge][1];
        loop {
            let degree = |held: &[Option<usize>], net: usize| {
                (0..edges.len()).filter(|edge| is_left(held, *edge) && edges[*edge].contains(&net)).count()
            };
            let is_end = |net: usize| net != tip && net != sleeve && degree(&held, net) == 1;
            let next = (0..edges.len()).filter(|edge| is_left(&held, *edge)).find_map(|edge| {
                let [one, other] = edges[edge];
                if is_end(one) {
                    Some((edge, other))
                } else if is_end(other) {
                    Some((edge, one))
                } else {
                    None
                }
            });
            let Some((edge, on)) = next else { break };
            held[edge] = Some(on);
        }
        let mut around = Union::apart(nets.len());
        for (edge, [one, other]) in edges.iter().enumerate() {
            if is_left(&held, edge) && *one != sleeve && *other != sleeve {
                around.join(*one, *other);
            }
        }
        let is_hot = |mut net: usize| {
            // A dead end may hang on another.
            let mut steps = 0;
            while let Some(on) = (0..edges.len()).find_map(|edge| {
                let [one, other] = edges[edge];
                held[edge].filter(|on| *on != net && (one == net || other == net))
            }) {
                net = on;
                steps += 1;
                if steps > edges.len() {
                    return false;
                }
            }
            net != sleeve && around.joins(net, tip)
        };
        (0..branches.coils.len()).map(|coil| held[coil].is_some_and(is_hot)).collect()
    }
}
