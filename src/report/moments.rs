//! What is worth looking at in a film of the flight: chapters, captions and excerpts are made of the same moments.

use super::words::{number, seconds};
use crate::clock::ClockFit;
use crate::judge::{Event, EventKind, Exceedance, Judged};
use crate::panel::{Panel, Severity};
use crate::session::Session;

/// Something to look at, in film time.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// Its name, as *Low rotor, droop*.
    pub name: String,
    /// What was recorded, in one line: *EGT above 640 °C: 667 °C, for 19.5 s*.
    pub text: String,
    /// How grave it is; none for what is only part of a flight.
    pub severity: Option<Severity>,
    /// Film time in seconds.
    pub from_s: f64,
    /// Film time in seconds.
    pub to_s: f64,
}

/// All moments of a flight that lie within a film, by their starts. An exceedance that an event tells of in its own words is
/// there once.
pub fn moments(session: &Session, panel: &Panel, judged: &Judged, fit: &ClockFit, film_end_s: f64) -> Vec<Moment> {
    let told = |e: &Exceedance| {
        judged.events.iter().any(|event| {
            event.kind == EventKind::LowRotor && event.from_s == e.from_s && event.peak_s == Some(e.peak_s)
        })
    };
    let exceedances = judged.exceedances.iter().filter(|e| !told(e)).filter_map(|e| of_exceedance(session, panel, e));
    let events = judged.events.iter().filter(|event| is_moment(event.kind)).map(of_event);
    let mut all: Vec<Moment> = exceedances.chain(events).collect();
    for moment in &mut all {
        (moment.from_s, moment.to_s) = (fit.inverse(moment.from_s), fit.inverse(moment.to_s));
    }
    all.retain(|moment| moment.to_s >= 0.0 && moment.from_s < film_end_s);
    for moment in &mut all {
        (moment.from_s, moment.to_s) = (moment.from_s.max(0.0), moment.to_s.min(film_end_s));
    }
    all.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    all
}

/// Whether an event is something to see, rather than a remark on the whole flight.
const fn is_moment(kind: EventKind) -> bool {
    !matches!(kind, EventKind::SplitNotJudged | EventKind::LampAndAlertDiffer | EventKind::ColdCheck)
}

fn of_event(event: &Event) -> Moment {
    let first = event.facts.first().map(|fact| {
        let unit = if fact.unit.is_empty() { String::new() } else { format!(" {}", fact.unit) };
        format!(": {} {}{unit}", fact.name, number(fact.value, fact.decimals))
    });
    let text = event.name.clone() + &first.unwrap_or_default();
    let (name, severity) = (event.name.clone(), event.severity);
    Moment { name, text, severity, from_s: event.from_s, to_s: event.to_s }
}

fn of_exceedance(session: &Session, panel: &Panel, e: &Exceedance) -> Option<Moment> {
    let limit = panel.limits.get(e.limit)?;
    let channel = session.find(&limit.channel).and_then(|id| session.channel(id));
    let unit = channel.and_then(|channel| channel.unit.clone()).map_or(String::new(), |unit| format!(" {unit}"));
    let side = if limit.is_minimum { "below" } else { "above" };
    let decimals = u8::from(e.limit_value.fract() != 0.0 || e.limit_value.abs() < 10.0);
    let (at, value) = (number(e.limit_value, decimals), number(e.peak, decimals.max(u8::from(e.peak.fract() != 0.0))));
    let what = match limit.over_s {
        Some(over_s) => format!("{} rose by {value}{unit} in {}, limit {at}{unit}", limit.subject, seconds(over_s)),
        None => format!("{} {side} {at}{unit}: {value}{unit}", limit.subject),
    };
    let least = if e.at_least { "at least " } else { "" };
    let text = format!("{what}, for {least}{}", seconds(e.to_s - e.from_s));
    let name = format!("{} {}", limit.subject, limit.word);
    Some(Moment { name, text, severity: Some(limit.severity), from_s: e.from_s, to_s: e.to_s })
}
