//! The switches that a guitar file says are soldered in.

use std::sync::Arc;

use super::lead::{Leads, is_same_word};
use super::{CoilName, EndNames, FinishIsPlus, Plan, Switch, Terminal, Thing, joints};
use crate::document::{Fault, Located, Name, Section, nearest};

/// A switch of a guitar file with the joints around it, its coil ends named as the file names them.
#[derive(Debug, Clone, PartialEq)]
pub struct Soldered {
    name: Located<Name>,
    on: Option<Located<Name>>,
    switch: Arc<Switch>,
    names: Option<EndNames>,
    /// The groups with the finish of each coil taken for its + end where ends are named by the winding.
    groups: Vec<Vec<Thing>>,
    /// What else is named to meet at one point with a group, by its place: lugs of other switches, as in `selector.2`.
    elsewhere: Vec<(usize, Located<String>)>,
}

/// What a joint around a switch names.
#[derive(Debug, Clone, PartialEq)]
enum Met {
    Own(Thing),
    /// A lug of another switch, which only the whole file knows.
    Elsewhere(String),
}

impl Soldered {
    /// Returns the switch that the table `section`, headed `[[switch]]`, states; every fault is noted there. Its joints
    /// may name coils' ends by the leads that `leads_of` returns for the pickup that it is `on`.
    ///
    /// Whether two switches share a name, and whether the pickup that it is `on` exists, only the whole file
    /// tells.
    pub fn read<'l>(
        section: &mut Section<'_>,
        leads_of: impl FnOnce(Option<&Name>) -> Leads<'l>,
    ) -> Option<Self> {
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
        let leads = leads_of(on.as_ref().map(|on| &on.value));
        let kind = joints.iter().flat_map(|joint| &joint.value).find_map(|name| end_called(&name.value));
        let own = name.as_ref().map(|name| format!("{}.", name.value)).unwrap_or_default();
        let mut reading =
            Reading { switch: &switch, leads, own, kind: kind.map(|(_, kind)| kind), names: None };
        let met = joints::groups(section, &joints, |name| reading.met(name))?;
        let (mut groups, mut elsewhere) = (Vec::new(), Vec::new());
        for (place, (group, names)) in met.into_iter().zip(&joints).enumerate() {
            let mut own = Vec::new();
            for (met, name) in group.into_iter().zip(&names.value) {
                match met {
                    Met::Own(thing) => own.push(thing),
                    Met::Elsewhere(_) => elsewhere.push((place, name.clone())),
                }
            }
            groups.push(own);
        }
        let names = reading.names.map(|names| names.0);
        Some(Self { name: name?, on, switch, names, groups, elsewhere })
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
    pub fn switch(&self) -> &Arc<Switch> {
        &self.switch
    }

    /// Returns how the file names the coils' ends, where it names any.
    pub fn names(&self) -> Option<EndNames> {
        self.names
    }

    /// Returns the lugs of other switches that its joints name, each with the place in [`Soldered::groups`] of what it is
    /// joined with.
    pub fn elsewhere(&self) -> &[(usize, Located<String>)] {
        &self.elsewhere
    }

    /// Returns the joints with each end known by its sign, without the lugs of other switches.
    pub fn plan(&self, finish_is_plus: FinishIsPlus) -> Plan {
        Plan::new(Arc::clone(&self.switch), self.groups(finish_is_plus))
    }

    /// Returns what of its own meets at each point that the file lists, each end known by its sign.
    pub fn groups(&self, finish_is_plus: FinishIsPlus) -> Vec<Vec<Thing>> {
        let signed = |thing: &Thing| match (*thing, self.names) {
            (Thing::Terminal(end), Some(EndNames::StartFinish)) => match end.coil() {
                Some(coil) if !finish_is_plus[coil.index()] => Thing::Terminal(end.far_end()),
                Some(_) | None => *thing,
            },
            (thing, _) => thing,
        };
        self.groups.iter().map(|group| group.iter().map(signed).collect()).collect()
    }
}

/// Returns whether a joint takes `name` for a coil's end, hot, ground or the shield whatever the switch, in capitals or
/// not: no lead can be called so.
pub(crate) fn is_word_of_joints(name: &str) -> bool {
    let ends = Terminal::ALL
        .into_iter()
        .flat_map(|end| [EndNames::PlusMinus, EndNames::StartFinish].map(|kind| kind.name(end, [true; 2])));
    ends.chain([SHIELD]).any(|word| is_same_word(word, name))
}

const SHIELD: &str = "shield";

/// Returns the coil's end that is called `name`, and of which kind the name is. Finish stands for + here;
/// [`Soldered::plan`] turns the coils whose + end is the start.
fn end_called(name: &str) -> Option<(Terminal, EndNames)> {
    let ends = Terminal::ALL.into_iter().filter(|end| end.coil().is_some());
    let mut named = [EndNames::PlusMinus, EndNames::StartFinish]
        .into_iter()
        .flat_map(|kind| ends.clone().map(move |end| (end, kind)));
    named.find(|(end, kind)| kind.name(*end, [true; 2]) == name)
}

/// What names may be met, and what was met so far.
struct Reading<'l> {
    switch: &'l Switch,
    leads: Leads<'l>,
    /// What may stand before its own lugs' names.
    own: String,
    /// How coils' ends are named where they are not by their leads.
    kind: Option<EndNames>,
    names: Option<(EndNames, String)>,
}

impl Reading<'_> {
    fn met(&mut self, name: &Located<String>) -> Result<Met, Fault> {
        if self.find(&name.value).is_none()
            && let Some((switch, lug)) = name.value.split_once('.')
            && !switch.is_empty()
            && !lug.is_empty()
        {
            return Ok(Met::Elsewhere(name.value.clone()));
        }
        self.thing(name).map(Met::Own)
    }

    fn thing(&mut self, name: &Located<String>) -> Result<Thing, Fault> {
        let fault = |message: String| Fault::new(name.span.clone(), message);
        let Some((thing, names)) = self.find(&name.value) else {
            let message = format!("`{}` can not be joined around a switch `{}`", name.value, self.switch);
            return Err(fault(message).hint(self.hint(&name.value)));
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
        if name == SHIELD {
            return Some((Thing::Shield, None));
        }
        let of_own = name.strip_prefix(&self.own).unwrap_or(name);
        if let Some(lug) = self.switch.lug(name).or_else(|| self.switch.lug(of_own)) {
            return Some((Thing::Lug(lug), None));
        }
        if let Some((end, kind)) = end_called(name) {
            return Some((Thing::Terminal(end), Some(kind)));
        }
        let conductor =
            [Terminal::Hot, Terminal::Ground].into_iter().find(|terminal| terminal.name() == name);
        let terminal = conductor.or_else(|| self.leads.end(name).map(|end| self.as_others_are_named(end)));
        terminal.map(|terminal| (Thing::Terminal(terminal), None))
    }

    /// Returns `end`, known by its sign, as the file's other ends stand here.
    fn as_others_are_named(&self, end: Terminal) -> Terminal {
        let is_turned = |coil: CoilName| !self.leads.finish_is_plus[coil.index()];
        match (self.kind, end.coil()) {
            (Some(EndNames::StartFinish), Some(coil)) if is_turned(coil) => end.far_end(),
            (Some(_) | None, _) => end,
        }
    }

    /// Returns what to do about `name`, which nothing here is called.
    fn hint(&self, name: &str) -> String {
        if let Some(hint) = self.leads.hint(name) {
            return hint;
        }
        let known = self.known();
        match nearest(name, known.iter().map(String::as_str)) {
            Some(nearest) => format!("did you mean `{nearest}`?"),
            None => format!("there are {}", known.join(", ")),
        }
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
        known.extend(self.leads.named.iter().map(|lead| lead.called.clone()));
        known.extend(["hot", "ground", SHIELD].map(str::to_owned));
        known.extend(self.switch.lug_names().iter().cloned());
        known
    }
}

#[cfg(test)]
mod tests {
    use super::Terminal::{AMinus, APlus, BMinus, BPlus};
    use super::*;
    use crate::document::Document;
    use crate::wiring::{Arrangement, Lead};

    fn with_leads(top: &mut Section<'_>, leads: Leads<'_>) -> Option<Vec<Soldered>> {
        top.tables("switch", 8, |section| Soldered::read(section, |_| leads)).into_iter().collect()
    }

    fn read(text: &str) -> Result<Vec<Soldered>, crate::document::Refusal> {
        Document::new("guitar.toml", text).interpret(|top| with_leads(top, Leads::NONE))
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

    fn leads_of_an_ordinary_pickup() -> Vec<Lead> {
        let leads = [("white", APlus), ("grey", AMinus), ("Red", BPlus), ("blue", BMinus)];
        leads.map(|(called, end)| Lead { called: called.to_owned(), end }).into()
    }

    #[test]
    fn leads_stand_for_the_ends_that_they_are_whatever_kind_of_names_the_others_have() {
        let leads = leads_of_an_ordinary_pickup();
        let leads = Leads { named: &leads, finish_is_plus: [true, false] };
        let by_leads =
            [("\"a+\"", "\"white\""), ("\"a-\"", "\"grey\""), ("\"b+\"", "\"red\""), ("\"b-\"", "\"blue\"")];
        let mut text = KNOWN.to_owned();
        for (end, lead) in by_leads {
            text = text.replace(end, lead);
            let read = Document::new("guitar.toml", text.clone()).interpret(|top| with_leads(top, leads));
            let throws = read.unwrap()[0].plan([true, false]).throws();
            assert_eq!(throws[0], Arrangement::Series.connection(), "{text}");
            assert_eq!(throws[1], Arrangement::Parallel.connection(), "{text}");
        }
        let by_the_winding = text.replace("\"red\"", "\"b-start\"").replace("\"grey\"", "\"a-start\"");
        let read = Document::new("guitar.toml", by_the_winding).interpret(|top| with_leads(top, leads));
        let switch = read.unwrap().remove(0);
        assert_eq!(switch.names(), Some(EndNames::StartFinish));
        assert_eq!(switch.plan([true, false]).throws()[0], Arrangement::Series.connection());
    }

    #[test]
    fn a_lead_and_the_end_that_it_is_are_one_thing() {
        let leads = leads_of_an_ordinary_pickup();
        let leads = Leads { named: &leads, finish_is_plus: [true, false] };
        for end in ["a+", "a-finish"] {
            let text = format!(
                "[[switch]]\nname = \"m\"\ntable = \"on-on\"\njoints = [[\"{end}\", \"L1\"], [\"white\", \"L2\"]]\n"
            );
            let read = Document::new("guitar.toml", text).interpret(|top| with_leads(top, leads));
            assert!(read.unwrap_err().to_string().contains("`white` is joined twice"), "{end}");
        }
    }

    #[test]
    fn a_colour_that_no_lead_has_is_told_the_leads_and_never_ground() {
        let hint = |leads: Leads<'_>, name: &str| {
            let text =
                format!("[[switch]]\nname = \"m\"\ntable = \"on-on\"\njoints = [[\"{name}\", \"L1\"]]\n");
            let read = Document::new("guitar.toml", text).interpret(|top| with_leads(top, leads));
            read.unwrap_err().faults()[0].hint.clone().unwrap()
        };
        let named = leads_of_an_ordinary_pickup();
        let leads = Leads { named: &named, finish_is_plus: [true, false] };
        let all = "the pickup's leads are white, grey, Red, blue";
        assert_eq!(hint(leads, "black"), all);
        assert_eq!(hint(leads, "whit"), format!("did you mean `white`? {all}"));
        assert_eq!(hint(leads, "green"), format!("did you mean `grey`? {all}"));
        for colour in ["green", "green/white", "Brown"] {
            let said = hint(Leads::NONE, colour);
            assert!(said.contains(&format!("leads = {{ plus = \"{colour}\"")), "{said}");
        }
        assert_eq!(hint(leads, "grund"), "did you mean `ground`?");
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
