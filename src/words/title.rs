//! What a voice is called in words.

use crate::circuit::Strapping;
use crate::guitar::{Bypass, Coils, Guitar, LeadNames, Pickup};
use crate::quantity::listed;
use crate::response::{Joining, Scope, Setting, VoiceResponse};
use crate::wiring::{Arrangement, CoilName, Connection, Function};

/// Returns what `response` is of `guitar`, in words: `both coils in series`, or of a whole guitar `bridge and neck in
/// parallel`.
pub fn voice(response: &VoiceResponse, guitar: &Guitar, scope: Scope<'_>) -> String {
    let voice = response.voice();
    match (scope, voice.arrangement(), voice.connection(), voice.setting()) {
        (Scope::Pickup(pickup), Some(named), ..) => arrangement(named, pickup),
        (Scope::Pickup(_), None, Some(connection), _) => connection.words(),
        (Scope::Guitar, _, _, Some(setting)) => position(response, guitar, setting),
        // A voice of a pickup has no response in a whole guitar, nor the other way round.
        (Scope::Pickup(_), None, None, _) | (Scope::Guitar, _, _, None) => voice.name().to_owned(),
    }
}

/// Returns what an arrangement of `pickup` does, in words: `both coils in series`, `one coil: A, the bridge side`; a coil
/// whose leads the guitar's file names is called by them.
pub fn arrangement(arrangement: Arrangement, pickup: &Pickup) -> String {
    match arrangement {
        Arrangement::Series => "both coils in series".to_owned(),
        Arrangement::Parallel => "both coils in parallel".to_owned(),
        Arrangement::SplitA => one_coil(CoilName::A, pickup),
        Arrangement::SplitB => one_coil(CoilName::B, pickup),
        Arrangement::SplitAOpen => format!("{}, the other open", one_coil(CoilName::A, pickup)),
        Arrangement::SplitBOpen => format!("{}, the other open", one_coil(CoilName::B, pickup)),
        Arrangement::SeriesReversed => "both coils in series, out of phase".to_owned(),
        Arrangement::ParallelReversed => "both coils in parallel, out of phase".to_owned(),
        Arrangement::SeriesBypassed => format!("both coils in series, {}", bypassed(pickup)),
        Arrangement::Alone => "the one coil".to_owned(),
    }
}

/// Returns how an arrangement of `pickup` is connected, in words, as a second line below [`arrangement`].
pub fn details(arrangement: Arrangement, pickup: &Pickup) -> String {
    let coil = |coil: CoilName| match leads(coil, pickup) {
        Some([plus, minus]) => format!("{coil} ({plus} +, {minus} −)"),
        None => coil.to_string(),
    };
    let [a, b] = CoilName::BOTH.map(coil);
    match arrangement {
        Arrangement::Series => format!("{a}, then {b}"),
        Arrangement::Parallel => format!("{a} beside {b}"),
        Arrangement::SplitA => format!("{a} alone, {b} shorted"),
        Arrangement::SplitB => format!("{b} alone, {a} shorted"),
        Arrangement::SplitAOpen => format!("{a} alone, {b} left open"),
        Arrangement::SplitBOpen => format!("{b} alone, {a} left open"),
        Arrangement::SeriesReversed => format!("{a}, then {b} turned round"),
        Arrangement::ParallelReversed => format!("{a} beside {b} turned round"),
        Arrangement::SeriesBypassed => {
            let part = match pickup.coils() {
                Coils::Two { bypass: Some(bypass), .. } => bypass.to_string(),
                Coils::Two { bypass: None, .. } | Coils::One(_) => "a capacitor".to_owned(),
            };
            format!("{a}, then {b}; {part} from their joint to ground")
        }
        Arrangement::Alone => match leads(CoilName::A, pickup) {
            Some([plus, minus]) => format!("{plus} +, {minus} −"),
            None => "a pickup of one coil".to_owned(),
        },
    }
}

/// Returns where a lever stands as it goes into a sentence, of the words that its switch or selector has for it: `with the lever
/// toward lugs 3`, `toward the neck`, `in the middle position`.
pub fn standing(position: &str) -> String {
    let first = position.split(' ').next().unwrap_or_default();
    match first {
        "lever" => format!("with the {position}"),
        "toward" | "between" | "in" | "at" | "with" => position.to_owned(),
        "position" => format!("in {position}"),
        "on" | "off" if position == first => format!("switched {position}"),
        _ => format!("in the {position} position"),
    }
}

fn one_coil(coil: CoilName, pickup: &Pickup) -> String {
    match leads(coil, pickup) {
        Some([plus, minus]) => format!("one coil: {plus} and {minus}, {}", side(coil)),
        None => match coil {
            CoilName::A => format!("one coil: A, {}", side(coil)),
            CoilName::B => format!("one coil: B, {}", side(coil)),
        },
    }
}

/// Returns where a coil lies; coil A is the one nearer the bridge.
const fn side(coil: CoilName) -> &'static str {
    match coil {
        CoilName::A => "the bridge side",
        CoilName::B => "the neck side",
    }
}

/// Returns the names of a coil's + and − lead, where the guitar's file gives them.
fn leads(coil: CoilName, pickup: &Pickup) -> Option<[&str; 2]> {
    let own = match coil {
        CoilName::A => Some(pickup.coil_a()),
        CoilName::B => pickup.coil_b(),
    }?;
    Some(match own.leads()? {
        LeadNames::Tap { plus, minus } => [plus, minus],
        LeadNames::Chart { start, finish } if own.finish_is_plus() => [finish, start],
        LeadNames::Chart { start, finish } => [start, finish],
    })
}

/// Returns what the bypass of `pickup` leaves of coil B.
fn bypassed(pickup: &Pickup) -> &'static str {
    match pickup.coils() {
        Coils::Two { bypass: Some(Bypass::Resistor(_)), .. } => "coil B in part",
        Coils::Two { bypass: Some(Bypass::Capacitor(_)) | None, .. } | Coils::One(_) => {
            "coil B without its treble"
        }
    }
}

/// Returns what is heard of a whole guitar that stands so.
fn position(response: &VoiceResponse, guitar: &Guitar, setting: &Setting) -> String {
    let strapped =
        setting.pickups.iter().enumerate().map(|(place, Strapping { connection: _, bypassed })| Strapping {
            connection: setting.connection(guitar, place),
            bypassed: *bypassed,
        });
    let heard = response.pickups_heard(guitar, Scope::Guitar);
    let heard: Vec<(&Pickup, Strapping)> = guitar
        .pickups()
        .iter()
        .zip(strapped)
        .zip(heard)
        .filter_map(|(own, heard)| heard.then_some(own))
        .collect();
    let named = |(pickup, strapping): &(&Pickup, Strapping)| match special(pickup, *strapping) {
        None => pickup.name().to_string(),
        Some(how) => format!("{} ({how})", pickup.name()),
    };
    let names: Vec<String> = heard.iter().map(named).collect();
    let together = match (response.joining(), heard.as_slice()) {
        (Joining::Silent, _) | (_, []) => return "silent: no pickup is heard".to_owned(),
        (Joining::Alone, [(pickup, strapping), ..]) => {
            let how = special(pickup, *strapping).map_or_else(String::new, |how| format!(", {how}"));
            return format!("{} alone{how}", pickup.name());
        }
        (Joining::Parallel, _) => "in parallel",
        (Joining::Series, _) => "in series",
        (Joining::Mixed, _) => "together",
    };
    let against_itself = heard.iter().any(|(_, own)| Function::of(&own.connection).in_phase() == Some(false));
    let phase = if response.in_phase() || against_itself { "" } else { ", out of phase" };
    format!("{} {together}{phase}", listed(&names))
}

/// Returns how a pickup is strapped, where that is not as it ordinarily is: its coils in series, or its one coil.
fn special(pickup: &Pickup, strapping: Strapping) -> Option<String> {
    pickup.coil_b()?;
    if strapping.bypassed {
        return Some(bypassed(pickup).to_owned());
    }
    Some(match strapping.connection.arrangement() {
        None => strapping.connection.words(),
        Some(Arrangement::Series) => return None,
        Some(Arrangement::Parallel) => "coils in parallel".to_owned(),
        Some(Arrangement::SplitA) => format!("split, {}", side(CoilName::A)),
        Some(Arrangement::SplitB) => format!("split, {}", side(CoilName::B)),
        Some(Arrangement::SplitAOpen) => format!("split, {}, the other open", side(CoilName::A)),
        Some(Arrangement::SplitBOpen) => format!("split, {}, the other open", side(CoilName::B)),
        Some(Arrangement::SeriesReversed) => "coils in series, out of phase".to_owned(),
        Some(Arrangement::ParallelReversed) => "coils in parallel, out of phase".to_owned(),
        Some(Arrangement::SeriesBypassed | Arrangement::Alone) => Connection::words(&strapping.connection),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;
    use crate::response::Voice;
    use crate::wiring::Terminal::{AMinus, APlus, BPlus, Ground, Hot};

    fn guitar(text: &str) -> Guitar {
        Guitar::read(&Document::new("guitar.toml", format!("format = 1\n{text}"))).unwrap()
    }

    #[test]
    fn where_a_lever_stands_goes_into_a_sentence() {
        for (position, words) in [
            ("lever toward lugs 3", "with the lever toward lugs 3"),
            ("lever in the middle", "with the lever in the middle"),
            ("toward the neck", "toward the neck"),
            ("between bridge and middle", "between bridge and middle"),
            ("middle", "in the middle position"),
            ("position 4", "in position 4"),
            ("off", "switched off"),
            ("down", "in the down position"),
        ] {
            assert_eq!(standing(position), words);
        }
    }

    #[test]
    fn an_arrangement_is_called_by_what_it_does() {
        let guitar = Guitar::with_built_in_pickup("vintage-full-size").unwrap();
        let pickup = &guitar.pickups()[0];
        let titles = Arrangement::TWO_COIL.map(|a| arrangement(a, pickup));
        assert_eq!(
            titles,
            [
                "both coils in series",
                "both coils in parallel",
                "one coil: A, the bridge side",
                "one coil: B, the neck side",
                "one coil: A, the bridge side, the other open",
                "one coil: B, the neck side, the other open",
                "both coils in series, out of phase",
                "both coils in parallel, out of phase",
                "both coils in series, coil B without its treble",
            ]
        );
        assert_eq!(details(Arrangement::SplitB, pickup), "coil B alone, coil A shorted");
    }

    #[test]
    fn a_coil_whose_leads_are_known_is_called_by_them() {
        let guitar = guitar(
            "[[pickup]]\nname = \"p\"\nlike = \"mini\"\n\
             [pickup.coil_a]\nleads = { plus = \"white\", minus = \"blue\" }\n\
             [pickup.coil_b]\ntop_pole = \"south\"\nleads = { start = \"red\", finish = \"grey\" }\n",
        );
        let pickup = &guitar.pickups()[0];
        assert_eq!(arrangement(Arrangement::SplitA, pickup), "one coil: white and blue, the bridge side");
        // Wound clockwise under a south pole, the + end is the start.
        assert_eq!(
            details(Arrangement::SeriesReversed, pickup),
            "coil A (white +, blue −), then coil B (red +, grey −) turned round"
        );
    }

    #[test]
    fn a_throw_is_called_by_what_it_makes_of_the_coils() {
        let guitar = Guitar::with_built_in_pickup("mini").unwrap();
        let pickup = &guitar.pickups()[0];
        let hanging = Connection::joining([&[Hot, APlus, BPlus][..], &[AMinus, Ground]]);
        let parallel = Arrangement::Parallel.connection();
        for (connection, title) in
            [(parallel, "both coils in parallel"), (hanging, "coil A alone, coil B hanging from hot")]
        {
            let response = Voice::wired("mode:1", connection, connection.arrangement())
                .response(&guitar, pickup)
                .unwrap();
            assert_eq!(voice(&response, &guitar, pickup.into()), title);
        }
    }

    fn titled(guitar: &Guitar, position: &str) -> String {
        let response = Voice::at_position(guitar, position).unwrap().response(guitar, Scope::Guitar).unwrap();
        voice(&response, guitar, Scope::Guitar)
    }

    #[test]
    fn a_position_is_called_by_the_pickups_that_are_heard() {
        let guitar = Guitar::built_in("three-two-coil").unwrap();
        for (position, title) in [
            ("selector:1", "bridge alone"),
            ("selector:5+neck=split-b", "neck alone, split, the neck side"),
            ("selector:2", "bridge and middle in parallel"),
            (
                "selector:2+add-neck:2+neck=parallel",
                "bridge, middle and neck (coils in parallel) in parallel",
            ),
            (
                "selector:2+bridge=series-reversed",
                "bridge (coils in series, out of phase) and middle in parallel",
            ),
        ] {
            assert_eq!(titled(&guitar, position), title);
        }
    }

    #[test]
    fn pickups_in_series_and_against_each_other_are_told() {
        let two = "[[pickup]]\nname = \"bridge\"\nlike = \"single-coil\"\n\
                   [[pickup]]\nname = \"neck\"\nlike = \"single-coil\"\nfrom_bridge = \"150 mm\"\n";
        let joined = |joints: &str| guitar(&format!("joints = {joints}\n{two}"));
        for (joints, title) in [
            (r#"[["bridge", "out"], ["neck", "bridge.ground"]]"#, "bridge and neck in series"),
            (r#"[["bridge", "neck", "out"]]"#, "bridge and neck in parallel"),
            (
                r#"[["bridge", "neck.ground", "out"], ["neck", "ground"]]"#,
                "bridge and neck in parallel, out of phase",
            ),
        ] {
            assert_eq!(titled(&joined(joints), "bridge=alone"), title);
        }
        let blended =
            guitar(&format!("{two}[blend]\npot = \"500k\"\nturned = 5\nends = [\"bridge\", \"neck\"]\n"));
        assert_eq!(titled(&blended, "bridge=alone"), "bridge and neck together");
    }

    #[test]
    fn a_guitar_of_which_nothing_is_heard_is_called_silent() {
        let guitar = guitar(
            "[[pickup]]\nname = \"neck\"\nlike = \"single-coil\"\n\
             [[selector]]\nname = \"cut\"\ntable = \"on-off\"\njoints = [[\"neck\", \"1\"], [\"out\", \"2\"]]\n",
        );
        assert_eq!(titled(&guitar, "cut:1"), "silent: no pickup is heard");
        assert_eq!(titled(&guitar, "cut:2"), "neck alone");
    }
}
