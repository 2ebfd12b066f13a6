//! The rules for the engine and for events, and what the limits say together.

use super::ChannelPlaces;
use crate::keyfile::{Place, Section};
use crate::panel::phases::Number;
use crate::panel::{Condition, EngineChannels, EngineRules, EventRules, Limit, Panel};

/// Reads `[engine]`; hands back the channels with their places, and a key of [`EngineChannels::ALL`] for each.
pub(super) fn engine(mut section: Section<'_>) -> (Option<EngineRules>, ChannelPlaces) {
    let mut channels = EngineChannels::default();
    let mut places = ChannelPlaces::new();
    for (i, (key, _)) in EngineChannels::ALL.into_iter().enumerate() {
        if let (Some((name, place)), Some(channel)) = (section.text(key), channels.of(i)) {
            *channel = Some(name.clone());
            places.push((name, place));
        }
    }
    if channels.speed.is_none() {
        section.missing("speed", "the channel of the engine's speed, in percent or in a unit that converts to it");
    }
    let idle = section.number("idle");
    if idle.is_none() {
        section.missing("idle", "the speed, in percent, at which a start is complete");
    }
    let mut rules = EngineRules::idling_at(idle.as_ref().map_or(0.0, |idle| idle.0));
    rules.channels = channels;
    rules.no_light_after = section.number("no_light_after").map(|n| n.0);
    numbers(&mut section, &mut rules, &EngineRules::NUMBERS);
    section.end();
    (idle.map(|_| rules), places)
}

/// Reads `[events]`.
pub(super) fn events(mut section: Section<'_>) -> EventRules {
    let mut rules = EventRules::default();
    numbers(&mut section, &mut rules, &EventRules::NUMBERS);
    section.end();
    rules
}

/// Reads what the owner changes of the rules' numbers.
pub(super) fn numbers<R>(section: &mut Section<'_>, rules: &mut R, all: &[Number<R>]) {
    for &(key, number) in all {
        match section.number(key) {
            Some((value, place)) if value < 0.0 => {
                let message = format!("`{key}` is {value}, below zero");
                section.fault(place, key, "out_of_range", message, "give zero or more");
            }
            Some((value, _)) => *number(rules) = value,
            None => {}
        }
    }
}

/// Faults that show only when all of a panel is read: limits that contradict each other, and conditions that nothing judges.
pub(super) fn together(top: &Section<'_>, panel: &Panel, limits: &[Place]) {
    let lacks = |condition: &Condition| {
        if !condition.phases.is_empty() && panel.phases.is_none() {
            Some(("phases", "[phases]"))
        } else if !condition.engine.is_empty() && panel.engine.is_none() {
            Some(("states of the engine", "[engine]"))
        } else {
            None
        }
    };
    for (limit, place) in panel.limits.iter().zip(limits) {
        for condition in [&limit.only_while, &limit.disarmed_by].into_iter().flatten() {
            if let Some((what, table)) = lacks(condition) {
                let message =
                    format!("the limit \"{}\" goes by {what}, but the panel has no table {table}", limit.name);
                let cure = format!("add the table {table}, or take the condition out");
                top.fault(place.clone(), "limit", "nothing_judges", message, &cure);
            }
        }
    }
    for (i, (a, place)) in panel.limits.iter().zip(limits).enumerate() {
        for b in panel.limits.iter().take(i) {
            if let Some(message) = contradiction(a, b).or_else(|| contradiction(b, a)) {
                let cure = "move one of them; a caution comes before its warning";
                top.fault(place.clone(), "limit", "limits_contradict", message, cure);
            }
        }
    }
}

/// What is wrong with two limits that hold at the same time.
fn contradiction(graver: &Limit, milder: &Limit) -> Option<String> {
    let plain = |l: &Limit| l.along.is_none() && l.only_while.is_none() && l.days.always();
    let same = graver.channel == milder.channel && graver.over_s == milder.over_s && graver.power == milder.power;
    if !same || !plain(graver) || !plain(milder) {
        return None;
    }
    let side = |l: &Limit| if l.is_minimum { "below" } else { "above" };
    if graver.is_minimum == milder.is_minimum {
        // A shorter time is a reason of its own for a value further out.
        let beyond = graver.is_beyond(milder.value, graver.value, 0.0) && milder.seconds >= graver.seconds;
        return (graver.severity < milder.severity && beyond).then(|| {
            format!(
                "\"{}\" ({} {}) lies beyond \"{}\" ({} {}), which is graver: it could never come first",
                milder.name,
                side(milder),
                milder.value,
                graver.name,
                side(graver),
                graver.value
            )
        });
    }
    let nothing_left = graver.is_minimum && graver.value > milder.value;
    nothing_left.then(|| {
        format!(
            "no value is inside both \"{}\" (below {}) and \"{}\" (above {})",
            graver.name, graver.value, milder.name, milder.value
        )
    })
}
