//! Sound files read and written, plucked and played.

#[path = "../common/mod.rs"]
mod common;
#[path = "../../fuzz/targets/mod.rs"]
mod targets;
#[path = "../wav_bytes/mod.rs"]
mod wav_bytes;

mod no_bytes_break_a_reader;
mod play_switches_without_a_click;
mod play_through_a_sound_stack;
mod pluck_built_in_sources;
mod pluck_clean;
mod pluck_closed_forms;
mod pluck_open_chord_example;
mod pluck_travelling_waves;
mod sound_awkward;
mod sound_files;
mod sound_fuzz;
mod sound_writing;
