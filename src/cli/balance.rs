//! `drywire balance`: how loud one pickup is against another.

use std::path::{Path, PathBuf};

use clap::Args as ClapArgs;
use drywire::balance::Balance;
use drywire::guitar::{Draft, Guitar, Pickup, guitar_presets};
use drywire::quantity::signed;
use drywire::report::{Column, TextTable, to_json};
use drywire::response::SelectionError;
use drywire::sound::Sound;

use super::choose::{draft_to_save, save_draft};
use super::figures::remarks;
use super::{Console, Failure, Outcome};

/// Tell how loud one pickup is against another, from two takes of the same playing
///
/// Each take is of one pickup alone, its leads and the knobs as the guitar's file has them, at one gain of the recording. What
/// the circuits and the pickups' places make is taken off; what is left goes mostly by the pickups' heights.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  drywire balance bridge.wav neck.wav --between bridge,neck\n  drywire balance bridge.wav neck.wav --between bridge,neck --guitar mine.toml --save\n\nPlay a few chords over all strings, as evenly as can be, and the same again through the other pickup.\nExit code 1: the level is doubtful; with --save nothing is put into the file then."
)]
pub(crate) struct Args {
    /// The take through the first pickup alone
    take_a: PathBuf,
    /// The take through the second pickup alone
    take_b: PathBuf,
    /// The two pickups, in the order of the takes
    #[arg(long, value_name = "NAME,NAME", value_delimiter = ',', required = true)]
    between: Vec<String>,
    /// A guitar file, or the name of a built-in guitar (see `drywire presets`)
    #[arg(long, value_name = "FILE|NAME")]
    guitar: Option<PathBuf>,
    /// Put the second pickup's level into the guitar's file
    #[arg(long, requires = "guitar")]
    save: bool,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let given = args.guitar.as_deref().unwrap_or(Path::new(guitar_presets()[0].name));
    let draft = if args.save { Some(draft_to_save(given)?) } else { None };
    let guitar = Guitar::open(given)?;
    let [first, second] = args.between.as_slice() else {
        let message = format!("--between names {}; wanted are two pickups", args.between.len());
        return Err(Failure::input(message, "separate them by a comma, such as bridge,neck"));
    };
    let pickup = |name: &str| guitar.pickup(Some(name.trim())).map_err(SelectionError::from);
    let pickups = [pickup(first)?, pickup(second)?];
    let takes = [Sound::open(&args.take_a)?, Sound::open(&args.take_b)?];
    let balance = Balance::of(&guitar, pickups, takes.each_ref())?;
    if args.json {
        console.result(to_json(&balance))?;
    } else {
        tell(&balance, console)?;
    }
    match (draft, balance.doubts.is_empty()) {
        (Some(draft), true) => save(&balance, draft, given, console)?,
        (Some(_), false) => {
            console.warn(format!("nothing is put into {}: the level is doubtful", given.display()));
        }
        (None, _) => {}
    }
    Ok(if balance.doubts.is_empty() { Outcome::Done } else { Outcome::No })
}

fn tell(balance: &Balance, console: &mut Console) -> Result<(), Failure> {
    let [first, second] = &balance.between;
    let mut table = TextTable::new([
        Column::numbers(["band", "Hz"]),
        Column::numbers(["measured", "dB"]),
        Column::numbers(["foretold", "dB"]),
        Column::numbers(["left", "dB"]),
    ]);
    for band in &balance.bands {
        table.row([
            format!("{:.0}", band.hz),
            signed(band.measured_db, 1),
            signed(band.foretold_db, 1),
            signed(band.measured_db - band.foretold_db, 1),
        ]);
    }
    console.table(format!(
        "{second} against {first}: level {} dB{}\n",
        signed(balance.level_db, 1),
        balance.sd_db.map_or_else(
            || "; one band tells nothing of how sure that is".to_owned(),
            |sd| format!(" ± {sd:.1} dB; the bands are off by {:.1} dB from it", balance.spread_db)
        )
    ))?;
    console.rows(&table)?;
    let notes = [
        format!(
            "compared: {:.1} s of either take, taken for {}",
            balance.compared_s,
            balance.taken_for.words()
        ),
        format!(
            "in the guitar's file: level = \"{}\" for {second}, {first} having {}",
            stated(balance.levels_db[1]),
            stated(balance.levels_db[0])
        ),
    ];
    let doubts = balance.doubts.iter().map(|doubt| format!("doubtful: {doubt}"));
    console.table(remarks([&[], &[], &notes], doubts))
}

fn save(balance: &Balance, mut draft: Draft, path: &Path, console: &mut Console) -> Result<(), Failure> {
    let second = &balance.between[1];
    let place = draft.pickup_names().iter().position(|name| name == second).unwrap_or_default();
    let level = stated(balance.levels_db[1]);
    let [least, most] = Pickup::LEVELS;
    if !(least..=most).contains(&balance.levels_db[1]) {
        let first = &balance.between[0];
        return Err(Failure::input(
            format!("{second} would have a level of {level}; allowed are {least} dB to {most} dB"),
            format!("state a level of {first} that is nearer to 0 dB in {}", path.display()),
        ));
    }
    draft
        .set(&format!("pickup[{place}].level"), level.as_str())
        .map_err(|error| Failure::input(error.to_string(), error.hint()))?;
    save_draft(&draft, path)?;
    console.note(format!("put into {}: level {level} of pickup {second}", path.display()));
    Ok(())
}

/// Returns a level as a guitar's file states it.
fn stated(level_db: f64) -> String {
    // What rounds to nothing has no sign.
    format!("{:.1} dB", (10.0 * level_db).round() / 10.0 + 0.0)
}
