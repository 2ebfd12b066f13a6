//! What every instrument shows at one moment: a pure function of the session and the time. The ledger is written from it.

mod lamps;
mod ledger;

pub use lamps::{AlertShown, LampShown, LampWord, LampsState};
pub use ledger::Ledger;

pub use crate::judge::Drive;
use crate::judge::Judged;
use crate::panel::{ChannelFacts, Face, HandSource, Panel, Severity};
use crate::session::{ChannelId, Session};
use crate::signal::{Channel, Cursor, Reading};
use crate::time::SessionTime;
use crate::units::{Unit, UnitError};

/// What the whole panel shows; instruments in the panel's order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PanelState {
    /// One entry an instrument.
    pub instruments: Vec<InstrumentState>,
    /// The recorded lamps and the computed alerts.
    pub lamps: LampsState,
    /// How the notice "recorded data - not for use in flight" stands.
    pub notice: Notice,
}

/// What one instrument shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct InstrumentState {
    /// Its hands, in the order that its face documents; see [`crate::panel::Face::hands`].
    pub hands: Vec<Reading>,
    /// What the face shows beside its hands, see [`crate::panel::Face::note_at`]; empty where there is nothing.
    pub note: String,
    /// The gravest of the owner's limits on one of its channels that is passed; none where none is known to be.
    pub alert: Option<Severity>,
    /// Of a tachometer: what the difference of its hands says.
    pub drive: Drive,
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

/// Seconds at a film's start and end during which the notice stands on its plate.
const NOTICE_PLATE_S: f64 = 5.0;

impl Notice {
    /// How it stands at a film time, for a film that runs from `start_s` to `end_s`.
    pub fn at(film_s: f64, start_s: f64, end_s: f64) -> Self {
        if film_s - start_s < NOTICE_PLATE_S || end_s - film_s <= NOTICE_PLATE_S { Self::Plate } else { Self::Bare }
    }
}

/// A panel bound to a session: which channel feeds which hand.
pub struct Readout<'a> {
    session: &'a Session,
    judged: &'a Judged,
    panel: &'a Panel,
    /// In the panel's order.
    instruments: Vec<Bindings>,
}

/// What feeds one instrument.
struct Bindings {
    face: Face,
    hands: Vec<Hand>,
    /// The panel's limits on its channels.
    limits: Vec<usize>,
}

/// One hand: its channel, none where the session lacks it, and where it was read last.
struct Hand {
    bound: Option<Bound>,
    cursor: Cursor,
}

#[derive(Clone, Copy)]
struct Bound {
    id: ChannelId,
    /// From the log's unit to the panel's, where they differ.
    units: Option<(&'static Unit, &'static Unit)>,
}

impl<'a> Readout<'a> {
    /// Binds every hand to the channel that its face names. A name that the session lacks, and a unit that does not convert,
    /// read as invalid.
    pub fn new(session: &'a Session, judged: &'a Judged, panel: &'a Panel) -> Self {
        let bind = |source: &HandSource<'_>| {
            let id = session.find(source.channel)?;
            let recorded = session.channel(id)?.unit.as_deref();
            let units = match recorded.map(|unit| conversion(unit, source.unit)) {
                None => None,
                Some(Ok(units)) => units,
                Some(Err(_)) => return None,
            };
            Some(Bound { id, units })
        };
        let hand = |source: &HandSource<'_>| Hand { bound: bind(source), cursor: Cursor::default() };
        let limited: Vec<Option<ChannelId>> = panel.limits.iter().map(|limit| session.find(&limit.channel)).collect();
        let bindings = |face: &Face| {
            let hands: Vec<Hand> = face.hands().iter().map(hand).collect();
            let its_own =
                |id: &Option<ChannelId>| id.is_some_and(|id| hands.iter().any(|h| h.bound.is_some_and(|b| b.id == id)));
            let limits = (0..limited.len()).filter(|&i| its_own(&limited[i])).collect();
            Bindings { face: face.clone(), hands, limits }
        };
        let instruments = panel.instruments.iter().map(|i| bindings(&i.face)).collect();
        Self { session, judged, panel, instruments }
    }

    /// What the panel shows at a session time. The cursors inside only make the next call cheap.
    pub fn at(&mut self, time: SessionTime, notice: Notice) -> PanelState {
        let session = self.session;
        let read = |hand: &mut Hand| {
            let Some(bound) = hand.bound else { return Reading::INVALID };
            let mut reading = session.reading(bound.id, time, &mut hand.cursor);
            if let Some((from, to)) = bound.units {
                reading.value = reading.value.and_then(|v| from.convert(v, to).ok());
            }
            reading
        };
        let lamps = LampsState::at(self.judged, self.panel, time.0);
        let passed = |&i: &usize| {
            let on = lamps.alerts.get(i) == Some(&AlertShown::On);
            self.panel.limits.get(i).filter(|_| on).map(|limit| limit.severity)
        };
        let drive = |i: usize| self.judged.drives.get(i)?.as_ref().map(|line| line.at(time.0));
        let instruments = self.instruments.iter_mut().enumerate().map(|(i, instrument)| InstrumentState {
            hands: instrument.hands.iter_mut().map(read).collect(),
            note: instrument.face.note_at(time.0).unwrap_or_default().to_owned(),
            alert: instrument.limits.iter().filter_map(passed).min(),
            drive: drive(i).unwrap_or_default(),
        });
        PanelState { instruments: instruments.collect(), lamps, notice }
    }
}

/// What a panel made without a file must know of a session's channels; nothing of one without numbers.
pub fn facts(session: &Session) -> Vec<ChannelFacts> {
    let known = |(_, name, channel): (ChannelId, String, &Channel)| {
        let (min, max) = channel.range()?;
        let (column, unit) = (channel.name.clone(), channel.unit.clone());
        Some(ChannelFacts { channel: name, column, unit, min, max, usual: channel.usual()? })
    };
    session.channels().filter_map(known).collect()
}

/// The two units between which a log's value is converted for the panel; none where they are the same, or the panel has none.
///
/// # Errors
/// A unit that is not known, or two that measure different things.
pub fn conversion(recorded: &str, shown: &str) -> Result<Option<(&'static Unit, &'static Unit)>, UnitError> {
    if shown.is_empty() || recorded == shown {
        return Ok(None);
    }
    let (from, to) = (Unit::parse(recorded)?, Unit::parse(shown)?);
    from.convert(0.0, to)?;
    Ok((from.symbol != to.symbol).then_some((from, to)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_notice_stands_on_its_plate_at_both_ends() {
        let stands = |t| Notice::at(t, 10.0, 40.0);
        assert_eq!([stands(10.0), stands(14.9), stands(15.0)], [Notice::Plate, Notice::Plate, Notice::Bare]);
        assert_eq!([stands(34.9), stands(35.0), stands(39.9)], [Notice::Bare, Notice::Plate, Notice::Plate]);
    }
}
