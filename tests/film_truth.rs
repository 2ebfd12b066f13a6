//! A film of an invented flight with two logs: every row of its ledger against the closed form, and the hands with it.
#![cfg(feature = "codec")]
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;
#[path = "truth/mod.rs"]
mod truth;

use common::*;
use jumpseat::demo::{self, DemoOptions};
use truth::{STEP_S, Truth, interval, resolution};

/// How far the marks join film and session: each is given to a hundredth of a second on every clock.
const FILM_CLOCK_S: f64 = 0.03;

#[test]
fn the_ledger_of_a_two_log_film_is_the_truth() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo::write(folder, &DemoOptions { seconds: 90.0, seed: 7, film: true }).expect("flight");
    make_clip(
        folder,
        "cockpit.mp4",
        "-f lavfi -i testsrc2=s=640x360:r=15:d=110 -c:v libx264 -preset ultrafast -pix_fmt yuv420p",
    );
    let check = run(folder, "check flight.toml");
    assert!(check.status.success(), "{}", said(&check));
    let output = run(folder, "render flight.toml -o film.mp4 --ledger shown.csv --speed fastest --quiet");
    assert!(output.status.success(), "{}", said(&output));
    assert_eq!(frame_ticks(&folder.join("film.mp4")).len(), 1650);

    // What each instrument shows, from the panel file as a person reads it.
    let panel = std::fs::read_to_string(folder.join("panel.toml")).expect("panel");
    let mut channels = std::collections::HashMap::new();
    let (mut name, mut side) = ("", "value");
    for line in panel.lines().take_while(|l| !l.starts_with("[[lamp]]")) {
        let value = || line.split('"').nth(1).expect("a text");
        if line.starts_with("name") {
            (name, side) = (value(), "value");
        } else if let Some(table) = line.strip_prefix("[instrument.") {
            side = table.trim_end_matches(']');
        } else if let Some(key) =
            ["channel", "rotor", "engine"].into_iter().find(|k| line.starts_with(&format!("{k} = \"")))
        {
            // A tachometer names a channel for each hand, a pair has a table for each; other faces have one hand, `value`.
            let hand = if key == "channel" { side } else { key };
            channels.insert(format!("{name}.{hand}"), value().to_owned());
        }
    }
    let truth = Truth::read(folder);
    let film_clock = truth.column("film_s");
    let mut ledger = csv::Reader::from_path(folder.join("shown.csv")).expect("ledger");
    let heads = ledger.headers().expect("header").clone();
    let (header, banner) = {
        let all: Vec<&str> = heads.iter().collect();
        let start = all.iter().position(|head| *head == "banner.first").expect("a banner");
        assert_eq!(all[start..], ["banner.first", "banner.second"]);
        (all[..start].to_vec(), start)
    };
    let mut sentences = 0;
    // Hands come in pairs of value and state; lamps and alerts follow, a word each.
    let hands = header.iter().position(|head| head.ends_with(".recorded")).expect("lamps");
    let lamps: Vec<(usize, usize)> = (hands..header.len())
        .filter_map(|i| {
            let name = header[i].strip_suffix(".recorded")?;
            let table = panel.split("[[lamp]]").find(|table| table.contains(&format!("name = \"{name}\"")))?;
            let channel = table.lines().find(|line| line.starts_with("channel"))?.split('"').nth(1)?;
            Some((i, truth.column(channel)))
        })
        .collect();
    assert_eq!(lamps.len(), 7);
    let words = ["off", "on", "in_transit", "disagree", "unknown", "not_recorded"];
    let drives = ["not_judged", "together", "rotor_ahead", "slipping", "apart"];
    let [rotor, engine, clutch] =
        ["Rotor [%]", "Engine [%]", "Clutch Engaged"].map(|name| truth.column(&format!("engine.{name}")));
    let mut named = [0; 5];
    let (mut compared, mut without) = (0, 0);
    for (n, line) in ledger.records().enumerate() {
        let line = line.expect("a row");
        let cells: Vec<&str> = line.iter().take(banner).collect();
        // As many sentences as limits are passed, but two at most; those whose data have ended come after them.
        let passed = (hands..banner).filter(|&i| header[i].ends_with(".calc") && cells[i] == "on").count();
        let said = [&line[banner], &line[banner + 1]].into_iter().filter(|text| text.contains(", for ")).count();
        assert_eq!(said, passed.min(2), "{line:?}");
        sentences += said;
        let film = n as f64 / 15.0;
        assert!((cells[1].parse::<f64>().expect("pts") - film).abs() < 1e-5);
        let place = truth.at_clock(film_clock, film);
        assert_eq!(cells.len(), header.len());
        let (drive, others) = cells[hands..].split_last().expect("words");
        assert!(others.iter().all(|cell| words.contains(cell)), "{line:?}");
        // A difference must have lasted for the rule's time, shortened to a tenth of a second and a half as the flight is.
        let drive = drives.iter().position(|word| word == drive).expect("a word for the drive");
        named[drive] += 1;
        let (from, to) = (place - 0.45 / STEP_S, place + 0.05 / STEP_S);
        let apart = truth.values(rotor, from, to).into_iter().zip(truth.values(engine, from, to)).map(|(r, e)| r - e);
        let engaged = truth.values(clutch, place - 1.0, place + 1.0).contains(&1.0);
        let apart: Vec<f64> = apart.collect();
        let may = match drive {
            2 => apart.iter().any(|s| *s > 1.8),
            3 => engaged && apart.iter().any(|s| *s < -1.8),
            4 => apart.iter().any(|s| s.abs() > 1.8),
            1 => apart.iter().any(|s| s.abs() < 2.2),
            _ => true,
        };
        assert!(may, "{} at {film:.3}, {apart:?} %", drives[drive]);
        for &(i, column) in &lamps {
            let lit = match cells[i] {
                "off" => 0.0,
                "on" | "in_transit" => 1.0,
                _ => continue,
            };
            // At the end of the log its last word is held for a while.
            if truth.value(column, place + 1.0 / STEP_S).is_none() {
                continue;
            }
            let (back, ahead) = ((interval("engine.Lamp") + 2.0 * FILM_CLOCK_S) / STEP_S, 2.0 * FILM_CLOCK_S / STEP_S);
            let could = truth.values(column, place - back, place + ahead);
            assert!(could.contains(&lit), "{} is {} at {film:.3}", header[i], cells[i]);
            compared += 1;
        }
        for i in (4..hands).step_by(2) {
            let (hand, unit) = header[i].split_once(" [").map_or((header[i], None), |(hand, unit)| (hand, Some(unit)));
            let channel = unit.map_or(channels[hand].clone(), |unit| format!("{} [{unit}", channels[hand]));
            let column = truth.column(&channel);
            match (cells[i].parse::<f64>(), cells[i + 1]) {
                (Ok(value), "measured" | "off_scale_low" | "off_scale_high") => {
                    let Some(real) = truth.value(column, place) else { continue };
                    let tolerance =
                        truth.tolerance(column, place, resolution(&channel), interval(&channel), FILM_CLOCK_S);
                    assert!(
                        (value - real).abs() <= tolerance,
                        "{channel} at {film:.3}: shown {value}, true {real}, tolerance {tolerance}"
                    );
                    compared += 1;
                }
                (Ok(_), "held") => {}
                (Err(_), "stale" | "invalid") => without += 1,
                other => panic!("{channel} at {film:.3}: {other:?}"),
            }
        }
    }
    assert!(named[1] > 900 && named[2] > 40 && named[3] > 8, "{drives:?}: {named:?} frames");
    // Of the droop alone: on the ground the rule for a low rotor is disarmed.
    assert!((6..40).contains(&sentences), "{sentences} sentences on the banner");
    assert!(compared > 10_000 && without > 100, "{compared} compared, {without} without a number");
}
