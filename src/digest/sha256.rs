//! The SHA-256 of files and of what is on its way to them.
//!
//! # Source
//! NIST, FIPS 180-4, *Secure Hash Standard*, 2015, §6.2.

use std::fmt;
use std::io::{self, Read};
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

/// The bytes read at once.
const AT_ONCE: usize = 64 * 1024;

/// A SHA-256, told as 64 hexadecimal digits in lower case.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Digest([u8; 32]);

/// A text that is no digest.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{given}` is no SHA-256: 64 hexadecimal digits in lower case are allowed")]
pub struct NotADigest {
    /// The text as given.
    pub given: String,
}

impl Digest {
    /// The digits of a digest's text.
    pub const DIGITS: usize = 64;

    /// Returns the digest of `bytes`.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Returns the digest of what `hash` was given.
    pub(super) fn of_hashed(hash: Sha256) -> Self {
        Self(hash.finalize().into())
    }

    /// Returns the digest whose words are the last `state`.
    pub(super) fn of_state(state: [u32; 8]) -> Self {
        let mut bytes = [0; 32];
        for (to, word) in bytes.as_chunks_mut().0.iter_mut().zip(state) {
            *to = word.to_be_bytes();
        }
        Self(bytes)
    }

    /// Returns the digest of all that `reader` gives.
    ///
    /// # Errors
    /// What the system says where it cannot be read.
    pub fn of_all(mut reader: impl Read) -> io::Result<Self> {
        let mut hash = Sha256::new();
        let mut bytes = vec![0; AT_ONCE];
        loop {
            match reader.read(&mut bytes) {
                Ok(0) => return Ok(Self::of_hashed(hash)),
                Ok(read) => hash.update(&bytes[..read]),
                Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
                Err(e) => return Err(e),
            }
        }
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl FromStr for Digest {
    type Err = NotADigest;

    fn from_str(text: &str) -> Result<Self, NotADigest> {
        let refused = || NotADigest { given: text.to_owned() };
        let is_digit = |b: &u8| matches!(b, b'0'..=b'9' | b'a'..=b'f');
        if text.len() != Self::DIGITS || !text.as_bytes().iter().all(is_digit) {
            return Err(refused());
        }
        let mut bytes = [0; 32];
        for (at, byte) in bytes.iter_mut().enumerate() {
            *byte = u8::from_str_radix(&text[2 * at..2 * at + 2], 16).map_err(|_| refused())?;
        }
        Ok(Self(bytes))
    }
}

impl TryFrom<String> for Digest {
    type Error = NotADigest;

    fn try_from(text: String) -> Result<Self, NotADigest> {
        text.parse()
    }
}

impl From<Digest> for String {
    fn from(digest: Digest) -> Self {
        digest.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The examples of FIPS 180-4's own test vectors, of one block and of two.
    const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    const TWO_BLOCKS: &str = "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1";

    #[test]
    fn a_digest_is_the_standards_and_is_read_back_from_its_text() {
        let long = b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";
        assert_eq!(Digest::of(b"abc").to_string(), ABC);
        assert_eq!(Digest::of(long).to_string(), TWO_BLOCKS);
        assert_eq!(Digest::of_all(&long[..]).unwrap(), Digest::of(long));
        assert_eq!(ABC.parse(), Ok(Digest::of(b"abc")));
        for wrong in ["", &ABC[1..], &ABC.to_uppercase(), &format!("{ABC}0"), &ABC.replace('b', "g")] {
            assert!(wrong.parse::<Digest>().is_err(), "{wrong}");
        }
        let multibyte = format!("{}é", &ABC[..62]);
        assert!(multibyte.parse::<Digest>().is_err());
    }
}
