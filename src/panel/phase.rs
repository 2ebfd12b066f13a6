//! The phases of a flight: their names, and the rule of each with the owner's numbers.
//!
//! Names and their order follow the phases of flight of the CAST/ICAO Common Taxonomy Team (Phase of Flight: Definitions and
//! Usage Notes, 1.3, April 2013: standing, taxi with air taxi, take-off, en route with climb, cruise and descent,
//! manoeuvring, approach), extended by what a helicopter's rotor does.

use super::PhaseRules;

/// What the aircraft does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Phase {
    /// A rule lacks a channel, or its data.
    #[default]
    NotJudged,
    /// The rotor stands.
    Standing,
    /// From the rotor's first turn until it has joined the engine.
    RotorStart,
    /// On the ground, joined, before a flight.
    RunUp,
    /// On the ground, and nothing more is known, or a flight is over and the rotor has not been let run down.
    OnGround,
    /// The rotor runs down, ahead of the engine.
    RunDown,
    /// Flying on the spot.
    Hover,
    /// Flying slowly and low.
    HoverTaxi,
    /// Flying low along the ground, slower than cruise.
    AirTaxi,
    /// From a hover or from the ground to flying speed.
    TakeOff,
    /// Gaining height.
    Climb,
    /// Flying level with speed.
    Cruise,
    /// Losing height.
    Descent,
    /// A low descent that ends in a hover or on the ground.
    Approach,
    /// Sinking while the engine does not drive the rotor.
    Autorotation,
    /// Flying, and no other rule holds.
    Manoeuvring,
}

impl Phase {
    /// Every phase.
    pub const ALL: [Self; 16] = [
        Self::NotJudged,
        Self::Standing,
        Self::RotorStart,
        Self::RunUp,
        Self::OnGround,
        Self::RunDown,
        Self::Hover,
        Self::HoverTaxi,
        Self::AirTaxi,
        Self::TakeOff,
        Self::Climb,
        Self::Cruise,
        Self::Descent,
        Self::Approach,
        Self::Autorotation,
        Self::Manoeuvring,
    ];

    /// The phase of this name, in small or large letters.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|phase| phase.name().eq_ignore_ascii_case(name))
    }

    /// Its name on a picture and in the ledger.
    pub const fn name(self) -> &'static str {
        match self {
            Self::NotJudged => "NOT JUDGED",
            Self::Standing => "STANDING",
            Self::RotorStart => "ROTOR START",
            Self::RunUp => "RUN-UP",
            Self::OnGround => "ON GROUND",
            Self::RunDown => "RUN-DOWN",
            Self::Hover => "HOVER",
            Self::HoverTaxi => "HOVER TAXI",
            Self::AirTaxi => "AIR TAXI",
            Self::TakeOff => "TAKE-OFF",
            Self::Climb => "CLIMB",
            Self::Cruise => "CRUISE",
            Self::Descent => "DESCENT",
            Self::Approach => "APPROACH",
            Self::Autorotation => "AUTOROTATION",
            Self::Manoeuvring => "MANOEUVRING",
        }
    }

    /// Whether the aircraft is on the ground; none where that is not known.
    pub const fn on_ground(self) -> Option<bool> {
        match self {
            Self::NotJudged => None,
            Self::Standing | Self::RotorStart | Self::RunUp | Self::OnGround | Self::RunDown => Some(true),
            _ => Some(false),
        }
    }

    /// The rule, with the owner's numbers, as a report prints it.
    pub fn rule(self, r: &PhaseRules) -> String {
        let flying = format!(
            "two of height above {} ft, speed above {} kt and power above the owner's figure, for {} s",
            r.lift_off_height, r.lift_off_speed, r.lift_off_for
        );
        match self {
            Self::NotJudged => "a channel that a rule needs is missing or stale".to_owned(),
            Self::Standing => format!("on the ground, rotor below {} %", r.stopped),
            Self::RotorStart => {
                format!(
                    "rotor above {} %, not yet within {} % of the engine for {} s",
                    r.stopped, r.joined, r.joined_for
                )
            }
            Self::RunUp => format!("on the ground, rotor within {} % of the engine, before a flight", r.joined),
            Self::OnGround => format!(
                "two of height, speed and power not so ({flying}), or rotor or engine below {} %, for {} s",
                r.stopped, r.landed_for
            ),
            Self::RunDown => {
                format!(
                    "on the ground, rotor more than {} % ahead of the engine for {} s",
                    r.freewheeling, r.rejoined_for
                )
            }
            Self::Hover => format!(
                "flying ({flying}); ground speed below {} kt and vertical speed within {} ft/min for {} s",
                r.hover_speed, r.hover_climb, r.hover_for
            ),
            Self::HoverTaxi => format!(
                "flying; ground speed {} to {} kt below {} ft for {} s",
                r.hover_speed, r.hover_taxi_speed, r.hover_taxi_height, r.taxi_for
            ),
            Self::AirTaxi => format!(
                "flying; {} to {} kt below {} ft, vertical speed within {} ft/min, for {} s",
                r.hover_speed, r.cruise_airspeed, r.air_taxi_height, r.climb, r.taxi_for
            ),
            Self::TakeOff => {
                format!("from a hover or the ground up to {} kt, if within {} s", r.take_off_speed, r.take_off_within)
            }
            Self::Climb | Self::Descent => format!(
                "flying; vertical speed beyond {} ft/min for {} s, until within {} ft/min for {} s",
                r.climb, r.climb_for, r.climb_left, r.climb_left_for
            ),
            Self::Cruise => format!(
                "flying; airspeed above {} kt and vertical speed within {} ft/min for {} s",
                r.cruise_airspeed, r.climb, r.cruise_for
            ),
            Self::Approach => format!("a descent below {} ft that ends in a hover or on the ground", r.approach_height),
            Self::Autorotation => format!(
                "flying; sink above {} ft/min for {} s with the rotor more than {} % ahead, or the engine at idle, until \
                 within {} % for {} s",
                r.autorotation_sink, r.autorotation_for, r.freewheeling, r.joined, r.rejoined_for
            ),
            Self::Manoeuvring => "flying, and no other rule holds".to_owned(),
        }
    }
}
