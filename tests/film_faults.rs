//! Bad input, full disks, interrupts and kills: a clear message, the right exit code, and nothing half written.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::faults::{interrupt, names, wait_for_writing};
use common::*;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Duration;

/// A folder with a clip and a log, open for every user.
fn set_up() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("folder");
    let path = folder.path().to_owned();
    std::fs::set_permissions(&path, PermissionsExt::from_mode(0o755)).expect("permissions");
    make_clip(&path, "clip.mp4", BASE);
    dunlin_log(&path, "log.csv", 60);
    (folder, path)
}

/// Exit code 2, all of these words in the message, and the folder as it was.
fn refuses(folder: &Path, arguments: &str, words: &[&str]) {
    let before = names(folder);
    let output = run(folder, arguments);
    let text = said(&output);
    assert_eq!(output.status.code(), Some(2), "{arguments}: {text}");
    for word in words {
        assert!(text.contains(word), "{arguments}: no `{word}` in: {text}");
    }
    assert_eq!(names(folder), before, "{arguments}");
    assert!(!text.contains("panicked"), "{text}");
}

#[test]
fn bad_input_is_refused_with_its_cure() {
    let (_keep, folder) = set_up();
    let folder = &folder;
    let film = |arguments: &str| format!("render --log log.csv --offset 0 -o film.mp4 {arguments}");
    refuses(folder, &film("--film nowhere.mp4"), &["nowhere.mp4", "No such file"]);
    std::fs::write(
        folder.join("text.mp4"),
        "just a text, long enough to be looked at by every demuxer there is\n".repeat(50),
    )
    .expect("file");
    refuses(folder, &film("--film text.mp4"), &["text.mp4", "not a video file", ".mp4, .mov or .mkv"]);
    std::fs::write(folder.join("empty.mp4"), "").expect("file");
    refuses(folder, &film("--film empty.mp4"), &["empty.mp4"]);
    refuses(folder, &film("--film ."), &["not a file"]);
    // A pipe that nobody writes into would be waited for, for ever.
    assert!(Command::new("mkfifo").arg(folder.join("pipe.mp4")).status().expect("mkfifo").success());
    refuses(folder, &film("--film pipe.mp4"), &["pipe.mp4", "not a file", "save the film first"]);
    make_clip(folder, "sound.m4a", "-f lavfi -i sine=d=1 -c:a aac");
    refuses(folder, &film("--film sound.m4a"), &["sound.m4a", "no video", "sound"]);
    let whole = std::fs::read(folder.join("clip.mp4")).expect("clip");
    std::fs::write(folder.join("cut.mp4"), &whole[..whole.len() * 6 / 10]).expect("file");
    refuses(folder, &film("--film cut.mp4"), &["cut.mp4", "cut off", "copy it"]);
    make_clip(folder, "index_first.mp4", "-i clip.mp4 -c copy -movflags faststart");
    let whole = std::fs::read(folder.join("index_first.mp4")).expect("clip");
    std::fs::write(folder.join("cut_later.mp4"), &whole[..whole.len() * 6 / 10]).expect("file");
    refuses(folder, &film("--film cut_later.mp4"), &["cut_later.mp4", "of 120 frames", "--to "]);
    let quicktime = real("clips/truncated_quicktime.mp4");
    refuses(folder, &film(&format!("--film {}", quicktime.display())), &["0 of 14315 frames"]);
    let log = |arguments: &str| format!("render --film clip.mp4 --offset 0 -o film.mp4 {arguments}");
    refuses(folder, &log("--log nowhere.csv"), &["nowhere.csv"]);
    refuses(folder, &log("--log clip.mp4"), &["clip.mp4", "log"]);
    std::fs::write(folder.join("header.csv"), "time_ms,Rotor\nms,%\n").expect("file");
    refuses(folder, &log("--log header.csv"), &["header.csv"]);
    std::fs::write(folder.join("strange.csv"), "time_ms,Xyzzy\n0,1\n100,2\n200,3\n").expect("file");
    refuses(folder, &log("--log strange.csv"), &["strange.csv", "Xyzzy", "--dial"]);
    refuses(folder, &log("--log log.csv --dial Rotr"), &["Rotr"]);

    refuses(folder, "render --film clip.mp4 --log log.csv --offset 900 -o film.mp4", &["do not overlap", "--offset"]);
    refuses(folder, "render --film clip.mp4 --log log.csv -o film.mp4", &["--offset"]);
    refuses(folder, &log("--log log.csv --from 3 --to 2"), &["--from"]);
    refuses(folder, &log("--log log.csv --from 1:75"), &["1:75"]);

    let both = "render --film clip.mp4 --log log.csv --offset 0";
    refuses(folder, &format!("{both} -o film.doc"), &["`.doc`", ".mp4, .mov, .mkv or .webm"]);
    refuses(folder, &format!("{both} -o film"), &["(none)"]);
    refuses(folder, &format!("{both} -o clip.mp4"), &["is the input"]);
    refuses(folder, &format!("{both} -o clip.mp4 --overwrite"), &["is the input"]);
    std::fs::hard_link(folder.join("clip.mp4"), folder.join("hard.mp4")).expect("link");
    std::os::unix::fs::symlink("clip.mp4", folder.join("soft.mp4")).expect("link");
    refuses(folder, &format!("{both} -o hard.mp4 --overwrite"), &["is the input"]);
    refuses(folder, &format!("{both} -o soft.mp4 --overwrite"), &["is the input"]);
    refuses(folder, &format!("{both} -o film.mp4 --ledger log.csv --overwrite"), &["is the input"]);
    refuses(folder, &format!("{both} -o film.mp4 --ledger film.mp4"), &["same name"]);
    refuses(folder, &format!("{both} -o nowhere/film.mp4"), &["nowhere", "folder"]);
    make_clip(folder, "pcm.mov", "-i clip.mp4 -c:v copy -c:a pcm_s16le");
    refuses(folder, "render --film pcm.mov --log log.csv --offset 0 -o film.mp4", &["pcm_s16le", "MP4", ".mov"]);
    make_clip(folder, "turned.mp4", "-i clip.mp4 -c copy -metadata:s:v:0 rotate=90");
    refuses(folder, "render --film turned.mp4 --log log.csv --offset 0 -o film.mkv", &["MKV", "turned"]);
    // An untagged matrix is a note, but a film that the log covers in part is a warning.
    refuses(
        folder,
        "render --film clip.mp4 --log log.csv --offset 58 -o film.mp4 --strict",
        &["--strict", "outside the logs"],
    );
    refuses(folder, "still --film clip.mp4 --log log.csv --offset 0 --at 9 -o pic.png", &["outside the film"]);
    refuses(folder, "still --film clip.mp4 --log log.csv --offset 0 --at 1 -o pic.gif", &["pic.gif", ".png"]);
}

/// Root may write anywhere: the read-only folder is tried as nobody.
#[test]
fn a_read_only_folder_is_refused() {
    let (_keep, folder) = set_up();
    let locked = folder.join("locked");
    std::fs::create_dir(&locked).expect("folder");
    std::fs::set_permissions(&locked, PermissionsExt::from_mode(0o555)).expect("permissions");
    // The built program may lie where nobody cannot go.
    let program = folder.join("jumpseat");
    std::fs::copy(env!("CARGO_BIN_EXE_jumpseat"), &program).expect("copy");
    let is_root = Command::new("id").arg("-u").output().expect("id").stdout == b"0\n";
    let mut command = if is_root {
        let mut command = Command::new("setpriv");
        command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]).arg(&program);
        command
    } else {
        Command::new(&program)
    };
    command.current_dir(&folder).args("render --film clip.mp4 --log log.csv --offset 0 -o locked/film.mp4".split(' '));
    let output = command.output().expect("started");
    let text = said(&output);
    assert_eq!(output.status.code(), Some(2), "{text}");
    assert!(text.contains("locked") && text.contains("Permission denied"), "{text}");
    assert!(names(&locked).is_empty());
}

/// Runs a render with a limit on the size of files, in blocks of 1024 bytes.
fn render_limited(folder: &Path, blocks: u64, film: &str) -> std::process::Output {
    let line = format!(
        "trap '' XFSZ; ulimit -f {blocks}; exec {} render --film clip.mp4 --log log.csv --offset 0 -o {film} --speed fastest --threads 1",
        env!("CARGO_BIN_EXE_jumpseat")
    );
    Command::new("bash").current_dir(folder).args(["-c", &line]).output().expect("bash")
}

#[test]
fn a_full_disk_leaves_nothing_behind() {
    let (_keep, folder) = set_up();
    for ending in ["mp4", "mkv"] {
        let film = format!("film.{ending}");
        let output = render_limited(&folder, 1 << 20, &film);
        assert!(output.status.success(), "{}", said(&output));
        let size = std::fs::metadata(folder.join(&film)).expect("film").len();
        std::fs::remove_file(folder.join(&film)).expect("removed");
        let before = names(&folder);
        // Half way, and with the last kilobyte missing: only the trailer does not fit any more.
        for blocks in [size / 2048, (size - 1) / 1024] {
            let output = render_limited(&folder, blocks, &film);
            let text = said(&output);
            assert_eq!(output.status.code(), Some(1), "{blocks} blocks of {size} bytes: {text}");
            assert!(text.contains(&film) && text.contains("File too large"), "{text}");
            assert_eq!(names(&folder), before, "{blocks} blocks");
        }
    }
    // In the first of two passes, of which the user knows no file: at once, and when there is no more room for a frame.
    for blocks in [1, 100] {
        let before = names(&folder);
        let output = render_limited(&folder, blocks, "sized.mp4 --size 500k");
        let text = said(&output);
        assert_eq!(output.status.code(), Some(1), "{blocks} blocks: {text}");
        assert!(text.contains("error: sized.mp4: writing failed: ") && text.contains("first of two passes"), "{text}");
        assert!(!text.contains(": ,") && !text.contains("jumpseat-steps"), "{text}");
        assert_eq!(names(&folder), before, "{blocks} blocks");
    }
}

/// Starts a long render and waits until its temporary file holds some bytes.
fn start_long(folder: &Path) -> std::process::Child {
    make_clip(
        folder,
        "long.mp4",
        "-f lavfi -i testsrc2=s=1280x720:r=30:d=40 -f lavfi -i sine=d=40 -c:v libx264 -preset ultrafast -pix_fmt yuv420p -c:a aac",
    );
    let arguments = "render --film long.mp4 --log log.csv --offset 0 -o film.mp4 --ledger shown.csv --speed thorough";
    let mut command = jumpseat(folder);
    let child = command.args(arguments.split(' ')).stderr(Stdio::piped()).spawn().expect("started");
    wait_for_writing(folder);
    child
}

#[test]
fn a_kill_leaves_no_film_and_the_next_run_clears_up() {
    let (_keep, folder) = set_up();
    let clip = std::fs::read(folder.join("clip.mp4")).expect("clip");
    let mut child = start_long(&folder);
    child.kill().expect("killed");
    child.wait().expect("gone");
    let left = names(&folder);
    assert!(!left.contains(&"film.mp4".into()) && !left.contains(&"shown.csv".into()), "{left:?}");
    assert!(left.iter().any(|n| n.ends_with(".jumpseat-part")), "the kill came too late to prove anything");
    let output = run(&folder, "render --film clip.mp4 --log log.csv --offset 0 -o film.mp4");
    assert!(output.status.success(), "{}", said(&output));
    assert_eq!(names(&folder), ["clip.mp4", "film.mp4", "log.csv", "long.mp4"]);
    assert_eq!(std::fs::read(folder.join("clip.mp4")).expect("clip"), clip);
}

/// Once: what is there is kept under a name that says so, and can be played.
#[test]
fn an_interrupt_keeps_what_is_there() {
    let (_keep, folder) = set_up();
    let mut child = start_long(&folder);
    assert!(interrupt(&child));
    let mut text = String::new();
    if let Some(mut said) = child.stderr.take() {
        std::io::Read::read_to_string(&mut said, &mut text).expect("text");
    }
    assert_eq!(child.wait().expect("gone").code(), Some(130));
    assert_eq!(names(&folder), ["clip.mp4", "film.part.mp4", "log.csv", "long.mp4", "shown.part.csv"]);
    let frames = frame_ticks(&folder.join("film.part.mp4")).len();
    assert!(
        text.contains(&format!("film.part.mp4 holds {frames} frames")) && text.contains("--resume"),
        "{frames}: {text}"
    );
    let rows = std::fs::read_to_string(folder.join("shown.part.csv")).expect("ledger").lines().count();
    assert_eq!(rows, frames + 1);
    let (sound, film) = (ffprobe(&folder.join("film.part.mp4"), "-show_streams"), frames as f64 / 30.0);
    let seconds = sound["streams"][1]["duration"].as_str().and_then(|s| s.parse::<f64>().ok()).expect("sound");
    assert!((seconds - film).abs() < 0.1, "{seconds} s of sound beside {film} s of picture");
}

/// Twice: at once; the next run clears up.
#[test]
fn a_second_interrupt_ends_at_once() {
    let (_keep, folder) = set_up();
    let mut child = start_long(&folder);
    for _ in 0..2 {
        assert!(interrupt(&child) || child.try_wait().expect("state").is_some());
        std::thread::sleep(Duration::from_millis(300));
    }
    assert_eq!(child.wait().expect("gone").code(), Some(130));
    assert!(!folder.join("film.mp4").exists());
}
