//! The rotor: brought up to the engine, too slow, and without drive.

use super::{Event, EventKind, Exceedance, Fact, Flight, Records};
use crate::judge::drive::Drive;
use crate::panel::{Face, Limit, Phase};

/// Every time that the rotor was brought up to the engine.
pub(super) fn engagements(flight: &Flight<'_>) -> Vec<Event> {
    let Some(rules) = &flight.panel.phases else { return Vec::new() };
    let engine = flight.engine();
    let of_start = flight.stretches(|phase| phase == Phase::RotorStart);
    let event = |(from, to): (f64, f64)| {
        let mut event = flight.event(EventKind::Engagement, "Rotor engagement", (from, to));
        event.facts.push(Fact::new("until joined", to - from, "s", 1));
        let least = engine.as_ref().and_then(|engine| engine.least(from, to));
        event.facts.extend(least.map(|(at, least)| Fact::new("least engine speed", least, "%", 1).at(at)));
        event.rule = Phase::RotorStart.rule(rules);
        event
    };
    of_start.into_iter().filter(|span| flight.phase(span.1).on_ground() == Some(true)).map(event).collect()
}

/// What tells why a rotor went low.
struct Witnesses {
    rotor: Records,
    engine: Option<Records>,
    flow: Option<Records>,
    exhaust: Option<Records>,
}

/// Every time that a lower limit of the rotor was passed, with its likely cause and the seconds before it.
pub(super) fn low(flight: &Flight<'_>) -> Vec<Event> {
    let (panel, session) = (flight.panel, flight.session);
    let rotor_of = |limit: &Limit| {
        let id = session.find(&limit.channel);
        let by_phases = panel.phases.as_ref().and_then(|p| p.channels.rotor.as_deref());
        let by_faces = panel.instruments.iter().filter_map(|i| match &i.face {
            Face::Tachometer(both) => Some(both.rotor.as_str()),
            _ => None,
        });
        id.is_some() && by_phases.into_iter().chain(by_faces).any(|rotor| session.find(rotor) == id)
    };
    let channels = panel.engine.as_ref().map(|rules| &rules.channels);
    let mut events = Vec::new();
    for exceedance in &flight.judged.exceedances {
        let Some(limit) = panel.limits.get(exceedance.limit).filter(|limit| limit.is_minimum && rotor_of(limit)) else {
            continue;
        };
        let Some(rotor) = flight.records(Some(&limit.channel), "") else { continue };
        let witnesses = Witnesses {
            rotor,
            engine: flight.engine(),
            flow: flight.records(channels.and_then(|c| c.flow.as_deref()), ""),
            exhaust: flight.records(channels.and_then(|c| c.exhaust.as_deref()), ""),
        };
        events.push(low_rotor(flight, limit, exceedance, &witnesses));
    }
    events
}

fn low_rotor(flight: &Flight<'_>, limit: &Limit, exceedance: &Exceedance, seen: &Witnesses) -> Event {
    let rules = &flight.panel.events;
    let began = exceedance.from_s;
    let before = |records: &Option<Records>, seconds: f64| {
        let records = records.as_ref()?;
        Some(records.at(began)? - records.at(began - seconds)?)
    };
    let (flow, exhaust) = (before(&seen.flow, rules.cause_within), before(&seen.exhaust, rules.cause_within));
    let slips = flight.judged.drives.iter().flatten().any(|line| {
        let within = (began - rules.cause_within, exceedance.peak_s.max(began) + 1e-6);
        line.stretches(within.0, within.1).any(|s| s.2 == Drive::Slipping)
    });
    let joined = flight.judged.drives.iter().flatten().any(|line| line.at(began) == Drive::Together);
    let cause = match (flow, exhaust) {
        _ if slips => "slipping",
        (Some(flow), Some(exhaust)) if flow < 0.0 && exhaust < 0.0 => "power loss",
        (flow, exhaust) if joined && flow.is_some_and(|f| f > 0.0) | exhaust.is_some_and(|e| e > 0.0) => "droop",
        _ => "cause not judged",
    };
    let mut event = flight.event(EventKind::LowRotor, format!("Low rotor, {cause}"), (began, exceedance.to_s));
    event.severity = Some(limit.severity);
    event.peak_s = Some(exceedance.peak_s);
    event.plus_minus_s = exceedance.plus_minus_s;
    let unit = seen.rotor.unit.clone();
    event.facts.push(Fact::new("least rotor speed", exceedance.peak, unit.clone(), 1).at(exceedance.peak_s));
    let back = seen.rotor.between(exceedance.to_s, f64::INFINITY).find(|r| r.1 >= limit.value + limit.clear_by);
    event.facts.extend(back.map(|back| Fact::new("recovered after", back.0 - began, "s", 1).at(back.0)));
    let lead = began - rules.lead_up;
    let all = [
        ("rotor", Some(&seen.rotor)),
        ("engine", seen.engine.as_ref()),
        ("fuel flow", seen.flow.as_ref()),
        ("exhaust gas", seen.exhaust.as_ref()),
    ];
    for (name, records) in all.into_iter().filter_map(|(name, records)| Some((name, records?))) {
        let written = format!("{name} {} s before", rules.lead_up);
        event.facts.extend(records.at(lead).map(|v| Fact::new(written, v, records.unit.clone(), 1).at(lead)));
        event.facts.extend(records.at(began).map(|v| Fact::new(name, v, records.unit.clone(), 1).at(began)));
    }
    event.rule = format!(
        "below {} for {} s; in the {} s before it: slipping when the drive slipped, power loss when fuel flow and exhaust gas temperature fell, \
         droop when the drive was joined and one of them rose, else not judged",
        limit.value, limit.seconds, rules.cause_within
    );
    event
}

/// Every descent without drive.
pub(super) fn autorotations(flight: &Flight<'_>) -> Vec<Event> {
    let Some(rules) = &flight.panel.phases else { return Vec::new() };
    let channels = &rules.channels;
    let speed = flight.records(channels.airspeed.as_deref(), "kt");
    let sink = flight.records(channels.vertical_speed.as_deref(), "ft/min");
    let height = flight.records(channels.altitude.as_deref(), "ft");
    let rotor = flight.rotor();
    let mut events = Vec::new();
    for (from, to) in flight.stretches(|phase| phase == Phase::Autorotation) {
        let mut event = flight.event(EventKind::Autorotation, "Autorotation", (from, to));
        let mut band = |records: &Option<Records>, names: [&str; 2], unit: &str, decimals| {
            let Some(records) = records else { return };
            let ends = [records.least(from, to), records.greatest(from, to)];
            for (name, end) in names.into_iter().zip(ends) {
                event.facts.extend(end.map(|(at, value)| Fact::new(name, value, unit, decimals).at(at)));
            }
        };
        band(&rotor, ["least rotor speed", "greatest rotor speed"], "%", 1);
        band(&speed, ["least airspeed", "greatest airspeed"], "kt", 0);
        band(&sink, ["fastest sink", "slowest sink"], "ft/min", 0);
        if let Some(height) = &height {
            let lost = height.at(from).zip(height.at(to)).map(|(start, end)| start - end);
            event.facts.extend(lost.map(|lost| Fact::new("height lost", lost, "ft", 0)));
        }
        let ends_on_ground = flight.phase(to).on_ground() == Some(true);
        event.name = if ends_on_ground { "Autorotation to the ground".into() } else { "Autorotation, rejoined".into() };
        event.rule = Phase::Autorotation.rule(rules);
        events.push(event);
    }
    events
}
