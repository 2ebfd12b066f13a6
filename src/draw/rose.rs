//! The rose of a compass: ticks all round, four letters, tens of degrees between them. Upright, however it is turned.

use super::hands::{Pivot, REACH};
use super::marks;
use super::path::{Path, polar};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::text::{Run, Weight};
use super::theme::Palette;
use super::ticks::Ticks;

/// Em of the numerals between the letters, over a dial's numerals.
const NUMERAL: f64 = 0.78;

/// Where the ring under a turning rose begins and ends, in radii, and how dense it is.
const RING: (f64, f64) = (0.50, 0.905);
const RING_ALPHA: f32 = 0.60;

/// The rose of one dial.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rose<'a> {
    pub pivot: Pivot,
    pub sizes: Sizes,
    pub palette: &'a Palette,
    /// Em of the four letters over a dial's numerals.
    pub letters: f64,
    /// What each tick and name stands out against.
    pub back: Back,
}

/// What a rose's ticks and names stand out against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Back {
    /// A casing of their own: a hand passes under them.
    Casings,
    /// One dark ring under all of them, which stays while they go round: the face's, see [`ring`].
    Ring,
}

/// The ring under a rose that turns, from its names' inner edge to beyond its ticks. It is drawn once, and no name in motion
/// drags a shadow of its own along.
pub(super) fn ring(scene: &mut Scene, pivot: Pivot, palette: &Palette) {
    let (inner, outer) = RING;
    let path = Path::circle(pivot.centre, (inner + outer) / 2.0 * pivot.r);
    scene.stroke(path, (outer - inner) * pivot.r, palette.casing.at(RING_ALPHA));
}

/// What stands at a multiple of thirty degrees: a letter, or tens of degrees.
pub(super) fn name_of(degrees: i32) -> String {
    match degrees.rem_euclid(360) {
        0 => "N".to_owned(),
        90 => "E".to_owned(),
        180 => "S".to_owned(),
        270 => "W".to_owned(),
        other => (other / 10).to_string(),
    }
}

impl Rose<'_> {
    /// Ticks, turned clockwise by so many degrees; `strength` dims them.
    pub fn ticks(self, scene: &mut Scene, turn: f64, strength: f32) {
        let Pivot { centre, r, k } = self.pivot;
        let weight = k * self.palette.tick_weight;
        let short = self.palette.short_ticks && 0.010 * k * r >= 0.78;
        let kinds = [
            (5, 10, 0.048, 0.010, 0.75, short),
            (10, 30, 0.075, 0.014, 0.90, true),
            (30, 360, 0.120, 0.022, 1.0, true),
        ];
        let mut edges = Path::default();
        let mut lines = Vec::with_capacity(3);
        for (step, longer, length, width, alpha, wanted) in kinds {
            // One coded pixel wide at least, as lines are.
            let [edge, line] = [(width * weight + 0.018) * r, width * weight * r].map(|width: f64| width.max(1.0));
            let ends = ((REACH - length) * r, REACH * r);
            let carried = |degrees: &i32| wanted && (longer == 360 || degrees % longer != 0);
            let degrees: Vec<f64> = (0..360).step_by(step).filter(carried).map(|at| turn + f64::from(at)).collect();
            if self.back == Back::Casings {
                degrees.iter().for_each(|&at| edges.append(Path::tick(centre, ends, at, edge)));
            }
            lines.push((Ticks { centre, ends, width: line, degrees }, self.palette.ink.at(alpha * strength)));
        }
        if self.back == Back::Casings {
            scene.fill(edges, self.palette.casing.at(0.45 * strength));
        }
        for (ticks, colour) in lines {
            match self.back {
                // A card that stays is drawn once, and by exact areas.
                Back::Casings => scene.fill(ticks.outline(), colour),
                Back::Ring => scene.ticks(ticks, colour),
            }
        }
    }

    /// Letters and numerals, an equal gap to the ticks all round.
    pub fn names(self, scene: &mut Scene, turn: f64, strength: f32) {
        let Pivot { centre, r, .. } = self.pivot;
        for degrees in (0..360).step_by(30) {
            let share = if degrees % 90 == 0 { self.letters } else { NUMERAL };
            let em = share * self.sizes.numeral;
            if em < if share < 1.0 { 1.0 } else { 0.83 } * SMALLEST_EM {
                continue;
            }
            let (text, setting) = (name_of(degrees), self.palette.setting(em.max(SMALLEST_EM)));
            let run = [Run { text: &text, weight: Weight::Bold, colour: self.palette.ink.at(strength) }];
            let at = turn + f64::from(degrees);
            let (sin, cos) = at.to_radians().sin_cos();
            let half = (setting.width(&run) / 2.0 / r, 0.375 * setting.em / r);
            let radius = REACH - 0.154 - 1.04 * (half.0 * sin).hypot(half.1 * cos);
            let mut casing = marks::passed(self.palette);
            casing.colour = casing.colour.at(casing.colour.alpha * strength);
            let casing = (self.back == Back::Casings).then_some(casing);
            setting.draw(scene, &run, polar(centre, radius * r, at), casing);
        }
    }
}
