//! Each part as it is drawn: its outline, its lugs with where wires may meet them, and its words. Shapes are those of a
//! schematic, no likeness of any maker's part.

use super::footprint::{Anchor, Footprint, Mark, Spot, Style, Words, whole};
use super::grid::{Area, Cell, Gate, Side};
use crate::harness::Terminal;

/// Lugs stand so far apart that a wire comes to each of two neighbours between them.
const APART: i32 = 5;
/// How far poles of a switch are apart.
const POLES: i32 = 8;
/// A pot's case: where its middle is below its lugs, and its radius.
const CASE_BELOW: i32 = 10;
const CASE_RADIUS: f64 = 7.5;
/// Where the switch of a push-pull pot is below the pot's lugs.
const UNDER: i32 = 24;

impl Footprint {
    /// Returns a pot from behind: its lugs up, 1 2 3 from left to right, its case below them.
    pub(super) fn pot(terminals: &[Terminal], name: &str, value: &str, has_switch: bool) -> Self {
        let mut own = Self::default();
        let middle = Cell::new(0, CASE_BELOW);
        own.marks.push(Mark::Case { middle, radius: CASE_RADIUS, terminal: terminals.get(3).copied() });
        own.closed.push(Area::new(-6, 1, 6, 3));
        own.closed.push(Area::new(-8, 4, 8, 18));
        for (terminal, x) in terminals.iter().zip([-APART, 0, APART]) {
            let at = Cell::new(x, 0);
            let name = ["1", "2", "3"][usize::try_from(x / APART + 1).unwrap_or(0)];
            own.lug(*terminal, at, &[Side::Up, Side::Left, Side::Right], name);
        }
        let mut gates = Vec::new();
        for (aside, down) in [(6, 8), (6, 10), (6, 12), (4, 15)] {
            gates.push(Gate::new(Cell::new(-aside, down), Side::Left, 9 - aside));
            gates.push(Gate::new(Cell::new(aside, down), Side::Right, 9 - aside));
        }
        if !has_switch {
            gates.extend([-2, 0, 2].map(|x| Gate::new(Cell::new(x, CASE_BELOW + 6), Side::Down, 3)));
        }
        own.spots.extend(terminals.get(3).map(|case| Spot { terminal: *case, gates, kept: None }));
        let lines: Vec<String> = lines_of(name);
        let top = f64::from(CASE_BELOW) - lines.len() as f64 + 0.2;
        for (place, line) in lines.iter().enumerate() {
            own.say(
                [0.0, top + 1.8 * place as f64],
                Anchor::Middle,
                Style::Name,
                fitted(line, Style::Name, 10.0),
            );
        }
        let below = top + 1.8 * lines.len() as f64;
        own.say([0.0, below], Anchor::Middle, Style::Detail, fitted(value, Style::Detail, 10.0));
        own
    }

    /// Returns a pot with the switch that lies over its case, which is drawn below it.
    pub(super) fn push_pull(pot: Self, switch: Self) -> Self {
        let mut both = pot.with(switch.moved(Cell::new(0, UNDER)));
        both.closed.push(Area::new(-3, 18, 3, UNDER - 2));
        both.marks.insert(0, Mark::Body { middle: [0.0, 19.0], half: [2.4, 3.0] });
        both
    }

    /// Returns a selector or switch: a column for each pole, its frame, where it has one, a bar below them.
    pub(super) fn lever(
        poles: &[Vec<(Terminal, String)>],
        frame: Option<(Terminal, usize)>,
        name: &str,
        is_under: bool,
    ) -> Self {
        let mut own = Self::default();
        let count = i32::try_from(poles.len()).unwrap_or(1);
        let rows = poles.iter().map(Vec::len).max().unwrap_or(1);
        let bottom = APART * (i32::try_from(rows).unwrap_or(1) - 1);
        let right = POLES * (count - 1) / 2;
        let [w, h] = [f64::from(right) + 1.9, f64::from(bottom) / 2.0 + 2.6];
        own.marks.push(Mark::Body { middle: [0.0, f64::from(bottom) / 2.0], half: [w, h] });
        for (pole, lugs) in (0..).zip(poles) {
            let x = POLES * pole - right;
            for (row, (terminal, lug)) in (0..).zip(lugs) {
                own.lug(*terminal, Cell::new(x, APART * row), &Side::ALL, lug);
            }
        }
        if count == 2 {
            own.inside.push(Area::new(2 - right, -2, right - 2, bottom + 2));
        }
        let width = (f64::from(right) + 3.0) * 2.0;
        let title = if is_under { format!("push-pull: {name}") } else { name.to_owned() };
        if is_under {
            // Between the case and the lugs there is room for one line.
            own.say(
                [0.0, f64::from(bottom) + 4.8],
                Anchor::Middle,
                Style::Name,
                fitted(&title, Style::Name, 18.0),
            );
            own.close_last_words();
        } else {
            own.say([0.0, -4.0], Anchor::Middle, Style::Name, fitted(&title, Style::Name, width.max(14.0)));
            own.close_last_words();
        }
        if let Some((terminal, wires)) = frame {
            own.bar(terminal, Cell::new(0, bottom + 4), wires, "frame");
        }
        own
    }

    /// Returns a part with its lugs in a column on its left.
    pub(super) fn column(lugs: &[(Terminal, String)], name: &str) -> Self {
        let mut own = Self::default();
        let bottom = APART * (i32::try_from(lugs.len()).unwrap_or(1) - 1);
        let half = [4.6, f64::from(bottom) / 2.0 + 2.2];
        own.marks.push(Mark::Body { middle: [5.4, f64::from(bottom) / 2.0], half });
        own.closed.push(Area::new(2, -2, 10, bottom + 2));
        for (row, (terminal, lug)) in (0..).zip(lugs) {
            own.lug(*terminal, Cell::new(0, APART * row), &[Side::Left, Side::Up, Side::Down], "");
            own.say(
                [1.9, f64::from(APART * row)],
                Anchor::Start,
                Style::Label,
                fitted(lug, Style::Label, 7.6),
            );
        }
        own.say([5.4, -3.6], Anchor::Middle, Style::Name, fitted(name, Style::Name, 12.0));
        own.close_last_words();
        own
    }

    /// Returns a part of two legs, the first to the left.
    pub(super) fn two_legs(legs: [Terminal; 2], name: &str, value: &str, is_capacitor: bool) -> Self {
        let mut own = Self::default();
        let middle = Cell::new(0, 0);
        own.marks.push(if is_capacitor {
            Mark::Plates { middle, legs }
        } else {
            Mark::Resistor { middle, legs }
        });
        own.closed.push(Area::new(-3, -1, 3, 1));
        for (leg, x, side) in [(legs[0], -5, Side::Left), (legs[1], 5, Side::Right)] {
            own.lug(leg, Cell::new(x, 0), &[side, Side::Up, Side::Down], "");
            own.marks.pop();
        }
        own.say([0.0, -4.2], Anchor::Middle, Style::Label, fitted(name, Style::Label, 15.0));
        own.close_last_words();
        own.say([0.0, -2.4], Anchor::Middle, Style::Detail, fitted(value, Style::Detail, 9.0));
        own.close_last_words();
        own
    }

    /// Returns what leads hang from, above all else, each lead with its words in two lines.
    pub(super) fn leads(leads: &[(Terminal, [String; 2])], name: &str) -> Self {
        let mut own = Self::default();
        let wide =
            |lines: &[String; 2]| lines.iter().map(|line| Style::Label.width(line)).fold(0.0, f64::max);
        let mut x = 0.0;
        let mut places = Vec::new();
        for (_, lines) in leads {
            let half = (wide(lines) / 2.0 + 0.5).max(2.5);
            places.push(x + half);
            x += 2.0 * half;
        }
        let width = x.max(Style::Name.width(name) + 2.0);
        own.marks.push(Mark::Body { middle: [width / 2.0, 3.2], half: [width / 2.0 + 0.6, 3.2] });
        own.say([width / 2.0, 1.3], Anchor::Middle, Style::Name, name.to_owned());
        own.closed.push(Area::new(-1, 0, whole(width) + 1, 7));
        let shift = (width - x) / 2.0;
        for ((terminal, lines), place) in leads.iter().zip(places) {
            let at = Cell::new(whole(place + shift), 9);
            own.marks.push(Mark::Strand { from: Cell::new(at.x, 6), to: at, terminal: *terminal });
            for (line, text) in (0_u8..).zip(lines.iter().filter(|line| !line.is_empty())) {
                own.say(
                    [f64::from(at.x), 3.4 + 1.6 * f64::from(line)],
                    Anchor::Middle,
                    Style::Label,
                    text.clone(),
                );
            }
            own.lug(*terminal, at, &[Side::Down, Side::Left, Side::Right], "");
            own.marks.pop();
        }
        own
    }

    /// Returns the tab of a cavity's shield.
    pub(super) fn tab(terminal: Terminal, wires: usize, name: &str) -> Self {
        let mut own = Self::default();
        own.bar(terminal, Cell::new(0, 0), wires, "");
        own.say([0.0, -2.6], Anchor::Middle, Style::Name, fitted(name, Style::Name, 14.0));
        own.close_last_words();
        own
    }

    /// Adds a bar of metal that takes wires from below.
    fn bar(&mut self, terminal: Terminal, middle: Cell, wires: usize, name: &str) {
        let count = i32::try_from(wires.clamp(3, 24)).unwrap_or(3);
        let left = middle.x - (count - 1);
        let gates = (0..count).map(|own| Gate::new(Cell::new(left + 2 * own, middle.y), Side::Down, 2));
        let half = f64::from(count) + 0.2;
        self.spots.push(Spot { terminal, gates: gates.collect(), kept: None });
        self.marks.push(Mark::Bar {
            middle: [f64::from(middle.x), f64::from(middle.y)],
            half: [half, 1.0],
            terminal,
        });
        self.closed.push(Area::new(middle.x - count, middle.y - 1, middle.x + count, middle.y + 1));
        if !name.is_empty() {
            let room = Style::Label.width(name);
            let at = [f64::from(middle.x) + half + 0.4, f64::from(middle.y)];
            self.say(at, Anchor::Start, Style::Label, name.to_owned());
            self.closed.push(Area::new(
                middle.x + count,
                middle.y - 1,
                middle.x + count + whole(room) + 1,
                middle.y + 1,
            ));
        }
    }

    fn lug(&mut self, terminal: Terminal, at: Cell, sides: &[Side], name: &str) {
        let gates = sides.iter().map(|side| Gate::new(at, *side, 1)).collect();
        self.spots.push(Spot {
            terminal,
            gates,
            kept: Some(Area::new(at.x - 1, at.y - 1, at.x + 1, at.y + 1)),
        });
        let fits = Style::Label.width(name) <= 2.4;
        let shown = if fits { name.to_owned() } else { fitted(name, Style::Label, 2.4) };
        self.marks.push(Mark::Lug { at, name: Some(shown).filter(|name| !name.is_empty()), terminal });
    }

    fn say(&mut self, at: [f64; 2], anchor: Anchor, style: Style, text: String) {
        self.words.push(Words { at, anchor, style, text });
    }

    /// Keeps wires off the words that were said last.
    fn close_last_words(&mut self) {
        let Some(words) = self.words.last() else { return };
        let [left, top, right, bottom] = words.room();
        self.closed.push(Area::new(
            whole(left.floor()),
            whole(top.floor()),
            whole(right.ceil()),
            whole(bottom.ceil()),
        ));
    }
}

/// Returns the words of a name in lines of their own, at most three.
fn lines_of(name: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in name.split('-') {
        match lines.last_mut() {
            Some(last) if lines_len(last, word) => {
                last.push('-');
                last.push_str(word);
            }
            Some(_) | None => lines.push(word.to_owned()),
        }
    }
    lines.truncate(3);
    lines
}

fn lines_len(line: &str, word: &str) -> bool {
    Style::Name.width(line) + Style::Name.width(word) < 7.0
}

/// Returns `text` cut to so many cells.
fn fitted(text: &str, style: Style, room: f64) -> String {
    crate::markup::shortened(text, room / style.size())
}
