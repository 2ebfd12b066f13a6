//! The innermost loops: plain rows of equal length, which the compiler turns into vector code.

/// Full opacity in the steps of [`fade`].
pub(super) const FULL: u8 = 64;

/// `v / 255` rounded to nearest, exact for every `v` up to 255 * 255.
pub(super) const fn div255(v: u16) -> u8 {
    let t = v + 128;
    ((t + (t >> 8)) >> 8) as u8
}

const fn times(a: u8, b: u8) -> u8 {
    div255(a as u16 * b as u16)
}

/// Lays one run over samples of a film, or of another picture.
pub(super) fn over(below: &mut [u8], term: &[u8], keep: &[u8]) {
    for ((d, &term), &keep) in below.iter_mut().zip(term).zip(keep) {
        *d = term.saturating_add(times(*d, keep));
    }
}

/// Like [`over`], mixed with the film as it was: `opacity` parts of 64 new, the rest old.
pub(super) fn fade(film: &mut [u8], term: &[u8], keep: &[u8], opacity: u8) {
    let (new, old) = (u32::from(opacity), 255 * u32::from(FULL - opacity));
    for ((d, &term), &keep) in film.iter_mut().zip(term).zip(keep) {
        let laid = (255 * u32::from(term) + u32::from(*d) * u32::from(keep)).min(255 * 255);
        *d = div255(((laid * new + u32::from(*d) * old) >> 6) as u16);
    }
}

/// Lays a colour through shares over premultiplied samples. The two products add up to no more than 255 * 255.
pub(super) fn lay(term: &mut [u8], shares: &[u8], colour: u8) {
    for (d, &share) in term.iter_mut().zip(shares) {
        *d = div255(u16::from(colour) * u16::from(share) + u16::from(*d) * u16::from(255 - share));
    }
}

/// What is kept of the film where shares are laid.
pub(super) fn thin(keep: &mut [u8], shares: &[u8]) {
    for (keep, &share) in keep.iter_mut().zip(shares) {
        *keep = times(*keep, 255 - share);
    }
}

/// What two pictures over each other keep of the film.
pub(super) fn keep_both(keep: &mut [u8], above: &[u8]) {
    for (keep, &above) in keep.iter_mut().zip(above) {
        *keep = times(*keep, above);
    }
}

/// The shares of a mask, for a colour of this opacity; `dimmed` is the memory for them.
pub(super) fn dim<'a>(shares: &'a [u8], alpha: u8, dimmed: &'a mut Vec<u8>) -> &'a [u8] {
    if alpha == 255 {
        return shares;
    }
    dimmed.clear();
    dimmed.extend(shares.iter().map(|&share| times(share, alpha)));
    dimmed
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
