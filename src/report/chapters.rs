//! Chapters of a film: the phases of the flight, and what happened in them.

use super::moments::Moment;
use crate::clock::ClockFit;
use crate::judge::{Judged, Phase};
use crate::panel::Severity;

/// A phase that is shorter belongs to the one before: a list of chapters is for choosing from (common practice, no source).
const SHORTEST_S: f64 = 5.0;
/// What happened in a moment gets so long a chapter.
const SHORTEST_EVENT_S: f64 = 2.0;

/// A stretch of the film with a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Chapter {
    /// Film time in seconds.
    pub from_s: f64,
    /// Film time in seconds.
    pub to_s: f64,
    /// Its name.
    pub title: String,
}

/// The chapters of a whole film, without gaps: of each moment that a warning or a caution tells of, and between them of the
/// phases. None of a flight without phases and without such moments.
pub fn chapters(judged: &Judged, moments: &[Moment], fit: &ClockFit, film_end_s: f64) -> Vec<Chapter> {
    let mut chapters: Vec<Chapter> = Vec::new();
    for (from, to, phase) in judged.phases.line.stretches(fit.at(0.0), fit.at(film_end_s)) {
        let (from_s, to_s) = (fit.inverse(from), fit.inverse(to));
        match chapters.last_mut() {
            Some(last) if to_s - from_s < SHORTEST_S || last.title == title(phase) => last.to_s = to_s,
            _ => chapters.push(Chapter { from_s, to_s, title: title(phase) }),
        }
    }
    let mut running: Option<(f64, Severity)> = None;
    for moment in moments {
        let Some(severity) = moment.severity.filter(|severity| *severity <= Severity::Caution) else { continue };
        // What begins while something as grave goes on, as its lamp, belongs to that.
        if running.is_some_and(|(end_s, graver)| moment.from_s < end_s && graver <= severity) {
            continue;
        }
        let end_s = moment.to_s.max(moment.from_s + SHORTEST_EVENT_S).min(film_end_s);
        chapters = with(chapters, Chapter { from_s: moment.from_s, to_s: end_s, title: moment.name.clone() });
        running = Some((end_s, severity));
    }
    let only_unknown = chapters.iter().all(|chapter| chapter.title == title(Phase::NotJudged));
    if only_unknown { Vec::new() } else { chapters }
}

/// A chapter laid over others.
fn with(chapters: Vec<Chapter>, new: Chapter) -> Vec<Chapter> {
    let mut all = Vec::with_capacity(chapters.len() + 2);
    for old in chapters {
        let before = Chapter { to_s: old.to_s.min(new.from_s), ..old.clone() };
        let after = Chapter { from_s: old.from_s.max(new.to_s), ..old };
        all.extend([before, after].into_iter().filter(|part| part.to_s - part.from_s > 1e-9));
    }
    all.push(new);
    all.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    all
}

/// A phase's name as a title: *Hover taxi*.
fn title(phase: Phase) -> String {
    let lower = phase.name().to_lowercase();
    let mut letters = lower.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_cuts_the_phases_and_leaves_no_gap() {
        let chapter = |from_s, to_s, title: &str| Chapter { from_s, to_s, title: title.into() };
        let phases = vec![chapter(0.0, 10.0, "Climb"), chapter(10.0, 60.0, "Cruise")];
        let found = with(with(phases, chapter(8.0, 12.0, "EGT HIGH")), chapter(11.0, 14.0, "ROTOR LOW"));
        let spans: Vec<(f64, f64)> = found.iter().map(|c| (c.from_s, c.to_s)).collect();
        assert_eq!(spans, [(0.0, 8.0), (8.0, 11.0), (11.0, 14.0), (14.0, 60.0)]);
        assert_eq!(found[3].title, "Cruise");
    }
}
