//! The numbers by which events are told apart. Every default is common practice, no source; the owner can change each.

use super::phases::Number;

/// The rules for events.
#[derive(Debug, Clone, PartialEq)]
pub struct EventRules {
    /// Exceedances of one limit that are no further apart than this are one, in seconds.
    pub joined_gap: f64,
    /// What is looked at before a low rotor for its likely cause, in seconds.
    pub cause_within: f64,
    /// What is reported of the time before it, in seconds.
    pub lead_up: f64,
    /// A lamp that is lit for less is not an event, in seconds.
    pub lamp_least: f64,
    /// So many lamps that light together are a lamp test.
    pub lamp_test_lamps: f64,
    /// Together is within so long, in seconds.
    pub lamp_test_within: f64,
    /// If they are out again within so long, in seconds.
    pub lamp_test_out: f64,
    /// A touch of the ground that lasts at least so long is a touch-and-go, in seconds; one as long as
    /// [`crate::panel::PhaseRules::landed_for`] is a landing.
    pub touch_least: f64,
    /// Settling with power is possible when the sink is more than this, in feet a minute (FAA-H-8083-21, from memory).
    pub settling_sink: f64,
    /// At less than this over the ground, in knots.
    pub settling_speed: f64,
    /// With power, for so long, in seconds.
    pub settling_for: f64,
    /// How far an altimeter may be off the field's elevation before a flight, in feet (AIM 7-2-3, from memory).
    pub altimeter_within: f64,
    /// How long after a record of a start a cold engine is looked at, in seconds.
    pub cold_for: f64,
}

impl Default for EventRules {
    fn default() -> Self {
        Self {
            joined_gap: 2.0,
            cause_within: 3.0,
            lead_up: 5.0,
            lamp_least: 0.2,
            lamp_test_lamps: 3.0,
            lamp_test_within: 0.5,
            lamp_test_out: 10.0,
            touch_least: 3.0,
            settling_sink: 300.0,
            settling_speed: 15.0,
            settling_for: 3.0,
            altimeter_within: 75.0,
            cold_for: 5.0,
        }
    }
}

impl EventRules {
    /// Every number, by its key in the panel file.
    pub(super) const NUMBERS: [Number<Self>; 13] = [
        ("joined_gap", |r| &mut r.joined_gap),
        ("cause_within", |r| &mut r.cause_within),
        ("lead_up", |r| &mut r.lead_up),
        ("lamp_least", |r| &mut r.lamp_least),
        ("lamp_test_lamps", |r| &mut r.lamp_test_lamps),
        ("lamp_test_within", |r| &mut r.lamp_test_within),
        ("lamp_test_out", |r| &mut r.lamp_test_out),
        ("touch_least", |r| &mut r.touch_least),
        ("settling_sink", |r| &mut r.settling_sink),
        ("settling_speed", |r| &mut r.settling_speed),
        ("settling_for", |r| &mut r.settling_for),
        ("altimeter_within", |r| &mut r.altimeter_within),
        ("cold_for", |r| &mut r.cold_for),
    ];
}
