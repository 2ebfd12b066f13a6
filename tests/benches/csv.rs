//! Reading a log beside the bare `csv` crate, which only walks over the cells; reports only.
//!
//! `cargo bench --bench csv [-- MINUTES [WORD]]`: logs of 40 columns at 50 Hz, ten minutes long or as many as are named; of the
//! kinds of table those whose name has the word in it. Rounds are interleaved, and what counts is the time that this thread had
//! the processor, so that other work on the machine hardly shows.

#![allow(clippy::expect_used, reason = "a bench stops at the first thing that is not as it must be")]

mod long_logs;

use jumpseat::recorder::{self, Options};
use long_logs::{COLUMNS, Kind, RATE};
use rustix::time::{ClockId, clock_gettime};

/// Rounds of each reader.
const ROUNDS: usize = 9;

fn main() {
    let words: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let minutes = words.iter().find_map(|word| word.parse::<u32>().ok()).unwrap_or(10);
    let asked = words.iter().find(|word| word.parse::<u32>().is_err());
    let folder = tempfile::tempdir().expect("folder");
    let file = folder.path().join("long.csv");
    println!("{:18} {:>6} {:>16} {:>16} {:>8}", "", "MB", "csv crate, MB/s", "jumpseat, MB/s", "times");
    for (kind, name) in Kind::ALL {
        if asked.is_some_and(|word| !name.contains(word)) {
            continue;
        }
        long_logs::write(&file, kind, minutes * 60 * RATE).expect("log");
        let megabytes = std::fs::metadata(&file).expect("log").len() as f64 / 1e6;
        let (mut bare, mut ours) = (Vec::new(), Vec::new());
        for _ in 0..ROUNDS {
            let mut cells = 0;
            bare.push(processor_s(|| {
                let separator = kind.separator() as u8;
                let mut reader = csv::ReaderBuilder::new().delimiter(separator).from_path(&file).expect("a table");
                let mut record = csv::ByteRecord::new();
                while reader.read_byte_record(&mut record).expect("a row") {
                    cells += record.len();
                }
            }));
            let mut rows = 0;
            ours.push(processor_s(|| rows = recorder::read(&file, &Options::default()).expect("a log").rows_read));
            assert_eq!(rows * COLUMNS as usize, cells, "every cell was read");
        }
        let (bare, ours) = (middle(bare), middle(ours));
        println!("{name:18} {megabytes:6.0} {:16.0} {:16.0} {:8.2}", megabytes / bare, megabytes / ours, ours / bare);
    }
}

/// Seconds of the processor that this thread needs for something.
fn processor_s(work: impl FnOnce()) -> f64 {
    let now = || {
        let time = clock_gettime(ClockId::ThreadCPUTime);
        time.tv_sec as f64 + time.tv_nsec as f64 / 1e9
    };
    let start = now();
    work();
    now() - start
}

fn middle(mut times: Vec<f64>) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}
