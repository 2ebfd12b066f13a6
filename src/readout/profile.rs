//! The flight as one line: on the ground, in a hover, and on its way as high as it was.

use crate::judge::{Phase, Phases};
use crate::panel::PhaseRules;
use crate::session::{ChannelId, Session};
use crate::signal::Cursor;
use crate::time::SessionTime;
use crate::units::Unit;

/// Level of a hover and of slow flight near the ground; the ground is 0, the greatest height of the flight 1.
const HOVER: f64 = 0.22;
/// Heights are looked at so many times in the whole session: no strip has more pixels that could tell them apart.
const SAMPLES: f64 = 512.0;

/// The profile of a whole session.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Profile {
    /// First and last session time in seconds.
    pub span_s: (f64, f64),
    /// In the order of time.
    pub points: Vec<ProfilePoint>,
}

/// A point of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProfilePoint {
    /// Session time in seconds.
    pub time_s: f64,
    /// 0 on the ground, 1 at the greatest height.
    pub level: f64,
    /// Whether a line leads here from the point before: not where the phase was not judged.
    pub joined: bool,
}

impl Profile {
    /// The line of the judged phases: flat on the ground and in a hover, by the recorded height on the way. Without a height the
    /// way is all at 1.
    pub(super) fn new(session: &Session, rules: &PhaseRules, phases: &Phases) -> Self {
        let (first, last) = session.span();
        let span_s = (first.0, last.0);
        let mut height = Height::new(session, rules);
        let step = (span_s.1 - span_s.0) / SAMPLES;
        let turns = phases.line.turns();
        let mut points: Vec<ProfilePoint> = Vec::new();
        let mut known = false;
        for (i, &(from, phase)) in turns.iter().enumerate() {
            let to = turns.get(i + 1).map_or(span_s.1, |next| next.0).min(span_s.1);
            let from = from.max(span_s.0);
            if phase == Phase::NotJudged || to <= from {
                known &= to <= from;
                continue;
            }
            let count = if is_flat(phase) { 1.0 } else { ((to - from) / step).ceil().max(1.0) };
            for n in 0..=count as usize {
                let time_s = from + (to - from) * n as f64 / count;
                let level = match phase.on_ground() {
                    Some(true) => 0.0,
                    _ if is_flat(phase) => HOVER,
                    // A height that is not known for a moment is the last one that was.
                    _ => height.at(time_s).or(points.last().map(|p| p.level).filter(|_| known)).unwrap_or(1.0),
                };
                points.push(ProfilePoint { time_s, level, joined: known });
                known = true;
            }
        }
        Self { span_s, points }
    }

    /// Where on the line a moment lies; none outside the session and where the phase was not judged.
    pub fn level_at(&self, time_s: f64) -> Option<f64> {
        let after = self.points.partition_point(|point| point.time_s <= time_s);
        let here = self.points.get(after.checked_sub(1)?)?;
        match self.points.get(after) {
            Some(next) if next.joined && next.time_s > here.time_s => {
                let share = (time_s - here.time_s) / (next.time_s - here.time_s);
                Some(here.level + (next.level - here.level) * share)
            }
            _ => (here.time_s == time_s).then_some(here.level),
        }
    }
}

fn is_flat(phase: Phase) -> bool {
    phase.on_ground() == Some(true) || matches!(phase, Phase::Hover | Phase::HoverTaxi | Phase::AirTaxi)
}

/// Height above the field over that of the flight's highest point.
struct Height<'s> {
    session: &'s Session,
    /// Channel, its unit and feet, and the field.
    from: Option<(ChannelId, &'static Unit, &'static Unit, f64)>,
    greatest: f64,
    cursor: Cursor,
}

impl<'s> Height<'s> {
    fn new(session: &'s Session, rules: &PhaseRules) -> Self {
        let bound = || {
            let id = session.find(rules.channels.altitude.as_deref()?)?;
            let channel = session.channel(id)?;
            let (unit, feet) = (Unit::parse(channel.unit.as_deref()?).ok()?, Unit::parse("ft").ok()?);
            let highest = unit.convert(channel.range()?.1, feet).ok()?;
            let field = rules.field_ft?;
            Some((id, unit, feet, field, highest - field))
        };
        let found = bound().filter(|found| found.4 > 0.0);
        let from = found.map(|(id, unit, feet, field, _)| (id, unit, feet, field));
        Self { session, from, greatest: found.map_or(1.0, |found| found.4), cursor: Cursor::default() }
    }

    fn at(&mut self, time_s: f64) -> Option<f64> {
        let (id, unit, feet, field) = self.from?;
        let altitude = self.session.reading(id, SessionTime(time_s), &mut self.cursor).number()?;
        let share = (unit.convert(altitude, feet).ok()? - field) / self.greatest;
        Some(HOVER + (1.0 - HOVER) * share.clamp(0.0, 1.0))
    }
}
