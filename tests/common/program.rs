//! The program run as its users run it, and its sets read by an independent reader.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use serde_json::Value;

/// The program with these arguments, in `folder`, where nothing tells how wide the terminal is.
pub fn drywire(folder: &Path, arguments: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_drywire"));
    program.args(arguments).current_dir(folder).env_remove("COLUMNS").output().unwrap()
}

/// The program with these arguments, in `folder`, held to 5 s of a processor and 1 GB of memory; one that waits for
/// something that never comes is ended after half a minute. Either ends it by a signal, without an exit code.
#[cfg(unix)]
pub fn drywire_within_bounds(folder: &Path, arguments: &[&str]) -> Output {
    Command::new("sh")
        .args(["-c", "ulimit -t 5; ulimit -v 1000000; exec timeout -s KILL 30 \"$@\"", "sh"])
        .arg(env!("CARGO_BIN_EXE_drywire"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap()
}

/// Runs the program and expects it to succeed.
pub fn succeeds(folder: &Path, arguments: &[&str]) -> Output {
    let output = drywire(folder, arguments);
    let told = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {told}");
    output
}

/// A file of the repository, wherever the program runs.
pub fn repository(path: &str) -> String {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path).display().to_string()
}

/// Every file below `folder` with its bytes.
pub fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in std::fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let name = path.strip_prefix(folder).unwrap().display().to_string();
                found.insert(name, std::fs::read(&path).unwrap());
            }
        }
    }
    found
}

/// A set as `hear` wrote it.
pub struct Set {
    pub folder: PathBuf,
    pub figures: Value,
}

impl Set {
    /// Runs `hear` with these arguments and reads what it wrote.
    pub fn heard(folder: &Path, arguments: &[&str]) -> Self {
        let out = folder.join("set");
        let out_text = out.display().to_string();
        succeeds(folder, &[&["hear", "--quiet", "--out", &out_text], arguments].concat());
        Self::of(&out)
    }

    /// Reads what `hear` wrote to `folder`.
    pub fn of(folder: &Path) -> Self {
        let text = std::fs::read_to_string(folder.join("figures.json")).unwrap();
        Self { folder: folder.to_owned(), figures: serde_json::from_str(&text).unwrap() }
    }

    /// The same without its page, pictures and sones, which take longest; its sound and its other figures are the same.
    pub fn without_page(folder: &Path, arguments: &[&str]) -> Self {
        Self::heard(folder, &[arguments, &["--no-page"]].concat())
    }

    pub fn arrangements(&self) -> &[Value] {
        self.figures["arrangements"].as_array().unwrap()
    }

    pub fn arrangement(&self, name: &str) -> &Value {
        self.arrangements().iter().find(|a| a["name"] == name).unwrap()
    }

    /// The channels of a file of the set, and its rate.
    pub fn read(&self, file: &str) -> (Vec<Vec<f64>>, u32) {
        read_wav(&self.folder.join(file))
    }
}

/// The channels of a WAV file in full scales, read by hound, and the file's rate.
pub fn read_wav(path: &Path) -> (Vec<Vec<f64>>, u32) {
    let mut reader = hound::WavReader::open(path).unwrap();
    let spec = reader.spec();
    let samples: Vec<f64> = match spec.sample_format {
        hound::SampleFormat::Float => reader.samples::<f32>().map(|s| f64::from(s.unwrap())).collect(),
        hound::SampleFormat::Int => {
            let scale = f64::from(1u32 << (spec.bits_per_sample - 1));
            reader.samples::<i32>().map(|s| f64::from(s.unwrap()) / scale).collect()
        }
    };
    let channels = usize::from(spec.channels);
    let planes = (0..channels).map(|c| samples.iter().skip(c).step_by(channels).copied().collect()).collect();
    (planes, spec.sample_rate)
}

/// Writes channels as a 32-bit float WAV file, by hound.
pub fn write_wav(path: &Path, planes: &[Vec<f64>], rate: u32) {
    let spec = hound::WavSpec {
        channels: u16::try_from(planes.len()).unwrap(),
        sample_rate: rate,
        bits_per_sample: 32,
        sample_format: hound::SampleFormat::Float,
    };
    let mut writer = hound::WavWriter::create(path, spec).unwrap();
    for frame in 0..planes[0].len() {
        for plane in planes {
            #[expect(
                clippy::cast_possible_truncation,
                reason = "it is to be rounded to the precision of f32"
            )]
            writer.write_sample(plane[frame] as f32).unwrap();
        }
    }
    writer.finalize().unwrap();
}

/// The root of the mean square over all channels, in dBFS.
pub fn rms_dbfs(planes: &[Vec<f64>]) -> f64 {
    let power: f64 = planes.iter().flatten().map(|x| x * x).sum();
    10.0 * (power / planes.iter().map(Vec::len).sum::<usize>() as f64).log10()
}

/// The integrated loudness by an independent implementation of EBU R 128.
pub fn loudness_lufs(planes: &[Vec<f64>], rate: u32) -> f64 {
    meter(planes, rate).loudness_global().unwrap()
}

/// The true peak by the same.
pub fn true_peak_dbtp(planes: &[Vec<f64>], rate: u32) -> f64 {
    let meter = meter(planes, rate);
    let peaks = (0..planes.len()).map(|c| meter.true_peak(u32::try_from(c).unwrap()).unwrap());
    20.0 * peaks.fold(0.0, f64::max).log10()
}

fn meter(planes: &[Vec<f64>], rate: u32) -> ebur128::EbuR128 {
    let channels = u32::try_from(planes.len()).unwrap();
    let mut meter =
        ebur128::EbuR128::new(channels, rate, ebur128::Mode::I | ebur128::Mode::TRUE_PEAK).unwrap();
    let slices: Vec<&[f64]> = planes.iter().map(Vec::as_slice).collect();
    meter.add_frames_planar_f64(&slices).unwrap();
    meter
}
