//! The phases of a flight, by the owner's rules, from what was logged; the whole flight at once.
//!
//! Names and their order follow the phases of flight of the CAST/ICAO Common Taxonomy Team (Phase of Flight: Definitions and
//! Usage Notes, 1.3, April 2013: standing, taxi with air taxi, take-off, en route with climb, cruise and descent,
//! manoeuvring, approach), extended by what a helicopter's rotor does. A moment whose rules lack a channel, or whose data are
//! stale, is *not judged*; it is never given the phase that would be likely.

mod grid;
mod lasting;

use super::timeline::Timeline;
use crate::panel::{EventRules, Phase, PhaseRules};
use crate::session::Session;
use grid::{Grid, Moment};
use lasting::lasting;

/// A rule that has set in at a value lets go of it a quarter beyond (common practice, no source).
const LETS_GO: f64 = 1.25;

/// The phases of a flight.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Phases {
    /// Which phase holds when.
    pub line: Timeline<Phase>,
    /// How exact its turns are, in seconds: the longest usual time between two records of the channels that were used, and
    /// the standard deviation of their clocks at the flight's start.
    pub plus_minus_s: f64,
    /// Touches of the ground within a flight that are no landings: from and to in session seconds.
    pub touches: Vec<(f64, f64)>,
    /// Fast sinks without speed under power: from and to in session seconds.
    pub settling: Vec<(f64, f64)>,
}

/// Judges a whole flight.
pub(super) fn judge(rules: &PhaseRules, events: &EventRules, session: &Session) -> Phases {
    let grid = Grid::new(rules, session);
    let mut phases = by_moment(rules, &grid);
    take_offs(rules, &grid, &mut phases);
    approaches(rules, &grid, &mut phases);
    absorb(rules, &grid, &mut phases);
    let mut line = Timeline::new(Phase::NotJudged);
    for (&time, &phase) in grid.times.iter().zip(&phases) {
        line.turn(time, phase);
    }
    let line = overruled(rules, &line);
    let aloft = |i: usize| phases[i].on_ground() == Some(false);
    // Slow and with little power at the end of an approach is not yet on the ground.
    let low = |i: usize| grid.moments[i].height.is_some_and(|height| height <= rules.lift_off_height);
    let touches = |i: usize| flies(rules, &grid.moments[i]) == Some(false) && low(i) && aloft(i);
    let settles = |i: usize| {
        let m = &grid.moments[i];
        let sinks = is(m.vertical_speed, |v| v < -events.settling_sink);
        let slow = is(m.ground_speed, |v| v < events.settling_speed);
        // A descent without drive, or with little power, is another thing.
        let power = m.power.zip(rules.power_in_flight).map(|(power, flight)| power > flight);
        let driven = power.or(is(m.split, |split| split <= rules.joined));
        aloft(i) && phases[i] != Phase::Autorotation && and(and(sinks, slow), driven) == Some(true)
    };
    let touches = spells(&grid.times, touches, events.touch_least);
    let settling = spells(&grid.times, settles, events.settling_for);
    Phases { line, plus_minus_s: grid.plus_minus_s, touches, settling }
}

/// The phases with the owner's word, where there is one, in place of the rules'.
fn overruled(rules: &PhaseRules, line: &Timeline<Phase>) -> Timeline<Phase> {
    let ends = rules.overruled.iter().flat_map(|span| [span.0, span.1]);
    let mut times: Vec<f64> = line.turns().iter().map(|turn| turn.0).chain(ends).collect();
    times.sort_by(f64::total_cmp);
    let mut all = Timeline::new(Phase::NotJudged);
    for time in times {
        let said = rules.overruled.iter().rev().find(|span| span.0 <= time && time < span.1);
        all.turn(time, said.map_or_else(|| line.at(time), |span| span.2));
    }
    all
}

/// Every spell of at least some seconds throughout which something holds.
fn spells(times: &[f64], holds: impl Fn(usize) -> bool, seconds: f64) -> Vec<(f64, f64)> {
    let mut found = Vec::new();
    let mut since: Option<f64> = None;
    for (i, &time) in times.iter().enumerate() {
        if holds(i) {
            since.get_or_insert(time);
        } else if let Some(from) = since.take().filter(|from| time - from >= seconds - 1e-9) {
            found.push((from, time));
        }
    }
    found
}

/// Both, or either, of what is known and what is not.
fn and(a: Option<bool>, b: Option<bool>) -> Option<bool> {
    match (a, b) {
        (Some(false), _) | (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        _ => None,
    }
}

fn or(a: Option<bool>, b: Option<bool>) -> Option<bool> {
    and(a.map(|a| !a), b.map(|b| !b)).map(|neither| !neither)
}

/// Whether a known value fulfils a condition.
fn is(value: Option<f64>, holds: impl Fn(f64) -> bool) -> Option<bool> {
    value.map(holds)
}

/// Two witnesses decide. Height, speed and power speak for flight or against it; a rotor and an engine that stand only against
/// it. One alone is never believed: it may be a faulty sensor.
fn flies(r: &PhaseRules, m: &Moment) -> Option<bool> {
    // Where the ground speed is not known, an airspeed of cruise does as well.
    let speed = is(m.ground_speed, |v| v > r.lift_off_speed).or(is(m.airspeed, |v| v > r.cruise_airspeed));
    let power = m.power.zip(r.power_in_flight).map(|(power, flight)| power > flight);
    let stands = |v: Option<f64>| v.filter(|v| *v < r.stopped).map(|_| false);
    let said = [is(m.height, |h| h > r.lift_off_height), speed, power, stands(m.rotor), stands(m.engine)];
    let count = |word| said.iter().filter(|s| **s == Some(word)).count();
    if count(true) >= 2 {
        Some(true)
    } else if count(false) >= 2 {
        Some(false)
    } else {
        None
    }
}

/// The phase of every moment, by the rules that look at what lasts.
fn by_moment(r: &PhaseRules, grid: &Grid) -> Vec<Phase> {
    let at = |i: usize| grid.moments[i];
    let rule = |start: &dyn Fn(Moment) -> Option<bool>, start_s, end: &dyn Fn(Moment) -> Option<bool>, end_s| {
        lasting(&grid.times, |i| start(at(i)), start_s, |i| end(at(i)), end_s)
    };
    let not = |answer: Option<bool>| answer.map(|yes| !yes);
    let flying = rule(&|m| flies(r, &m), r.lift_off_for, &|m| not(flies(r, &m)), r.landed_for);
    let turning = |m: Moment| is(m.rotor, |v| v >= r.stopped);
    let together = |m: Moment| is(m.split, |s| s.abs() <= r.joined);
    let apart = |m: Moment| is(m.split, |s| s.abs() > r.freewheeling);
    let joined =
        rule(&|m| and(together(m), turning(m)), r.joined_for, &|m| or(apart(m), not(turning(m))), r.rejoined_for);
    let level = |m: Moment, most: f64| is(m.vertical_speed, |v| v.abs() < most);
    let hover = |m: Moment, by: f64| and(is(m.ground_speed, |v| v < by * r.hover_speed), level(m, by * r.hover_climb));
    let hovering = rule(&|m| hover(m, 1.0), r.hover_for, &|m| not(hover(m, LETS_GO)), r.hover_for);
    let below = |m: Moment, height: f64| is(m.height, |h| h < height);
    let creeping = |m: Moment, by: f64| {
        let moves = is(m.ground_speed, |v| v >= r.hover_speed / by && v <= by * r.hover_taxi_speed);
        and(moves, below(m, by * r.hover_taxi_height))
    };
    let hover_taxi = rule(&|m| creeping(m, 1.0), r.taxi_for, &|m| not(creeping(m, LETS_GO)), r.taxi_for);
    let gliding = |m: Moment, by: f64| {
        let slow = or(is(m.airspeed, |v| v < by * r.cruise_airspeed), is(m.ground_speed, |v| v < r.hover_taxi_speed));
        let moves = and(is(m.ground_speed, |v| v >= r.hover_speed / by), slow);
        and(and(moves, below(m, by * r.air_taxi_height)), level(m, by * r.climb))
    };
    let air_taxi = rule(&|m| gliding(m, 1.0), r.taxi_for, &|m| not(gliding(m, LETS_GO)), r.taxi_for);
    let moving = |sign: f64| {
        let up = move |m: Moment| is(m.vertical_speed, |v| sign * v > r.climb);
        let done = move |m: Moment| is(m.vertical_speed, |v| sign * v < r.climb_left);
        rule(&up, r.climb_for, &done, r.climb_left_for)
    };
    let (climb, descent) = (moving(1.0), moving(-1.0));
    let cruise = |m: Moment, by: f64| and(is(m.airspeed, |v| v > r.cruise_airspeed / by), level(m, by * r.climb));
    let cruising = rule(&|m| cruise(m, 1.0), r.cruise_for, &|m| not(cruise(m, LETS_GO)), r.climb_for);
    let undriven = |m: Moment| {
        let ahead = is(m.split, |s| s > r.freewheeling);
        r.idle.map_or(ahead, |idle| or(ahead, is(m.engine, |v| v <= idle)))
    };
    let sinks = |m: Moment| and(undriven(m), is(m.vertical_speed, |v| v < -r.autorotation_sink));
    let autorotation = rule(&sinks, r.autorotation_for, &together, r.rejoined_for);

    // Whether the rotor has joined the engine since it last stood, and whether a flight lies ahead and has been.
    let (mut has_joined, mut has_flown) = (false, false);
    (0..grid.times.len())
        .map(|i| {
            let moment = at(i);
            if (turning(moment), flying[i]) == (Some(false), Some(false)) {
                (has_joined, has_flown) = (false, false);
            }
            has_joined |= joined[i] == Some(true);
            has_flown |= flying[i] == Some(true);
            match flying[i] {
                None => Phase::NotJudged,
                Some(false) => match (turning(moment), joined[i]) {
                    (Some(false), _) => Phase::Standing,
                    (Some(true), Some(true)) if !has_flown => Phase::RunUp,
                    (Some(true), Some(false)) if !has_joined && !has_flown => Phase::RotorStart,
                    (Some(true), Some(false)) if moment.split.is_some_and(|s| s > 0.0) => Phase::RunDown,
                    _ => Phase::OnGround,
                },
                Some(true) => {
                    let by_rule = [
                        (autorotation[i], Phase::Autorotation),
                        (hovering[i], Phase::Hover),
                        (climb[i], Phase::Climb),
                        (descent[i], Phase::Descent),
                        (cruising[i], Phase::Cruise),
                        (hover_taxi[i], Phase::HoverTaxi),
                        (air_taxi[i], Phase::AirTaxi),
                    ];
                    // An autorotation that cannot be told from a descent is a descent as well.
                    let unknown = by_rule[1..].iter().any(|(holds, _)| holds.is_none());
                    let found = by_rule.into_iter().find(|(holds, _)| *holds == Some(true)).map(|(_, phase)| phase);
                    found.unwrap_or(if unknown { Phase::NotJudged } else { Phase::Manoeuvring })
                }
            }
        })
        .collect()
}

/// What lies between a hover, or the ground, and flying speed.
fn take_offs(r: &PhaseRules, grid: &Grid, phases: &mut [Phase]) {
    let still = |phase: Phase| phase.on_ground() == Some(true) || matches!(phase, Phase::Hover | Phase::HoverTaxi);
    for start in 1..phases.len() {
        if !still(phases[start - 1]) || phases[start].on_ground() != Some(false) || still(phases[start]) {
            continue;
        }
        let speed = |i: usize| grid.moments[i].airspeed.or(grid.moments[i].ground_speed);
        let in_time = |i: &usize| grid.times[*i] - grid.times[start] <= r.take_off_within;
        let end = (start..phases.len())
            .take_while(in_time)
            .take_while(|&i| phases[i].on_ground() == Some(false) && !still(phases[i]) && speed(i).is_some())
            .find(|&i| speed(i).is_some_and(|v| v > r.take_off_speed));
        if let Some(end) = end {
            phases[start..end].fill(Phase::TakeOff);
        }
    }
}

/// Low descents that end in a hover or on the ground.
fn approaches(r: &PhaseRules, grid: &Grid, phases: &mut [Phase]) {
    let mut from = None;
    for i in 0..phases.len() {
        let low = grid.moments[i].height.is_some_and(|h| h < r.approach_height);
        match phases[i] {
            Phase::Descent if low => _ = from.get_or_insert(i),
            // On the way into the hover the sink comes to an end, and nothing else has begun.
            Phase::Manoeuvring if low => {}
            Phase::Descent | Phase::Manoeuvring => from = None,
            phase => {
                let ends = matches!(phase, Phase::Hover | Phase::HoverTaxi | Phase::AirTaxi);
                if let Some(start) = from.take().filter(|_| ends || phase.on_ground() == Some(true)) {
                    phases[start..i].fill(Phase::Approach);
                }
            }
        }
    }
}

/// A short stretch that no rule holds in belongs to the flight's phase before it, or else after it; never to an
/// autorotation, whose ends are exact.
fn absorb(r: &PhaseRules, grid: &Grid, phases: &mut [Phase]) {
    let mut start = 0;
    while start < phases.len() {
        let end = start + phases[start..].iter().take_while(|p| **p == phases[start]).count();
        let short = grid.times.get(end).is_some_and(|until| until - grid.times[start] < r.climb_left_for);
        if phases[start] == Phase::Manoeuvring && short {
            let neighbours = [start.checked_sub(1), Some(end)].map(|i| phases.get(i?).copied());
            let takes = |phase: &Phase| phase.on_ground() == Some(false) && *phase != Phase::Autorotation;
            let flying = neighbours.into_iter().flatten().find(takes);
            if let (Some(phase), false) = (flying, neighbours.contains(&Some(Phase::NotJudged))) {
                phases[start..end].fill(phase);
            }
        }
        start = end;
    }
}
