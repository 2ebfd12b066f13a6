//! Needle splits: rotor and engine apart.

use super::{Event, EventKind, Fact, Flight};
use crate::judge::drive::Drive;
use crate::panel::{Face, Phase, Severity};

/// Every split of every tachometer with a rule for its drive.
pub(super) fn splits(flight: &Flight<'_>) -> Vec<Event> {
    let mut events = Vec::new();
    let (first, last) = flight.span();
    for (instrument, line) in flight.panel.instruments.iter().zip(&flight.judged.drives) {
        let Face::Tachometer(both) = &instrument.face else { continue };
        let Some(rule) = &both.drive else { continue };
        let (rotor, engine) = (flight.records(Some(&both.rotor), ""), flight.records(Some(&both.engine), ""));
        let (Some(rotor), Some(engine)) = (rotor, engine) else { continue };
        let Some(line) = line else {
            let mut event = flight.event(EventKind::SplitNotJudged, "Needle split, not judged", (first, last));
            event.rule = "rotor and engine come from two loggers: between two clocks a change of speed would look like a difference".into();
            events.push(event);
            continue;
        };
        let written = format!("more than {} % apart for {} s, on one logger", rule.apart, rule.seconds);
        for (from, to, state) in line.stretches(first, last) {
            // While its time runs a difference is not named yet: it began before.
            let began = from - rule.seconds;
            let (kind, name, severity) = match state {
                Drive::RotorAhead => {
                    let phase = flight.phase(from);
                    let name = match phase {
                        Phase::RunDown | Phase::OnGround | Phase::Standing => "Needle split, run-down",
                        Phase::RotorStart => "Needle split, start",
                        _ => "Needle split, freewheeling",
                    };
                    (EventKind::Freewheeling, name, Severity::Advisory)
                }
                Drive::Slipping => (EventKind::Slipping, "Needle split, slipping", rule.severity),
                _ => continue,
            };
            let split = |time: f64| Some(rotor.at(time)? - engine.at(time)?);
            let times = rotor.between(began, to).map(|record| record.0).filter(|time| *time < to);
            let widest = times.filter_map(|time| Some((time, split(time)?)));
            let Some((at, widest)) = widest.reduce(|a, b| if b.1.abs() > a.1.abs() { b } else { a }) else { continue };
            let mut event = flight.event(kind, name, (began, to));
            (event.severity, event.peak_s) = (Some(severity), Some(at));
            event.plus_minus_s = rotor.plus_minus_s.max(engine.plus_minus_s);
            event.facts.push(Fact::new("rotor minus engine", widest, "%", 1).at(at));
            event.facts.extend(rotor.at(at).map(|v| Fact::new("rotor", v, "%", 1).at(at)));
            event.facts.extend(engine.at(at).map(|v| Fact::new("engine", v, "%", 1).at(at)));
            event.rule = match state {
                Drive::Slipping => format!("engine ahead with the clutch engaged, {written} ({})", rule.source),
                _ => format!("rotor ahead, {written} ({}); not a fault", rule.source),
            };
            events.push(event);
        }
    }
    events
}
