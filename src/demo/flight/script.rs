//! The flight's script: when what happens, on a timetable of 600 seconds that is compressed or stretched.

use super::chance::Chance;
use super::curve::Curve;

/// Length of the timetable in seconds; shorter flights are compressed.
pub(super) const FULL_S: f64 = 600.0;
/// Where in the timetable a longer flight cruises on.
const STRETCH_AT: f64 = 290.0;

/// From when to when, on the timetable.
pub(super) type Span = (f64, f64);

// Spans that more than one file of this room needs.
pub(super) const ENGINE_START: Span = (20.0, 48.0);
pub(super) const CLUTCH_ENGAGING: Span = (62.0, 92.0);
pub(super) const RUN_UP: Span = (102.0, 140.0);
pub(super) const LIFT_OFF: Span = (140.0, 145.0);
pub(super) const HOVER: Span = (145.0, 165.0);
pub(super) const CLIMB: Span = (165.0, 250.0);
pub(super) const CRUISE: Span = (250.0, 350.0);
pub(super) const DROOP: Span = (310.0, 325.0);
pub(super) const AUTOROTATION: Span = (350.0, 383.0);
pub(super) const SLIPPING: Span = (430.0, 440.0);
pub(super) const CHIP: Span = (455.0, 461.0);
pub(super) const DROP_OUT: Span = (468.0, 480.0);
pub(super) const DESCENT: Span = (485.0, 530.0);
pub(super) const LANDING: Span = (545.0, 550.0);
pub(super) const CLUTCH_LEAVING: Span = (570.0, 576.0);
/// From fuel cut-off.
pub(super) const RUN_DOWN: Span = (566.0, 598.0);
/// Light-off, seen by the pilot and used as the first mark.
pub(super) const LIGHT_OFF: f64 = 25.0;

/// The timetable laid onto true time.
#[derive(Debug, Clone, Copy)]
pub(super) struct Script {
    /// True time at which the timetable starts: until then the engine logger records a cold engine.
    lead_s: f64,
    /// True seconds for one second of the timetable, 1 at most.
    pub pace: f64,
    /// Seconds of cruise added at `STRETCH_AT`.
    added_s: f64,
}

impl Script {
    pub fn new(seconds: f64, chance: &mut Chance) -> Self {
        let pace = (seconds / FULL_S).min(1.0);
        Self { lead_s: chance.between(12.0, 32.0), pace, added_s: (seconds - FULL_S).max(0.0) }
    }

    /// True time of a moment of the timetable, in seconds.
    pub fn time(&self, moment: f64) -> f64 {
        self.lead_s + self.pace * moment + if moment > STRETCH_AT { self.added_s } else { 0.0 }
    }

    /// True times of a span's ends.
    pub fn span(&self, (from, to): Span) -> Span {
        (self.time(from), self.time(to))
    }

    /// True time of the end.
    pub fn end(&self) -> f64 {
        self.time(FULL_S)
    }

    /// Whether a true time lies in a span of the timetable, its end not included.
    pub fn within(&self, span: Span, t: f64) -> bool {
        let (from, to) = self.span(span);
        (from..to).contains(&t)
    }

    /// A curve over true time from keys on the timetable.
    pub fn curve(&self, keys: &[(f64, f64)]) -> Curve {
        Curve::new(keys.iter().map(|&(moment, value)| (self.time(moment), value)).collect())
    }
}
