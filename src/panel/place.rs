//! Where an instrument stands, in modules: the frame's height for a landscape picture, 0.600 of it for a portrait one.

/// Disc diameters. The four of the house are each 2^(-1/3) of the one before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DiscSize {
    /// Extra large: airspeed, rotor.
    Xl,
    /// Large.
    L,
    /// Middle.
    M,
    /// Small.
    S,
    /// The owner's own diameter in modules.
    Own(f64),
}

impl DiscSize {
    /// Diameter in modules.
    pub const fn diameter_m(self) -> f64 {
        match self {
            Self::Xl => 0.3000,
            Self::L => 0.2381,
            Self::M => 0.1890,
            Self::S => 0.1500,
            Self::Own(diameter) => diameter,
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

/// Part of the picture where instruments line up in the order of the panel file, closing up where one is missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slot {
    /// Up the left edge, from the lower corner.
    Left,
    /// Up the right edge, from the lower corner.
    Right,
    /// Beside the dial in the left corner; where the picture is narrow, in the middle.
    InnerLeft,
    /// Beside the dial in the right corner; where the picture is narrow, up the right edge.
    InnerRight,
    /// Plates between the dials of both corners; where the picture is narrow, under them.
    Foot,
}

/// A place of the owner's, or a slot of the house layout.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Placing {
    /// Exactly here.
    At(Place),
    /// The next free place of a slot.
    Slot(Slot, DiscSize),
}

impl Placing {
    /// The instrument's size.
    pub const fn size(self) -> DiscSize {
        match self {
            Self::At(place) => place.size,
            Self::Slot(_, size) => size,
        }
    }
}

impl From<Place> for Placing {
    fn from(place: Place) -> Self {
        Self::At(place)
    }
}

/// How large everything is drawn for the screen that it is seen on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Density {
    /// For monitors.
    #[default]
    House,
    /// For phones: closer together and, on a landscape picture, 1.18 times as large.
    Phone,
}

/// What stays free between things, in modules.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gaps {
    /// Between the picture's edge and a disc or plate.
    pub edge: f64,
    /// Between two discs.
    pub disc: f64,
    /// Between two plates.
    pub plate: f64,
    /// Between plates and dials.
    pub sill: f64,
}

impl Gaps {
    /// How far from the side everything stands that lies between the dials of both corners: beside the largest disc, and one of
    /// middle size beside that.
    pub fn beside_dials(self) -> f64 {
        self.edge + DiscSize::Xl.diameter_m() + self.disc + DiscSize::M.diameter_m() + self.sill
    }
}

impl Density {
    /// Its gaps.
    pub const fn gaps(self) -> Gaps {
        match self {
            Self::House => Gaps { edge: 0.0220, disc: 0.0115, plate: 0.0090, sill: 0.016 },
            Self::Phone => Gaps { edge: 0.0165, disc: 0.0100, plate: 0.0080, sill: 0.016 },
        }
    }

    const fn factor(self) -> f64 {
        match self {
            Self::House => 1.0,
            Self::Phone => 1.18,
        }
    }
}

/// The module in pixels for a shown picture of this size: its height in landscape, 1.18 times that on a panel for phones; 0.600 of
/// its height in portrait, where a phone shows the same physical sizes as it is; 0.80 when square.
pub fn module_px(width: f64, height: f64, density: Density) -> f64 {
    let ratio = width / height;
    let share = if ratio > 1.05 {
        density.factor()
    } else if ratio < 0.95 {
        0.600
    } else {
        0.80
    };
    share * height
}
