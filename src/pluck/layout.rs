//! Where the coils sit along the strings.

use super::Unplayable;
use super::check::Checks;
use crate::guitar::{Guitar, Pickup, SCALES};
use crate::quantity::Metres;

/// The most coils of one layout: four pickups with two coils each.
pub const MAX_COILS: usize = 8;

/// A coil's place: the middle of the stretch of string that it senses, and that stretch's length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CoilPlace {
    /// Distance of its centre from the bridge saddle.
    pub from_bridge: Metres,
    /// Length of string over which it senses evenly; zero for a point.
    pub aperture: Metres,
    /// Its relative EMF, which weights it in the sum of the coils and in nothing else.
    pub output: f64,
}

impl CoilPlace {
    /// The aperture where nothing is known: about the width of a pole piece and its field. A convention, no
    /// source; with 10 mm the first zero lies above 10 kHz for every string at 648 mm.
    pub const APERTURE: Metres = Metres::new(0.010);

    /// Returns a coil of the usual aperture and an output of one.
    pub const fn at(from_bridge: Metres) -> Self {
        Self { from_bridge, aperture: Self::APERTURE, output: 1.0 }
    }
}

/// The scale length and the coils along it, checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    scale: Metres,
    coils: Vec<CoilPlace>,
}

impl Layout {
    /// Returns the layout of `coils` along strings of `scale` (200 mm to 2 m).
    ///
    /// # Errors
    /// Every [`Unplayable`] found: no coil or more than [`MAX_COILS`]; a coil at the bridge or beyond the
    /// scale, an aperture over 100 mm or reaching past the bridge, an output outside 0 to 1000.
    pub fn new(scale: Metres, coils: &[CoilPlace]) -> Result<Self, Vec<Unplayable>> {
        let mut checks = Checks::default();
        checks.range("the scale length", scale, SCALES);
        if coils.is_empty() || coils.len() > MAX_COILS {
            checks.fault(Unplayable::CoilCount { given: coils.len() });
        }
        for coil in coils {
            checks.range("a coil's distance from the bridge", coil.from_bridge, Metres::new(0.001)..=scale);
            let widest = Metres::new((2.0 * coil.from_bridge.value()).min(0.1));
            checks.range("a coil's aperture", coil.aperture, Metres::new(0.0)..=widest);
            checks.range("a coil's output", coil.output, 0.0..=1000.0);
        }
        checks.passed(Self { scale, coils: coils.to_vec() })
    }

    /// Returns the layout of the coils of `pickups` on `guitar`, each over `aperture` and with its own output, in
    /// the order of the pickups and coil A before coil B.
    ///
    /// # Errors
    /// As [`Layout::new`].
    pub fn of<'p>(
        guitar: &Guitar,
        pickups: impl IntoIterator<Item = &'p Pickup>,
        aperture: Metres,
    ) -> Result<Self, Vec<Unplayable>> {
        let mut coils = Vec::new();
        for pickup in pickups {
            let parts = std::iter::once(pickup.coil_a()).chain(pickup.coil_b());
            for (from_bridge, coil) in pickup.coil_places().into_iter().zip(parts) {
                coils.push(CoilPlace { from_bridge, aperture, output: coil.output() });
            }
        }
        Self::new(guitar.scale(), &coils)
    }

    /// Returns the scale length.
    pub const fn scale(&self) -> Metres {
        self.scale
    }

    /// Returns the coils in the order of the channels.
    pub fn coils(&self) -> &[CoilPlace] {
        &self.coils
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_guitars_coils_are_laid_out_pickup_by_pickup_the_one_nearer_the_bridge_first() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let layout = Layout::of(&guitar, guitar.pickups(), CoilPlace::APERTURE).unwrap();
        let places: Vec<f64> =
            layout.coils().iter().map(|c| (c.from_bridge.value() * 1e5).round() / 1e2).collect();
        assert_eq!(places, [35.75, 54.25, 140.75, 159.25]);
        assert_eq!(layout.scale(), guitar.scale());
        let one = Layout::of(&guitar, [guitar.pickup(Some("neck")).unwrap()], Metres::new(0.0)).unwrap();
        assert_eq!(
            one.coils(),
            layout.coils()[2..]
                .iter()
                .map(|c| CoilPlace { aperture: Metres::new(0.0), ..*c })
                .collect::<Vec<_>>()
        );
    }

    #[test]
    fn every_fault_of_a_layout_is_reported() {
        let off = CoilPlace { from_bridge: Metres::new(0.7), aperture: Metres::new(-1.0), output: f64::NAN };
        let faults = Layout::new(Metres::new(0.648), &[CoilPlace::at(Metres::new(0.045)), off]).unwrap_err();
        let told: Vec<String> = faults.iter().map(ToString::to_string).collect();
        assert_eq!(told.len(), 3, "{told:?}");
        assert_eq!(told[0], "a coil's distance from the bridge is 700 mm, outside 1.00 mm to 648 mm");
        assert!(Layout::new(Metres::new(0.648), &[]).is_err());
        assert!(Layout::new(Metres::new(f64::NAN), &[CoilPlace::at(Metres::new(0.045))]).is_err());
    }
}
