//! The innermost loops: plain rows of equal length, which the compiler turns into vector code. Rows come in whole groups of
//! samples wherever they can, because what is left over is done one by one.

use fearless_simd::{Level, Simd, dispatch};

use crate::pixel::{FULL, GROUP, Ink};

/// `v / 255` rounded to nearest, exact for every `v` up to 255 * 255.
#[inline(always)]
pub(super) const fn div255(v: u16) -> u8 {
    let t = v + 128;
    ((t + (t >> 8)) >> 8) as u8
}

#[inline(always)]
const fn times(a: u8, b: u8) -> u8 {
    div255(a as u16 * b as u16)
}

/// Does work with the widest vectors that the machine has. The work, and what it calls, has to be inlined as a whole.
#[inline(always)]
pub(super) fn widely<R>(work: impl FnOnce() -> R) -> R {
    dispatch!(Level::new(), simd => simd.vectorize(work))
}

/// Lays one run over samples of a film.
#[inline(always)]
pub(super) fn over(film: &mut [u8], term: &[u8], keep: &[u8]) {
    let lay = |d: u8, term: u8, keep: u8| term.saturating_add(times(d, keep));
    let (groups, rest) = film.as_chunks_mut::<GROUP>();
    let ((terms, term), (keeps, keep)) = (term.as_chunks::<GROUP>(), keep.as_chunks::<GROUP>());
    for ((group, term), keep) in groups.iter_mut().zip(terms).zip(keeps) {
        // By value: the compiler need not ask whether writing one changes another.
        let (mut d, term, keep) = (*group, *term, *keep);
        for i in 0..GROUP {
            d[i] = lay(d[i], term[i], keep[i]);
        }
        *group = d;
    }
    rest.iter_mut().zip(term).zip(keep).for_each(|((d, &term), &keep)| *d = lay(*d, term, keep));
}

/// Lays a colour through shares over samples of a film. The two products add up to no more than 255 * 255.
#[inline(always)]
pub(super) fn lay(film: &mut [u8], shares: &[u8], ink: Ink, code: u8) {
    let code = u16::from(code);
    let lay = |d: u8, share: u8| {
        let alpha = ink.at(share);
        div255(code * u16::from(alpha) + u16::from(d) * u16::from(255 - alpha))
    };
    let (groups, rest) = film.as_chunks_mut::<GROUP>();
    let (many, few) = shares.as_chunks::<GROUP>();
    for (group, shares) in groups.iter_mut().zip(many) {
        let (mut d, shares) = (*group, *shares);
        for i in 0..GROUP {
            d[i] = lay(d[i], shares[i]);
        }
        *group = d;
    }
    rest.iter_mut().zip(few).for_each(|(d, &share)| *d = lay(*d, share));
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
