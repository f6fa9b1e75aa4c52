//! The wires that are there asked for, lug by lug, instead of typed.

use std::io;
use std::path::Path;

use drywire::cautions;
use drywire::document::Document;
use drywire::folder::{Existing, FolderError, Inputs, NewFile};
use drywire::guitar::{Draft, Guitar};
use drywire::harness::{GuitarInterview, Harness, Wire, WireInterview, put_wires, stated};
use drywire::quantity::counted;

use super::{Args, harness_of, tell_check};
use crate::cli::choose::save_draft;
use crate::cli::dialogue::hold;
use crate::cli::hints::folder_failure;
use crate::cli::wrap::wrapped;
use crate::cli::{Console, Failure, Outcome};

/// Asks about the guitar at `given`, or for the guitar first, and checks what is told.
pub(super) fn about(args: &Args, given: Option<&Path>, console: &mut Console) -> Result<Outcome, Failure> {
    let (guitar, file) = if let Some(given) = given {
        (Guitar::open(given)?, None)
    } else {
        let draft = new_guitar(console)?;
        (draft.check()?, Some(draft.text().to_owned()))
    };
    let harness = harness_of(&guitar)?;
    let wires = told(&harness, console)?;
    // A guitar that was asked for ends with the table of its cavity.
    let before = file.unwrap_or_else(|| "[harness]\n".to_owned());
    let wires_stated = stated(harness.parts(), &wires);
    console.note(format!("to be kept in the guitar's file:\n\n{before}wires = {wires_stated}"));
    tell_check(args, &harness, &wires, console)
}

/// Asks about the guitar whose file is at `path`, or for it where there is none yet, puts what is told into it, and checks it.
pub(super) fn into_file(args: &Args, path: &Path, console: &mut Console) -> Result<Outcome, Failure> {
    if path.symlink_metadata().is_err() {
        let failed = |e: &FolderError| folder_failure(e, "with --save");
        // Whether it can be written is found out before anything is asked.
        NewFile::begin(path, Existing::Keep, &Inputs::new()).map_err(|e| failed(&e))?;
        let draft = new_guitar(console)?;
        NewFile::write(path, draft.text().as_bytes(), Existing::Keep, &Inputs::new())
            .map_err(|e| failed(&e))?;
        console.note(format!("the guitar is in {}", path.display()));
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

/// Returns the guitar that a person tells.
fn new_guitar(console: &mut Console) -> Result<Draft, Failure> {
    let mut interview = GuitarInterview::new();
    let before: Vec<&str> = [cautions::UNPLUG, GuitarInterview::ALWAYS].to_vec();
    hold(console, io::stdin().lock(), &before, &mut interview)?;
    let draft = interview.draft().map_err(|error| Failure::input(error.to_string(), error.hint()))?;
    draft.ok_or_else(|| {
        Failure::input(
            "the answers ended before the guitar was told",
            "answer each question, or name a guitar by --guitar; `drywire presets` lists those that are built in",
        )
    })
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
