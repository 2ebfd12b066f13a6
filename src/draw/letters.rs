//! Letters as masks: each is filled once for its size and place between pixels, then only laid down.
//!
//! A value's text is new on every frame, its letters are not. A letter stands on a quarter of a pixel: closer is not seen.

use std::collections::HashMap;
use std::sync::{Arc, LazyLock, PoisonError, RwLock};

use crate::pixel::{Affine, Patch};

use super::cover::Cover;
use super::text::{Line, Outline};

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
type Placed = (Arc<Cover>, (i64, i64));

static LETTERS: LazyLock<RwLock<HashMap<Key, Arc<Cover>>>> = LazyLock::new(RwLock::default);

/// Lays a line of text on a picture: first its casing as one, so that no letter darkens its neighbour, then its letters.
pub(super) fn lay(picture: &mut Patch, line: &Line, to_coded: Affine) {
    if let Some((width, colour)) = line.casing {
        let placed = |letter| place(Outline::casing(letter, width), line.em, (letter.at.0, letter.at.1), to_coded);
        let masks: Vec<Placed> = line.letters.iter().map(placed).collect();
        joined(&masks).lay(picture, colour, (0, 0));
    }
    for letter in &line.letters {
        let (mask, at) = place(Outline::letter(letter), line.em, letter.at, to_coded);
        mask.lay(picture, letter.colour, at);
    }
}

fn place(outline: Outline, em: f64, at: (f64, f64), to_coded: Affine) -> Placed {
    let (x, y) = to_coded.apply(at.0, at.1);
    let step = |v: f64| {
        let steps = (v * PHASES).round() as i64;
        (steps.div_euclid(PHASES as i64), steps.rem_euclid(PHASES as i64) as u8)
    };
    let ((column, right), (row, down)) = (step(x), step(y));
    let turn = [to_coded.a, to_coded.b, to_coded.c, to_coded.d].map(f64::to_bits);
    let key = Key { outline, em: em.to_bits(), turn, phase: (right, down) };
    if let Some(mask) = LETTERS.read().unwrap_or_else(PoisonError::into_inner).get(&key) {
        return (Arc::clone(mask), (column, row));
    }
    let between = Affine { e: f64::from(right) / PHASES, f: f64::from(down) / PHASES, ..to_coded };
    let mask = Arc::new(Cover::of(&outline.path().map(|(x, y)| (x * em, y * em)), between));
    let mut letters = LETTERS.write().unwrap_or_else(PoisonError::into_inner);
    if letters.len() >= KEPT {
        letters.clear();
    }
    letters.insert(key, Arc::clone(&mask));
    (mask, (column, row))
}

/// Several masks as one.
fn joined(masks: &[Placed]) -> Cover {
    let edges = |(mask, at): &Placed| {
        let (left, top) = (mask.left + at.0, mask.top + at.1);
        (left, top, left + mask.width as i64, top + mask.height() as i64)
    };
    let inked = masks.iter().filter(|(mask, _)| mask.width > 0).map(edges);
    let all = inked.reduce(|a, b| (a.0.min(b.0), a.1.min(b.1), a.2.max(b.2), a.3.max(b.3)));
    let Some((left, top, right, bottom)) = all else { return Cover::default() };
    let (width, height) = ((right - left) as usize, (bottom - top) as usize);
    let mut joined = Cover { left, top, width, values: vec![0; width * height] };
    masks.iter().for_each(|(mask, at)| joined.join(mask, *at));
    joined
}
