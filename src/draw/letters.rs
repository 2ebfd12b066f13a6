//! Letters as masks: each is filled once for its size and place between pixels, then only laid down.
//!
//! A value's text is new on every frame, its letters are not. A letter stands on a quarter of a pixel: closer is not seen.

use std::collections::HashMap;
use std::sync::{Arc, PoisonError, RwLock};

use foldhash::fast::FixedState;

use crate::pixel::{Affine, Form, GROUP, Mask};

use super::cover;
use super::text::{Line, Outline};
use super::theme::Rgba;

/// Steps between two pixels on which a letter can stand.
const PHASES: f64 = 4.0;
/// Masks kept, for all films of a process together, and letters for each instrument: a few hundred serve a panel.
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

/// Quicker than the one for keys that come from outside: a line asks for several hashes a letter.
type Quick = FixedState;

static MASKS: RwLock<HashMap<Key, Arc<Mask>, Quick>> = RwLock::new(HashMap::with_hasher(Quick::with_seed(0)));

/// A letter in its place: its outline, how it stands between pixels, and the pixel on which it stands.
struct Placed {
    outline: Outline,
    phase: (u8, u8),
    at: (i32, i32),
}

/// What a ready letter depends on: outline, size, place between pixels, and whether the pixel is an odd one.
type ReadyKey = (Outline, u64, (u8, u8), (bool, bool));

/// The letters of one instrument, ready to be laid.
pub(super) struct Letters<F: Form> {
    ready: HashMap<ReadyKey, Arc<F::Stencil>, Quick>,
    /// The masks of one line.
    line: Vec<(Arc<Mask>, (i32, i32))>,
    values: Vec<u8>,
}

impl<F: Form> Default for Letters<F> {
    fn default() -> Self {
        Self { ready: HashMap::default(), line: Vec::new(), values: Vec::new() }
    }
}

impl<F: Form> Letters<F> {
    /// A line of text as masks, to be moved by whole pixels, with their colours: first its casing as one, so that no letter
    /// darkens its neighbour, then its letters.
    pub fn set(
        &mut self,
        line: &Line,
        to_coded: Affine,
        form: F,
        mut each: impl FnMut(Arc<F::Stencil>, (i32, i32), Rgba),
    ) {
        if let Some((width, colour)) = line.casing {
            let edge = |letter| place(Outline::casing(letter, width), letter.at, to_coded);
            if let [letter] = &line.letters[..] {
                let (stencil, by) = self.ready(edge(letter), line.em, to_coded, form);
                each(stencil, by, colour);
            } else {
                self.line.clear();
                let edges = line.letters.iter().map(edge);
                self.line
                    .extend(edges.map(|placed| (mask(placed.outline, line.em, placed.phase, to_coded), placed.at)));
                let joined = joined(&self.line, &mut self.values);
                each(Arc::new(form.stencil(Arc::new(joined), (0, 0))), (0, 0), colour);
            }
        }
        for letter in &line.letters {
            let placed = place(Outline::letter(letter), letter.at, to_coded);
            let (stencil, by) = self.ready(placed, line.em, to_coded, form);
            each(stencil, by, letter.colour);
        }
    }

    /// One letter's stencil, and the even columns and rows by which to move it.
    fn ready(&mut self, placed: Placed, em: f64, to_coded: Affine, form: F) -> (Arc<F::Stencil>, (i32, i32)) {
        let Placed { outline, phase, at } = placed;
        let odd = (at.0.rem_euclid(2), at.1.rem_euclid(2));
        let by = (at.0 - odd.0, at.1 - odd.1);
        let key = (outline, em.to_bits(), phase, (odd.0 == 1, odd.1 == 1));
        if let Some(stencil) = self.ready.get(&key) {
            return (Arc::clone(stencil), by);
        }
        if self.ready.len() >= KEPT {
            self.ready.clear();
        }
        let stencil = Arc::new(form.stencil(mask(outline, em, phase, to_coded), odd));
        self.ready.insert(key, Arc::clone(&stencil));
        (stencil, by)
    }
}

fn place(outline: Outline, at: (f64, f64), to_coded: Affine) -> Placed {
    let (x, y) = to_coded.apply(at.0, at.1);
    let step = |v: f64| {
        let steps = (v * PHASES).round() as i64;
        (steps.div_euclid(PHASES as i64) as i32, steps.rem_euclid(PHASES as i64) as u8)
    };
    let ((column, right), (row, down)) = (step(x), step(y));
    Placed { outline, phase: (right, down), at: (column, row) }
}

/// The mask of an outline about the pixel on which it stands.
fn mask(outline: Outline, em: f64, phase: (u8, u8), to_coded: Affine) -> Arc<Mask> {
    let turn = [to_coded.a, to_coded.b, to_coded.c, to_coded.d].map(f64::to_bits);
    let key = Key { outline, em: em.to_bits(), turn, phase };
    if let Some(mask) = MASKS.read().unwrap_or_else(PoisonError::into_inner).get(&key) {
        return Arc::clone(mask);
    }
    let between = Affine { e: f64::from(phase.0) / PHASES, f: f64::from(phase.1) / PHASES, ..to_coded };
    let mask = Arc::new(cover::mask(&outline.path().map(|(x, y)| (x * em, y * em)), between, None));
    let mut masks = MASKS.write().unwrap_or_else(PoisonError::into_inner);
    if masks.len() >= KEPT {
        masks.clear();
    }
    masks.insert(key, Arc::clone(&mask));
    mask
}

/// Several masks as one: where more of them cover a pixel, the densest counts. `values` is the memory for it.
fn joined(masks: &[(Arc<Mask>, (i32, i32))], values: &mut Vec<u8>) -> Mask {
    let edges = masks.iter().filter_map(|(mask, (right, down))| {
        mask.edges().map(|(l, t, r, b)| (l + right, t + down, r + right, b + down))
    });
    let all = edges.reduce(|a, b| (a.0.min(b.0), a.1.min(b.1), a.2.max(b.2), a.3.max(b.3)));
    let Some((left, top, right, bottom)) = all else { return Mask::default() };
    // Whole cells of chroma, and whole groups.
    let (left, top) = (left & !1, top & !1);
    let groups = ((right - left) as usize).div_ceil(GROUP);
    let (width, rows) = (groups * GROUP, ((bottom - top) as usize).next_multiple_of(2));
    values.clear();
    // What fills a run up to a whole group is clear, wherever it comes to lie.
    values.resize(width * rows + GROUP, 0);
    for (mask, by) in masks {
        for ((x, y), run) in mask.rows(0, i32::MIN..i32::MAX).1 {
            let start = (y + by.1 - top) as usize * width + (x + by.0 - left) as usize;
            for (values, others) in
                values[start..].as_chunks_mut::<GROUP>().0.iter_mut().zip(run.as_chunks::<GROUP>().0)
            {
                *values = std::array::from_fn(|i| values[i].max(others[i]));
            }
        }
    }
    let mut mask = Mask::of_cells(rows, values.len());
    for (y, cells) in (top..).step_by(2).zip(values.chunks_exact(2 * width)) {
        let rows = mask.push_cells((left, y), groups);
        rows.into_iter()
            .zip(cells.chunks_exact(width))
            .for_each(|(to, row)| to.as_flattened_mut().copy_from_slice(row));
    }
    mask
}
