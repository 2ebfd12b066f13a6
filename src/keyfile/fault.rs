//! What is wrong with a file, where, and what to do.

use crate::finding::Severity;
use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use std::ops::Range;
use std::path::{Path, PathBuf};

/// A stretch of a file's text, in bytes.
pub type Place = Range<usize>;

/// One fault.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// How much it matters.
    pub severity: Severity,
    /// The file.
    pub file: PathBuf,
    /// Line of the file, from 1.
    pub line: usize,
    /// The stretch that the caret points at.
    pub place: Place,
    /// The key concerned, with its path, e.g. `instrument[2].scale.breakpoints`; empty where there is none.
    pub key: String,
    /// A short word for scripts.
    pub code: &'static str,
    /// What was found, and what was expected.
    pub message: String,
    /// What to do; empty where the message says it all.
    pub cure: String,
}

impl Fault {
    /// The fault with its line and a caret, as a person reads it.
    pub fn with_caret(&self, text: &str, coloured: bool) -> String {
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
            Severity::Note => Level::NOTE,
        };
        let name = self.file.display().to_string();
        let snippet = Snippet::source(text)
            .path(&name)
            .fold(true)
            .annotation(AnnotationKind::Primary.span(self.place.clone()).label(&self.cure));
        let report = [level.primary_title(&self.message).element(snippet)];
        if coloured { Renderer::styled() } else { Renderer::plain() }.render(&report)
    }

    /// What is wrong with the arguments that stand for a file.
    pub fn of_arguments(name: &Path, message: String) -> Self {
        *of_file(name, "bad_arguments", message, "")
    }
}

/// Line of a byte of the text, from 1.
pub(super) fn line_of(text: &str, byte: usize) -> usize {
    1 + text.as_bytes()[..byte.min(text.len())].iter().filter(|&&b| b == b'\n').count()
}

/// The known word that is nearest to a mistyped one, if it is near at all.
pub(super) fn nearest<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    let distance = |k: &&str| strsim::damerau_levenshtein(word, k);
    known.iter().copied().min_by_key(distance).filter(|k| distance(k) <= 1 + k.len() / 3)
}

/// A fault of the whole file, for what no line shows.
pub(super) fn of_file(file: &Path, code: &'static str, message: String, cure: &str) -> Box<Fault> {
    let (file, cure) = (file.to_owned(), cure.to_owned());
    Box::new(Fault { severity: Severity::Error, file, line: 1, place: 0..0, key: String::new(), code, message, cure })
}
