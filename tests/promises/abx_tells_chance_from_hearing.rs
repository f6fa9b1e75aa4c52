//! Of 10,000 simulated listeners who only guess, the share told that they heard a difference equals the exact
//! binomial tail for that number of trials, within sampling error.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]

use drywire::abx::{LEVEL, Run};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

const LISTENERS: u32 = 10_000;

#[test]
fn listeners_who_guess_are_told_that_they_heard_a_difference_as_often_as_the_exact_tail_says() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    for trials in [10, 12, 16, 20, 25, 30] {
        let run = Run::new(trials).unwrap();
        let heard = (0..LISTENERS)
            .filter(|_| run.is_heard((random.next_u64() >> (64 - trials)).count_ones()))
            .count();
        let (share, exact) = (heard as f64 / f64::from(LISTENERS), run.chance());
        // Four standard deviations of a share of 10,000: one false alarm in 16,000 runs.
        let error = 4.0 * (exact * (1.0 - exact) / f64::from(LISTENERS)).sqrt();
        assert!((share - exact).abs() <= error, "{trials} trials: {share} told, {exact} expected, ±{error}");
        assert!(exact <= LEVEL);
    }
}
