//! A dial's scale: values to angles, and the marks that the owner put on it.

/// Where a value stands against the scale's ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OffScale {
    /// Below the first mark.
    Low,
    /// On the scale.
    On,
    /// Above the last mark.
    High,
}

/// Steps of the ticks, in the scale's unit. Long ticks stand at multiples of `long`, and so on.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ticks {
    /// Step of the long ticks.
    pub long: f64,
    /// Step of the middle ticks; none where it is not positive.
    pub middle: f64,
    /// Step of the short ticks; none where it is not positive.
    pub short: f64,
}

/// Values to angles by breakpoints, straight between them.
///
/// Angles are degrees clockwise from twelve o'clock and may run beyond a full turn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Scale {
    /// `(value, angle)`, values rising; at least two.
    pub breakpoints: Vec<(f64, f64)>,
    /// Tick steps.
    pub ticks: Ticks,
    /// Values that carry a numeral, and its text.
    pub numerals: Vec<(f64, String)>,
}

impl Scale {
    /// Degrees past the last mark at which the hand of a greater value is parked, and degrees that must lie between the ends for
    /// that.
    const PARKED: f64 = 7.0;
    const APART: f64 = 20.0;

    /// First and last value of the scale.
    pub fn ends(&self) -> (f64, f64) {
        let value = |p: Option<&(f64, f64)>| p.map_or(0.0, |p| p.0);
        (value(self.breakpoints.first()), value(self.breakpoints.last()))
    }

    /// Where both ends stand.
    fn end_angles(&self) -> (f64, f64) {
        let (low, high) = self.ends();
        (self.angle(low), self.angle(high))
    }

    /// +1 where rising values turn a hand clockwise, -1 where they turn it the other way.
    pub fn sense(&self) -> f64 {
        let (low, high) = self.end_angles();
        (high - low).signum()
    }

    /// The part of the turn where no value stands: its middle in degrees clockwise from twelve (0 to 360), and its width.
    pub fn gap(&self) -> (f64, f64) {
        let (low, high) = self.end_angles();
        let width = 360.0 - (high - low).abs();
        ((low.max(high) + width / 2.0).rem_euclid(360.0), width)
    }

    /// Whether both ends stand at the same place, or so close that a hand past one would stand at the other: full low and full
    /// high are then told apart by what is written, not by where the hand stands.
    pub fn ends_meet(&self) -> bool {
        self.gap().1 < Self::APART
    }

    /// Degrees past the last mark at which the hand of a greater value is parked, clockwise positive; none where the ends meet.
    pub fn parked(&self) -> f64 {
        if self.ends_meet() { 0.0 } else { Self::PARKED * self.sense() }
    }

    /// The same scale turned so that a value stands at twelve.
    #[must_use]
    pub fn upright(mut self, normal: f64) -> Self {
        let turn = self.angle(normal);
        self.breakpoints.iter_mut().for_each(|point| point.1 -= turn);
        self
    }

    /// Whether a value lies on the scale, ends included.
    pub fn place(&self, value: f64) -> OffScale {
        let (low, high) = self.ends();
        if value < low {
            OffScale::Low
        } else if value > high {
            OffScale::High
        } else {
            OffScale::On
        }
    }

    /// The same for a face that must tell full high from full low: where both ends meet, its last mark counts as beyond.
    pub fn place_told(&self, value: f64) -> OffScale {
        if self.ends_meet() && value >= self.ends().1 { OffScale::High } else { self.place(value) }
    }

    /// The angle of a value in degrees clockwise from twelve; beyond the ends, the end's angle.
    pub fn angle(&self, value: f64) -> f64 {
        let points = &self.breakpoints;
        let after = points.partition_point(|p| p.0 <= value);
        match (after.checked_sub(1).and_then(|i| points.get(i)), points.get(after)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (value - a.0) / (b.0 - a.0),
            (Some(end), None) | (None, Some(end)) => end.1,
            (None, None) => 0.0,
        }
    }
}

/// A mark on the dial's rim. All values in the scale's unit, all from the owner's panel file.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Marking {
    /// Normal range: one smooth green band.
    Normal {
        /// Start.
        from: f64,
        /// End.
        to: f64,
    },
    /// Precautionary range: separate amber blocks.
    Precaution {
        /// Start.
        from: f64,
        /// End.
        to: f64,
    },
    /// A limit: a red T.
    Limit {
        /// The limiting value.
        at: f64,
    },
    /// A range that is itself forbidden: a red line with teeth.
    Forbidden {
        /// Start.
        from: f64,
        /// End.
        to: f64,
    },
    /// A value that the owner wants to find again, e.g. a target: a small triangle in ink. It says nothing of good or bad, so it
    /// never has a limit's colour.
    Reference {
        /// The value.
        at: f64,
    },
}

impl Marking {
    /// Its lowest and its highest value.
    pub const fn ends(&self) -> (f64, f64) {
        match *self {
            Self::Normal { from, to } | Self::Precaution { from, to } | Self::Forbidden { from, to } => (from, to),
            Self::Limit { at } | Self::Reference { at } => (at, at),
        }
    }
}

/// Whether the engine drives the rotor: a rotor's limits with power on differ from those with power off (convention from 14 CFR
/// 27.1509).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Power {
    /// Rotor and engine turn as one.
    On,
    /// The rotor is ahead and turns freely.
    Off,
}

/// Markings that count only with power on, and others only with power off.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ByPower {
    /// Those with power on: solid.
    pub on: Vec<Marking>,
    /// Those with power off: the same shapes, hollow.
    pub off: Vec<Marking>,
}

impl ByPower {
    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.on.is_empty() && self.off.is_empty()
    }
}
