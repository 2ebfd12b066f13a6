//! Clocks by sound: the tones of sounds that other programs made, invented flights whose truth is known, and what must be refused.
#![cfg(feature = "codec")]
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::clock::sound::{self, Laid, Listener, Speed, Track, Voice};
use jumpseat::clock::{ClockId, Clocks, Dated, Evidence};
use jumpseat::demo::{self, DemoOptions};
use jumpseat::recorder::{self, Recording};
use jumpseat::signal::{Channel, Samples};
use jumpseat::video;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

fn tracks(file: &Path) -> Vec<Track> {
    let mut ear = Listener::default();
    let start_s = video::listen_to_file(file, sound::HZ, |samples| ear.hear(samples)).expect("sound").expect("a track");
    ear.tracks(start_s)
}

/// `tests/sound/tones.py` (numpy, scipy, ffmpeg) made tones that wind, noise, clipping and lossy codecs stand against, and knows
/// their frequencies.
#[test]
fn frequencies_are_those_of_the_script_to_a_five_hundredth() {
    let folder = Path::new("tests/sound");
    let table = std::fs::read_to_string(folder.join("tones.csv")).expect("truth");
    let rows = table.lines().filter(|l| !l.starts_with('#')).skip(1);
    let speeds: Vec<f64> = rows.filter_map(|l| l.split(',').nth(1)?.parse().ok()).collect();
    // Ten a second.
    let speed = |t: f64| {
        let at = t * 10.0;
        let (before, part) = (at.floor() as usize, at.fract());
        Some(speeds.get(before)? * (1.0 - part) + speeds.get(before + 1)? * part)
    };
    let whine = Voice::Line(450.0, 3700.0);
    for (file, voice, hz) in [
        ("harmonics_in_wind.m4a", Voice::Comb, 19.0),
        ("clipped.mp3", Voice::Comb, 19.0),
        ("whine_in_noise.opus", whine, 2200.0),
    ] {
        let all = tracks(&folder.join(file));
        let track = all.iter().find(|track| track.voice == voice).expect("voice");
        // At usual speed, where the levels are those that the script names; a sweep is not one frequency.
        let steady = |t: f64| Some((speed(t - 0.5)? - speed(t + 0.5)?).abs() < 0.01 && speed(t)? > 0.95);
        let moments: Vec<usize> = (0..track.hz.len()).filter(|i| steady(track.time(*i)) == Some(true)).collect();
        let off = |i: &usize| Some((track.hz[*i] / (hz * speed(track.time(*i))?) - 1.0).abs());
        let offs: Vec<f64> = moments.iter().filter_map(off).filter(|off| off.is_finite()).collect();
        let near = offs.iter().filter(|off| **off < 0.002).count();
        assert!(offs.len() as f64 > 0.95 * moments.len() as f64 && moments.len() > 60, "{file}: {} heard", offs.len());
        assert!(near as f64 >= 0.98 * offs.len() as f64, "{file}: {near} of {}: {offs:.4?}", offs.len());
    }
    let why = sound::lay(ClockId::Film(0), &tracks(&folder.join("wind.m4a")), &[]).expect_err("wind");
    assert!(why.contains("no tone"), "{why}");
}

/// An invented flight with its sound alone.
struct Heard {
    tracks: Vec<Track>,
    log: Recording,
    /// Film times, and the engine log's.
    truth: Vec<(f64, f64)>,
}

impl Heard {
    /// Of a seed. Every second one has a gap in its log, every third one a noisy sensor.
    fn new(seed: u64) -> Self {
        let mut heard = Self::of(&DemoOptions { seconds: 90.0, seed, film: false });
        heard.spoil(seed, 0.3);
        heard
    }

    /// Of a flight, its log as it was recorded.
    fn of(options: &DemoOptions) -> Self {
        let folder = tempfile::tempdir().expect("folder");
        demo::film::write_sound(folder.path(), options, &AtomicBool::new(false)).expect("sound");
        let log = recorder::read(&folder.path().join("engine.csv"), &recorder::Options::default()).expect("log");
        let truth = std::fs::read_to_string(folder.path().join("truth.csv")).expect("truth");
        let number = |line: &str, i: usize| line.split(',').nth(i)?.parse::<f64>().ok();
        let truth = truth.lines().skip(1).step_by(100).filter_map(|l| Some((number(l, 3)?, number(l, 2)?))).collect();
        Self { tracks: tracks(&folder.path().join("cockpit.m4a")), log, truth }
    }

    /// A gap, and noise of so many percent from least to most.
    fn spoil(&mut self, seed: u64, noise: f64) {
        let mut state = seed;
        for channel in &mut self.log.channels {
            let from = 40.0 + (seed % 40) as f64;
            if seed.is_multiple_of(2) {
                *channel = part(channel, |t| !(from..from + 3.0).contains(&t));
            }
            if let (0, Samples::Numbers(values)) = (seed % 3, &mut channel.samples) {
                for value in values.iter_mut().filter(|v| **v > 0.0) {
                    state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
                    *value += noise * ((state >> 40) as f64 / (1_u64 << 24) as f64 - 0.5);
                }
            }
        }
    }

    fn channel(&self, name: &str) -> &Channel {
        self.log.channels.iter().find(|c| c.name == name).expect("column")
    }

    fn speeds(&self) -> Vec<Speed<'_>> {
        let speed = |name: &str| Speed {
            clock: ClockId::Log(0),
            name: name.to_owned(),
            channel: self.channel(name),
            tones: Vec::new(),
        };
        ["Rotor", "Engine"].map(speed).into()
    }

    fn lay(&self, speeds: &[Speed<'_>]) -> Result<Laid, String> {
        sound::lay(ClockId::Film(0), &self.tracks, speeds)
    }

    /// How far the evidence is from the truth, in seconds.
    fn miss(&self, laid: &Laid) -> f64 {
        assert_eq!(laid.evidence.len(), 1, "one stretch: {laid:?}");
        let [(_, film_s), (_, log_s)] = laid.evidence[0].on;
        let after = self.truth.partition_point(|row| row.0 <= film_s).clamp(1, self.truth.len() - 1);
        let (a, b) = (self.truth[after - 1], self.truth[after]);
        log_s - (a.1 + (b.1 - a.1) * (film_s - a.0) / (b.0 - a.0))
    }
}

/// The records of a channel at some times.
fn part(channel: &Channel, keep: impl Fn(f64) -> bool) -> Channel {
    let kept: Vec<usize> = (0..channel.times.len()).filter(|i| keep(channel.times[*i])).collect();
    let samples = match &channel.samples {
        Samples::Numbers(values) => Samples::Numbers(kept.iter().map(|i| values[*i]).collect()),
        Samples::Texts(texts) => Samples::Texts(kept.iter().map(|i| texts[*i].clone()).collect()),
    };
    Channel { times: kept.iter().map(|i| channel.times[*i]).collect(), samples, ..channel.clone() }
}

/// What some seeds say: miss and sigma, none where the sound was refused; and how many of the seeds' sounds were not refused on the
/// next seed's log.
fn seeds(from: u64, to: u64) -> (Vec<Option<(f64, f64)>>, usize) {
    let flights: Vec<u64> = (from..=to).collect();
    let next = AtomicUsize::new(0);
    let work = || {
        let (mut own, mut wrong) = (Vec::new(), 0);
        while let Some(&seed) = flights.get(next.fetch_add(1, Ordering::Relaxed)) {
            let heard = Heard::new(seed);
            own.push(heard.lay(&heard.speeds()).ok().map(|laid| (heard.miss(&laid), laid.sigma_s)));
            let folder = tempfile::tempdir().expect("folder");
            let options = DemoOptions { seconds: 90.0, seed: seed + 1, film: false };
            demo::write(folder.path(), &options).expect("flight");
            let options = recorder::Options::default();
            let other = recorder::read(&folder.path().join("engine.csv"), &options).expect("log");
            let other = Heard { tracks: Vec::new(), log: other, truth: Vec::new() };
            wrong += usize::from(heard.lay(&other.speeds()).is_ok());
        }
        (own, wrong)
    };
    let parts: Vec<_> = std::thread::scope(|scope| {
        let threads: Vec<_> = (0..2).map(|_| scope.spawn(work)).collect();
        threads.into_iter().map(|thread| thread.join().expect("thread")).collect()
    });
    let wrong = parts.iter().map(|part| part.1).sum();
    (parts.into_iter().flat_map(|part| part.0).collect(), wrong)
}

#[test]
fn six_flights_by_their_sound_alone() {
    let (own, wrong) = seeds(1, 6);
    for found in own {
        let (miss, sigma) = found.expect("laid");
        assert!(miss.abs() < 0.1 && miss.abs() < 3.0 * sigma && sigma < 0.02, "{miss} +- {sigma}");
    }
    assert_eq!(wrong, 0, "the sound of another flight is refused");
}

/// Of a noisy sensor's records no moment may count whose slope is only the noise: sigma would be too small.
#[test]
fn a_noisy_sensor_is_no_knowledge_of_time() {
    let mut laid: Vec<(f64, f64)> = Vec::new();
    for seed in 401..=404 {
        let mut heard = Heard::of(&DemoOptions { seconds: 90.0, seed, film: false });
        let clean = heard.log.clone();
        for noise in 1..=30 {
            heard.log = clean.clone();
            heard.spoil(3 * (100 * seed + noise), 0.6);
            laid.extend(heard.lay(&heard.speeds()).ok().map(|laid| (heard.miss(&laid), laid.sigma_s)));
        }
    }
    let within = |k: f64| laid.iter().filter(|(miss, sigma)| miss.abs() < k * sigma).count() as f64 / laid.len() as f64;
    println!("{} of 120 laid, {:.3} within one sigma, {:.3} within two", laid.len(), within(1.0), within(2.0));
    assert!(laid.len() > 100 && within(1.0) > 0.57 && within(2.0) > 0.87, "{laid:?}");
}

/// `tests/long` runs it.
#[test]
#[ignore = "takes minutes: tests/long"]
fn sigma_is_honest_over_four_hundred_flights() {
    let (own, wrong) = seeds(1, 400);
    let laid: Vec<(f64, f64)> = own.iter().flatten().copied().collect();
    let share = |k: f64| laid.iter().filter(|(miss, sigma)| miss.abs() < k * sigma).count() as f64 / laid.len() as f64;
    let worst = laid.iter().map(|l| l.0.abs()).fold(0.0, f64::max);
    println!(
        "{} of 400 laid; {:.1} % within one sigma, {:.1} % within two; worst {worst:.4} s; {wrong} taken on another flight's log",
        laid.len(),
        100.0 * share(1.0),
        100.0 * share(2.0)
    );
    assert!(laid.len() >= 396 && (0.60..=0.76).contains(&share(1.0)) && share(2.0) >= 0.92 && worst < 0.1);
    // Flights of the demo are alike but for gusts and some rotor speeds: a few pairs have nothing to tell them apart.
    assert!(wrong <= 8, "{wrong}");
}

/// Flights of twenty minutes, whose run-up and run-down lie far enough apart for a rate.
#[test]
#[ignore = "takes minutes: tests/long"]
fn the_rate_by_sound_is_within_its_sigma() {
    let mut misses = Vec::new();
    for seed in 1..=24 {
        let heard = Heard::of(&DemoOptions { seconds: 1200.0, seed, film: false });
        let laid = heard.lay(&heard.speeds()).expect("laid");
        let log = Dated { start: None, resolution_s: 0.1, duration_s: 1200.0, follows_utc: false };
        let clocks = Clocks { reference: 0, logs: vec![log], loggers: vec![0], films: 1 };
        let fit = clocks.join(laid.evidence.clone()).films[0].clone().expect("fit");
        let (first, last) = (heard.truth[0], heard.truth[heard.truth.len() - 1]);
        let (sigma, truth) = (fit.cov[1][1].sqrt(), (last.1 - first.1) / (last.0 - first.0));
        // The bound from spacing and noise alone: what is known of quartz may only help.
        let weight = |e: &Evidence| e.sigma_s.powi(-2);
        let total: f64 = laid.evidence.iter().map(weight).sum();
        let mean = laid.evidence.iter().map(|e| weight(e) * e.on[0].1).sum::<f64>() / total;
        let spread: f64 = laid.evidence.iter().map(|e| weight(e) * (e.on[0].1 - mean).powi(2)).sum();
        println!(
            "seed {seed}: {} pieces, rate off by {:+.1} ppm, sigma {:.1}, bound {:.1}",
            laid.evidence.len(),
            1e6 * (fit.rate - truth),
            1e6 * sigma,
            1e6 * spread.powf(-0.5)
        );
        assert!(laid.evidence.len() > 1 && sigma <= 1.3 * spread.powf(-0.5), "{seed}: {laid:?}");
        misses.push((fit.rate - truth) / sigma);
    }
    let within = |n: f64| misses.iter().filter(|m| m.abs() <= n).count();
    println!("rate: {} of {} within one sigma, {} within two", within(1.0), misses.len(), within(2.0));
    assert!(within(2.0) >= 22, "{misses:?}");
}

/// An hour of gusts is one stretch: what two clocks drift apart in it must not pull at its ends.
#[test]
fn an_hour_of_two_clocks_that_drift_apart() {
    let smooth = |x: f64| x.clamp(0.0, 1.0).powi(2) * (3.0 - 2.0 * x.clamp(0.0, 1.0));
    let gusts = |t: f64| [23.0, 37.1, 61.7].map(|period| 0.01 * (std::f64::consts::TAU * t / period).sin());
    let speed = |t: f64| {
        let run = smooth((t - 60.0) / 12.0).min(smooth((3560.0 - t) / 12.0));
        100.0 * (0.3 + 0.7 * run) * (1.0 + gusts(t).iter().sum::<f64>() * run)
    };
    let mut state = 1_u64;
    let mut noise = || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        0.004 * ((state >> 40) as f64 / (1_u64 << 24) as f64 - 0.5)
    };
    let heard = Heard::new(1);
    let times: Vec<f64> = (0..36_200).map(|i| f64::from(i) * 0.1).collect();
    let samples = Samples::Numbers(times.iter().map(|t| (speed(*t) * 100.0).round() / 100.0).collect());
    let channel = Channel { times: times.into(), samples, ..heard.channel("Rotor").clone() };
    for ppm in [-100.0, 50.0] {
        let log_s = |film_s: f64| film_s + 20.0 + 1e-6 * ppm * (film_s - 1800.0);
        let hz = (0..35_800).map(|i| 0.18 * speed(log_s(f64::from(i) * 0.1)) * (1.0 + noise())).collect();
        let track = Track { voice: Voice::Line(18.0, 220.0), start_s: 0.0, step_s: 0.1, hz };
        let speeds = [Speed { clock: ClockId::Log(0), name: "Rotor".into(), channel: &channel, tones: Vec::new() }];
        let laid = sound::lay(ClockId::Film(0), &[track], &speeds).expect("laid");
        assert!(laid.evidence.len() > 1, "{:?}", laid.evidence);
        for piece in &laid.evidence {
            let [(_, film), (_, log)] = piece.on;
            assert!((log - log_s(film)).abs() < 0.006, "{ppm}: {} at {film}", log - log_s(film));
        }
    }
}

#[test]
fn what_says_nothing_is_refused_with_its_reason() {
    let heard = Heard::new(1);
    let offset_s = heard.lay(&heard.speeds()).expect("laid").offset_s;
    let refused =
        |tracks: &[Track], speeds: &[Speed<'_>]| sound::lay(ClockId::Film(0), tracks, speeds).expect_err("refused");

    let why = refused(&heard.tracks, &[]);
    assert!(why.contains("no rotor or engine speed"), "{why}");
    // Cruise alone, on the log and in the film.
    let cruise = part(heard.channel("Rotor"), |t| (20.0..27.0).contains(&(t - offset_s)));
    let speed = |channel, tones| Speed { clock: ClockId::Log(0), name: "Rotor".into(), channel, tones };
    let why = refused(&heard.tracks, &[speed(&cruise, Vec::new())]);
    assert!(why.contains("steady"), "{why}");
    let steady = |track: &Track| {
        let (from, to) = (200, 275);
        Track { start_s: track.time(from), hz: track.hz[from..to].to_vec(), ..track.clone() }
    };
    let steady: Vec<Track> = heard.tracks.iter().map(steady).collect();
    let why = refused(&steady, &heard.speeds());
    assert!(why.contains("nothing to match"), "{why}");
    // The owner knows the tone: 18 Hz at 100 %. Another one is not taken.
    let rotor = heard.channel("Rotor");
    heard.lay(&[speed(rotor, vec![0.18])]).expect("the blades' own tone");
    let why = refused(&heard.tracks, &[speed(rotor, vec![0.23])]);
    assert!(why.contains("[[tone]]"), "{why}");
}
