//! The whole way once: the demo's film rendered with its logs, and twenty frames of the written film read by the ffmpeg tool.
//! Their own numbers against the ledger, and the hands in their pixels against the truth that no logger knew.
#![cfg(feature = "codec")]
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;
mod strip;
#[path = "truth/mod.rs"]
mod truth;

use common::*;
use image::{GrayImage, Luma};
use imageproc::geometric_transformations::{Border, Interpolation, warp_into_with};
use std::path::Path;
use std::process::Command;
use truth::Truth;

const WIDTH: u32 = 1280;
/// The module of a landscape picture is its height.
const M: u32 = 720;
const FPS: f64 = 6.0;

/// These frames of a film in gray, and how many it has.
fn frames(film: &Path, numbers: &[usize]) -> Vec<GrayImage> {
    let wanted: Vec<String> = numbers.iter().map(|n| format!("eq(n\\,{n})")).collect();
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error", "-i"]).arg(film);
    command.args(["-vf", &format!("select={}", wanted.join("+")), "-fps_mode", "passthrough"]);
    let output = command.args("-f rawvideo -pix_fmt gray -".split(' ')).output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{}", said(&output));
    let pictures = output.stdout.chunks_exact((WIDTH * M) as usize);
    pictures.map(|f| GrayImage::from_raw(WIDTH, M, f.to_vec()).expect("size")).collect()
}

/// Stretches of directions, in degrees clockwise from twelve, in which a ring about a middle is as bright as a solid hand.
fn bright(frame: &GrayImage, centre: (f32, f32), radii: (f32, f32), from: f64, to: f64) -> Vec<(f64, f64)> {
    const STEPS: f64 = 4.0;
    /// Between the engine's hand over black and a disc's middle over snow.
    const HAND: f64 = 150.0;
    let columns = ((to - from) * STEPS) as u32;
    let rows = (radii.1 - radii.0).ceil() as u32;
    let mut polar = GrayImage::new(columns, rows);
    let to_frame = |column: f32, row: f32| {
        let (sin, cos) = (from + f64::from(column) / STEPS).to_radians().sin_cos();
        let r = radii.0 + row;
        // A pixel's middle is half a pixel from its corner.
        (centre.0 + r * sin as f32 - 0.5, centre.1 - r * cos as f32 - 0.5)
    };
    warp_into_with(frame, to_frame, Interpolation::Bilinear, Border::Constant(Luma([0])), &mut polar);
    let mean = |x: u32| (0..rows).map(|y| f64::from(polar.get_pixel(x, y)[0])).sum::<f64>() / f64::from(rows);
    let mut runs: Vec<(f64, f64)> = Vec::new();
    for x in (0..columns).filter(|&x| mean(x) > HAND) {
        let at = from + f64::from(x) / STEPS;
        match runs.last_mut() {
            Some(run) if at - run.1 <= 1.0 => run.1 = at,
            _ => runs.push((at, at)),
        }
    }
    runs
}

/// The tachometer's scale as the demo's panel file has it.
fn angle(percent: f64) -> f64 {
    if percent < 80.0 { -142.0 + percent * 52.0 / 80.0 } else { -90.0 + (percent - 80.0) * 4.5 }
}

fn percent(angle: f64) -> f64 {
    if angle < -90.0 { (angle + 142.0) * 80.0 / 52.0 } else { 80.0 + (angle + 90.0) / 4.5 }
}

#[test]
fn what_the_film_shows_is_what_was_true() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    let ran = |line: &str| {
        let output = run(folder, line);
        assert!(output.status.success(), "{line}: {}", said(&output));
    };
    ran(&format!("demo . --seconds 90 --size {WIDTH}x{M} --fps {FPS} --seed 9 --quiet"));
    ran("render flight.toml -o film.mp4 --ledger shown.csv --quiet");

    let truth = Truth::read(folder);
    let film_s = truth.column("film_s");
    let ledger = std::fs::read_to_string(folder.join("shown.csv")).expect("ledger");
    let mut lines = ledger.lines();
    let header: Vec<&str> = lines.next().expect("header").split(',').collect();
    let column = |name: &str| header.iter().position(|h| h.starts_with(name)).unwrap_or_else(|| panic!("no {name}"));
    let rows: Vec<Vec<&str>> = lines.map(|line| line.split(',').collect()).collect();
    let oil_state = column("oil.left.state");
    let gone: Vec<usize> = (0..rows.len()).filter(|&n| rows[n][oil_state] == "stale").collect();
    assert!((3..9).contains(&gone.len()), "{} frames without oil pressure", gone.len());
    let mut numbers: Vec<usize> = (0..17).map(|i| 4 + i * (rows.len() - 8) / 16).chain(gone[..3].to_vec()).collect();
    numbers.sort_unstable();
    numbers.dedup();
    let pictures = frames(&folder.join("film.mp4"), &numbers);
    assert!(numbers.len() >= 19 && pictures.len() == numbers.len());

    let (mut apart, mut solid) = (0, 0);
    for (&n, frame) in numbers.iter().zip(&pictures) {
        // The picture's own number, drawn before the camera's file was encoded, and the ledger's time of the written frame.
        let number = strip::number(frame.as_raw(), WIDTH as usize).map(f64::from);
        assert_eq!(number, Some(n as f64), "frame {n}");
        let time: f64 = rows[n][column("pts_s")].parse().expect("seconds");
        assert!((time - n as f64 / FPS).abs() < 1e-6, "frame {n} at {time}");

        // Ring inside of letters and values: rotor and engine are the halves of a leaf, straight edges inward.
        let place = truth.at_clock(film_s, time);
        let real = |name: &str| truth.value(truth.column(name), place).expect("inside");
        let (rotor, engine) = (real("engine.Rotor [%]"), real("engine.Engine [%]"));
        let r = 0.300 / 2.0 * M as f32;
        let centre = (WIDTH as f32 - 0.172 * M as f32, M as f32 - 0.172 * M as f32);
        let runs = bright(frame, centre, (0.18 * r, 0.30 * r), -172.0, 120.0);
        let (low, high) = (rotor.min(engine), rotor.max(engine));
        let shown = match runs[..] {
            // Joined: between the outer edges of the whole leaf, through its seam.
            [(from, to)] | [(from, _), (_, to)] if high - low < 1.5 => {
                vec![((from + to) / 2.0, (angle(low) + angle(high)) / 2.0)]
            }
            [(_, behind), (ahead, _)] => {
                apart += 1;
                vec![(behind, angle(low)), (ahead, angle(high))]
            }
            [(from, to)] => vec![((from + to) / 2.0, (angle(low) + angle(high)) / 2.0)],
            _ => panic!("frame {n}, rotor {rotor:.1}, engine {engine:.1}: hands at {runs:?}"),
        };
        for (measured, expected) in shown {
            let off = percent(measured) - percent(expected);
            assert!(
                off.abs() < 0.02 * 120.0,
                "frame {n}: rotor {rotor:.1}, engine {engine:.1}; a hand stands at {measured:.1} instead of {expected:.1} degrees"
            );
        }

        // A recorded pressure has a solid hand on the left half of its dial; one that is gone has none as bright.
        let r = 0.1890 / 2.0 * M as f32;
        let centre = (WIDTH as f32 - 0.428 * M as f32, M as f32 - 0.117 * M as f32);
        let pressure = real("engine.Oil P [psi]");
        // Beside the values and the numeral, where it stands in flight.
        let hands = bright(frame, centre, (0.38 * r, 0.54 * r), -125.0, -70.0);
        match rows[n][oil_state] {
            "measured" if (30.0..75.0).contains(&pressure) => {
                solid += 1;
                let [hand] = hands[..] else { panic!("frame {n}: {hands:?}") };
                // 0 psi at -140 degrees, 120 at -40.
                let shown = ((hand.0 + hand.1) / 2.0 + 140.0) * 1.2;
                assert!((shown - pressure).abs() < 0.02 * 120.0, "frame {n}: {shown:.1} psi shown, {pressure:.1} true");
            }
            "stale" => assert!(hands.is_empty(), "frame {n} still shows a hand: {hands:?}"),
            _ => {}
        }
    }
    assert!(apart >= 2 && solid >= 12, "{apart} frames with hands apart, {solid} with oil pressure");
}
