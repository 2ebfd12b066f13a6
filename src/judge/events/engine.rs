//! Starts and shutdowns of the engine, and what its sensors said while it was cold.

use super::{Event, EventKind, Fact, Flight, Records};
use crate::panel::{EngineRules, EngineState, Severity};

/// What a start is judged on.
struct Sensors {
    speed: Records,
    exhaust: Option<Records>,
    volts: Option<Records>,
    starter: Option<Records>,
}

/// Every start, step by step.
pub(super) fn starts(flight: &Flight<'_>) -> Vec<Event> {
    let Some(rules) = &flight.panel.engine else { return Vec::new() };
    let channels = &rules.channels;
    let Some(speed) = flight.records(channels.speed.as_deref(), "%") else { return Vec::new() };
    let sensors = Sensors {
        speed,
        exhaust: flight.records(channels.exhaust.as_deref(), "degC"),
        volts: flight.records(channels.volts.as_deref(), "V"),
        starter: flight.records(channels.starter.as_deref(), ""),
    };
    let (first, last) = flight.span();
    let mut events = Vec::new();
    let mut stood_until: Option<f64> = None;
    for (from, to, state) in flight.judged.engine.stretches(first, last) {
        match state {
            EngineState::Start => events.push(start(flight, rules, &sensors, from, to)),
            EngineState::Stopped => stood_until = Some(to),
            EngineState::Running => events.extend(stood_until.map(|stood| start(flight, rules, &sensors, stood, from))),
            EngineState::NotJudged | EngineState::Shutdown => {}
        }
        if !matches!(state, EngineState::Stopped | EngineState::NotJudged) {
            stood_until = None;
        }
    }
    events
}

fn start(flight: &Flight<'_>, rules: &EngineRules, sensors: &Sensors, from: f64, to: f64) -> Event {
    let mut facts = Vec::new();
    let then = flight.judged.engine.at(to);
    let lit = sensors.exhaust.as_ref().and_then(|exhaust| light_off(rules, exhaust, from, to));
    let idle = sensors.speed.between(from, to).find(|record| record.1 >= rules.idle).map(|record| record.0);
    if let Some(starter) = &sensors.starter {
        let off = starter.between(from, to).rev().find(|record| record.1 != 0.0);
        facts.extend(off.map(|off| Fact::new("starter cut out after", off.0 - from, "s", 1).at(off.0)));
    }
    facts.extend(lit.map(|lit| Fact::new("light-off after", lit - from, "s", 1).at(lit)));
    let least = sensors.volts.as_ref().and_then(|volts| volts.least(from, to));
    facts.extend(least.map(|(at, volts)| Fact::new("least voltage", volts, "V", 1).at(at)));
    // Until the start is over or given up; a peak comes before the engine has settled.
    let peak = sensors.exhaust.as_ref().and_then(|exhaust| exhaust.greatest(from, to));
    if let (Some((at, hottest)), Some(exhaust)) = (peak, &sensors.exhaust) {
        let name = format!("highest exhaust gas temperature, one of {:.1} records a second", exhaust.rate_hz);
        facts.push(Fact::new(name, hottest, "\u{b0}C", 0).at(at));
        facts.extend(above_limits(flight, rules, from, to));
    }
    facts.extend(idle.map(|idle| Fact::new("idle after", idle - from, "s", 1).at(idle)));

    let hot = rules.channels.exhaust.as_deref().and_then(|channel| {
        let within = flight.exceedances_of(channel).filter(|e| e.from_s <= to && e.to_s >= from);
        within.filter_map(|e| Some(flight.panel.limits.get(e.limit)?.severity)).min()
    });
    let hung = hung(rules, &sensors.speed, lit.unwrap_or(from), idle.unwrap_or(to));
    let waited = rules.no_light_after.filter(|seconds| lit.unwrap_or(to) - from > *seconds);
    let no_light = sensors.exhaust.is_some() && (waited.is_some() || lit.is_none() && then == EngineState::Stopped);
    let (kind, name, severity) = if no_light {
        (EventKind::NoLight, "Start, no light-off", Some(Severity::Caution))
    } else if let Some(since) = hung {
        facts.push(Fact::new("hung at", sensors.speed.at(since).unwrap_or(0.0), "%", 0).at(since));
        (EventKind::HungStart, "Start, hung", Some(Severity::Caution))
    } else if hot.is_some() {
        (EventKind::HotStart, "Start, hot", hot)
    } else {
        let name = match then {
            // It stood, then nothing is known, and then it ran.
            _ if flight.judged.engine.at(from) != EngineState::Start => "Start, record interrupted",
            EngineState::Running => "Start",
            EngineState::NotJudged => "Start, record interrupted",
            _ => "Start, not completed",
        };
        (EventKind::Start, name, None)
    };
    let mut event = flight.event(kind, name, (from, to));
    event.plus_minus_s = sensors.speed.plus_minus_s;
    event.peak_s = peak.map(|peak| peak.0);
    event.severity = severity;
    event.facts = facts;
    event.rule = format!(
        "from the engine's first record above {} % until at {} % for {} s; lit when the exhaust gas has become {} K hotter within {} s; \
         hung when below {} % and rising by less than {} % a second for {} s; no light-off {}; hot when one of the owner's exhaust gas limits was passed",
        rules.stopped,
        rules.idle,
        rules.settled_after,
        rules.light_off_rise,
        rules.light_off_within,
        rules.idle,
        rules.hung_rate,
        rules.hung_for,
        rules
            .no_light_after
            .map_or("when it stops again unlit".into(), |s| format!("within {s} s, or when it stops again unlit")),
    );
    event
}

/// When the exhaust gas has become hotter by the rule's rise within its time.
fn light_off(rules: &EngineRules, exhaust: &Records, from: f64, to: f64) -> Option<f64> {
    let records: Vec<(f64, f64)> = exhaust.between(from - rules.light_off_within, to).collect();
    let rose = |&(time, value): &(f64, f64)| {
        let recent = records.iter().filter(|r| r.0 <= time && r.0 >= time - rules.light_off_within);
        time >= from && recent.map(|r| r.1).fold(f64::INFINITY, f64::min) + rules.light_off_rise <= value
    };
    records.iter().find(|record| rose(record)).map(|record| record.0)
}

/// Since when the speed has hardly risen for the rule's time.
fn hung(rules: &EngineRules, speed: &Records, from: f64, until: f64) -> Option<f64> {
    let records: Vec<(f64, f64)> = speed.between(from, until).collect();
    records.iter().enumerate().find_map(|(i, &(time, value))| {
        let end = records[i..].partition_point(|r| r.0 < time + rules.hung_for - 1e-9) + i;
        let (last, risen) = records.get(end).map(|r| (r.0, r.1 - value))?;
        let below = records[i..=end].iter().all(|r| r.1 < rules.idle && r.1 >= rules.stopped);
        (below && risen < rules.hung_rate * (last - time)).then_some(time)
    })
}

/// For how long a start was above each of the owner's upper limits of the exhaust gas.
fn above_limits(flight: &Flight<'_>, rules: &EngineRules, from: f64, to: f64) -> Vec<Fact> {
    let Some(channel) = rules.channels.exhaust.as_deref() else { return Vec::new() };
    let id = flight.session.find(channel);
    let of_exhaust = flight.panel.limits.iter().filter(|limit| {
        !limit.is_minimum
            && limit.along.is_none()
            && limit.over_s.is_none()
            && flight.session.find(&limit.channel) == id
    });
    let Some(records) = flight.records(Some(channel), "") else { return Vec::new() };
    let seconds = |bound: f64| {
        let within: Vec<(f64, f64)> = records.between(from, to).collect();
        within.windows(2).filter(|pair| pair[0].1 > bound).map(|pair| pair[1].0 - pair[0].0).sum::<f64>()
    };
    let facts = of_exhaust
        .map(|limit| Fact::new(format!("above {} {}", limit.value, records.unit), seconds(limit.value), "s", 1));
    facts.filter(|fact| fact.value > 0.0).collect()
}

/// From below idle until engine and rotor stand.
pub(super) fn shutdowns(flight: &Flight<'_>) -> Vec<Event> {
    let Some(rules) = &flight.panel.engine else { return Vec::new() };
    let rotor = flight.rotor();
    let stopped = flight.panel.phases.as_ref().map_or(rules.stopped, |phases| phases.stopped);
    let mut events = Vec::new();
    for (from, to) in flight.engine_stretches(EngineState::Shutdown) {
        if flight.judged.engine.at(to) != EngineState::Stopped {
            continue;
        }
        let rest = rotor.as_ref().and_then(|rotor| rotor.between(from, f64::INFINITY).find(|r| r.1 < stopped));
        let mut event = flight.event(EventKind::RunDown, "Run-down", (from, rest.map_or(to, |rest| rest.0.max(to))));
        event.facts.push(Fact::new("engine to rest", to - from, "s", 1).at(to));
        event.facts.extend(rest.map(|rest| Fact::new("rotor to rest", rest.0 - from, "s", 1).at(rest.0)));
        event.rule = format!(
            "from the engine's first record below {:.0} % until below {} %; the rotor until below {stopped} %",
            rules.cut_off_share * rules.idle,
            rules.stopped
        );
        events.push(event);
    }
    events
}

/// What the sensors said of a cold engine before its first start: everything should be as warm as the air, and still.
pub(super) fn cold_check(flight: &Flight<'_>) -> Option<Event> {
    let rules = flight.panel.engine.as_ref()?;
    let channels = &rules.channels;
    let (began, _) = *flight.engine_stretches(EngineState::Start).first()?;
    let window = (began - flight.panel.events.cold_for, began - 1e-6);
    let mean = |channel: Option<&str>, unit: &str| {
        let records = flight.records(channel, unit)?;
        Some((records.mean(window.0, window.1)?, records.unit))
    };
    let outside = mean(channels.outside.as_deref(), "degC");
    let mut facts = Vec::new();
    if let Some((outside, _)) = outside {
        for (name, channel) in [
            ("exhaust gas above outside air", &channels.exhaust),
            ("oil above outside air", &channels.oil_temperature),
            ("gearbox oil above outside air", &channels.gearbox_temperature),
        ] {
            let warm = mean(channel.as_deref(), "degC");
            facts.extend(warm.map(|(warm, _)| Fact::new(name, warm - outside, "K", 1)));
        }
    }
    for (name, channel) in
        [("engine speed", &channels.speed), ("oil pressure", &channels.oil_pressure), ("fuel flow", &channels.flow)]
    {
        let zero = mean(channel.as_deref(), "");
        facts.extend(zero.map(|(value, unit)| Fact::new(format!("{name} at rest"), value, unit, 1)));
    }
    let mut severity = None;
    if let Some(phases) = &flight.panel.phases
        && let (Some((altitude, _)), Some(field)) = (mean(phases.channels.altitude.as_deref(), "ft"), phases.field_ft)
    {
        facts.push(Fact::new("altimeter above the field's elevation", altitude - field, "ft", 0));
        let off = (altitude - field).abs() > flight.panel.events.altimeter_within;
        severity = off.then_some(Severity::Advisory);
    }
    if facts.is_empty() {
        return None;
    }
    let mut event =
        flight.event(EventKind::ColdCheck, "Sensors before the start", (window.0.max(flight.span().0), began));
    (event.facts, event.severity) = (facts, severity);
    event.rule = format!(
        "means of the {} s before the engine first turned: temperatures should equal the outside air's, the rest zero, an altimeter the field's \
         elevation within {} ft (AIM 7-2-3, from memory)",
        flight.panel.events.cold_for, flight.panel.events.altimeter_within
    );
    Some(event)
}
