//! What is drawn: a set's picture, a survey's map, a measured impedance or a measured difference.

use super::confirmed::Confirmed;
use super::followed::Followed;
use super::map::Map;
use super::picture::Picture;
use super::scene::Scene;
use super::sheet::Sheet;

/// A picture that can be drawn as SVG and as PNG.
#[derive(Debug, Clone, Copy)]
pub enum Subject<'p> {
    /// Responses, differences, spectra and levels of a set.
    Picture(&'p Picture),
    /// The combinations of a survey.
    Map(&'p Map),
    /// An impedance and the circuit that follows it.
    Followed(&'p Followed),
    /// How one throw differs from another.
    Confirmed(&'p Confirmed),
}

impl<'p> From<&'p Picture> for Subject<'p> {
    fn from(picture: &'p Picture) -> Self {
        Self::Picture(picture)
    }
}

impl<'p> From<&'p Map> for Subject<'p> {
    fn from(map: &'p Map) -> Self {
        Self::Map(map)
    }
}

impl<'p> From<&'p Followed> for Subject<'p> {
    fn from(followed: &'p Followed) -> Self {
        Self::Followed(followed)
    }
}

impl<'p> From<&'p Confirmed> for Subject<'p> {
    fn from(confirmed: &'p Confirmed) -> Self {
        Self::Confirmed(confirmed)
    }
}

impl Subject<'_> {
    /// Returns the title of the document.
    pub(super) fn title(self) -> String {
        match self {
            Self::Picture(picture) => format!("Response at the jack: {}", picture.title),
            Self::Map(map) => format!("Combinations: {}", map.title),
            Self::Followed(followed) => format!("Impedance: {}", followed.title),
            Self::Confirmed(confirmed) => format!("Foretold and measured: {}", confirmed.title),
        }
    }

    /// Returns what is shown, in words.
    pub(super) fn described(self) -> String {
        match self {
            Self::Picture(picture) => picture.described(),
            Self::Map(map) => map.described(),
            Self::Followed(followed) => followed.described(),
            Self::Confirmed(confirmed) => confirmed.described(),
        }
    }

    /// Returns the least height of a sheet on which it can be read.
    pub(super) fn height(self, sheet: Sheet) -> f64 {
        match self {
            Self::Picture(picture) => sheet.height(picture),
            Self::Map(map) => map.height(sheet),
            Self::Followed(followed) => followed.height(sheet),
            Self::Confirmed(confirmed) => confirmed.height(sheet),
        }
    }

    /// Returns it composed into a sheet of at least that height.
    pub(super) fn composed(self, sheet: Sheet, height: f64) -> Scene {
        match self {
            Self::Picture(picture) => sheet.composed(picture, height),
            Self::Map(map) => map.composed(sheet, height),
            Self::Followed(followed) => followed.composed(sheet, height),
            Self::Confirmed(confirmed) => confirmed.composed(sheet, height),
        }
    }
}
