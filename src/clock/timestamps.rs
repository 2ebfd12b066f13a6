//! Evidence from the dates that camera and logger wrote.
//!
//! A camera's clock may stand on UTC or on local time, its stamp may tell of the recording's start or of its end, and all its
//! stamps come from the same clock. So of all readings one is used, the sharpest that puts the film beside the logs, and the
//! others are shown. Containers of the MP4 family count creation time in whole seconds of UTC since 1904 (ISO/IEC 14496-12); many
//! cameras write local time there.

use super::evidence::{ClockId, Evidence, EvidenceKind};
use crate::finding::{Finding, Severity};
use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::Offset;

/// What a log's own dates say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dated {
    /// Instant of its first sample, if it knows UTC.
    pub start: Option<Timestamp>,
    /// Seconds of its stamps' last digit.
    pub resolution_s: f64,
    /// Seconds from its first to its last sample.
    pub duration_s: f64,
    /// Whether it writes a satellite receiver's time, which follows UTC.
    pub follows_utc: bool,
}

/// What a clip's own dates say. Every one may be missing.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stamps {
    /// Creation time of the container, read as UTC.
    pub created: Option<Timestamp>,
    /// The camera's date with its zone.
    pub zoned: Option<Timestamp>,
    /// Time code of the first frame: seconds since midnight of the camera's clock, and seconds of one frame.
    pub timecode: Option<(f64, f64)>,
    /// Date and time in the file's name.
    pub name: Option<DateTime>,
    /// When the file was last written.
    pub modified: Option<Timestamp>,
    /// Length of the film in seconds.
    pub duration_s: f64,
    /// How far the camera's clock is ahead of UTC, if the owner says so.
    pub utc_offset: Option<Offset>,
    /// Whether the stamps tell of the end of the recording, if the owner says so.
    pub at_end: Option<bool>,
}

/// Least uncertainty of a stamp: no computer's and no logger's clock is set better (common practice, no source).
const LEAST_SIGMA_S: f64 = 0.01;
/// From a file's name or its last writing to the film's first frame lies some time that nobody states (common practice, no source).
const NAME_SIGMA_S: f64 = 2.0;
const MODIFIED_SIGMA_S: f64 = 5.0;
/// Zones that are not whole hours from UTC, in hours, summer time included (IANA time zone database).
const BROKEN_ZONES: [f64; 13] = [-9.5, -3.5, -2.5, 3.5, 4.5, 5.5, 5.75, 6.5, 8.75, 9.5, 10.5, 12.75, 13.75];
const DAY_S: f64 = 86_400.0;

/// The instant of a log's first sample.
pub fn of_log(log: usize, dated: &Dated, epoch: Timestamp) -> Option<Evidence> {
    let at = seconds(dated.start?, epoch);
    let sigma_s = (dated.resolution_s / 12f64.sqrt()).max(LEAST_SIGMA_S);
    let why = "the log's own UTC";
    Some(Evidence::new(EvidenceKind::Timestamp, (ClockId::Log(log), 0.0), (ClockId::Utc, at), sigma_s, why))
}

/// One way to read one stamp: when the film began.
#[derive(Debug, Clone, PartialEq)]
struct Reading {
    start_s: f64,
    sigma_s: f64,
    why: String,
    /// Zone offset that was presumed, in seconds.
    presumed_s: Option<f64>,
}

/// The readings of a film's stamps; at most one of them is to be used. `span`: from when to when the logs that know UTC
/// recorded, in seconds since `epoch`.
pub fn of_film(film: usize, stamps: &Stamps, span: (f64, f64), epoch: Timestamp) -> (Vec<Evidence>, Option<Finding>) {
    let overlap = |start: f64| ((start + stamps.duration_s).min(span.1) - start.max(span.0)).max(0.0);
    let most = stamps.duration_s.min(span.1 - span.0);
    let beside = |start: f64| overlap(start) > 0.5 * most;
    let mut readings = Vec::new();
    for (stamp, sigma, why, local) in whole_stamps(stamps) {
        let at = seconds(stamp, epoch) + if sigma < 1.0 && stamp.subsec_nanosecond() == 0 { 0.5 } else { 0.0 };
        readings.extend(read(at, sigma, why, local, stamps, &beside));
    }
    if let Some(reading) = timecode(stamps, epoch, &beside, &readings) {
        readings.insert(0, reading);
    }
    if let Some(modified) = stamps.modified {
        let start_s = seconds(modified, epoch) - stamps.duration_s;
        let why = "the file's last change, as the end of the recording".to_owned();
        // Copying a file changes it: far from the logs it says nothing at all.
        if beside(start_s) {
            readings.push(Reading { start_s, sigma_s: MODIFIED_SIGMA_S, why, presumed_s: None });
        }
    }
    let chosen = readings.iter().position(|r| beside(r.start_s));
    let finding = chosen.and_then(|i| readings[i].presumed_s.map(|s| (i, s))).map(|(i, zone_s)| {
        let text = format!(
            "{}: read as UTC, film and logs lie apart; read as local time {} h ahead of UTC, they meet, and so it is read; \
             say utc_offset in [[film]] to be sure",
            readings[i].why,
            zone_s / 3600.0
        );
        Finding::new(Severity::Warning, "camera_clock_local", text)
    });
    let evidence = readings.into_iter().enumerate().map(|(i, r)| {
        let on = [(ClockId::Film(film), 0.0), (ClockId::Utc, r.start_s)];
        Evidence { kind: EvidenceKind::Timestamp, on, sigma_s: r.sigma_s, why: r.why, only_shown: chosen != Some(i) }
    });
    (evidence.collect(), finding)
}

/// The stamps that name date and time: each as if it were UTC, its uncertainty, its name, and whether it may be local time.
fn whole_stamps(stamps: &Stamps) -> Vec<(Timestamp, f64, &'static str, bool)> {
    // A stamp that is cut to whole seconds is anywhere in that second: 1 / sqrt(12).
    let cut = |t: Timestamp| if t.subsec_nanosecond() == 0 { 1.0 / 12f64.sqrt() } else { LEAST_SIGMA_S };
    let mut all = Vec::new();
    if let Some(zoned) = stamps.zoned {
        all.push((zoned, cut(zoned), "the camera's date with its zone", false));
    }
    if let Some(created) = stamps.created {
        all.push((created, cut(created), "the clip's creation time", true));
    }
    if let Some(name) = stamps.name.and_then(|name| Offset::UTC.to_timestamp(name).ok()) {
        all.push((name, NAME_SIGMA_S, "the date in the clip's name", true));
    }
    all
}

/// The readings of one stamp, the likeliest first.
fn read(
    at: f64,
    sigma_s: f64,
    why: &str,
    may_be_local: bool,
    stamps: &Stamps,
    beside: &dyn Fn(f64) -> bool,
) -> Vec<Reading> {
    let stated = stamps.utc_offset.filter(|_| may_be_local).map(|o| f64::from(o.seconds()));
    let at = at - stated.unwrap_or(0.0);
    let ends = match stamps.at_end {
        Some(end) => vec![end],
        None => vec![false, true],
    };
    let mut readings = Vec::new();
    for end in ends {
        let start_s = at - if end { stamps.duration_s } else { 0.0 };
        let part = if end { ", as the end of the recording" } else { "" };
        let zone = if stated.is_some() { ", in the zone that the owner states" } else { "" };
        readings.push(Reading { start_s, sigma_s, why: format!("{why}{zone}{part}"), presumed_s: None });
    }
    // Read as UTC it is far from the logs: as local time of which zones is it beside them?
    if may_be_local && stated.is_none() && readings.iter().all(|r| !beside(r.start_s)) {
        let start_s = readings[0].start_s;
        let zones: Vec<f64> = zones().filter(|z| *z != 0.0 && beside(start_s - z)).collect();
        let whole: Vec<f64> = zones.iter().copied().filter(|z| z.rem_euclid(3600.0) == 0.0).collect();
        // Several hours that fit say nothing; nor do several broken ones.
        if let ([zone_s], _) | (_, [zone_s]) = (&whole[..], &zones[..]) {
            let why = format!("{why}, as local time {:+} h", zone_s / 3600.0);
            readings.push(Reading { start_s: start_s - zone_s, sigma_s, why, presumed_s: Some(*zone_s) });
        }
    }
    readings
}

/// The time code, on the day and in the zone that put it beside the logs and beside the other stamps.
fn timecode(stamps: &Stamps, epoch: Timestamp, beside: &dyn Fn(f64) -> bool, others: &[Reading]) -> Option<Reading> {
    let (since_midnight, frame_s) = stamps.timecode?;
    // Counters that start with the recording stand at whole hours: no clock.
    (since_midnight.rem_euclid(3600.0) != 0.0).then_some(())?;
    let midnight = epoch.as_second().div_euclid(86_400) * 86_400;
    let midnight_s = seconds(Timestamp::from_second(midnight).ok()?, epoch);
    let days = [-1.0, 0.0, 1.0, 2.0].map(|d| d * DAY_S);
    let zones: Vec<f64> = match stamps.utc_offset {
        Some(offset) => vec![f64::from(offset.seconds())],
        None => zones().collect(),
    };
    let reading = |day: f64, zone: f64| {
        let zoned = if zone == 0.0 { String::new() } else { format!(", as local time {:+} h", zone / 3600.0) };
        Reading {
            start_s: midnight_s + day + since_midnight - zone + frame_s / 2.0,
            sigma_s: (frame_s / 12f64.sqrt()).max(LEAST_SIGMA_S),
            why: format!("the time code{zoned}"),
            presumed_s: (zone != 0.0 && stamps.utc_offset.is_none()).then_some(zone),
        }
    };
    let all = days.iter().flat_map(|&day| zones.iter().map(move |&zone| (day, zone)));
    let mut fitting: Vec<Reading> = all.map(|(day, zone)| reading(day, zone)).filter(|r| beside(r.start_s)).collect();
    // UTC itself before zones; then what another stamp says within two seconds; then the only whole hour.
    let near = |r: &Reading| others.iter().any(|o| beside(o.start_s) && (o.start_s - r.start_s).abs() < 2.0);
    if let Some(i) = fitting.iter().position(near) {
        let mut found = fitting.swap_remove(i);
        // The other stamp states the zone, or the choice was told with it.
        found.presumed_s = None;
        return Some(found);
    }
    if let Some(i) = fitting.iter().position(|r| r.presumed_s.is_none()) {
        return Some(fitting.swap_remove(i));
    }
    fitting.retain(|r| r.presumed_s.is_some_and(|z| z.rem_euclid(3600.0) == 0.0));
    if fitting.len() == 1 { fitting.pop() } else { None }
}

/// How far local times are ahead of UTC, in seconds: from -12 to +14 hours.
fn zones() -> impl Iterator<Item = f64> {
    (-12..=14).map(f64::from).chain(BROKEN_ZONES).map(|hours| hours * 3600.0)
}

/// Seconds from one instant to another.
pub fn seconds(instant: Timestamp, epoch: Timestamp) -> f64 {
    instant.duration_since(epoch).as_secs_f64()
}

/// A date with its zone as cameras write it, with or without a colon in the zone.
pub fn zoned(text: &str) -> Option<Timestamp> {
    text.parse().ok().or_else(|| Timestamp::strptime("%Y-%m-%dT%H:%M:%S%z", text).ok())
}

/// A time code `hh:mm:ss:ff` (`;` before the frames: some numbers are dropped): seconds since midnight as its clock shows them,
/// and seconds of a frame (SMPTE ST 12-1).
pub fn timecode_of(text: &str, frame_rate: f64) -> Option<(f64, f64)> {
    let fields: Vec<f64> = text
        .split([':', ';', '.'])
        .map(|field| if field.len() == 2 { field.parse::<u8>().ok().map(f64::from) } else { None })
        .collect::<Option<_>>()?;
    let [hours, minutes, seconds, frame] = fields[..] else { return None };
    // Codes of 29.97 frames a second count to 30.
    let nominal = frame_rate.round();
    let sound = hours < 24.0 && minutes < 60.0 && seconds < 60.0 && nominal >= 1.0 && frame < nominal;
    sound.then(|| (hours * 3600.0 + minutes * 60.0 + seconds + frame / nominal, 1.0 / nominal))
}

/// A date and time within a file's name: eight digits and six, or the same with signs between them.
pub fn date_in_name(name: &str) -> Option<DateTime> {
    let bytes = name.as_bytes();
    (0..bytes.len()).filter(|&i| i == 0 || !bytes[i - 1].is_ascii_digit()).find_map(|i| date_at(&bytes[i..]))
}

fn date_at(bytes: &[u8]) -> Option<DateTime> {
    let mut rest = bytes;
    let mut numbers = [0i16; 6];
    for (i, number) in numbers.iter_mut().enumerate() {
        let digits = if i == 0 { 4 } else { 2 };
        // One sign between two numbers, and a few letters between date and time (`at`, `T`).
        let between = rest.iter().take_while(|b| !b.is_ascii_digit()).count();
        if (i == 0 && between > 0) || between > if i == 3 { 4 } else { 1 } {
            return None;
        }
        rest = &rest[between..];
        let text = rest.get(..digits).filter(|t| t.iter().all(u8::is_ascii_digit))?;
        *number = std::str::from_utf8(text).ok()?.parse().ok()?;
        rest = &rest[digits..];
    }
    let [year, month, day, hour, minute, second] = numbers;
    let small = |n: i16| i8::try_from(n).ok();
    (1980..2200).contains(&year).then_some(())?;
    DateTime::new(year, small(month)?, small(day)?, small(hour)?, small(minute)?, small(second)?, 0).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> Timestamp {
        text.parse().expect("instant")
    }

    const EPOCH: &str = "2026-06-15T08:30:00Z";
    /// Logs from the epoch on for twenty minutes.
    const SPAN: (f64, f64) = (0.0, 1200.0);

    fn used(stamps: &Stamps) -> Option<(f64, f64, String)> {
        let (readings, _) = of_film(0, stamps, SPAN, at(EPOCH));
        let used: Vec<_> = readings.into_iter().filter(|r| !r.only_shown).collect();
        assert!(used.len() <= 1);
        used.into_iter().next().map(|r| (r.on[1].1, r.sigma_s, r.why))
    }

    fn film(created: Option<&str>) -> Stamps {
        Stamps { created: created.map(at), duration_s: 600.0, ..Stamps::default() }
    }

    #[test]
    fn a_stamp_of_whole_seconds_is_the_middle_of_its_second() {
        let (start, sigma, _) = used(&film(Some("2026-06-15T08:32:00Z"))).expect("reading");
        assert_eq!((start, sigma), (120.5, 1.0 / 12f64.sqrt()));
        let (start, sigma, _) = used(&film(Some("2026-06-15T08:32:00.250Z"))).expect("reading");
        assert_eq!((start, sigma), (120.25, 0.01));
    }

    #[test]
    fn local_time_is_found_out_and_told() {
        let stamps = film(Some("2026-06-15T10:32:00Z"));
        let (start, _, why) = used(&stamps).expect("reading");
        assert!((start - 120.5).abs() < 1e-9 && why.contains("+2 h"), "{start} {why}");
        assert!(of_film(0, &stamps, SPAN, at(EPOCH)).1.is_some_and(|f| f.code == "camera_clock_local"));
        // What the owner says needs no guess.
        let stated = Stamps { utc_offset: Some(Offset::constant(2)), ..stamps };
        assert!(of_film(0, &stated, SPAN, at(EPOCH)).1.is_none());
        // No zone is 37 minutes from UTC, and a day is none.
        assert_eq!(used(&film(Some("2026-06-15T10:09:00Z"))), None);
        assert_eq!(used(&film(Some("2026-06-17T08:32:00Z"))), None);
    }

    #[test]
    fn the_end_of_the_recording_is_tried_too() {
        let (start, _, why) = used(&film(Some("2026-06-15T08:49:00Z"))).expect("reading");
        assert!((start - 540.5).abs() < 1e-9 && why.contains("end of the recording"), "{start} {why}");
        let stated = Stamps { at_end: Some(true), ..film(Some("2026-06-15T08:45:00Z")) };
        assert!((used(&stated).expect("reading").0 - 300.5).abs() < 1e-9);
    }

    #[test]
    fn a_time_code_is_sharper_than_the_date_that_tells_its_zone() {
        // 10:32:00 and 15 of 30 frames, in a zone two hours ahead.
        let timecode = timecode_of("10:32:00:15", 30.0);
        let stamps = Stamps { timecode, ..film(Some("2026-06-15T08:32:00Z")) };
        let (start, sigma, _) = used(&stamps).expect("reading");
        assert!((start - 120.5 - 1.0 / 60.0).abs() < 1e-9 && sigma < 0.011, "{start} {sigma}");
        // A counter from zero is no clock.
        assert_eq!(used(&Stamps { timecode: timecode_of("01:00:00:00", 30.0), ..film(None) }), None);
    }

    #[test]
    fn stamps_are_read_as_cameras_write_them() {
        assert_eq!(zoned("2024-06-01T12:20:30+0200"), Some(at("2024-06-01T10:20:30Z")));
        assert_eq!(timecode_of("10:20:30;02", 29.97), Some((37_230.0 + 2.0 / 30.0, 1.0 / 30.0)));
        for bad in ["10:20:30", "24:00:00:00", "10:20:30:30", "a"] {
            assert_eq!(timecode_of(bad, 29.97), None, "{bad}");
        }
        let date = Some(jiff::civil::date(2026, 6, 15).at(8, 32, 5, 0));
        for name in ["VID_20260615_083205", "20260615T083205", "2026-06-15 08.32.05", "a 2026-06-15 at 08.32.05 b"] {
            assert_eq!(date_in_name(name), date, "{name}");
        }
        for name in ["GX010042", "120260615_083205", "20261315_083205", "2026-06-15"] {
            assert_eq!(date_in_name(name), None, "{name}");
        }
    }
}
