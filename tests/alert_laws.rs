//! Laws of alerts and exceedances that hold for any record, whatever the rule's numbers are: how exceedances are joined, that noise within
//! the hysteresis makes no chatter, and that what is not known never becomes normal.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

mod made;

use jumpseat::judge::{AlertState, Exceedance, Judged, judge};
use jumpseat::panel::{Along, Bound, Condition, EventRules, Limit, Panel};
use jumpseat::session::Session;
use jumpseat::signal::{Kind, StateRules};
use proptest::prelude::*;

/// Seconds between two records.
const TICK_S: f64 = 0.25;
/// A record counts for so many ticks.
const HELD: usize = 4;
const RULES: StateRules = StateRules { joined_s: TICK_S, held_s: HELD as f64 * TICK_S, stale_s: 12.0 * TICK_S };

/// One record a tick; none where nothing was recorded.
type Series = Vec<Option<f64>>;

fn tick(n: usize) -> f64 {
    n as f64 * TICK_S
}

fn session(series: &[Series]) -> Session {
    let channels = series.iter().enumerate();
    let made =
        channels.map(|(n, values)| made::channel(&format!("c{n}"), None, Kind::Continuous, (TICK_S, RULES), values));
    Session::of(made::recording(made.collect()))
}

fn judged(series: &[Series], limit: &Limit, joined_gap: f64) -> Judged {
    let events = EventRules { joined_gap, ..EventRules::default() };
    judge(&session(series), &Panel { limits: vec![limit.clone()], events, ..Panel::default() })
}

/// What a series says in a tick: its last record, not older than it may be held.
fn known(series: &Series, n: usize) -> Option<f64> {
    (0..=n).rev().take(HELD).find_map(|i| series.get(i).copied().flatten())
}

/// Values in runs, and gaps of any length.
fn series() -> impl Strategy<Value = Series> {
    let run = prop_oneof![
        6 => proptest::collection::vec((0u8..10).prop_map(|v| Some(f64::from(v))), 1..8),
        1 => (1usize..18).prop_map(|n| vec![None; n]),
    ];
    proptest::collection::vec(run, 1..24).prop_map(|runs| runs.concat())
}

fn limit() -> impl Strategy<Value = Limit> {
    (any::<bool>(), 0..6usize, 0..3u8).prop_map(|(is_minimum, wait, clear_by)| Limit {
        seconds: tick(wait),
        clear_by: f64::from(clear_by),
        ..Limit::bare("c0", 5.0, is_minimum)
    })
}

/// How far beyond its limit an exceedance went.
fn beyond(limit: &Limit, e: &Exceedance) -> f64 {
    if limit.is_minimum { e.limit_value - e.peak } else { e.peak - e.limit_value }
}

/// The joining law, read from the rule: two neighbours no further apart than the gap, with a record that counts all the way between them, are
/// one, from the first one's start to the second one's end, with the greater peak.
fn joined(limit: &Limit, series: &Series, parts: &[Exceedance], gap: f64) -> Vec<(f64, f64, f64, f64)> {
    let mut all: Vec<(f64, f64, f64, f64)> = Vec::new();
    for part in parts {
        let next = (part.from_s, part.to_s, part.peak, part.peak_s);
        let away = |peak: f64| if limit.is_minimum { -peak } else { peak };
        match all.last_mut() {
            Some(last) if next.0 - last.1 <= gap && whole(series, last.1, next.0) => {
                last.1 = next.1;
                if away(next.2) > away(last.2) {
                    (last.2, last.3) = (next.2, next.3);
                }
            }
            _ => all.push(next),
        }
    }
    all
}

/// Whether records count all the time between two of them.
fn whole(series: &Series, from_s: f64, to_s: f64) -> bool {
    let [from, to] = [from_s, to_s].map(|t| (t / TICK_S).round() as usize);
    (from..to).all(|n| known(series, n).is_some())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, ..ProptestConfig::default() })]

    #[test]
    fn exceedances_are_joined_by_the_rule(series in series(), limit in limit(), gap in 0usize..24) {
        let records = std::slice::from_ref(&series);
        // Below zero nothing is joined for being near.
        let parts = judged(records, &limit, -1.0).exceedances;
        let found = judged(records, &limit, tick(gap)).exceedances;
        let told: Vec<_> = found.iter().map(|e| (e.from_s, e.to_s, e.peak, e.peak_s)).collect();
        prop_assert_eq!(&told, &joined(&limit, &series, &parts, tick(gap)));
        for part in &parts {
            let within: Vec<_> = found.iter().filter(|e| e.from_s <= part.from_s && part.to_s <= e.to_s).collect();
            prop_assert_eq!(within.len(), 1, "{:?} is in {:?}", part, within);
            prop_assert!(beyond(&limit, within[0]) >= beyond(&limit, part));
            prop_assert!(within[0].at_least || !part.at_least, "a part may have lasted longer, and so may the whole");
        }
        // Never shorter than its parts together, and apart by more than the gap unless data are missing.
        let sum = |all: &[Exceedance]| all.iter().map(|e| e.to_s - e.from_s).sum::<f64>();
        prop_assert!(sum(&found) >= sum(&parts) - 1e-9);
        for pair in found.windows(2) {
            let near = pair[1].from_s - pair[0].to_s <= tick(gap);
            prop_assert!(!near || !whole(&series, pair[0].to_s, pair[1].from_s), "{:?}", pair);
        }
    }

    /// A record that ends sooner tells the same of all that was over by then.
    #[test]
    fn what_is_over_does_not_change_with_more_records(series in series(), limit in limit(), gap in 0usize..12, share in 0.0..1.0f64) {
        let cut = (share * series.len() as f64) as usize;
        let late = tick(gap.max(HELD) + 2);
        let all = judged(std::slice::from_ref(&series), &limit, tick(gap)).exceedances;
        let some = judged(&[series[..cut].to_vec()], &limit, tick(gap)).exceedances;
        // The last record may be far before the cut.
        let last = series[..cut].iter().rposition(Option::is_some).map_or(0.0, tick);
        // How sure a time is goes by the channel's usual step, which a few records do not tell.
        let but_its_sigma = |e: Exceedance| Exceedance { plus_minus_s: 0.0, ..e };
        let over: Vec<_> = all.into_iter().filter(|e| e.to_s + late < last).map(but_its_sigma).collect();
        let some: Vec<_> = some.into_iter().map(but_its_sigma).collect();
        prop_assert_eq!(&some[..over.len().min(some.len())], &over[..]);
    }

    /// A record written down twice as often, each value again until the next one, says nothing new.
    #[test]
    fn a_finer_record_of_the_same_is_judged_the_same(values in proptest::collection::vec(0u8..10, 1..60), limit in limit()) {
        // What comes at the end of a record is told by how long the last one is held: here nothing is left to tell by then.
        let series: Series = values.iter().chain([&5; 12]).map(|v| Some(f64::from(*v))).collect();
        let fine: Series = series.iter().flat_map(|v| [*v, *v]).collect();
        let rules = StateRules { joined_s: TICK_S / 2.0, ..RULES };
        let channel = made::channel("c0", None, Kind::Continuous, (TICK_S / 2.0, rules), &fine);
        let panel = Panel { limits: vec![limit.clone()], ..Panel::default() };
        let fine = judge(&Session::of(made::recording(vec![channel])), &panel);
        let coarse = judged(std::slice::from_ref(&series), &limit, panel.events.joined_gap);
        for n in 0..2 * series.len() {
            let at = (n as f64 + 0.5) * TICK_S / 2.0;
            prop_assert_eq!(coarse.alerts[0].at(at), fine.alerts[0].at(at), "at {}", at);
        }
        let starts = |judged: &Judged| judged.exceedances.iter().map(|e| (e.from_s, e.peak, e.peak_s)).collect::<Vec<_>>();
        prop_assert_eq!(starts(&coarse), starts(&fine));
    }

    /// Noise that is less than the hysteresis from peak to peak, on a quantity that rises and falls once, gives one alert at most.
    #[test]
    fn no_chatter_within_the_hysteresis(
        steps in proptest::collection::vec((0.0..0.4f64, -0.5..0.5f64), 30..120),
        wait in 0usize..4, clear_by in 0.2..2.0f64, is_minimum in any::<bool>()
    ) {
        let rising = steps.len() / 2;
        let mut level = 0.0;
        let values = steps.iter().enumerate().map(|(n, (step, noise))| {
            level += if n < rising { *step } else { -step };
            Some(5.0 + (level - 2.0) * if is_minimum { -1.0 } else { 1.0 } + noise * 0.999 * clear_by)
        });
        let series: Series = values.collect();
        let limit = Limit { seconds: tick(wait), clear_by, ..Limit::bare("c0", 5.0, is_minimum) };
        let line = &judged(std::slice::from_ref(&series), &limit, -1.0).alerts[0];
        let ons = line.turns().iter().filter(|turn| turn.1 == AlertState::On).count();
        prop_assert!(ons <= 1, "{} alerts: {:?}", ons, line.turns());
    }

    /// Whatever is missing, an alert that hangs on it is unknown: neither on nor off nor out of force.
    #[test]
    fn unknown_never_becomes_normal(value in series(), other in series(), limit in limit(), clear_by in 0..3u8) {
        let ticks = value.len().max(other.len()) + 16;
        let bound = Bound { channel: "c1".into(), above: Some(4.0), below: None, seconds: 0.0, clear_by: f64::from(clear_by) };
        let while_it_holds = Condition { all: vec![bound], ..Condition::default() };
        let both = [value.clone(), other.clone()];
        let lines = [
            limit.clone(),
            Limit { along: Some(Along { channel: "c1".into(), points: vec![(0.0, 4.0), (9.0, 6.0)] }), ..limit.clone() },
            Limit { only_while: Some(while_it_holds.clone()), ..limit.clone() },
            Limit { disarmed_by: Some(while_it_holds), ..limit.clone() },
        ]
        .map(|limit| judged(&both, &limit, 2.0).alerts.remove(0));
        let lost = |state| matches!(state, AlertState::Unknown | AlertState::Lost { .. });
        for n in 0..ticks {
            let at = tick(n) + TICK_S / 2.0;
            let [plain, along, only, disarmed] = lines.each_ref().map(|line| line.at(at));
            let (v, o) = (known(&value, n), known(&other, n));
            if v.is_none() {
                for state in [plain, along, only] {
                    prop_assert!(lost(state) || (state == AlertState::Waiting && o.is_some()), "no value, tick {}: {:?}", n, state);
                }
                prop_assert!(lost(plain), "no value, tick {}: {:?}", n, plain);
                continue;
            }
            let passed = v.is_some_and(|v| limit.is_beyond(v, limit.value, 0.0));
            if o.is_none() {
                prop_assert!(lost(along), "no table, tick {}: {:?}", n, along);
                prop_assert!(!passed || lost(only), "beyond, and whether it counts is not known, tick {}: {:?}", n, only);
                // What could take it out of force is not known: then it stays in force.
                prop_assert!(!passed || disarmed != AlertState::Off, "tick {}: {:?}", n, disarmed);
            } else if only == AlertState::Waiting && !passed {
                // Out of force on positive evidence alone.
                prop_assert!(o.is_some_and(|o| o <= 4.0), "tick {}: {:?}", n, o);
            }
        }
    }
}

/// The law above would be empty if noise beyond the hysteresis made no chatter.
#[test]
fn there_is_chatter_beyond_the_hysteresis() {
    let series: Series = (0..60).map(|n| Some(if n % 2 == 0 { 5.6 } else { 4.4 })).collect();
    let ons = |clear_by: f64| {
        let limit = Limit { clear_by, ..Limit::bare("c0", 5.0, false) };
        let line = &judged(std::slice::from_ref(&series), &limit, -1.0).alerts[0];
        line.turns().iter().filter(|turn| turn.1 == AlertState::On).count()
    };
    assert_eq!([ons(0.0), ons(0.5), ons(1.3)], [30, 30, 1]);
}
