//! How the aircraft lies, where its controls stand, and where it has been.

/// Pitch and bank, in degrees: nose up and right wing down are positive. Only where they were logged and are asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Attitude {
    /// Channel of the pitch.
    pub pitch: String,
    /// Channel of the bank.
    pub bank: String,
}

impl Attitude {
    /// The unit of both.
    pub const UNIT: &'static str = "deg";
}

/// The controls that a log recorded; one that is missing is not drawn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Controls {
    /// Collective lever, up is positive.
    pub collective: Option<Control>,
    /// Cyclic stick to the right.
    pub right: Option<Control>,
    /// Cyclic stick forward.
    pub forward: Option<Control>,
    /// Pedals, right foot forward is positive.
    pub pedals: Option<Control>,
}

/// One control.
#[derive(Debug, Clone, PartialEq)]
pub struct Control {
    /// Its channel.
    pub channel: String,
    /// What the channel says at the ends of the travel: down and up, left and right, aft and forward. The first may be the
    /// greater one.
    pub range: (f64, f64),
}

impl Control {
    /// Where a value stands: 0 at the first end of the travel, 1 at the other.
    pub fn share(&self, value: f64) -> f64 {
        (value - self.range.0) / (self.range.1 - self.range.0)
    }
}

impl Controls {
    /// The controls that there are, with their names in the ledger.
    pub fn present(&self) -> impl Iterator<Item = (&'static str, &Control)> {
        let all = [
            ("collective", &self.collective),
            ("right", &self.right),
            ("forward", &self.forward),
            ("pedals", &self.pedals),
        ];
        all.into_iter().filter_map(|(name, control)| Some((name, control.as_ref()?)))
    }
}

/// The slip ball.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// Channel of the sideways acceleration.
    pub channel: String,
    /// What it says with the ball at the left and at the right end of its tube, in g. The first may be the greater one: a log of
    /// the force on the aircraft counts positive to the right when the ball goes left.
    pub range: (f64, f64),
}

impl Slip {
    /// The unit of its value.
    pub const UNIT: &'static str = "g";

    /// Where a value stands: -1 at the left end, 1 at the right.
    pub fn share(&self, value: f64) -> f64 {
        2.0 * (value - self.range.0) / (self.range.1 - self.range.0) - 1.0
    }
}

/// Where the aircraft has been: north up, over the ground that the whole flight covers.
#[derive(Debug, Clone, PartialEq)]
pub struct Track {
    /// Channel of the latitude, north positive.
    pub latitude: String,
    /// Channel of the longitude, east positive.
    pub longitude: String,
}

impl Track {
    /// The unit of both.
    pub const UNIT: &'static str = "deg";
}
