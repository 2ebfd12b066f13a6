//! What dials and plates are made of besides their scale's marks: disc, rim, numerals, windows, plates.

use crate::panel::Scale;

use super::hands::Pivot;
use super::part::Alarm;
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::text::{Casing, CasingWidth, Run, Weight};
use super::theme::{DISC_STOPS, Palette, Rgba};

/// How far the dial's halo reaches, as a fraction of the radius.
pub(super) const HALO_REACH: f64 = 1.12;
/// How far a plate's halo reaches beyond it, in modules.
pub(super) const PLATE_HALO: f64 = 0.0125;
/// Disc with its halo and hairline.
pub(super) fn disc(scene: &mut Scene, pivot: Pivot, palette: &Palette) {
    let Pivot { centre, r, .. } = pivot;
    let halo = |share: f32| palette.halo.at(palette.halo.alpha * share);
    let reach = HALO_REACH as f32;
    // 0 inside the disc, then .42, .19, .06 and 0 at 1, 1.04, 1.08 and 1.12 radii in graphite.
    let rings = vec![
        (0.993 / reach, halo(0.0)),
        (1.0 / reach, halo(1.0)),
        (1.04 / reach, halo(0.45)),
        (1.08 / reach, halo(0.14)),
        (1.0, halo(0.0)),
    ];
    scene.radial(Path::circle(centre, HALO_REACH * r), centre, HALO_REACH * r, rings);
    let stops = DISC_STOPS.into_iter().zip(palette.disc_alpha.map(|alpha| palette.disc.at(alpha))).collect();
    scene.radial(Path::circle(centre, r), centre, r, stops);
    let width = (0.008 * r).max(1.0);
    scene.stroke(Path::circle(centre, r - width / 2.0), width, palette.rim);
}

/// Where the rims of a passed limit stand, in radii: outside the disc, so that they hide no marking, and no wider than the gap
/// to the next disc.
const RIMS: [f64; 2] = [1.024, 1.068];

/// The rim of a dial whose limit is passed: rough for a caution, double for a warning.
pub(super) fn rim(pivot: Pivot, alarm: Alarm, palette: &Palette) -> Scene {
    let Pivot { centre, r, k } = pivot;
    let mut scene = Scene::default();
    match alarm {
        Alarm::Caution => {
            let circle = Path::circle(centre, RIMS[0] * r);
            let pitch = std::f64::consts::TAU * RIMS[0] * r / 36.0;
            scene.stroke(circle.clone(), (0.034 * k + 0.020) * r, palette.casing.at(0.55));
            scene.dashed(circle, 0.034 * k * r, palette.caution, (0.62 * pitch, 0.38 * pitch));
        }
        Alarm::Warning => {
            for (radius, width) in [(RIMS[0], 0.030 * k), (RIMS[1], 0.018 * k)] {
                let circle = Path::circle(centre, radius * r);
                // Edged in white: on dark ground red alone would not be seen.
                scene.stroke(circle.clone(), (width * r).max(1.0) + (0.011 * r).max(1.0), palette.warning_text);
                scene.stroke(circle, width * r, palette.warning);
            }
        }
    }
    scene
}

/// The numerals: upright, an equal gap to the ticks all round. They are a layer of their own, above the hand.
///
/// The ticks end at `reach`. `rooms` are half the width and the upper edge, in radii, of what stands in the lower half; a
/// numeral that would touch one goes, and so does one that stands close beside it: `100` and a small `0` read as a thousand.
pub(super) fn numerals(
    scene: &mut Scene,
    pivot: Pivot,
    sizes: Sizes,
    scale: &Scale,
    reach: f64,
    rooms: &[(f64, f64)],
    palette: &Palette,
) {
    // A little too small is set at the least size; much too small would crowd the dial and goes.
    if sizes.numeral < 0.83 * SMALLEST_EM {
        return;
    }
    let setting = palette.setting(sizes.numeral.max(SMALLEST_EM));
    let em = setting.em / pivot.r;
    let placed = |(value, text): &(f64, String)| {
        let degrees = scale.angle(*value);
        let (sin, cos) = degrees.to_radians().sin_cos();
        let half = (0.325 * em * text.chars().count() as f64, 0.375 * em);
        let radius = reach - 0.154 - 1.04 * (half.0 * sin).hypot(half.1 * cos);
        (text.clone(), (radius * sin, -radius * cos), half)
    };
    let mut numerals: Vec<(String, Point, (f64, f64))> = scale.numerals.iter().map(placed).collect();
    // Where two would touch, every second one goes, so that those that stay step evenly.
    let gap = 0.12 * em;
    let touch = |pair: &[(String, Point, (f64, f64))]| {
        let ((_, a, half), (_, b, other)) = (&pair[0], &pair[1]);
        (a.0 - b.0).abs() < half.0 + other.0 + gap && (a.1 - b.1).abs() < half.1 + other.1 + gap
    };
    while numerals.len() > 2 && numerals.windows(2).any(touch) {
        let mut keep = [true, false].into_iter().cycle();
        numerals.retain(|_| keep.next().unwrap_or(true));
    }
    for (text, (x, y), (w, h)) in numerals {
        let crowds = |room: &(f64, f64)| {
            let sunk = y + h - room.1;
            let gap = if sunk > 0.6 * h { 0.35 * em } else { 0.0 };
            x.abs() - w < room.0 + gap && sunk > 0.0
        };
        if rooms.iter().any(crowds) {
            continue;
        }
        let run = Run { text: &text, weight: Weight::Bold, colour: palette.ink };
        let at = (pivot.centre.0 + x * pivot.r, pivot.centre.1 + y * pivot.r);
        setting.draw(scene, &[run], at, Some(passed(palette)));
    }
}

/// The casing of text that a hand can pass under.
pub(super) fn passed(palette: &Palette) -> Casing {
    Casing { width: CasingWidth::Passed, colour: palette.casing.at(0.88) }
}

/// The casing of other text on a disc or a plate.
pub(super) fn plain(palette: &Palette) -> Casing {
    Casing { width: CasingWidth::Plain, colour: palette.casing.at(0.60) }
}

/// A window of smoked glass with its text, above the hands: dense enough for the text, and thin enough that a hand is seen to
/// go on behind it. All in radii.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    /// Its middle, x to the right, y down.
    pub middle: Point,
    /// Its height; text at the least size may need more.
    pub height: f64,
    /// It is as wide as its text needs, between these.
    pub widths: (f64, f64),
    /// Em of the text; smaller where it would be too wide.
    pub em: f64,
}

impl Window {
    /// Between frame and text, on both sides together.
    const SIDES: f64 = 0.07;
    /// Height over the text's em, at least.
    const LOWEST: f64 = 1.15;

    /// Its height on a dial of this radius in pixels, where the text may be at the least size.
    pub fn height(self, r: f64) -> f64 {
        self.height.max(Self::LOWEST * SMALLEST_EM / r)
    }

    /// Whether a text has room at its own em, or at the least size where that is more.
    pub fn holds(self, run: Run<'_>, r: f64, palette: &Palette) -> bool {
        palette.setting((self.em * r).max(SMALLEST_EM)).width(&[run]) <= (self.widths.1 - Self::SIDES) * r
    }

    /// Draws it with its text.
    pub fn draw(self, scene: &mut Scene, pivot: Pivot, run: Run<'_>, palette: &Palette) {
        let r = pivot.r;
        let setting = palette.setting(self.em * r).fitted(&[run], (self.widths.1 - Self::SIDES) * r);
        let setting = setting.at_least(SMALLEST_EM);
        let width = (setting.width(&[run]) / r + Self::SIDES).max(self.widths.0);
        let frame = Path::rounded(Rect::centred(pivot.at(self.middle), width * r, self.height(r) * r), 0.05 * r);
        glass(scene, frame, r, palette);
        setting.draw(scene, &[run], pivot.at(self.middle), Some(plain(palette)));
    }
}

/// Smoked glass with its frame, on a dial of this radius.
pub(super) fn glass(scene: &mut Scene, frame: Path, r: f64, palette: &Palette) {
    scene.fill(frame.clone(), palette.casing.at(0.80));
    scene.stroke(frame, (0.008 * r).max(1.0), palette.ink2.at(0.85));
}

/// What a plate with its face may cover: on the smallest ones, texts of the least size stick out.
pub(super) fn plate_extent(mut face: Scene, rect: Rect) -> Scene {
    let middle = ((rect.left + rect.right) / 2.0, (rect.top + rect.bottom) / 2.0);
    let width = (rect.right - rect.left).max(8.0 * SMALLEST_EM);
    let height = (rect.bottom - rect.top).max(4.0 * SMALLEST_EM);
    face.fill(Path::rounded(Rect::centred(middle, width, height), 0.0), Rgba::opaque(0).at(0.0));
    face
}

/// The cross over a part of a plate that has nothing to show; `m` is the module by the plate's size.
pub(super) fn cross(scene: &mut Scene, rect: Rect, m: f64, palette: &Palette) {
    let Rect { left, right, top, bottom } = rect;
    for (width, colour) in [(0.0071, palette.casing.at(0.80)), (0.0028, palette.ink)] {
        for ends in [[(left, top), (right, bottom)], [(left, bottom), (right, top)]] {
            scene.stroke(Path::polyline(&ends), (width * m).max(1.0), colour);
        }
    }
}

/// A plate with its soft edge, its edges on whole pixels.
pub(super) fn plate(scene: &mut Scene, rect: Rect, corner: f64, m: f64, palette: &Palette) {
    let rect = rect.snapped();
    // Six frames, each laid from the plate's edge outward and wider than the one before, add up to a soft shadow.
    for share in (1..=6).map(|i| f64::from(i) / 6.0) {
        let width = PLATE_HALO * m * share;
        let frame = Path::rounded(rect.grown(width / 2.0), corner + width / 2.0);
        scene.stroke(frame, width, palette.halo.at(0.05));
    }
    scene.fill(Path::rounded(rect, corner), palette.plate);
    let width = (0.0012 * m).max(1.0);
    scene.stroke(Path::rounded(rect.grown(-width / 2.0), corner - width / 2.0), width, palette.rim);
}
