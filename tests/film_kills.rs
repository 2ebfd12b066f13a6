//! `kill -9` at random moments of every kind of work: nothing half written under an output's name, the inputs unharmed, and the next
//! run works and clears up.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::faults::{moments, names, places};
use common::*;
use std::path::Path;
use std::process::Stdio;
use std::time::{Duration, Instant};

const FRAMES: usize = 60;
const INPUTS: [&str; 2] = ["clip.mp4", "log.csv"];

/// Where kills fell.
#[derive(Debug, Default)]
struct Fell {
    before: usize,
    while_writing: usize,
    after: usize,
}

/// Runs a line, kills it at moments spread over the time that it takes, and runs it to its end at last. `whole` looks at an
/// output that is there. Returns where the kills fell.
fn killed(folder: &Path, line: &str, seed: u64, few: usize, whole: impl Fn(&str)) -> Fell {
    let line = format!("render --film clip.mp4 --log log.csv --offset 0 --overwrite --speed thorough {line}");
    let inputs = INPUTS.map(|name| std::fs::read(folder.join(name)).expect("input"));
    let is_output = |name: &String| !INPUTS.contains(&name.as_str()) && !name.starts_with('.');
    let start = Instant::now();
    let output = run(folder, &line);
    assert!(output.status.success(), "{line}: {}", said(&output));
    let time = start.elapsed();
    let made: Vec<String> = names(folder).into_iter().filter(is_output).collect();
    made.iter().for_each(|name| whole(name));
    let mut fell = Fell::default();
    for (n, place) in places(seed).take(moments(few)).enumerate() {
        // Every other time there is an older output, which stays until the new one is whole.
        let old = n % 2 == 1;
        for name in names(folder).into_iter().filter(is_output) {
            std::fs::remove_file(folder.join(&name)).expect("removed");
        }
        if old {
            made.iter().for_each(|name| std::fs::write(folder.join(name), "the old one").expect("written"));
        }
        let mut command = jumpseat(folder);
        let mut child = command.args(line.split_whitespace()).stderr(Stdio::null()).spawn().expect("started");
        std::thread::sleep(time.mul_f64(place));
        child.kill().expect("killed");
        let ended = child.wait().expect("gone").success();
        let left = names(folder);
        for name in left.iter().filter(|name| is_output(name)) {
            if !(old && std::fs::read(folder.join(name)).expect("output") == b"the old one") {
                whole(name);
            }
        }
        assert!(!old || made.iter().all(|name| left.contains(name)), "{line}: an old output is lost: {left:?}");
        for (name, bytes) in INPUTS.iter().zip(&inputs) {
            assert!(&std::fs::read(folder.join(name)).expect("input") == bytes, "{line}: {name} is another file");
        }
        match left.iter().any(|name| name.starts_with('.')) {
            _ if ended => fell.after += 1,
            true => fell.while_writing += 1,
            false => fell.before += 1,
        }
    }
    let output = run(folder, &line);
    assert!(output.status.success(), "{line}: {}", said(&output));
    let mut all: Vec<String> = INPUTS.map(str::to_owned).into_iter().chain(made.iter().cloned()).collect();
    all.sort();
    assert_eq!(names(folder), all, "{line}");
    made.iter().for_each(|name| {
        whole(name);
        std::fs::remove_file(folder.join(name)).expect("removed");
    });
    println!("{line}: {fell:?}, {:.1} s uninterrupted", time.as_secs_f64());
    assert!(fell.while_writing > 0, "{line}: {fell:?}: no kill fell where it could do harm");
    fell
}

#[test]
fn a_kill_at_any_moment_leaves_nothing_half_written() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    make_clip(
        folder,
        "clip.mp4",
        "-f lavfi -i testsrc2=s=640x360:r=30:d=2 -f lavfi -i sine=d=2 -c:v libx264 -pix_fmt yuv420p -c:a aac",
    );
    dunlin_log(folder, "log.csv", 10);
    let whole = |name: &str| {
        let file = folder.join(name);
        if name.ends_with(".csv") {
            let rows = std::fs::read_to_string(&file).expect("ledger");
            assert_eq!(rows.lines().count(), FRAMES + 1, "{name}");
        } else if name.ends_with(".png") {
            image::open(&file).unwrap_or_else(|e| panic!("{name}: {e}"));
        } else if name.ends_with(".json") {
            let text = std::fs::read_to_string(&file).expect("manifest");
            serde_json::from_str::<serde_json::Value>(&text).unwrap_or_else(|e| panic!("{name}: {e}"));
        } else {
            let frames = frame_ticks(&file).len();
            assert_eq!(frames, if name.contains(".part-") { FRAMES / 2 } else { FRAMES }, "{name}");
        }
    };
    let few = 4;
    killed(folder, "-o film.mp4 --ledger shown.csv", 1, few, whole);
    killed(folder, "-o sized.mp4 --size 300k", 2, few, whole);
    killed(folder, "-o film.mkv --part 1/2", 3, few, whole);
    killed(folder, "-o layer.mov --layer", 4, few, whole);
    killed(folder, "-o picture-%03d.png --layer", 5, few, whole);
}

/// Between the passes of `--size`: the second pass has begun, so the first one's notes are there.
#[test]
fn a_kill_between_two_passes_is_cleared_by_the_next_run() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    make_clip(folder, "clip.mp4", BASE);
    dunlin_log(folder, "log.csv", 10);
    let line = "render --film clip.mp4 --log log.csv --offset 0 -o film.mp4 --size 500k";
    let mut child = jumpseat(folder).args(line.split_whitespace()).spawn().expect("started");
    let start = Instant::now();
    let hidden = |ending: &str| names(folder).into_iter().find(|name| name.starts_with('.') && name.ends_with(ending));
    while hidden(".jumpseat-part").is_none() {
        assert!(start.elapsed() < Duration::from_secs(120), "no second pass");
        std::thread::sleep(Duration::from_millis(2));
    }
    child.kill().expect("killed");
    child.wait().expect("gone");
    let steps = hidden(".jumpseat-steps").expect("the kill came too late to prove anything");
    assert!(names(&folder.join(steps)).iter().any(|name| name.starts_with("stats")), "no notes of the first pass");
    assert!(!folder.join("film.mp4").exists());
    // Any film of this folder sweeps it, not only another one of a size.
    let output = run(folder, "render --film clip.mp4 --log log.csv --offset 0 -o film.mp4");
    assert!(output.status.success(), "{}", said(&output));
    assert_eq!(names(folder), ["clip.mp4", "film.mp4", "log.csv"]);
}
