//! The needle in the film against the number in the log: real clips, a real engine log, and image analysis of the decoded film.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;

use common::*;
use image::{GrayImage, Luma};
use imageproc::geometric_transformations::{Border, Interpolation, warp_into_with};
use std::path::Path;
use std::process::Command;

/// Frames as a viewer sees them (turned), in gray.
fn shown_frames(film: &Path, width: u32, height: u32) -> Vec<GrayImage> {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error", "-i"]).arg(film);
    command.args("-map 0:V:0 -fps_mode passthrough -f rawvideo -pix_fmt gray -".split(' '));
    let output = command.output().expect("the ffmpeg tool is installed");
    let size = (width * height) as usize;
    assert_eq!(output.stdout.len() % size, 0);
    output.stdout.chunks(size).map(|f| GrayImage::from_raw(width, height, f.to_vec()).expect("size")).collect()
}

/// The angle of the brightest ray from a dial's centre, in degrees clockwise from twelve, by a polar picture of the ring that
/// the hand's belly crosses: four columns a degree, one row a pixel of radius.
fn hand_angle(frame: &GrayImage, centre: (f32, f32), radius: f32) -> f64 {
    const STEPS: usize = 4;
    let (inner, outer) = (0.20 * radius, 0.46 * radius);
    let mut polar = GrayImage::new(360 * STEPS as u32, (outer - inner) as u32);
    let to_frame = |column: f32, row: f32| {
        let (sin, cos) = (column / STEPS as f32).to_radians().sin_cos();
        let r = inner + row;
        (centre.0 + r * sin, centre.1 - r * cos)
    };
    warp_into_with(frame, to_frame, Interpolation::Bilinear, Border::Constant(Luma([0])), &mut polar);
    let ray = |column: usize| -> f64 {
        let column = column % (360 * STEPS);
        (0..polar.height()).map(|y| f64::from(polar.get_pixel(column as u32, y)[0])).sum::<f64>()
            / f64::from(polar.height())
    };
    let profile: Vec<f64> = (0..360 * STEPS).map(ray).collect();
    // The hand's half width at its belly is about six degrees: the window whose mean is greatest holds it.
    let window = 6 * STEPS;
    let mean =
        |c: usize| (0..=2 * window).map(|i| profile[(c + 360 * STEPS + i - window) % (360 * STEPS)]).sum::<f64>();
    let best = (0..360 * STEPS).max_by(|&a, &b| mean(a).total_cmp(&mean(b))).expect("columns");
    // The middle of the light above the window's own floor.
    let around: Vec<(f64, f64)> = (0..=4 * window)
        .map(|i| (i as f64 - 2.0 * window as f64, profile[(best + 360 * STEPS + i - 2 * window) % (360 * STEPS)]))
        .collect();
    let floor = around.iter().map(|a| a.1).sum::<f64>() / around.len() as f64;
    let (sum, weight) = around.iter().fold((0.0, 0.0), |(s, w), (x, v)| {
        let light = (v - floor).max(0.0);
        (s + x * light, w + light)
    });
    let angle = (best as f64 + sum / weight) / STEPS as f64;
    if angle > 180.0 { angle - 360.0 } else { angle }
}

/// `RPM` of the real log, read without any code of the project: one row a second.
fn logged_rpms() -> Vec<f64> {
    let text = std::fs::read_to_string(real("logs/engine_monitor_single_Flt186.csv")).expect("log");
    let column = text.lines().next().expect("header").split(',').position(|c| c.trim() == "RPM").expect("RPM");
    text.lines()
        .skip(2)
        .filter(|line| line.split(',').count() > 20)
        .map(|line| line.split(',').nth(column).expect("cell").trim().parse().expect("number"))
        .collect()
}

/// The logged value at a time in seconds since the first row.
fn at(rpm: &[f64], t: f64) -> f64 {
    let i = (t.floor() as usize).min(rpm.len() - 2);
    rpm[i] + (rpm[i + 1] - rpm[i]) * (t - i as f64)
}

/// Renders a part of a real clip with the real log at this offset and compares every frame's hand, and the ledger, with the log.
/// The scale made for 0 to 2723 rpm runs to 3000; the median of all rpm while it runs stands at twelve, zero at -150 degrees.
fn needle_follows(clip: &str, size: (u32, u32), place: (f32, f32, f32), offset: f64) -> usize {
    let folder = tempfile::tempdir().expect("folder");
    let log = real("logs/engine_monitor_single_Flt186.csv");
    let clip = real("clips").join(clip);
    let arguments = format!(
        "render --film {} --log {} --offset {offset} -o film.mp4 --ledger shown.csv",
        clip.display(),
        log.display()
    );
    let output = run(folder.path(), &arguments);
    assert!(output.status.success(), "{}", said(&output));
    let frames = shown_frames(&folder.path().join("film.mp4"), size.0, size.1);
    let ledger = std::fs::read_to_string(folder.path().join("shown.csv")).expect("ledger");
    let mut rows = ledger.lines();
    let header: Vec<&str> = rows.next().expect("header").split(',').collect();
    let value = header.iter().position(|h| *h == "engine.value [rpm]").expect("engine");
    let (m, from_side, from_bottom) = place;
    let centre = (size.0 as f32 - from_side * m, size.1 as f32 - from_bottom * m);
    let rpm = logged_rpms();
    let mut running: Vec<f64> = rpm.iter().copied().filter(|v| *v >= 272.3).collect();
    running.sort_by(f64::total_cmp);
    let usual = running[running.len() / 2];
    assert!((1500.0..2400.0).contains(&usual), "{usual}");
    let film_times = common::frame_ticks(&folder.path().join("film.mp4"));
    let base = ratio(&film_track(&folder.path().join("film.mp4"))["time_base"]);
    assert_eq!(frames.len(), film_times.len());
    for (n, (frame, row)) in frames.iter().zip(rows).enumerate() {
        let t = offset + (film_times[n] - film_times[0]) as f64 * base;
        let logged = at(&rpm, t);
        let cells: Vec<&str> = row.split(',').collect();
        let shown: f64 = cells[value].parse().expect("a value");
        assert!(
            (shown - logged).abs() < 0.01 && cells[value + 1] == "measured",
            "frame {n}: ledger {shown}, log {logged}"
        );
        let angle = hand_angle(frame, centre, 0.3000 / 2.0 * m);
        let measured = (angle + 150.0) / 150.0 * usual;
        assert!(
            (measured - logged).abs() < 0.02 * 3000.0,
            "frame {n} at {t:.3} s: the hand stands at {measured:.0}, the log says {logged:.0}"
        );
    }
    frames.len()
}

#[test]
fn upright_film() {
    for offset in [0.0, 61.5, 300.25, 901.0, 1500.0] {
        let frames =
            needle_follows("sample_with_htc_rotation_track_name.mkv", (1080, 720), (720.0, 0.172, 0.172), offset);
        assert_eq!(frames, 30);
    }
}

/// A phone held upright: the picture is stored lying, the dial must stand. Below it is the plate of the current, the other
/// column whose name says its unit.
#[test]
fn turned_film() {
    let frames = needle_follows("portrait_4k60.mp4", (2160, 3840), (0.600 * 3840.0, 0.141, 0.231), 440.0);
    assert_eq!(frames, 18);
}
