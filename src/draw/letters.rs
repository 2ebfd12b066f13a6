//! Letters as masks: each is filled once for its size and place between pixels, then only laid down.
//!
//! A value's text is new on every frame, its letters are not. A letter stands on a quarter of a pixel: closer is not seen.

use std::collections::HashMap;
use std::sync::{Arc, LazyLock, PoisonError, RwLock};

use crate::pixel::{Affine, Mask};

use super::cover;
use super::text::{Line, Outline};
use super::theme::Rgba;

/// Steps between two pixels on which a letter can stand.
const PHASES: f64 = 4.0;
/// Masks kept, for all films of a process together: a few hundred serve a panel.
const KEPT: usize = 8192;

/// Everything that a mask depends on.
#[derive(PartialEq, Eq, Hash)]
struct Key {
    outline: Outline,
    em: u64,
    /// The four factors of the way to coded pixels.
    turn: [u64; 4],
    phase: (u8, u8),
}

/// A mask about the pixel on which the letter stands, and that pixel.
pub(super) type Placed = (Arc<Mask>, (i32, i32));

static LETTERS: LazyLock<RwLock<HashMap<Key, Arc<Mask>>>> = LazyLock::new(RwLock::default);

/// A line of text as masks with their colours: first its casing as one, so that no letter darkens its neighbour, then its
/// letters.
pub(super) fn set(line: &Line, to_coded: Affine, mut each: impl FnMut(Placed, Rgba)) {
    if let Some((width, colour)) = line.casing {
        let placed = |letter| place(Outline::casing(letter, width), line.em, letter.at, to_coded);
        let masks: Vec<Placed> = line.letters.iter().map(placed).collect();
        each((Arc::new(joined(&masks)), (0, 0)), colour);
    }
    for letter in &line.letters {
        each(place(Outline::letter(letter), line.em, letter.at, to_coded), letter.colour);
    }
}

fn place(outline: Outline, em: f64, at: (f64, f64), to_coded: Affine) -> Placed {
    let (x, y) = to_coded.apply(at.0, at.1);
    let step = |v: f64| {
        let steps = (v * PHASES).round() as i64;
        (steps.div_euclid(PHASES as i64) as i32, steps.rem_euclid(PHASES as i64) as u8)
    };
    let ((column, right), (row, down)) = (step(x), step(y));
    let turn = [to_coded.a, to_coded.b, to_coded.c, to_coded.d].map(f64::to_bits);
    let key = Key { outline, em: em.to_bits(), turn, phase: (right, down) };
    if let Some(mask) = LETTERS.read().unwrap_or_else(PoisonError::into_inner).get(&key) {
        return (Arc::clone(mask), (column, row));
    }
    let between = Affine { e: f64::from(right) / PHASES, f: f64::from(down) / PHASES, ..to_coded };
    let mask = Arc::new(cover::mask(&outline.path().map(|(x, y)| (x * em, y * em)), between, None));
    let mut letters = LETTERS.write().unwrap_or_else(PoisonError::into_inner);
    if letters.len() >= KEPT {
        letters.clear();
    }
    letters.insert(key, Arc::clone(&mask));
    (mask, (column, row))
}

/// Several masks as one: where more of them cover a pixel, the densest counts.
fn joined(masks: &[Placed]) -> Mask {
    let edges = masks.iter().filter_map(|(mask, (right, down))| {
        mask.edges().map(|(l, t, r, b)| (l + right, t + down, r + right, b + down))
    });
    let all = edges.reduce(|a, b| (a.0.min(b.0), a.1.min(b.1), a.2.max(b.2), a.3.max(b.3)));
    let Some((left, top, right, bottom)) = all else { return Mask::default() };
    let width = (right - left) as usize;
    let mut values = vec![0; width * (bottom - top) as usize];
    for (mask, by) in masks {
        for ((x, y), run) in mask.runs() {
            let start = (y + by.1 - top) as usize * width + (x + by.0 - left) as usize;
            for (value, &other) in values[start..start + run.len()].iter_mut().zip(run) {
                *value = (*value).max(other);
            }
        }
    }
    let mut mask = Mask::default();
    (top..).zip(values.chunks_exact(width)).for_each(|(y, row)| mask.push((left, y), row));
    mask
}
