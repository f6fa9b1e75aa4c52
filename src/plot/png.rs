//! A picture as a bitmap: the wide sheet, drawn several times as large and averaged, so that lines are thin and
//! clean.

use std::num::NonZero;
use std::thread;

use plotters::backend::BitMapBackend;

use super::face::LINE;
use super::palette::{Ink, Theme};
use super::pen::{Pen, PlotError};
use super::scene::{Mark, count};
use super::sheet::WIDE;
use super::subject::Subject;
use super::trace;
use crate::workers::share_out;

/// The bitmap's pixels for each unit of the sheet: for screens of double density, and for print.
const DENSITY: u32 = 2;
/// 96 of the sheet's units make an inch, as in CSS.
const PIXELS_PER_METRE: u32 = 7559;
/// The canvas's pixels for each of the bitmap's, each way.
const FINER: u16 = 4;
/// Rows of the bitmap that are drawn at a time; they bound the memory that a canvas takes.
const ROWS: u32 = 96;
/// Points of a line that are drawn as one piece: short pieces can be left out where they are not seen.
const PIECE: usize = 6;
const CHANNELS: usize = 3;

/// Returns `picture` as a PNG file, 1600 pixels wide.
///
/// # Errors
/// [`PlotError`] where a mark cannot be drawn or the file cannot be written to memory.
pub fn png<'p>(picture: impl Into<Subject<'p>>, theme: Theme) -> Result<Vec<u8>, PlotError> {
    let picture = picture.into();
    let scene = picture.composed(WIDE, picture.height(WIDE).ceil());
    let (width, height) = (DENSITY * count(scene.width), DENSITY * count(scene.height));
    let marks: Vec<Mark> = scene.marks.iter().flat_map(pieces).collect();
    let row = width as usize * CHANNELS;
    let mut rows = vec![0; row * height as usize];
    let strips: Vec<(u32, &mut [u8])> = (0..).zip(rows.chunks_mut(row * ROWS as usize)).collect();
    let threads = thread::available_parallelism().map_or(1, NonZero::get).min(strips.len());
    let drawn = |(i, strip): (u32, &mut [u8])| draw_strip(&marks, (width, height), i * ROWS, theme, strip);
    share_out(strips, threads, drawn).into_iter().collect::<Result<(), PlotError>>()?;
    encoded(&rows, width, height)
}

/// Returns a mark as what the canvas can draw: dashes as strokes, long lines as pieces that share a segment.
fn pieces(mark: &Mark) -> Vec<Mark> {
    let Mark::Line { points, width, ink, dash } = mark else { return vec![mark.clone()] };
    let pattern: Vec<f64> = dash.pattern().iter().map(|l| l * width).collect();
    let mut found = Vec::new();
    for stroke in trace::dashed(points, &pattern) {
        let mut from = 0;
        while from + 1 < stroke.len() {
            let to = (from + PIECE).min(stroke.len());
            found.push(Mark::Line {
                points: stroke[from..to].to_vec(),
                width: *width,
                ink: *ink,
                dash: *dash,
            });
            from = if to == stroke.len() { to } else { to - 2 };
        }
    }
    found
}

/// Draws the rows of the bitmap from `first` that fill `strip`.
fn draw_strip(
    marks: &[Mark],
    (width, height): (u32, u32),
    first: u32,
    theme: Theme,
    strip: &mut [u8],
) -> Result<(), PlotError> {
    let rows = ROWS.min(height - first);
    let finer = u32::from(FINER);
    let scale = f64::from(DENSITY * finer);
    let pen = Pen { scale, above: f64::from(first * finer), theme, size: LINE, rise: LINE / 2.0 };
    let [top, bottom] = [first, first + rows].map(|row| f64::from(row) / f64::from(DENSITY));
    let (wide, high) = (width * finer, rows * finer);
    let mut canvas = Ink::Paper.rgb(theme).repeat(wide as usize * high as usize);
    {
        let mut backend = BitMapBackend::with_buffer(&mut canvas, (wide, high));
        for mark in marks.iter().filter(|m| seen(m, top, bottom)) {
            pen.draw(&mut backend, mark)?;
        }
    }
    average(&canvas, wide as usize, strip);
    Ok(())
}

/// Returns whether any of a mark lies between two heights.
fn seen(mark: &Mark, top: f64, bottom: f64) -> bool {
    let (high, low) = match mark {
        Mark::Line { points, width, .. } => extent(points.iter().map(|p| p.y), 2.0 * width),
        Mark::Area { outline, .. } => extent(outline.iter().map(|p| p.y), 1.0),
        Mark::Disc { centre, radius, .. } => (centre.y - radius - 1.0, centre.y + radius + 1.0),
        Mark::Text { at, size, .. } => (at.y - 1.5 * size, at.y + size),
    };
    high < bottom && low > top
}

fn extent(ys: impl Iterator<Item = f64>, more: f64) -> (f64, f64) {
    let (high, low) = ys.fold((f64::INFINITY, f64::NEG_INFINITY), |(h, l), y| (h.min(y), l.max(y)));
    (high - more, low + more)
}

/// Sets each pixel of `strip` to the mean of those of the canvas that it covers.
fn average(canvas: &[u8], wide: usize, strip: &mut [u8]) {
    const CELLS: u16 = FINER * FINER;
    let finer = usize::from(FINER);
    let mut sums = vec![0u16; wide * CHANNELS];
    let blocks = canvas.chunks_exact(finer * wide * CHANNELS);
    for (block, row) in blocks.zip(strip.chunks_exact_mut(wide / finer * CHANNELS)) {
        // Down first and then across: bytes side by side add up fast.
        sums.fill(0);
        for line in block.chunks_exact(wide * CHANNELS) {
            for (sum, value) in sums.iter_mut().zip(line) {
                *sum += u16::from(*value);
            }
        }
        for (pixel, cell) in row.chunks_exact_mut(CHANNELS).zip(sums.chunks_exact(finer * CHANNELS)) {
            let mut all = [CELLS / 2; CHANNELS];
            for point in cell.chunks_exact(CHANNELS) {
                for (sum, part) in all.iter_mut().zip(point) {
                    *sum += part;
                }
            }
            #[expect(clippy::cast_possible_truncation, reason = "the mean of bytes")]
            for (value, sum) in pixel.iter_mut().zip(all) {
                *value = (sum / CELLS) as u8;
            }
        }
    }
}

fn encoded(rows: &[u8], width: u32, height: u32) -> Result<Vec<u8>, PlotError> {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    // Flat ground and few colours pack best as they are.
    encoder.set_filter(png::Filter::NoFilter);
    let (xppu, unit) = (PIXELS_PER_METRE, png::Unit::Meter);
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu, yppu: xppu, unit }));
    let mut writer = encoder.write_header()?;
    writer.write_image_data(rows)?;
    writer.finish()?;
    Ok(file)
}
