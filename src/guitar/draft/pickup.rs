//! A pickup called otherwise or taken out, with all that names it.

use super::{Draft, DraftError};
use crate::document::Literal;

impl Draft {
    /// Calls the pickup at the place `i` of the list `name`, there and wherever the file names it.
    ///
    /// # Errors
    /// [`DraftError`], and the draft is as before.
    pub fn rename_pickup(&mut self, i: usize, name: &str) -> Result<(), DraftError> {
        let mut renamed = self.clone();
        let own = format!("pickup[{i}].name");
        let old = renamed.get(&own)?.unwrap_or_default();
        renamed.set(&own, name)?;
        for place in renamed.naming() {
            let Some(span) = renamed.document.span_of(&place.parse()?) else { continue };
            let before = renamed.document.text()[span].to_owned();
            let mut after = before.clone();
            for quote in ['"', '\''] {
                for end in [quote, '.'] {
                    after = after.replace(&format!("{quote}{old}{end}"), &format!("{quote}{name}{end}"));
                }
            }
            if after != before {
                renamed.set(&place, Literal::AsWritten(after))?;
            }
        }
        *self = renamed;
        Ok(())
    }

    /// Takes the pickup at the place `i` of the list out, with the joints, switches and wires that it alone needs.
    ///
    /// # Errors
    /// [`DraftError`], and the draft is as before.
    pub fn take_out_pickup(&mut self, i: usize) -> Result<(), DraftError> {
        let mut without = self.clone();
        let old = without.get(&format!("pickup[{i}].name"))?.unwrap_or_default();
        let is_of_it = |point: &str| point == old || point.split_once('.').is_some_and(|(own, _)| own == old);
        without.remove(&format!("pickup[{i}]"))?;
        for place in without.naming() {
            let Some(lists) = without.document.lists_at(&place.parse()?) else { continue };
            if !lists.iter().flatten().any(|point| is_of_it(point)) {
                continue;
            }
            let kept = lists.into_iter().map(|mut points| {
                points.retain(|point| !is_of_it(point));
                points
            });
            let kept: Vec<Vec<String>> = kept.filter(|points| points.len() > 1).collect();
            if kept.is_empty() {
                without.remove(&place)?;
            } else {
                without.set(&place, Literal::TextLists(kept))?;
            }
        }
        let is_alone = without.count("pickup")? < 2;
        for switch in (0..without.count("switch")?).rev() {
            let on = format!("switch[{switch}].on");
            match without.get(&on)? {
                Some(on) if on == old => without.remove(&format!("switch[{switch}]"))?,
                Some(_) | None => {}
            }
        }
        if is_alone {
            for selector in (0..without.count("selector")?).rev() {
                without.remove(&format!("selector[{selector}]"))?;
            }
            without.remove("joints")?;
        }
        if without.get("blend")?.is_some_and(|blend| is_alone || blend.contains(&old)) {
            without.remove("blend")?;
        }
        *self = without;
        Ok(())
    }

    /// Returns the places whose values may name a pickup.
    fn naming(&self) -> Vec<String> {
        let mut places: Vec<String> =
            ["joints", "blend.ends", "harness.wires"].into_iter().map(str::to_owned).collect();
        for (list, keys) in [("selector", &["joints"][..]), ("switch", &["joints", "on"])] {
            for i in 0..self.count(list).unwrap_or(0) {
                places.extend(keys.iter().map(|key| format!("{list}[{i}].{key}")));
            }
        }
        places
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::guitar::guitar_presets;

    const JOINED: &str = "format = 1\n[[pickup]]\nname = \"bridge\"\nlike = \"mini\"\n[[pickup]]\nname = \"neck\"\nlike = \"mini\"\n\
        from_bridge = \"150 mm\"\n[[selector]]\nname = \"x\"\ntable = \"three-way-toggle\"\n\
        joints = [ # mine\n  [\"bridge\", \"1\"], ['neck', \"2\"], # the neck's\n  [\"out\", \"0\"], [\"neck.ground\", \"ground\"]]\n\
        [[switch]]\nname = \"mode\"\non = \"neck\"\ntable = \"on-on\"\n\
        joints = [[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";

    fn draft(text: &str) -> Draft {
        Draft::of(Document::new("mine.toml", text))
    }

    #[test]
    fn a_pickup_is_called_otherwise_wherever_it_is_named() {
        let mut named = draft(JOINED);
        named.check().unwrap();
        named.rename_pickup(1, "front").unwrap();
        let expected = JOINED
            .replace("name = \"neck\"", "name = \"front\"")
            .replace("'neck'", "'front'")
            .replace("neck.ground", "front.ground")
            .replace("on = \"neck\"", "on = \"front\"");
        assert_eq!(named.text(), expected);
        named.check().unwrap();
    }

    #[test]
    fn a_pickup_is_taken_out_with_what_it_alone_needs() {
        let mut one = draft(JOINED);
        one.take_out_pickup(1).unwrap();
        let guitar = one.check().unwrap();
        assert_eq!((guitar.pickups().len(), guitar.switches().len()), (1, 0));
        assert!(!one.text().contains("neck\"") && !one.text().contains("selector"), "{}", one.text());
        for preset in guitar_presets() {
            let all = Draft::copy_of(preset);
            for i in 0..all.count("pickup").unwrap() {
                if all.count("pickup").unwrap() < 2 {
                    continue;
                }
                let mut without = all.clone();
                without.take_out_pickup(i).unwrap();
                let faults = without.faults();
                assert!(faults.is_empty(), "{} without {i}: {faults:?}", preset.name);
            }
        }
    }
}
