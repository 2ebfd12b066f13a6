//! Records with the physical line that each starts on, and lists of such lines for findings.

use super::blanks::{Blanks, Cut, DIVIDER};
use super::lines::Lines;
use super::record::Record;
use csv::{Reader, ReaderBuilder, Terminator};
use std::fmt;
use std::io::Read;

/// What divides the cells of a line.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Division {
    /// One byte between two cells.
    Byte(u8),
    /// Blanks.
    Blanks(Blanks),
}

/// The byte order mark of UTF-8.
const BYTE_ORDER_MARK: &[u8] = "\u{feff}".as_bytes();

/// Walks over the records of a table; blank lines are passed over, but counted.
///
/// Most lines of a log have no quotation mark: their cells are what stands between the separators. A line with one goes to the
/// `csv` crate, which reads on until that row ends.
pub(super) struct Rows<'a> {
    quoted: Reader<Lines<Box<dyn Read + 'a>>>,
    separator: u8,
}

impl<'a> Rows<'a> {
    /// A walk over text that ends with a line break.
    pub(super) fn new(text: impl Read + 'a, division: &Division) -> Self {
        let (text, separator): (Box<dyn Read + 'a>, u8) = match division {
            Division::Byte(byte) => (Box::new(text), *byte),
            Division::Blanks(blanks) => (Box::new(Cut::new(text, blanks.clone())), DIVIDER),
        };
        let quoted = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(separator)
            // A line ends at LF; the CR before it is trimmed with the blanks of the last cell.
            .terminator(Terminator::Any(b'\n'))
            .from_reader(Lines::new(text));
        Self { quoted, separator }
    }

    /// Reads the next record: its first and last physical line.
    pub(super) fn next(&mut self, record: &mut Record) -> csv::Result<Option<(u64, u64)>> {
        loop {
            let row = self.line();
            let lines = self.quoted.get_mut();
            // Two logs joined to one bring the mark of the second along; within a text it says nothing.
            if lines.peek()?.starts_with(BYTE_ORDER_MARK) {
                lines.pass(BYTE_ORDER_MARK.len(), false);
            }
            let line = lines.peek()?;
            if line.is_empty() {
                return Ok(None);
            }
            let length = line.len();
            let cells = line.strip_suffix(b"\n").unwrap_or(line);
            if memchr::memchr(b'"', cells).is_none() {
                record.take_line(cells, self.separator);
                lines.pass(length, true);
            } else if !self.quoted.read_byte_record(record.take_quoted())? {
                return Ok(None);
            }
            if !record.is_blank() {
                return Ok(Some((row, (self.line() - 1).max(row))));
            }
        }
    }

    /// The line that reading has come to.
    pub(super) fn line(&self) -> u64 {
        self.quoted.get_ref().breaks + 1
    }
}

/// Rows of one kind, as ranges: the first few are kept, all are counted.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::recorder) struct RowList {
    pub(in crate::recorder) count: usize,
    ranges: Vec<(u64, u64)>,
    more: bool,
}

impl RowList {
    const SHOWN: usize = 6;

    /// Adds a row; rows come in rising order.
    pub(in crate::recorder) fn push(&mut self, row: u64) {
        self.count += 1;
        if self.more {
            return;
        }
        let room = self.ranges.len() < Self::SHOWN;
        match self.ranges.last_mut() {
            // Several records may stand on one line.
            Some((_, last)) if *last == row || *last + 1 == row => *last = row,
            _ if room => self.ranges.push((row, row)),
            _ => self.more = true,
        }
    }

    /// The first row of the list.
    pub(in crate::recorder) fn first(&self) -> Option<u64> {
        self.ranges.first().map(|(first, _)| *first)
    }
}

impl fmt::Display for RowList {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let one = !self.more && matches!(self.ranges[..], [(first, last)] if first == last);
        f.write_str(if one { "row " } else { "rows " })?;
        for (i, (first, last)) in self.ranges.iter().enumerate() {
            let comma = if i > 0 { ", " } else { "" };
            match last - first {
                0 => write!(f, "{comma}{first}")?,
                1 => write!(f, "{comma}{first}, {last}")?,
                _ => write!(f, "{comma}{first} to {last}")?,
            }
        }
        if self.more { write!(f, " and more, {} in all", self.count) } else { Ok(()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows(text: &str) -> Vec<(u64, u64, usize)> {
        let mut rows = Rows::new(text.as_bytes().chain(&b"\n"[..]), &Division::Byte(b','));
        let mut out = Vec::new();
        let mut record = Record::default();
        while let Some((first, last)) = rows.next(&mut record).unwrap() {
            out.push((first, last, record.len()));
        }
        out
    }

    #[test]
    fn rows_are_physical_lines() {
        assert_eq!(rows("a,b\n1,2\n3,4"), [(1, 1, 2), (2, 2, 2), (3, 3, 2)]);
        assert_eq!(rows("a,b\r\n\r\n\r\n1,2\r\n"), [(1, 1, 2), (4, 4, 2)]);
        assert_eq!(rows("\n\na,b\n\n\"x\ny\",2\n3,4\n"), [(3, 3, 2), (5, 6, 2), (7, 7, 2)]);
        assert_eq!(
            rows("a,b\n\"x\",2\n3,4\n\"x\ny\",\"2\n\"\n\n5,6\n\"7\",\n"),
            [(1, 1, 2), (2, 2, 2), (3, 3, 2), (4, 6, 2), (8, 8, 2), (9, 9, 2)]
        );
        assert_eq!(
            rows("a,b\n\"x,1\n2,3\n"),
            [(1, 1, 2), (2, 4, 1)],
            "a quote that never closes takes all that follows"
        );
        assert_eq!(rows("a\n   \n\n1,\"p\r\n\r\nq\"\r\nz"), [(1, 1, 1), (4, 6, 2), (7, 7, 1)]);
    }

    proptest::proptest! {
        /// Rows are those of the `csv` crate, whichever way each was read, and however the text comes in.
        #[test]
        fn as_the_csv_crate_reads(text in "([a-c0-9.]{0,3}|\"[a-c0,]{0,3}\"|\"\n?|[a\"]{0,3}|,|;|\n|\r\n| ){0,40}", at_once in 1usize..9) {
            let text = format!("{text}\n");
            struct Bits<'a>(&'a [u8], usize);
            impl Read for Bits<'_> {
                fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
                    let n = buffer.len().min(self.1);
                    self.0.read(&mut buffer[..n])
                }
            }
            let mut ours = Vec::new();
            let mut rows = Rows::new(Bits(text.as_bytes(), at_once), &Division::Byte(b','));
            let mut record = Record::default();
            while rows.next(&mut record).unwrap().is_some() {
                ours.push(record.iter().map(<[u8]>::to_vec).collect::<Vec<_>>());
            }
            let bare = ReaderBuilder::new()
                .has_headers(false)
                .flexible(true)
                .terminator(Terminator::Any(b'\n'))
                .from_reader(text.as_bytes());
            let bare = bare.into_byte_records().map(|r| r.unwrap().iter().map(<[u8]>::to_vec).collect::<Vec<_>>());
            let bare: Vec<_> = bare.filter(|r| r.len() > 1 || !r.concat().trim_ascii().is_empty()).collect();
            proptest::prop_assert_eq!(ours, bare);
        }
    }

    #[test]
    fn lists_are_short() {
        let list = |rows: &[u64]| {
            let mut list = RowList::default();
            rows.iter().for_each(|r| list.push(*r));
            list.to_string()
        };
        assert_eq!(list(&[7]), "row 7");
        assert_eq!(list(&[7, 7, 7]), "row 7");
        assert_eq!(list(&[3, 4, 5, 9, 11, 12]), "rows 3 to 5, 9, 11, 12");
        assert_eq!(list(&[1, 3, 5, 7, 9, 11, 13, 15]), "rows 1, 3, 5, 7, 9, 11 and more, 8 in all");
    }
}
