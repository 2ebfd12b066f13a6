//! The ground track: where the aircraft has been, north up, over the ground that the whole flight covers.
//!
//! The last minute is a line, what is older a row of dots, a ring marks the start, a bar of a round length gives the scale. Only
//! what has passed is drawn. The aircraft points the way that it moves and shows its data state: measured, derived (pierced,
//! `calc`), held (planked, time), stale (dashed, age), invalid (gone, NO DATA), sensor saturated (hollow).

use crate::panel::DiscSize;
use crate::readout::{GroundTrack, InstrumentState, PanelState};
use crate::signal::State;

use super::chips;
use super::dial::no_data;
use super::face::{Face, Ground};
use super::marker;
use super::marks;
use super::part::{Chip, Frame, Part, StateKey};
use super::path::{Path, Point, Rect, polar};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::words;

/// Side of a plate of middle size, and the edge that the way keeps clear of, in modules; more at the foot, for the scale.
const SIDE: f64 = 0.190;
const EDGE: f64 = 0.018;
const FOOT: f64 = 0.038;
/// A flight that never leaves its spot is shown on ground of at least so many metres.
const LEAST_M: f64 = 100.0;
/// How long the way stays a line; it turns into dots by whole seconds.
const RECENT_S: f64 = 60.0;
const LINE: f64 = 0.0036;
/// Distance of the dots, and their radius.
const DOTS: (f64, f64) = (0.0062, 0.0012);
const CRAFT: f64 = 0.0085;
const RING: f64 = 0.0062;
const TEXT: f64 = 0.0165;
/// The bar takes at most this share of the plate's side.
const BAR: f64 = 0.36;
/// What tells of the data's state takes at most this share of it.
const TAG: f64 = 0.54;

/// A ground track in its place.
#[derive(Debug, Clone)]
pub(super) struct TrackFace {
    rect: Rect,
    unit: f64,
    m: f64,
    palette: &'static Palette,
}

/// From metres to pixels from the map's middle.
struct Map {
    /// Metres east and north in the middle.
    middle: (f64, f64),
    /// Pixels a metre.
    scale: f64,
}

impl Map {
    fn at(&self, (east, north): (f64, f64)) -> Point {
        ((east - self.middle.0) * self.scale, -(north - self.middle.1) * self.scale)
    }
}

fn whole((x, y): Point) -> (i32, i32) {
    (marker::steps(x), marker::steps(y))
}

impl TrackFace {
    pub fn new(size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let unit = Sizes::new(size, m).step * m;
        Self { rect: Rect::centred(centre, SIDE * unit, SIDE * unit).snapped(), unit, m, palette }
    }

    fn map(&self, track: &GroundTrack) -> Map {
        let [east, north] = track.extent_m;
        let (wide, high) = ((SIDE - 2.0 * EDGE) * self.unit, (SIDE - EDGE - FOOT) * self.unit);
        let fit = |room: f64, (low, high): (f64, f64)| room / (high - low).max(LEAST_M);
        let scale = fit(wide, east).min(fit(high, north));
        Map { middle: ((east.0 + east.1) / 2.0, (north.0 + north.1) / 2.0), scale }
    }

    fn on_picture(&self, (x, y): (i32, i32)) -> Point {
        let middle_y = self.rect.top + (EDGE + (SIDE - EDGE - FOOT) / 2.0) * self.unit;
        let middle_x = (self.rect.left + self.rect.right) / 2.0;
        (middle_x + f64::from(x) / marker::STEPS, middle_y + f64::from(y) / marker::STEPS)
    }

    /// The longest round length that the bar has room for: in pixels, and in words.
    fn bar(&self, map: &Map) -> Part {
        let most = BAR * SIDE * self.unit / map.scale;
        let decade = 10f64.powf(most.log10().floor());
        let metres = [5.0, 2.0].map(|f| f * decade).into_iter().find(|m| *m <= most).unwrap_or(decade);
        let text = if metres < 1000.0 { format!("{metres:.0} m") } else { format!("{:.0} km", metres / 1000.0) };
        Part::Bar { length: marker::steps(metres * map.scale), text }
    }

    /// Dots up to a moment, evenly along the way from its start on.
    fn dots(&self, track: &GroundTrack, map: &Map, until_s: f64) -> Vec<(i32, i32)> {
        let pitch = DOTS.0 * self.unit;
        let (mut dots, mut from, mut due) = (Vec::new(), None::<Point>, 0.0);
        for point in track.points.iter().take_while(|p| p.time_s <= until_s) {
            let to = map.at(point.at_m);
            match from.filter(|_| point.joined) {
                Some(from) => {
                    let (right, down) = (to.0 - from.0, to.1 - from.1);
                    let length = right.hypot(down);
                    while due < length {
                        dots.push(whole((from.0 + right * due / length, from.1 + down * due / length)));
                        due += pitch;
                    }
                    due -= length;
                }
                None => due = 0.0,
            }
            from = Some(to);
        }
        dots
    }

    /// Lines from one moment to another.
    fn way(track: &GroundTrack, map: &Map, from_s: f64, to_s: f64) -> Vec<Vec<(i32, i32)>> {
        let first = track.points.partition_point(|p| p.time_s <= from_s);
        let end = track.points.partition_point(|p| p.time_s <= to_s);
        let place = |time_s: f64| track.at(time_s).map(|at| whole(map.at(at)));
        let mut lines: Vec<Vec<(i32, i32)>> = vec![place(from_s).into_iter().collect()];
        let passed = track.points.get(first..end).unwrap_or_default().iter();
        let points = passed.map(|p| (whole(map.at(p.at_m)), p.joined));
        // The way to a point that is still to come has begun.
        let begun = track.points.get(end).is_some_and(|next| next.joined).then(|| place(to_s)).flatten();
        for (point, joined) in points.chain(begun.map(|point| (point, true))) {
            match lines.last_mut().filter(|_| joined) {
                Some(line) if line.last() == Some(&point) => {}
                Some(line) => line.push(point),
                None => lines.push(vec![point]),
            }
        }
        lines.retain(|line| line.len() > 1);
        lines
    }

    /// Where the nose points, from the last way that can be seen.
    fn nose(&self, way: &[Vec<(i32, i32)>], at: (i32, i32)) -> Option<i32> {
        let near = (CRAFT * self.unit).max(3.0) * marker::STEPS;
        let line = way.last()?;
        let apart = |p: &&(i32, i32)| f64::from(p.0 - at.0).hypot(f64::from(p.1 - at.1)) >= near;
        let behind = line.iter().rev().find(apart).or_else(|| line.first().filter(|p| **p != at))?;
        let degrees = f64::from(at.0 - behind.0).atan2(f64::from(behind.1 - at.1)).to_degrees();
        Some((degrees / 2.0).round() as i32)
    }
}

impl Face for TrackFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, 0.012 * self.unit, self.m, self.palette);
        let at = |x: f64, y: f64| (self.rect.left + x * self.unit, self.rect.top + y * self.unit);
        let arrow = [at(0.015, 0.009), at(0.0205, 0.023), at(0.015, 0.0195), at(0.0095, 0.023)];
        scene.cased(Path::polygon(&arrow), self.palette.ink, 0.003 * self.unit, self.palette.casing.at(0.60));
        let run = [Run { text: "N", weight: Weight::Bold, colour: self.palette.ink }];
        let setting = self.palette.setting((TEXT * self.unit).max(SMALLEST_EM));
        setting.draw(&mut scene, &run, at(0.015, 0.034), Some(marks::plain(self.palette)));
        scene
    }

    fn key(&self, state: &InstrumentState, panel: &PanelState) -> StateKey {
        let worst = states::worst([states::nth(state, 0), states::nth(state, 1)]);
        let nothing = GroundTrack::default();
        let track = state.ground.as_deref().unwrap_or(&nothing);
        let mut key = Vec::with_capacity(7);
        if let Some(start) = track.points.first() {
            let (map, now_s) = (self.map(track), panel.session_s);
            let recent_s = (now_s - RECENT_S).floor();
            let way = Self::way(track, &map, recent_s, now_s);
            key.push(Part::Dots(self.dots(track, &map, recent_s)));
            if start.time_s <= now_s {
                let (x, y) = whole(map.at(start.at_m));
                key.push(Part::Start { x, y });
            }
            let nose_at = track.at(now_s).map(|at| whole(map.at(at))).filter(|_| worst.state != State::Invalid);
            let craft = nose_at.map(|(x, y)| {
                let nose = self.nose(&way, (x, y));
                Part::Craft { style: states::style(worst.state), x, y, nose }
            });
            key.push(Part::Way(way));
            key.extend(craft);
            key.push(self.bar(&map));
        }
        match worst.state {
            // The way stays: it was recorded. What is missing is where it leads now.
            State::Invalid => key.push(Part::Chip(Chip { at_hub: true, ..no_data() })),
            State::Stale => {
                let [text, short] = words::old(worst.age_s);
                key.push(Part::Chip(Chip { text, short, frame: Frame::Dashed, arrow: None, at_hub: false }));
            }
            _ => {
                let tag = states::tag(worst);
                if !tag.is_empty() {
                    key.push(Part::Name { unit: false, tag });
                }
            }
        }
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let (palette, unit) = (self.palette, self.unit);
        let em = (TEXT * unit).max(SMALLEST_EM);
        let foot = self.rect.bottom - 0.016 * unit;
        let room = TAG * SIDE * unit;
        match part {
            Part::Dots(dots) if !dots.is_empty() => {
                let mut path = Path::default();
                dots.iter().for_each(|dot| path.append(Path::circle(self.on_picture(*dot), (DOTS.1 * unit).max(0.7))));
                scene.cased(path, palette.ink.at(0.85), 0.0024 * unit, palette.casing.at(0.45));
            }
            Part::Way(lines) if !lines.is_empty() => {
                let mut path = Path::default();
                for line in lines {
                    let points: Vec<Point> = line.iter().map(|point| self.on_picture(*point)).collect();
                    path.append(Path::polyline(&points));
                }
                scene.stroke(path.clone(), (LINE + 0.003) * unit, palette.casing.at(0.60));
                scene.stroke(path, LINE * unit, palette.ink);
            }
            Part::Start { x, y } => {
                let ring = Path::circle(self.on_picture((*x, *y)), RING * unit);
                scene.stroke(ring.clone(), 0.0050 * unit, palette.casing.at(0.60));
                scene.stroke(ring, 0.0020 * unit, palette.ink);
            }
            Part::Craft { style, x, y, nose } => {
                let (at, r) = (self.on_picture((*x, *y)), CRAFT * unit);
                let ahead = 2.0 * f64::from(nose.unwrap_or_default());
                let dart = [(1.5, 0.0), (1.3, 140.0), (0.55, 180.0), (1.3, 220.0)];
                let outline = match nose {
                    Some(_) => Path::polygon(&dart.map(|(radius, aside)| polar(at, radius * r, ahead + aside))),
                    None => Path::circle(at, 0.8 * r),
                };
                marker::draw(&mut scene, outline, at, 0.8 * r, *style, palette);
            }
            Part::Bar { length, text } => {
                let left = self.rect.left + 0.012 * unit;
                let right = left + f64::from(*length) / marker::STEPS;
                let (y, end) = (self.rect.bottom - 0.011 * unit, 0.006 * unit);
                let bar = Path::polyline(&[(left, y - end), (left, y), (right, y), (right, y - end)]);
                scene.stroke(bar.clone(), 0.0050 * unit, palette.casing.at(0.60));
                scene.stroke(bar, 0.0022 * unit, palette.ink);
                let run = [Run { text, weight: Weight::Bold, colour: palette.ink }];
                let setting = self.palette.setting(em);
                let x = (left + right).max(2.0 * left + setting.width(&run)) / 2.0;
                setting.draw(&mut scene, &run, (x, y - 0.007 * unit - 0.6 * em), Some(marks::plain(palette)));
            }
            Part::Chip(chip) if chip.at_hub => {
                let middle = ((self.rect.left + self.rect.right) / 2.0, (self.rect.top + self.rect.bottom) / 2.0);
                chips::draw(&mut scene, chip, middle, em, 0.9 * SIDE * unit, palette);
            }
            Part::Chip(chip) => {
                let x = self.rect.right - 0.008 * unit - chips::width(chip, em, room, self.palette) / 2.0;
                chips::draw(&mut scene, chip, (x, foot), em, room, palette);
            }
            Part::Name { tag, .. } => {
                let run = |text| [Run { text, weight: Weight::Bold, colour: palette.cyan }];
                let setting = |text| self.palette.setting(em).fitted(&run(text), room);
                let text = if setting(tag).em >= SMALLEST_EM { tag } else { states::short_tag(tag) };
                let setting = setting(text).at_least(SMALLEST_EM);
                let x = self.rect.right - 0.010 * unit - setting.width(&run(text)) / 2.0;
                setting.draw(&mut scene, &run(text), (x, foot), Some(marks::plain(palette)));
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }
}
