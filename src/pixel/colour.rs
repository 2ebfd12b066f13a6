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
    /// No luma at all: the planes are green, blue and red (code 0).
    Rgb,
}

impl Matrix {
    /// The luma weights of red and blue (Kr, Kb), as the three recommendations state them; green stands for luma in RGB.
    pub const fn kr_kb(self) -> (f64, f64) {
        match self {
            Self::Rgb => (0.0, 0.0),
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

/// How many luma samples share a chroma sample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sampling {
    /// No chroma: gray.
    Gray,
    /// Every luma sample has its own chroma: 4:4:4. So have the three planes of RGB.
    Full,
    /// Two luma samples of a row: 4:2:2.
    Half,
    /// Two columns of two rows: 4:2:0.
    Quarter,
}

impl Sampling {
    /// By how many binary places a chroma plane has fewer columns, and fewer rows.
    pub const fn shifts(self) -> (u32, u32) {
        match self {
            Self::Gray | Self::Full => (0, 0),
            Self::Half => (1, 0),
            Self::Quarter => (1, 1),
        }
    }
}

/// What light a film's codes stand for, as far as graphics must know it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Light {
    /// Ordinary dynamic range: the codes that are drawn count as the film's own.
    Ordinary,
    /// ITU-R BT.2100 hybrid log-gamma.
    Hlg,
    /// ITU-R BT.2100 perceptual quantisation (SMPTE ST 2084).
    Pq,
}

/// How a film's frames are coded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Coding {
    /// Matrix, range and siting.
    pub colour: Colour,
    /// How chroma is sampled.
    pub sampling: Sampling,
    /// Bits of a sample, 8 to 14.
    pub depth: u8,
    /// What light the codes stand for.
    pub light: Light,
}

impl Coding {
    /// The most common coding: eight bits, 4:2:0, ordinary light.
    pub const fn common(colour: Colour) -> Self {
        Self { colour, sampling: Sampling::Quarter, depth: 8, light: Light::Ordinary }
    }
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
