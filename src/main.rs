//! The `drywire` program: arguments in, exit code out; all else is the library's.

mod cli;

fn main() -> std::process::ExitCode {
    cli::main()
}
