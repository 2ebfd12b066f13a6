//! What a sensor's reading stands for, by the owner's calibration.
//!
//! A calibrated value is a measured one: the calibration belongs to the sensor, as its unit does. Where it comes from is said by a
//! finding of the log.

use super::table::between;
use crate::finding::{Finding, Severity};
use crate::meaning::Meaning;
use crate::recorder::Recording;
use crate::signal::{Channel, Kind, Samples};

/// The way from a column's numbers to what they stand for.
#[derive(Debug, Clone, PartialEq)]
pub enum Curve {
    /// `factor * raw + offset`.
    Line {
        /// Units of the value a unit of the raw number.
        factor: f64,
        /// The value at a raw zero.
        offset: f64,
    },
    /// Pairs of raw number and value, the raw ones rising; straight lines between them, and nothing outside.
    Table(Vec<(f64, f64)>),
}

/// An owner's calibration of one column.
#[derive(Debug, Clone, PartialEq)]
pub struct Calibration {
    /// The column, as the log names it.
    pub column: String,
    /// Symbol of the value's unit; none where it stays that of the column.
    pub unit: Option<String>,
    /// The way to the value.
    pub curve: Curve,
    /// Where the figures stand written; empty where that is not said.
    pub source: String,
}

/// Why a calibration cannot be applied.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CalibrationError {
    /// No column has the name.
    #[error("the log has no column `{column}` to calibrate")]
    UnknownColumn {
        /// The name.
        column: String,
        /// The columns that there are.
        known: Vec<String>,
    },
    /// The column holds texts.
    #[error("the column `{column}` holds texts; only numbers can be calibrated")]
    Texts {
        /// The name.
        column: String,
    },
}

impl Calibration {
    /// What a raw number stands for; none outside a table.
    pub fn value(&self, raw: f64) -> Option<f64> {
        match &self.curve {
            Curve::Line { factor, offset } => Some(factor * raw + offset),
            Curve::Table(points) => between(points, raw),
        }
    }

    /// Replaces the column's numbers by what they stand for, and says so in the log's findings. Records outside the table are left
    /// out, as cells without a value are.
    ///
    /// # Errors
    /// A column that is not there, or holds texts; the recording is then as it was.
    pub fn apply(&self, recording: &mut Recording) -> Result<(), CalibrationError> {
        let column = self.column.clone();
        let known = || recording.channels.iter().map(|channel| channel.name.clone()).collect();
        let Some(i) = recording.channels.iter().position(|channel| channel.name == column) else {
            return Err(CalibrationError::UnknownColumn { column, known: known() });
        };
        let channel = &mut recording.channels[i];
        let Samples::Numbers(raw) = &channel.samples else { return Err(CalibrationError::Texts { column }) };
        let ends = raw.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), &v| (a.min(v), b.max(v)));
        let kept: Vec<(f64, f64)> =
            channel.times.iter().zip(raw).filter_map(|(&t, &raw)| Some((t, self.value(raw)?))).collect();
        let outside = raw.len() - kept.len();
        let unit = self.unit.clone().or(channel.unit.take());
        let wraps = unit.as_deref().is_none_or(|unit| unit == "deg")
            && (channel.kind == Kind::Angle || Meaning::is_direction(&channel.name));
        if outside > 0 {
            channel.times = kept.iter().map(|record| record.0).collect();
        }
        let values = kept.into_iter().map(|(_, value)| if wraps { value.rem_euclid(360.0) } else { value });
        *channel = Channel {
            unit,
            kind: if wraps { Kind::Angle } else { Kind::Continuous },
            missing: channel.missing + outside,
            samples: Samples::Numbers(values.collect()),
            ..channel.clone()
        };
        recording.findings.push(Finding::new(Severity::Note, "calibrated", self.to_string()).in_column(&column));
        if outside > 0 {
            let message = format!(
                "{outside} of {} records lie outside the table of the calibration and are left out: recorded were {} to {}",
                outside + recording.channels[i].times.len(),
                ends.0,
                ends.1
            );
            recording.findings.push(Finding::new(Severity::Warning, "outside_calibration", message).in_column(&column));
        }
        Ok(())
    }
}

impl std::fmt::Display for Calibration {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let unit = self.unit.as_ref().map(|unit| format!(" {unit}")).unwrap_or_default();
        match &self.curve {
            Curve::Line { factor, offset } => write!(f, "calibrated by {factor} x recorded {offset:+}{unit}")?,
            Curve::Table(points) => {
                let (a, b) = (points.first().copied().unwrap_or_default(), points.last().copied().unwrap_or_default());
                let many = points.len();
                write!(f, "calibrated by a table of {many} points, {} to {} for {} to {}{unit}", a.0, b.0, a.1, b.1)?;
            }
        }
        if self.source.is_empty() { Ok(()) } else { write!(f, " ({})", self.source) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_and_a_table() {
        let by = |curve| Calibration { column: "x".into(), unit: Some("°C".into()), curve, source: String::new() };
        let line = by(Curve::Line { factor: 0.25, offset: -40.0 });
        assert_eq!((line.value(0.0), line.value(1000.0)), (Some(-40.0), Some(210.0)));
        assert_eq!(line.to_string(), "calibrated by 0.25 x recorded -40 °C");
        let table = by(Curve::Table(vec![(0.0, 150.0), (500.0, 50.0), (1000.0, -10.0)]));
        assert_eq!(
            [0.0, 250.0, 750.0, 1000.0, 1000.1, -0.1].map(|raw| table.value(raw)),
            [Some(150.0), Some(100.0), Some(20.0), Some(-10.0), None, None]
        );
        assert_eq!(table.to_string(), "calibrated by a table of 3 points, 0 to 1000 for 150 to -10 °C");
    }
}
