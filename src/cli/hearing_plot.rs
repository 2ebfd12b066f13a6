//! The charts of a film's sound on the page of `jumpseat align --plot`.

use super::hearing::Heard;
use super::load::Loaded;
use crate::draw::{Chart, ChartLine, ChartPoint, Role};
use crate::signal::Samples;

/// Points of a line: more than a page has pixels.
const POINTS: usize = 4000;

/// What was heard on what was recorded, and how well every other offset would have explained it.
pub(super) fn charts(loaded: &Loaded, heard: &Heard) -> Vec<Chart> {
    let (Some(log), Some(film)) = (loaded.session.logs().get(heard.log), loaded.flight.films.get(heard.film)) else {
        return Vec::new();
    };
    let Some(channel) = log.recording.channels.iter().find(|c| c.name == heard.speed) else { return Vec::new() };
    let Samples::Numbers(values) = &channel.samples else { return Vec::new() };
    let (laid, track) = (&heard.laid, &heard.track);
    let end = track.time(track.hz.len());
    let inside: Vec<usize> =
        (0..values.len()).filter(|i| (0.0..=end).contains(&(channel.times[*i] - laid.offset_s))).collect();
    let recorded: Vec<(f64, f64)> = inside
        .iter()
        .step_by(inside.len().div_ceil(POINTS).max(1))
        .map(|i| (channel.times[*i] - laid.offset_s, values[*i]))
        .collect();
    let every = track.hz.len().div_ceil(POINTS).max(1);
    // A line breaks where nothing is heard, and where the track takes another harmonic.
    let high = recorded.iter().map(|p| p.1).fold(0.0, f64::max) * 1.08;
    let told = |hz: f64| Some(hz / laid.hz_per_unit).filter(|speed| *speed <= high).unwrap_or(f64::NAN);
    let tone = (0..track.hz.len()).step_by(every).map(|i| (track.time(i), told(track.hz[i]))).collect();
    let name = format!("{}.{}", log.name, channel.name);
    let unit = channel.unit.clone().unwrap_or_default();
    let line = |points, role, name: &str| ChartLine { points, role, name: name.to_owned() };
    let tried = laid.profile.len().div_ceil(POINTS).max(1);
    let ends = laid.profile.first().map_or(0.0, |p| p.0)..=laid.profile.last().map_or(1.0, |p| p.0);
    // Of every so many offsets the best, for a peak is narrow on a long flight; below zero is worse than no match at all.
    let best = |some: &[(f64, f64)]| some.iter().map(|p| (p.0, p.1.max(0.0))).max_by(|a, b| a.1.total_cmp(&b.1));
    vec![
        Chart {
            title: format!("{}: a tone of its sound on {name}, {:.3} Hz for each {unit}", film.name, laid.hz_per_unit),
            axes: ("film time, s".into(), unit),
            x: (0.0, end),
            y: (0.0, high),
            band: Vec::new(),
            lines: vec![line(recorded, Role::First, &name), line(tone, Role::Second, "heard")],
            points: Vec::new(),
        },
        Chart {
            title: format!("How much of the changes that are heard {name} explains at every offset: one peak"),
            axes: ("offset of the log, s".into(), "share of the best".into()),
            x: (*ends.start(), *ends.end()),
            y: (0.0, 1.1),
            band: Vec::new(),
            lines: vec![line(laid.profile.chunks(tried).filter_map(best).collect(), Role::Second, "")],
            points: vec![ChartPoint {
                at: (laid.offset_s, 1.0),
                half: 0.0,
                role: Role::First,
                name: format!("{:.3} s", laid.offset_s),
            }],
        },
    ]
}
