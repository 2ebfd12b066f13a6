//! What the owner says of channels, held against the logs: calibrations, which log is preferred, and formulae.

use super::load::at;
use crate::finding::{Finding, Severity};
use crate::flight::{FlightFile, LogEntry};
use crate::keyfile::{Document, Fault, Place};
use crate::recorder::Recording;
use crate::session::{CalibrationError, ChannelId, NotComputed, Same, Session};

/// Applies a log's calibrations. What they did is a remark, a column that is not there a fault.
pub(crate) fn calibrate(document: &Document, entry: &LogEntry, recording: &mut Recording) -> Vec<Fault> {
    let mut faults = Vec::new();
    for (calibration, place) in &entry.calibrations {
        let mut fault = |severity, code, message: String, cure: &str| {
            faults.push(at(document, place, severity, code, "log.calibration.column", message, cure));
        };
        let said = recording.findings.len();
        match calibration.apply(recording) {
            Ok(()) => {
                for finding in &recording.findings[said..] {
                    let name = format!("`{}.{}`: {}", entry.name, calibration.column, finding.message);
                    let cure = if finding.severity == Severity::Note { "" } else { "let the table reach further" };
                    fault(finding.severity, finding.code, name, cure);
                }
            }
            Err(error) => {
                let cure = match &error {
                    CalibrationError::UnknownColumn { column, known } => {
                        let near = known.iter().min_by_key(|name| strsim::damerau_levenshtein(name, column));
                        near.map_or("the log has no column".into(), |near| format!("the nearest is \"{near}\""))
                    }
                    CalibrationError::Texts { .. } => "name a column of numbers".into(),
                };
                fault(Severity::Error, "not_calibrated", error.to_string(), &cure);
            }
        }
    }
    faults
}

/// Names that nothing bears in `prefer`, and a remark on every quantity that several logs have.
pub(crate) fn same_faults(flight: &FlightFile, session: &Session) -> Vec<Fault> {
    let mut faults = Vec::new();
    let unread = flight.logs.len() > session.logs().len();
    for (name, place) in &flight.prefer {
        let is_log = session.sources().any(|source| source.name == *name && source.file.is_some());
        // A log that could not be read has its own fault.
        if unread || is_log || name.contains('.') && session.find(name).is_some() {
            continue;
        }
        let message = format!("`prefer` names \"{name}\", which is neither a log nor a log's channel");
        let logs = session.sources().filter(|source| source.file.is_some()).map(|source| source.name.to_owned());
        let channels = session.channels().map(|(_, name, _)| name);
        let near = logs.chain(channels).min_by_key(|known| strsim::damerau_levenshtein(known, name));
        let cure = near.map_or("write LOG or LOG.COLUMN".into(), |near| format!("the nearest is \"{near}\""));
        faults.push(at(&flight.document, place, Severity::Error, "unknown_channel", "prefer", message, &cure));
    }
    for same in session.same() {
        let log = session.log_name(same.other);
        let is_it = |entry: &&LogEntry| Some(&*entry.name) == log || Some(entry.table()) == log;
        let Some(entry) = flight.logs.iter().find(is_it) else { continue };
        let message = same_quantity(session, &same);
        let cure = "prefer = [\"LOG\"] or [\"LOG.COLUMN\"] chooses";
        faults.push(at(&flight.document, &entry.place, Severity::Note, "same_quantity", "prefer", message, cure));
    }
    faults
}

fn full_name(session: &Session, id: ChannelId) -> String {
    session.name(id).unwrap_or_default()
}

/// One sentence on a quantity that two logs have.
pub(crate) fn same_quantity(session: &Session, same: &Same) -> String {
    let (name, other) = (full_name(session, same.preferred), full_name(session, same.other));
    let unit = session.channel(same.preferred).and_then(|channel| channel.unit.clone()).unwrap_or_default();
    let found = match &same.difference {
        None => "they were never recorded at the same time".into(),
        Some(d) => format!(
            "`{other}` less `{name}`: median {:+.3} {unit}, 95 % within {:.3}, at most {:.3}, at {} moments in {:.0} s",
            d.median, d.within_95, d.greatest, d.moments, d.shared_s
        ),
    };
    format!("`{name}` and `{other}` hold the same quantity; `{name}` is preferred, {}; {found}", same.why)
}

/// What could not be computed, at the log whose clock is the session's.
pub(crate) fn remarks(flight: &FlightFile, session: &Session) -> Vec<Fault> {
    let reference = session.reference().and_then(|log| flight.logs.iter().find(|entry| entry.name == log.name));
    let Some(entry) = reference else { return Vec::new() };
    let fault = |remark: &Finding| {
        at(&flight.document, &entry.place, remark.severity, remark.code, "log", remark.message.clone(), "")
    };
    session.remarks().iter().map(fault).collect()
}

/// Adds the channels of the owner's formulae, in the order of the file, so that a later one may use those before it.
pub(crate) fn compute(flight: &FlightFile, session: &mut Session) -> Vec<Fault> {
    let mut faults = Vec::new();
    let unread = |name: &str, session: &Session| {
        flight.logs.iter().any(|log| {
            name.strip_prefix(log.table()).is_some_and(|rest| rest.starts_with('.'))
                && session.sources().all(|known| known.name != log.table())
        })
    };
    for entry in &flight.formulae {
        let mut fault = |place: &Place, severity, code, message: String, cure: &str| {
            faults.push(at(&flight.document, place, severity, code, "formula.expression", message, cure));
        };
        let name = &entry.name;
        match session.compute(name, &entry.formula, entry.unit) {
            Ok((0, _)) => {
                let message = format!(
                    "`calc.{name}` has no value at any moment: its channels are never there together, or what comes of them is no number"
                );
                let cure = "look at the channels with jumpseat readings";
                fault(&entry.place, Severity::Warning, "never_computed", message, cure);
            }
            Ok(_) => {}
            // A log that could not be read has its own fault.
            Err(NotComputed::UnknownChannel { name, .. }) if unread(&name, session) => {}
            Err(error @ NotComputed::UnknownChannel { .. }) => {
                let NotComputed::UnknownChannel { name, place } = &error else { continue };
                let known = session.channels().map(|(_, name, _)| name);
                let near = known.min_by_key(|known| strsim::damerau_levenshtein(known, name));
                let cure = near.map_or("the logs have no column".into(), |near| format!("the nearest is {{{near}}}"));
                fault(&entry.part(place), Severity::Error, "unknown_channel", error.to_string(), &cure);
            }
            Err(NotComputed::Texts { name, place }) => {
                let message = format!("`{name}` holds texts; a formula needs numbers");
                fault(&entry.part(&place), Severity::Error, "holds_texts", message, "name a column of numbers");
            }
            Err(error @ NotComputed::Taken(_)) => {
                fault(&entry.name_place, Severity::Error, "name_twice", error.to_string(), "give it another name");
            }
            Err(NotComputed::Units(error)) => {
                let place = entry.part(&error.place);
                fault(&place, Severity::Error, "units_do_not_fit", error.message.clone(), &error.cure);
            }
        }
    }
    faults
}
