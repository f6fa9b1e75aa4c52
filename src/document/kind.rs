//! What kind of file was given where another was wanted.

use toml::de::DeTable;

use super::{Document, Fault, Section};

/// The kinds of text files that a person writes for this program.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileKind {
    /// A guitar.
    Guitar,
    /// A pickup's values alone.
    Pickup,
    /// Meter readings of a pickup's leads.
    Readings,
    /// A switch's contact table.
    Switch,
    /// Readings at the jack.
    Proof,
}

impl FileKind {
    const ALL: [Self; 5] = [Self::Guitar, Self::Readings, Self::Switch, Self::Pickup, Self::Proof];

    /// Returns the keys at the top of such a file, of which no other kind has any.
    const fn marks(self) -> &'static [&'static str] {
        match self {
            Self::Guitar => &["pickup", "selector", "switch", "controls", "cable", "blend", "buffer"],
            Self::Pickup => &["coil_a", "coil_b", "resistance", "inductance"],
            Self::Readings => &["ohms", "tap", "compass", "leads"],
            Self::Switch => &["pole", "throw"],
            Self::Proof => &["reading"],
        }
    }

    /// Returns what kind of file `document` is, where it is TOML and a key at its top tells.
    pub fn of(document: &Document) -> Option<Self> {
        let (top, _) = DeTable::parse_recoverable(document.text());
        Self::ALL.into_iter().find(|kind| kind.marks().iter().any(|key| top.get_ref().contains_key(*key)))
    }

    const fn words(self) -> &'static str {
        match self {
            Self::Guitar => "a guitar's file",
            Self::Pickup => "a pickup's file",
            Self::Readings => "a file of meter readings",
            Self::Switch => "a switch's contact table",
            Self::Proof => "a file of readings at the jack",
        }
    }

    /// Returns what to do with such a file.
    const fn use_of(self) -> &'static str {
        match self {
            Self::Guitar => "give it as a guitar, as in `drywire figures --guitar FILE`",
            Self::Pickup => {
                "in a guitar's file a pickup stands below [[pickup]] and name = \"bridge\", its coils below \
                 [pickup.coil_a] and [pickup.coil_b]; a built-in one is taken by like = \"…\""
            }
            Self::Readings => "`drywire leads FILE` tells from it which lead is which",
            Self::Switch => "a guitar's file names a switch by table = \"…\"; `drywire presets` lists them",
            Self::Proof => {
                "its readings are given one by one, as in `drywire probe --guitar FILE --read selector:1=7.9k`"
            }
        }
    }
}

impl Section<'_> {
    /// Returns whether this, the top of a file, is that of another kind than `wanted`, with one fault that says so in
    /// place of one for each key.
    pub fn is_of_another_kind(&mut self, wanted: FileKind) -> bool {
        let has_any = |kind: &FileKind| kind.marks().iter().any(|key| self.has(key));
        if has_any(&wanted) {
            return false;
        }
        let Some(kind) = FileKind::ALL.into_iter().find(has_any) else { return false };
        let message = format!("this is {}, where {} is wanted", kind.words(), wanted.words());
        self.note(Fault::new(self.span(), message).hint(kind.use_of()));
        self.pass_over_all();
        true
    }
}

/// Returns the fault of a text in another language than TOML: JSON, or a page for a browser.
pub(super) fn other_language(text: &str) -> Option<Fault> {
    let at = text.len() - text.trim_start().len();
    if text[at..].starts_with('<') {
        let message = "this is a page or a picture (HTML, XML or SVG), where a file in TOML is wanted";
        let hint = "give the file that a person wrote, such as the guitar's";
        return Some(Fault::new(at..at + 1, message).hint(hint));
    }
    if !text[at..].starts_with('{') {
        return None;
    }
    let is_a_sets = text.contains("\"arrangements\"") && text.contains("\"schema\"");
    let (message, hint) = if is_a_sets {
        (
            "these are a set's figures, which this program wrote, where a file in TOML is wanted",
            "give the file that a person wrote, such as the guitar's; `drywire play DIR` plays the set",
        )
    } else {
        ("this is JSON, where a file in TOML is wanted", "`drywire presets` copies out examples")
    };
    Some(Fault::new(at..at + 1, message).hint(hint))
}

/// Returns whether a file that begins with these bytes is a sound in a usual container.
pub(super) fn is_sound(bytes: &[u8]) -> bool {
    let waves: [&[u8]; 2] = [b"RIFF", b"RF64"];
    let others: [&[u8]; 5] = [b"FORM", b"fLaC", b"OggS", b"ID3", b"\xff\xfb"];
    waves.iter().any(|mark| bytes.starts_with(mark) && bytes.get(8..12) == Some(b"WAVE"))
        || others.iter().any(|mark| bytes.starts_with(mark))
}
