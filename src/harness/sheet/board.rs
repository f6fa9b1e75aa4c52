//! The parts of a cavity on the grid, seen from behind: leads above, selectors on the left, pots beside them, the jack on the
//! right, or where the file places them.

use super::drawn::{Drawn, drawn};
use super::footprint::{Footprint, whole};
use super::grid::{Area, Cell};
use super::route;
use super::worth::{is_capacitor, worth};
use crate::harness::called::lead_called;
use crate::harness::layout::Layout;
use crate::harness::{Harness, Part, PartKind, Parts, Terminal, Wire};

/// A cavity drawn: its parts, and the way of each wire.
#[derive(Debug, Clone)]
pub(super) struct Board {
    pub(super) width: i32,
    pub(super) height: i32,
    pub(super) footprints: Vec<Footprint>,
    pub(super) drawn: Vec<Drawn>,
    /// The parts that stand in rows, from above and from the left.
    pub(super) standing: Vec<Standing>,
}

/// A part that stands in a row.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Standing {
    /// Its place among all parts.
    pub(super) part: usize,
    pub(super) row: usize,
    /// Where it is drawn: the point that its place is led to, and how far it reaches.
    pub(super) at: Cell,
    pub(super) bounds: Area,
    /// The place by which it stands there, in millimetres to the right and down.
    pub(super) mm: [f64; 2],
}

/// Free cells round all.
const MARGIN: i32 = 3;
/// How high what leads come from is drawn.
const BAND: i32 = 7;
/// Above this nothing is led: leads come from there.
pub(super) const TOP: i32 = MARGIN + BAND;
/// Where a row begins whose parts the file does not place, in millimetres.
const BEGINS: f64 = 40.0;
/// Cells to a millimetre of a place that the file states.
pub(super) const SCALE: f64 = 0.5;
/// Parts whose places are as far apart in height stand in rows of their own, in millimetres.
pub(super) const ROW: f64 = 25.0;
/// How far rows whose parts the file does not place are one below the other, in millimetres.
const BELOW: f64 = 60.0;
/// With more cells in a row than this, parts that the file does not place stand in two.
const WIDEST: i32 = 118;
/// How much roomier each try is, in percent.
const ROOMIER: [i32; 4] = [100, 125, 150, 180];

impl Board {
    /// Returns the cavity with these wires drawn in it.
    pub(super) fn of(harness: &Harness, wires: &[Wire]) -> Self {
        // Up to one crossing a wire is easily read.
        let marks = |board: &Self| (board.left(), board.crossings().saturating_sub(wires.len()));
        Self::best(harness, wires, wires, marks)
    }

    /// Returns the cavity with its parts where they would lie with the wires `laid_by`, whatever `wires` are drawn in it: what
    /// is soldered one by one does not move the parts.
    pub(super) fn laid_by(harness: &Harness, laid_by: &[Wire], wires: &[Wire]) -> Self {
        Self::best(harness, laid_by, wires, |board| (board.left(), 0))
    }

    /// Returns the narrowest of which no `marks` speak against, or else the one of the fewest.
    fn best(
        harness: &Harness,
        laid_by: &[Wire],
        wires: &[Wire],
        marks: impl Fn(&Self) -> (usize, usize),
    ) -> Self {
        let parts = &harness.parts;
        let layout = &Layout::of(parts);
        let mut best: Option<((usize, usize), Self)> = None;
        for percent in ROOMIER {
            let board = Placing { harness, parts, layout, laid_by, wires, percent }.board();
            let marks = marks(&board);
            if best.as_ref().is_none_or(|(least, _)| marks < *least) {
                best = Some((marks, board));
            }
            if marks == (0, 0) {
                break;
            }
        }
        let empty =
            Self { width: 0, height: 0, footprints: Vec::new(), drawn: Vec::new(), standing: Vec::new() };
        best.map_or(empty, |(_, board)| board)
    }

    /// Returns how many wires are not drawn.
    pub(super) fn left(&self) -> usize {
        self.drawn.iter().filter(|drawn| **drawn == Drawn::Left).count()
    }

    pub(super) fn crossings(&self) -> usize {
        let way = |drawn: &Drawn| match drawn {
            Drawn::Led(way) => Some(way.clone()),
            Drawn::Bent { .. } | Drawn::Left => None,
        };
        route::crossings(&self.drawn.iter().map(way).collect::<Vec<_>>())
    }
}

struct Placing<'p> {
    harness: &'p Harness,
    parts: &'p Parts,
    layout: &'p Layout,
    /// The wires by which leads and legs are put in their order.
    laid_by: &'p [Wire],
    wires: &'p [Wire],
    percent: i32,
}

impl Placing<'_> {
    fn board(&self) -> Board {
        let mut footprints = Vec::new();
        let mut standing: Vec<Standing> = Vec::new();
        let mut top = MARGIN + 10 + self.room(9);
        let mut right = 0;
        let rows = self.rows();
        for (home, row) in rows.iter().enumerate() {
            let (placed, xs, width) = self.row(row);
            let shelf = self.shelf(&placed, home, &rows);
            let above = shelf.iter().map(|own| -own.bounds().from.y).max().unwrap_or(0).max(4);
            let down = Cell::new(0, top + above);
            let mms = self.stands_by(row, home, rows.len());
            for ((part, own), (x, mm)) in row.iter().zip(&placed).zip(xs.into_iter().zip(mms)) {
                let at = Cell::new(x, 0).moved(down);
                standing.push(Standing { part: *part, row: home, at, bounds: own.bounds().moved(down), mm });
            }
            footprints.extend(placed.into_iter().chain(shelf).map(|own| own.moved(down)));
            let bottom = footprints.iter().map(|own| own.bounds().to.y).max().unwrap_or(top);
            top = bottom + self.room(7);
            right = right.max(width);
        }
        let leads = self.leads(&footprints, right);
        footprints.extend(leads);
        let left = footprints.iter().map(|own| own.bounds().from.x).min().unwrap_or(0);
        let shift = Cell::new(MARGIN - left, 0);
        let footprints: Vec<Footprint> = footprints.into_iter().map(|own| own.moved(shift)).collect();
        for own in &mut standing {
            (own.at, own.bounds) = (own.at.moved(shift), own.bounds.moved(shift));
        }
        let width = footprints.iter().map(|own| own.bounds().to.x).max().unwrap_or(0) + MARGIN + 1;
        let height = top;
        let drawn = drawn(self.parts, self.wires, &footprints, [width, height]);
        Board { width, height, footprints, drawn, standing }
    }

    /// Returns the places by which the parts of a row stand where they do: those of the file, or where it states none those that
    /// would have them stand as they do.
    fn stands_by(&self, row: &[usize], home: usize, rows: usize) -> Vec<[f64; 2]> {
        let left = self.left_of(row);
        let is_in_rows = rows > 1 && !self.is_stated();
        let own = |place: &usize| {
            let [right, down] = self.layout.middle(*place);
            [right - left, if is_in_rows { BELOW * (home + 1) as f64 } else { down }]
        };
        row.iter().map(own).collect()
    }

    fn is_stated(&self) -> bool {
        !self.parts.guitar().cavity().places().is_empty()
    }

    /// Returns where a row begins, in millimetres: where no place is stated, each on the left.
    fn left_of(&self, row: &[usize]) -> f64 {
        let first = row.first().map_or(0.0, |place| self.layout.middle(*place)[0]);
        if self.is_stated() { 0.0 } else { first - BEGINS }
    }

    fn room(&self, cells: i32) -> i32 {
        cells * self.percent / 100
    }

    /// Returns the places of the parts of each row, from left to right; a switch that lies over a pot goes with it.
    fn rows(&self) -> Vec<Vec<usize>> {
        let parts = self.parts.all();
        let stands = |part: &Part| match part.kind() {
            PartKind::Lever(_) => self.pot_under(part).is_none(),
            PartKind::Pot(..) | PartKind::Jack | PartKind::Buffer | PartKind::Battery | PartKind::Cavity => {
                true
            }
            PartKind::Pickup(_) | PartKind::Strings | PartKind::TwoLegs(..) => false,
        };
        let mut standing: Vec<usize> = (0..parts.len()).filter(|place| stands(&parts[*place])).collect();
        let is_cavity = |place: usize| parts[place].kind() == PartKind::Cavity;
        let middle = |place: usize| self.layout.middle(place);
        standing.sort_by(|one, other| middle(*one)[1].total_cmp(&middle(*other)[1]).then(one.cmp(other)));
        let mut rows: Vec<Vec<usize>> = Vec::new();
        let mut height = f64::NEG_INFINITY;
        for place in standing.iter().copied().filter(|place| !is_cavity(*place)) {
            let own = middle(place)[1];
            match rows.last_mut() {
                Some(row) if own - height < ROW => row.push(place),
                Some(_) | None => {
                    rows.push(vec![place]);
                    height = own;
                }
            }
        }
        if let Some(row) = rows.first_mut() {
            row.extend(standing.iter().copied().filter(|place| is_cavity(*place)));
        }
        for row in &mut rows {
            row.sort_by(|one, other| middle(*one)[0].total_cmp(&middle(*other)[0]).then(one.cmp(other)));
        }
        let is_too_wide = rows.len() == 1 && self.row(&rows[0]).2 > WIDEST;
        if is_too_wide && !self.is_stated() {
            let is_above =
                |place: &usize| matches!(parts[*place].kind(), PartKind::Lever(_) | PartKind::Cavity);
            let (levers, others): (Vec<usize>, Vec<usize>) =
                rows[0].iter().partition(|place| is_above(place));
            if !levers.is_empty() && !others.is_empty() {
                return vec![levers, others];
            }
        }
        rows
    }

    /// Returns the drawings of a row, where each of them is, and how far the row reaches to the right.
    fn row(&self, row: &[usize]) -> (Vec<Footprint>, Vec<i32>, i32) {
        let (mut placed, mut xs) = (Vec::new(), Vec::new());
        let mut right = 0;
        let left = self.left_of(row);
        for place in row {
            let own = self.footprint(*place);
            let bounds = own.bounds();
            let asked = whole((self.layout.middle(*place)[0] - left) * SCALE);
            let x = if placed.is_empty() { asked } else { asked.max(right + self.room(6) - bounds.from.x) };
            right = x + bounds.to.x;
            xs.push(x);
            placed.push(own.moved(Cell::new(x, 0)));
        }
        (placed, xs, right)
    }

    fn pot_under(&self, lever: &Part) -> Option<&Part> {
        let under = self.parts.guitar().cavity().under();
        let (_, pot) = under.iter().find(|(switch, _)| switch.value == lever.name())?;
        self.parts.named(&pot.value)
    }

    fn footprint(&self, place: usize) -> Footprint {
        let part = &self.parts.all()[place];
        let terminals: Vec<Terminal> = part.terminals().collect();
        let lugs = || terminals.iter().copied().zip(part.lugs().iter().cloned()).collect::<Vec<_>>();
        match part.kind() {
            PartKind::Pot(..) => {
                let switch = self.parts.all().iter().find(|lever| {
                    matches!(lever.kind(), PartKind::Lever(_))
                        && self.pot_under(lever).is_some_and(|pot| pot.name() == part.name())
                });
                let value = worth(self.harness, place);
                let pot = Footprint::pot(&terminals, part.name(), &value, switch.is_some());
                match switch {
                    Some(switch) => Footprint::push_pull(pot, self.lever(switch, true)),
                    None => pot,
                }
            }
            PartKind::Lever(_) => self.lever(part, false),
            PartKind::Cavity => Footprint::tab(terminals[0], self.wires_on(terminals[0]), "shield"),
            PartKind::Jack
            | PartKind::Buffer
            | PartKind::Battery
            | PartKind::Pickup(_)
            | PartKind::Strings
            | PartKind::TwoLegs(..) => Footprint::column(&lugs(), part.name()),
        }
    }

    fn lever(&self, part: &Part, is_under: bool) -> Footprint {
        let PartKind::Lever(lever) = part.kind() else { return Footprint::default() };
        let table = lever.table(self.parts.guitar());
        let terminals: Vec<Terminal> = part.terminals().collect();
        let pole = |pole: &crate::wiring::SwitchPole| {
            let lug = |lug: &crate::wiring::Lug| (terminals[lug.index()], table.name_of(*lug).to_owned());
            pole.lugs().iter().map(lug).collect::<Vec<_>>()
        };
        let poles: Vec<_> = table.poles().iter().map(pole).collect();
        let frame = terminals.iter().copied().find(|terminal| self.parts.is_metal(*terminal));
        Footprint::lever(&poles, frame.map(|own| (own, self.wires_on(own))), part.name(), is_under)
    }

    fn wires_on(&self, terminal: Terminal) -> usize {
        let on = |wires: &[Wire]| wires.iter().filter(|wire| wire.contains(&terminal)).count();
        on(self.wires).max(on(self.laid_by))
    }

    /// Returns the parts of two legs that lead to a row, above it.
    fn shelf(&self, placed: &[Footprint], home: usize, rows: &[Vec<usize>]) -> Vec<Footprint> {
        let at = |terminal: Terminal| {
            let spot = placed.iter().flat_map(|own| &own.spots).find(|spot| spot.terminal == terminal)?;
            let sum: i32 = spot.gates.iter().map(|gate| gate.dot.x).sum();
            Some(f64::from(sum) / spot.gates.len() as f64)
        };
        let mut wanted: Vec<(f64, bool, usize)> = Vec::new();
        for (place, part) in self.parts.all().iter().enumerate() {
            if !matches!(part.kind(), PartKind::TwoLegs(..)) || self.home(part, rows) != home {
                continue;
            }
            let legs: Vec<Terminal> = part.terminals().collect();
            let (x, is_turned) = match [legs[0], legs[1]].map(|leg| self.reached(leg).and_then(at)) {
                [Some(one), Some(other)] => (f64::midpoint(one, other), one > other),
                [Some(one), None] => (one, false),
                [None, Some(other)] => (other, true),
                [None, None] => (0.0, false),
            };
            wanted.push((x, is_turned, place));
        }
        wanted.sort_by(|one, other| one.0.total_cmp(&other.0));
        let mut shelf: Vec<Footprint> = Vec::new();
        for (x, is_turned, place) in wanted {
            let part = &self.parts.all()[place];
            let legs: Vec<Terminal> = part.terminals().collect();
            let legs = if is_turned { [legs[1], legs[0]] } else { [legs[0], legs[1]] };
            let (value, plates) = (worth(self.harness, place), is_capacitor(self.harness, place));
            let own = Footprint::two_legs(legs, part.name(), &value, plates);
            let clears = |own: &Footprint| shelf.iter().all(|other| !own.bounds().is_near(other.bounds(), 2));
            let tries = (0..12).flat_map(|level| {
                [0, 3, -3, 6, -6].map(|aside| Cell::new(whole(x) + aside, -self.room(7) - 4 - 9 * level))
            });
            let found = tries.map(|at| own.clone().moved(at)).find(clears);
            shelf.extend(found);
        }
        shelf
    }

    /// Returns what a leg or a lead is on.
    fn reached(&self, leg: Terminal) -> Option<Terminal> {
        self.laid_by.iter().find_map(|wire| match *wire {
            [one, other] if one == leg => Some(other),
            [other, one] if one == leg => Some(other),
            _ => None,
        })
    }

    /// Returns the row above which a part of two legs is drawn: the first that it reaches into, else the last.
    fn home(&self, part: &Part, rows: &[Vec<usize>]) -> usize {
        let reached: Vec<Terminal> = part.terminals().filter_map(|leg| self.reached(leg)).collect();
        let is_in = |row: &Vec<usize>| {
            let owns = |end: &Terminal| {
                let owner = self.parts.part_of(*end);
                let stands = self.pot_under(owner).unwrap_or(owner);
                row.iter().any(|place| self.parts.all()[*place].name() == stands.name())
            };
            reached.iter().any(owns)
        };
        rows.iter().position(is_in).unwrap_or(rows.len().saturating_sub(1))
    }

    /// Returns what leads come from, in a row above all, each lead in the order of where it goes.
    fn leads(&self, footprints: &[Footprint], right: i32) -> Vec<Footprint> {
        let at = |terminal: Terminal| {
            let spot = footprints.iter().flat_map(|own| &own.spots).find(|spot| spot.terminal == terminal);
            spot.and_then(|spot| spot.gates.first()).map(|gate| gate.dot.x)
        };
        let all = self.parts.all();
        let mut tops: Vec<(usize, f64)> = (0..all.len())
            .filter(|place| matches!(all[*place].kind(), PartKind::Pickup(_) | PartKind::Strings))
            .map(|place| (place, self.layout.middle(place)[0]))
            .collect();
        tops.sort_by(|one, other| one.1.total_cmp(&other.1).then(one.0.cmp(&other.0)));
        let mut drawn: Vec<Footprint> = Vec::new();
        for (place, _) in &tops {
            let part = &all[*place];
            let mut leads: Vec<(i32, Terminal)> = part
                .terminals()
                .map(|lead| {
                    let others = self.laid_by.iter().filter(|wire| wire.contains(&lead)).flatten();
                    let goes = others.filter(|end| **end != lead).find_map(|end| at(*end));
                    (goes.unwrap_or(i32::MAX / 2), lead)
                })
                .collect();
            leads.sort_unstable();
            self.splices_together(&mut leads);
            let words = |(_, lead): &(i32, Terminal)| (*lead, lead_words(self.parts, *lead));
            let leads: Vec<_> = leads.iter().map(words).collect();
            drawn.push(Footprint::leads(&leads, part.name()));
        }
        let total: i32 = drawn.iter().map(|own| own.bounds().to.x - own.bounds().from.x).sum();
        let gaps = i32::try_from(drawn.len()).unwrap_or(1).max(1);
        let gap = ((right - total) / gaps).clamp(4, 14);
        let mut x = 0;
        let place = |own: Footprint| {
            let bounds = own.bounds();
            let own = own.moved(Cell::new(x - bounds.from.x, MARGIN));
            x += bounds.to.x - bounds.from.x + gap;
            own
        };
        drawn.into_iter().map(place).collect()
    }

    /// Brings leads that are spliced to each other side by side.
    fn splices_together(&self, leads: &mut Vec<(i32, Terminal)>) {
        for [one, other] in self.laid_by {
            let place =
                |leads: &[(i32, Terminal)], lead: &Terminal| leads.iter().position(|(_, own)| own == lead);
            if let (Some(_), Some(from)) = (place(leads, one), place(leads, other)) {
                let moved = leads.remove(from);
                let to = place(leads, one).map_or(0, |at| at + 1);
                leads.insert(to, moved);
            }
        }
    }
}

/// Returns the words for a lead: the person's own for its colour, and which end it is.
fn lead_words(parts: &Parts, lead: Terminal) -> [String; 2] {
    let lug = parts.lug_of(lead).to_owned();
    match lead_called(parts, lead) {
        Some(called) => [crate::markup::shortened(&called, 9.0), lug],
        None => [lug, String::new()],
    }
}
