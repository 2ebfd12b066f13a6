//! A plan from a flight file, and the faults that show only against its film.

use super::check::show;
use super::hearing::Listen;
use super::load::{Compute, Loaded, load_flight};
use super::plan::{Prepared, of_file};
use super::{Failure, Report, clocks, panel_advice, panel_file};
use crate::clock::ClockFit;
use crate::finding::{Finding, Severity};
use crate::flight;
use crate::keyfile::Fault;
use crate::panel::{Arrangement, Density, Face, Panel, recognised};
use crate::readout::{CaptionOf, facts};
use crate::render::Plan;
use crate::report::Caption;
use crate::video::{self, Clip, Reshape};
use std::path::Path;

/// Reads the flight, shows every fault, and makes the plan for one of its films if none of them stands in the way. `reading` is the count
/// of decoder threads with which the film is read soon after.
pub(crate) fn prepare(
    file: &Path,
    camera: Option<&str>,
    reshape: Reshape,
    reading: Option<usize>,
    report: &Report,
) -> Result<Prepared, Failure> {
    let read = flight::open(file).map_err(|fault| Failure::input(fault.message))?;
    let mut loaded = load_flight(read, Compute::Named, Listen::WhereUnsure, reading);
    let names = || loaded.flight.films.iter().map(|f| f.name.as_str());
    let film = match camera {
        None => 0,
        Some(camera) => names().position(|name| name == camera).ok_or_else(|| {
            let there = names().collect::<Vec<_>>().join(", ");
            Failure::input(format!("{}: no [[film]] has the name {camera}; there are {there}", file.display()))
        })?,
    };
    if let Some(Ok(clip)) = loaded.films.get_mut(film) {
        *clip = clip.clone().reshaped(reshape)?;
    }
    let mut film_faults = unopened(&loaded);
    let notes = notes(&loaded, film);
    let film = look_at_film(&loaded, film, &mut film_faults);
    let faults = loaded.faults.iter().cloned().chain(film_faults).chain(clocks::unsure(&loaded));
    let faults: Vec<Fault> = faults.collect();
    show(Some(&loaded), &faults, report);
    let errors = faults.iter().filter(|f| f.severity == Severity::Error).count();
    let refused = |why: &str| Failure::input(format!("{}: {why}", file.display()));
    if errors > 0 {
        return Err(refused(&format!("{errors} to mend before there can be a film; jumpseat check shows them all")));
    }
    let Some((clip, fit)) = film else {
        return Err(refused("names no [[film]]"));
    };
    let inputs = loaded.inputs();
    // A warning about a file that the owner wrote counts for --strict like any other.
    let written = faults.iter().map(|f| (f.file.clone(), Finding::new(f.severity, f.code, f.message.clone())));
    let mut findings: Vec<_> = written.collect();
    findings.extend(of_file(&clip.file, &clip.findings));
    findings.extend(of_file(&clip.file, &video::take_findings()));
    for log in loaded.session.logs() {
        findings.extend(of_file(&log.recording.file, &log.recording.findings));
    }
    let panel = panel(&loaded, &clip);
    if panel.is_empty() {
        return Err(refused("its panel shows nothing, and no column of its logs is recognised"));
    }
    let plan = Plan::new(clip, loaded.session, panel, loaded.look, fit);
    findings.extend(of_file(&plan.clip.file, &plan.check_overlap(None, None)?));
    Ok(Prepared { plan, inputs, findings, notes })
}

/// The faults that show only against the film, and what may be hard to see on it.
pub(crate) fn film_faults(loaded: &Loaded) -> Vec<Fault> {
    let mut faults = unopened(loaded);
    for film in 0..loaded.films.len() {
        let seen = look_at_film(loaded, film, &mut faults);
        if let (Some((clip, _)), Some(panel)) = (&seen, &loaded.panel) {
            faults.extend(panel_advice::remarks(panel, clip.video.shape, loaded.look));
        }
    }
    faults.extend(split_films(loaded));
    faults.extend(clocks::unsure(loaded));
    faults
}

/// What speaks against the files of one recording following each other.
pub(crate) fn split_films(loaded: &Loaded) -> Vec<Fault> {
    let films = loaded.films.iter().zip(&loaded.flight.films).filter(|(_, entry)| entry.files.len() > 1);
    let found = films.filter_map(|(film, entry)| Some((film.as_ref().ok()?, entry)));
    let warned = found.flat_map(|(clip, entry)| {
        let warnings = clip.findings.iter().filter(|f| f.severity == Severity::Warning);
        warnings.map(|f| loaded.flight_fault(&entry.place, f.severity, f.code, f.message.clone(), "one recording?"))
    });
    warned.collect()
}

/// Films that cannot be opened.
pub(crate) fn unopened(loaded: &Loaded) -> Vec<Fault> {
    let films = loaded.films.iter().zip(&loaded.flight.films);
    let failed = films.filter_map(|(film, entry)| Some((film.as_ref().err()?.clone(), &entry.place)));
    let cure = "mend the name, or the file";
    failed.map(|(e, place)| loaded.flight_fault(place, Severity::Error, "film_not_read", e, cure)).collect()
}

/// Holds panel and clocks against a film.
fn look_at_film(loaded: &Loaded, film: usize, faults: &mut Vec<Fault>) -> Option<(Clip, ClockFit)> {
    let fault =
        |place, code, message: String, cure: &str| loaded.flight_fault(place, Severity::Error, code, message, cure);
    let entry = loaded.flight.films.get(film)?;
    let clip = loaded.films.get(film)?.as_ref().ok()?.clone();
    if let Some(panel) = &loaded.panel {
        faults.extend(panel_file::place_faults(panel, clip.video.shape, loaded.look));
    }
    let Some(fit) = loaded.film_fits.get(film).cloned().flatten() else {
        let message =
            "nothing joins the film to the logs: it has no mark, and no creation time beside a log that knows UTC";
        let cure = format!("add a [[clock.mark]] with {} = \"m:s\" and a log's time", entry.name);
        // Another fault may be the reason that a mark does not count.
        if loaded.faults.iter().all(|f| f.severity != Severity::Error) {
            faults.push(fault(&entry.place, "film_not_joined", message.into(), &cure));
        }
        return None;
    };
    let (first, last) = loaded.session.span();
    if fit.at(clip.duration_s) < first.0 || fit.at(0.0) > last.0 {
        let message = format!(
            "film and logs do not overlap: the film runs from {:.1} to {:.1} s of session time, the logs from {:.1} to {:.1} s",
            fit.at(0.0),
            fit.at(clip.duration_s),
            first.0,
            last.0
        );
        faults.push(fault(&entry.place, "film_does_not_overlap", message, "mend the marks, or the logger's zone"));
    }
    Some((clip, fit))
}

/// The owner's notes in the time of a film: they are written in that of the first.
fn notes(loaded: &Loaded, film: usize) -> Vec<Caption> {
    let fits = (loaded.film_fits.first().and_then(Option::as_ref), loaded.film_fits.get(film).and_then(Option::as_ref));
    let (Some(first), Some(this)) = fits else { return Vec::new() };
    let at = |seconds: f64| if film == 0 { seconds } else { this.inverse(first.at(seconds)) };
    let notes = loaded.flight.notes.iter().map(|note| {
        let (from_s, to_s) = (at(note.film_s), at(note.film_s + note.seconds));
        Caption { from_s, to_s, of: CaptionOf::Note, text: note.text.clone() }
    });
    notes.collect()
}

/// The owner's panel, or what is recognised where there is none.
fn panel(loaded: &Loaded, clip: &Clip) -> Panel {
    let (width, height) = clip.video.shape.shown_size();
    let mut panel = match &loaded.panel {
        Some(owners) => owners.panel.clone(),
        None => recognised(&facts(&loaded.session), Arrangement::of(width, height, Density::House)).panel,
    };
    loaded.govern(&mut panel);
    for instrument in &mut panel.instruments {
        if let Face::Altimeter(altimeter) = &mut instrument.face {
            altimeter.follow(loaded.flight.conditions.altimeter_settings.iter().cloned());
        }
    }
    panel
}
