//! What to tell about a table's form: how it was understood, what holds no data, and which rows were refused.

use super::cells::{number, trim};
use super::clock_columns::ClockColumns;
use super::marks::{Evidence, Marks};
use super::options::{Separator, TableOptions};
use super::record::Record;
use super::rows::RowList;
use super::sniff::{self, Layout};
use super::source::Source;
use crate::finding::{Finding, Severity};

/// Rows that hold no data and are no fault.
#[derive(Default)]
pub(super) struct LeftOut {
    preamble: RowList,
    heading: usize,
    comments: RowList,
    pub(super) header_again: RowList,
}

impl LeftOut {
    /// Takes a row that holds no data by its place or its first sign; false for any other.
    pub(super) fn takes(&mut self, layout: &Layout, row: u64, record: &Record) -> bool {
        if layout.header_rows.contains(&row) || Some(row) == layout.unit_row {
            self.heading += 1;
        } else if sniff::is_comment(record, &layout.comments) {
            self.comments.push(row);
        } else if row < layout.header_row() {
            self.preamble.push(row);
        } else {
            return false;
        }
        true
    }

    pub(super) fn count(&self) -> usize {
        self.preamble.count + self.heading + self.comments.count + self.header_again.count
    }

    pub(super) fn findings(&self) -> Vec<Finding> {
        [
            (&self.preamble, "preamble", "before the header; no data"),
            (&self.comments, "comment_lines", "comments; no data"),
            (&self.header_again, "header_again", "the header is written again; no data"),
        ]
        .into_iter()
        .filter_map(|(list, code, why)| tell(list, Severity::Note, code, why))
        .collect()
    }
}

/// Rows that were not taken, by reason.
#[derive(Default)]
pub(super) struct Refused {
    /// Before the first data row: another number of cells, or no stamp, and neither number nor stamp in front.
    text: RowList,
    width: RowList,
    stamp: RowList,
    /// Under a header of other columns.
    columns: RowList,
    /// The last line of a file that ends in the middle of it.
    cut: RowList,
    /// The first of them that runs over several lines, and its last line.
    open_quote: Option<(u64, u64)>,
    /// A row of another width that may be the last.
    last: Option<u64>,
}

impl Refused {
    /// Refuses a row, from its first to its last line. `early`: no row was taken yet.
    pub(super) fn push(
        &mut self,
        record: &Record,
        (row, last): (u64, u64),
        fits: bool,
        other_header: bool,
        early: bool,
    ) {
        self.width_is_a_fault();
        let front = trim(record.get(0).unwrap_or_default());
        let words = number(front).is_none() && !sniff::dates_a_row(front);
        match (fits, early && words) {
            _ if other_header => self.columns.push(row),
            (_, true) => self.text.push(row),
            (false, _) => self.last = Some(row),
            (true, _) => self.stamp.push(row),
        }
        if last > row {
            self.open_quote.get_or_insert((row, last));
        }
    }

    fn width_is_a_fault(&mut self) {
        if let Some(row) = self.last.take() {
            self.width.push(row);
        }
    }

    /// There are no more rows. `open`: the one that the file ends in the middle of.
    pub(super) fn end(&mut self, open: Option<u64>) {
        match self.last.take() {
            Some(row) if Some(row) == open => self.cut.push(row),
            Some(row) => self.width.push(row),
            None => {}
        }
    }

    pub(super) fn count(&self) -> usize {
        [&self.text, &self.width, &self.stamp, &self.columns, &self.cut].iter().map(|list| list.count).sum()
    }

    pub(super) fn findings(&self, width: usize) -> Vec<Finding> {
        let quote = self.open_quote.map(|(row, last)| {
            let message = format!(
                "a quotation mark opens in row {row} and closes, if at all, in row {last}: all between is one row"
            );
            Finding::new(Severity::Warning, "open_quote", message).at_row(row)
        });
        let other =
            "the header changes here, and the table's columns are those of its first: refused; cut the file in two";
        [
            tell(&self.text, Severity::Note, "text_line", "free text between header and data; refused"),
            tell(&self.width, Severity::Warning, "row_width", &format!("not {width} cells like the others; refused")),
            tell(&self.stamp, Severity::Warning, "row_without_time", "no time that can be read; refused"),
            tell(&self.columns, Severity::Warning, "header_changes", other),
            tell(&self.cut, Severity::Warning, "last_line_cut", "the file ends in the middle of the line; refused"),
            quote,
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}

fn tell(list: &RowList, severity: Severity, code: &'static str, why: &str) -> Option<Finding> {
    list.first().map(|row| Finding::new(severity, code, format!("{list}: {why}")).at_row(row))
}

/// Whether a row is the header, or the row of units, once more.
pub(super) fn is_written_again(layout: &Layout, record: &Record) -> bool {
    layout.written.iter().any(|row| row.len() == record.len() && row.iter().map(trim).eq(record.iter().map(trim)))
}

/// Whether a row is a header of other columns, or of the same in another order: half of its cells or more are names of
/// this one.
pub(super) fn is_other_header(layout: &Layout, record: &Record) -> bool {
    let filled = record.iter().map(trim).filter(|cell| !cell.is_empty()).count();
    let heads = &layout.written[..layout.header_rows.len()];
    let known = |cell: &&[u8]| heads.iter().any(|row| row.iter().any(|name| trim(name) == *cell));
    let known = record.iter().map(trim).filter(|cell| !cell.is_empty()).filter(known).count();
    known >= 2 && 2 * known >= filled && sniff::holds_names(record)
}

/// How encoding, division, header and marks were understood, where it is not the plain way.
pub(super) fn file(source: &Source, layout: &Layout, clock: &ClockColumns, stated: &TableOptions) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut note = |code, message: String| findings.push(Finding::new(Severity::Note, code, message));
    if let Some((encoding, how)) = source.encoding {
        note("encoding", format!("the text is read as {encoding}, {how}"));
    }
    let (separator, fits, looked) = layout.separator;
    if separator != Separator::Comma {
        let why = match stated.separator {
            Some(_) => "as the flight file says".to_owned(),
            None => format!("for so {fits} of the first {looked} rows have as many cells as the header"),
        };
        note("separator", format!("{separator} part the cells, {why}"));
    }
    if let [first, .., last] = layout.header_rows[..] {
        let message = format!("rows {first} to {last} are one header: the names in a column are joined");
        findings.push(Finding::new(Severity::Note, "header_rows", message).at_row(first));
    }
    findings.extend(decimal_comma(layout, stated));
    if source.nuls.count.get() > 0 {
        let message = format!("{} NUL bytes, the first in this row: passed over", source.nuls.count.get());
        findings.push(Finding::new(Severity::Warning, "nul_bytes", message).at_row(source.nuls.row.get()));
    }
    for (i, head) in layout.columns.iter().enumerate() {
        let warn =
            |code, row, message| Finding::new(Severity::Warning, code, message).in_column(&*head.name).at_row(row);
        if let Some(written) = &head.repeated {
            let message =
                format!("another column has the name `{written}` already; this one is called `{}`", head.name);
            findings.push(warn("column_name_twice", layout.header_row(), message));
        }
        let Some(row) = layout.unit_row else { continue };
        if let Some(text) = head.unit_text.as_ref().filter(|_| !clock.contains(i)) {
            findings.push(warn("unit_unknown", row, format!("`{text}` is not a known unit; taken as none")));
        }
        if let (Some(unit), Some(clash)) = (head.unit, head.clash) {
            let message = format!("the header says {unit}, the units row {clash}; the header counts");
            findings.push(warn("unit_clash", row, message));
        }
    }
    findings
}

/// Numbers with a decimal comma, and a cell that shows it.
fn decimal_comma(layout: &Layout, stated: &TableOptions) -> Option<Finding> {
    let by_comma = |i: &usize| layout.columns[*i].marks == Marks::Comma;
    let cells = || layout.sample.iter().flat_map(|r| r.iter().enumerate());
    let sure =
        cells().find(|(i, cell)| layout.columns.len() > *i && by_comma(i) && Evidence::of(trim(cell)).is_comma());
    let (i, why) = match (stated.decimal, sure) {
        (Some(_), _) => ((0..layout.columns.len()).find(by_comma)?, "as the flight file says".to_owned()),
        (None, Some((i, cell))) => {
            let text = String::from_utf8_lossy(trim(cell));
            (i, format!("for `{text}` cannot be read otherwise, and a table is written one way"))
        }
        (None, None) => ((0..layout.columns.len()).find(by_comma)?, "as later rows show".to_owned()),
    };
    let message = format!("numbers have a decimal comma, {why}");
    Some(Finding::new(Severity::Note, "decimal_comma", message).in_column(&*layout.columns[i].name))
}
