//! The terminal while a set plays: keys as they are pressed, and a screen of its own that is given back on any exit.

use std::io::{self, IsTerminal, Write};
use std::sync::Once;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use crossterm::event::{Event, KeyCode, KeyEvent, KeyEventKind, KeyModifiers, poll, read};
use crossterm::terminal::{
    Clear, ClearType, EnterAlternateScreen, LeaveAlternateScreen, disable_raw_mode, enable_raw_mode, size,
};
use crossterm::{cursor, execute, queue, style::Print};

use drywire::document::visible;

use crate::cli::console::obeys_commands;

/// A key that was pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Key {
    /// A letter, digit or sign, small where there is a small one.
    Sign(char),
    /// An arrow.
    Left,
    /// An arrow.
    Right,
    /// An arrow.
    Up,
    /// An arrow.
    Down,
    /// To the beginning.
    Home,
    /// What leaves the program.
    Leave,
}

impl Key {
    /// Returns the key that writes `sign`.
    pub(crate) fn of(sign: char) -> Self {
        match sign.to_ascii_lowercase() {
            'q' => Self::Leave,
            small => Self::Sign(small),
        }
    }
}

/// The terminal, taken over until this is dropped.
pub(crate) struct Terminal {
    shows: bool,
    drawn: Vec<String>,
}

/// The width and height where the terminal tells none.
const USUAL_SIZE: (usize, usize) = (80, 24);

impl Terminal {
    /// Takes the terminal over.
    pub(crate) fn enter() -> io::Result<Self> {
        restore_on_panic();
        if io::stderr().is_terminal() && !obeys_commands() {
            writeln!(
                io::stderr(),
                "this terminal (TERM=dumb) shows no screen; the keys work as --help lists them"
            )?;
        }
        enable_raw_mode()?;
        TAKEN.store(true, Ordering::SeqCst);
        // From here on it is given back whatever comes.
        let terminal = Self { shows: io::stderr().is_terminal() && obeys_commands(), drawn: Vec::new() };
        if terminal.shows {
            SHOWN.store(true, Ordering::SeqCst);
            execute!(io::stderr(), EnterAlternateScreen, cursor::Hide)?;
        }
        Ok(terminal)
    }

    /// Returns the columns and lines.
    pub(crate) fn size() -> (usize, usize) {
        size().map_or(USUAL_SIZE, |(width, height)| (width.into(), height.into()))
    }

    /// Shows `lines`, which fit, in place of those shown before.
    pub(crate) fn draw(&mut self, lines: &[String]) -> io::Result<()> {
        if !self.shows || self.drawn == lines {
            return Ok(());
        }
        let mut err = io::stderr().lock();
        for (row, line) in lines.iter().enumerate() {
            let row = u16::try_from(row).unwrap_or(u16::MAX);
            queue!(err, cursor::MoveTo(0, row), Print(visible(line)), Clear(ClearType::UntilNewLine))?;
        }
        queue!(err, Clear(ClearType::FromCursorDown))?;
        err.flush()?;
        self.drawn = lines.to_vec();
        Ok(())
    }

    /// Returns the next key that is pressed within `wait`.
    pub(crate) fn key(&mut self, wait: Duration) -> io::Result<Option<Key>> {
        if !poll(wait)? {
            return Ok(None);
        }
        Ok(match read()? {
            Event::Key(key) => key_of(key),
            Event::Resize(..) => {
                // What was drawn may have been moved.
                self.drawn.clear();
                if self.shows {
                    execute!(io::stderr(), Clear(ClearType::All))?;
                }
                None
            }
            _ => None,
        })
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        restore();
    }
}

/// Whether the terminal is taken over, and whether the screen is another.
static TAKEN: AtomicBool = AtomicBool::new(false);
static SHOWN: AtomicBool = AtomicBool::new(false);

/// Gives the terminal back, as far as that goes; once, since doing it again would move the cursor.
fn restore() {
    if SHOWN.swap(false, Ordering::SeqCst) {
        let _ = execute!(io::stderr(), cursor::Show, LeaveAlternateScreen);
    }
    if TAKEN.swap(false, Ordering::SeqCst) {
        let _ = disable_raw_mode();
    }
}

/// Lets a panic give the terminal back before it is told of, so that the message is seen.
fn restore_on_panic() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let told = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            restore();
            told(info);
        }));
    });
}

fn key_of(key: KeyEvent) -> Option<Key> {
    if key.kind == KeyEventKind::Release {
        return None;
    }
    let control = key.modifiers.contains(KeyModifiers::CONTROL);
    match key.code {
        KeyCode::Char('c' | 'd') if control => Some(Key::Leave),
        KeyCode::Char(_) if control => None,
        KeyCode::Char(sign) => Some(Key::of(sign)),
        KeyCode::Esc => Some(Key::Leave),
        KeyCode::Left => Some(Key::Left),
        KeyCode::Right => Some(Key::Right),
        KeyCode::Up => Some(Key::Up),
        KeyCode::Down => Some(Key::Down),
        KeyCode::Home => Some(Key::Home),
        _ => None,
    }
}
