//! The switches that a guitar file says are soldered in.

use super::{CoilName, EndNames, FinishIsPlus, Plan, Switch, Terminal, Thing, joints};
use crate::document::{Fault, Located, Name, Section, nearest};

/// A switch of a guitar file with the joints around it, its coil ends named as the file names them.
#[derive(Debug, Clone, PartialEq)]
pub struct Soldered {
    name: Located<Name>,
    on: Option<Located<Name>>,
    switch: &'static Switch,
    names: Option<EndNames>,
    /// The groups with the finish of each coil taken for its + end where ends are named by the winding.
    groups: Vec<Vec<Thing>>,
}

impl Soldered {
    /// Returns the switch that the table `section`, headed `[[switch]]`, states; every fault is noted there.
    ///
    /// Whether two switches share a name, and whether the pickup that it is `on` exists, only the whole file
    /// tells.
    pub fn read(section: &mut Section<'_>) -> Option<Self> {
        let name = section.name("name");
        if !section.has("name") {
            section.note_missing("name", "name the switch, as in name = \"mode\"");
        }
        let on = section.name("on");
        let table = section.text("table");
        if !section.has("table") {
            section.note_missing("table", "name the kind of switch, as in table = \"on-on\"");
        }
        let switch = table.and_then(|table| match Switch::named(&table.value) {
            Ok(switch) => Some(switch),
            Err(unknown) => {
                section.note(Fault::new(table.span, unknown.to_string()).hint(unknown.hint()));
                None
            }
        });
        let joints = section.text_lists("joints");
        if !section.has("joints") {
            section
                .note_missing("joints", "list what meets at each point, as in [[\"a+\", \"hot\", \"L3\"]]");
        }
        let (switch, joints) = (switch?, joints?);
        let mut reading = Reading { switch, names: None };
        let groups = joints::groups(section, &joints, |name| reading.thing(name))?;
        Some(Self { name: name?, on, switch, names: reading.names.map(|names| names.0), groups })
    }

    /// Returns the switch's own name in the guitar.
    pub fn name(&self) -> &Located<Name> {
        &self.name
    }

    /// Returns the name of the pickup whose coils it switches, where the file states it.
    pub fn on(&self) -> Option<&Located<Name>> {
        self.on.as_ref()
    }

    /// Returns the switch's contact table.
    pub fn switch(&self) -> &'static Switch {
        self.switch
    }

    /// Returns how the file names the coils' ends, where it names any.
    pub fn names(&self) -> Option<EndNames> {
        self.names
    }

    /// Returns the joints with each end known by its sign.
    pub fn plan(&self, finish_is_plus: FinishIsPlus) -> Plan {
        let signed = |thing: &Thing| match (*thing, self.names) {
            (Thing::Terminal(end), Some(EndNames::StartFinish)) => match end.coil() {
                Some(coil) if !finish_is_plus[coil.index()] => Thing::Terminal(end.far_end()),
                Some(_) | None => *thing,
            },
            (thing, _) => thing,
        };
        Plan::new(self.switch, self.groups.iter().map(|group| group.iter().map(signed).collect()))
    }
}

/// The names met so far.
struct Reading {
    switch: &'static Switch,
    names: Option<(EndNames, String)>,
}

impl Reading {
    fn thing(&mut self, name: &Located<String>) -> Result<Thing, Fault> {
        let fault = |message: String| Fault::new(name.span.clone(), message);
        let Some((thing, names)) = self.find(&name.value) else {
            let message = format!("`{}` can not be joined around a switch `{}`", name.value, self.switch);
            let known = self.known();
            let hint = match nearest(&name.value, known.iter().map(String::as_str)) {
                Some(nearest) => format!("did you mean `{nearest}`?"),
                None => format!("there are {}", known.join(", ")),
            };
            return Err(fault(message).hint(hint));
        };
        if let Some(names) = names {
            match &self.names {
                Some((kind, first)) if *kind != names => {
                    let message = format!("`{}` and `{first}` are of two kinds: {names}, {kind}", name.value);
                    return Err(fault(message).hint(
                        "name every end by the tap test or every end by the winding; the + end is the start of \
                         one coil and the finish of the other in an ordinary pickup",
                    ));
                }
                Some(_) => {}
                None => self.names = Some((names, name.value.clone())),
            }
        }
        Ok(thing)
    }

    fn find(&self, name: &str) -> Option<(Thing, Option<EndNames>)> {
        if name == "shield" {
            return Some((Thing::Shield, None));
        }
        if let Some(lug) = self.switch.lug(name) {
            return Some((Thing::Lug(lug), None));
        }
        // Finish stands for + here; `Soldered::plan` turns the coils whose + end is the start.
        let ends = Terminal::ALL.into_iter().filter(|end| end.coil().is_some());
        let named = |kind: EndNames| move |end: &Terminal| kind.name(*end, [true; 2]) == name;
        for kind in [EndNames::PlusMinus, EndNames::StartFinish] {
            if let Some(end) = ends.clone().find(named(kind)) {
                return Some((Thing::Terminal(end), Some(kind)));
            }
        }
        [Terminal::Hot, Terminal::Ground]
            .into_iter()
            .find(|terminal| terminal.name() == name)
            .map(|terminal| (Thing::Terminal(terminal), None))
    }

    fn known(&self) -> Vec<String> {
        let ends = CoilName::BOTH.into_iter().flat_map(|coil| [coil.plus(), coil.minus()]);
        let kinds = match &self.names {
            Some((kind, _)) => vec![*kind],
            None => vec![EndNames::PlusMinus, EndNames::StartFinish],
        };
        let mut known: Vec<String> = Vec::new();
        for kind in kinds {
            known.extend(ends.clone().map(|end| kind.name(end, [true; 2]).to_owned()));
        }
        known.extend(["hot", "ground", "shield"].map(str::to_owned));
        known.extend(self.switch.lug_names().iter().cloned());
        known
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::wiring::Arrangement;

    fn read(text: &str) -> Result<Vec<Soldered>, crate::document::Refusal> {
        Document::new("guitar.toml", text)
            .interpret(|top| top.tables("switch", 8, Soldered::read).into_iter().collect::<Option<Vec<_>>>())
    }

    const KNOWN: &str = "[[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\njoints = [\
        [\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";

    #[test]
    fn a_soldered_switch_is_read() {
        let switches = read(KNOWN).unwrap();
        assert_eq!(switches[0].name().value.as_str(), "mode");
        assert_eq!(switches[0].names(), Some(EndNames::PlusMinus));
        let plan = switches[0].plan([true, false]);
        assert_eq!(plan.joints(), 7);
        assert_eq!(plan.throws()[0], Arrangement::Series.connection());
        assert_eq!(plan.throws()[1], Arrangement::Parallel.connection());
    }

    #[test]
    fn ends_named_by_the_winding_are_signed_by_sense_and_pole() {
        let text = KNOWN
            .replace("a+", "a-finish")
            .replace("a-\"", "a-start\"")
            .replace("b+", "b-start")
            .replace("b-\"", "b-finish\"");
        let switches = read(&text).unwrap();
        assert_eq!(switches[0].names(), Some(EndNames::StartFinish));
        // One magnet serves both coils and both are wound alike: the + end of coil B is its start.
        assert_eq!(switches[0].plan([true, false]).throws()[0], Arrangement::Series.connection());
        assert_eq!(switches[0].plan([true, true]).throws()[0], Arrangement::SeriesReversed.connection());
    }

    #[test]
    fn every_fault_of_the_joints_is_refused_at_once() {
        let text = "[[switch]]\nname = \"mode\"\ntable = \"on-on\"\njoints = [\n\
            [\"a+\", \"hot\", \"L4\"],\n[\"a-start\", \"L1\"],\n[\"b+\", \"L1\"],\n[],\n[\"Hot\", \"zzz\"]]\n";
        let refusal = read(text).unwrap_err();
        let lines: Vec<usize> = refusal.faults().iter().map(|f| refusal.line_of(f)).collect();
        assert_eq!(lines, [5, 6, 7, 8, 9, 9], "{refusal}");
        let told = refusal.to_string();
        assert!(told.contains("`a-start` and `a+` are of two kinds"), "{told}");
        assert!(told.contains("`L1` is joined twice"), "{told}");
        assert!(told.contains("did you mean `hot`?"), "{told}");
    }

    #[test]
    fn things_that_are_no_texts_are_all_refused() {
        let text = "[[switch]]\nname = \"m\"\ntable = \"on-on\"\njoints = [[1,\n2],\n3]\n";
        assert_eq!(read(text).unwrap_err().faults().len(), 3);
    }

    #[test]
    fn a_switch_without_its_keys_is_refused_with_how_to_give_them() {
        let refusal = read("[[switch]]\n").unwrap_err();
        assert_eq!(refusal.faults().len(), 3, "{refusal}");
        let refusal = read("[[switch]]\nname = \"m\"\ntable = \"on-on-onn\"\njoints = []\n").unwrap_err();
        assert!(refusal.to_string().contains("did you mean `on-on-on`?"), "{refusal}");
    }
}
