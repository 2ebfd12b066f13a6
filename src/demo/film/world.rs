//! The invented valley of Harrowmere: sky, hills and ground, painted once.
//!
//! Sky and hills are strips that go once round the horizon; the ground is a map that repeats, and the apron a finer piece
//! of it where the flight begins and ends.

use super::hills;
use super::land;
use super::sky;
use super::texture::{Texel, Texture, codes, mixed};

/// Focal length of the camera on a picture 1280 pixels wide: it sees 66 degrees.
pub(super) const FOCAL: f64 = 985.0;
/// Length of a strip in the same pixels.
pub(super) const ROUND: f64 = std::f64::consts::TAU * FOCAL;
/// Distance at which half of the colour is haze, in metres.
const HAZE_M: f32 = 5200.0;
/// Distance of the nearest hills, where the ground ends.
const GROUND_END_M: f32 = 4200.0;
/// Footprint of a pixel, in metres, beyond which the blades of grass are not seen.
const GRASS_M: f32 = 0.9;
/// The colour into which everything far fades.
pub(super) const HAZE: [f64; 3] = [206.0, 216.0, 216.0];

/// A ring of hills.
pub(super) struct Hills {
    pub texture: Texture,
    pub distance_m: f32,
    /// Rows of the texture above the foot.
    pub top: f32,
}

/// A picture of the ground from above, in ever smaller copies.
pub(super) struct Ground {
    pub levels: Vec<Texture>,
    /// Side of a texel of the first level, in metres.
    pub texel_m: f32,
}

impl Ground {
    pub fn new(first: Texture, texel_m: f32) -> Self {
        let mut levels = vec![first];
        while let Some(last) = levels.last().filter(|t| t.width > 16) {
            let half = last.halved();
            levels.push(half);
        }
        Self { levels, texel_m }
    }

    /// At metres from the picture's corner, for a pixel that covers `footprint` metres.
    fn at(&self, x: f32, y: f32, footprint: f32) -> Texel {
        let finer = (footprint / self.texel_m).max(1.0).to_bits();
        // The exponent of the ratio: its whole binary logarithm.
        let level = ((finer >> 23) as usize - 127).min(self.levels.len() - 1);
        let scale = 1.0 / (self.texel_m * (1_u32 << level) as f32);
        self.levels[level].tiled(x * scale - 0.5, y * scale - 0.5)
    }
}

/// Everything outside.
pub(super) struct World {
    sky: Texture,
    hills: [Hills; RINGS],
    map: Ground,
    apron: Ground,
    grass: Texture,
    /// Middles of the two aprons, in metres east and north of the start.
    aprons: [(f32, f32); 2],
    /// Texels of a strip for a pixel at `FOCAL`.
    strip_scale: f64,
    haze: Texel,
}

/// How the camera stands at a moment.
pub(super) struct Camera {
    /// Focal length in pixels.
    focal: f32,
    /// The point about which it rolls.
    middle: (f32, f32),
    /// Sine and cosine of the roll.
    roll: (f32, f32),
    /// Rows from the middle down to the horizon.
    horizon: f32,
    /// Texels of a strip for a pixel, and the column at the middle.
    strip: (f32, f32),
    height: f32,
    place: (f32, f32),
    /// Sine and cosine of the heading.
    heading: (f32, f32),
    /// Rows below the horizon from which the ground is seen.
    ground_from: f32,
    /// Rows from the horizon down to the feet of the hills.
    feet: [f32; RINGS],
}

/// Rings of hills.
pub(super) const RINGS: usize = 4;

/// Sums in 1/65536 as a texel.
fn seen_texel(seen: [u32; 3]) -> Texel {
    let code = |v: u32| ((v + (1 << 15)) >> 16).min(255) as u8;
    [code(seen[0]), code(seen[1]), code(seen[2]), 255]
}

impl World {
    /// Paints it. `size` is that of a pixel of the film compared with one of a film 1280 pixels wide.
    pub fn new(size: f64, end: (f64, f64)) -> Self {
        // Finer strips than that are not seen: the distance is soft.
        let strip_scale = size.clamp(0.25, 1.0);
        let haze = codes(HAZE).map(|v| v.round() as u8);
        Self {
            sky: sky::paint(strip_scale),
            hills: hills::paint(strip_scale),
            map: land::map(end),
            apron: land::apron(),
            grass: land::grass(),
            aprons: [(0.0, 0.0), (end.0 as f32, end.1 as f32)],
            strip_scale,
            haze: [haze[0], haze[1], haze[2], 255],
        }
    }

    /// A camera on a film with this focal length and middle, in pixels.
    pub fn camera(&self, focal: f64, middle: (f64, f64), moment: &super::moment::Moment) -> Camera {
        let scale = self.strip_scale * FOCAL / focal;
        let heading = moment.heading.to_radians();
        let (sin, cos) = heading.sin_cos();
        let (roll_sin, roll_cos) = moment.bank.sin_cos();
        Camera {
            focal: focal as f32,
            middle: (middle.0 as f32, middle.1 as f32),
            roll: (-roll_sin as f32, roll_cos as f32),
            horizon: (focal * moment.pitch.tan()) as f32,
            strip: (scale as f32, (heading * FOCAL * self.strip_scale) as f32),
            height: moment.height_m as f32,
            place: (moment.place.0 as f32, moment.place.1 as f32),
            heading: (sin as f32, cos as f32),
            ground_from: (focal * moment.height_m) as f32 / GROUND_END_M,
            feet: self.hills.each_ref().map(|hills| (focal * moment.height_m) as f32 / hills.distance_m),
        }
    }

    /// What is seen at a pixel.
    #[inline]
    pub fn at(&self, camera: &Camera, x: f32, y: f32) -> Texel {
        let (dx, dy) = (x - camera.middle.0, y - camera.middle.1);
        let across = dx * camera.roll.1 + dy * camera.roll.0;
        let below = dy * camera.roll.1 - dx * camera.roll.0 - camera.horizon;
        if below > camera.ground_from {
            self.ground(camera, across, below)
        } else {
            self.distance(camera, across, below)
        }
    }

    /// The nearest hills first: whatever they hide is not looked for.
    fn distance(&self, camera: &Camera, across: f32, below: f32) -> Texel {
        let (scale, first) = camera.strip;
        let column = first + across * scale;
        let (mut seen, mut open) = ([0_u32; 3], 256_u32);
        let mut add = |texel: Texel, alpha: u32| {
            let part = open * alpha;
            for (sum, code) in seen.iter_mut().zip(texel) {
                *sum += part * u32::from(code);
            }
            open -= part >> 8;
            open < 4
        };
        for (hills, foot) in self.hills.iter().zip(camera.feet).rev() {
            let row = hills.top + (below - foot) * scale;
            if row > 0.0 {
                let texel = hills.texture.round(column, row);
                let alpha = u32::from(texel[3]);
                if alpha > 0 && add(texel, alpha + (alpha >> 7)) {
                    return seen_texel(seen);
                }
            }
        }
        add(self.sky.round(column, sky::FOOT * self.strip_scale as f32 + below * scale), 256);
        seen_texel(seen)
    }

    fn ground(&self, camera: &Camera, across: f32, below: f32) -> Texel {
        let ratio = camera.height / below;
        let (side, ahead) = (across * ratio, camera.focal * ratio);
        let (sin, cos) = camera.heading;
        let east = camera.place.0 + ahead * sin + side * cos;
        let north = camera.place.1 + ahead * cos - side * sin;
        // Between a pixel's width and its length on the ground.
        let footprint = ratio * (1.0 + 0.45 * ahead / camera.height).min(11.0);
        let mut seen = self.map.at(land::MIDDLE_M + east, land::MIDDLE_M - north, footprint);
        for apron in self.aprons {
            let (e, n) = (east - apron.0, north - apron.1);
            let half = land::APRON_M as f32 / 2.0;
            // The apron lies along the runway, the way the flight begins and ends.
            let (right, up) = (
                e * land::ALONG.1 as f32 - n * land::ALONG.0 as f32,
                e * land::ALONG.0 as f32 + n * land::ALONG.1 as f32,
            );
            let inside = half - right.abs().max(up.abs());
            if inside > 0.0 {
                let fine = self.apron.at(right + half, half - up, footprint);
                seen = mixed(seen, fine, (inside * 12.0).min(256.0) as u64);
            }
        }
        if footprint < GRASS_M {
            let blade = i32::from(self.grass.tiled(east * 2.5, north * 2.5)[0])
                + i32::from(self.grass.tiled(east * 0.41, north * 0.41)[0])
                - 256;
            let part = (1.0 - footprint / GRASS_M) * 0.5;
            seen[0] = (i32::from(seen[0]) + (blade as f32 * part) as i32).clamp(20, 235) as u8;
        }
        let haze = ahead / (ahead + HAZE_M);
        mixed(seen, self.haze, (256.0 * haze) as u64)
    }
}
