//! A switch's contact table read from its file.

use super::{Contact, Lug, MAX_LUGS, MAX_THROWS, Switch, SwitchPole, Throw};
use crate::document::{Fault, Located, Section};

/// The most characters of a lug's name.
const LONGEST_LUG: usize = 8;

impl Switch {
    /// Returns the switch that the table `section` states; every fault is noted there.
    pub fn read(section: &mut Section<'_>) -> Option<Self> {
        if let Some(format) = section.number("format").filter(|f| f.value.total_cmp(&1.0).is_ne()) {
            let message = format!("format {} is not known; this program reads format 1", format.value);
            section.note(Fault::new(format.span, message));
        }
        let name = section.name("name");
        let title = section.label("title");
        for key in ["format", "name", "title"] {
            if !section.has(key) {
                section.note_missing(key, "every table begins with format = 1, a name and a title");
            }
        }
        let mut reading = Reading::default();
        let poles = section.tables("pole", MAX_LUGS, |pole| reading.pole(pole));
        let throws = section.tables("throw", MAX_THROWS.into(), |throw| reading.throw(throw));
        for (key, given) in [("pole", poles.len()), ("throw", throws.len())] {
            if given == 0 {
                let message = format!("a switch has at least one {key}");
                section.note(Fault::new(section.span(), message).hint(format!("head each with [[{key}]]")));
            }
        }
        let poles = poles.into_iter().collect::<Option<Vec<_>>>()?;
        let throws = throws.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Self { name: name?.value, title: title?.value, lugs: reading.lugs, poles, throws })
    }
}

/// The lugs and throws of a table read so far.
#[derive(Default)]
struct Reading {
    lugs: Vec<String>,
    /// The lugs of each pole, and its common one.
    columns: Vec<(Vec<Lug>, Lug)>,
    numbers: Vec<u8>,
}

impl Reading {
    fn pole(&mut self, section: &mut Section<'_>) -> Option<SwitchPole> {
        let name = section.label("name");
        let common = section.text("common");
        let names = section.texts("lugs");
        for (key, hint) in [
            ("name", "call the pole by its side, as in name = \"left\""),
            ("common", "name the lug that every contact of the pole has in common"),
            ("lugs", "list them from top to bottom, as in [\"L1\", \"L2\", \"L3\"]"),
        ] {
            if !section.has(key) {
                section.note_missing(key, hint);
            }
        }
        let mut lugs = Vec::new();
        for name in names? {
            if !(1..=LONGEST_LUG).contains(&name.value.chars().count())
                || name.value.chars().any(char::is_control)
            {
                let message = format!("a lug has a name of 1 to {LONGEST_LUG} characters, such as `L1`");
                section.note(Fault::new(name.span, message));
            } else if self.lugs.contains(&name.value) {
                section.note(Fault::new(name.span, format!("lug `{}` is named twice", name.value)));
            } else if self.lugs.len() == MAX_LUGS {
                section.note(Fault::new(name.span, format!("a switch has at most {MAX_LUGS} lugs")));
                break;
            } else {
                lugs.push(Lug(u8::try_from(self.lugs.len()).ok()?));
                self.lugs.push(name.value);
            }
        }
        let common = common?;
        let Some(common) = lugs.iter().copied().find(|lug| self.lugs[lug.index()] == common.value) else {
            let message = format!("the pole has no lug `{}`", common.value);
            section.note(Fault::new(common.span, message));
            return None;
        };
        self.columns.push((lugs.clone(), common));
        Some(SwitchPole { name: name?.value, lugs, common })
    }

    fn throw(&mut self, section: &mut Section<'_>) -> Option<Throw> {
        let number = self.number(section);
        let position = section.label("position");
        let knob = section.label("knob").map(|text| text.value);
        let pairs = section.text_lists("contacts");
        for (key, hint) in [
            ("number", "number the throws from 1"),
            ("position", "say where the lever is, as in position = \"lever toward lugs 3\""),
            ("contacts", "list the pairs that the throw joins, or [] where it joins none"),
        ] {
            if !section.has(key) {
                section.note_missing(key, hint);
            }
        }
        let contacts: Vec<_> = pairs?.iter().map(|pair| self.contact(section, pair)).collect();
        let contacts = contacts.into_iter().collect::<Option<_>>()?;
        Some(Throw { number: number?, position: position?.value, knob, contacts })
    }

    fn number(&mut self, section: &mut Section<'_>) -> Option<u8> {
        let number = section.number("number")?;
        let wanted = (1..=MAX_THROWS).find(|n| f64::from(*n).total_cmp(&number.value).is_eq());
        let Some(value) = wanted else {
            let message =
                format!("`number` is {}; a throw has a whole number from 1 to {MAX_THROWS}", number.value);
            section.note(Fault::new(number.span, message));
            return None;
        };
        if self.numbers.contains(&value) {
            section.note(Fault::new(number.span, format!("there are two throws with the number {value}")));
        }
        self.numbers.push(value);
        Some(value)
    }

    fn contact(&self, section: &Section<'_>, pair: &Located<Vec<Located<String>>>) -> Option<Contact> {
        let [one, other] = pair.value.as_slice() else {
            let message = format!("a contact joins two lugs, and {} are given", pair.value.len());
            section.note(Fault::new(pair.span.clone(), message));
            return None;
        };
        let find = |name: &Located<String>| {
            let found = self.lugs.iter().position(|lug| *lug == name.value);
            if found.is_none() {
                let message = format!("no pole has a lug `{}`", name.value);
                section.note(
                    Fault::new(name.span.clone(), message)
                        .hint(format!("there are {}", self.lugs.join(", "))),
                );
            }
            found.and_then(|index| u8::try_from(index).ok()).map(Lug)
        };
        let (one, other) = (find(one)?, find(other)?);
        let in_column = |(lugs, common): &(Vec<Lug>, Lug)| {
            one != other
                && (one == *common && lugs.contains(&other) || other == *common && lugs.contains(&one))
        };
        if self.columns.iter().any(in_column) {
            return Some([one, other]);
        }
        let message = "a contact joins a pole's common lug to another of the same pole";
        section.note(Fault::new(pair.span.clone(), message));
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    #[test]
    fn a_table_with_faults_is_refused_with_all_of_them() {
        let text = "format = 2\nname = \"x\"\ntitle = \"y\"\n\
            [[pole]]\nname = \"left\"\nlugs = [\"L1\", \"L1\"]\ncommon = \"L9\"\n\
            [[throw]]\nnumber = 1.5\nposition = \"up\"\ncontacts = [[\"L1\"], [\"L1\", \"R7\"], [\"L1\", \"L1\"]]\n\
            [[throw]]\nposition = \"down\"\ncontact = []\n";
        let refusal = Document::new("table.toml", text).interpret(Switch::read).expect_err("ten faults");
        let lines: Vec<usize> = refusal.faults().iter().map(|f| refusal.line_of(f)).collect();
        assert_eq!(lines, [1, 6, 7, 9, 11, 11, 11, 12, 12, 14], "{refusal}");
    }
}
