//! Rotor, engine and fuel.

use super::maker::{Input, Maker, Named};
use crate::air;
use crate::meaning::Meaning;
use crate::signal::Kind;

/// A speed in percent, and in revolutions a minute.
const ROTOR: [&str; 2] = ["Rotor Percent", "Rotor Revolutions"];
const ENGINE: [&str; 2] = ["Engine Percent", "Engine Revolutions"];

const fn named(name: &'static str, unit: &'static str) -> Named {
    Named { name, unit, kind: Kind::Continuous }
}

pub(super) fn add(maker: &mut Maker<'_>) {
    speeds(maker, Meaning::Rotor, maker.basis.rotor_rpm_at_100, ROTOR);
    speeds(maker, Meaning::Engine, maker.basis.engine_rpm_at_100, ENGINE);
    split(maker);
    fuel(maker);
}

/// A speed in percent, recorded or computed from its revolutions, and the log that it comes from.
pub(super) fn in_percent(maker: &Maker<'_>, meaning: Meaning) -> Option<(Input, usize)> {
    if let Some(recorded) = maker.input(meaning, "%") {
        return Some((recorded, recorded.id.log));
    }
    let name = if meaning == Meaning::Rotor { ROTOR[0] } else { ENGINE[0] };
    Some((maker.computed(name)?, maker.input(meaning, "rpm")?.id.log))
}

/// Percent from revolutions, or the other way, by the owner's figure.
fn speeds(maker: &mut Maker<'_>, meaning: Meaning, at_100: Option<f64>, [in_percent, in_rpm]: [&'static str; 2]) {
    let Some(at_100) = at_100 else { return };
    match (maker.input(meaning, "rpm"), maker.input(meaning, "%")) {
        (Some(speed), None) => maker.add(named(in_percent, "%"), [speed], |_, [rpm]| air::percent(rpm, at_100)),
        (None, Some(speed)) => maker.add(named(in_rpm, "rpm"), [speed], |_, [percent]| Some(air::rpm(percent, at_100))),
        _ => {}
    }
}

/// Rotor less engine in percent. Only of one logger: between two clocks every change of speed would look like a difference.
fn split(maker: &mut Maker<'_>) {
    if let (Some((rotor, log)), Some((engine, other))) =
        (in_percent(maker, Meaning::Rotor), in_percent(maker, Meaning::Engine))
        && log == other
    {
        maker.add(named("Needle Split", "%"), [rotor, engine], |_, [rotor, engine]| Some(rotor - engine));
    }
}

/// Fuel that has flowed since the first record, and what that leaves of what was there. Over a gap nothing is added: it is a lower
/// bound then. It never mixes with the gauge.
fn fuel(maker: &mut Maker<'_>) {
    let Some(flow) = maker.fuel(Meaning::FuelFlow, ["L/h", "kg/h"]) else { return };
    let (records, rules) = maker.records(flow);
    let mut used = 0.0;
    let mut before: Option<(f64, f64)> = None;
    let sum = |&(time, flow): &(f64, f64)| {
        if let Some((t, f)) = before.filter(|(t, _)| time - t <= rules.joined_s) {
            used += 0.5 * (flow + f) * (time - t) / 3600.0;
        }
        before = Some((time, flow));
        (time, used)
    };
    let sums: Vec<(f64, f64)> = records.iter().map(sum).collect();
    if let Some(start) = maker.basis.fuel_at_start_l {
        let left: Vec<(f64, f64)> = sums.iter().map(|&(t, used)| (t, start - used)).collect();
        maker.put(named("Fuel Left by Flow", "L"), left, rules, records.len());
    }
    maker.put(named("Fuel Used", "L"), sums, rules, records.len());
}
