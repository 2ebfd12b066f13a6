//! Records with the physical line that each starts on, and lists of such lines for findings.

use super::blanks::{Blanks, Cut, DIVIDER};
use csv::{ByteRecord, Reader, ReaderBuilder, Terminator};
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

/// Walks over the records of a table; blank lines are passed over, but counted.
pub(super) struct Rows<'a> {
    reader: Reader<Box<dyn Read + 'a>>,
}

impl<'a> Rows<'a> {
    /// A walk over text that ends with a line break.
    pub(super) fn new(text: impl Read + 'a, division: &Division) -> Self {
        let (text, delimiter): (Box<dyn Read + 'a>, u8) = match division {
            Division::Byte(byte) => (Box::new(text), *byte),
            Division::Blanks(blanks) => (Box::new(Cut::new(text, blanks.clone())), DIVIDER),
        };
        let reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(delimiter)
            // A line ends at LF; the CR before it is trimmed with the blanks of the last cell.
            .terminator(Terminator::Any(b'\n'))
            .buffer_capacity(256 * 1024)
            .from_reader(text);
        Self { reader }
    }

    /// Reads the next record: its first and last physical line.
    pub(super) fn next(&mut self, record: &mut ByteRecord) -> csv::Result<Option<(u64, u64)>> {
        loop {
            let before = self.reader.position().line();
            if !self.reader.read_byte_record(record)? {
                return Ok(None);
            }
            let after = self.reader.position().line();
            let row = if after - before <= 1 {
                before
            } else {
                // Blank lines before it, or line breaks inside quoted cells: only the latter are in the cells.
                let inside = record.as_slice().iter().filter(|&&b| b == b'\n').count() as u64;
                after.saturating_sub(1 + inside).max(before)
            };
            let blank = record.len() == 1 && record.as_slice().trim_ascii().is_empty();
            if !blank {
                return Ok(Some((row, after.saturating_sub(1).max(row))));
            }
        }
    }

    /// The line that reading has come to.
    pub(super) fn line(&self) -> u64 {
        self.reader.position().line()
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
            Some((_, last)) if *last + 1 == row => *last = row,
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
        f.write_str(if self.count == 1 { "row " } else { "rows " })?;
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
        let mut record = ByteRecord::new();
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
        assert_eq!(rows("a\n   \n\n1,\"p\r\n\r\nq\"\r\nz"), [(1, 1, 1), (4, 6, 2), (7, 7, 1)]);
    }

    #[test]
    fn lists_are_short() {
        let list = |rows: &[u64]| {
            let mut list = RowList::default();
            rows.iter().for_each(|r| list.push(*r));
            list.to_string()
        };
        assert_eq!(list(&[7]), "row 7");
        assert_eq!(list(&[3, 4, 5, 9, 11, 12]), "rows 3 to 5, 9, 11, 12");
        assert_eq!(list(&[1, 3, 5, 7, 9, 11, 13, 15]), "rows 1, 3, 5, 7, 9, 11 and more, 8 in all");
    }
}
