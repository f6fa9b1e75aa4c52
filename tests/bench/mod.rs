//! A bench of its own: pickups as resistors and sources, read by solving their node equations. It shares no code
//! and no shortcut with the program, which reasons about ways and signs.

#![allow(dead_code, reason = "each test file uses its own part of the bench")]

use drywire::document::Document;
use drywire::leads::Readings;

/// A repeatable source of chance (S. Vigna's splitmix64, public domain).
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub(crate) fn below(&mut self, n: usize) -> usize {
        usize::try_from(self.next() % n as u64).unwrap_or_default()
    }

    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1u64 << 53) as f64
    }

    pub(crate) fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }

    pub(crate) fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            list.swap(i, self.below(i + 1));
        }
    }
}

/// A piece of wire: two nodes, ohms, and the voltage from the first to the second while each coil is tapped.
#[derive(Debug, Clone)]
struct Piece {
    nodes: [usize; 2],
    ohms: f64,
    tapped: [f64; 2],
}

/// What is wrong with a pickup.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    Sound,
    Open(usize),
    Shorted(usize),
    BothOpen,
    /// Two leads still twisted together: which end (0 is +) of the first and of the second coil.
    Joined(usize, usize),
    /// The first coil's + with the second's + (0) or − (1), and the other two ends.
    Beside(usize),
    /// A lead soldered to the shield, by coil and end.
    LeadOnShield(usize, usize),
    /// A winding that touches the shield inside.
    CoilOnShield(usize),
    Touching,
}

/// How the coils' ends come out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Make {
    FourLeads,
    /// The joint of these ends (0 is +) is a lead.
    JointOut(usize, usize),
    /// The joint of these ends stays inside.
    SeriesInside(usize, usize),
    /// The coils lie beside each other inside, + to + (0) or + to − (1).
    ParallelInside(usize),
}

/// A true pickup, its leads in a random order.
#[derive(Debug, Clone)]
pub(crate) struct Pickup {
    pub(crate) leads: Vec<&'static str>,
    pub(crate) shield: Option<&'static str>,
    pub(crate) coils: [&'static str; 2],
    /// The lead on each coil's + and − end, or that one comes to through the other coil.
    pub(crate) plus_minus: [[&'static str; 2]; 2],
    pub(crate) north: [bool; 2],
    pub(crate) make: Make,
    pub(crate) fault: Fault,
    at: Vec<(&'static str, usize)>,
    pieces: Vec<Piece>,
    nodes: usize,
    /// The most that a reading is off, relative.
    pub(crate) meter: f64,
}

pub(crate) const COLOURS: [&str; 4] = ["white", "grey", "red", "blue"];
pub(crate) const COILS: [&str; 2] = ["screw side", "plain side"];
const JOINT_OHMS: f64 = 0.3;

impl Pickup {
    /// Returns a pickup of that make and fault with random coils and a random order of leads.
    pub(crate) fn new(make: Make, fault: Fault, shield: bool, chance: &mut Chance) -> Self {
        let mut leads: Vec<&'static str> = COLOURS.to_vec();
        chance.shuffle(&mut leads);
        // Nodes: coil c's + is 3c, its − is 3c + 1, a place inside is 3c + 2; the shield is 6.
        let mut pieces = Vec::new();
        let joint = |a: usize, b: usize| Piece { nodes: [a, b], ohms: JOINT_OHMS, tapped: [0.0; 2] };
        for coil in 0..2 {
            let ohms = chance.between(3000.0, 9000.0);
            let upper = chance.between(0.1, 0.9);
            let leak = chance.between(0.05, 0.3);
            let (broken, shorted) = (
                matches!(fault, Fault::BothOpen) || fault == Fault::Open(coil),
                fault == Fault::Shorted(coil),
            );
            if broken {
                continue;
            }
            if shorted {
                let ohms = chance.between(0.2, 5.0);
                pieces.push(Piece { nodes: [3 * coil + 1, 3 * coil], ohms, tapped: [0.0; 2] });
                continue;
            }
            for (nodes, share) in
                [([3 * coil + 2, 3 * coil], upper), ([3 * coil + 1, 3 * coil + 2], 1.0 - upper)]
            {
                let mut tapped = [leak * share; 2];
                tapped[coil] = share;
                pieces.push(Piece { nodes, ohms: ohms * share, tapped });
            }
        }
        match fault {
            Fault::Joined(a, b) => pieces.push(joint(a, 3 + b)),
            Fault::Beside(turned) => {
                pieces.push(joint(0, 3 + turned));
                pieces.push(joint(1, 4 - turned));
            }
            Fault::LeadOnShield(coil, end) => pieces.push(joint(3 * coil + end, 6)),
            Fault::CoilOnShield(coil) => pieces.push(joint(3 * coil + 2, 6)),
            Fault::Touching => pieces.push(joint(2, 5)),
            Fault::Sound | Fault::Open(_) | Fault::Shorted(_) | Fault::BothOpen => {}
        }
        let brought_out: Vec<usize> = match make {
            Make::FourLeads => vec![0, 1, 3, 4],
            Make::JointOut(a, b) => {
                pieces.push(joint(a, 3 + b));
                vec![1 - a, a, 4 - b]
            }
            Make::SeriesInside(a, b) => {
                pieces.push(joint(a, 3 + b));
                vec![1 - a, 4 - b]
            }
            Make::ParallelInside(turned) => {
                pieces.push(joint(0, 3 + turned));
                pieces.push(joint(1, 4 - turned));
                vec![0, 1]
            }
        };
        leads.truncate(brought_out.len());
        let mut at: Vec<(&'static str, usize)> = leads.iter().copied().zip(brought_out).collect();
        let lead = |node: usize| at.iter().find(|(_, n)| *n == node).map_or("", |(l, _)| *l);
        let plus_minus = match make {
            Make::FourLeads => [[lead(0), lead(1)], [lead(3), lead(4)]],
            Make::JointOut(a, b) => {
                let ends = |end: usize, outer: &'static str, joint: &'static str| {
                    if end == 0 { [joint, outer] } else { [outer, joint] }
                };
                [ends(a, lead(1 - a), lead(a)), ends(b, lead(4 - b), lead(a))]
            }
            Make::SeriesInside(a, b) => {
                let ends = |end: usize, outer: &'static str, far: &'static str| {
                    if end == 0 { [far, outer] } else { [outer, far] }
                };
                [ends(a, lead(1 - a), lead(4 - b)), ends(b, lead(4 - b), lead(1 - a))]
            }
            Make::ParallelInside(turned) => {
                let first = [lead(0), lead(1)];
                let second = if turned == 0 { first } else { [first[1], first[0]] };
                [first, second]
            }
        };
        let shield = shield.then_some("bare");
        at.extend(shield.map(|s| (s, 6)));
        let mut coils = COILS;
        if chance.one_in(2) {
            coils.reverse();
        }
        let mut leads: Vec<&'static str> = leads;
        chance.shuffle(&mut leads);
        let first_north = chance.one_in(2);
        let north = [first_north, if chance.one_in(10) { first_north } else { !first_north }];
        Self { leads, shield, coils, plus_minus, north, make, fault, at, pieces, nodes: 7, meter: 0.03 }
    }

    /// Returns a random pickup: half of them sound with four leads, the others of every make and fault.
    pub(crate) fn random(chance: &mut Chance) -> Self {
        let (a, b) = (chance.below(2), chance.below(2));
        let shield = chance.one_in(2);
        let make = match chance.below(10) {
            0 => Make::JointOut(a, b),
            1 => Make::SeriesInside(a, b),
            2 => Make::ParallelInside(a),
            _ => Make::FourLeads,
        };
        let fault = match chance.below(18) {
            0 => Fault::Open(a),
            1 => Fault::Shorted(a),
            2 => Fault::BothOpen,
            3 if make == Make::FourLeads => Fault::Joined(a, b),
            4 if make == Make::FourLeads => Fault::Beside(a),
            5 if shield && make == Make::FourLeads => Fault::LeadOnShield(a, b),
            6 if shield && make == Make::FourLeads => Fault::CoilOnShield(a),
            7 if make == Make::FourLeads => Fault::Touching,
            _ => Fault::Sound,
        };
        Self::new(make, fault, shield, chance)
    }

    pub(crate) fn sound(chance: &mut Chance, shield: bool) -> Self {
        Self::new(Make::FourLeads, Fault::Sound, shield, chance)
    }

    /// Returns the leads, and the shield where there is one.
    pub(crate) fn conductors(&self) -> Vec<&'static str> {
        self.leads.iter().copied().chain(self.shield).collect()
    }

    /// Returns what an ohmmeter shows, without its error; `None` for an open circuit.
    pub(crate) fn true_ohms(&self, one: &str, other: &str) -> Option<f64> {
        let (one, other) = (self.node(one), self.node(other));
        let mut current = vec![0.0; self.nodes];
        current[one] = 1.0;
        current[other] = -1.0;
        let islands = self.islands(&self.pieces);
        (islands[one] == islands[other]).then(|| {
            let volts = solve(&self.pieces, &islands, current);
            volts[one] - volts[other]
        })
    }

    /// Returns what an ohmmeter shows, with a random error.
    pub(crate) fn ohms(&self, one: &str, other: &str, chance: &mut Chance) -> String {
        match self.true_ohms(one, other) {
            None => "open".to_owned(),
            Some(ohms) => {
                let shown = ohms * (1.0 + chance.between(-self.meter, self.meter));
                if shown < 1000.0 { format!("{shown:.1} ohm") } else { format!("{:.2}k", shown / 1000.0) }
            }
        }
    }

    /// Returns the first swing of a meter of 10 MΩ while a coil is tapped.
    pub(crate) fn tap(&self, coil: usize, red: &str, black: &str) -> &'static str {
        let (red, black) = (self.node(red), self.node(black));
        let mut pieces = self.pieces.clone();
        pieces.push(Piece { nodes: [black, red], ohms: 10e6, tapped: [0.0; 2] });
        let mut current = vec![0.0; self.nodes];
        for piece in &pieces {
            let flow = piece.tapped[coil] / piece.ohms;
            current[piece.nodes[1]] += flow;
            current[piece.nodes[0]] -= flow;
        }
        let volts = solve(&pieces, &self.islands(&pieces), current);
        let swing = volts[red] - volts[black];
        if swing.abs() <= 1.0 / 3.0 {
            "none"
        } else if swing > 0.0 {
            "+"
        } else {
            "-"
        }
    }

    fn node(&self, name: &str) -> usize {
        self.at.iter().find(|(n, _)| *n == name).map(|(_, node)| *node).expect("a lead of the pickup")
    }

    fn islands(&self, pieces: &[Piece]) -> Vec<usize> {
        let mut island: Vec<usize> = (0..self.nodes).collect();
        for piece in pieces {
            let [a, b] = piece.nodes.map(|n| island[n]);
            island.iter_mut().filter(|i| **i == b).for_each(|i| *i = a);
        }
        island
    }

    /// Returns every reading that can be taken, as text for a readings file, without compass readings.
    pub(crate) fn every_reading(&self, chance: &mut Chance) -> Vec<Line> {
        let conductors = self.conductors();
        let mut lines = Vec::new();
        for one in &conductors {
            for other in conductors.iter().filter(|other| *other != one) {
                if one < other {
                    let pair = if chance.one_in(2) { [*one, *other] } else { [*other, *one] };
                    lines.push(Line::ohms(pair, &self.ohms(one, other, chance)));
                }
                for (coil, name) in self.coils.iter().enumerate() {
                    lines.push(Line::tap(name, [one, other], self.tap(coil, one, other)));
                }
            }
        }
        lines
    }

    /// Returns the full readings: every pair of leads, and each bobbin tapped on its own leads in both orders.
    pub(crate) fn full(&self, chance: &mut Chance) -> Vec<Line> {
        let mut lines = Vec::new();
        for (i, one) in self.leads.iter().enumerate() {
            for other in &self.leads[i + 1..] {
                lines.push(Line::ohms([one, other], &self.ohms(one, other, chance)));
            }
        }
        for (coil, name) in self.coils.iter().enumerate() {
            let [plus, minus] = self.plus_minus[coil];
            for probes in [[plus, minus], [minus, plus]] {
                lines.push(Line::tap(name, probes, self.tap(coil, probes[0], probes[1])));
            }
        }
        lines
    }

    /// Returns the readings that `lines` make of this pickup's leads.
    pub(crate) fn readings(&self, lines: &[Line]) -> Readings {
        let text = self.file(lines);
        Readings::read(&Document::new("bench.toml", text.as_str())).unwrap_or_else(|e| panic!("{e}\n{text}"))
    }

    /// Returns a readings file of `lines`.
    pub(crate) fn file(&self, lines: &[Line]) -> String {
        let quoted: Vec<String> = self.leads.iter().map(|l| format!("\"{l}\"")).collect();
        let shield = self.shield.map(|s| format!("shield = \"{s}\"\n")).unwrap_or_default();
        let body: String = lines.iter().map(Line::text).collect();
        format!("leads = [{}]\n{shield}{body}", quoted.join(", "))
    }
}

/// A reading as a readings file states it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Line {
    Ohms { between: [String; 2], reads: String },
    Tap { coil: String, red: String, black: String, swing: String },
    Compass { coil: String, top_pole: String },
}

impl Line {
    pub(crate) fn ohms(between: [&str; 2], reads: &str) -> Self {
        Self::Ohms { between: between.map(str::to_owned), reads: reads.to_owned() }
    }

    pub(crate) fn tap(coil: &str, [red, black]: [&str; 2], swing: &str) -> Self {
        let own = str::to_owned;
        Self::Tap { coil: own(coil), red: own(red), black: own(black), swing: own(swing) }
    }

    pub(crate) fn compass(coil: &str, north: bool) -> Self {
        let top_pole = if north { "north" } else { "south" };
        Self::Compass { coil: coil.to_owned(), top_pole: top_pole.to_owned() }
    }

    pub(crate) fn text(&self) -> String {
        match self {
            Self::Ohms { between: [one, other], reads } => {
                format!("[[ohms]]\nbetween = [\"{one}\", \"{other}\"]\nreads = \"{reads}\"\n")
            }
            Self::Tap { coil, red, black, swing } => {
                format!(
                    "[[tap]]\ncoil = \"{coil}\"\nred = \"{red}\"\nblack = \"{black}\"\nswing = \"{swing}\"\n"
                )
            }
            Self::Compass { coil, top_pole } => {
                format!("[[compass]]\ncoil = \"{coil}\"\ntop_pole = \"{top_pole}\"\n")
            }
        }
    }
}

/// Solves the node equations by Gauss's elimination, one node of each island at zero volts.
fn solve(pieces: &[Piece], islands: &[usize], mut current: Vec<f64>) -> Vec<f64> {
    let n = current.len();
    let mut a = vec![vec![0.0; n]; n];
    for piece in pieces {
        let [i, j] = piece.nodes;
        let conductance = 1.0 / piece.ohms;
        a[i][i] += conductance;
        a[j][j] += conductance;
        a[i][j] -= conductance;
        a[j][i] -= conductance;
    }
    for node in 0..n {
        if islands[node] == node {
            a[node] = vec![0.0; n];
            a[node][node] = 1.0;
            current[node] = 0.0;
        }
    }
    for column in 0..n {
        let pivot = (column..n).max_by(|x, y| a[*x][column].abs().total_cmp(&a[*y][column].abs()));
        let pivot = pivot.expect("at least this row");
        a.swap(column, pivot);
        current.swap(column, pivot);
        let (above, of_pivot) = (a[column].clone(), current[column]);
        for row in (0..n).filter(|row| *row != column) {
            let factor = a[row][column] / above[column];
            a[row].iter_mut().zip(&above).for_each(|(entry, above)| *entry -= factor * above);
            current[row] -= factor * of_pivot;
        }
    }
    (0..n).map(|i| current[i] / a[i][i]).collect()
}
