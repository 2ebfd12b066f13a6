//! How one clock maps onto another, how sure that is, and on what evidence it rests.

mod fit;
mod offset;

pub use fit::{ClockFit, Evidence, EvidenceKind};
pub use offset::{from_creation_time, from_owner};
