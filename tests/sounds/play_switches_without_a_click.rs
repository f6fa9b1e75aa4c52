//! What is played equals the set's samples, bit for bit at 0 dB, outside of cross-fades; within them no step is larger
//! than the programme's own. Whatever block lengths the sound card asks for, the same is heard.

#![allow(clippy::unwrap_used, reason = "a test stops where its data are not as expected")]
#![allow(clippy::float_cmp, reason = "samples are compared to the last bit")]

use std::sync::Arc;

use crate::common::stored::{sine, write_set};
use drywire::play::{Command, Cue, FileLevels, Player, Remote, Start, Takes, TakesError, USUAL_TRIM};
use drywire::quantity::Db;
use drywire::set::StoredSet;

const RATE: u32 = 48_000;
/// Ten milliseconds.
const FADE: usize = 480;
const FRAMES: usize = 24_000;

/// Two takes of one source in one channel, the second lower and with its phase turned, each at two levels.
fn takes() -> Arc<Takes> {
    let folder = tempfile::tempdir().unwrap();
    let take = |amplitude: f64| vec![sine(FRAMES, RATE, 329.63, amplitude)];
    write_set(
        folder.path(),
        RATE,
        &[("series", [take(0.5), take(0.7)]), ("parallel", [take(0.45), take(-0.35)])],
    );
    Arc::new(Takes::read(&StoredSet::open(folder.path()).unwrap(), RATE).unwrap())
}

fn start(cues: &[(u64, Command)]) -> Start {
    Start {
        take: 0,
        levels: FileLevels::Matched,
        trim: Db::new(0.0),
        region: None,
        loops: false,
        cues: cues.iter().map(|(at, command)| Cue { at: *at, command: *command }).collect(),
    }
}

/// What a player of one channel gives in `frames` frames, asked for in blocks of `block`.
fn heard(player: &mut Player, frames: usize, block: usize) -> Vec<f32> {
    let mut out = vec![f32::NAN; frames];
    out.chunks_mut(block).for_each(|chunk| player.fill(chunk, 1));
    assert!(out.iter().all(|x| x.is_finite()));
    out
}

fn played(start: Start, frames: usize) -> (Vec<f32>, Remote) {
    let (mut player, remote) = Player::new(takes(), start);
    (heard(&mut player, frames, 512), remote)
}

fn largest_step(samples: &[f32]) -> f32 {
    samples.windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f32::max)
}

/// The largest step between samples of any take, and the largest distance between two that are faded.
fn bound(takes: &Takes) -> f32 {
    let all =
        [(0, FileLevels::Matched), (0, FileLevels::AsIs), (1, FileLevels::Matched), (1, FileLevels::AsIs)];
    let steps = all.map(|(take, levels)| largest_step(takes.samples(take, levels)));
    steps.into_iter().fold(0.0, f32::max)
}

#[test]
fn at_0_db_every_sample_is_the_files_and_silence_follows() {
    let takes = takes();
    for (take, levels) in [(0, FileLevels::Matched), (1, FileLevels::Matched), (1, FileLevels::AsIs)] {
        let (out, remote) = played(Start { take, levels, ..start(&[]) }, FRAMES + 1000);
        assert_eq!(out[..FRAMES], *takes.samples(take, levels));
        assert!(out[FRAMES..].iter().all(|x| *x == 0.0));
        assert!(remote.view().ended && !remote.view().plays);
    }
}

#[test]
fn a_switch_is_heard_after_one_linear_fade_and_nothing_else_is_changed() {
    let takes = takes();
    let (out, remote) = played(start(&[(7001, Command::Take(1))]), FRAMES);
    let (from, to) = (takes.samples(0, FileLevels::Matched), takes.samples(1, FileLevels::Matched));
    assert_eq!(out[..7001], from[..7001]);
    assert_eq!(out[7001 + FADE..], to[7001 + FADE..]);
    for n in 0..FADE {
        let weight = n as f32 / FADE as f32;
        let wanted = from[7001 + n] * (1.0 - weight) + to[7001 + n] * weight;
        assert!((out[7001 + n] - wanted).abs() < 1e-7, "frame {n} of the fade");
    }
    assert_eq!(remote.view().take, 1);
}

#[test]
fn no_step_is_larger_than_the_programmes_own_whatever_is_pressed() {
    let takes = takes();
    let all = [
        Command::Take(1),
        Command::SwitchLevels,
        Command::TrimBy(Db::new(-20.0)),
        Command::Seek(11_000),
        Command::SeekBy(-6000),
        Command::PauseOrPlay,
        Command::PauseOrPlay,
        Command::LoopToHere,
        Command::TrimBy(Db::new(40.0)),
        Command::Take(0),
        Command::LoopFromHere,
        Command::LoopAll,
        Command::SwitchLevels,
        Command::SwitchLoop,
        Command::Stop,
    ];
    // Each alone and well apart, then so quickly that each comes within the fade of the one before.
    for apart in [1201, 900, 333, 97, 1] {
        let cues: Vec<(u64, Command)> =
            all.iter().enumerate().map(|(i, c)| (1000 + i as u64 * apart, *c)).collect();
        let (out, remote) = played(start(&cues), FRAMES + 4000);
        // A fade adds the distance between two takes, spread over its frames.
        let allowed = bound(&takes) + 1.4 / FADE as f32;
        assert!(largest_step(&out) <= allowed, "{apart} apart: {} of {allowed}", largest_step(&out));
        assert!(remote.view().ended);
        assert!(remote.view().trim <= Db::new(0.0), "never above the level of the files");
    }
}

#[test]
fn the_cross_fade_of_a_real_programme_has_no_step_larger_than_its_own() {
    let folder = tempfile::tempdir().unwrap();
    let set =
        crate::common::program::Set::heard(folder.path(), &["--arrangements", "series,parallel,split-b"]);
    let takes = Arc::new(Takes::read(&StoredSet::open(&set.folder).unwrap(), RATE).unwrap());
    // Sixty switches, levels among them, spread over the take.
    let cues: Vec<(u64, Command)> = (0u8..60)
        .map(|i| {
            let command = if i % 4 == 3 { Command::SwitchLevels } else { Command::Take(usize::from(i) % 3) };
            (2000 + u64::from(i) * 2111, command)
        })
        .collect();
    let (mut player, _) = Player::new(Arc::clone(&takes), start(&cues));
    let out = heard(&mut player, takes.frames(), 1024);
    let each = (0..3)
        .flat_map(|t| [FileLevels::Matched, FileLevels::AsIs].map(|l| largest_step(takes.samples(t, l))));
    let own = each.fold(0.0, f32::max);
    assert!(largest_step(&out) <= own, "{} where the takes have {own}", largest_step(&out));
}

#[test]
fn a_switch_within_a_fade_waits_for_its_end() {
    let takes = takes();
    let cues = [(5000, Command::Take(1)), (5100, Command::SwitchLevels), (5200, Command::Take(0))];
    let (out, _) = played(start(&cues), FRAMES);
    let (from, last) = (takes.samples(0, FileLevels::Matched), takes.samples(0, FileLevels::AsIs));
    // The first fade is whole, and the second goes at once to what was asked for last.
    let middle = takes.samples(1, FileLevels::Matched);
    for n in 0..FADE {
        let weight = n as f32 / FADE as f32;
        let first = from[5000 + n] * (1.0 - weight) + middle[5000 + n] * weight;
        assert!((out[5000 + n] - first).abs() < 1e-7, "frame {n} of the first fade");
        let at = 5000 + FADE + n;
        let second = middle[at] * (1.0 - weight) + last[at] * weight;
        assert!((out[at] - second).abs() < 1e-7, "frame {n} of the second fade");
    }
    assert_eq!(out[5000 + 2 * FADE..], last[5000 + 2 * FADE..]);
}

#[test]
fn what_is_heard_does_not_depend_on_how_blocks_are_cut() {
    let cues = [
        (1003, Command::Take(1)),
        (1200, Command::Seek(300)),
        (4000, Command::SwitchLevels),
        (9000, Command::LoopToHere),
        (21_000, Command::PauseOrPlay),
        (22_000, Command::PauseOrPlay),
    ];
    let whole = heard(&mut Player::new(takes(), start(&cues)).0, 40_000, 40_000);
    for block in [1, 7, 479, 512, 1024, 4099] {
        assert!(
            heard(&mut Player::new(takes(), start(&cues)).0, 40_000, block) == whole,
            "blocks of {block}"
        );
    }
}

#[test]
fn a_loop_over_all_comes_round_exactly_and_fades_out_at_its_end() {
    let takes = takes();
    let (out, remote) = played(Start { loops: true, ..start(&[]) }, 3 * FRAMES);
    let own = takes.samples(0, FileLevels::Matched);
    for round in 0..3 {
        let this = &out[round * FRAMES..(round + 1) * FRAMES];
        assert_eq!(this[..FRAMES - FADE], own[..FRAMES - FADE], "round {round}");
        let fade = &this[FRAMES - FADE..];
        assert!(fade[FADE - 10..].iter().all(|x| x.abs() < 0.02), "round {round}");
    }
    assert!(!remote.view().ended);
}

#[test]
fn a_loops_length_is_what_was_asked_for_and_its_seam_is_a_fade() {
    let takes = takes();
    let region = 6000..15_000;
    let (out, remote) = played(Start { loops: true, region: Some(region.clone()), ..start(&[]) }, 40_000);
    let own = takes.samples(0, FileLevels::Matched);
    assert_eq!(remote.view().region, region);
    // It begins where the loop does and comes round every 9000 frames.
    assert_eq!(out[FADE..9000], own[6000 + FADE..15_000]);
    for round in 1..4 {
        let at = round * 9000;
        assert_eq!(out[at + FADE..at + 9000], own[6000 + FADE..15_000], "round {round}");
        let first = out[at];
        assert_eq!(first, own[15_000], "a fade begins with what would have come next");
    }
}

#[test]
fn a_pause_holds_the_place_and_going_on_begins_there() {
    let takes = takes();
    let cues = [(5000, Command::PauseOrPlay), (9000, Command::PauseOrPlay)];
    let (out, _) = played(start(&cues), 20_000);
    let own = takes.samples(0, FileLevels::Matched);
    assert!(out[5000 + FADE..=9000].iter().all(|x| *x == 0.0));
    assert_eq!(out[9000 + FADE..], own[5000 + FADE..16_000]);
}

#[test]
fn after_the_end_it_can_be_played_again() {
    let takes = takes();
    let (mut player, remote) = Player::new(Arc::clone(&takes), start(&[]));
    heard(&mut player, FRAMES + 100, 512);
    assert!(player.has_ended());
    remote.send(Command::PauseOrPlay);
    let out = heard(&mut player, 2000, 512);
    assert!(!remote.view().ended && remote.view().plays);
    assert_eq!(out[FADE..], takes.samples(0, FileLevels::Matched)[FADE..2000]);
}

#[test]
fn the_trim_is_exact_and_begins_low() {
    assert_eq!(USUAL_TRIM, Db::new(-20.0));
    let takes = takes();
    let (out, _) = played(Start { trim: USUAL_TRIM, ..start(&[]) }, FRAMES);
    for (is, own) in out.iter().zip(takes.samples(0, FileLevels::Matched)) {
        assert!((is - own * 0.1).abs() < 1e-8);
    }
    for wild in [f64::NAN, f64::INFINITY, 12.0] {
        let (out, _) = played(Start { trim: Db::new(wild), ..start(&[]) }, FRAMES);
        let loudest = |x: &[f32]| x.iter().fold(0.0f32, |a, b| a.max(b.abs()));
        assert!(loudest(&out) <= loudest(takes.samples(0, FileLevels::Matched)), "{wild}");
    }
}

#[test]
fn a_remote_never_blocks_even_where_nobody_listens() {
    let (player, remote) = Player::new(takes(), start(&[]));
    (0..1000).for_each(|_| remote.send(Command::SwitchLevels));
    drop(player);
    remote.send(Command::Stop);
    assert_eq!(remote.view().position, 0);
}

#[test]
fn channels_go_where_the_sound_card_has_them() {
    let folder = tempfile::tempdir().unwrap();
    let stereo = || vec![sine(FRAMES, RATE, 220.0, 0.5), sine(FRAMES, RATE, 330.0, 0.25)];
    write_set(folder.path(), RATE, &[("series", [stereo(), stereo()])]);
    let two = Arc::new(Takes::read(&StoredSet::open(folder.path()).unwrap(), RATE).unwrap());
    let fill = |takes: Arc<Takes>, channels: usize| {
        let mut out = vec![f32::NAN; 100 * channels];
        Player::new(takes, start(&[])).0.fill(&mut out, channels);
        out
    };
    let (left, right) = (
        |n: usize| two.samples(0, FileLevels::Matched)[2 * n],
        |n: usize| two.samples(0, FileLevels::Matched)[2 * n + 1],
    );
    for n in 0..100 {
        let frame = |out: &[f32], channels: usize| out[n * channels..(n + 1) * channels].to_vec();
        assert_eq!(frame(&fill(Arc::clone(&two), 2), 2), [left(n), right(n)]);
        assert_eq!(frame(&fill(Arc::clone(&two), 1), 1), [f32::midpoint(left(n), right(n))]);
        assert_eq!(frame(&fill(Arc::clone(&two), 4), 4), [left(n), right(n), 0.0, 0.0]);
        let own = takes().samples(0, FileLevels::Matched)[n];
        assert_eq!(frame(&fill(takes(), 3), 3), [own, own, 0.0]);
    }
}

#[test]
fn a_set_is_brought_to_another_rate_whole_and_with_its_takes_in_line() {
    let folder = tempfile::tempdir().unwrap();
    let take = |amplitude: f64| vec![sine(FRAMES, RATE, 329.63, amplitude)];
    write_set(
        folder.path(),
        RATE,
        &[("series", [take(0.5), take(0.25)]), ("parallel", [take(0.5), take(-0.5)])],
    );
    let takes = Takes::read(&StoredSet::open(folder.path()).unwrap(), 44_100).unwrap();
    assert_eq!((takes.rate_hz(), takes.frames(), takes.channels()), (44_100, FRAMES * 441 / 480, 1));
    assert_eq!(takes.names(), ["series", "parallel"]);
    let [own, half, same, turned] = [
        takes.samples(0, FileLevels::Matched),
        takes.samples(0, FileLevels::AsIs),
        takes.samples(1, FileLevels::Matched),
        takes.samples(1, FileLevels::AsIs),
    ];
    assert_eq!(own, same);
    for ((own, half), turned) in own.iter().zip(half).zip(turned) {
        assert!((own * 0.5 - half).abs() < 1e-6 && (own + turned).abs() < 1e-6);
    }
}

#[test]
fn a_set_too_long_for_memory_is_refused_before_it_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let short = || vec![sine(400, 8000, 220.0, 0.5)];
    write_set(folder.path(), 8000, &[("series", [short(), short()])]);
    // A file of zeros in no room of the disk, with a header that states its length.
    let frames = 300_000_000u32;
    for place in ["matched", "as-is"] {
        let mut header: Vec<u8> = b"RIFF".to_vec();
        header.extend((36 + frames * 2).to_le_bytes());
        header.extend(b"WAVEfmt \x10\0\0\0\x01\0\x01\0\x40\x1f\0\0\x80\x3e\0\0\x02\0\x10\0data");
        header.extend((frames * 2).to_le_bytes());
        let path = folder.path().join(place).join("series.wav");
        std::fs::write(&path, header).unwrap();
        let file = std::fs::OpenOptions::new().write(true).open(&path).unwrap();
        file.set_len(44 + u64::from(frames) * 2).unwrap();
    }
    let set = StoredSet::open(folder.path()).unwrap();
    let error = Takes::read(&set, 8000).unwrap_err();
    assert!(matches!(error, TakesError::TooLarge { samples: 600_000_000, rate_hz: 8000 }), "{error}");
    assert!(error.hint().contains("listen.html"));
}
