//! One sentence: its frame, its checksum, and what it says.

use super::super::series::{Head, clock_time, day_number, short_date, two_digits};
use crate::signal::Kind;

/// What stands between two dollar signs, or before the first.
pub(super) enum Piece<'a> {
    /// A sentence that may be read: its kind and its fields after the address.
    Good { kind: &'a str, fields: Vec<&'a [u8]>, sum: bool },
    /// Of a kind that is not read: its name.
    Other(&'a str),
    /// The checksum does not fit, or is cut off.
    BadSum,
    /// No sentence at all.
    Noise,
}

/// The kinds that are read, and the fewest fields after the address.
const KINDS: [(&str, usize); 11] = [
    ("RMC", 9),
    ("GGA", 11),
    ("VTG", 8),
    ("GLL", 6),
    ("GSA", 17),
    ("ZDA", 4),
    ("HDG", 5),
    ("HDT", 2),
    ("HDM", 2),
    ("VHW", 8),
    ("MWV", 5),
];

/// Whether sentences of this kind are read.
pub(super) fn is_read(kind: &str) -> bool {
    KINDS.iter().any(|(k, _)| *k == kind)
}

/// The pieces of a line: a sentence begins at each `$` or `!`.
pub(super) fn pieces(line: &[u8]) -> impl Iterator<Item = &[u8]> {
    let mut rest = line;
    std::iter::from_fn(move || {
        if rest.is_empty() {
            return None;
        }
        let end = rest.iter().skip(1).position(|b| matches!(b, b'$' | b'!')).map_or(rest.len(), |at| at + 1);
        let (piece, after) = rest.split_at(end);
        rest = after;
        Some(piece.trim_ascii())
    })
    .filter(|piece| !piece.is_empty())
}

/// Looks at a piece's frame.
pub(super) fn frame(piece: &[u8]) -> Piece<'_> {
    let Some((b'$' | b'!', body)) = piece.split_first() else { return Piece::Noise };
    let (text, sum) = match body.iter().position(|b| *b == b'*') {
        Some(at) => (&body[..at], Some(&body[at + 1..])),
        None => (body, None),
    };
    let mut fields = text.split(|b| *b == b',').map(<[u8]>::trim_ascii);
    let address = fields.next().unwrap_or_default();
    let plain = (3..=10).contains(&address.len()) && address.iter().all(u8::is_ascii_alphanumeric);
    let Some(address) = std::str::from_utf8(address).ok().filter(|_| plain) else { return Piece::Noise };
    if let Some(sum) = sum {
        let stated = (sum.len() == 2).then(|| std::str::from_utf8(sum).ok()).flatten();
        // A plus sign would pass for a digit.
        let stated = stated.filter(|s| !s.contains('+')).and_then(|s| u8::from_str_radix(s, 16).ok());
        if stated != Some(text.iter().fold(0, |sum, b| sum ^ b)) {
            return Piece::BadSum;
        }
    }
    // `P` marks a maker's own sentences; others end with the three letters of their kind, behind any talker.
    let kind = if address.starts_with('P') { address } else { &address[address.len() - 3..] };
    if !is_read(kind) {
        // Five letters are a talker and a kind; anything else is named whole.
        return Piece::Other(if address.len() == 5 { kind } else { address });
    }
    Piece::Good { kind, fields: fields.collect(), sum: sum.is_some() }
}

/// What a sentence says.
#[derive(Default)]
pub(super) struct Said {
    /// Time of day in nanoseconds, and whether it is a second 60; none in sentences that carry no time field.
    pub(super) time: Option<(i64, bool)>,
    /// Day since 1970-01-01.
    pub(super) day: Option<i64>,
    /// Whether it says that there is a fix, or that there is none.
    pub(super) fix: Option<bool>,
    pub(super) values: Vec<(Head, Option<f64>)>,
}

/// Why a sentence is refused.
pub(super) type Refusal = &'static str;

const FIELD: Refusal = "a field that cannot be read, or lies out of its range";

/// Reads the fields of a sentence.
pub(super) fn read(kind: &str, fields: &[&[u8]]) -> Result<Said, Refusal> {
    let fewest = KINDS.iter().find(|(k, _)| *k == kind).map_or(0, |(_, n)| *n);
    if fields.len() < fewest {
        return Err("fewer fields than its kind has");
    }
    let field = |i: usize| fields.get(i).copied().unwrap_or_default();
    let mut said = Said::default();
    let empty = |i: usize| field(i).is_empty();
    let within = |i: usize, low: f64, high: f64| match number(field(i))? {
        Some(value) if !(low..=high).contains(&value) => Err(FIELD),
        value => Ok(value),
    };
    let turn = |i| within(i, 0.0, 360.0);
    let amount = |i| within(i, 0.0, 1e6);
    let east = |i: usize, letter: usize| signed(within(i, 0.0, 180.0)?, field(letter), b"E", b"W");
    match kind {
        "RMC" => {
            said.time = time(field(0))?;
            said.day = date(field(8))?;
            let void = field(1) != b"A" || field(11) == b"N";
            said.fix = Some(!void);
            let keep = |read: &dyn Fn() -> Result<Option<f64>, Refusal>| if void { Ok(None) } else { read() };
            said.push(LATITUDE, keep(&|| angle(field(2), field(3), 2))?);
            said.push(LONGITUDE, keep(&|| angle(field(4), field(5), 3))?);
            said.push(SPEED, keep(&|| amount(6))?);
            said.push(TRACK, keep(&|| turn(7))?);
            said.push(VARIATION, keep(&|| east(9, 10))?);
        }
        "GGA" => {
            said.time = time(field(0))?;
            let void = matches!(field(5), b"0" | b"");
            said.fix = Some(!void);
            said.push(QUALITY, within(5, 0.0, 9.0)?);
            said.push(SATELLITES, within(6, 0.0, 200.0)?);
            if !void {
                said.push(LATITUDE, angle(field(1), field(2), 2)?);
                said.push(LONGITUDE, angle(field(3), field(4), 3)?);
                said.push(HDOP, amount(7)?);
                said.push(ALTITUDE, within(8, -20_000.0, 1e6)?);
                said.push(GEOID, within(10, -1000.0, 1000.0)?);
                said.push(DGPS_AGE, amount(12)?);
            }
        }
        "GLL" => {
            said.time = time(field(4))?;
            let void = field(5) != b"A" || field(6) == b"N";
            said.fix = Some(!void);
            if !void {
                said.push(LATITUDE, angle(field(0), field(1), 2)?);
                said.push(LONGITUDE, angle(field(2), field(3), 3)?);
            }
        }
        "VTG" if field(8) != b"N" => {
            said.push(TRACK, turn(0)?);
            said.push(TRACK_MAGNETIC, turn(2)?);
            let knots = amount(4)?.or(amount(6)?.map(|kmh| kmh / 1.852));
            said.push(SPEED, knots);
        }
        "GSA" if field(1) != b"1" => {
            said.push(PDOP, amount(14)?);
            said.push(HDOP, amount(15)?);
            said.push(VDOP, amount(16)?);
        }
        "ZDA" => {
            said.time = time(field(0))?;
            if !(empty(1) || empty(2) || empty(3)) {
                let year = std::str::from_utf8(field(3)).ok().filter(|y| y.len() == 4).and_then(|y| y.parse().ok());
                let day = || day_number(year?, two_digits(field(2))?, two_digits(field(1))?);
                said.day = Some(day().ok_or(FIELD)?);
            }
        }
        "HDG" => {
            let deviation = east(1, 2)?;
            // Without a deviation the sensor's heading is the magnetic one, as far as anyone knows.
            let head = if deviation.is_some_and(|d| d != 0.0) { HEADING_SENSOR } else { HEADING_MAGNETIC };
            said.push(head, turn(0)?);
            said.push(DEVIATION, deviation);
            said.push(VARIATION, east(3, 4)?);
        }
        "HDT" => said.push(HEADING_TRUE, turn(0)?),
        "HDM" => said.push(HEADING_MAGNETIC, turn(0)?),
        "VHW" => {
            said.push(HEADING_TRUE, turn(0)?);
            said.push(HEADING_MAGNETIC, turn(2)?);
            said.push(WATER, amount(4)?.or(amount(6)?.map(|kmh| kmh / 1.852)));
        }
        "MWV" if field(4) == b"A" => {
            let knots = match field(3) {
                b"N" => 1.0,
                b"K" => 1.0 / 1.852,
                b"M" => 3600.0 / 1852.0,
                _ => return Err(FIELD),
            };
            let (angle, speed) = match field(1) {
                b"R" => (WIND_ANGLE, WIND_SPEED),
                b"T" => (WIND_ANGLE_TRUE, WIND_SPEED_TRUE),
                _ => return Err(FIELD),
            };
            said.push(angle, turn(0)?);
            said.push(speed, amount(2)?.map(|v| v * knots));
        }
        // Without a fix, or a reading that is not valid.
        _ => (),
    }
    Ok(said)
}

impl Said {
    fn push(&mut self, head: Head, value: Option<f64>) {
        self.values.push((head, value));
    }
}

const DEG: Option<&str> = Some("deg");
const LATITUDE: Head = ("Latitude", DEG, Kind::Continuous);
const LONGITUDE: Head = ("Longitude", DEG, Kind::Continuous);
const ALTITUDE: Head = ("GNSS Altitude MSL", Some("m"), Kind::Continuous);
const GEOID: Head = ("Geoid Separation", Some("m"), Kind::Continuous);
const SPEED: Head = ("Ground Speed", Some("kt"), Kind::Continuous);
const TRACK: Head = ("Track True", DEG, Kind::Angle);
const TRACK_MAGNETIC: Head = ("Track Magnetic", DEG, Kind::Angle);
const VARIATION: Head = ("Magnetic Variation", DEG, Kind::Continuous);
const DEVIATION: Head = ("Compass Deviation", DEG, Kind::Continuous);
const HEADING_MAGNETIC: Head = ("Heading Magnetic", DEG, Kind::Angle);
const HEADING_SENSOR: Head = ("Heading Sensor", DEG, Kind::Angle);
const HEADING_TRUE: Head = ("Heading True", DEG, Kind::Angle);
const WATER: Head = ("Water Speed", Some("kt"), Kind::Continuous);
const WIND_ANGLE: Head = ("Wind Angle Relative", DEG, Kind::Angle);
const WIND_SPEED: Head = ("Wind Speed Relative", Some("kt"), Kind::Continuous);
const WIND_ANGLE_TRUE: Head = ("Wind Angle Theoretical", DEG, Kind::Angle);
const WIND_SPEED_TRUE: Head = ("Wind Speed Theoretical", Some("kt"), Kind::Continuous);
const QUALITY: Head = ("Fix Quality", None, Kind::Discrete);
const SATELLITES: Head = ("Satellites", None, Kind::Discrete);
const DGPS_AGE: Head = ("DGPS Age", Some("s"), Kind::Continuous);
const HDOP: Head = ("HDOP", None, Kind::Continuous);
const PDOP: Head = ("PDOP", None, Kind::Continuous);
const VDOP: Head = ("VDOP", None, Kind::Continuous);

fn number(text: &[u8]) -> Result<Option<f64>, Refusal> {
    if text.is_empty() {
        return Ok(None);
    }
    match fast_float2::parse::<f64, _>(text) {
        Ok(value) if value.is_finite() => Ok(Some(value)),
        _ => Err(FIELD),
    }
}

fn signed(value: Option<f64>, letter: &[u8], plus: &[u8], minus: &[u8]) -> Result<Option<f64>, Refusal> {
    match value {
        Some(value) if letter == minus => Ok(Some(-value)),
        Some(value) if letter == plus => Ok(Some(value)),
        Some(_) => Err(FIELD),
        None => Ok(None),
    }
}

/// `ddmm.mmmm` and its letter, in degrees.
fn angle(text: &[u8], letter: &[u8], degrees: usize) -> Result<Option<f64>, Refusal> {
    if text.is_empty() {
        return Ok(None);
    }
    let (whole, minutes) = text.split_at_checked(degrees).ok_or(FIELD)?;
    let minutes = number(minutes)?.filter(|m| (0.0..60.0).contains(m)).ok_or(FIELD)?;
    let plain = whole.iter().all(u8::is_ascii_digit) && text.get(degrees).is_some_and(u8::is_ascii_digit);
    let value = number(whole)?.filter(|_| plain).ok_or(FIELD)? + minutes / 60.0;
    let (limit, plus, minus) = if degrees == 2 { (90.0, b"N", b"S") } else { (180.0, b"E", b"W") };
    signed(Some(value).filter(|v| *v <= limit).ok_or(FIELD)?.into(), letter, plus, minus)
}

fn time(text: &[u8]) -> Result<Option<(i64, bool)>, Refusal> {
    if text.is_empty() { Ok(None) } else { clock_time(text).map(Some).ok_or(FIELD) }
}

fn date(text: &[u8]) -> Result<Option<i64>, Refusal> {
    if text.is_empty() { Ok(None) } else { short_date(text).map(Some).ok_or(FIELD) }
}
