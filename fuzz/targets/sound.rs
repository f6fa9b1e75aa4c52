//! A sound file: read twice, block by block, to the same end.

use drywire::sound::{Inspector, MAX_SAMPLE, Sound};

/// Reads the bytes as the renderer would, once refusing and once repairing what is no sample, each in two passes.
pub fn run(bytes: &[u8]) {
    let Ok(sound) = Sound::from_bytes("fuzz", bytes.to_vec()) else { return };
    for repairs in [false, true] {
        read_twice(&sound.clone().repairing(repairs), repairs);
    }
}

fn read_twice(sound: &Sound, repairs: bool) {
    let mut blocks = sound.blocks(777);
    let mut passes = Vec::new();
    for _ in 0..2 {
        let mut inspector = Inspector::new(sound);
        let (mut frames, mut checksum) = (0, 0u64);
        let end = loop {
            match blocks.next_block() {
                Ok(Some(block)) => {
                    assert_eq!(block.len(), sound.channels());
                    frames += block[0].len() as u64;
                    for plane in block {
                        assert_eq!(plane.len(), block[0].len());
                        assert!(plane.iter().all(|x| x.abs() <= MAX_SAMPLE));
                        checksum = plane.iter().fold(checksum, |sum, x| sum.rotate_left(7) ^ x.to_bits());
                    }
                    inspector.add(block);
                }
                Ok(None) => break None,
                Err(refusal) => break Some(refusal.to_string()),
            }
        };
        // What is in memory neither changes nor fails, so that only a sample can be refused.
        assert!(end.is_some() || frames == sound.frames());
        assert!(!repairs || end.is_none_or(|told| !told.contains("no sample of a sound")));
        passes.push((frames, checksum, inspector.warnings()));
        blocks.restart();
    }
    assert_eq!(passes[0], passes[1]);
}
