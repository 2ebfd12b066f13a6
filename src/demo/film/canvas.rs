//! From a drawing 1280 wide and 720 high to the film's pixels, and from drawings to layers.

use crate::blend::{BlendError, Layer};
use crate::draw::{Scene, sheet};
use crate::pixel::{ChromaSiting, Colour, Matrix, Patch, PixelBox, Range};

/// Width and height of the drawing that is laid onto every film.
pub(super) const WIDTH: f64 = 1280.0;
pub(super) const HEIGHT: f64 = 720.0;
/// Width of the panel with some room beside it: as much is seen on the narrowest film.
const PANEL: f64 = 664.0;

/// How the film's planes mean colour.
pub(super) const COLOUR: Colour = Colour { matrix: Matrix::Bt709, range: Range::Limited, siting: ChromaSiting::Left };

/// Where the drawing lies on the film: at the foot, in the middle, as high as the film, but never so large that the panel
/// would be cut off.
#[derive(Debug, Clone, Copy)]
pub(super) struct Canvas {
    pub width: u32,
    pub height: u32,
    pub scale: f64,
}

impl Canvas {
    pub fn new(width: u32, height: u32) -> Self {
        let scale = (f64::from(width) / PANEL).min(f64::from(height) / HEIGHT);
        Self { width, height, scale }
    }

    /// How much of the film is above the drawing, in the drawing's pixels.
    pub fn above(&self) -> f64 {
        f64::from(self.height) / self.scale - HEIGHT
    }

    /// A point of the drawing on the film.
    pub fn at(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let left = f64::from(self.width) / 2.0;
        (left + (x - WIDTH / 2.0) * self.scale, f64::from(self.height) - (HEIGHT - y) * self.scale)
    }

    /// The whole film.
    pub fn frame(&self) -> PixelBox {
        PixelBox { x: 0, y: 0, width: self.width, height: self.height }
    }

    /// The film's box, on the chroma grid, that holds a box of the drawing.
    pub fn boxed(&self, (left, top): (f64, f64), (right, bottom): (f64, f64)) -> PixelBox {
        let (a, b) = (self.at((left, top)), self.at((right, bottom)));
        let start = |v: f64| v.floor().max(0.0) as u32;
        let (x, y) = (start(a.0), start(a.1));
        let end = |v: f64| v.ceil().max(0.0) as u32;
        let place = PixelBox { x, y, width: end(b.0).saturating_sub(x), height: end(b.1).saturating_sub(y) };
        place.to_grid(2, self.width, self.height)
    }

    /// Draws a scene of the drawing, shifted by film pixels, into a box of the film.
    pub fn draw(&self, scene: &Scene, shift: (f64, f64), place: PixelBox) -> Patch {
        let to = |p| {
            let (x, y) = self.at(p);
            (x + shift.0, y + shift.1)
        };
        sheet(&scene.clone().moved(to, self.scale), place)
    }
}

/// A patch ready to be laid over frames.
pub(super) fn layer(patch: &Patch) -> Result<Layer, BlendError> {
    Layer::new(patch, &COLOUR)
}
