//! Random whole guitars, each written twice and apart: as a guitar file, and as a deck for a circuit simulator.
//!
//! The deck is wired here by hand from the random values; nothing of the program has a part in it.

use std::fmt::Write as _;

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// A guitar in both forms.
pub struct WholeGuitar {
    pub file: String,
    /// The position that the deck is wired in, as the program calls it.
    pub position: String,
    /// The parts, node `jack` being the tip. The EMF of coil n, from 1 on, is the source `vemf<n>`.
    pub deck: String,
    pub coils: usize,
}

const ARRANGEMENTS: [&str; 9] = [
    "series",
    "parallel",
    "split-a",
    "split-b",
    "split-a-open",
    "split-b-open",
    "series-reversed",
    "parallel-reversed",
    "series-bypassed",
];
const NAMES: [&str; 3] = ["bridge", "middle", "neck"];

/// A phase switch between the middle pickup's two conductors and a toggle; each names a lug of the other.
const PHASE_BEFORE_TOGGLE: &str = "[[selector]]\nname = \"sel\"\ntable = \"three-way-toggle\"\n\
    joints = [[\"bridge\", \"1\"], [\"out\", \"0\"], [\"phase.L2\", \"2\"]]\n\
    [[selector]]\nname = \"phase\"\ntable = \"on-on\"\n\
    joints = [[\"middle\", \"L1\", \"R3\"], [\"middle.ground\", \"L3\", \"R1\"], [\"ground\", \"R2\"]]\n";
/// The same as a switch on the pickup, which leads to the toggle by its own lug.
const PHASE_ON_A_PICKUP: &str = "[[selector]]\nname = \"sel\"\ntable = \"three-way-toggle\"\n\
    joints = [[\"bridge\", \"1\"], [\"out\", \"0\"]]\n\
    [[switch]]\nname = \"phase\"\non = \"middle\"\ntable = \"on-on\"\n\
    joints = [[\"a+\", \"L1\", \"R3\"], [\"a-\", \"b+\"], [\"b-\", \"L3\", \"R1\"], [\"sel.2\", \"L2\"], [\"ground\", \"R2\"]]\n";

struct Chance(ChaCha8Rng);

impl Chance {
    fn unit(&mut self) -> f64 {
        f64::from(self.0.next_u32()) / f64::from(u32::MAX)
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    fn below(&mut self, count: usize) -> usize {
        self.0.next_u32() as usize % count
    }

    fn once_in(&mut self, count: usize) -> bool {
        self.below(count) == 0
    }
}

/// A deck being written.
#[derive(Default)]
struct Deck {
    text: String,
    parts: usize,
}

impl Deck {
    fn part(&mut self, kind: char, a: &str, b: &str, value: f64) {
        self.parts += 1;
        writeln!(self.text, "{kind}{} {a} {b} {value:e}", self.parts).unwrap();
    }

    fn resistor(&mut self, a: &str, b: &str, ohms: f64) {
        self.part('r', a, b, ohms.max(1e-4));
    }

    fn joined(&mut self, a: &str, b: &str) {
        self.part('r', a, b, 1e-4);
    }
}

/// The fraction of a linear pot's track below its wiper.
fn knob(chance: &mut Chance) -> f64 {
    [0.0, 1.0].get(chance.below(8)).copied().unwrap_or_else(|| chance.within(0.05, 0.95))
}

/// Writes controls under `heading` into the file and as parts from `hot` to the node that is returned.
fn controls(chance: &mut Chance, file: &mut String, deck: &mut Deck, heading: &str, hot: &str) -> String {
    let mut table = String::new();
    let mut at = hot.to_owned();
    let pot = |track: f64, x: f64| format!("pot = \"{track}\", taper = \"linear\", turned = {}", 10.0 * x);
    if chance.once_in(3) {
        let (track, x, farads) = (chance.within(300e3, 1.5e6), knob(chance), chance.within(1e-9, 8e-9));
        writeln!(table, "bass_cut = {{ {}, capacitor = \"{farads:e}\" }}", pot(track, x)).unwrap();
        let behind = format!("{heading}-cut");
        deck.part('c', &at, &behind, farads);
        deck.resistor(&at, &behind, track * (1.0 - x));
        at = behind;
    }
    if chance.once_in(3) {
        let ohms = chance.within(100e3, 2e6);
        writeln!(table, "load = \"{ohms}\"").unwrap();
        deck.resistor(&at, "0", ohms);
    }
    let before = at.clone();
    let has_volume = !chance.once_in(4);
    if has_volume {
        let (track, x, independent) = (chance.within(200e3, 600e3), knob(chance), chance.once_in(2));
        let wired = if independent { "independent" } else { "dependent" };
        writeln!(table, "volume = {{ {}, wired = \"{wired}\" }}", pot(track, x)).unwrap();
        at = format!("{heading}-volume");
        deck.resistor(&before, &at, track * (1.0 - x));
        deck.resistor(if independent { &before } else { &at }, "0", track * x);
        if chance.once_in(3) {
            let (farads, ohms) = (chance.within(0.3e-9, 2e-9), chance.within(50e3, 400e3));
            let form = chance.below(3);
            let more = ["", ", joined = \"parallel\"", ", joined = \"series\""][form];
            let resistor = if form == 0 { String::new() } else { format!(", resistor = \"{ohms}\"") };
            writeln!(table, "bleed = {{ capacitor = \"{farads:e}\"{resistor}{more} }}").unwrap();
            if form == 2 {
                let between = format!("{heading}-bleed");
                deck.part('c', &before, &between, farads);
                deck.resistor(&between, &at, ohms);
            } else {
                deck.part('c', &before, &at, farads);
                if form == 1 {
                    deck.resistor(&before, &at, ohms);
                }
            }
        }
    }
    if !chance.once_in(4) {
        let (track, x) = (chance.within(200e3, 600e3), knob(chance));
        let farads: Vec<f64> = (0..3).map(|_| chance.within(5e-9, 60e-9)).collect();
        let chosen = chance.below(3);
        let joined = if has_volume && chance.once_in(2) { "after-volume" } else { "before-volume" };
        let list: Vec<String> = farads.iter().map(|f| format!("\"{f:e}\"")).collect();
        writeln!(
            table,
            "tone = {{ {}, capacitors = [{}], chosen = {}, joined = \"{joined}\" }}",
            pot(track, x),
            list.join(", "),
            chosen + 1
        )
        .unwrap();
        let (hung, lug) = (if joined == "after-volume" { &at } else { &before }, format!("{heading}-tone"));
        deck.resistor(hung, &lug, track * x);
        deck.part('c', &lug, "0", farads[chosen]);
    }
    writeln!(file, "[{heading}]\n{table}").unwrap();
    at
}

/// Writes a coil between two nodes and returns the inductor by which it couples, with its nodes and inductance.
fn coil(
    chance: &mut Chance,
    file: &mut String,
    deck: &mut Deck,
    n: usize,
    [plus, minus]: [&str; 2],
) -> (String, f64) {
    let (ohms, henries) = (chance.within(2e3, 9e3), chance.within(1.0, 5.0));
    let farads = chance.within(30e-12, 200e-12);
    writeln!(file, "resistance = \"{ohms}\"\ninductance = \"{henries}\"\ncapacitance = \"{farads:e}\"")
        .unwrap();
    let inner = format!("inner{n}");
    deck.resistor(plus, &inner, ohms);
    deck.part('c', plus, minus, farads);
    if !chance.once_in(3) {
        let loss = chance.within(100e3, 1e6);
        writeln!(file, "loss = \"{loss}\"").unwrap();
        deck.resistor(&inner, minus, loss);
    }
    let share = if chance.once_in(3) { chance.within(0.05, 0.4) } else { 0.0 };
    let unshunted = (1.0 - share) * henries;
    let mut foot = minus.to_owned();
    if share > 0.0 {
        let corner = chance.within(2e3, 12e3);
        writeln!(file, "eddy_share = {share}\neddy_corner = \"{corner}\"").unwrap();
        foot = format!("core{n}");
        writeln!(deck.text, "ec{n} {foot} corex{n} emf{n} 0 {share:e}").unwrap();
        writeln!(deck.text, "lc{n} corex{n} {minus} {:e}", share * henries).unwrap();
        deck.resistor(&foot, minus, std::f64::consts::TAU * corner * share * henries);
    }
    writeln!(deck.text, "e{n} {inner} x{n} emf{n} 0 {:e}", 1.0 - share).unwrap();
    writeln!(deck.text, "vemf{n} emf{n} 0 dc 0 ac 0").unwrap();
    (foot, unshunted)
}

/// Writes a pickup whose conductors are the nodes `hot` and `cold`, its coils numbered from `first` on, and returns how
/// many they are; `switched` in series where a switch is to join its coils.
fn pickup(
    chance: &mut Chance,
    file: &mut String,
    deck: &mut Deck,
    [place, first]: [usize; 2],
    switched: bool,
) -> usize {
    let name = NAMES[place];
    let (hot, cold) = (format!("{name}-coils"), format!("{name}-cold"));
    let [mid, apart] = [format!("{name}-mid"), format!("{name}-apart")];
    writeln!(file, "[[pickup]]\nname = \"{name}\"\nfrom_bridge = \"{} mm\"", 45 + 50 * place).unwrap();
    let lead = if chance.once_in(2) { chance.within(10e-12, 200e-12) } else { 0.0 };
    if lead > 0.0 {
        writeln!(file, "lead_capacitance = \"{lead:e}\"").unwrap();
    }
    let led = |deck: &mut Deck, ends: [&str; 2]| {
        for end in ends.iter().filter(|_| lead > 0.0) {
            deck.part('c', end, "0", lead);
        }
    };
    if chance.once_in(3) && !switched {
        writeln!(file, "[pickup.coil_a]").unwrap();
        let (foot, henries) = coil(chance, file, deck, first, [&hot, &cold]);
        led(deck, [&hot, &cold]);
        writeln!(deck.text, "l{first} x{first} {foot} {henries:e}").unwrap();
        return 1;
    }
    let arrangement = ARRANGEMENTS[if switched { 0 } else { chance.below(9) }];
    let (k, alike) = (chance.within(0.0, 0.3), chance.once_in(4));
    writeln!(file, "arrangement = \"{arrangement}\"\ncoupling = {k}\nspacing = \"18 mm\"").unwrap();
    let (h, g, m, x) = (hot.as_str(), cold.as_str(), mid.as_str(), apart.as_str());
    let [a, b] = match arrangement {
        "series" | "series-bypassed" => [[h, m], [m, g]],
        "parallel" => [[h, g], [h, g]],
        "split-a" => [[h, g], [x, x]],
        "split-b" => [[x, x], [h, g]],
        "split-a-open" => [[h, g], [x, g]],
        "split-b-open" => [[x, g], [h, g]],
        "series-reversed" => [[h, m], [g, m]],
        _ => [[h, g], [g, h]],
    };
    if arrangement == "series-bypassed" {
        if chance.once_in(2) {
            let farads = chance.within(2e-9, 50e-9);
            writeln!(file, "bypass = \"{farads:e}\"").unwrap();
            deck.part('c', m, "0", farads);
        } else {
            let ohms = chance.within(1e3, 9e3);
            writeln!(file, "bypass_resistor = \"{ohms}\"").unwrap();
            deck.resistor(m, "0", ohms);
        }
    }
    if matches!(arrangement, "split-a" | "split-b") {
        // A shorted coil that nothing else touches has a potential of its own, which the simulator wants tied.
        deck.part('r', x, "0", 1e12);
    }
    writeln!(file, "[pickup.coil_a]\ntop_pole = \"north\"").unwrap();
    let (foot_a, henries_a) = coil(chance, file, deck, first, a);
    writeln!(file, "[pickup.coil_b]\ntop_pole = \"{}\"", if alike { "north" } else { "south" }).unwrap();
    let (foot_b, henries_b) = coil(chance, file, deck, first + 1, b);
    led(deck, a);
    led(deck, b);
    let second = first + 1;
    writeln!(deck.text, "l{first} x{first} {foot_a} {henries_a:e}").unwrap();
    // Equal top poles: the + ends disagree in winding, so one inductor is written the other way round.
    if alike {
        writeln!(deck.text, "l{second} {foot_b} x{second} {henries_b:e}").unwrap();
    } else {
        writeln!(deck.text, "l{second} x{second} {foot_b} {henries_b:e}").unwrap();
    }
    if k > 0.0 {
        writeln!(deck.text, "k{first} l{first} l{second} {k:e}").unwrap();
    }
    2
}

/// Joins the pickups, whose conductors are the nodes `behind`, in one of eight ways, and returns what the program calls the
/// position.
fn join(chance: &mut Chance, file: &mut String, deck: &mut Deck, way: usize, behind: &[String]) -> String {
    let mut position = "bridge=ARRANGEMENT".to_owned();
    match way {
        0 => {
            let throw = chance.below(3);
            *file += "[[selector]]\nname = \"sel\"\ntable = \"three-way-toggle\"\njoints = [[\"bridge\", \"1\"], [\"middle\", \"2\"], [\"out\", \"0\"]]\n";
            position = format!("sel:{}", throw + 1);
            for place in [&[0][..], &[0, 1], &[1]][throw] {
                deck.joined(&behind[*place], "out");
            }
        }
        1 => {
            let (throw, added) = (chance.below(5), chance.once_in(2));
            *file += "[[selector]]\nname = \"blade\"\ntable = \"five-way-blade\"\njoints = [[\"bridge\", \"B1\"], [\"middle\", \"B2\"], [\"neck\", \"B3\"], [\"out\", \"B0\"]]\n\
                [[selector]]\nname = \"add\"\ntable = \"on-off\"\njoints = [[\"neck\", \"1\"], [\"out\", \"2\"]]\n";
            position = format!("blade:{}+add:{}", throw + 1, if added { 2 } else { 1 });
            let mut on = [&[0][..], &[0, 1], &[1], &[1, 2], &[2]][throw].to_vec();
            if added && !on.contains(&2) {
                on.push(2);
            }
            for place in on {
                deck.joined(&behind[place], "out");
            }
        }
        2 => behind.iter().for_each(|hot| deck.joined(hot, "out")),
        3 => {
            deck.joined(&behind[0], "out");
            deck.joined("bridge-cold", &behind[1]);
        }
        4 => {
            let (track, x) = (chance.within(200e3, 600e3), knob(chance));
            writeln!(
                file,
                "[blend]\npot = \"{track}\"\ntaper = \"linear\"\nturned = {}\nends = [\"bridge\", \"middle\"]",
                10.0 * x
            )
            .unwrap();
            deck.resistor(&behind[0], "out", track * x);
            deck.resistor("out", &behind[1], track * (1.0 - x));
        }
        5 => {
            deck.joined(&behind[0], "out");
            deck.joined(&behind[1], "0");
            deck.joined("middle-cold", "out");
        }
        _ => {
            let (throw, turned) = (chance.below(3), chance.once_in(2));
            *file += if way == 6 { PHASE_BEFORE_TOGGLE } else { PHASE_ON_A_PICKUP };
            position = format!("sel:{}+phase:{}", throw + 1, if turned { 3 } else { 1 });
            let [hot, cold] =
                if turned { ["middle-cold", "middle-coils"] } else { ["middle-coils", "middle-cold"] };
            deck.joined(cold, "0");
            for place in [&[0][..], &[0, 1], &[1]][throw] {
                deck.joined([behind[0].as_str(), hot][*place], "out");
            }
        }
    }
    position
}

/// Returns the guitar of this seed.
pub fn whole_guitar(seed: u64) -> WholeGuitar {
    let mut chance = Chance(ChaCha8Rng::seed_from_u64(seed));
    let chance = &mut chance;
    let (mut file, mut deck) = ("format = 1\n".to_owned(), Deck::default());
    let way = (seed % 8) as usize;
    let pickups = if way == 1 { 3 } else { 2 };
    // Joints come before any table.
    let fixed = match way {
        2 => "joints = [[\"bridge\", \"middle\", \"out\"]]\n",
        3 => "joints = [[\"bridge\", \"out\"], [\"bridge.ground\", \"middle\"]]\n",
        5 => "joints = [[\"bridge\", \"middle.ground\", \"out\"], [\"middle\", \"ground\"]]\n",
        _ => "",
    };
    file += fixed;
    let (mut coils, mut behind) = (0, Vec::new());
    for (place, name) in NAMES.into_iter().enumerate().take(pickups) {
        coils += pickup(chance, &mut file, &mut deck, [place, coils + 1], way == 7 && place == 1);
        let hot = format!("{name}-coils");
        // A pickup that is turned round has its pots on a ground that is its own hot: left out here.
        let turned_round = way >= 5 && place == 1;
        let own = !turned_round && chance.once_in(2);
        behind.push(if own { controls(chance, &mut file, &mut deck, "pickup.controls", &hot) } else { hot });
        // Each pickup's nodes have its name.
        let last = behind.last_mut().unwrap();
        deck.text = deck.text.replace("pickup.controls", &format!("{name}-own"));
        *last = last.replace("pickup.controls", &format!("{name}-own"));
    }
    let grounded: &[usize] = match way {
        3 => &[1],
        5..=7 => &[0],
        _ => &[0, 1, 2],
    };
    for place in grounded.iter().filter(|place| **place < pickups) {
        deck.joined(&format!("{}-cold", NAMES[*place]), "0");
    }
    let position = join(chance, &mut file, &mut deck, way, &behind);
    let mut jack = controls(chance, &mut file, &mut deck, "controls", "out");
    if chance.once_in(3) {
        let (input, output) = (chance.within(600e3, 5e6), chance.within(100.0, 5e3));
        writeln!(file, "[buffer]\ninput = \"{input}\"\noutput = \"{output}\"").unwrap();
        deck.resistor(&jack, "0", input);
        writeln!(deck.text, "ebuffer followed 0 {jack} 0 1").unwrap();
        deck.resistor("followed", "behind-buffer", output);
        "behind-buffer".clone_into(&mut jack);
    }
    let (cable, input, stray) =
        (chance.within(1e-10, 1e-9), chance.within(2e5, 2e6), chance.within(1e-11, 2e-10));
    writeln!(
        file,
        "[cable]\ntotal = \"{cable:e}\"\n[input]\nresistance = \"{input}\"\ncapacitance = \"{stray:e}\""
    )
    .unwrap();
    deck.part('c', &jack, "0", cable + stray);
    deck.resistor(&jack, "0", input);
    deck.joined(&jack, "jack");
    deck.part('r', "out", "0", 1e12);
    let mut position = position;
    // Where nothing is to be turned, the position names the first pickup as the file has it.
    if position.contains("ARRANGEMENT") {
        let stated = file.split("arrangement = \"").nth(1).and_then(|rest| rest.split('"').next());
        let first_is_two =
            file.find("arrangement").is_some_and(|at| at < file.find("[pickup.coil_a]").unwrap());
        position = match stated.filter(|_| first_is_two) {
            Some(stated) => format!("bridge={stated}"),
            None => "bridge=alone".to_owned(),
        };
    }
    WholeGuitar { file, position, deck: deck.text, coils }
}

/// Returns whether the simulator is here; where the tests must not be skipped, it has to be.
pub fn simulator_is_installed() -> bool {
    let installed = std::process::Command::new("ngspice").arg("--version").output().is_ok();
    assert!(installed || std::env::var_os("CI").is_none(), "ngspice is missing");
    if !installed {
        #[allow(clippy::print_stdout, reason = "a test that is skipped says so")]
        {
            println!("skipped: ngspice is not installed");
        }
    }
    installed
}
