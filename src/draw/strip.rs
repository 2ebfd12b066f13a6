//! The strip chart: traces over the last seconds that run to the left, with the limits of the owner's panel file.
//!
//! Every data state is seen where it was: recorded is a line, held a row of dots, and what is not known a pale band with a
//! ruler's teeth. At the right edge stands now, with what each trace's hand shows: measured, derived (`calc`), held (dim, time),
//! stale (age), invalid (NO DATA), a saturated sensor and a value off the scale (chips with an arrow). The window moves by whole
//! pixels and shows only columns that have passed as a whole: never a moment that is still to come. A limit is a red line with
//! teeth on its forbidden side, a precaution starts at amber dashes, a reference is a triangle at the left with a thin line.

use crate::panel::{DiscSize, Marking, OffScale, Strip};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::{Reading, State};

use super::chips;
use super::columns::{Column, Columns, STEPS};
use super::face::{Face, Ground};
use super::marks;
use super::part::{Arrow, Chip, Frame, Part, RowValue, StateKey, ValueInk};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::{Palette, Rgba};
use super::words;

/// Sides of a strip of middle size, in modules.
const WIDTH: f64 = 0.420;
const HEIGHT: f64 = 0.190;
/// From the plate's edges to the plot: left, top, right, bottom.
const INSET: [f64; 4] = [0.054, 0.040, 0.104, 0.034];
/// Width of the column of values in em, for text at the least size.
const LEAST_VALUE: f64 = 5.6;
const TITLE: f64 = 0.019;
const NUMERAL: f64 = 0.0165;
/// Em of the value, where there is one and where there are several; of its name or tag, and the distance of their rows.
const VALUE: [f64; 2] = [0.034, 0.027];
const NAME: f64 = 0.0155;
const ROW: f64 = 0.048;
/// Widths of the traces: they differ by more than their colour.
const LINES: [f64; 3] = [0.0034, 0.0026, 0.0018];
/// How far a trace may leave the plot where a value is off the scale.
const BEYOND: f64 = 0.006;
/// Height and pitch of a limit's teeth, width of its line and of the amber dashes, and those.
const TEETH: (f64, f64) = (0.0065, 0.0090);
const RED: f64 = 0.0028;
const DASH: (f64, f64, f64) = (0.0028, 0.011, 0.006);
/// Width of a reference's triangle at the left end, and half its height.
const REFERENCE: (f64, f64) = (0.0130, 0.0052);
/// Half the height of the diamond at now.
const DIAMOND: f64 = 0.0070;

/// A strip chart in its place.
#[derive(Debug, Clone)]
pub(super) struct StripFace {
    strip: Strip,
    rect: Rect,
    plot: Rect,
    columns: Columns,
    /// A module of a strip of this size, in pixels.
    unit: f64,
    m: f64,
    palette: &'static Palette,
}

impl StripFace {
    pub fn new(strip: &Strip, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let unit = Sizes::new(size, m).step * m;
        let rect = Rect::centred(centre, WIDTH * unit, HEIGHT * unit).snapped();
        let [left, top, right, bottom] = INSET.map(|inset| inset * unit);
        // On small pictures text at the least size takes more.
        let em = (NUMERAL * unit).max(SMALLEST_EM);
        let width = |(_, text): &(f64, String)| {
            palette.setting(em).width(&[Run { text, weight: Weight::Bold, colour: palette.ink }])
        };
        let left = strip.scale.numerals.iter().map(width).fold(left - 0.016 * unit, f64::max) + 0.016 * unit;
        let right = right.max(LEAST_VALUE * SMALLEST_EM);
        let plot = Rect {
            left: rect.left + left,
            top: rect.top + top,
            right: rect.right - right,
            bottom: rect.bottom - bottom,
        };
        // Whole pixels, so that the window moves by them.
        let plot = plot.snapped();
        let columns = Columns::new((plot.right - plot.left).max(1.0) as usize, strip.seconds, m);
        Self { strip: strip.clone(), rect, plot, columns, unit, m, palette }
    }

    /// Where a value stands, in pixels above the plot's foot.
    fn above_foot(&self, value: f64) -> f64 {
        let (low, high) = self.strip.scale.ends();
        let (height, beyond) = (self.plot.bottom - self.plot.top, BEYOND * self.unit);
        ((value - low) / (high - low) * height).clamp(-beyond, height + beyond)
    }

    fn steps(&self, value: f64) -> i32 {
        (self.above_foot(value) * STEPS).round() as i32
    }

    fn y(&self, steps: i32) -> f64 {
        self.plot.bottom - f64::from(steps) / STEPS
    }

    fn colour(&self, row: usize) -> Rgba {
        [self.palette.ink, self.palette.hand2, self.palette.cyan][row.min(2)]
    }

    fn is_single(&self) -> bool {
        self.strip.traces.len() == 1
    }

    fn text(&self, scene: &mut Scene, runs: &[Run<'_>], em: f64, at: Point, room: f64) {
        let setting = self.palette.setting(em.max(SMALLEST_EM)).fitted(runs, room).at_least(SMALLEST_EM);
        setting.draw(scene, runs, at, Some(marks::plain(self.palette)));
    }

    /// Whether a bold text fits at a size that can be read.
    fn fits(&self, text: &str, room: f64) -> bool {
        self.palette.setting(SMALLEST_EM).width(&[Run { text, weight: Weight::Bold, colour: self.palette.ink }]) <= room
    }

    /// The numerals with their hairlines, and the times under the plot.
    fn draw_axes(&self, scene: &mut Scene) {
        let Rect { left, right, bottom, .. } = self.plot;
        let em = (NUMERAL * self.unit).max(SMALLEST_EM);
        for (value, text) in &self.strip.scale.numerals {
            let y = self.plot.bottom - self.above_foot(*value);
            scene.stroke(Path::polyline(&[(left, y), (right, y)]), 1.0, self.palette.ink.at(0.16));
            let run = [Run { text, weight: Weight::Bold, colour: self.palette.ink }];
            let room = left - self.rect.left - 0.010 * self.unit;
            let setting = self.palette.setting(em).fitted(&run, room).at_least(SMALLEST_EM);
            let x = left - 0.008 * self.unit - setting.width(&run) / 2.0;
            setting.draw(scene, &run, (x, y), Some(marks::plain(self.palette)));
        }
        scene.stroke(Path::polyline(&[(left, bottom), (right, bottom)]), 1.0, self.palette.ink.at(0.45));
        let y = (bottom + self.rect.bottom) / 2.0;
        let mut free_from = f64::NEG_INFINITY;
        for (share, text) in self.times() {
            let x = left + share * (right - left);
            let run = [Run { text: &text, weight: Weight::Regular, colour: self.palette.ink2 }];
            let half = self.palette.setting(em).width(&run) / 2.0;
            let tick = [(x, bottom), (x, bottom + 0.006 * self.unit)];
            scene.stroke(Path::polyline(&tick), 0.0014 * self.unit, self.palette.ink.at(0.75));
            if x - half > free_from {
                self.palette.setting(em).draw(scene, &run, (x, y), Some(marks::plain(self.palette)));
                free_from = x + half + 0.4 * em;
            }
        }
    }

    /// Shares of the plot's width and what is written there: the start, round times, now.
    fn times(&self) -> Vec<(f64, String)> {
        let seconds = self.strip.seconds;
        let minutes = seconds >= 120.0;
        let text = |s: f64| match s {
            0.0 => "now".to_owned(),
            s if minutes => format!("\u{2212}{} min", (s / 6.0).round() / 10.0),
            s => format!("\u{2212}{} s", (s * 10.0).round() / 10.0),
        };
        let step = [1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0].into_iter().find(|s| seconds / s <= 4.0);
        let step = step.unwrap_or(300.0);
        let count = (seconds / step + 1e-9).floor() as u32;
        (0..=count).rev().map(|i| f64::from(i) * step).map(|s| (1.0 - s / seconds, text(s))).collect()
    }

    fn draw_markings(&self, scene: &mut Scene) {
        let Rect { left, right, .. } = self.plot;
        let y = |value: f64| self.plot.bottom - self.above_foot(value);
        let line = |value: f64| Path::polyline(&[(left, y(value)), (right, y(value))]);
        let (low, high) = self.strip.scale.ends();
        let markings = &self.strip.markings;
        let limits: Vec<f64> =
            markings.iter().filter_map(|m| if let Marking::Limit { at } = m { Some(*at) } else { None }).collect();
        let taken = |value: f64| [low, high].iter().chain(&limits).any(|v| (v - value).abs() < 1e-3 * (high - low));
        for marking in markings {
            match *marking {
                Marking::Normal { from, to } => {
                    let band = Path::polyline(&[(left, y(from)), (left, y(to))]);
                    scene.stroke(band.clone(), 0.0072 * self.unit, self.palette.casing);
                    scene.stroke(band, 0.0042 * self.unit, self.palette.green);
                }
                Marking::Precaution { from, to } => {
                    let (width, on, off) = DASH;
                    for value in [from, to].into_iter().filter(|&value| !taken(value) && !self.is_normal_inside(value))
                    {
                        let dash = (on * self.unit, off * self.unit);
                        scene.stroke(line(value), (width + 0.0024) * self.unit, self.palette.casing.at(0.45));
                        scene.dashed(line(value), width * self.unit, self.palette.amber, dash);
                    }
                }
                Marking::Limit { at } => self.draw_limit(scene, at, self.is_maximum(at)),
                Marking::Reference { at } => {
                    scene.stroke(line(at), (0.0010 * self.unit).max(1.0), self.palette.ink.at(0.55));
                    let ((width, half), y) = (REFERENCE, y(at));
                    let corners = [(0.0, -half), (width, 0.0), (0.0, half)];
                    let triangle = Path::polygon(&corners.map(|(x, dy)| (left + x * self.unit, y + dy * self.unit)));
                    scene.cased(triangle, self.palette.ink, 0.0024 * self.unit, self.palette.casing);
                }
                Marking::Forbidden { from, to } => {
                    // The edge at the scale's own end is no limit.
                    if from > low {
                        self.draw_limit(scene, from, true);
                    }
                    if to < high {
                        self.draw_limit(scene, to, false);
                    }
                }
            }
        }
    }

    /// Whether normal values lie on both sides of a value.
    fn is_normal_inside(&self, value: f64) -> bool {
        let within = |m: &Marking| matches!(*m, Marking::Normal { from, to } if from < value && value < to);
        self.strip.markings.iter().any(within)
    }

    /// Whether the values above a limit are the forbidden ones: those away from the ranges that may be used, and where the owner
    /// gave none, from the middle of the scale.
    fn is_maximum(&self, at: f64) -> bool {
        let usable = self.strip.markings.iter().filter_map(|m| match *m {
            Marking::Normal { from, to } | Marking::Precaution { from, to } => Some((from + to) / 2.0),
            _ => None,
        });
        let nearest = usable.min_by(|a, b| (a - at).abs().total_cmp(&(b - at).abs()));
        let (low, high) = self.strip.scale.ends();
        at > nearest.unwrap_or((low + high) / 2.0)
    }

    /// A red line with teeth on the side where no value may be.
    fn draw_limit(&self, scene: &mut Scene, at: f64, upward: bool) {
        let Rect { left, right, .. } = self.plot;
        let y = self.plot.bottom - self.above_foot(at);
        let (height, pitch) = (TEETH.0 * self.unit, TEETH.1 * self.unit);
        let tip = if upward { y - height } else { y + height };
        let count = ((right - left) / pitch).round().max(1.0);
        let pitch = (right - left) / count;
        let mut teeth = Path::default();
        for i in 0..count as u32 {
            let x = left + pitch * f64::from(i);
            teeth.append(Path::polygon(&[(x + 0.08 * pitch, y), (x + 0.5 * pitch, tip), (x + 0.92 * pitch, y)]));
        }
        let line = Path::polyline(&[(left, y), (right, y)]);
        scene.stroke(line.clone(), (RED + 0.0024) * self.unit, self.palette.casing);
        scene.cased(teeth, self.palette.red, 0.0024 * self.unit, self.palette.casing);
        scene.stroke(line, RED * self.unit, self.palette.red);
    }

    /// What no trace knows: a pale band with a ruler's teeth, and words where they fit.
    fn draw_gaps(&self, scene: &mut Scene, traces: &[Vec<Column>]) {
        let Rect { left, top, bottom, .. } = self.plot;
        let unknown = |i: usize| traces.iter().all(|t| matches!(t.get(i), Some(Column::Gap { .. }) | None));
        let mut i = 0;
        while i < self.columns.count {
            let start = i;
            while i < self.columns.count && unknown(i) {
                i += 1;
            }
            let (from, to) = (left + start as f64, left + i as f64);
            if i > start {
                let corners = [(from, top), (to, top), (to, bottom), (from, bottom)];
                scene.fill(Path::polygon(&corners), self.palette.ink.at(0.13));
                let is_tooth =
                    |&i: &usize| matches!(traces.first().and_then(|t| t.get(i)), Some(Column::Gap { tooth: true }));
                let mut teeth = Path::default();
                for x in (start..i).filter(is_tooth).map(|i| left + i as f64 + 0.5) {
                    teeth.append(Path::polyline(&[(x, bottom), (x, bottom - 0.010 * self.unit)]));
                }
                if !teeth.segments.is_empty() {
                    scene.stroke(teeth, 0.0014 * self.unit, self.palette.ink.at(0.70));
                }
                let run = [Run { text: "no data", weight: Weight::Bold, colour: self.palette.ink2 }];
                let setting = self.palette.setting((NUMERAL * self.unit).max(SMALLEST_EM));
                if setting.width(&run) + setting.em < to - from {
                    setting.draw(
                        scene,
                        &run,
                        ((from + to) / 2.0, (top + bottom) / 2.0),
                        Some(marks::plain(self.palette)),
                    );
                }
            }
            i = i.max(start) + usize::from(i == start);
        }
    }

    fn draw_trace(&self, scene: &mut Scene, row: usize, columns: &[Column]) {
        let left = self.plot.left;
        let mut line: Vec<Point> = Vec::new();
        let mut path = Path::default();
        let mut dots = Path::default();
        let dot = 0.60 * LINES[row.min(2)] * self.unit;
        let mut end = |line: &mut Vec<Point>| {
            if line.len() > 1 {
                path.append(Path::polyline(line));
            }
            line.clear();
        };
        for (i, column) in columns.iter().enumerate() {
            let x = left + i as f64;
            match *column {
                Column::Line { first, low, high, last } => {
                    let mut add = |x: f64, steps: i32| {
                        let point = (x, self.y(steps));
                        if line.last() != Some(&point) {
                            line.push(point);
                        }
                    };
                    add(x, first);
                    let (lower, upper) = (first.min(last), first.max(last));
                    if low < lower {
                        add(x + 0.5, low);
                    }
                    if high > upper {
                        add(x + 0.5, high);
                    }
                    add(x + 1.0, last);
                }
                Column::Held { height, dot: stands } => {
                    end(&mut line);
                    if stands {
                        dots.append(Path::circle((x + 0.5, self.y(height)), dot.max(0.8)));
                    }
                }
                Column::Gap { .. } => end(&mut line),
            }
        }
        end(&mut line);
        let (width, colour) = (LINES[row.min(2)] * self.unit, self.colour(row));
        if !path.segments.is_empty() {
            scene.stroke(path.clone(), width.max(1.0) + 0.0030 * self.unit, self.palette.casing.at(0.60));
            scene.stroke(path, width, colour);
        }
        if !dots.segments.is_empty() {
            scene.cased(dots, colour, 0.0030 * self.unit, self.palette.casing.at(0.60));
        }
    }

    /// Where the row of a trace's value stands, and how much room it has.
    fn row(&self, row: u8) -> (Point, f64) {
        let (left, right) = (self.plot.right + 0.014 * self.unit, self.rect.right - 0.007 * self.unit);
        let middle = (self.plot.top + self.plot.bottom) / 2.0;
        let pitch = ROW * self.unit;
        let y = middle + pitch * (f64::from(row) - (self.strip.traces.len() as f64 - 1.0) / 2.0);
        (((left + right) / 2.0, y - 0.008 * self.unit), right - left)
    }

    fn draw_row(&self, scene: &mut Scene, row: u8, value: &RowValue, tag: &str) {
        let ((x, y), room) = self.row(row);
        let em = VALUE[usize::from(!self.is_single())] * self.unit;
        match value {
            RowValue::Plain { text, ink } => {
                let colour = if *ink == ValueInk::Dim { self.palette.ink2 } else { self.colour(usize::from(row)) };
                self.text(scene, &[Run { text, weight: Weight::Bold, colour }], em, (x, y), room);
            }
            RowValue::Chip(chip) => chips::draw(scene, chip, (x, y), 0.62 * em, room, self.palette),
        }
        // The name tells whose value it is; where there is one alone, the title does.
        let name = self.strip.traces.get(usize::from(row)).map_or("", |trace| &*trace.name);
        let below = if tag.is_empty() && !self.is_single() { name } else { tag };
        if below.is_empty() {
            return;
        }
        let (text, colour) = match tag {
            "" => (below, self.colour(usize::from(row))),
            tag if self.is_single() && self.fits(tag, room) => (tag, self.palette.cyan),
            _ => (states::short_tag(tag), self.palette.cyan),
        };
        let tag = Run { text, weight: Weight::Bold, colour };
        let name = Run { text: name, weight: Weight::Bold, colour: self.colour(usize::from(row)) };
        let alone =
            tag.text == name.text || self.is_single() || !self.fits(&format!("{}  {}", name.text, tag.text), room);
        let runs = if alone { vec![tag] } else { vec![name, tag] };
        self.text(scene, &runs, NAME * self.unit, (x, y + 0.58 * em + 0.55 * NAME * self.unit), room);
    }

    fn value(&self, reading: Reading) -> RowValue {
        let place = |value| self.strip.scale.place(value);
        let trusted = matches!(reading.state, State::Measured | State::Derived | State::Held);
        if let Some(value) = reading.value.filter(|&v| trusted && place(v) != OffScale::On) {
            let text = words::number(value, self.strip.decimals);
            let arrow = Some(if place(value) == OffScale::High { Arrow::Up } else { Arrow::Down });
            return RowValue::Chip(Chip { short: text.clone(), text, frame: Frame::Hairline, arrow, at_hub: false });
        }
        match states::value(reading, |v| words::number(v, self.strip.decimals)) {
            Part::Value { text, ink } => RowValue::Plain { text, ink },
            Part::Chip(chip) => RowValue::Chip(chip),
            _ => RowValue::Chip(super::dial::no_data()),
        }
    }
}

impl Face for StripFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, 0.012 * self.unit, self.m, self.palette);
        let name = Run { text: &self.strip.title, weight: Weight::Bold, colour: self.palette.ink };
        let unit = Run { text: &self.strip.unit, weight: Weight::Regular, colour: self.palette.ink2 };
        let both = [name, unit];
        let runs = if self.strip.unit.is_empty() { &both[..1] } else { &both };
        let room = self.rect.right - self.plot.left - 0.012 * self.unit;
        let setting =
            self.palette.setting((TITLE * self.unit).max(SMALLEST_EM)).fitted(runs, room).at_least(SMALLEST_EM);
        let x = self.plot.left + setting.width(runs) / 2.0;
        setting.draw(&mut scene, runs, (x, self.rect.top + 0.019 * self.unit), Some(marks::plain(self.palette)));
        self.draw_axes(&mut scene);
        self.draw_markings(&mut scene);
        scene
    }

    fn key(&self, state: &InstrumentState, panel: &PanelState) -> StateKey {
        let windows = state.traces.iter().map(|t| self.columns.window(t, panel.session_s, |v| self.steps(v)));
        let mut key = vec![Part::Traces(windows.collect())];
        for (row, _) in (0u8..).zip(&self.strip.traces) {
            let reading = states::nth(state, usize::from(row));
            if let Some(value) = reading.value.filter(|_| !matches!(reading.state, State::Stale | State::Invalid)) {
                key.push(Part::Now { row, height: self.steps(value), held: reading.state == State::Held });
            }
            let (tag, short) = (states::tag(reading), String::new());
            // Of several traces nobody could say whose limit it is.
            let alarm = states::alarm(state).filter(|_| self.is_single());
            key.push(Part::Row { row, value: states::plated_row(self.value(reading), alarm), tag, short });
        }
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        match part {
            Part::Traces(traces) => {
                self.draw_gaps(&mut scene, traces);
                // The first trace lies on top.
                for (row, columns) in traces.iter().enumerate().rev() {
                    self.draw_trace(&mut scene, row, columns);
                }
            }
            Part::Now { row, height, held } => {
                let (x, y, r) = (self.plot.right, self.y(*height), DIAMOND * self.unit);
                let r = if self.is_single() { r } else { 0.8 * r };
                let diamond = Path::polygon(&[(x - r, y), (x, y - r), (x + r, y), (x, y + r)]);
                let colour = self.colour(usize::from(*row));
                if *held {
                    scene.cased(diamond.clone(), self.palette.casing, 0.005 * self.unit, self.palette.casing.at(0.60));
                    scene.stroke(diamond, 0.0020 * self.unit, colour);
                } else {
                    scene.cased(diamond, colour, 0.003 * self.unit, self.palette.casing.at(0.60));
                }
            }
            Part::Row { row, value, tag, .. } => self.draw_row(&mut scene, *row, value, tag),
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }
}
