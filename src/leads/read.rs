//! A readings file, read into readings that are possible in themselves.

use std::ops::Range;

use super::reading::{Bobbin, Conductor, OhmmeterReading, Swing};
use super::readings::{ChartNames, ReadingError, Readings};
use super::word::Word;
use crate::document::{Document, Fault, FileKind, Located, Refusal, Section};
use crate::guitar::Pole;
use crate::guitar::keys::Worded;

/// A reading of the file and the bytes that state it.
struct Placed {
    span: Range<usize>,
    what: What,
}

enum What {
    Ohms([Conductor; 2], OhmmeterReading),
    Tap(Bobbin, [Conductor; 2], Swing),
    Compass(Bobbin, Pole),
}

impl Readings {
    /// Returns the readings that `document` states.
    ///
    /// # Errors
    /// [`Refusal`] with every fault of the document: no leads or too many, a lead named twice or unknown, a
    /// reading between a lead and itself, a value that no meter shows, a third coil, unknown keys.
    pub fn read(document: &Document) -> Result<Self, Refusal> {
        document.interpret(|top| {
            (!top.is_of_another_kind(FileKind::Readings)).then(|| Reader::default().readings(top, document))
        })
    }
}

#[derive(Default)]
struct Reader {
    readings: Readings,
    /// Names that were refused where they were introduced: their later uses are no second fault.
    refused: Vec<String>,
}

impl Reader {
    fn readings(mut self, top: &mut Section<'_>, document: &Document) -> Readings {
        self.leads(top);
        self.coils(top);
        let mut placed = top.tables("ohms", Readings::MAX_READINGS, |s| self.ohms(s));
        placed.extend(top.tables("tap", Readings::MAX_READINGS, |s| self.tap(s)));
        placed.extend(top.tables("compass", Readings::MAX_READINGS, |s| self.compass(s)));
        let charts = top.tables("chart", Readings::MAX_READINGS, |s| self.chart(s));
        let mut placed: Vec<Placed> = placed.into_iter().flatten().collect();
        placed.sort_by_key(|p| p.span.start);
        for Placed { span, what } in placed {
            let line = Some(document.line_at(span.start));
            let added = match what {
                What::Ohms(between, reads) => self.readings.add_ohms(between, reads, line),
                What::Tap(coil, probes, swing) => self.readings.add_tap(coil, probes, swing, line),
                What::Compass(coil, pole) => self.readings.add_compass(coil, pole, line),
            };
            if let Err(refusal) = added {
                note(top, span, "", &refusal);
                if refusal == ReadingError::TooManyReadings {
                    break;
                }
            }
        }
        self.readings.charts = charts.into_iter().flatten().collect();
        self.readings
    }

    fn leads(&mut self, top: &mut Section<'_>) {
        let hint = "list the leads' colours, such as leads = [\"white\", \"grey\", \"red\", \"blue\"]";
        match top.texts("leads") {
            None if !top.has("leads") => top.note_missing("leads", hint),
            None => {}
            Some(names) if names.is_empty() => {
                top.note(Fault::new(top.span(), "`leads` is empty").hint(hint));
            }
            Some(names) => {
                for name in names {
                    let added = Word::new(&name.value).map_err(ReadingError::from);
                    if let Err(refusal) = added.and_then(|word| self.readings.add_lead(word)) {
                        note(top, name.span, "leads", &refusal);
                        self.refused.push(name.value);
                        if matches!(refusal, ReadingError::TooManyLeads { .. }) {
                            break;
                        }
                    }
                }
            }
        }
        if let Some(shield) = top.text("shield") {
            let set = Word::new(&shield.value).map_err(ReadingError::from);
            if let Err(refusal) = set.and_then(|word| self.readings.set_shield(word)) {
                note(top, shield.span, "shield", &refusal);
                self.refused.push(shield.value);
            }
        }
        if self.readings.conductors().count() == 1 && self.refused.is_empty() {
            let message = "one lead and no shield: there is nothing to measure between";
            top.note(Fault::new(top.span(), message).hint("name the shield too: shield = \"bare\""));
        }
    }

    fn coils(&mut self, top: &mut Section<'_>) {
        let Some(names) = top.texts("coils") else { return };
        let count = names.len();
        for name in names {
            if let Err(refusal) = self.readings.bobbin(&name.value) {
                note(top, name.span, "coils", &refusal);
                self.refused.push(name.value);
            }
        }
        if count == 1 && self.refused.is_empty() {
            // Nothing was named before, so that one coil is not too many.
            let _ = self.readings.set_one_coil();
        }
    }

    fn ohms(&mut self, section: &mut Section<'_>) -> Option<Placed> {
        missing(section, "between", "name two leads: between = [\"white\", \"grey\"]");
        missing(section, "reads", "write what the meter shows: reads = \"5.9k\", or \"open\"");
        let between = section.texts("between").and_then(|names| {
            let Ok([one, other]) = <[Located<String>; 2]>::try_from(names) else {
                section.note(Fault::new(section.span(), "`between` does not name two leads"));
                return None;
            };
            self.pair(section, ["between", "between"], [one, other])
        });
        let reads = section.written("reads").and_then(|text| {
            let noted = |refusal| {
                let hint = "write the ohms that the meter shows, such as \"5.9k\", or \"open\"";
                section.note(Fault::new(text.span, format!("`reads`: {refusal}")).hint(hint));
            };
            OhmmeterReading::parse(&text.value).map_err(noted).ok()
        });
        Some(Placed { span: section.span(), what: What::Ohms(between?, reads?) })
    }

    fn tap(&mut self, section: &mut Section<'_>) -> Option<Placed> {
        let coil = self.bobbin(section);
        let probes = self.two_leads(section, ["red", "black"], "name the lead on that probe");
        missing(section, "swing", "write the first swing: \"+\", \"-\" or \"none\"");
        let swing = section.choice("swing", &Swing::CHOICES);
        let (_, probes) = probes?;
        Some(Placed { span: section.span(), what: What::Tap(coil?, probes, swing?.value) })
    }

    fn compass(&mut self, section: &mut Section<'_>) -> Option<Placed> {
        let coil = self.bobbin(section);
        missing(section, "top_pole", "write the pole at the coil's top: \"north\" or \"south\"");
        let pole = section.choice("top_pole", Pole::WORDS);
        Some(Placed { span: section.span(), what: What::Compass(coil?, pole?.value) })
    }

    fn chart(&mut self, section: &mut Section<'_>) -> Option<ChartNames> {
        let ends = self.two_leads(section, ["start", "finish"], "name the lead that the chart calls so");
        let ([start, finish], _) = ends?;
        Some(ChartNames { start, finish })
    }

    /// Returns the different leads that two keys name, as they are named and as conductors.
    fn two_leads(
        &mut self,
        section: &mut Section<'_>,
        keys: [&str; 2],
        hint: &str,
    ) -> Option<([String; 2], [Conductor; 2])> {
        let names = keys.map(|key| {
            missing(section, key, hint);
            section.text(key)
        });
        let [Some(one), Some(other)] = names else { return None };
        let named = [one.value.clone(), other.value.clone()];
        self.pair(section, keys, [one, other]).map(|conductors| (named, conductors))
    }

    fn bobbin(&mut self, section: &mut Section<'_>) -> Option<Bobbin> {
        let Some(name) = section.text("coil") else {
            missing(section, "coil", "say which coil, by a name of your own: coil = \"screw side\"");
            return None;
        };
        match self.readings.bobbin(&name.value) {
            Ok(bobbin) => Some(bobbin),
            Err(_) if self.refused.contains(&name.value) => None,
            Err(refusal) => {
                note(section, name.span, "coil", &refusal);
                self.refused.push(name.value);
                None
            }
        }
    }

    /// Returns the different conductors of two names that stand at `keys`.
    fn pair(
        &mut self,
        section: &Section<'_>,
        keys: [&str; 2],
        names: [Located<String>; 2],
    ) -> Option<[Conductor; 2]> {
        let span = names[1].span.clone();
        let mut found =
            keys.iter().zip(names).map(|(key, name)| match self.readings.conductor(&name.value) {
                Ok(conductor) => Some(conductor),
                Err(refusal) => {
                    // Without any lead there is one fault already, and it is not this one.
                    if !self.refused.contains(&name.value) && self.readings.conductors().next().is_some() {
                        note(section, name.span, key, &refusal);
                    }
                    None
                }
            });
        let pair = [found.next()?, found.next()?];
        let pair = [pair[0]?, pair[1]?];
        match self.readings.differ(pair) {
            Ok(()) => Some(pair),
            Err(refusal) => {
                note(section, span, keys[1], &refusal);
                None
            }
        }
    }
}

/// Notes that a table lacks `key`, unless it has it and something else is wrong with it.
fn missing(section: &Section<'_>, key: &str, hint: &str) {
    if !section.has(key) {
        section.note_missing(key, hint);
    }
}

fn note(section: &Section<'_>, span: Range<usize>, key: &str, refusal: &ReadingError) {
    let message = if key.is_empty() { refusal.to_string() } else { format!("`{key}`: {refusal}") };
    let fault = Fault::new(span, message);
    section.note(match refusal.hint() {
        Some(hint) => fault.hint(hint),
        None => fault,
    });
}
