//! The whole panel for one film: built once, then asked for every frame.

use std::collections::HashSet;

use rayon::prelude::*;

use crate::panel::{self, Clock, Instrument, Panel, Tile, module_px};
use crate::pixel::{Form, FrameShape, Patch, PixelBox, Pixels};
use crate::readout::{InstrumentState, PanelState};

use super::altimeter::AltimeterFace;
use super::attitude::AttitudeFace;
use super::banner::BannerFace;
use super::bar::BarFace;
use super::caption::CaptionPlace;
use super::compass::CompassFace;
use super::contrast::{Faint, faint};
use super::controls::ControlsFace;
use super::dial::DialFace;
use super::edge::Edged;
use super::face::{Face, Ground};
use super::heading_card::HeadingCard;
use super::heading_tape::HeadingTapeFace;
use super::layout::{Canvas, Layout};
use super::legend::LegendFace;
use super::notice::NoticeFace;
use super::pair::PairFace;
use super::part::{Order, Part};
use super::path::{Point, Rect};
use super::phase_strip::PhaseStripFace;
use super::picture::Picture;
use super::raster::Grid;
use super::scene::Scene;
use super::slip::SlipFace;
use super::strip::StripFace;
use super::tachometer::TachometerFace;
use super::tape::TapeFace;
use super::theme::{Look, Theme};
use super::tile::TileFace;
use super::track::TrackFace;
use super::typeface::Typeface;
use super::usual::with_usual;
use super::vertical_speed::VerticalSpeedFace;

/// What the row of lamps and the notice are called in messages.
const LAMPS: &str = "the row of lamps";
const NOTICE: &str = "the notice";
const CAPTIONS: &str = "the captions";
/// What the banner is called in them.
pub const BANNER: &str = "the banner";

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
    #[error("`{first}` and `{second}` overlap on the picture by {pixels} px; move one of them, or make it smaller")]
    Overlap {
        /// The one drawn first.
        first: String,
        /// The one drawn later.
        second: String,
        /// How far they lie over each other, in shown pixels.
        pixels: u64,
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
    /// The typeface lacks a character.
    #[error(
        "the typeface has no \u{201c}{glyph}\u{201d} (U+{code:04X}), which `{key}` of `{instrument}` needs", code = *glyph as u32
    )]
    Glyph {
        /// The name of the instrument, lamp or limit.
        instrument: String,
        /// The key that holds the character.
        key: &'static str,
        /// The character.
        glyph: char,
    },
    /// A slot has no room left.
    #[error(
        "the picture has no room for `{instrument}` in its slot; make it smaller, or give it another slot or a place"
    )]
    SlotFull {
        /// The instrument's name.
        instrument: String,
    },
    /// Nowhere is there room for the words of a caption.
    #[error(
        "captions need {width} x {height} px that nothing else covers; {}; move the instruments apart, make them smaller, or leave out \
         --captions", widest_text(*widest)
    )]
    NoRoomForCaptions {
        /// Narrowest place that would do, in shown pixels.
        width: u64,
        /// Its height.
        height: u64,
        /// The widest free place of that height, if there is one: its width, its left and its upper edge.
        widest: Option<(u64, u64, u64)>,
    },
    /// Slots at the sides are for dials.
    #[error(
        "`{instrument}` is a plate, and plates have their slot in the foot; write slot = \"foot\", or give it a place"
    )]
    PlateInDialSlot {
        /// The instrument's name.
        instrument: String,
    },
    /// The scale does not say where a value stands.
    #[error("the scale of `{instrument}` needs at least two breakpoints, their values rising, all of them numbers")]
    Scale {
        /// The instrument's name.
        instrument: String,
    },
}

fn widest_text(widest: Option<(u64, u64, u64)>) -> String {
    match widest {
        Some((width, x, y)) => {
            format!(
                "the widest free place of that height is {width} px wide, {x} px from the left and {y} px from the top"
            )
        }
        None => "no place of that height is free".into(),
    }
}

impl DrawError {
    /// The instrument whose place or scale is to be mended.
    pub fn instrument(&self) -> &str {
        match self {
            Self::Overlap { second: name, .. }
            | Self::OutsideFrame { instrument: name, .. }
            | Self::CoversKept { instrument: name, .. }
            | Self::SlotFull { instrument: name }
            | Self::PlateInDialSlot { instrument: name }
            | Self::Glyph { instrument: name, .. }
            | Self::Scale { instrument: name } => name,
            Self::NoRoomForCaptions { .. } => CAPTIONS,
        }
    }
}

/// An instrument as it stands now, in pixels.
#[derive(Debug, Clone)]
pub struct Drawn {
    /// Its picture and its place on the coded frame; clear where it is faded out.
    pub patch: Patch,
    /// Whether it shows anything else than in the draw before.
    pub changed: bool,
}

/// Draws a panel, frame after frame: in pixels, or straight on a film's frames.
pub struct Painter<F: Form = Pixels> {
    /// The instruments in the panel's order, the row of lamps, the banner and the caption if there are any, and last the notice.
    pictures: Vec<Picture<F>>,
    /// Whether anything was shown yet.
    begun: bool,
}

impl Painter {
    /// Prepares the faces of a panel, to be drawn in pixels.
    ///
    /// # Errors
    /// As [`Painter::in_form`].
    pub fn new(panel: &Panel, shape: FrameShape, look: impl Into<Look>) -> Result<Self, DrawError> {
        Self::in_form(panel, shape, look, Pixels)
    }

    /// Every instrument at a state by itself, in the order of [`Painter::show`].
    pub fn draw(&mut self, state: &PanelState) -> Vec<Drawn> {
        let changes: Vec<bool> = self.bring_to(state).collect();
        let pictures = self.pictures.iter_mut().zip(changes);
        let drawn = pictures.map(|(picture, changed)| {
            let mut patch = Patch::clear(picture.place());
            picture.lay(&mut patch);
            Drawn { patch, changed }
        });
        drawn.collect()
    }
}

impl<F: Form> Painter<F> {
    /// Prepares the faces of a panel for a film's frames, to be drawn in a form of its own.
    ///
    /// # Errors
    /// A disc or plate outside the picture, two that overlap, a scale without two rising breakpoints, a character that the
    /// typeface lacks.
    pub fn in_form(panel: &Panel, shape: FrameShape, look: impl Into<Look>, form: F) -> Result<Self, DrawError> {
        let (faces, mut faults) = lay_out(panel, shape.shown_size(), look.into());
        if !faults.is_empty() {
            return Err(faults.swap_remove(0));
        }

        let grid = Grid::new(shape);
        let pictures = faces.into_par_iter().map(|face| Picture::new(face, grid, form)).collect();
        Ok(Self { pictures, begun: false })
    }

    /// Makes every instrument ready to be laid at a state: in the panel's order, then the row of lamps, the banner and the caption if
    /// there are any, the notice last. Returns how many of them show anything new.
    ///
    /// The pixels depend on this state alone, whatever was drawn before. An instrument without an entry shows NO DATA.
    pub fn show(&mut self, state: &PanelState) -> usize {
        // The first time everything is drawn from nothing, which is worth all cores.
        if !std::mem::replace(&mut self.begun, true) {
            let pictures = self.pictures.par_iter_mut().enumerate();
            return pictures.filter_map(|(i, picture)| bring(picture, i, state).then_some(())).count();
        }
        self.bring_to(state).filter(|&changed| changed).count()
    }

    /// Lays them all on a frame, or on a picture of it, in the same order.
    pub fn lay(&mut self, canvas: &mut F::Canvas<'_>) {
        self.pictures.iter_mut().for_each(|picture| picture.lay(canvas));
    }

    /// Draws states over the frames of the same numbers: [`Painter::show`] and [`Painter::lay`] for each, instrument after
    /// instrument. What an instrument needs comes near with its first frame and is there for the others.
    pub fn paint(&mut self, states: &[PanelState], frames: &mut [F::Canvas<'_>]) {
        if let Some(first) = states.first().filter(|_| !self.begun) {
            self.show(first);
        }
        for (i, picture) in self.pictures.iter_mut().enumerate() {
            for (state, frame) in states.iter().zip(frames.iter_mut()) {
                // The frame's memory comes while masks are worked out.
                picture.near(frame);
                bring(picture, i, state);
                picture.lay(frame);
            }
        }
    }

    /// Where they lie on the coded frame, in the same order.
    pub fn places(&self) -> impl Iterator<Item = PixelBox> {
        self.pictures.iter().map(Picture::place)
    }

    /// Brings one instrument after the other to a state; says of each whether it shows anything new.
    fn bring_to(&mut self, state: &PanelState) -> impl Iterator<Item = bool> {
        self.pictures.iter_mut().enumerate().map(|(i, picture)| bring(picture, i, state))
    }
}

/// Brings the instrument at a place of the order to a state; says whether it shows anything new.
fn bring<F: Form>(picture: &mut Picture<F>, place: usize, state: &PanelState) -> bool {
    let nothing = InstrumentState::default();
    let instrument = state.instruments.get(place).unwrap_or(&nothing);
    match opacity(instrument) {
        0 => picture.hide(),
        opacity => picture.show(picture.face().key(instrument, state), opacity),
    }
}

/// How strongly an instrument is laid over the frame, in 1/64.
fn opacity(state: &InstrumentState) -> u8 {
    // A float becomes a whole number without leaving its range.
    (64.0 * (1.0 - state.faded)).round() as u8
}

/// A panel at one state as outlines, for a shown picture of `size` pixels: what the painter's patches show, unrounded. What is
/// faded in part stands there in full.
///
/// # Errors
/// As [`Painter::new`].
pub fn scene(panel: &Panel, size: (f64, f64), look: impl Into<Look>, state: &PanelState) -> Result<Scene, DrawError> {
    let (faces, mut faults) = lay_out(panel, size, look.into());
    if !faults.is_empty() {
        return Err(faults.swap_remove(0));
    }
    let mut scene = Scene::default();
    let nothing = InstrumentState::default();
    for (i, face) in faces.iter().enumerate() {
        let instrument = state.instruments.get(i).unwrap_or(&nothing);
        if opacity(instrument) > 0 {
            scene.append(scene_of(face.as_ref(), instrument, state));
        }
    }
    Ok(scene)
}

/// One instrument at one state as outlines.
pub(super) fn scene_of(face: &dyn Face, instrument: &InstrumentState, panel: &PanelState) -> Scene {
    let order = Order::of(face.key(instrument, panel));
    let mut scene = face.face();
    let mut add = |parts: &[Part]| parts.iter().for_each(|part| scene.append(face.part(part)));
    add(&order.lower);
    add(&order.hands);
    add(&order.caps);
    scene.append(face.lettering());
    let mut add = |parts: &[Part]| parts.iter().for_each(|part| scene.append(face.part(part)));
    add(&order.upper);
    add(&order.texts);
    add(&order.top);
    scene
}

/// Every fault that [`Painter::new`] would find, in the panel's order; it stops at the first.
pub fn faults(panel: &Panel, shape: FrameShape, look: impl Into<Look>) -> Vec<DrawError> {
    lay_out(panel, shape.shown_size(), look.into()).1
}

/// The characters that a panel needs and a typeface lacks, each one once.
pub fn glyph_faults(panel: &Panel, typeface: Typeface) -> Vec<DrawError> {
    let mut seen = HashSet::new();
    let texts = panel.texts().into_iter();
    let missing = texts.flat_map(|written| {
        typeface.missing_glyphs(written.text).into_iter().map(move |glyph| (written.of, written.key, glyph))
    });
    let new = missing.filter(|&fault| seen.insert(fault));
    new.map(|(of, key, glyph)| DrawError::Glyph { instrument: of.to_owned(), key, glyph }).collect()
}

/// The owner's colours that do not stand out from the discs of this theme.
pub fn faint_colours(panel: &Panel, theme: Theme) -> Vec<Faint> {
    faint(&panel.colours, Look::from(theme).palette(panel))
}

/// An instrument or the row of lamps: its name, its number in the panel, and its drawing.
pub(super) type Placed<'a> = (&'a str, Option<usize>, Box<dyn Face>);

/// The picture that a panel stands on.
pub(super) fn canvas(panel: &Panel, (width, height): (f64, f64), look: Look) -> Canvas {
    Canvas { width, height, m: module_px(width, height, panel.density), palette: look.palette(panel) }
}

/// The instruments at their places, then the row of lamps if there is one, and what keeps others from having a drawing: a scale
/// without sense, or no place.
pub(super) fn faces(panel: &Panel, canvas: Canvas) -> (Vec<Placed<'_>>, Vec<DrawError>) {
    let (mut faces, mut faults): (Vec<Placed<'_>>, Vec<DrawError>) = Default::default();
    // A scale without sense cannot be measured either.
    let mut sound = panel.clone();
    sound.instruments.retain(|instrument| match check_scales(instrument) {
        Ok(()) => true,
        Err(fault) => {
            faults.push(fault);
            false
        }
    });
    let layout = Layout::new(&sound, canvas);
    let numbered = panel.instruments.iter().enumerate().filter(|(_, instrument)| check_scales(instrument).is_ok());
    for ((number, instrument), centre) in numbered.zip(layout.centres) {
        match centre {
            Ok(centre) => {
                let bare = with_usual(face(panel, instrument, centre, canvas), &instrument.usual);
                let face: Box<dyn Face> = match instrument.face {
                    // A phase is never anything but computed: an edge would tell nothing from anything.
                    panel::Face::PhaseStrip(_) => bare,
                    _ => Box::new(Edged::new(bare, instrument.place.size(), canvas)),
                };
                faces.push((&instrument.name, Some(number), face));
            }
            Err(fault) => faults.push(fault),
        }
    }
    faces.extend(layout.lamps.map(|row| (LAMPS, None, Box::new(row) as Box<dyn Face>)));
    (faces, faults)
}

/// The faces at their places, then banner and caption if there are any, the notice last; and what is wrong with them.
fn lay_out(panel: &Panel, size: (f64, f64), look: Look) -> (Vec<Box<dyn Face>>, Vec<DrawError>) {
    let canvas = canvas(panel, size, look);
    let (placed, unplaced) = faces(panel, canvas);
    let mut faults = glyph_faults(panel, look.typeface);
    faults.extend(unplaced);
    let (mut names, mut faces): (Vec<&str>, Vec<Box<dyn Face>>) =
        placed.into_iter().map(|(name, _, face)| (name, face)).unzip();
    let Canvas { width, height, m, palette } = canvas;
    let notice = NoticeFace::new(width, height, m, palette);
    if let Some(banner) = BannerFace::new(panel, width, notice.ground().rect().bottom, m, palette) {
        faces.push(Box::new(banner));
        names.push(BANNER);
    }
    let mut no_room = None;
    if panel.captions {
        let grounds: Vec<Ground> = faces.iter().map(|face| face.ground()).chain([notice.ground()]).collect();
        match CaptionPlace::beside(panel, &grounds, canvas) {
            Ok(place) => {
                faces.push(Box::new(place));
                names.push(CAPTIONS);
            }
            Err(fault) => no_room = Some(fault),
        }
    }
    faces.push(Box::new(notice));
    names.push(NOTICE);
    faults.extend(place_faults(panel, &names, &faces, (width, height)));
    faults.extend(no_room);
    (faces, faults)
}

/// The picture that a panel stands on, and all that it covers there but captions.
pub(super) fn grounds(panel: &Panel, size: (f64, f64), look: Look) -> (Canvas, Vec<Ground>) {
    let without = Panel { captions: false, ..panel.clone() };
    let (faces, _) = lay_out(&without, size, look);
    (canvas(panel, size, look), faces.iter().map(|face| face.ground()).collect())
}

/// The drawing of one instrument about a middle: the one place that knows them all.
pub(super) fn face(of: &Panel, instrument: &Instrument, centre: Point, canvas: Canvas) -> Box<dyn Face> {
    let Canvas { m, palette, .. } = canvas;
    let size = instrument.place.size();
    match &instrument.face {
        panel::Face::Dial(dial) => Box::new(DialFace::new(dial, size, centre, m, palette)),
        panel::Face::Tile(tile) => Box::new(TileFace::new(tile, size, centre, m, palette)),
        panel::Face::Tachometer(both) => Box::new(TachometerFace::new(both, size, centre, m, palette)),
        panel::Face::VerticalSpeed(dial) => Box::new(VerticalSpeedFace::new(dial, size, centre, m, palette)),
        panel::Face::Strip(strip) => Box::new(StripFace::new(strip, size, centre, m, palette)),
        panel::Face::Attitude(_) => Box::new(AttitudeFace::new(size, centre, m, palette)),
        panel::Face::Controls(controls) => Box::new(ControlsFace::new(controls, size, centre, m, palette)),
        panel::Face::Slip(slip) => Box::new(SlipFace::new(slip, size, centre, m, palette)),
        panel::Face::PhaseStrip(strip) => Box::new(PhaseStripFace::new(strip, size, centre, m, palette)),
        panel::Face::Legend => Box::new(LegendFace::new(of, size, centre, m, palette)),
        panel::Face::Track(_) => Box::new(TrackFace::new(size, centre, m, palette)),
        panel::Face::Clock(clock) => Box::new(TileFace::new(&clock_tile(clock), size, centre, m, palette)),
        panel::Face::Bar(bar) => Box::new(BarFace::new(bar, size, centre, m, palette)),
        panel::Face::Pair(pair) => Box::new(PairFace::new(pair, size, centre, m, palette)),
        panel::Face::Heading(heading) => Box::new(HeadingCard::new(heading, size, centre, m, palette)),
        panel::Face::Compass(heading) => Box::new(CompassFace::new(heading, size, centre, m, palette)),
        panel::Face::HeadingTape(tape) => Box::new(HeadingTapeFace::new(tape, size, centre, m, palette)),
        panel::Face::Tape(tape) => Box::new(TapeFace::new(tape, size, centre, m, palette)),
        panel::Face::Altimeter(altimeter) => Box::new(AltimeterFace::new(altimeter, size, centre, m, palette)),
    }
}

/// A clock is a tile whose channel is the time itself.
fn clock_tile(clock: &Clock) -> Tile {
    Tile { channel: String::new(), title: clock.title.clone(), unit: clock.shows.unit(), decimals: 0 }
}

/// Whether every scale of an instrument says where a value stands.
fn check_scales(instrument: &Instrument) -> Result<(), DrawError> {
    let is_sound = |points: &[(f64, f64)]| {
        let numbers = points.iter().all(|p| p.0.is_finite() && p.1.is_finite());
        points.len() >= 2 && numbers && points.windows(2).all(|pair| pair[0].0 < pair[1].0)
    };
    let mut scales = (0..instrument.face.hands().len()).filter_map(|hand| instrument.face.scale(hand));
    if scales.all(|scale| is_sound(&scale.breakpoints)) {
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
            let pixels = ground.overlap(grounds[j]).ceil() as u64;
            faults.push(DrawError::Overlap { first: name(j), second: name(i), pixels });
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
