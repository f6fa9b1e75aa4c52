//! `drywire manual`: manual pages and shell completions, made from the command line's own definition.

use std::path::PathBuf;

use clap::{Args as ClapArgs, Command, Subcommand};
use clap_complete::Shell;

use super::{Console, Failure, Outcome};

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
        /// The folder
        folder: PathBuf,
    },
}

pub(crate) fn run(args: &Args, mut program: Command, console: &mut Console) -> Result<Outcome, Failure> {
    match &args.what {
        What::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(*shell, &mut program, "drywire", &mut text);
            console.result(String::from_utf8_lossy(&text).trim_end())?;
        }
        What::Pages { folder } => {
            let unwritten = |cause: std::io::Error| {
                let message = format!("cannot write the manual pages into `{}`: {cause}", folder.display());
                Failure::input(message, "choose a folder that you may write to")
            };
            std::fs::create_dir_all(folder).map_err(unwritten)?;
            clap_mangen::generate_to(program, folder).map_err(unwritten)?;
            console.note(format!("the manual pages are in {}", folder.display()));
        }
    }
    Ok(Outcome::Done)
}
