//! A guitar as its circuit sees it: coils, controls, cable and input, read from a file and checked once.
//!
//! What goes through every part of a guitar (its circuit, its tolerances, the page's list of values) takes its types
//! apart whole, without `..`, so that a new part does not build until each of them deals with it. For that alone the
//! fields are seen in the whole crate; only this module makes or changes them.

mod asked;
mod assumed;
mod bounds;
mod cavity;
mod coil;
mod controls;
mod draft;
mod joined;
pub mod keys;
mod knob;
mod lever;
mod measured;
mod open;
mod origin;
mod pickup;
mod presets;
mod read;
mod tolerances;
mod values;
mod vary;

pub use asked::{Answers, PickupAnswer, SelectorAnswer, nearest_presets};
pub use bounds::{Bounds, SCALES};
pub use cavity::{Cavity, Grounding, Jack, NamedWire, PickupForm, Shielding, Strings, Turns};
pub use coil::{Coil, Cover, Eddy, LeadNames, Pole, Winding};
pub use controls::{
    BassCut, Bleed, BleedForm, Buffer, Cable, CableBy, Controls, Input, Pot, Taper, Tone, ToneJoined,
    VolumeWiring,
};
pub use draft::{Draft, DraftError};
pub use joined::{Blend, Joined, Linked, Point, Selector};
pub use knob::Knob;
pub use lever::Lever;
pub use measured::{MEASURANDS, Measurand, MeasuredWith, Measurement};
pub use open::GuitarError;
pub use origin::{Origin, Spread, Value};
pub use pickup::{Bypass, Coils, Pickup};
pub use presets::{KIND_UNKNOWN, Preset, UnknownPreset, guitar_presets, pickup_presets};

pub use tolerances::{PartKind, Tolerances, Variation};
pub use values::Placed;
pub use vary::Part;

use crate::document::Name;
use crate::quantity::Metres;
use crate::wiring::Soldered;

/// The file of a guitar that has one of every part there is.
#[cfg(test)]
pub(crate) const EVERY_PART: &str = include_str!("every_part.toml");

/// A guitar whose every value is finite and within the limits of the contributor's guide.
#[derive(Debug, Clone, PartialEq)]
pub struct Guitar {
    pub(crate) name: String,
    pub(crate) scale: Value<Metres>,
    pub(crate) pickups: Vec<Pickup>,
    pub(crate) switches: Vec<Soldered>,
    pub(crate) joined: Joined,
    pub(crate) controls: Controls,
    pub(crate) buffer: Option<Buffer>,
    pub(crate) tolerances: Tolerances,
    pub(crate) cable: Cable,
    pub(crate) input: Input,
    pub(crate) cavity: Cavity,
    pub(crate) notes: Vec<String>,
}

/// A pickup asked for that the guitar does not have.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("the guitar has no pickup `{given}`; it has {known}")]
pub struct UnknownPickup {
    /// The name as given.
    pub given: String,
    /// The names there are.
    pub known: String,
}

impl Guitar {
    /// Returns the guitar's name, in its owner's words.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Returns the length of the open strings between nut and saddle.
    pub fn scale(&self) -> Metres {
        self.scale.value
    }

    /// Returns the pickups in the order of the file; there is at least one.
    pub fn pickups(&self) -> &[Pickup] {
        &self.pickups
    }

    /// Returns the pickup of that name, or the first one where none is named.
    ///
    /// # Errors
    /// [`UnknownPickup`] where there is none of that name.
    pub fn pickup(&self, name: Option<&str>) -> Result<&Pickup, UnknownPickup> {
        let Some(name) = name else { return Ok(&self.pickups[0]) };
        self.pickups.iter().find(|p| p.name().as_str() == name).ok_or_else(|| UnknownPickup {
            given: name.to_owned(),
            known: self.pickups.iter().map(Pickup::name).map(Name::as_str).collect::<Vec<_>>().join(", "),
        })
    }

    /// Returns the switches that are soldered in, in the order of the file.
    pub fn switches(&self) -> &[Soldered] {
        &self.switches
    }

    /// Returns the two-coil pickup that `switch`, one of this guitar's, switches.
    ///
    /// # Panics
    /// Where `switch` is another guitar's and on a pickup that this one does not have.
    pub fn switched_by(&self, switch: &Soldered) -> &Pickup {
        self.pickup(switch.on().map(|on| on.value.as_str())).expect("checked when the file was read")
    }

    /// Returns how the pickups are joined with each other.
    pub fn joined(&self) -> &Joined {
        &self.joined
    }

    /// Returns the buffer between the controls and the jack.
    pub fn buffer(&self) -> Option<Buffer> {
        self.buffer
    }

    /// Returns the pots and all else between the pickups and the jack.
    pub fn controls(&self) -> &Controls {
        &self.controls
    }

    /// Returns how far its parts may be off.
    pub fn tolerances(&self) -> Tolerances {
        self.tolerances
    }

    /// Returns the cable from the jack to the amplifier.
    pub fn cable(&self) -> Cable {
        self.cable
    }

    /// Returns the amplifier's input.
    pub fn input(&self) -> Input {
        self.input
    }

    /// Returns remarks on values that are allowed but outside what is typical, in words.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::{Document, Refusal};
    use crate::quantity::{Henries, Ohms};

    const PLAIN_COIL: &str = "resistance = \"3.9k\"\ninductance = \"1.95\"\ncapacitance = \"100p\"\n";

    fn read(text: &str) -> Result<Guitar, Refusal> {
        Guitar::read(&Document::new("bench.toml", text))
    }

    #[test]
    fn every_built_in_file_is_read_without_a_remark_on_its_values() {
        for preset in guitar_presets() {
            let guitar = Guitar::built_in(preset.name).expect("listed");
            assert_eq!(guitar.notes(), [""; 0], "{}", preset.name);
            assert!(preset.title().len() > 10);
        }
        for preset in pickup_presets() {
            let guitar = Guitar::with_built_in_pickup(preset.name).expect("listed");
            assert_eq!(guitar.notes(), [""; 0], "{}", preset.name);
            assert!(!guitar.assumed().is_empty());
        }
    }

    #[test]
    fn what_a_file_leaves_out_is_assumed_and_said() {
        let guitar = read(&format!(
            "format = 1\n[[pickup]]\nname = \"bridge\"\n[pickup.coil_a]\n{PLAIN_COIL}[pickup.coil_b]\n{PLAIN_COIL}"
        ))
        .expect("complete");
        assert_eq!(guitar.scale(), Metres::new(0.648));
        let pickup = &guitar.pickups()[0];
        assert_eq!((pickup.from_bridge(), pickup.spacing()), (Metres::new(0.045), Metres::new(0.0185)));
        assert_eq!(pickup.coil_b().map(Coil::top_pole), Some(Pole::South));
        assert_eq!(guitar.controls().volume().map(|v| v.track()), Some(Ohms::new(500e3)));
        let assumed = [pickup.assumed(), guitar.assumed()].concat();
        for said in
            ["scale: 648 mm", "bridge, coupling: 0.13", "bridge, coil B, top pole: south", "cable: 3.00 m"]
        {
            assert!(assumed.iter().any(|a| a.starts_with(said)), "{said}: {assumed:?}");
        }
    }

    #[test]
    fn a_measured_resistance_alone_scales_the_built_in_coil() {
        let guitar = read("format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n[pickup.coil_a]\nresistance = \"4.29k\"\n")
            .expect("complete");
        let coil = guitar.pickups()[0].coil_a();
        assert_eq!(coil.resistance(), Ohms::new(4290.0));
        assert!((coil.inductance().value() - 2.0 * 1.21).abs() < 1e-12);
        assert!((coil.capacitance().value() - 132e-12).abs() < 1e-22);
        assert!((coil.output() - 1.1).abs() < 1e-12);
        assert!(guitar.pickups()[0].assumed().iter().any(|a| a.contains("scaled to the stated resistance")));
    }

    #[test]
    fn a_stated_value_is_taken_and_the_others_stay_as_built_in() {
        let guitar = read("format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n[pickup.coil_b]\nresistance = \"4.1k\"\ninductance = \"2.1\"\n")
            .expect("complete");
        let pickup = &guitar.pickups()[0];
        assert_eq!(pickup.coil_b().map(Coil::inductance), Some(Henries::new(2.1)));
        assert_eq!(pickup.coil_b().map(Coil::output), Some(1.0));
        assert_eq!(pickup.coil_a().resistance(), Ohms::new(3900.0));
    }

    #[test]
    fn every_fault_of_a_guitar_file_is_told_with_its_line() {
        let text = format!(
            "format = 2\nname = \"x\"\nscale = \"648 mm\"\n[[pickup]]\nname = \"Bridge!\"\ncoupling = 1.0\n[pickup.coil_a]\n{PLAIN_COIL}los = \"220k\"\n[pickup.coil_b]\nresistance = \"3.9k\"\ninductance = \"0\"\ncapacitance = \"-100p\"\n[controls]\nvolume = {{ pot = \"500k\", turned = 11 }}\n"
        );
        let refusal = read(&text).expect_err("faulty");
        let told = refusal.to_string();
        for said in [
            "line 1: format 2 is not known",
            "line 5: `name`: `Bridge!` is no name",
            "line 6: `coupling` is 1; allowed is from 0 to below 1",
            "line 11: unknown key `los` in `pickup.coil_a` (hint: did you mean `loss`?)",
            "line 14: `inductance` is 0 H; allowed is from",
            "line 15: `capacitance` is -100 pF; allowed is 0, or from",
            "line 17: `turned` is 11; allowed is from 0 to 10",
        ] {
            assert!(told.contains(said), "{said}\n---\n{told}");
        }
        assert_eq!(refusal.faults().len(), 7, "{told}");
    }

    #[test]
    fn an_untypical_value_is_remarked_on_and_kept() {
        let guitar = read(&format!(
            "format = 1\n[[pickup]]\nname = \"bridge\"\n[pickup.coil_a]\n{}",
            PLAIN_COIL.replace("3.9k", "30k")
        ))
        .expect("allowed");
        assert!(guitar.notes()[0].contains("pickup.coil_a.resistance is 30.0 kΩ, outside the typical"));
    }

    const SWITCH: &str = "[[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\njoints = [\
        [\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";

    #[test]
    fn a_switch_is_read_with_the_pickup_it_is_on() {
        let preset = guitar_presets()[0].text;
        let guitar = read(&format!("{preset}{SWITCH}")).expect("complete");
        assert_eq!(guitar.switches()[0].name().value.as_str(), "mode");
        assert_eq!(guitar.switched_by(&guitar.switches()[0]).name().as_str(), "bridge");
    }

    #[test]
    fn a_switch_must_have_a_name_of_its_own_and_two_coils_to_switch() {
        let preset = guitar_presets()[0].text;
        let second = SWITCH.replace("bridge", "middle");
        let third = SWITCH.replace("on = \"bridge\"\n", "");
        let refusal = read(&format!("{preset}{SWITCH}{second}{third}")).expect_err("four faults").to_string();
        for said in [
            "a second switch is named `mode`",
            "the guitar has no pickup `middle` (hint: it has bridge, neck)",
            "switch `mode` does not say which pickup it is on (hint: add on = one of bridge, neck)",
        ] {
            assert!(refusal.contains(said), "{said}\n---\n{refusal}");
        }
        let one_coil = format!("format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"soapbar\"\n{SWITCH}");
        assert!(read(&one_coil).expect_err("one coil").to_string().contains("leaves nothing to switch"));
    }

    #[test]
    fn the_finish_is_plus_where_winding_and_pole_agree() {
        let coil = Guitar::built_in("set-neck").expect("listed").pickups()[0].coil_a().clone();
        for (winding, top_pole, finish_is_plus, hum_at_plus) in [
            (Winding::Clockwise, Pole::North, true, 1.0),
            (Winding::CounterClockwise, Pole::North, false, 1.0),
            (Winding::Clockwise, Pole::South, false, -1.0),
            (Winding::CounterClockwise, Pole::South, true, -1.0),
        ] {
            let coil =
                Coil { winding: Value::stated(winding), top_pole: Value::stated(top_pole), ..coil.clone() };
            assert_eq!(coil.finish_is_plus(), finish_is_plus);
            assert_eq!(coil.hum_at_plus(), hum_at_plus);
        }
    }
}
