//! The colours and lines of curves, for pages that draw voices as the pictures do.

use serde::Serialize;

use super::palette::{Hue, Ink, Look, Theme};
use crate::wiring::Arrangement;

/// How a voice's curve is drawn in every picture.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stroke {
    /// The name of its colour, one of [`hues`].
    pub hue: &'static str,
    /// The lengths of strokes and gaps in turn, as multiples of the line's width; none where it is not broken.
    pub dash: &'static [f64],
}

/// Returns how the curves of voices are drawn that are these arrangements, or none with a name.
pub fn strokes(arrangements: &[Option<Arrangement>]) -> Vec<Stroke> {
    let looks = Look::assigned(arrangements);
    looks.into_iter().map(|look| Stroke { hue: name(look.hue), dash: look.dash.pattern() }).collect()
}

/// Returns the name of each colour of a curve with its value on paper and on a dark ground, as `#rrggbb`.
pub fn hues() -> [(&'static str, [String; 2]); 9] {
    Look::ALL.map(|look| {
        let value = |theme| {
            let [r, g, b] = Ink::Hue(look.hue).rgb(theme);
            format!("#{r:02x}{g:02x}{b:02x}")
        };
        (name(look.hue), [value(Theme::Light), value(Theme::Dark)])
    })
}

/// Returns the colours of the pictures' curves as custom properties, and a class for each.
pub fn hue_style() -> String {
    let hues = hues();
    let values = |theme: usize| {
        let all = hues.iter().map(|(name, values)| format!("--hue-{name}: {}; ", values[theme]));
        all.collect::<Vec<_>>().concat()
    };
    let classes = hues.iter().map(|(name, _)| format!(".hue-{name} {{ --hue: var(--hue-{name}); }}\n"));
    let classes = classes.collect::<Vec<_>>().concat();
    format!(
        ":root {{ {}}}\n@media screen and (prefers-color-scheme: dark) {{ :root {{ {}}} }}\n{classes}",
        values(0),
        values(1)
    )
}

const fn name(hue: Hue) -> &'static str {
    match hue {
        Hue::Ink => "ink",
        Hue::Copper => "copper",
        Hue::Blue => "blue",
        Hue::Sky => "sky",
        Hue::Purple => "purple",
        Hue::Gold => "gold",
        Hue::Rose => "rose",
        Hue::Teal => "teal",
        Hue::Green => "green",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_voice_has_the_colour_and_the_line_of_its_arrangement() {
        let own = strokes(&[Some(Arrangement::Parallel), Some(Arrangement::SplitB)]);
        assert_eq!((own[0].hue, own[0].dash), ("copper", &[][..]));
        assert_eq!((own[1].hue, own[1].dash), ("sky", &[4.0, 2.0][..]));
    }

    #[test]
    fn every_colour_has_a_name_of_its_own() {
        let hues = hues();
        for (i, (name, [light, dark])) in hues.iter().enumerate() {
            assert!(hues[..i].iter().all(|(other, _)| other != name), "{name}");
            assert!(light != dark && light.len() == 7 && dark.len() == 7, "{light} {dark}");
        }
    }
}
