//! What happened in a flight: found once, on the records, by the owner's rules.

mod drive;
mod engine;
mod ground;
mod lamps;
mod rotor;

use super::event::{Event, EventKind, Exceedance, Fact};
use super::said::{Said, converted, plus_minus, said};
use super::{Judged, Timeline};
use crate::panel::{EngineState, Panel, Phase};
use crate::session::Session;

/// Everything that events are found in.
pub(super) struct Flight<'a> {
    pub session: &'a Session,
    pub panel: &'a Panel,
    pub judged: &'a Judged,
}

/// A channel's records and how exact their times are.
pub(super) struct Records {
    pub steps: Vec<(f64, Said)>,
    pub plus_minus_s: f64,
    /// Records a second.
    pub rate_hz: f64,
    pub unit: String,
}

impl Records {
    /// The steps up to the last record: what comes after it is the end of the log, and no gap.
    pub fn recorded(&self) -> &[(f64, Said)] {
        let last = self.steps.iter().rposition(|step| matches!(step.1, Said::Value(_)));
        last.and_then(|last| self.steps.get(..=last)).unwrap_or_default()
    }

    /// The value that counts at a session time.
    pub fn at(&self, time_s: f64) -> Option<f64> {
        let i = self.steps.partition_point(|step| step.0 <= time_s).checked_sub(1)?;
        if let (_, Said::Value(value)) = *self.steps.get(i)? { Some(value) } else { None }
    }

    /// The records between two session times, both included.
    pub fn between(&self, from_s: f64, to_s: f64) -> impl DoubleEndedIterator<Item = (f64, f64)> {
        let (first, last) = (self.steps.partition_point(|s| s.0 < from_s), self.steps.partition_point(|s| s.0 <= to_s));
        let steps = self.steps.get(first..last.max(first)).unwrap_or_default();
        steps.iter().filter_map(|&(time, said)| if let Said::Value(value) = said { Some((time, value)) } else { None })
    }

    /// The least record between two times, and when.
    pub fn least(&self, from_s: f64, to_s: f64) -> Option<(f64, f64)> {
        self.between(from_s, to_s).reduce(|a, b| if b.1 < a.1 { b } else { a })
    }

    /// The greatest record between two times, and when.
    pub fn greatest(&self, from_s: f64, to_s: f64) -> Option<(f64, f64)> {
        self.between(from_s, to_s).reduce(|a, b| if b.1 > a.1 { b } else { a })
    }

    /// The mean of the records between two times.
    pub fn mean(&self, from_s: f64, to_s: f64) -> Option<f64> {
        let (mut sum, mut n) = (0.0, 0.0);
        for (_, value) in self.between(from_s, to_s) {
            sum += value;
            n += 1.0;
        }
        (n > 0.0).then(|| sum / n)
    }
}

impl Flight<'_> {
    /// The records of a channel in a unit, or in its own where none is asked for; none where no log has it.
    pub fn records(&self, channel: Option<&str>, unit: &str) -> Option<Records> {
        let id = self.session.find(channel?)?;
        let found = self.session.channel(id)?;
        let steps = if unit.is_empty() { said(self.session, id) } else { converted(self.session, id, unit) };
        let (first, last) = (steps.first()?.0, steps.last()?.0);
        let records = found.times.len().saturating_sub(1) as f64;
        let unit = if unit.is_empty() { found.unit.clone().unwrap_or_default() } else { unit.to_owned() };
        let rate_hz = if last > first { records / (last - first) } else { 0.0 };
        Some(Records { steps, plus_minus_s: plus_minus(self.session, id).unwrap_or(0.0), rate_hz, unit })
    }

    /// The rotor in percent of its normal speed.
    pub fn rotor(&self) -> Option<Records> {
        self.records(self.panel.phases.as_ref()?.channels.rotor.as_deref(), "%")
    }

    /// The engine in percent of its normal speed.
    pub fn engine(&self) -> Option<Records> {
        let by_engine = self.panel.engine.as_ref().and_then(|rules| rules.channels.speed.as_deref());
        let by_phases = self.panel.phases.as_ref().and_then(|rules| rules.channels.engine.as_deref());
        self.records(by_engine.or(by_phases), "%")
    }

    pub fn phase(&self, time_s: f64) -> Phase {
        self.judged.phases.line.at(time_s)
    }

    /// First and last session time of the records.
    pub fn span(&self) -> (f64, f64) {
        let (first, last) = self.session.span();
        (first.0, last.0)
    }

    /// The stretches of some phases.
    pub fn stretches(&self, of: impl Fn(Phase) -> bool) -> Vec<(f64, f64)> {
        let (first, last) = self.span();
        joined(self.judged.phases.line.stretches(first, last).filter(|s| of(s.2)).map(|s| (s.0, s.1)))
    }

    /// The stretches of one state of the engine.
    pub fn engine_stretches(&self, of: EngineState) -> Vec<(f64, f64)> {
        let (first, last) = self.span();
        self.judged.engine.stretches(first, last).filter(|s| s.2 == of).map(|s| (s.0, s.1)).collect()
    }

    /// The stretches of one state of a timeline.
    pub fn of<T: Copy + PartialEq>(&self, line: &Timeline<T>, state: T) -> Vec<(f64, f64)> {
        let (first, last) = self.span();
        line.stretches(first, last).filter(|s| s.2 == state).map(|s| (s.0, s.1)).collect()
    }

    /// An event with the phase at its moment.
    pub fn event(&self, kind: EventKind, name: impl Into<String>, (from_s, to_s): (f64, f64)) -> Event {
        Event {
            kind,
            name: name.into(),
            severity: None,
            from_s,
            to_s,
            plus_minus_s: self.judged.phases.plus_minus_s,
            peak_s: None,
            phase: self.phase(from_s),
            facts: Vec::new(),
            rule: String::new(),
        }
    }

    /// Exceedances of one channel's limits.
    pub fn exceedances_of<'s>(&'s self, channel: &str) -> impl Iterator<Item = &'s Exceedance> {
        let id = self.session.find(channel);
        let of_channel = move |limit: usize| {
            self.panel.limits.get(limit).is_some_and(|limit| id.is_some() && self.session.find(&limit.channel) == id)
        };
        self.judged.exceedances.iter().filter(move |e| of_channel(e.limit))
    }
}

/// Stretches that meet, as one.
fn joined(stretches: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut all: Vec<(f64, f64)> = Vec::new();
    for (from, to) in stretches {
        match all.last_mut() {
            Some(last) if last.1 >= from => last.1 = to,
            _ => all.push((from, to)),
        }
    }
    all
}

/// All events, by their starts.
pub(super) fn find(session: &Session, panel: &Panel, judged: &Judged) -> Vec<Event> {
    let flight = Flight { session, panel, judged };
    let mut events = Vec::new();
    events.extend(engine::starts(&flight));
    events.extend(engine::shutdowns(&flight));
    events.extend(engine::cold_check(&flight));
    events.extend(drive::splits(&flight));
    events.extend(rotor::engagements(&flight));
    events.extend(rotor::low(&flight));
    events.extend(rotor::autorotations(&flight));
    events.extend(ground::changes(&flight));
    events.extend(lamps::all(&flight));
    for event in &mut events {
        event.phase = event.peak_s.map_or(event.phase, |at| flight.phase(at));
    }
    events.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    events
}
