//! How far coils that are wound alike, as no two are, let hum through.
//!
//! Two coils that are alike in everything cancel hum fully, which no pickup does. What is left hangs on how many turns each
//! has: 3 % of them is a usual difference, common practice, no source.

use num_complex::Complex64;

use super::voice::LOW;
use super::{Scope, VoiceError, VoiceResponse};
use crate::guitar::Guitar;
use crate::quantity::Db;

/// By how much each coil's number of turns may be off.
pub const TURNS_OFF: f64 = 0.03;

/// The least and the most hum at 100 Hz against coil A alone, the least `None` where it may cancel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HumBand {
    /// The least.
    pub least: Option<Db>,
    /// The most.
    pub most: Db,
}

impl VoiceResponse {
    /// Returns how far hum reaches where each coil that is heard of `guitar`, the response's own, has up to [`TURNS_OFF`] more
    /// or fewer turns of the same wire than its file says.
    ///
    /// # Errors
    /// [`VoiceError`] where a circuit has no solution.
    pub fn hum_band<'g>(
        &self,
        guitar: &'g Guitar,
        scope: impl Into<Scope<'g>>,
    ) -> Result<HumBand, VoiceError> {
        let scope = scope.into();
        let nominal = self.hum(&self.at(LOW)?);
        let coils = scope.pickups(guitar).into_iter().flat_map(|pickup| {
            pickup.coil_names().map(move |coil| (pickup.name().as_str().to_owned(), coil))
        });
        let mut off = 0.0;
        for (pickup, coil) in coils {
            let other = guitar.with_turns(&pickup, coil, 1.0 + TURNS_OFF);
            off += (self.hum_of(&other, scope.on(&other))? - nominal).norm();
        }
        let level = |hum: f64| Db::of_amplitude(hum / self.hum_reference);
        let least = nominal.norm() - off;
        Ok(HumBand { least: (least > 0.0).then(|| level(least)), most: level(nominal.norm() + off) })
    }

    /// Returns the jack's hum at the low frequency in this voice of another guitar, relative to that in a coil of one turn.
    fn hum_of(&self, guitar: &Guitar, scope: Scope<'_>) -> Result<Complex64, VoiceError> {
        let paths = self.voice().circuit(guitar, scope)?.response(LOW)?;
        Ok(paths.iter().zip(scope.coils(guitar)).map(|(path, coil)| path * coil.hum_at_plus()).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::response::Voice;
    use crate::wiring::Arrangement;

    /// In series each coil's hum reaches the jack whole, so that 3 % on each leave 6 % of one coil's, −24.4 dB; in parallel more
    /// turns raise a coil's voltage and its resistance alike, and far less is left.
    #[test]
    fn coils_that_are_not_quite_alike_leave_what_their_turns_differ_by() {
        let guitar = Guitar::built_in("set-neck").expect("it is built in");
        let band = |arrangement: Arrangement| {
            let pickup = &guitar.pickups()[0];
            let response = Voice::of(arrangement).response(&guitar, pickup).expect("a response");
            response.hum_band(&guitar, pickup).expect("it has a solution")
        };
        let series = band(Arrangement::Series);
        assert!((series.most.value() + 24.4).abs() < 0.4 && series.least.is_none(), "{series:?}");
        let parallel = band(Arrangement::Parallel);
        assert!(parallel.most < series.most, "{parallel:?}");
        let alone = band(Arrangement::SplitAOpen);
        let (least, most) = (alone.least.expect("it hums"), alone.most);
        assert!(least.value() < 0.0 && most.value() > 0.0 && (most - least).value() < 1.0, "{alone:?}");
    }
}
