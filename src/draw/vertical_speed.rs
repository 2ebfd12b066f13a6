//! The vertical speed dial: zero at nine o'clock, half the range straight up or down, both ends at three o'clock.
//!
//! One hand, and every data state: measured, derived (with an eye, `calc`), held (planks, time), stale (dashed, age), invalid
//! (none, a cross), sensor saturated (hollow, on its stop). At and beyond its range the hand stops at three o'clock, without
//! a jump; a line round the half through which it went, a chip with an arrow and the value say which way, and nothing is wrong. The value stands right of the hub, below the
//! line on which a hand at its end lies: a full climb or descent is seen whole. The left half, where flying happens, is bare.

use crate::panel::{DiscSize, Marking, UsualRange, VerticalSpeed};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::{Reading, State};

use super::advice::Form;
use super::chips;
use super::dial::no_data;
use super::edge::Edge;
use super::face::{Face, Ground};
use super::hands::{Hand, Pivot, REACH};
use super::lanes;
use super::marks::{self, Window};
use super::part::{Arrow, Chip, Frame, Part, StateKey, ValueInk};
use super::path::Point;
use super::round;
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::{Palette, Rgba};
use super::words;

/// The hand moves in steps of this many pixels at its tip.
const STEP_PX: f64 = 0.25;
/// The stop of a saturated sensor stands this many degrees beyond its hand.
const STOP: f64 = 5.5;
const VALUE: Window = Window { middle: (0.465, 0.235), height: 0.235, widths: (0.76, 0.77), em: 0.250 };
/// Em of a chip in its place, and of NO DATA at the hub.
const CHIP: f64 = 0.176;
const HUB_CHIP: f64 = 0.155;
/// The name's two lines, and the unit or tag with the width that it may take.
const NAME: [(&str, Point); 2] = [("VERT", (0.40, -0.405)), ("SPEED", (0.40, -0.235))];
const UNIT: (Point, f64) = ((0.37, 0.460), 0.72);
/// The words of both directions, and where they begin, beside the numerals.
const WAYS: [(&str, f64); 2] = [("UP", -0.645), ("DN", 0.645)];
const WAYS_FROM: f64 = 0.125;
const WAYS_GAP: f64 = 0.045;
/// Greatest em of those lines.
const LINE: f64 = 0.168;
/// A smaller dial has no room for lines: the sign says up or down, the place says which dial it is.
const LINES_FROM_PX: f64 = 38.0;

/// A vertical speed dial in its place.
#[derive(Debug, Clone)]
pub(super) struct VerticalSpeedFace {
    dial: VerticalSpeed,
    pivot: Pivot,
    hand: Hand,
    sizes: Sizes,
    palette: &'static Palette,
    step_deg: f64,
    decimals: u8,
    line_em: f64,
}

impl VerticalSpeedFace {
    pub fn new(dial: &VerticalSpeed, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        Self {
            dial: dial.clone(),
            pivot,
            hand: Hand::new(pivot),
            sizes,
            palette,
            step_deg: (STEP_PX / (REACH * sizes.r)).to_degrees(),
            decimals: u8::from(dial.unit != VerticalSpeed::UNITS[0].0),
            line_em: sizes.name.min(LINE * sizes.r).max(SMALLEST_EM),
        }
    }

    fn steps(&self, degrees: f64) -> i32 {
        (degrees / self.step_deg).round() as i32
    }

    /// A trusted value at the end of the scale or beyond it is not wrong: the arrow tells which way the hand went.
    fn value(&self, reading: Reading) -> Part {
        let trusted = matches!(reading.state, State::Measured | State::Derived | State::Held);
        let (low, high) = self.dial.scale.ends();
        let (value, arrow) = match reading.value.filter(|_| trusted) {
            Some(value) if value >= high => (value, Arrow::Up),
            Some(value) if value <= low => (value, Arrow::Down),
            _ => return states::value(reading, |v| words::signed(v, self.decimals)),
        };
        let text = words::signed(value, self.decimals);
        Part::Chip(Chip { short: text.clone(), text, frame: Frame::Hairline, arrow: Some(arrow), at_hub: false })
    }

    fn line(&self, scene: &mut Scene, text: &str, em: f64, (weight, colour): (Weight, Rgba), at: Point) {
        let run = [Run { text, weight, colour }];
        self.palette.setting(em).draw(scene, &run, self.pivot.at(at), Some(marks::passed(self.palette)));
    }

    /// The em at which a text in bold is at most so many radii wide.
    fn fitted(&self, text: &str, room: f64) -> f64 {
        let run = [Run { text, weight: Weight::Bold, colour: self.palette.ink }];
        self.palette.setting(self.line_em).fitted(&run, room * self.pivot.r).em
    }

    fn has_lines(&self) -> bool {
        self.pivot.r >= LINES_FROM_PX
    }
}

impl Face for VerticalSpeedFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::disc(&mut scene, self.pivot, self.palette);
        let lanes = [(lanes::LANE, &self.dial.markings[..])];
        lanes::scale(&mut scene, self.pivot, &self.dial.scale, REACH, &lanes, self.palette);
        scene
    }

    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        marks::numerals(&mut scene, self.pivot, self.sizes, &self.dial.scale, REACH, &[], self.palette);
        if self.has_lines() {
            let bold = (Weight::Bold, self.palette.ink);
            for (text, y) in WAYS {
                let run = [Run { text, weight: bold.0, colour: bold.1 }];
                let half = self.palette.setting(self.line_em).width(&run) / 2.0 / self.pivot.r;
                // Right of the numeral: half of the range may take several figures.
                let numeral = self.dial.scale.numerals.last().map_or("", |(_, text)| text);
                let figures = [Run { text: numeral, weight: bold.0, colour: bold.1 }];
                let from = self.palette.setting(self.sizes.numeral).width(&figures) / 2.0 / self.pivot.r + WAYS_GAP;
                self.line(&mut scene, text, self.line_em, bold, (from.max(WAYS_FROM) + half, y));
            }
            for (text, at) in NAME {
                self.line(&mut scene, text, self.line_em, bold, at);
            }
        }
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = states::only(state);
        if reading.state == State::Invalid {
            return vec![Part::Cross, Part::Chip(Chip { at_hub: true, ..no_data() })];
        }
        let mut key = Vec::with_capacity(6);
        let value = self.value(reading);
        if let Part::Chip(Chip { frame: Frame::Hairline, arrow: Some(arrow), .. }) = &value {
            key.push(Part::Edge(Edge::Way(*arrow)));
        }
        if let Some(value) = reading.value {
            let angle = self.dial.scale.angle(value);
            match reading.state {
                State::SaturatedLow => key.push(Part::Stop { steps: self.steps(angle - STOP) }),
                State::SaturatedHigh => key.push(Part::Stop { steps: self.steps(angle + STOP) }),
                _ => {}
            }
            key.push(Part::Hand { style: states::style(reading.state), steps: self.steps(angle) });
            key.push(Part::Hub);
        }
        let tag = states::tag(reading);
        key.push(value);
        key.push(Part::Name { unit: tag.is_empty(), tag });
        key.extend(states::alarm(state).map(Part::Rim));
        key
    }

    fn part(&self, part: &Part) -> Scene {
        if let Some(scene) = round::part(part, self.pivot, Some((&self.hand, self.step_deg)), self.palette) {
            return scene;
        }
        let mut scene = Scene::default();
        match part {
            Part::Value { text, ink } => {
                let colour = if *ink == ValueInk::Dim { self.palette.ink2 } else { self.palette.ink };
                VALUE.draw(&mut scene, self.pivot, Run { text, weight: Weight::Bold, colour }, self.palette);
            }
            Part::Chip(chip) => {
                let (at, em, room) = if chip.at_hub { ((0.0, 0.0), HUB_CHIP, 1.9) } else { (VALUE.middle, CHIP, 0.80) };
                chips::draw(&mut scene, chip, self.pivot.at(at), em * self.pivot.r, room * self.pivot.r, self.palette);
            }
            Part::Name { unit: true, .. } => {
                let em = self.fitted(&self.dial.unit, UNIT.1);
                if self.has_lines() && em >= SMALLEST_EM {
                    self.line(&mut scene, &self.dial.unit, em, (Weight::Regular, self.palette.ink2), UNIT.0);
                }
            }
            Part::Name { unit: false, tag } => {
                let short = states::short_tag(tag);
                let text = if self.fitted(tag, UNIT.1) >= SMALLEST_EM { tag } else { short };
                let em = self.fitted(text, UNIT.1).max(SMALLEST_EM);
                self.line(&mut scene, text, em, (Weight::Bold, self.palette.cyan), UNIT.0);
            }
            _ => {}
        }
        scene
    }

    fn forms(&self) -> Vec<Vec<(Marking, Form)>> {
        vec![lanes::forms(self.pivot, &self.dial.scale, (lanes::LANE, &self.dial.markings), self.palette)]
    }

    fn bracket(&self, range: &UsualRange) -> Scene {
        lanes::bracket(self.pivot, &self.dial.scale, lanes::LANE, (range.from, range.to), self.palette)
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}
