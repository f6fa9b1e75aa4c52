//! Guitars with parts drawn within their tolerances.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use crate::guitar::Guitar;

/// The seed of every draw: the same guitar has the same bands wherever and whenever they are worked out.
const SEED: u64 = 0x6472_7977_6972_6501;

/// Draws of one guitar, numbered from 0.
#[derive(Debug, Clone, Copy)]
pub struct Draws<'g> {
    guitar: &'g Guitar,
}

impl<'g> Draws<'g> {
    /// Returns the draws of `guitar` within its tolerances.
    pub fn of(guitar: &'g Guitar) -> Self {
        Self { guitar }
    }

    /// Returns the draw of this number, which does not depend on any other: each part evenly within its tolerance.
    pub fn draw(&self, number: u64) -> Guitar {
        let mut chance = ChaCha8Rng::seed_from_u64(SEED);
        chance.set_stream(number);
        let tolerances = self.guitar.tolerances();
        self.guitar.with_parts(|part| {
            let [low, high] = tolerances.range(part.kind, part.value);
            // 53 bits, as many as a double has.
            let share = (chance.next_u64() >> 11) as f64 / (1u64 << 53) as f64;
            low + (high - low) * share
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::guitar::PartKind;

    #[test]
    fn draws_lie_evenly_within_the_tolerances_and_are_the_same_every_time() {
        let guitar = Guitar::built_in("set-neck").unwrap();
        let draws = Draws::of(&guitar);
        assert_eq!(draws.draw(7), draws.draw(7));
        let all: Vec<Guitar> = (0..40).map(|number| draws.draw(number)).collect();
        for (number, one) in all.iter().enumerate() {
            assert!(!all[..number].contains(one), "draw {number} is an earlier one again");
        }
        let tolerances = guitar.tolerances();
        let (mut sums, mut squares, mut count) = (0.0, 0.0, 0.0);
        for number in 0..400 {
            let mut nominal = Vec::new();
            let _ = guitar.with_parts(|part| {
                nominal.push((part.kind, part.value));
                part.value
            });
            let mut at = 0;
            let _ = draws.draw(number).with_parts(|part| {
                let (kind, value) = nominal[at];
                at += 1;
                assert_eq!(kind, part.kind);
                let [low, high] = tolerances.range(kind, value);
                assert!((low..=high).contains(&part.value), "{part:?}");
                if kind != PartKind::Coupling {
                    let share = (part.value - low) / (high - low);
                    (sums, squares, count) = (sums + share, squares + share * share, count + 1.0);
                }
                part.value
            });
            assert_eq!(at, nominal.len());
        }
        // An even spread from 0 to 1 has mean 1/2 and variance 1/12; thrice the standard error of some 9,000 draws.
        let mean: f64 = sums / count;
        let variance = squares / count - mean * mean;
        assert!((mean - 0.5).abs() < 3.0 * (1.0 / 12.0 / count).sqrt(), "{mean}");
        assert!((variance - 1.0 / 12.0).abs() < 0.003, "{variance}");
    }
}
