//! One instrument's picture: what never changes, made once, and what moves, worked out when it moves.
//!
//! No picture of the whole is kept. Face, hand, lettering and texts are laid on the canvas one after the other, each by itself
//! and depending on its part alone, so the pixels depend on the state alone, whatever was drawn before.

use std::collections::HashMap;
use std::sync::Arc;

use crate::pixel::{FULL, Form, PixelBox};

use super::face::Face;
use super::letters::Letters;
use super::part::{Part, StateKey};
use super::raster::{Grid, Piece};

/// Clear pixels inside a picture's edge.
const MARGIN_PX: f64 = 2.0;
/// So many texts' pieces are kept per instrument.
const KEPT: usize = 64;

/// A part, ready to be laid.
type Sprite<F> = Arc<Vec<Piece<F>>>;

/// An instrument's picture and how it came about.
pub(super) struct Picture<F: Form> {
    face: Box<dyn Face>,
    grid: Grid,
    form: F,
    place: PixelBox,
    /// The face, which lies under everything that moves.
    ground: F::Picture,
    lettering: F::Picture,
    shown: Vec<(Part, Sprite<F>)>,
    opacity: u8,
    texts: HashMap<Part, Sprite<F>>,
    letters: Letters<F>,
    /// What lay under it, while it is faint.
    kept: F::Kept,
}

impl<F: Form> Picture<F> {
    pub fn new(face: Box<dyn Face>, grid: Grid, form: F) -> Self {
        let place = grid.bounds(&face.extent(), MARGIN_PX);
        let ground = form.picture(&grid.picture(&face.face(), place));
        let scene = face.lettering();
        let lettering = form.picture(&grid.picture(&scene, grid.bounds(&scene, 1.0).intersect(place)));
        Self {
            face,
            grid,
            form,
            place,
            ground,
            lettering,
            shown: Vec::new(),
            opacity: 0,
            texts: HashMap::new(),
            letters: Letters::default(),
            kept: F::Kept::default(),
        }
    }

    pub fn face(&self) -> &dyn Face {
        &*self.face
    }

    /// Where it lies on the coded frame.
    pub fn place(&self) -> PixelBox {
        self.place
    }

    /// Leaves it out: nobody sees it now. Says whether somebody did before.
    pub fn hide(&mut self) -> bool {
        std::mem::take(&mut self.opacity) > 0
    }

    /// Makes ready what a state shows, to be laid with this opacity in 1/64. Says whether it is anything new.
    pub fn show(&mut self, key: StateKey, opacity: u8) -> bool {
        let mut before = std::mem::take(&mut self.shown);
        let mut changed = before.len() != key.len() || self.opacity != opacity;
        let now = key.into_iter().map(|part| {
            if let Some(i) = before.iter().position(|(old, _)| *old == part) {
                return before.swap_remove(i);
            }
            changed = true;
            let sprite = self.sprite(&part);
            (part, sprite)
        });
        let now = now.collect();
        self.shown = now;
        self.opacity = opacity;
        changed
    }

    /// Lays it on a canvas as it was last shown.
    pub fn lay(&mut self, canvas: &mut F::Canvas<'_>) {
        let Self { form, place, opacity, kept, .. } = self;
        match *opacity {
            0 => {}
            FULL => self.lay_in_full(canvas),
            opacity => {
                let (form, place) = (*form, *place);
                form.keep(canvas, place, kept);
                self.lay_in_full(canvas);
                form.fade(canvas, place, &self.kept, opacity);
            }
        }
    }

    fn lay_in_full(&self, canvas: &mut F::Canvas<'_>) {
        let Self { form, place, .. } = *self;
        let lay = |under: bool, canvas: &mut F::Canvas<'_>| {
            let parts = self.shown.iter().filter(|(part, _)| part.under_lettering() == under);
            parts.flat_map(|(_, sprite)| &**sprite).for_each(|piece| piece.lay(form, canvas, place));
        };
        form.over(canvas, &self.ground, place);
        lay(true, canvas);
        form.over(canvas, &self.lettering, place);
        lay(false, canvas);
    }

    fn sprite(&mut self, part: &Part) -> Sprite<F> {
        if let Some(sprite) = self.texts.get(part) {
            return Arc::clone(sprite);
        }
        let pieces = self.grid.pieces(&self.face.part(part), self.place, self.form, &mut self.letters);
        let sprite = Arc::new(pieces);
        if !part.is_hand() {
            if self.texts.len() == KEPT {
                self.texts.clear();
            }
            self.texts.insert(part.clone(), Arc::clone(&sprite));
        }
        sprite
    }
}
