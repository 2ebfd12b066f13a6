//! The keys of `[[log]]` that say how a table of separated cells is written.

use crate::keyfile::{Place, Section};
use crate::recorder::{ClockOptions, CsvOptions, DateOrder, Decimal, Separator, TableOptions};
use crate::time::Count;
use jiff::tz::TimeZone;

/// The keys that only a table of separated cells can follow; `zone`, `utc_offset` and `units` serve every format.
const TABLE_KEYS: [&str; 15] = [
    "date_order",
    "separator",
    "decimal",
    "encoding",
    "header_row",
    "header_rows",
    "unit_row",
    "comment",
    "placeholders",
    "date_column",
    "time_column",
    "week_column",
    "counts",
    "gps_rollovers",
    "power_up",
];

/// A log has fewer parts than this.
const MOST_PARTS: u64 = 1_000_000;

/// Those of the keys above that the log's table has, and where their values stand.
pub(super) fn table_keys(log: &Section<'_>) -> Vec<(&'static str, Place)> {
    TABLE_KEYS.iter().filter_map(|&key| Some((key, log.place_of(key)?))).collect()
}

/// Reads those keys of a log's table.
pub(super) fn read(log: &mut Section<'_>) -> CsvOptions {
    let orders = [
        ("day-first", DateOrder::DayFirst),
        ("month-first", DateOrder::MonthFirst),
        ("year-first", DateOrder::YearFirst),
    ];
    CsvOptions {
        date_order: log.word("date_order", &orders).map(|w| w.0),
        zone: zone(log),
        units: log.free_texts("units").into_iter().map(|(column, _, unit, _)| (column, unit)).collect(),
        table: table(log),
        clock: clock(log),
    }
}

/// The parts that `power_up` lists; none where it names one, or is not there.
pub(super) fn listed_parts(log: &mut Section<'_>) -> Option<Vec<usize>> {
    const KEY: &str = "power_up";
    if !log.is_list(KEY) {
        return None;
    }
    let (numbers, place) = log.numbers(KEY)?;
    let is_part = |n: &f64| n.fract() == 0.0 && (1.0..=MOST_PARTS as f64).contains(n);
    let parts: Vec<usize> = numbers.iter().filter(|n| is_part(n)).map(|n| *n as usize).collect();
    if parts.is_empty() || parts.len() < numbers.len() || !parts.is_sorted_by(|a, b| a < b) {
        let message = format!("`{KEY}` is {numbers:?}; expected numbers of parts, each once and in their order");
        log.fault(place, KEY, "out_of_range", message, "parts are counted from 1: power_up = [1, 2]");
        return None;
    }
    Some(parts)
}

/// The zone by its name, or how far it is ahead of UTC.
fn zone(log: &mut Section<'_>) -> Option<TimeZone> {
    let offset = log.utc_offset("utc_offset").map(TimeZone::fixed);
    let (name, place) = match log.text("zone") {
        None => return offset,
        Some(named) => named,
    };
    if log.has("utc_offset") {
        let message = format!("`zone` is \"{name}\", and `utc_offset` is there too");
        log.fault(place, "zone", "two_zones", message, "keep one of the two");
        return offset;
    }
    match TimeZone::get(&name) {
        Ok(zone) => Some(zone),
        Err(_) => {
            let message = format!("`zone` is \"{name}\"; expected a zone of the IANA time zone database");
            log.fault(place, "zone", "unknown_zone", message, "write for example \"Europe/London\"");
            None
        }
    }
}

fn table(log: &mut Section<'_>) -> TableOptions {
    let separators = [
        ("comma", Separator::Comma),
        ("semicolon", Separator::Semicolon),
        ("tab", Separator::Tab),
        ("pipe", Separator::Pipe),
        ("blanks", Separator::Blanks),
    ];
    let decimals = [("point", Decimal::Point), ("comma", Decimal::Comma)];
    let encoding = log.text("encoding").and_then(|(label, place)| {
        let encoding = encoding_rs::Encoding::for_label(label.as_bytes());
        if encoding.is_none() {
            let message = format!("`encoding` is \"{label}\"; expected the name of an encoding");
            let cure = "write for example \"utf-8\", \"utf-16le\" or \"windows-1252\"";
            log.fault(place, "encoding", "unknown_encoding", message, cure);
        }
        encoding
    });
    TableOptions {
        separator: log.word("separator", &separators).map(|w| w.0),
        decimal: log.word("decimal", &decimals).map(|w| w.0),
        encoding,
        header_row: whole(log, "header_row", 1, 1_000_000),
        header_rows: whole(log, "header_rows", 1, 4),
        unit_row: whole(log, "unit_row", 1, 1_000_000),
        comment: log.text("comment").map(|t| t.0),
        placeholders: log.texts("placeholders").map(|list| list.into_iter().map(|t| t.0).collect()),
    }
}

fn clock(log: &mut Section<'_>) -> ClockOptions {
    ClockOptions {
        date_column: log.text("date_column").map(|t| t.0),
        time_column: log.text("time_column").map(|t| t.0),
        week_column: log.text("week_column").map(|t| t.0),
        counts: log.word("counts", &Count::WORDS).map(|w| w.0),
        gps_rollovers: whole(log, "gps_rollovers", 0, 9).and_then(|n| u8::try_from(n).ok()),
        power_up: match log.is_list("power_up") {
            true => None,
            false => whole(log, "power_up", 1, MOST_PARTS).and_then(|n| usize::try_from(n).ok()),
        },
    }
}

/// A whole number between two others.
fn whole(log: &mut Section<'_>, key: &'static str, least: u64, most: u64) -> Option<u64> {
    let (number, place) = log.number(key)?;
    if number.fract() == 0.0 && number >= least as f64 && number <= most as f64 {
        return Some(number as u64);
    }
    let message = format!("`{key}` is {number}; expected a whole number from {least} to {most}");
    log.fault(place, key, "out_of_range", message, "rows and parts are counted from 1");
    None
}
