//! The names and units that stand over the columns.

use super::cells::{is_missing, number, trim};
use super::marks::{Evidence, Marks};
use super::record::Record;
use super::sniff::{Row, dates_a_row, holds_names, is_comment};
use crate::units::Unit;
use std::collections::HashSet;
use std::ops::Range;

/// What header and units row say about a column.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Head {
    /// Name as written, without the unit, and made unique.
    pub(super) name: String,
    /// The name as written, where another column had it already.
    pub(super) repeated: Option<String>,
    /// Its unit.
    pub(super) unit: Option<&'static Unit>,
    /// What the units row says, where it is no known unit.
    pub(super) unit_text: Option<String>,
    /// The units row's unit, where the header states another.
    pub(super) clash: Option<&'static Unit>,
    /// What its cells say of the marks in numbers, and how they are read.
    pub(super) evidence: Evidence,
    pub(super) marks: Marks,
}

/// The records of the header that was found at `at`, one or more.
///
/// A further row of names under it belongs to it where it alone does not name every column: cells are empty or repeat,
/// as in a row of groups (`Engine,,Fuel,`). So does a row of names right above it where its own names repeat.
pub(super) fn rows(records: &[Row], at: usize, count: Option<usize>) -> Range<usize> {
    if let Some(count) = count {
        return at..(at + count).min(records.len());
    }
    let header = &records[at].1;
    let mut end = at + 1;
    while end < at + 3
        && let Some((row, next)) = records.get(end)
        && *row == records[end - 1].0 + 1
        && next.len() == header.len()
        && records[at..end].iter().all(|(_, r)| r.len() == header.len())
        && names_too_few(&records[at..end])
        && holds_names(next)
        && !holds_units(next)
        && !names_too_few_after(&records[at..=end], &records[at..end])
    {
        end += 1;
    }
    let above = at.checked_sub(1).filter(|&above| {
        let (row, record) = &records[above];
        end == at + 1
            && repeats(header)
            && row + 1 == records[at].0
            && (2..=header.len()).contains(&record.len())
            && holds_names(record)
            && record.iter().filter(|c| !trim(c).is_empty()).count() > 1
    });
    above.unwrap_or(at)..end
}

fn joined(rows: &[Row], column: usize) -> String {
    let mut parts: Vec<String> = Vec::new();
    for (i, (_, record)) in rows.iter().enumerate() {
        let own = record.get(column).map(trim).unwrap_or_default();
        // A group's name stands over its first column only.
        let group = || (0..column).rev().filter_map(|c| record.get(c).map(trim)).find(|c| !c.is_empty());
        let text = if own.is_empty() && i + 1 < rows.len() { group().unwrap_or_default() } else { own };
        // Spreadsheets break the lines of a name within its cell.
        let text = String::from_utf8_lossy(text).lines().map(str::trim).collect::<Vec<_>>().join(" ");
        if !text.is_empty() && parts.last() != Some(&text) {
            parts.push(text);
        }
    }
    parts.join(" ")
}

/// How many columns have no name of their own.
fn unnamed(rows: &[Row], written: bool) -> usize {
    let width = rows.last().map_or(0, |(_, r)| r.len());
    let mut seen = HashSet::new();
    let name = |c: usize| if written { joined(&rows[rows.len() - 1..], c) } else { joined(rows, c) };
    // The last cell may be empty: a delimiter at the end of the line.
    (0..width).filter(|&c| name(c).is_empty() && c + 1 < width || !name(c).is_empty() && !seen.insert(name(c))).count()
}

fn names_too_few(rows: &[Row]) -> bool {
    unnamed(rows, rows.len() == 1) > 0
}

/// Whether the further row leaves as many columns without a name of their own.
fn names_too_few_after(with: &[Row], without: &[Row]) -> bool {
    unnamed(with, false) >= unnamed(without, without.len() == 1)
}

fn repeats(header: &Record) -> bool {
    let mut seen = HashSet::new();
    header.iter().map(trim).any(|cell| !cell.is_empty() && !seen.insert(cell))
}

/// The columns under the rows of a header.
pub(super) fn columns(rows: &[Row], unit_row: Option<&Row>, width: usize, comments: &[Vec<u8>]) -> Vec<Head> {
    let unit = |i: usize| unit_row.and_then(|(_, r)| r.get(i)).map(|c| String::from_utf8_lossy(trim(c)).into_owned());
    let mut columns: Vec<Head> = (0..width).map(|i| column(&joined(rows, i), unit(i))).collect();
    // `#time,IAS`: the mark is no part of the name.
    if let (Some(first), Some((_, record))) = (columns.first_mut(), rows.first())
        && is_comment(record, comments)
    {
        first.name = first.name.trim_start_matches(['#', '/', '%']).trim_start().to_owned();
    }
    let mut taken: HashSet<String> = HashSet::new();
    for i in 0..columns.len() {
        let written = columns[i].name.clone();
        if written.is_empty() || taken.insert(written.clone()) {
            continue;
        }
        let is_free = |name: &String| !taken.contains(name) && columns.iter().all(|c| c.name != *name);
        let free = (2..).map(|n| format!("{written} {n}")).find(is_free);
        let name = free.unwrap_or_else(|| written.clone());
        taken.insert(name.clone());
        columns[i].name = name;
        columns[i].repeated = Some(written);
    }
    columns
}

/// No number, no stamp, and most of its words are known units.
pub(super) fn holds_units(record: &Record) -> bool {
    let cells = || record.iter().map(trim).filter(|cell| !is_missing(cell));
    let known = cells().filter(|cell| unit_of(&String::from_utf8_lossy(cell)).is_some()).count();
    let is_data = |cell: &[u8]| number(cell).is_some() || dates_a_row(cell);
    known > 0 && 2 * known > cells().count() && !cells().any(is_data)
}

/// The unit in a text, with or without brackets.
fn unit_of(text: &str) -> Option<&'static Unit> {
    let bare = in_brackets(text).filter(|(before, _)| before.is_empty()).map_or(text, |(_, inside)| inside);
    Unit::find(bare)
}

/// Splits `name [inside]` or `name (inside)`.
fn in_brackets(text: &str) -> Option<(&str, &str)> {
    [('[', ']'), ('(', ')'), ('{', '}'), ('<', '>')].iter().find_map(|&(open, close)| {
        let (before, inside) = text.strip_suffix(close)?.rsplit_once(open)?;
        Some((before.trim(), inside.trim()))
    })
}

/// Splits `RPM/%` and `EGT / °C`, where the whole is no unit itself (`m/s`), nor the word before the stroke one that makes
/// it one (`Fuel Flow L/h`). A single letter before the stroke is no name.
fn after_stroke(text: &str) -> Option<(&str, &str)> {
    let (before, inside) = text.split_once('/')?;
    let (before, inside) = (before.trim(), inside.trim());
    let last = text.split(' ').next_back().unwrap_or(text);
    let whole = Unit::find(text).is_some() || Unit::find(last).is_some_and(|_| last.contains('/') && last != text);
    let compass = matches!(inside, "N" | "S" | "E" | "W");
    (before.chars().count() > 1 && !whole && !compass).then_some((before, inside))
}

/// Brackets that hold no known unit belong to the name: `EGT (left)`.
fn column(name: &str, unit_cell: Option<String>) -> Head {
    let (name, in_name) = in_brackets(name)
        .or_else(|| after_stroke(name))
        .filter(|(before, _)| !before.is_empty())
        .and_then(|(before, inside)| Some((before, Some(Unit::find(inside)?))))
        .unwrap_or((name, None));
    let unit_cell = unit_cell.filter(|text| !is_missing(text.as_bytes()));
    let in_row = unit_cell.as_deref().and_then(unit_of);
    let clash = in_name.and(in_row).filter(|unit| Some(*unit) != in_name);
    Head {
        name: name.to_owned(),
        repeated: None,
        unit: in_name.or(in_row),
        unit_text: unit_cell.filter(|_| in_row.is_none()),
        clash,
        evidence: Evidence::default(),
        marks: Marks::default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(rows: &[&[&str]], at: usize) -> Vec<String> {
        let record = |cells: &&[&str]| {
            let mut record = Record::default();
            record.take_line(cells.join(",").as_bytes(), b',');
            record
        };
        let rows: Vec<Row> = (1..).zip(rows.iter().map(record)).collect();
        let width = rows[rows.len() - 1].1.len();
        let found = super::rows(&rows, at, None);
        columns(&rows[found], None, width, &[]).into_iter().map(|c| c.name).collect()
    }

    #[test]
    fn rows_of_a_header() {
        let groups = [&["t", "Engine", "", "Fuel"][..], &["", "RPM", "EGT", "Flow"], &["0", "1", "2", "3"]];
        assert_eq!(names(&groups, 0), ["t", "Engine RPM", "Engine EGT", "Fuel Flow"]);
        assert_eq!(names(&[&["t", "a"], &["made", "by hand"], &["0", "1"]], 0), ["t", "a"], "full: it needs no more");
        assert_eq!(names(&[&["x", "L", "R"], &["t", "EGT", "EGT"], &["0", "1", "2"]], 1), ["x t", "L EGT", "R EGT"]);
        assert_eq!(names(&[&["t", "EGT", "EGT", "EGT 2"], &["0", "1", "2", "3"]], 0), ["t", "EGT", "EGT 3", "EGT 2"]);
    }

    #[test]
    fn units_after_a_stroke() {
        let read = |text: &str| {
            let head = column(text, None);
            (head.name, head.unit.map(|u| u.symbol))
        };
        assert_eq!(read("RPM/%"), ("RPM".into(), Some("%")));
        assert_eq!(read("EGT / °C"), ("EGT".into(), Some("°C")));
        assert_eq!(read("IAS/km/h"), ("IAS".into(), Some("km/h")));
        for text in ["m/s", "A/C", "Fuel Flow L/h", "N/A", "left/right", "Position/N"] {
            assert_eq!(read(text), (text.into(), None), "{text}");
        }
    }
}
