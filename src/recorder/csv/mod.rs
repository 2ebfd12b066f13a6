//! Tables of separated cells under a header (CSV).
//!
//! The first part of the file tells its shape (`sniff`) and its clock (`clock_columns`); then one walk over the rows
//! fills the clock and the columns, and what was odd goes into findings. A second walk is made only where that first part
//! misled about a column's kind.
//!
//! Which rows are refused: those with another number of cells than the table, those whose stamp cannot be read (free text
//! is both), and those that do not advance the clock (`advance`).

mod advance;
mod cells;
mod clock;
mod clock_columns;
mod columns;
mod dates;
mod rows;
mod sniff;
mod source;
mod stamp;

pub(super) use advance::{Advance, advance};
pub(super) use rows::RowList;
pub(super) use stamp::{DAY, SECOND, read_date, read_time, split_stamp};
pub use stamp::DateOrder;

use super::{Format, RecorderError, Recording, usual_step};
use crate::finding::{Finding, Severity};
use crate::units::Unit;
use clock::ClockReader;
use clock_columns::{ClockColumns, NoClock};
use columns::{Base, Column};
use rows::Rows;
use sniff::{Layout, Trouble};
use source::Source;
use std::collections::HashSet;
use std::path::Path;

/// What the owner states about a table that the table itself does not say.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CsvOptions {
    /// The order of day, month and year, where the dates leave it open.
    pub date_order: Option<DateOrder>,
    /// How far local stamps are ahead of UTC; of no effect on stamps that state their zone.
    pub zone: Option<jiff::tz::Offset>,
    /// Column and unit, for columns whose unit the table does not state.
    pub units: Vec<(String, String)>,
}

/// Reads a table.
///
/// # Errors
/// [`RecorderError`]: the file cannot be opened, is no table, has no clock or no rows, or a statement does not fit it.
pub fn read(path: &Path, options: &CsvOptions) -> Result<Recording, RecorderError> {
    let source = Source::open(path)?;
    let mut layout = sniff::layout(&source.head).map_err(|trouble| match trouble {
        Trouble::NoColumns => {
            RecorderError::NotALog { file: path.to_owned(), found: "its lines do not divide into columns" }
        }
        Trouble::NoHeader { row, found } => RecorderError::NoHeader { file: path.to_owned(), row, found },
    })?;
    state_units(path, &mut layout, &options.units)?;
    if layout.sample.is_empty() {
        let why = "no row after it has as many cells".to_owned();
        return Err(RecorderError::NoRows { file: path.to_owned(), header_row: layout.header_row, why });
    }
    let clock = ClockColumns::find(&layout).map_err(|none| no_clock(path, &layout, none))?;
    let table = Table { path, source: &source, layout: &layout, clock: &clock, options };
    let walk = table.walk(&HashSet::new())?;
    let misjudged: HashSet<usize> = walk.columns.iter().filter(|c| c.misjudged()).map(Column::index).collect();
    let walk = if misjudged.is_empty() { walk } else { table.walk(&misjudged)? };
    table.finish(walk)
}

fn no_clock(path: &Path, layout: &Layout, none: NoClock) -> RecorderError {
    let file = path.to_owned();
    match none {
        NoClock::NoColumn => {
            let names: Vec<&str> = layout.columns.iter().map(|c| c.name.as_str()).collect();
            let mut columns: String = names.join(", ").chars().take(120).collect();
            if columns.len() < names.join(", ").len() {
                columns.push_str(" ...");
            }
            RecorderError::NoTimeColumn { file, columns }
        }
        NoClock::NoUnit(column) => {
            let cell = layout.sample.first().and_then(|r| r.get(column)).unwrap_or_default();
            let found = String::from_utf8_lossy(cell.trim_ascii()).into_owned();
            RecorderError::TimeUnit { file, column: layout.columns[column].name.clone(), found }
        }
    }
}

/// Puts the owner's units into the columns.
fn state_units(path: &Path, layout: &mut Layout, units: &[(String, String)]) -> Result<(), RecorderError> {
    let file = || path.to_owned();
    for (name, text) in units {
        let unit = Unit::parse(text).map_err(|source| RecorderError::UnknownUnit {
            file: file(),
            column: name.clone(),
            source,
        })?;
        let mut found = false;
        for column in layout.columns.iter_mut().filter(|c| c.name == *name && !name.is_empty()) {
            found = true;
            if let Some(stated) = column.unit.filter(|stated| *stated != unit) {
                let (stated, wanted) = (stated.symbol, unit.symbol);
                return Err(RecorderError::UnitClash { file: file(), column: name.clone(), stated, wanted });
            }
            (column.unit, column.unit_text) = (Some(unit), None);
        }
        if !found {
            let likeness = |c: &&sniff::Head| strsim::jaro_winkler(&c.name.to_lowercase(), &name.to_lowercase());
            let nearest =
                layout.columns.iter().filter(|c| !c.name.is_empty()).max_by(|a, b| likeness(a).total_cmp(&likeness(b)));
            let nearest = nearest.filter(|c| likeness(c) > 0.6).map(|c| c.name.clone());
            return Err(RecorderError::UnknownColumn { file: file(), column: name.clone(), nearest });
        }
    }
    Ok(())
}

/// A table whose shape is known.
struct Table<'a> {
    path: &'a Path,
    source: &'a Source,
    layout: &'a Layout,
    clock: &'a ClockColumns,
    options: &'a CsvOptions,
}

/// What one walk over the rows brings home.
struct Walk {
    clock: ClockReader,
    columns: Vec<Column>,
    /// Physical lines of the rows taken.
    rows: Vec<u64>,
    refused: Refused,
}

/// Rows that were not taken, by reason.
#[derive(Default)]
struct Refused {
    /// Before the first data row: another number of cells, or no stamp, and neither number nor stamp in front.
    text: RowList,
    width: RowList,
    stamp: RowList,
    /// The first of them that runs over several lines, and its last line.
    open_quote: Option<(u64, u64)>,
}

impl Table<'_> {
    /// Walks over all rows. `turned`: the columns whose kind the sample misled about.
    fn walk(&self, turned: &HashSet<usize>) -> Result<Walk, RecorderError> {
        let width = self.layout.columns.len();
        let heads = self.layout.columns.iter().enumerate().filter(|(i, _)| !self.clock.contains(*i));
        let columns = heads.map(|(i, head)| Column::new(i, head, &self.layout.sample, turned.contains(&i))).collect();
        let clock = ClockReader::new(self.clock.clone(), self.layout, self.options.date_order);
        let mut walk = Walk { clock, columns, rows: Vec::new(), refused: Refused::default() };
        let mut rows = Rows::new(self.source.reader()?, self.layout.delimiter);
        loop {
            let line = rows.line();
            let next = rows.next().map_err(|error| RecorderError::Read {
                file: self.path.to_owned(),
                row: line,
                source: error.into(),
            })?;
            let Some((row, last, record)) = next else { break };
            if row == self.layout.header_row || Some(row) == self.layout.unit_row {
                continue;
            }
            let fits = record.len() == width;
            if fits && walk.clock.take(record, row) {
                walk.rows.push(row);
                walk.columns.iter_mut().for_each(|column| column.take(record));
                continue;
            }
            let front = cells::trim(record.get(0).unwrap_or_default());
            let words = cells::number(front).is_none() && !sniff::dates_a_row(front);
            let list = match (fits, walk.rows.is_empty() && words) {
                (_, true) => &mut walk.refused.text,
                (false, _) => &mut walk.refused.width,
                (true, _) => &mut walk.refused.stamp,
            };
            list.push(row);
            if last > row {
                walk.refused.open_quote.get_or_insert((row, last));
            }
        }
        Ok(walk)
    }

    fn finish(&self, walk: Walk) -> Result<Recording, RecorderError> {
        let Walk { clock, columns, rows, refused } = walk;
        if clock.len() == 0 {
            return Err(self.nothing_taken(&clock, &refused));
        }
        let settled = clock.settle(self.path, self.layout, &rows, self.options.zone)?;
        let mut findings = self.about_the_file();
        findings.extend(refused.findings(self.layout.columns.len()));
        findings.extend(settled.findings);
        let kept_rows: Vec<u64> = match &settled.kept {
            Some(kept) => kept.iter().map(|&i| rows[i]).collect(),
            None => rows.clone(),
        };
        let base = Base {
            all_rows: &rows,
            rows: &kept_rows,
            kept: settled.kept.as_deref(),
            step: usual_step(&settled.times).unwrap_or(1.0),
            times: settled.times.into(),
        };
        let channels = columns.into_iter().filter_map(|column| column.finish(&base, &mut findings)).collect();
        // Remarks about the whole file come first, then by row.
        findings.sort_by_key(|finding| finding.row);
        Ok(Recording {
            file: self.path.to_owned(),
            format: Format::Csv,
            rows_read: kept_rows.len(),
            rows_refused: refused.count() + rows.len() - kept_rows.len(),
            rows_skipped: 0,
            clock: settled.clock,
            channels,
            findings,
        })
    }

    /// There were rows, but none could be dated.
    fn nothing_taken(&self, clock: &ClockReader, refused: &Refused) -> RecorderError {
        let file = self.path.to_owned();
        if self.options.date_order.is_some()
            && let Some(error) = clock.date_error(self.path, self.layout)
        {
            return error;
        }
        let why = format!(
            "{} rows follow, and none has {} cells and a time that can be read",
            refused.count(),
            self.layout.columns.len()
        );
        RecorderError::NoRows { file, header_row: self.layout.header_row, why }
    }

    /// Encoding, header and units row.
    fn about_the_file(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        if let Some((encoding, guess)) = self.source.encoding {
            let how = if guess { "guessed from its bytes" } else { "by its byte order mark" };
            findings.push(Finding::new(Severity::Note, "encoding", format!("the text is read as {encoding}, {how}")));
        }
        let mut seen = HashSet::new();
        for (i, head) in self.layout.columns.iter().enumerate() {
            let warn =
                |code, row, message| Finding::new(Severity::Warning, code, message).in_column(&*head.name).at_row(row);
            if !head.name.is_empty() && !seen.insert(&head.name) {
                let message = "another column has the same name".to_owned();
                findings.push(warn("column_name_twice", self.layout.header_row, message));
            }
            let Some(row) = self.layout.unit_row else { continue };
            if let Some(text) = head.unit_text.as_ref().filter(|_| !self.clock.contains(i)) {
                findings.push(warn("unit_unknown", row, format!("`{text}` is not a known unit; taken as none")));
            }
            if let (Some(unit), Some(clash)) = (head.unit, head.clash) {
                findings.push(warn(
                    "unit_clash",
                    row,
                    format!("the header says {unit}, the units row {clash}; the header counts"),
                ));
            }
        }
        findings
    }
}

impl Refused {
    fn count(&self) -> usize {
        self.text.count + self.width.count + self.stamp.count
    }

    fn findings(&self, width: usize) -> Vec<Finding> {
        let tell = |list: &RowList, severity, code, why: String| {
            list.first().map(|row| Finding::new(severity, code, format!("{list}: {why}")).at_row(row))
        };
        let quote = self.open_quote.map(|(row, last)| {
            let message = format!(
                "a quotation mark opens in row {row} and closes, if at all, in row {last}: all between is one row"
            );
            Finding::new(Severity::Warning, "open_quote", message).at_row(row)
        });
        [
            tell(&self.text, Severity::Note, "text_line", "free text between header and data; refused".to_owned()),
            tell(&self.width, Severity::Warning, "row_width", format!("not {width} cells like the others; refused")),
            tell(&self.stamp, Severity::Warning, "row_without_time", "no time that can be read; refused".to_owned()),
            quote,
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}
