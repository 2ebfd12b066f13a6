//! Coded and shown: how the stored rectangle becomes the picture that a viewer sees.

/// A plane map: `x' = a x + c y + e`, `y' = b x + d y + f`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Affine {
    /// x to x.
    pub a: f64,
    /// x to y.
    pub b: f64,
    /// y to x.
    pub c: f64,
    /// y to y.
    pub d: f64,
    /// Shift of x.
    pub e: f64,
    /// Shift of y.
    pub f: f64,
}

impl Affine {
    /// The map that changes nothing.
    pub const IDENTITY: Self = Self { a: 1.0, b: 0.0, c: 0.0, d: 1.0, e: 0.0, f: 0.0 };

    /// Where a point goes.
    pub fn apply(self, x: f64, y: f64) -> (f64, f64) {
        (self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)
    }

    /// Whether lengths and right angles stay what they are: it turns, mirrors and moves, and no more.
    pub fn keeps_shapes(self) -> bool {
        const STRETCHED: f64 = 1e-6;
        let Self { a, b, c, d, .. } = self;
        [a * a + b * b - 1.0, c * c + d * d - 1.0, a * c + b * d].into_iter().all(|v| v.abs() < STRETCHED)
    }

    /// First `self`, then `next`.
    #[must_use]
    pub fn then(self, next: Self) -> Self {
        let (e, f) = next.apply(self.e, self.f);
        Self {
            a: next.a * self.a + next.c * self.b,
            b: next.b * self.a + next.d * self.b,
            c: next.a * self.c + next.c * self.d,
            d: next.b * self.c + next.d * self.d,
            e,
            f,
        }
    }
}

/// How a viewer's player turns the coded picture: first mirrored left to right if asked, then turned clockwise.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Orientation {
    /// Quarter turns clockwise, 0 to 3.
    pub quarter_turns: u8,
    /// Whether the picture is mirrored left to right before it is turned.
    pub mirrored: bool,
}

/// Size and attitude of a film's frames.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrameShape {
    /// Columns as coded.
    pub width: u32,
    /// Rows as coded.
    pub height: u32,
    /// Width of a coded pixel over its height; 1 for square ones.
    pub pixel_aspect: f64,
    /// How the player turns it.
    pub orientation: Orientation,
}

impl FrameShape {
    /// A frame shown as it is coded, with square pixels.
    pub const fn plain(width: u32, height: u32) -> Self {
        Self { width, height, pixel_aspect: 1.0, orientation: Orientation { quarter_turns: 0, mirrored: false } }
    }

    /// Width and height of the shown picture in square pixels as tall as the coded rows (or columns, when turned).
    ///
    /// The coded side that is not stretched keeps its length, so nothing is drawn finer than the frame can hold.
    pub fn shown_size(self) -> (f64, f64) {
        let (w, h) = (f64::from(self.width) * self.pixel_aspect, f64::from(self.height));
        if self.orientation.quarter_turns % 2 == 1 { (h, w) } else { (w, h) }
    }

    /// Maps a point of the shown picture (square pixels, y down) onto the coded frame, where it must be drawn.
    pub fn shown_to_coded(self) -> Affine {
        let (w, h) = (f64::from(self.width) * self.pixel_aspect, f64::from(self.height));
        // Undo the clockwise turn of the player.
        let unturn = match self.orientation.quarter_turns % 4 {
            0 => Affine::IDENTITY,
            1 => Affine { a: 0.0, b: -1.0, c: 1.0, d: 0.0, e: 0.0, f: h },
            2 => Affine { a: -1.0, b: 0.0, c: 0.0, d: -1.0, e: w, f: h },
            _ => Affine { a: 0.0, b: 1.0, c: -1.0, d: 0.0, e: w, f: 0.0 },
        };
        let unmirror = if self.orientation.mirrored {
            Affine { a: -1.0, b: 0.0, c: 0.0, d: 1.0, e: w, f: 0.0 }
        } else {
            Affine::IDENTITY
        };
        let squeeze = Affine { a: 1.0 / self.pixel_aspect, ..Affine::IDENTITY };
        unturn.then(unmirror).then(squeeze)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Plays the part of the player: coded point to shown point, step by step as documented.
    fn player(shape: FrameShape, x: f64, y: f64) -> (f64, f64) {
        let (mut x, mut y) = (x * shape.pixel_aspect, y);
        let (mut w, mut h) = (f64::from(shape.width) * shape.pixel_aspect, f64::from(shape.height));
        if shape.orientation.mirrored {
            x = w - x;
        }
        for _ in 0..shape.orientation.quarter_turns {
            (x, y) = (h - y, x);
            (w, h) = (h, w);
        }
        (x, y)
    }

    #[test]
    fn shown_to_coded_undoes_the_player() {
        for quarter_turns in 0..4 {
            for mirrored in [false, true] {
                let orientation = Orientation { quarter_turns, mirrored };
                let shape = FrameShape { width: 720, height: 576, pixel_aspect: 64.0 / 45.0, orientation };
                for (x, y) in [(0.0, 0.0), (720.0, 576.0), (100.0, 30.0)] {
                    let (sx, sy) = player(shape, x, y);
                    let (cx, cy) = shape.shown_to_coded().apply(sx, sy);
                    assert!((cx - x).abs() < 1e-9 && (cy - y).abs() < 1e-9, "{orientation:?} {x},{y} -> {cx},{cy}");
                    let (sw, sh) = shape.shown_size();
                    assert!((0.0..=sw).contains(&sx) && (0.0..=sh).contains(&sy));
                }
            }
        }
    }
}
