//! A common-cathode stage with a high-mu triode, by its load line.
//!
//! # Source
//! The valve: N. L. Koren, "Improved vacuum tube models for SPICE simulations", Glass Audio 8(5), 1996,
//! `E1 = Va/KP ln(1 + exp(KP (1/µ + Vg/√(KVB + Va²))))`, `Ia = 2 E1^EX/KG1` for E1 > 0, with that paper's values of a high-mu
//! triode. Its grid conducts as a diode behind 2 kΩ. Supply and resistors are common practice.

const MU: f64 = 100.0;
const EX: f64 = 1.4;
const KG1: f64 = 1060.0;
const KP: f64 = 600.0;
const KVB: f64 = 300.0;
/// The grid's diode: its saturation current in amperes, the thermal voltage at 27 °C, and the resistance behind it in ohms.
const SATURATION: f64 = 1e-9;
const THERMAL: f64 = 0.025_865;
const GRID: f64 = 2e3;
/// The supply in volts; anode, cathode and grid resistors in ohms.
const SUPPLY: f64 = 250.0;
const ANODE: f64 = 100e3;
const CATHODE: f64 = 1.5e3;
const SOURCE: f64 = 68e3;

/// The stage at rest: its cathode is bypassed, and keeps its voltage.
#[derive(Debug, Clone, Copy)]
pub(super) struct Triode {
    /// The cathode's voltage above ground.
    pub(super) bias: f64,
    /// The anode's voltage above the cathode without a signal.
    rest: f64,
    /// The change of the anode's voltage against a small one at the input.
    pub(super) gain: f64,
}

impl Triode {
    /// Solves the stage at rest.
    pub(super) fn at_rest() -> Self {
        // At rest the grid draws nothing that counts: its diode's reverse current of 1 nA.
        let bias =
            root(0.0, SUPPLY / 2.0, |bias| anode_current(anode_voltage(bias, -bias), -bias) * CATHODE - bias);
        let rest = anode_voltage(bias, grid_voltage(-bias));
        let step = 1e-4;
        let at = |u: f64| anode_voltage(bias, grid_voltage(u - bias));
        Self { bias, rest, gain: (at(step) - at(-step)) / (2.0 * step) }
    }

    /// Returns the output for `u` volts at the input, referred to the input, and its slope there.
    pub(super) fn output(&self, u: f64) -> (f64, f64) {
        let at = |u: f64| (anode_voltage(self.bias, grid_voltage(u - self.bias)) - self.rest) / self.gain;
        let step = 1e-4;
        (at(u), (at(u + step) - at(u - step)) / (2.0 * step))
    }
}

/// Returns the grid's voltage above the cathode where `open` would be there without a current.
fn grid_voltage(open: f64) -> f64 {
    let diode = root(open.min(0.0) - 1.0, open.max(0.0) + 1.0, |diode| {
        open - (SOURCE + GRID) * diode_current(diode) - diode
    });
    diode + GRID * diode_current(diode)
}

fn diode_current(voltage: f64) -> f64 {
    SATURATION * (voltage / THERMAL).exp_m1()
}

/// Returns the anode's voltage above the cathode where the load line meets the valve.
fn anode_voltage(bias: f64, grid: f64) -> f64 {
    root(0.0, SUPPLY - bias, |anode| (SUPPLY - bias - anode) / ANODE - anode_current(anode, grid))
}

fn anode_current(anode: f64, grid: f64) -> f64 {
    let drive = KP * (1.0 / MU + grid / (KVB + anode * anode).sqrt());
    // ln(1 + e^x) without overflow.
    let e1 = anode / KP * (drive.max(0.0) + (-drive.abs()).exp().ln_1p());
    if e1 > 0.0 { 2.0 * e1.powf(EX) / KG1 } else { 0.0 }
}

/// Returns where `f`, which falls, passes zero between `low` and `high`.
fn root(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..80 {
        let middle = low + (high - low) / 2.0;
        if f(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    low + (high - low) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Values that a computation apart from this program gave.
    #[test]
    fn the_stage_rests_cuts_off_and_is_limited_by_its_grid_where_it_must() {
        let triode = Triode::at_rest();
        println!("bias {:.5} V, gain {:.3}", triode.bias, triode.gain);
        assert!((triode.bias - 1.19847).abs() < 1e-5, "{}", triode.bias);
        assert!((triode.gain + 60.635).abs() < 1e-3, "{}", triode.gain);
        let (low, high) = (triode.output(-14.0).0, triode.output(14.0).0);
        assert!((low + 1.3178).abs() < 1e-4, "{low}");
        assert!((high - 2.06).abs() < 0.01, "{high}");
        assert!((triode.output(0.0).1 - 1.0).abs() < 1e-6);
    }
}
