//! What the first part of a table tells: what divides its cells, where the header stands, how wide a data row is.

use std::cmp::Ordering;

use super::blanks::Blanks;
use super::cells::{is_missing, number, trim};
use super::header::{self, Head};
use super::marks::{Evidence, Marks, value, with_unit};
use super::options::{Separator, TableOptions};
use super::record::Record;
use super::rows::{Division, Rows};
use super::stamp::{is_date, is_stamp, read_time};

/// How many records the look takes.
const RECORDS: usize = 600;
/// How many of them may come before the header.
const BEFORE_HEADER: usize = 40;
/// What lines of comment begin with, if the owner names nothing else.
const COMMENTS: [&[u8]; 3] = [b"#", b"//", b"%"];

/// A record with the physical line that it starts on.
pub(super) type Row = (u64, Record);

/// The shape of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layout {
    pub(super) division: Division,
    /// The separator in words, and the share of the first rows that fit the header under it.
    pub(super) separator: (Separator, usize, usize),
    /// Physical lines of the header, one or more.
    pub(super) header_rows: Vec<u64>,
    /// Physical line of the units row.
    pub(super) unit_row: Option<u64>,
    /// Header and units row as written.
    pub(super) written: Vec<Record>,
    /// The columns, as many as a data row has cells.
    pub(super) columns: Vec<Head>,
    /// The first data rows, for a guess at what each column holds.
    pub(super) sample: Vec<Record>,
    /// What lines of comment begin with.
    pub(super) comments: Vec<Vec<u8>>,
}

/// Why the first part is no table.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Trouble {
    /// No delimiter divides its lines.
    NoColumns,
    /// There are rows, but none of names.
    NoHeader { row: u64, found: String },
    /// The owner names a header row that is none.
    NotHeader { row: u64 },
}

/// One way to divide the lines, and what comes of it.
struct Attempt {
    separator: Separator,
    division: Division,
    records: Vec<Row>,
}

/// Finds the division: the one under which most rows fit a header row, then the one that gives more columns. Blanks are
/// tried last, for they stand in texts too; of their ways the one that divides most rows of data is taken.
pub(super) fn layout(head: &[u8], stated: &TableOptions) -> Result<Layout, Trouble> {
    let comments: Vec<Vec<u8>> = match &stated.comment {
        Some(mark) => vec![mark.as_bytes().to_vec()],
        None => COMMENTS.map(<[u8]>::to_vec).to_vec(),
    };
    let attempt = |(separator, division): (Separator, Division)| {
        let records = records(head, &division);
        Attempt { separator, division, records }
    };
    let bytes =
        [(Separator::Comma, b','), (Separator::Semicolon, b';'), (Separator::Tab, b'\t'), (Separator::Pipe, b'|')];
    let divided: Vec<Attempt> = bytes
        .into_iter()
        .filter(|(separator, _)| stated.separator.is_none_or(|s| s == *separator))
        // A byte that is not there divides nothing; under a header row that the owner names, lines may be whole cells.
        .filter(|(_, byte)| stated.header_row.is_some() || head.contains(byte))
        .map(|(separator, byte)| attempt((separator, Division::Byte(byte))))
        .collect();
    let best = |attempts: &[Attempt], rows: fn(&Header) -> usize| {
        let found = attempts.iter().enumerate().filter_map(|(i, attempt)| {
            let header = find_header(&attempt.records, &comments, stated)?;
            // A header that nothing fits is no sign of a table as long as blanks have not been tried.
            Some((rows(&header), attempt.records.get(header.at)?.1.len(), i, header))
        });
        found.max_by_key(|(rows, width, ..)| (*rows, *width)).map(|(_, _, i, header)| (i, header))
    };
    let found = best(&divided, |h| h.fits);
    if let Some((i, header)) = &found
        && (header.fits > 0 || stated.separator.is_some())
    {
        return Ok(lay_out(&divided[*i], header, comments, stated));
    }
    if stated.separator.is_none_or(|s| s == Separator::Blanks) {
        let by_blanks = |ways: Vec<Blanks>| -> Vec<Attempt> {
            ways.into_iter().map(|way| attempt((Separator::Blanks, Division::Blanks(way)))).collect()
        };
        let runs = by_blanks(vec![Blanks::Runs(1), Blanks::Runs(2)]);
        let runs = best(&runs, |h| h.tabular).map(|(i, header)| (&runs[i], header));
        let places = by_blanks(Blanks::places(head).into_iter().collect());
        let places = best(&places, |h| h.tabular).map(|(i, header)| (&places[i], header));
        let found = match (runs, places) {
            (Some(runs), Some(places)) => Some(if is_better(&places, &runs) { places } else { runs }),
            (runs, places) => runs.or(places),
        };
        if let Some((attempt, header)) = found.filter(|(_, header)| header.tabular > 0) {
            return Ok(lay_out(attempt, &header, comments, stated));
        }
    }
    if let Some((i, header)) = &found {
        return Ok(lay_out(&divided[*i], header, comments, stated));
    }
    if let Some(row) = stated.header_row {
        return Err(Trouble::NotHeader { row });
    }
    let cut = |a: &&Attempt| a.records.iter().filter(|(_, r)| r.len() > 1).count() * 2 > a.records.len();
    let Some((row, record)) = divided.iter().find(cut).and_then(|a| a.records.first()) else {
        return Err(Trouble::NoColumns);
    };
    let line: Vec<_> = record.iter().map(String::from_utf8_lossy).collect();
    Err(Trouble::NoHeader { row: *row, found: line.join(" ").chars().take(60).collect() })
}

/// Whether places in the line divide better than runs of blanks, which cannot tell that a cell is empty: of equals places are
/// taken, unless it is only the names that they divide otherwise.
fn is_better(places: &(&Attempt, Header), runs: &(&Attempt, Header)) -> bool {
    fn trimmed(record: &Record) -> Vec<&[u8]> {
        record.iter().map(trim).collect()
    }
    fn names<'a>((attempt, header): &(&'a Attempt, Header)) -> Vec<&'a [u8]> {
        trimmed(&attempt.records[header.at].1)
    }
    fn data<'a>((attempt, header): &(&'a Attempt, Header)) -> Vec<Vec<&'a [u8]>> {
        let rows = attempt.records[header.at + 1..].iter().map(|(_, row)| row);
        rows.filter(|row| row.len() == header.width && leads(row)).map(trimmed).collect()
    }
    match places.1.tabular.cmp(&runs.1.tabular) {
        Ordering::Equal => names(places) == names(runs) || data(places) != data(runs),
        other => other == Ordering::Greater,
    }
}

/// Whether a number or a time stands in front, as in rows of data.
fn leads(record: &Record) -> bool {
    record.get(0).map(trim).is_some_and(|cell| number(cell).is_some() || dates_a_row(cell))
}

fn records(head: &[u8], division: &Division) -> Vec<Row> {
    let mut rows = Rows::new(std::io::Read::chain(head, &b"\n"[..]), division);
    let mut out = Vec::new();
    // Reading from memory has no errors.
    let mut record = Record::default();
    while let Ok(Some((row, _))) = rows.next(&mut record) {
        out.push((row, std::mem::take(&mut record)));
        if out.len() == RECORDS {
            break;
        }
    }
    out
}

struct Header {
    /// Index of its (first) record.
    at: usize,
    /// Records after it that fit it.
    fits: usize,
    /// Cells of a data row.
    width: usize,
    /// Rows after it that have a number or a time in front, as rows of data do and words of a text do not.
    tabular: usize,
}

/// Whether a record is a line of comment.
pub(super) fn is_comment(record: &Record, comments: &[Vec<u8>]) -> bool {
    let first = record.get(0).map(trim).unwrap_or_default();
    let begins = |mark: &&Vec<u8>| mark.first().is_some_and(|b| first.first() == Some(b)) && first.starts_with(mark);
    comments.iter().find(begins).is_some() && first != b"%"
}

/// The record of names that most of the records after it fit; the first of equals. A comment is one only if it is by far
/// the best: some loggers write `#time,IAS`.
fn find_header(records: &[Row], comments: &[Vec<u8>], stated: &TableOptions) -> Option<Header> {
    let mut best: [Option<Header>; 2] = [None, None];
    for (at, (row, record)) in records.iter().enumerate() {
        match stated.header_row {
            Some(named) if named == *row => {}
            None if at < BEFORE_HEADER && holds_names(record) && !names_separator(record) => {}
            _ => continue,
        }
        let commented = usize::from(is_comment(record, comments));
        let after = || records[at + 1..].iter().filter(|(_, r)| !is_comment(r, comments));
        let (width, fits) = widths(record)
            .into_iter()
            .map(|width| (width, after().filter(|(_, r)| fits(r, record, width)).count()))
            .max_by_key(|(width, fits)| (*fits, *width == record.len()))?;
        if best[commented].as_ref().is_none_or(|b| fits > b.fits) {
            let tabular = after().filter(|(_, r)| r.len() == width && leads(r)).count();
            best[commented] = Some(Header { at, fits, width, tabular });
        }
    }
    let [plain, commented] = best;
    let enough = |h: &Header| commented.as_ref().is_none_or(|c| c.fits <= 2 * h.fits);
    if plain.as_ref().is_some_and(enough) { plain } else { commented.or(plain) }
}

/// Two or more cells, more names than numbers, and no date or time: those stand in data rows only.
pub(super) fn holds_names(record: &Record) -> bool {
    let cells = || record.iter().map(trim).filter(|cell| !is_missing(cell));
    let numbers = cells().filter(|cell| is_number(cell)).count();
    record.len() > 1 && cells().count() > 2 * numbers && !cells().any(dates_a_row)
}

/// `sep=;`, a line that spreadsheets look for before the header.
fn names_separator(record: &Record) -> bool {
    record.get(0).is_some_and(|cell| trim(cell).to_ascii_lowercase().starts_with(b"sep="))
}

/// Whether a cell is a number under any marks, with or without a unit stuck on.
fn is_number(cell: &[u8]) -> bool {
    let under = |marks| value(cell, marks).is_some() || with_unit(cell, marks).is_some();
    cell.first().is_some_and(|b| !b.is_ascii_alphabetic()) && (under(Marks::Point) || under(Marks::Comma))
}

/// Whether a cell holds a date, a time or both.
pub(super) fn dates_a_row(cell: &[u8]) -> bool {
    is_stamp(cell) || is_date(cell) || read_time(cell, false).is_some()
}

/// The widths that a data row may have: that of the header; one more or less where a delimiter ends the lines of one.
fn widths(header: &Record) -> Vec<usize> {
    let named = named(header);
    let mut widths = vec![header.len(), header.len() + 1];
    if named < header.len() {
        widths.push(named);
    }
    widths
}

fn named(header: &Record) -> usize {
    header.len() - header.iter().rev().take_while(|cell| trim(cell).is_empty()).count()
}

fn fits(record: &Record, header: &Record, width: usize) -> bool {
    record.len() == width && (width <= header.len() || record.iter().next_back().is_some_and(|c| trim(c).is_empty()))
}

fn lay_out(attempt: &Attempt, header: &Header, comments: Vec<Vec<u8>>, stated: &TableOptions) -> Layout {
    let records = &attempt.records;
    let count = stated.header_rows.map(|n| usize::try_from(n).unwrap_or(1).clamp(1, 4));
    let heading = header::rows(records, header.at, count);
    let names = &records[heading.end - 1].1;
    let data = || records[heading.end..].iter().filter(|(_, r)| !is_comment(r, &comments));
    let mut rows = data().filter(|(_, r)| fits(r, names, header.width)).peekable();
    let unit_row = match stated.unit_row {
        Some(named) => records.iter().find(|(row, _)| *row == named),
        // A units row may end its line as the header does where the data rows do not, and a row of more words may stand before it.
        None => {
            let is_units = |(_, r): &&Row| header::holds_units(r) && widths(names).contains(&r.len());
            let near = || data().take(2);
            near()
                .find(is_units)
                .filter(|(row, _)| near().take_while(|(r, _)| r < row).all(|(_, r)| holds_names(r)))
                .or_else(|| rows.peek().copied().filter(|(_, r)| header::holds_units(r)))
        }
    };
    let mut columns = header::columns(&records[heading.clone()], unit_row, header.width, &comments);
    let header_rows: Vec<u64> = records[heading.clone()].iter().map(|(row, _)| *row).collect();
    let written = records[heading].iter().chain(unit_row).map(|(_, r)| r.clone()).collect();
    let unit_row = unit_row.map(|(row, _)| *row);
    let is_data = |(row, _): &&Row| Some(*row) != unit_row && !header_rows.contains(row);
    let sample: Vec<Record> = rows.filter(is_data).map(|(_, record)| record.clone()).collect();
    let mut table = Evidence::default();
    for (i, column) in columns.iter_mut().enumerate() {
        sample.iter().filter_map(|r| r.get(i)).for_each(|cell| column.evidence.add(Evidence::of(trim(cell))));
        table.add(column.evidence);
    }
    columns.iter_mut().for_each(|column| column.marks = column.evidence.decide(table, stated.decimal));
    Layout {
        division: attempt.division.clone(),
        separator: (attempt.separator, header.fits, records.len() - header.at - 1),
        header_rows,
        unit_row,
        written,
        columns,
        sample,
        comments,
    }
}

impl Layout {
    /// The header's first physical line.
    pub(super) fn header_row(&self) -> u64 {
        self.header_rows.first().copied().unwrap_or(1)
    }

    /// The columns' marks by all that has been seen of them; whether any changed.
    pub(super) fn decide_again(&mut self, seen: &[(usize, Evidence)], stated: &TableOptions) -> bool {
        seen.iter().for_each(|(i, evidence)| self.columns[*i].evidence.add(*evidence));
        let mut table = Evidence::default();
        self.columns.iter().for_each(|column| table.add(column.evidence));
        let mut changed = false;
        for column in &mut self.columns {
            let marks = column.evidence.decide(table, stated.decimal);
            changed |= std::mem::replace(&mut column.marks, marks) != marks;
        }
        changed
    }

    /// The number that the sample's cell of a column writes.
    pub(super) fn number(&self, record: &Record, column: usize) -> Option<f64> {
        value(trim(record.get(column)?), self.columns[column].marks)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(text: &str) -> Layout {
        layout(text.as_bytes(), &TableOptions::default()).unwrap()
    }

    fn units(layout: &Layout) -> Vec<Option<&str>> {
        layout.columns.iter().map(|c| c.unit.map(|u| u.symbol)).collect()
    }

    fn names(layout: &Layout) -> Vec<&str> {
        layout.columns.iter().map(|c| c.name.as_str()).collect()
    }

    #[test]
    fn separators() {
        assert_eq!(look("a,b,c\n1,2,3\n").separator.0, Separator::Comma);
        assert_eq!(look("t [s];IAS [kt]\n1,5;20,25\n2,5;21,25\n").separator.0, Separator::Semicolon);
        assert_eq!(look("a\tb, c\n1\t2\n").separator.0, Separator::Tab);
        assert_eq!(look("a|b\n1|2\n").separator.0, Separator::Pipe);
        let blanks = look("t    Oil T   IAS\n0    80.5    40\n1            41\n2    81.0\n");
        assert_eq!((blanks.separator.0, names(&blanks)), (Separator::Blanks, vec!["t", "Oil T", "IAS"]));
        assert_eq!(blanks.sample.len(), 3, "an empty cell is blank");
        let cells = |text: &str, row: usize| {
            look(text).sample[row].iter().map(|c| String::from_utf8_lossy(trim(c)).into_owned()).collect::<Vec<_>>()
        };
        let text = "time_s  Note      IAS   OAT\n0       Climb     40    15\n1       Leg 2           16\n2       Climb     42    17\n";
        assert_eq!(cells(text, 1), ["1", "Leg 2", "", "16"], "a word of a text is no number of the next cell");
        let text = "time_ms   Oil [°C]\n0   0.00\n1   0.00\n2   0.00\n";
        assert_eq!(
            (names(&look(text)), cells(text, 2)),
            (vec!["time_ms", "Oil"], vec!["2".to_owned(), "0.00".to_owned()])
        );
        let text = "Dunlin\ntime_ms   Oil\nms   °C\n0   0.00\n1   0.00\n2   0.00\n";
        assert_eq!(names(&look(text)), ["time_ms", "Oil"], "a name is not cut in two");
        let full: String = (0..700).map(|t| format!("{t:6}  {:5}  {:4}\n", 9000 + t, 40)).collect();
        let (division, height) = (
            look(&format!("time_s    alt   ias\n{full}")).division,
            Blanks::places(format!("time_s    alt   ias\n{full}").as_bytes()),
        );
        assert_eq!(Some(division), height.map(Division::Blanks), "cells that are empty later on are none of runs");
        let text = "Time    Oil Temp    IAS\n  s        C        kt\n  0       80.5      40\n  1                 41\n";
        assert_eq!(names(&look(text)), ["Time", "Oil Temp", "IAS"], "names may be wider than what stands under them");
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
        assert_eq!((l.header_row(), l.columns.len(), l.sample.len()), (3, 3, 2));
    }

    #[test]
    fn trailing_delimiters() {
        assert_eq!(names(&look("t,a\n1,2,\n3,4,\n")), ["t", "a", ""]);
        assert_eq!(names(&look("t,a,\n1,2\n3,4\n")), ["t", "a"]);
        assert_eq!(names(&look("t,a,\n1,2,\n3,4,\n")), ["t", "a", ""]);
    }

    #[test]
    fn no_table() {
        let fails = |text: &[u8]| layout(text, &TableOptions::default()).unwrap_err();
        assert_eq!(fails(b"just a text\nof two lines\n"), Trouble::NoColumns);
        assert_eq!(fails(b"0,1,2\n1,2,3\n"), Trouble::NoHeader { row: 1, found: "0 1 2".into() });
    }
}
