//! Damaged clips: what is there becomes a film, what is lost is said in frames and seconds, and nothing hangs, panics or is half written.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::*;
use std::path::Path;
use std::process::{Command, Output};

/// Seconds after which a run counts as hanging.
const PATIENCE_S: u32 = 60;

/// Runs the program, but not for ever.
fn patiently(folder: &Path, line: &str) -> Output {
    let mut command = Command::new("timeout");
    command.args(["-k", "5", &PATIENCE_S.to_string(), env!("CARGO_BIN_EXE_jumpseat")]).args(line.split_whitespace());
    let output = command.current_dir(folder).output().expect("the timeout tool is there");
    let text = said(&output);
    assert!(!matches!(output.status.code(), Some(124 | 137) | None), "{line}: hangs or was killed: {text}");
    assert!(!text.contains("panicked"), "{line}: {text}");
    output
}

/// A small generator, so that every run cuts at the same places.
fn places(seed: u64) -> impl Iterator<Item = f64> {
    let mut state = seed;
    std::iter::repeat_with(move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    })
}

/// Clips of four seconds, 120 frames with a key frame every second.
fn clips(folder: &Path) -> [(&'static str, &'static str); 4] {
    dunlin_log(folder, "dunlin.csv", 10);
    make_clip(folder, "whole.mp4", &format!("{BASE} -g 30"));
    make_clip(folder, "whole.mkv", "-i whole.mp4 -c copy");
    make_clip(folder, "whole.ts", "-i whole.mp4 -c copy");
    make_clip(folder, "pieces.mp4", "-i whole.mp4 -c copy -movflags frag_keyframe+empty_moov -frag_duration 500000");
    [("whole.mp4", "mp4"), ("whole.mkv", "mkv"), ("whole.ts", "ts"), ("pieces.mp4", "mp4")]
}

/// Cut off anywhere: an error that names the clip and the cure and leaves nothing, or a film with no more frames than there were, its loss said.
#[test]
fn a_clip_cut_off_anywhere_is_a_film_or_an_error() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    let (mut films, mut errors) = (0, 0);
    for (n, (name, ending)) in (0_u64..).zip(clips(folder)) {
        let whole = std::fs::read(folder.join(name)).expect("clip");
        for place in places(n + 1).take(13) {
            let length = (place * whole.len() as f64) as usize;
            let cut = format!("cut.{ending}");
            std::fs::write(folder.join(&cut), &whole[..length]).expect("clip");
            let output = patiently(
                folder,
                &format!("render --film {cut} --log dunlin.csv --offset 0 -o film.mp4 --speed fastest"),
            );
            let text = said(&output);
            let film = folder.join("film.mp4");
            match output.status.code() {
                Some(0) => {
                    let frames = frame_ticks(&film).len();
                    assert!((1..=120).contains(&frames), "{name} cut at {length}: {frames} frames");
                    if frames < 115 {
                        assert!(
                            text.contains("warning: cut"),
                            "{name} cut at {length}: {frames} frames and no word of it: {text}"
                        );
                    }
                    // A transport stream says nowhere how long it is; the others do.
                    if name == "whole.mkv" && frames < 100 {
                        assert!(text.contains("before what its container promises"), "{text}");
                    }
                    std::fs::remove_file(&film).expect("removed");
                    films += 1;
                }
                Some(2) => {
                    assert!(text.contains(&cut) && !film.exists(), "{name} cut at {length}: {text}");
                    errors += 1;
                }
                code => panic!("{name} cut at {length}: exit code {code:?}: {text}"),
            }
        }
    }
    assert!(films > 15 && errors > 10, "{films} films and {errors} errors: the cuts prove little");
}

/// Noise within the film: concealed, counted, said with its film time; with `--strict` nothing is kept.
#[test]
fn torn_packets_are_said_with_their_times() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    for (name, ending) in clips(folder) {
        let mut torn = std::fs::read(folder.join(name)).expect("clip");
        // From about 1.6 s on, for a while.
        let from = torn.len() * 4 / 10;
        torn[from..from + 6000].iter_mut().step_by(61).for_each(|byte| *byte ^= 0x5a);
        let clip = format!("torn_{}.{ending}", name.len());
        std::fs::write(folder.join(&clip), torn).expect("clip");
        let line = format!("render --film {clip} --log dunlin.csv --offset 0 --speed fastest");
        let output = patiently(folder, &format!("{line} -o film.mp4 --overwrite"));
        let text = said(&output);
        assert!(output.status.success(), "{name}: {text}");
        let damaged = text.lines().find(|l| l.contains("frames are damaged") || l.contains("packets are damaged"));
        let damaged = damaged.unwrap_or_else(|| panic!("{name}: no word of the damage: {text}"));
        let at =
            damaged.split("at film time ").nth(1).and_then(|rest| rest.split([',', ' ']).next()?.parse::<f64>().ok());
        assert!(at.is_some_and(|at| (1.0..2.5).contains(&at)), "{name}: {damaged}");
        assert!(frame_ticks(&folder.join("film.mp4")).len() >= 85, "{name}");
        let strict = patiently(folder, &format!("{line} -o strict.mp4 --strict"));
        assert!(strict.status.code() == Some(1) && !folder.join("strict.mp4").exists(), "{name}: {}", said(&strict));
    }
}

/// The clock of a transport stream that starts again: the times go on, every frame is there, and it is said.
#[test]
fn a_clock_that_jumps_is_followed() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 20);
    make_clip(folder, "base.mp4", &format!("{BASE} -g 30"));
    make_clip(folder, "first.ts", "-i base.mp4 -c copy -output_ts_offset 100");
    make_clip(folder, "second.ts", "-i base.mp4 -c copy -output_ts_offset 5");
    let read = |name: &str| std::fs::read(folder.join(name)).expect("clip");
    for (name, two) in [("back.ts", ["first.ts", "second.ts"]), ("ahead.ts", ["second.ts", "first.ts"])] {
        std::fs::write(folder.join(name), two.map(read).concat()).expect("clip");
        let output = patiently(
            folder,
            &format!("render --film {name} --log dunlin.csv --offset 0 -o {name}.mp4 --speed fastest"),
        );
        let text = said(&output);
        assert!(output.status.success(), "{name}: {text}");
        // A step back may be taken for the wrap of the stream's 33-bit clock, which is a step far ahead.
        assert!(text.contains("the clip's clock jumps "), "{name}: {text}");
        assert!(!text.contains("outside the logs"), "{name}: {text}");
        let film = folder.join(format!("{name}.mp4"));
        let (ticks, base) = (frame_ticks(&film), ratio(&film_track(&film)["time_base"]));
        assert!(ticks.len() >= 239, "{name}: {} frames", ticks.len());
        let steps: Vec<f64> = ticks.windows(2).map(|w| (w[1] - w[0]) as f64 * base).collect();
        assert!(steps.iter().all(|step| (0.01..0.2).contains(step)), "{name}: {steps:?}");
    }
}

/// A source that is cut short while it is read ends the film early, or the work with an error; never a hang.
#[test]
fn a_source_cut_short_on_the_way_does_no_harm() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 40);
    let recipe = "-f lavfi -i testsrc2=s=640x360:r=30:d=30 -f lavfi -i sine=d=30 -c:v libx264 -preset ultrafast -pix_fmt yuv420p -c:a aac";
    for clip in ["long.mp4", "long.mkv"] {
        make_clip(folder, clip, recipe);
        let line = format!("render --film {clip} --log dunlin.csv --offset 0 -o film.mp4 --speed thorough");
        let mut command = jumpseat(folder);
        let mut child =
            command.args(line.split_whitespace()).stderr(std::process::Stdio::piped()).spawn().expect("started");
        std::thread::sleep(std::time::Duration::from_millis(800));
        let file = std::fs::OpenOptions::new().write(true).open(folder.join(clip)).expect("clip");
        let length = file.metadata().expect("clip").len();
        file.set_len(length * 6 / 10).expect("cut");
        let start = std::time::Instant::now();
        let code = loop {
            if let Some(status) = child.try_wait().expect("state") {
                break status.code();
            }
            assert!(start.elapsed().as_secs() < u64::from(PATIENCE_S), "{clip}: hangs");
            std::thread::sleep(std::time::Duration::from_millis(50));
        };
        let mut text = String::new();
        std::io::Read::read_to_string(&mut child.stderr.take().expect("text"), &mut text).expect("text");
        let film = folder.join("film.mp4");
        match code {
            Some(0) => {
                let frames = frame_ticks(&film).len();
                assert!(
                    frames == 900 || text.contains("warning: "),
                    "{clip}: {frames} frames and no word of it: {text}"
                );
                std::fs::remove_file(film).expect("removed");
            }
            Some(1 | 2) => assert!(text.contains(clip) && !film.exists(), "{clip}: {text}"),
            code => panic!("{clip}: exit code {code:?}: {text}"),
        }
    }
}
