//! Arguments about logs, and reading them.

use super::Failure;
use crate::recorder::{self, CsvOptions, DateOrder, Options, Recording};
use clap::ValueEnum;
use std::path::{Path, PathBuf};

/// Arguments of every command that lays a log over a film.
#[derive(clap::Args)]
pub(crate) struct LogArguments {
    /// The log
    #[arg(long, value_name = "LOG", required = true)]
    pub(crate) log: Vec<PathBuf>,
    /// Show this column as a dial, in this unit if the log states none; may be repeated [default: what is recognised]
    #[arg(long, value_name = "COLUMN[=UNIT]")]
    pub(crate) dial: Vec<DialArgument>,
    #[command(flatten)]
    pub(crate) dates: DateArguments,
}

/// What only the owner knows about a log's dates.
#[derive(clap::Args)]
pub(crate) struct DateArguments {
    /// The order of a date's fields, where the log leaves it open
    #[arg(long, value_enum)]
    date_order: Option<DateOrderName>,
}

#[derive(Clone, Copy, ValueEnum)]
enum DateOrderName {
    DayFirst,
    MonthFirst,
    YearFirst,
}

impl DateArguments {
    fn order(&self) -> Option<DateOrder> {
        self.date_order.map(|order| match order {
            DateOrderName::DayFirst => DateOrder::DayFirst,
            DateOrderName::MonthFirst => DateOrder::MonthFirst,
            DateOrderName::YearFirst => DateOrder::YearFirst,
        })
    }
}

/// A column to show, and the owner's word for its unit.
#[derive(Debug, Clone)]
pub(crate) struct DialArgument {
    pub(crate) column: String,
    unit: Option<String>,
}

impl std::str::FromStr for DialArgument {
    type Err = std::convert::Infallible;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (column, unit) = text.split_once('=').map_or((text, None), |(c, u)| (c, Some(u.to_owned())));
        Ok(Self { column: column.to_owned(), unit })
    }
}

/// Reads a log as the arguments say.
pub(crate) fn read_log(file: &Path, arguments: &LogArguments) -> Result<Recording, Failure> {
    let units = arguments.dial.iter().filter_map(|d| Some((d.column.clone(), d.unit.clone()?))).collect();
    let csv = CsvOptions { date_order: arguments.dates.order(), units, ..CsvOptions::default() };
    recorder::read(file, &Options { csv }).map_err(Failure::input)
}

/// Reads a log for a look at it.
pub(crate) fn look_at_log(file: &Path, dates: &DateArguments) -> Result<Recording, Failure> {
    let csv = CsvOptions { date_order: dates.order(), ..CsvOptions::default() };
    recorder::read(file, &Options { csv }).map_err(Failure::input)
}
