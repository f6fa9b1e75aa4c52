//! What it takes to tell from two minutes of takes whether a guitar sounds as foretold.

#![allow(clippy::unwrap_used, reason = "a bench stops where its data are not as expected")]

use divan::{Bencher, black_box};
use drywire::confirm::{Confirmation, Session, Take};
use drywire::guitar::Guitar;
use drywire::pluck::{CoilPlace, Layout, Phrase, Recipe, Settings};
use drywire::quantity::Seconds;
use drywire::sound::Sound;

fn main() {
    divan::main();
}

/// Fifteen seconds of strums as both coils together hear them, softer by so much.
fn take(guitar: &Guitar, seed: u64, gain: f64) -> Sound {
    let layout = Layout::of(guitar, guitar.pickup(None), CoilPlace::APERTURE).unwrap();
    let phrase = Phrase::parse("strums", &"022100:1.5 ".repeat(10)).unwrap();
    let settings = Settings { tempo: 60.0, seed, length: Some(Seconds::new(15.0)), ..Settings::default() };
    let plucked = Recipe::new(&phrase, layout, settings).unwrap().render();
    let samples = plucked.sum().iter().map(|sample| gain * sample).collect();
    Sound::from_planes("take.wav", plucked.rate(), vec![samples]).unwrap()
}

#[divan::bench(sample_count = 5)]
fn two_minutes_of_takes(bencher: Bencher<'_, '_>) {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let takes: Vec<(&str, Sound)> = (0..8)
        .map(|seed| (["series", "parallel"][seed % 2], take(&guitar, seed as u64, [1.0, 0.5][seed % 2])))
        .collect();
    bencher.bench(|| -> Confirmation {
        let names: Vec<&str> = takes.iter().map(|(name, _)| *name).collect();
        let session = Session::new(&guitar, None, &names).unwrap();
        let read: Vec<(String, Take)> =
            takes.iter().map(|(name, sound)| ((*name).to_owned(), Take::read(sound).unwrap())).collect();
        let blocks = session.blocks(&read).unwrap();
        black_box(session.confirm(blocks, &session.forecast(2).unwrap()))
    });
}
