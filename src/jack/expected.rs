//! What the meter reads at the jack, with the band in which it may.

use crate::circuit::{Circuit, Driven, JackLoad, Nets, Node, Wired, circuit_of, resistance_to_ground};
use crate::guitar::{Guitar, Knob, PartKind};
use crate::leads::OhmmeterReading;
use crate::quantity::{Hertz, Ohms};
use crate::response::VoiceError;
use crate::wiring::Sense;

/// How far the meter and the room may be off; how far the parts may, the guitar's own [`crate::guitar::Tolerances`] say.
///
/// # Source
/// Copper: the temperature coefficient of annealed copper at 20 °C, IEC 60028. The meter's share and the room's range
/// are stated choices, wide enough for a handheld meter in any workshop.
#[derive(Debug, Clone, Copy)]
pub struct Tolerance;

impl Tolerance {
    /// The meter, as a share of what it reads.
    pub const METER: f64 = 0.02;
    /// The meter's last digit on its 20 kΩ range, which also covers the resistance of its leads.
    pub const METER_DIGIT: Ohms = Ohms::new(10.0);
    /// Copper's rise in resistance per kelvin.
    pub const COPPER: f64 = 0.00393;
    /// The temperature at which a coil has its stated resistance, in °C.
    pub const REFERENCE: f64 = 20.0;
    /// The coldest and the warmest room, in °C.
    pub const ROOM: [f64; 2] = [10.0, 30.0];
    /// From here on `open` may be what a meter on a low range shows, not only a broken circuit.
    pub const OFF_THE_RANGE: Ohms = Ohms::new(100e3);
}

/// What the meter reads at the jack in one state.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Expected {
    /// No path leads from tip to sleeve.
    Open,
    /// A resistance.
    Ohms {
        /// With every part at its stated value.
        nominal: Ohms,
        /// The least that parts and meter within their tolerances show.
        low: Ohms,
        /// The most.
        high: Ohms,
    },
}

impl Expected {
    /// Returns the resistance with every part at its stated value, `None` where it is open.
    pub fn nominal(self) -> Option<Ohms> {
        match self {
            Self::Open => None,
            Self::Ohms { nominal, .. } => Some(nominal),
        }
    }

    /// Returns the least and the most that the meter may show, `None` where it is open.
    pub fn band(self) -> Option<[Ohms; 2]> {
        match self {
            Self::Open => None,
            Self::Ohms { low, high, .. } => Some([low, high]),
        }
    }

    /// Returns how far what the meter showed is from the nominal value, 1 at the edge of the band.
    pub fn deviation(self, shown: &OhmmeterReading) -> f64 {
        let number = shown.closed().or(shown.leakage());
        match (self, number) {
            (Self::Open, None) => 0.0,
            (Self::Open, Some(ohms)) if ohms >= OhmmeterReading::OPEN_FROM => 0.0,
            (Self::Ohms { high, .. }, None) if high >= Tolerance::OFF_THE_RANGE => 0.0,
            (Self::Open, Some(_)) | (Self::Ohms { .. }, None) => f64::INFINITY,
            (Self::Ohms { .. }, Some(ohms)) => self.deviation_of(ohms),
        }
    }

    /// Returns whether what the meter showed lies in the band.
    pub fn fits(self, shown: &OhmmeterReading) -> bool {
        self.deviation(shown) <= 1.0
    }

    /// Returns whether a meter cannot tell the two apart: each nominal value lies in the other's band.
    pub fn is_like(self, other: Self) -> bool {
        match (self.nominal(), other.nominal()) {
            (None, None) => true,
            (Some(own), Some(others)) => self.deviation_of(others) <= 1.0 && other.deviation_of(own) <= 1.0,
            (None, Some(_)) | (Some(_), None) => false,
        }
    }

    fn deviation_of(self, ohms: Ohms) -> f64 {
        let Self::Ohms { nominal, low, high } = self else { return f64::INFINITY };
        let (ohms, nominal) = (ohms.value(), nominal.value());
        // The band's halves are never empty where they are divided by: the meter's last digit is in the upper one,
        // and nothing lies below a nominal value of zero.
        if ohms >= nominal {
            (ohms - nominal) / (high.value() - nominal)
        } else {
            (nominal - ohms) / (nominal - low.value())
        }
    }
}

/// A guitar with its knobs in one place, and the same with every part at either end of its tolerance.
#[derive(Debug, Clone)]
pub struct AtJack {
    nominal: Guitar,
    low: Guitar,
    high: Guitar,
}

impl AtJack {
    /// Returns the guitar as its file has it.
    pub fn as_set(guitar: &Guitar) -> Self {
        let tolerances = guitar.tolerances();
        let end = |end: usize| {
            let warmth = 1.0 + Tolerance::COPPER * (Tolerance::ROOM[end] - Tolerance::REFERENCE);
            guitar.with_parts(|part| {
                let within = || tolerances.range(part.kind, part.origin, part.value)[end];
                match part.kind {
                    // The same kind of meter measured it that reads it again: its share is in the band once.
                    PartKind::Resistance if part.origin.is_stated() => warmth * part.value,
                    PartKind::Resistance => warmth * within(),
                    PartKind::Pot | PartKind::Resistor => within(),
                    // No direct current depends on these; knobs are read at full, or where they are said to stand.
                    PartKind::Inductance
                    | PartKind::Capacitance
                    | PartKind::Loss
                    | PartKind::EddyShare
                    | PartKind::EddyCorner
                    | PartKind::Lead
                    | PartKind::Output
                    | PartKind::Turns
                    | PartKind::Coupling
                    | PartKind::Taper
                    | PartKind::Capacitor
                    | PartKind::Cable
                    | PartKind::InputResistance
                    | PartKind::InputCapacitance => part.value,
                }
            })
        };
        Self { low: end(0), high: end(1), nominal: guitar.clone() }
    }

    /// Returns the guitar with all parts that a meter sees at their low ends, and at their high ends.
    pub(crate) fn ends(&self) -> [&Guitar; 2] {
        [&self.low, &self.high]
    }

    /// Returns the guitar with all its knobs full, as readings are taken.
    pub fn full(guitar: &Guitar) -> Self {
        Self::as_set(&guitar.with_knobs_full())
    }

    /// Returns the guitar with all its knobs full but this one.
    pub fn full_but(guitar: &Guitar, knob: Knob, turned: f64) -> Self {
        Self::as_set(&guitar.with_knobs_full().with_knob_at(knob, turned))
    }

    /// Returns what the meter reads where `nets` join what is soldered.
    ///
    /// A network's resistance never falls when one of its resistors rises (Rayleigh's monotonicity law), so the
    /// ends of the band are where all parts are at the same end.
    ///
    /// # Errors
    /// [`VoiceError`] where the circuit has no solution.
    pub fn expected(&self, nets: &Nets) -> Result<Expected, VoiceError> {
        let Some(nominal) = self.nominal(nets)? else { return Ok(Expected::Open) };
        let end = |guitar| resistance(guitar, nets).map(|ohms| ohms.unwrap_or(nominal).value());
        let digit = Tolerance::METER_DIGIT.value();
        let low = (end(&self.low)? * (1.0 - Tolerance::METER) - digit).max(0.0);
        let high = end(&self.high)? * (1.0 + Tolerance::METER) + digit;
        Ok(Expected::Ohms { nominal, low: Ohms::new(low), high: Ohms::new(high) })
    }

    /// Returns what a perfect meter reads with every part at its stated value, `None` where it is open.
    ///
    /// # Errors
    /// [`VoiceError`] where the circuit has no solution.
    pub fn nominal(&self, nets: &Nets) -> Result<Option<Ohms>, VoiceError> {
        resistance(&self.nominal, nets)
    }

    /// Returns of each coil, pickup after pickup, which way a meter at the jack swings when steel touches its poles,
    /// `None` where nothing of it arrives.
    ///
    /// # Errors
    /// [`VoiceError`] where the circuit has no solution.
    pub fn swings(&self, nets: &Nets) -> Result<Vec<Option<Sense>>, VoiceError> {
        let Driven { mut netlist, jack, ends: _ } =
            circuit_of(&self.nominal, Wired::Soldered(nets), JackLoad::Unplugged)?;
        netlist.resistor(jack, Node::GROUND, MILLIVOLTMETER);
        let paths = Circuit::new(&netlist, jack).response(TAP)?;
        let sense = |share: f64| if share > 0.0 { Sense::Upright } else { Sense::Turned };
        Ok(paths.iter().map(|path| (path.norm() > ARRIVES).then(|| sense(path.re))).collect())
    }
}

/// The input of a handheld meter on a range of volts.
const MILLIVOLTMETER: Ohms = Ohms::new(10e6);
/// A touch of steel is about as slow as this.
const TAP: Hertz = Hertz::new(1.0);
/// Less than this share of a coil's voltage is no swing that could be told at the jack.
const ARRIVES: f64 = 0.05;

fn resistance(guitar: &Guitar, nets: &Nets) -> Result<Option<Ohms>, VoiceError> {
    let driven = circuit_of(guitar, Wired::Soldered(nets), JackLoad::Unplugged)?;
    Ok(resistance_to_ground(&driven.netlist, driven.jack)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::Solder;
    use crate::document::Document;
    use crate::jack::State;
    use crate::wiring::Arrangement;

    fn guitar(coil: &str, pot: &str, turned: f64) -> Guitar {
        let one = |name| {
            format!("[pickup.{name}]\nresistance = \"{coil}\"\ninductance = \"2\"\ncapacitance = \"0\"\n")
        };
        let text = format!(
            "format = 1\n[[pickup]]\nname = \"p\"\n{}{}[controls]\n\
            volume = {{ pot = \"{pot}\", taper = \"linear\", turned = {turned} }}\n",
            one("coil_a"),
            one("coil_b"),
        );
        Guitar::read(&Document::new("mine.toml", text)).unwrap()
    }

    fn nets(guitar: &Guitar, arrangement: Arrangement) -> Nets {
        let solder = Solder::of(guitar).strapped(0, arrangement.connection());
        State::standing(guitar, 0).nets(guitar, &solder)
    }

    fn read(guitar: &Guitar, arrangement: Arrangement) -> (f64, f64, f64) {
        match AtJack::full(guitar).expected(&nets(guitar, arrangement)).unwrap() {
            Expected::Ohms { nominal, low, high } => (nominal.value(), low.value(), high.value()),
            Expected::Open => panic!("not open"),
        }
    }

    /// `R_read = R R_v / (R + R_v)`: 8k reads 7.87k beside 500k and 7.75k beside 250k, 2k reads 1.992k.
    #[test]
    fn a_coil_is_read_beside_the_volume_pot() {
        for (coil, pot, arrangement, expected, digits) in [
            ("4k", "500k", Arrangement::Series, 7870.0, 10.0),
            ("4k", "250k", Arrangement::Series, 7750.0, 10.0),
            ("4k", "500k", Arrangement::Parallel, 1992.0, 1.0),
        ] {
            let (nominal, ..) = read(&guitar(coil, pot, 3.0), arrangement);
            assert!((nominal - expected).abs() <= digits / 2.0, "{nominal}");
        }
    }

    #[test]
    fn equal_coils_read_four_to_two_to_one_but_for_the_pot() {
        let coils = |arrangement| {
            let (read, ..) = read(&guitar("4k", "500k", 10.0), arrangement);
            read * 500e3 / (500e3 - read)
        };
        let one = coils(Arrangement::SplitA);
        assert!((coils(Arrangement::Series) / one - 2.0).abs() < 1e-9);
        assert!((coils(Arrangement::Parallel) / one - 0.5).abs() < 1e-9);
    }

    /// Below full the meter reads `(R + R_top) ∥ R_bottom`.
    #[test]
    fn below_full_the_pots_legs_are_read_with_the_coils() {
        let guitar = guitar("4k", "500k", 10.0);
        let turned = AtJack::full_but(&guitar, Knob::Volume(None), 7.0);
        let nominal = turned.nominal(&nets(&guitar, Arrangement::Series)).unwrap().unwrap().value();
        let expected = 1.0 / (1.0 / (8e3 + 150e3) + 1.0 / 350e3);
        assert!((nominal - expected).abs() < 1e-6, "{nominal}");
    }

    /// The band written out: a room of 10 or 30 °C, a pot of 400 or 600 kΩ, a meter 2 % and a digit off.
    #[test]
    fn the_band_is_that_of_the_worst_parts_together() {
        let (_, low, high) = read(&guitar("4k", "500k", 10.0), Arrangement::Series);
        let beside = |coils: f64, pot: f64| coils * pot / (coils + pot);
        assert!((low - (beside(8e3 * (1.0 - 0.0393), 400e3) * 0.98 - 10.0)).abs() < 1e-6);
        assert!((high - (beside(8e3 * (1.0 + 0.0393), 600e3) * 1.02 + 10.0)).abs() < 1e-6);
    }

    #[test]
    fn a_built_in_coil_has_a_wider_band_than_a_stated_one() {
        let built_in = Guitar::built_in("travel-mini").unwrap();
        let (nominal, low, high) = read(&built_in, Arrangement::Series);
        assert!(low < nominal * 0.86 && high > nominal * 1.14, "{low} {nominal} {high}");
    }

    #[test]
    fn open_is_also_what_a_meter_shows_of_a_pot_on_a_low_range() {
        let shown = |text| OhmmeterReading::parse(text).unwrap();
        let between = |low, nominal, high| Expected::Ohms {
            nominal: Ohms::new(nominal),
            low: Ohms::new(low),
            high: Ohms::new(high),
        };
        let pot = between(390e3, 500e3, 612e3);
        assert!(pot.fits(&shown("open")) && pot.fits(&shown("480k")) && !pot.fits(&shown("8k")));
        assert!(Expected::Open.fits(&shown("open")) && Expected::Open.fits(&shown("20M")));
        assert!(!Expected::Open.fits(&shown("500k")));
        let short = between(0.0, 0.0, 10.0);
        assert!(short.fits(&shown("0")) && short.fits(&shown("0.4")) && !short.fits(&shown("open")));
        assert!(!between(7.4e3, 7.87e3, 8.4e3).fits(&shown("open")));
    }

    #[test]
    fn a_swing_arrives_from_what_lies_between_tip_and_sleeve_alone() {
        use Sense::{Turned, Upright};
        for pot in ["500k", "100 Ω"] {
            let guitar = guitar("4k", pot, 10.0);
            let swings = |arrangement| AtJack::full(&guitar).swings(&nets(&guitar, arrangement)).unwrap();
            let arrives = pot == "500k";
            let heard = |own: [Option<Sense>; 2]| own.map(|sense| sense.filter(|_| arrives));
            assert_eq!(swings(Arrangement::Series), heard([Some(Upright); 2]));
            assert_eq!(swings(Arrangement::SplitB), heard([None, Some(Upright)]));
            assert_eq!(swings(Arrangement::SplitAOpen), heard([Some(Upright), None]));
            assert_eq!(swings(Arrangement::SeriesReversed), heard([Some(Upright), Some(Turned)]));
        }
    }
}
