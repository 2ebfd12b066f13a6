//! Faults of a flight that show only against its film.
#![cfg(feature = "codec")]
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;

use common::*;
use jumpseat::demo::{self, DemoOptions};
use std::path::Path;

/// Replaces words of a file of the invented flight, checks it, and gives the file back as it was.
fn faults_of(folder: &Path, file: &str, out: &str, put: &str) -> (Option<i32>, Vec<(String, String)>) {
    let path = folder.join(file);
    let sound = std::fs::read_to_string(&path).expect("file");
    let faulty = sound.replacen(out, put, 1);
    assert_ne!(sound, faulty, "nothing to replace: {out}");
    std::fs::write(&path, faulty).expect("file");
    let output = run(folder, "check flight.toml --json");
    std::fs::write(&path, sound).expect("file");
    let document: serde_json::Value = serde_json::from_slice(&output.stdout).expect("one JSON document");
    let text = |v: &serde_json::Value| v.as_str().unwrap_or_default().to_owned();
    let findings = document["findings"].as_array().expect("findings");
    (output.status.code(), findings.iter().map(|f| (text(&f["code"]), text(&f["message"]))).collect())
}

#[test]
fn what_shows_only_against_the_film() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo::write(folder, &DemoOptions { seconds: 60.0, seed: 2, film: true }).expect("flight");
    make_clip(
        folder,
        "cockpit.mp4",
        "-f lavfi -i testsrc2=s=640x360:r=5:d=30 -c:v libx264 -preset ultrafast -pix_fmt yuv420p",
    );
    assert!(run(folder, "check flight.toml").status.success());

    let place = "side = \"left\", from_side = 0.172, from_bottom = 0.172, size = \"XL\"";
    let cases = [
        (
            "panel.toml",
            place,
            "side = \"left\", from_side = 0.05, from_bottom = 0.172, size = \"XL\"",
            "place",
            "left edge by 36 px",
        ),
        (
            "panel.toml",
            place,
            "side = \"right\", from_side = 0.172, from_bottom = 0.172, size = \"XL\"",
            "place",
            "overlap",
        ),
        (
            "panel.toml",
            "[[keep_clear]]",
            "[[keep_clear]]\nname = \"the map\"\nx = 0\ny = 0.7\nwidth = 0.2\nheight = 0.3\n\n[[keep_clear]]",
            "place",
            "covers `the map`",
        ),
        ("flight.toml", "cockpit.mp4", "cokpit.mp4", "film_not_read", "cokpit.mp4"),
        ("flight.toml", "cockpit.mp4", "air.csv", "film_not_read", "not a video file"),
    ];
    for (file, out, put, code, words) in cases {
        let (exit, found) = faults_of(folder, file, out, put);
        assert_eq!(exit, Some(2), "{put}: {found:?}");
        assert!(found.iter().any(|(c, m)| c == code && m.contains(words)), "{put}: {found:?}");
    }

    // Without its marks the film hangs in the air; with a wrong one it misses the logs.
    let path = folder.join("flight.toml");
    let sound = std::fs::read_to_string(&path).expect("flight");
    let without: Vec<&str> = sound.lines().filter(|l| !l.starts_with("film = \"")).collect();
    std::fs::write(&path, without.join("\n")).expect("flight");
    let said_of = |folder: &Path| String::from_utf8_lossy(&run(folder, "check flight.toml").stderr).into_owned();
    assert!(said_of(folder).contains("nothing joins the film to the logs"), "{}", said_of(folder));
    let mut wrong: Vec<String> = without.iter().map(|l| (*l).to_owned()).collect();
    wrong.push("[[clock.mark]]\nfilm = \"0:01\"\nair = 5000".into());
    std::fs::write(&path, wrong.join("\n")).expect("flight");
    assert!(said_of(folder).contains("do not overlap"), "{}", said_of(folder));
    assert_eq!(run(folder, "render flight.toml -o film.mp4").status.code(), Some(2));
    assert!(!folder.join("film.mp4").exists());
}

/// A log may hold any text; what the typeface lacks is said, and stops strict work.
#[test]
fn a_logged_text_that_cannot_be_written_is_said() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    make_clip(
        folder,
        "clip.mp4",
        "-f lavfi -i testsrc2=s=320x180:r=5:d=2 -c:v libx264 -preset ultrafast -pix_fmt yuv420p",
    );
    std::fs::write(folder.join("log.csv"), "time_ms,Tower\n0,HARROW\n1000,\u{416}ARROW\n2000,HARROW\n").expect("log");
    let panel = "[[instrument]]\nname = \"tower\"\nkind = \"tile\"\nchannel = \"Tower\"\n\
                 place = { side = \"left\", from_side = 0.3, from_bottom = 0.3, size = \"M\" }\n";
    std::fs::write(folder.join("panel.toml"), panel).expect("panel");
    let flight = "panel = \"panel.toml\"\n[[film]]\nfile = \"clip.mp4\"\n[[log]]\nname = \"log\"\nfile = \"log.csv\"\n\
                  [[clock.mark]]\nfilm = \"0:00\"\nlog = 0\n";
    std::fs::write(folder.join("flight.toml"), flight).expect("flight");
    let (lax, strict) =
        (run(folder, "still flight.toml --at 1.2 -o at.png"), "still flight.toml --at 1.2 -o s.png --strict");
    assert!(lax.status.success() && folder.join("at.png").is_file(), "{}", said(&lax));
    for word in ["U+0416", "`Tower`", "`tower` shows a box", "[theme] font"] {
        assert!(said(&lax).contains(word), "no {word} in {}", said(&lax));
    }
    assert_eq!(run(folder, strict).status.code(), Some(2));
}
