//! The innermost loops: plain rows of equal length, which the compiler turns into vector code. Rows come in whole groups of
//! samples wherever they can, because what is left over is done one by one.

use crate::pixel::{GROUP, Ink, Sample};

/// Bytes of a cache line.
#[cfg(target_arch = "x86_64")]
const LINE: usize = 64;

/// Asks for the cache lines of samples, so that they come while others are laid: after a decoder, frame and layers lie far away.
#[inline(always)]
pub(super) fn fetch<T>(samples: &[T]) {
    #[cfg(target_arch = "x86_64")]
    samples.iter().step_by(LINE / size_of::<T>()).for_each(safe_arch::prefetch_t0);
    // Elsewhere the machine itself has to see what comes next.
    #[cfg(not(target_arch = "x86_64"))]
    let _ = samples;
}

/// The same for what is laid on a little later: as far as the second cache, for there is more of it than the first holds.
#[inline(always)]
pub(super) fn fetch_early<T>(samples: &[T]) {
    #[cfg(target_arch = "x86_64")]
    samples.iter().step_by(LINE / size_of::<T>()).for_each(safe_arch::prefetch_t1);
    #[cfg(not(target_arch = "x86_64"))]
    let _ = samples;
}

/// Lays one run over samples of a film, none of which comes to lie above the highest code.
#[inline(always)]
pub(super) fn over<T: Sample>(film: &mut [T], term: &[T], keep: &[u8], highest: T) {
    let rest = over_groups::<T, { 2 * GROUP }>(film, term, keep, highest);
    let rest = over_groups::<T, GROUP>(&mut film[rest..], &term[rest..], &keep[rest..], highest) + rest;
    for ((d, &term), &keep) in film[rest..].iter_mut().zip(&term[rest..]).zip(&keep[rest..]) {
        *d = term.plus(d.part(keep), highest);
    }
}

/// What is there in whole groups of `N`; says how many samples these are.
#[inline(always)]
fn over_groups<T: Sample, const N: usize>(film: &mut [T], term: &[T], keep: &[u8], highest: T) -> usize {
    let groups = film.as_chunks_mut::<N>().0;
    for ((group, term), keep) in groups.iter_mut().zip(term.as_chunks::<N>().0).zip(keep.as_chunks::<N>().0) {
        let mut d = *group;
        for i in 0..N {
            d[i] = term[i].plus(d[i].part(keep[i]), highest);
        }
        *group = d;
    }
    N * groups.len()
}

/// Lays a colour through shares over samples of a film.
#[inline(always)]
pub(super) fn lay<T: Sample>(film: &mut [T], shares: &[u8], ink: Ink, code: T) {
    let lay = |d: T, share: u8| d.under(code, ink.at(share));
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
pub(super) fn mix<T: Sample>(film: &mut [T], before: &[T], opacity: u8) {
    for (d, &before) in film.iter_mut().zip(before) {
        *d = d.mixed(before, opacity);
    }
}
