//! The rules for the phases of a flight, and the strip that shows them.

use super::clock::shows;
use super::plates::width;
use super::rules::numbers;
use super::{ChannelPlaces, InstrumentLines, place};
use crate::keyfile::{self, Section};
use crate::panel::quantity::quantity;
use crate::panel::{Face, Instrument, PhaseChannels, PhaseRules, PhaseStrip, Shows};

/// Reads `[phases]`; hands back the channels with their places, in the order of [`PhaseChannels::ALL`].
pub(super) fn rules(mut section: Section<'_>) -> (PhaseRules, ChannelPlaces) {
    let mut rules = PhaseRules::default();
    let mut places = ChannelPlaces::new();
    for (i, (key, _)) in PhaseChannels::ALL.into_iter().enumerate() {
        if let (Some((name, place)), Some(channel)) = (section.text(key), rules.channels.of(i)) {
            *channel = Some(name.clone());
            places.push((name, place));
        }
    }
    if places.is_empty() {
        let message = "`phases` names no channel: nothing could be judged";
        let cure = "name at least one of rotor, engine, ground_speed, airspeed, vertical_speed, altitude, power";
        section.fault(section.place(), "phases", "no_channels", message, cure);
    }
    rules.field_ft = quantity(&mut section, "field", "ft").map(|field| field.value);
    rules.power_in_flight = section.number("power_in_flight").map(|n| n.0);
    rules.idle = section.number("idle").map(|n| n.0);
    for (channel, has_channel, value, has_value) in [
        ("power", rules.channels.power.is_some(), "power_in_flight", rules.power_in_flight.is_some()),
        ("engine", rules.channels.engine.is_some(), "idle", rules.idle.is_some()),
    ] {
        if has_value && !has_channel {
            section.missing(channel, &format!("the channel that `{value}` is about"));
        }
    }
    if rules.channels.power.is_some() && rules.power_in_flight.is_none() {
        section.missing("power_in_flight", "the power above which the aircraft flies, in the channel's unit");
    }
    numbers(&mut section, &mut rules, &PhaseRules::NUMBERS);
    section.end();
    (rules, places)
}

/// Reads the rest of a strip's table; name and kind are read already.
pub(super) fn strip(
    mut section: Section<'_>,
    head: keyfile::Place,
    name: Option<String>,
) -> Option<(Instrument, InstrumentLines)> {
    let clock = shows(&mut section, Some(Shows::Session));
    let width = width(&mut section, PhaseStrip::WIDTH_M, PhaseStrip::WIDTHS_M);
    let place = place(&mut section);
    section.end();
    let ((place, place_at), clock, width_m) = (place?, clock?, width?);
    let face = Face::PhaseStrip(PhaseStrip { clock, width_m });
    let lines = InstrumentLines { channels: Vec::new(), unit: head.clone(), head, place: place_at, others: Vec::new() };
    Some((Instrument::new(name?, place, face), lines))
}
