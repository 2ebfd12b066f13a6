//! Chips: a short framed text where a value cannot stand bare.

use super::lamp::{self, Shape};
use super::part::{Alarm, Arrow, Chip, Frame};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::SMALLEST_EM;
use super::text::{Run, Weight};
use super::theme::{Palette, Rgba};

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

/// A chip's text, its em and the frame's width, for text of at most `em` and a frame of at most `room` pixels.
///
/// Where the text would become too small, its short form takes its place; on the smallest dials that one may stick out.
fn fitted<'a>(chip: &'a Chip, em: f64, room: f64, palette: &Palette) -> (&'a str, f64, f64) {
    let em = em.max(SMALLEST_EM);
    let width = |text: &str, em: f64| {
        let run = [Run { text, weight: Weight::Bold, colour: Rgba::opaque(0) }];
        palette.setting(em).width(&run) + (2.0 * side(chip) + lead(chip)) * em
    };
    let fit = |text: &str| em * (room / width(text, em)).min(1.0);
    let (text, em) = match fit(&chip.text) {
        em if em >= SMALLEST_EM => (&*chip.text, em),
        _ => (&*chip.short, fit(&chip.short).max(SMALLEST_EM)),
    };
    (text, em, width(text, em))
}

/// Between frame and text, in em; the points of a plate take room.
const fn side(chip: &Chip) -> f64 {
    match chip.frame {
        Frame::Plate(Alarm::Caution) | Frame::Pill => 0.62,
        Frame::Hairline | Frame::Dashed | Frame::Plate(Alarm::Warning) => SIDE,
    }
}

/// The triangle and its gap, in em.
const fn lead(chip: &Chip) -> f64 {
    if chip.arrow.is_some() { ARROW + ARROW_GAP } else { 0.0 }
}

/// The width of the frame that [`draw`] makes.
pub(super) fn width(chip: &Chip, em: f64, room: f64, palette: &Palette) -> f64 {
    fitted(chip, em, room, palette).2
}

/// Draws a chip about `centre`, text at most `em` pixels, frame at most `room` pixels wide.
pub(super) fn draw(scene: &mut Scene, chip: &Chip, centre: Point, em: f64, room: f64, palette: &Palette) {
    let (text, em, width) = fitted(chip, em, room, palette);
    let rect = Rect::centred(centre, width, HEIGHT * em);
    let frame = Path::rounded(rect, 0.24 * HEIGHT * em);
    let mut ink = palette.ink;
    match chip.frame {
        Frame::Hairline => {
            scene.fill(frame.clone(), palette.disc.at(0.82));
            scene.stroke(frame, (0.055 * em).max(1.0), palette.ink.at(0.5));
        }
        Frame::Dashed => {
            scene.fill(frame.clone(), palette.disc.at(0.82));
            scene.dashed(frame, (0.088 * em).max(1.0), palette.ink.at(0.95), (0.30 * em, 0.20 * em));
        }
        Frame::Pill => {
            ink = palette.cyan;
            let pill = lamp::outline(Shape::Advisory, rect, 0.0);
            scene.fill(pill.clone(), palette.disc.at(0.92));
            scene.stroke(pill, (0.10 * em).max(1.0), palette.cyan);
        }
        Frame::Plate(Alarm::Caution) => {
            ink = palette.caution_text;
            let plate = lamp::outline(Shape::Caution, rect.grown(0.10 * em), 0.0);
            scene.cased(plate, palette.caution, (0.10 * em).max(2.0), palette.caution_text);
        }
        Frame::Plate(Alarm::Warning) => {
            ink = palette.warning_text;
            let plate = |by: f64| lamp::outline(Shape::Warning, rect.grown(0.10 * em), by);
            let line = (0.085 * em).max(1.0);
            scene.fill(plate(0.0), palette.warning);
            scene.stroke(plate(-line / 2.0), line, palette.warning_text);
        }
    }
    if let Some(arrow) = chip.arrow {
        let (x, half) = (rect.left + side(chip) * em, ARROW / 2.0 * em);
        let tip = match arrow {
            Arrow::Up => -0.36 * em,
            Arrow::Down => 0.36 * em,
        };
        let y = centre.1;
        scene.fill(Path::polygon(&[(x + half, y + tip), (x + 2.0 * half, y - tip * 0.8), (x, y - tip * 0.8)]), ink);
    }
    let middle = centre.0 + lead(chip) * em / 2.0;
    let run = [Run { text, weight: Weight::Bold, colour: ink }];
    palette.setting(em).draw(scene, &run, (middle, centre.1), None);
}
