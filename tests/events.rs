//! What happened in flights: invented ones against the truth behind them, and the situations that are easily misjudged,
//! each a short record of its own.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod made;

use jumpseat::demo::{self, DemoOptions};
use jumpseat::judge::{Event, EventKind, Judged, judge};
use jumpseat::panel::{Panel, Phase, Severity, file};
use std::collections::HashMap;
use std::path::Path;

/// Seconds between two records of the engine log, and what the clocks' joining may be off.
const WITHIN_S: f64 = 0.1 + 0.05;

/// What happened, in seconds of true time.
fn truth(folder: &Path) -> HashMap<String, (f64, f64)> {
    let text = std::fs::read_to_string(folder.join("events.csv")).expect("events");
    let event = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let time = |i: usize| cells[i].parse::<f64>().expect("number");
        (cells[0].to_owned(), (time(1), time(2)))
    };
    text.lines().skip(1).map(event).collect()
}

/// A flight as the program judges it, and how true time becomes the session's.
fn flown(seconds: f64, seed: u64) -> (Panel, Judged, HashMap<String, (f64, f64)>) {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo::write(folder, &DemoOptions { seconds, seed, film: false }).expect("flight");
    let mut read = file::open(&folder.join("panel.toml")).expect("panel");
    assert!(read.faults.is_empty(), "{:?}", read.faults);
    let flight = jumpseat::flight::open(&folder.join("flight.toml")).expect("flight");
    read.panel.phases.as_mut().expect("phases").follow(flight.conditions.field_elevation_ft);
    let judged = judge(&made::session(folder), &read.panel);
    // The air log is the reference: its clock and true time differ by a few hundredths over a flight.
    let lines = std::fs::read_to_string(folder.join("truth.csv")).expect("truth");
    let row = |line: &str| -> (f64, f64) {
        let mut cells = line.split(',').map(|c| c.parse::<f64>().expect("number"));
        (cells.next().expect("true"), cells.next().expect("air"))
    };
    let (first, last) = (row(lines.lines().nth(1).expect("row")), row(lines.lines().last().expect("row")));
    let rate = (last.1 - first.1) / (last.0 - first.0);
    let session = |t: f64| first.1 + rate * (t - first.0);
    let truth = truth(folder).into_iter().map(|(name, (a, b))| (name, (session(a), session(b)))).collect();
    (read.panel, judged, truth)
}

fn of(judged: &Judged, kind: EventKind) -> Vec<&Event> {
    judged.events.iter().filter(|event| event.kind == kind).collect()
}

fn fact(event: &Event, name: &str) -> f64 {
    event.facts.iter().find(|fact| fact.name == name).unwrap_or_else(|| panic!("{name}: {:?}", event.facts)).value
}

#[test]
fn twenty_four_flights_come_to_what_was_flown() {
    for seed in 1..=24 {
        let seconds = if seed % 6 == 0 { 600.0 } else { 120.0 + 15.0 * seed as f64 };
        let pace = (seconds / 600.0_f64).min(1.0);
        let (panel, judged, truth) = flown(seconds, seed);
        let one = |kind| match of(&judged, kind)[..] {
            [one] => one,
            ref all => panic!("seed {seed}: {kind:?} {} times: {:#?}", all.len(), judged.events),
        };
        let near = |what: &str, found: f64, expected: f64, by: f64| {
            assert!(
                (found - expected).abs() <= by,
                "seed {seed}, {what}: {found:.2}, expected {expected:.2} +-{by:.2}"
            );
        };
        let slip = one(EventKind::Slipping);
        near("slipping", slip.from_s, truth["slipping"].0, WITHIN_S);
        near("slipping's end", slip.to_s, truth["slipping"].1, WITHIN_S);
        assert_eq!(slip.severity, Some(Severity::Warning));
        assert!(fact(slip, "rotor minus engine") < -5.0, "{slip:?}");
        let low: Vec<_> = judged.exceedances.iter().filter(|e| panel.limits[e.limit].name == "rotor low").collect();
        assert_eq!(low.len(), 1, "seed {seed}: {low:?}");
        near("low rotor", low[0].from_s, truth["low rotor"].0, WITHIN_S);
        near("low rotor's end", low[0].to_s, truth["low rotor"].1, WITHIN_S);
        assert_eq!(one(EventKind::LowRotor).name, "Low rotor, droop", "seed {seed}");
        assert_eq!(judged.exceedances.len(), 1, "seed {seed}: none is invented: {:?}", judged.exceedances);
        let ahead: Vec<_> = of(&judged, EventKind::Freewheeling);
        let practice = ahead.iter().find(|e| e.name == "Needle split, freewheeling").expect("practice");
        near("rotor ahead", practice.from_s, truth["rotor ahead"].0, WITHIN_S);
        near("rotor ahead's end", practice.to_s, truth["rotor ahead"].1, WITHIN_S);
        assert!(ahead.iter().all(|e| e.severity == Some(Severity::Advisory)), "freewheeling is no fault");
        assert!(ahead.iter().any(|e| e.name == "Needle split, run-down"), "seed {seed}: {ahead:?}");
        let start = one(EventKind::Start);
        near("start", start.from_s, truth["engine start"].0, 1.5 * pace + WITHIN_S);
        assert!((16.0..18.5).contains(&fact(start, "least voltage")), "{start:?}");
        near("idle after", fact(start, "idle after"), 28.0 * pace, 4.5 * pace + WITHIN_S);
        let turn = one(EventKind::Autorotation);
        near("autorotation", turn.from_s, truth["practice autorotation"].0, 5.0 * pace + 0.4);
        assert_eq!(turn.name, "Autorotation, rejoined");
        let lamps: Vec<&str> = of(&judged, EventKind::Lamp).iter().map(|e| e.name.as_str()).collect();
        assert_eq!(lamps, ["Lamp ROTOR LOW", "Lamp XMSN CHIP"].map(|l| l).to_vec(), "seed {seed}");
        let differ = one(EventKind::LampAndAlertDiffer);
        near("trip", fact(differ, "the lamp came on at"), 94.0, 0.8);
        let (up, down) = (one(EventKind::TakeOff), one(EventKind::Landing));
        near("take-off", up.from_s, truth["lift-off"].0, 7.0 * pace + 0.4);
        near("landing", down.from_s, truth["landing"].1, 5.0 * pace + 0.4);
        let rest = one(EventKind::RunDown);
        // It stands below 2 %, and the script lets it run down to nothing, ever more slowly.
        near("run-down", rest.to_s, truth["run-down"].1, 4.5 * pace + WITHIN_S);
        use EventKind::{LampTest, LampsDisagree, SettlingPossible, SplitNotJudged, TouchAndGo};
        for kind in [LampTest, LampsDisagree, SettlingPossible, SplitNotJudged, TouchAndGo] {
            assert!(of(&judged, kind).is_empty(), "seed {seed}: {:#?}", of(&judged, kind));
        }
        let value = |name: &str| judged.figures.flight.iter().find(|f| f.name == name).and_then(|f| f.value);
        assert_eq!([value("starts"), value("take-offs"), value("landings")], [Some(1.0); 3], "seed {seed}");
        near("airborne", value("airborne").expect("known"), down.from_s - up.from_s, 0.01);
        let phases: f64 = judged.figures.by_phase.iter().map(|p| p.seconds).sum();
        let span = judged.figures.bands.first().map(|b| b.inside_s + b.beyond_s + b.unknown_s + b.not_in_force_s);
        near("all phases", phases, span.expect("bands"), 1e-6);
    }
}

#[test]
fn the_owners_word_goes_before_the_rules() {
    let folder = tempfile::tempdir().expect("folder");
    demo::write(folder.path(), &DemoOptions { seconds: 150.0, seed: 3, film: false }).expect("flight");
    let mut panel = file::open(&folder.path().join("panel.toml")).expect("panel").panel;
    let session = made::session(folder.path());
    panel.phases.as_mut().expect("phases").overruled.push((60.0, 64.5, Phase::AirTaxi));
    let line = judge(&session, &panel).phases.line;
    assert_eq!([60.0, 64.4].map(|t| line.at(t)), [Phase::AirTaxi; 2]);
    assert!(line.at(59.9) != Phase::AirTaxi && line.at(64.6) != Phase::AirTaxi);
}
