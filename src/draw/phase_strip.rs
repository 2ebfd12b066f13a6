//! The phase strip: the flight's own profile with the moment on it, the name of the phase, and a clock.
//!
//! What has been flown is a line, the present phase a thick one, what lies ahead a row of dots; the ring of the moment stands on it.
//! A phase is always computed, by the owner's rules; a moment that could not be judged is a gap in the line, with the moment
//! dashed at its foot, and in words NOT JUDGED. A clock whose time is not known shows a dash.

use crate::panel::{DiscSize, PhaseStrip};
use crate::readout::{InstrumentState, PanelState, Profile};

use super::chips;
use super::face::{Face, Ground};
use super::hands::HandStyle;
use super::marker;
use super::marks;
use super::part::{Chip, Frame, Part, StateKey, ValueInk};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::text::{Run, Weight};
use super::theme::Palette;

/// Height of a plate of middle size, in modules.
const HEIGHT: f64 = 0.050;
/// Ground and greatest height of the line, from the plate's lower and upper edge; where it starts.
const FOOT: f64 = 0.0105;
const HEAD: f64 = 0.0125;
const START: f64 = 0.0150;
/// Ems of phase and clock, and the clock's distance from the right edge.
const NAME: f64 = 0.0215;
const CLOCK: f64 = 0.0205;
const END: f64 = 0.0170;
/// Widths of clock and name in em, and what stays free before each.
const CLOCK_EM: f64 = 5.0;
const NAME_EM: f64 = 7.4;
const GAP: f64 = 0.0150;
/// Widths of the line flown and of the present phase; radius and distance of the dots; radius of the moment's ring.
const FLOWN: f64 = 0.0032;
const PRESENT: f64 = 0.0060;
const DOTS: (f64, f64) = (0.0010, 0.0062);
const MOMENT: f64 = 0.0062;
/// Least width that is left of the line, in pixels.
const LEAST_PX: f64 = 24.0;

/// A phase strip in its place.
#[derive(Debug, Clone)]
pub(super) struct PhaseStripFace {
    rect: Rect,
    /// The corners of the line: left and right, its foot and its head.
    line: Rect,
    /// Right ends of name and clock, and the width of the name.
    ends: (f64, f64, f64),
    unit: f64,
    m: f64,
    palette: &'static Palette,
}

/// Points in quarters of a pixel from the line's left end and foot.
type Steps = (i32, i32);

impl PhaseStripFace {
    pub fn new(strip: &PhaseStrip, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let unit = Sizes::new(size, m).step * m;
        let rect = Rect::centred(centre, strip.width_m * m, HEIGHT * unit).snapped();
        let em = |em: f64| (em * unit).max(SMALLEST_EM);
        let clock = rect.right - END * unit;
        let name = clock - CLOCK_EM * em(CLOCK) - GAP * unit;
        let wide = NAME_EM * em(NAME);
        let left = rect.left + START * unit;
        let line = Rect {
            left,
            top: rect.top + HEAD * unit,
            right: (name - wide - GAP * unit).max(left + LEAST_PX),
            bottom: rect.bottom - FOOT * unit,
        };
        Self { rect, line, ends: (name, clock, wide), unit, m, palette }
    }

    fn place(&self, profile: &Profile, time_s: f64, level: f64) -> Point {
        let (from, to) = profile.span_s;
        let share = if to > from { ((time_s - from) / (to - from)).clamp(0.0, 1.0) } else { 0.0 };
        (share * (self.line.right - self.line.left), level * (self.line.bottom - self.line.top))
    }

    fn on_picture(&self, (x, y): Steps) -> Point {
        (self.line.left + f64::from(x) / marker::STEPS, self.line.bottom - f64::from(y) / marker::STEPS)
    }

    /// The stretches of the line from one moment to another.
    fn stretches(&self, profile: &Profile, from_s: f64, to_s: f64) -> Vec<Vec<Steps>> {
        let whole = |time_s: f64, level: f64| {
            let (x, y) = self.place(profile, time_s, level);
            (marker::steps(x), marker::steps(y))
        };
        let start = profile.points.partition_point(|p| p.time_s <= from_s);
        let end = profile.points.partition_point(|p| p.time_s <= to_s);
        let at = |time_s: f64| profile.level_at(time_s).map(|level| whole(time_s, level));
        let mut lines: Vec<Vec<Steps>> = vec![at(from_s).into_iter().collect()];
        let between =
            profile.points.get(start..end).unwrap_or_default().iter().map(|p| (whole(p.time_s, p.level), p.joined));
        for (point, joined) in between.chain(at(to_s).map(|point| (point, true))) {
            match lines.last_mut().filter(|line| joined && !line.is_empty()) {
                Some(line) if line.last() == Some(&point) => {}
                Some(line) => line.push(point),
                None => lines.push(vec![point]),
            }
        }
        lines.retain(|line| line.len() > 1);
        lines
    }

    /// Dots evenly along the line, which stand still; those from a moment on.
    fn dots(&self, profile: &Profile, from_s: f64) -> Vec<Steps> {
        let pitch = DOTS.1 * self.unit;
        let now = self.place(profile, from_s, 0.0).0 + MOMENT * self.unit;
        let (mut dots, mut due) = (Vec::new(), 0.0);
        for pair in profile.points.windows(2) {
            if !pair[1].joined {
                due = 0.0;
                continue;
            }
            let [from, to] = [pair[0], pair[1]].map(|p| self.place(profile, p.time_s, p.level));
            let (right, up) = (to.0 - from.0, to.1 - from.1);
            let length = right.hypot(up);
            while due < length {
                let x = from.0 + right * due / length;
                if x > now {
                    dots.push((marker::steps(x), marker::steps(from.1 + up * due / length)));
                }
                due += pitch;
            }
            due -= length;
        }
        dots
    }

    fn draw_lines(&self, scene: &mut Scene, lines: &[Vec<Steps>], width: f64) {
        let mut path = Path::default();
        for line in lines {
            let points: Vec<Point> = line.iter().map(|point| self.on_picture(*point)).collect();
            path.append(Path::polyline(&points));
        }
        scene.stroke(path.clone(), width + 0.0030 * self.unit, self.palette.casing.at(0.60));
        scene.stroke(path, width, self.palette.ink);
    }

    fn middle(&self) -> f64 {
        (self.rect.top + self.rect.bottom) / 2.0
    }
}

impl Face for PhaseStripFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::plate(&mut scene, self.rect, 0.012 * self.unit, self.m, self.palette);
        scene
    }

    fn key(&self, state: &InstrumentState, panel: &PanelState) -> StateKey {
        let now_s = panel.session_s;
        let mut key = Vec::new();
        let phase = state.written();
        if let Some(profile) = &state.profile {
            let present_s = state.since_s.filter(|_| phase.is_some()).unwrap_or(now_s);
            key.push(Part::Dots(self.dots(profile, now_s)));
            key.push(Part::Way(self.stretches(profile, profile.span_s.0, now_s)));
            if present_s < now_s {
                key.push(Part::Present(self.stretches(profile, present_s, now_s)));
            }
            let level = profile.level_at(now_s).filter(|_| phase.is_some());
            let (x, y) = self.place(profile, now_s, level.unwrap_or_default());
            let style = if level.is_some() { HandStyle::Solid } else { HandStyle::Dashed };
            key.push(Part::Marker { of: 0, style, x: marker::steps(x), y: marker::steps(y) });
        }
        key.push(match phase {
            Some(phase) => Part::Value { text: phase.to_owned(), ink: ValueInk::Full },
            None => {
                let (text, short) = ("NOT JUDGED".to_owned(), "\u{2013}".to_owned());
                Part::Chip(Chip { text, short, frame: Frame::Dashed, arrow: None, at_hub: false })
            }
        });
        let clock = if state.note.is_empty() { "\u{2013}".to_owned() } else { state.note.clone() };
        key.push(Part::Note { text: clock });
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let (palette, unit) = (self.palette, self.unit);
        let (name, clock, wide) = self.ends;
        let mut text = |text: &str, em: f64, run: Run<'_>, right: f64, room: f64| {
            let run = [Run { text, ..run }];
            let setting = self.palette.setting((em * unit).max(SMALLEST_EM)).fitted(&run, room).at_least(SMALLEST_EM);
            let x = right - setting.width(&run) / 2.0;
            setting.draw(&mut scene, &run, (x, self.middle()), Some(marks::plain(palette)));
        };
        match part {
            Part::Value { text: phase, .. } => {
                let run = Run { text: "", weight: Weight::Bold, colour: palette.ink };
                text(phase, NAME, run, name, wide);
            }
            Part::Note { text: time } => {
                let run = Run { text: "", weight: Weight::Bold, colour: palette.ink2 };
                text(time, CLOCK, run, clock, f64::INFINITY);
            }
            Part::Chip(chip) => {
                let em = 0.86 * (NAME * unit).max(SMALLEST_EM);
                let x = name - chips::width(chip, em, wide, self.palette) / 2.0;
                chips::draw(&mut scene, chip, (x, self.middle()), em, wide, palette);
            }
            Part::Dots(dots) if !dots.is_empty() => {
                let mut path = Path::default();
                let r = (DOTS.0 * unit).max(0.8);
                dots.iter().for_each(|dot| path.append(Path::circle(self.on_picture(*dot), r)));
                scene.cased(path, palette.ink.at(0.85), 0.0020 * unit, palette.casing.at(0.45));
            }
            Part::Way(lines) if !lines.is_empty() => self.draw_lines(&mut scene, lines, (FLOWN * unit).max(1.0)),
            Part::Present(lines) if !lines.is_empty() => self.draw_lines(&mut scene, lines, (PRESENT * unit).max(2.0)),
            Part::Marker { style, x, y, .. } => {
                let (at, r) = (self.on_picture((*x, *y)), (MOMENT * unit).max(2.5));
                marker::draw(&mut scene, Path::circle(at, r), at, r, *style, palette);
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }

    fn extent(&self) -> Scene {
        marks::plate_extent(self.face(), self.rect)
    }
}
