//! Ten thousand guitars within their tolerances at two hundred frequencies, and how many times as fast that is as a
//! circuit simulator in one process: `cargo bench --bench draws`. One thread each; the simulator's start is taken off.

#![allow(clippy::print_stdout, reason = "what a benchmark found is its result")]

#[path = "../tests/common/draws.rs"]
#[allow(clippy::unwrap_used, unreachable_pub, reason = "the deck's writer is the tests' own")]
mod draws;

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use drywire::bands::Draws;
use drywire::circuit::{Strapping, Sweep};
use drywire::guitar::Guitar;
use drywire::quantity::Hertz;
use drywire::response::{Scope, Setting, Voice};
use drywire::wiring::Arrangement;

const DRAWS: u64 = 10_000;
/// The simulator's share of them: enough for its start not to count.
const SIMULATED: usize = 1000;
const FREQUENCIES: u32 = 200;
const TURNS: usize = 5;

fn main() {
    let guitar = Guitar::built_in("set-neck").expect("it is built in");
    let setting = Setting {
        pickups: vec![Strapping::of(Arrangement::Series); 2],
        throws: vec![1],
        switches: Vec::new(),
    };
    let voice = Voice::of_guitar("middle", setting);
    let (mut ours, mut theirs) = (Vec::new(), Vec::new());
    for _ in 0..TURNS {
        ours.push(drawn(&guitar, &voice));
        theirs.extend(simulated(&guitar));
    }
    let ours = median(&mut ours) / u32::try_from(DRAWS).expect("few");
    println!("a draw with its circuit and {FREQUENCIES} frequencies: {ours:?}, one thread");
    println!("{DRAWS} draws: {:?}, one thread", ours * u32::try_from(DRAWS).expect("few"));
    if theirs.is_empty() {
        println!("ngspice is not installed: nothing to compare with");
        return;
    }
    let theirs = median(&mut theirs) / u32::try_from(SIMULATED).expect("few");
    println!("ngspice, the values changed and the same sweep: {theirs:?}");
    println!("{:.1} times as fast; medians of {TURNS} in turn", theirs.as_secs_f64() / ours.as_secs_f64());
}

fn drawn(guitar: &Guitar, voice: &Voice) -> Duration {
    let frequencies: Vec<Hertz> = (0..FREQUENCIES)
        .map(|i| Hertz::new(20.0 * 1000f64.powf(f64::from(i) / f64::from(FREQUENCIES - 1))))
        .collect();
    let began = Instant::now();
    let sweep = Sweep::of(&voice.circuit(guitar, Scope::Guitar).expect("a sound circuit"));
    let mut sum = 0.0;
    for number in 0..DRAWS {
        let circuit = voice.circuit(&Draws::of(guitar).draw(number), Scope::Guitar).expect("a sound circuit");
        let responses = sweep.responses(&circuit, &frequencies).expect("solved");
        sum += responses.iter().map(|coils| coils[0].norm()).sum::<f64>();
    }
    assert!(sum.is_finite());
    began.elapsed()
}

/// Returns how long the simulator takes for its draws beyond its start, where there is one.
fn simulated(guitar: &Guitar) -> Option<Duration> {
    let folder = tempfile::tempdir().ok()?;
    let run = |draws: usize| -> Option<Duration> {
        let mut text = format!("* draws\n{}.control\n", draws::deck(guitar, 0));
        for n in 0..draws {
            // Every part of a draw is changed, as the program changes it; what they are changed to costs the same.
            let share = 0.9 + 0.2 * (n as f64 / draws as f64);
            for p in 0..2 {
                for coil in ["a", "b"] {
                    let name = format!("{p}{coil}_0");
                    writeln!(text, "alter r{name} = {:e}", 3900.0 * share).ok()?;
                    writeln!(text, "alter l{name} = {:e}", 1.95 * share).ok()?;
                    writeln!(text, "alter c{name} = {:e}", 100e-12 * share).ok()?;
                    writeln!(text, "alter rl{name} = {:e}", 220e3 * share).ok()?;
                }
            }
            writeln!(text, "alter cc0 = {:e}\nalter rv0 = {:e}", 360e-12 * share, 500e3 * share).ok()?;
            writeln!(text, "ac dec 66 20 20k\ndestroy all").ok()?;
        }
        text += "quit\n.endc\n.end\n";
        std::fs::write(folder.path().join("deck.cir"), text).ok()?;
        timed(folder.path())
    };
    let start = run(0)?;
    Some(run(SIMULATED)?.saturating_sub(start))
}

fn timed(folder: &Path) -> Option<Duration> {
    let began = Instant::now();
    let run = Command::new("ngspice").args(["-b", "deck.cir"]).current_dir(folder).output().ok()?;
    run.status.code().map(|_| began.elapsed())
}

fn median(times: &mut [Duration]) -> Duration {
    times.sort();
    times[times.len() / 2]
}
