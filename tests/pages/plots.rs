//! The pictures of a set say what the figures say: read off their axes, in both themes, with any names, and as files
//! that any viewer can open.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]
#![allow(clippy::float_cmp, reason = "a line on the grid has one and the same coordinate at both ends")]

use drywire::document::Document;
use drywire::guitar::Guitar;
use drywire::plot::{BandPoint, Panel, Picture, Theme, png, svg};
use drywire::quantity::{Db, Hertz};
use drywire::report::{ArrangementFigures, SetFigures};
use drywire::response::{Voice, VoiceResponse};
use drywire::wiring::Arrangement;
use roxmltree::{Document as Xml, Node};

const PARALLEL_DROP: f64 = -5.94;

/// Returns series, parallel, both split ones and series reversed on a guitar called `name`.
fn set(name: &str) -> (Vec<VoiceResponse>, SetFigures) {
    let text = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"vintage-full-size\"\n";
    let guitar = Guitar::read(&Document::new("test", text)).unwrap();
    let pickup = guitar.pickup(None).unwrap();
    let mut figures = SetFigures::new(&guitar, pickup, "series");
    name.clone_into(&mut figures.guitar);
    let list = [
        Arrangement::Series,
        Arrangement::Parallel,
        Arrangement::SplitA,
        Arrangement::SplitB,
        Arrangement::SeriesReversed,
    ];
    let responses: Vec<VoiceResponse> =
        list.iter().map(|a| Voice::of(*a).response(&guitar, pickup).unwrap()).collect();
    for (response, drop) in responses.iter().zip([0.0, PARALLEL_DROP, -7.31, -5.28, -12.2]) {
        let mut told = ArrangementFigures::new(response.voice().name(), &response.figures().unwrap(), None);
        told.drop_rms_db = Some(drop);
        told.drop_loudness_lu = Some(drop);
        figures.arrangements.push(told);
    }
    (responses, figures)
}

fn picture(name: &str) -> Picture {
    let (responses, figures) = set(name);
    Picture::new(&responses, &figures).unwrap()
}

fn sheet<'a>(xml: &'a Xml<'a>, class: &str) -> Node<'a, 'a> {
    xml.descendants().find(|n| n.has_tag_name("g") && n.attribute("class") == Some(class)).unwrap()
}

fn number(node: Node<'_, '_>, attribute: &str) -> f64 {
    node.attribute(attribute).unwrap().parse().unwrap()
}

fn points(node: Node<'_, '_>) -> Vec<(f64, f64)> {
    let pair = |p: &str| {
        let (x, y) = p.split_once(',').unwrap();
        (x.parse().unwrap(), y.parse().unwrap())
    };
    node.attribute("points").unwrap().split_whitespace().map(pair).collect()
}

fn words<'a>(node: Node<'a, 'a>) -> &'a str {
    node.text().unwrap_or("").trim()
}

/// Returns the texts that read `text`, from the top of the sheet to its bottom.
fn texts<'a>(sheet: Node<'a, 'a>, text: &str) -> Vec<Node<'a, 'a>> {
    let mut found: Vec<_> =
        sheet.descendants().filter(|n| n.has_tag_name("text") && words(*n) == text).collect();
    found.sort_by(|a, b| number(*a, "y").total_cmp(&number(*b, "y")));
    found
}

/// Straight lines of two points with a class that a grid has.
fn grid<'a>(sheet: Node<'a, 'a>) -> Vec<[(f64, f64); 2]> {
    let lines = sheet.descendants().filter(|n| {
        n.has_tag_name("polyline") && matches!(n.attribute("class"), Some("dw-soft" | "dw-hairline"))
    });
    lines.filter_map(|n| points(n).try_into().ok()).collect()
}

/// How the first panel of a sheet is read: the frequency at an x and the level at a y.
struct Axes {
    x_of_100: f64,
    decade: f64,
    zero: f64,
    six: f64,
}

impl Axes {
    fn of(sheet: Node<'_, '_>) -> Self {
        let lines = grid(sheet);
        let level = |text: &str| {
            let label = texts(sheet, text)[0];
            let middle = number(label, "y") + (0.76 - 0.36) * number(label, "font-size");
            let across = lines.iter().filter(|[a, b]| a.1 == b.1 && b.0 - a.0 > 1000.0);
            across.map(|[a, _]| a.1).min_by(|a, b| (a - middle).abs().total_cmp(&(b - middle).abs())).unwrap()
        };
        let frequency = |text: &str| {
            let label = number(texts(sheet, text)[0], "x");
            let down = lines.iter().filter(|[a, b]| a.0 == b.0 && b.1 - a.1 > 500.0);
            down.map(|[a, _]| a.0).min_by(|a, b| (a - label).abs().total_cmp(&(b - label).abs())).unwrap()
        };
        let x_of_100 = frequency("100");
        assert!((frequency("10k") - 2.0 * frequency("1k") + x_of_100).abs() < 2.0, "the axis is logarithmic");
        Self {
            x_of_100, decade: frequency("1k") - x_of_100, zero: level("0"), six: level("−6") - level("0")
        }
    }

    fn frequency(&self, x: f64) -> f64 {
        100.0 * 10f64.powf((x - self.x_of_100) / self.decade)
    }

    fn level(&self, y: f64) -> f64 {
        -6.0 * (y - self.zero) / self.six
    }
}

#[test]
fn a_curve_read_off_the_axes_is_the_response_and_its_mark_the_peak() {
    let (responses, figures) = set("A guitar");
    let text = svg(&Picture::new(&responses, &figures).unwrap(), Theme::Adaptive);
    let xml = Xml::parse(&text).unwrap();
    let level = |r: &VoiceResponse, f: f64| 20.0 * r.telling(&r.at(Hertz::new(f)).unwrap()).norm().log10();
    let reference = level(&responses[0], 100.0);
    for class in ["dw-wide", "dw-narrow"] {
        let sheet = sheet(&xml, class);
        let axes = Axes::of(sheet);
        for (response, (hue, told)) in responses
            .iter()
            .zip(["dw-ink", "dw-copper", "dw-blue", "dw-sky", "dw-purple"].iter().zip(&figures.arrangements))
        {
            let own = |tag: &str| {
                let of_hue = move |n: &Node<'_, '_>| n.attribute("class") == Some(hue);
                let tag = tag.to_owned();
                sheet.descendants().filter(move |n| n.has_tag_name(tag.as_str())).filter(of_hue)
            };
            let curve = own("polyline").map(points).find(|p| p.len() > 8).unwrap();
            for (x, y) in &curve {
                let f = axes.frequency(*x);
                let (read, expected) = (axes.level(*y), level(response, f) - reference);
                // A quarter of what the thinner line is wide.
                assert!((read - expected).abs() < 0.05, "{class} {hue} at {f:.0} Hz: {read} for {expected}");
            }
            let mark = own("circle").next().unwrap();
            let read = axes.frequency(number(mark, "cx"));
            let peak = told.peak_hz.unwrap();
            assert!((read / peak - 1.0).abs() < 2e-3, "{class} {hue}: {read} for {peak}");
        }
    }
}

#[test]
fn a_bar_read_off_its_axis_is_the_drop() {
    let text = svg(&picture("A guitar"), Theme::Light);
    let xml = Xml::parse(&text).unwrap();
    let sheet = sheet(&xml, "dw-wide");
    let at = |text: &str| number(*texts(sheet, text).last().unwrap(), "x");
    let bar = sheet
        .descendants()
        .find(|n| n.has_tag_name("polygon") && n.attribute("class") == Some("dw-copper"))
        .map(points)
        .unwrap();
    let end = bar.iter().map(|p| p.0).fold(f64::INFINITY, f64::min);
    let read = -6.0 * (end - at("0")) / (at("−6") - at("0"));
    assert!((read - PARALLEL_DROP).abs() < 0.05, "{read}");
    assert_eq!(texts(sheet, "−5.9 dB").len() + texts(sheet, "−5.9 LU").len(), 2);
}

#[test]
fn a_name_from_a_stranger_is_text_and_nothing_else() {
    for name in [
        "<img src=x onerror=alert(1)>",
        "</text><script>alert(1)</script>",
        "]]>&lt;&#x3c;\"'",
        "salt & pepper <3",
        "a\u{0}b\u{1b}[31m\u{202e}c\u{fffe}",
        "琴とギター 🎸 Żółta",
    ] {
        let (mut responses, mut figures) = set(name);
        let pickup = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\n";
        let guitar = Guitar::read(&Document::new("test", pickup)).unwrap();
        let wired = Voice::wired(name, Arrangement::Parallel.connection(), None);
        responses.push(wired.response(&guitar, guitar.pickup(None).unwrap()).unwrap());
        name.clone_into(&mut figures.honesty);
        let stranger = Picture::new(&responses, &figures).unwrap();
        let text = svg(&stranger, Theme::Adaptive);
        let xml = Xml::parse(&text).unwrap_or_else(|e| panic!("{name:?}: {e}"));
        for node in xml.descendants().filter(Node::is_element) {
            let known =
                ["svg", "title", "desc", "style", "g", "rect", "polygon", "polyline", "circle", "text"];
            assert!(known.contains(&node.tag_name().name()), "{name:?} makes {:?}", node.tag_name());
            let attributes = node.attributes().map(|a| a.name());
            assert!(attributes.clone().all(|a| !a.starts_with("on") && a != "href"), "{name:?}");
        }
        let shown: Vec<&str> = xml.descendants().filter(Node::is_text).filter_map(|n| n.text()).collect();
        let seen = name.chars().filter(|c| !c.is_control() && !matches!(c, '\u{202e}' | '\u{fffe}'));
        let seen: String = seen.collect::<String>().split_whitespace().collect();
        let squeezed = |t: &&str| t.split_whitespace().collect::<String>();
        let places = shown.iter().map(squeezed).filter(|t| *t == seen).count();
        // As a heading on both sheets, and as the name of a voice beside its curve.
        assert!(places >= 3, "{name:?} is shown {places} times");
        let root = xml.root_element();
        for tag in ["title", "desc"] {
            let told = words(root.children().find(|n| n.has_tag_name(tag)).unwrap());
            assert!(squeezed(&told).contains(&seen), "{name:?} is not in {tag}: {told}");
        }
        assert!(!text.contains(['\u{0}', '\u{1b}', '\u{202e}', '\u{fffe}']));
        assert!(png(&stranger, Theme::Light).is_ok());
    }
}

#[test]
fn the_file_asks_for_nothing_from_elsewhere_and_carries_its_typeface_with_the_licence_beside_it() {
    let text = svg(&picture("A guitar"), Theme::Adaptive);
    assert_eq!(text.matches("url(").count(), 2);
    assert_eq!(text.matches("url(data:font/woff2;base64,").count(), 2);
    let elsewhere = text.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
    assert!(!elsewhere.contains("http") && !elsewhere.contains("@import"));
    let licence = std::fs::read_to_string("src/plot/font/OFL.txt").unwrap();
    assert!(licence.contains("SIL OPEN FONT LICENSE Version 1.1") && licence.starts_with("Copyright"));
}

#[test]
fn a_screen_reader_is_told_what_the_picture_shows() {
    let text = svg(&picture("A guitar"), Theme::Light);
    let xml = Xml::parse(&text).unwrap();
    let root = xml.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let told = |tag: &str| words(root.children().find(|n| n.has_tag_name(tag)).unwrap()).to_owned();
    assert_eq!(told("title"), "Response at the jack: A guitar");
    let description = told("desc");
    // The peak as `figures` tells it, and the drop that was given.
    let (_, figures) = set("A guitar");
    let peak = figures.arrangements[1].peak_hz.unwrap() / 1000.0;
    let parallel = format!("parallel: peak at {peak:.2} kHz, Q ");
    assert!(description.contains(&parallel) && description.contains("RMS −5.9 dB"), "{description}");
    assert!(description.contains("series-reversed: "));
    assert!(text.contains("(coil A’s path)"));
}

#[test]
fn type_is_large_enough_on_a_phone_and_on_a_desk() {
    let text = svg(&picture("A guitar"), Theme::Adaptive);
    let xml = Xml::parse(&text).unwrap();
    let whole: f64 =
        xml.root_element().attribute("viewBox").unwrap().split(' ').nth(2).unwrap().parse().unwrap();
    // CSS pixels: a phone's width, and that of a column of reading matter.
    for (class, shown, least) in [("dw-narrow", 390.0, 9.0), ("dw-wide", 800.0, 11.0)] {
        let sheet = sheet(&xml, class);
        let scale = sheet.attribute("transform").unwrap().trim_start_matches("scale(").trim_end_matches(')');
        let pixel = scale.parse::<f64>().unwrap() * shown / whole;
        let sizes = sheet.descendants().filter(|n| n.has_tag_name("text")).map(|n| number(n, "font-size"));
        let smallest = sizes.fold(f64::INFINITY, f64::min) * pixel;
        assert!(smallest >= least && smallest < 2.0 * least, "{class}: {smallest}");
    }
}

#[test]
fn each_theme_has_its_ground_and_one_adapts_to_its_viewer() {
    let picture = picture("A guitar");
    let [light, dark, adaptive] = [Theme::Light, Theme::Dark, Theme::Adaptive].map(|t| svg(&picture, t));
    let ground = |text: &str| {
        let xml = Xml::parse(text).unwrap();
        let first = sheet(&xml, "dw-wide").first_element_child().unwrap();
        first.attribute("fill").unwrap().to_lowercase()
    };
    assert_eq!([&light, &dark, &adaptive].map(|t| ground(t)), ["#faf7f2", "#14181d", "#faf7f2"]);
    assert_eq!([&light, &dark].map(|t| t.contains("prefers-color-scheme")), [false; 2]);
    assert!(adaptive.contains("prefers-color-scheme:dark") && adaptive.contains(".dw-paper{fill:#14181d}"));
}

#[test]
fn a_bitmap_decodes_at_double_density_with_the_colours_of_its_theme() {
    let picture = picture("A guitar");
    for (theme, ground, copper) in [
        (Theme::Light, [0xfa, 0xf7, 0xf2], [0xb5, 0x62, 0x2a]),
        (Theme::Adaptive, [0xfa, 0xf7, 0xf2], [0xb5, 0x62, 0x2a]),
        (Theme::Dark, [0x14, 0x18, 0x1d], [0xe3, 0x9a, 0x5f]),
    ] {
        let file = png(&picture, theme).unwrap();
        let decoder = ::png::Decoder::new(std::io::Cursor::new(&file));
        let mut reader = decoder.read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        let frame = reader.next_frame(&mut pixels).unwrap();
        assert_eq!((frame.width, frame.color_type), (1600, ::png::ColorType::Rgb));
        let share = |colour: [u8; 3]| {
            let same = pixels.chunks_exact(3).filter(|p| **p == colour).count();
            same as f64 / (pixels.len() / 3) as f64
        };
        assert_eq!(&pixels[..3], ground);
        assert!(share(ground) > 0.8 && share(copper) > 0.001, "{} {}", share(ground), share(copper));
        // Letters and lines have soft edges: colours that are neither the ground nor a mark's.
        let mut colours: Vec<&[u8]> = pixels.chunks_exact(3).collect();
        colours.sort_unstable();
        colours.dedup();
        assert!(colours.len() > 100, "{}", colours.len());
    }
}

#[test]
fn bands_and_spectra_are_drawn_where_they_are_given() {
    let plain = svg(&picture("A guitar"), Theme::Light);
    assert!(!plain.contains("Third-octave spectra") && !plain.contains("opacity=\"0.16\""));
    let band = [(100.0, -6.1, -5.5), (1000.0, -6.3, -5.4), (5000.0, -2.0, 3.0)]
        .map(|(f, low, high)| BandPoint { frequency: Hertz::new(f), low: Db::new(low), high: Db::new(high) });
    let levels = [(63.0, -20.0), (125.0, -14.0), (1000.0, -26.0), (8000.0, f64::NEG_INFINITY)];
    let more = picture("A guitar")
        .with_band(Panel::Difference, "parallel", band)
        .with_band(Panel::Difference, "no such voice", band)
        .with_spectrum("parallel", levels.map(|(f, level)| (Hertz::new(f), Db::new(level))));
    let text = svg(&more, Theme::Light);
    let xml = Xml::parse(&text).unwrap();
    // One on each sheet.
    assert_eq!(text.matches("opacity=\"0.16\"").count(), 2);
    let wide = sheet(&xml, "dw-wide");
    assert_eq!(texts(wide, "Third-octave spectra at matched level").len(), 1);
    assert_eq!(texts(wide, "parallel").len(), 4, "in three panels and beside its level");
}

#[test]
fn the_same_set_gives_the_same_bytes() {
    let [one, other] = ["A guitar"; 2].map(picture);
    assert!(svg(&one, Theme::Adaptive) == svg(&other, Theme::Adaptive));
    assert!(png(&one, Theme::Dark).unwrap() == png(&other, Theme::Dark).unwrap());
}
