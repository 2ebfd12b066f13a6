//! `jumpseat readings`: every channel on the session's axis.

use super::check::{all_faults, show};
use super::load::{Compute, Loaded, load};
use super::{Failure, Report, owners_channels};
use crate::finding::Severity;
use crate::keyfile::Fault;
use crate::output::Pending;
use crate::session::ChannelId;
use crate::signal::{Cursor, Samples};
use crate::time::SessionTime;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;

/// Arguments of `readings`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// The flight file
    #[arg(value_name = "FLIGHT")]
    flight: PathBuf,
    /// The CSV file to write; - for standard output
    #[arg(short, long, value_name = "CSV")]
    output: PathBuf,
    /// Time between two rows, in seconds (1s, 0.1s)
    #[arg(long, default_value = "1s", value_name = "SECONDS", value_parser = seconds)]
    every: f64,
    /// Only these channels, separated by commas
    #[arg(long, value_delimiter = ',', value_name = "NAMES")]
    channels: Vec<String>,
    /// Replace an output that exists
    #[arg(long)]
    overwrite: bool,
}

fn seconds(text: &str) -> Result<f64, String> {
    let number = text.strip_suffix('s').unwrap_or(text).parse::<f64>();
    match number {
        Ok(step) if step.is_finite() && step >= 0.001 => Ok(step),
        _ => Err("expected seconds from 0.001 on, for example 0.1s".into()),
    }
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let loaded = load(&arguments.flight, Compute::All).map_err(|fault| Failure::input(fault.message))?;
    // A panel or a film with faults is no reason to keep the readings back; a log is.
    let stands =
        |f: &Fault| matches!(f.code, "log_not_read" | "log_not_joined" | "not_toml") || f.key.starts_with("clock.");
    let faults: Vec<_> =
        all_faults(&loaded).into_iter().filter(|f| f.severity == Severity::Error && stands(f)).collect();
    if !faults.is_empty() {
        show(Some(&loaded), &faults, report);
        return Err(Failure::input(format!("{}: the logs cannot be joined", arguments.flight.display())));
    }
    for log in loaded.session.logs() {
        report.findings(&log.recording.file, &log.recording.findings);
    }
    for same in loaded.session.same() {
        report.say(&owners_channels::same_quantity(&loaded.session, &same));
    }
    let remarks = loaded.session.remarks().iter().map(|remark| &remark.message);
    for sentence in remarks.chain(loaded.session.figures()) {
        report.say(sentence);
    }
    let columns = columns(&loaded, &arguments.channels)?;
    let failed = |e: io::Error| Failure::work(format!("{}: writing failed: {e}", arguments.output.display()));
    if arguments.output.as_os_str() == "-" {
        let mut out = BufWriter::new(io::stdout().lock());
        return match write(&mut out, &loaded, &columns, arguments.every).and_then(|()| out.flush()) {
            // The reader has seen enough.
            Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(()),
            other => other.map_err(failed),
        };
    }
    let mut inputs: Vec<PathBuf> = loaded.flight.logs.iter().map(|l| l.file.clone()).collect();
    inputs.push(arguments.flight.clone());
    inputs.extend(loaded.flight.panel.iter().map(|p| p.0.clone()));
    inputs.extend(loaded.flight.films.iter().map(|f| f.file.clone()));
    let pending = Pending::create(&arguments.output, arguments.overwrite, &inputs).map_err(Failure::from_output)?;
    let mut out = BufWriter::new(pending.file());
    write(&mut out, &loaded, &columns, arguments.every).and_then(|()| out.flush()).map_err(failed)?;
    drop(out);
    pending.finish().map_err(Failure::from_output)?;
    report.say(&format!("wrote {}", arguments.output.display()));
    Ok(())
}

/// The channels to write, with their full names.
fn columns(loaded: &Loaded, wanted: &[String]) -> Result<Vec<(ChannelId, String)>, Failure> {
    let all = loaded.session.channels().map(|(id, name, channel)| {
        let unit = channel.unit.as_ref().map(|u| format!(" [{u}]")).unwrap_or_default();
        (id, name, unit)
    });
    let all: Vec<(ChannelId, String, String)> = all.collect();
    if wanted.is_empty() {
        return Ok(all.into_iter().map(|(id, name, unit)| (id, name + &unit)).collect());
    }
    let find = |name: &String| {
        let id = loaded.session.find(name);
        let found = all.iter().find(|(i, ..)| Some(*i) == id);
        found.map(|(id, name, unit)| (*id, format!("{name}{unit}"))).ok_or_else(|| {
            let names: Vec<&str> = all.iter().map(|(_, name, _)| name.as_str()).collect();
            Failure::input(format!("no log has the channel {name}; there are {}", names.join(", ")))
        })
    };
    wanted.iter().map(find).collect()
}

fn write(out: &mut impl Write, loaded: &Loaded, columns: &[(ChannelId, String)], every: f64) -> io::Result<()> {
    let session = &loaded.session;
    let film = loaded.film_fit(None);
    let mut table = csv::Writer::from_writer(out);
    table.write_record(["session_s", "utc", "film_s"].into_iter().map(String::from).chain(columns.iter().flat_map(
        |(_, name)| {
            let bare = name.split(" [").next().unwrap_or_default();
            [name.clone(), format!("{bare}.state")]
        },
    )))?;
    let mut cursors = vec![Cursor::default(); columns.len()];
    let (first, last) = session.span();
    // Rows stand at whole multiples of the step, so that two runs with different spans meet.
    let (from, to) = ((first.0 / every).ceil() as i64, (last.0 / every).floor() as i64);
    for row in from..=to {
        let time = SessionTime(row as f64 * every);
        let decimals = if every.fract() == 0.0 { 3 } else { 6 };
        table.write_field(format!("{:.decimals$}", time.0))?;
        table.write_field(session.utc(time).map(|t| format!("{t:.3}")).unwrap_or_default())?;
        table.write_field(film.as_ref().map(|f| format!("{:.3}", f.inverse(time.0))).unwrap_or_default())?;
        for ((id, _), cursor) in columns.iter().zip(&mut cursors) {
            if session.channel(*id).is_some_and(|channel| matches!(channel.samples, Samples::Texts(_))) {
                let (text, reading) = session.text(*id, time, cursor);
                table.write_field(text.unwrap_or_default())?;
                table.write_field(reading.state.word())?;
                continue;
            }
            let reading = session.reading(*id, time, cursor);
            table.write_field(reading.number().map(|v| format!("{v:.4}")).unwrap_or_default())?;
            table.write_field(reading.state.word())?;
        }
        table.write_record(None::<&[u8]>)?;
    }
    table.flush()
}
