//! Chips: a short framed text where a value cannot stand bare.

use super::part::{Arrow, Chip, Frame};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::SMALLEST_EM;
use super::text::{Run, Setting, Weight};
use super::theme::Palette;

/// Height of a chip over its text's em.
const HEIGHT: f64 = 1.42;
/// Between frame and text, in em.
const SIDE: f64 = 0.40;
/// Width of the triangle and the gap after it, in em.
const ARROW: f64 = 0.72;
const ARROW_GAP: f64 = 0.20;

/// Half a chip's height for text of this em.
pub(super) fn half_height(em: f64) -> f64 {
    HEIGHT / 2.0 * em
}

/// Draws a chip about `centre`, text at most `em` pixels, frame at most `room` pixels wide.
///
/// Where the text would become too small, its short form takes its place; on the smallest dials that one may stick out.
pub(super) fn draw(scene: &mut Scene, chip: &Chip, centre: Point, em: f64, room: f64, palette: &Palette) {
    let em = em.max(SMALLEST_EM);
    let run = |text| [Run { text, weight: Weight::Bold, colour: palette.ink }];
    let lead = if chip.arrow.is_some() { ARROW + ARROW_GAP } else { 0.0 };
    let width = |text, em: f64| Setting::em(em).width(&run(text)) + (2.0 * SIDE + lead) * em;
    let fit = |text| em * (room / width(text, em)).min(1.0);
    let (text, em) = match fit(&chip.text) {
        em if em >= SMALLEST_EM => (&chip.text, em),
        _ => (&chip.short, fit(&chip.short).max(SMALLEST_EM)),
    };

    let rect = Rect::centred(centre, width(text, em), HEIGHT * em);
    let frame = Path::rounded(rect, 0.24 * HEIGHT * em);
    scene.fill(frame.clone(), palette.disc.at(0.82));
    match chip.frame {
        Frame::Hairline => scene.stroke(frame, (0.055 * em).max(1.0), palette.ink.at(0.5)),
        Frame::Dashed => scene.dashed(frame, (0.088 * em).max(1.0), palette.ink.at(0.95), (0.30 * em, 0.20 * em)),
    }
    if let Some(arrow) = chip.arrow {
        let (x, half) = (rect.left + SIDE * em, ARROW / 2.0 * em);
        let tip = match arrow {
            Arrow::Up => -0.36 * em,
            Arrow::Down => 0.36 * em,
        };
        let y = centre.1;
        scene.fill(
            Path::polygon(&[(x + half, y + tip), (x + 2.0 * half, y - tip * 0.8), (x, y - tip * 0.8)]),
            palette.ink,
        );
    }
    let middle = centre.0 + lead * em / 2.0;
    Setting::em(em).draw(scene, &run(text), (middle, centre.1), None);
}
