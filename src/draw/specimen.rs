//! What an instrument shows when nothing was recorded: fixed values, so that its owner can judge it before the first flight.
//!
//! A hand stands on the lowest value of its scale, in the middle (by value) or on the highest. What has no scale takes round
//! values: an altimeter 0, 5000 and 9900 ft, a heading 0, 120 and 240 degrees, an attitude (-10, -30), level and (10, 30), a
//! tape without an end the first and the second length of its window, a tile 0, 50 and 100. A strip chart runs there from its
//! middle, a track is an oval, a phase strip a flight half done, a clock shows 12:34:56.

use std::f64::consts::TAU;
use std::sync::Arc;

use crate::panel::{Face, Panel, Tape};
use crate::readout::{
    AlertShown, GroundPoint, GroundTrack, InstrumentState, LampShown, LampWord, LampsState, Piece, Trace,
};
use crate::readout::{Profile, ProfilePoint};
use crate::signal::{Reading, State};

/// Where a specimen's hands stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stand {
    /// On the lowest value; lamps unlit.
    Lowest,
    /// In the middle; the first lamp of every subject lit.
    Middle,
    /// On the highest value; the last lamp of every subject lit, every limit passed.
    Highest,
    /// Nowhere.
    NoData,
}

impl Stand {
    pub const ALL: [Self; 4] = [Self::Lowest, Self::Middle, Self::Highest, Self::NoData];

    /// What is written under an instrument.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Lowest => "LOWEST",
            Self::Middle => "MIDDLE",
            Self::Highest => "HIGHEST",
            Self::NoData => "NO DATA",
        }
    }

    /// What is written under the lamps.
    pub const fn lamps_title(self) -> &'static str {
        match self {
            Self::Lowest => "UNLIT",
            Self::Middle => "LIT",
            Self::Highest => "LIMITS PASSED",
            Self::NoData => "NO DATA",
        }
    }

    /// The stands that differ on a face.
    pub fn of(face: &Face) -> &'static [Self] {
        match face {
            Face::Legend => &[Self::Middle],
            Face::Clock(_) | Face::Track(_) | Face::PhaseStrip(_) => &[Self::Middle, Self::NoData],
            _ => &Self::ALL,
        }
    }

    fn pick<T>(self, [low, middle, high]: [T; 3]) -> T {
        match self {
            Self::Lowest => low,
            Self::Middle | Self::NoData => middle,
            Self::Highest => high,
        }
    }
}

/// What a face shows.
pub(super) fn state(face: &Face, stand: Stand) -> InstrumentState {
    let count = face.hands().len();
    let note = face.note_at(0.0).unwrap_or_default().to_owned();
    if stand == Stand::NoData {
        return InstrumentState { hands: vec![Reading::INVALID; count], note, ..InstrumentState::default() };
    }
    let measured = |value| Reading { value: Some(value), state: State::Measured, age_s: 0.0 };
    let hands: Vec<Reading> = (0..count).map(|hand| measured(value(face, hand, stand))).collect();
    let mut shown = InstrumentState { note, ..InstrumentState::default() };
    match face {
        Face::Strip(strip) => {
            let (from, seconds) = (middle(strip.scale.ends()), strip.seconds);
            let trace = |to: &Reading| {
                let values = (from, to.value.unwrap_or(from));
                Arc::new(Trace { pieces: vec![Piece { span_s: (-seconds, 0.0), values, held: false }] })
            };
            shown.traces = hands.iter().map(trace).collect();
        }
        Face::Track(_) => shown.ground = Some(Arc::new(oval())),
        Face::Clock(_) => shown.text = "12:34:56".to_owned(),
        Face::PhaseStrip(_) => {
            (shown.text, shown.note) = ("CRUISE".to_owned(), "12:34:56".to_owned());
            (shown.profile, shown.since_s) = (Some(Arc::new(hop())), Some(-40.0));
        }
        _ => {}
    }
    InstrumentState { hands, ..shown }
}

/// What the row of lamps shows.
pub(super) fn lamps(panel: &Panel, stand: Stand) -> LampsState {
    let shown = |group: &Vec<usize>| match (stand, group.first(), group.last()) {
        (Stand::NoData, ..) => LampShown::Invalid,
        (Stand::Middle, Some(&first), _) => LampShown::Lit(first),
        (Stand::Highest, _, Some(&last)) => LampShown::Lit(last),
        _ => LampShown::Unlit,
    };
    let groups: Vec<LampShown> = panel.lamp_groups().iter().map(shown).collect();
    let word = |lamp| match stand {
        Stand::NoData => LampWord::Unknown,
        _ if groups.contains(&LampShown::Lit(lamp)) => LampWord::On,
        _ => LampWord::Off,
    };
    let recorded = (0..panel.lamps.len()).map(word).collect();
    let alert = match stand {
        Stand::NoData => AlertShown::Unknown,
        Stand::Highest => AlertShown::On,
        // A lit lamp whose limit is not passed would be a contradiction.
        Stand::Lowest | Stand::Middle => AlertShown::Waiting,
    };
    LampsState { alerts: vec![alert; panel.limits.len()], groups, recorded }
}

fn middle((low, high): (f64, f64)) -> f64 {
    (low + high) / 2.0
}

fn value(face: &Face, hand: usize, stand: Stand) -> f64 {
    let between = |ends: (f64, f64)| stand.pick([ends.0, middle(ends), ends.1]);
    if let Some(scale) = face.scale(hand) {
        return between(scale.ends());
    }
    match face {
        Face::Altimeter(_) => stand.pick([0.0, 5000.0, 9900.0]),
        Face::Heading(_) | Face::HeadingTape(_) | Face::Compass(_) => stand.pick([0.0, 120.0, 240.0]),
        Face::Attitude(_) => stand.pick([-1.0, 0.0, 1.0]) * if hand == 0 { 10.0 } else { 30.0 },
        Face::Controls(controls) => controls.present().nth(hand).map_or(0.0, |(_, control)| between(control.range)),
        Face::Slip(slip) => between(slip.range),
        Face::Tape(tape) => between(ends(tape)),
        _ => stand.pick([0.0, 50.0, 100.0]),
    }
}

/// The ends of a tape, or as much of it as its window shows twice.
fn ends(tape: &Tape) -> (f64, f64) {
    let finite = |end: f64| end.is_finite().then_some(end);
    match (finite(tape.ends.0), finite(tape.ends.1)) {
        (Some(low), Some(high)) => (low, high),
        (Some(low), None) => (low, low + 2.0 * tape.span),
        (None, Some(high)) => (high - 2.0 * tape.span, high),
        (None, None) => (0.0, 2.0 * tape.span),
    }
}

/// A flight of four minutes, half of it flown.
fn hop() -> Profile {
    let points = [(-120.0, 0.0), (-90.0, 0.0), (-40.0, 1.0), (60.0, 1.0), (100.0, 0.0), (120.0, 0.0)];
    let point = |(time_s, level)| ProfilePoint { time_s, level, joined: time_s > -120.0 };
    Profile { span_s: (-120.0, 120.0), points: points.map(point).to_vec() }
}

/// A way of two minutes.
fn oval() -> GroundTrack {
    let at = |second: i32| {
        let turn = TAU * f64::from(second + 120) / 130.0;
        GroundPoint { time_s: f64::from(second), at_m: (900.0 * turn.sin(), 450.0 * turn.cos()), joined: second > -120 }
    };
    GroundTrack::of((-120..=0).map(at).collect())
}
