//! The document, gathered from what was read and judged.

use super::channels::{fit_row, places};
use super::{
    AboutFlight, CAUTIONS, Document, EventRow, ExceedanceRow, FigureTables, FilmRow, FindingRow, LimitRow, NotJudgedRow,
    PhaseSpan, Provenance, SourceFile, quality,
};
use crate::clock::ClockFit;
use crate::finding::Finding;
use crate::judge::{Judged, Phase};
use crate::panel::{Limit, LitWords, Panel, Power, Severity};
use crate::session::Session;
use crate::time::SessionTime;
use serde_json::Value;
use std::path::PathBuf;

/// What a debrief is written of.
pub struct Flight<'a> {
    /// The owner's title.
    pub title: &'a str,
    /// The aircraft.
    pub aircraft: &'a str,
    /// The records.
    pub session: &'a Session,
    /// The owner's panel.
    pub panel: &'a Panel,
    /// What was judged of the records by the panel.
    pub judged: &'a Judged,
    /// The films.
    pub films: Vec<Film>,
    /// How the clocks meet, as `align --json` writes it.
    pub clocks: Value,
    /// What is odd about the inputs.
    pub findings: Vec<FileFinding>,
    /// The files that were read.
    pub files: Vec<SourceFile>,
    /// Now.
    pub made: jiff::Timestamp,
    /// Whether positions may be told.
    pub located: bool,
}

/// A film of the flight.
pub struct Film {
    /// Its name.
    pub name: String,
    /// Its files.
    pub files: Vec<PathBuf>,
    /// Film time to session time; none where nothing joins them.
    pub fit: Option<ClockFit>,
    /// Its length in seconds, where it could be opened.
    pub duration_s: Option<f64>,
}

/// A remark about a file.
pub struct FileFinding {
    /// The file.
    pub file: PathBuf,
    /// The remark.
    pub finding: Finding,
}

/// Gathers the document.
pub fn document(flight: &Flight<'_>) -> Document {
    let (session, panel, judged) = (flight.session, flight.panel, flight.judged);
    let (first, last) = session.span();
    let hidden = if flight.located { Vec::new() } else { places(session, panel) };
    let channels = session.channels().filter(|(id, ..)| !hidden.contains(id));
    let (program, version) = (env!("CARGO_PKG_NAME").to_owned(), env!("CARGO_PKG_VERSION").to_owned());
    Document {
        flight: AboutFlight {
            title: flight.title.to_owned(),
            aircraft: flight.aircraft.to_owned(),
            reference: session.reference().map(|log| log.name.clone()),
            first_utc: utc(session, 0.0),
            from_s: first.0,
            to_s: last.0,
            duration_s: last.0 - first.0,
            films: flight.films.iter().map(film).collect(),
            program: format!("{program} {version}"),
            cautions: CAUTIONS.map(str::to_owned).to_vec(),
        },
        phases: phases(panel, judged, first.0, last.0),
        events: events(flight),
        exceedances: exceedances(flight),
        not_judged: not_judged(flight),
        limits: panel.limits.iter().enumerate().map(|(i, limit)| limit_row(flight, i, limit)).collect(),
        figures: figures(flight),
        data_quality: channels.map(|(id, name, channel)| quality::of(session, id, name, channel)).collect(),
        clocks: flight.clocks.clone(),
        findings: flight.findings.iter().map(finding).collect(),
        provenance: Provenance { program, version, made_utc: format!("{:.0}", flight.made), files: flight.files.clone() },
    }
}

fn utc(session: &Session, at_s: f64) -> Option<String> {
    session.utc(SessionTime(at_s)).map(|t| format!("{t:.3}"))
}

/// Film time of a session time, on the first film that is joined; none outside it.
fn film_s(flight: &Flight<'_>, at_s: f64) -> Option<f64> {
    let (film, fit) = flight.films.iter().find_map(|film| Some((film, film.fit.as_ref()?)))?;
    let time = fit.inverse(at_s);
    (time >= 0.0 && film.duration_s.is_none_or(|end| time <= end)).then_some(time)
}

fn film(film: &Film) -> FilmRow {
    FilmRow {
        name: film.name.clone(),
        files: film.files.iter().map(|f| f.display().to_string()).collect(),
        fit: film.fit.as_ref().map(fit_row),
        duration_s: film.duration_s,
    }
}

fn finding(found: &FileFinding) -> FindingRow {
    let Finding { severity, row, column, code, message, .. } = found.finding.clone();
    let file = found.file.display().to_string();
    FindingRow { file, severity, row, column, code: code.to_owned(), message }
}

/// Its word in files.
pub(super) const fn severity_word(severity: Severity) -> &'static str {
    match severity {
        Severity::Warning => "warning",
        Severity::Caution => "caution",
        Severity::InTransit => "in_transit",
        Severity::Advisory => "advisory",
        Severity::Normal => "normal",
    }
}

/// What a lit lamp says, in one line.
pub(super) fn lit_text(words: &LitWords) -> String {
    match words {
        LitWords::Word(word) => word.clone(),
        LitWords::Phrase(lines) => lines.join(" "),
    }
}

fn phases(panel: &Panel, judged: &Judged, from_s: f64, to_s: f64) -> Vec<PhaseSpan> {
    let turns = judged.phases.line.turns();
    let mut starts: Vec<(f64, Phase)> = vec![(from_s, judged.phases.line.at(from_s))];
    starts.extend(turns.iter().copied().filter(|turn| turn.0 > from_s && turn.0 < to_s));
    let ends = starts.iter().skip(1).map(|turn| turn.0).chain([to_s]);
    let rule = |phase: Phase| match &panel.phases {
        Some(rules) => phase.rule(rules),
        None => "the panel has no rules for phases".to_owned(),
    };
    let span = |(&(from_s, phase), to_s): (&(f64, Phase), f64)| PhaseSpan {
        name: phase.name().to_owned(),
        from_s,
        to_s,
        plus_minus_s: judged.phases.plus_minus_s,
        rule: rule(phase),
    };
    starts.iter().zip(ends).map(span).collect()
}

fn limit_row(flight: &Flight<'_>, _index: usize, limit: &Limit) -> LimitRow {
    let channel = flight.session.find(&limit.channel).and_then(|id| flight.session.channel(id));
    LimitRow {
        name: limit.name.clone(),
        channel: limit.channel.clone(),
        unit: channel.and_then(|c| c.unit.clone()),
        below: limit.is_minimum.then_some(limit.value),
        above: (!limit.is_minimum).then_some(limit.value),
        for_s: limit.seconds,
        clear_by: limit.clear_by,
        severity: severity_word(limit.severity),
        source: limit.source.clone(),
        rule: limit_rule(limit, channel.and_then(|c| c.unit.as_deref()).unwrap_or_default()),
        inside_s: None,
        beyond_s: None,
        unknown_s: None,
    }
}

/// A limit's rule in words, with the owner's numbers.
fn limit_rule(limit: &Limit, unit: &str) -> String {
    let number = |value: f64| format!("{value} {unit}").trim_end().to_owned();
    let mut rule =
        format!("{} {}", if limit.is_minimum { "below" } else { "above" }, number(limit.value));
    if limit.seconds > 0.0 {
        rule += &format!(" for {} s", limit.seconds);
    }
    match limit.power {
        Some(Power::On) => rule += ", with power on",
        Some(Power::Off) => rule += ", with power off",
        None => {}
    }
    if limit.clear_by > 0.0 {
        rule += &format!("; over when back inside by {}", number(limit.clear_by));
    }
    if let Some(arming) = limit.armed_by {
        let side = if arming.above { "above" } else { "below" };
        rule += &format!("; counts once it has been {side} {} for {} s", number(arming.value), arming.seconds);
    }
    rule
}

fn events(_flight: &Flight<'_>) -> Vec<EventRow> {
    Vec::new()
}

fn exceedances(_flight: &Flight<'_>) -> Vec<ExceedanceRow> {
    Vec::new()
}

fn not_judged(_flight: &Flight<'_>) -> Vec<NotJudgedRow> {
    Vec::new()
}

fn figures(_flight: &Flight<'_>) -> FigureTables {
    FigureTables::default()
}
