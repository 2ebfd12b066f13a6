//! Where an instrument stands, in modules: the frame's height for a landscape picture, 0.600 of it for a portrait one.

/// The four disc diameters; each is 2^(-1/3) of the one before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DiscSize {
    /// Extra large: airspeed, rotor.
    Xl,
    /// Large.
    L,
    /// Middle.
    M,
    /// Small.
    S,
}

impl DiscSize {
    /// Diameter in modules.
    pub const fn diameter_m(self) -> f64 {
        match self {
            Self::Xl => 0.3000,
            Self::L => 0.2381,
            Self::M => 0.1890,
            Self::S => 0.1500,
        }
    }
}

/// From which edge a place is counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The left edge.
    Left,
    /// The right edge.
    Right,
    /// The vertical middle line; positive to the right.
    Centre,
}

/// A centre in modules from a side and from the bottom of the shown picture, and a size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// The edge from which `from_side_m` counts.
    pub side: Side,
    /// Distance of the centre from that edge, in modules.
    pub from_side_m: f64,
    /// Distance of the centre from the bottom, in modules.
    pub from_bottom_m: f64,
    /// Disc size of a dial; a tile's type follows the same steps.
    pub size: DiscSize,
}

/// The module in pixels for a shown picture of this size: its height in landscape, 0.600 of it in portrait, 0.80 when square.
pub fn module_px(width: f64, height: f64) -> f64 {
    let ratio = width / height;
    if ratio > 1.05 {
        height
    } else if ratio < 0.95 {
        0.600 * height
    } else {
        0.80 * height
    }
}
