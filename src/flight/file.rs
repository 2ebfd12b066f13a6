//! Reading `flight.toml`.

use super::conditions::{self, Conditions};
use super::formulae::{self, FormulaEntry};
use super::{calibration, table};
use crate::keyfile::{Document, Fault, Place, Section};
use crate::recorder::CsvOptions;
use crate::session::{Calibration, DERIVED};
use crate::time::parse_film_time;
use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// A film of the flight.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmEntry {
    /// The clip; relative paths are joined to the flight file's folder.
    pub file: PathBuf,
    /// Where its name stands.
    pub place: Place,
}

/// A log of the flight.
#[derive(Debug, Clone, PartialEq)]
pub struct LogEntry {
    /// Its name, in front of its channels' names.
    pub name: String,
    /// The file.
    pub file: PathBuf,
    /// Where its name stands.
    pub place: Place,
    /// Whether its clock is the session's.
    pub is_reference: bool,
    /// What the owner says of its table, its dates and its units.
    pub csv: CsvOptions,
    /// What its sensors' numbers stand for, each with the place of the column's name.
    pub calibrations: Vec<(Calibration, Place)>,
    /// What of it only a table of separated cells can follow, and where it stands.
    pub table_keys: Vec<(&'static str, Place)>,
}

/// The same moment on several clocks.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkEntry {
    /// Film time in seconds.
    pub film_s: Option<f64>,
    /// One entry a log, in seconds since its first sample.
    pub logs_s: Vec<Option<f64>>,
    /// Where the mark stands.
    pub place: Place,
}

/// A flight file as read.
#[derive(Debug)]
pub struct FlightFile {
    /// The text, for carets.
    pub document: Document,
    /// The flight's title.
    pub title: String,
    /// The aircraft.
    pub aircraft: String,
    /// The panel file, and where its name stands.
    pub panel: Option<(PathBuf, Place)>,
    /// The films.
    pub films: Vec<FilmEntry>,
    /// The logs.
    pub logs: Vec<LogEntry>,
    /// Which channels or logs are preferred where several logs have one quantity, the most preferred first.
    pub prefer: Vec<(String, Place)>,
    /// Channels of the owner's own formulae.
    pub formulae: Vec<FormulaEntry>,
    /// The conditions.
    pub conditions: Conditions,
    /// The moments known on several clocks.
    pub marks: Vec<MarkEntry>,
    /// What is wrong, in the order of the lines.
    pub faults: Vec<Fault>,
}

impl FlightFile {
    /// Index of the log whose clock is the session's: the one that says so, else the first.
    pub fn reference(&self) -> usize {
        self.logs.iter().position(|l| l.is_reference).unwrap_or(0)
    }
}

/// Reads a flight file. The error is a file that cannot be opened.
pub fn open(file: &Path) -> Result<FlightFile, Box<Fault>> {
    Ok(read(Document::open(file)?))
}

/// Reads a flight from a text; its paths are relative to the folder of the document's file.
pub fn read(document: Document) -> FlightFile {
    let folder = document.file.parent().unwrap_or(Path::new("")).to_owned();
    let (read, faults) = document.read(|top| flight(top, &folder, &document.text));
    let Read { title, aircraft, panel, films, logs, prefer, formulae, conditions, marks } = read;
    FlightFile { document, title, aircraft, panel, films, logs, prefer, formulae, conditions, marks, faults }
}

#[derive(Default)]
struct Read {
    title: String,
    aircraft: String,
    panel: Option<(PathBuf, Place)>,
    films: Vec<FilmEntry>,
    logs: Vec<LogEntry>,
    prefer: Vec<(String, Place)>,
    formulae: Vec<FormulaEntry>,
    conditions: Conditions,
    marks: Vec<MarkEntry>,
}

fn flight(mut top: Section<'_>, folder: &Path, text: &str) -> Read {
    let mut read = Read {
        title: top.text("title").map(|t| t.0).unwrap_or_default(),
        aircraft: top.text("aircraft").map(|t| t.0).unwrap_or_default(),
        panel: top.text("panel").map(|(file, place)| (folder.join(file), place)),
        prefer: top.texts("prefer").unwrap_or_default(),
        ..Read::default()
    };
    for mut film in top.sections("film") {
        match film.text("file") {
            Some((file, place)) => read.films.push(FilmEntry { file: folder.join(file), place }),
            None => film.missing("file", "the clip's name"),
        }
        film.end();
    }
    let mut names = HashSet::from(["film".to_owned(), DERIVED.to_owned()]);
    let mut tables = top.sections("log");
    if tables.is_empty() && !top.has("log") {
        let message = "the file lacks `log`: at least one table with a log's name and file";
        top.fault(0..0, "log", "missing_key", message, "add a table [[log]]");
    }
    let named = tables.len();
    for log in tables.drain(..) {
        read.logs.extend(log_entry(log, folder, &mut names));
    }
    let all_sound = read.logs.len() == named;
    let mut references = read.logs.iter().filter(|l| l.is_reference);
    if let (Some(_), Some(second)) = (references.next(), references.next()) {
        let message = format!("the log `{}` is a second reference", second.name);
        top.fault(
            second.place.clone(),
            "reference",
            "two_references",
            message,
            "one log's clock is the session's: keep one",
        );
    }
    read.formulae = formulae::read(&mut top, text);
    if let Some(section) = top.section("conditions") {
        read.conditions = conditions::read(section);
    }
    if let Some(mut clock) = top.section("clock") {
        for mark in clock.sections("mark") {
            // Marks that name a log with a fault of its own would only repeat that fault.
            if all_sound {
                read.marks.extend(mark_entry(mark, &read.logs));
            }
        }
        clock.end();
    }
    top.end();
    read
}

fn log_entry(mut log: Section<'_>, folder: &Path, names: &mut HashSet<String>) -> Option<LogEntry> {
    let name = log.text("name");
    let file = log.text("file");
    if file.is_none() {
        log.missing("file", "the log's file");
    }
    let name = match name {
        Some((name, place)) => {
            let plain = !name.is_empty() && name.chars().all(|c| c.is_alphanumeric() || c == '_' || c == '-');
            if !plain {
                let message = format!("the name \"{name}\" is not made of letters, digits, _ and - alone");
                log.fault(place, "name", "bad_name", message, "it stands in front of its channels: keep it plain");
                None
            } else if !names.insert(name.clone()) {
                let message = format!("the name \"{name}\" is taken already");
                log.fault(
                    place,
                    "name",
                    "name_twice",
                    message,
                    "give the log another name (`film` is the film's, `calc` stands before computed channels)",
                );
                None
            } else {
                Some(name)
            }
        }
        None => {
            log.missing("name", "a short name, in front of its channels: name = \"engine\"");
            None
        }
    };
    let is_reference = log.flag("reference").unwrap_or(false);
    let csv = table::read(&mut log);
    let calibrations = calibration::read(&mut log);
    let table_keys = table::table_keys(&log);
    log.end();
    let (name, (file, place)) = (name?, file?);
    Some(LogEntry { name, file: folder.join(file), place, is_reference, csv, calibrations, table_keys })
}

fn mark_entry(mut mark: Section<'_>, logs: &[LogEntry]) -> Option<MarkEntry> {
    let place = mark.place();
    let film_s = mark.text("film").and_then(|(text, at)| match parse_film_time(&text) {
        Ok(time) => Some(time.0),
        Err(error) => {
            mark.fault(at, "film", "bad_film_time", error.to_string(), "write film = \"1:15.5\"");
            None
        }
    });
    let logs_s: Vec<Option<f64>> = logs.iter().map(|log| mark.named_number(&log.name)).collect();
    let known = usize::from(film_s.is_some()) + logs_s.iter().flatten().count();
    let clocks: Vec<&str> = std::iter::once("film").chain(logs.iter().map(|l| l.name.as_str())).collect();
    // A time that is there but cannot be read was reported already.
    let named = clocks.iter().filter(|clock| mark.has(clock)).count();
    if named < 2 {
        let message = format!("the mark names {named} of the clocks {}; it joins two or more", clocks.join(", "));
        mark.fault(place.clone(), "", "mark_joins_nothing", message, "give the same moment on another clock too");
    }
    mark.end();
    (known >= 2).then_some(MarkEntry { film_s, logs_s, place })
}
