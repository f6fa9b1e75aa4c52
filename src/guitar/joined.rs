//! How a guitar's pickups are joined: fixed joints, selectors, a blend pot.

use std::sync::Arc;

use super::{Lever, Pot};
use crate::document::Name;
use crate::wiring::{Lug, Switch, Terminal};

/// A point that pickups are joined at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Point {
    /// The hot conductor of the pickup at this place in [`super::Guitar::pickups`], behind its own controls.
    Hot(usize),
    /// The ground conductor of that pickup. It is grounded unless some joint names it.
    Cold(usize),
    /// What leads on to the guitar's controls and the jack.
    Out,
    /// The jack's sleeve.
    Ground,
    /// A lug of the selector or switch that the joint is at.
    Lug(Lug),
    /// A lug of another.
    LugOf(Lever, Lug),
    /// A terminal of the pickup at this place, before its own controls.
    Terminal(usize, Terminal),
}

/// A switch that chooses among pickups.
#[derive(Debug, Clone, PartialEq)]
pub struct Selector {
    pub(crate) name: Name,
    pub(crate) switch: Arc<Switch>,
    pub(crate) joints: Vec<Vec<Point>>,
    pub(crate) stands: usize,
}

/// A switch on a pickup that is joined with other switches. What its throws make of the pickup depends on where those
/// stand: the pickup's terminals and its lugs are points of the guitar.
#[derive(Debug, Clone, PartialEq)]
pub struct Linked {
    pub(crate) switch: usize,
    pub(crate) pickup: usize,
    pub(crate) joints: Vec<Vec<Point>>,
}

/// A pot between two pickups whose wiper leads out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blend {
    pub(crate) pot: Pot,
    pub(crate) ends: [Point; 2],
}

/// How the pickups of a guitar are joined with each other.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Joined {
    pub(crate) fixed: Vec<Vec<Point>>,
    pub(crate) selectors: Vec<Selector>,
    pub(crate) blend: Option<Blend>,
    pub(crate) linked: Vec<Linked>,
}

impl Selector {
    /// Returns the selector's name.
    pub fn name(&self) -> &Name {
        &self.name
    }

    /// Returns its contact table.
    pub fn switch(&self) -> &Switch {
        &self.switch
    }

    /// Returns what is soldered together around it.
    pub fn joints(&self) -> &[Vec<Point>] {
        &self.joints
    }

    /// Returns the place, among the switch's throws, of the one in which it stands.
    pub fn stands(&self) -> usize {
        self.stands
    }
}

impl Linked {
    /// Returns its place in [`super::Guitar::switches`].
    pub fn switch(&self) -> usize {
        self.switch
    }

    /// Returns the place in [`super::Guitar::pickups`] of the pickup that it is on.
    pub fn pickup(&self) -> usize {
        self.pickup
    }

    /// Returns what is soldered together around it.
    pub fn joints(&self) -> &[Vec<Point>] {
        &self.joints
    }
}

impl Blend {
    /// Returns the pot: at 0 the wiper is at the first end, at 10 at the second.
    pub fn pot(&self) -> Pot {
        self.pot
    }

    /// Returns what its track's ends are joined to.
    pub fn ends(&self) -> [Point; 2] {
        self.ends
    }
}

impl Joined {
    /// Returns what is soldered together without a selector.
    pub fn fixed(&self) -> &[Vec<Point>] {
        &self.fixed
    }

    /// Returns the selectors in the order of the file.
    pub fn selectors(&self) -> &[Selector] {
        &self.selectors
    }

    /// Returns the blend pot.
    pub fn blend(&self) -> Option<Blend> {
        self.blend
    }

    /// Returns the switches on pickups that are joined with other switches, in the order of the file; all that are on
    /// their pickups are among them.
    pub fn linked(&self) -> &[Linked] {
        &self.linked
    }

    /// Returns a switch that is joined with others and on the pickup at this place.
    pub fn linked_on(&self, pickup: usize) -> Option<&Linked> {
        self.linked.iter().find(|linked| linked.pickup == pickup)
    }

    /// Returns whether nothing is said of how the pickups are joined.
    pub fn is_empty(&self) -> bool {
        let Self { fixed, selectors, blend, linked } = self;
        fixed.is_empty() && selectors.is_empty() && blend.is_none() && linked.is_empty()
    }

    /// Returns whether something leads on to the guitar's controls; a blend pot's wiper always does.
    pub fn leads_out(&self) -> bool {
        self.blend.is_some() || self.names(Point::Out)
    }

    /// Returns whether some joint names `point`.
    pub fn names(&self, point: Point) -> bool {
        let of_switches = self.linked.iter().flat_map(|linked| &linked.joints);
        let groups =
            self.fixed.iter().chain(self.selectors.iter().flat_map(|s| &s.joints)).chain(of_switches);
        groups.flatten().any(|p| *p == point) || self.blend.is_some_and(|blend| blend.ends.contains(&point))
    }
}
