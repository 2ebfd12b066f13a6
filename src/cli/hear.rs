//! Listening to a flight's films.

use super::clocks::{LIMIT_S, channel};
use super::hearing::{Heard, Listen};
use super::load::at;
use crate::clock::sound::Speed;
use crate::clock::{ClockId, Clocks, Evidence};
use crate::flight::FlightFile;
use crate::keyfile::Fault;
use crate::meaning::Meaning;
use crate::panel::file::PanelFile;
use crate::session::SessionLog;
use crate::signal::Samples;

/// Listens to the films, and adds what is found to the evidence. What is not found is told in a note.
pub(super) fn hear(
    flight: &FlightFile,
    panel: Option<&PanelFile>,
    clocks: &Clocks,
    logs: &[SessionLog],
    films: &[Result<crate::video::Clip, String>],
    listen: Listen,
    evidence: &mut Vec<Evidence>,
) -> (Vec<Heard>, Vec<Fault>) {
    use crate::clock::sound::lay;
    use crate::finding::Severity;
    let speeds: Vec<Vec<Speed<'_>>> = (0..logs.len()).map(|log| speeds(logs, log, panel)).collect();
    let joined = (listen == Listen::WhereUnsure).then(|| clocks.join(evidence.clone()));
    // Sound may join a log to the others through the film.
    let logs_joined = joined
        .as_ref()
        .is_some_and(|joined| speeds.iter().zip(&joined.logs).all(|(speeds, fit)| speeds.is_empty() || fit.is_some()));
    let limit_s = flight.clock.limit_s.unwrap_or(LIMIT_S);
    let (mut all, mut faults) = (Vec::new(), Vec::new());
    for (film, (clip, entry)) in films.iter().zip(&flight.films).enumerate() {
        let Ok(clip) = clip else { continue };
        let sure = joined.as_ref().and_then(|joined| joined.films[film].as_ref());
        let sure = sure.is_some_and(|fit| fit.sigma_within(0.0, clip.duration_s) <= limit_s);
        let written = flight.clock.fits.iter().any(|fit| fit.film == entry.name);
        if logs_joined && (sure || written) {
            continue;
        }
        let mut tell = |why: String| {
            let message = format!("the sound of `{}` says nothing of its clock: {why}", entry.name);
            let cure = "nothing has to be done where marks or dates line the film up";
            let (severity, code) = (Severity::Note, "sound_not_matched");
            faults.push(at(&flight.document, &entry.place, severity, code, "clock", message, cure));
        };
        if speeds.iter().all(Vec::is_empty) {
            tell("no log recorded a rotor's or an engine's speed".into());
            continue;
        }
        let tracks = match crate::align::tracks(clip) {
            Ok(Some(tracks)) => tracks,
            Ok(None) => {
                tell("the film has no sound".into());
                continue;
            }
            Err(error) => {
                tell(error.to_string());
                continue;
            }
        };
        for (log, speeds) in speeds.iter().enumerate().filter(|(_, speeds)| !speeds.is_empty()) {
            match lay(ClockId::Film(film), &tracks, speeds) {
                Ok(laid) => {
                    evidence.extend(laid.evidence.iter().cloned());
                    let (speed, track) = (speeds[laid.speed].channel.name.clone(), tracks[laid.track].clone());
                    all.push(Heard { film, log, speed, track, laid });
                }
                Err(why) => tell(format!("{why} (log `{}`)", logs[log].name)),
            }
        }
    }
    (all, faults)
}

/// The speeds that a log recorded: of rotor and engine by their names, and those whose tones the panel file has.
fn speeds<'a>(logs: &'a [SessionLog], log: usize, panel: Option<&PanelFile>) -> Vec<Speed<'a>> {
    let tones = panel.map_or(&[][..], |panel| &panel.tones);
    let of = |column: &'a crate::signal::Channel| {
        // A panel names the whole log, where this is one of its parts.
        let of_whole = |name: &str| {
            let rest = logs[log].part_of.as_deref().and_then(|whole| name.strip_prefix(whole));
            rest.and_then(|rest| rest.strip_prefix('.')) == Some(&*column.name)
        };
        let own = |name: &str| {
            of_whole(name) || channel(logs, name).is_some_and(|(i, found)| i == log && std::ptr::eq(found, column))
        };
        let tones: Vec<f64> = tones.iter().filter(|tone| own(&tone.channel)).map(|tone| tone.hz / tone.at).collect();
        let turns = matches!(Meaning::of_name(&column.name), Some(Meaning::Rotor | Meaning::Engine));
        let numbers = matches!(column.samples, Samples::Numbers(_));
        (numbers && (turns || !tones.is_empty())).then(|| Speed {
            clock: ClockId::Log(log),
            name: format!("{}.{}", logs[log].name, column.name),
            channel: column,
            tones,
        })
    };
    logs[log].recording.channels.iter().filter_map(of).collect()
}
