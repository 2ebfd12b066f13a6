//! What the owner says of channels, held against the logs: calibrations.

use super::load::at;
use crate::finding::Severity;
use crate::flight::LogEntry;
use crate::keyfile::{Document, Fault};
use crate::recorder::Recording;
use crate::session::CalibrationError;

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
