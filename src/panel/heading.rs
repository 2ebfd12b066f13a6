//! Heading on a card or on a tape. Which north it counts from is the owner's to say: a log seldom does.

/// A heading and the north that it counts from.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// Name of the channel shown: a heading, never a track over the ground.
    pub channel: String,
    /// Which north it counts from.
    pub reference: Reference,
}

impl Heading {
    /// The unit of the channel.
    pub const UNIT: &'static str = "deg";
}

/// Which north a direction counts from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reference {
    /// Magnetic north.
    Magnetic,
    /// True north.
    True,
}

impl Reference {
    /// Its letter on the face.
    pub const fn letter(self) -> &'static str {
        match self {
            Self::Magnetic => "M",
            Self::True => "T",
        }
    }
}

/// A heading on a tape that moves past a mark.
#[derive(Debug, Clone, PartialEq)]
pub struct HeadingTape {
    /// What it shows.
    pub heading: Heading,
    /// Width of the plate in modules.
    pub width_m: f64,
}

impl HeadingTape {
    /// Usual width in modules, and the narrowest and the widest: the value needs its room, and no picture is wider.
    pub const WIDTH_M: f64 = 0.420;
    /// See [`HeadingTape::WIDTH_M`].
    pub const WIDTHS_M: (f64, f64) = (0.24, 1.2);
}
