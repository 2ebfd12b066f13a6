//! The columns of values: collected row by row, then turned into channels.

use super::cells::{figures_in, holds_codes, is_direction, is_missing, trim};
use super::header::Head;
use super::marks::{Evidence, Marks, plain, value, with_groups, with_unit};
use super::placeholders::{self, Named};
use super::record::Record;
use super::rows::RowList;
use crate::finding::{Finding, Severity};
use crate::signal::{Channel, Kind, Origin, Samples, StateRules};
use crate::units::Unit;
use std::ops::Range;
use std::sync::Arc;

/// One cell a row taken; what is missing has its place too.
enum Cells {
    /// NaN where the cell is missing or no number.
    Numbers(Vec<f64>),
    Texts(Vec<Option<Arc<str>>>),
}

/// A column of values on its way to a channel.
pub(super) struct Column {
    /// Its place in a row.
    index: usize,
    head: Head,
    cells: Cells,
    /// Rows (as indices) whose cell is no number in a column of numbers, and the first few such texts.
    odd: Vec<usize>,
    odd_texts: Vec<String>,
    /// Cells of a text column that are numbers.
    numbers: usize,
    /// Whether the last text was one.
    last_is_number: bool,
    /// The unit that sticks on cells, as it was last written, and where it did first.
    stuck: Option<(&'static Unit, usize, String)>,
    /// What cells that are no plain numbers say of the marks.
    evidence: Evidence,
    /// Rows (as indices) that hold a placeholder the owner named.
    held_places: Vec<usize>,
    /// A number with groups of thousands.
    thousands: Option<(usize, String)>,
}

fn cells_hold(n: usize) -> &'static str {
    if n == 1 { "cell holds" } else { "cells hold" }
}

/// How many odd cells a finding quotes.
const QUOTED: usize = 5;

impl Column {
    /// A column of texts where its name says that it holds codes, where its numbers cannot be read one way only, or where
    /// most cells of the sample that hold something are no numbers; else of numbers. `turned`: the sample misled, take the
    /// other kind.
    ///
    /// `rows`: how many are expected.
    pub(super) fn new(index: usize, head: &Head, sample: &[Record], turned: bool, rows: usize) -> Self {
        let filled = || sample.iter().filter_map(|r| r.get(index)).map(trim).filter(|cell| !is_missing(cell));
        let numbers = filled().filter(|cell| is_value(cell, head.marks)).count();
        let texts = 2 * numbers < filled().count();
        let kept_as_text = holds_codes(&head.name, head.unit.map(|unit| unit.symbol)) || head.marks == Marks::Open;
        let cells = if kept_as_text || (texts != turned) {
            Cells::Texts(Vec::new())
        } else {
            let mut values = Vec::new();
            // A wish only: what is not there cannot be had before it is needed.
            let _ = values.try_reserve(rows);
            Cells::Numbers(values)
        };
        Self {
            index,
            head: head.clone(),
            cells,
            odd: Vec::new(),
            odd_texts: Vec::new(),
            numbers: 0,
            last_is_number: false,
            stuck: None,
            evidence: Evidence::default(),
            held_places: Vec::new(),
            thousands: None,
        }
    }

    /// Takes the column's cells of some rows.
    pub(super) fn take(&mut self, rows: &[Record], named: &[Named]) {
        let index = self.index;
        let Cells::Numbers(values) = &mut self.cells else {
            return rows.iter().for_each(|row| self.take_text(trim(row.get(index).unwrap_or_default()), named));
        };
        // Held apart meanwhile, for an odd cell changes the column.
        let mut values = std::mem::take(values);
        let first = values.len();
        // Nearly every cell holds a plain number, or nothing.
        let mut others = false;
        match self.head.marks.decimal() {
            Some(mark) if named.is_empty() => values.extend(rows.iter().map(|row| {
                let Some((text, cell)) = row.place(index) else { return f64::NAN };
                let quick = figures_in(text, cell.clone(), mark);
                others |= quick.is_none() && !cell.is_empty();
                quick.unwrap_or(f64::NAN)
            })),
            _ => {
                others = true;
                values.resize(first + rows.len(), f64::NAN);
            }
        }
        for (place, row) in (first..).zip(if others { rows } else { &[] }) {
            let cell = row.get(index).filter(|cell| values[place].is_nan() && !cell.is_empty());
            if let Some(cell) = cell {
                values[place] = self.take_number(trim(cell), place, named);
            }
        }
        self.cells = Cells::Numbers(values);
    }

    /// What a cell in a column of numbers writes, however it does; NaN where that is nothing.
    fn take_number(&mut self, cell: &[u8], row: usize, named: &[Named]) -> f64 {
        let mut found = plain(cell, self.head.marks);
        if found.is_none() && !is_missing(cell) {
            found = self.take_odd(cell, row);
        }
        if named.iter().any(|p| p.is(cell, found)) {
            self.held_places.push(row);
            self.odd.pop_if(|odd| *odd == row);
            found = None;
        }
        found.unwrap_or(f64::NAN)
    }

    fn take_text(&mut self, cell: &[u8], named: &[Named]) {
        let Cells::Texts(texts) = &mut self.cells else { return };
        let missing = is_missing(cell);
        if missing || named.iter().any(|p| p.is(cell, None)) {
            if !missing {
                self.held_places.push(texts.len());
            }
            texts.push(None);
            return;
        }
        let same = texts.last().and_then(Option::as_ref).filter(|last| last.as_bytes() == cell);
        if same.is_none() {
            self.last_is_number = is_value(cell, self.head.marks);
        }
        self.numbers += usize::from(self.last_is_number);
        if self.head.marks == Marks::Open {
            self.evidence.add(Evidence::of(cell));
        }
        let new = || std::str::from_utf8(cell).map_or_else(|_| String::from_utf8_lossy(cell).into(), Arc::from);
        let text = same.map_or_else(new, Arc::clone);
        texts.push(Some(text));
    }

    /// A cell that is no plain number: with groups of thousands or a unit stuck on it may be one, else it is odd.
    fn take_odd(&mut self, cell: &[u8], row: usize) -> Option<f64> {
        if let Some(value) = with_groups(cell, self.head.marks) {
            // A minus that is not ASCII's comes this way too.
            let figures = cell.split(|b| !b.is_ascii_digit()).filter(|part| !part.is_empty()).count();
            let halves = if self.head.marks.decimal().is_some_and(|mark| cell.contains(&mark)) { 2 } else { 1 };
            if figures > halves {
                self.thousands.get_or_insert_with(|| (row, String::from_utf8_lossy(cell).into_owned()));
            }
            return Some(value);
        }
        if let Some((value, unit)) = with_unit(cell, self.head.marks) {
            let expected = self.stuck.as_ref().map(|s| s.0).or(self.head.unit).unwrap_or(unit);
            if expected == unit {
                self.stuck.get_or_insert_with(|| (unit, row, String::from_utf8_lossy(cell).into_owned()));
                return Some(value);
            }
        }
        self.evidence.add(Evidence::of(cell));
        self.odd.push(row);
        if self.odd_texts.len() < QUOTED {
            self.odd_texts.push(String::from_utf8_lossy(cell).chars().take(30).collect());
        }
        None
    }

    /// What its cells say of the marks in numbers, beyond the sample.
    pub(super) fn evidence(&self) -> (usize, Evidence) {
        (self.index, self.evidence)
    }

    /// The column's numbers, one a row taken.
    pub(super) fn numbers(&self) -> Option<&[f64]> {
        match &self.cells {
            Cells::Numbers(values) => Some(values),
            Cells::Texts(_) => None,
        }
    }

    /// Whether the whole column shows that the sample misled: most numbers are no numbers, or most texts are.
    pub(super) fn misjudged(&self) -> bool {
        match &self.cells {
            Cells::Numbers(_) if self.odd.is_empty() => false,
            Cells::Numbers(values) => self.odd.len() > values.iter().filter(|v| !v.is_nan()).count(),
            Cells::Texts(texts) => {
                let codes = holds_codes(&self.head.name, self.head.unit.map(|unit| unit.symbol));
                !codes && self.head.marks != Marks::Open && 2 * self.numbers > texts.iter().flatten().count()
            }
        }
    }

    /// Its place in a row.
    pub(super) fn index(&self) -> usize {
        self.index
    }

    /// The channel, or none for a nameless column without content, which is a delimiter at the end of the lines.
    pub(super) fn finish(self, base: &mut Base<'_>, findings: &mut Vec<Finding>) -> Option<Channel> {
        let Self { index, mut head, cells, odd, odd_texts, stuck, held_places, thousands, .. } = self;
        if let Some((unit, ..)) = &stuck {
            head.unit = head.unit.or(Some(unit));
        }
        let mut found = None;
        let (samples, present) = match cells {
            Cells::Numbers(mut values) => {
                if base.find_placeholders {
                    found = placeholders::take_out(&mut values, base.kept);
                }
                let mut kept = base.kept(values);
                let present = Present::of(&kept, |v| !v.is_nan());
                let mut filled = 0;
                for run in &present.runs {
                    kept.copy_within(run.clone(), filled);
                    filled += run.len();
                }
                kept.truncate(filled);
                (Samples::Numbers(kept), present)
            }
            Cells::Texts(texts) => {
                let kept = base.kept(texts);
                let present = Present::of(&kept, Option::is_some);
                (Samples::Texts(kept.into_iter().flatten().collect()), present)
            }
        };
        let missing = base.rows.len() - present.count();
        let empty = missing == base.rows.len();
        if empty && odd.is_empty() && head.name.is_empty() {
            return None;
        }
        let name = if head.name.is_empty() { format!("column {}", index + 1) } else { head.name };
        let mut tell = |severity, code, row: Option<u64>, message| {
            findings.push(Finding { row, ..Finding::new(severity, code, message).in_column(&*name) });
        };
        let list = |rows: &[usize]| {
            let mut list = RowList::default();
            rows.iter().for_each(|&i| list.push(base.all_rows[i]));
            list
        };
        if let Some((unit, row, text)) = &stuck {
            let message = format!("the unit {unit} sticks on numbers, first `{text}`; it is taken off");
            tell(Severity::Note, "unit_in_cells", Some(base.all_rows[*row]), message);
        }
        if let Some((row, text)) = &thousands {
            let message = format!("a mark parts the thousands of numbers, first in `{text}`");
            tell(Severity::Note, "thousands", Some(base.all_rows[*row]), message);
        }
        if !held_places.is_empty() {
            let (rows, n) = (list(&held_places), held_places.len());
            let message = format!("{n} {} a placeholder that was named, taken as missing: {rows}", cells_hold(n));
            tell(Severity::Note, "placeholder_named", rows.first(), message);
        }
        if let Some(found) = &found {
            let (rows, n, value) = (list(&found.rows), found.rows.len(), found.value);
            let others = match found.others {
                Some((low, high)) => format!("the others lie between {low} and {high}"),
                None => "the column holds nothing else".to_owned(),
            };
            let message = format!(
                "{n} {} {value}, and {others}: a placeholder, taken as missing ({rows}); \
                 placeholders = [] in the flight file keeps them",
                cells_hold(n)
            );
            tell(Severity::Warning, "placeholder", rows.first(), message);
        }
        if head.marks == Marks::Open {
            let first = match &samples {
                Samples::Texts(texts) => texts.iter().find(|t| t.contains([',', '.'])),
                Samples::Numbers(_) => None,
            };
            let text = first.map(|t| t.to_string()).unwrap_or_default();
            let both = [Marks::Point, Marks::Comma].map(|m| value(text.as_bytes(), m).unwrap_or(f64::NAN));
            let message = format!(
                "`{text}` may be {} or {}, and nothing in the table decides; kept as text: set decimal = \"point\" or \
                 \"comma\" in the flight file",
                both[0], both[1]
            );
            tell(Severity::Warning, "number_open", None, message);
        }
        let mut odd_rows = RowList::default();
        odd.iter().for_each(|&i| odd_rows.push(base.all_rows[i]));
        if let Some(row) = odd_rows.first() {
            let texts: Vec<_> = odd_texts.iter().map(|t| format!("`{t}`")).collect();
            let more = if odd.len() > QUOTED { " and others" } else { "" };
            let message = format!("{odd_rows}: not a number, taken as missing: {}{more}", texts.join(", "));
            tell(Severity::Warning, "not_a_number", Some(row), message);
        }
        if empty {
            tell(Severity::Note, "column_empty", None, "the column holds nothing in any row".to_owned());
        } else if missing > 0 {
            let mut rows = RowList::default();
            present.gaps(base.rows.len()).for_each(|gap| base.rows[gap].iter().for_each(|&row| rows.push(row)));
            let message = format!("{missing} of {} cells are missing: {rows}", base.rows.len());
            tell(Severity::Note, "cells_missing", rows.first(), message);
        }
        let (times, rules) = base.times(present);
        let unit = head.unit.map(|unit| unit.symbol.to_owned());
        let kind = kind(&name, unit.as_deref(), &samples);
        let breaks = Vec::new();
        Some(Channel { name, unit, kind, times, samples, missing, breaks, rules, origin: Origin::Recorded })
    }
}

/// What all channels of a log share.
pub(super) struct Base<'a> {
    /// Physical lines of all rows taken, and of those kept.
    pub(super) all_rows: &'a [u64],
    pub(super) rows: &'a [u64],
    /// Indices of the rows kept; none where all were.
    pub(super) kept: Option<&'a [usize]>,
    /// Whether placeholders are looked for, none having been named.
    pub(super) find_placeholders: bool,
    /// Seconds of every row kept, and the usual step between them.
    pub(super) times: Arc<[f64]>,
    pub(super) step: f64,
    /// Of the last column with missing cells: which, its times and its rules.
    pub(super) before: Option<(Present, Arc<[f64]>, StateRules)>,
}

impl Base<'_> {
    fn kept<T: Clone>(&self, all: Vec<T>) -> Vec<T> {
        match self.kept {
            None => all,
            Some(kept) => kept.iter().map(|&i| all[i].clone()).collect(),
        }
    }

    /// Times of the rows that hold something, and the rules for their usual step. Columns of one sensor are missing together:
    /// neighbours that are so share them.
    fn times(&mut self, present: Present) -> (Arc<[f64]>, StateRules) {
        if present.count() == self.rows.len() {
            return (Arc::clone(&self.times), StateRules::for_interval(self.step));
        }
        if let Some((before, times, rules)) = self.before.take_if(|(before, ..)| *before == present) {
            self.before = Some((before, Arc::clone(&times), rules));
            return (times, rules);
        }
        let mut times = Vec::with_capacity(present.count());
        present.runs.iter().for_each(|run| times.extend_from_slice(&self.times[run.clone()]));
        let rules = StateRules::for_interval(super::super::usual_step(&times).unwrap_or(self.step));
        let times: Arc<[f64]> = times.into();
        self.before = Some((present, Arc::clone(&times), rules));
        (times, rules)
    }
}

/// Which rows of a column hold something, as runs of them.
#[derive(PartialEq)]
pub(super) struct Present {
    runs: Vec<Range<usize>>,
}

impl Present {
    fn of<T>(cells: &[T], holds: impl Fn(&T) -> bool) -> Self {
        // Counted many at a time; most columns miss nothing.
        if cells.iter().filter(|cell| !holds(cell)).count() == 0 {
            return Self { runs: std::iter::once(0..cells.len()).collect() };
        }
        let mut runs = Vec::new();
        let mut at = 0;
        while let Some(gap) = cells[at..].iter().position(&holds) {
            let start = at + gap;
            at = cells[start..].iter().position(|cell| !holds(cell)).map_or(cells.len(), |length| start + length);
            runs.push(start..at);
        }
        Self { runs }
    }

    fn count(&self) -> usize {
        self.runs.iter().map(Range::len).sum()
    }

    /// The rows between, of so many in all.
    fn gaps(&self, all: usize) -> impl Iterator<Item = Range<usize>> {
        let starts = std::iter::once(0).chain(self.runs.iter().map(|run| run.end));
        starts.zip(self.runs.iter().map(|run| run.start).chain([all])).map(|(start, end)| start..end)
    }
}

/// Directions are angles, in degrees or where all values lie within a turn; texts and lamps (only 0 and 1, no unit) jump;
/// a direction in another unit is not interpolated at all, for its jump from a full turn to zero is no swing.
fn kind(name: &str, unit: Option<&str>, samples: &Samples) -> Kind {
    let Samples::Numbers(values) = samples else { return Kind::Discrete };
    match unit {
        Some("deg") if is_direction(name) => Kind::Angle,
        Some("rad") if is_direction(name) => Kind::Discrete,
        None if !values.is_empty() && values.iter().all(|v| *v == 0.0 || *v == 1.0) => Kind::Discrete,
        None if is_direction(name) && values.iter().all(|v| (0.0..=360.0).contains(v)) => Kind::Angle,
        _ => Kind::Continuous,
    }
}

/// Whether a cell is a number, with or without a unit stuck on.
fn is_value(cell: &[u8], marks: Marks) -> bool {
    let is_word = cell.first().is_some_and(u8::is_ascii_alphabetic);
    !is_word && (value(cell, marks).is_some() || with_unit(cell, marks).is_some())
}
