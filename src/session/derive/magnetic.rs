//! Magnetic variation, and directions turned from one north to the other.

use super::maker::{Input, Maker, Named};
use crate::air::{self, NoVariation};
use crate::meaning::Meaning;
use crate::signal::{Cursor, Kind, StateRules};

/// The variation is taken once in so many seconds: nobody flies out of it in less.
const STEP_S: f64 = 1.0;

/// What is made here.
pub(super) const MADE: [&str; 3] = ["Variation", "Heading True", "Track Magnetic"];

const fn named(name: &'static str) -> Named {
    Named { name, unit: "deg", kind: Kind::Angle }
}

/// The variation where position and day are known, a true heading from a magnetic one, a magnetic track from a true one. A bare heading or track
/// does not say its north, and nothing is made of it.
pub(super) fn add(maker: &mut Maker<'_>) {
    let (Some(latitude), Some(longitude)) =
        (maker.input(Meaning::Latitude, "deg"), maker.input(Meaning::Longitude, "deg"))
    else {
        return;
    };
    variation(maker, latitude, longitude);
    let Some(variation) = maker.computed("Variation") else { return };
    if let (Some(heading), false) = (maker.input(Meaning::MagneticHeading, "deg"), maker.has(Meaning::TrueHeading)) {
        maker.add(named(MADE[1]), [heading, variation], |_, [heading, east]| Some((heading + east).rem_euclid(360.0)));
    }
    // What is computed from positions counts from true north.
    let track = maker.computed("Track").or_else(|| maker.called("Track True", "deg"));
    if let (Some(track), None) = (track, maker.called("Track Magnetic", "deg")) {
        maker.add(named(MADE[2]), [track, variation], |_, [track, east]| Some((track - east).rem_euclid(360.0)));
    }
}

fn variation(maker: &mut Maker<'_>, latitude: Input, longitude: Input) {
    let (places, rules) = maker.records(latitude);
    let height = maker.input(Meaning::GnssAltitude, "m").or_else(|| maker.input(Meaning::PressureAltitude, "m"));
    // Where no height was recorded, that of the field will do: a mile moves the variation by less than it is uncertain.
    let field_m = maker.basis.field_elevation_ft.unwrap_or(0.0) * 0.3048;
    let (mut east, mut up) = (Cursor::default(), Cursor::default());
    let mut found: Vec<(f64, f64)> = Vec::new();
    let mut wanted = 0;
    let mut refused = None;
    for (time, latitude_deg) in places {
        if found.last().is_some_and(|last| time - last.0 < STEP_S) {
            continue;
        }
        wanted += 1;
        let Some((longitude_deg, day)) = maker.at(longitude, time, &mut east).zip(maker.day(time)) else { continue };
        let height_m = height.and_then(|height| maker.at(height, time, &mut up)).unwrap_or(field_m);
        match air::variation_deg(latitude_deg, longitude_deg, height_m, day) {
            Ok(variation) => found.push((time, variation)),
            Err(why) => refused = Some((why, day.0)),
        }
    }
    if let Some((why @ NoVariation::OutOfYears, year)) = refused {
        let message = format!("calc.Variation is not computed for {year}: {why}");
        maker.remark("variation_out_of_years", message);
    }
    let spaced = StateRules::for_interval(STEP_S + rules.joined_s / 1.5);
    // A variation is no direction, but a signed angle.
    maker.put(Named { kind: Kind::Continuous, ..named(MADE[0]) }, found, spaced, wanted);
}
