//! Colours and line styles, told apart by colour-blind eyes as well.
//!
//! # Source
//! The choice of hues follows M. Okabe, K. Ito, *Color Universal Design*, 2008 (black, vermillion, blue, sky blue,
//! reddish purple, bluish green), moved toward the program's own ink and copper. Where two hues come close, their
//! dashes differ; the tests hold both to that.

use crate::wiring::Arrangement;

/// The ground that a picture is drawn on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Theme {
    /// Ink on paper.
    Light,
    /// Light lines on a dark ground.
    Dark,
    /// As the viewer prefers, where the picture can know it (SVG); else light.
    Adaptive,
}

/// A colour as red, green and blue in sRGB.
pub(super) type Rgb = [u8; 3];

/// What a mark's colour stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ink {
    /// The ground.
    Paper,
    /// Words that are read first.
    Text,
    /// Words and marks in the second row: units, notes, leaders.
    Soft,
    /// Grid lines.
    Hairline,
    /// A curve's own colour.
    Hue(Hue),
}

/// The colours of curves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hue {
    Ink,
    Copper,
    Blue,
    Sky,
    Purple,
    Gold,
    Rose,
    Teal,
    Green,
}

/// How a line is broken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Dash {
    Solid,
    Dashed,
    Dotted,
    Chain,
    Long,
}

/// A curve's colour and line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Look {
    pub(super) hue: Hue,
    pub(super) dash: Dash,
}

impl Ink {
    pub(super) const ALL: [Self; 13] = [
        Self::Paper,
        Self::Text,
        Self::Soft,
        Self::Hairline,
        Self::Hue(Hue::Ink),
        Self::Hue(Hue::Copper),
        Self::Hue(Hue::Blue),
        Self::Hue(Hue::Sky),
        Self::Hue(Hue::Purple),
        Self::Hue(Hue::Gold),
        Self::Hue(Hue::Rose),
        Self::Hue(Hue::Teal),
        Self::Hue(Hue::Green),
    ];

    /// Returns the colour on paper and on the dark ground.
    const fn both(self) -> [Rgb; 2] {
        match self {
            Self::Paper => [[0xfa, 0xf7, 0xf2], [0x14, 0x18, 0x1d]],
            Self::Text | Self::Hue(Hue::Ink) => [[0x1f, 0x2a, 0x37], [0xe8, 0xe4, 0xdc]],
            Self::Soft => [[0x5b, 0x67, 0x75], [0x9a, 0xa4, 0xb0]],
            Self::Hairline => [[0xd9, 0xd2, 0xc7], [0x34, 0x3b, 0x44]],
            Self::Hue(Hue::Copper) => [[0xb5, 0x62, 0x2a], [0xe3, 0x9a, 0x5f]],
            Self::Hue(Hue::Blue) => [[0x0a, 0x6a, 0xa8], [0x4f, 0x9f, 0xdc]],
            Self::Hue(Hue::Sky) => [[0x3d, 0x93, 0xc9], [0x9a, 0xd0, 0xf2]],
            Self::Hue(Hue::Purple) => [[0x8c, 0x3a, 0x7c], [0xb8, 0x6f, 0xbd]],
            Self::Hue(Hue::Gold) => [[0x9a, 0x7a, 0x00], [0xd8, 0xc2, 0x55]],
            Self::Hue(Hue::Rose) => [[0xc4, 0x61, 0x8f], [0xf0, 0xa9, 0xcb]],
            Self::Hue(Hue::Teal) => [[0x3f, 0x7f, 0x86], [0x7f, 0xb3, 0xb8]],
            Self::Hue(Hue::Green) => [[0x1b, 0x7f, 0x62], [0x46, 0xb8, 0x94]],
        }
    }

    /// Returns the colour in a theme; in one that adapts, the light one.
    pub(super) const fn rgb(self, theme: Theme) -> Rgb {
        let [light, dark] = self.both();
        match theme {
            Theme::Light | Theme::Adaptive => light,
            Theme::Dark => dark,
        }
    }

    /// Returns the name of the colour's class in an SVG.
    pub(super) const fn class(self) -> &'static str {
        match self {
            Self::Paper => "dw-paper",
            Self::Text => "dw-text",
            Self::Soft => "dw-soft",
            Self::Hairline => "dw-hairline",
            Self::Hue(Hue::Ink) => "dw-ink",
            Self::Hue(Hue::Copper) => "dw-copper",
            Self::Hue(Hue::Blue) => "dw-blue",
            Self::Hue(Hue::Sky) => "dw-sky",
            Self::Hue(Hue::Purple) => "dw-purple",
            Self::Hue(Hue::Gold) => "dw-gold",
            Self::Hue(Hue::Rose) => "dw-rose",
            Self::Hue(Hue::Teal) => "dw-teal",
            Self::Hue(Hue::Green) => "dw-green",
        }
    }
}

impl Dash {
    const ALL: [Self; 5] = [Self::Solid, Self::Dashed, Self::Dotted, Self::Chain, Self::Long];

    /// Returns the lengths of strokes and gaps in turn, as multiples of the line's width.
    pub(super) const fn pattern(self) -> &'static [f64] {
        match self {
            Self::Solid => &[],
            Self::Dashed => &[4.0, 2.0],
            Self::Dotted => &[1.2, 1.8],
            Self::Chain => &[6.0, 2.0, 1.2, 2.0],
            Self::Long => &[9.0, 2.5],
        }
    }
}

impl Look {
    /// Every look, in the order in which voices without a look of their own take them.
    pub(super) const ALL: [Self; 9] = [
        Self { hue: Hue::Ink, dash: Dash::Solid },
        Self { hue: Hue::Copper, dash: Dash::Solid },
        Self { hue: Hue::Blue, dash: Dash::Solid },
        Self { hue: Hue::Purple, dash: Dash::Dashed },
        Self { hue: Hue::Green, dash: Dash::Long },
        Self { hue: Hue::Sky, dash: Dash::Dashed },
        Self { hue: Hue::Rose, dash: Dash::Chain },
        Self { hue: Hue::Teal, dash: Dash::Dotted },
        Self { hue: Hue::Gold, dash: Dash::Dashed },
    ];

    /// Returns the look that an arrangement has in every picture.
    const fn of(arrangement: Arrangement) -> Self {
        let place = match arrangement {
            Arrangement::Series | Arrangement::Alone => 0,
            Arrangement::Parallel => 1,
            Arrangement::SplitA => 2,
            Arrangement::SeriesReversed => 3,
            Arrangement::SeriesBypassed => 4,
            Arrangement::SplitB => 5,
            Arrangement::ParallelReversed => 6,
            Arrangement::SplitAOpen => 7,
            Arrangement::SplitBOpen => 8,
        };
        Self::ALL[place]
    }

    /// Returns the look at a place in that order, which goes on beyond the last with the same colours in other dashes.
    fn nth(place: usize) -> Self {
        let Self { hue, dash } = Self::ALL[place % Self::ALL.len()];
        let own = Dash::ALL.iter().position(|other| *other == dash).unwrap_or_default();
        Self { hue, dash: Dash::ALL[(own + place / Self::ALL.len()) % Dash::ALL.len()] }
    }

    /// Returns a look for each voice: its arrangement's where that is free, else the next one that is. No two are the same
    /// while there are others.
    pub(super) fn assigned(arrangements: &[Option<Arrangement>]) -> Vec<Self> {
        let mut looks: Vec<Option<Self>> = vec![None; arrangements.len()];
        for (i, arrangement) in arrangements.iter().enumerate() {
            let own = arrangement.map(Self::of);
            looks[i] = own.filter(|_| !looks[..i].contains(&own));
        }
        let taken = looks.clone();
        let all = Self::ALL.len() * Dash::ALL.len();
        let mut free = (0..all).map(Self::nth).filter(|look| !taken.contains(&Some(*look)));
        // With more voices than looks they come round again.
        let mut again = (0..all).map(Self::nth).cycle();
        let next = |own: Option<Self>| own.or_else(|| free.next()).or_else(|| again.next());
        looks.into_iter().map(next).map(|look| look.unwrap_or(Self::ALL[0])).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::markup::COLOURS;

    /// The simulations of full colour-vision deficiency on linear RGB by G. Machado, M. Oliveira, L. Fernandes,
    /// IEEE TVCG 15(6), 2009: protanopia, deuteranopia, tritanopia (severity 1.0).
    const DEFICIENT: [[[f64; 3]; 3]; 3] = [
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
    ];
    const FULL: [[f64; 3]; 3] = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];

    /// Linear light from sRGB, IEC 61966-2-1.
    fn linear(colour: Rgb) -> [f64; 3] {
        colour.map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        })
    }

    fn seen(colour: Rgb, eye: &[[f64; 3]; 3]) -> [f64; 3] {
        let l = linear(colour);
        eye.map(|row| row.iter().zip(l).map(|(m, x)| m * x).sum::<f64>().clamp(0.0, 1.0))
    }

    /// CIE 1976 L*a*b* for the white D65.
    fn lab([r, g, b]: [f64; 3]) -> [f64; 3] {
        let f = |t: f64| if t > 216.0 / 24389.0 { t.cbrt() } else { (24389.0 / 27.0 * t + 16.0) / 116.0 };
        let x = f((0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047);
        let y = f(0.2126729 * r + 0.7151522 * g + 0.0721750 * b);
        let z = f((0.0193339 * r + 0.1191920 * g + 0.9503041 * b) / 1.08883);
        [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
    }

    fn distance(a: [f64; 3], b: [f64; 3]) -> f64 {
        a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
    }

    /// WCAG 2.2, relative luminance and contrast ratio.
    fn contrast(a: Rgb, b: Rgb) -> f64 {
        let y = |c: Rgb| {
            let [r, g, b] = linear(c);
            0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05
        };
        let (a, b) = (y(a), y(b));
        a.max(b) / a.min(b)
    }

    /// Ten times what is just noticed side by side (ΔE 2.3, M. Mahy, L. Van Eycken, A. Oosterlinck, 1994), less a
    /// little: lines are thin and stand apart.
    const APART: f64 = 20.0;

    #[test]
    fn two_looks_differ_by_dash_or_by_colour_to_every_eye_in_both_themes() {
        for theme in [Theme::Light, Theme::Dark] {
            for (i, a) in Look::ALL.iter().enumerate() {
                for b in Look::ALL[..i].iter().filter(|b| b.dash == a.dash) {
                    for eye in DEFICIENT.iter().chain([&FULL]) {
                        let [a, b] = [a, b].map(|l| lab(seen(Ink::Hue(l.hue).rgb(theme), eye)));
                        assert!(distance(a, b) >= APART, "{:?} {theme:?} {}", Look::ALL[i], distance(a, b));
                    }
                }
            }
        }
    }

    #[test]
    fn lines_and_words_stand_out_from_the_ground_as_accessibility_asks() {
        for theme in [Theme::Light, Theme::Dark] {
            for ink in Ink::ALL {
                // WCAG 2.2: 4.5 for text (1.4.3), 3 for graphics (1.4.11); the ground and the grid carry nothing.
                let least = match ink {
                    Ink::Paper | Ink::Hairline => 1.0,
                    Ink::Text | Ink::Soft => 4.5,
                    Ink::Hue(_) => 3.0,
                };
                let ratio = contrast(ink.rgb(theme), Ink::Paper.rgb(theme));
                assert!(ratio >= least, "{ink:?} {theme:?} {ratio:.2}");
            }
        }
    }

    #[test]
    fn an_arrangement_keeps_its_look_and_no_look_is_given_twice_while_there_are_others() {
        let all: Vec<Option<Arrangement>> = Arrangement::TWO_COIL.map(Some).to_vec();
        let looks = Look::assigned(&all);
        assert!((0..9).all(|i| !looks[..i].contains(&looks[i])));
        let few = Look::assigned(&[None, Some(Arrangement::Parallel), Some(Arrangement::Parallel)]);
        assert_eq!(few[1], looks[1]);
        assert_eq!((few[0], few[2]), (Look::ALL[0], Look::ALL[2]));
        let many = Look::assigned(&[[None; 36].as_slice(), &all].concat());
        assert!((0..45).all(|i| !many[..i].contains(&many[i])));
        assert_eq!(Look::assigned(&[None; 100]).len(), 100);
    }

    #[test]
    fn a_colour_that_pages_have_too_is_the_same_there() {
        let (light, rest) = COLOURS.split_once("@media (prefers-color-scheme: dark)").unwrap();
        let (dark, _) = rest.split_once("@media print").unwrap();
        for (theme, css) in [(Theme::Light, light), (Theme::Dark, dark)] {
            for (name, ink) in [
                ("paper", Ink::Paper),
                ("ink", Ink::Text),
                ("slate", Ink::Soft),
                ("hair", Ink::Hairline),
                ("copper", Ink::Hue(Hue::Copper)),
            ] {
                let [r, g, b] = ink.rgb(theme);
                let colour = format!("--{name}: #{r:02x}{g:02x}{b:02x};");
                assert!(css.contains(&colour), "{theme:?}: no {colour}");
            }
        }
    }
}
