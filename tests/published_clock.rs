//! The fit of clocks against certified and independently computed regressions; sources in the tables' first lines.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::clock::{ClockFit, ClockId, Crystal, Evidence, EvidenceKind, Network, Node};
use jumpseat::signal::peaks;

const FILM: ClockId = ClockId::Film(0);
const LOG: ClockId = ClockId::Log(0);

/// Two columns of a table as marks, fitted.
fn fit(table: &str, x: usize, y: usize, sigma_s: f64, quartz_sigma: f64) -> ClockFit {
    let rows = table.lines().filter(|l| !l.starts_with('#')).skip(1);
    let number = |line: &str, i: usize| line.split(',').nth(i).expect("cell").parse::<f64>().expect("number");
    let mark = |l: &str| Evidence::new(EvidenceKind::Mark, (FILM, number(l, x)), (LOG, number(l, y)), sigma_s, "mark");
    let nodes = [(LOG, Crystal::True), (FILM, Crystal::Quartz(0))].map(|(clock, crystal)| Node { clock, crystal });
    Network::solve(nodes.to_vec(), LOG, rows.map(mark).collect(), quartz_sigma).fit(FILM, LOG).expect("fit")
}

/// NIST StRD Norris: certified slope, intercept and their standard deviations. The table's y is the explanatory variable of no
/// clock, so nothing is presumed of crystals, and the sigma is the certified residual deviation.
#[test]
fn norris() {
    let fit = fit(include_str!("published/nist_norris.csv"), 0, 1, 0.884_796_396_144_373, 1e3);
    assert!(fit.evidence.iter().all(|e| e.used));
    assert!((fit.rate - 1.002_116_818_020_45).abs() < 1e-12, "{}", fit.rate);
    assert!((fit.at(0.0) + 0.262_323_073_774_029).abs() < 1e-10, "{}", fit.at(0.0));
    assert!((fit.cov[1][1].sqrt() - 0.429_796_848_199_937e-3).abs() < 1e-12, "{}", fit.cov[1][1].sqrt());
    assert!((fit.sigma(0.0) - 0.232_818_234_301_152).abs() < 1e-9, "{}", fit.sigma(0.0));
    // Residual sum of squares, over 36 points.
    let squares = fit.residual_s().expect("evidence").powi(2) * 36.0;
    assert!((squares - 26.617_398_529_422_4).abs() < 1e-9, "{squares}");
}

/// Eight marks of some milliseconds over an hour: slope 1.000019346877 +- 9.252908e-07 and intercept 12.346302241 by scipy.
/// What is known of quartz clocks pulls the rate by its weight of 0.05 % towards 1: 1e-8; the intercept by 1e-8 x 1600 s.
#[test]
fn an_hour_of_marks() {
    let fit = fit(include_str!("published/clock_fit.csv"), 0, 1, 0.003_213_022, 41e-6);
    assert!((fit.rate - 1.000_019_346_877).abs() < 2e-8, "{}", fit.rate);
    assert!((fit.at(0.0) - 12.346_302_241).abs() < 3e-5, "{}", fit.at(0.0));
    assert!((fit.cov[1][1].sqrt() - 9.252_908e-7).abs() < 1e-9, "{}", fit.cov[1][1].sqrt());
    assert!((fit.sigma(0.0) - 1.883_391e-3).abs() < 2e-6, "{}", fit.sigma(0.0));
    // The truth that the table was made from.
    assert!((fit.rate - 1.00002).abs() < 3.0 * fit.cov[1][1].sqrt());
}

/// The same with a mark two seconds off: least squares are ruined (slope 0.999949097227), and robust fits are not.
#[test]
fn an_hour_of_marks_with_a_wrong_one() {
    let fit = fit(include_str!("published/clock_fit.csv"), 0, 2, 0.003_213_022, 41e-6);
    let used: Vec<bool> = fit.evidence.iter().map(|e| e.used).collect();
    assert_eq!(used, [true, true, true, false, true, true, true, true]);
    assert!((fit.rate - 1.00002).abs() < 3.0 * fit.cov[1][1].sqrt(), "{}", fit.rate);
    assert!((fit.at(0.0) - 12.345).abs() < 3.0 * fit.sigma(0.0), "{}", fit.at(0.0));
}

/// A peak between bins: the parabola through logarithms is exact for the Gaussian peaks of the table.
#[test]
fn the_place_of_a_peak_between_bins() {
    let rows = include_str!("published/peak_interpolation.csv").lines().filter(|l| !l.starts_with('#')).skip(1);
    let mut compared = 0;
    for row in rows {
        let cells: Vec<f64> = row.split(',').map(|c| c.parse().expect("number")).collect();
        let (expected, around) = (cells[5], [cells[1], cells[2], cells[3]]);
        // Half-way between two bins there is no highest one.
        if expected.abs() < 0.5 {
            let power = [1e-3, around[0], around[1], around[2], 1e-3].map(|p| p as f32);
            let found = peaks(&power, 1.0, 2, 1)[0].hz;
            assert!((f64::from(found) - 2.0 - expected).abs() < 2e-5, "{found} for {expected}");
            compared += 1;
        }
    }
    assert_eq!(compared, 7);
}
