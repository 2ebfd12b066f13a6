//! Recorded lamps: lit, tested, against each other, and against the owner's rules.

use super::{Event, EventKind, Fact, Flight};
use crate::judge::alert::AlertState;
use crate::judge::lamp::{LampState, Recorded};
use crate::panel::{EngineState, Lamp, Limit, LitWords, Phase, Severity};

/// What lights on the ground within so long of the engine's falling below idle belongs to its being cut off, in seconds (common
/// practice, no source).
const CUT_OFF_S: f64 = 5.0;

/// A stretch for which one lamp was lit.
#[derive(Clone, Copy)]
struct Lit {
    lamp: usize,
    from: f64,
    to: f64,
}

/// All that lamps tell.
pub(super) fn all(flight: &Flight<'_>) -> Vec<Event> {
    let mut lit: Vec<Lit> = Vec::new();
    for (lamp, line) in flight.judged.recorded.iter().enumerate() {
        let Some(line) = line else { continue };
        lit.extend(flight.of(line, Recorded::Lit).into_iter().map(|(from, to)| Lit { lamp, from, to }));
    }
    lit.sort_by(|a, b| a.from.total_cmp(&b.from));
    let (mut events, rest) = tests(flight, lit);
    events.extend(rest.iter().filter_map(|lit| lit_lamp(flight, *lit)));
    for (i, group) in flight.judged.groups.iter().enumerate() {
        events.extend(flight.of(&group.shown, LampState::Disagree).into_iter().map(|span| disagree(flight, i, span)));
    }
    events.extend(against_rules(flight));
    events
}

/// Lamp tests, and the stretches that belong to none.
fn tests(flight: &Flight<'_>, lit: Vec<Lit>) -> (Vec<Event>, Vec<Lit>) {
    let rules = &flight.panel.events;
    let stands = |time: f64| match flight.judged.engine.at(time) {
        EngineState::Stopped => true,
        EngineState::NotJudged => flight.phase(time) == Phase::Standing,
        EngineState::Start | EngineState::Running | EngineState::Shutdown => false,
    };
    let (mut events, mut rest) = (Vec::new(), Vec::new());
    let mut i = 0;
    while i < lit.len() {
        let first = lit[i];
        let together = lit[i..].iter().take_while(|l| l.from - first.from <= rules.lamp_test_within).count();
        let (in_test, longer): (Vec<Lit>, Vec<Lit>) =
            lit[i..i + together].iter().partition(|l| l.to - l.from <= rules.lamp_test_out);
        if in_test.len() as f64 >= rules.lamp_test_lamps && stands(first.from) {
            let to = in_test.iter().map(|l| l.to).fold(first.from, f64::max);
            let mut event = flight.event(EventKind::LampTest, "Lamp test", (first.from, to));
            event.facts.push(Fact::new("lamps", in_test.len() as f64, "", 0));
            event.rule = format!(
                "{} lamps or more lit within {} s with the engine standing, and out within {} s",
                rules.lamp_test_lamps, rules.lamp_test_within, rules.lamp_test_out
            );
            events.push(event);
            rest.extend(longer);
            i += together;
        } else {
            rest.push(first);
            i += 1;
        }
    }
    (events, rest)
}

/// A lamp that was lit in flight, or on the ground with the rotor joined.
///
/// Lamps that are lit because everything stands are as they should be.
fn lit_lamp(flight: &Flight<'_>, lit: Lit) -> Option<Event> {
    let lamp = flight.panel.lamps.get(lit.lamp)?;
    let rules = &flight.panel.events;
    if lamp.severity > Severity::Caution || lit.to - lit.from < rules.lamp_least {
        return None;
    }
    let judged = flight.judged;
    // A lamp that goes by the rule of a limit is as it should be while that does not count.
    let idle_rule = |time: f64| {
        let mut rules = flight.panel.limits.iter().zip(&judged.alerts).filter(|(limit, _)| goes_by(lamp, limit));
        rules.any(|(_, alert)| alert.at(time) == AlertState::Waiting)
    };
    // Nothing is known of the rest of the flight: what was recorded stands for itself.
    let counts = judged.phases.line.turns().is_empty()
        || match flight.phase(lit.from) {
            Phase::RunUp => !idle_rule(lit.from),
            Phase::OnGround => {
                let runs = |time: f64| judged.engine.at(time) == EngineState::Running;
                runs(lit.from) && runs(lit.from + CUT_OFF_S) && !idle_rule(lit.from)
            },
            phase => phase.on_ground().is_none_or(|ground| !ground),
        }
        // What should have gone out before the flight has not.
        || judged.phases.line.stretches(lit.from, lit.to).any(|stretch| stretch.2.on_ground() == Some(false));
    if !counts {
        return None;
    }
    let mut event = flight.event(EventKind::Lamp, format!("Lamp {}", said(lamp)), (lit.from, lit.to));
    event.severity = Some(lamp.severity);
    event.facts.push(Fact::new("lit for", lit.to - lit.from, "s", 1));
    let exact = flight.records(Some(&lamp.channel), "").map(|records| records.plus_minus_s);
    event.plus_minus_s = exact.unwrap_or(event.plus_minus_s);
    event.rule = format!(
        "recorded, for {} s at least, while the aircraft flew, or on the ground with the rotor joined unless the owner's rule for the same word did \
         not count then; lamps that are lit because everything stands are no events",
        rules.lamp_least
    );
    Some(event)
}

/// Whether a lamp and a limit are about the same thing, with the same word.
fn goes_by(lamp: &Lamp, limit: &Limit) -> bool {
    lamp.subject == limit.subject && matches!(&lamp.lit, LitWords::Word(word) if *word == limit.word)
}

/// What a lamp says, in one line.
fn said(lamp: &Lamp) -> String {
    match &lamp.lit {
        LitWords::Word(word) => format!("{} {word}", lamp.subject),
        LitWords::Phrase([first, second]) => format!("{first} {second}"),
    }
}

fn disagree(flight: &Flight<'_>, group: usize, span: (f64, f64)) -> Event {
    let members = flight.judged.groups.get(group).map(|group| &group.members);
    let subject = members.and_then(|m| flight.panel.lamps.get(*m.first()?)).map_or("", |lamp| &lamp.subject);
    let mut event = flight.event(EventKind::LampsDisagree, format!("Lamps {subject} disagree"), span);
    event.severity = Some(Severity::Caution);
    event.rule = "none, or more than one, of the lamps of which exactly one should be lit, for 1 s".into();
    event
}

/// Lamps and rules of one subject and one word: where the lamp tripped, and for how long the two did not say the same.
fn against_rules(flight: &Flight<'_>) -> Vec<Event> {
    let mut events = Vec::new();
    for (l, lamp) in flight.panel.lamps.iter().enumerate() {
        for (i, limit) in flight.panel.limits.iter().enumerate() {
            let same =
                matches!(&lamp.lit, LitWords::Word(word) if *word == limit.word) && lamp.subject == limit.subject;
            if same {
                events.extend(differ(flight, (l, lamp), (i, limit)));
            }
        }
    }
    events
}

fn differ(flight: &Flight<'_>, (l, lamp): (usize, &Lamp), (i, limit): (usize, &Limit)) -> Option<Event> {
    let line = flight.judged.recorded.get(l)?.as_ref()?;
    let alert = flight.judged.alerts.get(i)?;
    let mut times: Vec<f64> = line.turns().iter().map(|t| t.0).chain(alert.turns().iter().map(|t| t.0)).collect();
    times.sort_by(f64::total_cmp);
    let (first, last) = flight.span();
    let (mut seconds, mut from, mut to) = (0.0, None, first);
    for (n, &time) in times.iter().enumerate() {
        let end = times.get(n + 1).copied().unwrap_or(last).min(last);
        let apart = matches!(
            (line.at(time), alert.at(time)),
            (Recorded::Lit, AlertState::Off) | (Recorded::Unlit, AlertState::On)
        );
        if apart && end > time {
            seconds += end - time;
            from.get_or_insert(time);
            to = end;
        }
    }
    let mut event =
        flight.event(EventKind::LampAndAlertDiffer, format!("Lamp {} and alert differ", said(lamp)), (from?, to));
    event.severity = Some(Severity::Advisory);
    event.facts.push(Fact::new("in all for", seconds, "s", 1));
    let records = flight.records(Some(&limit.channel), "")?;
    // Where the aircraft stands a lamp may be lit or not without having passed its trip point.
    let trips = line.turns().windows(2).filter_map(|pair| match (pair[0].1, pair[1].1) {
        (Recorded::Unlit, Recorded::Lit) if alert.at(pair[1].0) != AlertState::Unknown => records.at(pair[1].0),
        _ => None,
    });
    let mut trips: Vec<f64> = trips.collect();
    trips.sort_by(f64::total_cmp);
    let middle = trips.get(trips.len() / 2);
    event.facts.extend(middle.map(|trip| Fact::new("the lamp came on at", *trip, records.unit.clone(), 1)));
    event.facts.push(Fact::new("the alert at", limit.value, records.unit.clone(), 1));
    event.rule = "the recorded lamp and the owner's rule of the same subject and word, while the rule is armed".into();
    Some(event)
}
