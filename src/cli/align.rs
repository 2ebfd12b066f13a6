//! `jumpseat align`: how the clocks meet, on what evidence, and how sure that is.

use super::check::show;
use super::hearing::Listen;
use super::load::{Compute, Loaded};
use super::which_flight::FlightArguments;
use super::{Failure, Report, align_plot, align_write, clocks};
use crate::clock::{ClockFit, ClockId, Weighed};
use crate::finding::Severity;
use crate::keyfile::Fault;
use crate::time::{FilmTime, format_film_time};
use serde_json::{Value, json};
use std::fmt::Write;
use std::path::PathBuf;

/// Arguments of `align`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    #[command(flatten)]
    flight: FlightArguments,
    /// One JSON document on standard output
    #[arg(long)]
    json: bool,
    /// Draw the evidence to this picture (.png or .svg)
    #[arg(long, value_name = "PIC")]
    plot: Option<PathBuf>,
    /// Write the fits into the flight file, which stays as it is but for them
    #[arg(long)]
    write: bool,
    /// Replace a picture that exists
    #[arg(long)]
    overwrite: bool,
    /// Take every warning as an error
    #[arg(long)]
    strict: bool,
}

/// One clock on another, as it is told.
pub(super) struct Row {
    /// The film's place in the flight file; none where two logs meet.
    pub(super) film: Option<usize>,
    /// The place of the log among those that were read.
    pub(super) log: usize,
    /// The log's time over film time, or over session time.
    pub(super) fit: Option<ClockFit>,
    /// Seconds over which it is needed: the film's, or the log's.
    pub(super) span: (f64, f64),
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    if let Some(output) = &arguments.plot {
        super::inspect_plot::check_ending(output)?;
    }
    if arguments.write {
        arguments.flight.file()?;
    }
    let loaded = arguments.flight.load(Compute::Named, Listen::Always).map_err(|f| Failure::input(f.message))?;
    let mut faults: Vec<Fault> = loaded.faults.iter().filter(|f| concerns_clocks(f)).cloned().collect();
    #[cfg(feature = "codec")]
    faults.extend(super::flight_plan::unopened(&loaded).into_iter().chain(super::flight_plan::split_films(&loaded)));
    faults.extend(clocks::unsure(&loaded));
    show(Some(&loaded), &faults, report);
    let rows = rows(&loaded);
    if arguments.json {
        report.json(&of_rows(&loaded, &rows));
    } else {
        anstream::print!("{}", table(&loaded, &rows));
    }
    if let Some(output) = &arguments.plot {
        align_plot::write(&loaded, &rows, output, arguments.overwrite, report)?;
    }
    let worst = if arguments.strict { Severity::Warning } else { Severity::Error };
    let grave = faults.iter().filter(|f| f.severity >= worst).count();
    if grave > 0 {
        let what = match (arguments.strict, grave) {
            (true, _) => "warnings or errors (--strict)",
            (false, 1) => "error",
            (false, _) => "errors",
        };
        return Err(Failure::input(format!("{}: {grave} {what} about its clocks", arguments.flight.name())));
    }
    if arguments.write {
        align_write::write(&loaded, &rows)?;
        report.say(&format!("wrote the fits into {}", arguments.flight.name()));
    }
    Ok(())
}

/// Every clock on every other, as `align --json` writes them.
pub(super) fn documents(loaded: &Loaded) -> Value {
    of_rows(loaded, &rows(loaded))
}

fn of_rows(loaded: &Loaded, rows: &[Row]) -> Value {
    Value::Array(rows.iter().map(|row| document(loaded, row)).collect())
}

fn concerns_clocks(fault: &Fault) -> bool {
    const CODES: [&str; 7] = [
        "sound_not_matched",
        "log_not_read",
        "log_not_joined",
        "not_toml",
        "camera_clock_local",
        "channels_not_matched",
        "film_not_joined",
    ];
    CODES.contains(&fault.code) || fault.key.starts_with("clock")
}

/// Every film on every log, and every other log on the reference.
fn rows(loaded: &Loaded) -> Vec<Row> {
    let logs = loaded.session.logs();
    let reference = loaded.reference();
    let network = &loaded.joined.network;
    let mut rows = Vec::new();
    for film in 0..loaded.flight.films.len() {
        for log in 0..logs.len() {
            let fit = network.fit(ClockId::Film(film), ClockId::Log(log));
            rows.push(Row { film: Some(film), log, fit, span: (0.0, loaded.film_duration_s(film).unwrap_or(0.0)) });
        }
    }
    for (log, entry) in logs.iter().enumerate().filter(|(log, _)| *log != reference) {
        let fit = network.fit(ClockId::Log(reference), ClockId::Log(log));
        let ends = fit.as_ref().map(|f| (f.inverse(0.0), f.inverse(entry.recording.duration_s())));
        rows.push(Row { film: None, log, fit, span: ends.unwrap_or_default() });
    }
    rows
}

/// The part of the log that is read, counted from 1.
fn segment(loaded: &Loaded, log: usize) -> usize {
    loaded.session.logs()[log].recording.parts.iter().position(|p| p.read).map_or(1, |i| i + 1)
}

fn clip(loaded: &Loaded, film: usize) -> Vec<String> {
    loaded.flight.films[film].files.iter().map(|f| f.display().to_string()).collect()
}

fn document(loaded: &Loaded, row: &Row) -> Value {
    let logs = loaded.session.logs();
    let clip = row.film.map(|film| clip(loaded, film));
    let fit = row.fit.as_ref();
    let sigma = |i: usize| fit.map(|f| f.cov[i][i].sqrt());
    let evidence = |e: &Weighed| {
        json!({ "kind": e.kind, "offset_s": e.offset_s, "sigma_s": e.sigma_s, "used": e.used, "why": e.why,
                "at_s": e.from_s, "residual_s": e.residual_s })
    };
    json!({
        "clip": clip.as_ref().and_then(|c| c.first()),
        "clips": clip,
        "film": row.film.map(|film| &loaded.flight.films[film].name),
        "log": logs[row.log].name,
        "segment": segment(loaded, row.log),
        "on": if row.film.is_some() { "film" } else { logs[loaded.reference()].name.as_str() },
        "pivot_s": fit.map(|f| f.pivot_s),
        "offset_s": fit.map(ClockFit::offset_s),
        "rate": fit.map(|f| f.rate),
        "sigma_s": sigma(0),
        "sigma_rate": sigma(1),
        "sigma_worst_s": fit.map(|f| f.sigma_within(row.span.0, row.span.1)),
        "residual_s": fit.and_then(ClockFit::residual_s),
        "evidence": fit.map(|f| f.evidence.iter().map(evidence).collect::<Vec<_>>()).unwrap_or_default(),
    })
}

/// What a row is about: `film cockpit.mp4 on air`.
pub(super) fn heading(loaded: &Loaded, row: &Row) -> String {
    let logs = loaded.session.logs();
    let log = &logs[row.log];
    let part = match segment(loaded, row.log) {
        n if log.recording.parts.len() > 1 => format!(", part {n}"),
        _ => String::new(),
    };
    let session = if row.log == loaded.reference() { ", whose clock is session time" } else { "" };
    match row.film {
        Some(film) => {
            let names: Vec<String> = loaded.flight.films[film]
                .files
                .iter()
                .map(|f| f.file_name().unwrap_or_default().to_string_lossy().into_owned())
                .collect();
            format!("{} ({}) on {}{part}{session}", loaded.flight.films[film].name, names.join(" + "), log.name)
        }
        None => format!("{} on {}{part}", logs[loaded.reference()].name, log.name),
    }
}

/// Offset, rate and uncertainty in one line.
pub(super) fn summary(fit: &ClockFit, span: (f64, f64)) -> String {
    let pivot = format_film_time(FilmTime(fit.pivot_s));
    format!(
        "offset {:+.3} s, rate {:.7} ({:+.1} +- {:.1} ppm), sigma {:.3} s at {pivot}, {:.3} s at worst",
        fit.offset_s(),
        fit.rate,
        (fit.rate - 1.0) * 1e6,
        fit.cov[1][1].sqrt() * 1e6,
        fit.cov[0][0].sqrt(),
        fit.sigma_within(span.0, span.1)
    )
}

/// That two clocks are not joined, and what the film is joined to in their place.
pub(super) fn apart(loaded: &Loaded, row: &Row) -> String {
    let logs = loaded.session.logs();
    let joined = row.film.into_iter().flat_map(|film| {
        let on = move |log: &usize| loaded.joined.network.fit(ClockId::Film(film), ClockId::Log(*log)).is_some();
        (0..logs.len()).filter(on).map(|log| logs[log].name.as_str())
    });
    let joined: Vec<&str> = joined.collect();
    match &joined[..] {
        [] => "nothing joins these clocks".to_owned(),
        others => {
            let (others, log) = (others.join(", "), &logs[row.log].name);
            format!(
                "nothing joins these clocks: the film is joined to {others}, and what is missing is a mark of {others} and {log}"
            )
        }
    }
}

fn table(loaded: &Loaded, rows: &[Row]) -> String {
    let mut text = String::new();
    for row in rows {
        let _ = writeln!(text, "{}", heading(loaded, row));
        let Some(fit) = &row.fit else {
            let _ = writeln!(text, "  {}\n", apart(loaded, row));
            continue;
        };
        let _ = writeln!(text, "  {}", summary(fit, row.span));
        for e in &fit.evidence {
            let word = if e.used { "used" } else { "not used" };
            let _ = writeln!(
                text,
                "  {word:8}  {:9}  {:+11.3} s +- {:.3} s  {}",
                e.kind.word(),
                e.offset_s,
                e.sigma_s,
                e.why
            );
        }
        text.push('\n');
    }
    for laid in &loaded.laid {
        if let Err(why) = &laid.found {
            let _ = writeln!(text, "{}: not matched, {why}", laid.names(loaded.session.logs()));
        }
    }
    if rows.is_empty() {
        text += "one clock alone: there is nothing to align\n";
    }
    text
}
