//! What a person is told on standard error.

use super::Failure;
use crate::finding::{Finding, Severity};
use anstream::{eprintln, println};
use clap::builder::styling::{AnsiColor, Style};
use serde_json::Value;
use std::path::Path;

/// Remarks shown for one file before the rest is only counted.
const MOST: usize = 12;

/// Writes messages: everything but results goes to standard error.
pub(crate) struct Report {
    quiet: bool,
    verbose: bool,
}

impl Report {
    pub(crate) fn new(quiet: bool, verbose: bool) -> Self {
        Self { quiet, verbose }
    }

    /// Whether only failures are wanted.
    pub(crate) fn is_quiet(&self) -> bool {
        self.quiet
    }

    /// A line about what is being done or was done.
    pub(crate) fn say(&self, text: &str) {
        if !self.quiet {
            eprintln!("{text}");
        }
    }

    /// Several lines that belong together, such as a fault with its caret.
    pub(crate) fn block(&self, text: &str) {
        eprintln!("{text}\n");
    }

    /// Whether messages carry colour.
    pub(crate) fn coloured(&self) -> bool {
        !matches!(anstream::AutoStream::choice(&std::io::stderr()), anstream::ColorChoice::Never)
    }

    /// A file's remarks, the graver ones first; many of them are counted rather than shown.
    pub(crate) fn findings(&self, file: &Path, findings: &[Finding]) {
        if self.quiet {
            return;
        }
        let mut sorted: Vec<&Finding> = findings.iter().collect();
        sorted.sort_by_key(|f| std::cmp::Reverse(f.severity));
        let shown = if self.verbose { sorted.len() } else { MOST };
        for finding in sorted.iter().take(shown) {
            let (word, style) = dress(finding.severity);
            eprintln!("{style}{word}{style:#}: {}: {}", file.display(), place_and_message(finding));
        }
        if let Some(more @ 1..) = sorted.len().checked_sub(shown) {
            eprintln!("       {}: {more} more remarks; --verbose shows them", file.display());
        }
    }

    /// Why the command failed.
    pub(crate) fn failure(&self, failure: &Failure) {
        let (word, style) = dress(Severity::Error);
        eprintln!("{style}{word}{style:#}: {}", failure.message);
    }

    /// The one JSON document on standard output.
    pub(crate) fn json(&self, document: &Value) {
        println!("{document:#}");
    }
}

/// `--strict`: the first warning as an error.
#[cfg(feature = "codec")]
pub(crate) fn strict<'a>(findings: impl IntoIterator<Item = (&'a Path, &'a Finding)>) -> Result<(), Failure> {
    let warning = findings.into_iter().find(|(_, f)| f.severity >= Severity::Warning);
    warning.map_or(Ok(()), |(file, finding)| {
        Err(Failure::input(format!(
            "{}: {} (--strict takes every warning as an error)",
            file.display(),
            finding.message
        )))
    })
}

/// A remark as a person reads it: row and column in front where it has them and does not say them itself.
pub(crate) fn place_and_message(finding: &Finding) -> String {
    let says_rows = finding.message.contains("row ") || finding.message.contains("rows ");
    let row = finding.row.filter(|_| !says_rows).map(|row| format!("row {row}: ")).unwrap_or_default();
    let column = finding.column.as_ref().map(|c| format!("column {c}: ")).unwrap_or_default();
    format!("{row}{column}{}", finding.message)
}

/// The word and the colour of a severity.
fn dress(severity: Severity) -> (&'static str, Style) {
    let colour = |c: AnsiColor| Style::new().bold().fg_color(Some(c.into()));
    match severity {
        Severity::Error => ("error", colour(AnsiColor::Red)),
        Severity::Warning => ("warning", colour(AnsiColor::Yellow)),
        Severity::Note => ("note", colour(AnsiColor::Cyan)),
    }
}
