//! Recorded lamps: what each log says, and what the lamps of one subject show together.

use super::said::Said;
use super::timeline::Timeline;
use crate::panel::Lamp;

/// So long may the lamps of a subject of which exactly one is lit contradict each other before it shows, in seconds:
/// they are not switched, nor recorded, in one moment (common practice, no source).
const CHANGEOVER_S: f64 = 1.0;

/// What a log says of one lamp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Recorded {
    /// Zero was recorded.
    Unlit,
    /// Anything else.
    Lit,
    /// The last record is too old to count.
    Stale {
        /// Its session time in seconds.
        last_s: f64,
    },
    /// There is nothing.
    Invalid,
}

/// What the lamps of one subject show together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum LampState {
    /// None is lit.
    Unlit,
    /// This lamp of the panel is; the gravest of several.
    Lit(usize),
    /// Exactly one should be lit, and that is not so.
    Disagree,
    /// The last record is too old to count.
    Stale {
        /// Its session time in seconds.
        last_s: f64,
    },
    /// There is nothing.
    Invalid,
}

/// The lamps of one subject.
#[derive(Debug, Clone, PartialEq)]
pub struct LampGroup {
    /// The panel's lamps that are recorded.
    pub members: Vec<usize>,
    /// What they show; of no meaning if no member is recorded.
    pub shown: Timeline<LampState>,
}

/// One lamp's records.
pub(super) fn recorded(said: &[(f64, Said)]) -> Timeline<Recorded> {
    let mut line = Timeline::new(Recorded::Invalid);
    let mut last_s = 0.0;
    for &(time, said) in said {
        let state = match said {
            Said::Value(value) => {
                last_s = time;
                if value != 0.0 { Recorded::Lit } else { Recorded::Unlit }
            }
            Said::Stale => Recorded::Stale { last_s },
            Said::Invalid => Recorded::Invalid,
        };
        line.turn(time, state);
    }
    line
}

/// The lamps of one subject together. Members that no log recorded stay out of it.
pub(super) fn group(lamps: &[Lamp], of_subject: Vec<usize>, recorded: &[Option<Timeline<Recorded>>]) -> LampGroup {
    let lines: Vec<(usize, &Timeline<Recorded>)> =
        of_subject.iter().filter_map(|&i| Some((i, recorded.get(i)?.as_ref()?))).collect();
    let mut times: Vec<f64> = lines.iter().flat_map(|(_, line)| line.turns()).map(|turn| turn.0).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let always_one = of_subject.iter().any(|&i| lamps.get(i).is_some_and(|lamp| lamp.always_one));
    // Without all of them, "none is lit" may be the lamp that is not recorded.
    let whole = lines.len() == of_subject.len();
    let at = |time: f64| {
        let states = lines.iter().map(|&(i, line)| (i, line.at(time)));
        together(lamps, states, always_one)
    };
    let mut shown = Timeline::new(LampState::Invalid);
    // Since when the lamps contradict each other, and what they showed before.
    let (mut unsound_since, mut sound) = (None, None);
    for (n, &time) in times.iter().enumerate() {
        let end = times.get(n + 1).copied().unwrap_or(f64::INFINITY);
        let (state, lit) = at(time);
        let known = matches!(state, LampState::Unlit | LampState::Lit(_));
        if !(always_one && known && (lit > 1 || lit == 0 && whole)) {
            unsound_since = None;
            sound = known.then_some(state);
            shown.turn(time, state);
            continue;
        }
        let due: f64 = *unsound_since.get_or_insert(time) + CHANGEOVER_S;
        if due > time {
            shown.turn(time, sound.unwrap_or(state));
        }
        if due < end {
            shown.turn(due.max(time), LampState::Disagree);
        }
    }
    LampGroup { members: lines.into_iter().map(|(i, _)| i).collect(), shown }
}

/// What lamps show together at one moment, and how many are lit.
fn together(lamps: &[Lamp], states: impl Iterator<Item = (usize, Recorded)>, always_one: bool) -> (LampState, usize) {
    let (mut lit, mut gravest, mut nothing, mut oldest) = (0, None, false, None);
    for (i, state) in states {
        match state {
            Recorded::Unlit => {}
            Recorded::Lit => {
                lit += 1;
                let severity = |i: usize| lamps.get(i).map(|lamp| lamp.severity);
                if gravest.is_none_or(|other| severity(i) < severity(other)) {
                    gravest = Some(i);
                }
            }
            Recorded::Stale { last_s } => oldest = Some(oldest.map_or(last_s, |o: f64| o.min(last_s))),
            Recorded::Invalid => nothing = true,
        }
    }
    // A lit lamp is lit, whatever is not known of the others, unless they bear on each other.
    let state = match (gravest, oldest) {
        (Some(i), _) if !always_one || (!nothing && oldest.is_none()) => LampState::Lit(i),
        _ if nothing => LampState::Invalid,
        (_, Some(last_s)) => LampState::Stale { last_s },
        _ => LampState::Unlit,
    };
    (state, lit)
}
