//! Pictures of a set, responses at the jack, their differences, spectra and levels, and of a survey, as SVG and as PNG.
//!
//! The data's way: what is told of a set becomes a [`Picture`], what is told of a survey a [`Map`]; a picture is
//! composed into a scene of plain marks, once for a wide and once for a narrow sheet; a scene is drawn. The SVG holds both sheets and shows the one that
//! fits, so that one file can be read on a bench and on a phone. It carries its typeface (two weights, 45 kB as
//! text): labels are placed by measured widths, so that only the measured typeface keeps them apart for certain.

mod palette;

mod stroke;

mod face;

mod scene;

mod picture;

mod axis;

mod trace;

mod place;

mod panel;

mod levels;

mod sheet;

mod callout;

mod map;

mod chart;

mod followed;

mod confirmed;

mod subject;

mod pen;

mod svg;

mod png;

pub use confirmed::Confirmed;
pub use followed::Followed;
pub use map::Map;
pub use palette::Theme;
pub use pen::PlotError;
pub use picture::{BandPoint, Panel, Picture};
pub use png::png;
pub use stroke::{Stroke, hue_style, hues, strokes};
pub use subject::Subject;
pub use svg::{svg, svgs};

#[cfg(test)]
mod tests;
