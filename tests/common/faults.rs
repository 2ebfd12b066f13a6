//! What tests of faults share: random places that are the same on every run, and work that is disturbed while it goes on.

use std::path::Path;
use std::process::Child;
use std::time::{Duration, Instant};

/// How many random moments or places are tried: a few with every change, as many as `tests/faults` says by hand.
pub fn moments(few: usize) -> usize {
    std::env::var("JUMPSEAT_MOMENTS").ok().and_then(|n| n.parse().ok()).unwrap_or(few)
}

/// A small generator of numbers from 0 to 1, so that every run has the same.
pub fn places(seed: u64) -> impl Iterator<Item = f64> {
    let mut state = seed;
    std::iter::repeat_with(move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    })
}

/// Names in a folder, in order.
pub fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).expect("folder");
    let mut names: Vec<String> =
        entries.map(|e| e.expect("entry").file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// Waits until a file that is still being written holds some bytes.
pub fn wait_for_writing(folder: &Path) {
    let start = Instant::now();
    let grown = |n: &String| {
        n.ends_with(".jumpseat-part") && std::fs::metadata(folder.join(n)).is_ok_and(|m| m.len() > 100_000)
    };
    while !names(folder).iter().any(grown) {
        assert!(start.elapsed() < Duration::from_secs(120), "nothing is being written");
        std::thread::sleep(Duration::from_millis(20));
    }
}

/// Sends the interrupt of a terminal. The shell's own kill: a bare system has no program of that name.
pub fn interrupt(child: &Child) -> bool {
    let line = format!("kill -INT {}", child.id());
    std::process::Command::new("bash").args(["-c", &line]).status().expect("bash").success()
}

/// Waits for the end, but not for ever; returns the exit code and what was said.
pub fn end_of(mut child: Child, patience_s: u64) -> (Option<i32>, String) {
    let start = Instant::now();
    let code = loop {
        if let Some(status) = child.try_wait().expect("state") {
            break status.code();
        }
        if start.elapsed().as_secs() > patience_s {
            child.kill().expect("killed");
            panic!("hangs");
        }
        std::thread::sleep(Duration::from_millis(20));
    };
    let mut text = String::new();
    if let Some(mut said) = child.stderr.take() {
        std::io::Read::read_to_string(&mut said, &mut text).expect("text");
    }
    (code, text)
}
