//! SHA-256 of two files that are written side by side.
//!
//! Each step of SHA-256 waits for the one before it; the steps of another file fit between. Where a processor has
//! instructions for SHA-256, both files' instructions therefore alternate, and two files take little more time than one.
//! All else is left to the library.
//!
//! # Source
//! NIST, FIPS 180-4, *Secure Hash Standard*, 2015, §5.1.1, §5.3.3 and §6.2.

use std::io::{self, Read};

use sha2::block_api::compress256;

use super::Digest;

/// The bytes read at once.
const AT_ONCE: u64 = 64 * 1024;

/// The bytes that SHA-256 takes in one step.
const STEP: usize = 64;
/// The bytes of the stated length at the end of the last step.
const LENGTH: usize = 8;
/// The state before the first step, §5.3.3.
const START: State =
    [0x6a09e667, 0xbb67ae85, 0x3c6ef372, 0xa54ff53a, 0x510e527f, 0x9b05688c, 0x1f83d9ab, 0x5be0cd19];

type State = [u32; 8];

/// The digests of two files that are written side by side.
#[derive(Debug, Clone)]
pub struct Digests {
    states: [State; 2],
    rests: [Rest; 2],
}

/// What was added to a file and fills no step yet.
#[derive(Debug, Clone, Default)]
struct Rest {
    bytes: Vec<u8>,
    /// The size of the file so far.
    length: u64,
}

impl Digests {
    /// Returns the digests of files in which nothing stands yet.
    pub fn new() -> Self {
        Self { states: [START; 2], rests: [Rest::default(), Rest::default()] }
    }

    /// Adds what comes next in each file.
    pub fn add(&mut self, next: [&[u8]; 2]) {
        let [one, other] = &mut self.states;
        let [of_one, of_other] = &mut self.rests;
        let one = of_one.add(next[0], one);
        let other = of_other.add(next[1], other);
        let together = one.len().min(other.len());
        let ((one, one_alone), (other, other_alone)) = (one.split_at(together), other.split_at(together));
        compress(&mut self.states, one, other);
        for (state, alone) in self.states.iter_mut().zip([one_alone, other_alone]) {
            compress256(state, alone);
        }
    }

    /// Returns the digests of all that two `readers` give.
    ///
    /// # Errors
    /// What the system says where one of them cannot be read.
    pub fn of_all(mut readers: [impl Read; 2]) -> io::Result<[Digest; 2]> {
        let mut digests = Self::new();
        let mut bytes = [Vec::new(), Vec::new()];
        loop {
            for (bytes, reader) in bytes.iter_mut().zip(&mut readers) {
                bytes.clear();
                reader.take(AT_ONCE).read_to_end(bytes)?;
            }
            if bytes.iter().all(Vec::is_empty) {
                return Ok(digests.finish());
            }
            digests.add(bytes.each_ref().map(Vec::as_slice));
        }
    }

    /// Returns the digests of all that was added.
    pub fn finish(self) -> [Digest; 2] {
        let [one, other] = self.states;
        let [of_one, of_other] = self.rests;
        [of_one.finish(one), of_other.finish(other)]
    }
}

impl Default for Digests {
    fn default() -> Self {
        Self::new()
    }
}

impl Rest {
    /// Takes in the next `bytes` of a file and returns the whole steps among them that follow what is in its `state` then.
    fn add<'b>(&mut self, bytes: &'b [u8], state: &mut State) -> &'b [[u8; STEP]] {
        self.length += bytes.len() as u64;
        let missing = self.bytes.len().next_multiple_of(STEP) - self.bytes.len();
        let (first, bytes) = bytes.split_at(missing.min(bytes.len()));
        self.bytes.extend_from_slice(first);
        self.compress_whole(state);
        let (steps, left) = bytes.as_chunks();
        self.bytes.extend_from_slice(left);
        steps
    }

    /// Takes the steps that are whole into `state`.
    fn compress_whole(&mut self, state: &mut State) {
        let (steps, left) = self.bytes.as_chunks();
        compress256(state, steps);
        let whole = self.bytes.len() - left.len();
        self.bytes.drain(..whole);
    }

    /// Returns the digest of a file that ends here, of which `state` has all but this.
    fn finish(mut self, mut state: State) -> Digest {
        self.bytes.push(0x80);
        let padded = (self.bytes.len() + LENGTH).next_multiple_of(STEP);
        self.bytes.resize(padded - LENGTH, 0);
        self.bytes.extend((8 * self.length).to_be_bytes());
        self.compress_whole(&mut state);
        Digest::of_state(state)
    }
}

/// Takes the next steps of two files, as many of either, into their states.
fn compress(states: &mut [State; 2], one: &[[u8; STEP]], other: &[[u8; STEP]]) {
    #[cfg(target_arch = "x86_64")]
    if let Some(avx512) = fearless_simd::Level::new().as_avx512() {
        return alternating::compress(avx512, states, one, other);
    }
    compress_in_turn(states, one, other);
}

/// Does the same by the library, a step at a time: a processor goes on with the other file's step as far as it looks ahead.
fn compress_in_turn(states: &mut [State; 2], one: &[[u8; STEP]], other: &[[u8; STEP]]) {
    let [of_one, of_other] = states;
    for (one, other) in one.iter().zip(other) {
        compress256(of_one, std::slice::from_ref(one));
        compress256(of_other, std::slice::from_ref(other));
    }
}

#[cfg(target_arch = "x86_64")]
mod alternating {
    //! The instructions that processors with AVX-512 have for SHA-256, two files' in turn.

    use std::arch::x86_64::{
        __m128i, _mm_add_epi32, _mm_alignr_epi8, _mm_extract_epi32, _mm_set_epi32, _mm_sha256msg1_epu32,
        _mm_sha256msg2_epu32, _mm_sha256rnds2_epu32, _mm_shuffle_epi32,
    };
    use std::array;

    use super::{STEP, State};

    /// The constants Kₜ of the rounds, §4.2.2.
    const ROUNDS: [u32; 64] = [
        0x428a2f98, 0x71374491, 0xb5c0fbcf, 0xe9b5dba5, 0x3956c25b, 0x59f111f1, 0x923f82a4, 0xab1c5ed5,
        0xd807aa98, 0x12835b01, 0x243185be, 0x550c7dc3, 0x72be5d74, 0x80deb1fe, 0x9bdc06a7, 0xc19bf174,
        0xe49b69c1, 0xefbe4786, 0x0fc19dc6, 0x240ca1cc, 0x2de92c6f, 0x4a7484aa, 0x5cb0a9dc, 0x76f988da,
        0x983e5152, 0xa831c66d, 0xb00327c8, 0xbf597fc7, 0xc6e00bf3, 0xd5a79147, 0x06ca6351, 0x14292967,
        0x27b70a85, 0x2e1b2138, 0x4d2c6dfc, 0x53380d13, 0x650a7354, 0x766a0abb, 0x81c2c92e, 0x92722c85,
        0xa2bfe8a1, 0xa81a664b, 0xc24b8b70, 0xc76c51a3, 0xd192e819, 0xd6990624, 0xf40e3585, 0x106aa070,
        0x19a4c116, 0x1e376c08, 0x2748774c, 0x34b0bcb5, 0x391c0cb3, 0x4ed8aa4a, 0x5b9cca4f, 0x682e6ff3,
        0x748f82ee, 0x78a5636f, 0x84c87814, 0x8cc70208, 0x90befffa, 0xa4506ceb, 0xbef9a3f7, 0xc67178f2,
    ];

    fearless_simd::kernel!(
        /// Takes the next steps of two files, as many of either, into their states.
        pub(super) fn compress(
            avx512: Avx512,
            states: &mut [State; 2],
            one: &[[u8; STEP]],
            other: &[[u8; STEP]],
        ) {
            // That it is there says that the processor has the instructions.
            let _ = avx512;
            let vector = |words: [u32; 4]| {
                let [a, b, c, d] = words.map(u32::cast_signed);
                _mm_set_epi32(d, c, b, a)
            };
            let words = |v: __m128i| {
                let words = [
                    _mm_extract_epi32(v, 0),
                    _mm_extract_epi32(v, 1),
                    _mm_extract_epi32(v, 2),
                    _mm_extract_epi32(v, 3),
                ];
                words.map(i32::cast_unsigned)
            };
            let quarter = |bytes: &[u8; STEP / 4]| {
                let (words, _) = bytes.as_chunks();
                vector(array::from_fn(|i| u32::from_be_bytes(words[i])))
            };
            // The instruction for two rounds takes the state in these halves.
            let halves_of = |[a, b, c, d, e, f, g, h]: State| [vector([f, e, b, a]), vector([h, g, d, c])];
            let mut halves = states.map(halves_of);
            for (one, other) in one.iter().zip(other) {
                let before = halves;
                let quarters = [one, other].map(|step| step.as_chunks().0);
                // The last sixteen words Wₜ of either file.
                let mut schedule = [[vector([0; 4]); 4]; 2];
                for (turn, rounds) in ROUNDS.as_chunks::<16>().0.iter().enumerate() {
                    for (i, rounds) in rounds.as_chunks::<4>().0.iter().enumerate() {
                        for (w, quarters) in schedule.iter_mut().zip(quarters) {
                            w[i] = if turn == 0 {
                                quarter(&quarters[i])
                            } else {
                                let [next, third, last] = [w[(i + 1) % 4], w[(i + 2) % 4], w[(i + 3) % 4]];
                                let seven_before = _mm_alignr_epi8(last, third, 4);
                                _mm_sha256msg2_epu32(
                                    _mm_add_epi32(_mm_sha256msg1_epu32(w[i], next), seven_before),
                                    last,
                                )
                            };
                        }
                        let sums = schedule.map(|w| _mm_add_epi32(w[i], vector(*rounds)));
                        for ([abef, cdgh], sum) in halves.iter_mut().zip(sums) {
                            *cdgh = _mm_sha256rnds2_epu32(*cdgh, *abef, sum);
                        }
                        for ([abef, cdgh], sum) in halves.iter_mut().zip(sums) {
                            *abef = _mm_sha256rnds2_epu32(*abef, *cdgh, _mm_shuffle_epi32(sum, 0x0E));
                        }
                    }
                }
                for (half, before) in halves.iter_mut().flatten().zip(before.as_flattened()) {
                    *half = _mm_add_epi32(*half, *before);
                }
            }
            *states = halves.map(|[abef, cdgh]| {
                let ([f, e, b, a], [h, g, d, c]) = (words(abef), words(cdgh));
                [a, b, c, d, e, f, g, h]
            });
        }
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text() -> Vec<u8> {
        (0..5000u32).map(|i| u8::try_from(i * 7 % 251).unwrap()).collect()
    }

    #[test]
    fn files_side_by_side_have_the_digests_that_each_has_alone() {
        let text = text();
        let mut both = Digests::new();
        let (mut one, mut other) = (0, 0);
        // Lengths that end within a step, at one, and that differ.
        for (a, b) in [(64, 64), (1, 63), (3, 0), (130, 129), (0, 200), (300, 7), (1024, 2048), (990, 10)] {
            both.add([&text[one..one + a], &text[other..other + b]]);
            (one, other) = (one + a, other + b);
        }
        assert_eq!(both.finish(), [Digest::of(&text[..one]), Digest::of(&text[..other])]);
    }

    #[test]
    fn readers_that_end_at_different_places_have_the_digests_that_each_has_alone() {
        let text = text();
        let long = text.repeat(30);
        let both = Digests::of_all([&long[..], &text[..]]).unwrap();
        assert_eq!(both, [Digest::of(&long), Digest::of(&text)]);
        assert_eq!(Digests::of_all([&[][..], &[][..]]).unwrap(), [Digest::of(b""); 2]);
    }

    #[test]
    fn the_processors_own_instructions_and_the_library_take_steps_alike() {
        let text = text();
        let (steps, _) = text.as_chunks();
        let (one, other) = (&steps[..20], &steps[30..50]);
        let (mut found, mut expected) = ([START, [7; 8]], [START, [7; 8]]);
        compress(&mut found, one, other);
        compress_in_turn(&mut expected, one, other);
        assert_eq!(found, expected);
    }

    #[test]
    fn a_file_of_any_length_ends_as_the_standard_has_it() {
        let text = text();
        for length in 0..300 {
            let (one, other) = (&text[..length], &text[length..3 * length]);
            let mut both = Digests::new();
            both.add([one, other]);
            assert_eq!(both.finish(), [Digest::of(one), Digest::of(other)], "{length}");
        }
    }
}
