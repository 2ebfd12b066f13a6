//! The sun inside the cockpit: warm light that wanders over the panel, and glare that hides dials for a while.

use super::canvas::{Canvas, layer};
use super::moment::Moment;
use super::sky::SUN_DEG;
use super::texture::soften;
use crate::blend::{BlendError, Layer};
use crate::draw::{Path, Point, Rgba, Scene, Segment};
use crate::pixel::PlanesMut;

/// A patch of light that is seen when the sun stands about a bearing from the nose.
struct Spot {
    layer: Layer,
    /// Degrees to the right of the nose.
    bearing: f64,
    /// Degrees over which it comes and goes.
    width: f64,
    /// Opacity at most, in 1/64.
    most: f64,
}

pub(super) struct Light {
    spots: Vec<Spot>,
}

/// Corners, colour, opacity of the patch itself, blur in the drawing's pixels, bearing, width, opacity.
type Recipe = (&'static [Point], u32, f32, f32, f64, f64, f64);

const RECIPES: [Recipe; 8] = [
    // The sun behind: its light falls through the door windows onto the panel.
    (&[(392.0, 352.0), (520.0, 346.0), (470.0, 620.0), (392.0, 620.0)], 0xffe2ae, 0.30, 12.0, 150.0, 34.0, 60.0),
    (&[(520.0, 346.0), (680.0, 346.0), (640.0, 620.0), (470.0, 620.0)], 0xffe2ae, 0.27, 12.0, 186.0, 30.0, 60.0),
    (&[(690.0, 346.0), (890.0, 350.0), (890.0, 620.0), (730.0, 620.0)], 0xffe2ae, 0.27, 12.0, 232.0, 32.0, 60.0),
    (&[(430.0, 330.0), (850.0, 330.0), (842.0, 344.0), (438.0, 344.0)], 0xfff0cc, 0.35, 3.0, 190.0, 110.0, 60.0),
    // The sun ahead: its reflection on glass hides what is under it.
    (&[(752.0, 352.0), (904.0, 364.0), (908.0, 460.0), (756.0, 464.0)], 0xfffaf0, 0.96, 17.0, 62.0, 30.0, 60.0),
    (&[(366.0, 442.0), (610.0, 472.0), (560.0, 552.0), (370.0, 540.0)], 0xfffaf0, 0.94, 17.0, 332.0, 34.0, 58.0),
    // A veil on the windscreen.
    (&[(300.0, -60.0), (520.0, -60.0), (250.0, 420.0), (40.0, 420.0)], 0xfff6e2, 0.26, 34.0, 335.0, 45.0, 60.0),
    (&[(800.0, -60.0), (960.0, -60.0), (1220.0, 420.0), (1010.0, 420.0)], 0xfff6e2, 0.22, 34.0, 62.0, 45.0, 60.0),
];

/// Corners without edges: curves from the middle of each side to that of the next.
fn rounded(corners: &[Point]) -> Path {
    let n = corners.len();
    let middle = |i: usize| {
        let (a, b) = (corners[i % n], corners[(i + 1) % n]);
        ((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0)
    };
    let curves = (0..n).map(|i| Segment::Quad(corners[(i + 1) % n], middle(i + 1)));
    let segments = [Segment::Move(middle(0))].into_iter().chain(curves).chain([Segment::Close]);
    Path { segments: segments.collect() }
}

impl Light {
    pub fn new(canvas: &Canvas) -> Result<Self, BlendError> {
        let spot = |(corners, colour, alpha, blur, bearing, width, most): Recipe| {
            let mut scene = Scene::default();
            scene.fill(rounded(corners), Rgba::opaque(colour).at(alpha));
            let room = 3.0 * f64::from(blur);
            let reach = |pick: fn(&Point) -> f64| {
                let all = corners.iter().map(pick);
                all.fold((f64::MAX, f64::MIN), |(low, high), v| (low.min(v), high.max(v)))
            };
            let (across, down) = (reach(|p| p.0), reach(|p| p.1));
            let place = canvas.boxed((across.0 - room, down.0 - room), (across.1 + room, down.1 + room));
            let patch = soften(canvas.draw(&scene, (0.0, 0.0), place), blur * canvas.scale as f32);
            Ok(Spot { layer: layer(&patch)?, bearing, width, most })
        };
        Ok(Self { spots: RECIPES.into_iter().map(spot).collect::<Result<_, _>>()? })
    }

    /// Lays the light of a moment over a frame.
    pub fn lay(&self, planes: &mut PlanesMut<'_>, moment: &Moment) -> Result<(), BlendError> {
        let sun = SUN_DEG - moment.heading;
        for spot in &self.spots {
            let off = ((sun - spot.bearing + 540.0).rem_euclid(360.0) - 180.0) / spot.width;
            let opacity = spot.most * (-off * off).exp();
            if opacity >= 1.0 {
                spot.layer.blend(planes, Some(opacity as u8))?;
            }
        }
        Ok(())
    }
}
