//! Every sound file is read right, read with a warning that says what was done, or refused with a reason.

use std::path::Path;

use drywire::sound::Sound;

fn data(name: &str) -> Sound {
    Sound::open(&Path::new("tests/data/sound").join(name)).unwrap()
}
fn all(sound: &Sound) -> Vec<Vec<f64>> {
    let mut planes = vec![Vec::new(); sound.channels()];
    let mut blocks = sound.blocks(1000);
    while let Some(block) = blocks.next_block().unwrap() {
        for (p, b) in planes.iter_mut().zip(block) {
            p.extend_from_slice(b);
        }
    }
    planes
}

#[test]
fn x() {
    for n in [
        "stereo16.flac",
        "stereo24.flac",
        "stereo24.aiff",
        "mono.ogg",
        "mono.mp3",
        "decoded-mp3.wav",
        "decoded-ogg.wav",
    ] {
        let s = data(n);
        println!("{n} {} {} {} {:?}", s.description(), s.frames(), s.rate_hz(), s.warnings());
        let p = all(&s);
        println!("{:?}", &p[0][..5]);
    }
    for (a, b) in [("mono.mp3", "decoded-mp3.wav"), ("mono.ogg", "decoded-ogg.wav")] {
        let (a, b) = (all(&data(a)), all(&data(b)));
        let d = a[0].iter().zip(&b[0]).map(|(x, y)| (x - y).abs()).fold(0.0, f64::max);
        println!("{} {} {d} {}", a[0].len(), b[0].len(), d * 32768.0);
    }
    panic!();
}
