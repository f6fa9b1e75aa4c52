//! What a guitar's file does not state, and what it states as measured, in words.

use super::origin::percent;
use super::{
    BassCut, Bleed, BleedForm, Blend, Buffer, Cable, CableBy, Coil, Coils, Controls, Eddy, Guitar, Input,
    Joined, Measurand, MeasuredWith, Origin, Pickup, Pot, Tone, Value,
};
use crate::wiring::CoilName;

impl Guitar {
    /// Returns the guitar's values that the file did not state and that were assumed, in words, without those of
    /// its pickups.
    pub fn assumed(&self) -> Vec<String> {
        let Self {
            name: _,
            scale,
            pickups,
            switches: _,
            joined: Joined { fixed: _, selectors: _, blend, linked: _ },
            controls,
            buffer,
            tolerances: _,
            cable,
            input,
            cavity: _,
            notes: _,
        } = self;
        let mut lines = Lines::default();
        lines.usual("scale", scale);
        lines.levels(pickups);
        if let Some(Blend { pot, ends: _ }) = blend {
            lines.pot("blend", pot);
        }
        lines.guitar_controls(controls, pickups);
        if let Some(Buffer { input, output }) = buffer {
            lines.usual("buffer, input", input);
            lines.usual("buffer, output", output);
        }
        lines.cable(cable);
        lines.input(input);
        lines.0
    }
}

impl Pickup {
    /// Returns the pickup's values that the file did not state and that were assumed, in words.
    pub fn assumed(&self) -> Vec<String> {
        // What a cover does is told by its eddy section.
        let Self {
            name,
            like,
            from_bridge,
            spacing,
            coils,
            cover: _,
            level: _,
            arrangement: _,
            controls,
            form: _,
        } = self;
        let mut lines = Lines::default();
        if let Some(like) = like {
            lines.usual(&format!("{name}, its kind, which is not known"), like);
        }
        match coils {
            Coils::One(a) => {
                lines.coil(&format!("{name}, {}", CoilName::A), a);
                lines.usual(&format!("{name}, distance to the bridge"), from_bridge);
            }
            Coils::Two { a, b, coupling, bypass: _ } => {
                lines.coil(&format!("{name}, {}", CoilName::A), a);
                lines.coil(&format!("{name}, {}", CoilName::B), b);
                lines.usual(&format!("{name}, distance to the bridge"), from_bridge);
                lines.not_stated(&format!("{name}, coil spacing"), spacing);
                lines.not_stated(&format!("{name}, coupling"), coupling);
            }
        }
        lines.controls(&format!("{name}, "), controls);
        lines.0
    }

    /// Returns the coils' values that the file states as measured, each with its standard deviation, in words.
    pub fn measured(&self) -> Vec<String> {
        let coils = CoilName::BOTH.into_iter().zip([Some(self.coil_a()), self.coil_b()]);
        let told = coils.filter_map(|(name, coil)| Some((name, measured(coil?)?)));
        told.map(|(name, told)| format!("{}, {name}{told}", self.name)).collect()
    }
}

/// Returns the measured values of `coil`, where it has any.
fn measured(coil: &Coil) -> Option<String> {
    let with = match coil.measurement.as_ref()?.with() {
        MeasuredWith::Alone => "",
        MeasuredWith::Pair => ", as a pair",
    };
    let value = |measurand: Measurand| {
        let (shown, origin) = coil.measurand(measurand)?;
        Some(format!("{} {shown} ± {}", measurand.words(), percent(origin.deviation()?)))
    };
    let values: Vec<String> = Measurand::ALL.into_iter().filter_map(value).collect();
    Some(format!("{with}: {}", values.join(", ")))
}

/// Lines of what was assumed.
#[derive(Default)]
struct Lines(Vec<String>);

impl Lines {
    /// Tells the value where it is what is usual.
    fn usual(&mut self, what: &str, value: &Value<impl std::fmt::Display>) {
        match value.origin {
            Origin::Default => self.0.push(format!("{what}: {value}")),
            Origin::Stated | Origin::Measured { .. } | Origin::Scaled { .. } | Origin::Preset { .. } => {}
        }
    }

    /// Tells the levels between pickups where the file has none: one alone may be what others are told against.
    fn levels(&mut self, pickups: &[Pickup]) {
        let is_usual = |pickup: &Pickup| matches!(pickup.level.origin, Origin::Default);
        if pickups.len() > 1 && pickups.iter().all(is_usual) {
            self.0.push("levels between pickups: 0 dB, as their places and values make them".to_owned());
        }
    }

    /// Tells the value where it is not the file's own.
    fn not_stated(&mut self, what: &str, value: &Value<impl std::fmt::Display>) {
        if !value.origin.is_stated() {
            self.0.push(format!("{what}: {value}"));
        }
    }

    /// Tells the value and where it is from where that is a built-in pickup.
    fn built_in(&mut self, what: &str, value: &Value<impl std::fmt::Display>) {
        match value.origin {
            Origin::Scaled { .. } | Origin::Preset { .. } => {
                self.0.push(format!("{what}: {value}, {}", value.origin));
            }
            Origin::Stated | Origin::Measured { .. } | Origin::Default => {}
        }
    }

    fn coil(&mut self, called: &str, coil: &Coil) {
        if let Some(preset) = whole_preset(coil) {
            self.0.push(format!("{called}: all values from `{preset}`"));
            return;
        }
        // What an eddy section is and how many turns there are goes without saying.
        let Coil {
            resistance,
            inductance,
            capacitance,
            loss,
            eddy: _,
            lead,
            output,
            turns: _,
            winding,
            top_pole,
            leads: _,
            measurement: _,
        } = coil;
        self.built_in(&format!("{called}, resistance"), resistance);
        self.built_in(&format!("{called}, inductance"), inductance);
        self.built_in(&format!("{called}, capacitance"), capacitance);
        if let Some(loss) = loss {
            self.built_in(&format!("{called}, loss"), loss);
        }
        if lead.value.value() > 0.0 {
            self.built_in(&format!("{called}, lead's capacitance"), lead);
        }
        match output.origin {
            Origin::Scaled { .. } => {
                self.0.push(format!("{called}, output: {:.3}, {}", output.value, output.origin));
            }
            Origin::Default => self.usual(&format!("{called}, output"), output),
            Origin::Stated | Origin::Measured { .. } | Origin::Preset { .. } => {}
        }
        self.usual(&format!("{called}, winding"), winding);
        self.usual(&format!("{called}, top pole"), top_pole);
    }

    fn pot(&mut self, called: &str, Pot { track, taper, turned }: &Pot) {
        self.usual(&format!("{called}, pot"), track);
        self.usual(&format!("{called}, taper"), taper);
        self.usual(&format!("{called}, turned"), turned);
    }

    fn controls(&mut self, whose: &str, controls: &Controls) {
        let Controls { volume, wiring: _, tone, bleed, bass_cut, load: _ } = controls;
        if let Some(volume) = volume {
            self.pot(&format!("{whose}volume"), volume);
        }
        if let Some(Tone { pot, capacitor, joined: _ }) = tone {
            self.pot(&format!("{whose}tone"), pot);
            self.usual(&format!("{whose}tone, capacitor"), capacitor);
        }
        if let Some(Bleed {
            capacitor: _,
            form: Value { value: BleedForm::Parallel(_), origin: Origin::Default },
        }) = bleed
        {
            self.0.push("bleed, joined: parallel".to_owned());
        }
        if let Some(BassCut { pot, capacitor: _ }) = bass_cut {
            self.pot(&format!("{whose}bass cut"), pot);
        }
    }

    /// Tells the guitar's own controls, in one line where all of them are what is usual.
    fn guitar_controls(&mut self, controls: &Controls, pickups: &[Pickup]) {
        let none = Controls::default();
        if *controls == none {
            if pickups.iter().any(|pickup| pickup.controls != none) {
                self.0.push("controls: only those of the pickups".to_owned());
            }
        } else if let Some((pot, capacitor)) = controls.usual_pots() {
            self.0.push(format!(
                "controls: volume and tone pots of {}, audio taper, full, with {capacitor} on the tone pot",
                pot.track
            ));
        } else {
            self.controls("", controls);
        }
    }

    fn cable(&mut self, Cable { capacitance: _, by }: &Cable) {
        match by {
            CableBy::Total => {}
            CableBy::Length {
                length: Value { value: length, origin: Origin::Default },
                per_metre: Value { value: per_metre, origin: Origin::Default },
            } => self.0.push(format!("cable: {length} at {per_metre} a metre")),
            CableBy::Length { length, per_metre } => {
                self.usual("cable, length", length);
                self.usual("cable, per metre", per_metre);
            }
        }
    }

    fn input(&mut self, Input { resistance, capacitance }: &Input) {
        let is_none = capacitance.value.value() == 0.0;
        if [resistance.origin, capacitance.origin] == [Origin::Default; 2] {
            let shown = if is_none { "no capacitance".to_owned() } else { capacitance.to_string() };
            self.0.push(format!("amplifier input: {resistance}, {shown}"));
        } else {
            let shown = if is_none { "none".to_owned() } else { capacitance.to_string() };
            self.usual("input, resistance", resistance);
            self.usual("input, capacitance", &Value { value: shown, origin: capacitance.origin });
        }
    }
}

/// Returns the built-in pickup from which all of the coil is, but for scaling.
fn whole_preset(coil: &Coil) -> Option<&'static str> {
    let Coil {
        resistance,
        inductance,
        capacitance,
        loss,
        eddy,
        lead,
        output,
        turns,
        winding,
        top_pole,
        leads,
        measurement: _,
    } = coil;
    let eddy = eddy.map(|Eddy { share, corner }| [share.origin, corner.origin]);
    let mut origins = [
        resistance.origin,
        inductance.origin,
        capacitance.origin,
        lead.origin,
        output.origin,
        turns.origin,
        winding.origin,
        top_pole.origin,
    ]
    .into_iter()
    .chain(loss.map(|loss| loss.origin))
    .chain(eddy.into_iter().flatten());
    let is_whole = leads.is_none() && origins.all(|origin| matches!(origin, Origin::Preset { .. }));
    match resistance.origin {
        Origin::Preset { preset, .. } if is_whole => Some(preset),
        Origin::Preset { .. }
        | Origin::Stated
        | Origin::Measured { .. }
        | Origin::Scaled { .. }
        | Origin::Default => None,
    }
}
