//! The neutral ground of drawing, blending and codecs: what a frame looks like in memory, and what is laid over it.

mod colour;
mod form;
mod mask;
mod patch;
mod planes;
mod sample;
mod shape;
mod vectors;

pub use colour::{ChromaSiting, Coding, Colour, Light, Matrix, Range, Sampling};
pub use form::{FULL, Form, Ink};
pub use mask::{Cells, GROUP, Mask};
pub use patch::{Patch, PixelBox, Pixels};
pub use planes::PlanesMut;
pub use sample::Sample;
pub use shape::{Affine, FrameShape, Orientation};
pub use vectors::widely;
