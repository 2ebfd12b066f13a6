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
    /// First and last value of the scale.
    pub fn ends(&self) -> (f64, f64) {
        let value = |p: Option<&(f64, f64)>| p.map_or(0.0, |p| p.0);
        (value(self.breakpoints.first()), value(self.breakpoints.last()))
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
}
