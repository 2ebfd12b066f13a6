//! Endurance and range, from fuel and what it flows at.

use super::maker::{Input, Maker, Named, trailing_means};
use crate::meaning::Meaning;
use crate::signal::{Cursor, Kind};

/// Flow, gauge and ground speed are means over the last so many seconds: a gauge sloshes (common practice, no source).
const MEAN_S: f64 = 60.0;
/// Slower than this over the ground there is no range worth a number, in knots (common practice, no source).
const SLOWEST_RANGE_KT: f64 = 20.0;

/// Endurance and range, by gauge and by flow apart, as far as the owner says from which flow on the aircraft flies: what is burned at idle on
/// the ground would promise hours. They count to the owner's reserve, or to empty.
pub(super) fn add(maker: &mut Maker<'_>) {
    used_by_gauge(maker);
    let Some(least) = maker.basis.flow_in_flight_l_h else { return };
    let Some(flow) = maker.fuel(Meaning::FuelFlow, ["L/h", "kg/h"]) else { return };
    let (flows, rules) = maker.records(flow);
    let means = trailing_means(&flows, MEAN_S, rules.joined_s);
    let reserve = maker.basis.fuel_reserve_l.unwrap_or(0.0);
    let speed = maker.input(Meaning::GroundSpeed, "kt").map(|speed| mean_channel(maker, speed));
    let sources = [
        (maker.computed("Fuel Left by Flow"), false, ["Endurance by Flow", "Range by Flow"]),
        (maker.fuel(Meaning::Fuel, ["L", "kg"]), true, ["Endurance by Gauge", "Range by Gauge"]),
    ];
    for (fuel, is_gauge, [endurance, range]) in sources {
        let Some(fuel) = fuel else { continue };
        let gauge = is_gauge.then(|| mean_channel(maker, fuel));
        let mut cursor = Cursor::default();
        let (mut times, mut ways) = (Vec::new(), Vec::new());
        for &(time, flow) in means.iter().filter(|(_, flow)| *flow >= least && *flow > 0.0) {
            let litres = match &gauge {
                // The mean was true half a minute ago.
                Some(gauge) => gauge.at(time).map(|mean| mean - flow * MEAN_S / 2.0 / 3600.0),
                None => maker.at(fuel, time, &mut cursor),
            };
            let Some(litres) = litres else { continue };
            let hours = (litres - reserve).max(0.0) / flow;
            times.push((time, 60.0 * hours));
            let kt = speed.as_ref().and_then(|speed| speed.at(time)).filter(|kt| *kt >= SLOWEST_RANGE_KT);
            ways.extend(kt.map(|kt| (time, hours * kt)));
        }
        let named = |name, unit| Named { name, unit, kind: Kind::Continuous };
        maker.put(named(endurance, "min"), times, rules, flows.len());
        maker.put(named(range, "nmi"), ways, rules, flows.len());
    }
}

/// What the gauge has fallen by since its first minute, beside what has flowed; the two are never mixed.
fn used_by_gauge(maker: &mut Maker<'_>) {
    let (Some(gauge), Some(_)) = (maker.fuel(Meaning::Fuel, ["L", "kg"]), maker.computed("Fuel Used")) else { return };
    let (records, rules) = maker.records(gauge);
    let means = trailing_means(&records, MEAN_S, rules.joined_s);
    let Some(&(_, start)) = means.first() else { return };
    let used: Vec<(f64, f64)> = means.iter().map(|&(time, mean)| (time, start - mean)).collect();
    maker.put(Named { name: "Fuel Used by Gauge", unit: "L", kind: Kind::Continuous }, used, rules, records.len());
}

/// Means over the last minute, to be asked at moments that another channel gives.
struct Means {
    records: Vec<(f64, f64)>,
    joined_s: f64,
}

impl Means {
    /// The mean up to the last record; none where that is not of this moment.
    fn at(&self, time: f64) -> Option<f64> {
        let after = self.records.partition_point(|record| record.0 <= time);
        let (last, mean) = *self.records.get(after.checked_sub(1)?)?;
        (time - last <= self.joined_s).then_some(mean)
    }
}

fn mean_channel(maker: &Maker<'_>, input: Input) -> Means {
    let (records, rules) = maker.records(input);
    Means { records: trailing_means(&records, MEAN_S, rules.joined_s), joined_s: rules.joined_s }
}
