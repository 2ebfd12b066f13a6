//! The bar: a track whose filled part ends in a leaf, range markings above it, numerals below, value and name at the right.
//!
//! One reading, and every data state: measured, derived (with an eye, `calc`), held (planks, time), stale (dashed, age),
//! invalid (no bar, crossed), sensor saturated (hollow, against a stop). Below the scale the track is empty and `< 20` says so;
//! above it the bar is full, and a chip has an arrow and the value. The leaf's point is where the value stands.

use crate::panel::{Bar, DiscSize, Marking, UsualRange};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::State;

use super::advice::Form;
use super::chips;
use super::face::{Face, Ground};
use super::hands::{Hand, HandStyle, Pivot, Shape};
use super::marks;
use super::part::{Part, RowValue, StateKey};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::straight::Straight;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::tile::Caption;

/// The bar grows in steps of this many pixels.
const STEP_PX: f64 = 0.25;
/// Height of a plate of middle size, and of its track, in modules; where lane, track and lines stand, in shares of the height.
const HEIGHT: f64 = 0.074;
const TRACK: f64 = 0.0155;
const LANE_Y: f64 = 0.200;
const TRACK_Y: f64 = 0.475;
const NUMERAL_Y: f64 = 0.800;
const VALUE_Y: f64 = 0.37;
const NAME_Y: f64 = 0.78;
/// Where the track starts, what lies right of it for the value, and the room between them, in modules.
const START: f64 = 0.018;
const TEXTS: f64 = 0.150;
const BETWEEN: f64 = 0.017;
/// Ems of value, name and numerals in modules, and of a chip over the value.
const VALUE: f64 = 0.037;
const NAME: f64 = 0.019;
const NUMERAL: f64 = 0.0195;
const CHIP: f64 = 0.62;
/// Radius, in modules, of the dial whose hand's line widths the bar shares: one of middle size.
const LIKE: f64 = 0.0945;
/// From these lengths over half the track's height on, a bar has all of its foot and leaf, and of its eye too.
const FOOT_AND_LEAF: f64 = 3.1;
const LONG: f64 = 6.0;
/// Length of the leaf over half the track's height, and its eye's.
const LEAF: f64 = 1.9;
const EYE: f64 = 3.4;
/// Where a held bar's planks start, in radii of a middle dial's hand.
const PLANKS_FROM: f64 = 0.030;
/// A saturated sensor's stop stands so far beyond the bar, in modules.
const STOP: f64 = 0.005;

/// A bar in its place.
#[derive(Debug, Clone)]
pub(super) struct BarFace {
    bar: Bar,
    rect: Rect,
    m: f64,
    /// The module by the plate's size.
    unit: f64,
    palette: &'static Palette,
    /// The bar that fills the whole track.
    full: Hand,
}

impl BarFace {
    pub fn new(bar: &Bar, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let unit = Sizes::new(size, m).step * m;
        let rect = Rect::centred(centre, bar.width_m * m, HEIGHT * unit);
        let (start, length) = track(rect, unit);
        Self { bar: bar.clone(), rect, m, unit, palette, full: shaped(start, unit, length) }
    }

    fn y(&self, share: f64) -> f64 {
        self.rect.top + share * (self.rect.bottom - self.rect.top)
    }

    /// Left end of the track on its middle, and its length.
    fn track(&self) -> (Point, f64) {
        track(self.rect, self.unit)
    }

    /// The lane of markings above the track.
    fn lane(&self) -> Straight {
        let (start, length) = self.track();
        Straight { start: (start.0, self.y(LANE_Y)), along: (1.0, 0.0), out: (0.0, -1.0), length, m: self.unit }
    }

    /// The middle of the texts at a share of the height.
    fn text_at(&self, share: f64) -> Point {
        (self.rect.right - (TEXTS / 2.0 + 0.004) * self.unit, self.y(share))
    }

    fn caption(&self) -> Caption<'_> {
        Caption {
            title: &self.bar.title,
            unit: &self.bar.unit,
            value_em: (VALUE * self.unit).max(SMALLEST_EM),
            name_em: NAME * self.unit,
            room: (TEXTS - 0.010) * self.unit,
            palette: self.palette,
        }
    }

    fn draw_bar(&self, style: HandStyle, length: f64) -> Scene {
        let (start, full) = self.track();
        if length < 0.5 {
            return Scene::default();
        }
        let half = TRACK / 2.0 * self.unit;
        // A long bar differs from the full one in its middle alone; planks are as many as it has room for.
        let all = if style == HandStyle::Pierced { LONG } else { FOOT_AND_LEAF };
        let bar = if length > all * half && full > length {
            let bar = self.full.shortened(1.1 * half, full - length);
            if style == HandStyle::Planked { bar.planked(&outline(self.unit, length), PLANKS_FROM) } else { bar }
        } else {
            shaped(start, self.unit, length)
        };
        bar.draw(style, 90.0, self.palette)
    }

    /// Numerals under the track; where two would touch, every second one goes.
    fn draw_numerals(&self, scene: &mut Scene) {
        let em = NUMERAL * self.unit;
        if em < 0.83 * SMALLEST_EM {
            return;
        }
        let (start, length) = self.track();
        let setting = self.palette.setting(em.max(SMALLEST_EM));
        let run = |text| [Run { text, weight: Weight::Bold, colour: self.palette.ink }];
        let mut numerals: Vec<(f64, f64, &str)> = self
            .bar
            .scale
            .numerals
            .iter()
            .map(|(value, text)| (start.0 + self.bar.scale.angle(*value) * length, setting.width(&run(text)), &**text))
            .collect();
        let touch =
            |pair: &[(f64, f64, &str)]| pair[1].0 - pair[0].0 < (pair[0].1 + pair[1].1) / 2.0 + 0.5 * setting.em;
        while numerals.len() > 2 && numerals.windows(2).any(touch) {
            let mut keep = [true, false].into_iter().cycle();
            numerals.retain(|_| keep.next().unwrap_or(true));
        }
        for (x, _, text) in numerals {
            setting.draw(scene, &run(text), (x, self.y(NUMERAL_Y)), Some(marks::plain(self.palette)));
        }
    }
}

/// Left end of a plate's track on its middle, and its length.
fn track(rect: Rect, unit: f64) -> (Point, f64) {
    let left = rect.left + START * unit;
    ((left, rect.top + TRACK_Y * (rect.bottom - rect.top)), rect.right - (TEXTS + BETWEEN) * unit - left)
}

/// A bar of this length in pixels from a track's left end.
fn shaped(start: Point, unit: f64, length: f64) -> Hand {
    let (half, scale) = (TRACK / 2.0 * unit, LIKE * unit);
    // Right behind the leaf, or as much of it as a short bar has room for.
    let long = (EYE * half).min(0.6 * length);
    let head = length - (LEAF * half).min(0.35 * length);
    let eye: Vec<Point> = (0..=8)
        .map(|i| (f64::from(i) * 22.5f64).to_radians())
        .map(|a| (0.45 * half * a.sin() / scale, (head - long / 2.0 * (1.0 + a.cos())) / scale))
        .collect();
    let pivot = Pivot { centre: start, r: scale, k: 1.0 };
    let outline = outline(unit, length);
    Hand::shaped(pivot, Shape { outline: &outline, eye: &eye, planks_from: PLANKS_FROM, is_fine: true })
}

/// Half outline of a bar of this length in pixels, in radii of [`LIKE`]: a round foot and a leaf for its end.
fn outline(unit: f64, length: f64) -> Vec<Point> {
    let half = TRACK / 2.0 * unit;
    let leaf = (LEAF * half).min(length);
    let foot = half.min(length - leaf);
    let mut points: Vec<Point> = Vec::with_capacity(24);
    for i in 0..=6 {
        let (sin, cos) = (f64::from(i) * 15f64).to_radians().sin_cos();
        points.push((half * sin, foot * (1.0 - cos)));
    }
    let (shoulder, near, far) = ((half, length - leaf), 0.45 * leaf, 0.55 * leaf);
    for i in 1..=12 {
        let t = f64::from(i) / 12.0;
        let (a, b, c, d) = ((1.0 - t).powi(3), 3.0 * t * (1.0 - t).powi(2), 3.0 * t * t * (1.0 - t), t.powi(3));
        let across = a * half + b * half + c * 0.42 * half;
        points.push((across, shoulder.1 + b * near + c * far + d * leaf));
    }
    let scale = LIKE * unit;
    // A foot without length, as on the shortest bars, must still rise.
    let mut lowest = -1e-9;
    for point in &mut points {
        *point = (point.0 / scale, (point.1 / scale).max(lowest + 1e-9));
        lowest = point.1;
    }
    points
}

impl Face for BarFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, 0.012 * self.unit, self.m, self.palette);
        let (start, length) = self.track();
        let half = TRACK / 2.0 * self.unit;
        let rim = 0.0016 * self.unit;
        let track = Rect { left: start.0, right: start.0 + length, top: start.1 - half, bottom: start.1 + half };
        let frame = Path::rounded(track.grown(rim), half + rim);
        scene.fill(frame.clone(), self.palette.casing.at(0.55));
        scene.stroke(frame, (0.0011 * self.unit).max(1.0), self.palette.ink2.at(0.70));
        self.lane().draw(&mut scene, &self.bar.markings, |v| self.bar.scale.angle(v) * length, self.palette);
        self.draw_numerals(&mut scene);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = states::only(state);
        let mut key = Vec::with_capacity(4);
        let steps = |pixels: f64| (pixels / STEP_PX).round() as i32;
        let (_, length) = self.track();
        if let Some(value) = reading.value {
            let end = self.bar.scale.angle(value) * length;
            let beyond = STOP * self.unit;
            match reading.state {
                State::SaturatedLow => key.push(Part::Stop { steps: steps(end - beyond) }),
                State::SaturatedHigh => key.push(Part::Stop { steps: steps(end + beyond) }),
                _ => {}
            }
            key.push(Part::Hand { style: states::style(reading.state), steps: steps(end) });
        } else if reading.state == State::Invalid {
            key.push(Part::Cross);
        }
        let shown = states::on_scale(reading, &self.bar.scale, self.bar.decimals);
        let tag = states::tag(reading);
        let unit = tag.is_empty() && reading.value.is_some_and(|_| reading.state != State::Stale);
        let shown = match shown {
            RowValue::Plain { text, ink } => Part::Value { text, ink },
            RowValue::Chip(chip) => Part::Chip(chip),
        };
        key.push(states::plated(shown, states::alarm(state)));
        key.push(Part::Name { unit, tag });
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let (start, length) = self.track();
        match part {
            Part::Hand { style, steps } => return self.draw_bar(*style, f64::from(*steps) * STEP_PX),
            Part::Stop { steps } => {
                let x = start.0 + f64::from(*steps) * STEP_PX;
                let half = 0.0125 * self.unit;
                let line = Path::polyline(&[(x, start.1 - half), (x, start.1 + half)]);
                scene.stroke(line.clone(), 0.0080 * self.unit, self.palette.casing.at(1.0));
                scene.stroke(line, 0.0043 * self.unit, self.palette.ink);
            }
            Part::Cross => {
                // Between the lane and the numerals.
                let (top, bottom) = (self.y(0.27), self.y(0.68));
                let track = Rect { left: start.0, right: start.0 + length, top, bottom };
                marks::cross(&mut scene, track, self.unit, self.palette);
            }
            Part::Value { text, ink } => self.caption().draw_value(&mut scene, text, *ink, self.text_at(VALUE_Y)),
            Part::Chip(chip) => {
                let caption = self.caption();
                let em = CHIP * caption.value_em;
                let (x, y) = self.text_at(VALUE_Y);
                // At the least size it takes from the track rather than from the picture beside the plate.
                let x = x.min(
                    self.rect.right - 0.5 * chips::width(chip, em, caption.room, self.palette) - 0.004 * self.unit,
                );
                chips::draw(&mut scene, chip, (x, y), em, caption.room, self.palette);
            }
            Part::Name { unit, tag } => self.caption().draw_name(&mut scene, *unit, tag, self.text_at(NAME_Y)),
            _ => {}
        }
        scene
    }

    fn forms(&self) -> Vec<Vec<(Marking, Form)>> {
        let (_, length) = self.track();
        vec![self.lane().forms(&self.bar.markings, |v| self.bar.scale.angle(v) * length)]
    }

    fn bracket(&self, range: &UsualRange) -> Scene {
        let mut scene = Scene::default();
        let lane = self.lane();
        let [from, to] = [range.from, range.to].map(|v| self.bar.scale.angle(v) * lane.length);
        lane.bracket(&mut scene, from, to, self.palette);
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }

    fn extent(&self) -> Scene {
        marks::plate_extent(self.face(), self.rect)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Corners of a hand's leaf or of its casing about its left end: along the bar, and across it.
    fn corners(hand: &Hand, which: usize) -> Vec<Point> {
        hand.blades()[which].upright().points().map(|(x, y)| (-y, x)).collect()
    }

    /// Up to bars of 8K, whose hands would have rounded corners.
    #[test]
    fn a_bar_ends_at_its_value_and_a_shortened_one_is_no_other() {
        for unit in [360.0, 1080.0, 3000.0, 4320.0] {
            let half = TRACK / 2.0 * unit;
            for full in [20.0 * half, 60.0 * half] {
                let whole = shaped((0.0, 0.0), unit, full);
                for length in [3.2, 5.0, 6.5, 12.0, 19.0].map(|halves| halves * half) {
                    let fresh = shaped((0.0, 0.0), unit, length);
                    let short = whole.shortened(1.1 * half, full - length);
                    let ends = |hand: &Hand| {
                        let along = corners(hand, 0).into_iter().map(|p| p.0);
                        along.fold((f64::MAX, f64::MIN), |(low, high), at| (low.min(at), high.max(at)))
                    };
                    for hand in [&fresh, &short] {
                        let (foot, tip) = ends(hand);
                        assert!(
                            foot.abs() < 1e-3 && (tip - length).abs() < 1e-3,
                            "{unit}: {foot} to {tip} of {length}"
                        );
                    }
                    for (a, b) in corners(&fresh, 0).into_iter().zip(corners(&short, 0)) {
                        assert!((a.0 - b.0).abs() < 1e-3 && (a.1 - b.1).abs() < 1e-3, "{unit}, {length}: {a:?} {b:?}");
                    }
                    let edge = 0.030 * LIKE * unit;
                    for (along, across) in corners(&short, 1) {
                        let within = -edge - 0.1..=length + edge + 0.1;
                        assert!(within.contains(&along), "{unit}, {length}: the casing reaches {along}");
                        assert!(across.abs() < half + edge + 0.1, "{unit}, {length}: {across} aside");
                    }
                }
            }
        }
    }
}
