//! `drywire manual`: manual pages and shell completions, made from the command line's own definition.

use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use clap::{Args as ClapArgs, Command, Subcommand};
use clap_complete::Shell;
use clap_mangen::Man;
use drywire::digest::{Form, MarkedWriter};
use drywire::folder::{Inputs, NewFile};

use super::choose::ReplaceArgs;
use super::hints::folder_failure;
use super::{Console, Failure, Outcome};

/// How another folder for the pages is named.
const ELSEWHERE: &str = "after the word pages";

/// Print completions for a shell, or write the manual pages
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  drywire manual completions bash > ~/.local/share/bash-completion/completions/drywire\n  drywire manual pages ~/.local/share/man/man1"
)]
pub(crate) struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Print the completions for a shell
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Write a manual page for the program and each of its commands
    Pages {
        /// The folder; other files in it are left alone
        folder: PathBuf,
        #[command(flatten)]
        replace: ReplaceArgs,
    },
}

pub(crate) fn run(args: &Args, mut program: Command, console: &mut Console) -> Result<Outcome, Failure> {
    match &args.what {
        What::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(*shell, &mut program, "drywire", &mut text);
            console.result(String::from_utf8_lossy(&text).trim_end())?;
        }
        What::Pages { folder, replace } => {
            write_pages(program, folder, *replace)?;
            console.note(format!("the manual pages are in {}", folder.display()));
        }
    }
    Ok(Outcome::Done)
}

/// Writes a page for the program and each of its commands, none if one may not be replaced.
fn write_pages(program: Command, folder: &Path, replace: ReplaceArgs) -> Result<(), Failure> {
    fs::create_dir_all(folder).map_err(|cause| {
        let message = format!("cannot write the manual pages into `{}`: {cause}", folder.display());
        Failure::input(message, "choose a folder that you may write to")
    })?;
    let mut program = program.disable_help_subcommand(true);
    program.build();
    let mut pages = Vec::new();
    for page in commands(program).into_iter().map(Man::new) {
        let file = NewFile::begin(&folder.join(page.get_filename()), replace.existing(), &Inputs::new());
        pages.push((page, file.map_err(|e| folder_failure(&e, ELSEWHERE))?));
    }
    for (page, mut file) in pages {
        render(&page, file.file()).map_err(|cause| folder_failure(&file.failed(cause), ELSEWHERE))?;
        file.commit().map_err(|e| folder_failure(&e, ELSEWHERE))?;
    }
    Ok(())
}

/// Returns a command and all commands below it.
fn commands(command: Command) -> Vec<Command> {
    let below = command.get_subcommands().filter(|c| !c.is_hide_set()).cloned().flat_map(commands);
    let mut all: Vec<Command> = below.collect();
    all.push(command);
    all
}

fn render(page: &Man, file: &mut fs::File) -> io::Result<()> {
    let mut text = Vec::new();
    page.render(&mut text)?;
    let mut writer = MarkedWriter::new(file);
    writer.write_all(&text)?;
    writer.finish(Form::Roff).map(|_| ())
}
