//! The engine: whether it stands, starts, runs or is being shut down.

use super::said::{Said, converted};
use super::timeline::Timeline;
use crate::panel::{EngineRules, EngineState};
use crate::session::Session;

/// Judges a whole flight by the engine's speed.
///
/// A start lasts from the first turn until the engine has been at idle for its time; a shutdown from below the cut-off's share
/// of idle until it stands. Where its speed is not known nothing is judged, and after that not until it stands or idles: what
/// lies between may be either.
pub(super) fn judge(rules: &EngineRules, session: &Session) -> Timeline<EngineState> {
    let id = rules.channels.speed.as_deref().and_then(|name| session.find(name));
    by_speed(rules, &id.map(|id| converted(session, id, "%")).unwrap_or_default())
}

fn by_speed(rules: &EngineRules, steps: &[(f64, Said)]) -> Timeline<EngineState> {
    use EngineState::{NotJudged, Running, Shutdown, Start, Stopped};
    let mut line = Timeline::new(NotJudged);
    let (mut state, mut idle_since) = (NotJudged, None);
    for (i, &(time, said)) in steps.iter().enumerate() {
        let end = steps.get(i + 1).map_or(f64::INFINITY, |next| next.0);
        let Said::Value(speed) = said else {
            (state, idle_since) = (NotJudged, None);
            line.turn(time, state);
            continue;
        };
        let idles = speed >= rules.idle;
        state = match state {
            _ if speed < rules.stopped => Stopped,
            Stopped | Start => Start,
            Running if speed < rules.cut_off_share * rules.idle => Shutdown,
            Running => Running,
            Shutdown | NotJudged if idles => Running,
            Shutdown => Shutdown,
            NotJudged => NotJudged,
        };
        line.turn(time, state);
        if state != Start || !idles {
            idle_since = None;
            continue;
        }
        let due = *idle_since.get_or_insert(time) + rules.settled_after;
        if due < end {
            state = Running;
            line.turn(due.max(time), state);
        }
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use EngineState::{NotJudged, Running, Shutdown, Start, Stopped};

    #[test]
    fn a_start_ends_at_idle_and_a_shutdown_at_rest() {
        let rules = EngineRules { settled_after: 2.0, ..EngineRules::idling_at(60.0) };
        let speeds = [0.0, 10.0, 40.0, 61.0, 62.0, 62.0, 100.0, 55.0, 62.0, 30.0, 10.0, 0.0];
        let steps: Vec<(f64, Said)> = speeds.iter().enumerate().map(|(i, &v)| (i as f64, Said::Value(v))).collect();
        let line = by_speed(&rules, &steps);
        let found: Vec<EngineState> = (0..speeds.len()).map(|i| line.at(i as f64)).collect();
        let expected =
            [Stopped, Start, Start, Start, Start, Running, Running, Running, Running, Shutdown, Shutdown, Stopped];
        assert_eq!(found, expected, "a sag to 55 while the clutch takes hold is no shutdown");
    }

    #[test]
    fn after_a_gap_nothing_is_known_until_it_idles_or_stands() {
        let rules = EngineRules::idling_at(60.0);
        let said = [Said::Value(40.0), Said::Value(62.0), Said::Stale, Said::Value(40.0), Said::Value(1.0)];
        let steps: Vec<(f64, Said)> = said.into_iter().enumerate().map(|(i, s)| (i as f64, s)).collect();
        let line = by_speed(&rules, &steps);
        let found: Vec<EngineState> = (0..5).map(|i| line.at(f64::from(i))).collect();
        assert_eq!(found, [NotJudged, Running, NotJudged, NotJudged, Stopped]);
    }
}
