//! The units this program knows.
//!
//! Factors follow from the definitions (international foot and pound of 1959, US gallon of 231 cubic inches, standard
//! gravity 9.80665 m/s2), the conventional inch of mercury from NIST SP 811 (2008), Appendix B;
//! `tests/published_units.rs` holds them against a table. Spellings: common practice, no source.
//!
//! In logs a bare `C` or `F` is a temperature, `g` the load factor (never grams), and a bare gallon the US gallon.

use super::{Dimension, Unit};
use Dimension::{
    Acceleration, Angle, Current, Density, Force, Frequency, Length, Mass, MassFlow, Power, Pressure, Ratio, Rotation,
    Speed, Temperature, Time, Torque, Voltage, Volume, VolumeFlow,
};

const fn unit(
    symbol: &'static str,
    dimension: Dimension,
    (numerator, denominator): (u64, u64),
    aliases: &'static [&'static str],
) -> Unit {
    Unit { symbol, dimension, numerator, denominator, shift: 0, aliases }
}

const fn temperature(
    symbol: &'static str,
    (numerator, denominator): (u64, u64),
    shift: i64,
    aliases: &'static [&'static str],
) -> Unit {
    Unit { symbol, dimension: Temperature, numerator, denominator, shift, aliases }
}

/// pi * 10^15, rounded to a whole number: relative error 8e-17, below the last place of an f64.
const PI_E15: u64 = 3_141_592_653_589_793;
const E15: u64 = 1_000_000_000_000_000;

/// Texts that differ from a unit below by their SI prefix only, and mean something else by a factor of a million or more.
pub(super) const OTHER_PREFIX: &[&str] = &["Mm", "MV", "MA", "mHz"];

/// Every unit, each dimension around its base unit (the first of its group).
pub(super) static UNITS: &[Unit] = &[
    unit("m/s", Speed, (1, 1), &["m/sec", "mps"]),
    unit("kt", Speed, (463, 900), &["kts", "kn", "knot", "knots"]),
    unit("km/h", Speed, (5, 18), &["kmh", "kph", "km/hr"]),
    unit("mph", Speed, (44_704, 100_000), &["mi/h"]),
    unit("ft/min", Speed, (508, 100_000), &["fpm", "feet/min", "ft/mn"]),
    unit("ft/s", Speed, (3048, 10_000), &["ft/sec", "fps"]),
    unit("m", Length, (1, 1), &["meter", "meters", "metre", "metres"]),
    unit("ft", Length, (3048, 10_000), &["foot", "feet"]),
    unit("km", Length, (1000, 1), &[]),
    unit("cm", Length, (1, 100), &[]),
    unit("mm", Length, (1, 1000), &[]),
    unit("in", Length, (254, 10_000), &["inch", "inches"]),
    unit("nmi", Length, (1852, 1), &["NM", "nautical miles"]),
    unit("mi", Length, (1_609_344, 1000), &["statute mile", "statute miles"]),
    unit("rad/s", Rotation, (1, 1), &["rad/sec"]),
    unit("rpm", Rotation, (PI_E15, 30 * E15), &["r/min", "rev/min", "1/min"]),
    unit("deg/s", Rotation, (PI_E15, 180 * E15), &["°/s", "deg/sec", "dps"]),
    unit("Hz", Frequency, (1, 1), &["hertz"]),
    unit("kHz", Frequency, (1000, 1), &[]),
    unit("MHz", Frequency, (1_000_000, 1), &[]),
    unit("%", Ratio, (1, 1), &["percent", "pct"]),
    temperature("K", (1, 1), 0, &["kelvin"]),
    temperature("°C", (1, 1), 27_315, &["C", "degC", "deg C", "℃", "celsius"]),
    temperature("°F", (5, 9), 45_967, &["F", "degF", "deg F", "℉", "fahrenheit"]),
    temperature("°R", (5, 9), 0, &["degR", "deg R", "rankine"]),
    unit("Pa", Pressure, (1, 1), &["pascal"]),
    unit("hPa", Pressure, (100, 1), &["hectopascal"]),
    unit("kPa", Pressure, (1000, 1), &[]),
    unit("mbar", Pressure, (100, 1), &["mb", "millibar", "millibars"]),
    unit("bar", Pressure, (100_000, 1), &["bars"]),
    unit("psi", Pressure, (44_482_216_152_605, 6_451_600_000), &["psig", "lbf/in2", "lb/in2"]),
    unit("inHg", Pressure, (3_386_389, 1000), &["in Hg", "in-Hg", "\"Hg", "in.Hg"]),
    unit("mmHg", Pressure, (133_322_387_415, 1_000_000_000), &[]),
    unit("atm", Pressure, (101_325, 1), &["standard atmosphere"]),
    unit("V", Voltage, (1, 1), &["volt", "volts"]),
    unit("mV", Voltage, (1, 1000), &[]),
    unit("A", Current, (1, 1), &["amp", "amps", "ampere", "amperes"]),
    unit("mA", Current, (1, 1000), &[]),
    unit("L", Volume, (1, 1), &["l", "ltr", "liter", "liters", "litre", "litres"]),
    unit("US gal", Volume, (3_785_411_784, 1_000_000_000), &["gal", "gals", "gallon", "gallons", "usg"]),
    unit("imp gal", Volume, (454_609, 100_000), &["imperial gal", "imperial gallons"]),
    unit("US qt", Volume, (946_352_946, 1_000_000_000), &["qt", "quart", "quarts"]),
    unit("L/h", VolumeFlow, (1, 1), &["l/h", "l/hr", "lph", "litres/h", "liters/h"]),
    unit("US gal/h", VolumeFlow, (3_785_411_784, 1_000_000_000), &["gph", "gal/h", "gal/hr", "US gal/hr", "usg/h"]),
    unit("imp gal/h", VolumeFlow, (454_609, 100_000), &["imperial gal/h"]),
    unit("kg", Mass, (1, 1), &["kgs", "kilogram", "kilograms"]),
    unit("lb", Mass, (45_359_237, 100_000_000), &["lbs", "pound", "pounds"]),
    unit("oz", Mass, (45_359_237, 1_600_000_000), &["ounce", "ounces"]),
    unit("slug", Mass, (44_482_216_152_605, 3_048_000_000_000), &["slugs"]),
    unit("kg/m3", Density, (1, 1), &["kg/m³", "kg/m^3"]),
    unit("kg/L", Density, (1000, 1), &["kg/l", "g/cm3"]),
    unit("lb/US gal", Density, (453_592_370_000, 3_785_411_784), &["lb/gal", "lbs/gal", "lb/usg"]),
    unit("kg/h", MassFlow, (1, 1), &["kg/hr"]),
    unit("lb/h", MassFlow, (45_359_237, 100_000_000), &["lb/hr", "lbs/h", "lbs/hr", "pph"]),
    unit("s", Time, (1, 1), &["sec", "secs", "second", "seconds"]),
    unit("ms", Time, (1, 1000), &["msec", "millis", "millisecond", "milliseconds"]),
    unit("us", Time, (1, 1_000_000), &["µs", "μs", "usec", "micros", "microsecond", "microseconds"]),
    unit("ns", Time, (1, 1_000_000_000), &["nsec", "nanos", "nanosecond", "nanoseconds"]),
    unit("d", Time, (86_400, 1), &["day", "days"]),
    unit("min", Time, (60, 1), &["mins", "minute", "minutes"]),
    unit("h", Time, (3600, 1), &["hr", "hrs", "hour", "hours"]),
    unit("rad", Angle, (1, 1), &["radian", "radians"]),
    unit("deg", Angle, (PI_E15, 180 * E15), &["°", "º", "˚", "degree", "degrees"]),
    unit("m/s2", Acceleration, (1, 1), &["m/s²", "m/s^2"]),
    unit("g", Acceleration, (980_665, 100_000), &["G", "Gs"]),
    unit("W", Power, (1, 1), &["watt", "watts"]),
    unit("kW", Power, (1000, 1), &[]),
    unit("hp", Power, (74_569_987_158_227, 100_000_000_000), &["horsepower"]),
    unit("PS", Power, (73_549_875, 100_000), &["metric hp", "metric horsepower"]),
    unit("N m", Torque, (1, 1), &["Nm", "N·m", "N*m"]),
    unit("ft lbf", Torque, (13_558_179_483_314, 10_000_000_000_000), &["ft lb", "ft-lb", "lb-ft", "lbf ft"]),
    unit("in lbf", Torque, (112_984_829_027_617, 1_000_000_000_000_000), &["in lb", "in-lb"]),
    unit("N", Force, (1, 1), &["newton", "newtons"]),
    unit("lbf", Force, (44_482_216_152_605, 10_000_000_000_000), &[]),
];
