//! Needle splits: rotor and engine apart.

use super::{Event, EventKind, Fact, Flight, Records};
use crate::judge::Timeline;
use crate::judge::doubt::Doubt;
use crate::judge::drive::Drive;
use crate::panel::{Face, Phase, Severity, Tachometer};

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
            event.rule = "one of the two speeds is computed, and does not say on which clock it stands".into();
            events.push(event);
            continue;
        };
        let doubt = doubt(flight, both, [&rotor, &engine]);
        let clocks = match doubt.as_ref().filter(|doubt| doubt.has_two_clocks()) {
            Some(doubt) => {
                events.extend(hidden(flight, doubt, line, [&rotor, &engine]));
                "on two loggers, and beyond three sigma of what their clocks and sensors could make"
            }
            None => "on one logger",
        };
        let written = format!("more than {} % apart for {} s, {clocks}", rule.apart, rule.seconds);
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

fn doubt<'a>(flight: &Flight<'a>, both: &Tachometer, records: [&Records; 2]) -> Option<Doubt<'a>> {
    let ids = [flight.session.find(&both.rotor)?, flight.session.find(&both.engine)?];
    Doubt::new(flight.session, ids, records.map(|records| &*records.steps))
}

/// Where two clocks could have made a difference, or have hidden one: all of it as one remark.
fn hidden(
    flight: &Flight<'_>,
    doubt: &Doubt<'_>,
    line: &Timeline<Drive>,
    [rotor, engine]: [&Records; 2],
) -> Option<Event> {
    let there = |time: f64| rotor.at(time).is_some() && engine.at(time).is_some();
    let spans: Vec<(f64, f64)> = flight.of(line, Drive::NotJudged).into_iter().filter(|span| there(span.0)).collect();
    let (first, last) = (spans.first()?, spans.last()?);
    let whole = spans.iter().map(|span| span.1 - span.0).sum();
    let times = spans.iter().flat_map(|span| rotor.between(span.0, span.1)).map(|record| record.0);
    let doubts = times.map(|time| (time, doubt.three_sigma(time)));
    let most = doubts.filter(|it| it.1.is_finite()).reduce(|a, b| if b.1 > a.1 { b } else { a });
    let mut event = flight.event(EventKind::SplitNotJudged, "Needle split, not judged", (first.0, last.1));
    event.plus_minus_s = rotor.plus_minus_s.max(engine.plus_minus_s);
    event.facts.push(Fact::new("not judged for", whole, "s", 1));
    event.facts.push(Fact::new("clocks known to \u{b1}", doubt.clock_sigma(first.0), "s", 2));
    if let Some((at, most)) = most {
        event.peak_s = Some(at);
        event.facts.push(Fact::new("clocks may hide up to", most, "%", 1).at(at));
    }
    event.rule = "rotor and engine come from two loggers: while their speeds change, what the clocks differ by looks like a split. Not judged where three \
                  sigma of that (the rates of change times the clocks' sigma, and the sensors' unrest) are more than the owner's limit and the split is less than they"
        .into();
    Some(event)
}
