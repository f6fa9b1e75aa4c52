//! No line of a table is wider than the terminal, 80 columns where that is not known, and nothing of a name is lost.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops where something is not as expected")]

use std::fs::File;
use std::io::Read;
use std::path::PathBuf;
use std::process::{Command, Stdio};

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{Winsize, tcsetwinsize};

const LONG: &str = "selector:2+bridge=split-a+middle=series-reversed+neck=parallel-reversed";
const POSITIONS: &str = "selector:1,selector:2+bridge=split-a+middle=series-reversed+neck=parallel-reversed";

/// The program with these arguments, in a folder of its own.
fn command(folder: &tempfile::TempDir, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_drywire"));
    command.args(arguments).current_dir(folder.path()).env_remove("COLUMNS");
    command
}

/// Returns what it prints where nothing, or `COLUMNS` alone, tells how wide the terminal is.
fn piped(arguments: &[&str], columns: Option<&str>) -> String {
    let folder = tempfile::tempdir().unwrap();
    let mut command = command(&folder, arguments);
    command.envs(columns.map(|columns| ("COLUMNS", columns)));
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Returns what it prints on a terminal of this width.
fn on_a_terminal(width: u16, arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let (shown, status) = terminal(width, Stream::Out, command(&folder, arguments));
    assert_eq!(status, Some(0), "{shown}");
    shown
}

/// A stream that leads to a terminal while the other leads nowhere.
#[derive(Clone, Copy)]
enum Stream {
    Out,
    Err,
}

/// Returns what `program` shows by `stream` on a terminal of this width, and its exit code.
fn terminal(width: u16, stream: Stream, mut program: Command) -> (String, Option<i32>) {
    let master = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&master).unwrap();
    unlockpt(&master).unwrap();
    let path = PathBuf::from(ptsname(&master, Vec::new()).unwrap().into_string().unwrap());
    let slave = File::options().read(true).write(true).open(path).unwrap();
    tcsetwinsize(&slave, Winsize { ws_row: 30, ws_col: width, ws_xpixel: 0, ws_ypixel: 0 }).unwrap();
    match stream {
        Stream::Out => program.stdout(slave).stderr(Stdio::null()),
        Stream::Err => program.stderr(slave).stdout(Stdio::null()),
    };
    let mut running = program.spawn().unwrap();
    // What is left of the command holds the terminal open.
    drop(program);
    let mut shown = Vec::new();
    // The end of a terminal that nobody holds any more reads as an error.
    let _ = File::from(master).read_to_end(&mut shown);
    let status = running.wait().unwrap().code();
    (String::from_utf8(shown).unwrap(), status)
}

fn widest(text: &str) -> usize {
    text.lines().map(|line| line.trim_end().chars().count()).max().unwrap()
}

/// Returns whether `text` holds every joined part of the long name, each in a line or broken after a hyphen.
fn holds_the_name(text: &str) -> bool {
    let bare: String = text.split_whitespace().collect();
    LONG.split('+').skip(1).all(|part| bare.contains(&format!("+{part}")))
}

#[test]
fn where_the_terminal_is_not_known_no_line_is_wider_than_80() {
    let long = ["--guitar", "three-two-coil", "--arrangements", POSITIONS];
    for arguments in [
        [&["figures", "--bands", "--draws", "100"], &long[..]].concat(),
        [&["hear", "--bits", "16"], &long[..]].concat(),
        vec![
            "survey",
            "--guitar",
            "three-two-coil",
            "--arrangements",
            "series,series-reversed,parallel-reversed",
        ],
        vec!["presets"],
        vec!["probe"],
    ] {
        let text = piped(&arguments, None);
        let table: Vec<&str> = text.lines().filter(|line| !line.contains(LONG)).collect();
        assert!(widest(&table.join("\n")) <= 80, "{arguments:?}: {}\n{text}", widest(&text));
        if arguments.contains(&POSITIONS) {
            assert!(holds_the_name(&text), "{text}");
        }
    }
}

#[test]
fn on_a_narrow_terminal_headings_lists_and_short_tables_fit_too() {
    let readings = [
        "leads",
        "--leads=white,grey,red,blue",
        "--ohms=white,grey=4k",
        "--ohms=red,blue=4.1k",
        "--tap=screw side,red=white,black=grey,swing=+",
        "--tap=plain side,red=red,black=blue,swing=+",
        "--compass=screw side=north",
        "--compass=plain side=south",
    ];
    let plan = ["lugs", "--switch", "on-on-on", "--throws", "series,split,parallel"];
    for arguments in [&readings[..], &["presets"], &plan] {
        for columns in ["30", "40"] {
            let text = piped(arguments, Some(columns));
            assert!(widest(&text) <= columns.parse().unwrap(), "{arguments:?}: {}\n{text}", widest(&text));
        }
    }
    let wide = piped(&readings, None);
    let heading = wide.lines().position(|line| line.starts_with("coil ")).unwrap();
    let lines: Vec<&str> = wide.lines().skip(heading - 2).take(3).collect();
    assert!(!lines[0].is_empty() && lines[1].is_empty() && lines[2].ends_with("wound from - to +"), "{wide}");
}

#[test]
fn a_dumb_terminal_gets_neither_colours_nor_progress() {
    for (arguments, code) in [
        (&["hear", "--arrangements", "series"][..], 0),
        (&["figures", "--guitar", "broken.toml"], 2),
        (&["figures", "--no"], 2),
    ] {
        let shown = |term: &str| {
            let folder = tempfile::tempdir().unwrap();
            std::fs::write(folder.path().join("broken.toml"), "[[pickup\n").unwrap();
            let mut program = command(&folder, arguments);
            program.env("TERM", term).env_remove("NO_COLOR");
            // A build server shows colours whatever its terminal says.
            program.env_remove("CI");
            let (shown, status) = terminal(80, Stream::Err, program);
            assert_eq!(status, Some(code), "{shown}");
            shown
        };
        assert!(shown("xterm").contains('\u{1b}'), "{arguments:?}: nothing to leave out");
        assert!(!shown("dumb").contains('\u{1b}'), "{arguments:?}");
    }
}

#[test]
fn on_a_terminal_no_line_of_a_table_is_wider_and_a_wide_one_breaks_no_name() {
    let figures = ["figures", "--guitar", "three-two-coil", "--arrangements", POSITIONS];
    for width in [40, 60, 79] {
        let text = on_a_terminal(width, &figures);
        // What stands below the tables is sentences, in which a name is left whole.
        let tables = text.split("\r\nassumed:").next().unwrap();
        assert!(widest(tables) <= usize::from(width), "{width}: {}\n{tables}", widest(tables));
        assert!(holds_the_name(tables), "{tables}");
    }
    let wide = on_a_terminal(150, &figures);
    assert!(wide.lines().any(|line| line.starts_with(&format!("{LONG}  "))), "{wide}");
    assert_eq!(
        piped(&figures, Some("150")),
        wide.replace("\r\n", "\n"),
        "COLUMNS counts where nothing else tells"
    );
}
