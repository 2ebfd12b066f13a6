//! `jumpseat new`, `readings --at-frames`, and every command with logs that are no tables: the compiled program on made clips and
//! real logs, its outputs read back.
#![cfg(feature = "codec")]
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod common;

use common::*;
use std::path::Path;

/// A clip of four seconds that says when it was made.
fn clip(folder: &Path, made: Option<&str>) {
    let date = made.map(|made| format!(" -metadata creation_time={made}")).unwrap_or_default();
    make_clip(folder, "clip.mp4", &format!("{BASE}{date}"));
}

fn must(folder: &Path, arguments: &str) -> String {
    let output = run(folder, arguments);
    assert!(output.status.success(), "{arguments}: {}", said(&output));
    said(&output)
}

fn refused(folder: &Path, arguments: &str, code: i32) -> String {
    let output = run(folder, arguments);
    assert_eq!(output.status.code(), Some(code), "{arguments}: {}", said(&output));
    said(&output)
}

fn text(folder: &Path, name: &str) -> String {
    std::fs::read_to_string(folder.join(name)).expect(name)
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .expect("folder")
        .map(|entry| entry.expect("entry").file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// Lines that are not comments.
fn live(text: &str) -> Vec<&str> {
    text.lines().filter(|line| !line.starts_with('#') && !line.is_empty()).collect()
}

#[test]
fn the_new_files_serve_at_once() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    clip(folder, None);
    dunlin_log(folder, "dunlin.csv", 6);
    let said = must(folder, "new flights/first --film clip.mp4 --log dunlin.csv --offset 1.5");
    assert!(said.contains("nothing stands in the way"), "{said}");
    let (flight, panel) = (text(folder, "flights/first/flight.toml"), text(folder, "flights/first/panel.toml"));
    for line in [
        "title = \"first\"   # the folder's name",
        "file = \"../../clip.mp4\"",
        "file = \"../../dunlin.csv\"",
        "# clock: a count since power-up, from `time_ms`; first 0, last 6000, in steps of 0.1 s",
        "reference = true   # its clock is the session's: the offset was given on it",
        "\"dunlin\" = 1.5",
    ] {
        assert!(flight.lines().any(|l| l == line), "{line}\n{flight}");
    }
    assert!(panel.contains("# dunlin.EGT: by its column's name and unit (in \u{b0}C); recorded from "), "{panel}");
    // No number of a limit, only places for one.
    let stray = ["limit", "marking", "lamp", "above", "below"];
    assert!(live(&panel).iter().all(|line| stray.iter().all(|word| !line.contains(word))), "{panel}");
    assert!(panel.contains("from the flight manual, which governs") && panel.contains("# above = ..."), "{panel}");

    must(folder, "check flights/first/flight.toml");
    must(folder, "still flights/first/flight.toml --at 1 -o made.png");
    must(folder, "still --film clip.mp4 --log dunlin.csv --offset 1.5 --at 1 -o loose.png");
    let pictures = ["made.png", "loose.png"].map(|name| image::open(folder.join(name)).expect("picture"));
    assert!(pictures[0] == pictures[1], "the written panel is the one that is made without a file");
    must(folder, "render flights/first/flight.toml --from 1 --to 2 -o film.mp4");
    assert_eq!(frame_ticks(&folder.join("film.mp4")).len(), 30);
    must(folder, "panel flights/first/panel.toml -o sheet.svg");

    // The folder is moved with all that belongs to it.
    std::fs::create_dir(folder.join("elsewhere")).expect("folder");
    for name in ["flights", "clip.mp4", "dunlin.csv"] {
        std::fs::rename(folder.join(name), folder.join("elsewhere").join(name)).expect("moved");
    }
    must(folder, "check elsewhere/flights/first/flight.toml");
}

#[test]
fn new_never_overwrites_and_leaves_no_half() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    clip(folder, None);
    dunlin_log(folder, "dunlin.csv", 6);
    std::fs::write(folder.join("notes.txt"), "no log").expect("file");
    for (bad, why) in [
        ("--film clip.mp4 --log notes.txt", "notes.txt"),
        ("--film missing.mp4 --log dunlin.csv", "missing.mp4"),
        ("--film clip.mp4 --log missing.csv", "missing.csv"),
        ("--film clip.mp4 --log dunlin.csv --offset nan", "--offset takes seconds"),
        ("--log dunlin.csv", "--film"),
    ] {
        assert!(refused(folder, &format!("new a {bad}"), 2).contains(why), "{bad}");
        assert!(!folder.join("a").exists(), "{bad}");
    }
    for taken in ["flight.toml", "panel.toml"] {
        std::fs::create_dir(folder.join("b")).expect("folder");
        std::fs::write(folder.join("b").join(taken), "precious").expect("file");
        let said = refused(folder, "new b --film clip.mp4 --log dunlin.csv", 2);
        assert!(said.contains(taken) && said.contains("never overwritten"), "{said}");
        assert_eq!(
            (names(&folder.join("b")), text(folder, &format!("b/{taken}"))),
            (vec![taken.into()], "precious".into())
        );
        std::fs::remove_dir_all(folder.join("b")).expect("removed");
    }
    let said = refused(folder, "new dunlin.csv --film clip.mp4 --log dunlin.csv", 2);
    assert!(said.contains("choose a folder that may be written"), "{said}");
}

#[test]
fn what_nothing_decides_is_left_to_the_owner() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    clip(folder, Some("2025-05-04T13:12:03Z"));
    let open = "Date;Time;IAS (kt);FF\n".to_owned()
        + &(0..9).map(|s| format!("04/05/2025;13:12:0{s};4{s},5;1{s},5\n")).collect::<String>();
    std::fs::write(folder.join("open dates.csv"), open).expect("log");
    std::fs::copy(folder.join("open dates.csv"), folder.join("film.csv")).expect("log");
    let mut command = jumpseat(folder);
    command.args(["new", "made", "--film", "clip.mp4", "--log", "open dates.csv", "film.csv"]);
    let output = command.output().expect("the program starts");
    assert!(
        output.status.success() && said(&output).contains("nothing joins the clock of the log `film_2`"),
        "{}",
        said(&output)
    );
    let flight = text(folder, "made/flight.toml");
    for line in [
        "# SET THIS: nothing in the log says whether its first stamp is 2025-05-04T13:12:00 or 2025-04-05T13:12:00",
        "# date_order = \"day-first\"",
        "# date_order = \"month-first\"",
        "# zone = \"Area/City\"",
        "# units = { \"FF\" = \"...\" }",
        "# clock: local time of a zone that is not stated, from `Date` and `Time`; first 04/05/2025 13:12:00, last",
        "name = \"open_dates\"   # before its channels' names; from the file's",
        "name = \"film_2\"   # before its channels' names; from the file's",
    ] {
        assert!(flight.lines().any(|l| l == line), "{line}\n{flight}");
    }
    assert!(flight.contains("semicolon") && flight.contains("decimal comma"), "the reasons: {flight}");
    assert!(live(&flight).iter().all(|line| !line.contains("date_order") && !line.contains("zone")), "{flight}");
    refused(folder, "check made/flight.toml", 2);
    // Every commented key is a key that the file takes: set as the comments say, both logs and the film are joined.
    let set = flight.replace("# date_order = \"day-first\"", "date_order = \"day-first\"");
    let set = set.replace("# utc_offset = \"+00:00\"", "utc_offset = \"+00:00\"");
    let set = set.replace("# units = { \"FF\" = \"...\" }", "units = { \"FF\" = \"US gal/h\" }");
    std::fs::write(folder.join("made/flight.toml"), set).expect("written");
    must(folder, "check made/flight.toml");
}

/// What counts on and follows in time is one film; what does not, or is only alike, is left to the owner.
#[test]
fn consecutive_files_become_one_film() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    for (name, made) in [
        ("cockpit-0001.mp4", "2026-05-17T08:30:00Z"),
        ("cockpit-0002.mp4", "2026-05-17T08:30:04Z"),
        ("cockpit-0003.mp4", "2026-05-17T08:41:00Z"),
        ("tail.mp4", "2026-05-17T08:41:00Z"),
    ] {
        make_clip(folder, name, &format!("{BASE} -metadata creation_time={made}"));
    }
    std::fs::write(folder.join("air.csv"), "t (s),IAS (kt)\n0,40\n1,45\n2,50\n").expect("log");
    must(
        folder,
        "new made --film cockpit-0001.mp4 cockpit-0002.mp4 cockpit-0003.mp4 tail.mp4 --log air.csv --offset 0",
    );
    let flight = text(folder, "made/flight.toml");
    let films: Vec<&str> = flight.lines().filter(|line| line.contains("file = ") && line.contains("mp4")).collect();
    let one = "file = [\"../cockpit-0001.mp4\", \"../cockpit-0002.mp4\"]";
    assert_eq!(films, [one, "# file = \"../cockpit-0003.mp4\"", "# file = \"../tail.mp4\""], "{flight}");
    assert!(flight.contains("# 8.0 s, 640 x 360"), "{flight}");
    must(folder, "check made/flight.toml");
}

#[test]
fn a_log_of_strange_columns_still_makes_a_panel() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    clip(folder, None);
    let rows: String = (0..60).map(|i| format!("{i},{},{},7\n", i * 3, 60 - i)).collect();
    std::fs::write(folder.join("odd.csv"), format!("t_s,a-b,a b,\"it's \"\"q\"\"\"\n{rows}")).expect("log");
    must(folder, "new made --film clip.mp4 --log odd.csv --offset 0");
    let panel = text(folder, "made/panel.toml");
    assert!(panel.contains("no column is recognised, and this one moves"), "{panel}");
    let named: Vec<&str> = panel.lines().filter(|line| line.starts_with("name = ")).collect();
    assert_eq!(named, ["name = \"a_b\"", "name = \"a_b_2\""], "what stands still is no instrument");
    must(folder, "still made/flight.toml --at 1 -o look.png");
}

#[test]
fn a_row_for_each_frame() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 6);
    // Frames of uneven length, the first of them not at zero.
    let uneven = "-f lavfi -i testsrc2=s=320x180:r=30:d=3 -vf select='not(eq(mod(n\\,7)\\,3))' -fps_mode passthrough -c:v libx264 -pix_fmt yuv420p";
    make_clip(folder, "clip.mp4", uneven);
    must(folder, "new made --film clip.mp4 --log dunlin.csv --offset 1.25");
    must(folder, "readings made/flight.toml --at-frames --channels dunlin.IAS,dunlin.EGT -o rows.csv");
    let mut table = csv::Reader::from_path(folder.join("rows.csv")).expect("table");
    assert_eq!(table.headers().expect("header").iter().take(3).collect::<Vec<_>>(), ["session_s", "utc", "film_s"]);
    let number = |text: &str| text.parse::<f64>().expect("number");
    let rows: Vec<(f64, f64, f64)> = table
        .records()
        .map(|row| row.map(|row| (number(&row[0]), number(&row[2]), number(&row[3]))).expect("row"))
        .collect();
    let ticks = frame_ticks(&folder.join("clip.mp4"));
    let base = ffprobe(&folder.join("clip.mp4"), "-select_streams V:0 -show_entries stream=time_base");
    let base = base["streams"][0]["time_base"].as_str().expect("time base").to_owned();
    let base = number(base.split('/').nth(1).expect("a fraction"));
    assert_eq!(rows.len(), ticks.len());
    for ((session_s, film_s, ias), tick) in rows.iter().zip(&ticks) {
        let expected = (tick - ticks[0]) as f64 / base;
        assert!((film_s - expected).abs() < 1e-6 && (session_s - expected - 1.25).abs() < 1e-6, "{film_s} {expected}");
        // A row is a reading of its own moment: between two records, the straight line.
        let at = |t: f64| 45.0 + 30.0 * (t * 0.5).sin();
        assert!((ias - at(*session_s)).abs() < 0.05, "{session_s}: {ias}");
    }
    assert!((rows[4].1 - rows[3].1).abs() > 1e-3);

    let flight = text(folder, "made/flight.toml");
    std::fs::write(
        folder.join("made/no_film.toml"),
        flight.replace("[[film]]", "").replace("file = \"../clip.mp4\"", ""),
    )
    .expect("written");
    let said = refused(folder, "readings made/no_film.toml --at-frames -o none.csv", 2);
    assert!(said.contains("names no [[film]]") && said.contains("use --every"), "{said}");
    let (unjoined, _) = flight.split_once("[[clock.mark]]").expect("the mark of the offset");
    std::fs::write(folder.join("made/unjoined.toml"), unjoined).expect("written");
    let said = refused(folder, "readings made/unjoined.toml --at-frames -o none.csv", 2);
    assert!(said.contains("is joined to the logs"), "{said}");
    let said = refused(folder, "readings made/flight.toml --at-frames --every 1 -o none.csv", 2);
    assert!(said.contains("cannot be used with"), "{said}");
    std::fs::remove_file(folder.join("clip.mp4")).expect("removed");
    let said = refused(folder, "readings made/flight.toml --at-frames -o none.csv", 2);
    assert!(said.contains("needs a film that can be opened"), "{said}");
    assert!(!folder.join("none.csv").exists());
}

/// Every command with a log of each format that is no table, by `--log` and by a flight file.
#[test]
fn every_command_takes_every_format() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    clip(folder, None);
    for (log, offset, shown) in [
        ("logs/nmea/iTrek.log", 5.0, "Ground Speed [kt]"),
        ("logs/gpx/korita-zbevnica.gpx", 12448.0, "Elevation [m]"),
        ("logs/igc/olsztyn.igc", 4000.0, "GNSS Altitude Ellipsoid [m]"),
    ] {
        let name = Path::new(log).file_stem().expect("name").to_string_lossy().into_owned();
        let path = real(log);
        let loose = format!("--film clip.mp4 --log {} --offset {offset}", path.display());
        must(folder, &format!("still {loose} --at 2 -o {name}-loose.png"));
        must(folder, &format!("new {name} --film clip.mp4 --log {} --offset {offset}", path.display()));
        must(folder, &format!("check {name}/flight.toml"));
        must(folder, &format!("still {name}/flight.toml --at 2 -o {name}.png"));
        let pictures =
            [format!("{name}.png"), format!("{name}-loose.png")].map(|p| image::open(folder.join(p)).expect("picture"));
        assert!(pictures[0] == pictures[1], "{log}");
        let bare = image::open(folder.join(format!("{name}.png"))).expect("picture");
        must(folder, &format!("still {name}/flight.toml --at 2 --no-panel -o {name}-bare.png"));
        assert!(
            bare != image::open(folder.join(format!("{name}-bare.png"))).expect("picture"),
            "{log}: nothing is shown"
        );
        must(folder, &format!("render {name}/flight.toml --from 1 --to 2 --ledger {name}.csv -o {name}.mp4"));
        assert_eq!(frame_ticks(&folder.join(format!("{name}.mp4"))).len(), 30, "{log}");
        let ledger = text(folder, &format!("{name}.csv"));
        assert!(ledger.lines().skip(1).any(|row| row.contains("measured")), "{log}: {ledger}");
        must(folder, &format!("readings {name}/flight.toml --at-frames -o {name}-rows.csv"));
        let rows = text(folder, &format!("{name}-rows.csv"));
        assert!(rows.lines().next().is_some_and(|head| head.contains(shown)), "{log}: {rows}");
        assert_eq!(rows.lines().count(), 121, "{log}");
        let output = run(folder, &format!("inspect {}", path.display()));
        assert!(output.status.success() && String::from_utf8_lossy(&output.stdout).contains("Latitude"), "{log}");
    }
}
