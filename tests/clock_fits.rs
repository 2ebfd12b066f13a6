//! Each kind of evidence alone: how near the truth it comes, and whether its sigma is honest, over many seeds.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::clock::{
    ClockFit, ClockId, Clocks, Dated, Evidence, EvidenceKind, Joined, Moment, Stamps, channels, marks, timestamps,
};
use jumpseat::demo::{self, DemoOptions};
use jumpseat::recorder::{self, Options};
use jumpseat::session::dated;
use jumpseat::signal::{Channel, Kind, Origin, Samples, StateRules};
use std::path::Path;

const FILM: ClockId = ClockId::Film(0);
const LOG: ClockId = ClockId::Log(0);
const SEEDS: u64 = 400;

/// Numbers that chance gives (splitmix64, public domain; Box-Muller for the bell curve).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) as f64 / u64::MAX as f64
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.next()
    }

    fn bell(&mut self) -> f64 {
        (-2.0 * self.next().max(1e-12).ln()).sqrt() * (std::f64::consts::TAU * self.next()).cos()
    }
}

/// Two quartz clocks, each off by up to 50 parts in a million, and what is between them.
struct Pair {
    offset: f64,
    rate: f64,
}

impl Pair {
    fn new(chance: &mut Chance) -> Self {
        let (a, b) = (chance.between(-50e-6, 50e-6), chance.between(-50e-6, 50e-6));
        Self { offset: chance.between(-500.0, 500.0), rate: (1.0 + a) / (1.0 + b) }
    }

    fn at(&self, film_s: f64) -> f64 {
        self.offset + self.rate * film_s
    }
}

/// Shares of errors within one and two sigma, as the issue of the clocks asks for them.
fn honest(what: &str, errors_in_sigmas: &[f64]) {
    let share =
        |n: f64| errors_in_sigmas.iter().filter(|e| e.abs() <= n).count() as f64 / errors_in_sigmas.len() as f64;
    println!("{what}: {:.3} within one sigma, {:.3} within two, of {}", share(1.0), share(2.0), errors_in_sigmas.len());
    assert!((0.60..=0.76).contains(&share(1.0)), "{what}: {} within one sigma", share(1.0));
    assert!(share(2.0) >= 0.92, "{what}: {} within two sigma", share(2.0));
}

fn one_log(evidence: Vec<Evidence>) -> Joined {
    let log = Dated { start: None, resolution_s: 0.1, duration_s: 7200.0, follows_utc: false };
    Clocks { reference: 0, logs: vec![log], loggers: vec![0], films: 1 }.join(evidence)
}

#[test]
fn marks_are_honest() {
    let (mut at_middle, mut at_end, mut rates) = (Vec::new(), Vec::new(), Vec::new());
    for seed in 1..=SEEDS {
        let mut chance = Chance(seed);
        let truth = Pair::new(&mut chance);
        let count = 1 + (chance.next() * 5.0) as usize;
        let length = chance.between(60.0, 10_800.0);
        let marks: Vec<Evidence> = (0..count)
            .map(|_| {
                let (film_s, sigma_s) = (chance.between(0.0, length), chance.between(0.01, 0.1));
                let error = sigma_s * chance.bell();
                Evidence::new(EvidenceKind::Mark, (FILM, film_s), (LOG, truth.at(film_s) + error), sigma_s, "mark")
            })
            .collect();
        let fit = one_log(marks.clone()).films[0].clone().expect("a fit");
        let miss = |t: f64| (fit.at(t) - truth.at(t)) / fit.sigma(t);
        at_middle.push(miss(fit.pivot_s));
        at_end.push(miss(length));
        let rate_sigma = fit.cov[1][1].sqrt();
        rates.push((fit.rate - truth.rate) / rate_sigma);
        // The bound from spacing and noise, and from nothing else: what is known of quartz may only help.
        let weight = |e: &Evidence| e.sigma_s.powi(-2);
        let total: f64 = marks.iter().map(weight).sum();
        let mean = marks.iter().map(|e| weight(e) * e.on[0].1).sum::<f64>() / total;
        let spread: f64 = marks.iter().map(|e| weight(e) * (e.on[0].1 - mean).powi(2)).sum();
        assert!(rate_sigma <= 1.3 * spread.powf(-0.5), "{seed}");
    }
    honest("marks, in their middle", &at_middle);
    honest("marks, at the film's end", &at_end);
    // Where marks tell nothing of the rate, its error is that of two crystals, each uniform: less tailed than a bell.
    honest("marks, rate", &rates);
}

/// A stamp of whole seconds has a uniform error: the truth lies within its second.
#[test]
fn stamps_of_whole_seconds_hold_the_truth_in_their_interval() {
    let epoch: jiff::Timestamp = "2026-05-17T08:30:00Z".parse().expect("instant");
    let (mut misses, mut frames) = (Vec::new(), Vec::new());
    for seed in 1..=SEEDS {
        let mut chance = Chance(seed);
        let log = Dated { start: Some(epoch), resolution_s: 0.001, duration_s: 4000.0, follows_utc: false };
        let start = chance.between(10.0, 600.0);
        let clocks = Clocks { reference: 0, logs: vec![log], loggers: vec![0], films: 1 };
        let fit = |stamps: &Stamps| {
            let (evidence, _) = timestamps::of_film(0, stamps, (0.0, 4000.0), epoch);
            clocks.join(evidence).films[0].clone().expect("a fit")
        };
        let whole = epoch + jiff::SignedDuration::from_secs(start.floor() as i64);
        let stamps = Stamps { created: Some(whole), duration_s: 1800.0, ..Stamps::default() };
        let dated = fit(&stamps);
        assert!((dated.at(0.0) - start).abs() <= 0.502, "{seed}");
        misses.push(dated.at(0.0) - start);
        // A time code counts frames of a clock two hours ahead.
        let fps = 25.0;
        let on_the_clock = 8.0 * 3600.0 + 1800.0 + 7200.0 + (start * fps).floor() / fps;
        let stamps = Stamps { timecode: Some((on_the_clock, 1.0 / fps)), ..stamps };
        let coded = fit(&stamps);
        assert!((coded.at(0.0) - start).abs() <= 1.0 / fps, "{seed}");
        frames.push((coded.at(0.0) - start) / coded.sigma(0.0));
    }
    // A uniform error's standard deviation: 1 / sqrt(12), and no bias.
    let mean = misses.iter().sum::<f64>() / misses.len() as f64;
    let sigma = (misses.iter().map(|m| m * m).sum::<f64>() / misses.len() as f64).sqrt();
    assert!(mean.abs() < 0.05 && (sigma - 12f64.powf(-0.5)).abs() < 0.03, "{mean} {sigma}");
    assert!(frames.iter().all(|f| f.abs() <= 3f64.sqrt() + 0.05), "within half a frame");
}

/// One stamp has no spacing: of the rate it says nothing, and its sigma is that of two crystals, whose errors are uniform.
#[test]
fn the_rate_beside_a_stamp_is_that_of_two_crystals() {
    let epoch: jiff::Timestamp = "2026-05-17T08:30:00Z".parse().expect("instant");
    let rates = (1..=SEEDS).map(|seed| {
        let mut chance = Chance(seed);
        let truth = Pair::new(&mut chance);
        let start = chance.between(10.0, 600.0).floor() as i64;
        let log = Dated { start: Some(epoch), resolution_s: 0.001, duration_s: 4000.0, follows_utc: false };
        let clocks = Clocks { reference: 0, logs: vec![log], loggers: vec![0], films: 1 };
        let created = Some(epoch + jiff::SignedDuration::from_secs(start));
        let stamps = Stamps { created, duration_s: 1800.0, ..Stamps::default() };
        let fit = clocks.join(timestamps::of_film(0, &stamps, (0.0, 4000.0), epoch).0).films[0].clone().expect("a fit");
        let sigma = fit.cov[1][1].sqrt();
        assert!(sigma <= 1.3 * 2f64.sqrt() * 29e-6, "{sigma}");
        (fit.rate - truth.rate) / sigma
    });
    honest("a stamp, rate", &rates.collect::<Vec<_>>());
}

/// A rotor's speed through a flight: run-up, a governed cruise that is nearly flat, an autorotation, run-down.
fn rotor(t: f64, length: f64, phase: f64) -> f64 {
    let x = t / length;
    let ramp = |from: f64, to: f64| ((x - from) / (to - from)).clamp(0.0, 1.0);
    let smooth = |v: f64| v * v * (3.0 - 2.0 * v);
    let up = 100.0 * smooth(ramp(0.05, 0.12)) - 100.0 * smooth(ramp(0.92, 0.98));
    let chop = 6.0 * (smooth(ramp(0.55, 0.56)) - smooth(ramp(0.60, 0.62)));
    up + chop + 0.3 * (t / 7.0 + phase).sin() * smooth(ramp(0.2, 0.21)) * (1.0 - smooth(ramp(0.9, 0.91)))
}

fn channel(times: Vec<f64>, values: Vec<f64>) -> Channel {
    let step = times[1] - times[0];
    Channel {
        name: "Rotor".into(),
        unit: Some("%".into()),
        kind: Kind::Continuous,
        times: times.into(),
        samples: Samples::Numbers(values),
        missing: 0,
        breaks: Vec::new(),
        rules: StateRules::for_interval(step),
        origin: Origin::Recorded,
    }
}

#[test]
fn a_shared_quantity_is_honest() {
    let (mut misses, mut greatest, mut rates, mut over_bound) = (Vec::new(), 0.0f64, Vec::new(), Vec::new());
    for seed in 1..=SEEDS {
        let mut chance = Chance(seed);
        let truth = Pair::new(&mut chance);
        let (length, phase) = (chance.between(300.0, 1800.0), chance.between(0.0, 6.0));
        let (noise, noise2) = (chance.between(0.05, 0.4), chance.between(0.05, 0.4));
        let gap = chance.between(0.2, 0.8) * length;
        let mut log = |step: f64, late: f64, noise: f64, clock: &dyn Fn(f64) -> f64, digit: f64| {
            let start = clock(late);
            let count = ((length - 2.0 * late) / step) as usize;
            let times = (0..count).map(|i| start + i as f64 * step).filter(|t| (t - clock(gap)).abs() > 8.0);
            let rows = times.map(|t| {
                // What the logger's clock shows is turned back to the truth.
                let true_s = (t - clock(0.0)) / (clock(1.0) - clock(0.0));
                let value = rotor(true_s, length, phase) + noise * chance.bell();
                (t, (value / digit).round() * digit)
            });
            rows.unzip()
        };
        let (ta, va): (Vec<f64>, Vec<f64>) = log(0.1, 3.0, noise, &|t| t, 0.1);
        let (tb, vb): (Vec<f64>, Vec<f64>) = log(0.2, 6.0, noise2, &|t| truth.at(t), 0.1);
        let (a, b) = (channel(ta, va), channel(tb, vb));
        let found = channels::lay((FILM, &a), (LOG, &b), "rotor").unwrap_or_else(|why| panic!("{seed}: {why}"));
        let fit = one_log(found.evidence).films[0].clone().expect("a fit");
        let t = fit.pivot_s;
        misses.push((fit.at(t) - truth.at(t)) / fit.sigma(t));
        greatest = greatest.max((fit.at(t) - truth.at(t)).abs());
        // The bound of any estimate of the rate (Cramer and Rao) from the slope and both sensors' noise a second of record, and from what
        // is known of two crystals.
        let rounding = 0.1f64.powi(2) / 12.0;
        let noise_s = (noise.powi(2) + rounding) * 0.1 + (noise2.powi(2) + rounding) * 0.2;
        let moments = (0..(length * 10.0) as usize).map(|i| i as f64 * 0.1).filter(|t| (6.0..length - 6.0).contains(t));
        let says =
            |t: f64| ((rotor(t + 0.05, length, phase) - rotor(t - 0.05, length, phase)) / 0.1).powi(2) * 0.1 / noise_s;
        let told: Vec<(f64, f64)> = moments.filter(|t| (t - gap).abs() > 8.0).map(|t| (t, says(t))).collect();
        let total: f64 = told.iter().map(|(_, w)| w).sum();
        let mean = told.iter().map(|(t, w)| t * w).sum::<f64>() / total;
        let spread: f64 = told.iter().map(|(t, w)| w * (t - mean).powi(2)).sum();
        let bound = (spread + (2.0 * 29e-6f64.powi(2)).recip()).powf(-0.5);
        let sigma = fit.cov[1][1].sqrt();
        rates.push((fit.rate - truth.rate) / sigma);
        over_bound.push(sigma / bound);
    }
    println!("greatest error {greatest:.4} s");
    assert!(greatest < 0.15, "{greatest}");
    honest("a shared quantity", &misses);
    over_bound.sort_by(f64::total_cmp);
    let within = over_bound.iter().filter(|over| **over <= 1.3).count();
    println!(
        "sigma of the rate over its bound: {:.2} in the middle, {:.2} at most, {within} within 1.3",
        over_bound[over_bound.len() / 2],
        over_bound[over_bound.len() - 1]
    );
    // The noise itself has to be estimated from the residuals, to some percent; the bound knows it.
    assert!(within >= 396 && over_bound[over_bound.len() - 1] < 1.35, "{over_bound:?}");
    honest("a shared quantity, rate", &rates);
}

#[test]
fn a_quantity_without_structure_is_refused() {
    let mut chance = Chance(5);
    let mut log = |f: &dyn Fn(f64) -> f64, noise: f64| {
        let times: Vec<f64> = (0..3000).map(|i| f64::from(i) * 0.1).collect();
        let values = times.iter().map(|t| f(*t) + noise * chance.bell()).collect();
        channel(times, values)
    };
    let (flat, flat2) = (log(&|_| 100.0, 0.1), log(&|_| 100.0, 0.1));
    let (slope, slope2) = (log(&|t| 40.0 - 0.01 * t, 0.0), log(&|t| 40.0 - 0.01 * t, 0.0));
    let (wave, wave2) = (log(&|t| (t / 3.0).sin(), 0.01), log(&|t| (t / 3.0 + 1.0).sin(), 0.01));
    let other = log(&|t| (t / 11.0).sin() * (t / 57.0).cos(), 0.01);
    for (what, a, b) in [
        ("noise alone", &flat, &flat2),
        ("a straight line", &slope, &slope2),
        ("a wave that fits at every turn", &wave, &wave2),
        ("another flight", &wave, &other),
    ] {
        let found = channels::lay((FILM, a), (LOG, b), "x");
        assert!(found.is_err(), "{what}");
    }
}

/// What the three clocks of an invented flight show, as its truth tells: two rows are enough of a straight line.
struct Truth {
    rows: [[f64; 4]; 2],
}

impl Truth {
    const AIR: usize = 1;
    const ENGINE: usize = 2;
    const FILM: usize = 3;

    fn read(folder: &Path) -> Self {
        let text = std::fs::read_to_string(folder.join("truth.csv")).expect("truth");
        let row = |line: &str| {
            let mut cells = line.split(',').map(|c| c.parse::<f64>().expect("number"));
            [(); 4].map(|()| cells.next().expect("cell"))
        };
        let mut lines = text.lines();
        lines.next();
        Self { rows: [row(lines.next().expect("row")), row(lines.next_back().expect("row"))] }
    }

    fn on(&self, from: usize, to: usize, t: f64) -> f64 {
        let [a, b] = self.rows;
        a[to] + (t - a[from]) * (b[to] - a[to]) / (b[from] - a[from])
    }

    fn rate(&self, from: usize, to: usize) -> f64 {
        self.on(from, to, 1.0) - self.on(from, to, 0.0)
    }
}

/// Marks alone, on invented flights, film and both loggers.
#[test]
fn marks_alone_find_the_truth_of_the_invented_flight() {
    for seed in 1..=8 {
        let folder = tempfile::tempdir().expect("folder");
        demo::write(folder.path(), &DemoOptions { seconds: 90.0, seed, film: true }).expect("flight");
        let truth = Truth::read(folder.path());
        let flight = jumpseat::flight::open(&folder.path().join("flight.toml")).expect("flight");
        let logs = flight.logs.iter().map(|l| {
            let recording = recorder::read(&l.file, &Options { csv: l.csv.clone() }).expect("log");
            Dated { start: None, ..dated(&recording) }
        });
        let clocks = Clocks { reference: 0, logs: logs.collect(), loggers: vec![0, 1], films: 1 };
        let moments: Vec<Moment> = flight
            .clock
            .marks
            .iter()
            .enumerate()
            .map(|(i, m)| {
                let film = m.films_s.iter().flatten().map(|t| (FILM, *t, 0.0));
                let logs = m.logs_s.iter().enumerate().filter_map(|(i, t)| Some((ClockId::Log(i), (*t)?, 0.0)));
                Moment { times: film.chain(logs).collect(), sigma_s: 0.01, why: format!("mark {}", i + 1) }
            })
            .collect();
        let joined = clocks.join(marks::evidence(&moments, LOG));
        let film = joined.films[0].clone().expect("a fit");
        let engine = joined.network.fit(FILM, ClockId::Log(1)).expect("a fit");
        let near = |fit: &ClockFit, to: usize| {
            for t in [0.0, fit.pivot_s, 80.0] {
                let miss = fit.at(t) - truth.on(Truth::FILM, to, t);
                assert!(miss.abs() <= 0.02, "seed {seed}: {miss} s at {t} s");
            }
            let rate_miss = (fit.rate - truth.rate(Truth::FILM, to)).abs();
            assert!(rate_miss <= 2.0 * fit.cov[1][1].sqrt(), "seed {seed}: rate {rate_miss}");
        };
        near(&film, Truth::AIR);
        near(&engine, Truth::ENGINE);
    }
}

/// A second logger that recorded the rotor too: half a sample of the slower one is 0.1 s.
#[test]
fn logger_to_logger_finds_the_truth_of_the_invented_flight() {
    for seed in 1..=4 {
        let folder = tempfile::tempdir().expect("folder");
        demo::write(folder.path(), &DemoOptions { seconds: 90.0, seed, film: false }).expect("flight");
        let truth = Truth::read(folder.path());
        let text = std::fs::read_to_string(folder.path().join("truth.csv")).expect("truth");
        let mut lines = text.lines();
        let column = lines.next().expect("head").split(',').position(|c| c == "engine.Rotor [%]").expect("rotor");
        let mut chance = Chance(seed);
        // The air logger's clock, five times a second.
        let rows = lines.step_by(20).map(|line| {
            let cells: Vec<f64> = line.split(',').map(|c| c.parse().expect("number")).collect();
            let noise = 0.1 * chance.bell();
            (cells[Truth::AIR], ((cells[column] + noise) * 10.0).round() / 10.0)
        });
        let (times, values): (Vec<f64>, Vec<f64>) = rows.filter(|r| r.0 > 3.0).unzip();
        let spare = channel(times, values);
        let engine = recorder::read(&folder.path().join("engine.csv"), &Options::default()).expect("log");
        let rotor = engine.channels.iter().find(|c| c.name == "Rotor").expect("rotor");
        let found = channels::lay((FILM, rotor), (LOG, &spare), "rotor").unwrap_or_else(|why| panic!("{seed}: {why}"));
        let fit = one_log(found.evidence).films[0].clone().expect("a fit");
        let miss = fit.at(fit.pivot_s) - truth.on(Truth::ENGINE, Truth::AIR, fit.pivot_s);
        println!("seed {seed}: {miss:+.4} s, sigma {:.4} s", fit.sigma(fit.pivot_s));
        assert!(miss.abs() < 0.1, "seed {seed}: {miss}");
    }
}
