//! One instrument of every kind, and what it shows for a reading.

use std::sync::Arc;

use jumpseat::panel::{Attitude, Clock, Control, Controls, DiscSize, Face, Marking, Panel, Shows, Side};
use jumpseat::panel::{Banner, PhaseStrip, Severity, Slip, Strip, StripTrace, Track};
use jumpseat::readout::{GroundPoint, GroundTrack, InstrumentState, Piece, Profile, ProfilePoint, Trace};
use jumpseat::signal::{Reading, State};

use super::{
    airspeed, altimeter, fuel_bar, heading, heading_tape, oil, reading, speed_tape, tachometer, vertical_speed,
};
use super::{gearbox, instrument, lamps, limits, volts};

/// Session time in seconds at which the kinds are drawn: strip chart and ground track show what came before.
pub const NOW_S: f64 = 30.0;

/// An instrument that stands for its kind.
pub struct Kind {
    pub name: &'static str,
    pub face: Face,
    /// The size that its plate usually has; discs come in all four.
    pub size: DiscSize,
    /// A usual value of each hand.
    pub values: Vec<f64>,
    /// Values below and above the scale of each hand, where it ends.
    pub beyond: Option<[Vec<f64>; 2]>,
    /// The least and the greatest that each hand's sensor can say: none for angles and places, which have no end.
    pub sensor: Option<[Vec<f64>; 2]>,
}

impl Kind {
    fn new(name: &'static str, face: Face, values: &[f64]) -> Self {
        Self { name, face, size: DiscSize::M, values: values.to_vec(), beyond: None, sensor: None }
    }

    fn ending(self, low: &[f64], high: &[f64]) -> Self {
        Self { beyond: Some([low.to_vec(), high.to_vec()]), ..self }
    }

    fn sensing(self, low: &[f64], high: &[f64]) -> Self {
        Self { sensor: Some([low.to_vec(), high.to_vec()]), ..self }
    }

    /// Whether it lies on a disc.
    pub fn is_round(&self) -> bool {
        match self.face {
            Face::Dial(_) | Face::Tachometer(_) | Face::VerticalSpeed(_) | Face::Altimeter(_) => true,
            Face::Pair(_) | Face::Heading(_) | Face::Compass(_) | Face::Attitude(_) => true,
            Face::Tile(_) | Face::Clock(_) | Face::Bar(_) | Face::HeadingTape(_) | Face::Tape(_) => false,
            Face::Strip(_) | Face::Controls(_) | Face::Slip(_) | Face::Track(_) => false,
            Face::PhaseStrip(_) | Face::Legend => false,
        }
    }

    /// Whether it shows a text, which has no number and can be no end of a sensor's range.
    pub fn is_text(&self) -> bool {
        matches!(self.face, Face::Clock(_) | Face::PhaseStrip(_)) || self.values.is_empty()
    }

    /// What it shows with these readings of its hands.
    pub fn shows(&self, hands: Vec<Reading>) -> InstrumentState {
        let mut shown = InstrumentState { hands, ..InstrumentState::default() };
        match &self.face {
            Face::Altimeter(_) => shown.note = self.face.note_at(0.0).unwrap_or_default().to_owned(),
            Face::Tile(_) | Face::Clock(_) if self.is_text() => {
                shown.hands.iter_mut().for_each(|hand| hand.value = None);
                shown.text = if matches!(self.face, Face::Clock(_)) { "14:03:22" } else { "118.005" }.to_owned();
            }
            Face::Strip(_) => shown.traces = shown.hands.iter().map(recorded).collect(),
            Face::Track(_) => shown.ground = Some(way()),
            Face::PhaseStrip(_) => {
                shown.hands.iter_mut().for_each(|hand| hand.value = None);
                shown.text = "CRUISE".to_owned();
                shown.note = "0:06:12".to_owned();
                shown.profile = Some(profile());
                shown.since_s = Some(12.0);
            }
            _ => {}
        }
        shown
    }

    /// Every hand in one state, at its usual value.
    pub fn all(&self, state: State, age_s: f64) -> InstrumentState {
        let hands = if self.values.is_empty() { &[0.0][..] } else { &self.values };
        self.shows(hands.iter().map(|&v| reading(v, state, age_s)).collect())
    }
}

/// One instrument of every kind that shows data. A new kind is one line here, and does not compile before it is in
/// [`kind_of`].
pub fn every_kind() -> Vec<Kind> {
    let about = |range| Some(Control { channel: "c".into(), range });
    let controls = Controls {
        collective: about((0.0, 100.0)),
        right: about((-100.0, 100.0)),
        forward: about((-100.0, 100.0)),
        pedals: about((-100.0, 100.0)),
    };
    let attitude = Attitude { pitch: "pitch".into(), bank: "bank".into() };
    let track = Track { latitude: "lat".into(), longitude: "lon".into() };
    let radio = jumpseat::panel::Tile { title: "COM 1".into(), unit: "MHz".into(), decimals: 0, ..volts() };
    let mut unfolded = tachometer();
    unfolded.scale.breakpoints = vec![(0.0, -220.0), (110.0, 22.0)];
    unfolded.scale.ticks.short = 2.0;
    unfolded.scale.numerals.retain(|n| n.0 != 90.0 && n.0 < 105.0);
    let dial = Kind::new("dial", Face::Dial(airspeed()), &[58.0]).ending(&[12.0], &[118.0]);
    let two_lines = Kind::new("dial, name of two lines", Face::Dial(gearbox()), &[74.0]).ending(&[-20.0], &[166.0]);
    let both = |name, of| Kind::new(name, Face::Tachometer(of), &[101.0, 99.0]).ending(&[-1.0; 2], &[126.0; 2]);
    let climb =
        Kind::new("vertical speed", Face::VerticalSpeed(vertical_speed()), &[350.0]).ending(&[-2350.0], &[2350.0]);
    let pair = Kind::new("pair", Face::Pair(oil()), &[52.0, 78.0]).ending(&[-3.0, -20.0], &[112.0, 166.0]);
    let strip = Kind::new("strip", strip(&["EGT"], temperature_limits()), &[560.0]).ending(&[420.0], &[760.0]);
    let phases = PhaseStrip { clock: Shows::Session, width_m: PhaseStrip::WIDTH_M };
    let clock = Clock { shows: Shows::Utc, title: "UTC".into() };
    vec![
        dial.sensing(&[30.0], &[100.0]),
        two_lines.sensing(&[10.0], &[140.0]),
        Kind::new("tile", Face::Tile(volts()), &[27.9]).sensing(&[20.0], &[32.0]),
        Kind::new("tile with a text", Face::Tile(radio), &[]),
        both("tachometer", tachometer()).sensing(&[60.0; 2], &[110.0; 2]),
        both("tachometer, unfolded", unfolded).sensing(&[60.0; 2], &[110.0; 2]),
        climb.sensing(&[-1500.0], &[1500.0]),
        Kind::new("altimeter", Face::Altimeter(altimeter()), &[2340.0]).sensing(&[0.0], &[10_300.0]),
        Kind::new("bar", Face::Bar(fuel_bar()), &[13.4]).ending(&[-1.0], &[22.5]).sensing(&[2.0], &[18.0]),
        pair.sensing(&[5.0, 10.0], &[90.0, 140.0]),
        Kind::new("heading", Face::Heading(heading()), &[284.0]),
        Kind::new("compass", Face::Compass(heading()), &[284.0]),
        Kind::new("heading tape", Face::HeadingTape(heading_tape()), &[284.0]),
        Kind { size: DiscSize::L, ..Kind::new("tape", Face::Tape(speed_tape()), &[58.0]).sensing(&[30.0], &[100.0]) },
        Kind::new("clock", Face::Clock(clock), &[]),
        strip.sensing(&[480.0], &[740.0]),
        Kind::new("attitude", Face::Attitude(attitude), &[6.0, -12.0]),
        Kind::new("controls", Face::Controls(controls), &[58.0, -30.0, 20.0, 10.0])
            .sensing(&[5.0, -90.0, -90.0, -90.0], &[95.0, 90.0, 90.0, 90.0]),
        Kind::new("slip", Face::Slip(Slip { channel: "g".into(), range: (-0.2, 0.2) }), &[0.06])
            .sensing(&[-0.15], &[0.15]),
        Kind::new("track", Face::Track(track), &[47.0, 8.0]),
        Kind::new("phase strip", Face::PhaseStrip(phases), &[]),
    ]
}

/// The kinds that show data.
pub const KINDS: [&str; 18] = [
    "dial",
    "tile",
    "tachometer",
    "vertical speed",
    "altimeter",
    "bar",
    "pair",
    "heading",
    "heading tape",
    "tape",
    "clock",
    "strip",
    "attitude",
    "controls",
    "slip",
    "track",
    "phase strip",
    "compass",
];

/// The place in [`KINDS`] of a face; none for a card that shows no data.
pub const fn kind_of(face: &Face) -> Option<usize> {
    Some(match face {
        Face::Dial(_) => 0,
        Face::Tile(_) => 1,
        Face::Tachometer(_) => 2,
        Face::VerticalSpeed(_) => 3,
        Face::Altimeter(_) => 4,
        Face::Bar(_) => 5,
        Face::Pair(_) => 6,
        Face::Heading(_) => 7,
        Face::HeadingTape(_) => 8,
        Face::Tape(_) => 9,
        Face::Clock(_) => 10,
        Face::Strip(_) => 11,
        Face::Attitude(_) => 12,
        Face::Controls(_) => 13,
        Face::Slip(_) => 14,
        Face::Track(_) => 15,
        Face::PhaseStrip(_) => 16,
        Face::Compass(_) => 17,
        Face::Legend => return None,
    })
}

/// Panics for a kind that is not among these.
pub fn assert_complete(kinds: &[Kind]) {
    for (i, name) in KINDS.iter().enumerate() {
        assert!(kinds.iter().any(|kind| kind_of(&kind.face) == Some(i)), "no {name} among the kinds");
    }
}

/// A strip chart of temperatures over half a minute.
pub fn strip(names: &[&str], markings: Vec<Marking>) -> Face {
    let trace = |name: &&str| StripTrace { channel: (*name).into(), name: (*name).into() };
    Face::Strip(Strip {
        traces: names.iter().map(trace).collect(),
        title: "EGT".into(),
        unit: "\u{b0}C".into(),
        decimals: 0,
        seconds: 30.0,
        scale: Strip::scale(450.0, 750.0),
        markings,
    })
}

pub fn temperature_limits() -> Vec<Marking> {
    vec![
        Marking::Normal { from: 460.0, to: 650.0 },
        Marking::Precaution { from: 650.0, to: 710.0 },
        Marking::Limit { at: 710.0 },
    ]
}

/// Ten records a second up to 30 s, level but for a peak of a single record at 12 s; those from `lost` on are missing but for
/// one second in which the last is held.
pub fn trace(level: f64, lost: f64) -> Arc<Trace> {
    let value = |i: i32| level + if i == 120 { 100.0 } else { 2.0 * (f64::from(i) / 20.0).sin() };
    let recorded = (0..300).filter(|&i| f64::from(i) < 10.0 * lost).map(|i| Piece {
        span_s: (f64::from(i) / 10.0, f64::from(i + 1) / 10.0),
        values: (value(i), value(i + 1)),
        held: false,
    });
    let last = value((10.0 * lost) as i32);
    let kept = Piece { span_s: (lost, lost + 1.0), values: (last, last), held: true };
    Arc::new(Trace { pieces: recorded.chain((lost < 30.0).then_some(kept)).collect() })
}

/// The trace that led to a reading.
fn recorded(reading: &Reading) -> Arc<Trace> {
    let Some(level) = reading.value else { return Arc::default() };
    match reading.state {
        State::Held | State::Stale => trace(level, NOW_S - reading.age_s),
        State::Invalid => Arc::default(),
        _ => trace(level, NOW_S),
    }
}

/// A point a second: a bow with a gap of ten seconds, then straight on to the east, half a minute into what is still to come.
pub fn way() -> Arc<GroundTrack> {
    let at = |t: f64| (30.0 * t, if t < 0.0 { 600.0 * (t / 60.0).sin() } else { 0.0 });
    let times = (-240..=60).map(f64::from).filter(|t| !(-100.0..-90.0).contains(t));
    let points = times.map(|t| GroundPoint { time_s: t, at_m: at(t), joined: t > -240.0 && t != -90.0 });
    Arc::new(GroundTrack::of(points.collect()))
}

/// A flight of a minute: the ground, a hover, up, and down again.
pub fn profile() -> Arc<Profile> {
    let points =
        [(0.0, 0.0), (6.0, 0.0), (6.0, 0.22), (9.0, 0.22), (15.0, 0.9), (45.0, 1.0), (54.0, 0.22), (60.0, 0.22)];
    let point = |(time_s, level)| ProfilePoint { time_s, level, joined: time_s > 0.0 };
    Arc::new(Profile { span_s: (0.0, 60.0), points: points.map(point).to_vec() })
}

/// A frame of this size has room for every kind, a legend, the row of lamps, the banner and the notice.
pub const WIDE: (u32, u32) = (2304, 480);

/// All of them on one panel, in the order of [`every_kind`], the legend last.
pub fn whole_panel() -> Panel {
    let faces = every_kind().into_iter().map(|kind| (kind.name, kind.face));
    let instruments = faces.enumerate().map(|(i, (name, face))| {
        let (column, row) = ((i % 7) as f64, (i / 7) as f64);
        instrument(name, face, DiscSize::S, Side::Left, 0.29 + 0.57 * column, 0.38 + 0.185 * row)
    });
    // The card is higher than a row, and stands beside them.
    let legend = instrument("legend", Face::Legend, DiscSize::S, Side::Left, 4.35, 0.50);
    let instruments = instruments.chain([legend]);
    Panel {
        instruments: instruments.collect(),
        lamps: lamps(),
        limits: limits(),
        banner: Some(Banner { least: Severity::Caution }),
        ..Panel::default()
    }
}
