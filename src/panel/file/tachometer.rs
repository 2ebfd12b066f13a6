//! A tachometer's table: two channels in place of one, and markings with the lane on which they stand.

use super::lamps::{ALERTS, at_least_zero, severity};
use super::{InstrumentLines, decimals, marking, place, scale};
use crate::keyfile::{self, Section};
use crate::panel::{ByPower, DriveRule, Face, Instrument, Power, Scale, Tachometer};

/// Whether the engine drives the rotor, in words.
pub(super) const POWERS: [(&str, Power); 2] = [("on", Power::On), ("off", Power::Off)];

/// Reads the rest of the table; name and kind are read already.
pub(super) fn read(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let (rotor, engine) = (section.text("rotor"), section.text("engine"));
    for (key, there) in [("rotor", rotor.is_some()), ("engine", engine.is_some())] {
        if !there {
            section.missing(key, "the log and its column, e.g. rotor = \"engine.Rotor\"");
        }
    }
    let title = section.text("title").map_or_else(|| "RPM".to_owned(), |t| t.0);
    let decimals = decimals(&mut section);
    let place = place(&mut section);
    let scale_table = section.section("scale");
    let marking_tables = section.sections("marking");
    let scale = scale::read(&section, scale_table);
    let ends = scale.as_ref().map(Scale::ends);
    let (mut rotor_markings, mut engine_markings, mut rotor_by_power) = (Vec::new(), Vec::new(), ByPower::default());
    let mut sound = true;
    for mut table in marking_tables {
        let of_engine = table.word("lane", &[("rotor", false), ("engine", true)]).is_some_and(|lane| lane.0);
        let power = table.word("power", &POWERS);
        if let (true, Some((_, at))) = (of_engine, &power) {
            let message = "`power` stands at a marking of the engine; only a rotor has two sets of limits";
            table.fault(at.clone(), "power", "power_has_no_place", message, "take it out, or say lane = \"rotor\"");
        }
        let Some(marking) = marking::one(table, name.as_deref(), ends) else {
            sound = false;
            continue;
        };
        match power {
            _ if of_engine => engine_markings.push(marking),
            Some((Power::On, _)) => rotor_by_power.on.push(marking),
            Some((Power::Off, _)) => rotor_by_power.off.push(marking),
            None => rotor_markings.push(marking),
        }
    }
    let drive = section.section("drive").map(drive);
    let (drive, others) = match drive {
        None => (None, Vec::new()),
        Some(Some((rule, clutch))) => (Some(rule), clutch.into_iter().collect()),
        Some(None) => {
            sound = false;
            (None, Vec::new())
        }
    };
    section.end();

    let ((rotor, rotor_place), (engine, engine_place), (place, place_at)) = (rotor?, engine?, place?);
    let (name, decimals, scale) = (name?, decimals?, scale?);
    if !sound {
        return None;
    }
    let face = Face::Tachometer(Tachometer {
        rotor,
        engine,
        title,
        decimals,
        scale,
        rotor_markings,
        rotor_by_power,
        engine_markings,
        drive,
    });
    let lines = InstrumentLines {
        channels: vec![rotor_place, engine_place],
        unit: head.clone(),
        head,
        place: place_at,
        others,
    };
    Some((Instrument::new(name, place, face), lines))
}

/// The rule for the drive, and the channel of its clutch with its place.
fn drive(mut table: Section<'_>) -> Option<(DriveRule, Option<(String, keyfile::Place)>)> {
    let apart = table.number("apart");
    let above_zero = match &apart {
        Some((percent, place)) if *percent <= 0.0 => {
            let message = format!("`apart` is {percent}, not above zero");
            table.fault(place.clone(), "apart", "out_of_range", message, "give percent of the normal speed, e.g. 2.0");
            false
        }
        Some(_) => true,
        None => {
            table.missing("apart", "how many percent the two must be apart, e.g. 2.0");
            false
        }
    };
    let seconds = at_least_zero(&mut table, "for");
    let clutch = table.text("clutch");
    let severity = severity(&mut table, &ALERTS, "warning, caution or advisory");
    let source = table.text("source").map(|t| t.0).unwrap_or_default();
    table.end();
    let rule = DriveRule {
        apart: apart.filter(|_| above_zero)?.0,
        seconds,
        clutch: clutch.as_ref().map(|c| c.0.clone()),
        severity: severity?,
        source,
    };
    Some((rule, clutch))
}
