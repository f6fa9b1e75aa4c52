//! The panel: the whole job in a window of the person's own browser, served by this program to this machine alone.
//!
//! The data's way: a request passes the [`server`]'s door and reaches one of the [`places`]; that works on the [`guitars`]
//! with what the library offers, and a [`view`] shows what has become of them. A guitar's file is the only state.

mod guitars;
mod menu;
mod places;
mod server;
mod view;

pub(crate) use menu::add_to_menu;
pub(crate) use server::{Options, Started, serve};

use std::path::PathBuf;

/// Returns the folder where guitars are kept where none is named: `drywire` among the person's documents.
pub(crate) fn usual_folder() -> Option<PathBuf> {
    let documents = dirs::document_dir().or_else(|| dirs::home_dir().map(|home| home.join("Documents")));
    Some(documents?.join("drywire"))
}
