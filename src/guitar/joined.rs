//! How a guitar's pickups are joined: fixed joints, selectors, a blend pot.

use super::Pot;
use crate::document::Name;
use crate::wiring::{Lug, Switch};

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
    /// A lug of the selector that the joint is at.
    Lug(Lug),
}

/// A switch that chooses among pickups.
#[derive(Debug, Clone, PartialEq)]
pub struct Selector {
    pub(crate) name: Name,
    pub(crate) switch: &'static Switch,
    pub(crate) joints: Vec<Vec<Point>>,
    pub(crate) stands: usize,
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
}

impl Selector {
    /// Returns the selector's name.
    pub fn name(&self) -> &Name {
        &self.name
    }

    /// Returns its contact table.
    pub fn switch(&self) -> &'static Switch {
        self.switch
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

    /// Returns whether nothing is said of how the pickups are joined.
    pub fn is_empty(&self) -> bool {
        self.fixed.is_empty() && self.selectors.is_empty() && self.blend.is_none()
    }

    /// Returns whether something leads on to the guitar's controls; a blend pot's wiper always does.
    pub fn leads_out(&self) -> bool {
        self.blend.is_some() || self.names(Point::Out)
    }

    /// Returns whether some joint names `point`.
    pub fn names(&self, point: Point) -> bool {
        let groups = self.fixed.iter().chain(self.selectors.iter().flat_map(|s| &s.joints));
        groups.flatten().any(|p| *p == point) || self.blend.is_some_and(|blend| blend.ends.contains(&point))
    }
}
