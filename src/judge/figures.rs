//! What a flight comes to in numbers, each by a stated rule.

use super::alert::AlertState;
use super::drive::Drive;
use super::event::EventKind;
use super::events::{Flight, Records};
use super::said::Said;
use super::{Judged, Timeline, wind};
use crate::panel::{EngineState, Panel, Phase};
use crate::session::Session;
use crate::signal::Samples;
use serde::Serialize;

/// The numbers of a flight.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Figures {
    /// Of the flight as a whole.
    pub flight: Vec<Figure>,
    /// Of each phase that it had, in the order of [`Phase::ALL`].
    pub by_phase: Vec<PhaseFigures>,
    /// For how long each limit was passed, in the panel's order.
    pub bands: Vec<Band>,
}

/// One number.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figure {
    /// What it is.
    pub name: String,
    /// The number; none where it cannot be told.
    pub value: Option<f64>,
    /// Its unit; empty where there is none.
    pub unit: String,
    /// Digits after the point that it is worth.
    pub decimals: u8,
    /// How exact it is, where that is known, in its unit.
    pub plus_minus: Option<f64>,
    /// Data are missing: it may be more.
    pub at_least: bool,
    /// The rule by which it was found.
    pub rule: String,
}

/// What was recorded in all the spells of one phase.
#[derive(Debug, Clone, PartialEq)]
pub struct PhaseFigures {
    /// The phase.
    pub phase: Phase,
    /// How often it was.
    pub times: usize,
    /// How long in all, in seconds.
    pub seconds: f64,
    /// What every channel of numbers did in it.
    pub channels: Vec<Spread>,
}

/// Extremes and mean of the records of one channel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spread {
    /// The channel.
    pub channel: String,
    /// Its unit; empty where none is stated.
    pub unit: String,
    /// The least record.
    pub least: f64,
    /// The mean of the records.
    pub mean: f64,
    /// The greatest record.
    pub greatest: f64,
}

/// For how long a limit stood how, in seconds within the flight's records.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Which limit, in the panel's order.
    pub limit: usize,
    /// Not passed.
    pub inside_s: f64,
    /// Passed for its minimum time.
    pub beyond_s: f64,
    /// Nobody can say.
    pub unknown_s: f64,
    /// It did not count: not armed, another set was in force, or its minimum time was running.
    pub not_in_force_s: f64,
}

/// All figures of a judged flight.
pub(super) fn of(session: &Session, panel: &Panel, judged: &Judged) -> Figures {
    let flight = Flight { session, panel, judged };
    Figures { flight: whole(&flight), by_phase: by_phase(&flight), bands: bands(&flight) }
}

fn figure(name: &str, value: Option<f64>, unit: &str, decimals: u8, rule: String) -> Figure {
    Figure { name: name.into(), value, unit: unit.into(), decimals, plus_minus: None, at_least: false, rule }
}

/// For how long a channel's records were at least a value, and whether data were missing.
fn above(records: &Records, bound: f64) -> (f64, bool) {
    let (mut seconds, mut gaps) = (0.0, false);
    for pair in records.recorded().windows(2) {
        match pair[0].1 {
            Said::Value(value) if value >= bound => seconds += pair[1].0 - pair[0].0,
            Said::Value(_) => {}
            Said::Stale | Said::Invalid => gaps = true,
        }
    }
    (seconds, gaps)
}

fn whole(flight: &Flight<'_>) -> Vec<Figure> {
    let mut all = Vec::new();
    let (panel, judged) = (flight.panel, flight.judged);
    if let (Some(rules), Some(rotor)) = (&panel.phases, flight.rotor()) {
        let (seconds, at_least) = above(&rotor, rules.stopped);
        let rule = format!(
            "rotor at {} % or above; ICAO Annex 6 counts a helicopter's flight time from the moment its blades start turning until they stop (from memory)",
            rules.stopped
        );
        let plus_minus = Some(2.0 * rotor.plus_minus_s);
        all.push(Figure { plus_minus, at_least, ..figure("rotor turning", Some(seconds), "s", 0, rule) });
    }
    if let (Some(rules), Some(engine)) = (&panel.engine, flight.engine()) {
        let (seconds, at_least) = above(&engine, rules.idle);
        let plus_minus = Some(2.0 * engine.plus_minus_s);
        let rule = format!("engine at idle, {} %, or above", rules.idle);
        all.push(Figure { plus_minus, at_least, ..figure("engine running", Some(seconds), "s", 0, rule) });
    }
    if let Some(volts) = panel.engine.as_ref().and_then(|rules| flight.records(rules.channels.volts.as_deref(), "V")) {
        let (seconds, at_least) = above(&volts, 1.0);
        let rule = "the voltage is recorded, and above 1 V".to_owned();
        all.push(Figure { at_least, ..figure("electrical on", Some(seconds), "s", 0, rule) });
    }
    if let Some(rules) = &panel.phases {
        let plus_minus = Some(2.0 * judged.phases.plus_minus_s);
        let total =
            |of: &dyn Fn(Phase) -> bool| flight.stretches(of).iter().fold(0.0, |sum, span| sum + span.1 - span.0);
        let unknown = total(&|phase| phase == Phase::NotJudged);
        let at_least = unknown > 0.0;
        let airborne = total(&|phase| phase.on_ground() == Some(false));
        let rule = "in every phase off the ground; maintenance counts from the surface to the surface".to_owned();
        all.push(Figure { plus_minus, at_least, ..figure("airborne", Some(airborne), "s", 0, rule) });
        let hover = total(&|phase| phase == Phase::Hover);
        let rule = Phase::Hover.rule(rules);
        all.push(Figure { plus_minus, at_least, ..figure("hover", Some(hover), "s", 0, rule) });
        all.push(figure("not judged", Some(unknown), "s", 0, Phase::NotJudged.rule(rules)));
        for (name, kind) in [
            ("take-offs", EventKind::TakeOff),
            ("landings", EventKind::Landing),
            ("touch-and-goes", EventKind::TouchAndGo),
        ] {
            let events: Vec<_> = judged.events.iter().filter(|event| event.kind == kind).collect();
            let rule = events.first().map_or("by the phases of the flight".to_owned(), |event| event.rule.clone());
            all.push(figure(name, Some(events.len() as f64), "", 0, rule));
        }
    }
    if panel.engine.is_some() {
        let starts = [EventKind::Start, EventKind::HotStart, EventKind::HungStart, EventKind::NoLight];
        let starts: Vec<_> = judged.events.iter().filter(|event| starts.contains(&event.kind)).collect();
        let rule = starts.first().map_or("by the engine's speed".to_owned(), |event| event.rule.clone());
        all.push(figure("starts", Some(starts.len() as f64), "", 0, rule));
        all.extend(warm_up_and_cool_down(flight));
    }
    all.extend(fuel(flight));
    all.extend(climbed(flight));
    all.extend(bias(flight));
    all.extend(wind::figures(flight));
    all
}

/// From idle to flight, and from the ground to the cut-off.
fn warm_up_and_cool_down(flight: &Flight<'_>) -> Vec<Figure> {
    let aloft = flight.stretches(|phase| phase.on_ground() == Some(false));
    let (Some(first), Some(last)) = (aloft.first(), aloft.last()) else { return Vec::new() };
    let running = flight.engine_stretches(EngineState::Running);
    let warm = running.iter().find(|span| span.0 < first.0 && span.1 > first.0).map(|span| first.0 - span.0);
    let cool = running.iter().find(|span| span.0 < last.1 && span.1 > last.1).map(|span| span.1 - last.1);
    vec![
        figure("warm-up", warm, "s", 0, "from the end of the start to the first take-off".into()),
        figure("cool-down", cool, "s", 0, "from the last landing until the engine falls below idle".into()),
    ]
}

/// Fuel burnt by the flow's integral, and what the gauge lost: never one for the other.
fn fuel(flight: &Flight<'_>) -> Vec<Figure> {
    let mut all = Vec::new();
    let flow = flight.panel.engine.as_ref().and_then(|rules| flight.records(rules.channels.flow.as_deref(), ""));
    if let Some((flow, unit)) = flow.and_then(|flow| flow.unit.strip_suffix("/h").map(str::to_owned).map(|u| (flow, u)))
    {
        let (mut burnt, mut hours, mut gaps) = (0.0, 0.0, false);
        for pair in flow.recorded().windows(2) {
            match (pair[0].1, pair[1].1) {
                (Said::Value(a), Said::Value(b)) => burnt += 0.5 * (a + b) * (pair[1].0 - pair[0].0) / 3600.0,
                _ => gaps = true,
            }
            if matches!(pair[0].1, Said::Value(value) if value > 0.0) {
                hours += (pair[1].0 - pair[0].0) / 3600.0;
            }
        }
        let rule = "the fuel flow's integral, by straight lines between records; gaps are left out".to_owned();
        all.push(Figure { at_least: gaps, ..figure("fuel used", Some(burnt), &unit, 2, rule) });
        let mean = (hours > 0.0).then(|| burnt / hours);
        all.push(figure(
            "mean fuel flow",
            mean,
            &flow.unit,
            1,
            "fuel used over the time with a flow above zero".into(),
        ));
    }
    let gauge = flight.panel.engine.as_ref().and_then(|rules| flight.records(rules.channels.fuel.as_deref(), ""));
    if let Some(gauge) = gauge {
        /// Gauges slosh: the mean of so many seconds counts (common practice, no source).
        const CALM_S: f64 = 10.0;
        let mut spans = flight.stretches(|phase| phase == Phase::Standing).into_iter();
        let (before, after) = (spans.next(), spans.next_back());
        let before = before.and_then(|span| gauge.mean(span.1 - CALM_S, span.1));
        let after = after.and_then(|span| gauge.mean(span.0, span.0 + CALM_S));
        let lost = before.zip(after).map(|(before, after)| before - after);
        let rule =
            format!("the gauge's mean over {CALM_S} s before the rotor first turned, less that after it last stopped");
        all.push(figure("fuel less by the gauge", lost, &gauge.unit, 1, rule));
    }
    all
}

/// What was climbed and descended, without the sensor's unrest.
fn climbed(flight: &Flight<'_>) -> Vec<Figure> {
    /// A change of less is no climb, in feet (common practice, no source).
    const UNREST_FT: f64 = 20.0;
    let altitude =
        flight.panel.phases.as_ref().and_then(|rules| flight.records(rules.channels.altitude.as_deref(), "ft"));
    let Some(altitude) = altitude else { return Vec::new() };
    let (mut up, mut down, mut held) = (0.0, 0.0, None);
    for (_, value) in altitude.between(f64::NEG_INFINITY, f64::INFINITY) {
        let last = *held.get_or_insert(value);
        if (value - last).abs() >= UNREST_FT {
            if value > last {
                up += value - last
            } else {
                down += last - value
            }
            held = Some(value);
        }
    }
    let rule = format!("the altitude's changes of {UNREST_FT} ft and more");
    vec![figure("climbed", Some(up), "ft", 0, rule.clone()), figure("descended", Some(down), "ft", 0, rule)]
}

/// Rotor minus engine while they are joined in cruise: what the two sensors differ by.
fn bias(flight: &Flight<'_>) -> Option<Figure> {
    let (rotor, engine) = (flight.rotor()?, flight.engine()?);
    let drive: &Timeline<Drive> = flight.judged.drives.iter().flatten().next()?;
    let mut splits: Vec<f64> = Vec::new();
    for (from, to) in flight.stretches(|phase| phase == Phase::Cruise) {
        let joined = rotor.between(from, to).filter(|record| drive.at(record.0) == Drive::Together);
        splits.extend(joined.filter_map(|(time, rotor)| Some(rotor - engine.at(time)?)));
    }
    splits.sort_by(f64::total_cmp);
    let middle = splits.get(splits.len() / 2).copied();
    let rule = "the median of rotor minus engine, joined, in cruise: a difference of the two sensors".to_owned();
    Some(figure("joined split", middle, "%", 2, rule))
}

fn by_phase(flight: &Flight<'_>) -> Vec<PhaseFigures> {
    let mut all = Vec::new();
    for phase in Phase::ALL {
        let spans = flight.stretches(|p| p == phase);
        if spans.is_empty() || flight.judged.phases.line.turns().is_empty() {
            continue;
        }
        let channels = flight.session.channels().filter_map(|(id, name, channel)| {
            let Samples::Numbers(values) = &channel.samples else { return None };
            let fit = flight.session.fit(id)?;
            let (mut least, mut greatest, mut sum, mut n) = (f64::INFINITY, f64::NEG_INFINITY, 0.0, 0.0);
            for &(from, to) in &spans {
                let (from, to) = (fit.at(from), fit.at(to));
                let range = channel.times.partition_point(|t| *t < from)..channel.times.partition_point(|t| *t < to);
                for value in values.get(range).unwrap_or_default() {
                    (least, greatest) = (least.min(*value), greatest.max(*value));
                    sum += value;
                    n += 1.0;
                }
            }
            let unit = channel.unit.clone().unwrap_or_default();
            (n > 0.0).then(|| Spread { channel: name, unit, least, mean: sum / n, greatest })
        });
        let channels = channels.collect();
        let seconds = spans.iter().map(|span| span.1 - span.0).sum();
        all.push(PhaseFigures { phase, times: spans.len(), seconds, channels });
    }
    all
}

fn bands(flight: &Flight<'_>) -> Vec<Band> {
    let (first, last) = flight.span();
    let band = |(limit, line): (usize, &Timeline<AlertState>)| {
        let mut band = Band { limit, inside_s: 0.0, beyond_s: 0.0, unknown_s: 0.0, not_in_force_s: 0.0 };
        for (from, to, state) in line.stretches(first, last) {
            *match state {
                AlertState::Off => &mut band.inside_s,
                AlertState::On => &mut band.beyond_s,
                AlertState::Unknown | AlertState::Lost { .. } => &mut band.unknown_s,
                AlertState::Waiting => &mut band.not_in_force_s,
            } += to - from;
        }
        band
    };
    flight.judged.alerts.iter().enumerate().map(band).collect()
}
