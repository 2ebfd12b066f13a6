//! This flight beside earlier ones, from the documents that `debrief --json` wrote of them: running totals, and the engine at
//! comparable power.

use super::Document;
use crate::judge::Phase;
use crate::panel::Panel;
use crate::session::Session;
use serde::Serialize;
use serde_json::Value;
use std::collections::HashSet;

/// Figures of which a sum over flights means something.
const SUMMED: [&str; 8] =
    ["rotor turning", "engine running", "airborne", "hover", "starts", "take-offs", "landings", "fuel used"];
/// Cruises are compared whose means lie no further apart, in the channel's own unit: rotor, airspeed, altitude, outside air
/// (common practice, no source). Weight is not in a log and is not compared.
const APART: [f64; 4] = [1.0, 5.0, 500.0, 3.0];

/// What earlier flights say.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct History {
    /// The earlier flights that count, by their times.
    pub flights: Vec<EarlierFlight>,
    /// Documents that do not count, and why.
    pub left_out: Vec<String>,
    /// Sums over these flights and this one.
    pub totals: Vec<Total>,
    /// The engine in cruise beside comparable cruises.
    pub compared: Vec<Compared>,
    /// What comparable means.
    pub rule: String,
}

/// An earlier flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EarlierFlight {
    /// The document.
    pub file: String,
    /// Its title.
    pub title: String,
    /// When it was.
    pub first_utc: String,
}

/// A sum over flights.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Total {
    /// Which figure.
    pub name: String,
    /// The sum, this flight's included.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// Digits after the point that are worth writing.
    pub decimals: u8,
    /// Over how many flights.
    pub flights: usize,
    /// Whether one of them is *at least*, or lacks it.
    pub at_least: bool,
}

/// An engine's channel in cruise, now and before.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// The channel.
    pub channel: String,
    /// Its unit.
    pub unit: String,
    /// Its mean in this flight's cruise.
    pub now: f64,
    /// The median of its means in comparable cruises; none where there is none.
    pub before: Option<f64>,
    /// How many these are.
    pub flights: usize,
}

/// Lays a flight beside earlier ones, each with the name of its file.
pub fn history(document: &Document, session: &Session, panel: &Panel, earlier: Vec<(String, Value)>) -> History {
    let mut left_out = Vec::new();
    let mut flights: Vec<(EarlierFlight, Value)> = Vec::new();
    let mut seen = HashSet::new();
    for (file, value) in earlier {
        match counts(document, &value) {
            Ok(flight) if seen.insert(flight.first_utc.clone()) => {
                flights.push((EarlierFlight { file, ..flight }, value))
            }
            Ok(_) => left_out.push(format!("{file}: a flight that is there already")),
            Err(why) => left_out.push(format!("{file}: {why}")),
        }
    }
    flights.sort_by(|a, b| a.0.first_utc.cmp(&b.0.first_utc));
    let documents: Vec<&Value> = flights.iter().map(|(_, value)| value).collect();
    let totals = SUMMED.iter().filter_map(|name| total(document, name, &documents)).collect();
    let compared = compared(document, session, panel, &documents);
    let [rotor, speed, altitude, outside] = APART;
    let rule = format!(
        "means over cruise; comparable is a cruise whose mean rotor speed lies within {rotor}, airspeed within {speed}, altitude within {altitude}, \
         outside air within {outside} of this one's, as far as both were logged; weight is not compared"
    );
    History { flights: flights.into_iter().map(|(flight, _)| flight).collect(), left_out, totals, compared, rule }
}

/// An earlier flight of the same aircraft, or why a document is none.
fn counts(document: &Document, value: &Value) -> Result<EarlierFlight, &'static str> {
    let flight = value.get("flight").filter(|_| value.get("figures").is_some()).ok_or("not a document of debrief")?;
    let text = |key: &str| flight.get(key).and_then(Value::as_str).unwrap_or_default().to_owned();
    let (title, aircraft, first_utc) = (text("title"), text("aircraft"), text("first_utc"));
    let own = document.flight.first_utc.as_deref().unwrap_or_default();
    if aircraft != document.flight.aircraft {
        Err("another aircraft")
    } else if own.is_empty() || first_utc.is_empty() {
        Err("no log says on which day it or this flight was")
    } else if first_utc.as_str() >= own {
        // Both are written in one form, so that texts compare like times.
        Err("not earlier than this flight")
    } else {
        Ok(EarlierFlight { file: String::new(), title, first_utc })
    }
}

fn total(document: &Document, name: &str, earlier: &[&Value]) -> Option<Total> {
    let own = document.figures.flight.iter().find(|figure| figure.name == name)?;
    let mut total = Total {
        name: name.to_owned(),
        value: own.value?,
        unit: own.unit.clone(),
        decimals: own.decimals,
        flights: 1,
        at_least: own.at_least,
    };
    for document in earlier {
        let rows = document["figures"]["flight"].as_array();
        let row = rows.and_then(|rows| rows.iter().find(|row| row["name"] == name && row["unit"] == *own.unit));
        let Some(value) = row.and_then(|row| row["value"].as_f64()) else {
            total.at_least = true;
            continue;
        };
        total.value += value;
        total.flights += 1;
        total.at_least |= row.is_some_and(|row| row["at_least"] == true);
    }
    Some(total)
}

fn compared(document: &Document, session: &Session, panel: &Panel, earlier: &[&Value]) -> Vec<Compared> {
    let full = |name: Option<&str>| {
        let id = session.find(name?)?;
        session.channels().find(|channel| channel.0 == id).map(|channel| channel.1)
    };
    let (Some(phases), Some(engine)) = (&panel.phases, &panel.engine) else { return Vec::new() };
    let cruise = Phase::Cruise.name();
    let Some(own) = document.figures.by_phase.iter().find(|row| row.phase == cruise) else { return Vec::new() };
    let mean = |channel: &str| own.channels.iter().find(|spread| spread.channel == channel);
    let conditions =
        [&phases.channels.rotor, &phases.channels.airspeed, &phases.channels.altitude, &engine.channels.outside];
    let conditions: Vec<(String, f64)> =
        conditions.into_iter().zip(APART).filter_map(|(name, apart)| Some((full(name.as_deref())?, apart))).collect();
    let before = |document: &Value, channel: &str| -> Option<f64> {
        let rows = document["figures"]["by_phase"].as_array()?;
        let row = rows.iter().find(|row| row["phase"] == cruise)?;
        let spread = row["channels"].as_array()?.iter().find(|spread| spread["channel"] == channel)?;
        spread["mean"].as_f64()
    };
    let comparable = |document: &Value| {
        conditions.iter().all(|(channel, apart)| match (mean(channel), before(document, channel)) {
            (Some(now), Some(then)) => (now.mean - then).abs() <= *apart,
            _ => false,
        })
    };
    let comparable: Vec<&Value> = earlier.iter().copied().filter(|document| comparable(document)).collect();
    let c = &engine.channels;
    let channels = [&c.exhaust, &c.flow, &c.oil_pressure, &c.oil_temperature, &c.gearbox_temperature, &c.volts];
    let row = |name: &Option<String>| {
        let now = mean(&full(name.as_deref())?)?;
        let mut means: Vec<f64> = comparable.iter().filter_map(|document| before(document, &now.channel)).collect();
        means.sort_by(f64::total_cmp);
        Some(Compared {
            channel: now.channel.clone(),
            unit: now.unit.clone(),
            now: now.mean,
            before: means.get(means.len() / 2).copied(),
            flights: means.len(),
        })
    };
    channels.into_iter().filter_map(row).collect()
}
