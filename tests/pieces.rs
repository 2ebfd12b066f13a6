//! A film in pieces: joined, it is the film that is rendered as a whole, by raw packet times and by every sample; pieces that do not
//! belong together are refused; a killed film goes on from the pieces that are there.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::*;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Raw times of a track's packets, as stored: a check on times that a tool has laid on a grid would hide errors.
fn stored(file: &Path, track: &str) -> (Vec<i64>, String) {
    let json = ffprobe(
        file,
        &format!("-select_streams {track} -show_entries stream=time_base:packet=pts,data_hash -show_data_hash md5"),
    );
    let packets = json["packets"].as_array().cloned().unwrap_or_default();
    let mut times: Vec<i64> = packets.iter().filter_map(|p| p["pts"].as_i64()).collect();
    times.sort_unstable();
    (times, json["streams"][0]["time_base"].as_str().unwrap_or_default().to_owned())
}

/// Hashes of sound packets in their order.
fn sound(file: &Path) -> Vec<Value> {
    let json = ffprobe(file, "-select_streams a:0 -show_entries packet=pts,data_hash -show_data_hash md5");
    json["packets"].as_array().cloned().unwrap_or_default()
}

fn succeeds(folder: &Path, line: &str) -> String {
    let output = run(folder, line);
    assert!(output.status.success(), "{line}: {}", said(&output));
    said(&output)
}

fn refuses(folder: &Path, line: &str, words: &[&str]) {
    let output = run(folder, line);
    let text = said(&output);
    assert_eq!(output.status.code(), Some(2), "{line}: {text}");
    assert!(words.iter().all(|word| text.contains(word)), "{line}: {text}");
}

/// Renders all pieces and joins them, the last first: the order must not matter.
fn in_pieces(folder: &Path, clip: &str, film: &str, of: u32, more: &str) -> PathBuf {
    let ending = Path::new(film).extension().expect("ending").to_string_lossy().into_owned();
    let stem = film.strip_suffix(&format!(".{ending}")).expect("stem");
    let piece = if more.contains("ffv1") { "nut" } else { "mp4" };
    let mut names = Vec::new();
    for number in (1..=of).rev() {
        succeeds(
            folder,
            &format!("render --film {clip} --log dunlin.csv --offset 0 -o {film} --part {number}/{of} {more}"),
        );
        names.push(format!("{stem}.part-{number}-of-{of}.{piece}"));
    }
    succeeds(folder, &format!("join {} -o {film}", names.join(" ")));
    folder.join(film)
}

#[test]
fn joined_pieces_are_the_whole_film() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    make_clip(folder, "steady.mp4", &BASE.replace("d=4", "d=3"));
    let variable = "-f lavfi -i testsrc2=s=320x180:r=30:d=3 -f lavfi -i sine=f=440:r=48000:d=3 -vf select='not(between(mod(n\\,10)\\,3\\,5))',\
        setpts='PTS+if(eq(mod(N,7),3),0.004/TB,0)' -vsync vfr -enc_time_base 1:90000 -c:v libx264 -pix_fmt yuv420p -c:a aac \
        -video_track_timescale 90000";
    make_clip(folder, "variable.mp4", &variable.replace(",        setpts", ",setpts"));
    make_clip(folder, "later.mkv", "-i steady.mp4 -c copy -output_ts_offset 10");
    for (clip, film, more) in [
        ("steady.mp4", "steady_film.mp4", "--crf 0"),
        ("variable.mp4", "variable_film.mp4", "--crf 0"),
        ("later.mkv", "later_film.mkv", "--crf 0"),
        ("steady.mp4", "hevc_film.mov", "--codec hevc --crf 0 --speed fastest"),
        ("steady.mp4", "ffv1_film.mkv", "--codec ffv1"),
        ("variable.mp4", "excerpt_film.mp4", "--crf 0 --from 0.7 --to 2.2"),
    ] {
        succeeds(folder, &format!("render --film {clip} --log dunlin.csv --offset 0 -o whole_{film} {more}"));
        let whole = folder.join(format!("whole_{film}"));
        for of in [2, 3, 7] {
            let joined = in_pieces(folder, clip, &format!("{of}_{film}"), of, more);
            assert_eq!(stored(&whole, "V:0"), stored(&joined, "V:0"), "{film} in {of}: times");
            assert_eq!(raw_frames(&whole), raw_frames(&joined), "{film} in {of}: samples");
            assert_eq!(sound(&whole), sound(&joined), "{film} in {of}: sound");
            let tags = |file: &Path| ffprobe(file, "-show_format")["format"]["tags"]["comment"].clone();
            assert_eq!(tags(&whole), tags(&joined), "{film} in {of}: comment");
        }
    }
}

/// As a machine with many cores does on its own: pieces rendered at the same time make the same film, and none of them is left.
#[test]
fn pieces_abreast_are_the_whole_film() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    make_clip(folder, "clip.mp4", &BASE.replace("d=4", "d=3"));
    let line = "render --film clip.mp4 --log dunlin.csv --offset 0 --crf 0";
    succeeds(folder, &format!("{line} -o whole.mp4"));
    let said = succeeds(folder, &format!("{line} -o abreast.mp4 --abreast 3"));
    assert!(said.contains("90 frames from 3 pieces"), "{said}");
    let progress = said.lines().rfind(|line| line.starts_with("progress")).unwrap_or_default();
    assert!(progress.starts_with("progress frame=90 of=90 "), "{said}");
    let [whole, abreast] = ["whole.mp4", "abreast.mp4"].map(|name| folder.join(name));
    assert_eq!(stored(&whole, "V:0"), stored(&abreast, "V:0"));
    assert_eq!(raw_frames(&whole), raw_frames(&abreast));
    assert_eq!(sound(&whole), sound(&abreast));
    let names = std::fs::read_dir(folder).expect("folder").flatten().map(|entry| entry.file_name());
    let left: Vec<_> = names.filter(|name| name.to_string_lossy().contains("part")).collect();
    assert!(left.is_empty(), "{left:?}");
    // What fails in one piece fails the film, and leaves none under its name.
    std::fs::create_dir(folder.join("other.part-2-of-3.mp4")).expect("folder in the way");
    let failed = run(folder, &format!("{line} -o other.mp4 --abreast 3"));
    assert!(!failed.status.success() && !folder.join("other.mp4").exists(), "{}", common::said(&failed));
}

#[test]
fn pieces_that_make_no_film_are_refused() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    make_clip(folder, "clip.mp4", &BASE.replace("d=4", "d=2"));
    let part = |number: u32, more: &str| {
        succeeds(
            folder,
            &format!("render --film clip.mp4 --log dunlin.csv --offset 0 -o film.mp4 --part {number}/3 {more}"),
        )
    };
    (1..=3).for_each(|number| drop(part(number, "")));
    let name = |number: u32| format!("film.part-{number}-of-3.mp4");
    let all = format!("join {} {} {} -o film.mp4", name(1), name(2), name(3));
    // Once more costs nothing: the piece is there.
    assert!(part(2, "").contains("is there already"));
    refuses(folder, &format!("join {} {} -o film.mp4", name(1), name(3)), &["piece 2 of 3 is missing"]);
    refuses(folder, &format!("join {0} {0} {1} -o film.mp4", name(1), name(3)), &["there twice"]);
    refuses(folder, "join clip.mp4 -o film.mp4", &["clip.mp4.json", "render --part"]);
    refuses(folder, &format!("join {0} {1} {2} -o {0} --overwrite", name(1), name(2), name(3)), &["is the input"]);

    // A piece one frame short.
    let kept = std::fs::read(folder.join(name(2))).expect("piece");
    make_clip(folder, "short.mp4", &format!("-i {} -c copy -frames:v 19", name(2)));
    std::fs::rename(folder.join("short.mp4"), folder.join(name(2))).expect("moved");
    refuses(folder, &all, &[&name(2), "not as it was written"]);
    // Even where its manifest was bent to fit, the count tells.
    let manifest = folder.join(format!("{}.json", name(2)));
    let old = std::fs::read_to_string(&manifest).expect("manifest");
    let sum = std::process::Command::new("sha256sum").arg(folder.join(name(2))).output().expect("sha256sum").stdout;
    let sum = String::from_utf8_lossy(&sum)[..64].to_owned();
    let mut bent: Value = serde_json::from_str(&old).expect("JSON");
    bent["sha256"] = sum.into();
    bent["bytes"] = std::fs::metadata(folder.join(name(2))).expect("piece").len().into();
    std::fs::write(&manifest, bent.to_string()).expect("written");
    let output = run(folder, &all);
    assert!(
        output.status.code() == Some(1) && said(&output).contains("59 frames, 60 were expected"),
        "{}",
        said(&output)
    );
    // Rendering it once more mends it.
    assert!(part(2, "").contains("wrote"));
    assert_eq!(std::fs::read(folder.join(name(2))).expect("piece").len(), kept.len());

    // A piece of another film, and an input that changed.
    part(2, "--crf 30");
    refuses(folder, &all, &["another film"]);
    part(2, "");
    let log = std::fs::read_to_string(folder.join("dunlin.csv")).expect("log");
    std::fs::write(folder.join("dunlin.csv"), format!("{log}60100,98.0,45.0,500.0,27.9\n")).expect("log");
    refuses(folder, &all, &["dunlin.csv", "another file"]);
    assert!(!folder.join("film.mp4").exists());
}

/// Killed in the middle, a film that may be resumed goes on from the pieces that are there, and comes out as the whole one.
#[test]
fn a_killed_film_goes_on() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 200);
    make_clip(
        folder,
        "clip.mp4",
        "-f lavfi -i testsrc2=s=640x360:r=10:d=150 -f lavfi -i sine=d=150 -c:v libx264 -preset ultrafast -pix_fmt yuv420p -c:a aac",
    );
    let line = "render --film clip.mp4 --log dunlin.csv --offset 0 -o film.mp4 --resume --crf 0 --speed fastest";
    let mut child =
        jumpseat(folder).args(line.split_whitespace()).stderr(std::process::Stdio::null()).spawn().expect("starts");
    let first = folder.join("film.part-1-of-3.mp4.json");
    let start = std::time::Instant::now();
    while !first.exists() {
        assert!(start.elapsed().as_secs() < 120, "no piece was finished");
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    child.kill().expect("killed");
    child.wait().expect("gone");
    assert!(!folder.join("film.mp4").exists());
    let said = succeeds(folder, line);
    assert!(said.contains("film.part-1-of-3.mp4: is there already"), "{said}");
    let left: Vec<_> = std::fs::read_dir(folder).expect("folder").map(|e| e.expect("entry").file_name()).collect();
    assert_eq!(left.len(), 3, "{left:?}");
    succeeds(folder, "render --film clip.mp4 --log dunlin.csv --offset 0 -o whole.mp4 --crf 0 --speed fastest");
    let (film, whole) = (folder.join("film.mp4"), folder.join("whole.mp4"));
    assert_eq!(stored(&whole, "V:0"), stored(&film, "V:0"));
    assert_eq!(sound(&whole), sound(&film));
}
