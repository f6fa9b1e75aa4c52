//! The page works by itself in a real browser: no error, no request, every control by key and by pointer, the blind
//! comparison, a sound of one's own, and names from strangers that stay text. `tests/browser/page-*.js` drive it; they
//! want `npm install` to have been run in `tests/browser`.

#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::path::{Path, PathBuf};
use std::sync::LazyLock;

use crate::common::browser::Browser;
use crate::common::made::SetOf;
use crate::common::program::succeeds;
use drywire::amp::{Amplification, Cabinet, Drive, Setting};
use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::pluck::built_in_sources;
use drywire::render::Channels;
use drywire::sound::Sound;

const USUAL: [&str; 6] = ["series", "parallel", "split-a", "split-b", "series-reversed", "parallel-reversed"];

fn built_in(name: &str, called: &str) -> (Sound, Channels) {
    let source = built_in_sources().iter().find(|s| s.name == name).unwrap();
    let channels = if source.by_coils { Channels::Coils } else { Channels::Stereo };
    (Sound::from_bytes(called, source.bytes).unwrap(), channels)
}

fn guitar(name: &str, controls: &str) -> Guitar {
    let text = format!(
        "format = 1\nname = '{name}'\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n[controls]\n{controls}\n"
    );
    Guitar::read(&Document::new("guitar.toml", text)).unwrap()
}

fn default_page() -> String {
    let (sound, channels) = built_in(built_in_sources()[0].name, built_in_sources()[0].name);
    let guitar = Guitar::built_in("set-neck").unwrap();
    SetOf { channels, ..SetOf::new(&guitar, &USUAL, &sound) }.make().page
}

#[test]
fn the_default_sets_page_has_at_most_four_megabytes_and_names_no_address() {
    let page = default_page();
    assert!(page.len() <= 4_000_000, "{} bytes", page.len());
    let names_one =
        page.split("http").skip(1).find(|rest| rest.starts_with("://") || rest.starts_with("s://"));
    // The name of the SVG namespace is no address to be asked.
    let own = "://www.w3.org/2000/svg";
    assert!(names_one.is_none_or(|rest| rest.starts_with(own)), "{:?}", names_one.map(|r| &r[..60]));
}

/// Pages of five sets: the default one, one with markup wherever text may stand, one whose knobs are turned down, one whose
/// files are heard through an amplifier, and one with long names.
static FOLDER: LazyLock<PathBuf> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("listen-page");
    std::fs::create_dir_all(&folder).unwrap();
    let write = |name: &str, page: &str| std::fs::write(folder.join(name), page).unwrap();
    write("listen.html", &default_page());

    let hostile = guitar("<img src=x onerror=\"globalThis.ran = 1\">", "");
    let (sound, channels) = built_in("low-note", "</p><script>globalThis.ran = 1</script>");
    let notes = &["</script><svg onload=globalThis.ran=1>", "{{sound}} & <!-- ' \" `"];
    let set = SetOf { channels, notes, ..SetOf::new(&hostile, &USUAL, &sound) };
    write("hostile.html", &set.make().page);

    let turned_down = guitar(
        "turned down",
        "volume = { pot = \"500k\", turned = 3 }\ntone = { pot = \"500k\", turned = 2, capacitor = \"22n\" }",
    );
    write("quiet-knobs.html", &SetOf::new(&turned_down, &USUAL, &loud_sound()).make().page);

    let (low_note, channels) = built_in("low-note", "low-note");
    let set_neck = Guitar::built_in("set-neck").unwrap();
    let amplification = Amplification { drive: Drive::Set(Setting::Driven), cabinet: Cabinet::Closed };
    let amplified = SetOf {
        channels,
        amplification: Some(amplification),
        ..SetOf::new(&set_neck, &USUAL[..2], &low_note)
    };
    write("amplified.html", &amplified.make().page);

    let positions = [
        "selector:1",
        "selector:1+add-neck:2+bridge=split-b-open+neck=parallel-reversed",
        "selector:2+add-neck:2+bridge=series-reversed+middle=series-reversed+neck=parallel-reversed",
        "selector:2+add-neck:2+bridge=series+middle=split-b+neck=parallel",
    ];
    let long = tempfile::tempdir().unwrap();
    let asked = ["hear", "--quiet", "--guitar", "three-two-coil", "--arrangements", &positions.join(",")];
    succeeds(long.path(), &asked);
    std::fs::copy(long.path().join("drywire-out/listen.html"), folder.join("long-names.html")).unwrap();
    folder
});

fn drive(script: &str) {
    if Browser::can_be_driven() {
        Browser::drive(script, &FOLDER);
    }
}

#[test]
fn it_is_driven_by_keys_pointer_and_dropped_files_and_text_from_strangers_stays_text() {
    drive("page-controls.js");
}

#[test]
fn what_is_heard_while_knobs_turn_and_voices_are_switched_is_what_the_cards_tell() {
    drive("page-sound.js");
}

#[test]
fn what_is_heard_behind_the_amplifier_while_settings_and_knobs_change_is_what_the_cards_tell() {
    drive("page-amp.js");
}

#[test]
fn names_marks_and_colours_can_be_read_in_either_theme_on_a_desk_a_phone_and_paper() {
    drive("page-looks.js");
}

/// Returns bursts that reach full scale, so that a knob turned up would clip if nothing held it back.
fn loud_sound() -> Sound {
    let sample = |n: u32| {
        let decay = (-f64::from(n % 12_000) / 4000.0).exp();
        0.999 * decay * (f64::from(n) * std::f64::consts::TAU * 196.0 / 48_000.0).sin()
    };
    Sound::from_planes("bursts", 48_000, vec![(0..48_000).map(sample).collect()]).unwrap()
}
