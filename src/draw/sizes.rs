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
        let [value, numeral, name, k] = of_size(size);
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

/// Ems of value, numeral and name in modules, and the weight of lines, of the four house sizes.
const HOUSE: [(DiscSize, [f64; 4]); 4] = [
    (DiscSize::S, [0.0310, 0.0215, 0.0175, 1.36]),
    (DiscSize::M, [0.0345, 0.0240, 0.0190, 1.22]),
    (DiscSize::L, [0.0430, 0.0280, 0.0200, 1.08]),
    (DiscSize::Xl, [0.0520, 0.0310, 0.0215, 1.00]),
];

/// The same of any size: straight between two house sizes; beyond them in proportion, with the weight of the last.
fn of_size(size: DiscSize) -> [f64; 4] {
    let diameter = size.diameter_m();
    let pairs = HOUSE.windows(2).map(|pair| (&pair[0], &pair[1]));
    for ((small, of_small), (large, of_large)) in pairs {
        let (low, high) = (small.diameter_m(), large.diameter_m());
        if (low..=high).contains(&diameter) {
            let share = (diameter - low) / (high - low);
            return std::array::from_fn(|i| of_small[i] + (of_large[i] - of_small[i]) * share);
        }
    }
    let (nearest, of_nearest) = if diameter < HOUSE[0].0.diameter_m() { &HOUSE[0] } else { &HOUSE[3] };
    let scale = diameter / nearest.diameter_m();
    [of_nearest[0] * scale, of_nearest[1] * scale, of_nearest[2] * scale, of_nearest[3]]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_sizes_lie_between_those_of_the_house() {
        for (size, expected) in HOUSE {
            assert_eq!(of_size(DiscSize::Own(size.diameter_m())), expected);
        }
        let between = of_size(DiscSize::Own(0.27));
        assert!(between[0] > 0.0430 && between[0] < 0.0520 && between[3] < 1.08);
        assert_eq!(of_size(DiscSize::Own(0.60)), [0.1040, 0.0620, 0.0430, 1.00]);
    }
}
