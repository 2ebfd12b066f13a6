//! Pure drawing: a panel and what it shows become pictures of instruments. Knows no codec, no file and no clock.
//!
//! An instrument is a *face*, drawn once, and *parts* on top of it that change. A part is plain data rounded to what can
//! be seen (its state key): equal parts, equal pixels. Sizes are fractions of the module (see `panel::module_px`) or of
//! the dial's radius; angles are degrees clockwise from twelve o'clock.

mod catalogue;
mod chips;
mod dial;
mod dial_layout;
mod hands;
mod leaves;
mod marks;
mod notice;
mod painter;
mod part;
mod path;
mod picture;
mod raster;
mod scene;
mod sheet;
mod sizes;
mod tachometer;
mod text;
mod theme;
mod tile;
mod words;

pub use catalogue::catalogue;
pub use painter::{DrawError, Drawn, Painter, faults};
pub use path::{Path, Point, Rect, Segment, polar};
pub use scene::{Item, Paint, Scene, Stroke};
pub use sheet::{label, sheet};
pub use text::missing_glyphs;
pub use theme::{Palette, Rgba, Theme};
