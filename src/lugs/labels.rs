//! What the things to be soldered are called in a report: by the user's own lead colours where they are known.

use crate::guitar::{LeadNames, Pickup};
use crate::wiring::{CoilName, EndNames, FinishIsPlus, Switch, Terminal, Thing};

/// The names of a pickup's coil ends and leads.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Labels {
    names: EndNames,
    finish_is_plus: FinishIsPlus,
    /// The lead at each coil end, in the order of [`Terminal::ALL`].
    leads: [Option<String>; 4],
}

impl Labels {
    /// Returns the names for `pickup`, its ends named as `names` says or, where that is silent, by the kind of
    /// names its leads have.
    pub fn of(pickup: &Pickup, names: Option<EndNames>) -> Self {
        let coils = CoilName::BOTH.map(|name| match name {
            CoilName::A => Some(pickup.coil_a()),
            CoilName::B => pickup.coil_b(),
        });
        let finish_is_plus = coils.map(|coil| coil.is_none_or(|coil| coil.finish_is_plus()));
        let mut leads = [const { None }; 4];
        let mut by_winding = true;
        for name in CoilName::BOTH {
            let (plus, minus) = match coils[name.index()].and_then(|coil| coil.leads()) {
                Some(LeadNames::Chart { start, finish }) if finish_is_plus[name.index()] => (finish, start),
                Some(LeadNames::Chart { start, finish }) => (start, finish),
                Some(LeadNames::Tap { plus, minus }) => {
                    by_winding = false;
                    (plus, minus)
                }
                None => {
                    by_winding = false;
                    continue;
                }
            };
            leads[name.plus().index()] = Some(plus.clone());
            leads[name.minus().index()] = Some(minus.clone());
        }
        let by_leads = if by_winding { EndNames::StartFinish } else { EndNames::PlusMinus };
        Self { names: names.unwrap_or(by_leads), finish_is_plus, leads }
    }

    /// Returns the same leads with the ends named by another kind.
    #[must_use]
    pub fn by(mut self, names: EndNames) -> Self {
        self.names = names;
        self
    }

    /// Returns how the coils' ends are named.
    pub fn names(&self) -> EndNames {
        self.names
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
