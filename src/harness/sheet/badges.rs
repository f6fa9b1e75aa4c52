//! Where the number of each wire stands.

use super::board::Board;
use super::drawn::Drawn;
use super::footprint::Words;
use super::grid::Cell;

/// A number's disc, in cells.
pub(super) const BADGE: f64 = 0.85;
/// No number is nearer to another wire's lug than this.
const CLEAR_OF_LUGS: f64 = 1.9 + BADGE;
/// Nor nearer to a lug of its own wire.
const CLEAR_OF_OWN: f64 = 2.0;
/// A number that is as near to another wire reads as that one's.
const TOUCHES: f64 = 0.9;

/// Returns where the number of each wire stands: on it, clear of lugs, words, solder and other numbers, and clear of other
/// wires where there is room.
pub(super) fn badges(board: &Board) -> Vec<Option<[f64; 2]>> {
    let cells: Vec<Vec<Cell>> = board
        .drawn
        .iter()
        .map(|drawn| match drawn {
            Drawn::Left => Vec::new(),
            Drawn::Bent { lug, case } => (lug.y..=case.y).map(|y| Cell::new(lug.x, y)).collect(),
            Drawn::Led(way) => way.cells.clone(),
        })
        .collect();
    let near = |[x, y]: [f64; 2], cell: Cell| (x - f64::from(cell.x)).hypot(y - f64::from(cell.y));
    let spots =
        board.footprints.iter().flat_map(|print| print.spots.iter().filter(|spot| spot.kept.is_some()));
    let lugs: Vec<Cell> = spots.map(|spot| spot.gates[0].dot).collect();
    let of_wire = |wire: usize, lug: &Cell| match &board.drawn[wire] {
        Drawn::Left => false,
        Drawn::Bent { lug: own, .. } => own == lug,
        Drawn::Led(way) => [way.from.dot, way.to.dot].contains(lug),
    };
    let words: Vec<[f64; 4]> =
        board.footprints.iter().flat_map(|print| print.words.iter().map(Words::room)).collect();
    let off_words = |[x, y]: [f64; 2]| {
        words.iter().all(|[left, top, right, bottom]| {
            x + BADGE < *left || x - BADGE > *right || y + BADGE < *top || y - BADGE > *bottom
        })
    };
    let mut placed: Vec<Option<[f64; 2]>> = vec![None; cells.len()];
    // The shortest have least choice.
    let mut order: Vec<usize> = (0..cells.len()).collect();
    order.sort_by_key(|wire| (cells[*wire].len(), *wire));
    for wire in order {
        let own = &cells[wire];
        let is_allowed = |at: [f64; 2]| {
            let is_clear = |lug: &Cell| {
                let room = if of_wire(wire, lug) { CLEAR_OF_OWN } else { CLEAR_OF_LUGS };
                near(at, *lug) >= room
            };
            lugs.iter().all(is_clear) && off_words(at)
        };
        let best = candidates(own).filter(|spot| is_allowed(spot.at)).filter_map(|spot| {
            let others =
                cells.iter().enumerate().filter(|(other, _)| *other != wire).flat_map(|(_, cells)| cells);
            let wires = others.map(|other| near(spot.at, *other)).fold(f64::INFINITY, f64::min);
            let numbers =
                placed.iter().flatten().map(|other| (spot.at[0] - other[0]).hypot(spot.at[1] - other[1]));
            let numbers = numbers.fold(f64::INFINITY, f64::min);
            if wires < TOUCHES || numbers < 2.0 * BADGE + 0.2 {
                return None;
            }
            let lug = lugs.iter().map(|lug| near(spot.at, *lug)).fold(f64::INFINITY, f64::min);
            let crowded = [spot.is_bend, wires < 1.4, numbers < 3.0 * BADGE, lug < CLEAR_OF_LUGS];
            Some((crowded.into_iter().map(u32::from).sum::<u32>(), spot.off_middle, spot.at))
        });
        placed[wire] = best.min_by_key(|(crowded, off_middle, _)| (*crowded, *off_middle)).map(|(.., at)| at);
    }
    placed
}

/// Where a number may stand.
struct Spot {
    at: [f64; 2],
    /// How many cells it is off the middle of its wire.
    off_middle: usize,
    /// Whether it would hide where its wire turns.
    is_bend: bool,
}

/// Returns the cells of a wire and the places between them.
fn candidates(own: &[Cell]) -> impl Iterator<Item = Spot> {
    let place = |cell: Cell| [f64::from(cell.x), f64::from(cell.y)];
    let middle = own.len() / 2;
    let is_straight = |three: &[Cell]| {
        three.iter().all(|cell| cell.x == three[0].x) || three.iter().all(|cell| cell.y == three[0].y)
    };
    let around =
        move |from: usize, to: usize| !is_straight(&own[from.saturating_sub(1)..(to + 2).min(own.len())]);
    let cells = own.iter().enumerate().map(move |(nth, cell)| Spot {
        at: place(*cell),
        off_middle: nth.abs_diff(middle),
        is_bend: around(nth, nth),
    });
    let between = own.windows(2).enumerate().map(move |(nth, pair)| {
        let [one, other] = [place(pair[0]), place(pair[1])];
        Spot {
            at: [f64::midpoint(one[0], other[0]), f64::midpoint(one[1], other[1])],
            off_middle: nth.abs_diff(middle),
            is_bend: around(nth, nth + 1),
        }
    });
    cells.chain(between)
}
