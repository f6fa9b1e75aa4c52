//! The promises, a file a promise, headed by its sentence.

#[path = "../bench/mod.rs"]
mod bench;
#[path = "../common/mod.rs"]
mod common;
#[path = "../wires/mod.rs"]
mod wires;

mod a_level_between_pickups_comes_back;
mod abx_tells_chance_from_hearing;
mod bands_hold_what_tolerances_make;
mod built_in_pickups_hold_on_a_bench;
mod figures_foretell_the_drops;
mod hum_is_what_the_windings_say;
mod impulses_give_the_as_is_files;
mod joints_between_switches;
mod loudness_is_told_as_a_listener_would;
mod memory_stays_small;
mod meter_reads_what_a_cavity_gives;
mod noise_is_that_of_the_resistances;
mod one_channel_comes_near_the_coils;
mod p10_a_tap_and_a_compass_together_give_the_winding;
mod p10_lead_identification_never_guesses;
mod p10_the_dialogue_needs_at_most_one_reading_more_than_the_best_plan;
mod p11_the_same_input_gives_the_same_bytes;
mod p12_a_full_or_read_only_disk_keeps_the_old_set;
mod p12_a_run_that_is_ended_keeps_the_old_set;
mod p12_nothing_is_lost;
mod p16_a_measured_coil_is_the_coil;
mod p17_a_band_holds_what_it_says;
mod p18_plans_obey_the_builders_rules;
mod p18_the_planned_harness_is_the_circuit;
mod p18_the_sheet_draws_the_plan;
mod p19_a_wiring_is_called_right;
mod p1_the_circuits_response_is_the_circuits;
mod p1_whole_guitars_equal_a_simulators;
mod p20_a_set_through_the_amplifier;
mod p20_the_amplifier_is_a_simulators;
mod p20_the_amplifier_is_the_one_described;
mod p21_a_recording_is_never_over_read;
mod p21_flips_have_no_player_in_them;
mod p21_real_recordings_are_read;
mod p2_what_is_heard_is_the_circuit;
mod p3_p4_a_matched_set_is_matched_and_no_file_clips;
mod p5_levels_that_are_not_matched_are_true;
mod p6_files_of_a_set_line_up;
mod p7_figures_are_what_the_files_measure;
mod p7_measures_agree_with_independent_implementations;
mod p7_measures_agree_with_their_standards;
mod p8_a_plan_does_what_it_says;
mod p8_check_finds_every_fault;
mod p9_the_plan_found_has_the_fewest_joints;
mod probe_every_single_fault_is_explained;
mod probe_reads_what_a_simulator_reads;
mod recorded_through_an_arrangement;
mod takes_are_taken_for_neutral;
mod whole_guitars_are_heard;
mod whole_guitars_hum_and_phase;
mod worked_example;
