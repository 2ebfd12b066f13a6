//! `jumpseat new`: a flight file and a panel file to go on with, from clips and logs.

use super::check::{all_faults, show};
use super::hearing::Listen;
use super::inputs::{DateArguments, look_at_log};
use super::load::{Compute, load};
use super::which_flight::log_name;
use super::{Failure, Report, new_flight, new_panel};
use crate::align;
use crate::clock::{Clocks, timestamps};
use crate::draw::{self, DrawError, Look};
use crate::finding::Severity;
use crate::output::Pending;
use crate::panel::{Arrangement, Density, Panel, recognised, slotted};
use crate::pixel::FrameShape;
use crate::readout::facts;
use crate::session::{Basis, Session, SessionLog, dated};
use crate::video::{self, Clip};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Names of the two files.
pub(super) const FLIGHT: &str = "flight.toml";
pub(super) const PANEL: &str = "panel.toml";

/// Arguments of `new`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// The folder for flight.toml and panel.toml; it is made if it is not there
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// The clip; may be repeated. Consecutive files of one recording become one film
    #[arg(long, value_name = "CLIP", required = true, num_args = 1..)]
    film: Vec<PathBuf>,
    /// A log; may be repeated
    #[arg(long, value_name = "LOG", required = true, num_args = 1..)]
    log: Vec<PathBuf>,
    /// The first log's time (seconds since its first sample) at the film's first frame
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    offset: Option<f64>,
    #[command(flatten)]
    dates: DateArguments,
}

/// What was found in the clips and logs, for both files.
pub(super) struct Found {
    pub title: String,
    /// The films, and how the flight file names the files of each.
    pub films: Vec<(Clip, Vec<String>)>,
    /// How the flight file names the logs, in the session's order.
    pub log_files: Vec<String>,
    pub session: Session,
    /// Index of the log whose clock is the session's.
    pub reference: usize,
    /// How the film was joined by dates; none where it was not.
    pub film_sigma_s: Option<f64>,
    pub offset: Option<f64>,
    /// Order of the dates, if it was said.
    pub date_order: Option<crate::recorder::DateOrder>,
    /// Whether any channel was recognised; else the panel holds plain dials of the first that move.
    pub any_recognised: bool,
    pub panel: Panel,
    /// Instruments that have no room on the film.
    pub no_room: Vec<String>,
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    if arguments.offset.is_some_and(|offset| offset.is_nan() || offset.abs() > 1e9) {
        return Err(Failure::input("--offset takes seconds, less than 1e9 of them"));
    }
    // All is read before the folder is touched.
    let films = films(&arguments.film, report)?;
    let mut logs: Vec<SessionLog> = Vec::new();
    for file in &arguments.log {
        let recording = look_at_log(file, &arguments.dates)?;
        report.findings(file, &recording.findings);
        let taken: Vec<String> = logs.iter().map(|log| log.name.clone()).collect();
        let name = log_name(file, &taken);
        logs.push(SessionLog { name, part_of: None, recording, fit: None });
    }
    let made_folder = !arguments.folder.exists();
    std::fs::create_dir_all(&arguments.folder).map_err(|e| {
        let folder = arguments.folder.display();
        Failure::input(format!("{folder}: cannot be made: {e}; choose a folder that may be written"))
    })?;
    let written = write(arguments, films, logs);
    if written.is_err() && made_folder {
        // It goes only if it is empty, as it was made.
        let _ = std::fs::remove_dir(&arguments.folder);
    }
    let flight = written?;
    report.say(&format!("wrote {} and {}", flight.display(), arguments.folder.join(PANEL).display()));
    tell_what_is_left(&flight, report)
}

/// The clips as films: those of one recording are one.
fn films(files: &[PathBuf], report: &Report) -> Result<Vec<(Clip, Vec<PathBuf>)>, Failure> {
    let mut recordings: Vec<Vec<Clip>> = Vec::new();
    for file in files {
        let clip = video::probe(file)?;
        report.findings(file, &clip.findings);
        match recordings.last_mut() {
            Some(clips) if clips.last().is_some_and(|last| video::follows(last, &clip)) => clips.push(clip),
            _ => recordings.push(vec![clip]),
        }
    }
    let joined = recordings.into_iter().map(|clips| {
        let files: Vec<PathBuf> = clips.into_iter().map(|clip| clip.file).collect();
        Ok((video::join(&files)?, files))
    });
    joined.collect()
}

/// Both files, or none.
fn write(arguments: &Arguments, films: Vec<(Clip, Vec<PathBuf>)>, logs: Vec<SessionLog>) -> Result<PathBuf, Failure> {
    let folder = &arguments.folder;
    let inputs: Vec<PathBuf> = arguments.film.iter().chain(&arguments.log).cloned().collect();
    let start = |name: &str| {
        Pending::create(&folder.join(name), false, &inputs).map_err(|error| match error {
            crate::output::OutputError::Exists { file } => Failure::input(format!(
                "{}: exists already and is never overwritten; choose another folder, or move it away",
                file.display()
            )),
            other => Failure::from_output(other),
        })
    };
    let (panel_file, flight_file) = (start(PANEL)?, start(FLIGHT)?);
    let named = |files: &[PathBuf]| files.iter().map(|file| relative(folder, file)).collect::<Result<Vec<_>, _>>();
    let films =
        films.into_iter().map(|(clip, files)| Ok((clip, named(&files)?))).collect::<Result<Vec<_>, Failure>>()?;
    let log_files = named(&arguments.log)?;
    let found = find(arguments, films, logs, log_files);
    let flight = folder.join(FLIGHT);
    for (pending, text) in [(&panel_file, new_panel::text(&found)), (&flight_file, new_flight::text(&found))] {
        let written = pending.file().write_all(text.as_bytes());
        written.map_err(|e| Failure::work(format!("{}: writing failed: {e}", folder.display())))?;
    }
    panel_file.finish().map_err(Failure::from_output)?;
    flight_file.finish().map_err(|error| {
        // A panel without its flight is half of the work.
        let _ = std::fs::remove_file(folder.join(PANEL));
        Failure::from_output(error)
    })?;
    Ok(flight)
}

fn find(
    arguments: &Arguments,
    films: Vec<(Clip, Vec<String>)>,
    mut logs: Vec<SessionLog>,
    log_files: Vec<String>,
) -> Found {
    let offset = arguments.offset;
    // An offset counts on the first log; without one, a log that knows UTC can be laid against the film's date.
    let knows_utc = |log: &SessionLog| log.recording.clock.first_utc.is_some();
    let reference = if offset.is_some() { 0 } else { logs.iter().position(knows_utc).unwrap_or(0) };
    let dates: Vec<_> = logs.iter().map(|log| dated(&log.recording)).collect();
    let clocks = Clocks { reference, loggers: (0..dates.len()).collect(), logs: dates, films: films.len() };
    let evidence = clocks.epoch().zip(clocks.utc_span()).map(|(epoch, span)| {
        let readings =
            |(i, (clip, _)): (usize, &(Clip, _))| timestamps::of_film(i, &align::stamps(clip), span, epoch).0;
        films.iter().enumerate().flat_map(readings).collect()
    });
    let joined = clocks.join(evidence.unwrap_or_default());
    for (log, fit) in logs.iter_mut().zip(joined.logs) {
        log.fit = fit;
    }
    let session = Session::join(logs, reference).derived(&Basis::default());
    let shape = films.first().map_or(FrameShape::plain(1920, 1080), |(clip, _)| clip.video.shape);
    let (width, height) = shape.shown_size();
    let (facts, arrangement) = (facts(&session), Arrangement::of(width, height, Density::House));
    let any_recognised = !recognised(&facts, arrangement).panel.is_empty();
    let mut panel = slotted(&facts, arrangement);
    let no_room = leave_out_what_has_no_room(&mut panel, shape);
    let folder = std::fs::canonicalize(&arguments.folder).unwrap_or_else(|_| arguments.folder.clone());
    let title = folder.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let film_sigma_s = joined.films.first().cloned().flatten().map(|fit| fit.sigma_at(crate::time::FilmTime(0.0)));
    let date_order = arguments.dates.order();
    Found {
        title,
        films,
        log_files,
        session,
        reference,
        film_sigma_s,
        offset,
        date_order,
        any_recognised,
        panel,
        no_room,
    }
}

/// Takes instruments off the panel until all that are left have room.
fn leave_out_what_has_no_room(panel: &mut Panel, shape: FrameShape) -> Vec<String> {
    let mut left_out = Vec::new();
    let name = |fault: &DrawError| match fault {
        DrawError::Overlap { second: name, .. }
        | DrawError::OutsideFrame { instrument: name, .. }
        | DrawError::SlotFull { instrument: name } => Some(name.clone()),
        _ => None,
    };
    while let Some(name) = draw::faults(panel, shape, Look::default()).iter().find_map(name) {
        let before = panel.instruments.len();
        panel.instruments.retain(|instrument| instrument.name != name);
        if panel.instruments.len() == before {
            break;
        }
        left_out.push(name);
    }
    left_out
}

/// A file as it is called from a folder, so that both can be moved together.
fn relative(folder: &Path, file: &Path) -> Result<String, Failure> {
    let failed = |e: std::io::Error| Failure::input(format!("{}: cannot be found: {e}", file.display()));
    let from = std::fs::canonicalize(folder).map_err(failed)?;
    let parent = match file.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let to = std::fs::canonicalize(parent).map_err(failed)?.join(file.file_name().unwrap_or_default());
    let shared = from.components().zip(to.components()).take_while(|(a, b)| a == b).count();
    let up = from.components().skip(shared).map(|_| std::ffi::OsStr::new(".."));
    let path: PathBuf = up.chain(to.components().skip(shared).map(|part| part.as_os_str())).collect();
    path.into_os_string().into_string().map_err(|name| {
        let name = Path::new(&name).display().to_string();
        Failure::input(format!("{name}: the name is not UTF-8, and a flight file is; rename the file"))
    })
}

/// Holds the new files against `check`, and says what only the owner can add.
fn tell_what_is_left(flight: &Path, report: &Report) -> Result<(), Failure> {
    let loaded = load(flight, Compute::Named, Listen::WhereUnsure).map_err(|fault| Failure::work(fault.message))?;
    let faults: Vec<_> = all_faults(&loaded).into_iter().filter(|f| f.severity == Severity::Error).collect();
    show(Some(&loaded), &faults, report);
    if faults.is_empty() {
        report.say("nothing stands in the way of a film; limits and markings are yours to add");
    } else {
        report.say("the rest is yours to set, before there can be a film: see above, and the comments in the file");
    }
    Ok(())
}
