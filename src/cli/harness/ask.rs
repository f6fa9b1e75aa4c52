//! The wires that are there asked for, lug by lug, instead of typed.

use std::io;
use std::path::Path;

use drywire::cautions;
use drywire::document::Document;
use drywire::guitar::{Draft, Guitar};
use drywire::harness::{Harness, Wire, WireInterview, put_wires, stated};
use drywire::quantity::counted;

use super::{Args, harness_of, tell_check};
use crate::cli::choose::save_draft;
use crate::cli::dialogue::hold;
use crate::cli::wrap::wrapped;
use crate::cli::{Console, Failure, Outcome};

/// Asks about the guitar at `given`, and checks what is told.
pub(super) fn about(args: &Args, given: &Path, console: &mut Console) -> Result<Outcome, Failure> {
    let harness = harness_of(&Guitar::open(given)?)?;
    let wires = told(&harness, console)?;
    console.note(format!(
        "the wires, to be kept in the guitar's file:\n\n[harness]\nwires = {}",
        stated(harness.parts(), &wires)
    ));
    tell_check(args, &harness, &wires, console)
}

/// Asks about the guitar whose file is at `path`, puts what is told into it, and checks it.
pub(super) fn into_file(args: &Args, path: &Path, console: &mut Console) -> Result<Outcome, Failure> {
    if path.symlink_metadata().is_err() {
        let message = format!("there is no guitar's file `{}` to ask about", path.display());
        return Err(Failure::input(message, "name one that is there; `drywire presets copy` makes one"));
    }
    let mut draft = Draft::of(Document::open(path)?);
    let guitar = draft.check()?;
    let harness = harness_of(&guitar)?;
    let wires = told(&harness, console)?;
    put_wires(&mut draft, harness.parts(), &wires)
        .map_err(|error| Failure::input(error.to_string(), error.hint()))?;
    save_draft(&draft, path)?;
    let instead = guitar.cavity().wires().map_or_else(String::new, |before| {
        format!(", in place of the {} that stood there", counted(before.len(), "wire"))
    });
    console.note(format!("put into {}: {}{instead}", path.display(), counted(wires.len(), "wire")));
    tell_check(args, &harness, &wires, console)
}

/// Returns the wires that a person tells.
fn told(harness: &Harness, console: &mut Console) -> Result<Vec<Wire>, Failure> {
    let mut interview = WireInterview::new(harness);
    let before: Vec<&str> = cautions::BENCH.into_iter().chain([WireInterview::ALWAYS]).collect();
    hold(console, io::stdin().lock(), &before, &mut interview)?;
    let wires = interview.wires();
    if wires.is_empty() {
        return Err(Failure::input(
            "the answers ended before any wire was told",
            "say of each lug what is soldered to it, such as volume.1",
        ));
    }
    let untold: Vec<String> = interview.untold().iter().map(|own| harness.parts().name_of(*own)).collect();
    console.note("");
    if !untold.is_empty() {
        let all = untold.join(", ");
        console.note(wrapped(
            &format!("nothing was told of {all}: checked as if nothing were on them"),
            "",
            "",
        ));
    }
    Ok(wires)
}
