//! What the signal passes behind the coils.

use super::pen::{GROUND, HOT, Pen};
use crate::guitar::{BassCut, Bleed, BleedForm, Controls, Guitar, Pot, Tone, ToneJoined, VolumeWiring};
use crate::quantity::signed;

const MIDDLE: f64 = f64::midpoint(HOT, GROUND);
/// The width of a part with what is told of it.
const WIDTH: f64 = 104.0;

/// Parts drawn one behind the other.
pub(super) struct Chain<'p> {
    pen: &'p mut Pen,
    x: f64,
}

impl<'p> Chain<'p> {
    /// Begins a chain at `x`, one that goes on from conductors that are drawn up to there.
    pub(super) fn new(pen: &'p mut Pen, x: f64) -> Self {
        Self { pen, x }
    }

    /// Returns where the chain ends.
    pub(super) fn end(self) -> f64 {
        self.x
    }

    fn on(&mut self, width: f64, hot_is_drawn: bool) {
        if hot_is_drawn {
            self.pen.wire(&[(self.x, HOT), (self.x + width, HOT)]);
        }
        self.pen.wire(&[(self.x, GROUND), (self.x + width, GROUND)]);
        self.x += width;
    }

    /// Draws `controls` in the order in which the signal passes them.
    pub(super) fn controls(&mut self, controls: &Controls) {
        if let Some(bass_cut) = controls.bass_cut() {
            self.bass_cut(bass_cut);
        }
        if let Some(load) = controls.load() {
            let at = self.x + 18.0;
            self.pen.resistor(at, [HOT, GROUND]);
            self.ends(at);
            self.pen.told(at + 14.0, MIDDLE, "load", &[load.to_string()]);
            self.on(WIDTH, true);
        }
        if let Some(tone) = controls.tone().filter(|tone| tone.joined() == ToneJoined::BeforeVolume) {
            self.tone(tone);
        }
        if let Some(volume) = controls.volume() {
            self.volume(volume, controls.wiring(), controls.bleed());
        }
        if let Some(tone) = controls.tone().filter(|tone| tone.joined() == ToneJoined::AfterVolume) {
            self.tone(tone);
        }
    }

    fn ends(&mut self, at: f64) {
        self.pen.dot(at, HOT);
        self.pen.dot(at, GROUND);
    }

    fn tone(&mut self, tone: Tone) {
        let at = self.x + 18.0;
        let joint = MIDDLE + 18.0;
        self.pen.resistor(at, [HOT, joint]);
        // The wiper is joined to the end of the track that leads on.
        self.pen.wire(&[(at + 26.0, f64::midpoint(HOT, joint)), (at + 26.0, joint), (at, joint)]);
        self.pen.wiper(at + 26.0, at, f64::midpoint(HOT, joint));
        self.pen.capacitor(at, [joint, GROUND]);
        self.ends(at);
        let pot = tone.pot();
        self.pen.told(at + 32.0, HOT + 40.0, "tone", &[pot.track().to_string(), stands(pot)]);
        self.pen.text("value", at + 16.0, f64::midpoint(joint, GROUND) + 5.0, &tone.capacitor().to_string());
        self.on(WIDTH + 10.0, true);
    }

    fn volume(&mut self, volume: Pot, wiring: VolumeWiring, bleed: Option<Bleed>) {
        let at = self.x + 18.0;
        let (from, wiper) = match wiring {
            // The track is the input, and the wiper leads on.
            VolumeWiring::Dependent => (at, at + 46.0),
            VolumeWiring::Independent => (at + 46.0, at),
        };
        let track = from;
        self.pen.resistor(track, [HOT, GROUND]);
        let out = if wiper > track { track + 46.0 } else { track - 28.0 };
        self.pen.wiper(out, track, MIDDLE);
        match wiring {
            VolumeWiring::Dependent => {
                self.pen.wire(&[(self.x, HOT), (track, HOT)]);
                self.pen.wire(&[(out, MIDDLE), (out, HOT), (self.x + WIDTH + 36.0, HOT)]);
            }
            VolumeWiring::Independent => {
                self.pen.wire(&[(self.x, HOT), (out, HOT), (out, MIDDLE)]);
                self.pen.wire(&[(track, HOT), (self.x + WIDTH + 36.0, HOT)]);
            }
        }
        self.pen.dot(track, GROUND);
        self.pen.told(
            track.max(out) + 8.0,
            MIDDLE + 22.0,
            "volume",
            &[volume.track().to_string(), stands(volume)],
        );
        if let Some(bleed) = bleed {
            self.bleed(bleed, [track.min(out), track.max(out)]);
        }
        self.on(WIDTH + 36.0, false);
    }

    /// Draws the treble bleed across the upper leg of the volume pot, above the conductors.
    fn bleed(&mut self, bleed: Bleed, [left, right]: [f64; 2]) {
        let y = HOT - 14.0;
        self.pen.wire(&[(left, HOT), (left, y)]);
        self.pen.wire(&[(right, y), (right, HOT)]);
        self.pen.capacitor_lying([left, right], y);
        let told = match bleed.form() {
            BleedForm::Capacitor => format!("bleed {}", bleed.capacitor()),
            BleedForm::Parallel(resistor) => format!("bleed {} ∥ {resistor}", bleed.capacitor()),
            BleedForm::Series(resistor) => format!("bleed {} + {resistor}", bleed.capacitor()),
        };
        self.pen.text("value", left, y - 14.0, &told);
    }

    fn bass_cut(&mut self, BassCut { pot, capacitor }: BassCut) {
        let (left, right) = (self.x + 14.0, self.x + 84.0);
        self.pen.wire(&[(self.x, HOT), (left, HOT)]);
        self.pen.capacitor_lying([left, right], HOT);
        let y = HOT + 30.0;
        self.pen.wire(&[(left, HOT), (left, y)]);
        self.pen.wire(&[(right, HOT), (right, y)]);
        self.pen.resistor_lying([left, right], y);
        self.pen.dot(left, HOT);
        self.pen.dot(right, HOT);
        let track = format!("{}, {}", pot.track(), stands(pot));
        self.pen.told(left, y + 26.0, "bass cut", &[capacitor.to_string(), track]);
        self.pen.wire(&[(right, HOT), (self.x + WIDTH + 24.0, HOT)]);
        self.on(WIDTH + 24.0, false);
    }
}

/// Returns where a knob stands.
fn stands(pot: Pot) -> String {
    let digits = usize::from(pot.turned().fract() != 0.0);
    format!("at {}", signed(pot.turned(), digits))
}

/// Draws the buffer, where there is one, the jack, the cable and the input, and returns where they end.
pub(super) fn jack_and_beyond(pen: &mut Pen, guitar: &Guitar, x: f64) -> f64 {
    let mut chain = Chain::new(pen, x);
    if let Some(buffer) = guitar.buffer() {
        let (left, right) = (chain.x + 14.0, chain.x + 54.0);
        chain.pen.wire(&[(chain.x, HOT), (left, HOT)]);
        chain.pen.wire(&[(left, HOT - 18.0), (right, HOT), (left, HOT + 18.0), (left, HOT - 18.0)]);
        chain.pen.told(
            left,
            HOT + 36.0,
            "buffer",
            &[format!("in {}", buffer.input()), format!("out {}", buffer.output())],
        );
        chain.pen.wire(&[(right, HOT), (chain.x + WIDTH, HOT)]);
        chain.on(WIDTH, false);
    }
    let at = chain.x + 12.0;
    chain.pen.ring(at, HOT);
    chain.pen.ring(at, GROUND);
    chain.pen.told(at - 8.0, MIDDLE - 6.0, "jack", &["tip above,".to_owned(), "sleeve below".to_owned()]);
    chain.on(86.0, true);
    let at = chain.x + 18.0;
    chain.pen.capacitor(at, [HOT, GROUND]);
    chain.ends(at);
    chain.pen.told(at + 14.0, MIDDLE, "cable", &[guitar.cable().capacitance().to_string()]);
    chain.on(WIDTH - 14.0, true);
    let at = chain.x + 18.0;
    chain.pen.resistor(at, [HOT, GROUND]);
    chain.ends(at);
    let input = guitar.input();
    let mut values = vec![input.resistance().to_string()];
    if input.capacitance().value() > 0.0 {
        let beside = at + 24.0;
        chain.pen.capacitor(beside, [HOT, GROUND]);
        chain.ends(beside);
        values.push(input.capacitance().to_string());
        chain.on(24.0, true);
    }
    let told_at = chain.x + 34.0;
    chain.pen.told(told_at, MIDDLE, "input", &values);
    chain.pen.wire(&[(chain.x, HOT), (chain.x + 18.0, HOT)]);
    chain.pen.wire(&[(chain.x, GROUND), (chain.x + 18.0, GROUND)]);
    chain.x + WIDTH
}
