//! `drywire lugs`: find, print and check a switch plan.

mod text;

use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args as ClapArgs;
use drywire::document::Document;
use drywire::guitar::{Draft, Guitar, Pickup};
use drywire::lugs::{
    AlternativeForm, Asked, CheckForm, Described, Found, Labels, PlanForm, Preference, PutPlan, SearchForm,
    Wanted, first_contradiction, is_linked, put_plan, ranked, sheet,
};
use drywire::wiring::{EndNames, Plan, Soldered, Switch};

use super::choose::{GuitarArgs, ReplaceArgs, draft_to_save, save_draft, save_sheet};
use super::typed::whole;
use super::{Console, Failure, Outcome};

/// Find, print and check a switch plan: which lead goes on which lug
///
/// Searches every way to join the coils' ends, hot, ground and the switch's lugs for the plans with the fewest
/// joints that do what each throw is asked for, or checks the joints that a guitar file states.
#[derive(Debug, ClapArgs)]
#[command(
    after_help = "Examples:\n  drywire lugs --switch on-on --throws series,parallel\n  drywire lugs --switch on-on-on --throws series,split,parallel --guitar mine.toml --sheet plan.html\n  drywire lugs --check mine.toml\n\nA throw is asked for an arrangement, `split` (either coil alone), `off` or `any`.\nSwitches: on-on, on-on-on, on-on-on-mirrored, on-off-on, on-on-single; a push-pull pot's is on-on."
)]
pub(crate) struct Args {
    /// The kind of switch; with --check the guitar's switch of that name
    #[arg(long, value_name = "NAME", required_unless_present = "check")]
    switch: Option<String>,
    /// What each throw is to do, separated by commas
    #[arg(long, value_name = "LIST", value_delimiter = ',', required_unless_present = "check")]
    throws: Vec<String>,
    /// Print every plan with the fewest joints
    #[arg(long, conflicts_with_all = ["best", "check"])]
    fewest: bool,
    /// Print the N plans that a builder would prefer, also with more than the fewest joints
    #[arg(long, value_name = "N", conflicts_with = "check", allow_hyphen_values = true,
        value_parser = whole::<u16>(1..=1000))]
    best: Option<u16>,
    /// Check the joints that this guitar file states, and list every fault
    #[arg(long, value_name = "FILE", conflicts_with_all = ["guitar", "pickup"])]
    check: Option<PathBuf>,
    /// Also write a page to print and solder from
    #[arg(long, value_name = "FILE.html")]
    sheet: Option<PathBuf>,
    #[command(flatten)]
    replace: ReplaceArgs,
    /// Put the first plan into this guitar's file, as the switch of --pickup or of the first pickup; it is the guitar
    /// where --guitar names none
    #[arg(long, value_name = "FILE", conflicts_with = "check")]
    save: Option<PathBuf>,
    #[command(flatten)]
    guitar: GuitarArgs,
    /// Print the answer as JSON
    #[arg(long)]
    json: bool,
}

pub(crate) fn run(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    match &args.check {
        Some(file) => check(args, file, console),
        None => search(args, console),
    }
}

fn search(args: &Args, console: &mut Console) -> Result<Outcome, Failure> {
    let wanted = wanted(args)?;
    let draft = args.save.as_deref().map(draft_at).transpose()?;
    let guitar = match &draft {
        Some(draft) if args.guitar.guitar.is_none() => draft.check()?,
        Some(_) | None => args.guitar.guitar()?,
    };
    let pickup = two_coils(args.guitar.pickup(&guitar)?)?;
    let found = wanted.fewest();
    if found.plans.is_empty() {
        return no_plan(args, &wanted, &found, console);
    }
    let labels = Labels::of(pickup, args.json.then_some(EndNames::PlusMinus));
    let fewest = ranked(found.plans.clone());
    let shown = match (args.fewest, args.best) {
        (true, _) => fewest.clone(),
        (false, None) => fewest[..1].to_vec(),
        (false, Some(count)) => best(&wanted, fewest.clone(), usize::from(count)),
    };
    let described: Vec<Described> = shown
        .into_iter()
        .map(|(_, plan)| confirmed(plan, &wanted, &labels, &guitar, pickup))
        .collect::<Result<_, _>>()?;
    write_sheet(args, &described[0], &guitar, pickup, None, console)?;
    if let (Some(path), Some(draft)) = (&args.save, draft) {
        save_plan(args, &described[0].plan, draft, path, pickup, console)?;
    }
    if args.json {
        let plans = described.iter().map(|plan| PlanForm::new(plan, None)).collect();
        console.result(json(&search_form(&wanted, &found, plans, Vec::new())))?;
    } else {
        console.table(text::search(&wanted, &found, &fewest, &described, args.fewest))?;
        console.table(format!(
            "\n{}",
            text::footing(pickup, args.guitar.guitar.is_some() || args.save.is_some())
        ))?;
    }
    Ok(Outcome::Done)
}

/// Returns the guitar's file at `path`, in which nothing is wrong.
fn draft_at(path: &Path) -> Result<Draft, Failure> {
    let draft = draft_to_save(path)?;
    draft.check()?;
    Ok(draft)
}

fn save_plan(
    args: &Args,
    plan: &Plan,
    mut draft: Draft,
    path: &Path,
    pickup: &Pickup,
    console: &mut Console,
) -> Result<(), Failure> {
    let pickup = pickup.name().as_str();
    // Without --guitar the name of a built-in pickup would mean that one.
    if let Some(asked) = args.guitar.pickup.as_deref().filter(|asked| *asked != pickup) {
        let message = format!("`{asked}` is a built-in pickup, and the plan goes into `{}`", path.display());
        return Err(Failure::input(message, "name the guitar's own pickup, or its file by --guitar too"));
    }
    if !draft.pickup_names().iter().any(|name| name == pickup) {
        return Err(Failure::input(
            format!("`{}` has no pickup `{pickup}`", path.display()),
            format!("it has {}; name one by --pickup", draft.pickup_names().join(", ")),
        ));
    }
    let PutPlan { name, replaced } =
        put_plan(plan, &mut draft, pickup).map_err(|e| Failure::input(e.to_string(), e.hint()))?;
    save_draft(&draft, path)?;
    let instead = if replaced { ", in place of the table and joints that stood there" } else { "" };
    console.note(format!("put into {}: switch {name} on pickup {pickup}{instead}", path.display()));
    Ok(())
}

fn no_plan(args: &Args, wanted: &Wanted, found: &Found, console: &mut Console) -> Result<Outcome, Failure> {
    let alternatives: Vec<Wanted> = wanted.rearranged().into_iter().chain(wanted.alternatives()).collect();
    if args.json {
        let alternatives = alternatives.iter().map(AlternativeForm::new).collect();
        console.result(json(&search_form(wanted, found, Vec::new(), alternatives)))?;
    } else {
        console.table(text::no_plan(wanted, found, &alternatives))?;
    }
    for path in args.sheet.iter().chain(&args.save) {
        console.note(format!("nothing was written to {}: there is no plan to show", path.display()));
    }
    Ok(Outcome::No)
}

/// Returns the plans that a builder prefers, up to two joints above the fewest: no coil hanging from hot is worth
/// more joints, all else is not.
fn best(wanted: &Wanted, mut plans: Vec<(Preference, Plan)>, count: usize) -> Vec<(Preference, Plan)> {
    let fewest = plans[0].0.joints;
    for more in 1..=2 {
        if plans.len() >= count && plans[..count].iter().all(|(marks, _)| marks.dangling == 0) {
            break;
        }
        plans.extend(ranked(wanted.with(fewest + more).plans));
    }
    plans.sort_by_key(|(marks, _)| (marks.dangling, *marks));
    plans.truncate(count);
    plans
}

/// Returns what is told about a plan of the search after the circuit's solution has confirmed each throw.
fn confirmed(
    plan: Plan,
    wanted: &Wanted,
    labels: &Labels,
    guitar: &Guitar,
    pickup: &Pickup,
) -> Result<Described, Failure> {
    let contradiction = first_contradiction(&plan, wanted.asked(), pickup)?;
    assert_eq!(contradiction, None, "the circuit of this throw is not what its contacts say");
    Ok(Described::new(plan, labels.clone(), guitar, pickup, Some(wanted.asked()))?)
}

fn check(args: &Args, file: &Path, console: &mut Console) -> Result<Outcome, Failure> {
    let guitar = Guitar::read(&Document::open(file)?)?;
    let switches = soldered(args, file, &guitar)?;
    if let Some(linked) = switches.iter().find(|switch| is_linked(&guitar, switch)) {
        let name = &linked.name().value;
        let message = format!(
            "switch `{name}` is joined with other switches: what a throw of it makes depends on where they stand"
        );
        let file = file.display();
        let hint = format!(
            "`drywire probe --guitar {file}` tells each state of the whole guitar, and `drywire figures --guitar {file} \
             --arrangements throws` what it does"
        );
        return Err(Failure::input(message, hint));
    }
    let asked: Vec<Asked> = args.throws.iter().map(|word| asked(word)).collect::<Result<_, _>>()?;
    let mut checked = Vec::new();
    for switch in switches {
        if !asked.is_empty() {
            let _: Wanted = wanted_of(switch.switch(), asked.clone())?;
        }
        let asked = Some(asked.as_slice()).filter(|asked| !asked.is_empty());
        let described = Described::soldered(&guitar, switch, asked)?;
        checked.push((switch, guitar.switched_by(switch), described));
    }
    if args.sheet.is_some() && checked.len() > 1 {
        return Err(Failure::input(
            format!("the guitar has {} switches, and a sheet shows one", checked.len()),
            "name the one with --switch",
        ));
    }
    let (first, pickup, described) = &checked[0];
    write_sheet(args, described, &guitar, pickup, Some(first.name().value.as_str()), console)?;
    let sound = checked.iter().all(|(.., described)| described.faults().count() == 0);
    if args.json {
        let form = |(switch, _, plan): &(&Soldered, _, Described)| {
            PlanForm::new(plan, Some(switch.name().value.as_str()))
        };
        let plans = checked.iter().map(form).collect();
        console.result(json(&CheckForm { guitar: guitar.name().to_owned(), sound, plans }))?;
    } else {
        for (switch, pickup, described) in &checked {
            console.table(text::check(switch, pickup, described))?;
        }
    }
    Ok(if sound { Outcome::Done } else { Outcome::No })
}

fn soldered<'g>(args: &Args, file: &Path, guitar: &'g Guitar) -> Result<Vec<&'g Soldered>, Failure> {
    let all = guitar.switches();
    let chosen: Vec<&Soldered> = all
        .iter()
        .filter(|switch| args.switch.as_ref().is_none_or(|name| switch.name().value.as_str() == name))
        .collect();
    if !chosen.is_empty() {
        return Ok(chosen);
    }
    let names: Vec<&str> = all.iter().map(|switch| switch.name().value.as_str()).collect();
    Err(match &args.switch {
        Some(name) if !all.is_empty() => Failure::input(
            format!("`{}` has no switch `{name}`", file.display()),
            format!("it has {}", names.join(", ")),
        ),
        Some(_) | None => Failure::input(
            format!("`{}` states no switch to check", file.display()),
            "add a table headed [[switch]] with name, on, table and joints",
        ),
    })
}

fn wanted(args: &Args) -> Result<Wanted, Failure> {
    // The parser asks for --switch wherever there is no --check.
    let name = args.switch.as_deref().unwrap_or_default();
    let switch = Switch::named(name).map_err(|e| Failure::input(e.to_string(), e.hint()))?;
    let asked = args.throws.iter().map(|word| asked(word)).collect::<Result<_, _>>()?;
    wanted_of(&switch, asked)
}

fn wanted_of(switch: &Arc<Switch>, asked: Vec<Asked>) -> Result<Wanted, Failure> {
    Wanted::new(Arc::clone(switch), asked).map_err(|wrong| {
        let positions: Vec<String> =
            switch.throws().iter().map(|t| format!("{} ({})", t.number(), t.position())).collect();
        let hint = format!("ask for throws {}; `any` asks for nothing in particular", positions.join(", "));
        Failure::input(wrong.to_string(), hint)
    })
}

fn asked(word: &str) -> Result<Asked, Failure> {
    word.trim().parse().map_err(|e: drywire::lugs::AskedError| Failure::input(e.to_string(), e.hint()))
}

fn two_coils(pickup: &Pickup) -> Result<&Pickup, Failure> {
    match pickup.coil_b() {
        Some(_) => Ok(pickup),
        None => Err(Failure::input(
            format!("pickup `{}` has one coil, which leaves nothing to switch", pickup.name()),
            "choose a pickup with two coils by --pickup",
        )),
    }
}

fn write_sheet(
    args: &Args,
    described: &Described,
    guitar: &Guitar,
    pickup: &Pickup,
    name: Option<&str>,
    console: &mut Console,
) -> Result<(), Failure> {
    let Some(path) = &args.sheet else { return Ok(()) };
    let page = sheet(described, guitar, pickup, name);
    let read = [args.check.as_deref(), args.guitar.guitar.as_deref()];
    save_sheet(path, &page, args.replace, read, console)
}

fn search_form(
    wanted: &Wanted,
    found: &Found,
    plans: Vec<PlanForm>,
    alternatives: Vec<AlternativeForm>,
) -> SearchForm {
    SearchForm {
        switch: wanted.switch().name().to_owned(),
        asked: wanted.asked().iter().map(ToString::to_string).collect(),
        exists: !found.plans.is_empty(),
        joints: found.plans.first().map(Plan::joints),
        solutions_with_fewest: found.plans.len(),
        searched: found.searched,
        ways: wanted.ways(),
        alternatives,
        plans,
    }
}

fn json(form: &impl serde::Serialize) -> String {
    serde_json::to_string_pretty(form).expect("the forms hold nothing that JSON cannot")
}
