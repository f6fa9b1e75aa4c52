//! Which ways to join a pickup's coils a survey goes through.

use drywire::guitar::{Guitar, Pickup};
use drywire::lugs::is_linked;
use drywire::wiring::Arrangement;

/// Which ways to join the coils are gone through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ways {
    /// All arrangements; no switch of the guitar says otherwise.
    Only,
    /// The throws of the switches that are in the guitar.
    AsSwitched,
    /// All arrangements, whatever switches are in the guitar.
    Every,
}

impl Ways {
    /// Returns what is gone through of the pickup called `heard`, or of all, where `chosen` is what a person chose: where a switch
    /// is in the guitar and nothing else is chosen, every way.
    pub(super) fn of(guitar: &Guitar, heard: &str, chosen: &str) -> Self {
        let own = |pickup: &str| heard.is_empty() || pickup == heard;
        // A switch that is joined with others stays in: what its pickup does is told by where they stand.
        let mut switches = guitar.switches().iter().filter(|switch| !is_linked(guitar, switch));
        if !switches.any(|switch| own(guitar.switched_by(switch).name().as_str())) {
            Self::Only
        } else if chosen == Self::AsSwitched.name() {
            Self::AsSwitched
        } else {
            Self::Every
        }
    }

    /// Returns by what it is chosen.
    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Only | Self::Every => "every",
            Self::AsSwitched => "switched",
        }
    }

    /// Returns the arrangements that a survey of `guitar` is asked for, none where it takes what is usual.
    pub(super) fn arrangements(self, guitar: &Guitar) -> Vec<Arrangement> {
        match self {
            Self::Only | Self::AsSwitched => Vec::new(),
            Self::Every => {
                let mut all = Vec::new();
                for arrangement in guitar.pickups().iter().flat_map(Pickup::arrangements) {
                    if !all.contains(&arrangement) {
                        all.push(arrangement);
                    }
                }
                all
            }
        }
    }

    /// Returns what it is, in words.
    pub(super) const fn words(self) -> &'static str {
        match self {
            Self::Only => "every way in which the coils of this guitar could be joined",
            Self::AsSwitched => "what the switches do that are in the guitar now",
            Self::Every => "every way in which the coils could be joined, whatever switch is in the guitar",
        }
    }
}

#[cfg(test)]
mod tests {
    use drywire::document::Document;

    use super::*;

    #[test]
    fn every_way_is_gone_through_unless_the_switches_that_are_in_are_chosen() {
        let pickup = |name: &str| format!("[[pickup]]\nname = \"{name}\"\nlike = \"mini\"\n");
        let switch = "[[switch]]\nname = \"mode\"\non = \"bridge\"\ntable = \"on-on\"\n\
                      joints = [[\"a+\", \"hot\", \"L3\"], [\"a-\", \"L1\", \"R2\"], [\"b+\", \"L2\"], [\"b-\", \"ground\", \"R3\"]]\n";
        let guitar = |switch: &str| {
            let text = format!("format = 1\n{}{}{switch}", pickup("bridge"), pickup("neck"));
            Guitar::read(&Document::new("guitar.toml", text)).unwrap()
        };
        let (bare, switched) = (guitar(""), guitar(switch));
        for chosen in ["", "every", "switched"] {
            assert_eq!(Ways::of(&bare, "", chosen), Ways::Only);
            assert_eq!(Ways::of(&switched, "neck", chosen), Ways::Only);
            let wanted = if chosen == "switched" { Ways::AsSwitched } else { Ways::Every };
            assert_eq!([Ways::of(&switched, "bridge", chosen), Ways::of(&switched, "", chosen)], [wanted; 2]);
        }
    }
}
