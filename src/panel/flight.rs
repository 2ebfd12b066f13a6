//! The faces of flight: vertical speed and altitude, whose scales are the trade's and not the owner's.

use super::{Marking, Scale, Ticks};
use crate::units::Unit;

/// A vertical speed dial: zero at nine o'clock, full climb and full descent both end at three.
#[derive(Debug, Clone, PartialEq)]
pub struct VerticalSpeed {
    /// Name of the channel shown.
    pub channel: String,
    /// Unit on the face, one of [`VerticalSpeed::UNITS`].
    pub unit: String,
    /// The scale that [`VerticalSpeed::new`] makes: linear, half a turn each way.
    pub scale: Scale,
    /// Range markings, from the owner's panel file only.
    pub markings: Vec<Marking>,
}

impl VerticalSpeed {
    /// The units that the face takes, and its usual range in each.
    pub const UNITS: [(&'static str, f64); 2] = [("ft/min", 2000.0), ("m/s", 10.0)];

    /// A dial that ends at `range` up and down, in its unit. Nothing where the range has no round ticks, e.g. 1234.
    pub fn new(channel: String, unit: &str, range: f64) -> Option<Self> {
        let (short, halves) = ticks(range)?;
        let middle = [5, 4, 3, 2].into_iter().find(|n| halves % n == 0).unwrap_or(0);
        let half = range / 2.0;
        // Feet are counted in thousands on the face.
        let text = format!("{}", if unit == Self::UNITS[0].0 { half / 1000.0 } else { half });
        let scale = Scale {
            breakpoints: vec![(-range, -270.0), (0.0, -90.0), (range, 90.0)],
            ticks: Ticks { long: half, middle: f64::from(middle) * short, short },
            numerals: vec![(-half, text.clone()), (0.0, "0".to_owned()), (half, text)],
        };
        Some(Self { channel, unit: unit.to_owned(), scale, markings: Vec::new() })
    }
}

/// The step of the short ticks, of 1, 2 or 5 and noughts, and how many of them make half the range; about twenty a range.
fn ticks(range: f64) -> Option<(f64, u32)> {
    if !(1e-3..=1e6).contains(&range) {
        return None;
    }
    let decade = range.log10().floor() as i32 - 2;
    let steps = (decade..=decade + 2).flat_map(|d| [1.0, 2.0, 5.0].map(|f| f * 10f64.powi(d)));
    let counted = steps.map(|step| (step, range / 2.0 / step));
    let whole = counted.filter(|(_, n)| (n - n.round()).abs() < 1e-9 * n && (6.0..=25.0).contains(&n.round()));
    whole.map(|(step, n)| (step, n.round() as u32)).min_by_key(|(_, n)| n.abs_diff(10))
}

/// An altimeter with two hands: a turn of the long one is 1000 ft, of the short one 10 000 ft.
#[derive(Debug, Clone, PartialEq)]
pub struct Altimeter {
    /// Name of the channel shown. Never an altitude from satellites: such a one belongs on a tile.
    pub channel: String,
    /// What the altitude is counted from.
    pub datum: Datum,
}

/// What an altitude is counted from.
#[derive(Debug, Clone, PartialEq)]
pub enum Datum {
    /// The pressure set in the altimeter's window; the settings in the order of their times, none where none is known.
    Indicated(Vec<AltimeterSetting>),
    /// Standard pressure, whatever was set.
    Pressure,
}

/// What an altimeter's window showed from a moment on.
#[derive(Debug, Clone, PartialEq)]
pub struct AltimeterSetting {
    /// Session time in seconds from which it stood; minus infinity for one that always did.
    pub from_s: f64,
    /// The pressure as it is written, e.g. `29.92 inHg`.
    pub text: String,
}

impl Altimeter {
    /// The unit of both hands.
    pub const UNIT: &'static str = "ft";

    /// What the window shows at a session time in seconds; nothing where it is not known, or the datum is not a setting.
    pub fn setting_at(&self, session_s: f64) -> Option<&str> {
        let Datum::Indicated(settings) = &self.datum else { return None };
        settings.iter().rev().find(|s| s.from_s <= session_s).map(|s| &*s.text)
    }

    /// Adds the settings of a flight, in the order of their times. They outrank the panel's own from the first one on.
    pub fn follow(&mut self, settings: impl IntoIterator<Item = AltimeterSetting>) {
        if let Datum::Indicated(own) = &mut self.datum {
            own.extend(settings);
        }
    }
}

/// A pressure as an altimeter's window writes it: two digits after the point for inches, none for hectopascals.
pub fn setting_text(number: f64, unit: &Unit) -> String {
    let decimals = if unit.symbol == "inHg" { 2 } else { 0 };
    format!("{number:.decimals$} {}", unit.symbol)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::OffScale;

    #[test]
    fn ranges_have_round_ticks_or_are_refused() {
        for (range, short, middle, numeral) in
            [(2000.0, 100.0, 500.0, "1"), (1000.0, 50.0, 250.0, "0.5"), (6000.0, 500.0, 1500.0, "3")]
        {
            let dial = VerticalSpeed::new("v".into(), "ft/min", range).unwrap();
            assert_eq!((dial.scale.ticks.short, dial.scale.ticks.middle), (short, middle), "{range}");
            assert_eq!(dial.scale.numerals[2].1, numeral);
        }
        let metric = VerticalSpeed::new("v".into(), "m/s", 10.0).unwrap().scale;
        assert_eq!((metric.ticks.short, metric.ticks.middle, &*metric.numerals[2].1), (0.5, 2.5, "5"));
        let feet = crate::panel::Face::VerticalSpeed(VerticalSpeed::new("v".into(), "ft/min", 2000.0).unwrap());
        let places = [-2350.0, -2000.0, 2000.0, 2350.0].map(|v| feet.place(0, v));
        assert_eq!(places, [OffScale::Low, OffScale::On, OffScale::On, OffScale::High]);
        for range in [1234.0, 0.0, -2000.0, f64::NAN, f64::INFINITY] {
            assert!(VerticalSpeed::new("v".into(), "ft/min", range).is_none(), "{range}");
        }
    }

    #[test]
    fn the_window_shows_the_setting_in_force() {
        let setting = |from_s, text: &str| AltimeterSetting { from_s, text: text.into() };
        let own = vec![setting(f64::NEG_INFINITY, "29.92 inHg")];
        let mut altimeter = Altimeter { channel: "a".into(), datum: Datum::Indicated(own) };
        altimeter.follow([setting(0.0, "29.87 inHg"), setting(60.0, "1013 hPa")]);
        for (time, shown) in [(-5.0, "29.92 inHg"), (0.0, "29.87 inHg"), (59.9, "29.87 inHg"), (60.0, "1013 hPa")] {
            assert_eq!(altimeter.setting_at(time), Some(shown), "{time}");
        }
        assert_eq!(setting_text(30.0, Unit::parse("inHg").unwrap()), "30.00 inHg");
        assert_eq!(setting_text(1013.25, Unit::parse("hPa").unwrap()), "1013 hPa");
    }
}
