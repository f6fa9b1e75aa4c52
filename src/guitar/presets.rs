//! The built-in pickups and guitars: files under `presets/`, embedded as they stand.

use super::Guitar;
use super::read::{PickupBase, built_in};
use crate::document::{Document, Refusal};

/// A built-in file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Preset {
    /// The name by which options and `like` call it.
    pub name: &'static str,
    /// The file's text, in which each value states its source or its mark.
    pub text: &'static str,
}

/// A built-in file asked for that does not exist.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("there is no built-in {kind} `{given}`; there are {known}")]
pub struct UnknownPreset {
    /// `pickup` or `guitar`.
    pub kind: &'static str,
    /// The name as given.
    pub given: String,
    /// The names there are.
    pub known: String,
}

/// What a file states in place of a built-in pickup where the kind is not known; it is then taken for the first of them.
pub const KIND_UNKNOWN: &str = "unknown";

macro_rules! presets {
    ($folder:literal: $($name:literal),+ $(,)?) => {
        &[$(Preset { name: $name, text: include_str!(concat!("../../presets/", $folder, "/", $name, ".toml")) }),+]
    };
}

const PICKUPS: &[Preset] = presets!("pickups":
    "vintage-full-size", "hot-ceramic", "narrow-blade", "mini", "single-coil", "soapbar",
);

const GUITARS: &[Preset] = presets!("guitars":
    "set-neck", "bolt-on-three-single", "three-two-coil", "short-scale-blade", "travel-mini",
);

impl Preset {
    /// Returns what the file is about: its first line, a comment.
    pub fn title(&self) -> &'static str {
        self.text.lines().next().unwrap_or_default().trim_start_matches(['#', ' '])
    }

    /// Returns the file as a document to be read.
    pub fn document(&self) -> Document {
        Document::new(format!("built-in {}", self.name), self.text)
    }
}

/// Returns the built-in pickups.
pub fn pickup_presets() -> &'static [Preset] {
    PICKUPS
}

/// Returns the built-in guitars, of which the first is the one used where none is named.
pub fn guitar_presets() -> &'static [Preset] {
    GUITARS
}

impl Guitar {
    /// Returns the built-in guitar of that name.
    ///
    /// # Errors
    /// [`UnknownPreset`] where there is none.
    ///
    /// # Panics
    /// Where a built-in file has a fault, which a test rules out.
    pub fn built_in(name: &str) -> Result<Self, UnknownPreset> {
        let preset = find(GUITARS, "guitar", name)?;
        Ok(Self::read(&preset.document()).expect("a built-in guitar has no fault"))
    }

    /// Returns a guitar with the one built-in pickup of that name at the bridge and everything else assumed.
    ///
    /// # Errors
    /// [`UnknownPreset`] where there is no such pickup.
    ///
    /// # Panics
    /// Where a built-in file has a fault, which a test rules out.
    pub fn with_built_in_pickup(name: &str) -> Result<Self, UnknownPreset> {
        let preset = find(PICKUPS, "pickup", name)?;
        let text = format!(
            "format = 1\nname = \"{}\"\n[[pickup]]\nname = \"bridge\"\nlike = \"{name}\"\n",
            preset.title()
        );
        Ok(Self::read(&Document::new(name, text)).expect("a built-in pickup has no fault"))
    }
}

/// Returns the built-in pickup of that name, and its name.
pub(super) fn built_in_pickup(name: &str) -> Result<(&'static str, PickupBase), UnknownPreset> {
    let preset = find(PICKUPS, "pickup", name)?;
    let read: Result<PickupBase, Refusal> = preset.document().interpret(|top| built_in(top, preset.name));
    Ok((preset.name, read.expect("a built-in pickup has no fault")))
}

fn find(
    presets: &'static [Preset],
    kind: &'static str,
    name: &str,
) -> Result<&'static Preset, UnknownPreset> {
    presets.iter().find(|p| p.name == name).ok_or_else(|| UnknownPreset {
        kind,
        given: name.to_owned(),
        known: presets.iter().map(|p| p.name).collect::<Vec<_>>().join(", "),
    })
}
