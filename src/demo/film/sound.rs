//! The sound in the cockpit: rotor, tail rotor, turbine and wind, behind a microphone that leaves out the lowest tones.
//!
//! All speeds of the Dunlin are invented. The main rotor has two blades and turns 540 times a minute at 100 %: its blades
//! pass 18 times a second. The tail rotor, two blades too, turns 5.5 times as fast: 99 passages a second.

use super::super::flight::{Chance, Flight};
use std::f64::consts::TAU;

/// Samples a second.
pub(super) const HZ: u32 = 48_000;
/// Blade passages a second of the main rotor at 100 %.
const BLADES_HZ: f64 = 18.0;
const TAIL_HZ: f64 = 99.0;
/// The turbine's whine at 100 %.
const WHINE_HZ: f64 = 2600.0;
/// The truth is read out this often and joined by straight lines: a speed bends less than 1e-6 in between.
const READ_EVERY: u64 = 96;
/// Loudness of the main rotor's harmonics, from the first on.
const HARMONICS: [f64; 12] = [0.5, 0.8, 1.0, 0.95, 0.8, 0.62, 0.5, 0.4, 0.3, 0.24, 0.18, 0.14];
/// Below it, the microphone hears less and less.
const LOW_CUT_HZ: f64 = 70.0;
/// Everything together stays below full scale by this.
const LEVEL: f64 = 0.34;

/// The speeds that make the sound: fractions of 100 %, and knots.
#[derive(Clone, Copy)]
struct Speeds {
    rotor: f64,
    engine: f64,
    air: f64,
}

impl Speeds {
    fn at(flight: &Flight, film_s: f64) -> Self {
        let t = flight.true_time(film_s);
        let engine = flight.engine(t);
        Self { rotor: engine[0] / 100.0, engine: engine[1] / 100.0, air: flight.air(t)[0] }
    }

    fn between(self, other: Self, part: f64) -> Self {
        let mix = |a: f64, b: f64| a + part * (b - a);
        Self {
            rotor: mix(self.rotor, other.rotor),
            engine: mix(self.engine, other.engine),
            air: mix(self.air, other.air),
        }
    }
}

/// Makes the samples one after the other.
pub(super) struct Sound<'a> {
    flight: &'a Flight,
    /// Samples made so far.
    made: u64,
    from: Speeds,
    to: Speeds,
    /// Turns of blades, tail blades and whine, since the start.
    turns: [f64; 3],
    /// Sine and cosine of the harmonics' phases: without them all would peak together.
    phases: [(f64, f64); HARMONICS.len()],
    noise: Chance,
    hiss: f64,
    rumble: f64,
    /// Last input and output of the low cut's two equal halves.
    cut: [(f64, f64); 2],
}

impl<'a> Sound<'a> {
    pub fn new(flight: &'a Flight) -> Self {
        let start = Speeds::at(flight, 0.0);
        Self {
            flight,
            made: 0,
            from: start,
            to: start,
            turns: [0.0; 3],
            phases: std::array::from_fn(|n| (TAU * 0.11 * ((n + 1) * (n + 1)) as f64).sin_cos()),
            noise: Chance::new(flight.seed() ^ 0x0050_756e_6473),
            hiss: 0.0,
            rumble: 0.0,
            cut: [(0.0, 0.0); 2],
        }
    }

    /// Appends samples up to, but not including, this number.
    pub fn up_to(&mut self, end: u64, samples: &mut Vec<f32>) {
        samples.extend((self.made..end).map(|_| self.next()));
    }

    fn next(&mut self) -> f32 {
        let step = self.made % READ_EVERY;
        if step == 0 {
            self.from = self.to;
            self.to = Speeds::at(self.flight, (self.made + READ_EVERY) as f64 / f64::from(HZ));
        }
        self.made += 1;
        let now = self.from.between(self.to, step as f64 / READ_EVERY as f64);
        let hz = [BLADES_HZ * now.rotor, TAIL_HZ * now.rotor, WHINE_HZ * now.engine];
        for (turns, hz) in self.turns.iter_mut().zip(hz) {
            *turns = (*turns + hz / f64::from(HZ)).fract();
        }
        let [blade, tail, whine] = self.turns;

        let white = self.noise.between(-1.0, 1.0);
        self.hiss += 0.30 * (white - self.hiss);
        self.rumble += 0.02 * (white - self.rumble);
        let wave = |turns: f64| (TAU * turns).sin();
        // One sine and one cosine, turned on from harmonic to harmonic.
        let (sin, cos) = (TAU * blade).sin_cos();
        let mut at = (sin, cos);
        let mut rotor = 0.0;
        for (k, (phase_sin, phase_cos)) in HARMONICS.iter().zip(&self.phases) {
            rotor += k * (at.0 * phase_cos + at.1 * phase_sin);
            at = (at.0 * cos + at.1 * sin, at.1 * cos - at.0 * sin);
        }
        let slap = (0.5 + 0.5 * cos).powi(3);
        let wind = (now.air / 90.0).clamp(0.0, 1.2).powi(2);
        let mixed = now.rotor.powi(2) * (0.13 * rotor + 0.5 * slap * self.hiss)
            + now.rotor.powi(2) * (0.10 * wave(tail) + 0.06 * wave(2.0 * tail) + 0.03 * wave(3.0 * tail))
            + now.engine.powi(2) * (0.035 * wave(whine) + 0.012 * wave(2.0 * whine) + 0.30 * self.hiss)
            + wind * (0.5 * self.hiss + 2.0 * self.rumble)
            + 0.006 * white;
        let cut = self.low_cut(mixed);
        // Bends instead of clipping.
        (0.9 * (LEVEL * 1.6 * cut).tanh()) as f32
    }

    /// Twice a first-order high pass.
    fn low_cut(&mut self, sample: f64) -> f64 {
        let keep = 1.0 / (1.0 + TAU * LOW_CUT_HZ / f64::from(HZ));
        self.cut.iter_mut().fold(sample, |input, (last_in, last_out)| {
            *last_out = keep * (*last_out + input - *last_in);
            *last_in = input;
            *last_out
        })
    }
}
