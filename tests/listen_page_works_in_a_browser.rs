//! x

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

mod common;

use std::path::Path;

use common::browser::SetOf;
use drywire::guitar::Guitar;
use drywire::page::{Excerpt, USUAL_EXCERPT};
use drywire::pluck::built_in_sources;
use drywire::render::{Channels, MatchBy, Model};
use drywire::sound::Sound;

#[test]
fn the_default_set() {
    let guitar = Guitar::built_in("set-neck").unwrap();
    let source = built_in_sources()[0];
    let sound = Sound::from_bytes(source.name, source.bytes).unwrap();
    let set = SetOf {
        guitar: &guitar,
        voices: &["series", "parallel", "split-a", "split-b", "series-reversed", "parallel-reversed"],
        sound: &sound,
        channels: Channels::Coils,
        model: Model::Circuit,
        by: MatchBy::Loudness,
        recorded: None,
    };
    let made = set.make(Excerpt::loudest(&sound, USUAL_EXCERPT).unwrap(), &[]);
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    std::fs::write(folder.join("listen.html"), made.page).unwrap();
}
