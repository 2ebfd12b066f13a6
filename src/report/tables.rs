//! The document's lists as tables of comma-separated values.

use super::Document;

/// A table: its file's name, and its text.
pub struct Table {
    /// Name of its file.
    pub file: &'static str,
    /// Header and rows (RFC 4180).
    pub text: Vec<u8>,
}

/// A number as it is written; an empty cell where there is none.
fn number(value: impl Into<Option<f64>>) -> String {
    value.into().map(|v| v.to_string()).unwrap_or_default()
}

fn time(value: impl Into<Option<f64>>) -> String {
    value.into().map(|v| format!("{v:.3}")).unwrap_or_default()
}

fn yes(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}

fn table<const N: usize>(
    file: &'static str,
    header: [&str; N],
    rows: impl Iterator<Item = [String; N]>,
) -> csv::Result<Table> {
    let mut writer = csv::Writer::from_writer(Vec::new());
    writer.write_record(header)?;
    rows.into_iter().try_for_each(|row| writer.write_record(row))?;
    let text = writer.into_inner().map_err(|e| e.into_error())?;
    Ok(Table { file, text })
}

/// All tables of a document.
///
/// # Errors
/// Never but for a writer in memory that fails.
pub fn tables(document: &Document) -> csv::Result<Vec<Table>> {
    let text = |text: &Option<String>| text.clone().unwrap_or_default();
    let events = document.events.iter().map(|e| {
        let facts = e
            .facts
            .iter()
            .map(|f| format!("{} {:.*} {}", f.name, usize::from(f.decimals), f.value, f.unit).trim_end().to_owned());
        [
            e.kind.clone(),
            e.name.clone(),
            e.severity.unwrap_or_default().to_owned(),
            time(e.from_s),
            time(e.to_s),
            time(e.plus_minus_s),
            time(e.peak_s),
            e.phase.clone(),
            time(e.film_s),
            text(&e.utc),
            facts.collect::<Vec<_>>().join("; "),
            e.rule.clone(),
        ]
    });
    let exceedances = document.exceedances.iter().map(|e| {
        [
            e.limit.clone(),
            e.subject.clone(),
            e.word.clone(),
            e.channel.clone(),
            e.severity.to_owned(),
            time(e.from_s),
            time(e.to_s),
            time(e.plus_minus_s),
            number(e.peak),
            time(e.peak_s),
            number(e.limit_value),
            e.unit.clone(),
            e.phase.clone(),
            yes(e.at_least),
            time(e.film_s),
            text(&e.utc),
            e.rule.clone(),
            e.source.clone(),
        ]
    });
    let not_judged = document.not_judged.iter().map(|n| [n.limit.clone(), time(n.from_s), time(n.to_s), n.why.clone()]);
    let phases = document
        .phases
        .iter()
        .map(|p| [p.name.clone(), time(p.from_s), time(p.to_s), time(p.plus_minus_s), p.rule.clone()]);
    let whole = document.figures.flight.iter().map(|f| {
        let about = ["flight", &f.name, &f.unit].map(str::to_owned);
        (about, [f.value, None, None, f.plus_minus], f.at_least, &f.rule)
    });
    let by_phase = document.figures.by_phase.iter().flat_map(|phase| {
        let lasted = [&phase.phase, "time in it", "s"].map(str::to_owned);
        let spreads = phase.channels.iter().map(|c| {
            let about = [&phase.phase, &c.channel, &c.unit].map(|t| t.clone());
            (about, [Some(c.mean), Some(c.least), Some(c.greatest), None], false, &phase.rule)
        });
        [(lasted, [Some(phase.seconds), None, None, None], false, &phase.rule)].into_iter().chain(spreads)
    });
    let figures = whole.chain(by_phase).map(|([of, figure, unit], numbers, at_least, rule)| {
        let [value, least, greatest, plus_minus] = numbers.map(number);
        [of, figure, unit, value, least, greatest, plus_minus, yes(at_least), rule.clone()]
    });
    let quality = document.data_quality.iter().map(|q| {
        let shares = [q.measured, q.derived, q.held, q.stale, q.invalid, q.saturated].map(|s| format!("{s:.6}"));
        let [measured, derived, held, stale, invalid, saturated] = shares;
        let about = [q.channel.clone(), text(&q.unit), number(q.rate_hz), q.samples.to_string()];
        let [channel, unit, rate, samples] = about;
        [channel, unit, rate, samples, measured, derived, held, stale, invalid, saturated]
    });
    Ok(vec![
        table(
            "events.csv",
            [
                "kind",
                "name",
                "severity",
                "from_s",
                "to_s",
                "plus_minus_s",
                "peak_s",
                "phase",
                "film_s",
                "utc",
                "facts",
                "rule",
            ],
            events,
        )?,
        table(
            "exceedances.csv",
            [
                "limit",
                "subject",
                "word",
                "channel",
                "severity",
                "from_s",
                "to_s",
                "plus_minus_s",
                "peak",
                "peak_s",
                "limit_value",
                "unit",
                "phase",
                "at_least",
                "film_s",
                "utc",
                "rule",
                "source",
            ],
            exceedances,
        )?,
        table("not_judged.csv", ["limit", "from_s", "to_s", "why"], not_judged)?,
        table("phases.csv", ["name", "from_s", "to_s", "plus_minus_s", "rule"], phases)?,
        table(
            "figures.csv",
            ["of", "figure", "unit", "value", "least", "greatest", "plus_minus", "at_least", "rule"],
            figures,
        )?,
        table(
            "quality.csv",
            ["channel", "unit", "rate_hz", "samples", "measured", "derived", "held", "stale", "invalid", "saturated"],
            quality,
        )?,
    ])
}
