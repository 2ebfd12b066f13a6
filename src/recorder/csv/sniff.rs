//! What the first part of a table tells: the delimiter, where the header stands, the units, how wide a data row is.

use super::cells::{is_missing, number, trim};
use super::rows::Rows;
use super::stamp::{is_date, is_stamp, read_time};
use crate::units::Unit;
use csv::ByteRecord;

/// How many records the look takes.
const RECORDS: usize = 600;
/// How many of them may come before the header.
const BEFORE_HEADER: usize = 40;

/// The shape of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    pub(super) delimiter: u8,
    /// Physical line of the header.
    pub(super) header_row: u64,
    /// Physical line of the units row.
    pub(super) unit_row: Option<u64>,
    /// The columns, as many as a data row has cells.
    pub(super) columns: Vec<Head>,
    /// The first data rows, for a guess at what each column holds.
    pub(super) sample: Vec<ByteRecord>,
}

/// What header and units row say about a column.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Head {
    /// Name as written, without the unit.
    pub(super) name: String,
    /// Its unit.
    pub(super) unit: Option<&'static Unit>,
    /// What the units row says, where it is no known unit.
    pub(super) unit_text: Option<String>,
    /// The units row's unit, where the header states another.
    pub(super) clash: Option<&'static Unit>,
}

/// Why the first part is no table.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Trouble {
    /// No delimiter divides its lines.
    NoColumns,
    /// There are rows, but none of names.
    NoHeader { row: u64, found: String },
}

/// Finds the delimiter: the one under which most rows fit a header row, then the one that gives more columns.
pub(super) fn layout(head: &[u8]) -> Result<Layout, Trouble> {
    let tables = [b',', b';', b'\t', b'|'].map(|delimiter| (delimiter, records(head, delimiter)));
    let best = tables
        .iter()
        .filter_map(|(delimiter, records)| find_header(records).map(|header| (*delimiter, records, header)))
        .max_by_key(|(_, records, header)| (header.fits, records[header.at].1.len()));
    if let Some((delimiter, records, header)) = best {
        return Ok(lay_out(delimiter, records, &header));
    }
    let divided =
        tables.iter().find(|(_, records)| records.iter().filter(|(_, r)| r.len() > 1).count() * 2 > records.len());
    let Some((row, record)) = divided.and_then(|(_, records)| records.first()) else { return Err(Trouble::NoColumns) };
    let line: Vec<_> = record.iter().map(String::from_utf8_lossy).collect();
    Err(Trouble::NoHeader { row: *row, found: line.join(" ").chars().take(60).collect() })
}

fn records(head: &[u8], delimiter: u8) -> Vec<(u64, ByteRecord)> {
    let mut rows = Rows::new(std::io::Read::chain(head, &b"\n"[..]), delimiter);
    let mut out = Vec::new();
    // Reading from memory has no errors.
    while let Ok(Some((row, _, record))) = rows.next() {
        out.push((row, record.clone()));
        if out.len() == RECORDS {
            break;
        }
    }
    out
}

struct Header {
    /// Index of its record.
    at: usize,
    /// Records after it that fit it.
    fits: usize,
    /// Cells of a data row.
    width: usize,
}

/// The record of names that most of the records after it fit; the first of equals.
fn find_header(records: &[(u64, ByteRecord)]) -> Option<Header> {
    let mut best: Option<Header> = None;
    for (at, (_, record)) in records.iter().enumerate().take(BEFORE_HEADER) {
        if !holds_names(record) {
            continue;
        }
        let (width, fits) = widths(record)
            .into_iter()
            .map(|width| (width, records[at + 1..].iter().filter(|(_, r)| fits(r, record, width)).count()))
            .max_by_key(|(width, fits)| (*fits, *width == record.len()))?;
        if best.as_ref().is_none_or(|b| fits > b.fits) {
            best = Some(Header { at, fits, width });
        }
    }
    best
}

/// Two or more cells, more names than numbers, and no date or time: those stand in data rows only.
fn holds_names(record: &ByteRecord) -> bool {
    let cells = || record.iter().map(trim).filter(|cell| !is_missing(cell));
    let numbers = cells().filter(|cell| number(cell).is_some()).count();
    record.len() > 1 && cells().count() > 2 * numbers && !cells().any(dates_a_row)
}

/// Whether a cell holds a date, a time or both.
pub(super) fn dates_a_row(cell: &[u8]) -> bool {
    is_stamp(cell) || is_date(cell) || read_time(cell, false).is_some()
}

/// The widths that a data row may have: that of the header; one more or less where a delimiter ends the lines of one.
fn widths(header: &ByteRecord) -> Vec<usize> {
    let named = named(header);
    let mut widths = vec![header.len(), header.len() + 1];
    if named < header.len() {
        widths.push(named);
    }
    widths
}

fn named(header: &ByteRecord) -> usize {
    header.len() - header.iter().rev().take_while(|cell| trim(cell).is_empty()).count()
}

fn fits(record: &ByteRecord, header: &ByteRecord, width: usize) -> bool {
    record.len() == width && (width <= header.len() || record.iter().next_back().is_some_and(|c| trim(c).is_empty()))
}

fn lay_out(delimiter: u8, records: &[(u64, ByteRecord)], header: &Header) -> Layout {
    let (header_row, names) = &records[header.at];
    let mut rows = records[header.at + 1..].iter().filter(|(_, r)| fits(r, names, header.width)).peekable();
    // A units row may end its line as the header does where the data rows do not.
    let next = records.get(header.at + 1).filter(|(_, r)| holds_units(r) && widths(names).contains(&r.len()));
    let unit_row = next.or_else(|| rows.peek().copied().filter(|(_, r)| holds_units(r)));
    let columns = (0..header.width)
        .map(|i| {
            let text = |record: &ByteRecord| record.get(i).map(|c| String::from_utf8_lossy(trim(c)).into_owned());
            column(&text(names).unwrap_or_default(), unit_row.and_then(|(_, r)| text(r)))
        })
        .collect();
    let unit_row = unit_row.map(|(row, _)| *row);
    let sample = rows.filter(|(row, _)| Some(*row) != unit_row).map(|(_, record)| record.clone()).collect();
    Layout { delimiter, header_row: *header_row, unit_row, columns, sample }
}

/// No number, no stamp, and most of its words are known units.
fn holds_units(record: &ByteRecord) -> bool {
    let cells = || record.iter().map(trim).filter(|cell| !is_missing(cell));
    let known = cells().filter(|cell| unit_of(&String::from_utf8_lossy(cell)).is_some()).count();
    known > 0 && 2 * known > cells().count() && !cells().any(|cell| number(cell).is_some() || dates_a_row(cell))
}

/// The unit in a text, with or without brackets.
fn unit_of(text: &str) -> Option<&'static Unit> {
    let bare = in_brackets(text).filter(|(before, _)| before.is_empty()).map_or(text, |(_, inside)| inside);
    Unit::parse(bare).ok()
}

/// Splits `name [inside]` or `name (inside)`.
fn in_brackets(text: &str) -> Option<(&str, &str)> {
    [('[', ']'), ('(', ')')].iter().find_map(|&(open, close)| {
        let (before, inside) = text.strip_suffix(close)?.rsplit_once(open)?;
        Some((before.trim(), inside.trim()))
    })
}

/// Brackets that hold no known unit belong to the name: `EGT (left)`.
fn column(name: &str, unit_cell: Option<String>) -> Head {
    let (name, in_name) = in_brackets(name)
        .filter(|(before, _)| !before.is_empty())
        .and_then(|(before, inside)| Some((before, Some(Unit::parse(inside).ok()?))))
        .unwrap_or((name, None));
    let unit_cell = unit_cell.filter(|text| !is_missing(text.as_bytes()));
    let in_row = unit_cell.as_deref().and_then(unit_of);
    let clash = in_name.and(in_row).filter(|unit| Some(*unit) != in_name);
    Head { name: name.to_owned(), unit: in_name.or(in_row), unit_text: unit_cell.filter(|_| in_row.is_none()), clash }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(text: &str) -> Layout {
        layout(text.as_bytes()).unwrap()
    }

    fn units(layout: &Layout) -> Vec<Option<&str>> {
        layout.columns.iter().map(|c| c.unit.map(|u| u.symbol)).collect()
    }

    fn names(layout: &Layout) -> Vec<&str> {
        layout.columns.iter().map(|c| c.name.as_str()).collect()
    }

    #[test]
    fn delimiters() {
        assert_eq!(look("a,b,c\n1,2,3\n").delimiter, b',');
        assert_eq!(look("t [s];IAS [kt]\n1,5;20,25\n2,5;21,25\n").delimiter, b';');
        assert_eq!(look("a\tb, c\n1\t2\n").delimiter, b'\t');
        assert_eq!(look("a|b\n1|2\n").delimiter, b'|');
    }

    #[test]
    fn units_in_the_header() {
        let l = look("t [s],IAS (kt),EGT (left),OAT [°C]\n0,1,2,3\n");
        assert_eq!(names(&l), ["t", "IAS", "EGT (left)", "OAT"]);
        assert_eq!(units(&l), [Some("s"), Some("kt"), None, Some("°C")]);
    }

    #[test]
    fn units_row() {
        let l = look("Date,Time,IAS,N1,Note\nyyyy-mm-dd,hh:mm:ss,kt,%,\n2025-04-05,10:00:00,1,2,\n");
        assert_eq!(l.unit_row, None, "two of four are units: not most");
        let l = look("Time,IAS,N1,Note\nhh:mm:ss,[kt],%,\n10:00:00,1,2,\n");
        assert_eq!((l.unit_row, units(&l)), (Some(2), vec![None, Some("kt"), Some("%"), None]));
        assert_eq!(l.columns[0].unit_text.as_deref(), Some("hh:mm:ss"));
        assert_eq!(l.sample.len(), 1);
        let l = look("t [s],IAS [kt]\ns,km/h\n0,1\n");
        assert_eq!(l.columns[1].clash.map(|u| u.symbol), Some("km/h"));
        assert_eq!(look("t,a,b\nms,ON,OFF\n0,1,2\n").unit_row, None);
    }

    #[test]
    fn header_after_and_before_free_text() {
        let l = look("My logger\nSerial, 12\nt,a,b\nFree, text\n1,2,3\n2,3,4\n");
        assert_eq!((l.header_row, l.columns.len(), l.sample.len()), (3, 3, 2));
    }

    #[test]
    fn trailing_delimiters() {
        assert_eq!(names(&look("t,a\n1,2,\n3,4,\n")), ["t", "a", ""]);
        assert_eq!(names(&look("t,a,\n1,2\n3,4\n")), ["t", "a"]);
        assert_eq!(names(&look("t,a,\n1,2,\n3,4,\n")), ["t", "a", ""]);
    }

    #[test]
    fn no_table() {
        assert_eq!(layout(b"just a text\nof two lines\n"), Err(Trouble::NoColumns));
        assert_eq!(layout(b"0,1,2\n1,2,3\n"), Err(Trouble::NoHeader { row: 1, found: "0 1 2".into() }));
    }
}
