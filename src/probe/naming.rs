//! What the spots of a guitar are called where they are soldered.

use crate::circuit::{Site, Spot};
use crate::guitar::{Guitar, Lever};
use crate::lugs::Labels;
use crate::wiring::{CoilName, Terminal};

/// The names of one guitar's spots: its owner's colours where they are known.
#[derive(Debug, Clone)]
pub(super) struct Naming {
    /// The names of each pickup's ends.
    pickups: Vec<Labels>,
    /// The names around each switch.
    switches: Vec<Labels>,
    has_several_pickups: bool,
    has_several_levers: bool,
}

impl Naming {
    pub(super) fn of(guitar: &Guitar) -> Self {
        let around = |switch: usize| {
            let pickup = &guitar.pickups()[guitar.pickup_switched_at(switch)];
            Labels::of(pickup, guitar.switches()[switch].names())
        };
        let switches: Vec<Labels> = (0..guitar.switches().len()).map(around).collect();
        let of_pickup = |place: usize| {
            let own = (0..switches.len()).find(|switch| guitar.pickup_switched_at(*switch) == place);
            own.map_or_else(|| Labels::of(&guitar.pickups()[place], None), |switch| switches[switch].clone())
        };
        Self {
            pickups: (0..guitar.pickups().len()).map(of_pickup).collect(),
            has_several_pickups: guitar.pickups().len() > 1,
            has_several_levers: guitar.levers().len() > 1,
            switches,
        }
    }

    /// Returns the name of a spot at `site` as the guitar's file has it, such as `a+`, `L1`, `selector.2`, `neck`
    /// or `neck.ground`.
    pub(super) fn name(&self, guitar: &Guitar, site: Site, spot: Spot) -> String {
        let pickup = |place: usize| guitar.pickups()[place].name();
        match (site, spot) {
            (Site::Lever(at), Spot::Lug(lever, lug)) if at == lever => {
                lever.table(guitar).name_of(lug).to_owned()
            }
            (_, Spot::Lug(lever, lug)) => {
                format!("{}.{}", lever.name(guitar), lever.table(guitar).name_of(lug))
            }
            (Site::Lever(Lever::Selector(_)) | Site::Joints | Site::Blend, Spot::Terminal(place, end)) => {
                format!("{}.{end}", pickup(place))
            }
            (Site::Lever(Lever::Switch(_)) | Site::Pickup(_), Spot::Terminal(place, end)) => {
                self.labels(site, place).end(end).to_owned()
            }
            (_, Spot::Behind(place)) => pickup(place).to_string(),
            (_, Spot::Shield(_)) => "shield".to_owned(),
            (_, Spot::Out) => "out".to_owned(),
            (_, Spot::Ground) => Terminal::Ground.to_string(),
            (_, Spot::BlendEnd(0)) => "the first end of the blend pot".to_owned(),
            (_, Spot::BlendEnd(_)) => "the second end of the blend pot".to_owned(),
        }
    }

    /// Returns what a spot is called in a sentence, a lead by its owner's word with its name after it: `lug L2`, `the white lead
    /// (a-start)`, `the neck pickup`.
    pub(super) fn wire(&self, guitar: &Guitar, site: Site, spot: Spot) -> String {
        let name = self.name(guitar, site, spot);
        let pickup = |place: usize| guitar.pickups()[place].name();
        match (site, spot) {
            (Site::Lever(at), Spot::Lug(lever, _)) if at == lever => format!("lug {name}"),
            (_, Spot::Lug(lever, lug)) => {
                format!("lug {} of {}", lever.table(guitar).name_of(lug), lever.name(guitar))
            }
            (Site::Lever(Lever::Switch(_)) | Site::Pickup(_), Spot::Terminal(place, end)) => {
                match (self.labels(site, place).lead(end), end.coil()) {
                    (Some(lead), _) if lead.contains(' ') => format!("{lead} ({name})"),
                    (Some(lead), _) => format!("the {lead} lead ({name})"),
                    (None, Some(_)) => format!("lead {name}"),
                    (None, None) => name,
                }
            }
            (Site::Lever(Lever::Selector(_)) | Site::Joints | Site::Blend, Spot::Terminal(place, end)) => {
                let lead = if end.coil().is_some() { "lead " } else { "" };
                format!("the {} pickup's {lead}{end}", pickup(place))
            }
            (_, Spot::Behind(place)) => format!("the {} pickup", pickup(place)),
            (_, Spot::Shield(_)) => "the shield".to_owned(),
            (_, Spot::Out) => "the output".to_owned(),
            (_, Spot::Ground | Spot::BlendEnd(_)) => name,
        }
    }

    fn labels(&self, site: Site, pickup: usize) -> &Labels {
        match site {
            Site::Lever(Lever::Switch(switch)) => &self.switches[switch],
            Site::Lever(Lever::Selector(_)) | Site::Pickup(_) | Site::Joints | Site::Blend => {
                &self.pickups[pickup]
            }
        }
    }

    /// Returns what a coil is called in sentences, such as `coil A` or, where there are several pickups, `coil A of the neck pickup`.
    pub(super) fn coil(&self, guitar: &Guitar, pickup: usize, coil: CoilName) -> String {
        let own = &guitar.pickups()[pickup];
        let name = if own.coil_b().is_some() { coil.to_string() } else { "the coil".to_owned() };
        if self.has_several_pickups { format!("{name} of the {} pickup", own.name()) } else { name }
    }

    /// Returns the names of a coil's ends.
    pub(super) fn ends(&self, pickup: usize, coil: CoilName) -> [String; 2] {
        [coil.plus(), coil.minus()].map(|end| self.pickups[pickup].end(end).to_owned())
    }

    /// Returns the words that say at which switch something is, where the guitar has several.
    pub(super) fn at(&self, guitar: &Guitar, site: Site) -> String {
        match site {
            Site::Lever(lever) if self.has_several_levers => format!(" at {}", lever.name(guitar)),
            Site::Lever(_) | Site::Pickup(_) | Site::Joints | Site::Blend => String::new(),
        }
    }
}
