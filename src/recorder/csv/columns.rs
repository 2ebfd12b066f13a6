//! The columns of values: collected row by row, then turned into channels.

use super::cells::{holds_codes, is_direction, is_missing, number, trim};
use super::rows::RowList;
use super::sniff::Head;
use crate::finding::{Finding, Severity};
use crate::signal::{Channel, Kind, Origin, Samples, StateRules};
use csv::ByteRecord;
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
}

/// How many odd cells a finding quotes.
const QUOTED: usize = 5;

impl Column {
    /// A column of texts where its name says that it holds codes, or where most cells of the sample that hold something
    /// are no numbers; else of numbers. `turned`: the sample misled, take the other kind.
    pub(super) fn new(index: usize, head: &Head, sample: &[ByteRecord], turned: bool) -> Self {
        let filled = || sample.iter().filter_map(|r| r.get(index)).map(trim).filter(|cell| !is_missing(cell));
        let numbers = filled().filter(|cell| number(cell).is_some()).count();
        let texts = 2 * numbers < filled().count();
        let codes = holds_codes(&head.name, head.unit.map(|unit| unit.symbol));
        let cells = if codes || (texts != turned) { Cells::Texts(Vec::new()) } else { Cells::Numbers(Vec::new()) };
        Self { index, head: head.clone(), cells, odd: Vec::new(), odd_texts: Vec::new(), numbers: 0 }
    }

    /// Takes the column's cell of a row.
    pub(super) fn take(&mut self, record: &ByteRecord) {
        let cell = trim(record.get(self.index).unwrap_or_default());
        match &mut self.cells {
            Cells::Numbers(values) => {
                let value = number(cell);
                if value.is_none() && !is_missing(cell) {
                    self.odd.push(values.len());
                    if self.odd_texts.len() < QUOTED {
                        self.odd_texts.push(String::from_utf8_lossy(cell).chars().take(30).collect());
                    }
                }
                values.push(value.unwrap_or(f64::NAN));
            }
            Cells::Texts(texts) if is_missing(cell) => texts.push(None),
            Cells::Texts(texts) => {
                self.numbers += usize::from(number(cell).is_some());
                let same = texts.last().and_then(Option::as_ref).filter(|last| last.as_bytes() == cell);
                let text = same.map_or_else(|| String::from_utf8_lossy(cell).into(), Arc::clone);
                texts.push(Some(text));
            }
        }
    }

    /// Whether the whole column shows that the sample misled: most numbers are no numbers, or most texts are.
    pub(super) fn misjudged(&self) -> bool {
        match &self.cells {
            Cells::Numbers(values) => self.odd.len() > values.iter().filter(|v| !v.is_nan()).count(),
            Cells::Texts(texts) => {
                let codes = holds_codes(&self.head.name, self.head.unit.map(|unit| unit.symbol));
                !codes && 2 * self.numbers > texts.iter().flatten().count()
            }
        }
    }

    /// Its place in a row.
    pub(super) fn index(&self) -> usize {
        self.index
    }

    /// The channel, or none for a nameless column without content, which is a delimiter at the end of the lines.
    pub(super) fn finish(self, base: &Base<'_>, findings: &mut Vec<Finding>) -> Option<Channel> {
        let Self { index, head, cells, odd, odd_texts, .. } = self;
        let (samples, present) = match cells {
            Cells::Numbers(values) => {
                let kept = base.kept(values);
                let present: Vec<bool> = kept.iter().map(|v| !v.is_nan()).collect();
                (Samples::Numbers(kept.into_iter().filter(|v| !v.is_nan()).collect()), present)
            }
            Cells::Texts(texts) => {
                let kept = base.kept(texts);
                let present: Vec<bool> = kept.iter().map(Option::is_some).collect();
                (Samples::Texts(kept.into_iter().flatten().collect()), present)
            }
        };
        let missing = present.iter().filter(|p| !**p).count();
        let empty = missing == present.len();
        if empty && odd.is_empty() && head.name.is_empty() {
            return None;
        }
        let name = if head.name.is_empty() { format!("column {}", index + 1) } else { head.name };
        let mut tell = |severity, code, row: Option<u64>, message| {
            findings.push(Finding { row, ..Finding::new(severity, code, message).in_column(&*name) });
        };
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
            present.iter().zip(base.rows).filter(|(p, _)| !**p).for_each(|(_, &row)| rows.push(row));
            let message = format!("{missing} of {} cells are missing: {rows}", present.len());
            tell(Severity::Note, "cells_missing", rows.first(), message);
        }
        if let Samples::Texts(texts) = &samples
            && let Some(comma) = texts.iter().find(|text| has_decimal_comma(text))
        {
            let message =
                format!("`{comma}` looks like a number with a decimal comma, which is not read yet; kept as text");
            tell(Severity::Warning, "decimal_comma", None, message);
        }
        let (times, rules) = base.times(&present, missing);
        let unit = head.unit.map(|unit| unit.symbol.to_owned());
        let kind = kind(&name, unit.as_deref(), &samples);
        Some(Channel { name, unit, kind, times, samples, missing, rules, origin: Origin::Recorded })
    }
}

/// What all channels of a log share.
pub(super) struct Base<'a> {
    /// Physical lines of all rows taken, and of those kept.
    pub(super) all_rows: &'a [u64],
    pub(super) rows: &'a [u64],
    /// Indices of the rows kept; none where all were.
    pub(super) kept: Option<&'a [usize]>,
    /// Seconds of every row kept, and the usual step between them.
    pub(super) times: Arc<[f64]>,
    pub(super) step: f64,
}

impl Base<'_> {
    fn kept<T: Clone>(&self, all: Vec<T>) -> Vec<T> {
        match self.kept {
            None => all,
            Some(kept) => kept.iter().map(|&i| all[i].clone()).collect(),
        }
    }

    /// Times of the rows that hold something, and the rules for their usual step.
    fn times(&self, present: &[bool], missing: usize) -> (Arc<[f64]>, StateRules) {
        if missing == 0 {
            return (Arc::clone(&self.times), StateRules::for_interval(self.step));
        }
        let times: Vec<f64> = self.times.iter().zip(present).filter(|(_, p)| **p).map(|(t, _)| *t).collect();
        let step = super::super::usual_step(&times).unwrap_or(self.step);
        (times.into(), StateRules::for_interval(step))
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

fn has_decimal_comma(text: &str) -> bool {
    let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
    text.trim_start_matches('-').split_once(',').is_some_and(|(whole, part)| digits(whole) && digits(part))
}
