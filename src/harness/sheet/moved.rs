//! A part moved on the picture: the places by which all parts then stand where they are drawn.

use super::board::{Board, ROW, SCALE, Standing};
use super::marks::CELL;
use crate::harness::{Harness, Wire};

/// A place of a part: to the right and down from the cavity's top left corner, in millimetres.
pub type PartPlace = (String, [f64; 2]);

/// So near to a row, in cells, a part is in it.
const IN_THE_ROW: f64 = 9.0;

impl Harness {
    /// Returns the places of all parts that stand in rows after the part called `name` is moved so far, in pixels to the right and
    /// down, on the picture that [`picture_by_hand_of`](super::picture_by_hand_of) draws of the same wires; nothing where no such
    /// part stands there. The others stay where they are drawn.
    pub fn moved(
        &self,
        laid_by: &[Wire],
        wires: &[Wire],
        name: &str,
        [right, down]: [f64; 2],
    ) -> Option<Vec<PartPlace>> {
        let board = Board::laid_by(self, laid_by, wires);
        let name_of = |own: &Standing| self.parts.all()[own.part].name();
        let (own, others): (Vec<&Standing>, Vec<&Standing>) =
            board.standing.iter().partition(|own| name_of(own) == name);
        let own = *own.first()?;
        let x = f64::from(own.at.x) + right / CELL;
        let y = f64::from(own.at.y) + down / CELL;
        let row = row_at(&board.standing, y);
        let right =
            row.and_then(|row| across(&others, row, x)).unwrap_or_else(|| by_itself(&board.standing, x));
        let down = match row {
            Some(row) if row == own.row => own.mm[1],
            Some(_) | None => below(&board.standing, row, y),
        };
        let moved = [right, down];
        // A ruler in a cavity reads whole millimetres.
        let rounded = |[right, down]: [f64; 2]| [right.max(0.0).round(), down.max(0.0).round()];
        let place = |standing: &Standing| {
            let mm = if standing == own { rounded(moved) } else { standing.mm };
            (name_of(standing).to_owned(), mm)
        };
        Some(board.standing.iter().map(place).collect())
    }
}

/// Returns the height at which each row is drawn, and in millimetres.
fn rows(standing: &[Standing]) -> Vec<[f64; 2]> {
    let mut rows: Vec<[f64; 2]> = Vec::new();
    for own in standing {
        if own.row == rows.len() {
            rows.push([f64::from(own.at.y), own.mm[1]]);
        }
    }
    rows
}

/// Returns the row that is near.
fn row_at(standing: &[Standing], y: f64) -> Option<usize> {
    rows(standing).iter().position(|[at, _]| (at - y).abs() <= IN_THE_ROW)
}

/// Returns how far to the right a part is in a row: as far between the others there as it is drawn between them.
fn across(others: &[&Standing], row: usize, x: f64) -> Option<f64> {
    let there = others.iter().filter(|other| other.row == row);
    let known: Vec<[f64; 2]> = there.map(|other| [f64::from(other.at.x), other.mm[0]]).collect();
    along(&known, x)
}

/// Returns how far to the right a part is that nothing beside it moves aside.
fn by_itself(standing: &[Standing], x: f64) -> f64 {
    // Nothing moves the first of a row aside.
    let first = standing.first().map(|first| [f64::from(first.at.x), first.mm[0]]);
    first.and_then(|first| along(&[first], x)).unwrap_or(0.0)
}

/// Returns how far down a part is in a `row`, or in a row of its own.
fn below(standing: &[Standing], row: Option<usize>, y: f64) -> f64 {
    let rows = rows(standing);
    if let Some([_, down]) = row.and_then(|row| rows.get(row)) {
        return *down;
    }
    let down = along(&rows, y).unwrap_or(0.0);
    // Nearer to what is above it it would be in that row.
    rows.iter().rfind(|[at, _]| *at < y).map_or(down, |[_, above]| down.max(above + ROW))
}

/// Returns the value at `at` of a line through known points in their order, beyond them at the picture's own scale.
fn along(known: &[[f64; 2]], at: f64) -> Option<f64> {
    let between = known.windows(2).find(|pair| pair[0][0] <= at && at < pair[1][0]);
    if let Some([[from, low], [to, high]]) = between.map(|pair| [pair[0], pair[1]]) {
        return Some(low + (high - low) * (at - from) / (to - from));
    }
    let [from, value] = *known.first().filter(|first| at < first[0]).or(known.last())?;
    Some(value + (at - from) / SCALE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::guitar::{Draft, Guitar};
    use crate::harness::put_places;

    /// Returns the guitar of `draft` with its cavity and planned wires.
    fn planned(draft: &Draft) -> (Harness, Vec<Wire>) {
        let harness = Harness::of(&draft.check().unwrap()).unwrap();
        let wires = harness.plan().unwrap().ends();
        (harness, wires)
    }

    fn middle(harness: &Harness, wires: &[Wire], name: &str) -> [i32; 2] {
        let board = Board::laid_by(harness, wires, &[]);
        let own = board.standing.iter().find(|own| harness.parts.all()[own.part].name() == name).unwrap();
        [own.at.x, own.at.y]
    }

    fn drafts() -> [Draft; 2] {
        let large = include_str!("../../../tests/data/many-states.toml");
        let built_in = crate::guitar::guitar_presets().iter().find(|own| own.name == "set-neck").unwrap();
        [Draft::copy_of(built_in), Draft::of(Document::new("many-states.toml", large))]
    }

    #[test]
    fn what_is_moved_nowhere_stays_with_all_others() {
        for mut draft in drafts() {
            let (harness, wires) = planned(&draft);
            let before = Board::laid_by(&harness, &wires, &[]);
            let places = harness.moved(&wires, &[], "volume", [0.0, 0.0]).unwrap();
            put_places(&mut draft, harness.parts(), &places).unwrap();
            let (after, _) = planned(&draft);
            assert_eq!(Board::laid_by(&after, &wires, &[]).footprints, before.footprints);
        }
    }

    #[test]
    fn a_part_goes_where_it_is_put_and_its_wires_with_it() {
        let [mut draft, _] = drafts();
        let (harness, wires) = planned(&draft);
        let [x, y] = middle(&harness, &wires, "volume");
        // Past the tone control, into a row of its own below it.
        let places = harness.moved(&wires, &[], "volume", [330.0, 300.0]).unwrap();
        put_places(&mut draft, harness.parts(), &places).unwrap();
        let (after, _) = planned(&draft);
        let [right, below] = middle(&after, &wires, "volume");
        assert!(right > x + 20 && below > y + 20, "{right} {below}, was {x} {y}: {}", draft.text());
        let board = Board::laid_by(&after, &wires, &wires);
        assert_eq!(board.left(), 0, "every wire is drawn");
        // And back into the row.
        let places = after.moved(&wires, &[], "volume", [-330.0, f64::from(y - below) * CELL]).unwrap();
        put_places(&mut draft, after.parts(), &places).unwrap();
        let (back, _) = planned(&draft);
        assert_eq!(middle(&back, &wires, "volume")[1], middle(&back, &wires, "tone")[1], "{}", draft.text());
    }

    #[test]
    fn only_what_stands_in_a_row_is_moved() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let harness = Harness::of(&guitar).unwrap();
        let wires = harness.plan().unwrap().ends();
        for name in ["tone-cap", "bridge", "strings", "nothing"] {
            assert_eq!(harness.moved(&wires, &[], name, [20.0, 0.0]), None, "{name}");
        }
    }
}
