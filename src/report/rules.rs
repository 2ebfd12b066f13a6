//! The owner's limits in words, with the owner's numbers.

use crate::panel::{Arming, Bound, Condition, Limit, Power};

/// A limit's rule.
pub(super) fn limit_rule(limit: &Limit, unit: &str) -> String {
    let number = |value: f64| format!("{value} {unit}").trim_end().to_owned();
    let mut rule = if limit.is_minimum { "below " } else { "above " }.to_owned();
    match &limit.along {
        Some(along) => {
            let points = along.points.iter().map(|(at, value)| format!("{} at {at}", number(*value)));
            rule += &format!("{} of {}", points.collect::<Vec<_>>().join(", "), along.channel);
        }
        None => rule += &number(limit.value),
    }
    if let Some(over_s) = limit.over_s {
        rule = format!("a rise over {over_s} s {rule}");
    }
    if let Some(median_s) = limit.median_s {
        rule = format!("the median of {median_s} s {rule}");
    }
    if limit.seconds > 0.0 {
        rule += &format!(" for {} s", limit.seconds);
    }
    for (value, seconds) in &limit.sooner {
        rule += &format!(", {} for {seconds} s", number(*value));
    }
    match limit.power {
        Some(Power::On) => rule += ", with power on",
        Some(Power::Off) => rule += ", with power off",
        None => {}
    }
    if limit.clear_by > 0.0 {
        rule += &format!("; clears when back inside by {}", number(limit.clear_by));
    }
    if limit.latched {
        rule += "; stays on to the end";
    }
    if let Some(arming) = &limit.armed_by {
        rule += &format!("; counts once {}", armed(arming, unit));
    }
    if let Some(only) = &limit.only_while {
        rule += &format!("; only while {}", condition(only));
    }
    if let Some(disarmed) = &limit.disarmed_by {
        rule += &format!("; no longer once {}", condition(disarmed));
    }
    let (from, to) = (limit.days.from, limit.days.to);
    if let Some(from) = from {
        rule += &format!("; from {from}");
    }
    if let Some(to) = to {
        rule += &format!("; until {to}");
    }
    rule
}

fn armed(arming: &Arming, unit: &str) -> String {
    let side = if arming.above { "above" } else { "below" };
    match &arming.channel {
        Some(channel) => format!("{channel} has been {side} {} for {} s", arming.value, arming.seconds),
        None => {
            let value = format!("{} {unit}", arming.value);
            format!("it has been {side} {} for {} s", value.trim_end(), arming.seconds)
        }
    }
}

fn condition(condition: &Condition) -> String {
    let bounds = condition.all.iter().map(bound);
    let phases = condition.phases.iter().map(|phase| phase.name().to_lowercase()).collect::<Vec<_>>();
    let engine = condition.engine.iter().map(|state| state.word()).collect::<Vec<_>>();
    let phases = (!phases.is_empty()).then(|| format!("the phase is {}", phases.join(" or ")));
    let engine = (!engine.is_empty()).then(|| format!("the engine's state is {}", engine.join(" or ")));
    bounds.chain(phases).chain(engine).collect::<Vec<_>>().join(" and ")
}

fn bound(bound: &Bound) -> String {
    let sides = [("above", bound.above), ("below", bound.below)];
    let sides = sides.iter().filter_map(|(word, value)| Some(format!("{word} {}", (*value)?))).collect::<Vec<_>>();
    let lasting = if bound.seconds > 0.0 { format!(" for {} s", bound.seconds) } else { String::new() };
    format!("{} is {}{lasting}", bound.channel, sides.join(" and "))
}
