//! Situations that are easily misjudged, each as a short record made by hand: what must be found, and what must not.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod made;

use jumpseat::judge::{AlertState, Drive, Event, EventKind, Judged, Phase, judge};
use jumpseat::keyfile::Document;
use jumpseat::panel::{Face, Panel, Severity, file};
use jumpseat::session::{Session, SessionLog};
use jumpseat::signal::{Kind, StateRules};
use std::path::Path;

/// Seconds between two records.
const STEP_S: f64 = 0.1;
const RULES: StateRules = StateRules { joined_s: 0.25, held_s: 1.0, stale_s: 5.0 };
/// How long each record is.
const LONG_S: f64 = 400.0;

/// A value over time, by straight lines between moments.
type Keys<'a> = &'a [(f64, f64)];

fn line(keys: Keys<'_>, t: f64) -> f64 {
    let after = keys.partition_point(|key| key.0 <= t);
    match (after.checked_sub(1).map(|i| keys[i]), keys.get(after)) {
        (Some((t0, a)), Some((t1, b))) => a + (b - a) * (t - t0) / (t1 - t0),
        (Some((_, a)), None) => a,
        (None, next) => next.map_or(0.0, |key| key.1),
    }
}

/// A flight of a helicopter that starts, engages, hovers, flies, lands and shuts down; what is different is laid over it.
struct Made {
    columns: Vec<(&'static str, &'static str, Vec<Option<f64>>)>,
}

impl Made {
    fn new() -> Self {
        let engine: Keys<'_> = &[
            (30.0, 0.0),
            (45.0, 62.0),
            (60.0, 62.0),
            (80.0, 62.0),
            (95.0, 100.0),
            (330.0, 100.0),
            (335.0, 62.0),
            (350.0, 62.0),
            (358.0, 0.0),
        ];
        let rotor: Keys<'_> =
            &[(60.0, 0.0), (80.0, 62.0), (95.0, 100.0), (330.0, 100.0), (335.0, 62.0), (350.0, 62.0), (380.0, 0.0)];
        let egt: Keys<'_> =
            &[(33.0, 15.0), (40.0, 600.0), (48.0, 430.0), (95.0, 520.0), (350.0, 430.0), (370.0, 100.0)];
        let flow: Keys<'_> = &[
            (32.0, 0.0),
            (35.0, 4.0),
            (90.0, 4.5),
            (100.0, 9.0),
            (108.0, 11.0),
            (318.0, 11.0),
            (325.0, 7.0),
            (350.0, 4.0),
            (351.0, 0.0),
        ];
        let altitude: Keys<'_> = &[
            (110.0, 400.0),
            (113.0, 408.0),
            (130.0, 408.0),
            (190.0, 1200.0),
            (250.0, 1200.0),
            (305.0, 410.0),
            (318.0, 408.0),
            (321.0, 400.0),
        ];
        let sink: Keys<'_> = &[
            (110.0, 0.0),
            (111.0, 160.0),
            (113.0, 0.0),
            (130.0, 0.0),
            (135.0, 800.0),
            (185.0, 800.0),
            (190.0, 0.0),
            (250.0, 0.0),
            (255.0, -860.0),
            (300.0, -860.0),
            (306.0, 0.0),
            (318.0, 0.0),
            (319.0, -160.0),
            (321.0, 0.0),
        ];
        let ground: Keys<'_> = &[(130.0, 0.0), (140.0, 55.0), (295.0, 55.0), (306.0, 0.0)];
        let airspeed: Keys<'_> = &[(130.0, 5.0), (140.0, 60.0), (295.0, 60.0), (306.0, 5.0)];
        let volts: Keys<'_> = &[(29.9, 25.0), (30.0, 18.0), (45.0, 24.0), (50.0, 28.0), (350.0, 28.0), (352.0, 25.0)];
        let oil: Keys<'_> = &[(32.0, 0.0), (40.0, 50.0), (350.0, 50.0), (358.0, 0.0)];
        let engaged: Keys<'_> = &[(79.9, 0.0), (80.0, 1.0), (352.0, 1.0), (352.1, 0.0)];
        let mut made = Self { columns: Vec::new() };
        for (name, unit, keys) in [
            ("Rotor", "%", rotor),
            ("Engine", "%", engine),
            ("EGT", "degC", egt),
            ("Flow", "gal/h", flow),
            ("Altitude", "ft", altitude),
            ("VS", "ft/min", sink),
            ("GS", "kt", ground),
            ("IAS", "kt", airspeed),
            ("Volts", "V", volts),
            ("Oil P", "psi", oil),
            ("Fuel", "gal", &[(0.0, 9.0)][..]),
            ("OAT", "degC", &[(0.0, 15.0)][..]),
            ("Engaged", "", engaged),
            ("Lamp Low Rotor", "", &[(94.0, 1.0), (94.1, 0.0), (330.5, 0.0), (330.6, 1.0)][..]),
            ("Lamp Chip", "", &[(0.0, 0.0)][..]),
            ("Lamp Charge", "", &[(50.0, 1.0), (50.1, 0.0), (351.0, 0.0), (351.1, 1.0)][..]),
        ] {
            made.set(name, unit, |t, _| Some(line(keys, t)));
        }
        made
    }

    /// Puts a column in, or in its place; `f` is given the time and what stood there.
    fn set(&mut self, name: &'static str, unit: &'static str, f: impl Fn(f64, Option<f64>) -> Option<f64>) {
        let old = self.columns.iter().position(|column| column.0 == name);
        let before = old.map(|i| self.columns.remove(i));
        let count = (LONG_S / STEP_S) as usize;
        let values = (0..count).map(|i| f(i as f64 * STEP_S, before.as_ref().and_then(|b| b.2[i]))).collect();
        self.columns.push((name, before.map_or(unit, |b| b.1), values));
    }

    /// Lays other keys over a column between two moments.
    fn over(&mut self, name: &'static str, keys: Keys<'_>) {
        let (from, to) = (keys[0].0, keys[keys.len() - 1].0);
        self.set(name, "", |t, old| if (from..=to).contains(&t) { Some(line(keys, t)) } else { old });
    }

    fn session(&self, alone: &[&str]) -> Session {
        let log = |name: &str, of: &dyn Fn(&str) -> bool| {
            let channels = self.columns.iter().filter(|c| of(c.0)).map(|(name, unit, values)| {
                let kind =
                    if name.starts_with("Lamp") || *name == "Engaged" { Kind::Discrete } else { Kind::Continuous };
                let unit = Some(*unit).filter(|unit| !unit.is_empty());
                made::channel(name, unit, kind, (STEP_S, RULES), values)
            });
            let recording = made::recording(channels.collect());
            SessionLog { name: name.into(), part_of: None, recording, fit: Some(jumpseat::clock::ClockFit::same()) }
        };
        let rest = log("log", &|name| !alone.contains(&name));
        if alone.is_empty() {
            return Session::join(vec![rest], 0);
        }
        Session::join(vec![rest, log("other", &|name| alone.contains(&name))], 0)
    }

    fn judged(&self) -> (Panel, Judged) {
        let panel = panel("");
        let judged = judge(&self.session(&[]), &panel);
        (panel, judged)
    }
}

/// The owner's panel, with more of it.
fn panel(more: &str) -> Panel {
    let text = format!(
        r#"
[[instrument]]
name = "rpm"
kind = "tachometer"
rotor = "Rotor"
engine = "Engine"
title = "RPM"
place = {{ slot = "left", size = "XL" }}
scale.breakpoints = [[0, -142], [120, 90]]
scale.ticks = {{ long = 20, short = 10 }}
scale.numerals = [0, 40, 80, 120]
[instrument.drive]
apart = 2.0
for = 1.0
clutch = "Engaged"
severity = "warning"
source = "invented"

[[lamp]]
name = "low_rotor"
channel = "Lamp Low Rotor"
subject = "ROTOR"
lit = "LOW"
severity = "warning"
[[lamp]]
name = "chip"
channel = "Lamp Chip"
subject = "CHIP"
lit = "CHIP"
severity = "caution"
[[lamp]]
name = "charge"
channel = "Lamp Charge"
subject = "CHARGE"
lit = ["NOT", "CHARGING"]
severity = "caution"

[[limit]]
name = "rotor low"
channel = "Rotor"
below = 95
for = 0.3
clear_by = 0.5
armed_by = {{ above = 97, for = 5 }}
disarmed_by = {{ phases = ["on ground", "run-down", "standing"] }}
severity = "warning"
subject = "ROTOR"
source = "invented"
[[limit]]
name = "start EGT"
channel = "EGT"
above = 700
for = 5
sooner = [[750, 1], [800, 0]]
while = {{ engine = "start" }}
severity = "warning"
subject = "EGT"
source = "invented"
[[limit]]
name = "fuel low"
channel = "Fuel"
below = 4
median = 30
for = 10
clear_by = 1
severity = "caution"
source = "invented"
[[limit]]
name = "oil pressure low"
channel = "Oil P"
below = 25
for = 2
while = {{ engine = "running" }}
severity = "warning"
source = "invented"

[phases]
rotor = "Rotor"
engine = "Engine"
ground_speed = "GS"
airspeed = "IAS"
vertical_speed = "VS"
altitude = "Altitude"
field = "400 ft"
power = "Flow"
power_in_flight = 8.5
idle = 65

[engine]
speed = "Engine"
exhaust = "EGT"
volts = "Volts"
flow = "Flow"
oil_pressure = "Oil P"
outside = "OAT"
idle = 60
no_light_after = 15
{more}"#
    );
    let read = file::read(Document::of(Path::new("panel.toml"), text));
    assert!(read.faults.is_empty(), "{:?}", read.faults);
    read.panel
}

fn kinds(judged: &Judged) -> Vec<EventKind> {
    judged.events.iter().map(|event| event.kind).collect()
}

fn grave(judged: &Judged) -> Vec<&Event> {
    judged.events.iter().filter(|e| e.severity.is_some_and(|s| s <= Severity::Caution)).collect()
}

fn one(judged: &Judged, kind: EventKind) -> &Event {
    let all: Vec<&Event> = judged.events.iter().filter(|event| event.kind == kind).collect();
    assert_eq!(all.len(), 1, "{kind:?}: {all:#?}");
    all[0]
}

#[test]
fn a_sound_flight_from_cold_to_shutdown_has_nothing_grave_in_it() {
    let mut made = Made::new();
    // The lamps are tested before the start.
    for (lamp, from) in [("Lamp Chip", 10.0), ("Lamp Low Rotor", 10.2), ("Lamp Charge", 10.3)] {
        made.set(
            lamp,
            "",
            |t, old| if t < 20.0 { Some(f64::from(u8::from(t >= from && t < from + 3.0))) } else { old },
        );
    }
    let (_, judged) = made.judged();
    assert!(grave(&judged).is_empty(), "{:#?}", grave(&judged));
    assert!(judged.exceedances.is_empty(), "{:#?}", judged.exceedances);
    let test = one(&judged, EventKind::LampTest);
    assert!((test.from_s - 10.0).abs() < 0.15 && (test.to_s - 13.3).abs() < 0.15, "{test:?}");
    assert_eq!(one(&judged, EventKind::Start).name, "Start");
    for kind in
        [EventKind::TakeOff, EventKind::Landing, EventKind::Engagement, EventKind::RunDown, EventKind::ColdCheck]
    {
        one(&judged, kind);
    }
    let hover = judged.figures.by_phase.iter().find(|p| p.phase == Phase::Hover).expect("hover");
    assert!(hover.seconds > 15.0, "{}", hover.seconds);
}

#[test]
fn freewheeling_is_never_red_and_slipping_is_found() {
    // A practice autorotation, and a power-off landing.
    let mut made = Made::new();
    made.over("Engine", &[(250.0, 100.0), (254.0, 63.0), (320.0, 63.0), (345.0, 62.0)]);
    made.over("Rotor", &[(250.0, 100.0), (256.0, 103.0), (300.0, 102.0), (306.0, 97.0), (318.0, 96.0), (335.0, 62.0)]);
    made.over("Flow", &[(250.0, 11.0), (254.0, 4.0), (350.0, 4.0)]);
    let (_, judged) = made.judged();
    assert!(judged.events.iter().all(|e| e.kind != EventKind::Slipping), "{:#?}", judged.events);
    let red = grave(&judged).into_iter().filter(|e| e.kind == EventKind::Freewheeling).count();
    assert_eq!(red, 0);
    assert_eq!(one(&judged, EventKind::Autorotation).phase, Phase::Autorotation);
    assert!(judged.exceedances.is_empty(), "{:#?}", judged.exceedances);

    // The engine a little ahead with the clutch engaged.
    let mut made = Made::new();
    made.over("Engine", &[(200.0, 100.0), (200.5, 102.2), (203.0, 102.2), (203.5, 100.0)]);
    let (_, judged) = made.judged();
    let slipping = one(&judged, EventKind::Slipping);
    assert_eq!(slipping.severity, Some(Severity::Warning));
    assert!((slipping.from_s - 200.5).abs() <= 0.15 && (slipping.to_s - 203.1).abs() <= 0.15, "{slipping:?}");
}

#[test]
fn bad_starts_are_told_apart() {
    let start = |change: &dyn Fn(&mut Made)| {
        let mut made = Made::new();
        change(&mut made);
        made.judged().1
    };
    // 760 degrees for a second and a half: the limit of 700 for 5 s alone would not have seen it.
    let hot = start(&|made| made.over("EGT", &[(36.0, 300.0), (38.0, 760.0), (39.5, 760.0), (44.0, 500.0)]));
    assert_eq!(one(&hot, EventKind::HotStart).severity, Some(Severity::Warning));
    assert_eq!(hot.exceedances.len(), 1, "{:?}", hot.exceedances);
    assert!((hot.exceedances[0].peak - 760.0).abs() < 1.0);
    let hung =
        start(&|made| made.over("Engine", &[(30.0, 0.0), (38.0, 35.0), (55.0, 37.0), (60.0, 62.0), (80.0, 62.0)]));
    let event = one(&hung, EventKind::HungStart);
    let at = event.facts.iter().find(|fact| fact.name == "hung at").expect("where").value;
    assert!((31.0..37.5).contains(&at), "{event:?}");
    let unlit = start(&|made| {
        made.set("EGT", "degC", |t, old| if t < 60.0 { Some(15.0) } else { old.filter(|_| t > 70.0) });
        made.over("Engine", &[(30.0, 0.0), (35.0, 15.0), (52.0, 15.0), (56.0, 0.0)]);
        made.set("Engine", "%", |t, old| if t > 56.0 { Some(0.0) } else { old });
        made.set("Rotor", "%", |_, _| Some(0.0));
    });
    assert_eq!(one(&unlit, EventKind::NoLight).severity, Some(Severity::Caution));
    let sound = start(&|_| {});
    assert_eq!(one(&sound, EventKind::Start).severity, None);
}

#[test]
fn a_logger_that_resets_at_the_starter_is_not_a_start_gone_wrong() {
    let mut made = Made::new();
    for name in
        ["Rotor", "Engine", "EGT", "Flow", "Volts", "Oil P", "Engaged", "Lamp Low Rotor", "Lamp Chip", "Lamp Charge"]
    {
        made.set(name, "", |t, old| old.filter(|_| !(30.2..42.0).contains(&t)));
    }
    let (_, judged) = made.judged();
    let bad = [EventKind::HotStart, EventKind::HungStart, EventKind::NoLight, EventKind::Slipping, EventKind::Lamp];
    assert!(kinds(&judged).iter().all(|kind| !bad.contains(kind)), "{:#?}", judged.events);
    assert!(grave(&judged).is_empty(), "{:#?}", grave(&judged));
    assert_eq!(one(&judged, EventKind::Start).name, "Start, record interrupted");
}

/// Engagement in four seconds, rotor and engine turning as one.
fn quick(made: &mut Made) {
    made.over("Engine", &[(80.0, 62.0), (84.0, 100.0), (95.0, 100.0)]);
    made.over("Rotor", &[(80.0, 62.0), (84.0, 100.0), (95.0, 100.0)]);
}

/// The rotor's records as they stand when its logger is so much late.
fn late(made: &mut Made, seconds: f64) {
    let records = (seconds / STEP_S) as usize;
    let rotor = made.columns.iter_mut().find(|column| column.0 == "Rotor").expect("a rotor");
    let moved = std::iter::repeat_n(rotor.2[0], records).chain(rotor.2.iter().copied());
    rotor.2 = moved.take(rotor.2.len()).collect();
}

/// The rotor has a logger of its own, whose clock is known so well.
fn two_loggers(made: &Made, sigma_s: f64) -> Session {
    let session = made.session(&["Rotor"]);
    let mut logs = session.logs().to_vec();
    for log in &mut logs[1..] {
        let mut fit = jumpseat::clock::ClockFit::same();
        fit.cov[0][0] = sigma_s.powi(2);
        log.fit = Some(fit);
    }
    Session::join(logs, 0)
}

fn splits(judged: &Judged) -> Vec<&Event> {
    judged.events.iter().filter(|e| matches!(e.kind, EventKind::Slipping | EventKind::Freewheeling)).collect()
}

#[test]
fn a_late_logger_makes_no_split_through_the_engagement() {
    let mut made = Made::new();
    quick(&mut made);
    late(&mut made, 0.2);
    // By its clock, were it believed, the engine is nearly two percent ahead for four seconds, the clutch being engaged.
    let mut strict = panel("");
    if let Face::Tachometer(both) = &mut strict.instruments[0].face {
        both.drive.as_mut().expect("a rule").apart = 1.5;
    }
    let believed = judge(&two_loggers(&made, 0.0), &strict);
    assert!(splits(&believed).iter().any(|e| e.kind == EventKind::Slipping), "else this tries nothing");
    let judged = judge(&two_loggers(&made, 0.25), &strict);
    let remark = one(&judged, EventKind::SplitNotJudged);
    assert!(remark.from_s < 81.0 && remark.to_s > 83.0 && remark.rule.contains("two loggers"), "{remark:?}");
    assert!(splits(&judged).iter().all(|e| e.from_s > 320.0), "{:#?}", splits(&judged));
    assert!(grave(&judged).is_empty(), "{:#?}", grave(&judged));
    let at = |t: f64| judged.drives[0].as_ref().expect("a line").at(t);
    assert_eq!([at(82.0), at(83.0), at(200.0)], [Drive::NotJudged, Drive::NotJudged, Drive::Together]);
    // The rotor turns on for half a minute after the engine: no clock makes that.
    assert_eq!(one(&judged, EventKind::Freewheeling).name, "Needle split, run-down");
}

#[test]
fn a_steady_slip_is_found_over_two_loggers() {
    let mut made = Made::new();
    quick(&mut made);
    late(&mut made, 0.2);
    made.over("Engine", &[(200.0, 100.0), (200.5, 102.2), (215.0, 102.2), (215.5, 100.0)]);
    let judged = judge(&two_loggers(&made, 0.25), &panel(""));
    let slipping = one(&judged, EventKind::Slipping);
    // While the engine ran up, and fell back, the clocks could have made it.
    assert!((200.4..203.0).contains(&slipping.from_s) && (212.0..215.6).contains(&slipping.to_s), "{slipping:?}");
    assert_eq!(slipping.severity, Some(Severity::Warning));
    // Clocks that are not known to seconds tell nothing.
    let judged = judge(&two_loggers(&made, 4.0), &panel(""));
    assert!(splits(&judged).is_empty(), "{:#?}", splits(&judged));
    one(&judged, EventKind::SplitNotJudged);
}

#[test]
fn what_disturbs_sensors_makes_no_events() {
    let mut made = Made::new();
    // In the hover the airspeed reads anything from 0 to 18 kt; at lift-off the static pressure jumps; in cruise the altimeter
    // is set anew; the fuel sloshes about the limit's other side.
    made.set("IAS", "kt", |t, old| {
        let hover = (105.0..130.0).contains(&t) || (306.0..325.0).contains(&t);
        if hover { Some(9.0 + 9.0 * (t * 7.3).sin()) } else { old }
    });
    made.set("Altitude", "ft", |t, old| {
        let jump = if (109.5..111.0).contains(&t) { -25.0 } else { 0.0 };
        let setting = if t > 215.0 && t < 235.0 { 280.0 } else { 0.0 };
        old.map(|v| v + jump + setting)
    });
    made.set("VS", "ft/min", |t, old| if (109.5..110.3).contains(&t) { Some(-400.0) } else { old });
    made.set("Fuel", "gal", |t, _| Some(5.2 + 1.9 * (t * 1.7).sin()));
    let (_, judged) = made.judged();
    assert!(grave(&judged).is_empty() && judged.exceedances.is_empty(), "{:#?}", judged.exceedances);
    one(&judged, EventKind::TakeOff);
    one(&judged, EventKind::Landing);
    assert!(kinds(&judged).iter().all(|k| !matches!(k, EventKind::TouchAndGo | EventKind::SettlingPossible)));
    let at = |t: f64| judged.phases.line.at(t);
    assert_eq!([at(120.0), at(225.0)], [Phase::Hover, Phase::Cruise]);
}

#[test]
fn a_touch_of_the_ground_and_a_sink_under_power() {
    let mut made = Made::new();
    // From cruise down to the field, on the skids for five seconds, and off again.
    made.over("Altitude", &[(200.0, 1200.0), (220.0, 400.0), (225.0, 400.0), (235.0, 700.0), (250.0, 1200.0)]);
    made.over("GS", &[(200.0, 55.0), (218.0, 0.0), (226.0, 0.0), (230.0, 55.0)]);
    made.over("Flow", &[(218.0, 11.0), (220.0, 7.0), (225.0, 7.0), (226.0, 11.0)]);
    let (_, judged) = made.judged();
    let touch = one(&judged, EventKind::TouchAndGo);
    assert!((touch.from_s - 219.9).abs() < 0.8 && (touch.to_s - 225.3).abs() < 0.8, "{touch:?}");
    one(&judged, EventKind::Landing);

    let mut made = Made::new();
    made.over("GS", &[(200.0, 55.0), (205.0, 5.0), (215.0, 5.0), (220.0, 55.0)]);
    made.over("VS", &[(206.0, 0.0), (207.0, -900.0), (212.0, -900.0), (213.0, 0.0)]);
    let (_, judged) = made.judged();
    let settling = one(&judged, EventKind::SettlingPossible);
    assert_eq!(settling.severity, Some(Severity::Advisory));
    assert!((settling.from_s - 206.4).abs() < 0.3, "{settling:?}");
}

#[test]
fn why_a_rotor_went_low() {
    let low = |flow: Keys<'_>, egt: Keys<'_>, engine: Keys<'_>| {
        let mut made = Made::new();
        made.over("Rotor", &[(200.0, 100.0), (203.0, 91.0), (206.0, 91.0), (209.0, 100.0)]);
        made.over("Flow", flow);
        made.over("EGT", egt);
        made.over("Engine", engine);
        let (_, judged) = made.judged();
        let event = one(&judged, EventKind::LowRotor).clone();
        assert!((event.from_s - 201.7).abs() < 0.15, "{event:?}");
        event.name
    };
    let joined: Keys<'_> = &[(200.0, 100.0), (203.0, 91.0), (206.0, 91.0), (209.0, 100.0)];
    let (more, less): (Keys<'_>, Keys<'_>) =
        (&[(199.0, 11.0), (202.0, 14.0), (210.0, 11.0)], &[(199.0, 11.0), (202.0, 6.0), (210.0, 11.0)]);
    let (hotter, cooler): (Keys<'_>, Keys<'_>) =
        (&[(199.0, 480.0), (202.0, 600.0), (210.0, 480.0)], &[(199.0, 480.0), (202.0, 400.0), (210.0, 480.0)]);
    assert_eq!(low(more, hotter, joined), "Low rotor, droop");
    assert_eq!(low(less, cooler, joined), "Low rotor, power loss");
    assert_eq!(low(more, hotter, &[(200.0, 100.0), (209.0, 100.0)]), "Low rotor, slipping");
    assert_eq!(
        low(more, cooler, &[(200.0, 100.0), (203.0, 80.0), (206.0, 80.0), (209.0, 100.0)]),
        "Low rotor, cause not judged"
    );
}

#[test]
fn limits_depend_on_what_the_owner_says() {
    let more = r#"
[[limit]]
name = "speed"
channel = "IAS"
along = "Altitude"
above = [[0, 70], [1000, 62], [1100, 55]]
severity = "warning"
source = "invented"
[[limit]]
name = "climb"
channel = "Altitude"
above = 300
over = 20
severity = "advisory"
source = "invented"
[[limit]]
name = "chip seen"
channel = "Lamp Chip"
above = 0.5
latched = true
severity = "caution"
source = "invented"
[[limit]]
name = "hover power"
channel = "Flow"
above = 10.5
while = { phases = "hover" }
severity = "caution"
source = "invented"
[[limit]]
name = "old"
channel = "Volts"
above = 1
holds_to = "2020-01-01"
severity = "caution"
source = "invented"
"#;
    let panel = panel(more);
    let mut made = Made::new();
    made.over("Lamp Chip", &[(150.0, 0.0), (150.1, 1.0), (151.0, 1.0), (151.1, 0.0)]);
    let judged = judge(&made.session(&[]), &panel);
    let named = |name: &str| panel.limits.iter().position(|limit| limit.name == name).expect("limit");
    let line = |name: &str| &judged.alerts[named(name)];
    // 60 kt pass the limit from where it has come down to 60, 1028.6 ft; above 1100 ft the table says nothing.
    let speed = judged.exceedances.iter().filter(|e| e.limit == named("speed")).collect::<Vec<_>>();
    assert_eq!(speed.len(), 2, "{speed:?}");
    assert!(speed.iter().all(|e| e.at_least && (e.limit_value - 55.0).abs() < 0.2), "{speed:?}");
    assert_eq!(line("speed").at(220.0), AlertState::Unknown);
    assert!(
        judged.unjudged.iter().any(|u| u.limit == named("speed") && u.why.contains("table")),
        "{:?}",
        judged.unjudged
    );
    // 800 ft in 60 s are 267 in 20; the descent's 860 ft/min never rise.
    assert!(judged.exceedances.iter().all(|e| e.limit != named("climb")));
    assert_eq!(line("chip seen").at(390.0), AlertState::On, "latched");
    let chip = judged.exceedances.iter().find(|e| e.limit == named("chip seen")).expect("chip");
    assert!(chip.to_s < 151.2, "latched is the alert, not the excess: {chip:?}");
    assert!(line("hover power").at(120.0) == AlertState::On && line("hover power").at(220.0) == AlertState::Waiting);
    // Which day it was no log says.
    assert_eq!(line("old").at(220.0), AlertState::Unknown);
}

#[test]
fn limits_that_contradict_each_other_are_told() {
    let limit = |name: &str, bound: &str, severity: &str| {
        format!("[[limit]]\nname = \"{name}\"\nchannel = \"a\"\n{bound}\nseverity = \"{severity}\"\nsource = \"x\"\n")
    };
    let codes = |text: String| -> Vec<&'static str> {
        file::read(Document::of(Path::new("panel.toml"), text)).faults.iter().map(|fault| fault.code).collect()
    };
    let fine = limit("a", "above = 650", "caution") + &limit("b", "above = 700", "warning");
    assert_eq!(codes(fine), Vec::<&str>::new());
    let beyond = limit("a", "above = 720", "caution") + &limit("b", "above = 700", "warning");
    assert_eq!(codes(beyond), ["limits_contradict"]);
    let nothing = limit("a", "above = 90", "caution") + &limit("b", "below = 95", "warning");
    assert_eq!(codes(nothing), ["limits_contradict"]);
    let bare = limit("a", "above = 90\nwhile = { phases = \"hover\" }", "caution");
    assert_eq!(codes(bare), ["nothing_judges"]);
    let falling = limit("a", "above = 90\nfor = 5\nsooner = [[80, 1]]", "caution");
    assert_eq!(codes(falling), ["rows_not_rising"]);
    let reversed = limit("a", "along = \"b\"\nabove = [[10, 5], [0, 9]]", "caution");
    assert_eq!(codes(reversed), ["rows_not_rising"]);
}
