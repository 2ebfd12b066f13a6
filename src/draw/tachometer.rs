//! The tachometer: rotor and engine speed in percent on one dial, so that a difference is seen before it is read.
//!
//! Hands: rotor (first reading) and engine (second), two half leaves of one leaf. Each has its own data state: measured,
//! derived (with an eye), held (planks), stale (dashed), invalid (none), sensor saturated (hollow), beyond the scale (parked).
//! Up to 1.5 % apart they are joined by a dark seam, beyond it a neutral hatched sector lies between them: whether a
//! difference is a practice or a danger is not for this face to say. The rotor's markings stand on the outer lane, the
//! engine's on the inner one.

use crate::panel::{DiscSize, Marking, OffScale, Scale, Severity, Tachometer};
use crate::readout::{Drive, InstrumentState, PanelState};
use crate::signal::{Reading, State};

use super::advice::Form;
use super::chips;
use super::dial::no_data;
use super::face::{Face, Ground};
use super::hands::Pivot;
use super::lamp;
use super::leaves::{Between, Leaf, LeafPair, Leaves};
use super::marks::{self, Lane};
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
const ROTOR_LANE: Lane = Lane { middle: 0.962, band: 0.034, blocks: 0.046, limit: [0.928, 0.972, 0.998], head: 0.058 };
const ENGINE_LANE: Lane = Lane { middle: 0.892, band: 0.024, blocks: 0.034, limit: [0.742, 0.892, 0.918], head: 0.036 };
/// The hands move in steps of this many pixels at the longer one's tip.
const STEP_PX: f64 = 0.25;
/// Up to this difference in percent the halves are joined.
const JOINED: f64 = 1.5;
/// A hand stands this many degrees past the last mark when its value lies beyond it.
const PARKED: f64 = 7.0;
/// Hands further apart than this have no letters beside them.
const LETTERS_WITHIN: f64 = 120.0;
/// Em of the values over that of a dial's value, and of a chip's text over that.
const ROW_EM: f64 = 0.70;
const ROW_CHIP: f64 = 0.60;
/// Angle of the lane letters, em, and the space between them and the first marking.
const LANE_LETTERS: (f64, f64, f64) = (-71.0, 0.108, 7.0);
/// Where the badge stands, in radii below the middle, and its ems: to be known, and graver.
const BADGE_Y: f64 = 0.845;
const BADGES: (f64, f64) = (0.130, 0.168);
/// A scale that starts left of this leaves no room at the foot: the values stand at the right.
const FULL_SCALE: f64 = -160.0;

/// A tachometer in its place.
#[derive(Debug, Clone)]
pub(super) struct TachometerFace {
    both: Tachometer,
    pivot: Pivot,
    hands: LeafPair,
    sizes: Sizes,
    palette: &'static Palette,
    step_deg: f64,
    /// The scale leaves no room at its foot.
    full: bool,
    /// Middle of the two values and of the name, in radii.
    rows: [Point; 3],
    row_em: f64,
}

impl TachometerFace {
    pub fn new(both: &Tachometer, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        let step_deg = (STEP_PX / (TIPS.0 * sizes.r)).to_degrees();
        let full = both.scale.angle(both.scale.ends().0) < FULL_SCALE;
        let rows = if full {
            [(0.47, -0.20), (0.47, 0.015), (0.50, 0.25)]
        } else {
            [(0.14, 0.335), (0.14, 0.575), (0.0, 0.81)]
        };
        let share = if full { 0.62 } else { ROW_EM };
        Self {
            both: both.clone(),
            pivot,
            hands: LeafPair::new(pivot, REACH, TIPS, step_deg),
            sizes,
            palette,
            step_deg,
            full,
            rows,
            row_em: (share * sizes.value).max(SMALLEST_EM),
        }
    }

    fn marked(&self) -> [(Lane, &[Marking]); 2] {
        [(ROTOR_LANE, &self.both.rotor_markings), (ENGINE_LANE, &self.both.engine_markings)]
    }

    /// R and E at the head of their lanes, with a hair to the first marking.
    fn lane_letters(&self, scene: &mut Scene, lanes: [(Lane, &[Marking]); 2]) {
        let (degrees, em, space) = LANE_LETTERS;
        let setting = self.palette.setting(em * self.pivot.r);
        let first = lanes.map(|(_, markings)| first_angle(&self.both.scale, markings));
        let degrees = first.into_iter().flatten().fold(degrees, |at, first| at.min(first - space));
        // Too small to read, the letters would only be dirt on the rim.
        if setting.em < 0.7 * SMALLEST_EM {
            return;
        }
        let letters = [("R", self.palette.ink), ("E", self.palette.hand2)];
        for (((lane, _), first), (text, colour)) in lanes.into_iter().zip(first).zip(letters) {
            let Some(first) = first else { continue };
            let (centre, r) = (self.pivot.centre, lane.middle * self.pivot.r);
            if first - 2.0 > degrees + 4.5 {
                let hair = Path::arc(centre, r, degrees + 4.5, first - 2.0);
                scene.stroke(hair, 0.006 * self.pivot.r, self.palette.ink2.at(0.45));
            }
            let run = [Run { text, weight: Weight::Bold, colour }];
            setting.draw(scene, &run, polar(centre, r, degrees), Some(marks::passed(self.palette)));
        }
    }

    /// Where a hand stands; beyond the last mark it is parked past it.
    fn angle(&self, value: f64) -> f64 {
        let scale = &self.both.scale;
        let (low, high) = scale.ends();
        let sense = (scale.angle(high) - scale.angle(low)).signum();
        let past = if scale.place(value) == OffScale::High { PARKED * sense } else { 0.0 };
        scale.angle(value) + past
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
        let near = angles[0].zip(angles[1]).is_some_and(|(a, b)| (a - b).abs() <= LETTERS_WITHIN);
        Between::Sector { letters: !self.full && near && rotor >= tail && engine >= tail }
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
        let lanes = self.marked();
        self.lane_letters(&mut scene, lanes);
        marks::scale(&mut scene, self.pivot, &self.both.scale, REACH, &lanes, self.palette);
        scene
    }

    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        marks::numerals(&mut scene, self.pivot, self.sizes, &self.both.scale, REACH, &[], self.palette);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = |i: usize| {
            let reading = state.hands.get(i).copied().unwrap_or(Reading::INVALID);
            Reading { value: reading.value.filter(|v| v.is_finite()), ..reading }
        };
        let both = [reading(0), reading(1)];
        if both.iter().all(|r| r.state != State::Stale && (r.state == State::Invalid || r.value.is_none())) {
            let chip = Chip { at_hub: true, ..no_data() };
            return vec![Part::Cross, Part::Chip(chip), Part::Name { unit: true, tag: String::new() }];
        }
        let angles = both.map(|r| r.value.filter(|_| r.state != State::Invalid).map(|v| self.angle(v)));
        let leaf = |i: usize| {
            let steps = (angles[i]? / self.step_deg).round() as i32;
            Some(Leaf { style: states::style(both[i].state), steps })
        };
        let (rotor, engine) = (both[0].value, both[1].value);
        let leaves = Leaves {
            rotor: leaf(0),
            engine: leaf(1),
            rotor_ahead: rotor.zip(engine).is_none_or(|(rotor, engine)| rotor >= engine),
            between: self.between(both, angles),
        };
        let mut key = vec![Part::Leaves(leaves), Part::Hub];
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

    fn lanes(&self) -> Vec<Vec<(Marking, Form)>> {
        self.marked().map(|lane| marks::forms(self.pivot, &self.both.scale, lane, self.palette)).to_vec()
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}

/// Where the first of some markings starts.
fn first_angle(scale: &Scale, markings: &[Marking]) -> Option<f64> {
    let start = |marking: &Marking| match *marking {
        Marking::Normal { from, .. } | Marking::Precaution { from, .. } | Marking::Forbidden { from, .. } => from,
        Marking::Limit { at } => at,
    };
    markings.iter().map(|m| scale.angle(start(m))).reduce(f64::min)
}
