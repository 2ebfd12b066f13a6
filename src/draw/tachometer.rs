//! The tachometer: rotor and engine speed in percent on one dial, so that a difference is seen before it is read.
//!
//! Hands: rotor (first reading) and engine (second), two half leaves of one leaf. Each has its own data state: measured,
//! derived (with an eye), held (planks), stale (dashed), invalid (none), sensor saturated (hollow), beyond the scale (parked).
//! Up to 1.5 % apart they are joined by a dark seam, beyond it a neutral hatched sector lies between them: whether a
//! difference is a practice or a danger is not for this face to say. The rotor's markings stand on the outer lane, the
//! engine's on the inner one. Of a rotor's two sets of limits, solid with power on and hollow with power off, the one that is
//! not in force is dim.

use crate::panel::{DiscSize, Marking, OffScale, Power, Scale, Severity, Tachometer, UsualRange};
use crate::readout::{Drive, InstrumentState, PanelState};
use crate::signal::{Reading, State};

use super::advice::Form;
use super::chips;
use super::dial::no_data;
use super::face::{Face, Ground};
use super::hands::Pivot;
use super::lamp;
use super::lanes::{self, Lane, Strength};
use super::leaves::{Between, Leaf, LeafPair, Leaves};
use super::marks;
use super::part::{Alarm, Chip, Frame, Part, RowValue, StateKey, ValueInk};
use super::path::{Path, Point, polar};
use super::round;
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::{Palette, Rgba};
use super::words;

/// Where the ticks end: two lanes lie outside them.
const REACH: f64 = 0.862;
/// Each hand reaches to its own lane.
const TIPS: (f64, f64) = (0.926, 0.862);
const ROTOR_LANE: Lane =
    Lane { middle: 0.962, band: 0.034, blocks: 0.046, limit: [0.928, 0.972, 0.998], head: 0.058, tip: 0.926 };
const ENGINE_LANE: Lane =
    Lane { middle: 0.892, band: 0.024, blocks: 0.034, limit: [0.742, 0.892, 0.918], head: 0.036, tip: 0.862 };
/// The hands move in steps of this many pixels at the longer one's tip.
const STEP_PX: f64 = 0.25;
/// Up to this difference in percent the halves are joined.
const JOINED: f64 = 1.5;
/// Hands further apart than this, or further from twelve, have no letters beside them.
const LETTERS_WITHIN: (f64, f64) = (120.0, 100.0);
/// Em of the values over that of a dial's value, and of a chip's text over that.
const ROW_EM: f64 = 0.70;
const ROW_CHIP: f64 = 0.60;
/// Angle of the lane letters, em, and the space between them and the first marking.
const LANE_LETTERS: (f64, f64, f64) = (-71.0, 0.108, 7.0);
/// Where that would be further than this from the first marking, the letters stand so far before it.
const HAIRS: (f64, f64) = (90.0, 50.0);
/// Where the badge stands, in radii below the middle, and its ems: to be known, and graver.
const BADGE_Y: f64 = 0.845;
const BADGES: (f64, f64) = (0.130, 0.168);
/// A scale with a narrower gap, in degrees, leaves no room at all: its numerals make way for the values at the foot.
const NARROW: f64 = 70.0;

/// Where the scale leaves room for the values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Room {
    /// At the foot, at its right or its left.
    Foot,
    FootLeft,
    Right,
    Left,
    /// Nowhere: at the foot nevertheless.
    None,
}

impl Room {
    fn of(scale: &Scale) -> Self {
        match scale.gap() {
            (_, width) if width < NARROW => Self::None,
            (45.0..135.0, _) => Self::Right,
            (135.0..=180.0, _) => Self::Foot,
            (180.0..225.0, _) => Self::FootLeft,
            (225.0..315.0, _) => Self::Left,
            _ => Self::None,
        }
    }

    /// Middle of the two values and of the name, in radii, and em of the values over a dial's.
    const fn rows(self) -> ([Point; 3], f64) {
        match self {
            Self::Foot | Self::None => ([(0.14, 0.335), (0.14, 0.575), (0.0, 0.81)], ROW_EM),
            Self::FootLeft => ([(-0.02, 0.335), (-0.02, 0.575), (0.0, 0.81)], ROW_EM),
            Self::Right => ([(0.47, -0.20), (0.47, 0.015), (0.50, 0.25)], 0.62),
            Self::Left => ([(-0.30, -0.20), (-0.30, 0.015), (-0.42, 0.25)], 0.62),
        }
    }

    /// Half the width and the upper edge, in radii, of what numerals must leave alone.
    const fn taken(self) -> &'static [(f64, f64)] {
        match self {
            Self::None => &[(0.42, 0.20)],
            _ => &[],
        }
    }
}

/// A tachometer in its place.
#[derive(Debug, Clone)]
pub(super) struct TachometerFace {
    both: Tachometer,
    pivot: Pivot,
    hands: LeafPair,
    sizes: Sizes,
    palette: &'static Palette,
    step_deg: f64,
    room: Room,
    /// Middle of the two values and of the name, in radii.
    rows: [Point; 3],
    row_em: f64,
}

impl TachometerFace {
    pub fn new(both: &Tachometer, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        let step_deg = (STEP_PX / (TIPS.0 * sizes.r)).to_degrees();
        let room = Room::of(&both.scale);
        let (rows, share) = room.rows();
        Self {
            both: both.clone(),
            pivot,
            hands: LeafPair::new(pivot, REACH, TIPS, step_deg),
            sizes,
            palette,
            step_deg,
            room,
            rows,
            row_em: (share * sizes.value).max(SMALLEST_EM),
        }
    }

    /// All that stands on either lane.
    fn lanes(&self) -> [(Lane, Vec<Marking>); 2] {
        let Tachometer { rotor_markings, rotor_by_power: sets, engine_markings, .. } = &self.both;
        [(ROTOR_LANE, [&**rotor_markings, &sets.on, &sets.off].concat()), (ENGINE_LANE, engine_markings.clone())]
    }

    /// R and E at the head of their lanes, with a hair to the first marking.
    fn lane_letters(&self, scene: &mut Scene) {
        let (degrees, em, space) = LANE_LETTERS;
        let (setting, sense) = (self.palette.setting(em * self.pivot.r), self.both.scale.sense());
        // Too small to read, the letters would only be dirt on the rim.
        if setting.em < 0.7 * SMALLEST_EM {
            return;
        }
        let lanes = self.lanes();
        // Counted the way the scale runs, so that the letters always come first.
        let angle = |marking: &Marking| sense * self.both.scale.angle(marking.ends().0);
        let first = lanes.each_ref().map(|(_, markings)| markings.iter().map(angle).reduce(f64::min));
        let (far, before) = HAIRS;
        let earliest = first.into_iter().flatten().reduce(f64::min).unwrap_or(degrees);
        let degrees = if earliest - degrees > far { earliest - before } else { degrees.min(earliest - space) };
        let letters = [("R", self.palette.ink), ("E", self.palette.hand2)];
        for (((lane, _), first), (text, colour)) in lanes.into_iter().zip(first).zip(letters) {
            let Some(first) = first else { continue };
            let (centre, r) = (self.pivot.centre, lane.middle * self.pivot.r);
            if first - 2.0 > degrees + 4.5 {
                let hair = Path::arc(centre, r, sense * (degrees + 4.5), sense * (first - 2.0));
                scene.stroke(hair, 0.006 * self.pivot.r, self.palette.ink2.at(0.45));
            }
            let run = [Run { text, weight: Weight::Bold, colour }];
            setting.draw(scene, &run, polar(centre, r, sense * degrees), Some(marks::passed(self.palette)));
        }
    }

    /// Both sets of the rotor's markings, the one in force in full.
    fn draw_sets(&self, in_force: Option<Power>) -> Scene {
        let mut scene = Scene::default();
        let sets = &self.both.rotor_by_power;
        let (on, off) = (&sets.on[..], &sets.off[..]);
        let (solid, hollow) = (Strength::full(false), Strength::full(true));
        let dim = |look: Strength| Strength { ink: Strength::DIM, ..look };
        let bare = |look: Strength| Strength { edge: 0.0, ..look };
        let sets = match in_force {
            None => vec![(off, hollow), (on, solid)],
            Some(Power::On) => vec![(off, dim(hollow)), (on, solid)],
            // The edges of the hairs would hide a dim band: it lies on them, and the hairs on it.
            Some(Power::Off) => {
                vec![(on, Strength { ink: 0.0, ..solid }), (off, hollow), (on, bare(dim(solid))), (off, bare(hollow))]
            }
        };
        lanes::sets(&mut scene, self.pivot, &self.both.scale, ROTOR_LANE, &sets, self.palette);
        scene
    }

    /// Where a hand stands; beyond the last mark it is parked past it.
    fn angle(&self, value: f64) -> f64 {
        let scale = &self.both.scale;
        scale.angle(value) + if scale.place(value) == OffScale::High { scale.parked() } else { 0.0 }
    }

    /// Nothing is said of a difference unless both values are of this moment, or nearly so.
    fn between(&self, both: [Reading; 2], angles: [Option<f64>; 2]) -> Between {
        let known = |r: Reading| matches!(r.state, State::Measured | State::Derived | State::Held);
        let ([Some(rotor), Some(engine)], true) = (both.map(|r| r.value), both.into_iter().all(known)) else {
            return Between::Nothing;
        };
        if (rotor - engine).abs() <= JOINED {
            return Between::Seam;
        }
        // The values of a full scale stand there, and in the short tail of a folded one the hands lie too close.
        let tail = match &self.both.scale.breakpoints[..] {
            [_, hinge, _, ..] => hinge.0,
            _ => f64::NEG_INFINITY,
        };
        let (apart, aside) = LETTERS_WITHIN;
        let near = angles[0].zip(angles[1]).is_some_and(|(a, b)| {
            let high = |angle: f64| ((angle + 180.0).rem_euclid(360.0) - 180.0).abs() <= aside;
            (a - b).abs() <= apart && high(a) && high(b)
        });
        let room = !matches!(self.room, Room::Right | Room::Left);
        Between::Sector { letters: room && near && rotor >= tail && engine >= tail }
    }

    /// What the difference is called, and what it does to the rim. The words say who is ahead; the colour goes by the rule.
    fn badge(&self, state: &InstrumentState, both: [Reading; 2]) -> Option<(Chip, Option<Alarm>)> {
        let [Some(rotor), Some(engine)] = both.map(|r| r.value) else { return None };
        let apart = words::number((rotor - engine).abs(), 0);
        let (text, short, frame) = match state.drive {
            Drive::NotJudged | Drive::Together | Drive::Apart => return None,
            Drive::RotorAhead => (format!("ROTOR AHEAD +{apart} %"), format!("R +{apart} %"), Frame::Pill),
            Drive::Slipping => {
                let frame = match self.both.drive.as_ref()?.severity {
                    Severity::Warning => Frame::Plate(Alarm::Warning),
                    Severity::Caution => Frame::Plate(Alarm::Caution),
                    Severity::InTransit | Severity::Advisory | Severity::Normal => Frame::Pill,
                };
                (format!("SLIPPING {apart} %"), format!("SLIP {apart} %"), frame)
            }
        };
        let alarm = if let Frame::Plate(alarm) = frame { Some(alarm) } else { None };
        Some((Chip { text, short, frame, arrow: None, at_hub: false }, alarm))
    }

    /// Over the lower rim, with the tab of what was computed at its right.
    fn draw_badge(&self, scene: &mut Scene, chip: &Chip) {
        let r = self.pivot.r;
        let em = if matches!(chip.frame, Frame::Plate(_)) { BADGES.1 } else { BADGES.0 } * r;
        let room = 1.84 * r;
        let centre = self.pivot.at((0.0, BADGE_Y));
        chips::draw(scene, chip, centre, em, room, self.palette);
        let right = centre.0 + chips::width(chip, em, room, self.palette) / 2.0;
        lamp::tab_at(scene, (right - 0.22 * r, centre.1 + 0.155 * r), 0.100 * r, 0.009 * r, self.palette);
    }

    fn row(&self, row: u8, reading: Reading) -> Part {
        let value = states::on_scale(reading, &self.both.scale, self.both.decimals);
        let (tag, short) = match reading.state {
            State::Held => (words::held(reading.age_s), "held"),
            State::Derived => ("calc".to_owned(), "calc"),
            _ => (String::new(), ""),
        };
        Part::Row { row, value, tag, short: short.to_owned() }
    }

    /// Letter, value and tag; figures stand under figures.
    fn draw_row(&self, scene: &mut Scene, row: u8, value: &RowValue, tags: [&str; 2]) {
        let (letter, colour) = if row == 0 { ("R", self.palette.ink) } else { ("E", self.palette.hand2) };
        let place = self.rows[usize::from(row)];
        let (middle, setting) = (self.pivot.at(place), self.palette.setting(self.row_em));
        let bold = |text, colour| [Run { text, weight: Weight::Bold, colour }];
        let full = words::number(self.both.scale.ends().1, self.both.decimals);
        let widest = setting.width(&bold(&full, colour));
        let casing = Some(marks::plain(self.palette));
        let left = middle.0 - widest / 2.0;
        let small = self.palette.setting((0.82 * self.row_em).max(SMALLEST_EM));
        small.draw(scene, &bold(letter, colour), (left - 0.55 * self.row_em, middle.1), casing);
        match value {
            RowValue::Plain { text, ink } => {
                let (share, colour) = match ink {
                    ValueInk::Full => (1.0, colour),
                    ValueInk::Dim => (1.0, self.palette.ink2),
                    ValueInk::Beyond => (0.80, colour),
                    ValueInk::BeyondDim => (0.80, self.palette.ink2),
                };
                let setting = self.palette.setting((share * self.row_em).max(SMALLEST_EM));
                let run = bold(text, colour);
                let x = middle.0 + (widest - setting.width(&run)) / 2.0;
                setting.draw(scene, &run, (x, middle.1), casing);
            }
            RowValue::Chip(chip) => {
                let em = (ROW_CHIP * self.row_em).max(SMALLEST_EM);
                // From the letter, which must stay legible, to the rim.
                let from = left - 0.08 * self.row_em;
                let room = self.pivot.centre.0 + super::dial_layout::chord(place.1, em, self.pivot.r) - from;
                let half = chips::width(chip, em, room, self.palette) / 2.0;
                let x = (from + half).max(middle.0);
                chips::draw(scene, chip, (x, middle.1), em, room, self.palette);
            }
        }
        self.draw_row_tag(scene, (middle.0 + widest / 2.0, place.1), tags);
    }

    /// Right of the value, as much of the tag as the disc has room for.
    fn draw_row_tag(&self, scene: &mut Scene, (right, y): Point, tags: [&str; 2]) {
        let em = (0.115 * self.pivot.r).max(SMALLEST_EM);
        let gap = 0.06 * self.pivot.r;
        let room = self.pivot.at((0.0, 0.0)).0 + super::dial_layout::chord(y, em, self.pivot.r) - right - gap;
        for text in tags.into_iter().filter(|tag| !tag.is_empty()) {
            let run = [Run { text, weight: Weight::Bold, colour: self.palette.cyan }];
            let setting = self.palette.setting(em).fitted(&run, room);
            if setting.em >= SMALLEST_EM {
                let x = right + gap + setting.width(&run) / 2.0;
                let y = self.pivot.at((0.0, y)).1;
                setting.draw(scene, &run, (x, y), Some(marks::passed(self.palette)));
                return;
            }
        }
    }

    fn draw_name(&self, scene: &mut Scene, unit: bool, tag: &str) {
        let second: (&str, Weight, Rgba) = if unit {
            (Tachometer::UNIT, Weight::Regular, self.palette.ink2)
        } else {
            (tag, Weight::Bold, self.palette.cyan)
        };
        let runs = [
            Run { text: &self.both.title, weight: Weight::Bold, colour: self.palette.ink },
            Run { text: second.0, weight: second.1, colour: second.2 },
        ];
        // A tag stands alone: with the name it would be too small.
        let runs = if unit { &runs[..] } else { &runs[1..] };
        let place = self.rows[2];
        let em = self.sizes.name.max(SMALLEST_EM);
        let room = 2.0 * (super::dial_layout::chord(place.1, em, self.pivot.r) - place.0 * self.pivot.r);
        let setting = self.palette.setting(em).fitted(runs, room);
        if setting.em >= 0.9 * SMALLEST_EM {
            setting.draw(scene, runs, self.pivot.at(place), Some(marks::plain(self.palette)));
        }
    }
}

impl Face for TachometerFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::disc(&mut scene, self.pivot, self.palette);
        let lanes = [(ROTOR_LANE, &self.both.rotor_markings[..]), (ENGINE_LANE, &self.both.engine_markings[..])];
        self.lane_letters(&mut scene);
        lanes::scale(&mut scene, self.pivot, &self.both.scale, REACH, &lanes, self.palette);
        scene
    }

    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        marks::numerals(&mut scene, self.pivot, self.sizes, &self.both.scale, REACH, self.room.taken(), self.palette);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = |i: usize| {
            let reading = state.hands.get(i).copied().unwrap_or(Reading::INVALID);
            Reading { value: reading.value.filter(|v| v.is_finite()), ..reading }
        };
        let both = [reading(0), reading(1)];
        let two_sets = !self.both.rotor_by_power.is_empty();
        let sets: StateKey = two_sets.then(|| Part::Sets(state.drive.power())).into_iter().collect();
        if both.iter().all(|r| r.state != State::Stale && (r.state == State::Invalid || r.value.is_none())) {
            let chip = Chip { at_hub: true, ..no_data() };
            let name = Part::Name { unit: true, tag: String::new() };
            return sets.into_iter().chain([Part::Cross, Part::Chip(chip), name]).collect();
        }
        let angles = both.map(|r| r.value.filter(|_| r.state != State::Invalid).map(|v| self.angle(v)));
        let sense = self.both.scale.sense();
        let leaf = |i: usize| {
            let steps = (angles[i]? / self.step_deg).round() as i32;
            Some(Leaf { style: states::style(both[i].state), steps })
        };
        let (rotor, engine) = (both[0].value, both[1].value);
        let leaves = Leaves {
            rotor: leaf(0),
            engine: leaf(1),
            rotor_clockwise: rotor.zip(engine).is_none_or(|(rotor, engine)| rotor >= engine) == (sense > 0.0),
            between: self.between(both, angles),
        };
        let mut key = sets;
        key.extend([Part::Leaves(leaves), Part::Hub]);
        key.extend((0u8..).zip(both).map(|(row, reading)| self.row(row, reading)));
        let saturated = both.map(|r| match r.state {
            State::SaturatedLow => "SENSOR MIN",
            State::SaturatedHigh => "SENSOR MAX",
            _ => "",
        });
        let tag = match saturated {
            ["", tag] | [tag, ""] => tag,
            [a, b] if a == b => a,
            _ => "SENSORS",
        };
        let badge = self.badge(state, both);
        // The graver of a passed limit and of slipping; the badge lies over the rim.
        let slipping = badge.as_ref().and_then(|(_, alarm)| *alarm);
        let alarms = [states::alarm(state), slipping].into_iter().flatten();
        key.extend(alarms.max_by_key(|alarm| *alarm == Alarm::Warning).map(Part::Rim));
        key.push(match badge {
            Some((chip, _)) => Part::Badge(chip),
            None => Part::Name { unit: tag.is_empty(), tag: tag.to_owned() },
        });
        key
    }

    fn part(&self, part: &Part) -> Scene {
        if let Some(scene) = round::part(part, self.pivot, None, self.palette) {
            return scene;
        }
        let mut scene = Scene::default();
        match part {
            Part::Sets(in_force) => return self.draw_sets(*in_force),
            Part::Leaves(leaves) => return self.hands.draw(leaves, self.palette),
            Part::Chip(chip) => {
                let em = 0.62 * self.sizes.value;
                chips::draw(&mut scene, chip, self.pivot.centre, em, 1.9 * self.pivot.r, self.palette);
            }
            Part::Row { row, value, tag, short } => self.draw_row(&mut scene, *row, value, [tag, short]),
            Part::Name { unit, tag } => self.draw_name(&mut scene, *unit, tag),
            Part::Badge(chip) => self.draw_badge(&mut scene, chip),
            _ => {}
        }
        scene
    }

    /// Each set by itself: the shapes of one are full, those of the other hollow.
    fn forms(&self) -> Vec<Vec<(Marking, Form)>> {
        let Tachometer { rotor_markings, rotor_by_power: sets, engine_markings, .. } = &self.both;
        let rotor = [rotor_markings, &sets.on, &sets.off].map(|set| (ROTOR_LANE, &**set));
        let lanes = rotor.into_iter().chain([(ENGINE_LANE, &**engine_markings)]);
        lanes.map(|lane| lanes::forms(self.pivot, &self.both.scale, lane, self.palette)).collect()
    }

    fn bracket(&self, range: &UsualRange) -> Scene {
        let lane = if range.hand == 0 { ROTOR_LANE } else { ENGINE_LANE };
        lanes::bracket(self.pivot, &self.both.scale, lane, (range.from, range.to), self.palette)
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}
