//! Phases: invented flights against the script that they were flown by, and any series against the words of the rules.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod made;

use jumpseat::clock::ClockFit;
use jumpseat::demo::{self, DemoOptions};
use jumpseat::flight;
use jumpseat::judge::{Phase, Phases, judge};
use jumpseat::panel::{Panel, PhaseChannels, PhaseRules, file};
use jumpseat::session::{Session, SessionLog};
use jumpseat::signal::{Channel, Kind, StateRules};
use proptest::prelude::*;
use std::collections::HashMap;
use std::path::Path;

/// Session times between which things happened, and the true seconds of one second of the timetable.
struct Script {
    events: HashMap<String, (f64, f64)>,
    pace: f64,
}

impl Script {
    /// Events are in true time; the truth says what the air log's clock, the session's, showed then.
    fn read(folder: &Path, pace: f64) -> Self {
        let truth = std::fs::read_to_string(folder.join("truth.csv")).expect("truth");
        let row =
            |line: &str| line.split(',').take(2).map(|cell| cell.parse::<f64>().expect("number")).collect::<Vec<_>>();
        let (first, last) = (truth.lines().nth(1).expect("row"), truth.lines().last().expect("row"));
        let (first, last) = (row(first), row(last));
        let session = |t: f64| first[1] + (t - first[0]) * (last[1] - first[1]) / (last[0] - first[0]);
        let text = std::fs::read_to_string(folder.join("events.csv")).expect("events");
        let event = |line: &str| {
            let cells: Vec<&str> = line.split(',').collect();
            let at = |i: usize| session(cells[i].parse().expect("number"));
            (cells[0].to_owned(), (at(1), at(2)))
        };
        Self { events: text.lines().skip(1).map(event).collect(), pace }
    }

    /// How exact the script's ends are for a rule: manoeuvres begin and end gently, within six seconds of the timetable.
    fn gently(&self) -> f64 {
        6.0 * self.pace + 0.4
    }
}

/// An invented flight, its panel and its script.
fn flown(seed: u64, seconds: f64) -> (Session, Panel, Script) {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo::write(folder, &DemoOptions { seconds, seed, film: false }).expect("flight");
    let read = file::open(&folder.join("panel.toml")).expect("panel");
    assert!(read.faults.is_empty(), "{:?}", read.faults);
    let mut panel = read.panel;
    let conditions = flight::open(&folder.join("flight.toml")).expect("flight file").conditions;
    panel.phases.as_mut().expect("rules").follow(conditions.field_elevation_ft);
    (made::session(folder), panel, Script::read(folder, (seconds / 600.0).min(1.0)))
}

/// Every hundredth of a second of the spans that the script names, and the ends that it gives.
#[test]
fn twenty_four_flights_are_judged_as_they_were_flown() {
    use Phase::{Approach, Autorotation, Climb, Cruise, Descent, Hover, RotorStart, RunDown, RunUp, Standing, TakeOff};
    let mut looked_at = 0;
    for seed in 1..=24u64 {
        let seconds = if seed > 21 { 560.0 + 40.0 * (seed - 21) as f64 } else { 70.0 + 4.0 * seed as f64 };
        let (session, panel, script) = flown(seed, seconds);
        let phases = judge(&session, &panel).phases;
        let gently = script.gently();
        for (event, allowed) in [
            ("engine start", &[Standing][..]),
            ("clutch engaging", &[RotorStart]),
            ("run-up", &[RunUp]),
            ("hover", &[Hover]),
            ("climb", &[TakeOff, Climb]),
            ("cruise", &[Cruise]),
            ("practice autorotation", &[Autorotation]),
            ("descent", &[Descent, Approach]),
            ("run-down", &[RunDown]),
        ] {
            let (from, to) = script.events[event];
            // The last of the run-down is below what counts as turning, and the air log has ended.
            let early = if event == "run-down" { 2.0 * gently } else { gently };
            let mut t = from + gently;
            while t < to - early {
                let phase = phases.line.at(t);
                assert!(
                    allowed.contains(&phase),
                    "seed {seed}, {event} at {t:.2}: {phase:?}, {:?}",
                    phases.line.turns()
                );
                looked_at += 1;
                t += 0.01;
            }
        }
        let turns = phases.line.turns();
        let ground = |i: usize| turns[i].1.on_ground();
        let changes = |from, to| {
            let is_one = |&i: &usize| ground(i - 1) == Some(from) && ground(i) == Some(to);
            let all: Vec<f64> = (1..turns.len()).filter(is_one).map(|i| turns[i].0).collect();
            let [only] = all[..] else { panic!("seed {seed}: {all:?}") };
            only
        };
        for (event, found) in [("lift-off", changes(true, false)), ("landing", changes(false, true))] {
            let (from, to) = script.events[event];
            let bounds = from - gently..to + gently;
            assert!(bounds.contains(&found), "seed {seed}, {event} at {found:.2}, expected {bounds:?}");
        }
        // While both logs run, every moment is judged.
        let (first, last) = (script.events["engine start"].0, script.events["run-down"].0);
        let unknown = turns.iter().filter(|(from, phase)| (first..last).contains(from) && *phase == Phase::NotJudged);
        assert_eq!(unknown.count(), 0, "seed {seed}: {turns:?}");
        assert!((0.199..0.4).contains(&phases.plus_minus_s), "five records a second: {}", phases.plus_minus_s);
    }
    println!("{looked_at} moments looked at");
    assert!(looked_at > 150_000, "{looked_at}");
}

/// Without its channel a rule is not judged, and what does not need it still is.
#[test]
fn a_missing_channel_takes_its_phases_away() {
    let (session, panel, script) = flown(22, 600.0);
    let middle = |event: &str| (script.events[event].0 + script.events[event].1) / 2.0;
    let told = |change: &dyn Fn(&mut PhaseRules)| {
        let mut panel = panel.clone();
        change(panel.phases.as_mut().expect("rules"));
        let line = judge(&session, &panel).phases.line;
        ["engine start", "clutch engaging", "run-up", "hover", "cruise", "practice autorotation", "descent"]
            .map(|event| line.at(middle(event)))
    };
    use Phase::{Approach, Autorotation, Cruise, Descent, Hover, NotJudged, OnGround, RotorStart, RunUp, Standing};
    let all = [Standing, RotorStart, RunUp, Hover, Cruise, Autorotation, Approach];
    assert_eq!(told(&|_| {}), all);
    let mut lost = all;
    // No rotor: nothing tells whether it turns, and the engine's idle alone of the autorotation.
    (lost[0], lost[1], lost[2]) = (OnGround, OnGround, OnGround);
    assert_eq!(told(&|r| r.channels.rotor = None), lost);
    // And without that figure too, a steep descent is a descent.
    lost[5] = Descent;
    assert_eq!(told(&|r| (r.channels.rotor, r.idle) = (None, None)), lost);
    assert_eq!(told(&|r| r.channels.engine = None), [Standing, OnGround, OnGround, Hover, Cruise, Descent, Approach]);
    let found = told(&|r| r.channels.vertical_speed = None);
    assert_eq!(found[3..], [NotJudged; 4], "neither hover nor way can be told without");
    let found = told(&|r| r.channels.airspeed = None);
    assert_eq!(found, [Standing, RotorStart, RunUp, Hover, NotJudged, Autorotation, Approach]);
    let found = told(&|r| r.channels.altitude = None);
    assert_eq!(found[..5], [Standing, RotorStart, RunUp, NotJudged, Cruise], "power alone is no proof of a hover");
    assert_eq!(found[5], NotJudged, "speed alone is no proof of flight, and there is no power");
    let found = told(&|r| (r.channels.power, r.power_in_flight) = (None, None));
    let not_known_to_end_in_a_hover = Descent;
    assert_eq!(found, [Standing, RotorStart, RunUp, NotJudged, Cruise, Autorotation, not_known_to_end_in_a_hover]);
    let nothing = told(&|r| r.channels = PhaseChannels::default());
    assert_eq!(nothing, [NotJudged; 7]);
    let without = Panel { phases: None, ..panel.clone() };
    assert_eq!(judge(&session, &without).phases, Phases::default());
}

/// Two loggers' speeds are subtracted only where their clocks are known well enough: else the joining of the rotor is not known.
#[test]
fn rotor_and_engine_from_two_logs_are_compared_within_their_clocks() {
    let second = |name: &str, value: f64| channel(name, "%", &vec![Some(value); 60]);
    let logs = ["a", "b"].map(|name| SessionLog {
        name: name.into(),
        part_of: None,
        recording: made::recording(vec![second("Speed", 100.0)]),
        fit: Some(ClockFit::same()),
    });
    let rules = |engine: &str| {
        let (rotor, engine) = (Some("a.Speed".into()), Some(engine.to_owned()));
        let channels = PhaseChannels { rotor, engine, power: Some("b.Speed".into()), ..PhaseChannels::default() };
        // Height nobody knows; speed and power say: on the ground.
        let channels = PhaseChannels { ground_speed: Some("still".into()), ..channels };
        PhaseRules { channels, power_in_flight: Some(200.0), ..PhaseRules::default() }
    };
    let mut logs = Vec::from(logs);
    logs[0].recording.channels.push(channel("still", "kt", &vec![Some(0.0); 60]));
    let at = |engine: &str, sigma_s: f64| {
        let mut logs = logs.clone();
        logs[1].fit.as_mut().expect("a fit").cov[0][0] = sigma_s.powi(2);
        let panel = Panel { phases: Some(rules(engine)), ..Panel::default() };
        judge(&Session::join(logs, 0), &panel).phases.line.at(30.0)
    };
    assert_eq!([at("a.Speed", 0.0), at("a.Speed", 4.0)], [Phase::RunUp; 2]);
    assert_eq!([at("b.Speed", 0.25), at("b.Speed", 4.0)], [Phase::RunUp, Phase::OnGround]);
}

/// One record a second.
fn channel(name: &str, unit: &str, values: &[Option<f64>]) -> Channel {
    let rules = StateRules { joined_s: 1.0, held_s: 1.0, stale_s: 3.0 };
    made::channel(name, Some(unit), Kind::Continuous, (1.0, rules), values)
}

const NAMES: [(&str, &str); 6] =
    [("rotor", "%"), ("engine", "%"), ("gs", "kt"), ("ias", "kt"), ("vs", "ft/min"), ("alt", "ft")];

/// Rotor, engine, ground speed, airspeed, vertical speed and height, second by second.
type Rows = Vec<[Option<f64>; 6]>;

fn judged(rows: &Rows) -> Phases {
    let channels = NAMES
        .iter()
        .enumerate()
        .map(|(i, (name, unit))| channel(name, unit, &rows.iter().map(|row| row[i]).collect::<Vec<_>>()));
    let session = Session::of(made::recording(channels.collect()));
    let [rotor, engine, ground_speed, airspeed, vertical_speed, altitude] =
        NAMES.map(|(name, _)| Some(name.to_owned()));
    // The invented aircraft flies at full rotor speed and idles below it.
    let power = rotor.clone();
    let channels = PhaseChannels { rotor, engine, ground_speed, airspeed, vertical_speed, altitude, power };
    let rules = PhaseRules { channels, field_ft: Some(0.0), power_in_flight: Some(98.0), ..PhaseRules::default() };
    judge(&session, &Panel { phases: Some(rules), ..Panel::default() }).phases
}

/// So many seconds of each row, then the next.
fn rows(spells: &[(usize, [f64; 6])]) -> Rows {
    spells.iter().flat_map(|(seconds, row)| vec![row.map(Some); *seconds]).collect()
}

fn names(phases: &Phases, until: f64) -> Vec<&'static str> {
    phases.line.turns().iter().filter(|turn| turn.0 < until).map(|turn| turn.1.name()).collect()
}

/// A whole flight in plain numbers, with its turns to the second.
#[test]
fn a_flight_in_plain_numbers() {
    let flight = rows(&[
        (20, [0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
        (10, [30.0, 60.0, 0.0, 0.0, 0.0, 0.0]),
        (30, [100.0, 100.0, 0.0, 0.0, 0.0, 0.0]),
        (20, [100.0, 100.0, 18.0, 18.0, 50.0, 20.0]),
        (8, [100.0, 100.0, 25.0, 24.0, 150.0, 40.0]),
        (60, [100.0, 100.0, 60.0, 60.0, 700.0, 400.0]),
        (60, [100.0, 100.0, 80.0, 80.0, 0.0, 900.0]),
        (10, [103.0, 66.0, 70.0, 70.0, -1500.0, 600.0]),
        (5, [100.0, 100.0, 70.0, 70.0, 300.0, 500.0]),
        (40, [100.0, 100.0, 70.0, 70.0, 20.0, 520.0]),
        (20, [100.0, 100.0, 60.0, 60.0, -400.0, 550.0]),
        (20, [100.0, 100.0, 50.0, 50.0, -400.0, 300.0]),
        (20, [100.0, 100.0, 60.0, 50.0, 0.0, 4.0]),
        (20, [100.0, 100.0, 0.0, 0.0, 0.0, 0.0]),
        (10, [60.0, 20.0, 0.0, 0.0, 0.0, 0.0]),
        (10, [0.0, 0.0, 0.0, 0.0, 0.0, 0.0]),
    ]);
    let phases = judged(&flight);
    let turns: Vec<(f64, &str)> = phases.line.turns().iter().map(|turn| (turn.0, turn.1.name())).collect();
    let expected = [
        (0.0, "STANDING"),
        (20.0, "ROTOR START"),
        (30.0, "RUN-UP"),
        (60.0, "HOVER TAXI"),
        (80.0, "TAKE-OFF"),
        (88.0, "CLIMB"),
        (148.0, "CRUISE"),
        (208.0, "AUTOROTATION"),
        (218.0, "MANOEUVRING"),
        (223.0, "CRUISE"),
        (263.0, "DESCENT"),
    ];
    assert_eq!(turns[..expected.len()], expected);
}

/// A rotor's sensor that fails in flight does not put the aircraft on the ground.
#[test]
fn one_witness_is_not_believed() {
    let failed = judged(&rows(&[
        (30, [100.0, 100.0, 60.0, 60.0, 0.0, 900.0]),
        (30, [0.0, 100.0, 60.0, 60.0, 0.0, 900.0]),
        (30, [100.0, 100.0, 60.0, 60.0, 0.0, 900.0]),
    ]));
    assert_eq!(names(&failed, 89.0), ["CRUISE"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Noise that stays between where a rule sets in and where it lets go changes nothing.
    #[test]
    fn noise_within_the_hysteresis_makes_no_phase(
        noise in proptest::collection::vec(proptest::array::uniform4(-1.0f64..1.0), 30),
    ) {
        let quiet = [
            (20, [100.0, 100.0, 0.0, 0.0, 0.0, 10.0]),
            (60, [100.0, 100.0, 0.0, 0.0, 0.0, 10.0]),
            (40, [100.0, 100.0, 60.0, 60.0, 700.0, 400.0]),
            (120, [100.0, 100.0, 60.0, 60.0, 150.0, 900.0]),
        ];
        // In the hover up to a quarter past its bounds, in the climb between leaving it and entering it.
        let mut loud = rows(&quiet);
        for (i, row) in loud.iter_mut().enumerate() {
            // Each excursion lasts longer than the rules wait.
            let n = &noise[i / 8];
            let by = |around: f64, size: f64, k: usize| Some(around + size * n[k]);
            if (20..80).contains(&i) {
                (row[2], row[4]) = (by(3.0, 3.0, 0), by(0.0, 124.0, 1));
            } else if i >= 120 {
                row[4] = by(150.0, 49.0, 2);
                row[0] = by(100.0, 1.4, 3);
            }
        }
        let (quiet, loud) = (judged(&rows(&quiet)), judged(&loud));
        prop_assert_eq!(names(&quiet, 240.0), ["HOVER", "CLIMB"]);
        prop_assert_eq!(names(&loud, 240.0), ["HOVER", "CLIMB"]);
    }

    /// Whatever comes: what is stale is not judged, and no phase goes on where its own words say that it has ended.
    #[test]
    fn any_series_keeps_the_words_of_the_rules(runs in proptest::collection::vec(
        (1usize..25, any::<bool>(), 0usize..3, -60i32..60, -9i32..9, 0i32..30, 0u8..20), 1..16)
    ) {
        let mut series = Rows::new();
        for (seconds, driven, rotor, speed, climb, height, gap) in runs {
            let rotor = [0.0, 60.0, 100.0][rotor];
            let engine = if driven { rotor } else { rotor / 2.0 };
            let speed = f64::from(speed.max(0));
            let row = [rotor, engine, speed, speed, 90.0 * f64::from(climb), 4.0 * f64::from(height)];
            series.extend(vec![if gap == 0 { [None; 6] } else { row.map(Some) }; seconds]);
        }
        let phases = judged(&series);
        let held = |i: usize| series[i][0].is_some() || i.checked_sub(1).is_some_and(|before| series[before][0].is_some());
        let (mut low, mut fast, mut still, mut joined, mut sign) = (0, 0, 0, 0, 0.0);
        for (i, row) in series.iter().enumerate() {
            let phase = phases.line.at(i as f64 + 0.5);
            if !held(i) {
                prop_assert_eq!(phase, Phase::NotJudged, "at {}", i);
            }
            let [Some(rotor), _, Some(gs), _, Some(vs), _] = *row else {
                (low, fast, still, joined) = (0, 0, 0, 0);
                continue;
            };
            low = if phase == Phase::Climb && vs < 100.0 { low + 1 } else { 0 };
            prop_assert!(low < 5, "a climb that has ended goes on at {}", i);
            let other = matches!(phase, Phase::Cruise | Phase::HoverTaxi | Phase::AirTaxi | Phase::Manoeuvring);
            let same_way = fast == 0 || sign == vs.signum();
            fast = if other && vs.abs() > 200.0 { 1 + if same_way { fast } else { 0 } } else { 0 };
            sign = vs.signum();
            prop_assert!(fast < 10, "a climb or descent is called {:?} at {}", phase, i);
            still = if phase == Phase::Hover && (gs >= 6.25 || vs.abs() >= 125.0) { still + 1 } else { 0 };
            // It ends after three; less than five without another rule still belong to it.
            prop_assert!(still < 5, "a hover that has ended goes on at {}", i);
            if rotor < 2.0 && phase.on_ground() == Some(true) {
                prop_assert_eq!(phase, Phase::Standing);
            }
            joined = if phase == Phase::Autorotation && row[0] == row[1] { joined + 1 } else { 0 };
            prop_assert!(joined < 2, "an autorotation that has ended goes on at {}", i);
        }
    }
}
