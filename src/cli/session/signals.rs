//! The signals that end a program, held back until the terminal is given back.

use std::io;

#[cfg(unix)]
mod watched {
    use std::io;
    use std::sync::Arc;
    use std::sync::atomic::{AtomicUsize, Ordering};

    use signal_hook::consts::{SIGHUP, SIGINT, SIGQUIT, SIGTERM};
    use signal_hook::low_level::emulate_default_handler;

    pub(crate) struct Signals(Arc<AtomicUsize>);

    impl Signals {
        pub(crate) fn watch() -> io::Result<Self> {
            let caught = Arc::new(AtomicUsize::new(0));
            for signal in [SIGHUP, SIGINT, SIGQUIT, SIGTERM] {
                // Signals have small numbers above zero.
                signal_hook::flag::register_usize(
                    signal,
                    Arc::clone(&caught),
                    signal.unsigned_abs() as usize,
                )?;
            }
            Ok(Self(caught))
        }

        pub(crate) fn caught(&self) -> Option<i32> {
            i32::try_from(self.0.load(Ordering::Relaxed)).ok().filter(|signal| *signal != 0)
        }

        pub(crate) fn obey(&self) {
            if let Some(signal) = self.caught() {
                // It ends the program; where it cannot, the command ends in its own way.
                let _ = emulate_default_handler(signal);
            }
        }
    }
}

#[cfg(not(unix))]
mod watched {
    use std::io;

    /// Elsewhere the keys alone end a run: with the terminal's own handling of them off, they arrive as keys.
    pub(crate) struct Signals;

    impl Signals {
        pub(crate) fn watch() -> io::Result<Self> {
            Ok(Self)
        }

        pub(crate) fn caught(&self) -> Option<i32> {
            None
        }

        pub(crate) fn obey(&self) {}
    }
}

/// A watch for the signals that ask a program to end.
pub(crate) struct Signals(watched::Signals);

impl Signals {
    /// Begins to watch.
    pub(crate) fn watch() -> io::Result<Self> {
        watched::Signals::watch().map(Self)
    }

    /// Returns the signal that came, if one did.
    pub(crate) fn caught(&self) -> Option<i32> {
        self.0.caught()
    }

    /// Does what the signal that came, if one did, does to a program that does not watch.
    pub(crate) fn obey(&self) {
        self.0.obey();
    }
}
