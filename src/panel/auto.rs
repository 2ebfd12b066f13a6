//! A panel without a panel file: channels recognised by their exact names and units, in places of the house layout.
//!
//! Scales come from what was recorded, and carry no markings: limits are the owner's alone.

use super::{Dial, DiscSize, Face, Instrument, Panel, Place, Scale, Side, Ticks, Tile};

/// What is known of a recorded channel.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelFacts {
    /// The column's name.
    pub name: String,
    /// Its unit; none where the log states none.
    pub unit: Option<String>,
    /// Least recorded value.
    pub min: f64,
    /// Greatest recorded value.
    pub max: f64,
}

/// Which of an arrangement's places.
#[derive(Clone, Copy)]
enum Spot {
    Dial(usize),
    Plate(usize),
}

/// A channel that is known by its name.
struct Known {
    /// Key of the instrument.
    key: &'static str,
    /// Column names, compared without regard to case.
    names: &'static [&'static str],
    /// Units in which it is taken.
    units: &'static [&'static str],
    title: &'static [&'static str],
    decimals: u8,
    spot: Spot,
}

const fn place(side: Side, from_side_m: f64, from_bottom_m: f64, size: DiscSize) -> Place {
    Place { side, from_side_m, from_bottom_m, size }
}

/// The arrangement of dials, by the shape of the shown picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrangement {
    /// Wider than tall.
    Landscape,
    /// Taller than wide, or square.
    Portrait,
}

impl Arrangement {
    /// The arrangement for a shown picture of this size.
    pub fn of(width: f64, height: f64) -> Self {
        if width > height * 1.05 { Self::Landscape } else { Self::Portrait }
    }

    /// The dials' places of the house layout, best first: corners, then up the edges, then inward.
    const fn dials(self) -> [Place; 8] {
        match self {
            Self::Landscape => [
                place(Side::Right, 0.172, 0.172, DiscSize::Xl),
                place(Side::Left, 0.172, 0.172, DiscSize::Xl),
                place(Side::Right, 0.141, 0.453, DiscSize::L),
                place(Side::Left, 0.141, 0.453, DiscSize::L),
                place(Side::Right, 0.428, 0.117, DiscSize::M),
                place(Side::Left, 0.428, 0.117, DiscSize::M),
                place(Side::Right, 0.117, 0.678, DiscSize::M),
                place(Side::Right, 0.097, 0.859, DiscSize::S),
            ],
            Self::Portrait => [
                place(Side::Right, 0.172, 0.394, DiscSize::Xl),
                place(Side::Left, 0.172, 0.394, DiscSize::Xl),
                place(Side::Right, 0.141, 0.675, DiscSize::L),
                place(Side::Left, 0.141, 0.675, DiscSize::L),
                place(Side::Right, 0.117, 0.900, DiscSize::M),
                place(Side::Left, 0.117, 0.900, DiscSize::M),
                place(Side::Centre, 0.0, 0.530, DiscSize::S),
                place(Side::Right, 0.097, 1.081, DiscSize::S),
            ],
        }
    }

    /// The plates' places, in the middle of the sill.
    const fn plates(self) -> [Place; 2] {
        [place(Side::Centre, -0.100, 0.060, DiscSize::M), place(Side::Centre, 0.100, 0.060, DiscSize::M)]
    }
}

/// Names are common practice, no source. `RRPM` is missing on purpose: it is a rotor in one log and a right engine in the next.
const KNOWN: [Known; 10] = [
    Known {
        key: "airspeed",
        names: &["IAS", "Airspeed", "Indicated Airspeed"],
        units: &["kt", "mph", "km/h"],
        title: &["AIRSPEED"],
        decimals: 0,
        spot: Spot::Dial(1),
    },
    Known {
        key: "rotor",
        names: &["Rotor", "Rotor RPM", "NR"],
        units: &["%", "rpm"],
        title: &["ROTOR"],
        decimals: 0,
        spot: Spot::Dial(0),
    },
    Known {
        key: "engine",
        names: &["RPM", "Engine", "Engine RPM"],
        units: &["%", "rpm"],
        title: &["ENGINE"],
        decimals: 0,
        spot: Spot::Dial(3),
    },
    Known {
        key: "egt",
        names: &["EGT", "TOT", "Exhaust Gas Temperature"],
        units: &["°C", "°F"],
        title: &["EGT"],
        decimals: 0,
        spot: Spot::Dial(2),
    },
    Known {
        key: "fuel_flow",
        names: &["Fuel Flow", "FF"],
        units: &["US gal/h", "L/h", "lb/h", "kg/h"],
        title: &["FUEL FLOW"],
        decimals: 1,
        spot: Spot::Dial(6),
    },
    Known {
        key: "gearbox_t",
        names: &["Gearbox T", "Gearbox Oil T", "Gearbox Temperature"],
        units: &["°C", "°F"],
        title: &["GEARBOX", "OIL T"],
        decimals: 0,
        spot: Spot::Dial(7),
    },
    Known {
        key: "oil_p",
        names: &["Oil P", "OILP", "Oil Pressure"],
        units: &["psi", "bar", "kPa"],
        title: &["OIL P"],
        decimals: 0,
        spot: Spot::Dial(4),
    },
    Known {
        key: "oil_t",
        names: &["Oil T", "OILT", "Oil Temperature"],
        units: &["°C", "°F"],
        title: &["OIL T"],
        decimals: 0,
        spot: Spot::Dial(5),
    },
    Known {
        key: "volts",
        names: &["Volts", "BAT", "Bus Voltage"],
        units: &["V"],
        title: &["VOLTS"],
        decimals: 1,
        spot: Spot::Plate(1),
    },
    Known {
        key: "fuel",
        names: &["Fuel", "Fuel Quantity"],
        units: &["US gal", "L", "lb", "kg"],
        title: &["FUEL"],
        decimals: 1,
        spot: Spot::Plate(0),
    },
];

/// The panel for the channels that are recognised; the rest is left alone.
pub fn recognised(channels: &[ChannelFacts], arrangement: Arrangement) -> Panel {
    let mut panel = Panel::default();
    for known in &KNOWN {
        // A column that is called by its unit (RPM) states it by its name.
        let unit_of =
            |c: &ChannelFacts| c.unit.clone().or_else(|| c.name.eq_ignore_ascii_case("rpm").then(|| "rpm".into()));
        let found = channels.iter().find_map(|c| {
            let named = known.names.iter().any(|n| n.eq_ignore_ascii_case(c.name.trim()));
            let unit = unit_of(c).filter(|u| known.units.contains(&u.as_str()))?;
            named.then_some((c, unit))
        });
        let Some((channel, unit)) = found else { continue };
        let (place, face) = match known.spot {
            Spot::Plate(i) => {
                let (channel, title) = (channel.name.clone(), known.title.join(" "));
                (arrangement.plates()[i], Face::Tile(Tile { channel, title, unit, decimals: known.decimals }))
            }
            Spot::Dial(i) => {
                let title = known.title.iter().map(|s| (*s).to_owned()).collect();
                (arrangement.dials()[i], dial(channel, title, unit, known.decimals))
            }
        };
        panel.instruments.push(Instrument { name: known.key.into(), place, face });
    }
    panel
}

/// Columns that would be recognised by their name, if only the log stated a unit.
pub fn lack_a_unit(channels: &[ChannelFacts]) -> Vec<&str> {
    let named = |c: &&ChannelFacts| KNOWN.iter().any(|k| k.names.iter().any(|n| n.eq_ignore_ascii_case(c.name.trim())));
    let lacking = channels.iter().filter(|c| c.unit.is_none() && !c.name.eq_ignore_ascii_case("rpm"));
    lacking.filter(named).map(|c| c.name.as_str()).collect()
}

/// A panel of plain dials for columns that the owner names, in the order of the best places; at most as many as there are.
/// Returns the panel and the columns for which no place was left.
pub fn chosen(channels: &[ChannelFacts], arrangement: Arrangement) -> (Panel, Vec<String>) {
    let places = arrangement.dials();
    let instrument = |(channel, place): (&ChannelFacts, &Place)| {
        let plain = |c: char| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '_' };
        let decimals = if channel.max - channel.min >= 50.0 { 0 } else { 1 };
        let (title, unit) = (vec![channel.name.to_uppercase()], channel.unit.clone().unwrap_or_default());
        Instrument {
            name: channel.name.chars().map(plain).collect(),
            place: *place,
            face: dial(channel, title, unit, decimals),
        }
    };
    let instruments = channels.iter().zip(&places).map(instrument).collect();
    let left = channels.iter().skip(places.len()).map(|c| c.name.clone()).collect();
    (Panel { instruments, ..Panel::default() }, left)
}

fn dial(channel: &ChannelFacts, title: Vec<String>, unit: String, decimals: u8) -> Face {
    Face::Dial(Dial {
        channel: channel.name.clone(),
        title,
        unit,
        decimals,
        scale: scale_for(channel.min, channel.max),
        markings: Vec::new(),
    })
}

/// A linear scale with round ends that holds everything recorded, from zero unless values below zero were recorded.
fn scale_for(min: f64, max: f64) -> Scale {
    let (min, max) = if min.is_finite() && max.is_finite() { (min.min(0.0), max.max(0.0)) } else { (0.0, 1.0) };
    let width = if max > min { max - min } else { 1.0 };
    let rough = width / 6.0;
    let decade = 10f64.powf(rough.log10().floor());
    let factor = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().find(|f| f * decade >= rough * 0.999).unwrap_or(10.0);
    let step = factor * decade;
    let (low, high) = ((min / step).floor() * step, (max / step).ceil().max(1.0) * step);
    let decimals =
        if step >= 1.0 && factor != 2.5 || step >= 10.0 { 0 } else { (1.0 - step.log10().floor()).max(0.0) as usize };
    let marks = ((high - low) / step).round() as i32;
    Scale {
        breakpoints: vec![(low, -126.0), (high, 126.0)],
        ticks: Ticks { long: step, middle: if factor == 5.0 { step / 5.0 } else { step / 2.0 }, short: step / 10.0 },
        numerals: (0..=marks)
            .map(|i| low + f64::from(i) * step)
            .map(|v| (v, format!("{:.*}", decimals, if v.abs() < step * 1e-9 { 0.0 } else { v })))
            .collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn facts(name: &str, unit: Option<&str>, min: f64, max: f64) -> ChannelFacts {
        ChannelFacts { name: name.into(), unit: unit.map(Into::into), min, max }
    }

    #[test]
    fn only_exact_names_with_fitting_units() {
        let channels = [
            facts("IAS", Some("kt"), 0.0, 87.0),
            facts("EGT", None, 20.0, 600.0),
            facts("Oil T", Some("psi"), 0.0, 60.0),
            facts("RRPM", Some("rpm"), 0.0, 2500.0),
            facts("rpm", None, 0.0, 2700.0),
            facts("GPS Speed", Some("kt"), 0.0, 90.0),
        ];
        let panel = recognised(&channels, Arrangement::Landscape);
        let names: Vec<_> = panel.instruments.iter().map(|i| i.name.as_str()).collect();
        assert_eq!(names, ["airspeed", "engine"]);
        assert_eq!(lack_a_unit(&channels), ["EGT"]);
    }

    #[test]
    fn scales_hold_all_values_and_have_round_numerals() {
        for (min, max, ends, numerals) in [
            (0.0, 87.0, (0.0, 100.0), vec!["0", "20", "40", "60", "80", "100"]),
            (0.0, 2735.0, (0.0, 3000.0), vec!["0", "500", "1000", "1500", "2000", "2500", "3000"]),
            (-12.0, 31.0, (-20.0, 40.0), vec!["-20", "-10", "0", "10", "20", "30", "40"]),
            (0.0, 13.9, (0.0, 15.0), vec!["0.0", "2.5", "5.0", "7.5", "10.0", "12.5", "15.0"]),
            (5.0, 5.0, (0.0, 5.0), vec!["0", "1", "2", "3", "4", "5"]),
        ] {
            let scale = scale_for(min, max);
            assert_eq!(scale.ends(), ends, "{min}..{max}");
            assert_eq!(scale.numerals.iter().map(|n| n.1.as_str()).collect::<Vec<_>>(), numerals);
        }
        assert_eq!(scale_for(f64::INFINITY, f64::NEG_INFINITY).ends(), (0.0, 1.0), "a channel without a value");
    }
}
