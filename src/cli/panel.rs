//! `drywire panel`: the window.

use std::ops::ControlFlow;
use std::path::PathBuf;

use clap::Args as ClapArgs;

use super::{Console, Failure, Outcome};
use crate::panel::{Options, Started, add_to_menu, serve, usual_folder};

/// Open the window: all of the job, by mouse or keyboard, in your own browser
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "The panel is served to this machine alone and ends by itself a while after its last window is closed.\n\nExamples:\n  drywire panel                  your guitars, in drywire in your documents folder\n  drywire panel bench            those in the folder bench\n  drywire panel --menu-entry     put it into the desktop's menu\n\nCaution: unplug the guitar from the amplifier before a meter or an iron touches it."
)]
pub(crate) struct Args {
    /// The folder of your guitars [default: drywire in your documents folder]
    #[arg(value_name = "FOLDER")]
    folder: Option<PathBuf>,
    /// Open no browser; the address to open is printed
    #[arg(long)]
    no_open: bool,
    /// Listen on this port, or where it is taken on another [default: a free one]
    #[arg(long, value_name = "PORT", value_parser = clap::value_parser!(u16).range(1..))]
    port: Option<u16>,
    /// Put the panel into the desktop's menu, with its icon, and end
    #[arg(long)]
    menu_entry: bool,
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    if args.menu_entry {
        let written = add_to_menu().map_err(|e| {
            Failure::input(
                format!("the menu's entry cannot be written: {e}"),
                "`drywire panel` starts it all the same",
            )
        })?;
        for path in written {
            console.result(path.display())?;
        }
        return Ok(Outcome::Done);
    }
    let folder = args.folder.clone().or_else(usual_folder).ok_or_else(|| {
        Failure::input(
            "there is no documents folder to keep guitars in",
            "name one, as in `drywire panel bench`",
        )
    })?;
    if let Some(there) = folder.ancestors().find(|part| part.exists()).filter(|there| !there.is_dir()) {
        let message = format!("`{}` is not a folder", there.display());
        return Err(Failure::input(message, "name the folder in which your guitars lie, or are to lie"));
    }
    let folder = std::path::absolute(&folder).unwrap_or(folder);
    let options = Options { folder, port: args.port, opens: !args.no_open };
    let mut told = Ok(());
    serve(&options, &mut |started| {
        match started {
            Started::PortTaken(port) => console.warn(format!("port {port} is taken, and another is used")),
            Started::At(address) if args.no_open => told = console.result(address),
            Started::At(address) => console.note(format!(
                "The panel opens in your browser. If no window appears, open this address within ten minutes; it works \
                 once:\n{address}"
            )),
            Started::NoBrowser(error) => {
                console.warn(format!("no browser could be opened: {error}; open the address above"));
            }
        }
        // Nobody enters a panel whose address went nowhere.
        if told.is_ok() { ControlFlow::Continue(()) } else { ControlFlow::Break(()) }
    })
    .map_err(|e| Failure::input(format!("the panel cannot listen on this machine: {e}"), "try again with another --port"))?;
    told?;
    Ok(Outcome::Done)
}
