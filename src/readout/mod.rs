//! What every instrument shows at one moment: a pure function of the session and the time.

use crate::signal::Reading;

/// What the whole panel shows; instruments in the panel's order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PanelState {
    /// One entry an instrument.
    pub instruments: Vec<InstrumentState>,
    /// How the notice "recorded data - not for use in flight" stands.
    pub notice: Notice,
}

/// What one instrument shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct InstrumentState {
    /// Its hands, in the order that its face documents; a dial and a tile have one.
    pub hands: Vec<Reading>,
}

/// The notice, which always stands somewhere in the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Notice {
    /// On a plate: the first and the last five seconds of a film.
    #[default]
    Plate,
    /// Bare text with its halo.
    Bare,
}
