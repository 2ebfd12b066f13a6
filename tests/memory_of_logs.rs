//! A log takes the memory of its numbers and hardly more while it is read: every block is counted by an allocator that this test
//! program runs on alone. The full three hours are timed by `tests/benches/long.rs`.

#![allow(clippy::expect_used, reason = "a panic is how a test fails")]
#![allow(unsafe_code, reason = "an allocator cannot be written without; it hands everything on to the system's")]

use jumpseat::recorder::{self, Options};
use std::alloc::{GlobalAlloc, Layout, System};
use std::fmt::Write;
use std::sync::atomic::{AtomicUsize, Ordering::Relaxed};

/// Bytes in use, and the most there were.
struct Counting;

static NOW: AtomicUsize = AtomicUsize::new(0);
static MOST: AtomicUsize = AtomicUsize::new(0);

fn add(size: usize) {
    MOST.fetch_max(NOW.fetch_add(size, Relaxed) + size, Relaxed);
}

// SAFETY: every call goes to the system's allocator as it came; counting touches no memory but its own atomics.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        add(layout.size());
        // SAFETY: the caller keeps the contract of `alloc`, which is the same.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, at: *mut u8, layout: Layout) {
        NOW.fetch_sub(layout.size(), Relaxed);
        // SAFETY: `at` came from the system's allocator, as every block here does.
        unsafe { System.dealloc(at, layout) }
    }
}

#[global_allocator]
static COUNTING: Counting = Counting;

const ROWS: usize = 27_000;
const COLUMNS: usize = 40;
/// Bytes a value while a log is read: eight for the number, the others for the clock's column, the first part of the file and its
/// looks, which a longer log does not have more of. A second copy of the numbers would be eight more.
const A_VALUE: f64 = 13.0;

/// The most bytes a value that reading a log took.
fn most(bytes: &[u8]) -> f64 {
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("log.csv");
    std::fs::write(&file, bytes).expect("log");
    let before = NOW.load(Relaxed);
    MOST.store(before, Relaxed);
    let log = recorder::read(&file, &Options::default()).expect("a log");
    assert_eq!((log.rows_read, log.channels.len()), (ROWS, COLUMNS - 1));
    (MOST.load(Relaxed) - before) as f64 / (ROWS * COLUMNS) as f64
}

#[test]
fn a_log_takes_the_memory_of_its_numbers() {
    let mut text = "time_ms".to_owned();
    (1..COLUMNS).for_each(|c| write!(text, ",c{c} [°C]").expect("text"));
    for row in 0..ROWS {
        write!(text, "\n{}", row * 20).expect("text");
        (1..COLUMNS).for_each(|c| write!(text, ",{}.{:02}", (row * c) % 997, c).expect("text"));
    }
    text.push('\n');
    let utf_16: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    for (name, bytes) in [("UTF-8", text.as_bytes()), ("UTF-16", &utf_16)] {
        let found = most(bytes);
        assert!(found < A_VALUE, "{name}: {found:.1} bytes a value");
        assert!(found > 8.0, "{name}: {found:.1} bytes a value, and a number has eight: nothing was counted");
    }
}
