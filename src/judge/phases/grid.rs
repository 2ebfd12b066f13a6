//! What all the channels of the rules say together, record by record.

use crate::judge::doubt::Doubt;
use crate::judge::said::{Said, converted, plus_minus};
use crate::panel::{PhaseChannels, PhaseRules};
use crate::session::Session;

/// What is known at one moment, in the units of the rules.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Moment {
    pub rotor: Option<f64>,
    pub engine: Option<f64>,
    /// Rotor minus engine; between two clocks only where these could not have made it.
    pub split: Option<f64>,
    pub ground_speed: Option<f64>,
    pub airspeed: Option<f64>,
    pub vertical_speed: Option<f64>,
    /// Above the field.
    pub height: Option<f64>,
    pub power: Option<f64>,
}

/// Every moment at which a record begins or ceases to count.
pub(super) struct Grid {
    /// Session times in seconds, rising.
    pub times: Vec<f64>,
    /// One a time.
    pub moments: Vec<Moment>,
    pub plus_minus_s: f64,
}

impl Grid {
    pub fn new(rules: &PhaseRules, session: &Session) -> Self {
        let ids = rules.channels.names().map(|name| session.find(name?));
        let mut steps: [Vec<(f64, Said)>; 7] = Default::default();
        for ((steps, id), (_, unit)) in steps.iter_mut().zip(ids).zip(PhaseChannels::ALL) {
            *steps = id.map(|id| converted(session, id, unit)).unwrap_or_default();
        }
        let mut times: Vec<f64> = steps.iter().flatten().map(|step| step.0).collect();
        times.sort_by(f64::total_cmp);
        times.dedup();
        let both = ids[0].zip(ids[1]);
        let doubt = both.and_then(|(rotor, engine)| Doubt::new(session, [rotor, engine], [&steps[0], &steps[1]]));
        let known = |split: f64, time: f64| {
            doubt
                .as_ref()
                .map(|doubt| doubt.three_sigma(time))
                .is_some_and(|hidden| hidden <= rules.joined || split.abs() > hidden)
        };
        let mut next = [0; 7];
        let moments = times.iter().map(|&time| {
            let mut values = [None; 7];
            for ((value, steps), next) in values.iter_mut().zip(&steps).zip(&mut next) {
                while steps.get(*next).is_some_and(|step| step.0 <= time) {
                    *next += 1;
                }
                *value = match next.checked_sub(1).and_then(|i| steps.get(i)) {
                    Some((_, Said::Value(value))) => Some(*value),
                    _ => None,
                };
            }
            let [rotor, engine, ground_speed, airspeed, vertical_speed, altitude, power] = values;
            let split = rotor.zip(engine).map(|(rotor, engine)| rotor - engine).filter(|split| known(*split, time));
            let height = altitude.zip(rules.field_ft).map(|(altitude, field)| altitude - field);
            Moment { rotor, engine, split, ground_speed, airspeed, vertical_speed, height, power }
        });
        let moments = moments.collect();
        let used = ids.iter().zip(&steps).filter(|(_, steps)| !steps.is_empty());
        let plus_minus_s = used.filter_map(|(id, _)| plus_minus(session, (*id)?)).fold(0.0, f64::max);
        Self { times, moments, plus_minus_s }
    }
}
