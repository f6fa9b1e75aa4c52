//! A mark drawn on a canvas of the drawing library, whatever the canvas is.

use plotters::backend::DrawingBackend;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, RGBAColor, RGBColor, ShapeStyle, TextStyle};

use super::face::font;
use super::palette::{Ink, Theme};
use super::scene::{Anchor, Mark, Point, count, whole};

/// A picture that cannot be drawn.
#[derive(Debug, thiserror::Error)]
pub enum PlotError {
    /// The drawing library refuses a mark.
    #[error("the picture cannot be drawn: {reason}")]
    Draw {
        /// What the library says.
        reason: String,
    },
    /// The bitmap cannot be written as PNG.
    #[error("the picture cannot be written as PNG: {0}")]
    Encode(#[from] png::EncodingError),
}

/// How a scene is carried over to a canvas.
#[derive(Debug, Clone, Copy)]
pub(super) struct Pen {
    /// The canvas's pixels for each unit of the scene.
    pub(super) scale: f64,
    /// Pixels of the whole picture that lie above the canvas.
    pub(super) above: f64,
    pub(super) theme: Theme,
    /// What the canvas takes for the size of a font whose em is 1.
    pub(super) size: f64,
    /// How far above its baseline the canvas takes a text's top to be, in ems.
    pub(super) rise: f64,
}

impl Pen {
    /// Draws `mark`.
    ///
    /// # Errors
    /// [`PlotError::Draw`] where the canvas refuses it.
    pub(super) fn draw(&self, canvas: &mut impl DrawingBackend, mark: &Mark) -> Result<(), PlotError> {
        let drawn = match mark {
            Mark::Line { points, width, ink, .. } => {
                let width = count(width * self.scale).max(1);
                let style = ShapeStyle { color: self.colour(*ink, 1.0), filled: false, stroke_width: width };
                canvas.draw_path(points.iter().map(|p| self.pixel(*p)), &style)
            }
            Mark::Area { outline, ink, opacity } => {
                let style = ShapeStyle { color: self.colour(*ink, *opacity), filled: true, stroke_width: 1 };
                canvas.fill_polygon(outline.iter().map(|p| self.pixel(*p)), &style)
            }
            Mark::Disc { centre, radius, ink } => {
                let style = ShapeStyle { color: self.colour(*ink, 1.0), filled: true, stroke_width: 1 };
                canvas.draw_circle(self.pixel(*centre), count(radius * self.scale), &style, true)
            }
            Mark::Text { at, text, size, weight, anchor, ink } => {
                let top = Point::new(at.x, at.y - self.rise * size);
                let style = TextStyle {
                    font: font(*weight, size * self.size * self.scale),
                    color: self.colour(*ink, 1.0).to_backend_color(),
                    pos: Pos::new(
                        match anchor {
                            Anchor::Start => HPos::Left,
                            Anchor::Middle => HPos::Center,
                            Anchor::End => HPos::Right,
                        },
                        VPos::Top,
                    ),
                };
                canvas.draw_text(text, &style, self.pixel(top))
            }
        };
        drawn.map_err(|e| PlotError::Draw { reason: e.to_string() })
    }

    fn pixel(&self, p: Point) -> (i32, i32) {
        (whole(p.x * self.scale), whole(p.y * self.scale - self.above))
    }

    fn colour(&self, ink: Ink, opacity: f64) -> RGBAColor {
        let [r, g, b] = ink.rgb(self.theme);
        RGBColor(r, g, b).mix(opacity)
    }
}
