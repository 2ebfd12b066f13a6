//! The flight file: which films and logs belong together, how their clocks meet, and under which conditions was flown.

mod calibration;
mod conditions;
mod file;
mod formulae;
mod marks;
mod said;
mod table;

pub use conditions::Conditions;
pub use file::{FilmEntry, FlightFile, LogEntry, open, read};
pub use formulae::FormulaEntry;
pub use marks::{Change, ClockEntry, EventEntry, FitEntry, MarkEntry};
pub use said::{NoteEntry, PhaseEntry, When};
