//! The machine's vectors.

use fearless_simd::{Level, Simd, dispatch};

/// Does work with the widest vectors that the machine has. The work, and what it calls, has to be inlined as a whole.
#[inline(always)]
pub fn widely<R>(work: impl FnOnce() -> R) -> R {
    dispatch!(Level::new(), simd => simd.vectorize(work))
}
