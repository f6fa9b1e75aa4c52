//! What only the person's own browser knows.

use std::fmt;

/// 128 bits by chance, as 32 hexadecimal digits.
#[derive(Clone, PartialEq, Eq)]
pub(crate) struct Secret(String);

impl Secret {
    /// Draws one.
    pub(crate) fn draw() -> std::io::Result<Self> {
        let mut bytes = [0u8; 16];
        getrandom::fill(&mut bytes).map_err(|error| std::io::Error::other(error.to_string()))?;
        Ok(Self(format!("{:032x}", u128::from_be_bytes(bytes))))
    }

    pub(crate) fn as_str(&self) -> &str {
        &self.0
    }

    /// Returns whether `given` is the secret, in a time that does not tell how much of it is right.
    pub(crate) fn is(&self, given: &str) -> bool {
        let (own, given) = (self.0.as_bytes(), given.as_bytes());
        own.len() == given.len() && own.iter().zip(given).fold(0, |wrong, (a, b)| wrong | (a ^ b)) == 0
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn secrets_differ_and_are_known_again() {
        let [one, other] = [Secret::draw().unwrap(), Secret::draw().unwrap()];
        assert!(
            one != other
                && one.is(one.as_str())
                && !one.is(other.as_str())
                && !one.is("")
                && !one.is(&one.as_str()[1..])
        );
        assert_eq!(one.as_str().len(), 32);
        assert_eq!(format!("{one:?}"), "Secret");
    }
}
