//! Lamps and alerts: invented flights against the closed form that they came from, and any series against the rule read
//! tick by tick.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod made;
#[path = "truth/mod.rs"]
mod truth;

use jumpseat::demo::{self, DemoOptions};
use jumpseat::judge::{AlertState, Judged, Recorded, Timeline, judge};
use jumpseat::panel::{Arming, Lamp, Limit, LitWords, Panel, Severity, file};
use jumpseat::readout::{AlertShown, LampShown, LampWord, LampsState, Notice, Readout};
use jumpseat::session::Session;
use jumpseat::signal::{Channel, Kind, StateRules};
use jumpseat::time::SessionTime;
use proptest::prelude::*;
use std::collections::HashMap;
use std::path::Path;
use truth::{ENGINE_CLOCK_S, STEP_S, Truth};

/// Seconds between two records of the engine log.
const RECORD_S: f64 = 0.1;
/// What the log's rounding to a tenth may hide of the rotor's speed, in %.
const ROUNDING: f64 = 0.05;

/// What happened, in rows of the truth.
fn events(folder: &Path) -> HashMap<String, (f64, f64)> {
    let text = std::fs::read_to_string(folder.join("events.csv")).expect("events");
    let event = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let row = |i: usize| cells[i].parse::<f64>().expect("number") / STEP_S;
        (cells[0].to_owned(), (row(1), row(2)))
    };
    text.lines().skip(1).map(event).collect()
}

/// From when to when a state holds, that lies between two session times.
fn spell<T: Copy + PartialEq>(line: &Timeline<T>, state: T, (from, to): (f64, f64)) -> (f64, f64) {
    let turns = line.turns();
    let spells: Vec<(f64, f64)> = (0..turns.len())
        .filter(|&i| turns[i].1 == state && (from..to).contains(&turns[i].0))
        .map(|i| (turns[i].0, turns.get(i + 1).map_or(f64::INFINITY, |next| next.0)))
        .collect();
    assert_eq!(spells.len(), 1, "{spells:?} between {from} and {to}");
    spells[0]
}

#[derive(Default)]
struct Seen {
    lamps: usize,
    in_gaps: usize,
    disagreements: usize,
}

#[test]
fn twenty_flights_light_up_as_they_were_flown() {
    let mut seen = Seen::default();
    for seed in 1..=20u32 {
        // Compressed flights of several lengths, and one at true pace.
        let seconds = if seed == 20 { 600.0 } else { 75.0 + 3.0 * f64::from(seed) };
        one_flight(seed.into(), seconds, &mut seen);
    }
    println!("{} lamps looked at, {} alerts in gaps, {} disagreements", seen.lamps, seen.in_gaps, seen.disagreements);
    assert!(seen.lamps > 500_000 && seen.in_gaps > 500 && seen.disagreements > 20);
}

fn one_flight(seed: u64, seconds: f64, seen: &mut Seen) {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo::write(folder, &DemoOptions { seconds, seed, film: false }).expect("flight");
    let read = file::open(&folder.join("panel.toml")).expect("panel");
    assert!(read.faults.is_empty(), "{:?}", read.faults);
    let (panel, session, truth) = (read.panel, made::session(folder), Truth::read(folder));
    let judged = judge(&session, &panel);
    let events = events(folder);
    // The reference is the air log: its clock is the session's.
    let air = truth.column("air_s");
    let session_s = |row: f64| truth.value(air, row).expect("within the truth");

    lamps_against_truth(&panel, &session, &judged, &truth, seen);
    let named = |name: &str| {
        let i = panel.limits.iter().position(|limit| limit.name == name).expect("limit");
        (&panel.limits[i], &judged.alerts[i])
    };

    // Low rotor: on when the limit has been passed for its time, off when the value is back by the hysteresis.
    let (limit, alert) = named("rotor low");
    let (rotor, (from, to)) = (truth.column("engine.Rotor [%]"), events["low rotor"]);
    let first = |value: f64, after: f64, falling: bool| {
        let mut rows = (after as usize)..;
        let past = |row: &usize| {
            let found = truth.value(rotor, *row as f64).expect("rotor");
            if falling { found < value } else { found > value }
        };
        session_s(rows.find(past).expect("a crossing") as f64)
    };
    let (start, end) = spell(alert, AlertState::On, (session_s(from) - 1.0, session_s(to)));
    let within = |what: &str, found: f64, low: f64, high: f64| {
        let (low, high) = (low - ENGINE_CLOCK_S, high + RECORD_S + ENGINE_CLOCK_S);
        assert!((low..=high).contains(&found), "seed {seed}, {what}: {found:.3}, expected {low:.3} to {high:.3}");
    };
    let [early, late] = [ROUNDING, -ROUNDING].map(|by| first(limit.value + by, from - 100.0, true) + limit.seconds);
    within("low rotor on", start, early, late);
    let back = limit.value + limit.clear_by;
    let [early, late] = [-ROUNDING, ROUNDING].map(|by| first(back + by, to - 5.0, false));
    within("low rotor off", end, early, late);

    // The chip lamp, as it was lit.
    let chip = panel.lamps.iter().position(|lamp| lamp.name == "chip").expect("lamp");
    let line = judged.recorded[chip].as_ref().expect("recorded");
    let (lit_from, lit_to) = (session_s(events["chip light"].0), session_s(events["chip light"].1));
    let (start, end) = spell(line, Recorded::Lit, (f64::NEG_INFINITY, f64::INFINITY));
    within("chip on", start, lit_from, lit_from);
    within("chip off", end, lit_to, lit_to);

    // A sensor that is away: bridged for a second, then nobody knows; never off, never on.
    let (_, alert) = named("oil pressure low");
    let (from, to) = (session_s(events["sensor drop-out"].0), session_s(events["sensor drop-out"].1));
    assert_eq!([alert.at(from - 0.5), alert.at(to + 0.5)], [AlertState::Off; 2], "seed {seed}");
    let mut t = from + 1.0 + ENGINE_CLOCK_S;
    while t < to - ENGINE_CLOCK_S {
        assert_eq!(alert.at(t), AlertState::Unknown, "seed {seed} at {t}");
        seen.in_gaps += 1;
        t += 0.01;
    }
}

/// Every lamp on every row of the truth.
fn lamps_against_truth(panel: &Panel, session: &Session, judged: &Judged, truth: &Truth, seen: &mut Seen) {
    let air = truth.column("air_s");
    let engine = session.find("engine.Rotor").expect("channel");
    let (first, last) = session.channel(engine).and_then(Channel::span).expect("records");
    let fit = session.fit(engine).expect("joined");
    let (first, last) = (fit.inverse(first), fit.inverse(last));
    let columns: Vec<usize> = panel.lamps.iter().map(|lamp| truth.column(&lamp.channel)).collect();
    let mut readout = Readout::new(session, judged, panel);
    let low = panel.limits.iter().position(|limit| limit.name == "rotor low").expect("limit");
    for row in 0.. {
        let row = f64::from(row);
        let Some(t) = truth.value(air, row) else { break };
        let state = readout.at(SessionTime(t), Notice::Bare).lamps;
        if t < first || t > last + 1.0 {
            assert!(state.recorded.iter().all(|word| *word == LampWord::Unknown), "{state:?} at {t}");
            assert!(state.alerts.iter().all(|alert| alert.word() == "unknown"), "{state:?} at {t}");
            continue;
        }
        let (back, ahead) = ((RECORD_S + ENGINE_CLOCK_S) / STEP_S, ENGINE_CLOCK_S / STEP_S);
        for ((lamp, word), &column) in panel.lamps.iter().zip(&state.recorded).zip(&columns) {
            // After its last record the logger's word is kept for a second.
            let until = if t > last { 1.0 / STEP_S } else { 0.0 };
            let could = truth.values(column, row - back - until, row + ahead);
            let lit = f64::from(u8::from(word.lit().expect("known")));
            assert!(could.contains(&lit), "{} is {word:?} at {t}, the truth {could:?}", lamp.name);
            seen.lamps += 1;
        }
        let lit_groups = panel.lamp_groups().into_iter().zip(&state.groups);
        for (group, shown) in lit_groups {
            let lit: Vec<usize> = group.into_iter().filter(|&i| state.recorded[i].lit() == Some(true)).collect();
            let expected = lit.first().map_or(LampShown::Unlit, |&i| LampShown::Lit(i));
            assert_eq!(*shown, expected, "at {t}");
        }
        // The lamp trips at 94 %, the rule at 95 %: between the two they must contradict each other.
        if (state.recorded[0], state.alerts[low]) == (LampWord::Off, AlertShown::On) {
            seen.disagreements += 1;
        }
    }
}

/// Seconds of a tick, on which records, rules and waits lie; it is asked in the middle of each.
const TICK_S: f64 = 0.25;

fn tick(n: usize) -> f64 {
    n as f64 * TICK_S
}

/// Neighbours within a tick, held for 4, stale for 12.
const RULES: StateRules = StateRules { joined_s: TICK_S, held_s: 4.0 * TICK_S, stale_s: 12.0 * TICK_S };
const HELD: usize = 4;

/// One record a tick; none where nothing was recorded.
type Series = Vec<Option<f64>>;

fn session_of(series: &[Series]) -> Session {
    let channels = series.iter().enumerate();
    let made =
        channels.map(|(n, values)| made::channel(&format!("c{n}"), None, Kind::Continuous, (TICK_S, RULES), values));
    Session::of(made::recording(made.collect()))
}

/// What a series says in a tick: its last record, not older than it may be held.
fn known(series: &Series, n: usize) -> Option<f64> {
    (0..=n).rev().take(HELD).find_map(|i| series.get(i).copied().flatten())
}

/// Gaps come as often as they are long.
fn series(values: impl Strategy<Value = f64> + Clone + 'static) -> impl Strategy<Value = Series> {
    let run = prop_oneof![
        6 => proptest::collection::vec(values.prop_map(Some), 1..8),
        1 => (1usize..18).prop_map(|n| vec![None; n]),
    ];
    proptest::collection::vec(run, 1..24).prop_map(|runs| runs.concat())
}

fn asked(session: &Session, panel: &Panel, ticks: usize) -> Vec<LampsState> {
    let judged = judge(session, panel);
    let mut readout = Readout::new(session, &judged, panel);
    (0..ticks).map(|n| readout.at(SessionTime(tick(n) + TICK_S / 2.0), Notice::Bare).lamps).collect()
}

/// The rule, tick by tick: how long has what been so?
fn by_the_rule(limit: &Limit, series: &Series, ticks: usize) -> Vec<AlertShown> {
    let so = |seconds: f64| (seconds / TICK_S).round() as usize;
    let beyond = |v: f64, by: f64| if limit.is_minimum { v < limit.value + by } else { v > limit.value - by };
    let (mut armed, mut on) = (limit.armed_by.is_none(), false);
    let (mut inside_ticks, mut passed_ticks) = (0, 0);
    let mut shown = Vec::new();
    for n in 0..ticks {
        let Some(value) = known(series, n) else {
            (inside_ticks, passed_ticks) = (0, 0);
            shown.push(if on { AlertShown::Lost { age_s: 0.0 } } else { AlertShown::Unknown });
            continue;
        };
        if let Some(arming) = &limit.armed_by {
            let inside = if arming.above { value > arming.value } else { value < arming.value };
            armed |= inside && inside_ticks >= so(arming.seconds);
            inside_ticks = if inside { inside_ticks + 1 } else { 0 };
        }
        if !armed {
            shown.push(AlertShown::Waiting);
            continue;
        }
        let passed = beyond(value, 0.0);
        on = if on { beyond(value, limit.clear_by) } else { passed && passed_ticks >= so(limit.seconds) };
        passed_ticks = if passed { passed_ticks + 1 } else { 0 };
        shown.push(match (on, passed) {
            (true, _) => AlertShown::On,
            (false, true) => AlertShown::Waiting,
            (false, false) => AlertShown::Off,
        });
    }
    shown
}

fn limit() -> impl Strategy<Value = Limit> {
    let arming = proptest::option::of((0..6usize, 1..4u8));
    (any::<bool>(), 0..6usize, 0..3u8, arming).prop_map(|(is_minimum, wait, clear_by, arming)| Limit {
        name: "limit".into(),
        seconds: tick(wait),
        clear_by: f64::from(clear_by),
        armed_by: arming.map(|(wait, by)| Arming {
            channel: None,
            value: if is_minimum { 4.0 + f64::from(by) } else { 6.0 - f64::from(by) },
            above: is_minimum,
            seconds: tick(wait),
        }),
        severity: Severity::Caution,
        subject: "X".into(),
        word: "LOW".into(),
        source: "invented".into(),
        ..Limit::bare("c0", 5.0, is_minimum)
    })
}

/// Three lamps of which one should be lit, tick by tick: their words, and what they show together.
fn lamps_by_the_rule(series: &[Series], ticks: usize) -> Vec<Option<LampShown>> {
    // A second, in ticks.
    let patience = 4;
    let (mut unsound_ticks, mut sound) = (0, None);
    let mut shown = Vec::new();
    for n in 0..ticks {
        let lit: Vec<Option<bool>> = series.iter().map(|s| known(s, n).map(|v| v != 0.0)).collect();
        if lit.contains(&None) {
            (unsound_ticks, sound) = (0, None);
            shown.push(None);
            continue;
        }
        let lit: Vec<usize> = (0..lit.len()).filter(|&i| lit[i] == Some(true)).collect();
        if let [only] = lit[..] {
            (unsound_ticks, sound) = (0, Some(LampShown::Lit(only)));
        } else {
            unsound_ticks += 1;
        }
        // Before anything sound was seen they show what they are, the gravest first: here the first.
        let as_is = lit.first().map_or(LampShown::Unlit, |&i| LampShown::Lit(i));
        let waits = unsound_ticks <= patience;
        shown.push(Some(if waits { sound.unwrap_or(as_is) } else { LampShown::Disagree }));
    }
    shown
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, ..ProptestConfig::default() })]

    #[test]
    fn any_series_is_judged_by_the_rule(series in series((0u8..10).prop_map(f64::from)), limit in limit()) {
        let ticks = series.len() + 16;
        let panel = Panel { limits: vec![limit.clone()], ..Panel::default() };
        let found = asked(&session_of(std::slice::from_ref(&series)), &panel, ticks);
        for (n, expected) in by_the_rule(&limit, &series, ticks).into_iter().enumerate() {
            match (found[n].alerts[0], expected) {
                (AlertShown::Lost { age_s }, AlertShown::Lost { .. }) => {
                    let last = (0..=n).rev().find(|&i| series.get(i).copied().flatten().is_some()).expect("a record");
                    prop_assert!((age_s - (tick(n - last) + TICK_S / 2.0)).abs() < 1e-9, "tick {}: {}", n, age_s);
                }
                (found, expected) => prop_assert_eq!(found, expected, "tick {}", n),
            }
        }
    }

    #[test]
    fn lamps_of_which_one_should_be_lit(
        series in proptest::collection::vec(series(prop_oneof![3 => Just(0.0), 1 => Just(1.0)]), 3)
    ) {
        let ticks = series.iter().map(Vec::len).max().unwrap_or(0) + 16;
        let severities = [Severity::Caution, Severity::InTransit, Severity::Normal];
        let lamps = severities.into_iter().enumerate().map(|(i, severity)| Lamp {
            name: format!("lamp {i}"),
            channel: format!("c{i}"),
            subject: "CLUTCH".into(),
            lit: LitWords::Word("LIT".into()),
            severity,
            always_one: true,
        });
        let panel = Panel { lamps: lamps.collect(), ..Panel::default() };
        let found = asked(&session_of(&series), &panel, ticks);
        for (n, expected) in lamps_by_the_rule(&series, ticks).into_iter().enumerate() {
            let (shown, words) = (found[n].groups[0], &found[n].recorded);
            match expected {
                None => {
                    prop_assert!(matches!(shown, LampShown::Stale { .. } | LampShown::Invalid), "tick {}: {:?}", n, shown);
                    prop_assert!(words.iter().all(|word| *word == LampWord::Unknown));
                }
                Some(expected) => {
                    prop_assert_eq!(shown, expected, "tick {}", n);
                    let on = words.iter().filter(|word| word.lit() == Some(true)).count();
                    prop_assert_eq!(on, usize::from(matches!(shown, LampShown::Lit(_))));
                    prop_assert_eq!(words.contains(&LampWord::Disagree), shown == LampShown::Disagree);
                }
            }
        }
    }
}

/// A lamp that no log recorded is not unlit, and does not make its neighbours contradict each other.
#[test]
fn what_is_not_recorded_is_not_unlit() {
    let lamp = |name: &str, channel: &str, subject: &str, always_one| Lamp {
        name: name.into(),
        channel: channel.into(),
        subject: subject.into(),
        lit: LitWords::Word("LIT".into()),
        severity: Severity::Caution,
        always_one,
    };
    let lamps = vec![lamp("a", "gone", "A", false), lamp("b", "c0", "B", true), lamp("c", "gone", "B", true)];
    let panel = Panel { lamps, ..Panel::default() };
    let state = asked(&session_of(&[vec![Some(0.0); 20]]), &panel, 12).pop().expect("a moment");
    assert_eq!(state.recorded, [LampWord::NotRecorded, LampWord::Off, LampWord::NotRecorded]);
    assert_eq!(state.groups, [LampShown::NotRecorded, LampShown::Unlit]);
}
