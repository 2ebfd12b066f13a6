//! The line through marks against certified and independently computed regressions; sources in the tables' first lines.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::clock::{Mark, from_marks};

/// Two columns of a table as marks.
fn marks(table: &str, x: usize, y: usize, sigma_s: f64) -> Vec<Mark> {
    let rows = table.lines().filter(|l| !l.starts_with('#')).skip(1);
    let number = |line: &str, i: usize| line.split(',').nth(i).expect("cell").parse::<f64>().expect("number");
    rows.map(|l| Mark { from_s: number(l, x), to_s: number(l, y), sigma_s, why: String::new() }).collect()
}

/// NIST StRD Norris: certified slope and intercept. Marks this sure contradict a rate of 1, so that they alone decide.
#[test]
fn norris() {
    let fit = from_marks(&marks(include_str!("published/nist_norris.csv"), 0, 1, 1e-6)).expect("fit");
    assert!((fit.rate - 1.002_116_818_020_45).abs() < 1e-12, "{}", fit.rate);
    assert!((fit.at(0.0) + 0.262_323_073_774_029).abs() < 1e-10, "{}", fit.at(0.0));
}

/// Eight marks of some milliseconds over an hour: slope 1.000019346877 +- 9.252908e-07 and intercept 12.346302241 by scipy.
/// What is known of quartz clocks pulls the rate by its weight of 0.05 % towards 1: 1e-8; the intercept by 1e-8 x 1600 s.
#[test]
fn an_hour_of_marks() {
    let fit = from_marks(&marks(include_str!("published/clock_fit.csv"), 0, 1, 0.003_213_022)).expect("fit");
    assert!((fit.rate - 1.000_019_346_877).abs() < 2e-8, "{}", fit.rate);
    assert!((fit.at(0.0) - 12.346_302_241).abs() < 3e-5, "{}", fit.at(0.0));
    assert!((fit.cov[1][1].sqrt() - 9.252_908e-7).abs() < 1e-9, "{}", fit.cov[1][1].sqrt());
    assert!((fit.sigma(0.0) - 1.883_391e-3).abs() < 2e-6, "{}", fit.sigma(0.0));
    // The truth that the table was made from.
    assert!((fit.rate - 1.00002).abs() < 3.0 * fit.cov[1][1].sqrt());
}
