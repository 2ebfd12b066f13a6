//! What happened in invented flights, against the truth behind them.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod made;

use jumpseat::demo::{self, DemoOptions};
use jumpseat::judge::judge;
use jumpseat::panel::file;

#[test]
fn printed() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    demo::write(folder, &DemoOptions { seconds: 600.0, seed: 1, film: false }).expect("flight");
    let read = file::open(&folder.join("panel.toml")).expect("panel");
    assert!(read.faults.is_empty(), "{:?}", read.faults);
    let session = made::session(folder);
    let judged = judge(&session, &read.panel);
    for e in &judged.events {
        println!(
            "{:8.2} {:8.2} +-{:.2} {:24} {:?} {:?}",
            e.from_s, e.to_s, e.plus_minus_s, e.name, e.severity, e.phase
        );
        for f in &e.facts {
            println!("      {} = {:.*} {} at {:?}", f.name, usize::from(f.decimals), f.value, f.unit, f.at_s);
        }
    }
    for e in &judged.exceedances {
        println!("{e:?} {}", read.panel.limits[e.limit].name);
    }
    for e in &judged.unjudged {
        println!("{e:?}");
    }
    for f in &judged.figures.flight {
        println!("{} = {:?} {} +-{:?} {}", f.name, f.value, f.unit, f.plus_minus, f.at_least);
    }
    for b in &judged.figures.bands {
        println!("{b:?}");
    }
}
