//! The wind of a flight as a figure, from what was logged of its ways through the air and over the ground.

use super::events::Flight;
use super::figures::Figure;
use crate::air::{WindFit, bank_deg, wind_of_speeds, wind_of_ways};
use crate::meaning::Meaning;
use crate::session::ChannelId;
use crate::signal::{Cursor, Origin, Samples, State, shorter_way};
use crate::time::SessionTime;
use crate::units::Unit;

/// Slower than this through the air, in knots, or with more bank than this, in degrees, nothing is taken (common practice, no source).
const SLOWEST_KT: f64 = 40.0;
const STEEPEST_DEG: f64 = 5.0;
/// So far apart must two headings be, in degrees, and so long must be flown, in seconds (common practice, no source).
const WIDEST_DEG: f64 = 90.0;
const LEAST_S: usize = 60;
/// A wind less well known than this, in knots at two sigma, is not told (common practice, no source).
const VAGUE_KT: f64 = 10.0;
/// A wind of each height is told by layers of so many feet.
const LAYER_FT: f64 = 1000.0;
/// The time between two samples, in seconds.
const STEP_S: f64 = 1.0;

/// What says its north by itself.
const TRUE_HEADING: &str = "true heading";
const MAGNETIC_HEADING: &str = "magnetic heading";
const TRUE_TRACK: &str = "track by positions";

/// One moment: what was flown through the air and over the ground, and how high.
struct Sample {
    heading: Option<f64>,
    airspeed: f64,
    track: Option<f64>,
    ground_speed: f64,
    altitude_ft: Option<f64>,
}

/// What the samples were read from.
struct Inputs {
    heading: Option<(Input, &'static str)>,
    airspeed: Option<(Input, &'static str)>,
    track: Option<(Input, &'static str)>,
    ground_speed: Option<Input>,
    altitude: Option<Input>,
}

/// A channel with its unit and the one that is wanted.
#[derive(Clone, Copy)]
struct Input {
    id: ChannelId,
    from: &'static Unit,
    to: &'static Unit,
}

/// Speed and direction of the wind over the whole flight, and by height where the flight was long in several layers. Nothing of a flight that
/// logged neither an airspeed nor a ground speed.
pub(super) fn figures(flight: &Flight<'_>) -> Vec<Figure> {
    let inputs = Inputs::of(flight);
    if inputs.airspeed.is_none() && inputs.ground_speed.is_none() {
        return Vec::new();
    }
    let samples = inputs.samples(flight);
    let mut all = told(&inputs, "", &samples.iter().collect::<Vec<_>>());
    let layer = |sample: &Sample| sample.altitude_ft.map(|ft| (ft / LAYER_FT).floor());
    let mut layers: Vec<f64> = samples.iter().filter_map(layer).collect();
    layers.sort_by(f64::total_cmp);
    layers.dedup();
    if layers.len() > 1 {
        for from in layers {
            let within: Vec<&Sample> = samples.iter().filter(|sample| layer(sample) == Some(from)).collect();
            let name = format!(", {} to {} ft", from * LAYER_FT, (from + 1.0) * LAYER_FT);
            // Why a layer has none is the whole flight's reason, or that little was flown there.
            all.extend(told(&inputs, &name, &within).into_iter().filter(|figure| figure.value.is_some()));
        }
    }
    all
}

/// The two figures of some samples; without a value where there is a reason against it, which their rule then says.
fn told(inputs: &Inputs, of: &str, samples: &[&Sample]) -> Vec<Figure> {
    let figure =
        |name: &str, value: Option<f64>, unit: &str, decimals: u8, plus_minus: Option<f64>, rule: &str| Figure {
            name: format!("{name}{of}"),
            value,
            unit: unit.to_owned(),
            decimals,
            plus_minus,
            at_least: false,
            rule: rule.to_owned(),
        };
    let (speed, from) = ("wind speed", "wind from");
    match fit(inputs, samples) {
        Err(why) => vec![figure(speed, None, "kt", 0, None, &format!("not told: {why}"))],
        Ok((fit, rule)) => {
            let apart = fit.turned_deg.map_or(String::new(), |deg| format!(", the heading by {deg:+.1}\u{b0}"));
            let rule = format!(
                "{rule}; over {} samples a second apart above {SLOWEST_KT} kt with less than {STEEPEST_DEG}\u{b0} of bank; \u{b1} is two sigma of the fit; found along with it, and taken out: \
                 true airspeed is off the one named by {:+.1} %{apart}. One wind is taken for all of it, and what the airspeed reads wrong by other than by a factor is not in the \u{b1}",
                samples.len(),
                100.0 * (fit.scale - 1.0)
            );
            // A direction of next to no wind is none.
            let direction = (fit.wind.speed > 2.0 * fit.speed_sigma).then_some(fit.wind.from_deg);
            let exact = direction.map(|_| 2.0 * fit.from_sigma_deg);
            vec![
                figure(speed, Some(fit.wind.speed), "kt", 0, Some(2.0 * fit.speed_sigma), &rule),
                figure(from, direction, inputs.north(), 0, exact, &rule),
            ]
        }
    }
}

/// The wind by the best of what is there, and how; or why there is none.
fn fit(inputs: &Inputs, samples: &[&Sample]) -> Result<(WindFit, String), String> {
    let Some((_, speed)) = inputs.airspeed else { return Err("no airspeed was logged".into()) };
    if inputs.ground_speed.is_none() {
        return Err("no ground speed was logged, and no positions".into());
    }
    if inputs.heading.is_none() && inputs.track.is_none() {
        return Err("neither a heading nor a track was logged".into());
    }
    if samples.len() < LEAST_S {
        return Err(format!(
            "only {} s were flown straight and faster than {SLOWEST_KT} kt; {LEAST_S} s are asked for",
            samples.len()
        ));
    }
    let way = |sample: &Sample| sample.heading.or(sample.track);
    let directions: Vec<f64> = samples.iter().filter_map(|sample| way(sample)).collect();
    let widest = widest_deg(&directions);
    if widest < WIDEST_DEG {
        return Err(format!(
            "headings differ by {widest:.0}\u{b0} at most; {WIDEST_DEG}\u{b0} are asked for, or wind and airspeed cannot be told apart"
        ));
    }
    let (found, how) = match (inputs.heading, inputs.track) {
        (Some((_, north)), Some((_, track))) => {
            let both = |s: &&Sample| Some(((s.heading?, s.airspeed), (s.track?, s.ground_speed)));
            let ways: Vec<_> = samples.iter().filter_map(both).collect();
            (wind_of_ways(&ways), format!("{speed} and {north} against {track} and ground speed, least squares"))
        }
        (Some((_, north)), None) => {
            let speeds: Vec<_> =
                samples.iter().filter_map(|s| Some(((s.heading?, s.airspeed), s.ground_speed))).collect();
            (wind_of_speeds(&speeds), format!("{speed} and {north} against ground speed, least squares"))
        }
        (None, track) => {
            let track = track.map_or("track", |it| it.1);
            let speeds: Vec<_> =
                samples.iter().filter_map(|s| Some(((s.track?, s.ground_speed), s.airspeed))).collect();
            // Seen from the ground it is the air that moves the other way, and the airspeed that is off.
            let turned = wind_of_speeds(&speeds).map(|fit| WindFit {
                wind: crate::air::Aloft {
                    from_deg: (fit.wind.from_deg + 180.0).rem_euclid(360.0),
                    speed: fit.wind.speed / fit.scale,
                },
                speed_sigma: fit.speed_sigma / fit.scale,
                scale: 1.0 / fit.scale,
                ..fit
            });
            (turned, format!("{track} and ground speed against {speed}, least squares"))
        }
    };
    let found = found.ok_or("the records leave it open")?;
    let exact = 2.0 * found.speed_sigma;
    if exact.is_nan() || exact > VAGUE_KT {
        return Err(format!("the records tell it to \u{b1} {exact:.0} kt only; {VAGUE_KT} kt are asked for"));
    }
    Ok((found, how))
}

/// The widest angle between two of some directions, up to 180.
fn widest_deg(directions: &[f64]) -> f64 {
    // Whole degrees are fine enough, and few.
    let mut seen = [false; 360];
    directions.iter().for_each(|deg| seen[deg.rem_euclid(360.0) as usize % 360] = true);
    let all: Vec<f64> = (0..360u16).filter(|&i| seen[usize::from(i)]).map(f64::from).collect();
    let apart = |a: f64, b: f64| shorter_way(a, b).abs();
    all.iter().flat_map(|&a| all.iter().map(move |&b| apart(a, b))).fold(0.0, f64::max)
}

impl Inputs {
    fn of(flight: &Flight<'_>) -> Self {
        let input = |meaning: Meaning, unit: &str| {
            let to = Unit::find(unit)?;
            let mut found: Option<(bool, Input)> = None;
            for (id, _, channel) in flight.session.channels() {
                let from = channel.unit.as_deref().and_then(Unit::find);
                let is_it =
                    Meaning::of(&channel.name, from) == Some(meaning) && matches!(channel.samples, Samples::Numbers(_));
                let recorded = channel.origin == Origin::Recorded;
                if let Some(from) = from.filter(|from| is_it && from.dimension == to.dimension)
                    && found.as_ref().is_none_or(|before| recorded && !before.0)
                {
                    found = Some((recorded, Input { id, from, to }));
                }
            }
            found.map(|found| found.1)
        };
        let named = |all: [(Meaning, &'static str); 3], unit: &str| {
            all.into_iter().find_map(|(meaning, name)| Some((input(meaning, unit)?, name)))
        };
        let headings = [
            (Meaning::TrueHeading, TRUE_HEADING),
            (Meaning::MagneticHeading, MAGNETIC_HEADING),
            (Meaning::Heading, "heading, as it was logged,"),
        ];
        let speeds = [
            (Meaning::TrueAirspeed, "true airspeed"),
            (Meaning::CalibratedAirspeed, "calibrated airspeed"),
            (Meaning::IndicatedAirspeed, "indicated airspeed"),
        ];
        let of_phases = flight.panel.phases.as_ref().and_then(|rules| rules.channels.altitude.as_deref());
        let altitude = || {
            let id = flight.session.find(of_phases?)?;
            let from = flight.session.channel(id)?.unit.as_deref().and_then(Unit::find)?;
            Some(Input { id, from, to: Unit::find("ft").filter(|to| to.dimension == from.dimension)? })
        };
        Self {
            heading: named(headings, "deg"),
            airspeed: named(speeds, "kt"),
            track: input(Meaning::Track, "deg").map(|track| {
                let made = flight.session.channel(track.id).is_some_and(|c| c.origin == Origin::Derived);
                (track, if made { TRUE_TRACK } else { "track, as it was logged," })
            }),
            ground_speed: input(Meaning::GroundSpeed, "kt"),
            altitude: altitude(),
        }
    }

    /// The unit of a direction: by the track where there is one, else by the heading. Not every log says which north it means.
    fn north(&self) -> &'static str {
        match (self.track, self.heading) {
            (Some((_, TRUE_TRACK)), _) | (None, Some((_, TRUE_HEADING))) => "\u{b0}T",
            (None, Some((_, MAGNETIC_HEADING))) => "\u{b0}M",
            _ => "\u{b0}",
        }
    }

    fn samples(&self, flight: &Flight<'_>) -> Vec<Sample> {
        let (Some((airspeed, _)), Some(ground_speed)) = (self.airspeed, self.ground_speed) else { return Vec::new() };
        let heading = self.heading.map(|it| it.0);
        let Some(way) = heading.or(self.track.map(|it| it.0)) else { return Vec::new() };
        let (first, last) = flight.span();
        let mut cursors = [Cursor::default(); 7];
        let mut read = |input: Input, cursor: usize, at: f64| {
            let reading = flight.session.reading(input.id, SessionTime(at), &mut cursors[cursor]);
            // What is held stands still, and the aircraft does not.
            let value = reading.number().filter(|_| matches!(reading.state, State::Measured | State::Derived))?;
            input.from.convert(value, input.to).ok()
        };
        let count = ((last - first) / STEP_S) as usize;
        let mut samples = Vec::new();
        for i in 1..count {
            let at = first + i as f64 * STEP_S;
            let Some(kt) = read(airspeed, 0, at).filter(|kt| *kt >= SLOWEST_KT) else { continue };
            let (before, after) = (read(way, 1, at - STEP_S), read(way, 2, at + STEP_S));
            let rate = before.zip(after).map(|(a, b)| shorter_way(a, b) / (2.0 * STEP_S));
            let Some(ground_speed) = read(ground_speed, 3, at) else { continue };
            if rate.is_none_or(|rate| bank_deg(kt, rate).abs() > STEEPEST_DEG) {
                continue;
            }
            let heading = heading.and_then(|input| read(input, 4, at));
            let track = self.track.and_then(|it| read(it.0, 5, at));
            let altitude_ft = self.altitude.and_then(|input| read(input, 6, at));
            if heading.is_some() == self.heading.is_some() && track.is_some() == self.track.is_some() {
                samples.push(Sample { heading, airspeed: kt, track, ground_speed, altitude_ft });
            }
        }
        samples
    }
}
