//! A log whose logger was switched off and on: its parts have no common clock, and each gets its own.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::clock::{ClockFit, ClockId, Clocks, Moment};
use jumpseat::formula::Formula;
use jumpseat::recorder::{ClockOptions, CsvOptions, Options, Recording};
use jumpseat::session::{Basis, ChannelId, Session, SessionLog};
use jumpseat::signal::{Cursor, Reading, Samples, State};
use jumpseat::time::SessionTime;
use std::path::Path;
use std::process::{Command, Output};

/// Two seconds before a restart, and five after it: the count begins anew.
const RESTARTED: &str = "t [s],Volts\n500,20\n501,21\n502,22\nt [s],Volts\n0,24\n1,25\n2,26\n3,27\n4,28\n5,29\n";
const AIR: &str = "UTC,IAS\n2026-06-15T08:30:00Z,40\n2026-06-15T08:31:00Z,41\n2026-06-15T08:32:00Z,42\n";

const PANEL: &str =
    "[[instrument]]\nname = \"volts\"\nkind = \"tile\"\nchannel = \"engine.Volts\"\ntitle = \"VOLTS\"\nunit = \"V\"
decimals = 1\nplace = { slot = \"foot\", size = \"M\" }\n";

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_jumpseat")).current_dir(folder).args(arguments).output().expect("started")
}

fn flight(folder: &Path, text: &str) {
    for (name, text) in [("air.csv", AIR), ("engine.csv", RESTARTED), ("panel.toml", PANEL), ("flight.toml", text)] {
        std::fs::write(folder.join(name), text).expect("file");
    }
}

const BOTH: &str = "[[log]]\nname = \"air\"\nfile = \"air.csv\"\nreference = true\n
[[log]]\nname = \"before\"\nfile = \"engine.csv\"\npower_up = 1\n
[[log]]\nname = \"after\"\nfile = \"engine.csv\"\npower_up = 2\n";

#[test]
fn inspect_shows_every_part() {
    let folder = tempfile::tempdir().expect("folder");
    flight(folder.path(), "");
    let text = run(folder.path(), &["inspect", "engine.csv"]);
    let text = String::from_utf8_lossy(&text.stdout).into_owned();
    assert!(text.contains("part 1: 500 to 502, 3 rows in lines 2 to 4\n"), "{text}");
    assert!(text.contains("part 2: 0 to 5, 6 rows in lines 6 to 11, read here\n"), "{text}");
    let json = run(folder.path(), &["inspect", "--json", "engine.csv"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let expected = serde_json::json!([
        {"first_row": 2, "last_row": 4, "rows": 3, "first": "500", "last": "502", "read": false},
        {"first_row": 6, "last_row": 11, "rows": 6, "first": "0", "last": "5", "read": true},
    ]);
    assert_eq!(json[0]["parts"], expected);
}

#[test]
fn parts_are_never_joined_unasked() {
    let folder = tempfile::tempdir().expect("folder");
    flight(folder.path(), BOTH);
    let checked = run(folder.path(), &["check", "flight.toml"]);
    let said = String::from_utf8_lossy(&checked.stderr).into_owned();
    assert_eq!(checked.status.code(), Some(2), "{said}");
    for log in ["before", "after"] {
        assert!(said.contains(&format!("nothing joins the clock of the log `{log}`")), "{said}");
    }
    assert!(said.contains("[[clock.mark]]"), "{said}");
}

/// One mark for each part places it; what stands between them stays empty.
#[test]
fn each_part_has_its_own_clock() {
    let folder = tempfile::tempdir().expect("folder");
    let marks = "[[clock.mark]]\nair = 10\nbefore = 1\n[[clock.mark]]\nair = 62\nafter = 2\n";
    flight(folder.path(), &format!("{BOTH}{marks}"));
    let checked = run(folder.path(), &["check", "flight.toml"]);
    assert_eq!(checked.status.code(), Some(0), "{}", String::from_utf8_lossy(&checked.stderr));
    let path = folder.path().join("flight.toml");
    let flight = jumpseat::flight::open(&path).expect("a flight file");
    let logs: Vec<_> = flight
        .logs
        .iter()
        .map(|log| {
            let options = jumpseat::recorder::Options { csv: log.csv.clone() };
            jumpseat::recorder::read(&log.file, &options).expect("a log")
        })
        .collect();
    let clocks = Clocks {
        reference: 0,
        logs: logs.iter().map(jumpseat::session::dated).collect(),
        loggers: vec![0, 1, 1],
        films: 0,
    };
    let moment = |m: &jumpseat::flight::MarkEntry| Moment {
        times: m.logs_s.iter().enumerate().filter_map(|(i, t)| Some((ClockId::Log(i), (*t)?, 0.0))).collect(),
        sigma_s: 0.05,
        why: "mark".into(),
    };
    let moments: Vec<_> = flight.clock.marks.iter().map(moment).collect();
    let joined = clocks.join(jumpseat::clock::marks::evidence(&moments, ClockId::Log(0)));
    let at = |log: usize, session_s: f64| joined.logs[log].as_ref().expect("a fit").at(session_s);
    assert!((at(1, 10.0) - 1.0).abs() < 1e-9 && (at(2, 62.0) - 2.0).abs() < 1e-9);
    assert_eq!((logs[1].channels[0].times.len(), logs[2].channels[0].times.len()), (3, 6));
}

/// Keys that only a table can follow are told where the log is none, each with its line.
#[test]
fn keys_for_tables_are_told_on_other_formats() {
    let folder = tempfile::tempdir().expect("folder");
    let keys =
        "[[log]]\nname = \"gps\"\nfile = \"gps.log\"\nzone = \"Europe/London\"\nseparator = \"tab\"\npower_up = 1\n";
    flight(folder.path(), keys);
    let sentence = "$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\n";
    std::fs::write(folder.path().join("gps.log"), sentence).expect("log");
    let json = run(folder.path(), &["check", "--json", "flight.toml"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).expect("JSON");
    let told: Vec<_> =
        json["findings"].as_array().expect("findings").iter().filter(|f| f["code"] == "key_for_tables").collect();
    let lines: Vec<_> =
        told.iter().map(|f| (f["line"].as_u64(), f["message"].as_str().unwrap_or_default().contains("nmea"))).collect();
    assert_eq!(lines, [(Some(5), true), (Some(6), true)], "{json}");
}

/// The parts that `power_up` lists are one log: its channel goes over all of them and is nothing between them, and each part can still be
/// named.
#[test]
fn listed_parts_are_one_log() {
    let folder = tempfile::tempdir().expect("folder");
    flight(folder.path(), &(LISTED.to_owned() + MARKS));
    let checked = run(folder.path(), &["check", "flight.toml"]);
    assert_eq!(checked.status.code(), Some(0), "{}", String::from_utf8_lossy(&checked.stderr));

    let output = run(folder.path(), &["readings", "flight.toml", "-o", "-"]);
    let table = String::from_utf8_lossy(&output.stdout).into_owned();
    let head = table.lines().next().expect("head");
    assert!(head.contains("engine.Volts") && !head.contains("engine-1"), "the whole alone: {head}");

    let channels = "engine.Volts,engine-1.Volts,engine-2.Volts";
    let output = run(folder.path(), &["readings", "flight.toml", "-o", "-", "--every", "0.5s", "--channels", channels]);
    let table = String::from_utf8_lossy(&output.stdout).into_owned();
    let at = |session_s: &str| {
        let line = table.lines().find(|line| line.starts_with(session_s)).expect("row");
        line.split(',').skip(3).map(str::to_owned).collect::<Vec<_>>()
    };
    // Part 1 lies from 9 to 11 s of session time, part 2 from 60 to 65.
    assert_eq!(at("8.5"), ["", "invalid", "", "invalid", "", "invalid"]);
    assert_eq!(at("9.5"), ["20.5000", "measured", "20.5000", "measured", "", "invalid"]);
    assert_eq!(at("13.0"), ["22.0000", "held", "22.0000", "held", "", "invalid"]);
    assert_eq!(at("30.0"), ["", "stale", "", "stale", "", "invalid"]);
    assert_eq!(at("59.5"), ["", "invalid", "", "invalid", "", "invalid"]);
    assert_eq!(at("62.5"), ["26.5000", "measured", "", "invalid", "26.5000", "measured"]);
}

/// An event is looked for in all parts of the log that it names, and stands on the clock of the part that has it.
#[test]
fn an_event_is_that_of_a_part() {
    let folder = tempfile::tempdir().expect("folder");
    let fits = |marks: &str| {
        flight(folder.path(), &(LISTED.to_owned() + marks));
        let output = run(folder.path(), &["readings", "flight.toml", "-o", "-", "--channels", "engine.Volts"]);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        (output.status.code(), String::from_utf8_lossy(&output.stdout).into_owned(), said)
    };
    let by_event =
        "[[clock.mark]]\nair = 10\nengine-1 = 1\n[[clock.mark]]\nair = 61.5\nevent = \"engine.Volts crosses 25.5\"\n";
    let (code, by_event, said) = fits(by_event);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(by_event, fits(MARKS).1);
    // Of two, which are told with their parts, the owner names one by its number over all of them.
    let twice = RESTARTED.replace("502,22", "502,26");
    std::fs::write(
        folder.path().join("flight.toml"),
        LISTED.to_owned() + "[[clock.mark]]\nair = 61.5\nevent = \"engine.Volts crosses 25.5\"\n",
    )
    .expect("file");
    std::fs::write(folder.path().join("engine.csv"), twice).expect("log");
    let checked = run(folder.path(), &["check", "flight.toml"]);
    let said = String::from_utf8_lossy(&checked.stderr).into_owned();
    assert!(said.contains("1.90 s of engine-1, 1.50 s of engine-2"), "{said}");
}

/// A logger that begins a new file instead: the same log, cut where its count begins anew, says the same.
#[test]
fn listed_files_are_one_log() {
    let folder = tempfile::tempdir().expect("folder");
    let said = |text: &str| {
        flight(folder.path(), &(text.to_owned() + MARKS));
        let arguments =
            ["readings", "flight.toml", "-o", "-", "--channels", "engine.Volts,engine-1.Volts,engine-2.Volts"];
        let output = run(folder.path(), &arguments);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8_lossy(&output.stdout).into_owned()
    };
    let cut = RESTARTED.rfind("t [s]").expect("second header");
    std::fs::write(folder.path().join("ems_014.csv"), &RESTARTED[..cut]).expect("log");
    std::fs::write(folder.path().join("ems_015.csv"), &RESTARTED[cut..]).expect("log");
    let files = LISTED.replace("\"engine.csv\"\npower_up = [1, 2]", "[\"ems_014.csv\", \"ems_015.csv\"]");
    assert!(files.contains("ems_015"), "{files}");
    let (in_one, in_two) = (said(LISTED), said(&files));
    let rows = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
    assert_eq!(rows(&in_one), rows(&in_two));
    assert!(in_two.contains(",26.0000,measured"), "{in_two}");

    flight(folder.path(), &(files.replace("ems_015.csv\"]", "ems_015.csv\"]\npower_up = [1, 2]") + MARKS));
    let checked = run(folder.path(), &["check", "flight.toml"]);
    let said = String::from_utf8_lossy(&checked.stderr).into_owned();
    assert!(checked.status.code() == Some(2) && said.contains("several files, each of which is a part"), "{said}");
}

/// A part that nothing places is a hole in the log, with a warning; where no part is placed, there is no log.
#[test]
fn a_part_without_a_place_is_left_out() {
    let folder = tempfile::tempdir().expect("folder");
    let second_alone = MARKS.split_once("[[clock.mark]]\nair = 62").expect("two marks").1;
    flight(folder.path(), &format!("{LISTED}[[clock.mark]]\nair = 62{second_alone}"));
    let checked = run(folder.path(), &["check", "flight.toml"]);
    let said = String::from_utf8_lossy(&checked.stderr).into_owned();
    assert_eq!(checked.status.code(), Some(0), "{said}");
    assert!(said.contains("the log `engine-1`") && said.contains("`engine` is without it"), "{said}");
    assert!(said.contains("take the part out of power_up"), "{said}");
    let output = run(folder.path(), &["readings", "flight.toml", "-o", "-", "--channels", "engine.Volts"]);
    let table = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(table.contains("10.000,2026-06-15T08:30:10.000Z,,,invalid\n"), "{table}");
    assert!(table.contains("62.000,2026-06-15T08:31:02.000Z,,26.0000,measured\n"), "{table}");

    flight(folder.path(), LISTED);
    let checked = run(folder.path(), &["check", "flight.toml"]);
    let said = String::from_utf8_lossy(&checked.stderr).into_owned();
    assert_eq!(checked.status.code(), Some(2), "{said}");
    assert!(!said.contains("is without it"), "{said}");
}

#[test]
fn a_list_of_parts_names_each_once_in_order() {
    let folder = tempfile::tempdir().expect("folder");
    for (list, told) in
        [("[]", "expected numbers of parts"), ("[2, 1]", "in their order"), ("[1, 1]", "each once"), ("[1.5]", "1.5")]
    {
        flight(folder.path(), &LISTED.replace("[1, 2]", list));
        let checked = run(folder.path(), &["check", "flight.toml"]);
        let said = String::from_utf8_lossy(&checked.stderr).into_owned();
        assert!(checked.status.code() == Some(2) && said.contains(told), "{list}: {said}");
    }
    let taken = "[[log]]\nname = \"engine-2\"\nfile = \"air.csv\"\n";
    flight(folder.path(), &(LISTED.to_owned() + taken + MARKS));
    let said = String::from_utf8_lossy(&run(folder.path(), &["check", "flight.toml"]).stderr).into_owned();
    assert!(said.contains("\"engine-2\" is taken already"), "{said}");
}

const LISTED: &str = "panel = \"panel.toml\"\n[[log]]\nname = \"air\"\nfile = \"air.csv\"\nreference = true\n
[[log]]\nname = \"engine\"\nfile = \"engine.csv\"\npower_up = [1, 2]\n";
const MARKS: &str = "[[clock.mark]]\nair = 10\nengine-1 = 1\n[[clock.mark]]\nair = 62\nengine-2 = 2\n";

/// A part of a log that restarted, read from a text.
fn part(text: &str, n: usize) -> Recording {
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("engine.csv");
    std::fs::write(&file, text).expect("log");
    let clock = ClockOptions { power_up: Some(n), ..ClockOptions::default() };
    jumpseat::recorder::read(&file, &Options { csv: CsvOptions { clock, ..CsvOptions::default() } }).expect("a log")
}

/// Both parts of it as one session; the second one begins at a session time, on a clock that is so sure.
fn session(text: &str, second_s: f64, sigma_s: f64) -> Session {
    joined([part(text, 1), part(text, 2)], second_s, sigma_s)
}

fn joined(parts: [Recording; 2], second_s: f64, sigma_s: f64) -> Session {
    let later =
        ClockFit { offset_at_pivot_s: -second_s, cov: [[sigma_s * sigma_s, 0.0], [0.0, 0.0]], ..ClockFit::same() };
    let [first, second] = parts;
    let log = |name: &str, recording, fit| SessionLog {
        name: name.into(),
        part_of: Some("engine".into()),
        recording,
        fit: Some(fit),
    };
    Session::join(vec![log("engine-1", first, ClockFit::same()), log("engine-2", second, later)], 0)
}

fn said(session: &Session, name: &str, session_s: f64) -> Reading {
    let id = id(session, name);
    session.reading(id, SessionTime(session_s), &mut Cursor::default())
}

fn id(session: &Session, name: &str) -> ChannelId {
    session.find(name).unwrap_or_else(|| panic!("{name}"))
}

/// Ten seconds of flow, 36 L/h, which is a hundredth of a litre a second, and ten more after a restart; an altitude that rises by a foot
/// a second, and lies 1000 ft higher after it.
fn flowing() -> String {
    let rows = |high: i32| (0..=10).map(|t| format!("{t},36,{}\n", high + t)).collect::<String>();
    let head = "t [s],Fuel Flow [L/h],Pressure Altitude [ft]\n";
    format!("{head}{}{head}{}", rows(0), rows(1000))
}

/// However close the clocks put two parts, nothing is drawn, summed up or differentiated from one to the other.
#[test]
fn nothing_bridges_a_restart() {
    for second_s in [11.2, 11.0, 10.4, 13.0] {
        let mut session = session(&flowing(), second_s, 0.1).derived(&Basis::default());
        let formula = Formula::parse("2 * {engine.Pressure Altitude}").expect("a formula");
        session.compute("Twice", &formula, Some(jumpseat::units::Unit::parse("ft").expect("ft"))).expect("computed");
        let hole_s = 10.0 + 0.5 * (second_s - 10.0);
        for (name, last) in [("engine.Pressure Altitude", 10.0), ("calc.Twice", 20.0)] {
            let reading = said(&session, name, hole_s);
            assert_eq!((reading.state, reading.value), (State::Held, Some(last)), "{name} {second_s}");
            let lag =
                jumpseat::signal::Lag::new(session.channel(id(&session, name)).expect(name), 1.0).expect("numbers");
            let channel = session.channel(id(&session, name)).expect(name);
            let behind = lag.at(channel, second_s, &mut Cursor::default());
            assert!(behind.abs() < 1e-9, "{name}: the lag begins anew, {behind}");
        }
        let climb = session.channel(id(&session, "calc.Vertical Speed")).expect("a climb");
        let Samples::Numbers(rates) = &climb.samples else { panic!("texts") };
        assert!(rates.iter().all(|rate| (rate - 60.0).abs() < 1e-6) && rates.len() >= 10, "{second_s}: {rates:?}");
        // 0.2 L flowed while it was recorded; records closer to the break than neighbours are may be left out.
        let used = said(&session, "calc.Fuel Used", second_s + 10.0).value.expect("fuel");
        assert!((0.18 - 1e-9..=0.2 + 1e-9).contains(&used), "{second_s}: {used}");
    }
}

/// Where the clocks let two parts overlap, the later one counts from where it begins, and it is told how far that is off.
#[test]
fn the_later_part_begins_where_it_begins() {
    for (second_s, sigma_s, severity) in [(8.5, 1.0, "note"), (8.5, 0.1, "warning"), (10.5, 0.1, "")] {
        let session = session(&flowing(), second_s, sigma_s);
        let told: Vec<&str> = session
            .remarks()
            .iter()
            .filter(|remark| remark.code == "parts_overlap")
            .map(|remark| if remark.severity == jumpseat::finding::Severity::Note { "note" } else { "warning" })
            .collect();
        assert_eq!(told.concat(), severity, "{second_s} {:?}", session.remarks());
        let value = |t: f64| said(&session, "engine.Pressure Altitude", t).value;
        assert_eq!([value(7.0), value(second_s), value(second_s + 0.5)], [Some(7.0), Some(1000.0), Some(1000.5)]);
        assert_eq!(said(&session, "engine-1.Pressure Altitude", 9.5).value, Some(9.5), "the part itself is whole");
        let times = &session.channel(id(&session, "engine.Fuel Flow")).expect("flow").times;
        assert!(times.is_sorted_by(|a, b| a < b), "{times:?}");
    }
}

/// Each part's clock is as sure as it is, where it stands.
#[test]
fn sigma_is_that_of_the_part() {
    let session = session(&flowing(), 20.0, 0.25);
    let flow = id(&session, "engine.Fuel Flow");
    assert_eq!([5.0, 19.9, 20.0, 25.0].map(|t| session.sigma(flow, t)), [Some(0.0), Some(0.0), Some(0.25), Some(0.25)]);
    assert_eq!(session.fit(flow).map(|fit| fit.sigma(5.0)), Some(0.25), "for what asks of no moment: the worst");
    assert!(session.same_log(flow, id(&session, "engine-2.Fuel Flow")));
    assert!(!session.same_log(id(&session, "engine-1.Fuel Flow"), id(&session, "engine-2.Fuel Flow")));
}

/// Two parts that do not hold the same are never joined: both are named.
#[test]
fn parts_in_two_units_are_told() {
    let [one, mut other] = [part(&flowing(), 1), part(&flowing(), 2)];
    other.channels[0].unit = Some("kg/h".into());
    let session = joined([one, other], 20.0, 0.1);
    let told = &session.remarks()[0];
    assert_eq!((session.remarks().len(), told.code), (1, "parts_differ"), "{:?}", session.remarks());
    for words in ["`engine-1.Fuel Flow`", "L/h", "`engine-2.Fuel Flow`", "kg/h"] {
        assert!(told.message.contains(words), "{}", told.message);
    }
    assert_eq!(said(&session, "engine.Fuel Flow", 25.0).number(), None, "not a number of another unit");
    assert_eq!(said(&session, "engine-2.Fuel Flow", 25.0).number(), Some(36.0));
    assert_eq!(said(&session, "engine.Pressure Altitude", 25.0).number(), Some(1005.0));
}

/// A part's channel that was named stands beside the whole's; of others the whole's alone.
#[test]
fn channels_of_parts_are_listed_where_they_are_named() {
    let names = |session: &Session| session.channels().map(|(_, name, _)| name).collect::<Vec<_>>();
    let session = session(&flowing(), 20.0, 0.1);
    let whole = ["engine.Fuel Flow", "engine.Pressure Altitude"];
    assert_eq!(names(&session), whole);
    assert_eq!(session.find("Fuel Flow"), session.find("engine.Fuel Flow"));
    let named = session.naming(["engine-2.Fuel Flow", "engine.Fuel Flow", "nothing"]);
    assert_eq!(names(&named), [&["engine-2.Fuel Flow"], &whole[..]].concat());
}
