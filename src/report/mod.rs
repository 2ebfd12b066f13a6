//! The debrief: what a flight's records say, as one document, as tables, and as a page that holds both with all its numbers.
//!
//! It reports what was recorded and judged, and judges nothing itself: film and page read the same
//! [`crate::judge::Judged`], so they cannot differ.

mod captions;
mod channels;
mod chapters;
mod compare;
mod document;
mod empty;
mod gather;
mod history;
mod moments;
mod on_film;
mod packed;
mod page;
mod quality;
mod rules;
mod tables;
mod words;

pub use captions::{Caption, CaptionFormat, caption_file, captions};
pub use chapters::{Chapter, chapters};
pub use compare::{
    Comparison, FigureDifference, NamedMoment, Occurrence, OccurrenceFigures, OccurrencePair, OtherFlight,
    SharedChannel, comparison,
};
pub use document::*;
pub use empty::EmptyPart;
pub use gather::{FileFinding, Film, Flight, document};
pub use history::{Compared, EarlierFlight, History, Total, history};
pub use moments::{Moment, moments};
pub use on_film::{OnFilm, on_film};
pub use page::{PageFilm, page};
pub use tables::{Table, tables};

/// What stands on every page and in every document: what it is, and what it is not.
pub const CAUTIONS: [&str; 5] = [
    "Recorded data, not for use in flight.",
    "It reports what was recorded. It says nothing of whether an aircraft is airworthy or a pilot competent: licensed people and \
     the local authority decide that.",
    "Recorded values carry errors of sensor, wiring, clock and sampling. A short peak can fall between two samples.",
    "Limits are the owner's, from the panel file, each with its source. The flight manual and the owner's limits govern.",
    "Not judged means that the data could not tell. It does not mean that nothing happened.",
];
