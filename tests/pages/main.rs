//! Pages, sheets and pictures, looked at by a browser and read as XML.

#[path = "../common/mod.rs"]
mod common;

mod harness_sheets_can_be_read;
mod listen_page_amplifies;
mod listen_page_plays_the_files;
mod listen_page_plays_whole_guitars;
mod listen_page_works_in_a_browser;
mod p8_the_sheet_shows_the_plan;
#[cfg(feature = "panel")]
mod panel_works_in_a_browser;
mod plots;
mod scripts_calculate_what_they_must;
mod survey_page_works_in_a_browser;
