//! Clocks by sound on the compiled program: films that nothing else joins, logs that are joined through a film alone.
#![cfg(feature = "codec")]
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;

use common::*;
use jumpseat::demo::{self, DemoOptions};
use std::path::Path;
use std::sync::atomic::AtomicBool;

/// An invented flight without dates or marks, and a film of plain pictures with its sound.
struct Sounding {
    folder: tempfile::TempDir,
    options: DemoOptions,
    /// Rows of the truth: true, air, engine and film time.
    truth: Vec<Vec<f64>>,
}

impl Sounding {
    const FILM: &'static str = "[[film]]\nfile = \"cockpit.mp4\"\n";

    fn new() -> Self {
        let folder = tempfile::tempdir().expect("folder");
        let options = DemoOptions { seconds: 60.0, seed: 3, film: true };
        demo::write(folder.path(), &options).expect("flight");
        let truth = std::fs::read_to_string(folder.path().join("truth.csv")).expect("truth");
        let row = |line: &str| line.split(',').take(4).filter_map(|c| c.parse().ok()).collect();
        let flight = Self { truth: truth.lines().skip(1).map(row).collect(), folder, options };
        flight.film(Some(flight.options.seed));
        flight
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    /// The film with the sound of a seed's flight, or with none.
    fn film(&self, seed: Option<u64>) {
        let picture = "-f lavfi -i testsrc2=s=320x240:r=10:d=58";
        let rest = "-map_metadata -1 -c:v libx264 -preset ultrafast -pix_fmt yuv420p -shortest";
        let Some(seed) = seed else {
            make_clip(self.path(), "cockpit.mp4", &format!("{picture} {rest}"));
            return;
        };
        let sound = tempfile::tempdir().expect("folder");
        demo::film::write_sound(sound.path(), &DemoOptions { seed, ..self.options }, &AtomicBool::new(false))
            .expect("sound");
        let sound = sound.path().join("cockpit.m4a");
        make_clip(self.path(), "cockpit.mp4", &format!("{picture} -i {} -c:a copy {rest}", sound.display()));
    }

    fn write(&self, text: &str) {
        std::fs::write(self.path().join("flight.toml"), text).expect("written");
    }

    /// A clock's time at film time 20 s: column 1 is the air log's, 2 the engine log's.
    fn at_twenty(&self, column: usize) -> f64 {
        let row = &self.truth[self.truth.partition_point(|row| row[3] < 20.0)];
        row[column] - row[3] + 20.0
    }

    /// The rows of `align --json`, and what was said.
    fn align(&self, arguments: &str) -> (serde_json::Value, String) {
        let output = run(self.path(), &format!("align flight.toml --json {arguments}"));
        (serde_json::from_slice(&output.stdout).expect("one JSON document"), said(&output))
    }
}

fn log(name: &str, file: &str, keys: &str) -> String {
    format!("\n[[log]]\nname = \"{name}\"\nfile = \"{file}\"\n{keys}")
}

#[test]
fn align_listens_where_nothing_else_is_known() {
    let flight = Sounding::new();
    let offset_s = flight.at_twenty(2) - 20.0;
    let text = Sounding::FILM.to_owned() + &log("engine", "engine.csv", "");
    flight.write(&text);
    let (rows, told) = flight.align("--plot clocks.png --write");
    let row = &rows[0];
    let number = |key: &str| row[key].as_f64().unwrap_or_else(|| panic!("{key}: {row} {told}"));
    assert!((number("offset_s") - offset_s).abs() < 0.1, "{offset_s}: {row}");
    assert!(number("sigma_s") < 0.05 && row["evidence"][0]["kind"] == "sound", "{row}");
    assert!(flight.path().join("clocks.png").is_file());
    // Other commands listen too where nothing else joins film and log, and take the written fit where there is one.
    let still = run(flight.path(), "still flight.toml --at 0:20 -o still.png");
    assert!(said(&still).contains("the written fit"), "{}", said(&still));
    flight.write(&text);
    let still = run(flight.path(), "still flight.toml --at 0:20 -o again.png");
    assert!(said(&still).contains("by sound: a tone"), "{}", said(&still));

    flight.film(None);
    let (rows, told) = flight.align("");
    assert!(rows[0]["offset_s"].is_null() && told.contains("the film has no sound"), "{rows} {told}");
    // Another flight's sound.
    flight.film(Some(4));
    let (rows, told) = flight.align("");
    assert!(rows[0]["offset_s"].is_null() && told.contains("another flight"), "{rows} {told}");
}

/// Nothing joins the film's log to the reference: where film and log meet is said, and what is missing; one mark of both logs is enough.
#[test]
fn a_film_on_a_log_that_nothing_joins_to_the_reference() {
    let flight = Sounding::new();
    let text =
        Sounding::FILM.to_owned() + &log("air", "air.csv", "reference = true\n") + &log("engine", "engine.csv", "");
    flight.write(&text);
    let (rows, told) = flight.align("");
    let row = |log: &str| {
        rows.as_array().expect("rows").iter().find(|r| r["film"] == "film" && r["log"] == log).expect("row")
    };
    assert!(row("air")["offset_s"].is_null(), "{rows}");
    let offset_s = row("engine")["offset_s"].as_f64().expect("the film is on the engine log");
    assert!((offset_s + 20.0 - flight.at_twenty(2)).abs() < 0.1, "{rows}");
    let alone = "nothing joins the clock of the log `engine` to that of the reference log `air`: it is joined to the film `film` alone";
    assert!(told.contains(alone), "{told}");
    let table = run(flight.path(), "align flight.toml");
    let table = String::from_utf8_lossy(&table.stdout).into_owned();
    assert!(table.contains("the film is joined to engine, and what is missing is a mark of engine and air"), "{table}");
    let mark = format!("\n[[clock.mark]]\nair = {}\nengine = {}\n", flight.at_twenty(1), flight.at_twenty(2));
    flight.write(&(text + &mark));
    let (rows, told) = flight.align("");
    assert!((rows[0]["offset_s"].as_f64().expect("offset") + 20.0 - flight.at_twenty(1)).abs() < 0.1, "{rows} {told}");
}

/// The engine logger went off and on in flight, and its count began anew. One mark joins the first part; the second one is joined by the
/// film's sound, to which every command listens for it, and shares the first one's rate.
#[test]
fn a_logger_that_restarted_is_joined_part_by_part() {
    let flight = Sounding::new();
    let engine = std::fs::read_to_string(flight.path().join("engine.csv")).expect("log");
    let lines: Vec<&str> = engine.lines().collect();
    let (head, rows) = lines.split_at(2);
    let cell = |row: &str| {
        row.split_once(',').map(|(ms, rest)| (ms.parse::<i64>().expect("ms"), rest.to_owned())).expect("row")
    };
    let first = cell(rows[0]).0;
    // It is off for a second and a half while the rotor turns.
    let (off, on) =
        (first + 1000 * (flight.at_twenty(2) + 6.0) as i64, first + 1000 * (flight.at_twenty(2) + 6.0) as i64 + 1500);
    let mut text: Vec<String> = head.iter().map(ToString::to_string).collect();
    text.extend(rows.iter().filter(|row| cell(row).0 < off).map(ToString::to_string));
    text.extend(head.iter().map(ToString::to_string));
    let after = rows.iter().map(|row| cell(row)).filter(|(ms, _)| *ms >= on);
    text.extend(after.map(|(ms, rest)| format!("{},{rest}", ms - on)));
    std::fs::write(flight.path().join("restarted.csv"), text.join("\n") + "\n").expect("written");
    let logs = log("air", "air.csv", "reference = true\n")
        + &log("before", "restarted.csv", "power_up = 1\n")
        + &log("after", "restarted.csv", "power_up = 2\n");
    let (air, before) = (flight.at_twenty(1), flight.at_twenty(2));
    let mark = format!("\n[[clock.mark]]\nair = {air}\nbefore = {before}\nfilm = \"0:20\"\n");
    flight.write(&(Sounding::FILM.to_owned() + &logs + &mark));

    let (rows, told) = flight.align("");
    let row = |log: &str| {
        rows.as_array().expect("rows").iter().find(|r| r["film"] == "film" && r["log"] == log).expect("row")
    };
    let number = |log: &str, key: &str| row(log)[key].as_f64().unwrap_or_else(|| panic!("{log} {key}: {rows} {told}"));
    let on_s = (on - first) as f64 / 1000.0;
    for (log, at_twenty) in [("before", before), ("after", before - on_s)] {
        let there = number(log, "offset_s") + 20.0 * number(log, "rate");
        assert!((there - at_twenty).abs() < 0.1, "{log}: {there} {at_twenty}");
    }
    assert!((number("before", "rate") - number("after", "rate")).abs() < 1e-9, "{rows}");
    assert_eq!((row("before")["segment"].as_u64(), row("after")["segment"].as_u64()), (Some(1), Some(2)));

    // What the second part recorded stands at its own time in the readings, and nothing while the logger was off.
    let output = run(flight.path(), "readings flight.toml -o - --every 0.1s --channels before.Rotor,after.Rotor");
    assert!(output.status.success(), "{}", said(&output));
    let table = String::from_utf8_lossy(&output.stdout).into_owned();
    let rotor = |film_s: f64| {
        let near =
            |line: &&str| line.split(',').nth(2).and_then(|t| t.parse::<f64>().ok()).is_some_and(|t| t >= film_s);
        let line = table.lines().skip(1).find(near).expect("row");
        line.split(',').skip(3).step_by(2).map(|cell| cell.parse::<f64>().ok()).collect::<Vec<_>>()
    };
    assert!(
        matches!(rotor(24.0)[..], [Some(_), None]) && matches!(rotor(30.0)[..], [None, Some(_)]),
        "{:?}",
        rotor(30.0)
    );
    let still = run(flight.path(), "still flight.toml --at 0:30 -o still.png");
    assert!(still.status.success() && flight.path().join("still.png").is_file(), "{}", said(&still));

    // Listed, both parts are one log: `new` lists them, and a dial shows the speed before and after.
    let made = run(flight.path(), "new made --film cockpit.mp4 --log restarted.csv");
    assert!(made.status.success() && said(&made).contains("nothing stands in the way"), "{}", said(&made));
    let text = std::fs::read_to_string(flight.path().join("made/flight.toml")).expect("flight");
    assert!(text.contains("\npower_up = [1, 2]\n") && text.contains("# \"restarted-2\" = ..."), "{text}");
    let panel = std::fs::read_to_string(flight.path().join("made/panel.toml")).expect("panel");
    assert!(panel.contains("rotor = \"restarted.Rotor\""), "{panel}");
    let output = run(flight.path(), "readings made/flight.toml -o - --every 0.1s --channels restarted.Rotor");
    let table = String::from_utf8_lossy(&output.stdout).into_owned();
    let rotor = |film_s: f64| {
        let near =
            |line: &&str| line.split(',').nth(2).and_then(|t| t.parse::<f64>().ok()).is_some_and(|t| t >= film_s);
        table.lines().skip(1).find(near).expect("row").split(',').skip(3).map(str::to_owned).collect::<Vec<_>>()
    };
    // The logger is off from 26 s to 27.5 s of the film: the last value is held for a second.
    let states = [24.0, 26.5, 27.3, 30.0].map(|film_s| rotor(film_s)[1].clone());
    assert_eq!(states, ["measured", "held", "stale", "measured"], "{}", said(&output));
    let debrief = run(flight.path(), "debrief made/flight.toml -o made/page.html --json");
    let document: serde_json::Value = serde_json::from_slice(&debrief.stdout).expect("one JSON document");
    let quality = document["data_quality"].as_array().expect("a list");
    let told: Vec<_> =
        quality.iter().filter(|q| q["channel"].as_str().is_some_and(|c| c.ends_with(".Rotor"))).collect();
    assert!(told.len() == 1 && told[0]["channel"] == "restarted.Rotor", "{told:?}");
    let restarts =
        document["findings"].as_array().expect("a list").iter().filter(|f| f["code"] == "header_again").count();
    assert_eq!(restarts, 1, "told once, not once a part");
}
