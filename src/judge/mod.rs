//! What the whole flight says of lamps and limits: computed once, before frame one, then only looked up.
//!
//! A recorded lamp and a computed alert are two facts and stay apart: the log says that a lamp was lit, a rule of the
//! owner's says that a limit was passed. Neither is ever made from the other. Both rest on the readings' own rules
//! ([`crate::signal::StateRules`]): a held value counts, a stale or an invalid one makes the alert *unknown*.

mod alert;
mod condition;
mod drive;
mod lamp;
mod phases;
mod power;
mod said;
mod timeline;

pub use alert::{AlertState, Passed, passed_since};
pub use drive::Drive;
pub use lamp::{LampGroup, LampState, Recorded};
pub use phases::{Phase, Phases};
pub use timeline::Timeline;

use crate::panel::{Condition, Face, Panel};
use crate::session::Session;
use power::InForce;

/// Lamps and alerts of a flight, each over the whole of session time.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Judged {
    /// One a limit, in the panel's order.
    pub alerts: Vec<Timeline<AlertState>>,
    /// One a lamp, in the panel's order; none where no log recorded it.
    pub recorded: Vec<Option<Timeline<Recorded>>>,
    /// One a subject, in the order of [`Panel::lamp_groups`].
    pub groups: Vec<LampGroup>,
    /// One an instrument, in the panel's order; none but for a tachometer with a rule for its drive.
    pub drives: Vec<Option<Timeline<Drive>>>,
    /// The phases of the flight; not judged throughout where the panel has no rules for them.
    pub phases: Phases,
    /// One an instrument, in the panel's order: whether its condition holds; none for one without.
    pub shown: Vec<Option<Timeline<bool>>>,
    /// One an instrument, and of each one a usual range: whether its condition holds; none for one without.
    pub usual: Vec<Vec<Option<Timeline<bool>>>>,
}

/// Judges a flight by the owner's panel.
pub fn judge(session: &Session, panel: &Panel) -> Judged {
    let said = |channel: &str| session.find(channel).map(|id| said::said(session, id));
    let recorded: Vec<Option<Timeline<Recorded>>> =
        panel.lamps.iter().map(|lamp| said(&lamp.channel).map(|said| lamp::recorded(&said))).collect();
    let groups = panel.lamp_groups().into_iter().map(|members| lamp::group(&panel.lamps, members, &recorded)).collect();
    let drives = panel.instruments.iter().map(|instrument| {
        let Face::Tachometer(both) = &instrument.face else { return None };
        let rule = both.drive.as_ref()?;
        let (rotor, engine) = (session.find(&both.rotor)?, session.find(&both.engine)?);
        // Between two clocks a change of speed would look like a difference.
        if !session.same_log(rotor, engine) {
            return None;
        }
        let clutch = rule.clutch.as_deref().and_then(said).unwrap_or_default();
        Some(drive::judge(rule, &said::said(session, rotor), &said::said(session, engine), &clutch))
    });
    let phases = panel.phases.as_ref().map(|rules| phases::judge(rules, session)).unwrap_or_default();
    let drives: Vec<Option<Timeline<Drive>>> = drives.collect();
    let not_judged = Timeline::new(Drive::NotJudged);
    let drive_of = |channel: &str| {
        let its_rotor = |face: &Face| face.judged_rotor().is_some_and(|r| session.find(r) == session.find(channel));
        let i = panel.instruments.iter().position(|instrument| its_rotor(&instrument.face));
        i.and_then(|i| drives.get(i)?.as_ref()).unwrap_or(&not_judged)
    };
    let alerts = panel.limits.iter().map(|limit| {
        let in_force = limit.power.map_or(InForce::Always, |power| InForce::With {
            power,
            drive: drive_of(&limit.channel),
            others: panel.limits.iter().filter(|other| other.is_counterpart_of(limit)).collect(),
        });
        alert::judge(limit, &in_force, &in_force.cut(said(&limit.channel).unwrap_or_default()))
    });
    let alerts = alerts.collect();
    let steps = |channel: &str| said(channel).unwrap_or_default();
    let holds = |condition: &Option<Condition>| condition.as_ref().map(|it| condition::judge(it, steps));
    let shown = panel.instruments.iter().map(|instrument| holds(&instrument.shown.condition));
    let usual = panel.instruments.iter().map(|i| i.usual.iter().map(|range| holds(&range.condition)).collect());
    Judged { alerts, recorded, groups, drives, shown: shown.collect(), usual: usual.collect(), phases }
}
