//! GPX 1.1, and 1.0 as it is met.
//!
//! Read are the points of tracks. Rules: a point without a time, with a bad position or with another kind of time than the
//! first is refused; a new segment is named; waypoints and routes are counted and passed over; numbers in `extensions` become
//! channels named after their elements; a damaged file gives what stands before the damage. The schema does not say from
//! where `ele` counts, and loggers differ: it is called elevation and nothing else.

use super::csv::{RowList, read_date, read_time, split_stamp};
use super::series::{Dated, Rest, Series, recording, tell};
use super::{Format, RecorderError, Recording};
use crate::finding::{Finding, Severity};
use crate::signal::Kind;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::path::Path;

/// Whether these are the first bytes of such a file.
pub(super) fn looks_like(head: &[u8]) -> bool {
    let text = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head).trim_ascii_start();
    let named = |w: &[u8]| w.starts_with(b"<gpx") || w.starts_with(b":gpx");
    text.starts_with(b"<") && text.windows(5).any(|w| named(w) && !w[4].is_ascii_alphanumeric())
}

/// A track point while it is read.
struct Point {
    row: u64,
    lat: Option<f64>,
    lon: Option<f64>,
    time: String,
    values: Vec<(String, String)>,
    void: bool,
}

/// What the walk over the file brings home.
#[derive(Default)]
struct Walk {
    series: Series,
    zoned: Option<bool>,
    untimed: RowList,
    placeless: RowList,
    mixed: RowList,
    void: RowList,
    segments: RowList,
    east: RowList,
    waypoints: usize,
    route_points: usize,
    texts: usize,
    first_row: Option<u64>,
    new_segment: bool,
    damage: Option<Finding>,
    cut_points: usize,
}

/// Reads such a file.
pub(super) fn read(path: &Path, bytes: &[u8], zone: Option<&jiff::tz::TimeZone>) -> Result<Recording, RecorderError> {
    // Names in another encoding must not hide the numbers, which are ASCII in all that are met.
    let walk = walk(&String::from_utf8_lossy(bytes));
    let nothing = |why: String| RecorderError::NothingDated { file: path.to_owned(), format: "GPX", why };
    if walk.series.ns.is_empty() {
        let points = walk.untimed.count + walk.placeless.count + walk.mixed.count + walk.cut_points;
        return Err(nothing(match (points, walk.untimed.first()) {
            (0, _) => "it holds no track point; export a recorded track, not waypoints or a route".to_owned(),
            (_, Some(row)) => format!(
                "{} of {points} track points have no time that can be read (the first in row {row}); a drawn or stripped \
                 track cannot be put on a clock: export the recording itself",
                walk.untimed.count
            ),
            _ => format!("none of {points} track points is whole; export the track anew"),
        }));
    }
    let local = walk.zoned == Some(false);
    let mut findings: Vec<Finding> = walk.findings();
    if local {
        let message =
            "the times state no zone, though the format wants UTC: taken as local; state the zone in the flight file";
        let finding = Finding::new(Severity::Warning, "zone_missing", message);
        findings.push(walk.first_row.map_or(finding.clone(), |row| finding.at_row(row)));
    }
    let refused = walk.untimed.count + walk.placeless.count + walk.mixed.count + walk.cut_points;
    let rest = Rest { refused, skipped: walk.waypoints + walk.route_points, findings };
    let settled = walk.series.settle(None, &[]);
    recording(path, Format::Gpx, if local { Dated::Local } else { Dated::Utc }, zone, settled, rest)
}

/// Counts physical lines up to a place that only moves forward.
struct Lines<'a> {
    bytes: &'a [u8],
    at: usize,
    row: u64,
}

impl Lines<'_> {
    fn at(&mut self, position: u64) -> u64 {
        let to = usize::try_from(position).unwrap_or(usize::MAX).clamp(self.at, self.bytes.len());
        self.row += self.bytes[self.at..to].iter().filter(|b| **b == b'\n').count() as u64;
        self.at = to;
        self.row
    }
}

fn walk(text_of_file: &str) -> Walk {
    let bytes = text_of_file.as_bytes();
    let mut reader = Reader::from_str(text_of_file);
    reader.config_mut().expand_empty_elements = true;
    let mut lines = Lines { bytes, at: 0, row: 1 };
    let mut walk = Walk::default();
    let mut open: Vec<String> = Vec::new();
    let mut point: Option<Point> = None;
    let mut text = String::new();
    loop {
        let event = reader.read_event();
        // The place after the event: an element begins on the row where its tag ends.
        let row = lines.at(reader.buffer_position());
        match event {
            Ok(Event::Start(start)) => {
                let name = start.local_name().as_ref().to_owned();
                text.clear();
                match &*name {
                    "wpt" => walk.waypoints += 1,
                    "rtept" => walk.route_points += 1,
                    "trkseg" => walk.new_segment = true,
                    "trkpt" if point.is_none() => point = Some(Point::begin(&start, row)),
                    _ => (),
                }
                open.push(name);
            }
            Ok(Event::Text(part)) => text.push_str(&part),
            Ok(Event::CData(part)) => text.push_str(&part),
            Ok(Event::End(_)) => {
                let name = open.pop().unwrap_or_default();
                if name == "trkpt"
                    && !open.iter().any(|o| o == "trkpt")
                    && let Some(point) = point.take()
                {
                    walk.take(point);
                } else if let Some(point) = &mut point {
                    let inside = open.iter().rposition(|o| o == "trkpt").map_or(&open[..0], |at| &open[at + 1..]);
                    point.child(inside, name, text.trim());
                }
                text.clear();
            }
            Ok(Event::Eof) => {
                if !open.is_empty() {
                    walk.damage(row, bytes.len() as u64, "cut_off", "the file ends in the middle");
                }
                break;
            }
            Ok(_) => (),
            Err(error) => {
                let cut = lines.at >= bytes.len();
                let code = if cut { "cut_off" } else { "bad_xml" };
                walk.damage(row, reader.error_position(), code, &error.to_string());
                break;
            }
        }
    }
    walk.cut_points = usize::from(point.is_some());
    walk
}

impl Point {
    fn begin(start: &BytesStart<'_>, row: u64) -> Self {
        let attribute = |name: &str, low: f64, high: f64| {
            let found = start.attributes().flatten().find(|a| a.key.as_ref() == name)?;
            number(&found.value).filter(|v| (low..=high).contains(v))
        };
        let (lat, lon) = (attribute("lat", -90.0, 90.0), attribute("lon", -180.0, 180.0));
        Self { row, lat, lon, time: String::new(), values: Vec::new(), void: false }
    }

    /// An element within the point has ended; `above`: the elements of the point that it stands in.
    fn child(&mut self, above: &[String], name: String, text: &str) {
        match above {
            [] if name == "time" => text.clone_into(&mut self.time),
            [] if name == "fix" => self.void = text == "none",
            [] if !text.is_empty() => self.values.push((format!("/{name}"), text.to_owned())),
            [first, ..] if first == "extensions" && !text.is_empty() => self.values.push((name, text.to_owned())),
            _ => (),
        }
    }
}

impl Walk {
    fn damage(&mut self, row: u64, byte: u64, code: &'static str, what: &str) {
        let message = format!("{what} (byte {byte}); what stands before it was read");
        self.damage = Some(Finding::new(Severity::Warning, code, message).at_row(row));
    }

    fn take(&mut self, point: Point) {
        let row = point.row;
        let (Some(lat), Some(lon)) = (point.lat, point.lon) else { return self.placeless.push(row) };
        let read = || {
            let (date, time, basic) = split_stamp(point.time.as_bytes())?;
            let (time, day) = (read_time(time, basic)?, read_date(date)[0].filter(|_| date.get(4) == Some(&b'-'))?);
            Some((time.on(day)?, time.zone.is_some()))
        };
        let Some((ns, zoned)) = read() else { return self.untimed.push(row) };
        if *self.zoned.get_or_insert(zoned) != zoned {
            return self.mixed.push(row);
        }
        if std::mem::take(&mut self.new_segment) && self.first_row.is_some() {
            self.segments.push(row);
        }
        self.first_row.get_or_insert(row);
        if point.void {
            self.void.push(row);
        }
        if lon == 180.0 {
            self.east.push(row);
        }
        self.series.begin(ns, row);
        self.series.count();
        let place = |value| (!point.void).then_some(value);
        self.series.put(("Latitude", Some("deg"), Kind::Continuous), place(lat));
        self.series.put(("Longitude", Some("deg"), Kind::Continuous), place(lon));
        for (name, text) in &point.values {
            let Some(value) = number(text) else {
                self.texts += 1;
                continue;
            };
            match core(name) {
                Some(head) => self.series.put(head, place(value)),
                None if name.starts_with('/') => (),
                None => self.series.put((name, None, Kind::Continuous), Some(value)),
            }
        }
    }

    fn findings(&self) -> Vec<Finding> {
        use Severity::{Note, Warning};
        let mut findings: Vec<Finding> = [
            tell(&self.untimed, Warning, "point_without_time", "no time that can be read; refused"),
            tell(&self.placeless, Warning, "bad_position", "latitude or longitude missing or out of range; refused"),
            tell(
                &self.mixed,
                Warning,
                "zone_mixed",
                "some times state a zone and some do not; unlike the first, refused",
            ),
            tell(&self.segments, Note, "segment", "a new segment: reception was lost, or recording stopped"),
            tell(&self.void, Note, "void_fix", "fix is `none`: the position is not used"),
            tell(&self.east, Note, "longitude_180", "the format writes this longitude as -180; taken as it is"),
        ]
        .into_iter()
        .flatten()
        .collect();
        if self.waypoints + self.route_points > 0 {
            let message = format!(
                "{} waypoints and {} points of routes are plans, not records; left out",
                self.waypoints, self.route_points
            );
            findings.push(Finding::new(Note, "plans_skipped", message));
        }
        findings.extend(self.damage.clone());
        findings
    }
}

fn number(text: &str) -> Option<f64> {
    fast_float2::parse(text.trim()).ok().filter(|v: &f64| v.is_finite())
}

/// The channel of an element that the schema itself knows. Speed in m/s and course from true north are GPX 1.0 (from memory).
fn core(name: &str) -> Option<super::series::Head> {
    let (angle, steady, jumps) = (Kind::Angle, Kind::Continuous, Kind::Discrete);
    Some(match name {
        "/ele" => ("Elevation", Some("m"), steady),
        "/speed" => ("Ground Speed", Some("m/s"), steady),
        "/course" => ("Track True", Some("deg"), angle),
        "/magvar" => ("Magnetic Variation", Some("deg"), steady),
        "/geoidheight" => ("Geoid Separation", Some("m"), steady),
        "/sat" => ("Satellites", None, jumps),
        "/hdop" => ("HDOP", None, steady),
        "/vdop" => ("VDOP", None, steady),
        "/pdop" => ("PDOP", None, steady),
        "/ageofdgpsdata" => ("DGPS Age", Some("s"), steady),
        _ => return None,
    })
}
