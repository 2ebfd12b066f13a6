//! What the camera sees at one moment: the truth of the flight, and the attitude and place that belong to it.
//!
//! The logs know neither attitude nor place; both are made up here from speed, height and heading, as scenery only.

use super::super::flight::Flight;
use std::f64::consts::TAU;

const KT_M_S: f64 = 0.514_444;
const FT_M: f64 = 0.3048;
/// Standard acceleration of free fall, m/s^2 (ISO 80000-3).
const G: f64 = 9.806_65;
/// Steps of the way over ground, in seconds.
const STEP_S: f64 = 0.1;
/// Eyes above the skids, in metres.
const EYE_M: f64 = 1.7;
/// Half the time over which speed and heading are compared.
const HALF_S: f64 = 0.45;

/// A moment of the film.
pub(super) struct Moment {
    /// The air log's columns.
    pub air: [f64; 7],
    /// The engine log's columns.
    pub engine: [f64; 16],
    /// Eyes above the ground, in metres.
    pub height_m: f64,
    /// Metres east and north of where the flight began.
    pub place: (f64, f64),
    /// Degrees.
    pub heading: f64,
    /// Radians, nose up positive.
    pub pitch: f64,
    /// Radians, right side down positive.
    pub bank: f64,
    /// How far the machine trembles, 0 to 1.
    pub shake: f64,
    /// Film time in seconds, for what moves by itself.
    pub film_s: f64,
}

/// The way over ground, stepwise.
pub(super) struct Track {
    places: Vec<(f64, f64)>,
    start: f64,
}

impl Track {
    /// Follows the flight from the film's first moment to its last.
    pub fn new(flight: &Flight, end_s: f64) -> Self {
        let start = flight.true_time(0.0);
        let steps = ((end_s + 2.0) / STEP_S).ceil() as u32;
        let mut place = (0.0, 0.0);
        let mut places = vec![place];
        for i in 0..steps {
            let air = flight.air(start + (f64::from(i) + 0.5) * STEP_S);
            let (sin, cos) = air[4].to_radians().sin_cos();
            let metres = air[6] * KT_M_S * STEP_S;
            place = (place.0 + metres * sin, place.1 + metres * cos);
            places.push(place);
        }
        Self { places, start }
    }

    /// Where the way ends.
    pub fn last(&self) -> (f64, f64) {
        self.places[self.places.len() - 1]
    }

    fn at(&self, t: f64) -> (f64, f64) {
        let steps = ((t - self.start) / STEP_S).clamp(0.0, (self.places.len() - 2) as f64);
        let (i, part) = (steps as usize, steps.fract());
        let (a, b) = (self.places[i], self.places[i + 1]);
        (a.0 + part * (b.0 - a.0), a.1 + part * (b.1 - a.1))
    }
}

impl Moment {
    pub fn new(flight: &Flight, track: &Track, film_s: f64) -> Self {
        let t = flight.true_time(film_s);
        let (air, engine) = (flight.air(t), flight.engine(t));
        let (before, after) = (flight.air(t - HALF_S), flight.air(t + HALF_S));
        let turned = (after[4] - before[4] + 540.0).rem_euclid(360.0) - 180.0;
        let turn = turned.to_radians() / (2.0 * HALF_S);
        let faster = (after[0] - before[0]) * KT_M_S / (2.0 * HALF_S);
        let speed = air[0] * KT_M_S;
        let soft = |v: f64, most: f64| most * (v / most).tanh();
        let pitch_deg = 3.0 - 0.055 * air[0] - soft(1.6 * faster, 6.0) + soft(air[3] / 400.0, 3.0);
        let rotor = engine[0] / 100.0;
        Self {
            height_m: (air[1] - Flight::FIELD_FT).max(0.0) * FT_M + EYE_M,
            place: track.at(t),
            heading: air[4],
            pitch: pitch_deg.to_radians(),
            bank: soft((speed * turn / G).atan(), 20_f64.to_radians()),
            // The machine rocks most while the rotor gathers speed.
            shake: (0.75 * rotor.powi(2) + 1.2 * (rotor * (1.0 - rotor)).max(0.0)).min(1.0),
            film_s,
            air,
            engine,
        }
    }

    /// A tremble of one of several independent kinds, -1 to 1 at most, in step with nothing else.
    pub fn tremble(&self, kind: u32) -> f64 {
        let k = f64::from(kind);
        let wave = |hz: f64, phase: f64| (TAU * (hz * self.film_s + phase)).sin();
        self.shake
            * (0.5 * wave(7.3 + 1.7 * k, 0.13 * k)
                + 0.3 * wave(11.9 - 0.9 * k, 0.37 * k)
                + 0.2 * wave(3.1 + k, 0.7 * k))
    }
}
