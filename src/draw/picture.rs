//! One instrument's picture: what is still, made once, and what moves, worked out when it moves.
//!
//! No picture of the whole is kept. The face with what is still below the hands, the hands, the lettering with what is still
//! above them, the texts, and what is still above those are laid on the canvas one after the other. Each depends on its own parts alone, so the pixels
//! depend on the state alone, whatever was drawn before.

use std::collections::HashMap;
use std::sync::Arc;

use crate::pixel::{FULL, Form, Patch, PixelBox};

use super::face::Face;
use super::part::{Order, Part, StateKey};
use super::raster::{Grid, Piece, Ready};
use super::scene::Scene;

/// Clear pixels inside a picture's edge.
const MARGIN_PX: f64 = 2.0;
/// So many texts' pieces are kept per instrument.
const KEPT: usize = 64;

/// A part that moves, ready to be laid.
type Sprite<F> = (Part, Arc<Vec<Piece<F>>>);

/// An instrument's picture and how it came about.
pub(super) struct Picture<F: Form> {
    face: Box<dyn Face>,
    grid: Grid,
    form: F,
    place: PixelBox,
    /// The face, drawn.
    ground: Patch,
    /// The face with what is still below the hands.
    lower: Still<F>,
    hands: Vec<Sprite<F>>,
    /// The lettering with what is still above the hands.
    upper: Still<F>,
    texts: Vec<Sprite<F>>,
    /// What is still above the texts.
    top: Still<F>,
    opacity: u8,
    ready: HashMap<Part, Arc<Vec<Piece<F>>>>,
    drawn: Ready<F>,
    /// What lay under it, while it is faint.
    kept: F::Kept,
}

/// Parts that are still, in one picture.
struct Still<F: Form> {
    /// Under the lettering, and above it. None before the first state.
    parts: Option<[Vec<Part>; 2]>,
    picture: F::Picture,
}

impl<F: Form> Still<F> {
    fn nothing(form: F) -> Self {
        Self { parts: None, picture: form.picture(&Patch::clear(PixelBox::default())) }
    }

    /// Has it show some parts, drawn by `draw` if these are others than before; says whether they are.
    fn show(&mut self, parts: [Vec<Part>; 2], form: F, draw: impl FnOnce(&[Vec<Part>; 2]) -> Patch) -> bool {
        let changed = self.parts.as_ref() != Some(&parts);
        if changed {
            *self = Self { picture: form.picture(&draw(&parts)), parts: Some(parts) };
        }
        changed
    }
}

impl<F: Form> Picture<F> {
    pub fn new(face: Box<dyn Face>, grid: Grid, form: F) -> Self {
        let place = grid.bounds(&face.extent(), MARGIN_PX);
        Self {
            ground: grid.picture(&face.face(), place),
            face,
            grid,
            form,
            place,
            lower: Still::nothing(form),
            hands: Vec::new(),
            upper: Still::nothing(form),
            texts: Vec::new(),
            top: Still::nothing(form),
            opacity: 0,
            ready: HashMap::new(),
            drawn: Ready::default(),
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
        let Order { lower, hands, caps, upper, texts, top } = Order::of(key);
        let mut changed = std::mem::replace(&mut self.opacity, opacity) != opacity;
        let Self { face, grid, form, place, ground, .. } = self;
        let scene = |parts: &[Part]| {
            let mut scene = Scene::default();
            parts.iter().for_each(|part| scene.append(face.part(part)));
            scene
        };
        let alone = |scene: Scene| grid.picture(&scene, grid.bounds(&scene, 1.0).intersect(*place));
        changed |= self.lower.show([lower, Vec::new()], *form, |[parts, _]| {
            let mut picture = ground.clone();
            grid.draw(&scene(parts), &mut picture);
            picture
        });
        changed |= self.upper.show([caps, upper], *form, |[caps, upper]| {
            let mut all = scene(caps);
            all.append(face.lettering());
            all.append(scene(upper));
            alone(all)
        });
        changed |= self.top.show([Vec::new(), top], *form, |[_, parts]| alone(scene(parts)));
        let before = [&mut self.hands, &mut self.texts].map(std::mem::take);
        let [hands, texts] = [(hands, &before[0]), (texts, &before[1])].map(|(now, before)| {
            changed |= now.len() != before.len();
            let sprite = |part: Part| match before.iter().find(|(old, _)| *old == part) {
                Some((_, pieces)) => (part, Arc::clone(pieces)),
                None => {
                    changed = true;
                    let pieces = self.pieces(&part);
                    (part, pieces)
                }
            };
            now.into_iter().map(sprite).collect()
        });
        (self.hands, self.texts) = (hands, texts);
        changed
    }

    /// Asks for the part of a canvas that it is going to be laid on.
    pub fn near(&self, canvas: &mut F::Canvas<'_>) {
        if self.opacity > 0 {
            self.form.near(canvas, self.place);
        }
    }

    /// Lays it on a canvas as it was last shown.
    pub fn lay(&mut self, canvas: &mut F::Canvas<'_>) {
        let (form, place) = (self.form, self.place);
        match self.opacity {
            0 => {}
            FULL => self.lay_in_full(canvas),
            opacity => {
                form.keep(canvas, place, &mut self.kept);
                self.lay_in_full(canvas);
                form.fade(canvas, place, &self.kept, opacity);
            }
        }
    }

    fn lay_in_full(&self, canvas: &mut F::Canvas<'_>) {
        let (form, place) = (self.form, self.place);
        let lay = |sprites: &[Sprite<F>], canvas: &mut F::Canvas<'_>| {
            sprites.iter().flat_map(|(_, pieces)| &**pieces).for_each(|piece| piece.lay(form, canvas, place));
        };
        form.over(canvas, &self.lower.picture, place);
        lay(&self.hands, canvas);
        form.over(canvas, &self.upper.picture, place);
        lay(&self.texts, canvas);
        form.over(canvas, &self.top.picture, place);
    }

    fn pieces(&mut self, part: &Part) -> Arc<Vec<Piece<F>>> {
        if let Some(pieces) = self.ready.get(part) {
            return Arc::clone(pieces);
        }
        let pieces = self.grid.pieces(&self.face.part(part), self.place, self.form, &mut self.drawn, !part.is_hand());
        let pieces = Arc::new(pieces);
        if !part.is_hand() {
            if self.ready.len() == KEPT {
                self.ready.clear();
            }
            self.ready.insert(part.clone(), Arc::clone(&pieces));
        }
        pieces
    }
}
