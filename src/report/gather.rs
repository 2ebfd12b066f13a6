//! The document, gathered from what was read and judged.

use super::channels::{fit_row, places};
use super::rules::limit_rule;
use super::{
    AboutFlight, CAUTIONS, Document, EventRow, ExceedanceRow, FigureTables, FilmRow, FindingRow, LimitRow,
    NotJudgedRow, PhaseFigureRow, PhaseSpan, Provenance, SourceFile, empty, quality,
};
use crate::clock::ClockFit;
use crate::finding::Finding;
use crate::judge::{Event, Exceedance, Judged, Phase, PhaseFigures, Spread, Unjudged};
use crate::panel::{Limit, LitWords, Panel, Severity};
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
    let mut document = Document {
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
        history: None,
        comparison: None,
        empty: Vec::new(),
        data_quality: channels.map(|(id, name, channel)| quality::of(session, id, name, channel)).collect(),
        clocks: flight.clocks.clone(),
        findings: flight.findings.iter().map(finding).collect(),
        provenance: Provenance {
            program,
            version,
            made_utc: format!("{:.0}", flight.made),
            files: flight.files.clone(),
        },
    };
    document.empty = empty::parts(flight, &document);
    document
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
    let span = |(&(from_s, phase), to_s): (&(f64, Phase), f64)| PhaseSpan {
        name: phase.name().to_owned(),
        from_s,
        to_s,
        plus_minus_s: judged.phases.plus_minus_s,
        rule: phase_rule(panel, phase),
    };
    starts.iter().zip(ends).map(span).collect()
}

fn limit_row(flight: &Flight<'_>, index: usize, limit: &Limit) -> LimitRow {
    let unit = unit_of(flight, &limit.channel);
    let band = flight.judged.figures.bands.iter().find(|band| band.limit == index);
    LimitRow {
        name: limit.name.clone(),
        channel: limit.channel.clone(),
        below: limit.is_minimum.then_some(limit.value),
        above: (!limit.is_minimum).then_some(limit.value),
        for_s: limit.seconds,
        clear_by: limit.clear_by,
        severity: severity_word(limit.severity),
        subject: limit.subject.clone(),
        word: limit.word.clone(),
        source: limit.source.clone(),
        rule: limit_rule(limit, unit.as_deref().unwrap_or_default()),
        unit,
        inside_s: band.map(|band| band.inside_s),
        beyond_s: band.map(|band| band.beyond_s),
        unknown_s: band.map(|band| band.unknown_s),
        not_in_force_s: band.map(|band| band.not_in_force_s),
    }
}

fn unit_of(flight: &Flight<'_>, channel: &str) -> Option<String> {
    flight.session.find(channel).and_then(|id| flight.session.channel(id)).and_then(|c| c.unit.clone())
}

/// A channel's full name, as the document lists it; a limit may leave out its log.
fn full_name(flight: &Flight<'_>, channel: &str) -> String {
    let id = flight.session.find(channel);
    let found = flight.session.channels().find(|(other, ..)| Some(*other) == id);
    found.map_or_else(|| channel.to_owned(), |(_, name, _)| name)
}

fn events(flight: &Flight<'_>) -> Vec<EventRow> {
    let row = |event: &Event| EventRow {
        kind: event.kind.word().to_owned(),
        name: event.name.clone(),
        severity: event.severity.map(severity_word),
        from_s: event.from_s,
        to_s: event.to_s,
        plus_minus_s: event.plus_minus_s,
        peak_s: event.peak_s,
        phase: event.phase.name().to_owned(),
        film_s: film_s(flight, event.from_s),
        utc: utc(flight.session, event.from_s),
        facts: event.facts.clone(),
        rule: event.rule.clone(),
    };
    flight.judged.events.iter().map(row).collect()
}

fn exceedances(flight: &Flight<'_>) -> Vec<ExceedanceRow> {
    let row = |passed: &Exceedance| {
        let limit = flight.panel.limits.get(passed.limit)?;
        let unit = unit_of(flight, &limit.channel).unwrap_or_default();
        Some(ExceedanceRow {
            limit: limit.name.clone(),
            subject: limit.subject.clone(),
            word: limit.word.clone(),
            channel: full_name(flight, &limit.channel),
            severity: severity_word(limit.severity),
            from_s: passed.from_s,
            to_s: passed.to_s,
            plus_minus_s: passed.plus_minus_s,
            peak: passed.peak,
            peak_s: passed.peak_s,
            limit_value: passed.limit_value,
            rule: limit_rule(limit, &unit),
            unit,
            phase: passed.phase.name().to_owned(),
            at_least: passed.at_least,
            film_s: film_s(flight, passed.from_s),
            utc: utc(flight.session, passed.from_s),
            source: limit.source.clone(),
        })
    };
    flight.judged.exceedances.iter().filter_map(row).collect()
}

fn not_judged(flight: &Flight<'_>) -> Vec<NotJudgedRow> {
    let row = |span: &Unjudged| NotJudgedRow {
        limit: flight.panel.limits.get(span.limit).map(|limit| limit.name.clone()).unwrap_or_default(),
        from_s: span.from_s,
        to_s: span.to_s,
        why: span.why.clone(),
    };
    flight.judged.unjudged.iter().map(row).collect()
}

fn figures(flight: &Flight<'_>) -> FigureTables {
    let judged = &flight.judged.figures;
    let hidden = if flight.located { Vec::new() } else { places(flight.session, flight.panel) };
    let told = |name: &str| flight.session.find(name).is_none_or(|id| !hidden.contains(&id));
    let spread = |spread: &Spread| Spread { channel: full_name(flight, &spread.channel), ..spread.clone() };
    let phase = |figures: &PhaseFigures| PhaseFigureRow {
        phase: figures.phase.name().to_owned(),
        times: figures.times,
        seconds: figures.seconds,
        rule: phase_rule(flight.panel, figures.phase),
        channels: figures.channels.iter().filter(|s| told(&s.channel)).map(spread).collect(),
    };
    FigureTables { flight: judged.flight.clone(), by_phase: judged.by_phase.iter().map(phase).collect() }
}

fn phase_rule(panel: &Panel, phase: Phase) -> String {
    match &panel.phases {
        Some(rules) => phase.rule(rules),
        None => "there are no rules for phases".to_owned(),
    }
}
