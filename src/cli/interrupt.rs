//! The user's interrupt: work looks at a flag and ends by itself.

use super::Failure;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Set by the user's interrupt.
static CANCEL: AtomicBool = AtomicBool::new(false);

/// A terminal may send one wish twice, to the process and to its group.
const SAME_WISH: Duration = Duration::from_millis(200);

/// Listens from now on, and hands out the flag: the first interrupt lets work end by itself, the second ends the program at once;
/// its temporary file is then cleared by the next run.
pub(crate) fn listen() -> Result<&'static AtomicBool, Failure> {
    let first: Mutex<Option<Instant>> = Mutex::new(None);
    let handler = ctrlc::set_handler(move || {
        CANCEL.store(true, Ordering::Relaxed);
        let Ok(mut first) = first.lock() else { return };
        match *first {
            None => *first = Some(Instant::now()),
            Some(before) if before.elapsed() > SAME_WISH => std::process::exit(130),
            Some(_) => {}
        }
    });
    handler.map_err(|e| Failure::work(format!("cannot listen for an interrupt: {e}")))?;
    Ok(&CANCEL)
}
