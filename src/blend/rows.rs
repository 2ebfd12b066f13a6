//! The innermost loops: plain rows of equal length, which the compiler turns into vector code.

use crate::pixel::{FULL, Ink};

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

/// Lays a colour through shares over samples of a film.
pub(super) fn lay(film: &mut [u8], shares: &[u8], ink: Ink, code: u8) {
    let code = u16::from(code);
    let mix = |d: u8, alpha: u8| div255(code * u16::from(alpha) + u16::from(d) * u16::from(255 - alpha));
    if ink.alpha == 255 {
        film.iter_mut().zip(shares).for_each(|(d, &share)| *d = mix(*d, share));
    } else {
        film.iter_mut().zip(shares).for_each(|(d, &share)| *d = mix(*d, ink.at(share)));
    }
}

/// `opacity` parts of 64 of what the film shows now, the rest of what it showed before.
pub(super) fn mix(film: &mut [u8], before: &[u8], opacity: u8) {
    let (new, old) = (u16::from(opacity), u16::from(FULL - opacity));
    for (d, &before) in film.iter_mut().zip(before) {
        *d = ((u16::from(*d) * new + u16::from(before) * old + 32) >> 6) as u8;
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
