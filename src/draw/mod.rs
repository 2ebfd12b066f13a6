//! Pure drawing: a panel and what it shows become pictures of instruments. Knows no codec, no file and no clock.
//!
//! An instrument is a *face*, drawn once, and *parts* on top of it that change. A part is plain data rounded to what can
//! be seen (its state key): equal parts, equal pixels. Sizes are fractions of the module (see `panel::module_px`) or of
//! the dial's radius; angles are degrees clockwise from twelve o'clock.
//!
#![doc = include_str!("look.md")]

pub mod advice;
mod altimeter;
mod attitude;
mod banner;
mod bar;
mod blade;
mod caption;
mod catalogue;
mod charts;
mod chips;
pub mod colour_vision;
mod columns;
mod compass;
mod contrast;
mod controls;
mod cover;
mod dial;
mod dial_layout;
mod edge;
mod face;
mod hands;
mod heading_card;
mod heading_tape;
mod lamp;
mod lamp_row;
mod lanes;
mod layout;
mod leaves;
mod legend;
mod letters;
mod marker;
mod marks;
mod notice;
mod page;
mod painter;
mod pair;
mod panel_sheet;
mod part;
mod path;
mod phase_strip;
mod picture;
mod plot;
mod raster;
mod rose;
mod round;
mod scene;
mod sector;
mod sheet;
mod sizes;
mod slip;
mod specimen;
mod states;
mod straight;
mod strip;
mod svg;
mod tachometer;
mod tape;
mod text;
mod theme;
mod ticks;
mod tile;
mod track;
mod typeface;
mod usual;
mod vertical_speed;
mod words;

pub use blade::{Blade, Stand};
pub use caption::CaptionPlace;
pub use catalogue::Catalogue;
pub use charts::{Chart, ChartLine, ChartPage, ChartPoint, Role};
pub use contrast::Faint;
pub use painter::{BANNER, DrawError, Drawn, Painter, faint_colours, faults, glyph_faults, scene};
pub use panel_sheet::PanelSheet;
pub use path::{Path, Point, Rect, Segment, polar};
pub use plot::{Plot, PlotMark};
pub use scene::{Item, Outline, Paint, Scene, Stroke};
pub use sheet::{label, sheet};
pub use svg::svg;
pub use text::Line;
pub use theme::{Look, Palette, Rgba, Theme};
pub use typeface::{FontError, Typeface};
