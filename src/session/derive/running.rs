//! How long the rotor, the engine and the electrical system have been at work, by stated rules.

use super::maker::{Maker, Named};
use super::power;
use crate::meaning::Meaning;
use crate::signal::Kind;

/// A rotor or an engine turns from this percentage on (common practice, no source).
const TURNS_PERCENT: f64 = 2.0;
/// The bus is on from this share of its usual voltage on (common practice, no source).
const ON_SHARE: f64 = 0.5;

/// Minutes since the first record during which each was at work. Over a gap nothing is added: they are lower bounds then, and the figure says so.
pub(super) fn add(maker: &mut Maker<'_>) {
    for (meaning, name, rule) in [
        (Meaning::Rotor, "Rotor Time", "rotor at 2 % or more"),
        (Meaning::Engine, "Engine Time", "engine at 2 % or more"),
        (Meaning::Volts, "Electrical Time", "bus at half of its usual voltage or more"),
    ] {
        let input = match meaning {
            Meaning::Volts => maker.input(meaning, "V"),
            speed => power::in_percent(maker, speed).map(|(input, _)| input),
        };
        let Some(input) = input else { continue };
        let from = match meaning {
            Meaning::Volts => ON_SHARE * maker.usual(input).unwrap_or(f64::INFINITY),
            _ => TURNS_PERCENT,
        };
        let (records, rules) = maker.records(input);
        let (mut total_s, mut unknown_s) = (0.0, 0.0);
        let mut before: Option<(f64, bool)> = None;
        let mut sums = Vec::with_capacity(records.len());
        for &(time, value) in &records {
            let works = value >= from;
            match before {
                Some((last, _)) if time - last > rules.joined_s => unknown_s += time - last,
                // Half of a step in which it came on or went off.
                Some((last, worked)) => total_s += (time - last) * 0.5 * f64::from(u8::from(works) + u8::from(worked)),
                None => {}
            }
            before = Some((time, works));
            sums.push((time, total_s / 60.0));
        }
        let gaps =
            if unknown_s > 0.0 { format!("at least, for {unknown_s:.0} s are not recorded, ") } else { String::new() };
        maker.figure(format!("calc.{name}: {:.1} min, {gaps}{rule}", total_s / 60.0));
        maker.put(Named { name, unit: "min", kind: Kind::Continuous }, sums, rules, records.len());
    }
}
