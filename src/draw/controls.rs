//! Where the controls stand: the collective on a bar, the cyclic as a dot joined to its middle, the pedals as a diamond on a line.
//!
//! A control that is not asked for is not drawn. Each marker has its own data state: solid, pierced, planked, dashed, hollow,
//! or a cross where nothing is known; the name's line carries the tag or the age of the worst. A value beyond its travel stays at the
//! end. A cyclic of which only one way is logged moves along that one.

use crate::panel::{Control, Controls, DiscSize};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::{Reading, State};

use super::face::{Face, Ground};
use super::hands::HandStyle;
use super::marker;
use super::marks;
use super::part::{Part, StateKey, ValueInk};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::words;

/// Sides of a plate of middle size, in modules; everything below from its upper left corner.
const WIDTH: f64 = 0.190;
const HEIGHT: f64 = 0.186;
/// The bar's middle line, its upper and its lower end, and where its value stands.
const BAR: (f64, f64, f64) = (0.032, 0.024, 0.120);
const BAR_VALUE: Point = (0.034, 0.139);
/// Middle and radius of the cyclic's field.
const FIELD: (Point, f64) = ((0.122, 0.070), 0.054);
/// Left and right end of the pedals' line, and its height.
const LINE: (f64, f64, f64) = (0.074, 0.170, 0.142);
const NAME: (f64, f64) = (0.168, 0.0165);
const VALUE: f64 = 0.0200;
/// From a marker's middle to its edge.
const MARKER: f64 = 0.0092;
/// The markers.
const COLLECTIVE: u8 = 0;
const CYCLIC: u8 = 1;
const PEDALS: u8 = 2;

/// A plate of controls in its place.
#[derive(Debug, Clone)]
pub(super) struct ControlsFace {
    controls: Controls,
    rect: Rect,
    unit: f64,
    m: f64,
    palette: &'static Palette,
}

impl ControlsFace {
    pub fn new(controls: &Controls, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let unit = Sizes::new(size, m).step * m;
        let rect = Rect::centred(centre, WIDTH * unit, HEIGHT * unit).snapped();
        Self { controls: controls.clone(), rect, unit, m, palette }
    }

    fn at(&self, (x, y): Point) -> Point {
        (self.rect.left + x * self.unit, self.rect.top + y * self.unit)
    }

    /// Where each marker rests: the collective down, the others in the middle.
    fn rest(&self, of: u8) -> Point {
        self.at(match of {
            COLLECTIVE => (BAR.0, BAR.2),
            CYCLIC => FIELD.0,
            _ => ((LINE.0 + LINE.1) / 2.0, LINE.2),
        })
    }

    /// A marker `right` and `up` of its rest, in plate units; or the cross that stands for it.
    fn marker(&self, of: u8, reading: Reading, right: f64, up: f64) -> Option<Part> {
        match reading.value {
            Some(_) if reading.state != State::Invalid => Some(Part::Marker {
                of,
                style: states::style(reading.state),
                x: marker::steps(right * self.unit),
                y: marker::steps(-up * self.unit),
            }),
            // Of a stale one whose place is gone the age alone is told.
            _ => (reading.state == State::Invalid).then_some(Part::Lost { of }),
        }
    }

    fn line(&self, scene: &mut Scene, points: &[Point], width: f64, alpha: f32) {
        let points: Vec<Point> = points.iter().map(|p| self.at(*p)).collect();
        scene.stroke(Path::polyline(&points), (width + 0.002) * self.unit, self.palette.casing.at(0.45));
        scene.stroke(Path::polyline(&points), width * self.unit, self.palette.ink.at(alpha));
    }

    fn has_cyclic(&self) -> bool {
        self.controls.right.is_some() || self.controls.forward.is_some()
    }
}

/// Of a control the reading, and where it stands from its travel's middle, from -1 to 1.
fn standing(control: Option<&Control>, reading: Option<Reading>) -> Option<(Reading, f64)> {
    let (control, reading) = (control?, reading?);
    let share = reading.value.map_or(0.5, |value| control.share(value).clamp(0.0, 1.0));
    Some((reading, 2.0 * share - 1.0))
}

impl Face for ControlsFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, 0.012 * self.unit, self.m, self.palette);
        if self.controls.collective.is_some() {
            let (x, top, foot) = BAR;
            self.line(&mut scene, &[(x, top), (x, foot)], 0.0016, 0.75);
            for i in 0..=4 {
                let y = foot + (top - foot) * f64::from(i) / 4.0;
                let length = if i % 2 == 0 { 0.015 } else { 0.010 };
                self.line(&mut scene, &[(x - length, y), (x, y)], 0.0016, 0.75);
            }
        }
        if self.has_cyclic() {
            let ((x, y), r) = FIELD;
            for share in [0.5, 1.0] {
                let ring = Path::circle(self.at((x, y)), share * r * self.unit);
                scene.stroke(ring.clone(), 0.0036 * self.unit, self.palette.casing.at(0.45));
                scene.stroke(ring, 0.0014 * self.unit, self.palette.ink.at(if share < 1.0 { 0.35 } else { 0.75 }));
            }
            self.line(&mut scene, &[(x - r, y), (x + r, y)], 0.0012, 0.55);
            self.line(&mut scene, &[(x, y - r), (x, y + r)], 0.0012, 0.55);
        }
        if self.controls.pedals.is_some() {
            let (left, right, y) = LINE;
            self.line(&mut scene, &[(left, y), (right, y)], 0.0016, 0.75);
            for (x, length) in [(left, 0.005), ((left + right) / 2.0, 0.008), (right, 0.005)] {
                self.line(&mut scene, &[(x, y - length), (x, y + length)], 0.0016, 0.75);
            }
        }
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        // The hands are those of the controls that there are, in this order.
        let mut next = 0;
        let mut reading = |control: Option<&Control>| {
            control?;
            next += 1;
            Some(states::nth(state, next - 1))
        };
        let Controls { collective, right, forward, pedals } = &self.controls;
        let lever = standing(collective.as_ref(), reading(collective.as_ref()));
        let right = standing(right.as_ref(), reading(right.as_ref()));
        let forward = standing(forward.as_ref(), reading(forward.as_ref()));
        let pedals = standing(pedals.as_ref(), reading(pedals.as_ref()));

        let mut key = Vec::with_capacity(5);
        let mut all = Vec::with_capacity(3);
        if let Some((reading, share)) = lever {
            key.extend(self.marker(COLLECTIVE, reading, 0.0, (share + 1.0) / 2.0 * (BAR.2 - BAR.1)));
            if let Some(value) = reading.number() {
                let ink = if reading.state == State::Held { ValueInk::Dim } else { ValueInk::Full };
                let share = collective.as_ref().map_or(0.0, |lever| lever.share(value));
                key.push(Part::Value { text: format!("{} %", words::number(100.0 * share, 0)), ink });
            }
            all.push(reading);
        }
        let ways: Vec<Reading> = [right, forward].into_iter().flatten().map(|way| way.0).collect();
        if !ways.is_empty() {
            let worst = states::worst(ways);
            let (x, y) = (right.map_or(0.0, |way| way.1), forward.map_or(0.0, |way| way.1));
            key.extend(self.marker(CYCLIC, worst, x * FIELD.1, y * FIELD.1));
            all.push(worst);
        }
        if let Some((reading, share)) = pedals {
            key.extend(self.marker(PEDALS, reading, share * (LINE.1 - LINE.0) / 2.0, 0.0));
            all.push(reading);
        }
        let worst = states::worst(all);
        let tag = match worst.state {
            State::Stale => words::old(worst.age_s)[0].clone(),
            State::Invalid => "NO DATA".to_owned(),
            _ => states::tag(worst),
        };
        key.push(Part::Name { unit: tag.is_empty(), tag });
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let palette = self.palette;
        match part {
            Part::Marker { of, style, x, y } => {
                let rest = self.rest(*of);
                let at = (rest.0 + f64::from(*x) / marker::STEPS, rest.1 + f64::from(*y) / marker::STEPS);
                let r = MARKER * self.unit;
                let outline = match *of {
                    // Its point touches the bar.
                    COLLECTIVE => {
                        let (left, right) = (at.0 + 0.2 * r, at.0 + 2.4 * r);
                        Path::polygon(&[
                            (left, at.1),
                            (left + r, at.1 - 0.8 * r),
                            (right, at.1 - 0.8 * r),
                            (right, at.1 + 0.8 * r),
                            (left + r, at.1 + 0.8 * r),
                        ])
                    }
                    CYCLIC => Path::circle(at, r),
                    _ => Path::polygon(&[
                        (at.0 - r, at.1),
                        (at.0, at.1 - 1.2 * r),
                        (at.0 + r, at.1),
                        (at.0, at.1 + 1.2 * r),
                    ]),
                };
                let filled = matches!(style, HandStyle::Solid | HandStyle::Pierced | HandStyle::Planked);
                if *of == CYCLIC && filled {
                    let line = Path::polyline(&[rest, at]);
                    scene.stroke(line.clone(), 0.0060 * self.unit, palette.casing.at(0.60));
                    scene.stroke(line, 0.0030 * self.unit, palette.ink);
                }
                let middle = if *of == COLLECTIVE { (at.0 + 1.5 * r, at.1) } else { at };
                marker::draw(&mut scene, outline, middle, r, *style, palette);
            }
            Part::Lost { of } => {
                let (middle, half) = match *of {
                    COLLECTIVE => ((BAR.0, (BAR.1 + BAR.2) / 2.0), 0.020),
                    CYCLIC => (FIELD.0, 0.72 * FIELD.1),
                    _ => (((LINE.0 + LINE.1) / 2.0, LINE.2), 0.009),
                };
                marker::cross(&mut scene, self.at(middle), half * self.unit, 0.0030 * self.unit, palette);
            }
            Part::Value { text, ink } => {
                let colour = if *ink == ValueInk::Dim { palette.ink2 } else { palette.ink };
                let run = [Run { text, weight: Weight::Bold, colour }];
                let setting =
                    self.palette.setting((VALUE * self.unit).max(SMALLEST_EM)).fitted(&run, 0.062 * self.unit);
                setting.at_least(SMALLEST_EM).draw(&mut scene, &run, self.at(BAR_VALUE), Some(marks::plain(palette)));
            }
            Part::Name { tag, .. } => {
                let name = Run { text: "CONTROLS", weight: Weight::Bold, colour: palette.ink };
                let tag = Run { text: tag, weight: Weight::Bold, colour: palette.cyan };
                let room = (WIDTH - 0.012) * self.unit;
                let fitted =
                    |runs: &[Run<'_>]| self.palette.setting((NAME.1 * self.unit).max(SMALLEST_EM)).fitted(runs, room);
                let both = [name, tag];
                let runs = match (tag.text.is_empty(), fitted(&both).em >= SMALLEST_EM) {
                    (true, _) => &both[..1],
                    (false, true) => &both[..],
                    (false, false) => &both[1..],
                };
                let at = self.at((WIDTH / 2.0, NAME.0));
                fitted(runs).at_least(SMALLEST_EM).draw(&mut scene, runs, at, Some(marks::plain(palette)));
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }
}
