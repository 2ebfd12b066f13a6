//! What the whole flight says of lamps and limits: computed once, before frame one, then only looked up.
//!
//! A recorded lamp and a computed alert are two facts and stay apart: the log says that a lamp was lit, a rule of the
//! owner's says that a limit was passed. Neither is ever made from the other. Both rest on the readings' own rules
//! ([`crate::signal::StateRules`]): a held value counts, a stale or an invalid one makes the alert *unknown*.

mod alert;
mod condition;
mod doubt;
mod drive;
mod engine;
mod event;
mod events;
mod exceedance;
mod figures;
mod in_force;
mod lamp;
mod limited;
mod phases;
mod said;
mod timeline;
mod wind;

pub use crate::panel::Phase;
pub use alert::{AlertState, Passed, passed_since};
pub use drive::Drive;
pub use event::{Event, EventKind, Exceedance, Fact, Unjudged};
pub use figures::{Band, Figure, Figures, PhaseFigures, Spread};
pub use lamp::{LampGroup, LampState, Recorded};
pub use phases::Phases;
pub use timeline::Timeline;

use crate::panel::{Condition, EngineState, Face, Instrument, Limit, Panel};
use crate::session::Session;
use crate::time::SessionTime;
use condition::Asked;
use doubt::Doubt;
use exceedance::Frame;
use in_force::{ByDrive, InForce};
use said::Said;

/// Lamps and alerts of a flight, each over the whole of session time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Judged {
    /// One a limit, in the panel's order.
    pub alerts: Vec<Timeline<AlertState>>,
    /// Where each limit stands that depends on another channel, in the panel's order; none for one that does not.
    pub bounds: Vec<Option<Timeline<Option<f64>>>>,
    /// One a lamp, in the panel's order; none where no log recorded it.
    pub recorded: Vec<Option<Timeline<Recorded>>>,
    /// One a subject, in the order of [`Panel::lamp_groups`].
    pub groups: Vec<LampGroup>,
    /// One an instrument, in the panel's order; none but for a tachometer with a rule for its drive.
    pub drives: Vec<Option<Timeline<Drive>>>,
    /// The phases of the flight; not judged throughout where the panel has no rules for them.
    pub phases: Phases,
    /// What the engine does; not judged throughout where the panel has no rules for it.
    pub engine: Timeline<EngineState>,
    /// Where limits were passed, by their starts.
    pub exceedances: Vec<Exceedance>,
    /// Where limits could not be judged.
    pub unjudged: Vec<Unjudged>,
    /// What happened, by its starts.
    pub events: Vec<Event>,
    /// What the flight comes to in numbers.
    pub figures: Figures,
    /// One an instrument, in the panel's order: whether its condition holds; none for one without.
    pub shown: Vec<Option<Timeline<bool>>>,
    /// One an instrument, and of each one a usual range: whether its condition holds; none for one without.
    pub usual: Vec<Vec<Option<Timeline<bool>>>>,
}

impl Judged {
    /// Where a limit, by its place in the panel, stands at a session time; of one that depends on another channel which does not
    /// say, where it stands first.
    pub fn bound(&self, i: usize, limit: &Limit, time_s: f64) -> f64 {
        let line = self.bounds.get(i).and_then(Option::as_ref);
        line.and_then(|line| line.at(time_s)).unwrap_or(limit.value)
    }
}

/// Judges a flight by the owner's panel.
pub fn judge(session: &Session, panel: &Panel) -> Judged {
    let said = |channel: &str| session.find(channel).map(|id| said::said(session, id));
    let steps = |channel: &str| said(channel).unwrap_or_default();
    let recorded: Vec<Option<Timeline<Recorded>>> =
        panel.lamps.iter().map(|lamp| said(&lamp.channel).map(|said| lamp::recorded(&said))).collect();
    let groups: Vec<LampGroup> =
        panel.lamp_groups().into_iter().map(|members| lamp::group(&panel.lamps, members, &recorded)).collect();
    let drives: Vec<Option<Timeline<Drive>>> =
        panel.instruments.iter().map(|instrument| drive_of(instrument, session, said)).collect();
    let phases = panel.phases.as_ref().map(|rules| phases::judge(rules, &panel.events, session)).unwrap_or_default();
    let engine = panel.engine.as_ref().map(|rules| engine::judge(rules, session));
    let engine = engine.unwrap_or_else(|| Timeline::new(EngineState::NotJudged));
    let asked = Asked { steps, phases: &phases.line, engine: &engine };
    let limits = Limits { session, panel, drives: &drives, asked: &asked };
    let (mut alerts, mut bounds, mut exceedances, mut unjudged) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    let (first, last) = session.span();
    let frame = Frame { phases: &phases.line, joined_gap: panel.events.joined_gap, span: (first.0, last.0) };
    for (i, limit) in panel.limits.iter().enumerate() {
        let in_force = limits.in_force(limit);
        let records = limited::limited(limit, steps(&limit.channel));
        let alert = alert::judge(&in_force, &in_force.cut(records.clone()));
        let plus_minus_s = session.find(&limit.channel).and_then(|id| said::plus_minus(session, id)).unwrap_or(0.0);
        exceedances.extend(exceedance::find(i, &in_force, &records, &alert, plus_minus_s, &frame));
        unjudged.extend(exceedance::unjudged(i, &in_force, &records, &alert, &frame));
        alerts.push(alert);
        bounds.push(in_force.along);
    }
    exceedances.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    let holds = |condition: &Option<Condition>| condition.as_ref().map(|it| asked.holds(it));
    let shown = panel.instruments.iter().map(|instrument| holds(&instrument.shown.condition)).collect();
    let usual =
        panel.instruments.iter().map(|i| i.usual.iter().map(|range| holds(&range.condition)).collect()).collect();
    let mut judged = Judged {
        alerts,
        bounds,
        recorded,
        groups,
        drives,
        shown,
        usual,
        phases,
        engine,
        exceedances,
        unjudged,
        events: Vec::new(),
        figures: Figures::default(),
    };
    judged.events = events::find(session, panel, &judged);
    judged.figures = figures::of(session, panel, &judged);
    judged
}

/// The drive that a tachometer with a rule for it judges.
fn drive_of(
    instrument: &Instrument,
    session: &Session,
    said: impl Fn(&str) -> Option<Vec<(f64, Said)>>,
) -> Option<Timeline<Drive>> {
    let Face::Tachometer(both) = &instrument.face else { return None };
    let rule = both.drive.as_ref()?;
    let (rotor, engine) = (session.find(&both.rotor)?, session.find(&both.engine)?);
    let clutch = rule.clutch.as_deref().and_then(said).unwrap_or_default();
    let steps = [rotor, engine].map(|id| said::said(session, id));
    // Between two clocks a change of speed looks like a difference.
    let doubt = Doubt::new(session, [rotor, engine], [&steps[0], &steps[1]])?;
    Some(drive::judge(rule, &steps[0], &steps[1], &clutch, |time| doubt.three_sigma(time)))
}

/// What the owner's limits depend on.
struct Limits<'a, F: Fn(&str) -> Vec<(f64, Said)>> {
    session: &'a Session,
    panel: &'a Panel,
    drives: &'a [Option<Timeline<Drive>>],
    asked: &'a Asked<'a, F>,
}

impl<'a, F: Fn(&str) -> Vec<(f64, Said)>> Limits<'a, F> {
    /// When a limit counts, and where it stands.
    fn in_force(&self, limit: &'a Limit) -> InForce<'a> {
        let steps = &self.asked.steps;
        let by_drive = limit.power.map(|power| ByDrive {
            power,
            drive: self.drive(&limit.channel),
            others: self.panel.limits.iter().filter(|other| other.is_counterpart_of(limit)).collect(),
        });
        let along = limit.along.as_ref().map(|along| {
            let mut line = Timeline::new(None);
            for (time, said) in steps(&along.channel) {
                line.turn(time, if let Said::Value(value) = said { along.at(value) } else { None });
            }
            line
        });
        let wanted = limit.only_while.as_ref().map(|condition| self.asked.judge(condition));
        let only = if limit.days.always() { wanted } else { Some(self.on_its_days(limit, wanted)) };
        let disarmed = limit.disarmed_by.as_ref().map(|condition| self.asked.judge(condition));
        let arming = limit.armed_by.as_ref();
        let armed = (arming.is_some() || disarmed.is_some()).then(|| {
            let channel = arming.and_then(|arming| arming.channel.as_deref()).unwrap_or(&limit.channel);
            alert::armed(arming, &steps(channel), disarmed.as_ref())
        });
        InForce { limit, by_drive, along, only, armed }
    }

    /// The condition of a limit that holds on some days alone, by the flight's first.
    fn on_its_days(&self, limit: &Limit, wanted: Option<Timeline<Option<bool>>>) -> Timeline<Option<bool>> {
        let day = self.session.utc(SessionTime(0.0)).map(|t| jiff::tz::Offset::UTC.to_datetime(t).date());
        match day.map(|day| limit.days.hold(day)) {
            Some(true) => wanted.unwrap_or_else(|| Timeline::new(Some(true))),
            Some(false) => Timeline::new(Some(false)),
            None => wanted.map_or_else(|| Timeline::new(None), |line| line.map(|holds| holds.filter(|yes| !yes))),
        }
    }

    /// The drive whose rotor a channel is.
    fn drive(&self, channel: &str) -> &'a Timeline<Drive> {
        static NOT_JUDGED: Timeline<Drive> = Timeline::new(Drive::NotJudged);
        let its_rotor =
            |face: &Face| face.judged_rotor().is_some_and(|r| self.session.find(r) == self.session.find(channel));
        let i = self.panel.instruments.iter().position(|instrument| its_rotor(&instrument.face));
        i.and_then(|i| self.drives.get(i)?.as_ref()).unwrap_or(&NOT_JUDGED)
    }
}
