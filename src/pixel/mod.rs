//! The neutral ground of drawing, blending and codecs: what a frame looks like in memory, and what is laid over it.

mod colour;
mod mask;
mod patch;
mod planes;
mod shape;
mod surface;

pub use colour::{ChromaSiting, Colour, Matrix, Range};
pub use mask::Mask;
pub use patch::{Patch, PixelBox};
pub use planes::PlanesMut;
pub use shape::{Affine, FrameShape, Orientation};
pub use surface::{Ink, Surface};
