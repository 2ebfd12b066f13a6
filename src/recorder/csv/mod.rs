//! Tables of separated cells under a header (CSV).
//!
//! The first part of the file tells its shape (`sniff`) and its clock (`clock_columns`); then one walk over the rows
//! fills the clock and the columns, and what was odd goes into findings. A second walk is made only where that first part
//! misled about a column's kind.
//!
//! Which rows are refused: those with another number of cells than the table, those whose stamp cannot be read (free text
//! is both), and those that do not advance the clock (`advance`).

mod about;
mod advance;
mod blanks;
mod cells;
mod clock;
mod clock_columns;
mod columns;
mod dates;
mod decoding;
mod drift;
mod header;
mod lines;
mod marks;
mod options;
mod parts;
mod placeholders;
mod record;
mod rows;
mod sniff;
mod source;
mod stamp;
mod zones;

pub(super) use advance::{Advance, advance};
pub use options::{ClockOptions, CsvOptions, Decimal, Separator, TableOptions};
pub(super) use rows::RowList;
pub(crate) use source::is_text;
pub use stamp::DateOrder;
pub(super) use stamp::{DAY, SECOND, read_date, read_time, split_stamp};

use super::{Format, RecorderError, Recording, date_findings, usual_step};
use crate::finding::Finding;
use crate::units::Unit;
use about::{LeftOut, Refused};
use clock::ClockReader;
use clock_columns::{ClockColumns, NoClock};
use columns::{Base, Column};
use placeholders::Named;
use record::Record;
use rows::Rows;
use sniff::{Layout, Trouble};
use source::Source;
use std::borrow::Cow;
use std::collections::HashSet;
use std::path::Path;

/// Reads a table.
///
/// # Errors
/// [`RecorderError`]: the file cannot be opened, is no table, has no clock or no rows, or a statement does not fit it.
pub fn read(path: &Path, options: &CsvOptions) -> Result<Recording, RecorderError> {
    let source = Source::open(path, options.table.encoding)?;
    let mut layout = sniff::layout(&source.head, &options.table).map_err(|trouble| match trouble {
        Trouble::NoColumns => {
            RecorderError::NotALog { file: path.to_owned(), found: "its lines do not divide into columns" }
        }
        Trouble::NoHeader { row, found } => RecorderError::NoHeader { file: path.to_owned(), row, found },
        Trouble::NotHeader { row } => RecorderError::NotAHeader { file: path.to_owned(), row },
    })?;
    state_units(path, &mut layout, &options.units)?;
    if layout.sample.is_empty() {
        let why = "no row after it has as many cells".to_owned();
        return Err(RecorderError::NoRows { file: path.to_owned(), header_row: layout.header_row(), why });
    }
    let clock = ClockColumns::find(&layout, &options.clock).map_err(|none| no_clock(path, &layout, none))?;
    let walk = Table { path, source: &source, layout: &layout, clock: &clock, options }.walk(&HashSet::new())?;
    let misjudged: HashSet<usize> = walk.columns.iter().filter(|c| c.misjudged()).map(Column::index).collect();
    let seen: Vec<_> = walk.columns.iter().map(Column::evidence).collect();
    let turned = layout.decide_again(&seen, &options.table);
    let table = Table { path, source: &source, layout: &layout, clock: &clock, options };
    // Where the marks in its numbers were misjudged, a column's kind was judged by them.
    let walk = match (turned, misjudged.is_empty()) {
        (false, true) => walk,
        (false, false) => table.walk(&misjudged)?,
        (true, _) => table.walk(&HashSet::new())?,
    };
    table.finish(walk)
}

fn no_clock(path: &Path, layout: &Layout, none: NoClock) -> RecorderError {
    let file = path.to_owned();
    let named = |column: usize| {
        let cell = layout.sample.first().and_then(|r| r.get(column)).unwrap_or_default();
        (layout.columns[column].name.clone(), String::from_utf8_lossy(cell.trim_ascii()).into_owned())
    };
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
            let (column, found) = named(column);
            RecorderError::TimeUnit { file, column, found }
        }
        NoClock::NoDecimal(column) => {
            let (column, found) = named(column);
            RecorderError::DecimalOpen { file, column, found }
        }
        NoClock::NoSeconds(column) => {
            let (column, found) = named(column);
            RecorderError::NoSeconds { file, column, found }
        }
        NoClock::NoTimes(column) => {
            let (column, found) = named(column);
            RecorderError::NoTimes { file, column, found }
        }
        NoClock::NotThere(column) => {
            let nearest = nearest(layout, &column);
            RecorderError::NoSuchColumn { file, column, nearest }
        }
    }
}

/// The column whose name is closest in spelling, if any is close.
fn nearest(layout: &Layout, name: &str) -> Option<String> {
    let likeness = |c: &&header::Head| strsim::jaro_winkler(&c.name.to_lowercase(), &name.to_lowercase());
    let named = layout.columns.iter().filter(|c| !c.name.is_empty());
    let best = named.max_by(|a, b| likeness(a).total_cmp(&likeness(b)));
    best.filter(|c| likeness(c) > 0.6).map(|c| c.name.clone())
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
            let nearest = nearest(layout, name);
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

/// Rows that a column takes at a time: few enough to stay in the processor's first memory.
const AT_A_TIME: usize = 32;

/// What one walk over the rows brings home.
struct Walk {
    clock: ClockReader,
    columns: Vec<Column>,
    /// Physical lines of the rows taken.
    rows: Vec<u64>,
    /// Indices of the rows right under a header that is written again.
    headed: Vec<usize>,
    refused: Refused,
    left_out: LeftOut,
}

impl Table<'_> {
    /// Walks over all rows. `turned`: the columns whose kind the sample misled about.
    fn walk(&self, turned: &HashSet<usize>) -> Result<Walk, RecorderError> {
        let layout = self.layout;
        let heads = layout.columns.iter().enumerate().filter(|(i, _)| !self.clock.contains(*i));
        let expected = self.source.rows_expected();
        let column = |(i, head)| Column::new(i, head, &layout.sample, turned.contains(&i), expected);
        let columns = heads.map(column).collect();
        let named: Vec<Named> = self.options.table.placeholders.iter().flatten().map(|p| Named::of(p)).collect();
        let mut walk = Walk {
            clock: ClockReader::new(self.clock.clone(), layout, self.options.date_order),
            columns,
            rows: Vec::new(),
            headed: Vec::new(),
            refused: Refused::default(),
            left_out: LeftOut::default(),
        };
        let mut rows = Rows::new(self.source.reader()?, &layout.division);
        // Whether a header of other columns governs the rows.
        let mut other_header = false;
        let mut last_row = 0;
        // Rows taken wait until there are some, so that a column takes many cells at a time.
        let mut waiting = vec![Record::default(); AT_A_TIME];
        let mut waits = 0;
        let hand_on = |columns: &mut [Column], rows: &[Record]| {
            columns.iter_mut().for_each(|column| column.take(rows, &named));
        };
        loop {
            let line = rows.line();
            let record = &mut waiting[waits];
            let next = rows.next(record).map_err(|error| RecorderError::Read {
                file: self.path.to_owned(),
                row: line,
                source: error.into(),
            })?;
            let Some((row, last)) = next else { break };
            last_row = row;
            if walk.left_out.takes(layout, row, record) {
                continue;
            }
            let fits = record.len() == layout.columns.len();
            if fits && !other_header && walk.clock.take(record, row) {
                walk.rows.push(row);
                waits += 1;
                if waits == AT_A_TIME {
                    hand_on(&mut walk.columns, &waiting);
                    waits = 0;
                }
                continue;
            }
            if about::is_written_again(layout, record) {
                walk.left_out.header_again.push(row);
                walk.headed.push(walk.rows.len());
                other_header = false;
                continue;
            }
            other_header |= about::is_other_header(layout, record);
            walk.refused.push(record, (row, last), fits, other_header, walk.rows.is_empty());
        }
        hand_on(&mut walk.columns, &waiting[..waits]);
        walk.headed.dedup();
        walk.refused.end(self.source.ends_open.then_some(last_row));
        Ok(walk)
    }

    fn finish(&self, walk: Walk) -> Result<Recording, RecorderError> {
        let Walk { clock, columns, rows, headed, refused, left_out } = walk;
        if clock.len() == 0 {
            return Err(self.nothing_taken(&clock, &refused));
        }
        let settled = clock.settle(self.path, self.layout, &rows, &headed, self.options)?;
        let mut findings = about::file(self.source, self.layout, self.clock, &self.options.table);
        findings.extend(left_out.findings());
        findings.extend(refused.findings(self.layout.columns.len()));
        findings.extend(settled.findings);
        let kept_rows: Cow<[u64]> = match &settled.kept {
            Some(kept) => kept.iter().map(|&i| rows[i]).collect(),
            None => Cow::Borrowed(&rows),
        };
        let mut base = Base {
            all_rows: &rows,
            rows: &kept_rows,
            kept: settled.kept.as_deref(),
            find_placeholders: self.options.table.placeholders.is_none(),
            step: usual_step(&settled.times).unwrap_or(1.0),
            times: settled.times.into(),
            before: None,
        };
        findings.extend(columns.iter().filter_map(|column| self.drift(column, &base)));
        let channels = columns.into_iter().filter_map(|column| column.finish(&mut base, &mut findings)).collect();
        // Remarks about the whole file come first, then by row.
        findings.sort_by_key(|finding| finding.row);
        date_findings(&mut findings, &kept_rows, &base.times);
        Ok(Recording {
            file: self.path.to_owned(),
            format: Format::Csv,
            rows_read: kept_rows.len(),
            rows_refused: refused.count() + rows.len() - kept_rows.len(),
            rows_left_out: left_out.count(),
            clock: settled.clock,
            parts: settled.parts,
            channels,
            findings,
        })
    }

    /// A count beside the clock that runs differently.
    fn drift(&self, column: &Column, base: &Base<'_>) -> Option<Finding> {
        let head = &self.layout.columns[column.index()];
        if !drift::is_a_count(head) {
            return None;
        }
        let values = column.numbers()?;
        let kept: Vec<f64> = match base.kept {
            Some(kept) => kept.iter().map(|&i| values[i]).collect(),
            None => values.to_vec(),
        };
        drift::apart(head, &base.times, &kept, base.rows, base.step)
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
        RecorderError::NoRows { file, header_row: self.layout.header_row(), why }
    }
}
