//! Every value that a guitar has, with the place at which its file states it or might.

use super::{
    BassCut, Bleed, BleedForm, Blend, Buffer, Cable, CableBy, Coil, Coils, Controls, Guitar, Input, Joined,
    Measurand, Origin, Pickup, Pot, Taper, Tone, Value,
};

/// A value as a guitar has it, whether its file states it or not.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The place in the guitar's file, such as `pickup[0].coil_a.resistance`.
    pub place: String,
    /// The value in words, such as `3.61 kΩ`.
    pub shown: String,
    /// Where it is from.
    pub origin: Origin,
}

impl Guitar {
    /// Returns the values that it has, from the first key of its file to the last.
    pub fn values(&self) -> Vec<Placed> {
        let Self {
            name: _,
            scale,
            pickups,
            switches: _,
            joined: Joined { fixed: _, selectors: _, blend, linked: _ },
            controls: own,
            buffer,
            tolerances: _,
            cable: Cable { capacitance, by },
            input: Input { resistance, capacitance: input_capacitance },
            cavity: _,
            notes: _,
        } = self;
        let mut values = Values::default();
        values.add("scale", scale);
        for (i, pickup) in pickups.iter().enumerate() {
            values.pickup(&format!("pickup[{i}]"), pickup);
        }
        if let Some(Blend { pot, ends: _ }) = blend {
            values.pot("blend", pot);
        }
        values.controls("controls", own);
        if let Some(Buffer { input, output }) = buffer {
            values.add("buffer.input", input);
            values.add("buffer.output", output);
        }
        match by {
            CableBy::Total => values.add("cable.total", &Value::stated(*capacitance)),
            CableBy::Length { length, per_metre } => {
                values.add("cable.length", length);
                values.add("cable.per_metre", per_metre);
            }
        }
        values.add("input.resistance", resistance);
        values.add("input.capacitance", input_capacitance);
        values.0
    }
}

/// Values being gathered.
#[derive(Default)]
struct Values(Vec<Placed>);

impl Values {
    fn add(&mut self, place: &str, value: &Value<impl std::fmt::Display>) {
        self.0.push(Placed { place: place.to_owned(), shown: value.to_string(), origin: value.origin });
    }

    fn pickup(&mut self, at: &str, pickup: &Pickup) {
        let Pickup {
            name: _,
            like,
            from_bridge,
            spacing,
            coils,
            arrangement: _,
            controls,
            form: _,
            cover,
            level,
        } = pickup;
        if let Some(like) = like {
            self.add(&format!("{at}.like"), like);
        }
        self.add(&format!("{at}.from_bridge"), from_bridge);
        self.add(&format!("{at}.lead_capacitance"), &pickup.coil_a().lead);
        self.add(&format!("{at}.cover"), cover);
        self.add(&format!("{at}.level"), level);
        match coils {
            Coils::One(a) => self.coil(&format!("{at}.coil_a"), a),
            Coils::Two { a, b, coupling, bypass: _ } => {
                self.add(&format!("{at}.spacing"), spacing);
                self.add(&format!("{at}.coupling"), coupling);
                self.coil(&format!("{at}.coil_a"), a);
                self.coil(&format!("{at}.coil_b"), b);
            }
        }
        self.controls(&format!("{at}.controls"), controls);
    }

    fn coil(&mut self, at: &str, coil: &Coil) {
        for measurand in Measurand::ALL {
            if let Some((shown, origin)) = coil.measurand(measurand) {
                self.0.push(Placed { place: format!("{at}.{}", measurand.key()), shown, origin });
            }
        }
        let plain = |value: &Value<f64>| Value { value: shortened(value.value), origin: value.origin };
        self.add(&format!("{at}.output"), &plain(&coil.output));
        self.add(&format!("{at}.turns"), &plain(&coil.turns));
        self.add(&format!("{at}.winding"), &coil.winding);
        self.add(&format!("{at}.top_pole"), &coil.top_pole);
    }

    fn pot(&mut self, at: &str, Pot { track, taper, turned }: &Pot) {
        self.add(&format!("{at}.pot"), track);
        self.add(&format!("{at}.taper"), taper);
        if let Taper::Audio { mid } = taper.value {
            self.add(&format!("{at}.mid"), &Value { value: shortened(mid), origin: taper.origin });
        }
        self.add(&format!("{at}.turned"), turned);
    }

    fn controls(&mut self, at: &str, controls: &Controls) {
        let Controls { volume, wiring: _, tone, bleed, bass_cut, load } = controls;
        if let Some(volume) = volume {
            self.pot(&format!("{at}.volume"), volume);
        }
        if let Some(Tone { pot, capacitor, joined: _ }) = tone {
            self.pot(&format!("{at}.tone"), pot);
            self.add(&format!("{at}.tone.capacitor"), capacitor);
        }
        if let Some(Bleed { capacitor, form }) = bleed {
            self.add(&format!("{at}.bleed.capacitor"), &Value::stated(*capacitor));
            match form.value {
                BleedForm::Capacitor => {}
                BleedForm::Parallel(resistor) | BleedForm::Series(resistor) => {
                    self.add(&format!("{at}.bleed.resistor"), &Value::stated(resistor));
                }
            }
        }
        if let Some(BassCut { pot, capacitor }) = bass_cut {
            self.pot(&format!("{at}.bass_cut"), pot);
            self.add(&format!("{at}.bass_cut.capacitor"), &Value::stated(*capacitor));
        }
        if let Some(load) = load {
            self.add(&format!("{at}.load"), &Value::stated(*load));
        }
    }
}

/// Returns a plain number without the digits that mean nothing.
fn shortened(value: f64) -> f64 {
    (value * 1000.0).round() / 1000.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::keys::GUITAR;
    use crate::guitar::{Draft, guitar_presets};

    #[test]
    fn each_value_stands_at_a_key_and_is_stated_where_the_file_states_it() {
        for preset in guitar_presets() {
            let draft = Draft::copy_of(preset);
            let values = draft.check().expect("no fault").values();
            assert!(values.len() > 20, "{}: {}", preset.name, values.len());
            for Placed { place, shown, origin } in values {
                assert!(GUITAR.key_at(&place.parse().expect("a place")).is_some(), "{place}");
                assert!(!shown.is_empty(), "{place}");
                let is_written = draft.get(&place).expect("a place").is_some();
                // The taper's two keys are one value.
                if !place.ends_with("mid") {
                    assert_eq!(origin.is_stated(), is_written, "{}: {place}", preset.name);
                }
            }
        }
    }

    #[test]
    fn a_value_that_is_changed_is_the_one_at_its_place() {
        let mut draft = Draft::copy_of(&guitar_presets()[0]);
        let at = |draft: &Draft, place: &str| {
            let values = draft.check().expect("no fault").values();
            values.into_iter().find(|value| value.place == place).expect("there")
        };
        assert_eq!(at(&draft, "pickup[1].coil_b.resistance").origin.to_string(), "from `vintage-full-size`");
        draft.set("pickup[1].coil_b.resistance", "4.2k").expect("a place");
        let changed = at(&draft, "pickup[1].coil_b.resistance");
        assert_eq!((changed.shown.as_str(), changed.origin), ("4.20 kΩ", Origin::Stated));
        assert!(matches!(at(&draft, "pickup[1].coil_b.inductance").origin, Origin::Scaled { .. }));
    }
}
