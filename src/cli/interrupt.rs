//! The user's interrupt: work looks at a flag and ends by itself.

use super::Failure;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Set by the user's interrupt.
static CANCEL: AtomicBool = AtomicBool::new(false);

/// Listens from now on, and hands out the flag.
pub(crate) fn listen() -> Result<&'static AtomicBool, Failure> {
    // A third signal must end even a program that hangs (two may come as one, to the process and to its group); the
    // temporary file is then cleared by the next run.
    let signals = AtomicUsize::new(0);
    let handler = ctrlc::set_handler(move || {
        CANCEL.store(true, Ordering::Relaxed);
        if signals.fetch_add(1, Ordering::Relaxed) >= 2 {
            std::process::exit(130);
        }
    });
    handler.map_err(|e| Failure::work(format!("cannot listen for an interrupt: {e}")))?;
    Ok(&CANCEL)
}
