//! What a panel asks of the logs and they do not give: channels, units, tables that end too early.

use super::load::at;
use crate::finding::Severity;
use crate::keyfile::{Fault, Place};
use crate::panel::file::PanelFile;
use crate::panel::{EngineChannels, Face, PhaseChannels};
use crate::readout::conversion;
use crate::session::Session;
use crate::signal::Samples;
use crate::time::SessionTime;

/// How far a channel is from what was written, with or without the log's name in front.
fn distance(name: &str, written: &str) -> usize {
    let (name, written) = (name.to_lowercase(), written.to_lowercase());
    let bare = name.split_once('.').map_or(usize::MAX, |(_, column)| strsim::damerau_levenshtein(column, &written));
    strsim::damerau_levenshtein(&name, &written).min(bare)
}

/// Channels that no log has, units that do not convert.
/// Channels of logs that could not be read would only repeat that fault.
pub(crate) fn channel_faults(panel: &PanelFile, session: &Session, unread: &[&str]) -> Vec<Fault> {
    let mut faults = Vec::new();
    let names: Vec<String> = session.channels().map(|(_, name, _)| name).collect();
    let mut known = |channel: &str, place: &Place, severity: Severity| {
        if session.find(channel).is_some() {
            return true;
        }
        if unread.iter().any(|log| channel.strip_prefix(log).is_some_and(|rest| rest.starts_with('.'))) {
            return false;
        }
        let twice = names.iter().filter(|n| n.split_once('.').is_some_and(|(_, column)| column == channel)).count() > 1;
        let (message, cure) = if twice {
            (format!("several logs have a column `{channel}`"), "put the log's name in front: LOG.COLUMN".to_owned())
        } else {
            let near = names.iter().min_by_key(|name| distance(name, channel));
            let cure = near.map_or("the logs have no column".into(), |near| format!("the nearest is \"{near}\""));
            (format!("no log has the channel `{channel}`"), cure)
        };
        let (code, message) = match severity {
            Severity::Error => ("unknown_channel", message),
            _ => ("not_recorded", format!("{message}: the lamp is not recorded and will not be drawn")),
        };
        faults.push(at(&panel.document, place, severity, code, "channel", message, &cure));
        false
    };
    let mut converted = Vec::new();
    for (instrument, lines) in panel.panel.instruments.iter().zip(&panel.lines) {
        for (hand, place) in instrument.face.hands().into_iter().zip(&lines.channels) {
            if known(hand.channel, place, Severity::Error) {
                converted.push((hand, &lines.unit));
            }
        }
    }
    // A lamp that the aircraft has and the logger does not is nothing to mend.
    let mut on_or_off = Vec::new();
    for (channel, place) in &panel.lamp_channels {
        if known(channel, place, Severity::Warning) {
            on_or_off.push((channel, place));
        }
    }
    for (channel, place) in panel.lines.iter().flat_map(|lines| &lines.others) {
        if known(channel, place, Severity::Error) {
            on_or_off.push((channel, place));
        }
    }
    let others = [&panel.limit_channels, &panel.condition_channels, &panel.phase_channels, &panel.engine_channels];
    for (channel, place) in others.into_iter().flatten() {
        known(channel, place, Severity::Error);
    }
    for tone in &panel.tones {
        known(&tone.channel, &tone.place, Severity::Error);
    }
    faults.extend(rule_faults(panel, session));
    faults.extend(limit_faults(panel, session));
    for (name, place) in on_or_off {
        let channel = session.find(name).and_then(|id| session.channel(id));
        let (severity, code, found) = match channel.map(|c| &c.samples) {
            Some(Samples::Texts(_)) => (Severity::Error, "lamp_of_texts", "holds texts".to_owned()),
            Some(Samples::Numbers(values)) => match values.iter().find(|v| **v != 0.0 && **v != 1.0) {
                Some(other) => (Severity::Warning, "not_on_or_off", format!("holds {other}, and not only 0 and 1")),
                None => continue,
            },
            None => continue,
        };
        let message = format!("`{name}` {found}: a lamp is unlit at zero, and lit at every other number");
        let cure = "name the column that records the lamp itself";
        faults.push(at(&panel.document, place, severity, code, "channel", message, cure));
    }
    for (instrument, lines) in panel.panel.instruments.iter().zip(&panel.lines) {
        if matches!(instrument.face, Face::Tile(_)) {
            continue;
        }
        for (hand, place) in instrument.face.hands().into_iter().zip(&lines.channels) {
            let channel = session.find(hand.channel).and_then(|id| session.channel(id));
            if channel.is_some_and(|channel| matches!(channel.samples, Samples::Texts(_))) {
                let message = format!("`{}` holds texts; only a tile can show them", hand.channel);
                let cure = "make it a tile: kind = \"tile\"";
                faults.push(at(&panel.document, place, Severity::Error, "holds_texts", "channel", message, cure));
            }
        }
    }
    for (hand, place) in converted {
        let (name, unit) = (hand.channel, hand.unit);
        let channel = session.find(name).and_then(|id| session.channel(id));
        let (severity, code, message, cure) = match channel.map(|c| c.unit.as_deref()) {
            Some(None) if !unit.is_empty() => (
                Severity::Warning,
                "unit_not_stated",
                format!("the log states no unit for `{name}`; it is shown as {unit} on the panel's word"),
                "if the log counts in another unit, name it under [log.units]",
            ),
            Some(Some(recorded)) => match conversion(recorded, unit) {
                Ok(_) => continue,
                Err(error) => (
                    Severity::Error,
                    "unit_does_not_convert",
                    format!("`{name}` is recorded in {recorded} and cannot be shown in {unit}: {error}"),
                    "give a unit of the same kind",
                ),
            },
            _ => continue,
        };
        faults.push(at(&panel.document, place, severity, code, "unit", message, cure));
    }
    faults
}

/// Channels that cannot be turned into the units of the rules for phases and for the engine, and strips without rules.
fn rule_faults(panel: &PanelFile, session: &Session) -> Vec<Fault> {
    let mut faults = Vec::new();
    let phases = panel.panel.phases.as_ref().map(|rules| rules.channels.names()).unwrap_or_default();
    let phases = phases.into_iter().zip(PhaseChannels::ALL).filter_map(|(name, key)| Some((name?, key)));
    let engine = panel.panel.engine.as_ref().map(|rules| rules.channels.names()).unwrap_or_default();
    let engine = engine.into_iter().zip(EngineChannels::ALL).filter_map(|(name, key)| Some((name?, key)));
    let phases = phases.zip(&panel.phase_channels).map(|(named, (_, place))| (named, place, "phases"));
    let engine = engine.zip(&panel.engine_channels).map(|(named, (_, place))| (named, place, "the engine"));
    for ((name, (key, unit)), place, of) in phases.chain(engine) {
        let Some(channel) = session.find(name).and_then(|id| session.channel(id)) else { continue };
        let (code, message, cure) = if matches!(channel.samples, Samples::Texts(_)) {
            let message = format!("`{name}` holds texts; the rules for {of} need numbers");
            ("holds_texts", message, "name a column of numbers")
        } else if unit.is_empty() {
            continue;
        } else if let Some(recorded) = &channel.unit {
            let Err(error) = conversion(recorded, unit) else { continue };
            let message = format!("the rules for {of} need `{key}` in {unit}, but `{name}` is in {recorded}: {error}");
            ("unit_does_not_convert", message, "name a column of the right kind")
        } else {
            let message = format!(
                "the log states no unit for `{name}`: the rules for {of} need it in {unit}, or in a unit of the same kind"
            );
            ("unit_not_stated", message, "name its unit under [log.units]")
        };
        faults.push(at(&panel.document, place, Severity::Error, code, "channel", message, cure));
    }
    for (instrument, lines) in panel.panel.instruments.iter().zip(&panel.lines) {
        if matches!(instrument.face, Face::PhaseStrip(_)) && panel.panel.phases.is_none() {
            let message = format!("`{}` shows phases, but the panel has no rules for them", instrument.name);
            let cure = "add the table [phases] with the channels that tell of them";
            faults.push(at(&panel.document, &lines.head, Severity::Error, "no_phases", "phases", message, cure));
        }
    }
    faults
}

/// Limits that follow another channel further than their tables go, and limits for days that are not known.
fn limit_faults(panel: &PanelFile, session: &Session) -> Vec<Fault> {
    let mut faults = Vec::new();
    let dated = session.utc(SessionTime(0.0)).is_some();
    for (limit, place) in panel.panel.limits.iter().zip(&panel.limits) {
        let mut warn = |code, message: String, cure: &str| {
            faults.push(at(&panel.document, place, Severity::Warning, code, "limit", message, cure));
        };
        if !limit.days.always() && !dated {
            let message =
                format!("the limit \"{}\" holds on some days alone, and no log says which day it was", limit.name);
            warn(
                "day_not_known",
                message,
                "it will not be judged where it is passed; name a log that knows UTC as the reference",
            );
        }
        let Some(along) = &limit.along else { continue };
        let (Some(first), Some(last)) = (along.points.first(), along.points.last()) else { continue };
        let channel = session.find(&along.channel).and_then(|id| session.channel(id));
        let Some(Samples::Numbers(values)) = channel.map(|channel| &channel.samples) else { continue };
        let outside = values.iter().filter(|v| **v < first.0 || **v > last.0);
        let ends = outside.fold(None, |ends: Option<(f64, f64)>, v| {
            Some(ends.map_or((*v, *v), |(low, high)| (low.min(*v), high.max(*v))))
        });
        if let Some((low, high)) = ends {
            let message = format!(
                "the table of the limit \"{}\" goes from {} to {}, and `{}` from {low} to {high} outside it: there the limit is not judged",
                limit.name, first.0, last.0, along.channel
            );
            warn("outside_the_table", message, "add rows from the flight manual, or leave it not judged");
        }
    }
    faults
}
