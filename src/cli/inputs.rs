//! What the owner says of a log, and a look at it.

use super::Failure;
use crate::recorder::{self, CsvOptions, DateOrder, Options, Recording};
use clap::ValueEnum;
use std::path::Path;

/// What only the owner knows about a log's dates.
#[derive(clap::Args)]
pub(crate) struct DateArguments {
    /// The order of a date's fields, where the log leaves it open
    #[arg(long, value_enum)]
    date_order: Option<FirstField>,
}

#[derive(Clone, Copy, ValueEnum)]
enum FirstField {
    #[value(name = "day-first")]
    Day,
    #[value(name = "month-first")]
    Month,
    #[value(name = "year-first")]
    Year,
}

impl DateArguments {
    /// The order, if the owner gave one.
    pub(crate) fn order(&self) -> Option<DateOrder> {
        self.date_order.map(|order| match order {
            FirstField::Day => DateOrder::DayFirst,
            FirstField::Month => DateOrder::MonthFirst,
            FirstField::Year => DateOrder::YearFirst,
        })
    }
}

/// Reads a log for a look at it.
pub(crate) fn look_at_log(file: &Path, dates: &DateArguments) -> Result<Recording, Failure> {
    let csv = CsvOptions { date_order: dates.order(), ..CsvOptions::default() };
    recorder::read(file, &Options { csv }).map_err(Failure::input)
}
