//! A picture as SVG: both sheets in one file, of which the one that fits is shown.

use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD as BASE64;
use plotters::backend::SVGBackend;

use super::face::CARRIED;
use super::palette::{Ink, Theme};
use super::pen::Pen;
use super::scene::{Mark, Scene, count};
use super::sheet::{NARROW, WIDE};
use super::subject::Subject;

/// The drawing library's canvas is this many times the sheet, because it knows whole pixels only.
const FINE: f64 = 10.0;
/// Up to this width, in CSS pixels, the narrow sheet is shown.
const NARROW_UP_TO: u32 = 560;
/// The class of the root.
const ROOT: &str = "dw-picture";
/// The library divides a font's size by this when it writes it down, and lets a text anchored at its top hang this
/// many ems above its baseline.
const WRITTEN_SIZE: f64 = 1.24;
const WRITTEN_RISE: f64 = 0.76;

/// Returns `picture` as an SVG document.
pub fn svg<'p>(picture: impl Into<Subject<'p>>, theme: Theme) -> String {
    let [text] = svgs(picture, [theme]);
    text
}

/// Returns `picture` as an SVG document in each of `themes`, composed once for all of them.
pub fn svgs<'p, const N: usize>(picture: impl Into<Subject<'p>>, themes: [Theme; N]) -> [String; N] {
    let picture = picture.into();
    let ratio = (picture.height(WIDE) / WIDE.width).max(picture.height(NARROW) / NARROW.width);
    let (width, height) = (WIDE.width, (WIDE.width * ratio).ceil());
    let scenes =
        [("dw-wide", "", WIDE), ("dw-narrow", " display=\"none\"", NARROW)].map(|(class, hidden, sheet)| {
            let scene = picture.composed(sheet, height * sheet.width / width);
            (format!("class=\"{class}\"{hidden} transform=\"scale({})\"", width / sheet.width), scene)
        });
    themes.map(|theme| {
        let mut text = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"{width}\" height=\"{height}\" \
             viewBox=\"0 0 {} {}\" class=\"{}\">\n<title>{}</title>\n<desc>{}</desc>\n<style>{}</style>\n",
            FINE * width,
            FINE * height,
            ROOT,
            escaped(&picture.title()),
            escaped(&picture.described()),
            styles(theme),
        );
        for (attributes, scene) in &scenes {
            let _ = write!(text, "<g {attributes}>\n{}</g>\n", drawn(scene, theme));
        }
        text + "</svg>\n"
    })
}

/// Returns what an SVG's style sheet says: the typeface, which sheet is shown, and the dark colours.
fn styles(theme: Theme) -> String {
    let mut css = String::new();
    for (weight, file) in CARRIED {
        let _ = write!(
            css,
            "@font-face{{font-family:Inter;font-weight:{weight};src:url(data:font/woff2;base64,{})}}",
            BASE64.encode(file)
        );
    }
    let _ = write!(
        css,
        ".dw-narrow{{display:none}}@media(max-width:{NARROW_UP_TO}px){{.dw-wide{{display:none}}\
         .dw-narrow{{display:inline}}}}.{ROOT}{{display:block;margin:auto;max-width:100%;height:auto;background:{}}}",
        hex(Ink::Paper, theme)
    );
    if theme == Theme::Adaptive {
        css += "@media(prefers-color-scheme:dark){";
        let dark = |ink| hex(ink, Theme::Dark);
        let _ = write!(css, ".{ROOT}{{background:{}}}", dark(Ink::Paper));
        for ink in Ink::ALL {
            let (class, colour) = (ink.class(), dark(ink));
            let _ = write!(css, "polyline.{class}{{stroke:{colour}}}:not(polyline).{class}{{fill:{colour}}}");
        }
        css.push('}');
    }
    css
}

fn hex(ink: Ink, theme: Theme) -> String {
    let [r, g, b] = ink.rgb(theme);
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Returns a scene's elements as the drawing library writes them, each with its class and its dashes.
fn drawn(scene: &Scene, theme: Theme) -> String {
    let pen = Pen { scale: FINE, above: 0.0, theme, size: WRITTEN_SIZE, rise: WRITTEN_RISE };
    let size = (count(FINE * scene.width), count(FINE * scene.height));
    let mut text = String::new();
    let ground = Mark::Area { outline: scene.whole().corners().to_vec(), ink: Ink::Paper, opacity: 1.0 };
    for mark in std::iter::once(&ground).chain(&scene.marks) {
        // A canvas a mark, so that what the library writes for it is known and can be completed.
        let mut written = String::new();
        let mut canvas = SVGBackend::with_string(&mut written, size);
        pen.draw(&mut canvas, mark).expect("a text takes every mark");
        drop(canvas);
        let element = written.split_once('\n').map_or("", |(_head, element)| element);
        text += &completed(element.trim_end_matches("</svg>\n"), mark);
    }
    text
}

/// Returns an element with the attributes that the library does not write.
fn completed(element: &str, mark: &Mark) -> String {
    let (ink, mut more) = match mark {
        Mark::Line { width, ink, dash, .. } => {
            let lengths = dash.pattern().iter().map(|l| format!("{:.0}", FINE * width * l));
            let dashes = lengths.collect::<Vec<String>>().join(" ");
            (ink, if dashes.is_empty() { dashes } else { format!(" stroke-dasharray=\"{dashes}\"") })
        }
        Mark::Area { ink, .. } | Mark::Disc { ink, .. } | Mark::Text { ink, .. } => (ink, String::new()),
    };
    if matches!(mark, Mark::Line { .. }) {
        more += " stroke-linejoin=\"round\"";
    }
    let class = format!(" class=\"{}\"{more} ", ink.class());
    element.replacen(' ', &class, 1).replace(" opacity=\"1\"", "")
}

/// Returns `text` as it may stand inside an element.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
