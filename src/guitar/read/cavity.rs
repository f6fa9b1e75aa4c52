//! The control cavity, read from `[harness]`.

use super::keyed::Keyed;
use crate::document::{Fault, Located};
use crate::guitar::{Cavity, Jack, NamedWire};
use crate::quantity::Metres;

/// The most wires that a file may state.
const MAX_WIRES: usize = 200;
/// The farthest that a part may lie from the cavity's corner, in millimetres.
const FARTHEST: f64 = 1000.0;
const MILLIMETRE: f64 = 1e-3;

/// Returns the cavity that the file states, or the usual one; every fault is noted.
pub(super) fn cavity(top: &mut Keyed<'_, '_>, has_buffer: bool) -> Cavity {
    top.table("harness", |section| {
        let jack = section.choice("jack");
        if jack == Some(Jack::Mono) && has_buffer {
            let message = "a mono jack has no ring, and the buffer's battery is switched by it";
            section.note(
                Fault::new(section.span_of("jack"), message).hint("leave `jack` out, or say \"stereo\""),
            );
        }
        Cavity {
            turns: section.choice("turns").unwrap_or_default(),
            jack,
            strings: section.choice("strings").unwrap_or_default(),
            shield: section.choice("shield").unwrap_or_default(),
            ground: section.choice("ground").unwrap_or_default(),
            under: section.texts_by_name("under"),
            places: places(section),
            wires: wires(section),
            is_stated: true,
        }
    })
    .unwrap_or_default()
}

fn places(section: &mut Keyed<'_, '_>) -> Vec<(Located<String>, [Metres; 2])> {
    let stated = section.numbers_by_name("places");
    let place = |(name, numbers): (Located<String>, Vec<Located<f64>>)| {
        let values: Vec<f64> = numbers.iter().map(|number| number.value).collect();
        let within = |value: &f64| (0.0..=FARTHEST).contains(value);
        match values.as_slice() {
            [across, down] if within(across) && within(down) => {
                Some((name, [across, down].map(|millimetres| Metres::new(millimetres * MILLIMETRE))))
            }
            _ => {
                let message =
                    format!("the place of `{}` is no pair of millimetres from 0 to {FARTHEST}", name.value);
                let hint = "measure to the right and down from the cavity's top left corner, seen from behind, as in \
                            volume = [120, 40]";
                section.note(Fault::new(name.span, message).hint(hint));
                None
            }
        }
    };
    stated.into_iter().filter_map(place).collect()
}

fn wires(section: &mut Keyed<'_, '_>) -> Option<Vec<NamedWire>> {
    let lists = section.text_lists("wires")?;
    if let Some(beyond) = lists.get(MAX_WIRES) {
        let message = format!("{} wires; allowed are up to {MAX_WIRES}", lists.len());
        section.note(
            Fault::new(beyond.span.clone(), message).hint("state each wire, lead and leg of a part once"),
        );
    }
    let wire = |Located { value, span }: Located<Vec<Located<String>>>| match <[_; 2]>::try_from(value) {
        Ok(ends) => Some(Located { value: ends, span }),
        Err(given) => {
            let message = format!("a wire has two ends, and {} are named", given.len());
            section.note(Fault::new(span, message).hint("as in [\"volume.2\", \"jack.tip\"]"));
            None
        }
    };
    // Every fault is noted before any of them is the answer.
    lists.into_iter().take(MAX_WIRES).map(wire).collect::<Vec<_>>().into_iter().collect()
}
