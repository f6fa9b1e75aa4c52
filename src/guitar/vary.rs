//! The same guitar with other resistances or its volume turned: what tolerances and a hand make of it.

use super::{Coil, Coils, Guitar, Pickup, Pot};
use crate::quantity::Ohms;

impl Guitar {
    /// Returns the guitar with its pots' tracks times `pots` and each coil's resistance times what `coil` says.
    ///
    /// Both factors are above zero and not far from one: nothing is checked against what a file may state.
    #[must_use]
    pub fn with_resistances(&self, pots: f64, coil: impl Fn(&Coil) -> f64) -> Self {
        let mut guitar = self.clone();
        let scale = |pot: Pot| Pot { track: Ohms::new(pot.track.value() * pots), ..pot };
        guitar.controls.volume = guitar.controls.volume.map(scale);
        if let Some(tone) = &mut guitar.controls.tone {
            tone.pot = scale(tone.pot);
        }
        for pickup in &mut guitar.pickups {
            pickup.for_each_coil(|own| own.resistance = Ohms::new(own.resistance.value() * coil(own)));
        }
        guitar
    }

    /// Returns the guitar with its volume, where it has one, at `turned`, held within 0 to 10.
    #[must_use]
    pub fn with_volume_at(&self, turned: f64) -> Self {
        let mut guitar = self.clone();
        guitar.controls.volume = guitar.controls.volume.map(|pot| pot.at(turned));
        guitar
    }
}

impl Pickup {
    pub(super) fn for_each_coil(&mut self, mut change: impl FnMut(&mut Coil)) {
        match &mut self.coils {
            Coils::One(coil) => change(coil),
            Coils::Two { a, b, .. } => {
                change(a);
                change(b);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::document::Document;

    #[test]
    fn a_varied_guitar_has_other_resistances_and_is_otherwise_the_same() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let varied = guitar.with_resistances(0.8, |_| 1.1).with_volume_at(4.0);
        assert!((varied.pickups()[1].coil_b().unwrap().resistance().value() - 4290.0).abs() < 1e-9);
        assert_eq!(varied.controls().volume().unwrap().track(), Ohms::new(400e3));
        assert_eq!(varied.controls().tone().unwrap().pot().track(), Ohms::new(400e3));
        assert_eq!(varied.controls().volume().unwrap().turned(), 4.0);
        assert_eq!(guitar.with_resistances(1.0, |_| 1.0).with_volume_at(10.0), guitar);
    }

    #[test]
    fn a_resistance_is_stated_only_where_the_guitars_own_file_states_it() {
        let text = "format = 1\n[[pickup]]\nname = \"p\"\nlike = \"mini\"\n[pickup.coil_a]\nresistance = \"3.1k\"\n\
            [pickup.coil_b]\nturns = 1.1\n[[pickup]]\nname = \"q\"\nlike = \"mini\"\n";
        let guitar = Guitar::read(&Document::new("mine.toml", text)).unwrap();
        let stated = |i: usize| {
            let pickup = &guitar.pickups()[i];
            [pickup.coil_a(), pickup.coil_b().unwrap()].map(Coil::resistance_is_stated)
        };
        assert_eq!(stated(0), [true, false]);
        assert_eq!(stated(1), [false, false]);
    }
}
