//! A flight as a debrief is written of it: read, judged, and refused where `check` finds an error.

use super::check::{all_faults, show};
use super::hearing::Listen;
use super::load::{Compute, Loaded, load};
use super::{Failure, Report, align};
use crate::finding::{Finding, Severity};
use crate::judge::{self, Judged};
use crate::keyfile::Fault;
use crate::panel::Panel;
use crate::report::{FileFinding, Film, Flight, SourceFile};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::io::{self, Read};
use std::path::Path;

/// A flight with the panel that judged it.
pub(crate) struct DebriefFlight {
    pub(crate) loaded: Loaded,
    /// Its own panel, or the one that was lent to it, governed by its flight file.
    pub(crate) panel: Panel,
    judged: Judged,
    faults: Vec<Fault>,
}

impl DebriefFlight {
    /// Reads and judges a flight, by the panel `lent` to it where it has none of its own.
    pub(crate) fn read(file: &Path, lent: Option<&Panel>, report: &Report) -> Result<Self, Failure> {
        let loaded = load(file, Compute::Named, Listen::WhereUnsure).map_err(|fault| Failure::input(fault.message))?;
        let faults = all_faults(&loaded);
        let errors: Vec<Fault> = faults.iter().filter(|f| f.severity == Severity::Error).cloned().collect();
        // A report beside which a log is missing, or a limit that could not be read, would look like a sound one.
        if !errors.is_empty() {
            show(Some(&loaded), &errors, report);
            let what = if errors.len() == 1 { "1 fault".to_owned() } else { format!("{} faults", errors.len()) };
            return Err(Failure::input(format!(
                "{}: {what} to mend before there can be a debrief; jumpseat check shows them all",
                file.display()
            )));
        }
        let own = loaded.panel.as_ref().map(|owners| &owners.panel);
        let mut panel = own.or(lent).cloned().unwrap_or_default();
        loaded.govern(&mut panel);
        let judged = judge::judge(&loaded.session, &panel);
        Ok(Self { loaded, panel, judged, faults })
    }

    /// What a report is written of.
    pub(crate) fn flight(&self, located: bool) -> Flight<'_> {
        let loaded = &self.loaded;
        Flight {
            title: &loaded.flight.title,
            aircraft: &loaded.flight.aircraft,
            session: &loaded.session,
            panel: &self.panel,
            judged: &self.judged,
            films: films(loaded),
            clocks: align::documents(loaded),
            findings: findings(loaded, &self.faults),
            files: files(loaded),
            made: jiff::Timestamp::now(),
            located,
        }
    }
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

/// What checks found, remarks on the session among it, and then readers, files in the order in which they were read.
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
