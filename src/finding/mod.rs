//! What a reader of a log or a clip noticed and a person should know: the one struct that every room hands on.

use serde::Serialize;

/// How much a finding matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Worth knowing; nothing is lost or doubtful.
    Note,
    /// Something was left out, guessed or looks wrong. `--strict` turns it into an error.
    Warning,
    /// The input cannot be used as it is.
    Error,
}

/// One remark about an input file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// How much it matters.
    pub severity: Severity,
    /// Physical line of the file, counted from 1; none for a remark about the whole file or a clip.
    pub row: Option<u64>,
    /// When that line was written, in seconds since the log's first sample: its own time, or that of the last record before it.
    pub at_s: Option<f64>,
    /// Name of the column concerned, as the file writes it.
    pub column: Option<String>,
    /// A short word for scripts, stable between versions, e.g. `cells_missing`.
    pub code: &'static str,
    /// One sentence for a person: what was found and what was done with it.
    pub message: String,
}

impl Finding {
    /// A remark that concerns the whole file.
    pub fn new(severity: Severity, code: &'static str, message: impl Into<String>) -> Self {
        Self { severity, row: None, at_s: None, column: None, code, message: message.into() }
    }

    /// The same remark, pinned to a physical line (from 1).
    #[must_use]
    pub fn at_row(mut self, row: u64) -> Self {
        self.row = Some(row);
        self
    }

    /// The same remark, pinned to a column.
    #[must_use]
    pub fn in_column(mut self, column: impl Into<String>) -> Self {
        self.column = Some(column.into());
        self
    }
}
