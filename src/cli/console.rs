//! Where the program speaks: results on standard output, everything else on standard error.

use std::fmt::Display;
use std::io::{self, IsTerminal, Write};

use drywire::document::visible;
use drywire::report::TextTable;
use indicatif::{ProgressBar, ProgressStyle};

use super::Failure;
use super::wrap::{table_width, terminal_width};

/// The two standard streams and what may be said on them.
pub(crate) struct Console {
    quiet: bool,
    out: io::Stdout,
    err: io::Stderr,
}

impl Console {
    pub(crate) fn new(quiet: bool) -> Self {
        Self { quiet, out: io::stdout(), err: io::stderr() }
    }

    /// Returns whether progress may be drawn.
    fn shows_progress(&self) -> bool {
        !self.quiet && self.err.is_terminal() && obeys_commands()
    }

    /// Returns a bar that counts to `total`, hidden where progress is not to be drawn.
    pub(crate) fn progress(&self, total: u64) -> ProgressBar {
        if !self.shows_progress() {
            return ProgressBar::hidden();
        }
        let style = ProgressStyle::with_template(&progress_template(terminal_width(&self.err)));
        ProgressBar::new(total).with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
    }

    /// Writes a result that was asked for by an option such as `--json`, whether quiet or not. That its reader has gone is no
    /// error, and what the command answers is still its exit code.
    pub(crate) fn result(&mut self, text: impl Display) -> Result<(), Failure> {
        match writeln!(self.out.lock(), "{}", visible(&text.to_string())) {
            Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(()),
            written => written.map_err(Failure::Output),
        }
    }

    /// Writes a table or text for reading, which `--quiet` hides.
    pub(crate) fn table(&mut self, text: impl Display) -> Result<(), Failure> {
        if self.quiet { Ok(()) } else { self.result(text) }
    }

    /// Writes rows, which `--quiet` hides, in lines that are not wider than the terminal.
    pub(crate) fn rows(&mut self, table: &TextTable) -> Result<(), Failure> {
        self.table(table.within(table_width()))
    }

    /// Writes a warning; one that cannot be written is lost, for there is nowhere left to say so.
    pub(crate) fn warn(&mut self, text: impl Display) {
        let _ = writeln!(self.err.lock(), "warning: {}", visible(&text.to_string()));
    }

    /// Writes a remark that `--quiet` hides.
    pub(crate) fn note(&mut self, text: impl Display) {
        if !self.quiet {
            let _ = writeln!(self.err.lock(), "{}", visible(&text.to_string()));
        }
    }

    /// Writes why the command failed.
    pub(crate) fn fail(&mut self, failure: &Failure) {
        let _ = writeln!(self.err.lock(), "{}", failure.render(styled()));
    }
}

/// Returns whether standard error is a terminal that wants colour.
fn styled() -> bool {
    io::stderr().is_terminal()
        && obeys_commands()
        && std::env::var_os("NO_COLOR").is_none_or(|v| v.is_empty())
}

/// Returns whether a terminal obeys commands for colours and the cursor, which a `TERM` of `dumb` denies.
pub(crate) fn obeys_commands() -> bool {
    std::env::var_os("TERM").is_none_or(|term| term != "dumb")
}

/// Returns how progress is shown in lines of `width` columns: the bar takes what the rest leaves, up to 40.
fn progress_template(width: usize) -> String {
    const WIDEST: usize = 40;
    /// ` 100 %, 12m left`, and the last column, which some terminals do not fill without going on to the next line.
    const REST: usize = 18;
    const NARROWEST: usize = 8;
    let bar = width.saturating_sub(REST).min(WIDEST);
    if bar < NARROWEST {
        "{percent:>3} %".to_owned()
    } else {
        format!("{{bar:{bar}}} {{percent:>3}} %, {{eta}} left")
    }
}

#[cfg(test)]
mod tests {
    use super::progress_template;

    #[test]
    fn progress_is_never_wider_than_the_terminal() {
        assert!(progress_template(80).starts_with("{bar:40}"));
        assert!(progress_template(30).starts_with("{bar:12}"));
        assert_eq!(progress_template(20), "{percent:>3} %");
    }
}
