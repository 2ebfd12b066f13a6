//! How one clock maps onto another, how sure that is, and on what evidence it rests.
//!
//! One file a kind of evidence: each takes plain samples, times or dates and makes [`Evidence`]; [`Clocks::join`] weighs all of it in
//! one [`Network`].

pub mod channels;
mod equations;
mod evidence;
mod fit;
mod join;
pub mod marks;
mod network;
pub mod sound;
pub mod timestamps;

pub use evidence::{ClockId, Evidence, EvidenceKind};
pub use fit::{ClockFit, Weighed};
pub use join::{Clocks, Joined};
pub use marks::{Moment, OWNER_SIGMA_S};
pub use network::{Crystal, Network, Node, QUARTZ_SIGMA};
pub use timestamps::{Dated, Stamps};
