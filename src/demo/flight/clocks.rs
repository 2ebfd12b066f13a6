//! The three clocks: none of them is right, and no two agree.

use super::chance::Chance;
use super::script::Script;

/// Most that a clock's rate is off, as a fraction; two clocks then differ by up to 50 ppm.
const RATE_ERROR: f64 = 25e-6;

/// A clock that starts with its owner's first record.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clock {
    /// True time at its zero.
    zero: f64,
    /// Its seconds per true second.
    rate: f64,
}

impl Clock {
    fn new(zero: f64, chance: &mut Chance) -> Self {
        Self { zero, rate: 1.0 + chance.between(-RATE_ERROR, RATE_ERROR) }
    }

    /// What it shows at a true time, in seconds since its first record.
    pub fn at(&self, t: f64) -> f64 {
        (t - self.zero) * self.rate
    }

    /// True time at which it shows `seconds`.
    pub fn time(&self, seconds: f64) -> f64 {
        self.zero + seconds / self.rate
    }
}

/// The loggers' and the camera's clocks.
#[derive(Debug, Clone, Copy)]
pub(super) struct Clocks {
    pub air: Clock,
    pub engine: Clock,
    pub film: Clock,
    /// What the air logger prints at its first record: tenths of seconds since midnight UTC, a multiple of its step.
    pub air_first_tenths: u64,
    /// What the engine logger prints at its first record: milliseconds since power-up, a multiple of its step.
    pub engine_first_ms: u64,
    /// True times of the loggers' last records, at most.
    pub air_end: f64,
    pub engine_end: f64,
}

impl Clocks {
    pub fn new(script: &Script, chance: &mut Chance) -> Self {
        let engine = Clock::new(chance.between(0.05, 0.95), chance);
        let air = Clock::new(script.time(chance.between(8.0, 16.0)), chance);
        let film = Clock::new(script.time(chance.between(2.0, 7.0)), chance);
        Self {
            air,
            engine,
            film,
            // Between eight and nine in the morning: the longest flight does not reach midnight.
            air_first_tenths: 8 * 36_000 + 2 * (chance.next() % 18_000),
            engine_first_ms: 100 * (15 + chance.next() % 600),
            air_end: script.end() - script.pace * chance.between(3.0, 8.0),
            engine_end: script.end() - script.pace * chance.between(0.5, 2.0),
        }
    }
}
