//! How often chance alone makes a sum of squares so large.

/// Returns the probability that a chi-squared variable of so many degrees of freedom is above `value`.
///
/// # Source
/// M. Abramowitz, I. A. Stegun, *Handbook of Mathematical Functions*, 1964: 26.4.19, the incomplete gamma function's series 6.5.29
/// below the middle and its continued fraction 6.5.31 above.
pub(super) fn above(value: f64, degrees: usize) -> f64 {
    const TERMS: u32 = 500;
    let (a, x) = (0.5 * degrees as f64, 0.5 * value);
    if x <= 0.0 || degrees == 0 {
        return 1.0;
    }
    let scale = (a * x.ln() - x - ln_gamma_of_half(degrees)).exp();
    if x < a + 1.0 {
        let (mut term, mut sum) = (1.0 / a, 1.0 / a);
        for n in 1..=TERMS {
            term *= x / (a + f64::from(n));
            sum += term;
        }
        (1.0 - scale * sum).clamp(0.0, 1.0)
    } else {
        // From the innermost of the fraction outwards.
        let mut fraction = 0.0;
        for n in (1..=TERMS).rev().map(f64::from) {
            fraction = n * (n - a) / (x + 2.0 * n + 1.0 - a - fraction);
        }
        (scale / (x + 1.0 - a - fraction)).clamp(0.0, 1.0)
    }
}

/// Returns ln Γ(count/2), from Γ(1/2) = √π and Γ(1) = 1 upwards.
fn ln_gamma_of_half(count: usize) -> f64 {
    let (mut at, mut sum) =
        if count.is_multiple_of(2) { (1.0, 0.0) } else { (0.5, 0.5 * std::f64::consts::PI.ln()) };
    while at < 0.5 * count as f64 - 0.25 {
        sum += f64::ln(at);
        at += 1.0;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::above;

    /// The upper quantiles of the tables: Abramowitz and Stegun, table 26.8.
    #[test]
    fn the_tables_quantiles_have_their_probabilities() {
        for (value, degrees, probability) in [
            (3.841_459, 1, 0.05),
            (0.454_937, 1, 0.5),
            (5.991_465, 2, 0.05),
            (18.307_04, 10, 0.05),
            (38.932_17, 21, 0.01),
            (8.897_20, 21, 0.99),
            (46.796_99, 21, 0.001),
        ] {
            let found = above(value, degrees);
            assert!((found / probability - 1.0).abs() < 1e-4, "{found} for {probability}");
        }
        assert_eq!(above(0.0, 3), 1.0);
        assert!(above(3000.0, 21) < 1e-100);
    }
}
