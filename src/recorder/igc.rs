//! IGC: a glider flight recorder's file, one letter a record.
//!
//! Source of the layout: `tests/published/igc_records.csv` and `igc_headers.csv`. Rules: a fix marked V (2D, or no GNSS data)
//! gives its pressure altitude only; a line with one bad byte is refused whole; digits of extensions stay digits, because
//! their scale depends on edition and maker; a time that falls by more than half a day is midnight.

use super::csv::{DAY, RowList, SECOND};
use super::series::{Dated, Rest, Series, clock_time, day_number, lines, recording, short_date, tell};
use super::{Format, RecorderError, Recording};
use crate::finding::{Finding, Severity};
use crate::signal::Kind;
use crate::time::follows_leap_second;
use std::collections::BTreeMap;
use std::path::Path;

const PRESSURE: &str = "Pressure Altitude 1013 hPa";

/// Whether these are the first bytes of such a file.
pub(super) fn looks_like(head: &[u8]) -> bool {
    let head = head.strip_prefix(b"\xef\xbb\xbf").unwrap_or(head);
    let first = lines(head).map(|(_, line)| line).find(|line| !line.trim_ascii().is_empty()).unwrap_or_default();
    let maker = first.len() >= 4 && first[0] == b'A' && first[1..4].iter().all(u8::is_ascii_alphanumeric);
    let mut rest = lines(head).map(|(_, line)| line);
    if maker && !first.contains(&b',') { rest.any(|l| l.starts_with(b"HFDTE") || is_fix(l)) } else { rest.any(is_fix) }
}

fn is_fix(line: &[u8]) -> bool {
    line.len() >= 35 && line[0] == b'B' && Fix::parse(line, &[]).is_some()
}

/// A field that an I or J record adds.
struct Extension {
    code: String,
    first: usize,
    last: usize,
}

/// The fields of an I or J record; none where it cannot be believed.
fn extensions(line: &[u8], from: usize) -> Option<Vec<Extension>> {
    let count = usize::try_from(super::series::two_digits(line.get(1..3)?)?).ok()?;
    let mut rest = line.get(3..)?;
    let mut found = Vec::new();
    let mut next = from;
    for _ in 0..count {
        let digits = rest.iter().take_while(|b| b.is_ascii_digit()).count();
        // Two or three digits each: 99 and below, or more.
        let split = match digits {
            4 | 5 => 2,
            6 => 3,
            _ => return None,
        };
        let number = |text: &[u8]| std::str::from_utf8(text).ok()?.parse::<usize>().ok();
        let (first, last) = (number(&rest[..split])?, number(&rest[split..digits])?);
        let code = rest.get(digits..digits + 3)?;
        if first < next || last < first || last > 200 || !code.iter().all(u8::is_ascii_alphanumeric) {
            return None;
        }
        next = last + 1;
        found.push(Extension { code: String::from_utf8_lossy(code).into_owned(), first, last });
        rest = &rest[digits + 3..];
    }
    rest.trim_ascii().is_empty().then_some(found)
}

/// The values of a record's extensions: none for blanks; nothing at all where a byte is no digit.
fn values(line: &[u8], extensions: &[Extension]) -> Option<Vec<Option<f64>>> {
    let one = |e: &Extension| {
        let text = line.get(e.first - 1..e.last)?.trim_ascii();
        if text.iter().all(|b| *b == b'-') { Some(None) } else { whole(text).map(Some) }
    };
    extensions.iter().map(one).collect()
}

/// A whole number, with a minus sign in front or not.
fn whole(text: &[u8]) -> Option<f64> {
    let digits = text.strip_prefix(b"-").unwrap_or(text);
    let plain = !digits.is_empty() && digits.len() <= 15 && digits.iter().all(u8::is_ascii_digit);
    plain.then(|| std::str::from_utf8(text).ok()?.parse().ok()).flatten()
}

struct Fix {
    time: (i64, bool),
    lat: f64,
    lon: f64,
    valid: bool,
    pressure: f64,
    gnss: f64,
    extra: Vec<Option<f64>>,
}

impl Fix {
    fn parse(line: &[u8], extensions: &[Extension]) -> Option<Self> {
        let time = clock_time(line.get(1..7)?)?;
        let extra = values(line, extensions)?;
        // LAD and LOD are further digits of the minutes.
        let more = |code: &str| {
            let at = extensions.iter().position(|e| e.code == code)?;
            let digits = i32::try_from(extensions[at].last - extensions[at].first + 1).ok()?;
            Some(extra[at]? / 1000.0 / 10f64.powi(digits))
        };
        let angle = |at: usize, degrees: usize, letters: [u8; 2], code| {
            let text = line.get(at..at + degrees + 5)?;
            let whole = |t: &[u8]| t.iter().all(u8::is_ascii_digit).then(|| whole(t)).flatten();
            let minutes = whole(&text[degrees..])? / 1000.0 + more(code).unwrap_or(0.0);
            let value = whole(&text[..degrees])? + minutes / 60.0;
            let limit = if degrees == 2 { 90.0 } else { 180.0 };
            let letter = *line.get(at + degrees + 5)?;
            (minutes < 60.0 && value <= limit && letters.contains(&letter)).then_some(if letter == letters[1] {
                -value
            } else {
                value
            })
        };
        let (lat, lon) = (angle(7, 2, [b'N', b'S'], "LAD")?, angle(15, 3, [b'E', b'W'], "LOD")?);
        let valid = match line.get(24)? {
            b'A' => true,
            b'V' => false,
            _ => return None,
        };
        let (pressure, gnss) = (whole(line.get(25..30)?)?, whole(line.get(30..35)?)?);
        Some(Self { time, lat, lon, valid, pressure, gnss, extra })
    }
}

/// The date of a header in either form: `HFDTE160701`, `HFDTEDATE: 280709,01`.
fn header_date(line: &[u8]) -> Option<i64> {
    let rest = line.strip_prefix(b"HFDTE")?;
    let rest = rest.strip_prefix(b"DATE").unwrap_or(rest);
    let rest = rest.strip_prefix(b":").unwrap_or(rest).trim_ascii();
    let (date, flight) = rest.split_at_checked(6)?;
    (flight.is_empty() || flight.first() == Some(&b',')).then(|| short_date(date)).flatten()
}

/// The day of records that only carry a time.
struct Days {
    day: i64,
    before: Option<i64>,
}

impl Days {
    /// Nanoseconds since 1970; none for a second 60 that was never inserted.
    fn on(&mut self, (time, leap): (i64, bool), midnight: &mut dyn FnMut()) -> Option<i64> {
        let falls = self.before.is_some_and(|before| time < before - DAY / 2);
        let ns = (self.day + i64::from(falls)) * DAY + time;
        if leap && !follows_leap_second(ns / SECOND) {
            return None;
        }
        if falls {
            self.day += 1;
            midnight();
        }
        self.before = Some(time);
        Some(ns)
    }
}

/// Reads such a file.
pub(super) fn read(path: &Path, bytes: &[u8], zone: Option<&jiff::tz::TimeZone>) -> Result<Recording, RecorderError> {
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let mut findings = Vec::new();
    let dated = lines(bytes).find_map(|(_, line)| header_date(line));
    let start = dated.or_else(|| day_number(1970, 1, 1)).unwrap_or(0);
    let mut days = [Days { day: start, before: None }, Days { day: start, before: None }];
    let (mut fixes, mut other) = (Series::default(), Series::default());
    let (mut extra, mut extra_k): (Vec<Extension>, Vec<Extension>) = (Vec::new(), Vec::new());
    let [mut bad, mut void, mut bad_header, mut noise] = std::array::from_fn(|_| RowList::default());
    let mut skipped: BTreeMap<char, usize> = BTreeMap::new();
    let mut geoid = false;
    for (row, line) in lines(bytes).filter(|(_, line)| !line.trim_ascii().is_empty()) {
        match line[0] {
            b'B' => {
                let mut note = || {
                    let message = "the time of day begins anew: taken as midnight";
                    findings.push(Finding::new(Severity::Note, "midnight", message).at_row(row));
                };
                let fix = Fix::parse(line, &extra).and_then(|f| Some((days[0].on(f.time, &mut note)?, f)));
                let Some((ns, fix)) = fix else {
                    bad.push(row);
                    continue;
                };
                if !fix.valid {
                    void.push(row);
                }
                fixes.begin(ns, row);
                fixes.count();
                let usable = |value: f64| fix.valid.then_some(value);
                fixes.put(("Latitude", Some("deg"), Kind::Continuous), usable(fix.lat));
                fixes.put(("Longitude", Some("deg"), Kind::Continuous), usable(fix.lon));
                fixes.put((PRESSURE, Some("m"), Kind::Continuous), Some(fix.pressure));
                fixes.put((GNSS, Some("m"), Kind::Continuous), usable(fix.gnss));
                put_extra(&mut fixes, &extra, &fix.extra);
            }
            b'K' => {
                let time = line.get(1..7).and_then(clock_time);
                let taken = time
                    .zip(values(line, &extra_k))
                    .and_then(|(time, values)| Some((days[1].on(time, &mut || ())?, values)));
                let Some((ns, values)) = taken else {
                    bad.push(row);
                    continue;
                };
                other.begin(ns, row);
                other.count();
                put_extra(&mut other, &extra_k, &values);
            }
            letter @ (b'A' | b'C'..=b'J' | b'L') => {
                *skipped.entry(char::from(letter)).or_default() += 1;
                let mut believed = true;
                match letter {
                    b'I' | b'J' => {
                        let found = extensions(line, if letter == b'I' { 36 } else { 8 });
                        believed = found.is_some();
                        *(if letter == b'I' { &mut extra } else { &mut extra_k }) = found.unwrap_or_default();
                    }
                    b'H' if line.starts_with(b"HFDTE") => match header_date(line) {
                        // A later header counts from its own place on.
                        Some(day) => days = [Days { day, before: None }, Days { day, before: None }],
                        None => believed = false,
                    },
                    b'H' if line.get(2..5) == Some(b"ALG") => {
                        geoid = line.to_ascii_uppercase().windows(3).any(|w| w == b"GEO");
                    }
                    _ => (),
                }
                if !believed {
                    bad_header.push(row);
                }
            }
            _ => noise.push(row),
        }
    }
    if fixes.ns.is_empty() {
        let why = format!("no B record can be read ({} are damaged); copy the file anew", bad.count);
        return Err(RecorderError::NothingDated { file: path.to_owned(), format: "IGC", why });
    }
    if fixes.values(PRESSURE).all(|v| v == 0.0) {
        fixes.drop_column(PRESSURE);
        let message = "every pressure altitude is 0: the logger has no pressure sensor; the channel is left out";
        findings.push(Finding::new(Severity::Warning, "no_pressure_sensor", message));
    }
    findings.extend(
        [
            tell(&bad, Severity::Warning, "bad_record", "a B or K record that does not keep to its layout; refused"),
            tell(&noise, Severity::Warning, "not_a_record", "begins with no letter of a record; refused"),
            tell(&bad_header, Severity::Warning, "bad_header", "a header, I or J record that cannot be read; not used"),
            tell(&void, Severity::Note, "void_fix", "marked V (no 3D fix): only its pressure altitude is taken"),
        ]
        .into_iter()
        .flatten(),
    );
    if dated.is_none() {
        let message = "no header states the date: the clock is UTC without a day";
        findings.push(Finding::new(Severity::Warning, "no_date", message));
    }
    let counts: Vec<String> = skipped.iter().map(|(letter, n)| format!("{n} {letter}")).collect();
    if !counts.is_empty() {
        let message = format!("records without readings: {}", counts.join(", "));
        findings.push(Finding::new(Severity::Note, "records_skipped", message));
    }
    let mut settled = fixes.settle(None, &[]);
    let k = other.settle(Some(settled.first_ns), &[]);
    settled.read += k.read;
    settled.refused += k.refused;
    settled.findings.extend(k.findings);
    settled.channels.extend(k.channels);
    if geoid {
        settled.channels.iter_mut().filter(|c| c.name == GNSS).for_each(|c| c.name = "GNSS Altitude Geoid".to_owned());
    }
    let dated = if dated.is_some() { Dated::Utc } else { Dated::TimeOfDay };
    let rest = Rest { refused: bad.count + noise.count, skipped: skipped.values().sum(), findings };
    recording(path, Format::Igc, dated, zone, settled, rest)
}

/// Above the ellipsoid, unless a header says otherwise.
const GNSS: &str = "GNSS Altitude Ellipsoid";

fn put_extra(series: &mut Series, extensions: &[Extension], values: &[Option<f64>]) {
    for (extension, value) in extensions.iter().zip(values).filter(|(e, _)| !matches!(&*e.code, "LAD" | "LOD")) {
        match &*extension.code {
            // The header HFFXA035 is 35 m, and so is the field.
            "FXA" => series.put(("Fix Accuracy", Some("m"), Kind::Continuous), *value),
            "SIU" => series.put(("Satellites", None, Kind::Discrete), *value),
            code => series.put((&format!("{code} digits"), None, Kind::Discrete), *value),
        }
    }
}
