//! One instrument's picture, kept up to date by redrawing only what changed.
//!
//! Every part is drawn by itself into a sprite that depends on the part alone. The picture is face, hand, lettering and
//! texts laid over each other pixel by pixel, so a box redrawn now equals the same box of a fresh picture, byte for byte.

use std::collections::HashMap;
use std::sync::Arc;

use crate::pixel::{Patch, PixelBox};

use super::face::Face;
use super::part::{Part, StateKey};
use super::raster::{Grid, over, restore};

/// Clear pixels inside a patch's edge.
const MARGIN_PX: f64 = 2.0;
/// Patches lie on the grid of the coarsest chroma, two by two.
const CHROMA: u32 = 2;
/// So many sprites of texts are kept per instrument.
const KEPT: usize = 64;

/// A part by itself.
struct Sprite {
    patch: Patch,
    /// Boxes that hold all of it that is not clear.
    boxes: Vec<PixelBox>,
}

/// An instrument's picture and how it came about.
pub(super) struct Picture {
    face: Box<dyn Face>,
    grid: Grid,
    /// The pixels of the face, which lie under everything that moves.
    ground: Vec<u8>,
    lettering: Patch,
    patch: Patch,
    shown: Option<Vec<(Part, Arc<Sprite>)>>,
    dirty: Vec<PixelBox>,
    texts: HashMap<Part, Arc<Sprite>>,
    /// Memory of the hands drawn last, for the next ones.
    spare: Vec<Vec<u8>>,
}

impl Picture {
    pub fn new(face: Box<dyn Face>, grid: Grid, frame: (u32, u32)) -> Self {
        let place = grid.bounds(&face.extent(), MARGIN_PX).to_grid(CHROMA, frame.0, frame.1);
        let ground = grid.picture(&face.face(), place, Vec::new()).rgba;
        let lettering = grid.sprite(&face.lettering(), place);
        let patch = Patch { place, rgba: ground.clone() };
        let (texts, dirty, spare) = (HashMap::new(), Vec::new(), Vec::new());
        Self { face, grid, ground, lettering, patch, shown: None, dirty, texts, spare }
    }

    pub fn face(&self) -> &dyn Face {
        &*self.face
    }

    pub fn patch(&self) -> &Patch {
        &self.patch
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
        let now: Vec<(Part, Arc<Sprite>)> = key
            .into_iter()
            .map(|part| {
                let same = before.iter().flatten().find(|(old, _)| *old == part);
                let sprite = same.map_or_else(|| self.sprite(&part), |(_, sprite)| Arc::clone(sprite));
                (part, sprite)
            })
            .collect();

        let mut dirty = std::mem::take(&mut self.dirty);
        dirty.clear();
        let (right, bottom) = (self.patch.place.right(), self.patch.place.bottom());
        let mut add = |area: PixelBox| join(&mut dirty, area.to_grid(CHROMA, right, bottom));
        match &before {
            None => add(self.patch.place),
            Some(before) => {
                let gone = before.iter().filter(|(part, _)| !now.iter().any(|(p, _)| p == part));
                let come = now.iter().filter(|(part, _)| !before.iter().any(|(p, _)| p == part));
                gone.chain(come).flat_map(|(_, sprite)| &sprite.boxes).for_each(|&area| add(area));
            }
        }
        dirty.iter().for_each(|&area| self.compose(&now, area));
        for (part, sprite) in before.into_iter().flatten() {
            if let (true, Some(hand)) = (part.is_hand(), Arc::into_inner(sprite)) {
                self.spare.push(hand.patch.rgba);
            }
        }
        self.shown = Some(now);
        self.dirty = dirty;
    }

    /// Every layer once more, within one box.
    fn compose(&mut self, parts: &[(Part, Arc<Sprite>)], area: PixelBox) {
        restore(&mut self.patch, &self.ground, area);
        let layer = |under: bool| parts.iter().filter(move |(part, _)| part.under_lettering() == under);
        layer(true).for_each(|(_, sprite)| over(&mut self.patch, &sprite.patch, area));
        over(&mut self.patch, &self.lettering, area);
        layer(false).for_each(|(_, sprite)| over(&mut self.patch, &sprite.patch, area));
    }

    /// The smallest memory that is left over and suffices, or else the largest, to grow.
    fn spare(&mut self, bytes: usize) -> Vec<u8> {
        let order = |buffer: &Vec<u8>| (buffer.capacity() < bytes, buffer.capacity().abs_diff(bytes));
        let best = (0..self.spare.len()).min_by_key(|&i| order(&self.spare[i]));
        best.map(|i| self.spare.swap_remove(i)).unwrap_or_default()
    }

    fn sprite(&mut self, part: &Part) -> Arc<Sprite> {
        if let Some(sprite) = self.texts.get(part) {
            return Arc::clone(sprite);
        }
        let place = self.patch.place;
        if part.is_hand() {
            let scene = self.face.part(part);
            let place = self.grid.sprite_box(&scene, place);
            let buffer = self.spare(4 * place.width as usize * place.height as usize);
            let patch = self.grid.picture(&scene, place, buffer);
            return Arc::new(Sprite { boxes: bands(&patch), patch });
        }
        let patch = self.grid.sprite(&self.face.part(part), place);
        let sprite = Arc::new(Sprite { boxes: vec![patch.place], patch });
        if self.texts.len() == KEPT {
            self.texts.clear();
        }
        self.texts.insert(part.clone(), Arc::clone(&sprite));
        sprite
    }
}

/// Rows that are looked at together.
const BAND: u32 = 16;

/// What of a sprite is not clear, band by band of rows: most of a slanting hand's box is.
fn bands(patch: &Patch) -> Vec<PixelBox> {
    let place = patch.place;
    if place.is_empty() {
        return Vec::new();
    }
    let row_bytes = 4 * place.width as usize;
    let band = |(i, rows): (usize, &[u8])| {
        let (mut first, mut end) = (place.width as usize, 0);
        for row in rows.chunks_exact(row_bytes) {
            let pixels = row.as_chunks::<4>().0;
            let solid = |pixel: &[u8; 4]| *pixel != [0; 4];
            first = first.min(pixels.iter().position(solid).unwrap_or(first));
            end = end.max(pixels.iter().rposition(solid).map_or(0, |last| last + 1));
        }
        let height = (rows.len() / row_bytes) as u32;
        let (x, width) = (place.x + first as u32, end.saturating_sub(first) as u32);
        (width > 0).then_some(PixelBox { x, y: place.y + BAND * i as u32, width, height })
    };
    patch.rgba.chunks(BAND as usize * row_bytes).enumerate().filter_map(band).collect()
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
