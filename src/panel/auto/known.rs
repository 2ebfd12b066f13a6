//! Columns that are known by their name, and the instrument that each becomes.
//!
//! Names are common practice, no source. `RRPM` is missing on purpose: it is a rotor in one log and a right engine in the
//! next. A bare `Altitude` does not say what it is counted from, and an altitude from satellites never belongs on an
//! altimeter: both become plates. A track is not a heading, and is never called one.

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
    /// Column names, compared without regard to case.
    pub names: &'static [&'static str],
    /// Units in which it is taken.
    pub units: &'static [&'static str],
    pub title: &'static [&'static str],
    pub decimals: u8,
    pub make: Make,
}

const fn known(
    key: &'static str,
    names: &'static [&'static str],
    units: &'static [&'static str],
    title: &'static [&'static str],
    decimals: u8,
    make: Make,
) -> Known {
    Known { key, names, units, title, decimals, make }
}

const SPEED: &[&str] = &["kt", "mph", "km/h"];
const OVER_GROUND: &[&str] = &["kt", "mph", "km/h", "m/s"];
const HEIGHT: &[&str] = &["ft", "m"];
const HEAT: &[&str] = &["°C", "°F"];
const VOLUME: &[&str] = &["US gal", "L", "lb", "kg"];

/// In the order in which they take their places. Two entries with one key are two dresses of one quantity: the first found
/// is shown.
pub(super) const KNOWN: [Known; 23] = [
    known("airspeed", &["IAS", "Airspeed", "Indicated Airspeed"], SPEED, &["AIRSPEED"], 0, Make::Dial),
    known("rotor", &["Rotor", "Rotor RPM", "NR"], &["%", "rpm"], &["ROTOR"], 0, Make::Rotor),
    known("engine", &["RPM", "Engine", "Engine RPM"], &["%", "rpm"], &["ENGINE"], 0, Make::Engine),
    known(
        "altitude",
        &["Indicated Altitude", "Altitude Indicated", "Baro Altitude", "Baro Alt"],
        HEIGHT,
        &["ALT"],
        0,
        Make::Indicated,
    ),
    known("altitude", &["Pressure Altitude", "Pressure Alt", "PALT"], HEIGHT, &["ALT"], 0, Make::Pressure),
    known("egt", &["EGT", "TOT", "Exhaust Gas Temperature"], HEAT, &["EGT"], 0, Make::Upright),
    known("vertical_speed", &["Vertical Speed", "VSI", "VSpd", "VS"], &["ft/min", "m/s"], &[], 0, Make::VerticalSpeed),
    known("fuel_flow", &["Fuel Flow", "FF"], &["US gal/h", "L/h", "lb/h", "kg/h"], &["FUEL FLOW"], 1, Make::Upright),
    known(
        "gearbox_t",
        &["Gearbox T", "Gearbox Oil T", "Gearbox Temperature"],
        HEAT,
        &["GEARBOX", "OIL T"],
        0,
        Make::Upright,
    ),
    known("oil_p", &["Oil P", "OILP", "Oil Pressure"], &["psi", "bar", "kPa"], &["OIL P"], 0, Make::Upright),
    known("oil_t", &["Oil T", "OILT", "Oil Temperature"], HEAT, &["OIL T"], 0, Make::Upright),
    known("fuel", &["Fuel", "Fuel Quantity"], VOLUME, &["FUEL"], 1, Make::Plate),
    known("volts", &["Volts", "BAT", "Bus Voltage"], &["V"], &["VOLTS"], 1, Make::Plate),
    known("heading", &["Heading", "HDG"], &["deg"], &["HEADING"], 0, Make::Plate),
    known("ground_speed", &["Ground Speed", "GS", "GPS Speed", "Groundspeed"], OVER_GROUND, &["GND SPEED"], 0, Make::Plate),
    known("track", &["Track", "Track True", "GPS Track", "COG", "Course"], &["deg"], &["TRACK"], 0, Make::Plate),
    known(
        "gnss_altitude",
        &["GPS Altitude", "GNSS Altitude", "GPS Alt", "AltGPS", "GPSAlt", "GNSS Altitude MSL", "GNSS Altitude Ellipsoid", "GNSS Altitude Geoid"],
        HEIGHT,
        &["GNSS ALT"],
        0,
        Make::Plate,
    ),
    // Of a logger, not of the aircraft's own static system: a plate, and no altimeter.
    known("pressure_altitude", &["Pressure Altitude 1013 hPa"], HEIGHT, &["PRESS ALT"], 0, Make::Plate),
    known("elevation", &["Elevation"], HEIGHT, &["ELEVATION"], 0, Make::Plate),
    known("bare_altitude", &["Altitude", "ALT"], HEIGHT, &["ALTITUDE"], 0, Make::Plate),
    known("oat", &["OAT", "Outside Air Temperature"], HEAT, &["OAT"], 0, Make::Plate),
    known("manifold", &["MAP", "Manifold Pressure"], &["inHg", "hPa"], &["MANIFOLD"], 1, Make::Plate),
    known("amps", &["AMP", "Amps"], &["A"], &["AMPS"], 0, Make::Plate),
];
