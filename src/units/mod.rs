//! Units of measure: their text as loggers and pilots write it, and exact conversion between units of one dimension.
//!
//! A conversion factor is kept as a ratio of two whole numbers, as the definitions give it (1 ft = 0.3048 m is
//! 3048 / 10000), so that no factor carries a rounding of its own.

mod table;

use std::collections::HashMap;
use std::fmt;
use std::sync::LazyLock;

/// What a unit measures. Two units convert into each other when they share one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// Airspeed, ground speed, vertical speed.
    Speed,
    /// Height, distance.
    Length,
    /// Turning of a shaft, turn rate.
    Rotation,
    /// Vibration, radio. Kept apart from rotation: a tone may be any multiple of a shaft's turning.
    Frequency,
    /// Share of a whole.
    Ratio,
    /// Temperature.
    Temperature,
    /// Pressure.
    Pressure,
    /// Electric tension.
    Voltage,
    /// Electric current.
    Current,
    /// Quantity of fuel or oil by volume.
    Volume,
    /// Fuel flow by volume.
    VolumeFlow,
    /// Quantity of fuel by mass, weights.
    Mass,
    /// Fuel flow by mass.
    MassFlow,
    /// Density of fuel.
    Density,
    /// Time.
    Time,
    /// Direction, attitude.
    Angle,
    /// Load factor, acceleration.
    Acceleration,
    /// Power.
    Power,
    /// Torque.
    Torque,
    /// Force.
    Force,
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Speed => "speed",
            Self::Length => "length",
            Self::Rotation => "rotation",
            Self::Frequency => "frequency",
            Self::Ratio => "ratio",
            Self::Temperature => "temperature",
            Self::Pressure => "pressure",
            Self::Voltage => "voltage",
            Self::Current => "current",
            Self::Volume => "volume",
            Self::VolumeFlow => "volume flow",
            Self::Mass => "mass",
            Self::MassFlow => "mass flow",
            Self::Density => "density",
            Self::Time => "time",
            Self::Angle => "angle",
            Self::Acceleration => "acceleration",
            Self::Power => "power",
            Self::Torque => "torque",
            Self::Force => "force",
        })
    }
}

/// One unit: a value in it is `(value + shift / 100) * numerator / denominator` in its dimension's base unit.
#[derive(Debug, PartialEq, Eq)]
pub struct Unit {
    /// As this program writes it.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    /// Factor to the base unit: numerator.
    numerator: u64,
    /// Factor to the base unit: denominator.
    denominator: u64,
    /// Hundredths of this unit to add before the factor applies; zero but for temperatures.
    shift: i64,
    /// Other spellings.
    aliases: &'static [&'static str],
}

/// Why a value cannot be converted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum UnitError {
    /// The text is no unit of the table.
    #[error("`{text}` is not a known unit{}", nearest.map(|n| format!("; the nearest is `{n}`")).unwrap_or_default())]
    Unknown {
        /// The offending text.
        text: String,
        /// The known spelling closest to it, where one is close.
        nearest: Option<&'static str>,
    },
    /// The two units measure different things.
    #[error("`{from}` ({from_dimension}) cannot be turned into `{to}` ({to_dimension})")]
    Dimensions {
        /// Unit of the value.
        from: &'static str,
        /// What it measures.
        from_dimension: Dimension,
        /// Unit wanted.
        to: &'static str,
        /// What that measures.
        to_dimension: Dimension,
    },
}

impl Unit {
    /// The unit that a text names.
    ///
    /// Exact spellings come first. Otherwise case, blanks and a final full stop are forgiven, as long as only one unit
    /// can be meant (`PSI`, `Deg C`). Texts of one letter are taken as written; `nm` (nautical mile or newton metre) is
    /// refused, and so is another SI prefix of a unit that is here (`Mm`, `mHz`).
    ///
    /// # Errors
    /// [`UnitError::Unknown`], with the nearest spelling.
    pub fn parse(text: &str) -> Result<&'static Self, UnitError> {
        let text = text.trim();
        Self::find(text).ok_or_else(|| UnitError::Unknown { text: text.to_owned(), nearest: nearest(text) })
    }

    /// The same, without a search for the nearest spelling where there is none.
    pub fn find(text: &str) -> Option<&'static Self> {
        let text = text.trim();
        let spellings = &*SPELLINGS;
        let loosely = || {
            let plain = plain(text);
            let may_vary = plain.chars().count() > 1 && !table::OTHER_PREFIX.contains(&text);
            spellings.plain.get(&plain).copied().flatten().filter(|_| may_vary)
        };
        spellings.exact.get(text).copied().or_else(loosely)
    }

    /// Turns a value in this unit into `to`, with no rounding but that of the arithmetic (a few units in the last place).
    ///
    /// # Errors
    /// [`UnitError::Dimensions`] where the two measure different things.
    pub fn convert(&self, value: f64, to: &Self) -> Result<f64, UnitError> {
        if self == to {
            return Ok(value);
        }
        if self.dimension != to.dimension {
            return Err(UnitError::Dimensions {
                from: self.symbol,
                from_dimension: self.dimension,
                to: to.symbol,
                to_dimension: to.dimension,
            });
        }
        let (num, den) = self.ratio(to);
        // The two shifts are joined in whole numbers: taking 273.15 off after adding it would leave crumbs.
        let shift = i128::from(self.shift) * num - i128::from(to.shift) * den;
        Ok(value * num as f64 / den as f64 + shift as f64 / (den as f64 * 100.0))
    }

    /// How many of `to` make one step of this unit, as a reduced ratio.
    fn ratio(&self, to: &Self) -> (i128, i128) {
        let num = u128::from(self.numerator) * u128::from(to.denominator);
        let den = u128::from(self.denominator) * u128::from(to.numerator);
        let common = greatest_common_divisor(num, den);
        // Every entry of the table stays below 2^58, so that the products fit.
        ((num / common) as i128, (den / common) as i128)
    }

    fn spellings(&self) -> impl Iterator<Item = &'static str> {
        std::iter::once(self.symbol).chain(self.aliases.iter().copied())
    }
}

/// What every spelling names.
struct Spellings {
    exact: HashMap<&'static str, &'static Unit>,
    /// Without case, blanks and full stop; none where several units can be meant.
    plain: HashMap<String, Option<&'static Unit>>,
}

/// Made once: cells of texts are looked up by the thousand.
static SPELLINGS: LazyLock<Spellings> = LazyLock::new(|| {
    let (mut exact, mut loose) = (HashMap::new(), HashMap::new());
    for unit in table::UNITS {
        for spelling in unit.spellings() {
            exact.entry(spelling).or_insert(unit);
            if spelling.chars().count() > 1 {
                let meant = loose.entry(plain(spelling)).or_insert(Some(unit));
                *meant = meant.filter(|known| std::ptr::eq(*known, unit));
            }
        }
    }
    Spellings { exact, plain: loose }
});

impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.symbol)
    }
}

/// The known spelling closest to a text, where one is close enough to be a slip of the pen.
fn nearest(text: &str) -> Option<&'static str> {
    let wanted = plain(text);
    let slips = 1.max(wanted.chars().count() / 3);
    table::UNITS
        .iter()
        .flat_map(Unit::spellings)
        .map(|s| (strsim::damerau_levenshtein(&plain(s), &wanted), s))
        .filter(|(distance, s)| *distance <= slips && s.chars().count() > 1)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, s)| s)
}

/// Lower case, without blanks, underscores or a final full stop; one sign for the look-alikes of the degree sign.
fn plain(text: &str) -> String {
    let text = text.trim().trim_end_matches('.');
    text.chars()
        .filter(|c| !c.is_whitespace() && *c != '_')
        .map(|c| if c == 'º' || c == '˚' { '°' } else { c })
        .flat_map(char::to_lowercase)
        .collect()
}

const fn greatest_common_divisor(mut a: u128, mut b: u128) -> u128 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    if a == 0 { 1 } else { a }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unit(text: &str) -> &'static Unit {
        Unit::parse(text).unwrap()
    }

    #[test]
    fn every_spelling_means_one_unit_only() {
        for unit in table::UNITS {
            for spelling in unit.spellings() {
                assert_eq!(Unit::parse(spelling), Ok(unit), "{spelling}");
                let count = table::UNITS.iter().flat_map(Unit::spellings).filter(|s| *s == spelling).count();
                assert_eq!(count, 1, "`{spelling}` stands twice in the table");
            }
            assert!(unit.numerator < 1 << 58 && unit.denominator < 1 << 58, "{unit}");
        }
    }

    #[test]
    fn texts_as_loggers_write_them() {
        for (text, symbol) in [
            ("kts", "kt"),
            ("KT", "kt"),
            (" Knots ", "kt"),
            ("fpm", "ft/min"),
            ("FT/MIN", "ft/min"),
            ("RPM", "rpm"),
            ("degC", "°C"),
            ("deg C", "°C"),
            ("ºC", "°C"),
            ("C", "°C"),
            ("°f", "°F"),
            ("PSI", "psi"),
            ("In Hg", "inHg"),
            ("mb", "mbar"),
            ("GPH", "US gal/h"),
            ("gal/h", "US gal/h"),
            ("l/h", "L/h"),
            ("L/hr", "L/h"),
            ("lbs", "lb"),
            ("pph", "lb/h"),
            ("sec.", "s"),
            ("hrs", "h"),
            ("°", "deg"),
            ("G", "g"),
            ("V", "V"),
            ("volts", "V"),
        ] {
            assert_eq!(unit(text).symbol, symbol, "{text}");
        }
    }

    #[test]
    fn case_decides_where_it_must() {
        assert_eq!(unit("mm").symbol, "mm");
        assert_eq!(unit("NM").symbol, "nmi");
        assert_eq!(unit("Nm").symbol, "N m");
        assert_eq!(unit("mV").symbol, "mV");
        for text in ["Mm", "nm", "M", "v", "", "KIAS", "MV", "mHz"] {
            assert!(Unit::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn an_unknown_text_names_its_neighbour() {
        assert_eq!(Unit::parse("knotts"), Err(UnitError::Unknown { text: "knotts".into(), nearest: Some("knots") }));
        assert_eq!(Unit::parse("widget"), Err(UnitError::Unknown { text: "widget".into(), nearest: None }));
    }

    #[test]
    fn dimensions_do_not_mix() {
        assert!(matches!(unit("kt").convert(1.0, unit("ft")), Err(UnitError::Dimensions { .. })));
        assert!(matches!(unit("rpm").convert(1.0, unit("%")), Err(UnitError::Dimensions { .. })));
    }

    proptest::proptest! {
        /// There and back again, for every pair of one dimension.
        #[test]
        fn conversion_is_its_own_inverse(value in -1e6f64..1e6, a in 0..table::UNITS.len(), b in 0..table::UNITS.len()) {
            let (a, b) = (&table::UNITS[a], &table::UNITS[b]);
            if let Ok(there) = a.convert(value, b) {
                let back = b.convert(there, a).unwrap();
                proptest::prop_assert!((back - value).abs() <= 1e-9 * value.abs().max(1.0), "{value} {a} {b} {back}");
            }
        }
    }
}
