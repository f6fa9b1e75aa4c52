//! What the things to be soldered are called in a report: by the user's own lead colours where they are known.

use crate::guitar::{Coil, LeadNames, Pickup, Pole, Winding};
use crate::wiring::{CoilName, EndNames, FinishIsPlus, Switch, Terminal, Thing};

/// The names of a pickup's coil ends and leads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Labels {
    names: EndNames,
    finish_is_plus: FinishIsPlus,
    /// The lead at each coil end, in the order of [`Terminal::ALL`].
    leads: [Option<String>; 4],
    /// Whether some lead's name is of the other kind than the ends'.
    other_kind: bool,
}

/// Returns, coil by coil, the values that a plan's readings and signs rest on, in words.
pub fn rests_on(pickup: &Pickup) -> Vec<String> {
    let words = |name: CoilName, coil: &Coil| {
        let sense = match coil.winding() {
            Winding::Clockwise => "clockwise",
            Winding::CounterClockwise => "counter-clockwise",
        };
        let pole = match coil.top_pole() {
            Pole::North => "north",
            Pole::South => "south",
        };
        let plus = if coil.finish_is_plus() { "finish" } else { "start" };
        format!(
            "{name}: {}, wound {sense} from start to finish under a {pole} pole, so its {plus} is its + end",
            coil.resistance()
        )
    };
    let coils = [(CoilName::A, Some(pickup.coil_a())), (CoilName::B, pickup.coil_b())];
    coils.into_iter().filter_map(|(name, coil)| coil.map(|coil| words(name, coil))).collect()
}

impl Labels {
    /// Returns the names for `pickup`, its ends named as `names` says or, where that is silent, by the kind of
    /// names its leads have.
    pub fn of(pickup: &Pickup, names: Option<EndNames>) -> Self {
        let coils = CoilName::BOTH.map(|name| match name {
            CoilName::A => Some(pickup.coil_a()),
            CoilName::B => pickup.coil_b(),
        });
        let finish_is_plus = coils.map(|coil| coil.is_none_or(Coil::finish_is_plus));
        let mut leads = [const { None }; 4];
        let mut kinds = Vec::new();
        for name in CoilName::BOTH {
            let Some(named) = coils[name.index()].and_then(|coil| coil.leads()) else { continue };
            let (kind, plus, minus) = match named {
                LeadNames::Tap { plus, minus } => (EndNames::PlusMinus, plus, minus),
                LeadNames::Chart { start, finish } if finish_is_plus[name.index()] => {
                    (EndNames::StartFinish, finish, start)
                }
                LeadNames::Chart { start, finish } => (EndNames::StartFinish, start, finish),
            };
            kinds.push(kind);
            leads[name.plus().index()] = Some(plus.clone());
            leads[name.minus().index()] = Some(minus.clone());
        }
        let of_leads = match kinds.as_slice() {
            [EndNames::StartFinish, EndNames::StartFinish] => EndNames::StartFinish,
            _ => EndNames::PlusMinus,
        };
        let names = names.unwrap_or(of_leads);
        Self { names, finish_is_plus, leads, other_kind: kinds.iter().any(|kind| *kind != names) }
    }

    /// Returns how the coils' ends are named.
    pub fn names(&self) -> EndNames {
        self.names
    }

    /// Returns whether some lead's name is of the other kind than the ends', so that one of them was translated.
    pub fn have_leads_of_the_other_kind(&self) -> bool {
        self.other_kind
    }

    /// Returns which end of each coil is its + end.
    pub fn finish_is_plus(&self) -> FinishIsPlus {
        self.finish_is_plus
    }

    /// Returns the name of a coil's end, such as `a+` or `a-start`, or of hot or ground.
    pub fn end(&self, end: Terminal) -> &'static str {
        self.names.name(end, self.finish_is_plus)
    }

    /// Returns the user's word for the lead at a coil's end.
    pub fn lead(&self, end: Terminal) -> Option<&str> {
        self.leads.get(end.index()).and_then(Option::as_deref)
    }

    /// Returns what a thing is called, such as `a+`, `hot` or `L1`.
    pub fn name<'n>(&self, thing: Thing, switch: &'n Switch) -> &'n str {
        thing.name(switch, self.names, self.finish_is_plus)
    }

    /// Returns what a thing is called with the user's word for it first, such as `white (a-start)`.
    pub fn wire(&self, thing: Thing, switch: &Switch) -> String {
        let name = self.name(thing, switch);
        let lead = match thing {
            Thing::Terminal(end) => self.lead(end),
            Thing::Shield | Thing::Lug(_) => None,
        };
        lead.map_or_else(|| name.to_owned(), |lead| format!("{lead} ({name})"))
    }
}
