//! The `drywire` program: arguments in, exit code out; all else is the library's.

mod cli;
#[cfg(feature = "panel")]
mod panel;

fn main() -> std::process::ExitCode {
    cli::main()
}
