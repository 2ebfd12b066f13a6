//! `jumpseat debrief`: what a flight's records say, as a page, a document and tables.

use super::debrief_flight::DebriefFlight;
use super::load::Loaded;
use super::page_films::page_films;
use super::{Failure, Report};
use crate::output::Pending;
use crate::readout::CaptionOf;
use crate::report::{self, Caption, CaptionFormat, Flight};
use serde_json::Value;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// Arguments of `debrief`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// The flight file
    #[arg(value_name = "FLIGHT")]
    flight: PathBuf,
    /// The page to write; - for standard output
    #[arg(short, long, value_name = "PAGE.html", required_unless_present_any = ["json", "csv", "captions"])]
    output: Option<PathBuf>,
    /// An annotated film to put beside the page, as `render` or `excerpts` wrote it: whole, or a part; may be repeated
    #[arg(long, value_name = "FILM", requires = "output", action = clap::ArgAction::Append)]
    film: Vec<PathBuf>,
    /// One JSON document on standard output
    #[arg(long)]
    json: bool,
    /// Write the tables into this folder: events, exceedances, phases, figures, data quality
    #[arg(long, value_name = "DIR")]
    csv: Option<PathBuf>,
    /// Write captions of the first film to this file, .vtt or .srt: what happened, and the notes of the flight file
    #[arg(long, value_name = "FILE")]
    captions: Option<PathBuf>,
    /// Leave out where it was: positions, the ground track and what tells of them
    #[arg(long)]
    no_location: bool,
    /// Lay the flight beside earlier ones: a folder with the documents that `debrief --json` wrote of them
    #[arg(long, value_name = "DIR")]
    history: Option<PathBuf>,
    /// Lay phases of this flight over the same phases of another: its flight file. Without a panel of its own this flight's judges it
    #[arg(long, value_name = "OTHER")]
    compare: Option<PathBuf>,
    /// Replace outputs that exist
    #[arg(long)]
    overwrite: bool,
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let to_stdout = arguments.output.as_ref().is_some_and(|o| o.as_os_str() == "-");
    if to_stdout && arguments.json {
        return Err(Failure::input("-o - and --json both want standard output; name a file for the page"));
    }
    let read = DebriefFlight::read(&arguments.flight, None, report)?;
    let loaded = &read.loaded;
    let flight = read.flight(!arguments.no_location);
    let mut document = report::document(&flight);
    if let Some(folder) = &arguments.history {
        let history = report::history(&document, &loaded.session, &read.panel, earlier(folder)?);
        let flights = history.flights.len();
        report.say(&format!(
            "{}: {flights} earlier flights; {} documents left out",
            folder.display(),
            history.left_out.len()
        ));
        for why in &history.left_out {
            report.say(&format!("left out: {why}"));
        }
        document.history = Some(history);
    }
    let owners = loaded.panel.as_ref().map(|owners| &owners.panel);
    let other = arguments.compare.as_ref().map(|file| DebriefFlight::read(file, owners, report)).transpose()?;
    let other_flight = other.as_ref().map(|other| other.flight(!arguments.no_location));
    if let (Some(file), Some(other), Some(flown)) = (&arguments.compare, &other, &other_flight) {
        let beside = (flown, &report::document(flown));
        let own_panel = other.loaded.panel.is_some();
        let comparison = report::comparison((&flight, &document), beside, file.display().to_string(), own_panel);
        report.say(&match &comparison.nothing {
            Some(why) => format!("{}: {why}", file.display()),
            None => format!("{}: {} phases laid over this flight's", file.display(), comparison.pairs.len()),
        });
        document.comparison = Some(comparison);
    }
    let mut inputs = loaded.inputs();
    inputs.extend(arguments.film.clone());
    inputs.extend(other.iter().flat_map(|other| other.loaded.inputs()));
    if let Some(output) = &arguments.output {
        let films = page_films(&arguments.film, output, &flight.films, report)?;
        let page = report::page(&flight, &document, &films, other_flight.as_ref()).map_err(Failure::work)?;
        if to_stdout {
            match io::stdout().lock().write_all(page.as_bytes()) {
                Err(e) if e.kind() != io::ErrorKind::BrokenPipe => {
                    return Err(Failure::work(format!("standard output: {e}")));
                }
                _ => {}
            }
        } else {
            write(output, page.as_bytes(), arguments.overwrite, &inputs, report)?;
        }
    }
    if let Some(folder) = &arguments.csv {
        std::fs::create_dir_all(folder).map_err(|e| {
            Failure::input(format!("{}: cannot be made: {e}; choose a folder that may be written", folder.display()))
        })?;
        for table in report::tables(&document).map_err(Failure::work)? {
            write(&folder.join(table.file), &table.text, arguments.overwrite, &inputs, report)?;
        }
    }
    if let Some(file) = &arguments.captions {
        write(file, captions(file, loaded, &flight)?.as_bytes(), arguments.overwrite, &inputs, report)?;
    }
    if arguments.json {
        report.json(&serde_json::to_value(&document).map_err(Failure::work)?);
    }
    Ok(())
}

fn write(file: &Path, bytes: &[u8], overwrite: bool, inputs: &[PathBuf], report: &Report) -> Result<(), Failure> {
    let pending = Pending::create(file, overwrite, inputs).map_err(Failure::from_output)?;
    let failed = |e: io::Error| Failure::work(format!("{}: writing failed: {e}", file.display()));
    pending.file().write_all(bytes).map_err(failed)?;
    pending.finish().map_err(Failure::from_output)?;
    report.say(&format!("wrote {}", file.display()));
    Ok(())
}

/// The documents of a folder, by their names; what is no JSON is told as what it is.
fn earlier(folder: &Path) -> Result<Vec<(String, Value)>, Failure> {
    let refused =
        |e: io::Error| Failure::input(format!("{}: cannot be read: {e}; name a folder of documents", folder.display()));
    let mut files: Vec<PathBuf> = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(refused)? {
        let file = entry.map_err(refused)?.path();
        if file.extension().is_some_and(|ending| ending == "json") {
            files.push(file);
        }
    }
    files.sort();
    let read = |file: PathBuf| {
        let value = std::fs::read(&file).ok().and_then(|bytes| serde_json::from_slice(&bytes).ok());
        (file.display().to_string(), value.unwrap_or(Value::Null))
    };
    Ok(files.into_iter().map(read).collect())
}

/// The captions of the first film.
fn captions(file: &Path, loaded: &Loaded, flight: &Flight<'_>) -> Result<String, Failure> {
    let refused = |what: &str| Failure::input(format!("{}: {what}", file.display()));
    let format = match file.extension().and_then(|ending| ending.to_str()) {
        Some("vtt") => CaptionFormat::Vtt,
        Some("srt") => CaptionFormat::Srt,
        _ => return Err(refused("captions are written as .vtt (WebVTT) or .srt; give the file one of these endings")),
    };
    let film =
        flight.films.first().ok_or_else(|| refused("captions belong to a film, and the flight file names none"))?;
    let fit = film
        .fit
        .as_ref()
        .ok_or_else(|| refused("nothing joins the film to the logs; jumpseat align says what is missing"))?;
    let end_s = film.duration_s.unwrap_or(f64::INFINITY);
    let moments = report::moments(flight.session, flight.panel, flight.judged, fit, end_s);
    let notes = loaded.flight.notes.iter().map(|note| Caption {
        from_s: note.film_s,
        to_s: note.film_s + note.seconds,
        of: CaptionOf::Note,
        text: note.text.clone(),
    });
    Ok(report::caption_file(&report::captions(&moments, notes, end_s), format))
}
