//! The sheet of a whole cavity: one page to print and solder from, complete in itself.

mod badges;
mod board;
mod drawn;
mod footprint;
mod grid;
mod hands;
mod marks;
mod moved;
mod outline;
mod picture;
mod proof;
mod route;
mod stock;
mod work;
mod worth;

use std::fmt::Write;

use super::{Harness, HarnessPlan, Wire};
use crate::cautions;
use crate::lugs::{Described, STYLE as SWITCH_STYLE, listed, throws};
use crate::markup::{COLOURS, Escaped, Head, content};
use crate::quantity::counted;
use crate::response::VoiceError;
pub use moved::PartPlace;
use picture::{Picture, picture, picture_by_hand};

/// What the page has beyond a switch's.
const STYLE: &str = include_str!("sheet.css");
/// The style of a [`picture_of`] a cavity within an element of class `cavity-drawn`, itself within one of class `wiring`, on
/// another page that has the style of a switch's picture.
pub const PICTURE_STYLE: &str = concat!(".cavity-drawn {\n", include_str!("sheet.css"), "}\n");

/// Returns the page for a plan of the cavity, beside the wiring as it is, where that is known.
///
/// # Errors
/// [`VoiceError`] where the circuit of a switch's throw has no solution.
pub fn sheet(harness: &Harness, plan: &HarnessPlan, as_is: Option<&[Wire]>) -> Result<String, VoiceError> {
    let guitar = harness.parts.guitar();
    let head = Head {
        about: guitar.name(),
        kind: "harness sheet",
        style: &[COLOURS, SWITCH_STYLE, STYLE],
        scripts: &[],
        has_worker: false,
        has_pictures: false,
    };
    let ends = plan.ends();
    let differs = as_is.filter(|wires| !is_alike(wires, &ends));
    let planned =
        drawn(harness, &ends, &numbers(ends.len()), "The control cavity from behind with its wires");
    let pictures = match differs {
        None => format!("<section class=\"whole\">\n<h2>From behind</h2>\n{planned}</section>\n"),
        Some(wires) => {
            let labels = labels_beside(wires, &ends);
            let now = drawn(
                harness,
                wires,
                &labels,
                "The control cavity from behind with its wires as they are now",
            );
            format!(
                "<section class=\"compared\">\n<h2>As it is</h2>\n{now}<h2>As planned</h2>\n{planned}</section>\n{}",
                work::changes(harness, wires, &labels, &ends)
            )
        }
    };
    Ok(format!(
        "{head}\n<body class=\"wiring\">\n<main>\n<header>\n<p class=\"kicker\">Harness sheet</p>\n<h1>{name}</h1>\n\
         <p class=\"about\">{joints}, the fewest there can be.</p>\n</header>\n\
         {cautions}{pictures}{checks}{list}{tables}{switches}\
         <footer>\n<p>Ohms rest on the values in the guitar’s file, those that were assumed among them. Measure your own \
         parts before relying on them.</p>\n</footer>\n</main>\n</body>\n</html>\n",
        name = content(guitar.name()),
        joints = counted(plan.wires.len(), "joint"),
        cautions = listed("cautions", "Before you start", &cautions::BENCH.map(str::to_owned)),
        checks = work::checks(harness),
        list = work::list(harness, plan),
        tables = format_args!(
            "<div class=\"tables\">\n{}{}</div>\n",
            stock::section(harness, plan),
            proof::section(harness)
        ),
        switches = switches(harness)?,
    ))
}

/// Returns a part of a page with the cavity drawn from behind, its wires numbered in their order.
pub fn picture_of(harness: &Harness, wires: &[Wire], told: &str) -> String {
    drawn(harness, wires, &numbers(wires.len()), told)
}

/// Returns the same as it is worked on by hand: its parts lie as they would with the wires `laid_by`, so that what is soldered
/// does not move them, and every terminal and wire can be taken hold of.
///
/// Within the `svg`, which has the attribute `data-hands`, a `.target` is a terminal (`data-terminal` its name, `data-words` the
/// same in words, `data-lead` where it is a lead's, `data-x` and `data-y` its point) and a `.reach` a wire (`data-one` and
/// `data-other` its ends, `data-number` its number). A `.movable` is a part that [`Harness::moved`] moves (`data-name`).
pub fn picture_by_hand_of(harness: &Harness, laid_by: &[Wire], wires: &[Wire], told: &str) -> String {
    let picture = picture_by_hand(harness, laid_by, wires, &numbers(wires.len()), told);
    figure(&picture, "")
}

fn numbers(count: usize) -> Vec<String> {
    (1..=count).map(|number| number.to_string()).collect()
}

/// Returns whether two wires join the same terminals.
fn is_same(one: Wire, other: Wire) -> bool {
    one == other || [one[1], one[0]] == other
}

fn is_alike(wires: &[Wire], ends: &[Wire]) -> bool {
    wires.len() == ends.len() && wires.iter().all(|wire| ends.iter().any(|own| is_same(*wire, *own)))
}

/// Returns a label for each wire that is there: that of the planned wire which it is, or a letter.
fn labels_beside(wires: &[Wire], planned: &[Wire]) -> Vec<String> {
    let mut letters = 0_u32;
    let mut label = |wire: &Wire| {
        let place = planned.iter().position(|own| is_same(*wire, *own));
        place.map_or_else(
            || {
                letters += 1;
                lettered(letters)
            },
            |place| (place + 1).to_string(),
        )
    };
    wires.iter().map(&mut label).collect()
}

/// Returns a, b, … z, aa, ab, ….
fn lettered(number: u32) -> String {
    let own = char::from_u32(u32::from('a') + (number - 1) % 26).unwrap_or('a');
    let before = if number > 26 { lettered((number - 1) / 26) } else { String::new() };
    format!("{before}{own}")
}

fn drawn(harness: &Harness, wires: &[Wire], labels: &[String], told: &str) -> String {
    let said = format!("{told}; the list says the same in words");
    let board = format!(
        " tabindex=\"0\" role=\"region\" aria-label=\"{told}: scroll it sideways where it is wider than the screen\""
    );
    figure(&picture(harness, wires, labels, &said), &board)
}

/// Returns a picture with what it needs to be read; `board` are attributes of what it stands in.
fn figure(Picture { svg, left }: &Picture, board: &str) -> String {
    let left = match left.as_slice() {
        [] => String::new(),
        some => format!(" There was no way to draw {}: see the list.", some.join(", ")),
    };
    format!(
        "<figure>\n<div class=\"board\"{board}>\n{svg}\n</div>\n<figcaption>Lugs toward you; not to scale. Thick: signal, in the lead’s colour where \
         it is known. Thin and dashed: ground. A dot: soldered to a case, frame or shield. Where lines cross they are not \
         joined. The numbers are those of the list.{}</figcaption>\n</figure>\n",
        Escaped(&left)
    )
}

/// Returns what each throw does, of every switch whose throws are arrangements of its pickup.
fn switches(harness: &Harness) -> Result<String, VoiceError> {
    let guitar = harness.parts.guitar();
    let mut text = String::new();
    for (place, switch) in guitar.switches().iter().enumerate() {
        if guitar.joined().linked_on(guitar.pickup_switched_at(place)).is_some() {
            continue;
        }
        let described = Described::soldered(guitar, switch, None)?;
        let name = &switch.name().value;
        let _ = write!(text, "{}", throws(&described, &format!("What each throw of {name} does")));
    }
    Ok(if text.is_empty() { text } else { format!("<div class=\"switches\">\n{text}</div>\n") })
}
