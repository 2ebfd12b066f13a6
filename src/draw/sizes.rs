//! Sizes of type and weights of lines by disc size, all from the module.

use crate::panel::DiscSize;

/// Text is never set smaller than this many pixels an em; what does not fit goes.
pub(super) const SMALLEST_EM: f64 = 9.0;

/// The sizes of one instrument, in pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sizes {
    /// Radius of a disc of this size.
    pub r: f64,
    /// Em of the value.
    pub value: f64,
    /// Em of the numerals.
    pub numeral: f64,
    /// Em of the name.
    pub name: f64,
    /// Thickens lines on smaller dials: a stroke scaled down in proportion looks thinner than it is.
    pub k: f64,
    /// How much larger this size is than a middle one.
    pub step: f64,
}

impl Sizes {
    pub fn new(size: DiscSize, m: f64) -> Self {
        let (value, numeral, name, k) = match size {
            DiscSize::Xl => (0.0520, 0.0310, 0.0215, 1.00),
            DiscSize::L => (0.0430, 0.0280, 0.0200, 1.08),
            DiscSize::M => (0.0345, 0.0240, 0.0190, 1.22),
            DiscSize::S => (0.0310, 0.0215, 0.0175, 1.36),
        };
        Self {
            r: size.diameter_m() / 2.0 * m,
            value: value * m,
            numeral: numeral * m,
            name: name * m,
            k,
            step: size.diameter_m() / DiscSize::M.diameter_m(),
        }
    }
}
