//! The document that `debrief --json` writes and the page carries. Missing is `null`, never 0; times are session seconds.

use super::{Comparison, EmptyPart, History};
use crate::finding::Severity;
use crate::judge::{Fact, Figure, Spread};
use serde::Serialize;
use serde_json::Value;

/// Everything that is told of a flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Document {
    /// What earlier flights say, if they were given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub history: Option<History>,
    /// What another flight says, if it was laid beside this one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub comparison: Option<Comparison>,
    /// Which flight it is.
    pub flight: AboutFlight,
    /// Its phases, one after the other.
    pub phases: Vec<PhaseSpan>,
    /// What happened, in the order of time.
    pub events: Vec<EventRow>,
    /// Where a limit of the owner's was passed, in the order of time.
    pub exceedances: Vec<ExceedanceRow>,
    /// Where a limit could not be judged.
    pub not_judged: Vec<NotJudgedRow>,
    /// The owner's limits, with what became of each.
    pub limits: Vec<LimitRow>,
    /// Sums and extremes.
    pub figures: FigureTables,
    /// Parts with nothing in them, each with the reason.
    pub empty: Vec<EmptyPart>,
    /// How far each channel may be trusted.
    pub data_quality: Vec<Quality>,
    /// How the clocks meet, as `align --json` writes it.
    pub clocks: Value,
    /// What is odd about the inputs.
    pub findings: Vec<FindingRow>,
    /// What it was made from, and by what.
    pub provenance: Provenance,
}

/// Which flight it is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AboutFlight {
    /// The owner's title; empty where there is none.
    pub title: String,
    /// The aircraft; empty where it is not said.
    pub aircraft: String,
    /// The log whose clock is session time.
    pub reference: Option<String>,
    /// UTC of session time 0, where the reference log knows it.
    pub first_utc: Option<String>,
    /// Session time of the first record of all logs.
    pub from_s: f64,
    /// Session time of the last one.
    pub to_s: f64,
    /// Seconds between the two.
    pub duration_s: f64,
    /// Its films.
    pub films: Vec<FilmRow>,
    /// Name and version of the program.
    pub program: String,
    /// What the reader must know; see [`super::CAUTIONS`].
    pub cautions: Vec<String>,
}

/// A film of the flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FilmRow {
    /// Its name in the flight file.
    pub name: String,
    /// Its files.
    pub files: Vec<String>,
    /// Session time over film time; none where nothing joins them.
    pub fit: Option<FitRow>,
    /// Its length, where it could be opened.
    pub duration_s: Option<f64>,
}

/// `to = pivot_s + offset_at_pivot_s + rate * (from - pivot_s)`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FitRow {
    /// The middle of the evidence.
    pub pivot_s: f64,
    /// The difference there.
    pub offset_at_pivot_s: f64,
    /// Seconds a second.
    pub rate: f64,
    /// Standard deviation at the pivot, in seconds.
    pub sigma_s: f64,
    /// Standard deviation of the rate.
    pub sigma_rate: f64,
}

/// A phase of the flight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PhaseSpan {
    /// Its name.
    pub name: String,
    /// Start.
    pub from_s: f64,
    /// End.
    pub to_s: f64,
    /// How exact start and end are, in seconds.
    pub plus_minus_s: f64,
    /// The rule that decided it, with the owner's numbers.
    pub rule: String,
}

/// Something that happened.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EventRow {
    /// A word for scripts.
    pub kind: String,
    /// Its name for people.
    pub name: String,
    /// `warning`, `caution` or `advisory`; none for what is only told.
    pub severity: Option<&'static str>,
    /// Start.
    pub from_s: f64,
    /// End.
    pub to_s: f64,
    /// How exact both are, in seconds.
    pub plus_minus_s: f64,
    /// The moment to go to.
    pub peak_s: Option<f64>,
    /// The phase in which it happened.
    pub phase: String,
    /// Film time of the start; none outside the film.
    pub film_s: Option<f64>,
    /// UTC of the start.
    pub utc: Option<String>,
    /// What was measured of it.
    pub facts: Vec<Fact>,
    /// The rule that found it.
    pub rule: String,
}

/// A limit that was passed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ExceedanceRow {
    /// The limit's name.
    pub limit: String,
    /// What it is about, e.g. `ROTOR`.
    pub subject: String,
    /// Its state word, e.g. `LOW`.
    pub word: String,
    /// The channel.
    pub channel: String,
    /// `warning`, `caution` or `advisory`.
    pub severity: &'static str,
    /// Start.
    pub from_s: f64,
    /// End.
    pub to_s: f64,
    /// How exact both are, in seconds.
    pub plus_minus_s: f64,
    /// The value farthest beyond the limit.
    pub peak: f64,
    /// When it was recorded.
    pub peak_s: f64,
    /// The limit then in force.
    pub limit_value: f64,
    /// Unit of both.
    pub unit: String,
    /// The phase at the peak.
    pub phase: String,
    /// Whether it may have been longer or higher: the data have a gap, or an end.
    pub at_least: bool,
    /// Film time of the start; none outside the film.
    pub film_s: Option<f64>,
    /// UTC of the start.
    pub utc: Option<String>,
    /// The rule.
    pub rule: String,
    /// Where the limit stands written.
    pub source: String,
}

/// A span in which a limit could not be judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotJudgedRow {
    /// The limit's name.
    pub limit: String,
    /// Start.
    pub from_s: f64,
    /// End.
    pub to_s: f64,
    /// Why.
    pub why: String,
}

/// A limit of the owner's.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitRow {
    /// Its name.
    pub name: String,
    /// The channel that it limits.
    pub channel: String,
    /// The channel's unit.
    pub unit: Option<String>,
    /// The value, where values below pass it.
    pub below: Option<f64>,
    /// The value, where values above pass it.
    pub above: Option<f64>,
    /// How long it must be passed, in seconds.
    pub for_s: f64,
    /// How far back inside the value must be for the alert to clear.
    pub clear_by: f64,
    /// `warning`, `caution` or `advisory`.
    pub severity: &'static str,
    /// What it is about, e.g. `ROTOR`.
    pub subject: String,
    /// Its state word, e.g. `LOW`.
    pub word: String,
    /// Where it stands written.
    pub source: String,
    /// The rule in words.
    pub rule: String,
    /// Seconds inside it; none where that was not worked out.
    pub inside_s: Option<f64>,
    /// Seconds beyond it.
    pub beyond_s: Option<f64>,
    /// Seconds for which that is not known.
    pub unknown_s: Option<f64>,
    /// Seconds in which it did not count: not armed, another set in force, or its minimum time running.
    pub not_in_force_s: Option<f64>,
}

/// Sums and extremes.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct FigureTables {
    /// Of the whole flight.
    pub flight: Vec<Figure>,
    /// Of each phase.
    pub by_phase: Vec<PhaseFigureRow>,
}

/// Figures of one phase, all its times taken together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PhaseFigureRow {
    /// The phase.
    pub phase: String,
    /// How often it came.
    pub times: usize,
    /// How long it lasted altogether.
    pub seconds: f64,
    /// Its rule.
    pub rule: String,
    /// What the channels did in it.
    pub channels: Vec<Spread>,
}

/// How far a channel may be trusted: shares of session time, 0 to 1, that add up to 1.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Quality {
    /// The channel.
    pub channel: String,
    /// Its unit.
    pub unit: Option<String>,
    /// One over the usual step between records.
    pub rate_hz: Option<f64>,
    /// How many records.
    pub samples: usize,
    /// Recorded, or between two neighbouring records.
    pub measured: f64,
    /// Computed from other channels.
    pub derived: f64,
    /// Kept across a short gap.
    pub held: f64,
    /// Too old to be shown.
    pub stale: f64,
    /// Nothing there.
    pub invalid: f64,
    /// The sensor stood at an end of its range.
    pub saturated: f64,
}

/// Something odd about an input.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingRow {
    /// The file.
    pub file: String,
    /// How grave.
    pub severity: Severity,
    /// Physical line, from 1.
    pub row: Option<u64>,
    /// Column.
    pub column: Option<String>,
    /// A word for scripts.
    pub code: String,
    /// A sentence for people.
    pub message: String,
}

/// What a document was made from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Provenance {
    /// The program's name.
    pub program: String,
    /// Its version.
    pub version: String,
    /// When it was made.
    pub made_utc: String,
    /// The files that were read.
    pub files: Vec<SourceFile>,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SourceFile {
    /// Its name.
    pub file: String,
    /// Its length; none where it could not be read.
    pub bytes: Option<u64>,
    /// SHA-256 of the whole of it.
    pub sha256: Option<String>,
    /// What it is: `flight`, `panel`, `log` or `film`.
    pub role: &'static str,
}
