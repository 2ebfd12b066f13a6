//! A page of charts, one under the other: lines, a band, points with their bars, each on axes of its own.

use super::page::{Hand, Side, box_of, round_step};
use super::path::{Path, Point};
use super::scene::Scene;
use super::sheet::sheet;
use super::svg::svg;
use super::text::Weight;
use super::theme::{Look, Rgba};
use crate::pixel::{Patch, PixelBox};

const WIDTH: f64 = 1600.0;
const LEFT: f64 = 150.0;
const RIGHT: f64 = 60.0;
const EDGE: f64 = 40.0;
const HEAD: f64 = 74.0;
const LINE: f64 = 36.0;
/// A chart's title, its field, and what stands under it.
const TITLE: f64 = 56.0;
const FIELD: f64 = 330.0;
const FOOT: f64 = 82.0;
const TITLE_EM: f64 = 36.0;
const TEXT_EM: f64 = 25.0;

/// What a line or a point stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Role {
    /// The one that is held against.
    First,
    /// The one that is laid along it.
    Second,
    /// What was before, or elsewhere.
    Faint,
    /// What was refused.
    Refused,
}

/// A line of a chart.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartLine {
    /// Its points, in the units of the axes; a NaN breaks it.
    pub points: Vec<(f64, f64)>,
    /// What it stands for.
    pub role: Role,
    /// Its name; none for a line that needs none.
    pub name: String,
}

/// A point of a chart with its bar.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartPoint {
    /// Where it stands.
    pub at: (f64, f64),
    /// Half the height of its bar.
    pub half: f64,
    /// What it stands for.
    pub role: Role,
    /// Its name.
    pub name: String,
}

/// A chart.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Chart {
    /// What it shows, in a sentence.
    pub title: String,
    /// What its axes count.
    pub axes: (String, String),
    /// From where to where the axes run.
    pub x: (f64, f64),
    /// See `x`.
    pub y: (f64, f64),
    /// A band: x, and its lower and upper edge.
    pub band: Vec<(f64, f64, f64)>,
    /// The lines.
    pub lines: Vec<ChartLine>,
    /// The points.
    pub points: Vec<ChartPoint>,
}

/// A page of charts.
#[derive(Debug, Clone)]
pub struct ChartPage {
    /// Its title.
    pub title: String,
    /// Lines of text under it.
    pub text: Vec<String>,
    /// The charts.
    pub charts: Vec<Chart>,
    /// Colours and typeface.
    pub look: Look,
}

impl ChartPage {
    /// Width and height in pixels.
    pub fn size(&self) -> (u32, u32) {
        let charts = self.charts.len() as f64 * (TITLE + FIELD + FOOT);
        (WIDTH as u32, (self.head() + charts + EDGE / 2.0).ceil() as u32)
    }

    fn head(&self) -> f64 {
        HEAD + self.text.len() as f64 * LINE + EDGE / 2.0
    }

    /// The page as pixels.
    pub fn pixels(&self) -> Patch {
        let (width, height) = self.size();
        sheet(&self.scene(), PixelBox { x: 0, y: 0, width, height })
    }

    /// The same outlines as SVG.
    pub fn svg(&self) -> String {
        let (width, height) = self.size();
        svg(width, height, [&self.scene()])
    }

    fn hand(&self, weight: Weight, colour: Rgba, em: f64) -> Hand {
        Hand { typeface: self.look.typeface, weight, colour, em }
    }

    fn colour(&self, role: Role) -> Rgba {
        let palette = self.look.theme.palette();
        match role {
            Role::First => palette.ink,
            Role::Second => palette.cyan,
            Role::Faint => palette.ink2,
            Role::Refused => palette.amber,
        }
    }

    fn scene(&self) -> Scene {
        let (palette, (width, height)) = (self.look.theme.palette(), self.size());
        let mut scene = Scene::default();
        scene.fill(box_of(0.0, 0.0, f64::from(width), f64::from(height)), palette.plate.at(1.0));
        let room = WIDTH - 2.0 * EDGE;
        self.hand(Weight::Bold, palette.ink, TITLE_EM).write(&mut scene, &self.title, (EDGE, 46.0), Side::Left, room);
        for (i, line) in self.text.iter().enumerate() {
            let at = (EDGE, HEAD + (i as f64 + 0.5) * LINE);
            self.hand(Weight::Regular, palette.ink2, TEXT_EM).write(&mut scene, line, at, Side::Left, room);
        }
        for (i, chart) in self.charts.iter().enumerate() {
            self.chart(&mut scene, chart, self.head() + i as f64 * (TITLE + FIELD + FOOT) + TITLE);
        }
        scene
    }

    fn chart(&self, scene: &mut Scene, chart: &Chart, top: f64) {
        let palette = self.look.theme.palette();
        let (right, bottom) = (WIDTH - RIGHT, top + FIELD);
        let ((x0, x1), (y0, y1)) = (chart.x, chart.y);
        let x = |v: f64| LEFT + (right - LEFT) * ((v - x0) / (x1 - x0).max(1e-12)).clamp(0.0, 1.0);
        let y = |v: f64| bottom - FIELD * ((v - y0) / (y1 - y0).max(1e-12)).clamp(0.0, 1.0);
        let small = self.hand(Weight::Regular, palette.ink2, TEXT_EM);
        self.hand(Weight::Bold, palette.ink, TEXT_EM + 2.0).write(
            scene,
            &chart.title,
            (EDGE, top - 26.0),
            Side::Left,
            WIDTH - 2.0 * EDGE,
        );
        scene.fill(box_of(LEFT, top, right, bottom), palette.ink.at(0.05));
        for (v, text) in marks(chart.x, 8.0) {
            scene.stroke(Path::polyline(&[(x(v), top), (x(v), bottom)]), 1.2, palette.ink2.at(0.16));
            small.write(scene, &text, (x(v), bottom + 22.0), Side::Middle, 160.0);
        }
        for (v, text) in marks(chart.y, 5.0) {
            let width = if v == 0.0 { 2.0 } else { 1.2 };
            scene.stroke(Path::polyline(&[(LEFT, y(v)), (right, y(v))]), width, palette.ink2.at(0.2));
            small.write(scene, &text, (LEFT - 12.0, y(v)), Side::Right, LEFT - 16.0);
        }
        let axes = format!("across: {}; up: {}", chart.axes.0, chart.axes.1);
        small.write(scene, &axes, (LEFT, bottom + 56.0), Side::Left, right - LEFT - 620.0);
        if let (Some(first), Some(last)) = (chart.band.first(), chart.band.last()) {
            let upper = chart.band.iter().map(|b| (x(b.0), y(b.2)));
            let lower = chart.band.iter().rev().map(|b| (x(b.0), y(b.1)));
            let around: Vec<Point> = upper.chain(lower).collect();
            if first.0 < last.0 {
                scene.fill(Path::polygon(&around), palette.cyan.at(0.16));
            }
        }
        let mut name_x = right;
        for line in &chart.lines {
            let colour = self.colour(line.role);
            // The second, thin on the first: where they lie on each other both are seen.
            let (width, opacity) = match line.role {
                Role::First => (7.0, 0.55),
                Role::Faint => (1.6, 0.55),
                Role::Second | Role::Refused => (2.6, 1.0),
            };
            for piece in line.points.split(|p| p.0.is_nan() || p.1.is_nan()).filter(|piece| piece.len() > 1) {
                let points: Vec<Point> = piece.iter().map(|p| (x(p.0), y(p.1))).collect();
                scene.stroke(Path::polyline(&points), width, colour.at(opacity));
            }
            if !line.name.is_empty() {
                let hand = self.hand(Weight::Bold, colour, TEXT_EM);
                hand.write(scene, &line.name, (name_x, bottom + 56.0), Side::Right, 420.0);
                name_x -= 34.0 + line.name.chars().count() as f64 * TEXT_EM * 0.6;
            }
        }
        for point in &chart.points {
            let colour = self.colour(point.role);
            let ((px, py), beyond) = ((x(point.at.0), y(point.at.1)), !(y0..=y1).contains(&point.at.1));
            let (low, high) = (y(point.at.1 - point.half), y(point.at.1 + point.half));
            scene.stroke(Path::polyline(&[(px, low), (px, high)]), 3.0, colour.at(0.7));
            if beyond {
                // It points out of the field, at what is far away.
                let way = if point.at.1 > y1 { -1.0 } else { 1.0 };
                let inner = py - way * 22.0;
                scene.fill(Path::polygon(&[(px - 10.0, inner), (px + 10.0, inner), (px, py)]), colour);
            } else {
                scene.fill(Path::circle((px, py), 8.0), colour);
            }
            let left = px > LEFT + 0.7 * (right - LEFT);
            let (at, side) = if left { (px - 14.0, Side::Right) } else { (px + 14.0, Side::Left) };
            let hand = self.hand(Weight::Bold, colour, TEXT_EM);
            hand.write(scene, &point.name, (at, (py - 18.0).clamp(top + 16.0, bottom - 16.0)), side, 700.0);
        }
    }
}

/// Round numbers of an axis, and how they are written.
fn marks((from, to): (f64, f64), most: f64) -> Vec<(f64, String)> {
    let step = round_step(to - from, most);
    let decimals = (-step.log10().floor()).clamp(0.0, 9.0) as usize;
    let first = (from / step - 1e-9).ceil() as i64;
    (first..)
        .map(|i| i as f64 * step)
        .take_while(|v| *v <= to + 1e-9 * step)
        .take(40)
        .map(|v| (v, format!("{:.decimals$}", v + 0.0)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn axes_are_round() {
        let texts = |range, most| marks(range, most).into_iter().map(|m| m.1).collect::<Vec<_>>();
        assert_eq!(texts((-0.034, 0.05), 5.0), ["-0.02", "0.00", "0.02", "0.04"]);
        assert_eq!(texts((0.0, 90.0), 8.0), ["0", "20", "40", "60", "80"]);
    }
}
