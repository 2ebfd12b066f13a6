//! Captions burned into films: looked at in frames of encoded films, and held against the ledger and the plan of captions.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;

use common::{run, said};
use std::path::Path;
use std::process::Command;

/// A film of the demo's flight at ten frames a second, with a note of the owner's.
fn demo(folder: &Path) {
    let output = run(folder, "demo flight --seconds 120 --size 640x360 --fps 10 --seed 4");
    assert!(output.status.success(), "{}", said(&output));
    let flight = folder.join("flight/flight.toml");
    let mut text = std::fs::read_to_string(&flight).expect("flight file");
    text += "\n[[note]]\nfilm = \"0:20\"\nfor = 4\ntext = \"The clutch lamp changes when the belts are tight.\"\n";
    std::fs::write(flight, text).expect("flight file");
}

fn rendered(folder: &Path, arguments: &str) {
    let output = run(folder, arguments);
    assert!(output.status.success(), "{arguments}: {}", said(&output));
}

/// The luma of every frame, 640 x 360, by the ffmpeg tool.
fn luma(folder: &Path, file: &str) -> Vec<Vec<u8>> {
    let mut command = Command::new("ffmpeg");
    command.current_dir(folder).args(["-nostdin", "-v", "error", "-i", file, "-map", "0:v:0"]);
    command.args(["-vf", "extractplanes=y", "-f", "rawvideo", "-pix_fmt", "gray", "-"]);
    let output = command.output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    output.stdout.chunks_exact(640 * 360).map(<[u8]>::to_vec).collect()
}

/// Frame by frame: the film's time and the caption.
fn ledger(folder: &Path, file: &str) -> Vec<(f64, String)> {
    let mut reader = csv::Reader::from_path(folder.join(file)).expect("a ledger");
    let header = reader.headers().expect("header").clone();
    let at = header.iter().position(|name| name == "caption").expect("a column for captions");
    let rows = reader.records().map(|row| row.expect("a row"));
    rows.map(|row| (row[1].parse().expect("a time"), row[at].to_owned())).collect()
}

/// Rows and columns of the samples that two frames do not share: left, upper, right and lower edge.
fn differing(a: &[u8], b: &[u8]) -> Option<(usize, usize, usize, usize)> {
    let places = a.iter().zip(b).enumerate().filter(|(_, (a, b))| a != b).map(|(i, _)| (i % 640, i / 640));
    places.fold(None, |edges, (x, y)| {
        let (l, t, r, b) = edges.unwrap_or((x, y, x, y));
        Some((l.min(x), t.min(y), r.max(x), b.max(y)))
    })
}

#[test]
fn a_caption_stands_in_the_frames_that_are_said_and_nowhere_else() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo(folder);
    // Without loss every sample can be compared.
    let how = "--speed fastest --crf 0 --no-sound";
    // From the rotor's engagement to the take-off.
    let whole = "--from 0:14 --to 0:34";
    rendered(folder, &format!("render flight/flight.toml -o plain.mp4 {whole} {how}"));
    rendered(folder, &format!("render flight/flight.toml -o said.mp4 --captions --ledger said.csv {whole} {how}"));
    let (plain, spoken, rows) = (luma(folder, "plain.mp4"), luma(folder, "said.mp4"), ledger(folder, "said.csv"));
    assert_eq!(plain.len(), spoken.len());
    assert_eq!(plain.len(), rows.len());
    let mut all: Option<(usize, usize, usize, usize)> = None;
    for ((a, b), (time, caption)) in plain.iter().zip(&spoken).zip(&rows) {
        let found = differing(a, b);
        assert_eq!(found.is_some(), !caption.is_empty(), "at {time} s: `{caption}`, {found:?}");
        if let Some((l, t, r, b)) = found {
            // A plate in the middle third of the picture's height, wider than high, about the middle.
            assert!(t > 110 && r - l > b - t && (300..340).contains(&usize::midpoint(l, r)), "at {time} s: {found:?}");
            let (wl, wt, wr, wb) = all.unwrap_or((l, t, r, b));
            all = Some((wl.min(l), wt.min(t), wr.max(r), wb.max(b)));
        }
    }
    let (_, top, _, bottom) = all.expect("some caption");
    assert!(bottom - top < 60, "all of them stand on one line: {all:?}");
    // The owner's note from 20 s of the film on, which is frame 60.
    let note = |caption: &str| caption == "The clutch lamp changes when the belts are tight.";
    let frames: Vec<usize> = (0..rows.len()).filter(|&i| note(&rows[i].1)).collect();
    // It takes 4.5 s to read, half a second longer than its owner gave it.
    assert_eq!(frames, (60..105).collect::<Vec<_>>());
    for words in ["Rotor engagement: until joined", "Take-off"] {
        assert!(rows.iter().any(|(_, caption)| caption.starts_with(words)), "{words}");
    }

    // Part, pieces and excerpts show the same.
    rendered(folder, &format!("render flight/flight.toml -o part.mp4 --captions --from 0:19 --to 0:26 {how}"));
    let part = luma(folder, "part.mp4");
    // The notice stands on its plate at a film's start and end: only what lies lower is compared.
    for (i, frame) in part.iter().enumerate() {
        assert!(frame[640 * 100..] == spoken[50 + i][640 * 100..], "frame {i} of the part");
    }
    for piece in ["1/3", "2/3", "3/3"] {
        rendered(folder, &format!("render flight/flight.toml -o cut.mp4 --captions --part {piece} {whole} {how}"));
    }
    rendered(folder, "join cut.part-1-of-3.mp4 cut.part-2-of-3.mp4 cut.part-3-of-3.mp4 -o cut.mp4");
    assert!(luma(folder, "cut.mp4") == spoken, "pieces are the whole");
    rendered(
        folder,
        "excerpts flight/flight.toml -o events --least warning --captions --lead-in 0 --lead-out 1 --speed fastest",
    );

    // A layer has the caption with its plate, and is clear there else.
    rendered(folder, "render flight/flight.toml -o layer.mov --layer --captions --from 0:19.5 --to 0:20.5");
    let mut command = Command::new("ffmpeg");
    command.current_dir(folder).args(["-nostdin", "-v", "error", "-i", "layer.mov", "-vf", "extractplanes=a"]);
    command.args(["-f", "rawvideo", "-pix_fmt", "gray", "-"]);
    let alpha = command.output().expect("the ffmpeg tool is installed").stdout;
    let alpha: Vec<&[u8]> = alpha.chunks_exact(640 * 360).collect();
    assert_eq!(alpha.len(), 10);
    let middle = |frame: &[u8]| frame[640 * usize::midpoint(top, bottom) + 320];
    assert!(alpha[..5].iter().all(|frame| middle(frame) == 0) && alpha[5..].iter().all(|frame| middle(frame) > 150));
}

/// The caption is still there, and still to be told from its plate, after an encoder that throws much away.
#[test]
fn it_survives_the_encoder() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo(folder);
    rendered(folder, "render flight/flight.toml -o said.mp4 --captions --from 0:18 --to 0:23 --crf 23");
    rendered(folder, "render flight/flight.toml -o plain.mp4 --from 0:18 --to 0:23 --crf 23");
    let (said, plain) = (luma(folder, "said.mp4"), luma(folder, "plain.mp4"));
    // Large differences alone: two encodings differ everywhere by a little.
    let far = |frame: usize| said[frame].iter().zip(&plain[frame]).filter(|(a, b)| a.abs_diff(**b) > 40).count();
    assert!((21..50).all(|frame| far(frame) > 600), "{:?}", (0..50).map(far).collect::<Vec<_>>());
    assert!((0..20).all(|frame| far(frame) < 60), "{:?}", (0..50).map(far).collect::<Vec<_>>());
}
