//! Scenes to masks and colours, and those to pictures.
//!
//! Rotation and pixel aspect go into the matrix: everything is drawn straight in the coded frame, no pixel is ever turned.

use std::collections::VecDeque;
use std::sync::Arc;

use tiny_skia::{
    Color, FillRule, GradientStop, LineJoin, Paint as SkiaPaint, Path as SkiaPath, PathBuilder, PathSegment, PixmapMut,
    Point as SkiaPoint, RadialGradient, Shader, SpreadMode, Stroke as SkiaStroke, StrokeDash, Transform,
};

use crate::pixel::{Affine, Form, FrameShape, Ink, Mask, Patch, PixelBox, Pixels};

use super::blade;
use super::cover;
use super::letters::Letters;
use super::path::{Path, Point, Segment};
use super::scene::{Item, Outline, Paint, Scene, Stroke};
use super::theme::Rgba;

/// Pictures lie on the grid of the coarsest chroma, two by two.
pub(super) const CHROMA: u32 = 2;

/// The way from the shown picture to coded pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    to_coded: Affine,
    /// One coded pixel as wide as it gets in the shown picture: no line is drawn thinner.
    thinnest: f64,
    frame: PixelBox,
}

/// One thing that is laid on a canvas.
pub(super) enum Piece<F: Form> {
    /// A colour through a mask that is moved by whole pixels.
    Mask(Arc<F::Stencil>, (i32, i32), Ink),
    /// Rings of colour, drawn.
    Picture(Arc<F::Picture>),
}

impl<F: Form> Clone for Piece<F> {
    fn clone(&self) -> Self {
        match self {
            Self::Mask(stencil, by, ink) => Self::Mask(Arc::clone(stencil), *by, *ink),
            Self::Picture(picture) => Self::Picture(Arc::clone(picture)),
        }
    }
}

/// What one instrument has drawn that may be needed again as it is, on one grid, within one limit and in one form.
pub(super) struct Ready<F: Form> {
    letters: Letters<F>,
    /// The last outlines and their pieces: a window mostly stays while the text in it changes.
    outlines: VecDeque<(Outline, Vec<Piece<F>>)>,
}

impl<F: Form> Default for Ready<F> {
    fn default() -> Self {
        Self { letters: Letters::default(), outlines: VecDeque::new() }
    }
}

/// Outlines that are kept for an instrument.
const KEPT: usize = 16;

impl<F: Form> Piece<F> {
    /// Lays it on a canvas within a box.
    pub fn lay(&self, form: F, canvas: &mut F::Canvas<'_>, limit: PixelBox) {
        match self {
            Self::Mask(stencil, by, ink) => form.lay(canvas, stencil, *by, *ink, limit),
            Self::Picture(above) => form.over(canvas, above, limit),
        }
    }
}

/// A drawn colour as ink.
fn ink(colour: Rgba) -> Ink {
    Ink { rgb: colour.rgb, alpha: (colour.alpha * 255.0).round() as u8 }
}

impl Grid {
    pub fn new(shape: FrameShape) -> Self {
        Self {
            to_coded: shape.shown_to_coded(),
            thinnest: shape.pixel_aspect.max(1.0),
            frame: PixelBox { x: 0, y: 0, width: shape.width, height: shape.height },
        }
    }

    /// The coded box that holds a scene with `margin` clear pixels round it, on the chroma grid and cut to the frame.
    pub fn bounds(&self, scene: &Scene, margin: f64) -> PixelBox {
        let (mut low, mut high) = ((f64::MAX, f64::MAX), (f64::MIN, f64::MIN));
        let mut hold = |x: f64, y: f64| {
            let (x, y) = self.to_coded.apply(x, y);
            low = (low.0.min(x), low.1.min(y));
            high = (high.0.max(x), high.1.max(y));
        };
        for item in &scene.items {
            if let Item::Text(line) = item {
                line.corners().into_iter().for_each(|(x, y)| hold(x, y));
                continue;
            }
            for outline in item.outlines() {
                let reach = outline.stroke.map_or(0.0, |s| s.width.max(self.thinnest) / 2.0);
                for (x, y) in outline.path.points() {
                    for (dx, dy) in [(-reach, -reach), (reach, -reach), (-reach, reach), (reach, reach)] {
                        hold(x + dx, y + dy);
                    }
                }
            }
        }
        if low.0 > high.0 {
            return PixelBox::default();
        }
        // Float to integer casts saturate, so whatever lies left of or above the frame starts at 0.
        let start = |v: f64| (v - margin).floor() as u32;
        let end = |v: f64| (v + margin).ceil() as u32;
        let (x, y) = (start(low.0), start(low.1));
        let (right, bottom) = (end(high.0), end(high.1));
        let held = PixelBox { x, y, width: right.saturating_sub(x), height: bottom.saturating_sub(y) };
        held.intersect(self.frame).to_grid(CHROMA, self.frame.width, self.frame.height)
    }

    /// A scene as the things to be laid, in painting order; what lies beyond `limit` may be missing. They depend on the scene
    /// alone, not on what was drawn before. Where outlines hardly ever come twice, it is not worth keeping them.
    pub fn pieces<F: Form>(
        &self,
        scene: &Scene,
        limit: PixelBox,
        form: F,
        ready: &mut Ready<F>,
        keeps_outlines: bool,
    ) -> Vec<Piece<F>> {
        let mut pieces = Vec::with_capacity(2 * scene.items.len());
        let through =
            |mask: Mask, colour| Piece::Mask(Arc::new(form.stencil(Arc::new(mask), (0, 0))), (0, 0), ink(colour));
        let filled = |path: &Path, colour| through(cover::mask(path, self.to_coded, Some(limit)), colour);
        for item in &scene.items {
            match item {
                Item::Text(line) => ready.letters.set(line, self.to_coded, form, |stencil, by, colour| {
                    pieces.push(Piece::Mask(stencil, by, ink(colour)));
                }),
                Item::Hand(blade, stand, colour) => {
                    pieces.push(through(blade.mask(*stand, self.to_coded, limit), *colour));
                }
                Item::Ticks(ticks, colour) => pieces.push(match ticks.mask(self.to_coded) {
                    Some(mask) => through(mask, *colour),
                    None => filled(&ticks.outline(), *colour),
                }),
                Item::Sector(sector, colour) => pieces.push(match sector.mask(self.to_coded) {
                    Some(mask) => through(mask, *colour),
                    None => filled(&sector.outline(), *colour),
                }),
                Item::Outline(outline) => {
                    let known = || ready.outlines.iter().find(|(known, _)| known == outline);
                    if let Some((_, known)) = keeps_outlines.then(known).flatten() {
                        pieces.extend_from_slice(known);
                        continue;
                    }
                    let first = pieces.len();
                    if let Some(stroke) = outline.stroke {
                        pieces.push(filled(&self.stroked(&outline.path, stroke), stroke.colour));
                    }
                    match &outline.fill {
                        None => {}
                        Some(Paint::Solid(colour)) => pieces.push(filled(&outline.path, *colour)),
                        Some(Paint::Radial { centre, radius, stops }) => {
                            let rings = self.rings(outline, (*centre, *radius, stops), limit);
                            pieces.push(Piece::Picture(Arc::new(form.picture(&rings))));
                        }
                    }
                    if keeps_outlines {
                        if ready.outlines.len() == KEPT {
                            ready.outlines.pop_front();
                        }
                        ready.outlines.push_back((outline.clone(), pieces[first..].to_vec()));
                    }
                }
            }
        }
        pieces
    }

    /// Draws a scene into the given box, whose corner lies on the chroma grid.
    pub fn picture(&self, scene: &Scene, place: PixelBox) -> Patch {
        let mut picture = Patch::clear(place);
        self.draw(scene, &mut picture);
        picture
    }

    /// Draws a scene over a picture.
    pub fn draw(&self, scene: &Scene, picture: &mut Patch) {
        let place = picture.place;
        let pieces = self.pieces(scene, place, Pixels, &mut Ready::default(), false);
        pieces.iter().for_each(|piece| piece.lay(Pixels, picture, place));
    }

    fn stroked(&self, path: &Path, stroke: Stroke) -> Path {
        let dash = stroke.dash.and_then(|(on, off)| StrokeDash::new(vec![on as f32, off as f32], 0.0));
        outline(path, stroke.width.max(self.thinnest), dash)
    }

    /// An outline filled with rings.
    fn rings(
        &self,
        outline: &Outline,
        (centre, radius, stops): (Point, f64, &[(f32, Rgba)]),
        limit: PixelBox,
    ) -> Patch {
        let mut scene = Scene::default();
        scene.fill(outline.path.clone(), Rgba::opaque(0));
        let mut patch = Patch::clear(self.bounds(&scene, 1.0).intersect(limit));
        let place = patch.place;
        let shader = shader(centre, radius, stops);
        let pixels = PixmapMut::from_bytes(&mut patch.rgba, place.width, place.height);
        if let (Some(mut pixels), Some(path), Some(shader)) = (pixels, skia_path(&outline.path), shader) {
            let t = self.to_coded;
            let shift = (t.e - f64::from(place.x), t.f - f64::from(place.y));
            let to_box =
                Transform::from_row(t.a as f32, t.b as f32, t.c as f32, t.d as f32, shift.0 as f32, shift.1 as f32);
            let paint = SkiaPaint { shader, ..SkiaPaint::default() };
            pixels.fill_path(&path, &paint, FillRule::Winding, to_box, None);
        }
        patch
    }
}

/// The outline of a line of this width along a path: worked out once for what is drawn again and again elsewhere.
///
/// Coordinates should be of the size of pixels, for curves to be followed closely enough.
pub(super) fn outline_of_stroke(path: &Path, width: f64) -> Path {
    outline(path, width, None)
}

/// A closed outline grown by half of a line's width: what a hand's casing covers.
pub(super) fn casing(path: &Path, width: f64) -> Path {
    let grown = outline(path, width, None).segments;
    let contours = grown.split_inclusive(|segment| *segment == Segment::Close);
    // The line's inner edge is hidden by what lies on it.
    let height = |contour: &&[Segment]| {
        let path = Path { segments: contour.to_vec() };
        let (low, high) = path.points().fold((f64::MAX, f64::MIN), |(low, high), p| (low.min(p.1), high.max(p.1)));
        high - low
    };
    let outer = contours.max_by(|a, b| height(a).total_cmp(&height(b)));
    cover::straightened(&blade::unfolded(&Path { segments: outer.unwrap_or_default().to_vec() }))
}

/// Butt ends, round joins.
fn outline(path: &Path, width: f64, dash: Option<StrokeDash>) -> Path {
    let stroke = SkiaStroke { width: width as f32, line_join: LineJoin::Round, ..SkiaStroke::default() };
    let point = |p: SkiaPoint| (f64::from(p.x), f64::from(p.y));
    let outline = skia_path(path).and_then(|path| {
        let dashed = dash.and_then(|dash| path.dash(&dash, 1.0));
        dashed.unwrap_or(path).stroke(&stroke, 1.0)
    });
    let step = |segment| match segment {
        PathSegment::MoveTo(p) => Segment::Move(point(p)),
        PathSegment::LineTo(p) => Segment::Line(point(p)),
        PathSegment::QuadTo(c, p) => Segment::Quad(point(c), point(p)),
        PathSegment::CubicTo(c, d, p) => Segment::Cubic(point(c), point(d), point(p)),
        PathSegment::Close => Segment::Close,
    };
    Path { segments: outline.iter().flat_map(SkiaPath::segments).map(step).collect() }
}

fn skia_path(path: &Path) -> Option<SkiaPath> {
    let mut builder = PathBuilder::with_capacity(path.segments.len(), 2 * path.segments.len());
    for segment in &path.segments {
        match *segment {
            Segment::Move(p) => builder.move_to(p.0 as f32, p.1 as f32),
            Segment::Line(p) => builder.line_to(p.0 as f32, p.1 as f32),
            Segment::Quad(c, p) => builder.quad_to(c.0 as f32, c.1 as f32, p.0 as f32, p.1 as f32),
            Segment::Cubic(c, d, p) => {
                builder.cubic_to(c.0 as f32, c.1 as f32, d.0 as f32, d.1 as f32, p.0 as f32, p.1 as f32);
            }
            Segment::Close => builder.close(),
        }
    }
    builder.finish()
}

fn colour(c: Rgba) -> Color {
    let [r, g, b] = c.rgb;
    Color::from_rgba8(r, g, b, (c.alpha * 255.0).round() as u8)
}

fn shader(centre: Point, radius: f64, stops: &[(f32, Rgba)]) -> Option<Shader<'static>> {
    let centre = SkiaPoint::from_xy(centre.0 as f32, centre.1 as f32);
    let stops = stops.iter().map(|&(at, c)| GradientStop::new(at, colour(c))).collect();
    let radius = radius as f32;
    RadialGradient::new(centre, 0.0, centre, radius, stops, SpreadMode::Pad, Transform::identity())
}
