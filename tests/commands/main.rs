//! The program run as a person runs it: its commands, its tables, what it refuses.

#[path = "../bench/mod.rs"]
mod bench;
#[path = "../common/mod.rs"]
mod common;

mod commands;
mod confirm_command;
#[cfg(all(unix, feature = "panel"))]
mod confirming_in_the_panel;
#[cfg(all(unix, feature = "panel"))]
mod debian_package;
mod files_of_others_are_kept;
mod harness_asks;
mod harness_command;
mod hostile_files;
mod leads_command;
mod measure_command;
#[cfg(all(unix, feature = "panel"))]
mod measuring_in_the_panel;
#[cfg(all(unix, feature = "panel"))]
mod p14_a_change_in_the_panel_changes_only_its_value;
#[cfg(all(unix, feature = "panel"))]
mod p14_what_is_read_and_made_is_whole;
#[cfg(all(unix, feature = "panel"))]
mod p15_every_place_is_nobody_elses;
#[cfg(all(unix, feature = "panel"))]
mod p15_the_panel_is_nobody_elses;
mod play_without_a_sound_card;
mod pluck_command;
mod probe_command;
mod probe_whole_guitars;
mod refusals;
mod stored_sets_are_whole_or_refused;
mod survey;
mod tables_and_rows_tell_the_figures;
mod tables_fit_the_terminal;
#[cfg(all(unix, feature = "panel"))]
mod takes_in_the_panel;
mod what_is_typed;
