//! A flight file and all that it names: opened, joined, and every fault collected on the way.

use super::panel_faults::channel_faults;
use super::{clocks, hearing, owners_channels, panel_file};
use crate::clock::{ClockFit, ClockId, Joined, Stamps};
use crate::draw::Look;
use crate::finding::{Finding, Severity};
use crate::flight::{self, FlightFile, LogEntry, When};
use crate::keyfile::{Document, Fault, Place};
use crate::panel::Panel;
use crate::panel::file::PanelFile;
use crate::recorder::{self, Format, Options, Recording};
use crate::session::{Session, SessionLog};
use std::path::Path;

/// A flight as far as it could be read.
pub(crate) struct Loaded {
    pub(crate) flight: FlightFile,
    pub(crate) panel: Option<PanelFile>,
    /// The look that the panel file asks for.
    #[cfg_attr(not(feature = "codec"), allow(dead_code, reason = "only films have a look"))]
    pub(crate) look: Look,
    /// The logs on one axis; logs that could not be read are missing.
    pub(crate) session: Session,
    /// One a film of the flight file: as opened, or why it could not be.
    #[cfg(feature = "codec")]
    pub(crate) films: Vec<Result<crate::video::Clip, String>>,
    /// Channels of two logs that were laid along each other.
    pub(crate) laid: Vec<clocks::Laid>,
    /// Films whose sound was laid along a log.
    pub(crate) heard: Vec<hearing::Heard>,
    /// The clocks, joined.
    pub(crate) joined: Joined,
    /// Film time to session time, one a film: as written by `align --write`, else as joined.
    pub(crate) film_fits: Vec<Option<ClockFit>>,
    /// What is wrong, in the order of the files.
    pub(crate) faults: Vec<Fault>,
}

/// Which channels are computed that no log recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Compute {
    /// All that can be.
    All,
    /// What the panel names; all where there is no panel.
    Named,
}

/// Reads a flight file, its panel file and its logs. The error is a flight file that cannot be opened.
pub(crate) fn load(file: &Path, compute: Compute, listen: hearing::Listen) -> Result<Loaded, Box<Fault>> {
    Ok(load_flight(flight::open(file)?, compute, listen, None))
}

/// The same of a flight file that is read already, or of what takes its place. `reading` is the count of decoder threads with which
/// its film is read soon after.
pub(crate) fn load_flight(
    flight: FlightFile,
    compute: Compute,
    listen: hearing::Listen,
    reading: Option<usize>,
) -> Loaded {
    let mut faults = flight.faults.clone();
    let opened = flight.panel.as_ref().and_then(|(file, place)| match panel_file::open(file) {
        Ok(opened) => {
            faults.extend(opened.0.faults.clone());
            Some(opened)
        }
        Err(fault) => {
            faults.push(at(
                &flight.document,
                place,
                Severity::Error,
                fault.code,
                "panel",
                fault.message,
                "mend the name, or make the file",
            ));
            None
        }
    });
    let (panel, look) = opened.map_or((None, Look::default()), |(panel, look)| (Some(panel), look));
    let mut logs: Vec<SessionLog> = Vec::new();
    let mut entries = Vec::new();
    for (i, entry) in flight.logs.iter().enumerate() {
        match recorder::read(&entry.file, &Options { csv: entry.csv.clone() }) {
            Ok(mut recording) => {
                let mut said = owners_channels::calibrate(&flight.document, entry, &mut recording);
                said.extend(keys_for_tables(&flight, entry, recording.format));
                // The parts of one log have one table.
                said.retain(|fault| !faults.contains(fault));
                faults.extend(said);
                let (name, part_of) = (entry.name.clone(), entry.part_of.clone());
                told_once(&mut recording, logs.iter().filter(|log| part_of.is_some() && log.part_of == part_of));
                logs.push(SessionLog { name, part_of, recording, fit: None });
                entries.push(i);
            }
            Err(error) => faults.push(at(
                &flight.document,
                &entry.place,
                Severity::Error,
                "log_not_read",
                "file",
                error.to_string(),
                "mend the name, or the file",
            )),
        }
    }
    let reference = reference(&flight, &logs, &entries);
    let clocks = clocks::clocks(&flight, &logs, reference);
    #[cfg(feature = "codec")]
    let films: Vec<_> =
        flight.films.iter().map(|film| super::films::open(film, reading).map_err(|e| e.to_string())).collect();
    #[cfg(feature = "codec")]
    let stamps: Vec<Option<Stamps>> = films.iter().map(|film| film.as_ref().ok().map(crate::align::stamps)).collect();
    #[cfg(not(feature = "codec"))]
    let stamps: Vec<Option<Stamps>> = vec![None; flight.films.len()];
    let (mut evidence, clock_faults) = clocks::evidence(&flight, &clocks, &logs, &entries, &stamps);
    faults.extend(clock_faults);
    let (laid, channel_faults_of_clocks) = clocks::lay_channels(&flight, &clocks, &logs, &mut evidence);
    faults.extend(channel_faults_of_clocks);
    #[cfg(feature = "codec")]
    let heard = {
        let (heard, said) = super::hear::hear(&flight, panel.as_ref(), &clocks, &logs, &films, listen, &mut evidence);
        faults.extend(said);
        heard
    };
    #[cfg(not(feature = "codec"))]
    let heard = {
        // Without codecs no film is opened, however surely it is to be lined up.
        let _ = (listen, reading);
        Vec::new()
    };
    let joined = clocks.join(evidence);
    faults.extend(clocks::faults(&flight, &joined, &logs));
    let mut film_fits = joined.films.clone();
    let reference_name = logs.get(reference).map(|l| l.name.clone()).unwrap_or_default();
    for (i, computed) in film_fits.iter_mut().enumerate() {
        let (written, fault) = clocks::written(&flight, i, &reference_name, computed.as_ref());
        faults.extend(fault);
        *computed = written.or(computed.take());
    }
    let films_on = |log: usize| {
        let on = |film: &usize| joined.network.fit(ClockId::Film(*film), ClockId::Log(log)).is_some();
        (0..flight.films.len()).filter(on).map(|film| format!("`{}`", flight.films[film].name)).collect::<Vec<_>>()
    };
    for (n, (fit, &i)) in joined.logs.iter().zip(&entries).enumerate() {
        // A mark with a fault of its own may be the one that joins it.
        let marks_sound = flight.faults.iter().all(|f| !f.key.starts_with("clock."));
        if fit.is_none() && marks_sound {
            let (log, films) = (&logs[n].name, films_on(n));
            let alone = match &films[..] {
                [] => String::new(),
                films => format!(": it is joined to the film {} alone", films.join(", ")),
            };
            let mut message = format!(
                "nothing joins the clock of the log `{log}` to that of the reference log `{reference_name}`{alone}"
            );
            let mut cure =
                "add a [[clock.mark]] with the same moment on both, or a zone for logs with dates".to_owned();
            if !films.is_empty() {
                cure += &format!("; or take `{reference_name}` out, and the film shows what `{log}` recorded");
            }
            // A whole log without one of its parts has a hole there, which every instrument shows.
            let is_joined =
                |other: usize| joined.logs[other].is_some() && flight.logs[entries[other]].part_of.is_some();
            let of_one_log = |other: &usize| flight.logs[entries[*other]].table() == flight.logs[i].table();
            let severity = match (0..entries.len()).filter(of_one_log).any(is_joined) {
                true => Severity::Warning,
                false => Severity::Error,
            };
            if severity == Severity::Warning {
                message += &format!("; `{}` is without it", flight.logs[i].table());
            }
            if flight.logs[i].part_of.is_some() {
                let list = if flight.logs[i].csv.clock.power_up.is_some() { "power_up" } else { "file" };
                cure += &format!("; or take the part out of {list}, where it is of another flight");
            }
            let (document, place) = (&flight.document, &flight.logs[i].place);
            faults.push(at(document, place, severity, "log_not_joined", "log", message, &cure));
        }
        logs[n].fit = fit.clone();
    }
    faults.extend(phase_faults(&flight, film_fits.first().and_then(Option::as_ref)));
    let preferred = flight.prefer.iter().map(|(name, _)| name.clone()).collect();
    let on_panel = panel.as_ref().map(|panel| panel.channels()).unwrap_or_default();
    let session = Session::join(logs, reference).preferring(preferred).naming(on_panel.iter().map(String::as_str));
    let basis = flight.conditions.basis();
    // A formula of the owner's may stand on any of them.
    let named = panel.as_ref().filter(|_| compute == Compute::Named && flight.formulae.is_empty());
    let mut session = match named {
        Some(panel) => session.derived_for(&basis, &panel.channels()),
        None => session.derived(&basis),
    };
    faults.extend(owners_channels::same_faults(&flight, &session));
    faults.extend(owners_channels::remarks(&flight, &session));
    faults.extend(owners_channels::compute(&flight, &mut session));
    if let Some(panel) = &panel {
        let names = flight.logs.iter().flat_map(|log| [log.name.as_str(), log.table()]);
        let unread: Vec<&str> = names.filter(|name| session.sources().all(|source| source.name != *name)).collect();
        faults.extend(channel_faults(panel, &session, &unread));
    }
    Loaded {
        flight,
        panel,
        look,
        session,
        #[cfg(feature = "codec")]
        films,
        laid,
        heard,
        joined,
        film_fits,
        faults,
    }
}

impl Loaded {
    /// The place of the log whose clock is the session's among those that could be read.
    pub(crate) fn reference(&self) -> usize {
        let name = self.session.reference().map(|l| l.name.as_str());
        self.session.logs().iter().position(|l| Some(l.name.as_str()) == name).unwrap_or(0)
    }

    /// Length of a film, if it could be opened.
    pub(crate) fn film_duration_s(&self, film: usize) -> Option<f64> {
        #[cfg(feature = "codec")]
        return Some(self.films.get(film)?.as_ref().ok()?.duration_s);
        #[cfg(not(feature = "codec"))]
        {
            let _ = film;
            None
        }
    }

    /// Gives a panel's rules what the flight file says of this flight: the field, and phases that the owner knows better.
    pub(crate) fn govern(&self, panel: &mut Panel) {
        let Some(rules) = &mut panel.phases else { return };
        rules.follow(self.flight.conditions.field_elevation_ft);
        let film = self.film_fits.first().and_then(Option::as_ref);
        let session = |when: When| match when {
            When::Session(time) => Some(time),
            When::Film(time) => film.map(|fit| fit.at(time)),
        };
        let known = self.flight.phases.iter();
        rules.overruled.extend(known.filter_map(|p| Some((session(p.from)?, session(p.to)?, p.phase))));
    }

    /// All files that are read for the flight.
    pub(crate) fn inputs(&self) -> Vec<std::path::PathBuf> {
        let flight = &self.flight;
        let mut inputs = vec![flight.document.file.clone()];
        inputs.extend(flight.films.iter().flat_map(|f| f.files.clone()));
        inputs.extend(flight.panel.iter().map(|p| p.0.clone()));
        let fonts = self.panel.iter().flat_map(|panel| panel.fonts.iter().flatten());
        inputs.extend(fonts.map(|font| font.file.clone()));
        inputs.extend(flight.logs.iter().map(|l| l.file.clone()));
        inputs
    }

    /// The text of the file that a fault is about, for its caret.
    pub(crate) fn text_of(&self, fault: &Fault) -> &str {
        match &self.panel {
            Some(panel) if panel.document.file == fault.file => &panel.document.text,
            _ => &self.flight.document.text,
        }
    }

    /// A fault at a place of the flight file.
    #[cfg(feature = "codec")]
    pub(crate) fn flight_fault(
        &self,
        place: &Place,
        severity: Severity,
        code: &'static str,
        message: String,
        cure: &str,
    ) -> Fault {
        at(&self.flight.document, place, severity, code, "", message, cure)
    }
}

/// Leaves out what was said of the same rows with an earlier part of the log.
fn told_once<'a>(recording: &mut Recording, earlier: impl Iterator<Item = &'a SessionLog> + Clone) {
    recording.findings.retain(|finding| {
        let is_it = |told: &Finding| (told.row, &told.message) == (finding.row, &finding.message);
        !earlier.clone().any(|log| log.recording.findings.iter().any(is_it))
    });
}

/// Which of the logs that could be read has the session's clock: of a log in parts the one with most rows, the first of several.
fn reference(flight: &FlightFile, logs: &[SessionLog], entries: &[usize]) -> usize {
    let Some(wanted) = flight.logs.get(flight.reference()) else { return 0 };
    let rows = |n: &usize| logs[*n].recording.rows_read;
    (0..entries.len())
        .rev()
        .filter(|&n| flight.logs[entries[n]].table() == wanted.table())
        .max_by_key(rows)
        .unwrap_or(0)
}

/// A fault at a place of a document that is read already.
#[allow(clippy::too_many_arguments, reason = "each is one field of the fault")]
pub(crate) fn at(
    document: &Document,
    place: &Place,
    severity: Severity,
    code: &'static str,
    key: &str,
    message: String,
    cure: &str,
) -> Fault {
    let line = document.line_of(place.start);
    let (file, place, key, cure) = (document.file.clone(), place.clone(), key.to_owned(), cure.to_owned());
    Fault { severity, file, line, place, key, code, message, cure }
}

/// Phases of the owner's that have no place on the session's axis, or end before they start.
fn phase_faults(flight: &FlightFile, film: Option<&ClockFit>) -> Vec<Fault> {
    let session = |when: When| match when {
        When::Session(time) => Some(time),
        When::Film(time) => film.map(|fit| fit.at(time)),
    };
    let mut faults = Vec::new();
    for entry in &flight.phases {
        let (code, message, cure) = match (session(entry.from), session(entry.to)) {
            (Some(from), Some(to)) if from < to => continue,
            (Some(from), Some(to)) => (
                "empty_range",
                format!("the phase would run from {from:.1} s to {to:.1} s of session time"),
                "write the earlier moment at `from`",
            ),
            _ => (
                "film_not_joined",
                "the phase is given in film time, and nothing joins the first film to the logs".to_owned(),
                "give numbers, which are session time in seconds, or join the film",
            ),
        };
        faults.push(at(&flight.document, &entry.place, Severity::Error, code, "phase", message, cure));
    }
    faults
}

/// What the flight file says of a log's cells where the log has none.
fn keys_for_tables(flight: &FlightFile, entry: &LogEntry, format: Format) -> Vec<Fault> {
    let keys = entry.table_keys.iter().filter(|_| format != Format::Csv);
    let fault = |(key, place): &(&'static str, Place)| {
        let (log, word) = (&entry.name, format.word());
        let message =
            format!("`{key}` says how a table of cells is read, and the log `{log}` is none: its format is {word}");
        at(&flight.document, place, Severity::Error, "key_for_tables", key, message, "take the key out")
    };
    keys.map(fault).collect()
}
