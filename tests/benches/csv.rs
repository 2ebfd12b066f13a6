//! Reading a log beside the bare `csv` crate, which only walks over the cells; reports only. `cargo bench --bench csv`.
//!
//! An hour of 40 columns at 50 Hz, or as many minutes as are named; rounds are interleaved.

#![allow(clippy::expect_used, reason = "a bench stops at the first thing that is not as it must be")]

use jumpseat::recorder::{self, Options};
use std::fmt::Write;
use std::time::Instant;

fn main() {
    let minutes = std::env::args().filter_map(|a| a.parse::<u32>().ok()).next().unwrap_or(60);
    let folder = tempfile::tempdir().expect("folder");
    for (name, separator, comma) in [("commas and points", ',', false), ("semicolons and decimal commas", ';', true)] {
        let file = folder.path().join("long.csv");
        let mut text = "time_ms".to_owned();
        (1..40).for_each(|c| write!(text, "{separator}c{c} [kt]").expect("text"));
        for i in 0..minutes * 60 * 50 {
            write!(text, "\n{}", i * 20).expect("text");
            for c in 1..40_u32 {
                let value = (i.wrapping_mul(2_654_435_761).wrapping_add(c * 977_777) >> 12) % 100_000;
                let (whole, part, mark) = (value / 100, value % 100, if comma { ',' } else { '.' });
                write!(text, "{separator}{whole}{mark}{part:02}").expect("text");
            }
        }
        text.push('\n');
        std::fs::write(&file, &text).expect("log");
        let megabytes = text.len() as f64 / 1e6;
        drop(text);
        let (mut bare, mut ours) = (Vec::new(), Vec::new());
        for _ in 0..5 {
            let start = Instant::now();
            let mut reader = csv::ReaderBuilder::new().delimiter(separator as u8).from_path(&file).expect("a table");
            let mut record = csv::ByteRecord::new();
            let mut cells = 0;
            while reader.read_byte_record(&mut record).expect("a row") {
                cells += record.len();
            }
            bare.push(start.elapsed().as_secs_f64());
            let start = Instant::now();
            let log = recorder::read(&file, &Options::default()).expect("a log");
            ours.push(start.elapsed().as_secs_f64());
            assert_eq!(log.rows_read * 40, cells, "every cell was read");
        }
        let middle = |times: &mut Vec<f64>| {
            times.sort_by(f64::total_cmp);
            times[times.len() / 2]
        };
        let (bare, ours) = (middle(&mut bare), middle(&mut ours));
        println!(
            "{name}: {megabytes:.0} MB; the csv crate {:.0} MB/s, jumpseat {:.0} MB/s, {:.2} times its time",
            megabytes / bare,
            megabytes / ours,
            ours / bare
        );
    }
}
