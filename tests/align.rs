//! `jumpseat align` on the compiled program: evidence alone, wrong evidence, the written fit, joined files, marks by events.
#![cfg(feature = "codec")]
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;

use common::*;
use jumpseat::demo::{self, DemoOptions};
use serde_json::Value;
use std::path::Path;

/// An invented flight with a film of plain pictures that is as long and was made when the invented one was.
struct Flight {
    folder: tempfile::TempDir,
    text: String,
    /// Air log's time at film time 0, and its seconds a film second.
    offset_s: f64,
    rate: f64,
    /// UTC of film time 0.
    start: jiff::Timestamp,
}

impl Flight {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("folder");
        demo::write(folder.path(), &DemoOptions { seconds: 60.0, seed: 3, film: true }).expect("flight");
        let truth = std::fs::read_to_string(folder.path().join("truth.csv")).expect("truth");
        let row = |line: &str| {
            let mut cells = line.split(',').map(|c| c.parse::<f64>().expect("number"));
            [(); 4].map(|()| cells.next().expect("cell"))
        };
        let (first, last) = (row(truth.lines().nth(1).expect("row")), row(truth.lines().last().expect("row")));
        let rate = (last[1] - first[1]) / (last[3] - first[3]);
        let offset_s = first[1] - first[3] * rate;
        let air = std::fs::read_to_string(folder.path().join("air.csv")).expect("log");
        let stamp = air.lines().nth(1).and_then(|l| l.split(',').next()).expect("stamp");
        let first: jiff::Timestamp = stamp.parse().expect("instant");
        let start = first + jiff::SignedDuration::from_secs_f64(offset_s);
        let text = std::fs::read_to_string(folder.path().join("flight.toml")).expect("file");
        make_clip(
            folder.path(),
            "plain.mp4",
            "-f lavfi -i testsrc2=s=1280x720:r=10:d=50 -c:v libx264 -preset ultrafast -pix_fmt yuv420p -g 10",
        );
        let flight = Self { folder, text, offset_s, rate, start };
        flight.film("");
        flight
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    /// The film, with other dates.
    fn film(&self, tags: &str) {
        make_clip(self.path(), "cockpit.mp4", &format!("-i plain.mp4 -c copy -map_metadata -1 {tags}"));
    }

    /// The creation time that a camera writes whose clock is ahead by so much.
    fn created(&self, ahead_s: i64) -> String {
        let second = self.start.as_second() + ahead_s;
        format!("-metadata creation_time={}", jiff::Timestamp::from_second(second).expect("instant"))
    }

    fn without_marks(&self) -> String {
        self.text.split("\n# light-off").next().expect("text").to_owned()
    }

    fn write(&self, text: &str) {
        std::fs::write(self.path().join("flight.toml"), text).expect("written");
    }

    fn align(&self, arguments: &str) -> (Option<i32>, Value, String) {
        let output = run(self.path(), &format!("align flight.toml --json {arguments}"));
        let document = serde_json::from_slice(&output.stdout).expect("one JSON document");
        (output.status.code(), document, String::from_utf8_lossy(&output.stderr).into_owned())
    }

    /// How far the film's row on the air log is from the truth at a film time.
    fn miss(&self, document: &Value, film_s: f64) -> f64 {
        let row = &document[0];
        assert_eq!((row["film"].as_str(), row["log"].as_str()), (Some("film"), Some("air")), "{row}");
        let number = |key: &str| row[key].as_f64().unwrap_or_else(|| panic!("{key}: {row}"));
        number("offset_s") + number("rate") * film_s - (self.offset_s + self.rate * film_s)
    }
}

fn used(document: &Value) -> Vec<(String, bool)> {
    let evidence = document[0]["evidence"].as_array().expect("evidence");
    let one = |e: &Value| (e["why"].as_str().expect("why").to_owned(), e["used"].as_bool().expect("used"));
    evidence.iter().map(one).collect()
}

#[test]
fn each_clue_alone_and_wrong_clues() {
    let flight = Flight::new();

    // Marks alone.
    let (code, marks, said) = flight.align("");
    assert_eq!(code, Some(0), "{said}");
    assert!(flight.miss(&marks, 25.0).abs() < 0.02, "{marks}");

    // Creation time alone: a second, and a warning, for a second's third is more than a quarter of a second.
    flight.write(&flight.without_marks().replace("[[log]]\nname = \"engine\"\nfile = \"engine.csv\"\n", ""));
    flight.film(&flight.created(0));
    let (code, created, said) = flight.align("");
    assert_eq!(code, Some(0), "{said}");
    assert!(flight.miss(&created, 25.0).abs() < 1.0 && said.contains("0.29 s only"), "{said}");
    assert_eq!(flight.align("--strict").0, Some(2));
    let limited = format!("{}\n[clock]\nlimit = 0.5\n", flight.without_marks())
        .replace("[[log]]\nname = \"engine\"\nfile = \"engine.csv\"\n", "");
    flight.write(&limited);
    assert_eq!(flight.align("--strict").0, Some(0), "the owner's limit");

    // A camera two hours ahead of UTC: found out, told, and right.
    flight.film(&flight.created(7200));
    let (_, local, said) = flight.align("");
    assert!(flight.miss(&local, 25.0).abs() < 1.0 && said.contains("local time 2 h ahead"), "{said}");

    // The same beside marks: they hold, and the stamp that is used is the one that agrees.
    flight.write(&flight.text);
    let (code, both, said) = flight.align("");
    assert_eq!(code, Some(0), "{said}");
    assert!(flight.miss(&both, 25.0).abs() < 0.03, "{both}");

    // A camera set wrong by seven seconds gives way to the marks.
    flight.film(&flight.created(7));
    let (_, wrong, said) = flight.align("");
    assert!(flight.miss(&wrong, 25.0).abs() < 0.02 && said.contains("creation time: refused"), "{said}");
    assert_eq!(flight.align("--strict").0, Some(2));

    // One mark a minute off: the creation time tells which.
    flight.film(&flight.created(0));
    let minute = flight.text.replacen("film = \"0:5", "film = \"1:5", 1);
    assert_ne!(minute, flight.text, "{minute}");
    flight.write(&minute);
    let (_, off, said) = flight.align("");
    assert!(flight.miss(&off, 25.0).abs() < 0.05, "{said}");
    assert!(used(&off).iter().any(|(why, used)| why.starts_with("mark 2: refused") && !used), "{off}");
    // Without it nothing does, and nothing is averaged.
    flight.film("");
    let (code, _, said) = flight.align("");
    assert!(code == Some(2) && said.contains("mark 1 and mark 2 contradict each other"), "{said}");
}

#[test]
fn a_clock_in_the_picture_and_an_event_in_a_log() {
    let flight = Flight::new();
    let base = flight.without_marks();
    // A chip light, as its log has it: the first record with it lit is at most a tenth of a second late.
    let engine = std::fs::read_to_string(flight.path().join("engine.csv")).expect("log");
    let head: Vec<&str> = engine.lines().next().expect("head").split(',').collect();
    let column = head.iter().position(|c| *c == "Lamp Chip").expect("lamp");
    let rows: Vec<Vec<&str>> = engine.lines().skip(2).map(|l| l.split(',').collect()).collect();
    let first_ms: f64 = rows[0][0].parse().expect("number");
    let lit = rows.iter().position(|r| r[column] == "1").expect("lit");
    let lit_s = (rows[lit][0].parse::<f64>().expect("number") - first_ms) / 1000.0 - 0.05;
    let (_, marks, _) = flight.align("");
    let on_engine = &marks[1];
    let number = |key: &str| on_engine[key].as_f64().expect("number");
    let film_s = (lit_s - number("offset_s")) / number("rate");
    let five = (flight.start + jiff::SignedDuration::from_secs(5)).to_string();
    let text = format!(
        "{base}\n[[clock.mark]]\nevent = \"engine.Lamp Chip rises\"\nfilm = \"{film_s:.3}\"\n\n\
         [[clock.mark]]\nutc = \"{five}\"\nfilm = \"5\"\n"
    );
    flight.write(&text);
    let (code, document, said) = flight.align("");
    assert_eq!(code, Some(0), "{said}");
    assert!(flight.miss(&document, 25.0).abs() < 0.1, "{document}");
    assert!((document[1]["offset_s"].as_f64().expect("offset") - number("offset_s")).abs() < 0.05, "{document}");
    // What happens more than once must be told apart, and what never does is told.
    for (event, says) in [
        ("engine.Volts crosses 27 V", "does so"),
        ("engine.Volts crosses 900 V", "does so 0 times"),
        ("engine.Lamp Chipp rises", "the nearest is \"engine.Lamp Chip\""),
        ("engine.Lamp Chip jumps", "expected CHANNEL rises"),
    ] {
        flight.write(&text.replace("engine.Lamp Chip rises", event));
        let (code, _, said) = flight.align("");
        assert!(code == Some(2) && said.contains(says), "{event}: {said}");
    }
}

/// The file stays as it is but for its fits, which are then used; a second time changes nothing.
#[test]
fn the_written_fit_is_used_and_the_text_is_kept() {
    let flight = Flight::new();
    let before = flight.align("").1;
    assert_eq!(flight.align("--write").0, Some(0));
    let read = || std::fs::read_to_string(flight.path().join("flight.toml")).expect("file");
    let once = read();
    assert!(once.starts_with(flight.text.trim_end()) && once.contains("[[clock.fit]]"), "{once}");
    assert_eq!(flight.align("--write").0, Some(0));
    assert_eq!(read(), once);
    assert_eq!(flight.align("").1, before, "it is computed from the evidence all the same");
    let session = |text: &str| {
        flight.write(text);
        let output = run(flight.path(), "readings flight.toml -o - --at-frames --channels IAS");
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        let row = text.lines().nth(101).expect("row").split(',').next().expect("cell").to_owned();
        (row.parse::<f64>().expect("number"), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let plain = session(&once).0;
    let offset = before[0]["offset_s"].as_f64().expect("number");
    assert!((plain - offset - 10.0 * before[0]["rate"].as_f64().expect("rate")).abs() < 1e-4);
    // An owner who shifts it by hand is followed, and warned.
    let line = once.lines().find(|l| l.starts_with("offset = ")).expect("offset");
    let shifted = once.replace(line, &format!("offset = {:.3}", offset + 1.5));
    assert!((session(&shifted).0 - plain - 1.5).abs() < 1e-3);
    assert!(flight.align("").2.contains("written fit lies +1.5"), "{}", flight.align("").2);
}

/// Three files of one recording are one film: as many frames, at the same times.
#[test]
fn the_files_of_one_recording_are_one_film() {
    let flight = Flight::new();
    make_clip(flight.path(), "part%d.mp4", "-i plain.mp4 -c copy -f segment -segment_time 17 -reset_timestamps 1");
    let times = |text: &str| {
        flight.write(text);
        let output = run(flight.path(), "readings flight.toml -o - --at-frames --channels IAS");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let text = String::from_utf8_lossy(&output.stdout).into_owned();
        let film = |line: &str| line.split(',').nth(2).expect("film_s").parse::<f64>().expect("number");
        text.lines().skip(1).map(film).collect::<Vec<_>>()
    };
    let whole = times(&flight.text);
    let split = flight.text.replace("\"cockpit.mp4\"", "[\"part0.mp4\", \"part1.mp4\", \"part2.mp4\"]");
    let parts = times(&split);
    assert_eq!((whole.len(), parts.len()), (500, 500));
    for (a, b) in whole.iter().zip(&parts) {
        assert!((a - b).abs() < 1e-4, "{a} {b}");
    }
    // The frame behind the second join, as a picture.
    let still = |text: &str, name: &str| {
        flight.write(text);
        let output = run(flight.path(), &format!("still flight.toml --at 34.05 --no-panel -o {name}"));
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        std::fs::read(flight.path().join(name)).expect("picture")
    };
    assert!(still(&flight.text, "a.png") == still(&split, "b.png"));
    // Out of their order, or one of them missing: told by the names, and an error where the owner is strict.
    for (files, says) in [
        ("[\"part1.mp4\", \"part0.mp4\", \"part2.mp4\"]", "by its name part0.mp4 was recorded before part1.mp4"),
        ("[\"part0.mp4\", \"part2.mp4\"]", "number 1 is missing between part0.mp4 and part2.mp4"),
    ] {
        flight.write(&flight.text.replace("\"cockpit.mp4\"", files));
        assert!(flight.align("").2.contains(says), "{}", flight.align("").2);
        assert_eq!(flight.align("--strict").0, Some(2));
        assert!(said(&run(flight.path(), "check flight.toml")).contains(says));
    }
    // A file of another kind is refused, by its name.
    make_clip(flight.path(), "other.mp4", "-f lavfi -i testsrc2=s=640x360:r=10:d=2 -c:v libx264 -pix_fmt yuv420p");
    flight.write(&split.replace("part1.mp4", "other.mp4"));
    let (code, _, said) = flight.align("");
    assert!(code == Some(2) && said.contains("other.mp4") && said.contains("of another kind"), "{said}");
}

/// A second camera has a clock of its own, and is chosen by its name.
#[test]
fn a_second_camera_has_its_own_fit() {
    let flight = Flight::new();
    make_clip(flight.path(), "tail.mp4", "-ss 10 -i plain.mp4 -c copy");
    let text = flight.text.replacen("[[log]]", "[[film]]\nname = \"tail\"\nfile = \"tail.mp4\"\n\n[[log]]", 1);
    let air = text.lines().find_map(|l| l.strip_prefix("air = ")).expect("mark").parse::<f64>().expect("number");
    let text = text.replacen(&format!("air = {air}"), &format!("air = {air}\ntail = \"1\""), 1);
    flight.write(&text);
    let (code, document, said) = flight.align("");
    assert_eq!(code, Some(0), "{said}");
    let row = document.as_array().expect("rows").iter().find(|r| r["film"] == "tail" && r["log"] == "air");
    let row = row.expect("the second camera's row");
    assert!((row["offset_s"].as_f64().expect("offset") + 1.0 - air).abs() < 0.02, "{row}");
    assert!(row["sigma_s"].as_f64() > document[0]["sigma_s"].as_f64(), "one mark is less than two");
    let output = run(flight.path(), "still flight.toml --at 1 --camera tail --no-panel -o tail.png");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let output = run(flight.path(), "still flight.toml --at 1 --camera nose --no-panel -o nose.png");
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.code() == Some(2) && said.contains("there are film, tail"), "{said}");
}

/// `--film` and `--log` stand for a flight file that says no more than that.
#[test]
fn film_and_logs_stand_for_a_flight_file() {
    let flight = Flight::new();
    flight.film(&flight.created(0));
    let files = "[[film]]\nfile = \"cockpit.mp4\"\n\n[[log]]\nname = \"air\"\nfile = \"air.csv\"\n";
    flight.write(files);
    let loose = "--film cockpit.mp4 --log air.csv";
    let both = |command: &str, rest: &str| {
        let [one, other] =
            [loose, "flight.toml"].map(|flight_of| run(flight.path(), &format!("{command} {flight_of} {rest}")));
        assert!(one.status.success() && other.status.success(), "{command}: {} {}", said(&one), said(&other));
        assert!(one.stdout == other.stdout && !one.stdout.is_empty(), "{command}");
    };
    both("align", "--json");
    // Its findings name the file that they are about.
    let codes = |flight_of: &str| {
        let output = run(flight.path(), &format!("check {flight_of} --json"));
        let document: Value = serde_json::from_slice(&output.stdout).expect("one JSON document");
        let findings = document["findings"].as_array().expect("findings").clone();
        findings.iter().map(|f| (f["code"].clone(), f["message"].clone())).collect::<Vec<_>>()
    };
    assert!(codes(loose) == codes("flight.toml") && !codes(loose).is_empty(), "{:?}", codes(loose));
    both("readings", "-o - --channels IAS");
    flight.write(&format!("{files}\n[[clock.mark]]\nfilm = \"0\"\nair = 3.25\n"));
    let with_offset = run(flight.path(), &format!("align {loose} --offset 3.25 --json"));
    assert_eq!(with_offset.stdout, run(flight.path(), "align flight.toml --json").stdout);
    // Two logs of one name are told apart, and nothing can be written into no file.
    std::fs::create_dir(flight.path().join("more")).expect("folder");
    std::fs::copy(flight.path().join("air.csv"), flight.path().join("more/air.csv")).expect("copied");
    let two = run(flight.path(), "readings --log air.csv --log more/air.csv -o - --channels air_2.IAS");
    assert!(two.status.success(), "{}", said(&two));
    let write = run(flight.path(), &format!("align {loose} --write"));
    assert!(write.status.code() == Some(2) && said(&write).contains("no flight file"), "{}", said(&write));
}
