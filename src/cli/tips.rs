//! What to do about a command line that cannot be read, where more can be told of it than its parser knows.

use std::path::Path;

use clap::Command;
use clap::error::{ContextKind, ContextValue, Error, ErrorKind};
use drywire::wiring::Arrangement;

use super::typed::{is_unit, of_a_unit, part};

/// The endings of sound files that people name most.
const SOUNDS: [&str; 6] = ["wav", "flac", "aif", "aiff", "ogg", "mp3"];

/// Returns `error`, which `arguments` to the `program` met with, and with it what was probably meant.
pub(super) fn with_tip(mut error: Error, arguments: &[String], program: &Command) -> Error {
    if let Some(tip) = tip(&error, arguments, program) {
        // What only sounds alike would lead away from it.
        error.remove(ContextKind::SuggestedArg);
        error.remove(ContextKind::SuggestedSubcommand);
        error.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![tip.into()]));
    }
    error
}

fn tip(error: &Error, arguments: &[String], program: &Command) -> Option<String> {
    let named = |kind| match error.get(kind)? {
        ContextValue::String(text) => Some(text.as_str()),
        ContextValue::Strings(texts) => texts.first().map(String::as_str),
        _ => None,
    };
    match error.kind() {
        ErrorKind::MissingRequiredArgument => (named(ContextKind::InvalidArg)? == "<DIR>")
            .then(|| "DIR is the folder that `drywire hear` wrote, such as drywire-out".to_owned()),
        ErrorKind::InvalidSubcommand => of_a_file(named(ContextKind::InvalidSubcommand)?),
        ErrorKind::UnknownArgument => {
            let given = named(ContextKind::InvalidArg)?;
            of_a_file(given)
                .or_else(|| is_unit(given).then(|| of_a_unit(given, number_before(given, arguments))))
                .or_else(|| of_a_part(given))
                .or_else(|| of_an_entry_of_a_list(given))
                .or_else(|| of_an_option_before_its_command(given, arguments, program))
        }
        _ => None,
    }
}

/// Returns where a file called `given` belongs.
fn of_a_file(given: &str) -> Option<String> {
    let ending = Path::new(given).extension()?.to_str()?.to_lowercase();
    if ending == "toml" {
        Some(format!("a guitar's file is given by --guitar, as in `drywire hear --guitar {given}`"))
    } else if SOUNDS.contains(&ending.as_str()) {
        Some(format!("a sound is heard by `drywire hear {given}`"))
    } else {
        None
    }
}

/// Returns the number that stands before the word `given` among the arguments.
fn number_before<'a>(given: &str, arguments: &'a [String]) -> Option<&'a str> {
    let pair = arguments.windows(2).find(|pair| pair[1] == given)?;
    let before = pair[0].rsplit('=').next()?;
    before.trim_start_matches(['-', '+', '.']).starts_with(|c: char| c.is_ascii_digit()).then_some(before)
}

/// Returns where the part of a take called `given` belongs.
fn of_a_part(given: &str) -> Option<String> {
    let is_part = given.starts_with(|c: char| c.is_ascii_digit()) && part(given).is_ok();
    is_part.then(|| format!("a part to play round and round follows an equals sign: --loop={given}"))
}

/// Returns where an arrangement called `given` belongs.
fn of_an_entry_of_a_list(given: &str) -> Option<String> {
    given.trim_matches(',').parse::<Arrangement>().ok()?;
    Some("a list has commas and no spaces between its entries, such as series,parallel".to_owned())
}

/// Returns where an option belongs that stands before any command, and that some command has.
fn of_an_option_before_its_command(given: &str, arguments: &[String], program: &Command) -> Option<String> {
    let has = |command: &&Command| {
        command
            .get_arguments()
            .any(|option| option.get_long().is_some_and(|long| given == format!("--{long}")))
    };
    let is_option = |argument: &&String| argument.split('=').next() != Some(given);
    let is_command = |argument: &String| program.find_subcommand(argument).is_some();
    if arguments.iter().take_while(is_option).any(is_command) {
        return None;
    }
    let command = program.get_subcommands().find(has)?;
    Some(format!("options stand after the command, as in `drywire {} {given} …`", command.get_name()))
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::with_tip;
    use crate::cli::Arguments;

    fn told(line: &str) -> String {
        let program = Arguments::command();
        let arguments: Vec<String> = line.split(' ').skip(1).map(str::to_owned).collect();
        let error = program.clone().try_get_matches_from(line.split(' ')).expect_err("it cannot be read");
        with_tip(error, &arguments, &program).to_string()
    }

    #[test]
    fn a_file_in_the_wrong_place_is_told_where_it_belongs() {
        for line in ["drywire figures mine.toml", "drywire mine.toml", "drywire probe mine.toml"] {
            assert!(told(line).contains("`drywire hear --guitar mine.toml`"), "{}", told(line));
        }
        for line in ["drywire take.WAV", "drywire figures take.WAV"] {
            assert!(told(line).contains("`drywire hear take.WAV`"), "{}", told(line));
        }
        assert!(!told("drywire figures mine").contains("tip:"));
    }

    #[test]
    fn a_list_that_is_cut_by_spaces_is_told_to_have_commas() {
        for line in ["drywire figures --arrangements series parallel", "drywire figures parallel"] {
            assert!(told(line).contains("series,parallel"), "{}", told(line));
        }
    }

    #[test]
    fn a_unit_that_a_space_cuts_off_and_a_part_without_its_equals_sign_are_told_how_to_stand() {
        let unit = told("drywire pluck --tempo 90 bpm");
        assert!(unit.contains("one word, such as 90bpm, or stand in quotes: \"90 bpm\""), "{unit}");
        let part = told("drywire play drywire-out --loop 0.5s-1.5s");
        assert!(part.contains("--loop=0.5s-1.5s"), "{part}");
    }

    #[test]
    fn an_option_before_its_command_is_told_to_stand_after_it() {
        for line in ["drywire --guitar mine.toml figures", "drywire --guitar=mine.toml figures"] {
            let told = told(line);
            assert!(told.contains("after the command") && !told.contains("--quiet' "), "{told}");
        }
        assert!(!told("drywire presets --guitar mine.toml").contains("after the command"));
    }

    #[test]
    fn a_set_that_is_not_named_is_told_where_to_find() {
        for command in ["play", "blind"] {
            let told = told(&format!("drywire {command}"));
            assert!(told.contains("`drywire hear` wrote") && told.contains("drywire-out"), "{told}");
        }
    }
}
