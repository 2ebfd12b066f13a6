//! What every instrument shows at one moment: a pure function of the session and the time. The ledger is written from it.

mod banner;
mod caption;
mod clock;
mod fade;
mod ground;
mod lamps;
mod ledger;
mod profile;
mod trace;
pub(crate) mod words;

pub use banner::BannerLine;
pub use caption::{CaptionOf, CaptionWords, FilmCaption};
pub use ground::{GroundPoint, GroundTrack, local_metres};
pub use lamps::{AlertShown, LampShown, LampWord, LampsState};
pub use ledger::Ledger;
pub use profile::{Profile, ProfilePoint};
pub use trace::{Piece, Trace};

use std::sync::Arc;

use fade::Fade;

pub use crate::judge::{Drive, Phase};
use crate::judge::{Judged, Timeline};
use crate::panel::{ChannelFacts, Face, HandSource, Instrument, Panel, Severity, Shown};
use crate::session::{ChannelId, Session};
use crate::signal::{Channel, Cursor, Lag, Reading, Samples, State};
use crate::time::{FilmTime, SessionTime};
use crate::units::{Unit, UnitError};

/// What the whole panel shows; instruments in the panel's order.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PanelState {
    /// One entry an instrument.
    pub instruments: Vec<InstrumentState>,
    /// The recorded lamps and the computed alerts.
    pub lamps: LampsState,
    /// The lines of the banner, the worst first; none on a panel that has no banner.
    pub banner: Vec<BannerLine>,
    /// The caption that stands over the film.
    pub caption: Option<Arc<CaptionWords>>,
    /// How the notice "recorded data - not for use in flight" stands.
    pub notice: Notice,
    /// Film time in seconds; none outside a film.
    pub film_s: Option<f64>,
    /// Session time in seconds.
    pub session_s: f64,
}

/// What one instrument shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct InstrumentState {
    /// Its hands, in the order that its face documents; see [`crate::panel::Face::hands`].
    pub hands: Vec<Reading>,
    /// What the face shows beside its hands, see [`crate::panel::Face::note_at`]; the time on a phase strip; empty where there
    /// is nothing.
    pub note: String,
    /// The gravest of the owner's limits on one of its channels that is passed; none where none is known to be.
    pub alert: Option<Severity>,
    /// Of a tachometer: what the difference of its hands says.
    pub drive: Drive,
    /// What stands in the place of the first hand's number: the words of a channel that holds texts, the time on a clock;
    /// empty where there is none.
    pub text: String,
    /// Its channels over the whole session, in the order of the hands, where the face shows more than this moment.
    pub traces: Vec<Arc<Trace>>,
    /// The whole way over the ground, on a face that shows it.
    pub ground: Option<Arc<GroundTrack>>,
    /// The whole flight as one line, on a phase strip; its text is the phase.
    pub profile: Option<Arc<Profile>>,
    /// Session time in seconds since which the text has stood, on a phase strip.
    pub since_s: Option<f64>,
    /// How far it is faded out: 0 where it is fully there, 1 where it is not shown.
    pub faded: f64,
    /// Whether each of its usual ranges is shown, in the order of [`crate::panel::Instrument::usual`].
    pub usual: Vec<bool>,
}

impl InstrumentState {
    /// The text, where the state of its hand allows it to be written.
    pub fn written(&self) -> Option<&str> {
        let state = self.hands.first().map(|hand| hand.state);
        let shown = matches!(state, Some(State::Measured | State::Derived | State::Held));
        (shown && !self.text.is_empty()).then_some(&*self.text)
    }
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
    /// One an instrument, in the panel's order.
    instruments: Vec<Fed>,
    banner: banner::Banner,
    captions: &'a [FilmCaption],
}

/// An instrument and what feeds it.
struct Fed {
    face: Face,
    shown: Shown,
    fade: Option<Fade>,
    usual: Vec<Option<Timeline<bool>>>,
    hands: Vec<Hand>,
    /// The panel's limits on its channels.
    limits: Vec<usize>,
    /// The channels of a face that shows more than a moment.
    traces: Vec<Arc<Trace>>,
    ground: Option<Arc<GroundTrack>>,
    profile: Option<Arc<Profile>>,
}

/// One hand: its channel, none where the session lacks it, and where it was read last.
struct Hand {
    bound: Option<Bound>,
    /// Where the hand follows its record with a lag.
    lag: Option<Lag>,
    cursor: Cursor,
}

#[derive(Clone, Copy)]
struct Bound {
    id: ChannelId,
    /// From the log's unit to the panel's, where they differ.
    units: Option<(&'static Unit, &'static Unit)>,
    /// Whether the channel holds texts.
    texts: bool,
}

impl<'a> Readout<'a> {
    /// Binds every hand to the channel that its face names. A name that the session lacks, and a unit that does not convert,
    /// read as invalid.
    pub fn new(session: &'a Session, judged: &'a Judged, panel: &'a Panel) -> Self {
        let bind = |source: &HandSource<'_>| {
            let id = session.find(source.channel)?;
            let channel = session.channel(id)?;
            let texts = matches!(channel.samples, Samples::Texts(_));
            let recorded = channel.unit.as_deref();
            let units = match recorded.map(|unit| conversion(unit, source.unit)) {
                None => None,
                Some(Ok(units)) => units,
                Some(Err(_)) => return None,
            };
            Some(Bound { id, units, texts })
        };
        let hand = |source: &HandSource<'_>, smoothing_s: f64| {
            let bound = bind(source);
            let channel = bound.and_then(|bound| session.channel(bound.id)).filter(|_| smoothing_s > 0.0);
            let lag = channel.and_then(|channel| Lag::new(channel, smoothing_s));
            Hand { bound, lag, cursor: Cursor::default() }
        };
        let limited: Vec<Option<ChannelId>> = panel.limits.iter().map(|limit| session.find(&limit.channel)).collect();
        let feed = |(i, instrument): (usize, &Instrument)| {
            let face = &instrument.face;
            let hands: Vec<Hand> = face.hands().iter().map(|source| hand(source, instrument.smoothing_s)).collect();
            let ids: Vec<Option<ChannelId>> = hands.iter().map(|hand| hand.bound.map(|bound| bound.id)).collect();
            let its_own = |id: &Option<ChannelId>| id.is_some() && ids.contains(id);
            let limits = (0..limited.len()).filter(|&i| its_own(&limited[i])).collect();
            let traces = match face {
                Face::Strip(_) => hands.iter().map(|hand| Arc::new(hand.trace(session))).collect(),
                _ => Vec::new(),
            };
            let ground = match (face, &ids[..]) {
                (Face::Track(_), &[Some(latitude), Some(longitude)]) => {
                    Some(Arc::new(GroundTrack::new(session, latitude, longitude)))
                }
                _ => None,
            };
            let profile = match (face, &panel.phases) {
                (Face::PhaseStrip(_), Some(rules)) => Some(Arc::new(Profile::new(session, rules, &judged.phases))),
                _ => None,
            };
            let condition = judged.shown.get(i).and_then(Option::as_ref);
            Fed {
                face: face.clone(),
                fade: condition.map(|holds| Fade::new(holds, instrument.shown.fade_s)),
                shown: instrument.shown.clone(),
                usual: judged.usual.get(i).cloned().unwrap_or_default(),
                hands,
                limits,
                traces,
                ground,
                profile,
            }
        };
        let instruments = panel.instruments.iter().enumerate().map(feed).collect();
        let banner = banner::Banner::new(session, panel, |source| hand(source, 0.0));
        Self { session, judged, panel, instruments, banner, captions: &[] }
    }

    /// With captions over the film: by their times, no two at once.
    #[must_use]
    pub fn with_captions(self, captions: &'a [FilmCaption]) -> Self {
        Self { captions, ..self }
    }

    /// What the panel shows at a session time outside a film: a clock of film time has nothing to show.
    pub fn at(&mut self, time: SessionTime, notice: Notice) -> PanelState {
        self.shown(time, None, notice)
    }

    /// What the panel shows at a film time, for which the session time is given. The cursors inside only make the next call
    /// cheap.
    pub fn in_film(&mut self, film: FilmTime, time: SessionTime, notice: Notice) -> PanelState {
        self.shown(time, Some(film), notice)
    }

    fn shown(&mut self, time: SessionTime, film: Option<FilmTime>, notice: Notice) -> PanelState {
        let session = self.session;
        let lamps = LampsState::at(self.judged, self.panel, time.0);
        let passed = |&i: &usize| {
            let on = lamps.alerts.get(i) == Some(&AlertShown::On);
            self.panel.limits.get(i).filter(|_| on).map(|limit| limit.severity)
        };
        let drive = |i: usize| self.judged.drives.get(i)?.as_ref().map(|line| line.at(time.0));
        let instruments = self.instruments.iter_mut().enumerate().map(|(i, fed)| {
            let (faded, usual) = (fed.faded(time, film), fed.usual_at(time));
            let Fed { face, hands, limits, traces, ground, profile, .. } = fed;
            let mut state = InstrumentState {
                faded,
                usual,
                note: face.note_at(time.0).unwrap_or_default().to_owned(),
                alert: limits.iter().filter_map(passed).min(),
                drive: drive(i).unwrap_or_default(),
                traces: traces.clone(),
                ground: ground.clone(),
                profile: profile.clone(),
                ..InstrumentState::default()
            };
            if let Face::Clock(clock) = face {
                (state.hands, state.text) = clock::shown(clock.shows, session, time, film);
                return state;
            }
            if let Face::PhaseStrip(strip) = face {
                let phase = self.judged.phases.line.at(time.0);
                state.hands = vec![Reading::INVALID];
                if phase != Phase::NotJudged {
                    state.hands = vec![Reading { value: None, state: State::Derived, age_s: 0.0 }];
                    phase.name().clone_into(&mut state.text);
                }
                state.since_s = self.judged.phases.line.since(time.0);
                (_, state.note) = clock::shown(strip.clock, session, time, film);
                return state;
            }
            for hand in hands {
                let (reading, text) = hand.read(session, time);
                state.hands.push(reading);
                if let Some(text) = text {
                    text.clone_into(&mut state.text);
                }
            }
            state
        });
        let instruments = instruments.collect();
        let banner = self.banner.at(session, self.judged, self.panel, &lamps.alerts, time);
        let caption = film.and_then(|film| caption::at(self.captions, film.0));
        PanelState { instruments, lamps, banner, caption, notice, film_s: film.map(|film| film.0), session_s: time.0 }
    }
}

impl Fed {
    /// How far it is faded out, by the film's times, its condition and its owner's opacity.
    fn faded(&self, time: SessionTime, film: Option<FilmTime>) -> f64 {
        let by_film = film.map_or(1.0, |film| self.shown.in_film(film.0));
        let by_condition = self.fade.as_ref().map_or(1.0, |fade| fade.at(time.0));
        1.0 - self.shown.opacity * by_film.min(by_condition)
    }

    fn usual_at(&self, time: SessionTime) -> Vec<bool> {
        self.usual.iter().map(|holds| holds.as_ref().is_none_or(|holds| holds.at(time.0))).collect()
    }
}

impl Hand {
    /// The whole channel in the panel's unit; nothing of one that the session lacks, and of one that holds texts.
    fn trace(&self, session: &Session) -> Trace {
        let Some(bound) = self.bound else { return Trace::default() };
        let Some((channel, fit)) = session.channel(bound.id).zip(session.fit(bound.id)) else {
            return Trace::default();
        };
        Trace::new(
            channel,
            |t| fit.inverse(t),
            |value| bound.units.map_or(Some(value), |(from, to)| from.convert(value, to).ok()),
        )
    }

    /// The reading in the panel's unit, and its text where the channel holds texts.
    fn read<'s>(&mut self, session: &'s Session, time: SessionTime) -> (Reading, Option<&'s str>) {
        let Some(bound) = self.bound else { return (Reading::INVALID, None) };
        if bound.texts {
            let (text, reading) = session.text(bound.id, time, &mut self.cursor);
            return (reading, text);
        }
        let mut reading = session.reading(bound.id, time, &mut self.cursor);
        if let (Some(lag), Some(channel), Some(fit)) = (&self.lag, session.channel(bound.id), session.fit(bound.id)) {
            let behind = lag.at(channel, fit.at(time.0), &mut self.cursor);
            reading.value = reading.value.map(|value| value + behind);
        }
        if let Some((from, to)) = bound.units {
            reading.value = reading.value.and_then(|v| from.convert(v, to).ok());
        }
        (reading, None)
    }
}

/// What a panel made without a file must know of a session's channels; nothing of one without numbers. Where several logs have
/// one quantity, the preferred channel comes first.
pub fn facts(session: &Session) -> Vec<ChannelFacts> {
    let known = |(_, name, channel): (ChannelId, String, &Channel)| {
        let (min, max) = channel.range()?;
        let (column, unit) = (channel.name.clone(), channel.unit.clone());
        Some(ChannelFacts { channel: name, column, unit, min, max, usual: channel.usual()? })
    };
    let (second, first): (Vec<_>, Vec<_>) = session.channels().partition(|(id, ..)| session.is_second(*id));
    first.into_iter().chain(second).filter_map(known).collect()
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
