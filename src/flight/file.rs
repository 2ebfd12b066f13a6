//! Reading `flight.toml`.

use super::conditions::{self, Conditions};
use super::formulae::{self, FormulaEntry};
use super::marks::{self, ClockEntry, KEYS};
use super::said::{self, NoteEntry, PhaseEntry};
use super::{calibration, table};
use crate::keyfile::{Document, Fault, Place, Section};
use crate::recorder::CsvOptions;
use crate::session::{Calibration, DERIVED};
use std::collections::HashSet;
use std::path::{Path, PathBuf};

/// A film of the flight.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmEntry {
    /// Its name in marks: `film`, and for the second `film2`, unless the owner gives another.
    pub name: String,
    /// The clip, or the clips of one recording in their order; relative paths are joined to the flight file's folder.
    pub files: Vec<PathBuf>,
    /// How far the camera's clock is ahead of UTC, if the owner says so.
    pub utc_offset: Option<jiff::tz::Offset>,
    /// Whether its stamps tell of the recording's end, if the owner says so.
    pub stamped_at_end: Option<bool>,
    /// Where its name stands.
    pub place: Place,
}

/// A log of the flight.
#[derive(Debug, Clone, PartialEq)]
pub struct LogEntry {
    /// Its name, in front of its channels' names.
    pub name: String,
    /// The name of the log of which it is one of several parts: that of its table. A part's own name is `LOG-N`.
    pub part_of: Option<String>,
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
    /// What it says of the clocks.
    pub clock: ClockEntry,
    /// The owner's notes on the first film.
    pub notes: Vec<NoteEntry>,
    /// Phases in place of the rules'.
    pub phases: Vec<PhaseEntry>,
    /// What is wrong, in the order of the lines.
    pub faults: Vec<Fault>,
}

impl LogEntry {
    /// The name of its table: its own, or that of the log of which it is a part.
    pub fn table(&self) -> &str {
        self.part_of.as_deref().unwrap_or(&self.name)
    }
}

impl FlightFile {
    /// Index of the log whose clock is the session's: the one that says so, else the first; of a log in parts the first one listed.
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
    let Read { title, aircraft, panel, films, logs, prefer, formulae, conditions, clock, notes, phases } = read;
    FlightFile {
        document,
        title,
        aircraft,
        panel,
        films,
        logs,
        prefer,
        formulae,
        conditions,
        clock,
        notes,
        phases,
        faults,
    }
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
    clock: ClockEntry,
    notes: Vec<NoteEntry>,
    phases: Vec<PhaseEntry>,
}

fn flight(mut top: Section<'_>, folder: &Path, text: &str) -> Read {
    let mut read = Read {
        title: top.text("title").map(|t| t.0).unwrap_or_default(),
        aircraft: top.text("aircraft").map(|t| t.0).unwrap_or_default(),
        panel: top.text("panel").map(|(file, place)| (folder.join(file), place)),
        prefer: top.texts("prefer").unwrap_or_default(),
        ..Read::default()
    };
    let mut names = HashSet::from([DERIVED.to_owned()]);
    names.extend(KEYS.map(str::to_owned));
    for film in top.sections("film") {
        let usual = if read.films.is_empty() { "film".to_owned() } else { format!("film{}", read.films.len() + 1) };
        read.films.extend(film_entry(film, folder, usual, &mut names));
    }
    names.insert("film".to_owned());
    let mut tables = top.sections("log");
    if tables.is_empty() && !top.has("log") {
        let message = "the file lacks `log`: at least one table with a log's name and file";
        top.fault(0..0, "log", "missing_key", message, "add a table [[log]]");
    }
    let mut all_sound = true;
    for log in tables.drain(..) {
        let entries = log_entry(log, folder, &mut names);
        all_sound &= !entries.is_empty();
        read.logs.extend(entries);
    }
    let mut references = read.logs.iter().filter(|l| l.is_reference);
    let first = references.next();
    if let Some((first, second)) =
        first.and_then(|first| Some((first, references.find(|l| l.table() != first.table())?)))
    {
        let message = format!("the log `{}` is a second reference beside `{}`", second.table(), first.table());
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
    if let Some(clock) = top.section("clock") {
        read.clock = marks::read(clock, &read.films, &read.logs, all_sound);
    }
    read.notes = said::notes(top.sections("note"));
    read.phases = said::phases(top.sections("phase"));
    top.end();
    read
}

fn film_entry(mut film: Section<'_>, folder: &Path, usual: String, names: &mut HashSet<String>) -> Option<FilmEntry> {
    let files = film.texts("file");
    if files.as_ref().is_none_or(Vec::is_empty) {
        film.missing("file", "the clip's name");
    }
    let name = match film.text("name") {
        Some((name, place)) => plain_name(&mut film, name, place, names),
        None => Some(usual).filter(|name| names.insert(name.clone())),
    };
    let utc_offset = film.utc_offset("utc_offset");
    let stamped_at_end = film.word("stamp", &[("start", false), ("end", true)]).map(|w| w.0);
    film.end();
    let files = files.filter(|files| !files.is_empty())?;
    let place = files[0].1.start..files[files.len() - 1].1.end;
    let files = files.into_iter().map(|(file, _)| folder.join(file)).collect();
    Some(FilmEntry { name: name?, files, utc_offset, stamped_at_end, place })
}

/// A name that can stand in front of a channel, and that nothing else has.
fn plain_name(section: &mut Section<'_>, name: String, place: Place, names: &mut HashSet<String>) -> Option<String> {
    let plain = !name.is_empty() && name.chars().all(|c| c.is_alphanumeric() || c == '_' || c == '-');
    if !plain {
        let message = format!("the name \"{name}\" is not made of letters, digits, _ and - alone");
        section.fault(place, "name", "bad_name", message, "it stands in front of its channels: keep it plain");
        return None;
    }
    if !names.insert(name.clone()) {
        let message = format!("the name \"{name}\" is taken already");
        let cure = "give the log another name (`film` is the film's, `calc` stands before computed channels)";
        section.fault(place, "name", "name_twice", message, cure);
        return None;
    }
    Some(name)
}

/// A log's table as one log, or as one for each part that `power_up` lists, or for each file.
fn log_entry(mut log: Section<'_>, folder: &Path, names: &mut HashSet<String>) -> Vec<LogEntry> {
    let name = log.text("name");
    let files = log.texts("file");
    if files.as_ref().is_none_or(Vec::is_empty) {
        log.missing("file", "the log's file");
    }
    let files = files.unwrap_or_default();
    let name = match name {
        Some((name, place)) => plain_name(&mut log, name, place, names),
        None => {
            log.missing("name", "a short name, in front of its channels: name = \"engine\"");
            None
        }
    };
    let is_reference = log.flag("reference").unwrap_or(false);
    let listed = table::listed_parts(&mut log);
    let csv = table::read(&mut log);
    let calibrations = calibration::read(&mut log);
    let table_keys = table::table_keys(&log);
    let of_file = |name: &String, (file, place): &(String, Place)| LogEntry {
        name: name.clone(),
        part_of: None,
        file: folder.join(file),
        place: place.clone(),
        is_reference,
        csv: csv.clone(),
        calibrations: calibrations.clone(),
        table_keys: table_keys.clone(),
    };
    let mut entries: Vec<LogEntry> =
        name.iter().flat_map(|name| files.iter().map(|file| of_file(name, file))).collect();
    if let (true, Some(place)) = (files.len() > 1, log.place_of("power_up")) {
        let message = "`power_up` stands beside several files, each of which is a part already".to_owned();
        log.fault(place, "power_up", "parts_twice", message, "name one file, or leave power_up out");
    } else if files.len() > 1 {
        entries = parts(&mut log, (1..).zip(entries), names);
    } else if let (Some(listed), Some(whole)) = (listed, entries.first().cloned()) {
        let part = |n: usize| {
            let mut part = whole.clone();
            part.csv.clock.power_up = Some(n);
            (n, part)
        };
        entries = parts(&mut log, listed.into_iter().map(part), names);
    }
    log.end();
    entries
}

/// Numbered parts of a log, each as a log with a name and a clock of its own.
fn parts(
    log: &mut Section<'_>,
    numbered: impl Iterator<Item = (usize, LogEntry)>,
    names: &mut HashSet<String>,
) -> Vec<LogEntry> {
    let named = numbered.filter_map(|(n, part)| {
        let name = plain_name(log, format!("{}-{n}", part.name), part.place.clone(), names)?;
        Some(LogEntry { name, part_of: Some(part.name.clone()), ..part })
    });
    named.collect()
}
