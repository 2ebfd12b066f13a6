//! How colours look to people who see them otherwise, how far apart they lie, and how strong their contrast is.
//!
//! Kinds of vision: matrices of Machado, Oliveira and Fernandes, IEEE TVCG 15(6), 2009, severity 1.0, on linear RGB.
//! Distance: CIE 1976 L*a*b*, white D65. Contrast: W3C, WCAG 2.2.

/// How colours are seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Vision {
    /// With all three kinds of cones.
    Usual,
    /// Without those for long waves.
    Protanopia,
    /// Without those for middle waves.
    Deuteranopia,
    /// Without those for short waves.
    Tritanopia,
}

type Matrix = [[f64; 3]; 3];

impl Vision {
    /// Every kind.
    pub const ALL: [Self; 4] = [Self::Usual, Self::Protanopia, Self::Deuteranopia, Self::Tritanopia];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Usual => "usual vision",
            Self::Protanopia => "protanopia",
            Self::Deuteranopia => "deuteranopia",
            Self::Tritanopia => "tritanopia",
        }
    }

    const fn matrix(self) -> Matrix {
        match self {
            Self::Usual => [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
            Self::Protanopia => {
                [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]
            }
            Self::Deuteranopia => {
                [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]]
            }
            Self::Tritanopia => {
                [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]
            }
        }
    }

    /// A colour as it is seen, in linear RGB, 0 to 1.
    fn seen(self, rgb: [u8; 3]) -> [f64; 3] {
        times(self.matrix(), rgb.map(linear)).map(|v| v.clamp(0.0, 1.0))
    }

    /// The same as red, green and blue of sRGB.
    pub fn simulated(self, rgb: [u8; 3]) -> [u8; 3] {
        self.seen(rgb).map(|v| {
            let encoded = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
            (255.0 * encoded + 0.5).floor() as u8
        })
    }

    /// How far two colours lie apart, CIE 1976.
    pub fn difference(self, a: [u8; 3], b: [u8; 3]) -> f64 {
        let (a, b) = (lab(self.seen(a)), lab(self.seen(b)));
        (0..3).map(|i| (a[i] - b[i]).powi(2)).sum::<f64>().sqrt()
    }
}

/// WCAG contrast ratio of two colours, 1 to 21.
pub fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let luminance = |rgb: [u8; 3]| {
        let [r, g, b] = rgb.map(linear);
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// IEC 61966-2-1 (sRGB).
fn linear(code: u8) -> f64 {
    let v = f64::from(code) / 255.0;
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

fn times(matrix: Matrix, v: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

/// L*, a* and b* of linear RGB with the primaries of sRGB.
fn lab(rgb: [f64; 3]) -> [f64; 3] {
    // Primaries of ITU-R BT.709, white D65.
    const XYZ: Matrix = [
        [0.412_456_4, 0.357_576_1, 0.180_437_5],
        [0.212_672_9, 0.715_152_2, 0.072_175_0],
        [0.019_333_9, 0.119_192_0, 0.950_304_1],
    ];
    let white = times(XYZ, [1.0; 3]);
    let xyz = times(XYZ, rgb);
    let f = |v: f64| if v > 216.0 / 24389.0 { v.cbrt() } else { (24389.0 / 27.0 * v + 16.0) / 116.0 };
    let [x, y, z] = [0, 1, 2].map(|i| f(xyz[i] / white[i]));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}
