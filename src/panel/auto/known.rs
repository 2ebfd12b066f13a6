//! Columns that are known by their name, and the instrument that each becomes.
//!
//! A bare altitude does not say what it is counted from, a bare speed not over what, and an altitude from satellites never
//! belongs on an altimeter: all become plates. A track is not a heading, and is never called one.

use crate::meaning::Meaning;

/// How a known column is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Make {
    /// A round dial with the directions that pilots know: rising clockwise from the lower left.
    Dial,
    /// A round dial turned so that the usual value stands at twelve.
    Upright,
    /// Rotor speed: with the engine's, in percent both, one tachometer.
    Rotor,
    /// Engine speed.
    Engine,
    /// Climb and descent.
    VerticalSpeed,
    /// An altimeter whose setting nobody stated.
    Indicated,
    /// An altimeter that says that it shows pressure altitude.
    Pressure,
    /// A plate with a number.
    Plate,
}

/// A column that is known by its name.
pub(super) struct Known {
    /// Key of the instrument.
    pub key: &'static str,
    /// What its column means.
    pub meaning: Meaning,
    /// Units in which it is taken.
    pub units: &'static [&'static str],
    pub title: &'static [&'static str],
    pub decimals: u8,
    pub make: Make,
}

const fn known(
    key: &'static str,
    meaning: Meaning,
    units: &'static [&'static str],
    title: &'static [&'static str],
    decimals: u8,
    make: Make,
) -> Known {
    Known { key, meaning, units, title, decimals, make }
}

const SPEED: &[&str] = &["kt", "mph", "km/h"];
const OVER_GROUND: &[&str] = &["kt", "mph", "km/h", "m/s"];
const HEIGHT: &[&str] = &["ft", "m"];
const HEAT: &[&str] = &["°C", "°F"];
const VOLUME: &[&str] = &["US gal", "L", "lb", "kg"];

/// In the order in which they take their places. Two entries with one key are two dresses of one quantity: the first found
/// is shown.
pub(super) const KNOWN: [Known; 24] = [
    known("airspeed", Meaning::IndicatedAirspeed, SPEED, &["AIRSPEED"], 0, Make::Dial),
    known("rotor", Meaning::Rotor, &["%", "rpm"], &["ROTOR"], 0, Make::Rotor),
    known("engine", Meaning::Engine, &["%", "rpm"], &["ENGINE"], 0, Make::Engine),
    known("altitude", Meaning::IndicatedAltitude, HEIGHT, &["ALT"], 0, Make::Indicated),
    known("altitude", Meaning::PressureAltitude, HEIGHT, &["ALT"], 0, Make::Pressure),
    known("egt", Meaning::ExhaustTemperature, HEAT, &["EGT"], 0, Make::Upright),
    known("vertical_speed", Meaning::VerticalSpeed, &["ft/min", "m/s"], &[], 0, Make::VerticalSpeed),
    known("fuel_flow", Meaning::FuelFlow, &["US gal/h", "L/h", "lb/h", "kg/h"], &["FUEL FLOW"], 1, Make::Upright),
    known("gearbox_t", Meaning::GearboxTemperature, HEAT, &["GEARBOX", "OIL T"], 0, Make::Upright),
    known("oil_p", Meaning::OilPressure, &["psi", "bar", "kPa"], &["OIL P"], 0, Make::Upright),
    known("oil_t", Meaning::OilTemperature, HEAT, &["OIL T"], 0, Make::Upright),
    known("fuel", Meaning::Fuel, VOLUME, &["FUEL"], 1, Make::Plate),
    known("volts", Meaning::Volts, &["V"], &["VOLTS"], 1, Make::Plate),
    known("heading", Meaning::Heading, &["deg"], &["HEADING"], 0, Make::Plate),
    known("ground_speed", Meaning::GroundSpeed, OVER_GROUND, &["GND SPEED"], 0, Make::Plate),
    known("track", Meaning::Track, &["deg"], &["TRACK"], 0, Make::Plate),
    known("gnss_altitude", Meaning::GnssAltitude, HEIGHT, &["GNSS ALT"], 0, Make::Plate),
    known("pressure_altitude", Meaning::LoggerPressureAltitude, HEIGHT, &["PRESS ALT"], 0, Make::Plate),
    known("elevation", Meaning::Elevation, HEIGHT, &["ELEVATION"], 0, Make::Plate),
    known("bare_altitude", Meaning::BareAltitude, HEIGHT, &["ALTITUDE"], 0, Make::Plate),
    known("bare_speed", Meaning::BareSpeed, OVER_GROUND, &["SPEED"], 0, Make::Plate),
    known("oat", Meaning::OutsideTemperature, HEAT, &["OAT"], 0, Make::Plate),
    known("manifold", Meaning::ManifoldPressure, &["inHg", "hPa"], &["MANIFOLD"], 1, Make::Plate),
    known("amps", Meaning::Current, &["A"], &["AMPS"], 0, Make::Plate),
];
