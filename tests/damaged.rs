//! Damaged clips: what is there becomes a film, what is lost is said in frames and seconds, and nothing hangs, panics or is half written.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::faults::{end_of, moments, names, places, wait_for_writing};
use common::*;
use std::path::Path;
use std::process::{Command, Output, Stdio};

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
        for place in places(n + 1).take(moments(13)) {
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
    println!("{films} films and {errors} errors");
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
        let at = damaged.split("film time ").nth(1).and_then(|rest| rest.split([',', ' ']).next()?.parse::<f64>().ok());
        assert!(at.is_some_and(|at| (1.0..2.5).contains(&at)), "{name}: {damaged}");
        assert!(frame_ticks(&folder.join("film.mp4")).len() >= 85, "{name}");
        // Which frames are marked as torn depends on how threads meet; how often the decoder complains does not.
        let complained = |text: &str| Some(text.split("it complained ").nth(1)?.split(' ').next()?.to_owned());
        let alone = said(&patiently(folder, &format!("{line} -o film.mp4 --overwrite --threads 1")));
        assert_eq!(complained(&text), complained(&alone), "{name}: {text}\n{alone}");
        assert!(complained(&text).is_some_and(|times| times != "0"), "{name}: {text}");
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

/// Starts a film of half a minute that takes its time.
fn start_slowly(folder: &Path, clip: &str) -> Command {
    let line = format!("render --film {clip} --log dunlin.csv --offset 0 -o film.mp4 --speed thorough");
    let mut command = jumpseat(folder);
    command.args(line.split_whitespace()).stderr(Stdio::piped());
    command
}

const HALF_A_MINUTE: &str = "-f lavfi -i testsrc2=s=640x360:r=30:d=30 -f lavfi -i sine=d=30 -c:v libx264 -preset ultrafast \
    -pix_fmt yuv420p -c:a aac";

/// A source that is cut short while it is read ends the film early, or the work with an error; never a hang.
#[test]
fn a_source_cut_short_on_the_way_does_no_harm() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 40);
    make_clip(folder, "long.mp4", HALF_A_MINUTE);
    make_clip(folder, "long.mkv", "-i long.mp4 -c copy");
    make_clip(folder, "long.ts", "-i long.mp4 -c copy");
    make_clip(folder, "pieces.mp4", "-i long.mp4 -c copy -movflags frag_keyframe+empty_moov -frag_duration 500000");
    for clip in ["long.mp4", "long.mkv", "long.ts", "pieces.mp4"] {
        let child = start_slowly(folder, clip).spawn().expect("started");
        wait_for_writing(folder);
        let file = std::fs::OpenOptions::new().write(true).open(folder.join(clip)).expect("clip");
        let length = file.metadata().expect("clip").len();
        file.set_len(length * 6 / 10).expect("cut");
        let (code, text) = end_of(child, u64::from(PATIENCE_S));
        let film = folder.join("film.mp4");
        match code {
            Some(0) => {
                let frames = frame_ticks(&film).len();
                // A transport stream says nowhere how long it is.
                let said = clip == "long.ts" || frames == 900 || text.contains("warning: ");
                assert!(said, "{clip}: {frames} frames and no word of it: {text}");
                std::fs::remove_file(film).expect("removed");
            }
            Some(1 | 2) => assert!(text.contains(clip) && !film.exists(), "{clip}: {text}"),
            code => panic!("{clip}: exit code {code:?}: {text}"),
        }
    }
}

/// A disk that fails in mid film is an error that says where, and is never taken for the film's end. The system's call is made to
/// fail from a place on by a library of a few lines, put before the program's own.
#[test]
fn a_disk_that_cannot_be_read_is_an_error() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 40);
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/damaged/failing_disk.c");
    let mut compiler = Command::new("cc");
    compiler.args(["-shared", "-fPIC", "-o"]).arg(folder.join("failing_disk.so")).arg(source).arg("-ldl");
    let made = compiler.output().expect("a C compiler");
    assert!(made.status.success(), "{}", said(&made));
    make_clip(folder, "long.mp4", &format!("{HALF_A_MINUTE} -movflags faststart"));
    make_clip(folder, "long.mkv", "-i long.mp4 -c copy");
    make_clip(folder, "long.ts", "-i long.mp4 -c copy");
    make_clip(folder, "pieces.mp4", "-i long.mp4 -c copy -movflags frag_keyframe+empty_moov -frag_duration 500000");
    let before = names(folder);
    for clip in ["long.mp4", "long.mkv", "long.ts", "pieces.mp4"] {
        let length = std::fs::metadata(folder.join(clip)).expect("clip").len();
        let line = format!("render --film {clip} --log dunlin.csv --offset 0 -o film.mp4 --speed fastest");
        let mut command = jumpseat(folder);
        command.args(line.split_whitespace()).stderr(Stdio::piped());
        command.env("LD_PRELOAD", folder.join("failing_disk.so")).env("FAILING_FILE", clip);
        command.env("FAILING_FROM", (length / 2).to_string());
        let (code, text) = end_of(command.spawn().expect("started"), u64::from(PATIENCE_S));
        assert_eq!(code, Some(1), "{clip}: {text}");
        let place = text.split("reading stopped at film time ").nth(1).and_then(|rest| rest.split(' ').next());
        let place = place.and_then(|at| at.parse::<f64>().ok());
        assert!(place.is_some_and(|at| (5.0..25.0).contains(&at)), "{clip}: {text}");
        assert!(text.contains(clip) && text.contains("Input/output error"), "{clip}: {text}");
        assert_eq!(names(folder), before, "{clip}");
    }
    // An index at the end that cannot be read is not one that is missing.
    make_clip(folder, "index_last.mp4", "-i long.mp4 -c copy");
    let mut command = jumpseat(folder);
    command.args("render --film index_last.mp4 --log dunlin.csv --offset 0 -o film.mp4".split(' '));
    command.env("LD_PRELOAD", folder.join("failing_disk.so")).env("FAILING_FILE", "index_last.mp4");
    let output = command.env("FAILING_FROM", "100000").output().expect("started");
    let text = said(&output);
    assert_eq!(output.status.code(), Some(2), "{text}");
    assert!(text.contains("index_last.mp4: Input/output error") && !text.contains("moov"), "{text}");
}
