//! The innermost loops: plain rows, which the compiler turns into vector code. They come in whole groups of samples wherever they
//! can, because what is left over is done one by one.

use super::plane::Plane;
use crate::pixel::{GROUP, Ink, Sample};

/// Asks for the cache lines of samples, so that they come while others are laid: after a decoder, the frame lies far away.
#[inline(always)]
pub(super) fn fetch<T>(samples: &[T]) {
    each_line(samples, |_sample| {
        #[cfg(target_arch = "x86_64")]
        safe_arch::prefetch_t0(_sample);
    });
}

/// The same for what is laid on a little later: as far as the second cache, for there is more of it than the first holds.
#[inline(always)]
pub(super) fn fetch_early<T>(samples: &[T]) {
    each_line(samples, |_sample| {
        #[cfg(target_arch = "x86_64")]
        safe_arch::prefetch_t1(_sample);
    });
}

/// One sample of each cache line. Where a machine cannot be asked for lines, it has to see by itself what comes next.
#[inline(always)]
fn each_line<T>(samples: &[T], ask: impl Fn(&T)) {
    const LINE: usize = 64;
    let mut at = 0;
    while cfg!(target_arch = "x86_64") && at < samples.len() {
        ask(&samples[at]);
        at += LINE / size_of::<T>();
    }
}

/// Lays one run over as many samples of a film, none of which comes to lie above the highest code.
#[inline(always)]
pub(super) fn over<T: Sample>(film: &mut [T], term: &[T], keep: &[u8], highest: T) {
    let length = film.len();
    let (term, keep) = (&term[..length], &keep[..length]);
    // One index for all of them: slices and their iterators would take longer than a short run's samples.
    let mut at = 0;
    while at + 2 * GROUP <= length {
        over_group::<T, { 2 * GROUP }>(&mut film[at..], &term[at..], &keep[at..], highest);
        at += 2 * GROUP;
    }
    if at + GROUP <= length {
        over_group::<T, GROUP>(&mut film[at..], &term[at..], &keep[at..], highest);
        at += GROUP;
    }
    for at in at..length {
        film[at] = term[at].plus(film[at].part(keep[at]), highest);
    }
}

/// The same for a group of `N`, the first ones of these.
#[inline(always)]
fn over_group<T: Sample, const N: usize>(film: &mut [T], term: &[T], keep: &[u8], highest: T) {
    let (Some(group), Some(term), Some(keep)) =
        (film.first_chunk_mut::<N>(), term.first_chunk::<N>(), keep.first_chunk::<N>())
    else {
        return;
    };
    let mut d = *group;
    for i in 0..N {
        d[i] = term[i].plus(d[i].part(keep[i]), highest);
    }
    *group = d;
}

/// Lays a code for each of some planes through the shares of a row's samples, the first of which is in this column.
#[inline(always)]
pub(super) fn lay<T: Sample, const N: usize>(
    planes: &mut [Plane<'_, T>; N],
    (row, column): (usize, usize),
    shares: &[u8],
    ink: Ink,
    codes: [T; N],
) {
    let (many, few) = shares.as_chunks::<GROUP>();
    let mut columns = column..column + GROUP;
    // Plain loops: what maps an array is not always inlined, and has no vectors then.
    for shares in many {
        let mut alphas = [0; GROUP];
        for i in 0..GROUP {
            alphas[i] = ink.at(shares[i]);
        }
        for (plane, code) in planes.iter_mut().zip(codes) {
            if let [group] = plane.row(row, columns.clone()).as_chunks_mut::<GROUP>().0 {
                let mut d = *group;
                for i in 0..GROUP {
                    d[i] = d[i].under(code, alphas[i]);
                }
                *group = d;
            }
        }
        columns = columns.start + GROUP..columns.end + GROUP;
    }
    for (plane, code) in planes.iter_mut().zip(codes) {
        let film = plane.row(row, columns.start..columns.start + few.len());
        film.iter_mut().zip(few).for_each(|(d, &share)| *d = d.under(code, ink.at(share)));
    }
}

/// `opacity` parts of 64 of what the film shows now, the rest of what it showed before.
pub(super) fn mix<T: Sample>(film: &mut [T], before: &[T], opacity: u8) {
    for (d, &before) in film.iter_mut().zip(before) {
        *d = d.mixed(before, opacity);
    }
}
