//! What `inspect` says about a log, as one serialisable object.

use super::{ClockKind, Format, Part, Recording, usual_step};
use crate::finding::Finding;
use crate::signal::{Channel, Samples};
use serde::Serialize;
use std::sync::Arc;

/// A log at a glance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LogSummary {
    /// The file, as it was named.
    pub file: String,
    /// Always `log`.
    pub kind: &'static str,
    /// Its format.
    pub format: Format,
    /// Data rows taken.
    pub rows_read: usize,
    /// Rows refused.
    pub rows_refused: usize,
    /// Rows without data: header, units, comments and the like.
    pub rows_left_out: usize,
    /// Its clock.
    pub clock: ClockSummary,
    /// The parts without a common clock, where there are several.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<Part>,
    /// Its channels, in the order of the file.
    pub channels: Vec<ChannelSummary>,
    /// What was odd.
    pub findings: Vec<Finding>,
}

/// A log's clock at a glance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClockSummary {
    /// What it counts.
    pub kind: ClockKind,
    /// First stamp as written.
    pub first: String,
    /// Last stamp as written.
    pub last: String,
    /// Seconds of its last digit.
    pub resolution_s: f64,
    /// The first stamp read day first, then month first; only where that is open.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date_readings: Option<[String; 2]>,
}

/// A channel at a glance. What does not exist is `null`: no unit, no samples, no least value of texts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChannelSummary {
    /// Its name.
    pub name: String,
    /// Its unit.
    pub unit: Option<String>,
    /// How many records.
    pub samples: usize,
    /// How many cells without one.
    pub missing: usize,
    /// Seconds from the log's first row to its first record.
    pub first_s: Option<f64>,
    /// Seconds from the log's first row to its last record.
    pub last_s: Option<f64>,
    /// One over the usual step.
    pub rate_hz: Option<f64>,
    /// Least value.
    pub min: Option<f64>,
    /// Greatest value.
    pub max: Option<f64>,
    /// Where neighbours are too far apart to be joined.
    pub gaps: Vec<Gap>,
}

/// A stretch without records.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Gap {
    /// The record before it.
    pub from_s: f64,
    /// The record after it.
    pub to_s: f64,
}

/// Sums a log up.
pub fn describe(recording: &Recording) -> LogSummary {
    let clock = &recording.clock;
    // Channels without missing cells share their times, and so what follows from them.
    let mut pace: Option<Pace> = None;
    let channels = recording.channels.iter().map(|channel| {
        let known = pace.take().filter(|pace| Arc::ptr_eq(&pace.times, &channel.times));
        summary(channel, pace.insert(known.unwrap_or_else(|| Pace::of(channel))))
    });
    let channels = channels.collect();
    LogSummary {
        file: recording.file.display().to_string(),
        kind: "log",
        format: recording.format,
        rows_read: recording.rows_read,
        rows_refused: recording.rows_refused,
        rows_left_out: recording.rows_left_out,
        parts: recording.parts.clone(),
        clock: ClockSummary {
            kind: clock.kind,
            first: clock.first.clone(),
            last: clock.last.clone(),
            resolution_s: clock.resolution_s,
            date_readings: clock.date_readings.clone().map(|(day, month)| [day, month]),
        },
        channels,
        findings: recording.findings.clone(),
    }
}

/// How a channel's records follow each other.
struct Pace {
    times: Arc<[f64]>,
    step: Option<f64>,
    gaps: Vec<Gap>,
}

impl Pace {
    fn of(channel: &Channel) -> Self {
        let far = |pair: &&[f64]| pair[1] - pair[0] > channel.rules.joined_s;
        let gaps = channel.times.windows(2).filter(far).map(|pair| Gap { from_s: pair[0], to_s: pair[1] }).collect();
        Self { times: Arc::clone(&channel.times), step: usual_step(&channel.times), gaps }
    }
}

fn summary(channel: &Channel, pace: &Pace) -> ChannelSummary {
    let values: &[f64] = match &channel.samples {
        Samples::Numbers(values) => values,
        Samples::Texts(_) => &[],
    };
    let span = channel.span();
    ChannelSummary {
        name: channel.name.clone(),
        unit: channel.unit.clone(),
        samples: channel.times.len(),
        missing: channel.missing,
        first_s: span.map(|(first, _)| first),
        last_s: span.map(|(_, last)| last),
        rate_hz: pace.step.map(|step| 1.0 / step),
        min: values.iter().copied().reduce(f64::min),
        max: values.iter().copied().reduce(f64::max),
        gaps: pace.gaps.clone(),
    }
}
