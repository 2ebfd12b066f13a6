//! What a recorded column means, by its name.
//!
//! Names are common practice, no source. They are compared without regard to case, and `_`, `-`, `.` count as blanks. `RRPM` is
//! missing on purpose: it is a rotor in one log and a right engine in the next; beside `LRPM` it is the engine
//! ([`Meaning::of_engines`]). A bare `Altitude` does not say what it is counted from, a bare `SPD` not over what, an altitude
//! from satellites is no pressure altitude, a track is no heading, and a bare heading does not say its north.

use crate::units::{Dimension, Unit};

/// A quantity that formulae and panels know.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Meaning {
    /// Airspeed as indicated.
    IndicatedAirspeed,
    /// Airspeed corrected for position error.
    CalibratedAirspeed,
    /// Airspeed through the air mass.
    TrueAirspeed,
    /// Speed of the rotor.
    Rotor,
    /// Speed of the engine.
    Engine,
    /// Altitude by an altimeter's setting.
    IndicatedAltitude,
    /// Altitude on 1013.25 hPa.
    PressureAltitude,
    /// Altitude on 1013.25 hPa of a logger's own sensor, which is not joined to the aircraft's static system.
    LoggerPressureAltitude,
    /// Altitude from satellites, whatever its datum.
    GnssAltitude,
    /// Elevation of which nothing says what it is counted from or how it was measured.
    Elevation,
    /// An altitude that does not say what it is counted from.
    BareAltitude,
    /// Climb and descent.
    VerticalSpeed,
    /// Exhaust gas temperature.
    ExhaustTemperature,
    /// Fuel flow.
    FuelFlow,
    /// Temperature of the gearbox oil.
    GearboxTemperature,
    /// Engine oil pressure.
    OilPressure,
    /// Engine oil temperature.
    OilTemperature,
    /// Fuel by gauge.
    Fuel,
    /// Voltage of the bus.
    Volts,
    /// A heading that does not say its north.
    Heading,
    /// A heading from magnetic north.
    MagneticHeading,
    /// A heading from true north.
    TrueHeading,
    /// Speed over the ground.
    GroundSpeed,
    /// A speed that does not say through what or over what.
    BareSpeed,
    /// Direction over the ground.
    Track,
    /// Static temperature of the air outside.
    OutsideTemperature,
    /// Dew point of the air outside.
    DewPoint,
    /// Static pressure.
    StaticPressure,
    /// Impact pressure of the pitot tube.
    ImpactPressure,
    /// Manifold pressure.
    ManifoldPressure,
    /// Electric current.
    Current,
    /// Geographic latitude.
    Latitude,
    /// Geographic longitude.
    Longitude,
}

use Dimension::{Angle, Length, Mass, Pressure, Ratio, Rotation, Speed, Temperature, Voltage, Volume};
use Meaning::{
    BareAltitude, BareSpeed, CalibratedAirspeed, Current, DewPoint, Elevation, Engine, ExhaustTemperature, Fuel,
    FuelFlow, GearboxTemperature, GnssAltitude, GroundSpeed, Heading, ImpactPressure, IndicatedAirspeed,
    IndicatedAltitude, Latitude, LoggerPressureAltitude, Longitude, MagneticHeading, ManifoldPressure, OilPressure,
    OilTemperature, OutsideTemperature, PressureAltitude, Rotor, StaticPressure, Track, TrueAirspeed, TrueHeading,
    VerticalSpeed, Volts,
};

/// Every meaning, what it may measure, and the names that say so.
const TABLE: &[(Meaning, &[Dimension], &[&str])] = &[
    (IndicatedAirspeed, &[Speed], &["IAS", "Airspeed", "Indicated Airspeed", "Ind Airspeed", "KIAS"]),
    (CalibratedAirspeed, &[Speed], &["CAS", "Calibrated Airspeed", "KCAS"]),
    (TrueAirspeed, &[Speed], &["TAS", "True Airspeed", "KTAS"]),
    (Rotor, &[Ratio, Rotation], &["Rotor", "Rotor RPM", "Rotor Speed", "NR", "Main Rotor", "Main Rotor RPM"]),
    (Engine, &[Ratio, Rotation], &["RPM", "Engine", "Engine RPM", "Engine Speed", "Eng RPM", "E RPM", "N2", "NP"]),
    (
        IndicatedAltitude,
        &[Length],
        &["Indicated Altitude", "Altitude Indicated", "Baro Altitude", "Baro Alt", "AltInd", "Indicated Alt"],
    ),
    (PressureAltitude, &[Length], &["Pressure Altitude", "Pressure Alt", "PALT", "Press Alt", "AltP"]),
    (
        GnssAltitude,
        &[Length],
        &[
            "GPS Altitude",
            "GNSS Altitude",
            "GPS Alt",
            "AltGPS",
            "GPSAlt",
            "AltMSL",
            "Altitude MSL",
            "Altitude Ellipsoid",
            "GNSS Altitude MSL",
            "GNSS Altitude Ellipsoid",
            "GNSS Altitude Geoid",
        ],
    ),
    (LoggerPressureAltitude, &[Length], &["Pressure Altitude 1013 hPa"]),
    (Elevation, &[Length], &["Elevation"]),
    (BareAltitude, &[Length], &["Altitude", "ALT"]),
    (VerticalSpeed, &[Speed], &["Vertical Speed", "VSI", "VSpd", "VS", "Rate of Climb", "ROC"]),
    (
        ExhaustTemperature,
        &[Temperature],
        &["EGT", "TOT", "TIT", "MGT", "ITT", "Exhaust Gas Temperature", "Exhaust Gas T"],
    ),
    (FuelFlow, &[Dimension::VolumeFlow, Dimension::MassFlow], &["Fuel Flow", "FF", "FFlow"]),
    (
        GearboxTemperature,
        &[Temperature],
        &[
            "Gearbox T",
            "Gearbox Oil T",
            "Gearbox Temperature",
            "Gearbox Temp",
            "Xmsn Oil T",
            "Transmission Oil Temperature",
        ],
    ),
    (OilPressure, &[Pressure], &["Oil P", "OILP", "Oil Pressure", "Oil Press"]),
    (OilTemperature, &[Temperature], &["Oil T", "OILT", "Oil Temperature", "Oil Temp"]),
    (Fuel, &[Volume, Mass], &["Fuel", "Fuel Quantity", "Fuel Qty", "FQty", "Fuel Level"]),
    (Volts, &[Voltage], &["Volts", "BAT", "Bus Voltage", "Volt", "Bus Volts", "Volt1"]),
    (Heading, &[Angle], &["Heading", "HDG"]),
    (MagneticHeading, &[Angle], &["Heading Magnetic", "Magnetic Heading", "Heading M", "HDG M", "Mag Hdg"]),
    (TrueHeading, &[Angle], &["Heading True", "True Heading", "Heading T", "HDG T", "True Hdg"]),
    (GroundSpeed, &[Speed], &["Ground Speed", "GS", "GPS Speed", "Groundspeed", "GndSpd", "SOG"]),
    (BareSpeed, &[Speed], &["SPD", "Speed"]),
    (Track, &[Angle], &["Track", "GPS Track", "COG", "Course", "TRK", "Course over Ground", "Track True"]),
    (OutsideTemperature, &[Temperature], &["OAT", "Outside Air Temperature", "Outside Air Temp", "SAT"]),
    (DewPoint, &[Temperature], &["Dew Point", "Dewpoint", "DP"]),
    (StaticPressure, &[Pressure], &["Static Pressure", "Static P", "Ambient Pressure", "Ps"]),
    (ImpactPressure, &[Pressure], &["Impact Pressure", "Pitot Pressure", "Dynamic Pressure", "Qc"]),
    (ManifoldPressure, &[Pressure], &["MAP", "Manifold Pressure", "Manifold P"]),
    (Current, &[Dimension::Current], &["AMP", "Amps", "Current", "Amp1"]),
    (Latitude, &[Angle], &["Latitude", "Lat", "GPS Lat", "GPS Latitude"]),
    (Longitude, &[Angle], &["Longitude", "Lon", "Long", "Lng", "GPS Lon", "GPS Longitude"]),
];

/// How loggers tell the left engine from the right one; the longer word first.
const SIDES: [(&str, &str); 3] = [("left ", "right "), ("lh ", "rh "), ("l", "r")];

impl Meaning {
    /// What a column's name says, whatever its unit; none for a name that is not known.
    pub fn of_name(name: &str) -> Option<Self> {
        let name = plain(name);
        TABLE.iter().find(|(_, _, names)| names.iter().any(|known| plain(known) == name)).map(|row| row.0)
    }

    /// What a column means whose unit is stated, or not; none where the unit measures something else.
    pub fn of(name: &str, unit: Option<&Unit>) -> Option<Self> {
        let meaning = Self::of_name(name)?;
        unit.is_none_or(|unit| meaning.dimensions().contains(&unit.dimension)).then_some(meaning)
    }

    /// Whether the name says all: neither a datum nor a north is left open.
    pub fn is_definite(self) -> bool {
        !matches!(self, BareAltitude | BareSpeed | Elevation | GnssAltitude | Heading | Track)
    }

    /// A name without what loggers write differently: case, and the signs between words.
    pub fn plain(name: &str) -> String {
        plain(name)
    }

    /// Whether a column of this name holds directions.
    pub fn is_direction(name: &str) -> bool {
        matches!(Self::of_name(name), Some(Heading | MagneticHeading | TrueHeading | Track))
    }

    /// What two columns mean that say `L` and `R`, `LH` and `RH`, or `Left` and `Right` of one quantity of an engine, as the log of a twin
    /// does (`LRPM` and `RRPM`). Alone neither of them says that it is an engine's.
    pub fn of_engines(left: &str, right: &str) -> Option<Self> {
        let (left, right) = (plain(left), plain(right));
        let rest = SIDES.iter().find_map(|(l, r)| {
            let (left, right) = (left.strip_prefix(l)?, right.strip_prefix(r)?);
            (left == right).then_some(left)
        })?;
        let of_engine = [Engine, ManifoldPressure, FuelFlow, OilPressure, OilTemperature, ExhaustTemperature];
        Self::of_name(rest).filter(|meaning| of_engine.contains(meaning))
    }

    /// The unit that a column's name says by itself: revolutions a minute, volts, amperes, knots. That is no guess.
    pub fn unit_of_name(name: &str) -> Option<&'static str> {
        let name = plain(name);
        let sided = SIDES.iter().find_map(|(l, r)| name.strip_prefix(l).or_else(|| name.strip_prefix(r)));
        Some(match &*name {
            "volt" | "volts" => "V",
            "amp" | "amps" => "A",
            "kias" | "kcas" | "ktas" => "kt",
            whole if whole == "rpm" || sided == Some("rpm") => "rpm",
            _ => return None,
        })
    }

    /// What it may measure.
    pub fn dimensions(self) -> &'static [Dimension] {
        TABLE.iter().find(|row| row.0 == self).map_or(&[], |row| row.1)
    }
}

fn plain(name: &str) -> String {
    let spaced: String = name.chars().map(|c| if matches!(c, '_' | '-' | '.') { ' ' } else { c }).collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_name_means_one_thing() {
        let mut seen = std::collections::HashMap::new();
        for (meaning, dimensions, names) in TABLE {
            assert!(!dimensions.is_empty());
            for name in *names {
                assert_eq!(seen.insert(plain(name), meaning), None, "{name} twice");
            }
        }
    }

    #[test]
    fn two_engines_are_known_by_their_two_names_alone() {
        for (left, right, meaning) in [
            ("LRPM", "RRPM", Some(Engine)),
            ("LOILP", "ROILP", Some(OilPressure)),
            ("Left Fuel Flow", "right_fuel_flow", Some(FuelFlow)),
            ("RRPM", "LRPM", None),
            ("LRPM", "RMAP", None),
            // A latitude is no left `AT`, and tanks are no engines.
            ("LAT", "RAT", None),
            ("L Fuel", "R Fuel", None),
        ] {
            assert_eq!(Meaning::of_engines(left, right), meaning, "{left} {right}");
        }
        for (name, unit) in [
            ("rpm", Some("rpm")),
            ("LRPM", Some("rpm")),
            ("Volts", Some("V")),
            ("AMP", Some("A")),
            ("KIAS", Some("kt")),
            ("BAT", None),
            ("Rotor RPM", None),
            ("FF", None),
        ] {
            assert_eq!(Meaning::unit_of_name(name), unit, "{name}");
        }
    }

    #[test]
    fn names_as_loggers_write_them() {
        for (name, unit, meaning) in [
            ("oil_temp", Some("degC"), Some(OilTemperature)),
            (" IAS ", Some("kts"), Some(IndicatedAirspeed)),
            ("GPS-Speed", Some("m/s"), Some(GroundSpeed)),
            ("IAS", Some("psi"), None),
            ("IAS", None, Some(IndicatedAirspeed)),
            ("RRPM", Some("%"), None),
            ("Altitude", Some("ft"), Some(BareAltitude)),
            ("SPD", Some("kt"), Some(BareSpeed)),
            ("Speed", Some("rpm"), None),
            ("LSPD", Some("kt"), None),
            ("Track", Some("deg"), Some(Track)),
        ] {
            assert_eq!(Meaning::of(name, unit.map(|u| Unit::parse(u).unwrap())), meaning, "{name}");
        }
    }
}
