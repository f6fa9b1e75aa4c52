//! The page of the questions.

use drywire::guitar::{KIND_UNKNOWN, pickup_presets};
use maud::{Markup, html};

use super::asked::{Asked, Fault, MOST, has_two_coils, label_of, places, selectors};
use crate::panel::server::Panel;
use crate::panel::view::{Frame, Tab};

/// Returns the page with what was answered already, and what is not clear of it.
pub(super) fn page(panel: &Panel, asked: &Asked, faults: &[Fault]) -> Markup {
    let base = panel.base();
    let frame = Frame { base: &base, title: "New guitar", guitar: None, told: None, tab: Tab::New };
    let count = asked.count();
    let names = places(count);
    let bench = asked.on_bench();
    let main = html! {
        h1 { "New guitar" }
        p { "What you do not know, leave empty: it is assumed, marked as such, and can be measured later." }
        form.questions method="post" action={ (base) "new" } data-ask={ (base) "new" } {
            @if !faults.is_empty() {
                div.notice role="alert" #faults data-part="faults" {
                    p { "Look again at this:" }
                    ul { @for fault in faults { li { a href={ "#" (fault.field) } { (label_of(&fault.field)) ": " (fault.message) } } } }
                }
            } @else { div #faults data-part="faults" {} }
            (question("name", "Your own words.", &asked.name, faults))
            fieldset {
                legend { "How many pickups has it?" }
                div.slide {
                    @for n in 1..=MOST {
                        label { input type="radio" name="count" value=(n) checked[n == count] data-ask; span { (n) } }
                    }
                }
            }
            div data-part="pickups" id="pickups" {
                @if let Some((pickup, at)) = &bench {
                    input type="hidden" name="bench" value=(pickup);
                    @if count > 1 {
                        fieldset {
                            legend { "Which of them is " (pickup) ", from the bench?" }
                            div.choices { @for (i, name) in names.iter().enumerate() { label { input type="radio" name="bench_at" value=(i) checked[i == *at] data-ask; " " (name) } } }
                        }
                    }
                }
                @for (i, name) in names.iter().enumerate() { (pickup(asked, i, if count > 1 { name } else { "" }, faults)) }
            }
            div data-part="selector" id="selector" {
                @if count > 1 {
                    fieldset {
                        legend { "What chooses among them?" }
                        div.choices {
                            @for (selector, value, shown) in selectors(count) {
                                label { input type="radio" name="selector" value=(value) checked[selector == asked.selector()] data-ask; " " (shown) }
                            }
                        }
                    }
                }
            }
            fieldset {
                legend { "Which knobs has it?" }
                div.choices {
                    @for (value, shown) in [("", "volume and tone"), ("volume", "volume alone"), ("tone", "tone alone"), ("none", "none")] {
                        label { input type="radio" name="knobs" value=(value) checked[asked.knobs == value] data-ask; " " (shown) }
                    }
                }
                div data-part="knobs" id="knobs" {
                @if asked.has("volume") {
                (question("volume", "As it is stamped, or read across its outer lugs: 500k, 236. Don’t know: leave it empty.", &asked.volume, faults))
                }
                @if asked.has("tone") {
                (question("tone", "The same way.", &asked.tone, faults))
                }
                }
            }
            (question("cable", "In metres, such as 3 or 4.5 m. Don’t know: leave it empty.", &asked.cable, faults))
            p { button.strong { "Make the guitar" } }
        }
    };
    frame.page(&main)
}

fn pickup(asked: &Asked, i: usize, name: &str, faults: &[Fault]) -> Markup {
    let n = i + 1;
    let kind = asked.kind(i);
    let like = if kind.is_empty() { KIND_UNKNOWN } else { kind };
    let [a, b] = asked.ohms(i);
    html! {
        fieldset {
            legend { "The pickup" @if !name.is_empty() { ": " (name) } }
            label for={ "kind_" (n) } { "What kind is it?" }
            select id={ "kind_" (n) } name={ "kind_" (n) } data-ask {
                option value="" selected[kind.is_empty()] { "don’t know (taken for a full-size one of two coils)" }
                @for preset in pickup_presets() { option value=(preset.name) selected[preset.name == kind] { (preset.title()) } }
            }
            @let hint = "If you have a meter, unplug the guitar and read across the coil’s two leads, unsoldered: 3.61, 3,61k, 3610. Don’t know: leave it empty.";
            @if let Some((pickup, _)) = asked.on_bench().filter(|(_, at)| *at == i) {
                p { "It is " b { (pickup) } " from the bench: its leads and what was read of its ohms go into the guitar." }
            } @else if has_two_coils(like) {
                (question(&format!("a_{n}"), hint, a, faults))
                (question(&format!("b_{n}"), "The same way.", b, faults))
            } @else {
                (labelled(&format!("a_{n}"), "Ohms of its coil", hint, a, faults))
            }
        }
    }
}

fn question(name: &str, hint: &str, value: &str, faults: &[Fault]) -> Markup {
    labelled(name, label_of(name), hint, value, faults)
}

fn labelled(name: &str, label: &str, hint: &str, value: &str, faults: &[Fault]) -> Markup {
    let faults: Vec<&Fault> = faults.iter().filter(|fault| fault.field == name).collect();
    let told = format!("{name}-told");
    html! {
        div.field.faulty[!faults.is_empty()] {
            label for=(name) { (label) }
            div.entry {
                input #(name) name=(name) type="text" value=(value) autocomplete="off" spellcheck="false" aria-describedby=(told)
                    aria-invalid=[(!faults.is_empty()).then_some("true")];
            }
            div.told id=(told) {
                @for fault in &faults {
                    p.fault { (fault.message) }
                    @if !fault.readings.is_empty() {
                        p.readings { @for reading in &fault.readings {
                            button type="button" data-fill=(name) data-write=(reading.write) { (reading.shown) }
                        } }
                    }
                }
                p.small { (hint) }
            }
        }
    }
}
