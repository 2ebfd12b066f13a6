//! One instrument's picture, kept up to date by composing anew only what changed.
//!
//! Every part is worked out by itself, as masks and colours that depend on the part alone. The picture is face, hand,
//! lettering and texts laid over each other sample by sample, so a box composed now equals the same box of a fresh picture,
//! byte for byte.

use std::collections::HashMap;
use std::sync::Arc;

use crate::pixel::{PixelBox, Surface};

use super::face::Face;
use super::part::{Part, StateKey};
use super::raster::{CHROMA, Grid, Piece};

/// Clear pixels inside a picture's edge.
const MARGIN_PX: f64 = 2.0;
/// So many texts' pieces are kept per instrument.
const KEPT: usize = 64;

/// A part by itself.
struct Sprite<S: Surface> {
    pieces: Vec<Piece<S>>,
    /// Boxes that hold all of it that is not clear.
    boxes: Vec<PixelBox>,
}

/// An instrument's picture and how it came about.
pub(super) struct Picture<S: Surface> {
    face: Box<dyn Face>,
    grid: Grid,
    form: S::Form,
    /// The face, which lies under everything that moves.
    ground: S,
    lettering: S,
    whole: S,
    shown: Option<Vec<(Part, Arc<Sprite<S>>)>>,
    dirty: Vec<PixelBox>,
    texts: HashMap<Part, Arc<Sprite<S>>>,
}

impl<S: Surface> Picture<S> {
    pub fn new(face: Box<dyn Face>, grid: Grid, form: S::Form) -> Self {
        let place = grid.bounds(&face.extent(), MARGIN_PX);
        let ground: S = grid.picture(&face.face(), place, form);
        let scene = face.lettering();
        let lettering = grid.picture(&scene, grid.bounds(&scene, 1.0).intersect(place), form);
        let mut whole = S::clear(place, form);
        whole.restore(&ground, place);
        Self { face, grid, form, ground, lettering, whole, shown: None, dirty: Vec::new(), texts: HashMap::new() }
    }

    pub fn face(&self) -> &dyn Face {
        &*self.face
    }

    /// The picture as it stands.
    pub fn whole(&self) -> &S {
        &self.whole
    }

    /// What the last change of state changed, on the chroma grid.
    pub fn dirty(&self) -> &[PixelBox] {
        &self.dirty
    }

    /// Leaves it as it is: nobody sees it now.
    pub fn rest(&mut self) {
        self.dirty.clear();
    }

    /// Brings the picture to a state.
    pub fn show(&mut self, key: StateKey) {
        let before = self.shown.take();
        let now: Vec<(Part, Arc<Sprite<S>>)> = key
            .into_iter()
            .map(|part| {
                let same = before.iter().flatten().find(|(old, _)| *old == part);
                let sprite = same.map_or_else(|| self.sprite(&part), |(_, sprite)| Arc::clone(sprite));
                (part, sprite)
            })
            .collect();

        let mut dirty = std::mem::take(&mut self.dirty);
        dirty.clear();
        let place = self.whole.place();
        let mut add = |area: PixelBox| join(&mut dirty, area.to_grid(CHROMA, place.right(), place.bottom()));
        match &before {
            None => add(place),
            Some(before) => {
                let gone = before.iter().filter(|(part, _)| !now.iter().any(|(p, _)| p == part));
                let come = now.iter().filter(|(part, _)| !before.iter().any(|(p, _)| p == part));
                gone.chain(come).flat_map(|(_, sprite)| &sprite.boxes).for_each(|&area| add(area));
            }
        }
        dirty.iter().for_each(|&area| self.compose(&now, area));
        self.shown = Some(now);
        self.dirty = dirty;
    }

    /// Every layer once more, within one box.
    fn compose(&mut self, parts: &[(Part, Arc<Sprite<S>>)], area: PixelBox) {
        let Self { whole, ground, lettering, .. } = self;
        whole.restore(ground, area);
        let near = |sprite: &Sprite<S>| sprite.boxes.iter().any(|held| !held.intersect(area).is_empty());
        let lay = |under: bool, whole: &mut S| {
            let layer = parts.iter().filter(|(part, sprite)| part.under_lettering() == under && near(sprite));
            layer.flat_map(|(_, sprite)| &sprite.pieces).for_each(|piece| piece.lay(whole, area));
        };
        lay(true, whole);
        whole.over(lettering, area);
        lay(false, whole);
    }

    fn sprite(&mut self, part: &Part) -> Arc<Sprite<S>> {
        if let Some(sprite) = self.texts.get(part) {
            return Arc::clone(sprite);
        }
        let place = self.whole.place();
        let pieces = self.grid.pieces(&self.face.part(part), place, self.form);
        let mut boxes = Vec::new();
        pieces.iter().flat_map(Piece::boxes).for_each(|area| join(&mut boxes, area));
        let sprite = Arc::new(Sprite { pieces, boxes });
        if !part.is_hand() {
            if self.texts.len() == KEPT {
                self.texts.clear();
            }
            self.texts.insert(part.clone(), Arc::clone(&sprite));
        }
        sprite
    }
}

/// Adds a box to others: boxes that are no larger together than apart become one.
fn join(boxes: &mut Vec<PixelBox>, mut area: PixelBox) {
    let size = |area: PixelBox| u64::from(area.width) * u64::from(area.height);
    while let Some(i) = boxes.iter().position(|other| size(other.union(area)) <= size(*other) + size(area)) {
        area = area.union(boxes.swap_remove(i));
    }
    if !area.is_empty() {
        boxes.push(area);
    }
}
