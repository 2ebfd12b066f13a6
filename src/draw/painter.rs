//! The whole panel for one film: built once, then asked for every frame.

use rayon::prelude::*;

use crate::panel::{self, Clock, DiscSize, Instrument, Panel, Place, Side, Tile, module_px};
use crate::pixel::{FrameShape, Patch, PixelBox};
use crate::readout::{InstrumentState, PanelState};

use super::altimeter::AltimeterFace;
use super::attitude::AttitudeFace;
use super::banner::BannerFace;
use super::bar::BarFace;
use super::controls::ControlsFace;
use super::dial::DialFace;
use super::face::{Face, Ground};
use super::heading_card::HeadingCard;
use super::heading_tape::HeadingTapeFace;
use super::lamp_row::LampRow;
use super::legend::LegendFace;
use super::notice::NoticeFace;
use super::pair::PairFace;
use super::path::{Point, Rect};
use super::phase_strip::PhaseStripFace;
use super::picture::Picture;
use super::raster::Grid;
use super::scene::Scene;
use super::slip::SlipFace;
use super::strip::StripFace;
use super::tachometer::TachometerFace;
use super::tape::TapeFace;
use super::theme::{Palette, Theme};
use super::tile::TileFace;
use super::track::TrackFace;
use super::vertical_speed::VerticalSpeedFace;

/// What the row of lamps, the banner and the notice are called in messages.
const LAMPS: &str = "the row of lamps";
const BANNER: &str = "the banner";
const NOTICE: &str = "the notice";

/// Why a panel cannot be drawn on a film's frames.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum DrawError {
    /// A disc or a plate does not lie on the picture.
    #[error(
        "instrument `{instrument}` reaches beyond the picture's {edge} edge by {pixels} px; move it inward or make it smaller"
    )]
    OutsideFrame {
        /// The instrument's name.
        instrument: String,
        /// `left`, `upper`, `right` or `lower`.
        edge: &'static str,
        /// How far, in shown pixels.
        pixels: u64,
    },
    /// Two discs or plates lie over each other (halos may).
    #[error("`{first}` and `{second}` overlap on the picture; move one of them")]
    Overlap {
        /// The one drawn first.
        first: String,
        /// The one drawn later.
        second: String,
    },
    /// A disc or a plate lies over a part of the picture that is to stay clear.
    #[error(
        "`{instrument}` covers `{kept}`, which the panel file keeps clear; move it, or make the clear part smaller"
    )]
    CoversKept {
        /// The instrument's name.
        instrument: String,
        /// The clear part's name.
        kept: String,
    },
    /// The scale does not say where a value stands.
    #[error("the scale of `{instrument}` needs at least two breakpoints, their values rising, all of them numbers")]
    Scale {
        /// The instrument's name.
        instrument: String,
    },
}

/// An instrument as it stands now.
#[derive(Debug, Clone, Copy)]
pub struct Drawn<'a> {
    /// Its pixels and their place on the coded frame.
    pub patch: &'a Patch,
    /// What changed since the draw before, in coded frame coordinates on even columns and rows; empty if nothing did.
    pub dirty: &'a [PixelBox],
}

/// Draws a panel, frame after frame.
pub struct Painter {
    /// The instruments in the panel's order, the row of lamps and the banner if there are any, and last the notice.
    pictures: Vec<Picture>,
}

impl Painter {
    /// Prepares the faces of a panel for a film's frames.
    ///
    /// # Errors
    /// A disc or plate outside the picture, two that overlap, a scale without two rising breakpoints.
    pub fn new(panel: &Panel, shape: FrameShape, theme: Theme) -> Result<Self, DrawError> {
        let (faces, mut faults) = lay_out(panel, shape.shown_size(), theme);
        if !faults.is_empty() {
            return Err(faults.swap_remove(0));
        }

        let grid = Grid::new(shape);
        let pictures =
            faces.into_par_iter().map(|face| Picture::new(face, grid, (shape.width, shape.height))).collect();
        Ok(Self { pictures })
    }

    /// Brings every instrument to a state: in the panel's order, then the row of lamps and the banner if there are any, the
    /// notice last.
    ///
    /// The pixels depend on this state alone, whatever was drawn before. An instrument without an entry shows NO DATA.
    pub fn draw(&mut self, state: &PanelState) -> Vec<Drawn<'_>> {
        let nothing = InstrumentState::default();
        for (i, picture) in self.pictures.iter_mut().enumerate() {
            let instrument = state.instruments.get(i).unwrap_or(&nothing);
            picture.show(picture.face().key(instrument, state));
        }
        self.pictures.iter().map(|picture| Drawn { patch: picture.patch(), dirty: picture.dirty() }).collect()
    }
}

/// A panel at one state as outlines, for a shown picture of `size` pixels: what the painter's patches show, unrounded.
///
/// # Errors
/// As [`Painter::new`].
pub fn scene(panel: &Panel, size: (f64, f64), theme: Theme, state: &PanelState) -> Result<Scene, DrawError> {
    let (faces, mut faults) = lay_out(panel, size, theme);
    if !faults.is_empty() {
        return Err(faults.swap_remove(0));
    }
    let mut scene = Scene::default();
    let nothing = InstrumentState::default();
    for (i, face) in faces.iter().enumerate() {
        let key = face.key(state.instruments.get(i).unwrap_or(&nothing), state);
        let (under, above): (Vec<_>, Vec<_>) = key.iter().partition(|part| part.under_lettering());
        scene.append(face.face());
        under.into_iter().for_each(|part| scene.append(face.part(part)));
        scene.append(face.lettering());
        above.into_iter().for_each(|part| scene.append(face.part(part)));
    }
    Ok(scene)
}

/// Every fault that [`Painter::new`] would find, in the panel's order; it stops at the first.
pub fn faults(panel: &Panel, shape: FrameShape, theme: Theme) -> Vec<DrawError> {
    lay_out(panel, shape.shown_size(), theme).1
}

/// The faces at their places, and what is wrong with them. A dial without a sound scale has no face.
fn lay_out(panel: &Panel, (width, height): (f64, f64), theme: Theme) -> (Vec<Box<dyn Face>>, Vec<DrawError>) {
    let m = module_px(width, height);
    let palette = theme.palette();
    let mut faces = Vec::with_capacity(panel.instruments.len() + 3);
    let mut names = Vec::with_capacity(panel.instruments.len() + 3);
    let mut faults = Vec::new();
    for instrument in &panel.instruments {
        let centre = centre(instrument.place, width, height, m);
        let scales = (0..instrument.face.hands().len()).filter_map(|hand| instrument.face.scale(hand));
        if let Some(fault) = scales.filter_map(|scale| check_scale(instrument, &scale.breakpoints).err()).next() {
            faults.push(fault);
            continue;
        }
        faces.push(face(panel, &instrument.face, instrument.place.size, centre, m, palette));
        names.push(instrument.name.as_str());
    }
    if let Some(row) = LampRow::new(panel, width, height, m, palette) {
        faces.push(Box::new(row));
        names.push(LAMPS);
    }
    let notice = NoticeFace::new(width, height, m, palette);
    if let Some(banner) = BannerFace::new(panel, width, notice.ground().rect().bottom, m, palette) {
        faces.push(Box::new(banner));
        names.push(BANNER);
    }
    faces.push(Box::new(notice));
    names.push(NOTICE);
    faults.extend(place_faults(panel, &names, &faces, (width, height)));
    (faces, faults)
}

/// The drawing of one instrument: the one place that knows them all.
fn face(
    of: &Panel,
    kind: &panel::Face,
    size: DiscSize,
    centre: Point,
    m: f64,
    palette: &'static Palette,
) -> Box<dyn Face> {
    match kind {
        panel::Face::Dial(dial) => Box::new(DialFace::new(dial, size, centre, m, palette)),
        panel::Face::Tile(tile) => Box::new(TileFace::new(tile, size, centre, m, palette)),
        panel::Face::Tachometer(both) => Box::new(TachometerFace::new(both, size, centre, m, palette)),
        panel::Face::VerticalSpeed(dial) => Box::new(VerticalSpeedFace::new(dial, size, centre, m, palette)),
        panel::Face::Strip(strip) => Box::new(StripFace::new(strip, size, centre, m, palette)),
        panel::Face::Attitude(_) => Box::new(AttitudeFace::new(size, centre, m, palette)),
        panel::Face::Controls(controls) => Box::new(ControlsFace::new(controls, size, centre, m, palette)),
        panel::Face::Slip(slip) => Box::new(SlipFace::new(slip, size, centre, m, palette)),
        panel::Face::Legend(legend) => Box::new(LegendFace::new(legend, of, size, centre, m, palette)),
        panel::Face::PhaseStrip(strip) => Box::new(PhaseStripFace::new(strip, size, centre, m, palette)),
        panel::Face::Track(_) => Box::new(TrackFace::new(size, centre, m, palette)),
        panel::Face::Clock(clock) => Box::new(TileFace::new(&clock_tile(clock), size, centre, m, palette)),
        panel::Face::Bar(bar) => Box::new(BarFace::new(bar, size, centre, m, palette)),
        panel::Face::Pair(pair) => Box::new(PairFace::new(pair, size, centre, m, palette)),
        panel::Face::Heading(heading) => Box::new(HeadingCard::new(heading, size, centre, m, palette)),
        panel::Face::HeadingTape(tape) => Box::new(HeadingTapeFace::new(tape, size, centre, m, palette)),
        panel::Face::Tape(tape) => Box::new(TapeFace::new(tape, size, centre, m, palette)),
        panel::Face::Altimeter(altimeter) => Box::new(AltimeterFace::new(altimeter, size, centre, m, palette)),
    }
}

/// A clock is a tile whose channel is the time itself.
fn clock_tile(clock: &Clock) -> Tile {
    Tile { channel: String::new(), title: clock.title.clone(), unit: clock.shows.unit(), decimals: 0 }
}

fn centre(place: Place, width: f64, height: f64, m: f64) -> Point {
    let along = place.from_side_m * m;
    let x = match place.side {
        Side::Left => along,
        Side::Right => width - along,
        Side::Centre => width / 2.0 + along,
    };
    (x, height - place.from_bottom_m * m)
}

fn check_scale(instrument: &Instrument, breakpoints: &[(f64, f64)]) -> Result<(), DrawError> {
    let numbers = breakpoints.iter().all(|p| p.0.is_finite() && p.1.is_finite());
    let rising = breakpoints.windows(2).all(|pair| pair[0].0 < pair[1].0);
    if breakpoints.len() >= 2 && numbers && rising {
        Ok(())
    } else {
        Err(DrawError::Scale { instrument: instrument.name.clone() })
    }
}

fn place_faults(panel: &Panel, names: &[&str], faces: &[Box<dyn Face>], (width, height): (f64, f64)) -> Vec<DrawError> {
    let name = |i: usize| names.get(i).copied().unwrap_or_default().to_owned();
    let grounds: Vec<Ground> = faces.iter().map(|face| face.ground()).collect();
    let mut faults = Vec::new();
    for (i, ground) in grounds.iter().enumerate() {
        let r = ground.rect();
        let over = [("left", -r.left), ("upper", -r.top), ("right", r.right - width), ("lower", r.bottom - height)];
        // A rounding error is no fault of the owner's; neither is a NaN a place.
        if let Some((edge, by)) = over.into_iter().find(|(_, by)| by.is_nan() || *by > 1e-6) {
            faults.push(DrawError::OutsideFrame { instrument: name(i), edge, pixels: by.ceil() as u64 });
        }
        if let Some(j) = grounds[..i].iter().position(|other| ground.overlaps(*other)) {
            faults.push(DrawError::Overlap { first: name(j), second: name(i) });
        }
        for kept in &panel.keep_clear {
            let (left, top) = (kept.x * width, kept.y * height);
            let (right, bottom) = (left + kept.width * width, top + kept.height * height);
            if ground.overlaps(Ground::Plate(Rect { left, top, right, bottom })) {
                faults.push(DrawError::CoversKept { instrument: name(i), kept: kept.name.clone() });
            }
        }
    }
    faults
}
