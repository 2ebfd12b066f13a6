//! `jumpseat debrief`: what a flight's records say, as a page, a document and tables.

use super::check::{all_faults, show};
use super::hearing::Listen;
use super::load::{Compute, Loaded, load};
use super::page_films::page_films;
use super::{Failure, Report, align};
use crate::finding::{Finding, Severity};
use crate::judge;
use crate::keyfile::Fault;
use crate::output::Pending;
use crate::readout::CaptionOf;
use crate::report::{self, Caption, CaptionFormat, FileFinding, Film, Flight, SourceFile};
use serde_json::Value;
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::io::{self, Read, Write as _};
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
    /// Replace outputs that exist
    #[arg(long)]
    overwrite: bool,
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let to_stdout = arguments.output.as_ref().is_some_and(|o| o.as_os_str() == "-");
    if to_stdout && arguments.json {
        return Err(Failure::input("-o - and --json both want standard output; name a file for the page"));
    }
    let loaded =
        load(&arguments.flight, Compute::Named, Listen::WhereUnsure).map_err(|fault| Failure::input(fault.message))?;
    let faults = all_faults(&loaded);
    let errors: Vec<Fault> = faults.iter().filter(|f| f.severity == Severity::Error).cloned().collect();
    // A report beside which a log is missing, or a limit that could not be read, would look like a sound one.
    if !errors.is_empty() {
        show(Some(&loaded), &errors, report);
        let what = if errors.len() == 1 { "1 fault".to_owned() } else { format!("{} faults", errors.len()) };
        return Err(Failure::input(format!(
            "{}: {what} to mend before there can be a debrief; jumpseat check shows them all",
            arguments.flight.display()
        )));
    }
    let mut panel = loaded.panel.as_ref().map(|owners| owners.panel.clone()).unwrap_or_default();
    loaded.govern(&mut panel);
    let judged = judge::judge(&loaded.session, &panel);
    let flight = Flight {
        title: &loaded.flight.title,
        aircraft: &loaded.flight.aircraft,
        session: &loaded.session,
        panel: &panel,
        judged: &judged,
        films: films(&loaded),
        clocks: align::documents(&loaded),
        findings: findings(&loaded, &faults),
        files: files(&loaded),
        made: jiff::Timestamp::now(),
        located: !arguments.no_location,
    };
    let mut document = report::document(&flight);
    if let Some(folder) = &arguments.history {
        let history = report::history(&document, &loaded.session, &panel, earlier(folder)?);
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
    let mut inputs = loaded.inputs();
    inputs.extend(arguments.film.clone());
    if let Some(output) = &arguments.output {
        let films = page_films(&arguments.film, output, &flight.films, report)?;
        let page = report::page(&flight, &document, &films).map_err(Failure::work)?;
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
        write(file, captions(file, &loaded, &flight)?.as_bytes(), arguments.overwrite, &inputs, report)?;
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

fn films(loaded: &Loaded) -> Vec<Film> {
    let films = loaded.flight.films.iter().enumerate();
    let film = |(i, entry): (usize, &crate::flight::FilmEntry)| Film {
        name: entry.name.clone(),
        files: entry.files.clone(),
        fit: loaded.film_fits.get(i).cloned().flatten(),
        duration_s: loaded.film_duration_s(i),
    };
    films.map(film).collect()
}

/// What readers and checks found, files in the order in which they were read.
fn findings(loaded: &Loaded, faults: &[Fault]) -> Vec<FileFinding> {
    let of_fault = |fault: &Fault| {
        let message =
            if fault.cure.is_empty() { fault.message.clone() } else { format!("{}; {}", fault.message, fault.cure) };
        let mut finding = Finding::new(fault.severity, fault.code, message);
        finding.row = Some(fault.line as u64);
        FileFinding { file: fault.file.clone(), finding }
    };
    let mut found: Vec<FileFinding> = faults.iter().map(of_fault).collect();
    for log in loaded.session.logs() {
        let file = &log.recording.file;
        found.extend(log.recording.findings.iter().map(|f| FileFinding { file: file.clone(), finding: f.clone() }));
    }
    let remarks = loaded.session.remarks().iter();
    found.extend(remarks.map(|f| FileFinding { file: loaded.flight.document.file.clone(), finding: f.clone() }));
    found
}

/// Every file that was read, with its fingerprint.
fn files(loaded: &Loaded) -> Vec<SourceFile> {
    let flight = &loaded.flight;
    let named = [(flight.document.file.as_path(), "flight")].into_iter();
    let named = named.chain(flight.panel.iter().map(|p| (p.0.as_path(), "panel")));
    let named = named.chain(flight.logs.iter().map(|l| (l.file.as_path(), "log")));
    let named = named.chain(flight.films.iter().flat_map(|f| f.files.iter().map(|f| (f.as_path(), "film"))));
    let look = |(file, role): (&Path, &'static str)| {
        // A film that cannot be read again is a film all the same.
        let (bytes, sha256) = fingerprint(file).map_or((None, None), |(bytes, hash)| (Some(bytes), Some(hash)));
        SourceFile { file: file.display().to_string(), bytes, sha256, role }
    };
    named.map(look).collect()
}

/// Length and SHA-256 of a file.
fn fingerprint(file: &Path) -> io::Result<(u64, String)> {
    let mut from = std::fs::File::open(file)?;
    let (mut hash, mut buffer, mut length) = (Sha256::new(), vec![0; 1 << 18], 0);
    loop {
        match from.read(&mut buffer) {
            Ok(0) => break,
            Ok(read) => {
                hash.update(&buffer[..read]);
                length += read as u64;
            }
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
    }
    let digits = hash.finalize().iter().fold(String::new(), |mut text, byte| {
        // A string takes whatever is written to it.
        let _ = write!(text, "{byte:02x}");
        text
    });
    Ok((length, digits))
}
