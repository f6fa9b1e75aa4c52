//! What shows a set: its pictures and its page.

use std::fs::File;

use drywire::bands::Bands;
use drywire::page::{Excerpt, Illustration, PageData, USUAL_EXCERPT, listen_page};
use drywire::plot::{Picture, Theme, png, svgs};
use drywire::quantity::{Db, Dbfs, Seconds};
use drywire::render::MatchBy;
use drywire::report::SetFigures;
use drywire::response::VoiceError;
use drywire::set::{Filled, SetSpec, Spectrum};

use crate::cli::Failure;
use crate::cli::output_folder::{OutputFolder, PAGE};
use crate::cli::source::sound_failure;
use crate::cli::tolerances::with_bands;

/// Writes the set's pictures and its page.
pub(super) fn illustrate(
    spec: &SetSpec<'_>,
    figures: &SetFigures,
    filled: &Filled<File>,
    bands: Option<&Bands>,
    folder: &mut OutputFolder,
    excerpt: Option<Seconds>,
) -> Result<(), Failure> {
    let mut picture = picture(spec, figures, &filled.spectra)?;
    if let Some(bands) = bands {
        picture = with_bands(picture, spec.responses, bands);
    }
    let [adaptive, light, dark] = svgs(&picture, [Theme::Adaptive, Theme::Light, Theme::Dark]);
    folder.write("response.svg", adaptive.as_bytes())?;
    let bitmap = png(&picture, Theme::Light)
        .map_err(|e| Failure::input(e.to_string(), "leave some arrangements out"))?;
    folder.write("response.png", &bitmap)?;
    let page = page(spec, figures, filled.by, excerpt, [light, dark])?;
    folder.write(PAGE, page.as_bytes())
}

fn page(
    spec: &SetSpec<'_>,
    figures: &SetFigures,
    matched_by: MatchBy,
    excerpt: Option<Seconds>,
    [light, dark]: [String; 2],
) -> Result<String, Failure> {
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
        matched_by,
        excerpt: &excerpt.map_err(|e| sound_failure(&e))?,
        illustrations: &[illustration],
    };
    listen_page(&data).map_err(|e| Failure::input(e.to_string(), "leave out the arrangement that it names"))
}

fn picture(spec: &SetSpec<'_>, figures: &SetFigures, spectra: &[Spectrum]) -> Result<Picture, Failure> {
    let mut picture = Picture::new(spec.responses, figures).map_err(VoiceError::from)?;
    for ((arrangement, response), spectrum) in figures.arrangements.iter().zip(spec.responses).zip(spectra) {
        let gain = Db::new(arrangement.matched.as_ref().map_or(0.0, |file| file.gain_db));
        let levels = spectrum.iter().map(|band| (band.centre(), (band.level() + gain) - Dbfs::new(0.0)));
        picture = picture.with_spectrum(response.voice().name(), levels);
    }
    Ok(picture)
}
