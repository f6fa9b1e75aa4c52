//! The built-in sources are what the commands beside them make, within one step of 24 bits.

use std::path::Path;

use assert_cmd::Command;

/// The commands of the folder's own table, each as its words.
fn commands(readme: &str) -> Vec<Vec<String>> {
    readme
        .lines()
        .filter_map(|line| line.split_once("| `drywire ")?.1.strip_suffix("` |"))
        // A bar inside a table's cell is written `\|`.
        .map(|command| words(&command.replace("\\|", "|")))
        .collect()
}

/// Words apart by spaces, those in single quotes kept whole, as a shell reads them.
fn words(command: &str) -> Vec<String> {
    let quoted = command.split('\'').enumerate();
    quoted
        .flat_map(|(i, part)| if i % 2 == 1 { vec![part] } else { part.split_whitespace().collect() })
        .map(str::to_owned)
        .collect()
}

fn samples(path: &Path) -> (hound::WavSpec, Vec<i32>) {
    let mut reader = hound::WavReader::open(path).expect("a WAV file");
    let samples: Result<Vec<i32>, _> = reader.samples().collect();
    (reader.spec(), samples.expect("whole samples"))
}

#[test]
fn every_built_in_source_is_made_again_by_its_command() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples-synthetic");
    let made = tempfile::tempdir().expect("a folder");
    let readme = std::fs::read_to_string(folder.join("README.md")).expect("the table");
    let commands = commands(&readme);
    assert_eq!(commands.len(), 5);
    for command in &commands {
        Command::cargo_bin("drywire")
            .expect("the program")
            .args(command)
            .current_dir(&made)
            .assert()
            .success();
    }
    let mut checked = 0;
    for entry in std::fs::read_dir(&folder).expect("the folder") {
        let name = entry.expect("an entry").file_name();
        if Path::new(&name).extension().is_none_or(|e| e != "wav") {
            continue;
        }
        let (format, kept) = samples(&folder.join(&name));
        let (again, remade) = samples(&made.path().join(&name));
        assert_eq!(format, again, "{}", name.display());
        assert_eq!((format.sample_rate, format.bits_per_sample), (48_000, 24));
        assert_eq!(kept.len(), remade.len(), "{}", name.display());
        assert!(kept.iter().any(|s| s.abs() > 1 << 20), "{} is nearly silent", name.display());
        for (k, (kept, remade)) in kept.iter().zip(&remade).enumerate() {
            assert!((kept - remade).abs() <= 1, "{}, sample {k}: {kept} {remade}", name.display());
        }
        checked += 1;
    }
    assert_eq!(checked, commands.len());
}

/// They are carried in the program, and the page embeds one.
#[test]
fn every_built_in_source_is_at_most_a_megabyte_and_three_to_eight_seconds() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples-synthetic");
    for entry in std::fs::read_dir(folder).expect("the folder") {
        let path = entry.expect("an entry").path();
        if path.extension().is_some_and(|e| e == "wav") {
            let reader = hound::WavReader::open(&path).expect("a WAV file");
            let seconds = f64::from(reader.duration()) / 48_000.0;
            assert!((3.0..=8.0).contains(&seconds), "{}: {seconds} s", path.display());
            assert!(path.metadata().expect("its size").len() <= 1_000_000, "{}", path.display());
        }
    }
}
