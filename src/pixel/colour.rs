//! How numbers in a frame's planes mean colour.

/// Coefficients that turn R'G'B' into luma and chroma (ITU-T H.273 `MatrixCoefficients`).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Matrix {
    /// ITU-R BT.601 (codes 5 and 6).
    Bt601,
    /// ITU-R BT.709 (code 1).
    Bt709,
    /// ITU-R BT.2020 non-constant luminance (code 9).
    Bt2020,
}

impl Matrix {
    /// The luma weights of red and blue (Kr, Kb), as the three recommendations state them.
    pub const fn kr_kb(self) -> (f64, f64) {
        match self {
            Self::Bt601 => (0.299, 0.114),
            Self::Bt709 => (0.2126, 0.0722),
            Self::Bt2020 => (0.2627, 0.0593),
        }
    }
}

/// Which codes black and white have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Range {
    /// Luma 16 to 235, chroma 16 to 240 in 8 bits.
    Limited,
    /// 0 to 255 in 8 bits.
    Full,
}

/// Where a chroma sample sits among its luma samples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ChromaSiting {
    /// On the left luma column, half way between two rows: MPEG-2, H.264 by default.
    Left,
    /// In the middle of four luma samples: JPEG, MPEG-1.
    Centre,
    /// On the top left luma sample: BT.2020.
    TopLeft,
}

/// All that blending must know of a frame's colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Colour {
    /// Luma and chroma weights.
    pub matrix: Matrix,
    /// Code range.
    pub range: Range,
    /// Chroma position.
    pub siting: ChromaSiting,
}
