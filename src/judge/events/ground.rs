//! Between the ground and the air.

use super::{Event, EventKind, Fact, Flight};
use crate::panel::{Phase, Severity};

/// Take-offs, landings, touches of the ground, and what may have been settling with power.
pub(super) fn changes(flight: &Flight<'_>) -> Vec<Event> {
    let Some(rules) = &flight.panel.phases else { return Vec::new() };
    let mut events = Vec::new();
    let (first, last) = flight.span();
    let mut before: Option<bool> = None;
    for (from, _, phase) in flight.judged.phases.line.stretches(first, last) {
        let now = phase.on_ground();
        let (kind, name) = match (before, now) {
            (Some(true), Some(false)) => (EventKind::TakeOff, "Take-off"),
            (Some(false), Some(true)) => (EventKind::Landing, "Landing"),
            _ => {
                before = now;
                continue;
            }
        };
        before = now;
        let mut event = flight.event(kind, name, (from, from));
        event.rule = if kind == EventKind::TakeOff { Phase::Hover } else { Phase::OnGround }.rule(rules);
        events.push(event);
    }
    let numbers = &flight.panel.events;
    for &(from, to) in &flight.judged.phases.touches {
        let mut event = flight.event(EventKind::TouchAndGo, "Touch-and-go", (from, to));
        event.facts.push(Fact::new("on the ground for", to - from, "s", 1));
        event.rule = format!(
            "on the ground by height and another witness for {} to {} s within a flight",
            numbers.touch_least, rules.landed_for
        );
        events.push(event);
    }
    for &(from, to) in &flight.judged.phases.settling {
        let name = "Settling with power, possible";
        let mut event = flight.event(EventKind::SettlingPossible, name, (from, to));
        event.severity = Some(Severity::Advisory);
        let sink = flight.records(rules.channels.vertical_speed.as_deref(), "ft/min");
        let fastest = sink.and_then(|sink| sink.least(from, to));
        event.peak_s = fastest.map(|fastest| fastest.0);
        event.facts.extend(fastest.map(|(at, sink)| Fact::new("fastest sink", sink, "ft/min", 0).at(at)));
        event.rule = format!(
            "flying with power as in flight, sink above {} ft/min, ground speed below {} kt, for {} s (FAA-H-8083-21, from memory)",
            numbers.settling_sink, numbers.settling_speed, numbers.settling_for
        );
        events.push(event);
    }
    events
}
