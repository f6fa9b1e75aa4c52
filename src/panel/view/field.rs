//! One value of a guitar's file, to be changed.

use drywire::guitar::Origin;
use maud::{Markup, html};

use super::how::to_find;
use super::typed::Asked;

/// A value's field.
#[derive(Debug)]
pub(crate) struct Field<'f> {
    /// The value's place in the file.
    pub(crate) place: String,
    pub(crate) label: String,
    /// What it means.
    pub(crate) doc: &'f str,
    /// What the file states.
    pub(crate) stated: Option<String>,
    /// How it is understood, and where it is from.
    pub(crate) has: Option<(String, Origin)>,
    /// What is taken where nothing is stated.
    pub(crate) usual: Option<&'f str>,
    /// How much it moves what is heard, in dB, and how it is measured.
    pub(crate) moves: Option<(f64, &'static str)>,
    pub(crate) form: Form,
    pub(crate) faults: Vec<String>,
    pub(crate) asked: Option<&'f Asked>,
}

/// How a value is entered.
#[derive(Debug)]
pub(crate) enum Form {
    Text,
    Lines,
    /// A knob's position.
    Knob,
    Choice(Vec<SelectChoice>),
}

/// An entry of a choice.
#[derive(Debug, Clone)]
pub(crate) struct SelectChoice {
    pub(crate) value: String,
    pub(crate) shown: String,
}

impl SelectChoice {
    pub(crate) fn same(value: &str) -> Self {
        Self { value: value.to_owned(), shown: value.replace('-', " ") }
    }
}

impl Field<'_> {
    /// Returns an identifier of the element that enters the value at `place`.
    pub(crate) fn id_of(place: &str) -> String {
        let mut id = "v-".to_owned();
        for c in place.chars() {
            match c {
                '[' | ']' | '.' => id.push('-'),
                '-' | '_' => id.push(c),
                c if c.is_ascii_alphanumeric() => id.push(c),
                // What is read at the jack has other places than values of a file.
                other => id += &format!("_{:x}", u32::from(other)),
            }
        }
        id
    }

    pub(crate) fn markup(&self) -> Markup {
        let id = Self::id_of(&self.place);
        let has_fault = !self.faults.is_empty() || self.asked.is_some();
        let described = format!("{id}-told");
        html! {
            div.field.faulty[has_fault] data-part={ "f-" (self.place) } id={ "f" (id) } {
                label for=(id) { (self.label) }
                div.entry {
                    (self.entry(&id, &described, has_fault))
                    output.reads for=(id) { (self.reads()) }
                }
                div.told id=(described) {
                    @if let Some(asked) = self.asked {
                        p.fault role="alert" data-asked { (asked.message) }
                        @if !asked.readings.is_empty() {
                            p.readings {
                                @for reading in &asked.readings {
                                    button type="button" data-place=(self.place) data-write=(reading.write) { (reading.shown) }
                                }
                            }
                        }
                    }
                    @for fault in &self.faults { p.fault { (fault) } }
                    p.small { (self.from()) (self.doc) }
                    @if let Some(how) = to_find(&self.place, self.moves.map(|(_, how)| how)).filter(|_| !self.is_stated()) {
                        details.how { summary { "How to find it" } p.small { (how) } }
                    }
                }
            }
        }
    }

    fn is_stated(&self) -> bool {
        self.has.as_ref().map_or(self.stated.is_some(), |(_, origin)| origin.is_stated())
    }

    /// Returns how the value is understood.
    fn reads(&self) -> String {
        match &self.has {
            // A choice says itself what was chosen.
            Some((shown, _))
                if matches!(self.form, Form::Choice(_)) && self.stated.as_ref() == Some(shown) =>
            {
                String::new()
            }
            Some((shown, _)) => shown.clone(),
            None => String::new(),
        }
    }

    /// Returns where the value is from, and how much it moves.
    fn from(&self) -> Markup {
        let from = match &self.has {
            Some((_, Origin::Stated)) => "in the file".to_owned(),
            Some((_, origin)) => origin.to_string().replace('`', ""),
            None if self.stated.is_some() => "in the file".to_owned(),
            None if self.usual.is_some() => "assumed".to_owned(),
            None => String::new(),
        };
        let class = if self.is_stated() { "from" } else { "from guessed" };
        html! {
            @if !from.is_empty() { span class=(class) { (from) } " " }
            @if let Some((moves, _)) = self.moves.filter(|(moves, _)| *moves >= 0.05) { span.moves { (format!("changes the response by up to {moves:.1} dB")) } " " }
        }
    }

    fn entry(&self, id: &str, described: &str, has_fault: bool) -> Markup {
        let text =
            self.asked.map_or_else(|| self.stated.clone().unwrap_or_default(), |asked| asked.text.clone());
        let invalid = has_fault.then_some("true");
        let place = self.place.as_str();
        match &self.form {
            Form::Text => {
                let hint = self.has.as_ref().map(|(shown, _)| shown.as_str()).or(self.usual).unwrap_or("");
                html! {
                    input #(id) type="text" value=(text) placeholder=(hint) data-place=(place) autocomplete="off" spellcheck="false"
                        aria-describedby=(described) aria-invalid=[invalid];
                }
            }
            Form::Lines => html! {
                textarea #(id) rows=(text.lines().count().clamp(2, 12)) data-place=(place) spellcheck="false"
                    aria-describedby=(described) aria-invalid=[invalid] { (text) }
            },
            Form::Knob => {
                let stands = self
                    .stated
                    .as_deref()
                    .or(self.has.as_ref().map(|(shown, _)| shown.as_str()))
                    .unwrap_or("10");
                html! {
                    input #(id) type="range" min="0" max="10" step="0.1" value=(stands) data-place=(place)
                        aria-describedby=(described) aria-invalid=[invalid];
                }
            }
            Form::Choice(choices) => {
                let is_listed = text.is_empty() || choices.iter().any(|choice| choice.value == text);
                let usual = self.has.as_ref().map(|(shown, _)| shown.as_str()).or(self.usual);
                html! {
                    select #(id) data-place=(place) aria-describedby=(described) aria-invalid=[invalid] {
                        option value="" selected[text.is_empty()] {
                            @match usual { Some(usual) => { "not stated: " (usual) } None => { "not stated" } }
                        }
                        @for choice in choices {
                            option value=(choice.value) selected[choice.value == text] { (choice.shown) }
                        }
                        @if !is_listed { option value=(text) selected { (text) } }
                    }
                }
            }
        }
    }
}
