//! `jumpseat readings`: every channel on the session's axis.

use super::check::{all_faults, show};
use super::hearing::Listen;
use super::load::{Compute, Loaded};
use super::which_flight::FlightArguments;
use super::{Failure, Report, clocks, owners_channels};
use crate::clock::ClockFit;
use crate::finding::Severity;
use crate::keyfile::Fault;
use crate::meaning::Meaning;
use crate::output::Pending;
use crate::session::ChannelId;
use crate::signal::{Channel, Cursor, Samples};
use crate::time::SessionTime;
use std::io::{self, BufWriter, Write};
use std::path::PathBuf;

/// Arguments of `readings`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    #[command(flatten)]
    flight: FlightArguments,
    /// The CSV file to write; - for standard output
    #[arg(short, long, value_name = "CSV")]
    output: PathBuf,
    /// Time between two rows, in seconds (1s, 0.1s)
    #[arg(long, default_value = "1s", value_name = "SECONDS", value_parser = seconds)]
    every: f64,
    /// One row for each frame of the film, in place of --every
    #[arg(long, conflicts_with = "every")]
    at_frames: bool,
    /// Only these channels, separated by commas
    #[arg(long, value_delimiter = ',', value_name = "NAMES")]
    channels: Vec<String>,
    /// Replace an output that exists
    #[arg(long)]
    overwrite: bool,
}

/// Digits after the point of what is written.
const PLACES: usize = 4;
const PLACES_OF_POSITIONS: usize = 7;

pub(super) fn seconds(text: &str) -> Result<f64, String> {
    let number = text.strip_suffix('s').unwrap_or(text).parse::<f64>();
    match number {
        Ok(step) if step.is_finite() && step >= 0.001 => Ok(step),
        _ => Err("expected seconds from 0.001 on, for example 0.1s".into()),
    }
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let loaded = arguments.flight.load(Compute::All, Listen::WhereUnsure).map_err(|f| Failure::input(f.message))?;
    // A panel or a film with faults is no reason to keep the readings back; a log is.
    let stands =
        |f: &Fault| matches!(f.code, "log_not_read" | "log_not_joined" | "not_toml") || f.key.starts_with("clock.");
    let faults: Vec<_> =
        all_faults(&loaded).into_iter().filter(|f| f.severity == Severity::Error && stands(f)).collect();
    if !faults.is_empty() {
        show(Some(&loaded), &faults, report);
        return Err(Failure::input(format!("{}: the logs cannot be joined", arguments.flight.name())));
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
    let moments = moments(&loaded, arguments)?;
    if let Some(fit) = loaded.film_fits.first().and_then(Option::as_ref) {
        report.say(&clocks::clock_line(fit));
    }
    let failed = |e: io::Error| Failure::work(format!("{}: writing failed: {e}", arguments.output.display()));
    if arguments.output.as_os_str() == "-" {
        let mut out = BufWriter::new(io::stdout().lock());
        return match write(&mut out, &loaded, &columns, &moments).map_err(of_csv).and_then(|()| out.flush()) {
            // The reader has seen enough.
            Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Ok(()),
            other => other.map_err(failed),
        };
    }
    let inputs = loaded.inputs();
    let pending = Pending::create(&arguments.output, arguments.overwrite, &inputs).map_err(Failure::from_output)?;
    let mut out = BufWriter::new(pending.file());
    write(&mut out, &loaded, &columns, &moments).map_err(of_csv).and_then(|()| out.flush()).map_err(failed)?;
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
        // The channel of one part is not among all, but may be named.
        let named = loaded.session.find(name).and_then(|id| {
            let unit = loaded.session.channel(id)?.unit.as_ref().map(|u| format!(" [{u}]")).unwrap_or_default();
            Some((id, loaded.session.name(id)? + &unit))
        });
        named.ok_or_else(|| {
            let names: Vec<&str> = all.iter().map(|(_, name, _)| name.as_str()).collect();
            Failure::input(format!("no log has the channel {name}; there are {}", names.join(", ")))
        })
    };
    wanted.iter().map(find).collect()
}

/// The moments that get a row.
struct Moments {
    /// Session time in seconds, and film time where it is known.
    rows: Vec<(f64, Option<f64>)>,
    /// Digits of the session's time.
    decimals: usize,
    /// Digits of the film's.
    film_decimals: usize,
}

fn moments(loaded: &Loaded, arguments: &Arguments) -> Result<Moments, Failure> {
    let film = film(loaded);
    if arguments.at_frames {
        return at_frames(loaded, film.as_ref(), arguments);
    }
    let every = arguments.every;
    let (first, last) = loaded.session.span();
    // Rows stand at whole multiples of the step, so that two runs with different spans meet.
    let (from, to) = ((first.0 / every).ceil() as i64, (last.0 / every).floor() as i64);
    let fit = film.map(|film| film.fit);
    let row = |n: i64| {
        // To the nanosecond: a product's last place could lie before the record of that very moment.
        let time = (n as f64 * every * 1e9).round() / 1e9;
        (time, fit.as_ref().map(|fit| fit.inverse(time)))
    };
    Ok(Moments {
        rows: (from..=to).map(row).collect(),
        decimals: if every.fract() == 0.0 { 3 } else { 6 },
        film_decimals: 3,
    })
}

/// The flight's film, as far as rows need it.
struct Film {
    fit: ClockFit,
    #[cfg(feature = "codec")]
    clip: crate::video::Clip,
}

/// The film and its place on the session's axis; none where the flight has none, or nothing joins it.
#[cfg(feature = "codec")]
fn film(loaded: &Loaded) -> Option<Film> {
    // A film that cannot be opened is no reason to keep the readings back.
    let film =
        loaded.films.first().and_then(|film| film.as_ref().ok()).zip(loaded.film_fits.first().cloned().flatten());
    film.map(|(clip, fit)| Film { fit, clip: clip.clone() })
}

#[cfg(not(feature = "codec"))]
fn film(loaded: &Loaded) -> Option<Film> {
    loaded.film_fits.first().cloned().flatten().map(|fit| Film { fit })
}

#[cfg(feature = "codec")]
fn at_frames(loaded: &Loaded, film: Option<&Film>, arguments: &Arguments) -> Result<Moments, Failure> {
    let Some(film) = film else {
        let flight = arguments.flight.name();
        return Err(Failure::input(match loaded.flight.films.first() {
            None => format!("{flight}: --at-frames needs a film, and names no [[film]]; add one, or use --every"),
            Some(entry) => format!(
                "{}: --at-frames needs a film that can be opened and is joined to the logs; jumpseat check {flight} says what is \
                 missing, or use --every",
                entry.files[0].display()
            ),
        }));
    };
    let times = crate::video::frame_times(&film.clip)?;
    let rows = times.into_iter().map(|film_s| (film.fit.at(film_s), Some(film_s))).collect();
    Ok(Moments { rows, decimals: 6, film_decimals: 6 })
}

#[cfg(not(feature = "codec"))]
fn at_frames(_: &Loaded, _: Option<&Film>, arguments: &Arguments) -> Result<Moments, Failure> {
    let flight = arguments.flight.name();
    Err(Failure::input(format!(
        "{flight}: --at-frames needs the film, but this program was built without the codec feature; use --every"
    )))
}

fn write(out: &mut impl Write, loaded: &Loaded, columns: &[(ChannelId, String)], moments: &Moments) -> csv::Result<()> {
    let session = &loaded.session;
    let mut table = csv::Writer::from_writer(out);
    table.write_record(["session_s", "utc", "film_s"].into_iter().map(String::from).chain(columns.iter().flat_map(
        |(_, name)| {
            let bare = name.split(" [").next().unwrap_or_default();
            [name.clone(), format!("{bare}.state")]
        },
    )))?;
    let mut cursors = vec![Cursor::default(); columns.len()];
    // Frames stand at ticks that milliseconds would blur.
    let (decimals, film_decimals) = (moments.decimals, moments.film_decimals);
    for &(session_s, film_s) in &moments.rows {
        let time = SessionTime(session_s);
        table.write_field(format!("{session_s:.decimals$}"))?;
        table.write_field(session.utc(time).map(|t| format!("{t:.3}")).unwrap_or_default())?;
        table.write_field(film_s.map(|f| format!("{f:.film_decimals$}")).unwrap_or_default())?;
        for ((id, _), cursor) in columns.iter().zip(&mut cursors) {
            if session.channel(*id).is_some_and(|channel| matches!(channel.samples, Samples::Texts(_))) {
                let (text, reading) = session.text(*id, time, cursor);
                table.write_field(text.unwrap_or_default())?;
                table.write_field(reading.state.word())?;
                continue;
            }
            let reading = session.reading(*id, time, cursor);
            let places = session.channel(*id).map_or(PLACES, places);
            table.write_field(reading.number().map(|v| format!("{v:.places$}")).unwrap_or_default())?;
            table.write_field(reading.state.word())?;
        }
        table.write_record(None::<&[u8]>)?;
    }
    Ok(table.flush()?)
}

/// Digits after the point: of a position a ten-millionth of a degree, which is a hundredth of a metre.
fn places(channel: &Channel) -> usize {
    let is_place = matches!(Meaning::of_name(&channel.name), Some(Meaning::Latitude | Meaning::Longitude));
    if is_place { PLACES_OF_POSITIONS } else { PLACES }
}

/// A table's error as the one of its file, so that a closed pipe is known as one.
fn of_csv(error: csv::Error) -> io::Error {
    match error.into_kind() {
        csv::ErrorKind::Io(error) => error,
        other => io::Error::other(format!("{other:?}")),
    }
}
