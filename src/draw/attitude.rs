//! The attitude indicator: a horizon behind an aircraft that stands still, and a pointer that stays at the zenith.
//!
//! A nose that rises lowers the horizon, a bank to the right turns it anticlockwise (common practice, no source). Ground is
//! told from sky by its furrows, not by colour alone. Both readings move one horizon, which can be trusted no more than the worse
//! of them: measured, derived (pierced line, `calc`), held (planked line, time), stale (dashed line without sky and ground, age),
//! invalid (none, a cross), sensor saturated (an unfilled line, SENSOR MIN or MAX). Steeper than the window holds, the horizon
//! stays at its edge, so that the way back to level is always seen.

use crate::panel::DiscSize;
use crate::readout::{InstrumentState, PanelState};
use crate::signal::State;

use super::chips;
use super::dial::no_data;
use super::face::{Face, Ground};
use super::hands::{HandStyle, Pivot};
use super::marks;
use super::part::{Chip, Frame, Part, StateKey};
use super::path::{Path, Point, polar};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::words;

/// Radius of the window, in radii of the disc, and of a degree of pitch.
const WINDOW: f64 = 0.80;
const DEGREE: f64 = 0.030;
/// How far the horizon may leave the middle, in radii of the window.
const FARTHEST: f64 = 0.90;
/// The horizon moves in steps of this many pixels, at its middle and at the window's edge.
const STEP_PX: f64 = 0.25;
/// Distances of the furrows from the horizon.
const FURROWS: [f64; 7] = [0.09, 0.20, 0.33, 0.48, 0.66, 0.88, 1.14];
/// Lines of the ladder: degrees and half their length.
const LADDER: [(f64, f64); 4] = [(5.0, 0.09), (10.0, 0.18), (15.0, 0.09), (20.0, 0.18)];
/// The ladder keeps clear of the window's edge.
const LADDER_WITHIN: f64 = 0.66;
/// Bank marks outside the window, and how long they are.
const BANKS: [(f64, f64); 11] = [
    (0.0, 0.12),
    (10.0, 0.06),
    (-10.0, 0.06),
    (20.0, 0.06),
    (-20.0, 0.06),
    (30.0, 0.12),
    (-30.0, 0.12),
    (45.0, 0.06),
    (-45.0, 0.06),
    (60.0, 0.12),
    (-60.0, 0.12),
];
/// Where a tag or a chip stands.
const WORDS: Point = (0.0, 0.52);

/// An attitude indicator in its place.
#[derive(Debug, Clone)]
pub(super) struct AttitudeFace {
    pivot: Pivot,
    palette: &'static Palette,
    bank_step: f64,
}

impl AttitudeFace {
    pub fn new(size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        Self { pivot, palette, bank_step: (STEP_PX / (WINDOW * sizes.r)).to_degrees() }
    }

    fn draw_horizon(&self, scene: &mut Scene, style: HandStyle, pitch_px: f64, bank: f64) {
        let Pivot { centre, r, k } = self.pivot;
        let window = WINDOW * r;
        let (sin, cos) = bank.to_radians().sin_cos();
        // Along the horizon to the right, and down from it: the right end rises as the right wing sinks.
        let at = |along: f64, down: f64| (centre.0 + along * cos + down * sin, centre.1 - along * sin + down * cos);
        let down = pitch_px.clamp(-FARTHEST * window, FARTHEST * window);
        let chord = |down: f64| {
            let half = (window * window - down * down).max(0.0).sqrt();
            Path::polyline(&[at(-half, down), at(half, down)])
        };
        let palette = self.palette;
        let filled = matches!(style, HandStyle::Solid | HandStyle::Pierced | HandStyle::Planked);
        if filled {
            let (nadir, half) = (180.0 - bank, (down / window).acos().to_degrees());
            scene.fill(Path::arc(centre, window, nadir - half, nadir + half), palette.ground);
            scene.fill(Path::arc(centre, window, nadir + half, nadir + 360.0 - half), palette.sky);
            let mut furrows = Path::default();
            for furrow in FURROWS.map(|f| down + f * r).into_iter().filter(|f| *f < window) {
                furrows.append(chord(furrow));
            }
            if !furrows.segments.is_empty() {
                scene.stroke(furrows, 0.012 * k * r, palette.casing.at(0.38));
            }
            let mut ladder = Path::default();
            for (degrees, half) in LADDER.into_iter().flat_map(|(d, half)| [(d, half), (-d, half)]) {
                let y = down - degrees * DEGREE * r;
                if y.hypot(half * r) < LADDER_WITHIN * r {
                    ladder.append(Path::polyline(&[at(-half * r, y), at(half * r, y)]));
                }
            }
            if !ladder.segments.is_empty() {
                scene.stroke(ladder.clone(), (0.013 * k + 0.016) * r, palette.casing.at(0.45));
                scene.stroke(ladder, 0.013 * k * r, palette.ink.at(0.90));
            }
        }
        let line = chord(down);
        let width = 0.026 * k * r;
        scene.stroke(line.clone(), width + 0.024 * r, palette.casing.at(0.70));
        match style {
            HandStyle::Solid => scene.stroke(line, width, palette.ink),
            HandStyle::Pierced => {
                scene.stroke(line.clone(), width, palette.ink);
                scene.dashed(line, 0.36 * width, palette.casing.at(0.92), (0.10 * r, 0.10 * r));
            }
            HandStyle::Planked => scene.dashed(line, width, palette.ink, (0.045 * r, 0.040 * r)),
            HandStyle::Dashed => scene.dashed(line, 0.6 * width, palette.ink, (0.055 * r, 0.035 * r)),
            HandStyle::Hollow => {
                scene.stroke(line.clone(), 1.5 * width, palette.ink);
                scene.stroke(line, 0.8 * width, palette.casing.at(0.95));
            }
        }
        let point = |radius: f64, aside: f64| {
            let foot = polar(centre, radius * r, -bank);
            (foot.0 + aside * r * cos, foot.1 - aside * r * sin)
        };
        let zenith = Path::polygon(&[point(0.785, 0.0), point(0.675, 0.055 * k), point(0.675, -0.055 * k)]);
        if matches!(style, HandStyle::Dashed | HandStyle::Hollow) {
            scene.stroke(zenith, 0.016 * k * r, palette.ink);
        } else {
            scene.cased(zenith, palette.ink, 0.024 * r, palette.casing.at(0.70));
        }
    }
}

impl Face for AttitudeFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::disc(&mut scene, self.pivot, self.palette);
        let Pivot { centre, r, k } = self.pivot;
        let weight = k * self.palette.tick_weight;
        for (degrees, length) in BANKS {
            let ends = [polar(centre, 0.83 * r, degrees), polar(centre, (0.83 + length) * r, degrees)];
            let width = if length > 0.1 { 0.020 } else { 0.013 } * weight * r;
            scene.stroke(Path::polyline(&ends), width + 0.018 * r, self.palette.casing.at(0.45));
            scene.stroke(Path::polyline(&ends), width, self.palette.ink);
        }
        scene
    }

    /// The aircraft: two wings and its middle, which never move.
    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        let Pivot { r, k, .. } = self.pivot;
        let at = |x: f64, y: f64| self.pivot.at((x, y));
        let width = 0.038 * k.min(1.2) * r;
        let mut wings = Path::default();
        for side in [-1.0, 1.0] {
            wings.append(Path::polyline(&[at(side * 0.52, 0.0), at(side * 0.20, 0.0), at(side * 0.20, 0.075)]));
        }
        scene.stroke(wings.clone(), width + 0.030 * r, self.palette.casing);
        scene.stroke(wings, width, self.palette.ink);
        let dot = Path::circle(at(0.0, 0.0), 0.72 * width);
        scene.cased(dot, self.palette.ink, 0.030 * r, self.palette.casing);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let (pitch, bank) = (states::nth(state, 0), states::nth(state, 1));
        let worst = states::worst([pitch, bank]);
        if worst.state == State::Invalid {
            return vec![Part::Cross, Part::Chip(Chip { at_hub: true, ..no_data() })];
        }
        let mut key = Vec::with_capacity(3);
        if let (Some(pitch), Some(bank)) = (pitch.value, bank.value) {
            let pitch = (pitch.clamp(-90.0, 90.0) * DEGREE * self.pivot.r / STEP_PX).round() as i32;
            let bank = (bank.rem_euclid(360.0) / self.bank_step).round() as i32;
            key.push(Part::Horizon { style: states::style(worst.state), pitch, bank });
        }
        if worst.state == State::Stale {
            let [text, short] = words::old(worst.age_s);
            key.push(Part::Chip(Chip { text, short, frame: Frame::Dashed, arrow: None, at_hub: false }));
        }
        let tag = states::tag(worst);
        if !tag.is_empty() {
            key.push(Part::Name { unit: false, tag });
        }
        key
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        let r = self.pivot.r;
        match part {
            Part::Horizon { style, pitch, bank } => {
                let (pitch, bank) = (f64::from(*pitch) * STEP_PX, f64::from(*bank) * self.bank_step);
                self.draw_horizon(&mut scene, *style, pitch, bank);
            }
            Part::Cross => return self.pivot.cross(self.palette),
            Part::Chip(chip) => {
                let (at, em) = if chip.at_hub { ((0.0, 0.0), 0.155) } else { (WORDS, 0.150) };
                chips::draw(&mut scene, chip, self.pivot.at(at), em * r, 1.2 * r, self.palette);
            }
            Part::Name { tag, .. } => {
                let run = |text| [Run { text, weight: Weight::Bold, colour: self.palette.cyan }];
                let setting = |text| self.palette.setting((0.150 * r).max(SMALLEST_EM)).fitted(&run(text), 1.15 * r);
                let text = if setting(tag).em >= SMALLEST_EM { tag } else { states::short_tag(tag) };
                let setting = setting(text).at_least(SMALLEST_EM);
                setting.draw(&mut scene, &run(text), self.pivot.at(WORDS), Some(marks::passed(self.palette)));
            }
            _ => {}
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}
