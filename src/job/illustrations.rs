//! What shows a set: its pictures and its page.

use std::fs::File;

use super::JobError;
use super::bands::drawn_with_bands;
use super::set::{BITMAP, PAGE, PICTURE};
use crate::bands::Bands;
use crate::folder::OutputFolder;
use crate::page::{Excerpt, Illustration, PageData, USUAL_EXCERPT, listen_page};
use crate::plot::{Picture, Theme, png, svgs};
use crate::quantity::{Db, Dbfs, Seconds};
use crate::report::SetFigures;
use crate::response::VoiceError;
use crate::set::{Filled, SetSpec, Spectrum};

/// Writes the set's pictures and its page.
pub(super) fn illustrate(
    spec: &SetSpec<'_>,
    figures: &SetFigures,
    filled: &Filled<File>,
    bands: Option<&Bands>,
    folder: &mut OutputFolder,
    excerpt: Option<Seconds>,
) -> Result<(), JobError> {
    let mut picture = picture(spec, figures, &filled.spectra)?;
    if let Some(bands) = bands {
        picture = drawn_with_bands(picture, spec.responses, bands);
    }
    let [adaptive, light, dark] = svgs(&picture, [Theme::Adaptive, Theme::Light, Theme::Dark]);
    folder.write(PICTURE, adaptive.as_bytes())?;
    folder.write(BITMAP, &png(&picture, Theme::Light)?)?;
    let page = page(spec, figures, filled, excerpt, [light, dark])?;
    Ok(folder.write(PAGE, page.as_bytes())?)
}

fn page(
    spec: &SetSpec<'_>,
    figures: &SetFigures,
    filled: &Filled<File>,
    excerpt: Option<Seconds>,
    [light, dark]: [String; 2],
) -> Result<String, JobError> {
    let excerpt = match excerpt {
        None => Excerpt::loudest(spec.sound, USUAL_EXCERPT),
        Some(start) => Excerpt::at(spec.sound, start, USUAL_EXCERPT),
    };
    let illustration = Illustration {
        title: "Responses, differences, spectra and levels".to_owned(),
        description: "The figures of the tables as curves against frequency".to_owned(),
        light,
        dark,
    };
    let data = PageData {
        configuration: &spec.configuration,
        voices: spec.responses,
        figures,
        without: filled.without.as_ref().map(|without| &without.figures),
        matched_by: filled.without.as_ref().map_or(filled.by, |without| without.by),
        files_matched_by: filled.by,
        loudest: filled.loudest,
        excerpt: &excerpt?,
        illustrations: &[illustration],
    };
    Ok(listen_page(&data)?)
}

fn picture(spec: &SetSpec<'_>, figures: &SetFigures, spectra: &[Spectrum]) -> Result<Picture, VoiceError> {
    let mut picture = Picture::new(spec.responses, figures)?;
    for ((arrangement, response), spectrum) in figures.arrangements.iter().zip(spec.responses).zip(spectra) {
        let gain = Db::new(arrangement.matched.as_ref().map_or(0.0, |file| file.gain_db));
        let levels = spectrum.iter().map(|band| (band.centre(), (band.level() + gain) - Dbfs::new(0.0)));
        picture = picture.with_spectrum(response.voice().name(), levels);
    }
    Ok(picture)
}
