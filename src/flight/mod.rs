//! The flight file: which films and logs belong together, how their clocks meet, and under which conditions was flown.

mod calibration;
mod conditions;
mod file;
mod formulae;
mod table;

pub use conditions::Conditions;
pub use file::{FilmEntry, FlightFile, LogEntry, MarkEntry, open, read};
pub use formulae::FormulaEntry;
