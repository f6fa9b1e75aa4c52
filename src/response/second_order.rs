//! The resonance alone: a voice as one second-order low-pass.
//!
//! # Source
//! With effective R, L, C, R_loss of the coils and a resistive load R_L the response is
//! `H(s) = G / (1 + a1 s + a2 s²)`, `G = R_L/(R+R_L)`,
//! `a1 = [L (R_loss+R+R_L) + R_loss R C R_L] / [R_loss (R+R_L)]`,
//! `a2 = L C R_L (R_loss+R) / [R_loss (R+R_L)]`; a nodal analysis of the two-node circuit gives it at once. It is
//! exact for equal coils without tone branch, eddy section and lead and with the volume at full.

use num_complex::Complex64;

use super::{Paths, VoiceResponse};
use crate::circuit::SolveError;
use crate::guitar::{Coil, Guitar, Pickup};
use crate::quantity::{Db, Hertz, Ohms};
use crate::wiring::Arrangement;

/// A second-order low-pass and the share of each coil's EMF in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SecondOrder {
    gain: f64,
    a1: f64,
    a2: f64,
    shares: [f64; 2],
}

/// A voice's coils as one: ohms, henries, farads, ohms of parallel loss.
#[derive(Debug, Clone, Copy)]
struct Lumped {
    r: f64,
    l: f64,
    /// Across its ends.
    c: f64,
    /// From its hot end to ground, of the lead.
    lead: f64,
    loss: f64,
    shares: [f64; 2],
}

impl SecondOrder {
    /// Returns the resonance alone of `pickup` on `guitar` in `arrangement`.
    ///
    /// The tone branch is taken as its parallel equivalent at the resonance, the cable behind a volume pot that is
    /// turned down as its share seen from before the pot; a coil that is shorted, open or bypassed is left out.
    pub fn of(guitar: &Guitar, pickup: &Pickup, arrangement: Arrangement) -> Self {
        let coils = lumped(pickup, arrangement);
        let input = guitar.input();
        let (cable, behind) = match guitar.buffer() {
            None => (guitar.cable().capacitance().value() + input.capacitance().value(), input.resistance()),
            Some(buffer) => (0.0, buffer.input()),
        };
        let (load, divider) = match guitar.controls().volume() {
            None => (behind.value(), 1.0),
            Some(volume) => {
                let (track, x) = (volume.track().value(), volume.fraction());
                let below = parallel(track * x, behind.value());
                let whole = track * (1.0 - x) + below;
                (whole, below / whole)
            }
        };
        let load = parallel(load, guitar.controls().load().map_or(f64::INFINITY, Ohms::value));
        let c = coils.c + coils.lead + cable * divider * divider;
        let mut omega2 = 1.0 / (coils.l * c);
        let (mut r_load, mut c_load) = (load, c);
        if let Some(tone) = guitar.controls().tone() {
            let r = tone.pot().track().value() * tone.pot().fraction();
            let farads = tone.capacitor().value();
            // A few rounds settle the frequency at which the branch is looked at.
            for _ in 0..50 {
                let rc2 = omega2 * r * r * farads * farads;
                c_load = c + farads / (1.0 + rc2);
                let branch = (1.0 + rc2) / (omega2 * r * farads * farads);
                r_load = parallel(load, branch);
                omega2 = 1.0 / (coils.l * c_load);
            }
        }
        let Lumped { r, l, loss, shares, .. } = coils;
        // With R_loss → ∞ the terms divided by it vanish.
        let (a1, a2) = if loss.is_finite() {
            let below = loss * (r + r_load);
            (
                (l * (loss + r + r_load) + loss * r * c_load * r_load) / below,
                l * c_load * r_load * (loss + r) / below,
            )
        } else {
            ((l + r * c_load * r_load) / (r + r_load), l * c_load * r_load / (r + r_load))
        };
        Self { gain: divider * r_load / (r + r_load), a1, a2, shares }
    }

    /// Returns the resonance frequency, `1/√a2`.
    pub fn frequency(&self) -> Hertz {
        Hertz::new(1.0 / (std::f64::consts::TAU * self.a2.sqrt()))
    }

    /// Returns the quality factor, `√a2 / a1`.
    pub fn q(&self) -> f64 {
        self.a2.sqrt() / self.a1
    }

    /// Returns the gain at low frequencies of a coil whose share is one.
    pub fn gain(&self) -> f64 {
        self.gain
    }

    /// Returns the share of each coil's EMF, coil A first; negative where the coil is reversed.
    pub fn shares(&self) -> [f64; 2] {
        self.shares
    }

    /// Returns each coil's path at `frequency`.
    pub fn at(&self, frequency: Hertz) -> Paths {
        let s = Complex64::new(0.0, std::f64::consts::TAU * frequency.value());
        let h = self.gain / (Complex64::ONE + s * self.a1 + s * s * self.a2);
        Paths(self.shares.iter().map(|share| h * share).collect())
    }

    /// Returns how far the resonance alone is from the whole circuit: the largest difference of their telling
    /// paths between 20 Hz and 20 kHz.
    ///
    /// # Errors
    /// [`SolveError`] where the circuit has no solution at some frequency.
    pub fn distance(&self, circuit: &VoiceResponse) -> Result<Db, SolveError> {
        let steps: Vec<Hertz> =
            (0..=240).map(|i| Hertz::new(20.0 * 1000f64.powf(f64::from(i) / 240.0))).collect();
        let apart = steps.iter().zip(circuit.along(&steps)?).map(|(f, whole)| {
            let (alone, whole) = (circuit.telling(&self.at(*f)), circuit.telling(&whole));
            (20.0 * (alone.norm() / whole.norm()).log10()).abs()
        });
        Ok(Db::new(apart.fold(0.0, f64::max)))
    }
}

fn parallel(a: f64, b: f64) -> f64 {
    if a.is_infinite() {
        b
    } else if b.is_infinite() {
        a
    } else {
        a * b / (a + b)
    }
}

fn lumped(pickup: &Pickup, arrangement: Arrangement) -> Lumped {
    let alone = |coil: &Coil, shares| Lumped {
        r: coil.resistance().value(),
        l: coil.inductance().value(),
        c: coil.capacitance().value(),
        lead: coil.lead().value(),
        loss: coil.loss().map_or(f64::INFINITY, Ohms::value),
        shares,
    };
    let a = alone(pickup.coil_a(), [1.0, 0.0]);
    let Some(b) = pickup.coil_b().map(|b| alone(b, [0.0, 1.0])) else { return a };
    let m = pickup.mutual_inductance().value();
    // The leads at the coils' joint are seen by the square of the voltage's share there, coil B's.
    let at_joint = |m: f64| ((b.l + m) / (a.l + b.l + 2.0 * m)).powi(2);
    let in_series = |m: f64, sign: f64| Lumped {
        lead: a.lead + (a.lead + b.lead) * at_joint(m),
        r: a.r + b.r,
        l: a.l + b.l + 2.0 * m,
        c: if a.c + b.c > 0.0 { a.c * b.c / (a.c + b.c) } else { 0.0 },
        loss: a.loss + b.loss,
        shares: [1.0, sign],
    };
    let side_by_side = |m: f64, sign: f64| Lumped {
        lead: a.lead + b.lead,
        r: parallel(a.r, b.r),
        l: (a.l * b.l - m * m) / (a.l + b.l - 2.0 * m),
        c: a.c + b.c,
        loss: parallel(a.loss, b.loss),
        shares: [b.r / (a.r + b.r), sign * a.r / (a.r + b.r)],
    };
    match arrangement {
        Arrangement::Series | Arrangement::SeriesBypassed => in_series(m, 1.0),
        Arrangement::SeriesReversed => in_series(-m, -1.0),
        Arrangement::Parallel => side_by_side(m, 1.0),
        Arrangement::ParallelReversed => side_by_side(-m, -1.0),
        Arrangement::SplitA | Arrangement::SplitAOpen | Arrangement::Alone => a,
        Arrangement::SplitB | Arrangement::SplitBOpen => b,
    }
}
