//! The parts of one log whose logger was switched off and on, as one log on the session's axis.
//!
//! Each part keeps its own clock and can be named on its own. A channel of the whole holds the records of all parts that have it, each
//! at its session time, with a break before every part: between them it is held, then stale, then invalid, as in any other hole.
//! Parts follow each other as the logs do: where two of them overlap by their clocks, the later one begins where it begins, and what
//! the earlier one has from there on is left out and told. A part that nothing joins is not in the whole.

use super::SessionLog;
use crate::clock::ClockFit;
use crate::finding::{Finding, Severity};
use crate::signal::{Channel, Kind, Samples};
use std::collections::HashMap;
use std::sync::Arc;

/// Parts may overlap by this many standard deviations of their clocks before it is more than their error.
const SIGMAS: f64 = 4.0;

/// One log of several parts.
#[derive(Debug, Clone)]
pub(super) struct Whole {
    pub name: String,
    /// Indices of all its parts, in the order of the logs.
    pub parts: Vec<usize>,
    /// Session time at which each part begins that is joined, and its index, in the same order.
    starts: Vec<(f64, usize)>,
    /// In session time; on the longest part's own clock where no part is joined.
    pub channels: Vec<Channel>,
    /// The session's own clock, as unsure as the worst of the parts; none where no part is joined.
    pub fit: Option<ClockFit>,
}

impl Whole {
    /// The part that stands at a session time: the last one that has begun, and before all of them the first.
    pub fn part_at(&self, session_s: f64) -> Option<usize> {
        let begun = self.starts.iter().rev().find(|(start, _)| *start <= session_s);
        begun.or(self.starts.first()).map(|(_, part)| *part)
    }
}

/// The wholes of these logs, and what was found while they were joined.
pub(super) fn wholes(logs: &[SessionLog]) -> (Vec<Whole>, Vec<Finding>) {
    let (mut all, mut findings): (Vec<Whole>, Vec<Finding>) = (Vec::new(), Vec::new());
    for log in logs {
        let Some(name) = log.part_of.as_deref().filter(|name| all.iter().all(|whole| whole.name != **name)) else {
            continue;
        };
        let of_it = logs.iter().enumerate().filter(|(_, log)| log.part_of.as_deref() == Some(name));
        all.push(whole(name, of_it.map(|(i, _)| i).collect(), logs, &mut findings));
    }
    (all, findings)
}

/// A part that is joined, and the session time from which on a later one counts.
struct Span<'a> {
    log: &'a SessionLog,
    fit: &'a ClockFit,
    until_s: f64,
}

fn whole(name: &str, parts: Vec<usize>, logs: &[SessionLog], findings: &mut Vec<Finding>) -> Whole {
    let joined: Vec<(usize, &SessionLog, &ClockFit)> =
        parts.iter().filter_map(|&i| Some((i, &logs[i], logs[i].fit.as_ref()?))).collect();
    let starts: Vec<(f64, usize)> = joined.iter().map(|(i, _, fit)| (fit.inverse(0.0), *i)).collect();
    let name = name.to_owned();
    if joined.is_empty() {
        let records = |i: &&usize| logs[**i].recording.rows_read;
        let longest = parts.iter().rev().max_by_key(records);
        let channels = longest.map(|&i| logs[i].recording.channels.clone()).unwrap_or_default();
        return Whole { name, parts, starts, channels, fit: None };
    }
    let mut spans = Vec::new();
    let mut worst_s = 0.0_f64;
    for (n, &(_, log, fit)) in joined.iter().enumerate() {
        let until_s = starts.iter().skip(n + 1).map(|start| start.0).fold(f64::INFINITY, f64::min);
        let end_s = fit.inverse(log.recording.duration_s());
        worst_s = worst_s.max(fit.sigma_within(starts[n].0, end_s));
        if let Some(&(_, next, other)) = joined.get(n + 1).filter(|_| end_s >= until_s) {
            let sigma_s = fit.sigma(until_s) + other.sigma(until_s);
            findings.push(overlap(log, next, end_s - until_s, sigma_s));
        }
        spans.push(Span { log, fit, until_s });
    }
    let mut columns: Vec<&str> = Vec::new();
    let mut shared: HashMap<Vec<(usize, usize)>, Arc<[f64]>> = HashMap::new();
    for span in &spans {
        let new = span.log.recording.channels.iter().map(|channel| &*channel.name);
        for column in new {
            if !columns.contains(&column) {
                columns.push(column);
            }
        }
    }
    let channels = columns.iter().filter_map(|column| channel(&name, column, &spans, &mut shared, findings)).collect();
    let fit = ClockFit { cov: [[worst_s * worst_s, 0.0], [0.0, 0.0]], ..ClockFit::same() };
    Whole { name, parts, starts, channels, fit: Some(fit) }
}

/// What to tell where a part ends after the next one has begun.
fn overlap(part: &SessionLog, next: &SessionLog, by_s: f64, sigma_s: f64) -> Finding {
    let (one, other) = (&part.name, &next.name);
    let what = format!(
        "by their clocks, `{one}` ends {by_s:.3} s after `{other}` begins, which the clocks know to {sigma_s:.3} s; `{other}` counts from where \
         it begins, and what `{one}` recorded from there on is left out of the whole log"
    );
    if by_s <= SIGMAS * sigma_s {
        return Finding::new(Severity::Note, "parts_overlap", what);
    }
    let message = format!("{what}: what places one of them is wrong; look at the marks, and at jumpseat align");
    Finding::new(Severity::Warning, "parts_overlap", message)
}

/// A column of all parts. Those that hold it in the unit of the one with most records are joined, others told.
fn channel(
    whole: &str,
    column: &str,
    spans: &[Span<'_>],
    shared: &mut HashMap<Vec<(usize, usize)>, Arc<[f64]>>,
    findings: &mut Vec<Finding>,
) -> Option<Channel> {
    let of = |span| -> Option<(&Span<'_>, &Channel)> {
        let span: &Span<'_> = span;
        Some((span, span.log.recording.channels.iter().find(|channel| channel.name == column)?))
    };
    let all: Vec<(&Span<'_>, &Channel)> = spans.iter().filter_map(of).collect();
    let held: Vec<(&Span<'_>, &Channel)> = all.iter().copied().filter(|(_, c)| !c.times.is_empty()).collect();
    // The first of those with most records.
    let Some(&(first, main)) = held.iter().rev().max_by_key(|(_, channel)| channel.times.len()) else {
        return all.first().map(|(_, channel)| (*channel).clone());
    };
    let holds_texts = |channel: &Channel| matches!(channel.samples, Samples::Texts(_));
    let alike = |channel: &Channel| channel.unit == main.unit && holds_texts(channel) == holds_texts(main);
    for (span, other) in held.iter().filter(|(_, channel)| !alike(channel)) {
        let what = |channel: &Channel| match (&channel.unit, holds_texts(channel)) {
            (_, true) => "texts".to_owned(),
            (Some(unit), _) => format!("numbers in {unit}"),
            (None, _) => "numbers without a unit".to_owned(),
        };
        let (one, two) = (&first.log.name, &span.log.name);
        let message = format!(
            "`{one}.{column}` holds {}, `{two}.{column}` {}: `{whole}.{column}` is without the second, which can be named on its own",
            what(main),
            what(other)
        );
        findings.push(Finding::new(Severity::Warning, "parts_differ", message));
    }
    let pieces: Vec<(&Span<'_>, &Channel)> = held.into_iter().filter(|(_, channel)| alike(channel)).collect();
    let (mut times, mut breaks, mut key) = (Vec::new(), Vec::new(), Vec::new());
    let mut samples = if holds_texts(main) { Samples::Texts(Vec::new()) } else { Samples::Numbers(Vec::new()) };
    for (span, piece) in &pieces {
        let kept = piece.times.partition_point(|&t| span.fit.inverse(t) < span.until_s);
        key.push((Arc::as_ptr(&piece.times) as *const f64 as usize, kept));
        if kept > 0 && !times.is_empty() {
            breaks.push(times.len());
        }
        times.extend(piece.times.iter().take(kept).map(|&t| span.fit.inverse(t)));
        match (&mut samples, &piece.samples) {
            (Samples::Numbers(all), Samples::Numbers(some)) => all.extend(some.iter().take(kept)),
            (Samples::Texts(all), Samples::Texts(some)) => all.extend(some.iter().take(kept).cloned()),
            _ => {}
        }
    }
    // What jumps between a few values in one part may move steadily in another.
    let steady = pieces.iter().map(|(_, channel)| channel.kind).find(|kind| *kind != Kind::Discrete);
    Some(Channel {
        name: column.to_owned(),
        unit: main.unit.clone(),
        kind: steady.unwrap_or(Kind::Discrete),
        // Most channels of a log share their times.
        times: Arc::clone(shared.entry(key).or_insert_with(|| times.into())),
        samples,
        missing: all.iter().map(|(_, channel)| channel.missing).sum(),
        breaks,
        rules: main.rules,
        origin: main.origin,
    })
}
