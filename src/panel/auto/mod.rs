//! A panel without a panel file: channels recognised by their exact names and units, in places of the house layout.
//!
//! Scales come from what was recorded, and carry no markings: limits are the owner's alone. Machine dials are turned so
//! that the usual value stands at twelve; flight dials keep the directions that pilots know.

mod known;
mod scales;
mod write;

pub use write::written;

use super::VerticalSpeed;
use super::arrange::{Arrangement, PLATE};
use super::{
    Altimeter, ByPower, Datum, Dial, DiscSize, Face, Gauge, Instrument, Pair, Panel, Placing, Scale, Slot, Tachometer,
    Tile,
};
use crate::meaning::Meaning;
use known::{KNOWN, Known, Make};

/// What is known of a recorded channel.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelFacts {
    /// What the session calls it.
    pub channel: String,
    /// The column's name, by which it is recognised.
    pub column: String,
    /// Its unit; none where the log states none.
    pub unit: Option<String>,
    /// Least recorded value.
    pub min: f64,
    /// Greatest recorded value.
    pub max: f64,
    /// The value about which it stands most of the time.
    pub usual: f64,
}

impl ChannelFacts {
    /// The unit that the log states; a column that is called by its unit (RPM) states it by its name.
    fn unit(&self) -> Option<&str> {
        self.unit.as_deref().or_else(|| Meaning::unit_of_name(&self.column))
    }

    fn is_called_rpm(&self) -> bool {
        self.column.trim().eq_ignore_ascii_case("rpm")
    }

    fn is(&self, known: &Known) -> bool {
        Meaning::of_name(&self.column) == Some(known.meaning)
    }

    fn is_in(&self, known: &Known) -> bool {
        self.unit().is_some_and(|unit| known.units.contains(&unit))
    }
}

/// What an instrument shows.
#[derive(Clone, Copy)]
enum Source<'a> {
    One(&'a ChannelFacts),
    /// The same of the left engine and of the right one.
    Engines(&'a ChannelFacts, &'a ChannelFacts),
}

/// A panel made from channels.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Made {
    /// The panel.
    pub panel: Panel,
    /// Instruments, or columns that the owner named, for which the picture has no room.
    pub left_out: Vec<String>,
}

/// An instrument for a recognised channel, and where it stands; none for a plate.
type Member = (&'static str, Face, Option<(Slot, DiscSize)>);

/// Instruments for the channels that are recognised, in the order in which they take their places.
fn members(channels: &[ChannelFacts], arrangement: Arrangement) -> Vec<Member> {
    let mut found: Vec<(&Known, Source<'_>, &str)> = Vec::new();
    for known in &KNOWN {
        if found.iter().any(|(other, ..)| other.key == known.key) {
            continue;
        }
        let one = channels.iter().find(|c| c.is(known) && c.is_in(known));
        let engines =
            || engines(channels, known).find(|(left, right)| left.is_in(known) && left.unit() == right.unit());
        let source = one.map(|c| (Source::One(c), c)).or_else(|| engines().map(|(l, r)| (Source::Engines(l, r), l)));
        found.extend(source.map(|(source, channel)| (known, source, channel.unit().unwrap_or_default())));
    }
    let single = |of: &dyn Fn(&Known, &str) -> bool| {
        found.iter().find_map(|(known, source, unit)| match source {
            Source::One(channel) if of(known, unit) => Some((*known, *channel, *unit)),
            _ => None,
        })
    };
    let percent = |make: Make| single(&|known, unit| known.make == make && unit == "%").map(|(_, channel, _)| channel);
    let joined = percent(Make::Rotor).zip(percent(Make::Engine)).map(|(rotor, engine)| tachometer(rotor, engine));
    let keyed = |key: &str| single(&|known, _| known.key == key);
    let oil = keyed("oil_p").zip(keyed("oil_t")).map(|(p, t)| pair("OIL", gauge("P", p, -1.0), gauge("T", t, 1.0)));

    let mut members = Vec::new();
    for (known, source, unit) in found {
        let channel = match source {
            Source::Engines(left, right) => {
                members.extend(of_engines(known, left, right, unit, arrangement));
                continue;
            }
            Source::One(channel) => channel,
        };
        let (key, face) = match (known.make, known.key, &joined, &oil) {
            (Make::Rotor, _, Some(both), _) => ("rpm", both.clone()),
            (Make::Engine, _, Some(_), _) | (_, "oil_t", _, Some(_)) => continue,
            (_, "oil_p", _, Some(both)) => ("oil", both.clone()),
            _ => (known.key, known.face(channel, unit)),
        };
        members.push((key, face, known.stands(arrangement)));
    }
    members
}

/// The pairs of columns that hold a quantity of the left engine and of the right one.
fn engines<'a>(
    channels: &'a [ChannelFacts],
    known: &'a Known,
) -> impl Iterator<Item = (&'a ChannelFacts, &'a ChannelFacts)> {
    let is_pair = |left: &ChannelFacts, right: &ChannelFacts| {
        Meaning::of_engines(&left.column, &right.column) == Some(known.meaning)
    };
    channels.iter().filter_map(move |left| Some((left, channels.iter().find(|right| is_pair(left, right))?)))
}

/// Two engines on one disc, on one scale: hands that stand level say that both do the same. A flow's unit has no room there, and no flow
/// is worth a number without it: plates.
fn of_engines(
    known: &Known,
    left: &ChannelFacts,
    right: &ChannelFacts,
    unit: &str,
    arrangement: Arrangement,
) -> Vec<Member> {
    if known.meaning == Meaning::FuelFlow {
        let plate = |key, title: &str, channel| (key, known.plate(channel, title.to_owned(), unit), None);
        return vec![plate("fuel_flow_l", "L FLOW", left), plate("fuel_flow_r", "R FLOW", right)];
    }
    // There is room for three letters or a word of two.
    let (title, stands) = match known.meaning {
        Meaning::Engine if unit == "rpm" => ("RPM".to_owned(), known.stands(arrangement)),
        Meaning::ManifoldPressure => ("MAP".to_owned(), Some((Slot::Left, DiscSize::L))),
        _ => (known.title.join(" "), known.stands(arrangement)),
    };
    let shared = |own: &ChannelFacts| ChannelFacts {
        min: left.min.min(right.min),
        max: left.max.max(right.max),
        usual: 0.5 * (left.usual + right.usual),
        ..own.clone()
    };
    let side = |letter, own, sign| gauge(letter, (known, &shared(own), unit), sign);
    vec![(known.key, pair(&title, side("L", left, -1.0), side("R", right, 1.0)), stands)]
}

/// The panel for the channels that are recognised; the rest is left alone.
pub fn recognised(channels: &[ChannelFacts], arrangement: Arrangement) -> Made {
    let (mut dials, mut plates, mut wanted) = (Vec::new(), Vec::new(), Vec::new());
    for (key, face, stands) in members(channels, arrangement) {
        match stands {
            Some(slot) => {
                dials.push((key, face));
                wanted.push(slot);
            }
            None => plates.push((key, face)),
        }
    }
    let (plate_places, plates_top) = arrangement.plates(&vec![PLATE; plates.len()]);
    let places = arrangement.dials(&wanted, arrangement.foot(plates_top));
    let mut made = Made::default();
    let plates = plates.into_iter().zip(plate_places.into_iter().map(Some));
    for ((name, face), place) in dials.into_iter().zip(places).chain(plates) {
        match place {
            Some(place) => made.panel.instruments.push(Instrument::new(name, place, face)),
            None => made.left_out.push(name.to_owned()),
        }
    }
    made
}

/// The same panel in the slots of the house layout, for a file that its owner goes on with: whatever is added or taken out, the
/// others make room. Where no channel is recognised, the first that move become plain dials.
pub fn slotted(channels: &[ChannelFacts], arrangement: Arrangement) -> Panel {
    let mut members = members(channels, arrangement);
    // Dials first, as they are drawn.
    members.sort_by_key(|member| member.2.is_none());
    let instrument = |(name, face, stands): Member| {
        let (slot, size) = stands.unwrap_or((Slot::Foot, DiscSize::M));
        Instrument::new(name, Placing::Slot(slot, size), face)
    };
    let mut instruments: Vec<Instrument> = members.into_iter().map(instrument).collect();
    if instruments.is_empty() {
        let moving = channels.iter().filter(|c| c.min < c.max).take(BEST.len());
        for (channel, &(slot, size)) in moving.zip(&BEST) {
            let (mut name, face) = plain_dial(channel);
            let wanted = name.clone();
            let mut number = 2;
            while instruments.iter().any(|i| i.name == name) {
                name = format!("{wanted}_{number}");
                number += 1;
            }
            instruments.push(Instrument::new(name, Placing::Slot(slot, size), face));
        }
    }
    Panel { instruments, ..Panel::default() }
}

/// Columns that would be recognised by their name, if only the log stated a unit; each with the units that it might be in.
pub fn lack_a_unit(channels: &[ChannelFacts]) -> Vec<(&str, &'static [&'static str])> {
    let lacking = channels.iter().filter(|c| c.unit().is_none());
    let units = |c: &ChannelFacts| {
        let of_twin = |known: &Known| engines(channels, known).any(|(left, right)| left == c || right == c);
        KNOWN.iter().find(|known| c.is(known) || of_twin(known)).map(|known| known.units)
    };
    lacking.filter_map(|c| Some((c.column.as_str(), units(c)?))).collect()
}

/// A panel of plain dials for columns that the owner names, in the order of the best places; at most as many as there are.
pub fn chosen(channels: &[ChannelFacts], arrangement: Arrangement) -> Made {
    let places = arrangement.dials(&BEST[..channels.len().min(BEST.len())], arrangement.foot(0.0));
    let mut made = Made::default();
    for (i, channel) in channels.iter().enumerate() {
        let Some(place) = places.get(i).copied().flatten() else {
            made.left_out.push(channel.column.clone());
            continue;
        };
        let (name, face) = plain_dial(channel);
        made.panel.instruments.push(Instrument::new(name, place, face));
    }
    made
}

/// The best places for plain dials, in their order.
const BEST: [(Slot, DiscSize); 9] = [
    (Slot::Right, DiscSize::Xl),
    (Slot::Left, DiscSize::Xl),
    (Slot::Right, DiscSize::L),
    (Slot::Left, DiscSize::L),
    (Slot::InnerRight, DiscSize::M),
    (Slot::InnerLeft, DiscSize::M),
    (Slot::Right, DiscSize::M),
    (Slot::Left, DiscSize::M),
    (Slot::Right, DiscSize::S),
];

/// A dial for whatever a channel is, and its key.
fn plain_dial(channel: &ChannelFacts) -> (String, Face) {
    let plain = |c: char| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { '_' };
    let name: String = channel.column.chars().map(plain).collect();
    let decimals = if channel.max - channel.min >= 50.0 { 0 } else { 1 };
    let title = vec![channel.column.to_uppercase()];
    let scale = scales::familiar(channel.min, channel.max);
    (name, dial(channel, title, channel.unit.clone().unwrap_or_default(), decimals, scale))
}

impl Known {
    /// Where its dial stands and how large; none for a plate.
    fn stands(&self, arrangement: Arrangement) -> Option<(Slot, DiscSize)> {
        use DiscSize::{L, M, S, Xl};
        let narrow = arrangement.is_narrow();
        Some(match (self.make, self.key) {
            (Make::Plate, _) => return None,
            (Make::Dial, _) => (Slot::Left, Xl),
            (Make::Rotor, _) => (Slot::Right, Xl),
            (Make::Engine, _) => (Slot::Right, if narrow { L } else { Xl }),
            (Make::Indicated | Make::Pressure, _) => (Slot::Left, L),
            (Make::VerticalSpeed, _) => (Slot::Left, if narrow { M } else { L }),
            (Make::Upright, "egt") => (Slot::Right, L),
            (Make::Upright, "gearbox_t") => (Slot::Right, S),
            (Make::Upright, "oil_p") => (Slot::InnerRight, M),
            (Make::Upright, "oil_t") => (Slot::InnerLeft, M),
            (Make::Upright, _) => (Slot::Right, M),
        })
    }

    /// A pressure of 3.4 bar is not 3.
    fn decimals_for(&self, channel: &ChannelFacts, unit: &str) -> u8 {
        let small = channel.max.abs().max(channel.min.abs()) < 20.0 && unit != "deg";
        if small { self.decimals.max(1) } else { self.decimals }
    }

    fn plate(&self, channel: &ChannelFacts, title: String, unit: &str) -> Face {
        let decimals = self.decimals_for(channel, unit);
        Face::Tile(Tile { channel: channel.channel.clone(), title, unit: unit.to_owned(), decimals })
    }

    fn face(&self, channel: &ChannelFacts, unit: &str) -> Face {
        // Whose revolutions a bare RPM counts, the log does not say.
        let title = if channel.is_called_rpm() { &["RPM"][..] } else { self.title };
        let title: Vec<String> = title.iter().map(|s| (*s).to_owned()).collect();
        let decimals = self.decimals_for(channel, unit);
        let plate = |title: String| self.plate(channel, title, unit);
        let altimeter = |datum| Face::Altimeter(Altimeter { channel: channel.channel.clone(), datum });
        match self.make {
            Make::Plate => plate(title.join(" ")),
            Make::Dial => {
                let scale = scales::familiar(channel.min, channel.max);
                dial(channel, title, unit.to_owned(), decimals, scale)
            }
            Make::Rotor | Make::Engine | Make::Upright => {
                let scale = scales::upright(channel.min, channel.max, channel.usual);
                dial(channel, title, unit.to_owned(), decimals, scale)
            }
            Make::Indicated => altimeter(Datum::Indicated(Vec::new())),
            Make::Pressure => altimeter(Datum::Pressure),
            Make::VerticalSpeed => {
                let range =
                    VerticalSpeed::UNITS.into_iter().find(|(u, _)| *u == unit).map_or(2000.0, |(_, range)| range);
                VerticalSpeed::new(channel.channel.clone(), unit, range)
                    .map_or_else(|| plate("VERT SPEED".to_owned()), Face::VerticalSpeed)
            }
        }
    }
}

fn tachometer(rotor: &ChannelFacts, engine: &ChannelFacts) -> Face {
    Face::Tachometer(Tachometer {
        rotor: rotor.channel.clone(),
        engine: engine.channel.clone(),
        title: "RPM".to_owned(),
        decimals: 0,
        scale: scales::tachometer(),
        rotor_markings: Vec::new(),
        rotor_by_power: ByPower::default(),
        engine_markings: Vec::new(),
        drive: None,
    })
}

fn pair(title: &str, left: Gauge, right: Gauge) -> Face {
    Face::Pair(Pair { title: title.to_owned(), left, right })
}

/// One side of a pair, its angles with the sign of the side; the usual value lies level.
fn gauge(letter: &str, (known, channel, unit): (&Known, &ChannelFacts, &str), sign: f64) -> Gauge {
    Gauge {
        channel: channel.channel.clone(),
        letter: letter.to_owned(),
        unit: unit.to_owned(),
        decimals: known.decimals,
        scale: scales::level(channel.min, channel.max, channel.usual, sign),
        markings: Vec::new(),
    }
}

fn dial(channel: &ChannelFacts, title: Vec<String>, unit: String, decimals: u8, scale: Scale) -> Face {
    Face::Dial(Dial { channel: channel.channel.clone(), title, unit, decimals, scale, markings: Vec::new() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::Density;

    fn facts(column: &str, unit: Option<&str>, min: f64, max: f64) -> ChannelFacts {
        let (channel, column) = (format!("log.{column}"), column.to_owned());
        ChannelFacts { channel, column, unit: unit.map(Into::into), min, max, usual: 0.6 * max }
    }

    fn names(channels: &[ChannelFacts], arrangement: Arrangement) -> Vec<String> {
        recognised(channels, arrangement).panel.instruments.into_iter().map(|i| i.name).collect()
    }

    fn wide() -> Arrangement {
        Arrangement::of(1920.0, 1080.0, Density::House)
    }

    #[test]
    fn only_exact_names_with_fitting_units() {
        let channels = [
            facts("IAS", Some("kt"), 0.0, 87.0),
            facts("EGT", None, 20.0, 600.0),
            facts("Oil T", Some("psi"), 0.0, 60.0),
            facts("RRPM", Some("rpm"), 0.0, 2500.0),
            facts("rpm", None, 0.0, 2700.0),
            facts("True Airspeed", Some("kt"), 0.0, 90.0),
        ];
        assert_eq!(names(&channels, wide()), ["airspeed", "engine"]);
        assert_eq!(lack_a_unit(&channels), [("EGT", &["°C", "°F"][..])]);
    }

    #[test]
    fn altitudes_and_directions_are_shown_as_what_they_are() {
        let face = |column: &str, unit: &str| {
            let made = recognised(&[facts(column, Some(unit), 0.0, 300.0)], wide()).panel.instruments;
            made.into_iter().next().map(|i| i.face)
        };
        let plate = |column: &str, unit: &str| match face(column, unit) {
            Some(Face::Tile(tile)) => tile.title,
            other => panic!("{column}: {other:?}"),
        };
        for column in ["GPS Altitude", "GNSS Altitude", "AltGPS"] {
            assert_eq!(plate(column, "ft"), "GNSS ALT");
        }
        assert_eq!([plate("Altitude", "ft"), plate("ALT", "m")], ["ALTITUDE", "ALTITUDE"]);
        assert_eq!([plate("GPS Track", "deg"), plate("HDG", "deg")], ["TRACK", "HEADING"]);
        let datum = |column| match face(column, "ft") {
            Some(Face::Altimeter(altimeter)) => altimeter.datum,
            other => panic!("{column}: {other:?}"),
        };
        assert_eq!(datum("Indicated Altitude"), Datum::Indicated(Vec::new()), "nobody stated its setting");
        assert_eq!(datum("Pressure Altitude"), Datum::Pressure);
        let both = [facts("Pressure Altitude", Some("ft"), 0.0, 900.0), facts("Baro Alt", Some("ft"), 0.0, 900.0)];
        let made = recognised(&both, wide()).panel.instruments;
        assert!(matches!(&made[..], [Instrument { face: Face::Altimeter(a), .. }] if a.channel == "log.Baro Alt"));
    }

    #[test]
    fn two_percents_are_one_tachometer() {
        let speeds = |unit| [facts("Rotor", Some(unit), 0.0, 104.0), facts("Engine", Some(unit), 0.0, 104.0)];
        assert_eq!(names(&speeds("%"), wide()), ["rpm"]);
        assert_eq!(names(&speeds("rpm"), wide()), ["rotor", "engine"]);
    }

    #[test]
    fn oil_pressure_and_temperature_share_a_dial() {
        let pressure = facts("Oil P", Some("psi"), 0.0, 78.0);
        let temperature = facts("Oil T", Some("degC"), 12.0, 96.0);
        let temperature = ChannelFacts { unit: Some("\u{b0}C".into()), ..temperature };
        assert_eq!(names(&[temperature.clone(), pressure.clone()], wide()), ["oil"]);
        assert_eq!(names(std::slice::from_ref(&pressure), wide()), ["oil_p"]);
        assert_eq!(names(std::slice::from_ref(&temperature), wide()), ["oil_t"]);
        let made = recognised(&[pressure, temperature], wide()).panel.instruments;
        let Face::Pair(oil) = &made[0].face else { panic!("{made:?}") };
        assert_eq!((&*oil.left.channel, &*oil.right.channel), ("log.Oil P", "log.Oil T"));
        assert!((oil.left.scale.angle(0.6 * 78.0) + 90.0).abs() < 1e-9, "the usual value lies level");
        assert!((oil.right.scale.angle(0.6 * 96.0) - 90.0).abs() < 1e-9);
    }

    #[test]
    fn two_engines_share_a_dial_for_each_quantity() {
        let both = |name: &str, unit| ["L", "R"].map(|side| facts(&format!("{side}{name}"), unit, 0.0, 2600.0));
        let mut channels = [both("RPM", None), both("MAP", Some("inHg")), both("FF", None)].concat();
        channels[1].max = 6000.0;
        assert_eq!(names(&channels, wide()), ["engine", "manifold"]);
        let wanted: Vec<&str> = lack_a_unit(&channels).into_iter().map(|(name, _)| name).collect();
        assert_eq!(wanted, ["LFF", "RFF"]);
        let made = recognised(&channels, wide()).panel.instruments;
        let Face::Pair(rpm) = &made[0].face else { panic!("{made:?}") };
        assert_eq!((&*rpm.title, &*rpm.left.channel, &*rpm.right.channel), ("RPM", "log.LRPM", "log.RRPM"));
        assert_eq!(rpm.left.scale.angle(1500.0), -rpm.right.scale.angle(1500.0), "one scale for both");
        // A right engine without a left one may be a rotor.
        assert_eq!(names(&channels[1..2], wide()), [""; 0]);
    }

    #[test]
    fn what_has_no_room_is_named() {
        let channels: Vec<_> = (0..12).map(|i| facts(&format!("Column {i}"), Some("V"), 0.0, 10.0)).collect();
        let made = chosen(&channels, wide());
        assert_eq!(made.panel.instruments.len() + made.left_out.len(), 12);
        assert_eq!(made.left_out.last().map(String::as_str), Some("Column 11"));
    }
}
