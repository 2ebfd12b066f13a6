//! The innermost loops: plain rows of equal length, which the compiler turns into vector code.

/// Full opacity in the steps of [`fade`].
pub(super) const FULL: u8 = 64;

/// `v / 255` rounded to nearest, exact for every `v` up to 255 * 255.
pub(super) const fn div255(v: u16) -> u8 {
    let t = v + 128;
    ((t + (t >> 8)) >> 8) as u8
}

/// Lays one run over the film's samples. `term + 255 * keep` is at most 255 * 255, so sixteen bits hold every sum.
pub(super) fn over(film: &mut [u8], term: &[u16], keep: &[u8]) {
    for ((d, &term), &keep) in film.iter_mut().zip(term).zip(keep) {
        *d = div255(term + u16::from(*d) * u16::from(keep));
    }
}

/// Like [`over`], mixed with the film as it was: `opacity` parts of 64 new, the rest old.
pub(super) fn fade(film: &mut [u8], term: &[u16], keep: &[u8], opacity: u8) {
    let (new, old) = (u32::from(opacity), 255 * u32::from(FULL - opacity));
    for ((d, &term), &keep) in film.iter_mut().zip(term).zip(keep) {
        let laid = term + u16::from(*d) * u16::from(keep);
        *d = div255(((u32::from(laid) * new + u32::from(*d) * old) >> 6) as u16);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn div255_rounds_to_nearest_everywhere() {
        // No ties: 255 is odd.
        for v in 0..=255 * 255_u16 {
            assert_eq!(u32::from(div255(v)), (u32::from(v) + 127) / 255, "{v}");
        }
    }
}
