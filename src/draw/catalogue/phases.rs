//! The page of phase strips and of the banner's lines.

use std::sync::Arc;

use crate::panel::{DiscSize, Face, PhaseStrip, Severity, Shows};
use crate::readout::{BannerLine, InstrumentState, Notice, PanelState, Phase, Profile, ProfilePoint};
use crate::signal::{Reading, State};

use super::Page;

/// An invented flight of ten minutes: a run-up, a hover, a climb, a way, a descent; with a stretch that was not judged or
/// without.
fn profile(gap: bool) -> Arc<Profile> {
    let way = [
        (0.0, 0.0),
        (60.0, 0.0),
        (60.0, 0.22),
        (90.0, 0.22),
        (150.0, 0.85),
        (210.0, 0.80),
        (300.0, 1.0),
        (360.0, 0.97),
        (450.0, 0.93),
        (500.0, 0.24),
        (520.0, 0.22),
        (540.0, 0.22),
        (540.0, 0.0),
        (600.0, 0.0),
    ];
    let points = way.into_iter().filter(|(t, _)| !gap || !(210.0..360.0).contains(t));
    let point = |(time_s, level)| ProfilePoint { time_s, level, joined: time_s > 0.0 && !(gap && time_s == 360.0) };
    Arc::new(Profile { span_s: (0.0, 600.0), points: points.map(point).collect() })
}

/// All moments of one page are one: the strips differ in their flights.
const NOW_S: f64 = 330.0;

pub(super) fn page() -> Page {
    let state = PanelState { notice: Notice::Bare, session_s: NOW_S, ..PanelState::default() };
    let mut page = Page { state, ..Page::default() };
    let shows = |phase: Phase, since_s: f64, profile: Option<Arc<Profile>>| {
        let judged = Reading { value: None, state: State::Derived, age_s: 0.0 };
        let (hands, text) = match phase {
            Phase::NotJudged => (vec![Reading::INVALID], String::new()),
            phase => (vec![judged], phase.name().to_owned()),
        };
        let (note, since_s) = ("0:05:30".to_owned(), Some(since_s));
        InstrumentState { hands, text, note, profile, since_s, ..InstrumentState::default() }
    };
    let flight = |ends_s: f64| {
        let whole = profile(false);
        let span_s = (whole.span_s.0 + ends_s - 600.0, ends_s);
        let later = |p: &ProfilePoint| ProfilePoint { time_s: p.time_s + ends_s - 600.0, ..*p };
        Some(Arc::new(Profile { span_s, points: whole.points.iter().map(later).collect() }))
    };
    let nothing = Some(Arc::new(Profile { span_s: (0.0, 600.0), points: Vec::new() }));
    let late = InstrumentState { note: String::new(), ..shows(Phase::Cruise, 210.0, Some(profile(false))) };
    let rows = [
        (shows(Phase::Cruise, 210.0, Some(profile(false))), "CRUISE", "flown a line, ahead dots"),
        (shows(Phase::Hover, 270.0 + 60.0 - 10.0, flight(850.0)), "HOVER", "after the run-up"),
        (shows(Phase::Autorotation, 310.0, flight(460.0)), "AUTOROTATION", "the longest name"),
        (shows(Phase::OnGround, 282.0, flight(342.0)), "ON GROUND", "the flight is over"),
        (shows(Phase::NotJudged, 210.0, Some(profile(true))), "NOT JUDGED", "a gap, and words"),
        (shows(Phase::NotJudged, 0.0, flight(1000.0)), "BEFORE THE LOGS", "all of it ahead"),
        (shows(Phase::NotJudged, 0.0, nothing), "NOTHING JUDGED", "no line at all"),
        (late, "NO TIME", "a dash: it is not known"),
    ];
    for (i, (state, title, note)) in rows.into_iter().enumerate() {
        let at = (0.40 + 0.80 * (i % 2) as f64, 0.12 + 0.13 * (i / 2) as f64);
        let strip = Face::PhaseStrip(PhaseStrip { clock: Shows::Session, width_m: PhaseStrip::WIDTH_M });
        page.add_state(strip, DiscSize::M, at, state, (title, note));
    }
    let line = |severity, now, texts: [&str; 3]| {
        let [what, beyond, time] = texts.map(str::to_owned);
        BannerLine { severity, now, what, beyond, time }
    };
    let lines = [
        (line(Severity::Warning, true, ["ROTOR 89 %", "below 95", "for 4 s"]), "BANNER, WARNING", "octagon"),
        (
            line(Severity::Caution, true, ["FUEL 3.1 US gal", "below 4.0", "for 2 min 40 s"]),
            "BANNER, CAUTION",
            "points; a time with its units",
        ),
        (
            line(Severity::Advisory, true, ["OIL T 42 \u{b0}C", "below 45", "for 12 s"]),
            "BANNER, ADVISORY",
            "only if the owner wants it",
        ),
        (
            line(Severity::Caution, true, ["FUEL 4.3 US gal", "clears at 5.0", "for at least 3 min 2 s"]),
            "BACK INSIDE",
            "but not yet clear; a gap in its data",
        ),
        (line(Severity::Warning, false, ["EGT", "was above 720", "9 s old"]), "BANNER, DATA GONE", "age, no number"),
        (
            line(Severity::Warning, true, ["GEARBOX OIL T 112.5 \u{b0}C", "above 105.0", "for 12 min 40 s"]),
            "A LONG LINE",
            "is set smaller",
        ),
    ];
    for (i, (line, title, note)) in lines.into_iter().enumerate() {
        let at = (0.40 + 0.80 * (i % 2) as f64, 0.67 + 0.115 * (i / 2) as f64);
        page.labels.push(((at.0, at.1 + 0.050), title.into(), note));
        page.banners.push((at, line));
    }
    page
}
