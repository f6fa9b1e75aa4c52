//! What the help of `drywire harness` says beside its options.

use std::fmt::Write as _;

use drywire::guitar::keys::{HARNESS, Key, Kind};

use crate::cli::wrap::wrapped_to;

/// How wide lines are, whatever the terminal: manual pages are made of them.
const WIDTH: usize = 80;

const EXAMPLES: &str = "\
Examples:
  drywire harness --guitar mine.toml
  drywire harness --guitar mine.toml --sheet harness.html
  drywire harness --check mine.toml
  drywire harness --check mine.toml --json
  drywire harness --ask --save mine.toml
      asks what is on each lug, puts the wires into the file and checks them; asks for the guitar first where there is no file

A guitar's file states its cavity and the wires that are there as in
  [harness]
  shield = \"foil\"
  under = { split = \"tone\" }
  places = { volume = [60, 40], tone = [100, 40] }
  wires = [[\"volume.2\", \"jack.tip\"], [\"volume.1\", \"volume.case\"]]
Its keys:
";

const FOOTING: &str = "
A pot's lugs are 1 2 3 from left to right, seen from behind with the lugs up; its case is `case`.
Exit code 1: the wiring is faulty, or there is no plan.";

/// Returns what stands below the options.
pub(super) fn after() -> String {
    let mut text = EXAMPLES.to_owned();
    for key in HARNESS.keys {
        text += &wrapped_to(WIDTH, &sentence(key), &format!("  {:<8}", key.name), "          ");
        text.push('\n');
    }
    text + FOOTING
}

fn sentence(key: &Key) -> String {
    let mut text = key.doc.to_owned();
    if let Kind::Choice(words) = key.kind {
        let _ = write!(text, " One of {}", words.join(", "));
        text +=
            &key.default.map_or_else(|| ".".to_owned(), |usual| format!("; {usual} where it is left out."));
    }
    text
}
