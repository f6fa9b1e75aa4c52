//! The sources that the program carries: files under `samples-synthetic/`, embedded as they stand.

/// A built-in source, the bytes of a WAV file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BuiltInSource {
    /// The name by which options call it.
    pub name: &'static str,
    /// What is heard.
    pub title: &'static str,
    /// The file.
    pub bytes: &'static [u8],
    /// Whether it has a channel for each coil of the first built-in guitar's first pickup.
    pub by_coils: bool,
}

macro_rules! sources {
    ($($name:literal, $title:literal, $by_coils:literal;)+) => {
        &[$(BuiltInSource {
            name: $name,
            title: $title,
            bytes: include_bytes!(concat!("../../samples-synthetic/", $name, ".wav")),
            by_coils: $by_coils,
        }),+]
    };
}

const SOURCES: &[BuiltInSource] = sources! {
    "open-chord-coils", "An open E chord, strummed, with a channel for each coil", true;
    "open-chord", "An open E chord, strummed", false;
    "phrase", "A short phrase, single notes to a chord", false;
    "low-note", "The lowest open string", false;
    "high-note", "The highest string at its 12th fret", false;
};

/// Returns the built-in sources, of which the first is the one used where none is named.
pub fn built_in_sources() -> &'static [BuiltInSource] {
    SOURCES
}
