//! The demo's cockpit film, read by the ffmpeg tools: its frame numbers, times and creation time, and that its dials and
//! its rotor tone follow the truth.
#![cfg(feature = "codec")]
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;
mod strip;
#[path = "truth/mod.rs"]
mod truth;

use common::*;
use std::f64::consts::TAU;
use std::path::Path;
use std::process::Command;
use std::time::Instant;
use truth::Truth;

/// Standard output of the ffmpeg tool.
fn ffmpeg(file: &Path, arguments: &str) -> Vec<u8> {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error", "-i"]).arg(file).args(arguments.split_whitespace()).arg("-");
    let output = command.output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{command:?}: {}", said(&output));
    output.stdout
}

fn demo(folder: &Path, arguments: &str) {
    let start = Instant::now();
    let output = run(folder, &format!("demo {arguments} --quiet"));
    assert!(output.status.success(), "{}", said(&output));
    println!("demo {arguments}: {:.1} s", start.elapsed().as_secs_f64());
}

/// Seconds since midnight of the first record of the air log.
fn first_utc(folder: &Path) -> f64 {
    let log = std::fs::read_to_string(folder.join("air.csv")).expect("air log");
    let stamp = log.lines().nth(1).and_then(|line| line.split(',').next()).expect("a record");
    let time = stamp.strip_prefix("2026-05-17T").and_then(|s| s.strip_suffix('Z')).expect("UTC of the day");
    time.split(':').fold(0.0, |sum, part| sum * 60.0 + part.parse::<f64>().expect("number"))
}

#[test]
fn frames_carry_their_numbers_times_and_the_camera_s_clock() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo(folder, "a --seconds 60 --size 640x360 --fps 10 --seed 3");
    let (flight, film) = (folder.join("a"), folder.join("a/cockpit.mp4"));
    let truth = Truth::read(&flight);
    let film_s = truth.column("film_s");

    // It lasts from its first frame to the last record of the engine log, the rotor having stopped.
    let engine = std::fs::read_to_string(flight.join("engine.csv")).expect("engine log");
    let records = engine.lines().count() - 2;
    let engine_clock = truth.column("engine_s");
    let end_s = truth.value(film_s, truth.at_clock(engine_clock, (records - 1) as f64 / 10.0)).expect("inside");
    let ticks = frame_ticks(&film);
    assert!((ticks.len() as f64 / 10.0 - end_s).abs() < 0.21, "{} frames for {end_s} s", ticks.len());
    let rotor = truth.value(truth.column("engine.Rotor [%]"), truth.at_clock(film_s, end_s));
    assert_eq!(rotor, Some(0.0));

    let track = film_track(&film);
    let tick_s = ratio(&track["time_base"]);
    for (i, tick) in ticks.iter().enumerate() {
        assert!((*tick as f64 * tick_s - i as f64 / 10.0).abs() < 1e-9, "frame {i} at {tick}");
    }
    for (key, value) in
        [("color_range", "tv"), ("color_space", "bt709"), ("color_transfer", "bt709"), ("pix_fmt", "yuv420p")]
    {
        assert_eq!(track[key], value, "{key}");
    }
    let (width, height) = strip::SIZE;
    let strips =
        ffmpeg(&film, &format!("-vf crop={width}:{height}:0:0 -fps_mode passthrough -pix_fmt gray -f rawvideo"));
    let numbers: Vec<Option<u32>> = strips.chunks(width * height).map(|gray| strip::number(gray, width)).collect();
    assert_eq!(numbers, (0..ticks.len() as u32).map(Some).collect::<Vec<_>>());

    // The camera writes whole seconds of a clock that is right.
    let began = first_utc(&flight) + truth.value(truth.column("air_s"), truth.at_clock(film_s, 0.0)).expect("inside");
    let began = began.floor() as u64;
    let expected = format!("2026-05-17T{:02}:{:02}:{:02}.000000Z", began / 3600, began / 60 % 60, began % 60);
    assert_eq!(ffprobe(&film, "-show_format")["format"]["tags"]["creation_time"], expected.as_str());

    let sound = ffprobe(&film, "-select_streams a:0 -show_streams")["streams"][0].clone();
    assert_eq!((&sound["codec_name"], &sound["sample_rate"]), (&"aac".into(), &"48000".into()));
    let sounds_s: f64 = sound["duration"].as_str().and_then(|s| s.parse().ok()).expect("a duration");
    assert!((sounds_s - ticks.len() as f64 / 10.0).abs() < 0.05, "{sounds_s} s of sound");

    // The same seed, the same pictures; another, others.
    let pictures = |file: &Path| String::from_utf8(ffmpeg(file, "-map 0:v -f framemd5")).expect("text");
    demo(folder, "b --seconds 60 --size 640x360 --fps 10 --seed 3");
    demo(folder, "c --seconds 60 --size 640x360 --fps 2 --seed 4");
    assert!(pictures(&film) == pictures(&folder.join("b/cockpit.mp4")), "two runs differ");
    assert!(pictures(&film) != pictures(&folder.join("c/cockpit.mp4")), "the seed changes nothing");

    let check = run(folder, "check a/flight.toml");
    assert!(check.status.success(), "{}", said(&check));
}

/// Direction in degrees clockwise from twelve o'clock in which a ring about `centre` is brightest.
fn brightest(gray: &[u8], stride: usize, centre: (f64, f64), radii: (f64, f64)) -> f64 {
    let at = |x: f64, y: f64| {
        let (i, j, u, v) = (x as usize, y as usize, x.fract(), y.fract());
        let p = |i: usize, j: usize| f64::from(gray[j * stride + i]);
        (p(i, j) * (1.0 - u) + p(i + 1, j) * u) * (1.0 - v) + (p(i, j + 1) * (1.0 - u) + p(i + 1, j + 1) * u) * v
    };
    let along = |degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let steps = 12;
        let radius = |k: i32| radii.0 + (radii.1 - radii.0) * f64::from(k) / f64::from(steps);
        // A pixel's middle is half a pixel from its corner.
        (0..=steps).map(|k| at(centre.0 + radius(k) * sin - 0.5, centre.1 - radius(k) * cos - 0.5)).sum::<f64>()
    };
    let brightness: Vec<f64> = (0..720).map(|i| along(f64::from(i) / 2.0)).collect();
    let peak = (0..720).max_by(|&a, &b| brightness[a].total_cmp(&brightness[b])).expect("some");
    // The middle of the bar: the mean of what is brighter than half the peak's rise.
    let floor = brightness.iter().sum::<f64>() / 720.0;
    let (mut sum, mut weights) = (0.0, 0.0);
    for d in -24..=24 {
        let weight =
            (brightness[(peak as i32 + d).rem_euclid(720) as usize] - 0.5 * (floor + brightness[peak])).max(0.0);
        sum += weight * f64::from(d);
        weights += weight;
    }
    peak as f64 / 2.0 + sum / weights / 2.0
}

#[test]
fn the_pointers_of_the_real_dials_follow_the_truth() {
    let folder = tempfile::tempdir().expect("folder");
    demo(folder.path(), "a --seconds 90 --fps 1 --seed 5");
    let flight = folder.path().join("a");
    let truth = Truth::read(&flight);
    let film_s = truth.column("film_s");
    let frames = ffmpeg(&flight.join("cockpit.mp4"), "-fps_mode passthrough -pix_fmt gray -f rawvideo");
    // Column, centre and radius in pixels, and value and degrees of the scale's ends, as the panel is drawn.
    let dials = [
        ("air.IAS [kt]", (436.0, 411.0), 42.0, [(0.0, -150.0), (120.0, 150.0)]),
        ("air.Vertical Speed [ft/min]", (742.0, 411.0), 42.0, [(-2000.0, -240.0), (2000.0, 60.0)]),
        ("engine.Oil T [°C]", (514.0, 501.0), 31.0, [(0.0, -125.0), (120.0, 125.0)]),
        ("engine.Fuel Flow [US gal/h]", (682.0, 501.0), 31.0, [(0.0, -125.0), (16.0, 125.0)]),
    ];
    let mut seen = [0; 4];
    for (i, gray) in frames.chunks(1280 * 720).enumerate() {
        for (seen, (column, centre, radius, [(v0, d0), (v1, d1)])) in seen.iter_mut().zip(dials) {
            let place = truth.at_clock(film_s, i as f64);
            let Some(value) = truth.value(truth.column(column), place) else { continue };
            let expected = d0 + (value - v0) / (v1 - v0) * (d1 - d0);
            // Below the hub stands the dial's name.
            if expected.rem_euclid(360.0) > 115.0 && expected.rem_euclid(360.0) < 245.0 {
                continue;
            }
            let found = brightest(gray, 1280, centre, (0.34 * radius, 0.50 * radius));
            let off = (found - expected + 540.0).rem_euclid(360.0) - 180.0;
            // The panel trembles by half a pixel, which is two degrees so near the hub.
            assert!(
                off.abs() < 4.0,
                "frame {i}: {column} {value:.1} points to {found:.1}, expected {expected:.1} degrees"
            );
            *seen += 1;
        }
    }
    assert!(seen.iter().all(|&n| n >= 25), "{seen:?} of {} frames", frames.len() / (1280 * 720));
}

/// Strength of a tone in a piece of sound, Hann windowed (one bin of a Fourier sum).
fn strength(samples: &[f32], hz: f64) -> f64 {
    let n = samples.len() as f64;
    let (mut re, mut im) = (0.0, 0.0);
    for (i, s) in samples.iter().enumerate() {
        let i = i as f64;
        let (sin, cos) = (TAU * hz * i / 48_000.0).sin_cos();
        let windowed = f64::from(*s) * (0.5 - 0.5 * (TAU * i / n).cos());
        re += windowed * cos;
        im += windowed * sin;
    }
    re.hypot(im)
}

#[test]
fn the_rotor_s_tone_follows_the_rotor() {
    let folder = tempfile::tempdir().expect("folder");
    demo(folder.path(), "a --seconds 300 --seed 2 --sound-only");
    let flight = folder.path().join("a");
    assert!(!std::fs::read_to_string(flight.join("flight.toml")).expect("flight file").contains("cockpit"));
    let bytes = ffmpeg(&flight.join("cockpit.m4a"), "-ac 1 -ar 48000 -f f32le");
    let samples: Vec<f32> = bytes.as_chunks::<4>().0.iter().map(|b| f32::from_le_bytes(*b)).collect();
    let loudest = samples.iter().fold(0.0_f32, |m, s| m.max(s.abs()));
    assert!((0.1..0.97).contains(&loudest), "{loudest}");

    let truth = Truth::read(&flight);
    let (film_s, rotor) = (truth.column("film_s"), truth.column("engine.Rotor [%]"));
    let (mut heard, mut slow, mut fast) = (0, 0, 0);
    for second in 0..samples.len() / 48_000 {
        let place = |s: f64| truth.at_clock(film_s, second as f64 + s);
        let values = truth.values(rotor, place(0.0), place(1.0));
        let (least, most) = values.iter().fold((f64::MAX, 0.0_f64), |(l, m), v| (l.min(*v), m.max(*v)));
        if least < 40.0 || most - least > 0.6 {
            continue;
        }
        // The fourth harmonic of the blades' passage, 18 Hz at 100 %.
        let expected = 4.0 * 18.0 * values.iter().sum::<f64>() / values.len() as f64 / 100.0;
        let piece = &samples[second * 48_000..][..48_000];
        let candidates = (-20..=20).map(|i| expected * (1.0 + f64::from(i) * 2e-3));
        let loudest = candidates.map(|hz| (strength(piece, hz), hz)).max_by(|a, b| a.0.total_cmp(&b.0)).expect("some");
        assert!((loudest.1 / expected - 1.0).abs() < 0.01, "second {second}: {} Hz, expected {expected}", loudest.1);
        heard += 1;
        slow += u32::from(most < 70.0);
        fast += u32::from(least > 102.0);
    }
    assert!(heard > 100 && slow >= 3 && fast >= 3, "{heard} {slow} {fast}");
}

#[test]
fn refuses_what_it_cannot_do_before_anything_is_written() {
    let folder = tempfile::tempdir().expect("folder");
    for (arguments, word) in [
        ("--size 641x360", "even"),
        ("--size 318x180", "320 x 180"),
        ("--size 3842x2160", "3840 x 2160"),
        ("--size wide", "1280x720"),
        ("--fps 0", "30000/1001"),
        ("--fps 241", "1 to 240"),
        ("--fps 1/2", "1 to 240"),
        ("--seconds 59", "60"),
        ("--no-film --size 640x360", "--size"),
    ] {
        let output = run(folder.path(), &format!("demo d {arguments}"));
        assert_eq!(output.status.code(), Some(2), "{arguments}");
        assert!(said(&output).contains(word), "{arguments}: {}", said(&output));
    }
    assert!(!folder.path().join("d").exists());
}

#[test]
fn an_interrupt_leaves_nothing() {
    let folder = tempfile::tempdir().expect("folder");
    let mut child = jumpseat(folder.path()).args(["demo", "d", "--quiet"]).spawn().expect("the program starts");
    let dir = folder.path().join("d");
    let start = Instant::now();
    let half = || std::fs::read_dir(&dir).is_ok_and(|d| d.flatten().any(|e| e.metadata().is_ok_and(|m| m.len() > 0)));
    while !half() && start.elapsed().as_secs() < 60 {
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
    let kill = Command::new("kill").args(["-INT", &child.id().to_string()]).status().expect("kill");
    assert!(kill.success());
    assert_eq!(child.wait().expect("an end").code(), Some(130));
    assert_eq!(std::fs::read_dir(&dir).expect("folder").count(), 0);
}
