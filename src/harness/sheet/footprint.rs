//! What is drawn of a part: its marks, its words, its lugs with where wires may meet them, and what no wire passes.

use super::grid::{Area, Cell, Gate};
use crate::harness::Terminal;
use crate::markup::breadth;

/// What is drawn of a part, in cells.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    /// An outline: its middle, and half its width and height.
    Body { middle: [f64; 2], half: [f64; 2] },
    /// A pot's case.
    Case { middle: Cell, radius: f64, terminal: Option<Terminal> },
    /// A bar of metal: a frame or a tab.
    Bar { middle: [f64; 2], half: [f64; 2], terminal: Terminal },
    /// What reaches from a body to the end of a lead, of the terminal.
    Strand { from: Cell, to: Cell, terminal: Terminal },
    /// A lug with its name, which stands on it where there is room.
    Lug { at: Cell, name: Option<String>, terminal: Terminal },
    /// The plates of a capacitor between two legs.
    Plates { middle: Cell, legs: [Terminal; 2] },
    /// A resistor between two legs.
    Resistor { middle: Cell, legs: [Terminal; 2] },
}

/// How words are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Style {
    /// What a part is called.
    Name,
    /// What a lug or a lead is called.
    Label,
    /// What a part is worth.
    Detail,
}

/// Where words stand from their point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
}

/// Words on the picture.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Words {
    /// The middle of the line in height.
    pub(super) at: [f64; 2],
    pub(super) anchor: Anchor,
    pub(super) style: Style,
    pub(super) text: String,
}

/// A terminal with all gates at which wires may meet it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Spot {
    pub(super) terminal: Terminal,
    pub(super) gates: Vec<Gate>,
    /// The cells kept for its own wires.
    pub(super) kept: Option<Area>,
}

/// A part drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Footprint {
    pub(super) marks: Vec<Mark>,
    pub(super) words: Vec<Words>,
    pub(super) spots: Vec<Spot>,
    /// What no wire passes.
    pub(super) closed: Vec<Area>,
    /// What only wires pass that join two lugs of this part.
    pub(super) inside: Vec<Area>,
}

impl Style {
    /// Returns the size of the letters in cells.
    pub(super) fn size(self) -> f64 {
        match self {
            Self::Name => 1.6,
            Self::Label => 1.35,
            Self::Detail => 1.3,
        }
    }

    /// Returns about how wide `text` is, in cells.
    pub(super) fn width(self, text: &str) -> f64 {
        self.size() * breadth(text)
    }
}

impl Words {
    /// Returns about how much room the words take: left, top, right, bottom.
    pub(super) fn room(&self) -> [f64; 4] {
        let (width, half) = (self.style.width(&self.text), self.style.size() / 2.0);
        let [x, y] = self.at;
        let left = match self.anchor {
            Anchor::Start => x,
            Anchor::Middle => x - width / 2.0,
        };
        [left, y - half, left + width, y + half]
    }
}

impl Footprint {
    /// Returns how far it reaches: left, top, right, bottom, with all its words.
    pub(super) fn bounds(&self) -> Area {
        let mut areas: Vec<Area> = self.closed.iter().chain(&self.inside).copied().collect();
        areas.extend(self.spots.iter().filter_map(|spot| spot.kept));
        let bound = |of: fn(&Area) -> i32, pick: fn(i32, i32) -> i32| areas.iter().map(of).reduce(pick);
        Area::new(
            bound(|area| area.from.x, i32::min).unwrap_or(0),
            bound(|area| area.from.y, i32::min).unwrap_or(0),
            bound(|area| area.to.x, i32::max).unwrap_or(0),
            bound(|area| area.to.y, i32::max).unwrap_or(0),
        )
    }

    /// Returns it moved.
    pub(super) fn moved(mut self, by: Cell) -> Self {
        let [x, y] = [f64::from(by.x), f64::from(by.y)];
        for mark in &mut self.marks {
            match mark {
                Mark::Body { middle, .. } | Mark::Bar { middle, .. } => {
                    *middle = [middle[0] + x, middle[1] + y];
                }
                Mark::Case { middle, .. } | Mark::Plates { middle, .. } | Mark::Resistor { middle, .. } => {
                    *middle = middle.moved(by);
                }
                Mark::Strand { from, to, .. } => (*from, *to) = (from.moved(by), to.moved(by)),
                Mark::Lug { at, .. } => *at = at.moved(by),
            }
        }
        for words in &mut self.words {
            words.at = [words.at[0] + x, words.at[1] + y];
        }
        for spot in &mut self.spots {
            spot.gates.iter_mut().for_each(|gate| *gate = gate.moved(by));
            spot.kept = spot.kept.map(|area| area.moved(by));
        }
        self.closed.iter_mut().chain(&mut self.inside).for_each(|area| *area = area.moved(by));
        self
    }

    /// Adds another part's drawing to it.
    pub(super) fn with(mut self, other: Self) -> Self {
        self.marks.extend(other.marks);
        self.words.extend(other.words);
        self.spots.extend(other.spots);
        self.closed.extend(other.closed);
        self.inside.extend(other.inside);
        self
    }
}

#[allow(clippy::cast_possible_truncation, reason = "a picture is some hundred cells wide")]
pub(super) fn whole(value: f64) -> i32 {
    value.round() as i32
}
