//! The slip ball: a ball in a bent tube, between two wires when the aircraft flies straight.
//!
//! The ball goes to the side that the panel file says; at the tube's end it stays there. Every data state: measured, derived
//! (pierced, `calc`), held (planked, time), stale (dashed, age), invalid (NO DATA), sensor saturated (hollow, SENSOR MIN or MAX).

use crate::panel::{DiscSize, Slip};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::State;

use super::chips;
use super::dial::no_data;
use super::face::{Face, Ground};
use super::marker;
use super::marks;
use super::part::{Chip, Frame, Part, StateKey};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::words;

/// Sides of a plate of middle size, in modules; everything below from its upper left corner.
const WIDTH: f64 = 0.190;
const HEIGHT: f64 = 0.070;
/// The tube's middle line: its lowest point, the radius of its bend, how far the ball runs to either side, its width.
const TUBE: (Point, f64, f64, f64) = ((WIDTH / 2.0, 0.033), 0.50, 0.062, 0.026);
const BALL: f64 = 0.0110;
/// Distance of the wires from the middle.
const WIRE: f64 = 0.0140;
const NAME: (f64, f64) = (0.0565, 0.0165);

/// A slip ball in its place.
#[derive(Debug, Clone)]
pub(super) struct SlipFace {
    slip: Slip,
    rect: Rect,
    unit: f64,
    m: f64,
    palette: &'static Palette,
}

impl SlipFace {
    pub fn new(slip: &Slip, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let unit = Sizes::new(size, m).step * m;
        let rect = Rect::centred(centre, WIDTH * unit, HEIGHT * unit).snapped();
        Self { slip: slip.clone(), rect, unit, m, palette }
    }

    /// A point of the tube, `along` modules right of its lowest point and `out` of its middle line downward.
    fn tube(&self, along: f64, out: f64) -> Point {
        let ((x, y), bend, ..) = TUBE;
        let (sin, cos) = (along / bend).sin_cos();
        let (x, y) = (x + (bend + out) * sin, y - bend + (bend + out) * cos);
        (self.rect.left + x * self.unit, self.rect.top + y * self.unit)
    }
}

impl Face for SlipFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, 0.012 * self.unit, self.m, self.palette);
        let (.., reach, width) = TUBE;
        let (end, half) = (reach + 1.3 * BALL, width / 2.0);
        let edge = |out: f64| (-16..=16).map(move |i| (end * f64::from(i) / 16.0, out));
        let outline: Vec<Point> = edge(half).chain(edge(-half).rev()).map(|(a, out)| self.tube(a, out)).collect();
        scene.fill(Path::polygon(&outline), self.palette.casing.at(0.50));
        scene.stroke(Path::polygon(&outline), (0.0016 * self.unit).max(1.0), self.palette.ink2.at(0.70));
        scene
    }

    /// The wires, over the ball.
    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        let half = TUBE.3 / 2.0;
        for side in [-WIRE, WIRE] {
            let wire = Path::polyline(&[self.tube(side, -half), self.tube(side, half)]);
            scene.stroke(wire.clone(), 0.0052 * self.unit, self.palette.casing.at(0.60));
            scene.stroke(wire, 0.0026 * self.unit, self.palette.ink);
        }
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = states::only(state);
        let mut key = Vec::with_capacity(3);
        if let Some(value) = reading.value.filter(|_| reading.state != State::Invalid) {
            let along = self.slip.share(value).clamp(-1.0, 1.0) * TUBE.2 * self.unit;
            key.push(Part::Marker { of: 0, style: states::style(reading.state), x: marker::steps(along), y: 0 });
        }
        match reading.state {
            State::Invalid => key.push(Part::Chip(no_data())),
            State::Stale => {
                let [text, short] = words::old(reading.age_s);
                key.push(Part::Chip(Chip { text, short, frame: Frame::Dashed, arrow: None, at_hub: false }));
            }
            _ => {}
        }
        // The value is written too: a ball at the end of its tube does not tell how far beyond it would be.
        let mut written =
            reading.number().map_or_else(String::new, |v| format!("{} {}", words::signed(v, 2), Slip::UNIT));
        let tag = states::tag(reading);
        if matches!(reading.state, State::SaturatedLow | State::SaturatedHigh) {
            written.clear();
        }
        // A tag alone has the whole line.
        key.push(Part::Name { unit: written.is_empty(), tag });
        key.push(Part::Note { text: written });
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let palette = self.palette;
        let middle = (self.rect.left + self.rect.right) / 2.0;
        let y = self.rect.top + NAME.0 * self.unit;
        let em = (NAME.1 * self.unit).max(SMALLEST_EM);
        let side = 0.25 * (self.rect.right - self.rect.left);
        let half = |run: Run<'_>, scene: &mut Scene, x: f64| {
            let setting = self.palette.setting(em).fitted(&[run], 1.85 * side).at_least(SMALLEST_EM);
            setting.draw(scene, &[run], (x, y), Some(marks::plain(palette)));
        };
        match part {
            Part::Marker { style, x, .. } => {
                let at = self.tube(f64::from(*x) / marker::STEPS / self.unit, 0.0);
                let r = BALL * self.unit;
                marker::draw(&mut scene, Path::circle(at, r), at, r, *style, palette);
            }
            Part::Chip(chip) => {
                chips::draw(&mut scene, chip, self.tube(0.0, 0.0), 0.0165 * self.unit, 2.0 * 1.9 * side, palette);
            }
            Part::Note { text } if !text.is_empty() => {
                half(Run { text, weight: Weight::Regular, colour: palette.ink2 }, &mut scene, middle + side);
            }
            Part::Name { tag, .. } if tag.is_empty() => {
                half(Run { text: "SLIP", weight: Weight::Bold, colour: palette.ink }, &mut scene, middle - side);
            }
            Part::Name { unit, tag } => {
                let run = |text| Run { text, weight: Weight::Bold, colour: palette.cyan };
                let (x, room) = if *unit { (middle, 3.7 * side) } else { (middle - side, 1.85 * side) };
                let setting = self.palette.setting(em).fitted(&[run(tag)], room);
                let text = if setting.em >= SMALLEST_EM { tag } else { states::short_tag(tag) };
                let setting = self.palette.setting(em).fitted(&[run(text)], room).at_least(SMALLEST_EM);
                setting.draw(&mut scene, &[run(text)], (x, y), Some(marks::plain(palette)));
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }
}
