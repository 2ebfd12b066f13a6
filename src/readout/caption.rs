//! Captions: sentences that stand over the film for a while, one at a time.

use std::sync::Arc;

/// What a caption speaks of. Of two that want the same moment, the one that comes first here has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum CaptionOf {
    /// Something grave.
    Warning,
    /// Something to be dealt with.
    Caution,
    /// The owner's own words.
    Note,
    /// Something to know.
    Advisory,
    /// What is only part of a flight.
    Part,
}

/// What a caption says: whose it is, and its lines.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub struct CaptionWords {
    /// What it speaks of.
    pub of: CaptionOf,
    /// One or two lines.
    pub lines: Vec<String>,
}

impl CaptionWords {
    /// Most lines that stand over a film at once.
    pub const MOST: usize = 2;
}

/// A caption in its time.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmCaption {
    /// Film time in seconds from which it stands.
    pub from_s: f64,
    /// Film time in seconds at which it is gone.
    pub to_s: f64,
    /// What it says.
    pub words: Arc<CaptionWords>,
}

/// The caption at a film time; of captions by their times, of which no two stand at once.
pub(super) fn at(captions: &[FilmCaption], film_s: f64) -> Option<Arc<CaptionWords>> {
    let begun = captions.partition_point(|caption| caption.from_s <= film_s);
    let last = captions.get(begun.checked_sub(1)?)?;
    (film_s < last.to_s).then(|| Arc::clone(&last.words))
}
