//! Chapters, captions and excerpts of a film, read back by the ffmpeg tools and held against what was judged.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;

use common::{ffprobe, frame_ticks, jumpseat, run, said};
use serde_json::Value;
use std::path::Path;
use std::process::Command;

/// A short film of the demo's flight, small and cheap.
fn demo(folder: &Path) {
    let output = run(folder, "demo flight --seconds 120 --size 640x360 --fps 10 --seed 4");
    assert!(output.status.success(), "{}", said(&output));
    // A camera that knows where it is.
    let film = folder.join("flight/cockpit.mp4");
    let placed = folder.join("placed.mp4");
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error", "-i"]).arg(&film).args(["-map", "0", "-c", "copy", "-map_metadata", "0"]);
    command.args(["-metadata", "location=+47.1234+008.5678/", "-movflags", "use_metadata_tags"]).arg(&placed);
    assert!(command.status().expect("the ffmpeg tool is installed").success());
    std::fs::rename(placed, film).expect("renamed");
    let flight = folder.join("flight/flight.toml");
    let mut text = std::fs::read_to_string(&flight).expect("flight file");
    text += "\n[[note]]\nfilm = \"0:20\"\nfor = 3\ntext = \"Note the clutch & <lamp>.\"\n";
    std::fs::write(flight, text).expect("flight file");
}

fn debrief(folder: &Path) -> Value {
    let output = run(folder, "debrief flight/flight.toml --json --captions film.vtt");
    assert!(output.status.success(), "{}", said(&output));
    serde_json::from_slice(&output.stdout).expect("a document")
}

fn chapters(file: &Path) -> Vec<(f64, f64, String)> {
    let found = ffprobe(file, "-show_chapters");
    let all = found["chapters"].as_array().expect("chapters");
    let time = |value: &Value| value.as_str().expect("time").parse::<f64>().expect("number");
    let title = |chapter: &Value| chapter["tags"]["title"].as_str().expect("title").to_owned();
    all.iter().map(|c| (time(&c["start_time"]), time(&c["end_time"]), title(c))).collect()
}

#[test]
fn a_film_says_what_happened_and_when() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo(folder);
    let document = debrief(folder);
    let film_s = |event: &Value| event["film_s"].as_f64().expect("in the film");
    let events = document["events"].as_array().expect("events");
    let of_kind = |kind: &str| events.iter().find(|e| e["kind"] == kind).unwrap_or_else(|| panic!("no {kind}"));
    let (slipping, low) = (of_kind("slipping"), of_kind("low_rotor"));

    for container in ["mp4", "mkv"] {
        let file = folder.join(format!("film.{container}"));
        let output = run(folder, &format!("render flight/flight.toml -o film.{container} --speed fastest --crf 35"));
        assert!(output.status.success(), "{}", said(&output));
        let found = chapters(&file);
        let titles: Vec<&str> = found.iter().map(|c| c.2.as_str()).collect();
        for phase in ["Climb", "Cruise", "Approach"] {
            assert!(titles.contains(&phase), "{container}: {titles:?}");
        }
        for pair in found.windows(2) {
            assert!((pair[0].1 - pair[1].0).abs() < 0.002, "{container}: a gap in {found:?}");
        }
        for event in [slipping, low] {
            let name = event["name"].as_str().expect("name");
            let chapter = found.iter().find(|c| c.2 == name).unwrap_or_else(|| panic!("{name} in {titles:?}"));
            assert!((chapter.0 - film_s(event)).abs() < 0.002, "{container}, {name}: {chapter:?}, {}", film_s(event));
        }
        let tags = ffprobe(&file, "-show_format")["format"]["tags"].to_string();
        assert!(tags.contains("+47.1234"), "{container}: what the source says is kept: {tags}");
    }

    // A part starts at zero, and so do its chapters.
    let from = film_s(low) - 1.5;
    let output = run(
        folder,
        &format!(
            "render flight/flight.toml -o part.mp4 --from {from:.3} --to {:.3} --speed fastest --no-location",
            from + 8.0
        ),
    );
    assert!(output.status.success(), "{}", said(&output));
    let part = chapters(&folder.join("part.mp4"));
    let low_chapter = part.iter().find(|c| c.2.starts_with("Low rotor")).expect("low rotor");
    assert!((low_chapter.0 - 1.5).abs() < 0.11, "a frame at most: {part:?}");
    let everything = ffprobe(&folder.join("part.mp4"), "-show_format -show_streams").to_string();
    assert!(!everything.contains("47.1234"), "{everything}");

    // Pieces that are joined have the whole film's chapters.
    for piece in ["1/2", "2/2"] {
        let output =
            run(folder, &format!("render flight/flight.toml -o cut.mp4 --speed fastest --crf 35 --part {piece}"));
        assert!(output.status.success(), "{}", said(&output));
    }
    let output = run(folder, "join cut.part-1-of-2.mp4 cut.part-2-of-2.mp4 -o cut.mp4");
    assert!(output.status.success(), "{}", said(&output));
    assert_eq!(chapters(&folder.join("cut.mp4")), chapters(&folder.join("film.mp4")));

    // The captions, as an independent reader takes them.
    let packets = ffprobe(&folder.join("film.vtt"), "-show_packets -show_data_hash md5 -select_streams s");
    let packets = packets["packets"].as_array().expect("captions");
    let starts: Vec<f64> =
        packets.iter().map(|p| p["pts_time"].as_str().expect("time").parse().expect("number")).collect();
    for event in [slipping, low] {
        assert!(starts.iter().any(|s| (s - film_s(event)).abs() < 0.002), "{starts:?}");
    }
    let note = packets.iter().find(|p| p["pts_time"] == "20.000000").expect("the note");
    assert_eq!(note["duration_time"], "3.000000");
    let text = std::fs::read_to_string(folder.join("film.vtt")).expect("captions");
    assert!(text.contains("Note the clutch &amp; &lt;lamp&gt;."), "{text}");
}

#[test]
fn excerpts_start_and_end_where_they_say() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo(folder);
    let output = run(folder, "excerpts flight/flight.toml -o cuts --least warning --list --lead-in 1 --lead-out 0.5");
    assert!(output.status.success() && !folder.join("cuts").exists(), "{}", said(&output));
    let listed: Vec<(String, f64, f64)> = said(&output)
        .lines()
        .filter_map(|line| {
            let (file, rest) = line.strip_prefix("cuts/")?.split_once(": ")?;
            let mut words = rest.split(' ');
            let (from, to) = (words.next()?.parse().ok()?, words.nth(1)?.parse().ok()?);
            Some((file.to_owned(), from, to))
        })
        .collect();
    assert!(listed.len() >= 3, "{}", said(&output));
    let output = jumpseat(folder)
        .args(
            "excerpts flight/flight.toml -o cuts --least warning --lead-in 1 --lead-out 0.5 --speed fastest".split(' '),
        )
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{}", said(&output));
    assert_eq!(std::fs::read_dir(folder.join("cuts")).expect("folder").count(), listed.len());
    for (file, from, to) in listed {
        let frames = frame_ticks(&folder.join("cuts").join(&file)).len() as f64;
        // Ten frames a second, the times of the list in tenths.
        assert!((frames - 10.0 * (to - from)).abs() <= 2.0, "{file}: {frames} frames from {from} to {to} s");
    }
    let output = run(folder, "excerpts flight/flight.toml -o cuts --least warning --lead-in 1");
    assert_eq!(output.status.code(), Some(2), "what is there is not written over: {}", said(&output));
}
