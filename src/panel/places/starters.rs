//! What a part begins with that is added to a guitar.

use drywire::document::Literal;
use drywire::guitar::{Draft, DraftError, Guitar, KIND_UNKNOWN, Pot};

/// Adds the part at `place` with values that are usual, so that it is heard and can be changed.
pub(super) fn add(draft: &mut Draft, guitar: Option<&Guitar>, place: &str) -> Result<(), DraftError> {
    let (_, last) = place.rsplit_once('.').unwrap_or(("", place));
    match last {
        "pickup" => {
            let names = draft.pickup_names();
            let free = ["bridge", "neck", "middle", "front"]
                .into_iter()
                .find(|name| !names.iter().any(|own| own == name));
            let at = draft.add(place)?.to_string();
            draft.set(&format!("{at}.name"), free.unwrap_or("another"))?;
            draft.set(&format!("{at}.like"), KIND_UNKNOWN)?;
            draft.set(&format!("{at}.from_bridge"), "150 mm")
        }
        "selector" => {
            let names = draft.pickup_names();
            let at = draft.add(place)?.to_string();
            let is_three = names.len() > 2;
            let lugs: &[&str] = if is_three { &["A1", "A2", "A3"] } else { &["1", "2"] };
            draft.set(&format!("{at}.name"), "selector")?;
            draft
                .set(&format!("{at}.table"), if is_three { "five-way-blade" } else { "three-way-toggle" })?;
            let out = ["out".to_owned(), (if is_three { "A0" } else { "0" }).to_owned()];
            let joints = names.into_iter().zip(lugs).map(|(name, lug)| vec![name, (*lug).to_owned()]);
            draft.set(&format!("{at}.joints"), Literal::TextLists(joints.chain([out.to_vec()]).collect()))
        }
        "switch" => {
            let on =
                guitar.and_then(|guitar| guitar.pickups().iter().find(|pickup| pickup.coil_b().is_some()));
            let at = draft.add(place)?.to_string();
            draft.set(&format!("{at}.name"), "mode")?;
            if let Some(on) = on.filter(|_| draft.pickup_names().len() > 1) {
                draft.set(&format!("{at}.on"), on.name().as_str())?;
            }
            draft.set(&format!("{at}.table"), "on-on")?;
            let joints =
                [&["a+", "hot", "L3"][..], &["a-", "L1", "R2"], &["b+", "L2"], &["b-", "ground", "R3"]];
            let joints = joints.iter().map(|joint| joint.iter().map(|&point| point.to_owned()).collect());
            draft.set(&format!("{at}.joints"), Literal::TextLists(joints.collect()))
        }
        "blend" => {
            let ends = draft.pickup_names().into_iter().take(2).collect();
            draft.set(&format!("{place}.ends"), Literal::Texts(ends))
        }
        // Its track is assumed, as is usual with the pickups.
        "volume" | "tone" => draft.set(&format!("{place}.turned"), Literal::Number(Pot::FULL)),
        "bleed" => draft.set(&format!("{place}.capacitor"), "1n"),
        "bass_cut" => draft.set(&format!("{place}.capacitor"), "2.2n"),
        "buffer" => draft.set(&format!("{place}.input"), "1M"),
        _ => Err(DraftError::Unknown { given: place.to_owned(), nearest: None }),
    }
}

/// States the pots that are only assumed, before another change of the controls makes them no longer so.
pub(super) fn state_controls(
    draft: &mut Draft,
    guitar: Option<&Guitar>,
    place: &str,
) -> Result<(), DraftError> {
    let Some(guitar) = guitar.filter(|_| place.contains("controls.")) else { return Ok(()) };
    if draft.document().span_of(&"controls".parse()?).is_some() {
        return Ok(());
    }
    let controls = guitar.controls();
    for (name, pot) in [("volume", controls.volume()), ("tone", controls.tone().map(|tone| tone.pot()))] {
        if let Some(pot) = pot {
            draft.set(&format!("controls.{name}.turned"), Literal::Number(pot.turned()))?;
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use drywire::document::Document;

    #[test]
    fn each_part_that_is_added_leaves_a_guitar_without_a_fault() {
        let two = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n\
                   [[selector]]\nname = \"x\"\ntable = \"three-way-toggle\"\njoints = [[\"bridge\", \"1\"], [\"neck\", \"2\"], [\"out\", \"0\"]]\n";
        let one = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n";
        for (text, places) in [
            (
                one,
                &["switch", "controls.bleed", "controls.bass_cut", "buffer", "pickup[0].controls.volume"][..],
            ),
            (two, &["switch", "controls.bleed", "buffer", "pickup[1].controls.tone"]),
        ] {
            for place in places {
                let mut draft = Draft::of(Document::new("mine.toml", text));
                let guitar = draft.check().unwrap();
                state_controls(&mut draft, Some(&guitar), place).unwrap();
                add(&mut draft, Some(&guitar), place).unwrap();
                let after = draft.check().unwrap_or_else(|e| panic!("{place}: {e}"));
                assert_eq!(after.controls().tone().is_some(), guitar.controls().tone().is_some(), "{place}");
            }
        }
    }
}
