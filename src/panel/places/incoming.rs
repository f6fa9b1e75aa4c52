//! A recording while it comes in: the pieces of it that a window sends, each as soon as it was recorded.
//!
//! They are for looking at and counting, and nothing of them is kept: the recording itself is sent once it has ended.

use std::sync::{Mutex, PoisonError};

use serde::Deserialize;

use super::hear::in_words;
use crate::panel::guitars::FolderName;

/// The most channels of a sound card's input that a browser gives.
const CHANNELS: usize = 8;

/// What a piece is of: which recording, its rate and channels, and the number of the piece's first frame.
#[derive(Debug, Clone, Deserialize)]
pub(super) struct Piece {
    run: String,
    pub(super) rate: u32,
    pub(super) channels: usize,
    from: usize,
}

/// What the last recording has come to.
#[derive(Debug)]
pub(crate) struct Incoming<T>(Mutex<Option<Running<T>>>);

#[derive(Debug)]
struct Running<T> {
    of: FolderName,
    run: String,
    frames: usize,
    come_to: T,
}

impl<T> Default for Incoming<T> {
    fn default() -> Self {
        Self(Mutex::default())
    }
}

impl Piece {
    /// Returns the samples of `bytes`: floats, little-endian, a plane a channel.
    fn planes(&self, bytes: &[u8]) -> Result<Vec<Vec<f64>>, String> {
        const FLOAT: usize = size_of::<f32>();
        let wrong = |what: &str| in_words(&format!("the piece of the recording {what}"), "record again");
        if !(1..=CHANNELS).contains(&self.channels) {
            return Err(wrong(&format!("has {} channels; allowed are 1 to {CHANNELS}", self.channels)));
        }
        if !bytes.len().is_multiple_of(FLOAT * self.channels) {
            return Err(wrong("does not have as many samples in each channel"));
        }
        let (floats, _) = bytes.as_chunks::<FLOAT>();
        let samples: Vec<f64> = floats.iter().map(|float| f64::from(f32::from_le_bytes(*float))).collect();
        if samples.iter().any(|sample| !sample.is_finite()) {
            return Err(wrong("has a sample that is no number"));
        }
        let frames = samples.len() / self.channels;
        Ok(if frames == 0 {
            vec![Vec::new(); self.channels]
        } else {
            samples.chunks(frames).map(<[f64]>::to_vec).collect()
        })
    }
}

impl<T> Incoming<T> {
    /// Adds a piece of a recording of a guitar, and returns what is told of all that has come in of it. What `begin` makes is the
    /// recording before anything came in; another one that was running ends.
    pub(super) fn add<A>(
        &self,
        of: &FolderName,
        piece: &Piece,
        bytes: &[u8],
        begin: impl FnOnce() -> Result<T, String>,
        tell: impl FnOnce(&mut T, Vec<Vec<f64>>) -> Result<A, String>,
    ) -> Result<A, String> {
        let planes = piece.planes(bytes)?;
        let mut running = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if piece.from == 0 {
            *running = Some(Running { of: of.clone(), run: piece.run.clone(), frames: 0, come_to: begin()? });
        }
        let own =
            running.as_mut().filter(|own| (&own.of, &own.run, own.frames) == (of, &piece.run, piece.from));
        let own = own.ok_or_else(|| {
            in_words(
                "another recording has begun meanwhile",
                "look whether a second window records too; this one goes on",
            )
        })?;
        own.frames += planes.first().map_or(0, Vec::len);
        let told = tell(&mut own.come_to, planes);
        // What tells nothing any more is not held on to.
        if told.is_err() {
            *running = None;
        }
        told
    }

    /// Ends the recording of a guitar that was running, once its take is there.
    pub(super) fn end(&self, of: &FolderName) {
        let mut running = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if running.as_ref().is_some_and(|own| own.of == *of) {
            *running = None;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn piece(run: &str, channels: usize, from: usize) -> Piece {
        Piece { run: run.to_owned(), rate: 48_000, channels, from }
    }

    fn bytes(samples: &[f32]) -> Vec<u8> {
        samples.iter().flat_map(|sample| sample.to_le_bytes()).collect()
    }

    #[test]
    fn pieces_of_one_recording_follow_one_another_and_another_one_ends_it() {
        let (own, other) = (FolderName::for_guitar("mine"), FolderName::for_guitar("other"));
        let incoming: Incoming<Vec<f64>> = Incoming::default();
        let add = |of: &FolderName, piece: &Piece, samples: &[f32]| {
            incoming.add(
                of,
                piece,
                &bytes(samples),
                || Ok(Vec::new()),
                |all, planes| {
                    all.extend(&planes[planes.len() - 1]);
                    Ok(all.clone())
                },
            )
        };
        assert_eq!(add(&own, &piece("a", 2, 0), &[1.0, 2.0, 3.0, 4.0]).unwrap(), [3.0, 4.0]);
        assert_eq!(add(&own, &piece("a", 2, 2), &[5.0, 6.0]).unwrap(), [3.0, 4.0, 6.0]);
        for (of, wrong) in [(&own, piece("a", 2, 2)), (&own, piece("b", 2, 3)), (&other, piece("a", 2, 3))] {
            let refused = add(of, &wrong, &[7.0, 8.0]).unwrap_err();
            assert!(refused.contains("another recording has begun"), "{refused}");
        }
        assert_eq!(add(&other, &piece("b", 1, 0), &[9.0]).unwrap(), [9.0]);
        assert!(add(&own, &piece("a", 2, 3), &[7.0, 8.0]).is_err());
        assert_eq!(add(&other, &piece("b", 1, 1), &[]).unwrap(), [9.0]);
        incoming.end(&own);
        assert_eq!(add(&other, &piece("b", 1, 1), &[8.0]).unwrap(), [9.0, 8.0]);
        incoming.end(&other);
        assert!(add(&other, &piece("b", 1, 2), &[7.0]).is_err(), "it has ended");
        assert!(add(&other, &piece("c", 1, 0), &[6.0]).is_ok());
        let none = |_: &mut Vec<f64>, _| Err::<(), String>("too long".to_owned());
        let refused = incoming.add(&other, &piece("c", 1, 1), &bytes(&[5.0]), || Ok(Vec::new()), none);
        assert_eq!(refused.unwrap_err(), "too long");
        assert!(add(&other, &piece("c", 1, 2), &[4.0]).is_err(), "what was refused has ended");
    }

    #[test]
    fn a_piece_that_is_none_is_refused_in_words() {
        for (channels, sent, words) in [
            (0, &[1.0][..], "has 0 channels; allowed are 1 to 8"),
            (2, &[1.0, 2.0, 3.0], "as many samples in each channel"),
            (1, &[1.0, f32::NAN], "no number"),
        ] {
            let refused = piece("a", channels, 0).planes(&bytes(sent)).unwrap_err();
            assert!(refused.contains(words), "{refused}");
        }
    }
}
