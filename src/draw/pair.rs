//! Two gauges on one dial: short hands that lie level when all is well, one scale up each side, the name between them.
//!
//! Hands: left (first reading) and right (second). Each has its own data state: measured, derived (with an eye, `calc`), held
//! (planks, time), stale (dashed, age), invalid (none), sensor saturated (hollow, against a stop), beyond its scale (parked).
//! With nothing to show on either side the whole face is crossed.

use crate::panel::{DiscSize, Gauge, Marking, OffScale, Pair, UsualRange};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::{Reading, State};

use super::advice::Form;
use super::chips;
use super::dial::no_data;
use super::face::{Face, Ground};
use super::hands::{Hand, Pivot, REACH};
use super::lanes;
use super::marks;
use super::part::{Chip, Frame, Part, RowValue, StateKey, ValueInk};
use super::path::{Path, Point, Rect};
use super::round;
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::Palette;

/// The hands move in steps of this many pixels at their tips.
const STEP_PX: f64 = 0.25;
/// The stop of a saturated sensor stands this many degrees beyond its hand.
const STOP: f64 = 5.5;
/// Middle and em (over a dial's) of the values, and of letter and unit; heights and distance from the middle in radii.
const VALUE: (Point, f64) = ((0.27, 0.40), 0.92);
const UNIT: (Point, f64) = ((0.255, 0.66), 0.88);
/// How far from the middle they may reach, in radii: inside the ticks.
const REACHES: (f64, f64) = (0.585, 0.490);
/// A hand lower than this many degrees from twelve passes behind its value.
const CROSSES_FROM: f64 = 112.0;
/// Em of numerals over a dial's, and of a chip over the value.
const NUMERAL: f64 = 0.82;
const CHIP: f64 = 0.56;
/// Texts keep so far from the line between both sides.
const ASIDE: f64 = 0.045;
/// Where the name stands when the middle says that there is no data.
const NAME_BELOW: f64 = 0.44;
/// A smaller dial has room for the values alone.
const LINES_FROM_PX: f64 = 38.0;

/// A pair in its place.
#[derive(Debug, Clone)]
pub(super) struct PairFace {
    pair: Pair,
    pivot: Pivot,
    hand: Hand,
    sizes: Sizes,
    palette: &'static Palette,
    step_deg: f64,
}

impl PairFace {
    pub fn new(pair: &Pair, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        let step_deg = (STEP_PX / (REACH * sizes.r)).to_degrees();
        Self { pair: pair.clone(), pivot, hand: Hand::stub(pivot), sizes, palette, step_deg }
    }

    fn gauge(&self, side: u8) -> &Gauge {
        if side == 0 { &self.pair.left } else { &self.pair.right }
    }

    fn has_lines(&self) -> bool {
        self.pivot.r >= LINES_FROM_PX
    }

    fn steps(&self, degrees: f64) -> i32 {
        (degrees / self.step_deg).round() as i32
    }

    /// A hand and what it leans on.
    fn hand(&self, side: u8, reading: Reading) -> Vec<Part> {
        let Some(value) = reading.value.filter(|_| reading.state != State::Invalid) else { return Vec::new() };
        let scale = &self.gauge(side).scale;
        let saturated = matches!(reading.state, State::SaturatedLow | State::SaturatedHigh);
        let past = if !saturated && scale.place(value) == OffScale::High { scale.parked() } else { 0.0 };
        let angle = scale.angle(value) + past;
        let hand = Part::Hand { style: states::style(reading.state), steps: self.steps(angle) };
        let stop = match reading.state {
            State::SaturatedLow => Some(-STOP),
            State::SaturatedHigh => Some(STOP),
            _ => None,
        };
        let stop = stop.map(|beyond| Part::Stop { steps: self.steps(angle + beyond * scale.sense()) });
        [stop, Some(hand)].into_iter().flatten().collect()
    }

    fn row(&self, side: u8, reading: Reading) -> Part {
        let gauge = self.gauge(side);
        let tag = states::tag(reading);
        let short = states::short_tag(&tag).to_owned();
        Part::Row { row: side, value: states::on_scale(reading, &gauge.scale, gauge.decimals), tag, short }
    }

    /// The middle, in pixels, of a text this wide that would like to stand at a place of its side, and the room there.
    fn beside(&self, side: u8, (x, y): Point, reach: f64, width: f64) -> (Point, f64) {
        let r = self.pivot.r;
        let (from, to) = (ASIDE * r, reach * r);
        // What is too wide on the smallest dials sticks out to its own side, never over the other one.
        let middle = (x * r).min(to - width / 2.0).max(from + width / 2.0);
        let signed = if side == 0 { -middle } else { middle };
        ((self.pivot.centre.0 + signed, self.pivot.centre.1 + y * r), to - from)
    }

    fn draw_value(&self, scene: &mut Scene, side: u8, value: &RowValue) {
        let (place, share) = VALUE;
        let em = (share * self.sizes.value).max(SMALLEST_EM);
        match value {
            RowValue::Plain { text, ink } => {
                let (share, colour) = match ink {
                    ValueInk::Full => (1.0, self.palette.ink),
                    ValueInk::Dim => (1.0, self.palette.ink2),
                    ValueInk::Beyond => (0.80, self.palette.ink),
                    ValueInk::BeyondDim => (0.80, self.palette.ink2),
                };
                let run = [Run { text, weight: Weight::Bold, colour }];
                let setting = self.palette.setting(share * em).at_least(SMALLEST_EM);
                let (_, room) = self.beside(side, place, REACHES.0, 0.0);
                let setting = setting.fitted(&run, room).at_least(SMALLEST_EM);
                let (at, _) = self.beside(side, place, REACHES.0, setting.width(&run));
                setting.draw(scene, &run, at, Some(marks::passed(self.palette)));
            }
            RowValue::Chip(chip) => {
                let em = CHIP * em;
                let (_, room) = self.beside(side, place, REACHES.0, 0.0);
                let plain = Chip { arrow: None, ..chip.clone() };
                // The sign before the number says as much as the arrow.
                let chip = if chips::width(chip, em, room, self.palette) > room { &plain } else { chip };
                let (at, _) = self.beside(side, place, REACHES.0, chips::width(chip, em, room, self.palette));
                chips::draw(scene, chip, at, em, room, self.palette);
            }
        }
    }

    /// Letter with unit or tag under the value; as much of it as there is room for.
    fn draw_unit(&self, scene: &mut Scene, side: u8, with_unit: bool, tags: [&str; 2]) {
        let gauge = self.gauge(side);
        let letter = Run { text: &gauge.letter, weight: Weight::Bold, colour: self.palette.ink };
        let unit = Run { text: &gauge.unit, weight: Weight::Regular, colour: self.palette.ink2 };
        let tag = |text| Run { text, weight: Weight::Bold, colour: self.palette.cyan };
        let (both, long, short) = ([letter, unit], [letter, tag(tags[0])], [letter, tag(tags[1])]);
        let choices = if !tags[0].is_empty() {
            vec![&long[..], &short[..], &short[1..], &short[..1]]
        } else if with_unit && !gauge.unit.is_empty() && self.sizes.name >= SMALLEST_EM {
            vec![&both[..], &both[..1]]
        } else {
            vec![&both[..1]]
        };
        let (place, share) = UNIT;
        let setting = self.palette.setting((share * self.sizes.name).max(SMALLEST_EM));
        let (_, room) = self.beside(side, place, REACHES.1, 0.0);
        // Shrunk much, a line is worse than a shorter one.
        let least = SMALLEST_EM.max(0.8 * setting.em);
        let fitted = |runs: &[Run<'_>]| setting.fitted(runs, room);
        if let Some(runs) = choices.into_iter().find(|runs| fitted(runs).em >= 0.999 * least) {
            let setting = fitted(runs);
            let (at, _) = self.beside(side, place, REACHES.1, setting.width(runs));
            setting.draw(scene, runs, at, Some(marks::passed(self.palette)));
        }
    }

    /// What values and units cover, for the numerals to keep clear of: half a width and an upper edge, in radii.
    fn room(&self) -> (f64, f64) {
        let em = VALUE.1 * self.sizes.value / self.pivot.r;
        (0.60, VALUE.0.1 - 0.375 * em - 0.02)
    }
}

impl Face for PairFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::disc(&mut scene, self.pivot, self.palette);
        for gauge in [&self.pair.left, &self.pair.right] {
            let lanes = [(lanes::LANE, &gauge.markings[..])];
            lanes::scale(&mut scene, self.pivot, &gauge.scale, REACH, &lanes, self.palette);
        }
        scene
    }

    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        let sizes = Sizes { numeral: NUMERAL * self.sizes.numeral, ..self.sizes };
        for gauge in [&self.pair.left, &self.pair.right] {
            marks::numerals(&mut scene, self.pivot, sizes, &gauge.scale, REACH, &[self.room()], self.palette);
        }
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let both = [states::nth(state, 0), states::nth(state, 1)];
        let name = |unit| Part::Name { unit, tag: String::new() };
        if both.iter().all(|r| r.state == State::Invalid) {
            return vec![Part::Cross, Part::Chip(Chip { at_hub: true, ..no_data() }), name(false)];
        }
        let mut key: StateKey = (0u8..).zip(both).flat_map(|(side, reading)| self.hand(side, reading)).collect();
        key.push(name(true));
        for (side, reading) in (0u8..).zip(both) {
            if reading.value.is_some_and(|v| self.gauge(side).scale.angle(v).abs() > CROSSES_FROM) {
                key.push(Part::Shade { row: side });
            }
            key.push(self.row(side, reading));
        }
        key.extend(states::alarm(state).map(Part::Rim));
        key
    }

    fn part(&self, part: &Part) -> Scene {
        if let Some(scene) = round::part(part, self.pivot, Some((&self.hand, self.step_deg)), self.palette) {
            return scene;
        }
        let mut scene = Scene::default();
        match part {
            Part::Chip(chip) => {
                let em = 0.62 * self.sizes.value;
                chips::draw(&mut scene, chip, self.pivot.centre, em, 1.9 * self.pivot.r, self.palette);
            }
            Part::Shade { row } => {
                let x = (ASIDE + REACHES.0) / 2.0 * if *row == 0 { -1.0 } else { 1.0 };
                let (width, height) =
                    (REACHES.0 - ASIDE + 0.03, 0.80 * VALUE.1 * self.sizes.value / self.pivot.r + 0.06);
                let r = self.pivot.r;
                let rect = Rect::centred(self.pivot.at((x, VALUE.0.1)), width * r, height * r);
                scene.fill(Path::rounded(rect, 0.06 * r), self.palette.casing.at(0.80));
            }
            Part::Row { row, value, tag, short } => {
                self.draw_value(&mut scene, *row, value);
                if self.has_lines() {
                    // A chip in place of a value has no unit, but for the value beyond the scale.
                    let with_unit = match value {
                        RowValue::Plain { .. } => true,
                        RowValue::Chip(chip) => chip.frame == Frame::Hairline && chip.arrow.is_some(),
                    };
                    self.draw_unit(&mut scene, *row, with_unit, [tag, short]);
                }
            }
            // Between the hands; with the line between both sides, where the values stand.
            Part::Name { unit: with_data, .. } => {
                let run = [Run { text: &self.pair.title, weight: Weight::Bold, colour: self.palette.ink }];
                let em = self.sizes.name.max(SMALLEST_EM);
                let setting = self.palette.setting(em).fitted(&run, 0.42 * self.pivot.r);
                let y = if *with_data { 0.0 } else { NAME_BELOW };
                if self.has_lines() && setting.em >= 0.9 * SMALLEST_EM {
                    setting.draw(&mut scene, &run, self.pivot.at((0.0, y)), Some(marks::passed(self.palette)));
                }
                if *with_data {
                    let line = Path::polyline(&[self.pivot.at((0.0, 0.27)), self.pivot.at((0.0, 0.76))]);
                    scene.stroke(line, (0.012 * self.pivot.r).max(1.0), self.palette.ink2.at(0.45));
                }
            }
            _ => {}
        }
        scene
    }

    fn forms(&self) -> Vec<Vec<(Marking, Form)>> {
        let lane = |gauge: &Gauge| lanes::forms(self.pivot, &gauge.scale, (lanes::LANE, &gauge.markings), self.palette);
        vec![lane(&self.pair.left), lane(&self.pair.right)]
    }

    fn bracket(&self, range: &UsualRange) -> Scene {
        let gauge = if range.hand == 0 { &self.pair.left } else { &self.pair.right };
        lanes::bracket(self.pivot, &gauge.scale, lanes::LANE, (range.from, range.to), self.palette)
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}
