//! A flight file and all that it names: opened, joined, and every fault collected on the way.

use super::{clocks, hearing, owners_channels, panel_file};
use crate::clock::{ClockFit, Joined, Stamps};
use crate::draw::Look;
use crate::finding::Severity;
use crate::flight::{self, FlightFile, LogEntry};
use crate::keyfile::{Document, Fault, Place};
use crate::panel::file::PanelFile;
use crate::panel::{Face, PhaseChannels};
use crate::readout::conversion;
use crate::recorder::{self, Format, Options};
use crate::session::{Session, SessionLog};
use crate::signal::Samples;
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
    let flight = flight::open(file)?;
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
    let mut logs = Vec::new();
    let mut entries = Vec::new();
    for (i, entry) in flight.logs.iter().enumerate() {
        match recorder::read(&entry.file, &Options { csv: entry.csv.clone() }) {
            Ok(mut recording) => {
                faults.extend(owners_channels::calibrate(&flight.document, entry, &mut recording));
                faults.extend(keys_for_tables(&flight, entry, recording.format));
                logs.push(SessionLog { name: entry.name.clone(), recording, fit: None });
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
    let reference = entries.iter().position(|&i| i == flight.reference()).unwrap_or(0);
    let clocks = clocks::clocks(&flight, &logs, reference);
    #[cfg(feature = "codec")]
    let films: Vec<_> = flight.films.iter().map(|film| super::films::open(film).map_err(|e| e.to_string())).collect();
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
        let _ = listen;
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
    for ((log, fit), &i) in logs.iter_mut().zip(joined.logs.iter().cloned()).zip(&entries) {
        // A mark with a fault of its own may be the one that joins it.
        let marks_sound = flight.faults.iter().all(|f| !f.key.starts_with("clock."));
        if fit.is_none() && marks_sound {
            let message = format!("nothing joins the clock of the log `{}` to that of the reference log", log.name);
            let cure = "add a [[clock.mark]] with the same moment on both, or a zone for logs with dates";
            faults.push(at(
                &flight.document,
                &flight.logs[i].place,
                Severity::Error,
                "log_not_joined",
                "log",
                message,
                cure,
            ));
        }
        log.fit = fit;
    }
    let preferred = flight.prefer.iter().map(|(name, _)| name.clone()).collect();
    let (session, basis) = (Session::join(logs, reference).preferring(preferred), flight.conditions.basis());
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
        let unread: Vec<&str> = flight
            .logs
            .iter()
            .map(|l| l.name.as_str())
            .filter(|name| session.logs().iter().all(|l| l.name != *name))
            .collect();
        faults.extend(channel_faults(panel, &session, &unread));
    }
    Ok(Loaded {
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
    })
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

/// How far a channel is from what was written, with or without the log's name in front.
fn distance(name: &str, written: &str) -> usize {
    let (name, written) = (name.to_lowercase(), written.to_lowercase());
    let bare = name.split_once('.').map_or(usize::MAX, |(_, column)| strsim::damerau_levenshtein(column, &written));
    strsim::damerau_levenshtein(&name, &written).min(bare)
}

/// Channels that no log has, units that do not convert.
/// Channels of logs that could not be read would only repeat that fault.
fn channel_faults(panel: &PanelFile, session: &Session, unread: &[&str]) -> Vec<Fault> {
    let mut faults = Vec::new();
    let names: Vec<String> = session.channels().map(|(_, name, _)| name).collect();
    let mut known = |channel: &str, place: &Place, severity: Severity| {
        if session.find(channel).is_some() {
            return true;
        }
        if unread.iter().any(|log| channel.strip_prefix(log).is_some_and(|rest| rest.starts_with('.'))) {
            return false;
        }
        let twice = names.iter().filter(|n| n.split_once('.').is_some_and(|(_, column)| column == channel)).count() > 1;
        let (message, cure) = if twice {
            (format!("several logs have a column `{channel}`"), "put the log's name in front: LOG.COLUMN".to_owned())
        } else {
            let near = names.iter().min_by_key(|name| distance(name, channel));
            let cure = near.map_or("the logs have no column".into(), |near| format!("the nearest is \"{near}\""));
            (format!("no log has the channel `{channel}`"), cure)
        };
        let (code, message) = match severity {
            Severity::Error => ("unknown_channel", message),
            _ => ("not_recorded", format!("{message}: the lamp is not recorded and will not be drawn")),
        };
        faults.push(at(&panel.document, place, severity, code, "channel", message, &cure));
        false
    };
    let mut converted = Vec::new();
    for (instrument, lines) in panel.panel.instruments.iter().zip(&panel.lines) {
        for (hand, place) in instrument.face.hands().into_iter().zip(&lines.channels) {
            if known(hand.channel, place, Severity::Error) {
                converted.push((hand, &lines.unit));
            }
        }
    }
    // A lamp that the aircraft has and the logger does not is nothing to mend.
    let mut on_or_off = Vec::new();
    for (channel, place) in &panel.lamp_channels {
        if known(channel, place, Severity::Warning) {
            on_or_off.push((channel, place));
        }
    }
    for (channel, place) in panel.lines.iter().flat_map(|lines| &lines.others) {
        if known(channel, place, Severity::Error) {
            on_or_off.push((channel, place));
        }
    }
    let others = [&panel.limit_channels, &panel.condition_channels, &panel.phase_channels, &panel.engine_channels];
    for (channel, place) in others.into_iter().flatten() {
        known(channel, place, Severity::Error);
    }
    for tone in &panel.tones {
        known(&tone.channel, &tone.place, Severity::Error);
    }
    faults.extend(phase_faults(panel, session));
    for (name, place) in on_or_off {
        let channel = session.find(name).and_then(|id| session.channel(id));
        let (severity, code, found) = match channel.map(|c| &c.samples) {
            Some(Samples::Texts(_)) => (Severity::Error, "lamp_of_texts", "holds texts".to_owned()),
            Some(Samples::Numbers(values)) => match values.iter().find(|v| **v != 0.0 && **v != 1.0) {
                Some(other) => (Severity::Warning, "not_on_or_off", format!("holds {other}, and not only 0 and 1")),
                None => continue,
            },
            None => continue,
        };
        let message = format!("`{name}` {found}: a lamp is unlit at zero, and lit at every other number");
        let cure = "name the column that records the lamp itself";
        faults.push(at(&panel.document, place, severity, code, "channel", message, cure));
    }
    for (instrument, lines) in panel.panel.instruments.iter().zip(&panel.lines) {
        if matches!(instrument.face, Face::Tile(_)) {
            continue;
        }
        for (hand, place) in instrument.face.hands().into_iter().zip(&lines.channels) {
            let channel = session.find(hand.channel).and_then(|id| session.channel(id));
            if channel.is_some_and(|channel| matches!(channel.samples, Samples::Texts(_))) {
                let message = format!("`{}` holds texts; only a tile can show them", hand.channel);
                let cure = "make it a tile: kind = \"tile\"";
                faults.push(at(&panel.document, place, Severity::Error, "holds_texts", "channel", message, cure));
            }
        }
    }
    for (hand, place) in converted {
        let (name, unit) = (hand.channel, hand.unit);
        let channel = session.find(name).and_then(|id| session.channel(id));
        let (severity, code, message, cure) = match channel.map(|c| c.unit.as_deref()) {
            Some(None) if !unit.is_empty() => (
                Severity::Warning,
                "unit_not_stated",
                format!("the log states no unit for `{name}`; it is shown as {unit} on the panel's word"),
                "if the log counts in another unit, name it under [log.units]",
            ),
            Some(Some(recorded)) => match conversion(recorded, unit) {
                Ok(_) => continue,
                Err(error) => (
                    Severity::Error,
                    "unit_does_not_convert",
                    format!("`{name}` is recorded in {recorded} and cannot be shown in {unit}: {error}"),
                    "give a unit of the same kind",
                ),
            },
            _ => continue,
        };
        faults.push(at(&panel.document, place, severity, code, "unit", message, cure));
    }
    faults
}

/// Channels of the phases that cannot be turned into the units of the rules, and strips without rules.
fn phase_faults(panel: &PanelFile, session: &Session) -> Vec<Fault> {
    let mut faults = Vec::new();
    let mut fault = |place: &Place, severity, code, message: String, cure: &str| {
        faults.push(at(&panel.document, place, severity, code, "phases", message, cure));
    };
    let rules = panel.panel.phases.as_ref();
    let named = rules.map(|rules| rules.channels.names()).unwrap_or_default();
    let named = named.into_iter().zip(PhaseChannels::ALL).filter_map(|(name, (key, unit))| Some((name?, key, unit)));
    for ((name, key, unit), (_, place)) in named.zip(&panel.phase_channels) {
        let Some(channel) = session.find(name).and_then(|id| session.channel(id)) else { continue };
        if matches!(channel.samples, Samples::Texts(_)) {
            let message = format!("`{name}` holds texts; the rules for phases need numbers");
            fault(place, Severity::Error, "holds_texts", message, "name a column of numbers");
        } else if unit.is_empty() {
            continue;
        } else if let Some(recorded) = &channel.unit {
            if let Err(error) = conversion(recorded, unit) {
                let message =
                    format!("the rules for phases need `{key}` in {unit}, but `{name}` is in {recorded}: {error}");
                fault(place, Severity::Error, "unit_does_not_convert", message, "name a column of the right kind");
            }
        } else {
            let message = format!(
                "the log states no unit for `{name}`: the rules for phases need it in {unit}, or in a unit of the same kind"
            );
            fault(place, Severity::Error, "unit_not_stated", message, "name its unit under [log.units]");
        }
    }
    for (instrument, lines) in panel.panel.instruments.iter().zip(&panel.lines) {
        if matches!(instrument.face, Face::PhaseStrip(_)) && rules.is_none() {
            let message = format!("`{}` shows phases, but the panel has no rules for them", instrument.name);
            let cure = "add the table [phases] with the channels that tell of them";
            fault(&lines.head, Severity::Error, "no_phases", message, cure);
        }
    }
    faults
}
