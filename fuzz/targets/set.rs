//! The figures of a set that lies in a folder, with its sound files beside it.

use std::fs;
use std::sync::LazyLock;

use drywire::set::StoredSet;
use tempfile::TempDir;

/// A folder with the files of two arrangements; its figures are what is fuzzed.
static FOLDER: LazyLock<TempDir> = LazyLock::new(|| {
    let folder = TempDir::new().expect("a temporary folder can be made");
    for place in ["matched", "as-is"] {
        fs::create_dir(folder.path().join(place)).expect("a folder can be made");
        for name in ["series.wav", "parallel.wav"] {
            fs::write(folder.path().join(place).join(name), SOUND).expect("a file can be written");
        }
    }
    folder
});

/// A WAV file of two frames of 16 bits at 48 kHz.
const SOUND: &[u8] =
    b"RIFF\x28\0\0\0WAVEfmt \x10\0\0\0\x01\0\x01\0\x80\xBB\0\0\0\x77\x01\0\x02\0\x10\0data\x04\0\0\0\x01\0\x02\0";

/// Opens the folder with the bytes as its figures.
pub fn run(bytes: &[u8]) {
    let folder = FOLDER.path();
    fs::write(folder.join("figures.json"), bytes).expect("a file can be written");
    let Ok(set) = StoredSet::open(folder) else { return };
    assert!(!set.takes().is_empty());
    assert_eq!((set.rate_hz(), set.channels(), set.frames()), (48_000, 1, 2));
    for (place, take) in set.takes().iter().enumerate() {
        assert_eq!(set.position(&take.name), Some(place));
        for sound in [&take.matched, &take.as_is] {
            assert!(["series.wav", "parallel.wav"].contains(&sound.file_name()));
        }
    }
}
