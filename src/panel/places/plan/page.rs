//! The page of a plan: what is wanted, the plans that do it, and what is soldered as the guitar's file has it.

use drywire::guitar::{Draft, Guitar, Pickup};
use drywire::lugs::{Asked, Described, Labels, Wanted, picture};
use drywire::quantity::counted;
use drywire::wiring::{Plan, Soldered, Switch, Thing};
use drywire::words;
use maud::{Markup, PreEscaped, html};

use super::super::cavity::cavity_told;
use super::super::guitar::{OpenState, Trouble};
use super::super::shown::Shown;
use super::joints::{things, word_of};
use super::wish::{OFFERED, OFTEN, Own, Planned, Wish};
use super::{pickup_of, switch_of};
use crate::panel::view::{how_by_hand, in_hand, notice};

/// The most plans that are drawn.
const SHOWN: usize = 3;

/// Returns the page of the plan for the pickup that is shown.
pub(in super::super) fn plan_views(
    at: &str,
    draft: &Draft,
    guitar: Option<&Guitar>,
    shown: &Shown,
) -> Markup {
    let Some(guitar) = guitar else {
        return html! { div data-part="plan" { p { "A plan can be made once the file has no fault." } } };
    };
    match pickup_of(guitar, shown) {
        Err(trouble) => html! { div data-part="plan" { (trouble.notice()) } },
        Ok(pickup) => {
            let cavity = format!("{}cavity/", at.trim_end_matches("plan/"));
            let cavity = cavity_told(&cavity, draft.document(), guitar);
            let wish = Wish::of(guitar, pickup, shown);
            let plans = match &wish {
                Ok(wish) => plans(at, guitar, pickup, wish, cavity.as_ref()),
                Err(trouble) => Plans::none(trouble),
            };
            html! {
                p.about { "What each throw of a switch is to do, and which lead then goes on which lug. Found by looking at every way to solder them; nothing else has fewer joints." }
                div.bench {
                    div { (wanted(at, guitar, pickup, wish.as_ref().ok())) (plans.drawn) }
                    div {
                        // Where no plan that is shown is in the guitar, what is soldered by hand has made it so.
                        div data-part="cavity-told" { @if let Some(cavity) = cavity.filter(|_| !plans.is_in) { (cavity) } }
                        (soldered(at, guitar, pickup))
                    }
                }
            }
        }
    }
}

/// Returns what is asked of a throw, in words.
fn in_words(asked: Asked, pickup: &Pickup) -> String {
    match asked {
        Asked::Named(arrangement) => words::arrangement(arrangement, pickup),
        Asked::Split => "one coil, either of them".to_owned(),
        Asked::Off => "nothing: off".to_owned(),
        Asked::Any => "anything".to_owned(),
    }
}

/// Returns what several throws do, in words.
fn all_in_words(asked: &[Asked], pickup: &Pickup) -> String {
    asked.iter().map(|asked| in_words(*asked, pickup)).collect::<Vec<_>>().join("; ")
}

/// Returns the address at which a kind of switch is planned whose throws do what is asked.
fn address(at: &str, pickup: &Pickup, kind: &str, asked: &[Asked]) -> String {
    let throws = (1..).zip(asked).map(|(i, asked)| format!("&throw{i}={asked}"));
    format!("{at}?heard={}&kind={kind}{}", pickup.name(), throws.collect::<Vec<_>>().concat())
}

/// Returns what asks what is wanted: what the throws are to do, or the kind of switch first.
fn wanted(at: &str, guitar: &Guitar, pickup: &Pickup, wish: Option<&Wish<'_>>) -> Markup {
    let two: Vec<&Pickup> = guitar.pickups().iter().filter(|own| own.coil_b().is_some()).collect();
    html! {
        div data-part="often" {
            p.small { "Often wanted, with the simplest switch that does it:" }
            ul #often {
                @for (kind, asked) in &OFTEN[..OFFERED] {
                    li { a href=(address(at, pickup, kind, asked)) { (all_in_words(asked, pickup)) } " " span.small { (kind) } }
                }
            }
        }
        form.choice #wanted method="get" action=(at) data-part="wanted" {
            @if two.len() > 1 {
                label { "Pickup " select #heard name="heard" data-go {
                    @for own in two { option value=(own.name()) selected[own.name() == pickup.name()] { (own.name()) } }
                } }
            }
            @if let Some(Wish { switch, asked, .. }) = wish {
                input type="hidden" name="throws_of" value=(switch.name());
                label { "Switch " select #kind name="kind" data-go {
                    @for own in Switch::built_in() { option value=(own.name()) selected[own.name() == switch.name()] { (own.name()) ": " (own.title()) } }
                } }
                @for ((throw, chosen), i) in switch.throws().iter().zip(asked).zip(1..) {
                    label { (i) ", " (throw.position()) " "
                        select id={ "throw" (i) } name={ "throw" (i) } data-go {
                            @for own in Asked::all() { option value=(own) selected[own == *chosen] { (in_words(own, pickup)) } }
                        }
                    }
                }
            }
        }
    }
}

/// The plans that do what is wanted.
struct Plans {
    drawn: Markup,
    /// Whether one that is drawn stands in the guitar's file.
    is_in: bool,
}

impl Plans {
    fn none(trouble: &Trouble) -> Self {
        Self { drawn: html! { div data-part="plans" { (trouble.notice()) } }, is_in: false }
    }
}

/// Returns the plans that do what is wanted; `cavity` is told above the one that stands in the guitar's file.
fn plans(at: &str, guitar: &Guitar, pickup: &Pickup, wish: &Wish<'_>, cavity: Option<&Markup>) -> Plans {
    let Planned { wanted, plans, searched } = match wish.planned() {
        Ok(planned) => planned,
        Err(trouble) => return Plans::none(&trouble),
    };
    let own = wish.own.as_ref();
    let is_in = own.zip(plans.first()).is_some_and(|(own, first)| own.is(first));
    let drawn = html! {
        div data-part="plans" {
            @match plans.first() {
                None => (none(at, &wanted, pickup)),
                Some(first) => {
                    @if let Some(own) = own.filter(|_| is_in || wish.is_done()) {
                        p #done.verdict.certain.is-in[is_in] role="status" {
                            "This is in the guitar: its switch " (own.soldered.name().value) " does it"
                            @if is_in { ", soldered as below." } @else { ", with " (own.joints()) ". Below is how it can be soldered otherwise." }
                        }
                    }
                    @if let Some(cavity) = cavity.filter(|_| is_in) { (cavity) }
                    p #fewest role="status" { b { (counted(first.joints(), "joint")) } " at least, and "
                        (if plans.len() == 1 { "one plan has".to_owned() } else { format!("{} plans have", plans.len()) }) " as few. Proven: "
                        (searched) " part-plans decide all " (wanted.ways()) " ways." }
                    @for (i, plan) in plans.iter().take(SHOWN).enumerate() {
                        (one(at, guitar, pickup, plan, &wanted, i, own))
                    }
                    @if plans.len() > SHOWN { p.small { (plans.len() - SHOWN) " more have as few joints, and are less handy: a builder prefers those above." } }
                }
            }
        }
    };
    Plans { drawn, is_in }
}

/// Returns a plan, the first whole, the others on demand.
fn one(
    at: &str,
    guitar: &Guitar,
    pickup: &Pickup,
    plan: &Plan,
    wanted: &Wanted,
    index: usize,
    own: Option<&Own<'_>>,
) -> Markup {
    let labels = Labels::of(pickup, None);
    let drawn = match Described::new(plan.clone(), labels, guitar, pickup, Some(wanted.asked())) {
        Ok(described) => html! { div.wiring { (PreEscaped(picture(&described))) } },
        Err(error) => notice(&error.to_string(), ""),
    };
    let put = html! {
        @if own.is_none_or(|own| !own.is(plan)) {
            form method="post" action={ (at) "put" } {
                input type="hidden" name="index" value=(index);
                button.strong id={ "put-" (index) } { @if own.is_some() { "Put into the guitar instead" } @else { "Put into the guitar" } }
                @if let Some(own) = own { p.small { (replaced(own, pickup)) } }
            }
        }
    };
    html! {
        @if index == 0 { (put) (drawn) } @else { details { summary { "Plan " (index + 1) } (put) (drawn) } }
    }
}

/// Returns what a plan takes the place of.
fn replaced(own: &Own<'_>, pickup: &Pickup) -> String {
    let does = own.asked().map(|asked| format!(": {}", all_in_words(&asked, pickup))).unwrap_or_default();
    let (name, kind) = (&own.soldered.name().value, own.soldered.switch().name());
    format!("It takes the place of what is in now, switch {name} ({kind}){does}.")
}

/// Returns what else can be done where no plan does what is wanted.
fn none(at: &str, wanted: &Wanted, pickup: &Pickup) -> Markup {
    let others: Vec<Wanted> = wanted.rearranged().into_iter().chain(wanted.alternatives()).collect();
    html! {
        p #fewest role="status" { b { "No plan does this." } " Every way to solder it was ruled out." }
        @if !others.is_empty() {
            p { "These can:" }
            ul { @for other in &others { li { a href=(address(at, pickup, other.switch().name(), other.asked())) { (other.switch().name()) ": " (all_in_words(other.asked(), pickup)) } } } }
        }
    }
}

/// Returns what is soldered around the pickup's switch, with what can be soldered to what.
fn soldered(at: &str, guitar: &Guitar, pickup: &Pickup) -> Markup {
    html! {
        div data-part="soldered" {
            h2 { "As the guitar’s file has it" }
            @match switch_of(guitar, pickup) {
                None => p { "Pickup " (pickup.name()) " has no switch yet. Put a plan into the guitar, and change it here joint by joint." },
                Some((_, switch)) => {
                    @let (verdict, drawn) = told(guitar, pickup, switch);
                    div.at-hand {
                        (verdict)
                        (in_hand())
                    }
                    (how_by_hand("how-solder", "Press a lead to pick it up, then the lug where it goes; or drag it there. From lug to lug it is a jumper.", "By the keyboard Enter picks up and puts down, Escape puts back, Delete takes off."))
                    (by_hand(at, pickup, switch))
                    (drawn)
                }
            }
        }
    }
}

/// Returns the verdict on a switch, and its faults with its drawing.
fn told(guitar: &Guitar, pickup: &Pickup, switch: &Soldered) -> (Markup, Markup) {
    let alone = |verdict: Markup| (verdict, html! {});
    let place = guitar.pickups().iter().position(|own| own.name() == pickup.name());
    if place.is_some_and(|place| guitar.joined().linked_on(place).is_some()) {
        return alone(
            html! { p { "This switch is joined with other switches: what it does depends on where they stand." } },
        );
    }
    let described = match Described::soldered(guitar, switch, None) {
        Ok(described) => described,
        Err(error) => return alone(notice(&error.to_string(), "")),
    };
    let all = switch.switch().throws();
    let faults: Vec<String> = described
        .faults()
        .map(|finding| match finding.throw {
            Some(number) => {
                let place = all.iter().position(|throw| throw.number() == number).unwrap_or_default() + 1;
                let with = finding.with.as_ref().map(|with| format!(" with {with}")).unwrap_or_default();
                format!("throw {place}{with}: {}", finding.what)
            }
            None => finding.what.clone(),
        })
        .collect();
    let throws = all.iter().zip(&described.facts).map(|(throw, facts)| {
        let arrangement = facts.connection.arrangement();
        let does =
            arrangement.map_or_else(|| facts.connection.words(), |own| words::arrangement(own, pickup));
        format!("{does} {}", words::standing(throw.position()))
    });
    let throws: Vec<String> = throws.collect();
    let verdict = html! {
        p #joined.verdict.certain[faults.is_empty()] data-said role="status" {
            @match faults.len() { 0 => { "No fault" }, 1 => { "One fault" }, many => { (many) " faults" } }
            ": " (throws.join("; ")) "."
        }
    };
    let drawn = html! {
        @if !faults.is_empty() { ul.faulty { @for fault in &faults { li { (fault) } } } }
        div.wiring { (PreEscaped(picture(&described))) }
    };
    (verdict, drawn)
}

/// Returns the switch from behind as it is soldered by hand: what is on each lug, what is joined off it, and what is loose.
fn by_hand(at: &str, pickup: &Pickup, soldered: &Soldered) -> Markup {
    let switch = soldered.switch();
    let labels = Labels::of(pickup, soldered.names());
    let soldering = soldered.plan(labels.finish_is_plus()).soldering();
    let groups = soldered.groups(labels.finish_is_plus());
    let is_soldered = |thing: Thing| groups.iter().any(|group| group.contains(&thing));
    let held = |thing: Thing| {
        let (word, called) = (word_of(thing, switch), called(thing, switch, &labels));
        let new =
            if matches!(thing, Thing::Lug(_)) { format!("a jumper from {called}") } else { called.clone() };
        html! {
            button.target id={ "thing-" (word) } type="button" aria-pressed="false" data-terminal=(word) data-words=(called)
                data-new=(new)
                data-on[is_soldered(thing)] { (called) }
        }
    };
    let loose = things(switch).filter(|thing| !matches!(thing, Thing::Lug(_)) && !is_soldered(*thing));
    html! {
        div.by-hand data-put={ (at) "put-down" } {
            div.lugs.two[switch.poles().len() == 2] {
                @for lug in switch.lugs() {
                    div.lug-at {
                        (held(Thing::Lug(lug)))
                        @for other in soldering.jumpers.iter().filter(|jumper| jumper.contains(&lug)).flatten().filter(|other| **other != lug) {
                            span.small { " jumper to " (switch.name_of(*other)) }
                        }
                        ul { @for thing in &soldering.at_lug[lug.index()] { li { (held(*thing)) } } }
                    }
                }
            }
            @for splice in &soldering.splices {
                p.small { "Joined off the switch:" }
                div.wires { @for thing in splice { (held(*thing)) } }
            }
            div.loose data-off {
                p.small { "Not soldered" }
                div.wires { @for thing in loose { (held(thing)) } }
            }
        }
    }
}

/// Returns what a lead or a lug is called.
fn called(thing: Thing, switch: &Switch, labels: &Labels) -> String {
    match thing {
        Thing::Lug(_) => format!("lug {}", word_of(thing, switch)),
        Thing::Terminal(_) | Thing::Shield => labels.wire(thing, switch),
    }
}

/// Returns what is soldered alone, where the guitar has what is shown.
pub(super) fn soldered_part(at: &str, state: &OpenState, shown: &Shown) -> Markup {
    let Ok(guitar) = &*state.checked else { return html! {} };
    pickup_of(guitar, shown).map_or_else(|_| html! {}, |pickup| soldered(at, guitar, pickup))
}
