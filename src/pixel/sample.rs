//! A sample of a frame, and the arithmetic of laying something over it.

/// A sample as it lies in memory: a byte, or a word where it has more than eight bits.
///
/// All sums round to nearest, exactly, for samples of up to 14 bits.
pub trait Sample: Copy + Ord + Default + Send + Sync + std::fmt::Debug + Into<u32> + 'static {
    /// Bytes of one.
    const BYTES: usize;

    /// A code that is known to fit.
    fn of(code: u32) -> Self;

    /// `share` parts of 255 of it.
    fn part(self, share: u8) -> Self;

    /// `alpha` parts of 255 of a code, no more than all of them, the rest of this one.
    fn under(self, code: Self, alpha: u16) -> Self;

    /// The sum of two parts, which rounding may carry one code too far: no more than the highest code.
    fn plus(self, other: Self, highest: Self) -> Self;

    /// `opacity` parts of 64 of it, the rest of another.
    fn mixed(self, other: Self, opacity: u8) -> Self;
}

/// `v / 255` rounded to nearest, exact for every `v` up to 255 * 255.
#[inline(always)]
pub(super) const fn div255(v: u16) -> u16 {
    let t = v + 128;
    (t + (t >> 8)) >> 8
}

/// The same for words, exact for every `v` up to 255 * (2^14 - 1).
#[inline(always)]
const fn div255_wide(v: u32) -> u16 {
    let t = v + 128;
    ((t + ((t + (t >> 8)) >> 8)) >> 8) as u16
}

impl Sample for u8 {
    const BYTES: usize = 1;

    #[inline(always)]
    fn of(code: u32) -> Self {
        code as Self
    }

    #[inline(always)]
    fn part(self, share: u8) -> Self {
        div255(u16::from(self) * u16::from(share)) as Self
    }

    #[inline(always)]
    fn under(self, code: Self, alpha: u16) -> Self {
        // The two products add up to no more than 255 * 255.
        div255(u16::from(code) * alpha + u16::from(self) * (255 - alpha)) as Self
    }

    #[inline(always)]
    fn plus(self, other: Self, _highest: Self) -> Self {
        self.saturating_add(other)
    }

    #[inline(always)]
    fn mixed(self, other: Self, opacity: u8) -> Self {
        let (new, old) = (u16::from(opacity), u16::from(super::FULL - opacity));
        ((u16::from(self) * new + u16::from(other) * old + 32) >> 6) as Self
    }
}

impl Sample for u16 {
    const BYTES: usize = 2;

    #[inline(always)]
    fn of(code: u32) -> Self {
        code as Self
    }

    #[inline(always)]
    fn part(self, share: u8) -> Self {
        div255_wide(u32::from(self) * u32::from(share))
    }

    #[inline(always)]
    fn under(self, code: Self, alpha: u16) -> Self {
        div255_wide(u32::from(code) * u32::from(alpha) + u32::from(self) * u32::from(255 - alpha))
    }

    #[inline(always)]
    fn plus(self, other: Self, highest: Self) -> Self {
        self.saturating_add(other).min(highest)
    }

    #[inline(always)]
    fn mixed(self, other: Self, opacity: u8) -> Self {
        let (new, old) = (u32::from(opacity), u32::from(super::FULL - opacity));
        ((u32::from(self) * new + u32::from(other) * old + 32) >> 6) as Self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn division_rounds_to_nearest_everywhere() {
        // No ties: 255 is odd.
        for v in 0..=255 * 255_u16 {
            assert_eq!(u32::from(div255(v)), (u32::from(v) + 127) / 255, "{v}");
        }
        for v in 0..=255 * 16383_u32 {
            assert_eq!(u32::from(div255_wide(v)), (v + 127) / 255, "{v}");
        }
    }
}
