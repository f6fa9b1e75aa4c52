//! What is read off a sheet: nothing covers anything, whatever the pickup, the controls and the number of voices.

use super::face::width;
use super::palette::{Ink, Theme};
use super::scene::{Anchor, Frame, Mark, Point, Scene};
use super::sheet::{NARROW, Sheet, WIDE};
use super::{BandPoint, Map, Panel, Picture, png, svg};
use crate::document::Document;
use crate::guitar::{Guitar, guitar_presets, pickup_presets};
use crate::quantity::{Db, Hertz};
use crate::report::{ArrangementFigures, SetFigures};
use crate::response::{Voice, VoiceResponse};
use crate::survey::{Heard, Neutral, Radii, Solving, Space, SurveyFigures};
use crate::wiring::Arrangement;

fn guitar(text: &str) -> Guitar {
    Guitar::read(&Document::new("test", format!("format = 1\nname = \"A guitar with a name\"\n{text}")))
        .unwrap()
}

/// Returns a picture of the first `count` arrangements with spectra like those of a chord through each.
fn picture(guitar: &Guitar, count: usize) -> Picture {
    let (responses, figures) = told(guitar, count);
    let picture = Picture::new(&responses, &figures).unwrap();
    let chord = [-30.0, -34.0, -12.0, -26.0, -10.0, -11.0, -12.0, -2.0, -4.0, -5.0, -6.0, -5.0, -6.0];
    responses.iter().fold(picture, |picture, response| {
        let own = |f: f64| 20.0 * response.telling(&response.at(Hertz::new(f)).unwrap()).norm().log10();
        let bands = (0..24).map(|band| {
            let f = 1000.0 * 2f64.powf(f64::from(band - 13) / 3.0);
            let source = usize::try_from(band).ok().and_then(|i| chord.get(i)).copied();
            let rolled_off = -6.0 - 1.5 * (f64::from(band) - 13.0);
            (Hertz::new(f), Db::new(source.unwrap_or(rolled_off) + own(f) - own(400.0)))
        });
        picture.with_spectrum(response.voice().name(), bands)
    })
}

/// Returns the first `count` arrangements that the guitar's pickup has, with levels that are spread like those of a
/// sound.
fn told(guitar: &Guitar, count: usize) -> (Vec<VoiceResponse>, SetFigures) {
    let pickup = guitar.pickup(None).unwrap();
    let mut figures = SetFigures::new(guitar, pickup, "series");
    let responses: Vec<VoiceResponse> = pickup
        .arrangements()
        .into_iter()
        .take(count)
        .map(|a| Voice::of(a).response(guitar, pickup).unwrap())
        .collect();
    for (i, response) in responses.iter().enumerate() {
        let mut told = ArrangementFigures::new(response.voice().name(), &response.figures().unwrap(), None);
        told.drop_rms_db = Some(-3.1 * i as f64);
        told.drop_loudness_lu = Some(-2.9 * i as f64);
        told.approximate = Some(i > 2);
        figures.arrangements.push(told);
    }
    (responses, figures)
}

/// Returns every text with the frame of its letters.
fn texts(scene: &Scene) -> Vec<(&str, Frame)> {
    let letters = |mark| match mark {
        &Mark::Text { at, ref text, size, weight, anchor, .. } => {
            let wide = width(text, weight, size);
            let left = match anchor {
                Anchor::Start => at.x,
                Anchor::Middle => at.x - wide / 2.0,
                Anchor::End => at.x - wide,
            };
            let (top, bottom) = (at.y - 0.73 * size, at.y + 0.2 * size);
            Some((text.as_str(), Frame { left, top, right: left + wide, bottom }))
        }
        Mark::Line { .. } | Mark::Area { .. } | Mark::Disc { .. } => None,
    };
    scene.marks.iter().filter_map(letters).collect()
}

/// Returns places along every coloured line and on every mark, close enough that no letter fits between them.
fn coloured(scene: &Scene) -> Vec<Point> {
    let mut places = Vec::new();
    for mark in &scene.marks {
        match mark {
            Mark::Line { points, ink: Ink::Hue(_), .. } => {
                for pair in points.windows(2) {
                    let steps = pair[0].distance(pair[1]).ceil().max(1.0);
                    places.extend((0..=super::scene::whole(steps)).map(|i| {
                        let t = f64::from(i) / steps;
                        let along = |a: f64, b: f64| a + t * (b - a);
                        Point::new(along(pair[0].x, pair[1].x), along(pair[0].y, pair[1].y))
                    }));
                }
            }
            Mark::Disc { centre, ink: Ink::Hue(_), .. } => places.push(*centre),
            Mark::Line { .. } | Mark::Disc { .. } | Mark::Area { .. } | Mark::Text { .. } => {}
        }
    }
    places
}

/// Checks that nothing covers anything and that in each of the first `panels` every curve has its label.
fn assert_clear(picture: &Picture, sheet: Sheet, panels: usize, what: &str) {
    let scene = sheet.composed(picture, sheet.height(picture));
    let texts = texts(&scene);
    let places = coloured(&scene);
    for (i, (text, frame)) in texts.iter().enumerate() {
        let inside = frame.left >= 0.0
            && frame.right <= scene.width
            && frame.top >= 0.0
            && frame.bottom <= scene.height;
        assert!(inside, "{what}: `{text}` leaves the sheet: {frame:?}");
        for (other, covered) in &texts[..i] {
            assert!(!frame.overlaps(*covered), "{what}: `{text}` covers `{other}`");
        }
        let struck = places.iter().find(|p| frame.distance(**p) == 0.0);
        assert!(struck.is_none(), "{what}: a curve runs through `{text}` at {struck:?}");
    }
    let ends: Vec<f64> = ["Response at", "Difference to", "Third-octave", "Level of", "This is"]
        .into_iter()
        .filter_map(|start| texts.iter().find(|(text, _)| text.starts_with(start)).map(|(_, at)| at.top))
        .collect();
    for (panel, ends) in ends.windows(2).enumerate().take(panels) {
        for voice in &picture.voices {
            let beside =
                |(text, at): &(&str, Frame)| *text == voice.name && at.top > ends[0] && at.top < ends[1];
            assert!(texts.iter().any(beside), "{what}: `{}` has no label in panel {panel}", voice.name);
        }
    }
}

#[test]
fn no_text_covers_another_or_a_curve_and_every_curve_has_its_name() {
    let mut looked_at = 0;
    for preset in pickup_presets() {
        let two_coils = !["soapbar", "single-coil"].contains(&preset.name);
        let bypass = if two_coils { "bypass = \"22n\"\n" } else { "" };
        let guitar = guitar(&format!("[[pickup]]\nname = \"p\"\nlike = \"{}\"\n{bypass}", preset.name));
        for count in [1, 2, 3, 4, 6, 9] {
            let picture = picture(&guitar, count);
            for (sheet, name) in [(WIDE, "wide"), (NARROW, "narrow")] {
                assert_clear(&picture, sheet, 4, &format!("{}, {count}, {name}", preset.name));
                looked_at += 1;
            }
        }
    }
    assert!(looked_at >= 60, "{looked_at}");
}

#[test]
fn turned_down_controls_and_extreme_parts_leave_every_name_in_place() {
    let pickup = "[[pickup]]\nname = \"p\"\nlike = \"hot-ceramic\"\nbypass = \"22n\"\n";
    for more in [
        "[controls]\nvolume = { pot = \"500k\", taper = \"audio\", turned = 3 }\n",
        "[controls]\ntone = { pot = \"500k\", taper = \"audio\", turned = 0, capacitor = \"47n\" }\n",
        "[controls]\n[cable]\ntotal = \"0\"\n[input]\nresistance = \"10M\"\n",
        "[cable]\nlength = \"10 m\"\nper_metre = \"200p\"\n",
        "[controls]\nvolume = { pot = \"500k\", taper = \"audio\", turned = 6 }\n\
         tone = { pot = \"500k\", taper = \"audio\", turned = 2, capacitor = \"22n\" }\n",
    ] {
        let guitar = guitar(&format!("{pickup}{more}"));
        for (sheet, count) in [(WIDE, 6), (WIDE, 9), (NARROW, 6), (NARROW, 9)] {
            assert_clear(&picture(&guitar, count), sheet, 1, more);
        }
    }
}

#[test]
fn numbers_beyond_every_sheet_are_cut_at_its_panels() {
    let guitar = guitar("[[pickup]]\nname = \"p\"\nlike = \"mini\"\n");
    let (responses, mut figures) = told(&guitar, 4);
    let wild = [f64::MAX, f64::MIN, f64::INFINITY, f64::NAN];
    for (told, number) in figures.arrangements.iter_mut().zip(wild) {
        told.drop_rms_db = Some(number);
        told.drop_loudness_lu = Some(-number);
        told.resonance_hz = Some(number);
        told.q = Some(number);
    }
    let mut picture = Picture::new(&responses, &figures).unwrap();
    for (response, number) in responses.iter().zip(wild) {
        let name = response.voice().name();
        let levels = [-number, number].map(|level| (Hertz::new(1000.0), Db::new(level)));
        let edge = BandPoint { frequency: Hertz::new(900.0), low: Db::new(-number), high: Db::new(number) };
        picture = picture.with_spectrum(name, levels).with_band(Panel::Response, name, [edge; 3]);
    }
    for voice in &mut picture.voices {
        voice.response[7].1 = f64::MAX;
        voice.difference[9].1 = f64::MIN;
    }
    for theme in [Theme::Light, Theme::Dark, Theme::Adaptive] {
        assert!(roxmltree::Document::parse(&svg(&picture, theme)).is_ok());
    }
    assert!(png(&picture, Theme::Dark).is_ok());
}

#[test]
fn a_picture_without_voices_and_one_with_too_many_are_drawn() {
    let guitar = guitar("[[pickup]]\nname = \"p\"\nlike = \"mini\"\n");
    let pickup = guitar.pickup(None).unwrap();
    let figures = SetFigures::new(&guitar, pickup, "series");
    let none = Picture::new(&[], &figures).unwrap();
    assert!(
        roxmltree::Document::parse(&svg(&none, Theme::Light)).is_ok() && png(&none, Theme::Light).is_ok()
    );
    let throw = |i: usize| {
        let arrangement = Arrangement::TWO_COIL[i % 8];
        Voice::wired(format!("mode:{i}"), arrangement.connection(), None).response(&guitar, pickup).unwrap()
    };
    let many = Picture::new(&(0..24).map(throw).collect::<Vec<_>>(), &figures).unwrap();
    assert!(
        roxmltree::Document::parse(&svg(&many, Theme::Light)).is_ok() && png(&many, Theme::Light).is_ok()
    );
}

#[test]
fn names_of_positions_are_written_out_beside_their_levels_however_long() {
    let guitar = guitar("[[pickup]]\nname = \"p\"\nlike = \"mini\"\n");
    let (responses, figures) = told(&guitar, 4);
    let mut picture = Picture::new(&responses, &figures).unwrap();
    for (i, voice) in picture.voices.iter_mut().enumerate() {
        voice.name =
            format!("selector:{i}+add-neck:2+bridge=series-reversed+middle=split-b-open+neck=parallel");
    }
    for (sheet, name) in [(WIDE, "wide"), (NARROW, "narrow")] {
        let scene = sheet.composed(&picture, sheet.height(&picture));
        let texts = texts(&scene);
        let heading = texts.iter().position(|(text, _)| text.starts_with("Level of the files")).unwrap();
        let written: String = texts[heading..].iter().map(|(text, _)| *text).collect();
        for voice in &picture.voices {
            assert!(written.contains(&voice.name), "{name}: {written}");
        }
        for (i, (text, frame)) in texts.iter().enumerate() {
            for (other, covered) in &texts[..i] {
                assert!(!frame.overlaps(*covered), "{name}: `{text}` covers `{other}`");
            }
        }
    }
}

/// Returns the map of every combination of a guitar.
fn map(guitar: &Guitar) -> Map {
    let space = Space::new(guitar, None, &[]).unwrap();
    let circuits = space.circuits().unwrap();
    let neutral = Neutral::of(&space).unwrap();
    let mut heard: Vec<Option<Heard>> = vec![None; circuits.len()];
    Solving { workers: 2 }.hear(&neutral, &circuits, &mut heard, &mut |_| true).unwrap();
    let heard: Vec<Heard> = heard.into_iter().flatten().collect();
    let baseline = (circuits[0].first.voice.name(), &heard[0]);
    let radii = Radii::default();
    Map::new(&SurveyFigures::new(&space, &circuits, &heard, baseline, radii))
}

#[test]
fn on_the_maps_of_the_built_in_guitars_no_label_covers_another_or_a_mark() {
    for preset in guitar_presets() {
        let map = map(&Guitar::built_in(preset.name).unwrap());
        for (sheet, name) in [(WIDE, "wide"), (NARROW, "narrow")] {
            let scene = map.composed(sheet, map.height(sheet));
            let texts = texts(&scene);
            let (numbered, what) = (tags(&scene), format!("{}, {name}", preset.name));
            assert!(numbered.len() > 2, "{what}: {} numbers", numbered.len());
            let against =
                texts.iter().filter(|(text, _)| *text == "Resonance and level, out of phase").count();
            assert_eq!(against, usize::from(map.has_against()), "{what}: those out of phase stand apart");
            for title in map.titles() {
                let written = texts.iter().map(|(text, _)| *text).collect::<Vec<_>>().join(" ");
                assert!(written.contains(title), "{what}: `{title}` is not written out");
            }
            for (i, tag) in numbered.iter().enumerate() {
                assert!(numbered[..i].iter().all(|other| !tag.overlaps(*other)), "{what}: tag {i}");
                let discs = scene.marks.iter().filter_map(|mark| match mark {
                    Mark::Disc { centre, radius, .. } => Some((*centre, *radius)),
                    Mark::Line { .. } | Mark::Area { .. } | Mark::Text { .. } => None,
                });
                for (centre, radius) in discs {
                    assert!(tag.distance(centre) > 0.9 * radius, "{what}: tag {i} covers {centre:?}");
                }
            }
            for (i, (text, frame)) in texts.iter().enumerate() {
                let inside = frame.left >= 0.0 && frame.right <= scene.width && frame.bottom <= scene.height;
                assert!(inside, "{what}: `{text}` leaves the sheet");
                for (other, covered) in &texts[..i] {
                    assert!(!frame.overlaps(*covered), "{what}: `{text}` covers `{other}`");
                }
            }
        }
    }
}

#[test]
fn a_kept_position_has_the_colour_on_the_map_that_it_has_in_a_sets_picture_and_no_distance_has_it() {
    let guitar = Guitar::with_built_in_pickup("mini").unwrap();
    let map = map(&guitar);
    let pickup = guitar.pickup(None).unwrap();
    let response = |name: &str| Voice::of(name.parse().unwrap()).response(&guitar, pickup).unwrap();
    let responses: Vec<VoiceResponse> = map.kept_by_name().map(|(name, _)| response(name)).collect();
    let picture = Picture::new(&responses, &SetFigures::new(&guitar, pickup, "series")).unwrap();
    assert!(responses.len() > 2);
    for ((name, hue), voice) in map.kept_by_name().zip(&picture.voices) {
        assert_eq!((name, hue), (voice.name.as_str(), Ink::Hue(voice.look.hue)));
    }
    for mark in map.composed(WIDE, map.height(WIDE)).marks {
        let shade = matches!(mark, Mark::Area { ink: Ink::Hue(_), opacity, .. } if opacity < 1.0);
        assert!(!shade, "{mark:?}");
    }
}

/// Returns the frames of the numbers' tags: squares in a colour of a curve.
fn tags(scene: &Scene) -> Vec<Frame> {
    let square = |mark: &Mark| match mark {
        Mark::Area { outline, ink: Ink::Hue(_), opacity: 1.0 } => {
            let [left_top, _, right_bottom, _] = outline.as_slice() else { return None };
            let (Point { x: left, y: top }, Point { x: right, y: bottom }) = (*left_top, *right_bottom);
            Some(Frame { left, top, right, bottom })
        }
        Mark::Line { .. } | Mark::Area { .. } | Mark::Disc { .. } | Mark::Text { .. } => None,
    };
    scene.marks.iter().filter_map(square).collect()
}
