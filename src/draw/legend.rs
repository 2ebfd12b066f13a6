//! The legend card: what the marks and states of this panel mean, for somebody who has never seen one.
//!
//! Only what the panel uses is explained. It has no reading and therefore no data state of its own.

use crate::panel::{DiscSize, Face as Kind, Marking, Panel, Severity};
use crate::readout::{InstrumentState, PanelState};

use super::face::{Face, Ground};
use super::hands::HandStyle;
use super::lamp::{self, Plate, Shape, Words};
use super::marker;
use super::marks;
use super::part::{Part, StateKey};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::text::{Run, Weight};
use super::theme::Palette;

/// Em of the words and height of a row, in modules of a card of middle size.
const TEXT: f64 = 0.0175;
const ROW: f64 = 0.0275;
/// Width of the signs, and the gap after them; edges of the card.
const SIGN: f64 = 0.046;
const GAP: f64 = 0.012;
const EDGE: f64 = 0.014;
/// More rows stand in two columns.
const ONE_COLUMN: usize = 7;
/// Weight of a small lamp's lines against that of a lamp in its row.
const LAMP_LINES: f64 = 0.45;

/// What a row explains.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sign {
    Band,
    Blocks,
    Limit,
    Teeth,
    Reference,
    /// With power off.
    Hairs,
    HollowLimit,
    Bracket,
    Hand(HandStyle),
    Cross,
    Lamp(Shape),
    Computed,
    Profile,
}

/// A legend card in its place.
#[derive(Debug, Clone)]
pub(super) struct LegendFace {
    rows: Vec<(Sign, &'static str)>,
    rect: Rect,
    /// Width of a column in pixels, and how many rows each has.
    column: (f64, usize),
    unit: f64,
    em: f64,
    m: f64,
    palette: &'static Palette,
}

impl LegendFace {
    pub fn new(panel: &Panel, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let em = (TEXT * Sizes::new(size, m).step * m).max(SMALLEST_EM);
        // All of the card follows its words, so that it can be read on small pictures.
        let unit = em / TEXT;
        let rows = rows(panel);
        let columns = if rows.len() > ONE_COLUMN { 2 } else { 1 };
        let high = rows.len().div_ceil(columns);
        let words = rows.iter().map(|row| palette.setting(em).width(&[run(row.1, palette)])).fold(0.0, f64::max);
        let wide = (SIGN + GAP) * unit + words;
        let gaps = 2.0 * GAP * unit * (columns - 1) as f64;
        let width = wide * columns as f64 + gaps + 2.0 * EDGE * unit;
        let height = (high as f64 * ROW + EDGE) * unit;
        let rect = Rect::centred(centre, width, height).snapped();
        Self { rows, rect, column: (wide + 2.0 * GAP * unit, high), unit, em, m, palette }
    }

    fn draw_sign(&self, scene: &mut Scene, sign: Sign, (left, y): Point) {
        let (unit, palette) = (self.unit, self.palette);
        let right = left + SIGN * unit;
        let middle = (left + right) / 2.0;
        let line = |from: f64, to: f64, y: f64| Path::polyline(&[(from, y), (to, y)]);
        let edge = 0.0030 * unit;
        match sign {
            Sign::Band => {
                scene.stroke(line(left, right, y), 0.0062 * unit + edge, palette.casing);
                scene.stroke(line(left, right, y), 0.0062 * unit, palette.green);
            }
            Sign::Blocks => {
                scene.stroke(line(left, right, y), 0.0087 * unit + edge, palette.casing);
                // Five blocks and the four gaps between them.
                let pitch = SIGN * unit / (4.0 + 0.67);
                let mut blocks = Path::default();
                for from in (0..5).map(|i| left + pitch * f64::from(i)) {
                    blocks.append(line(from, from + 0.67 * pitch, y));
                }
                scene.stroke(blocks, 0.0087 * unit, palette.amber);
            }
            Sign::Limit => scene.cased(tee((middle, y), unit, 0.0022), palette.red, edge, palette.casing),
            Sign::HollowLimit => {
                let outline = tee((middle, y), unit, 0.0036);
                scene.cased(outline.clone(), palette.casing, edge + 0.0020 * unit, palette.casing);
                scene.stroke(outline, 0.0020 * unit, palette.red);
            }
            Sign::Hairs => {
                scene.stroke(line(left, right, y), 0.0078 * unit + edge, palette.casing);
                for y in [y - 0.0030 * unit, y + 0.0030 * unit] {
                    scene.stroke(line(left, right, y), 0.0018 * unit, palette.green);
                }
            }
            Sign::Reference => {
                let corners = [(0.0, 0.0085), (0.0065, -0.0085), (-0.0065, -0.0085)];
                let triangle = Path::polygon(&corners.map(|(x, down)| (middle + x * unit, y + down * unit)));
                scene.cased(triangle, palette.ink, edge, palette.casing);
            }
            Sign::Teeth => {
                let (top, count) = (y - 0.0040 * unit, 6);
                let pitch = SIGN * unit / f64::from(count);
                let mut teeth = Path::default();
                for x in (0..count).map(|i| left + pitch * f64::from(i)) {
                    let tip = (x + 0.5 * pitch, top + 0.0090 * unit);
                    teeth.append(Path::polygon(&[(x + 0.08 * pitch, top), tip, (x + 0.92 * pitch, top)]));
                }
                scene.stroke(line(left, right, top), 0.0030 * unit + edge, palette.casing);
                scene.cased(teeth, palette.red, edge, palette.casing);
                scene.stroke(line(left, right, top), 0.0030 * unit, palette.red);
            }
            Sign::Bracket => {
                let (high, low) = (y - 0.0055 * unit, y + 0.0055 * unit);
                let bracket = Path::polyline(&[(left, high), (left, low), (right, low), (right, high)]);
                scene.stroke(bracket.clone(), 0.0020 * unit + edge, palette.casing);
                scene.stroke(bracket, 0.0020 * unit, palette.ink);
            }
            Sign::Hand(style) => {
                let r = 0.0068 * unit;
                let at = |x: f64, down: f64| (middle + x * unit, y + down * r);
                let tip = [at(0.023, 0.0), at(0.006, 0.9), at(-0.010, 0.75), at(-0.020, 0.35)];
                let tail = [at(-0.020, -0.35), at(-0.010, -0.75), at(0.006, -0.9)];
                let leaf: Vec<Point> = tip.into_iter().chain(tail).collect();
                let leaf = Path::polygon(&leaf);
                if style != HandStyle::Planked {
                    marker::draw(scene, leaf, (middle, y), r, style, palette);
                    return;
                }
                // A hand has its planks all along it, which no marker is long enough for.
                scene.cased(leaf.clone(), palette.casing.at(0.60), 0.004 * unit, palette.casing.at(0.70));
                let mut planks = Path::default();
                for x in [-0.014, -0.008, -0.002, 0.004, 0.010, 0.016] {
                    let half = if x > 0.006 { 0.022 - x } else { 0.015 + 0.1 * x } * 0.4 * unit;
                    planks.append(Path::polyline(&[(middle + x * unit, y - half), (middle + x * unit, y + half)]));
                }
                scene.stroke(planks, 0.0030 * unit, palette.ink);
                scene.stroke(leaf, 0.0014 * unit, palette.ink);
            }
            Sign::Cross => marker::cross(scene, (middle, y), 0.0085 * unit, 0.0026 * unit, palette),
            Sign::Lamp(shape) => {
                let plate = Plate { shape, words: Words::Subject(String::new()), computed: false };
                let rect = Rect::centred((middle, y), SIGN * unit, 0.0185 * unit);
                lamp::draw(scene, &plate, rect, LAMP_LINES * unit, palette);
            }
            Sign::Profile => {
                scene.stroke(line(left, middle, y), 0.0060 * unit + edge, palette.casing.at(0.60));
                scene.stroke(line(left, middle, y), 0.0060 * unit, palette.ink);
                let mut dots = Path::default();
                for x in (1..=4).map(|i| middle + 0.0056 * unit * f64::from(i)) {
                    dots.append(Path::circle((x, y), (0.0012 * unit).max(0.7)));
                }
                scene.cased(dots, palette.ink, 0.0024 * unit, palette.casing.at(0.45));
            }
            Sign::Computed => {
                let tag = [Run { text: "calc", weight: Weight::Bold, colour: palette.cyan }];
                self.palette.setting(self.em).draw(scene, &tag, (middle, y), Some(marks::plain(palette)));
            }
        }
    }
}

/// A limit's T with half a stem of this width.
fn tee((x, y): Point, unit: f64, stem: f64) -> Path {
    let (head, [top, neck, foot]) = (0.0090, [-0.0090, -0.0045, 0.0100]);
    let right = [(head, top), (head, neck), (stem, neck), (stem, foot)];
    let left = right.into_iter().rev().map(|(across, down)| (-across, down));
    let points: Vec<Point> =
        right.into_iter().chain(left).map(|(across, down)| (x + across * unit, y + down * unit)).collect();
    Path::polygon(&points)
}

fn run<'a>(text: &'a str, palette: &Palette) -> Run<'a> {
    Run { text, weight: Weight::Regular, colour: palette.ink }
}

/// What this panel uses, in the order of the rows.
fn rows(panel: &Panel) -> Vec<(Sign, &'static str)> {
    let faces = || panel.instruments.iter().map(|instrument| &instrument.face);
    let marked = |wanted: fn(&Marking) -> bool| faces().any(|face| face.markings().iter().any(wanted));
    let power_off = |wanted: fn(&Marking) -> bool| faces().any(|face| face.markings_power_off().iter().any(wanted));
    let is_normal = |m: &Marking| matches!(m, Marking::Normal { .. });
    let is_limit = |m: &Marking| matches!(m, Marking::Limit { .. });
    let has_hands =
        faces().any(|face| !matches!(face, Kind::Clock(_) | Kind::PhaseStrip(_)) && !face.hands().is_empty());
    let recorded = |severity| panel.lamps.iter().any(|lamp| lamp.severity == severity);
    let slipping = |severity| faces().any(|face| face.drive().is_some_and(|rule| rule.severity == severity));
    let limited = |severity| panel.limits.iter().any(|limit| limit.severity == severity);
    let of = |severity| recorded(severity) || limited(severity) || slipping(severity);
    let hand = Sign::Hand;
    [
        (marked(is_normal), Sign::Band, "normal"),
        (marked(|m| matches!(m, Marking::Precaution { .. })), Sign::Blocks, "precaution"),
        (marked(is_limit), Sign::Limit, "limit"),
        (marked(|m| matches!(m, Marking::Forbidden { .. })), Sign::Teeth, "forbidden"),
        (power_off(is_normal), Sign::Hairs, "normal, power off"),
        (power_off(is_limit), Sign::HollowLimit, "limit, power off"),
        (marked(|m| matches!(m, Marking::Reference { .. })), Sign::Reference, "reference"),
        (panel.instruments.iter().any(|instrument| !instrument.usual.is_empty()), Sign::Bracket, "usual now"),
        (has_hands, hand(HandStyle::Solid), "recorded"),
        (has_hands, hand(HandStyle::Planked), "held: the last value"),
        (has_hands, hand(HandStyle::Dashed), "too old to be shown"),
        (has_hands, Sign::Cross, "nothing recorded"),
        (of(Severity::Warning), Sign::Lamp(Shape::Warning), "warning"),
        (of(Severity::Caution), Sign::Lamp(Shape::Caution), "caution"),
        (recorded(Severity::InTransit), Sign::Lamp(Shape::InTransit), "changing over"),
        (of(Severity::Advisory), Sign::Lamp(Shape::Advisory), "advisory"),
        (recorded(Severity::Normal), Sign::Lamp(Shape::Normal), "as it should be"),
        (!panel.lamps.is_empty(), Sign::Lamp(Shape::Unlit), "a lamp that is unlit"),
        (!panel.limits.is_empty(), Sign::Computed, "computed, no lamp"),
        (faces().any(|face| matches!(face, Kind::PhaseStrip(_))), Sign::Profile, "flown, still ahead"),
    ]
    .into_iter()
    .filter_map(|(used, sign, words)| used.then_some((sign, words)))
    .collect()
}

impl Face for LegendFace {
    fn key(&self, _: &InstrumentState, _: &PanelState) -> StateKey {
        Vec::new()
    }

    fn part(&self, _: &Part) -> Scene {
        Scene::default()
    }

    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, 0.012 * self.unit, self.m, self.palette);
        let (wide, high) = self.column;
        for (i, (sign, words)) in self.rows.iter().enumerate() {
            let left = self.rect.left + EDGE * self.unit + wide * (i / high) as f64;
            let y = self.rect.top + (EDGE / 2.0 + ROW * ((i % high) as f64 + 0.5)) * self.unit;
            self.draw_sign(&mut scene, *sign, (left, y));
            let run = [run(words, self.palette)];
            let setting = self.palette.setting(self.em);
            let x = left + (SIGN + GAP) * self.unit + setting.width(&run) / 2.0;
            setting.draw(&mut scene, &run, (x, y), Some(marks::plain(self.palette)));
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }
}
