//! People who strum guitars, made apart from the program: strings, hands and circuits of their own.
//!
//! Strings are sums of their partials' energies (N. H. Fletcher, T. D. Rossing, *The Physics of Musical Instruments*), circuits the
//! node equations of one pickup and its load. A hand has 1.5 dB of level a strum, 2 dB a string, 8 mm of place, 0.3 dB an octave of
//! tilt, and 0.7 dB between takes.

#![allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "numbers of partials and bands, which are few"
)]

use std::f64::consts::{PI, TAU};

use drywire::confirm::{BANDS, Block, Strum};
use drywire::quantity::Seconds;
use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Chance, with the two laws that are needed.
pub struct Chance(ChaCha8Rng);

impl Chance {
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// Evenly between two ends.
    pub fn even(&mut self, [from, to]: [f64; 2]) -> f64 {
        from + (to - from) * ((self.0.next_u64() >> 11) as f64 / (1u64 << 53) as f64)
    }

    /// Normally, by the sum of twelve even ones.
    pub fn normal(&mut self, deviation: f64) -> f64 {
        deviation * ((0..12).map(|_| self.even([0.0, 1.0])).sum::<f64>() - 6.0)
    }

    pub fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[(self.even([0.0, of.len() as f64]) as usize).min(of.len() - 1)]
    }
}

/// A two-coil pickup with all that loads it.
#[derive(Debug, Clone)]
pub struct Bench {
    pub ohms: [f64; 2],
    pub henries: [f64; 2],
    pub farads: [f64; 2],
    pub loss: [f64; 2],
    pub coupling: f64,
    /// The eddy section's share and corner.
    pub eddy: [f64; 2],
    pub outputs: [f64; 2],
    pub lead: f64,
    pub volume: f64,
    pub tone: f64,
    pub cable: f64,
    pub input: [f64; 2],
    /// What lies across each coil's ends, in siemens: nothing unless it is shorted.
    pub across: [f64; 2],
}

/// What makes a coil dead.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Broken {
    /// Its wire is broken; what is left is the capacitance between both halves.
    Open,
    /// Its ends are shorted.
    Shorted,
}

/// Where each end of coil A and coil B is soldered: `h`ot, `g`round, or at a joint of its own.
fn soldered(arrangement: &str) -> [char; 4] {
    match arrangement {
        "series" => ['h', 'x', 'x', 'g'],
        "parallel" => ['h', 'g', 'h', 'g'],
        "split-a" => ['h', 'g', 'x', 'x'],
        "split-b" => ['x', 'x', 'h', 'g'],
        "split-a-open" => ['h', 'g', 'x', 'g'],
        "split-b-open" => ['x', 'g', 'h', 'g'],
        "series-reversed" => ['h', 'x', 'g', 'x'],
        "parallel-reversed" => ['h', 'g', 'g', 'h'],
        other => panic!("no such arrangement: {other}"),
    }
}

impl Bench {
    /// What the built-in guitar's file has.
    pub fn as_the_file_has_it() -> Self {
        Self {
            ohms: [3900.0; 2],
            henries: [2.0; 2],
            farads: [120e-12; 2],
            loss: [350e3; 2],
            coupling: 0.13,
            eddy: [0.12, 2200.0],
            outputs: [1.0; 2],
            lead: 40e-12,
            volume: 500e3,
            tone: 500e3,
            cable: 360e-12,
            input: [1e6, 100e-12],
            across: [0.0; 2],
        }
    }

    /// The same guitar with a coil dead, 0 being coil A.
    pub fn with_dead(mut self, coil: usize, how: Broken) -> Self {
        match how {
            Broken::Open => self.ohms[coil] = 1e12,
            Broken::Shorted => self.across[coil] = 10.0,
        }
        self
    }

    /// A guitar off by its ranges: inductance 18 %, cable 30 %, coils 0.8 dB.
    pub fn off(chance: &mut Chance) -> Self {
        let mut own = Self::as_the_file_has_it();
        let mut both = |of: &mut [f64; 2], by: [f64; 2]| {
            let share = chance.even(by);
            for value in of {
                *value *= share * chance.even([0.97, 1.03]);
            }
        };
        both(&mut own.henries, [0.82, 1.18]);
        both(&mut own.ohms, [0.9, 1.1]);
        both(&mut own.farads, [0.7, 1.25]);
        both(&mut own.loss, [0.75, 1.33]);
        both(&mut own.eddy, [0.75, 1.25]);
        own.outputs = [(); 2].map(|()| 10f64.powf(chance.even([-0.8, 0.8]) / 20.0));
        own.coupling = chance.even([0.08, 0.18]);
        own.lead *= chance.even([0.5, 2.0]);
        own.cable *= chance.even([0.7, 1.3]);
        own.volume *= chance.even([0.8, 1.2]);
        own.tone *= chance.even([0.8, 1.2]);
        own.input[0] *= chance.even([0.8, 1.2]);
        own.input[1] *= chance.even([0.5, 1.5]);
        own
    }

    /// The jack's voltage per volt of each coil's EMF, at its output.
    pub fn paths(&self, arrangement: &str, hz: f64) -> [Complex64; 2] {
        let s = Complex64::new(0.0, TAU * hz);
        // Ground is no node; hot is the first, the joint the second, each coil's inner end one more.
        let node = |c: char| match c {
            'g' => None,
            'h' => Some(0),
            _ => Some(1),
        };
        let ends = soldered(arrangement).map(node);
        let mut y = DMatrix::<Complex64>::zeros(4, 4);
        let mut driven = DMatrix::<Complex64>::zeros(4, 2);
        let join = |y: &mut DMatrix<Complex64>, a: Option<usize>, b: Option<usize>, by: Complex64| {
            for (one, other) in [(a, b), (b, a)] {
                if let Some(one) = one {
                    y[(one, one)] += by;
                    if let Some(other) = other {
                        y[(one, other)] -= by;
                    }
                }
            }
        };
        let real = |x: f64| Complex64::new(x, 0.0);
        let mut own = [Complex64::ZERO; 2];
        let mut emf = [Complex64::ZERO; 2];
        let [share, corner] = self.eddy;
        for coil in 0..2 {
            let (plus, minus, inner) = (ends[2 * coil], ends[2 * coil + 1], Some(2 + coil));
            join(&mut y, plus, inner, real(1.0 / self.ohms[coil]));
            join(&mut y, plus, minus, s * self.farads[coil] + self.across[coil]);
            join(&mut y, inner, minus, real(1.0 / self.loss[coil]));
            for end in [plus, minus] {
                join(&mut y, end, None, s * self.lead);
            }
            let section = s * share * self.henries[coil];
            let beside = TAU * corner * share * self.henries[coil];
            own[coil] = s * (1.0 - share) * self.henries[coil] + section * beside / (section + beside);
            emf[coil] = (1.0 - share) + share * beside / (section + beside);
        }
        let mutual = s * (1.0 - share) * self.coupling * (self.henries[0] * self.henries[1]).sqrt();
        let determinant = own[0] * own[1] - mutual * mutual;
        let admittance = |row: usize, column: usize| {
            if row == column { own[1 - row] / determinant } else { -mutual / determinant }
        };
        for row in 0..2 {
            let rows = [(Some(2 + row), 1.0), (ends[2 * row + 1], -1.0)];
            for column in 0..2 {
                let by = admittance(row, column);
                for (at, sign) in rows {
                    let Some(at) = at else { continue };
                    driven[(at, column)] += sign * by * emf[column];
                    for (from, other) in [(Some(2 + column), 1.0), (ends[2 * column + 1], -1.0)] {
                        if let Some(from) = from {
                            y[(at, from)] += sign * other * by;
                        }
                    }
                }
            }
        }
        let tone = 1.0 / (self.tone + 1.0 / (s * 22e-9));
        let load = 1.0 / self.volume + 1.0 / self.input[0] + s * (self.cable + self.input[1]) + tone;
        join(&mut y, Some(0), None, load);
        for i in 0..4 {
            y[(i, i)] += 1e-12;
        }
        let solved = y.lu().solve(&driven).expect("a circuit with a solution");
        [0, 1].map(|coil| solved[(0, coil)] * self.outputs[coil])
    }
}

/// The chord that is held: frets from the lowest string up, none of a string that is not struck.
pub const HELD: [[Option<u8>; 6]; 6] = [
    [Some(0), Some(2), Some(2), Some(1), Some(0), Some(0)],
    [Some(3), Some(2), Some(0), Some(0), Some(3), Some(3)],
    [None, Some(0), Some(2), Some(2), Some(1), Some(0)],
    [None, None, Some(0), Some(2), Some(3), Some(2)],
    [None, Some(3), Some(2), Some(0), Some(1), Some(0)],
    [Some(1), Some(3), Some(3), Some(2), Some(1), Some(1)],
];
const OPEN: [f64; 6] = [82.41, 110.0, 146.83, 196.0, 246.94, 329.63];
const STIFF: [f64; 6] = [1.1e-4, 7e-5, 5e-5, 1e-4, 5e-5, 2e-5];

/// One partial of one string.
#[derive(Debug, Clone, Copy)]
pub struct Partial {
    pub hz: f64,
    pub string: usize,
    /// Its number times a half turn over the sounding length, per metre.
    wave: f64,
    number: f64,
    /// How fast it dies away, in 1/s, and how much energy it has for its first amplitude.
    sigma: f64,
    lasting: f64,
    /// What each coil hears of it.
    heard: [f64; 2],
}

impl Partial {
    /// What the jack has of it through coils with these paths.
    pub fn jack(&self, paths: [Complex64; 2]) -> f64 {
        (paths[0] * self.heard[0] + paths[1] * self.heard[1]).norm()
    }

    /// Its amplitude where the string is plucked so far from the bridge, and how fast it dies away.
    pub fn struck(&self, place: f64) -> (f64, f64) {
        let wide = self.wave * 0.0015;
        ((self.wave * place).sin() / self.number * wide.sin() / wide, self.sigma)
    }
}

/// A chord that is held on a guitar of this scale, with the coils at these distances to the bridge.
pub fn held(frets: [Option<u8>; 6], chance: &mut Chance) -> Vec<Partial> {
    const SCALE: f64 = 0.628;
    const COILS: [f64; 2] = [0.045 - 0.00925, 0.045 + 0.00925];
    const WINDOW: f64 = 1.1;
    let (decay, damping, stiff) = (chance.even([4.0, 7.0]), chance.even([3.0, 9.0]), chance.even([0.7, 1.4]));
    let mut partials = Vec::new();
    for (string, fret) in frets.into_iter().enumerate() {
        let Some(fret) = fret else { continue };
        let shorter = 2f64.powf(f64::from(fret) / 12.0);
        let (length, fundamental) = (SCALE / shorter, OPEN[string] * shorter);
        for number in (1..200).map(f64::from) {
            let hz = number
                * fundamental
                * (1.0 + STIFF[string] * stiff * shorter * shorter * number * number).sqrt();
            if hz > 9500.0 {
                break;
            }
            let sigma = 6.9 / decay * (1.0 + (damping - 1.0) * (hz / 5000.0).powi(2));
            let wave = number * PI / length;
            let over = |x: f64| if x > 0.0 { x.sin() / x } else { 1.0 };
            partials.push(Partial {
                hz,
                string,
                wave,
                number,
                sigma,
                lasting: (1.0 - (-2.0 * sigma * WINDOW).exp()) / (2.0 * sigma),
                heard: COILS.map(|place| (wave * place).sin() * over(wave * 0.004)),
            });
        }
    }
    partials
}

/// A person: how the hand is from strum to strum and from take to take, as standard deviations.
#[derive(Debug, Clone, Copy)]
pub struct Hand {
    pub strum_db: f64,
    pub string_db: f64,
    pub place: f64,
    pub drift_db: f64,
    pub tilt_db: f64,
}

pub const USUAL: Hand = Hand { strum_db: 1.5, string_db: 2.0, place: 0.008, drift_db: 0.7, tilt_db: 0.3 };

/// One person with one guitar and one chord.
pub struct Player {
    chord: Vec<Partial>,
    hand: Hand,
    place: f64,
    strings: [f64; 6],
}

/// What each partial becomes at the jack in one arrangement.
pub type Voiced = Vec<f64>;

impl Player {
    pub fn new(hand: Hand, chance: &mut Chance) -> Self {
        let frets = chance.one_of(&HELD);
        Self {
            chord: held(frets, chance),
            hand,
            place: 0.14 + chance.normal(0.02),
            strings: [(); 6].map(|()| chance.normal(2.0)),
        }
    }

    /// The power at the jack of each partial of the chord for its own.
    pub fn voiced(&self, bench: &Bench, arrangement: &str) -> Voiced {
        // Fine enough for a straight line between two points to be within 0.02 dB.
        const POINTS: usize = 160;
        let at = |i: usize| 70.0 * (10_000.0_f64 / 70.0).powf(i as f64 / (POINTS - 1) as f64);
        let grid: Vec<[Complex64; 2]> = (0..POINTS).map(|i| bench.paths(arrangement, at(i))).collect();
        let power = |partial: &Partial| {
            let place = (partial.hz / 70.0).ln() / (10_000.0_f64 / 70.0).ln() * (POINTS - 1) as f64;
            let below = (place as usize).min(POINTS - 2);
            let share = place - below as f64;
            let path = |coil: usize| grid[below][coil] * (1.0 - share) + grid[below + 1][coil] * share;
            partial.jack([path(0), path(1)]).powi(2)
        };
        self.chord.iter().map(power).collect()
    }

    /// The levels in third octaves of one strum through each of two voices, as the same hand would strike both.
    fn struck(&self, voices: [&Voiced; 2], chance: &mut Chance) -> [[f64; BANDS]; 2] {
        let place = (self.place + chance.normal(self.hand.place)).clamp(0.05, 0.3);
        let strings: [f64; 6] =
            std::array::from_fn(|string| self.strings[string] + chance.normal(self.hand.string_db));
        let mut powers = [[1e-9; BANDS]; 2];
        for (i, partial) in self.chord.iter().enumerate() {
            let band = (10.0 * (partial.hz / 1000.0).log10()).round() + 11.0;
            if !(0.0..BANDS as f64).contains(&band) {
                continue;
            }
            let energy = partial.struck(place).0.powi(2)
                * partial.lasting
                * 10f64.powf(strings[partial.string] / 10.0);
            for (powers, voiced) in powers.iter_mut().zip(voices) {
                powers[band as usize] += energy * voiced[i];
            }
        }
        powers.map(|powers| powers.map(|power| 10.0 * power.log10()))
    }

    /// So many blocks of strums each of two voices, alternating, the later one's takes louder by `gain_db`.
    pub fn session(
        &self,
        voices: [&Voiced; 2],
        [blocks, strums]: [usize; 2],
        gain_db: f64,
        chance: &mut Chance,
    ) -> Vec<Block> {
        let mut session = Vec::new();
        for block in 0..2 * blocks {
            let voice = block % 2;
            let drift = chance.normal(self.hand.drift_db) + if voice == 1 { gain_db } else { 0.0 };
            let strum = |number: usize| {
                let own = self.struck([voices[voice]; 2], chance)[0];
                let (level, tilt) = (chance.normal(self.hand.strum_db), chance.normal(self.hand.tilt_db));
                let bands = std::array::from_fn(|band| {
                    own[band] + drift + level + tilt * (band as f64 - 11.0) / 3.0 * 10f64.log2() * 0.3
                });
                Strum { at: Seconds::new(number as f64), bands, pitches: Vec::new() }
            };
            session.push(Block {
                voice,
                file: format!("take-{block}.wav"),
                strums: (0..strums).map(strum).collect(),
                noise: [-160.0; BANDS],
                fault: None,
            });
        }
        session
    }

    /// By how much the later voice is louder, in third octaves and in all, with no hand in it; and the first one's levels.
    pub fn truth(&self, voices: [&Voiced; 2], chance: &mut Chance) -> (DVector<f64>, f64) {
        const STRUMS: usize = 24;
        let (mut bands, mut level) = (DVector::zeros(BANDS), 0.0);
        let whole = |own: &[f64; BANDS]| 10.0 * own.iter().map(|x| 10f64.powf(x / 10.0)).sum::<f64>().log10();
        for _ in 0..STRUMS {
            let [first, later] = self.struck(voices, chance);
            bands += DVector::from_fn(BANDS, |band, _| later[band] - first[band]) / STRUMS as f64;
            level += (whole(&later) - whole(&first)) / STRUMS as f64;
        }
        (bands, level)
    }
}
