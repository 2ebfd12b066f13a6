//! How one clock maps onto another, how sure that is, and on what evidence it rests.

mod fit;
mod join;
mod marks;
mod offset;

pub use fit::{ClockFit, Evidence, EvidenceKind};
pub use join::{Dated, Joined, Moment, join};
pub use marks::{Mark, from_marks};
pub use offset::{from_creation_time, from_owner};
