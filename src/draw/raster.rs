//! Scenes to pixels, and pixels over pixels.
//!
//! Rotation and pixel aspect go into the matrix: everything is drawn straight in the coded frame, no pixel is ever turned.

use tiny_skia::{
    Color, FillRule, GradientStop, LineCap, LineJoin, Paint as SkiaPaint, Path as SkiaPath, PathBuilder, PathSegment,
    PixmapMut, Point as SkiaPoint, RadialGradient, Shader, SpreadMode, Stroke as SkiaStroke, StrokeDash, Transform,
};

use crate::pixel::{Affine, FrameShape, Patch, PixelBox};

use super::cover;
use super::letters;
use super::path::{Path, Point, Segment};
use super::scene::{Item, Outline, Paint, Scene, Stroke};
use super::theme::Rgba;

/// Clear pixels kept round everything that is drawn, for the rasteriser's own rounding.
const PAD: f64 = 1.0;

/// The way from the shown picture to coded pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Grid {
    to_coded: Affine,
    /// One coded pixel as wide as it gets in the shown picture: no line is drawn thinner.
    thinnest: f64,
    frame: PixelBox,
}

impl Grid {
    pub fn new(shape: FrameShape) -> Self {
        Self {
            to_coded: shape.shown_to_coded(),
            // A little over one pixel: at exactly one, tiny-skia takes its separate hairline path.
            thinnest: 1.01 * shape.pixel_aspect.max(1.0),
            frame: PixelBox { x: 0, y: 0, width: shape.width, height: shape.height },
        }
    }

    /// The coded box that holds a scene with `margin` clear pixels round it, cut to the frame.
    pub fn bounds(&self, scene: &Scene, margin: f64) -> PixelBox {
        let (mut low, mut high) = ((f64::MAX, f64::MAX), (f64::MIN, f64::MIN));
        let mut hold = |x: f64, y: f64| {
            let (x, y) = self.to_coded.apply(x, y);
            low = (low.0.min(x), low.1.min(y));
            high = (high.0.max(x), high.1.max(y));
        };
        for item in &scene.items {
            match item {
                Item::Text(line) => line.corners().into_iter().for_each(|(x, y)| hold(x, y)),
                Item::Outline(outline) => {
                    let reach = outline.stroke.map_or(0.0, |s| s.width.max(self.thinnest) / 2.0);
                    for (x, y) in outline.path.points() {
                        for (dx, dy) in [(-reach, -reach), (reach, -reach), (-reach, reach), (reach, reach)] {
                            hold(x + dx, y + dy);
                        }
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
        PixelBox { x, y, width: right.saturating_sub(x), height: bottom.saturating_sub(y) }.intersect(self.frame)
    }

    /// The box of a sprite of a scene: just large enough, within `limit`.
    pub fn sprite_box(&self, scene: &Scene, limit: PixelBox) -> PixelBox {
        self.bounds(scene, PAD).intersect(limit)
    }

    /// Draws a scene into a sprite. The pixels depend on the scene alone, not on what was drawn before or on any other box.
    pub fn sprite(&self, scene: &Scene, limit: PixelBox) -> Patch {
        self.picture(scene, self.sprite_box(scene, limit), Vec::new())
    }

    /// Draws a scene into the given box. The picture's memory is `buffer`, if it suffices.
    pub fn picture(&self, scene: &Scene, place: PixelBox, mut buffer: Vec<u8>) -> Patch {
        buffer.clear();
        buffer.resize(4 * place.width as usize * place.height as usize, 0);
        let mut patch = Patch { place, rgba: buffer };
        for item in &scene.items {
            match item {
                Item::Text(line) => letters::lay(&mut patch, line, self.to_coded),
                Item::Outline(outline) => self.paint(&mut patch, outline),
            }
        }
        patch
    }

    fn paint(&self, patch: &mut Patch, outline: &Outline) {
        if let Some(stroke) = outline.stroke {
            let paint = SkiaPaint { shader: Shader::SolidColor(colour(stroke.colour)), ..SkiaPaint::default() };
            let line = self.skia_stroke(stroke);
            self.with_skia(patch, outline, |pixels, path, to_box| {
                pixels.stroke_path(path, &paint, &line, to_box, None);
            });
        }
        match &outline.fill {
            None => {}
            // Five times as fast as the general way, and exact.
            Some(Paint::Solid(colour)) => cover::fill(patch, &outline.path, self.to_coded, *colour),
            Some(Paint::Radial { centre, radius, stops }) => {
                let Some(shader) = rings(*centre, *radius, stops) else { return };
                let paint = SkiaPaint { shader, ..SkiaPaint::default() };
                self.with_skia(patch, outline, |pixels, path, to_box| {
                    pixels.fill_path(path, &paint, FillRule::Winding, to_box, None);
                });
            }
        }
    }

    fn with_skia(
        &self,
        patch: &mut Patch,
        outline: &Outline,
        paint: impl FnOnce(&mut PixmapMut<'_>, &SkiaPath, Transform),
    ) {
        let place = patch.place;
        let Some(mut pixels) = PixmapMut::from_bytes(&mut patch.rgba, place.width, place.height) else { return };
        let Some(path) = skia_path(&outline.path) else { return };
        let t = self.to_coded;
        let shift = (t.e - f64::from(place.x), t.f - f64::from(place.y));
        let to_box =
            Transform::from_row(t.a as f32, t.b as f32, t.c as f32, t.d as f32, shift.0 as f32, shift.1 as f32);
        paint(&mut pixels, &path, to_box);
    }

    fn skia_stroke(&self, stroke: Stroke) -> SkiaStroke {
        SkiaStroke {
            width: stroke.width.max(self.thinnest) as f32,
            line_cap: LineCap::Butt,
            line_join: LineJoin::Round,
            dash: stroke.dash.and_then(|(on, off)| StrokeDash::new(vec![on as f32, off as f32], 0.0)),
            ..SkiaStroke::default()
        }
    }
}

/// The outline of a line of this width along a path: worked out once for what is drawn again and again elsewhere.
///
/// Coordinates should be of the size of pixels, for curves to be followed closely enough.
pub(super) fn outline_of_stroke(path: &Path, width: f64) -> Path {
    let stroke = SkiaStroke { width: width as f32, line_join: LineJoin::Round, ..SkiaStroke::default() };
    let point = |p: SkiaPoint| (f64::from(p.x), f64::from(p.y));
    let outline = skia_path(path).and_then(|path| path.stroke(&stroke, 1.0));
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

fn rings(centre: Point, radius: f64, stops: &[(f32, Rgba)]) -> Option<Shader<'static>> {
    let centre = SkiaPoint::from_xy(centre.0 as f32, centre.1 as f32);
    let stops = stops.iter().map(|&(at, c)| GradientStop::new(at, colour(c))).collect();
    let radius = radius as f32;
    RadialGradient::new(centre, 0.0, centre, radius, stops, SpreadMode::Pad, Transform::identity())
}

/// Lays a sprite over a picture, within `clip` (Porter and Duff's *over*, premultiplied, rounded to nearest).
pub(super) fn over(picture: &mut Patch, sprite: &Patch, clip: PixelBox) {
    let part = clip.intersect(sprite.place).intersect(picture.place);
    for y in part.y..part.bottom() {
        let source = row(sprite.place, y, part);
        let target = row(picture.place, y, part);
        let (below, above) = (&mut picture.rgba[target], &sprite.rgba[source]);
        for (below, above) in below.chunks_mut(RUN).zip(above.chunks(RUN)) {
            // Most of a slanting hand's box is empty.
            let above = above.as_chunks::<4>().0;
            if above.iter().fold(0, |any, pixel| any | u32::from_ne_bytes(*pixel)) == 0 {
                continue;
            }
            for (d, s) in below.as_chunks_mut::<4>().0.iter_mut().zip(above) {
                *d = over_pixel(*d, *s);
            }
        }
    }
}

/// Bytes of a sprite looked at together: sixteen pixels.
const RUN: usize = 64;

/// Two channels at a time in one word: each product and its rounding stay below 2^16.
pub(super) fn over_pixel(below: [u8; 4], above: [u8; 4]) -> [u8; 4] {
    const EVEN: u32 = 0x00ff_00ff;
    let d = u32::from_le_bytes(below);
    let rest = 255 - u32::from(above[3]);
    let scale = |pair: u32| {
        let product = pair * rest + 0x0080_0080;
        ((product + ((product >> 8) & EVEN)) >> 8) & EVEN
    };
    let scaled = scale(d & EVEN) | (scale((d >> 8) & EVEN) << 8);
    // Premultiplied colours never exceed their alpha, so no channel overflows into the next.
    (u32::from_le_bytes(above) + scaled).to_le_bytes()
}

/// Puts back what lies under everything that moves, within `clip`. Both pictures cover the same box.
pub(super) fn restore(picture: &mut Patch, face: &[u8], clip: PixelBox) {
    let part = clip.intersect(picture.place);
    for y in part.y..part.bottom() {
        let range = row(picture.place, y, part);
        picture.rgba[range.clone()].copy_from_slice(&face[range]);
    }
}

/// The bytes of row `y` of a picture at `place`, between the sides of `part`.
fn row(place: PixelBox, y: u32, part: PixelBox) -> std::ops::Range<usize> {
    let start = 4 * ((y - place.y) as usize * place.width as usize + (part.x - place.x) as usize);
    start..start + 4 * part.width as usize
}

#[cfg(test)]
mod tests {
    use super::over_pixel;

    /// W3C Compositing and Blending 1, "over": co = cs + cb (1 - as), for every alpha and backdrop.
    #[test]
    fn over_is_within_half_a_level() {
        for alpha in 0..=255u8 {
            for below in 0..=255u8 {
                let [r, g, b, a] = over_pixel([below, 255 - below, 0, 255], [alpha, 0, alpha / 2, alpha]);
                let exact = |s: u8, d: u8| f64::from(s) + f64::from(d) * (1.0 - f64::from(alpha) / 255.0);
                let near = |found: u8, s: u8, d: u8| (f64::from(found) - exact(s, d)).abs() <= 0.5 + 1e-9;
                assert!(near(r, alpha, below) && near(g, 0, 255 - below) && near(b, alpha / 2, 0));
                assert_eq!(a, 255, "an opaque picture stays opaque");
            }
        }
        assert_eq!(over_pixel([1, 2, 3, 4], [0; 4]), [1, 2, 3, 4], "nothing over it changes nothing");
    }
}
