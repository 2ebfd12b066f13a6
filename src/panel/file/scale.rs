//! A dial's scale: breakpoints, or the start and the sweep of the real dial; as that stands on the panel, or turned upright.

use crate::keyfile::{self, Section};
use crate::panel::{Scale, Ticks};

/// How a dial is turned.
#[derive(Clone, Copy, PartialEq)]
enum Orientation {
    /// As its angles say: those of the real dial.
    AsOnThePanel,
    /// So that the normal value stands at twelve.
    Upright,
    /// In a way that nobody knows; that much is said already.
    Misspelt,
}

/// The scale of a round face.
pub(super) fn read(instrument: &Section<'_>, table: Option<Section<'_>>) -> Option<Scale> {
    let Some(mut table) = table else {
        instrument.missing("scale", "a dial needs scale.breakpoints and scale.ticks");
        return None;
    };
    let words = [("as on the panel", Orientation::AsOnThePanel), ("upright", Orientation::Upright)];
    let said = table.has("orientation");
    let orientation = match table.word("orientation", &words) {
        Some((orientation, _)) => orientation,
        None if said => Orientation::Misspelt,
        None => Orientation::AsOnThePanel,
    };
    let points = points(&mut table, orientation);
    let normal = normal(&mut table, orientation, points.as_deref());
    let ticks = ticks(&mut table);
    let numerals = table.numbers("numerals");
    let texts = table.texts("numerals_text");
    if let (Some((numbers, _)), Some(texts)) = (&numerals, &texts)
        && numbers.len() != texts.len()
    {
        let place = texts.first().map_or(table.place(), |t| t.1.clone());
        let message = format!("`numerals_text` has {} entries for {} numerals", texts.len(), numbers.len());
        table.fault(place, "numerals_text", "numerals_do_not_match", message, "write one text for each numeral");
    }
    let ends = points.as_deref().and_then(|p| Some((p.first()?.0, p.last()?.0)));
    if let (Some((values, place)), Some((low, high))) = (&numerals, ends)
        && let Some(off) = values.iter().find(|v| !(low..=high).contains(*v))
    {
        let message = format!("the numeral {off} lies off the scale, which runs from {low} to {high}");
        table.fault(place.clone(), "numerals", "numeral_off_scale", message, "take it out, or lengthen the scale");
    }
    table.end();
    let (breakpoints, ticks, (low, high)) = (points?, ticks?, ends?);
    let values = numerals.map_or_else(
        || {
            let first = (low / ticks.long).ceil() as i64;
            (0..200).map(|i| (first + i) as f64 * ticks.long).take_while(|v| *v <= high + 1e-9).collect()
        },
        |n| n.0,
    );
    let text = |i: usize, v: f64| texts.as_ref().and_then(|t| t.get(i)).map_or_else(|| format!("{v}"), |t| t.0.clone());
    let numerals = values.iter().enumerate().map(|(i, &v)| (v, text(i, v))).collect();
    let scale = Scale { breakpoints, ticks, numerals };
    match orientation {
        Orientation::AsOnThePanel => Some(scale),
        Orientation::Upright => Some(scale.upright(normal?)),
        Orientation::Misspelt => None,
    }
}

/// The value that stands at twelve on a dial that is turned upright.
fn normal(table: &mut Section<'_>, orientation: Orientation, points: Option<&[(f64, f64)]>) -> Option<f64> {
    let normal = table.number("normal");
    match (orientation, &normal) {
        (Orientation::Upright, None) => table.missing("normal", "the value that stands at twelve"),
        (Orientation::AsOnThePanel, Some((_, place))) => {
            let message = "`normal` turns the dial only where orientation = \"upright\"";
            table.fault(place.clone(), "normal", "normal_has_no_place", message, "say so, or take `normal` out");
        }
        (Orientation::Upright, Some((value, place))) => {
            let ends = points.and_then(|p| Some((p.first()?.0, p.last()?.0)));
            if let Some((low, high)) = ends.filter(|(low, high)| !(low..=high).contains(&value)) {
                let message = format!("`normal` is {value}, off the scale, which runs from {low} to {high}");
                table.fault(place.clone(), "normal", "out_of_range", message, "name a value on the scale");
            }
        }
        _ => {}
    }
    normal.map(|n| n.0)
}

/// Values and their angles.
fn points(table: &mut Section<'_>, orientation: Orientation) -> Option<Vec<(f64, f64)>> {
    let breakpoints = table.rows("breakpoints", 2);
    let linear = ["from", "to", "start", "sweep"].map(|key| (key, table.number(key)));
    let first = linear.iter().find_map(|(key, number)| Some((*key, number.clone()?)));
    let (points, place) = match (breakpoints, first) {
        (Some(_), Some((key, (_, place)))) => {
            let message = format!("`{key}` stands beside `breakpoints`: each of them says where the values stand");
            table.fault(place, key, "scale_twice", message, "keep one of them");
            return None;
        }
        (Some((rows, place)), None) => {
            let points: Vec<(f64, f64)> = rows.iter().map(|r| (r[0], r[1])).collect();
            if points.len() < 2 || points.windows(2).any(|p| p[0].0 >= p[1].0) {
                let message = "`breakpoints` needs at least two points whose values rise";
                let cure = "write [[value, angle], ...], lowest value first";
                table.fault(place, "breakpoints", "scale_not_rising", message, cure);
                return None;
            }
            (points, ("breakpoints", place))
        }
        (None, Some(_)) => {
            let [(_, from), (_, to), (_, start), (_, sweep)] = linear;
            linear_points(table, (from, to), start, sweep, orientation)?
        }
        (None, None) => {
            let expected = "values and their angles, e.g. [[20, -126], [110, 126]]; or, of an even scale, from, to, start and sweep";
            table.missing("breakpoints", expected);
            return None;
        }
    };
    let (key, place) = place;
    let turn = |p: &[(f64, f64)]| p[1].1 - p[0].1;
    let one_way = points.windows(2).all(|p| turn(p) > 0.0) || points.windows(2).all(|p| turn(p) < 0.0);
    let (first, last) = (points.first()?.1, points.last()?.1);
    if !one_way {
        let message = "the angles turn back or stand still: two values would share one place";
        table.fault(place, key, "scale_turns_back", message, "let the angles rise all the way, or fall all the way");
        return None;
    }
    if (last - first).abs() > 360.0 {
        let message = format!("the scale turns by {} degrees; a dial has 360", (last - first).abs());
        table.fault(place, key, "out_of_range", message, "bring its ends closer together");
        return None;
    }
    // 210 and -150 degrees are the same place; what is drawn goes by the turn about twelve.
    let turns = (((first + last) / 2.0 - 180.0) / 360.0).ceil();
    Some(points.into_iter().map(|(value, angle)| (value, angle - 360.0 * turns)).collect())
}

type Number = Option<(f64, keyfile::Place)>;
type Points = (Vec<(f64, f64)>, (&'static str, keyfile::Place));

/// The points of an even scale, and where it is said how far it turns.
fn linear_points(
    table: &Section<'_>,
    (from, to): (Number, Number),
    start: Number,
    sweep: Number,
    orientation: Orientation,
) -> Option<Points> {
    let as_it_stands = orientation == Orientation::AsOnThePanel;
    let wanted = [
        ("from", from.is_some(), "the first value"),
        ("to", to.is_some(), "the last value"),
        (
            "sweep",
            sweep.is_some(),
            "degrees from the first value to the last one, below zero where they run anticlockwise",
        ),
        ("start", start.is_some() || !as_it_stands, "where the first value stands, in degrees clockwise from twelve"),
    ];
    for (key, there, expected) in wanted {
        if !there {
            table.missing(key, expected);
        }
    }
    if let (Orientation::Upright, Some((_, place))) = (orientation, &start) {
        let message = "`start` says nothing where orientation = \"upright\": `normal` turns the dial";
        table.fault(place.clone(), "start", "start_has_no_place", message, "take it out, or say \"as on the panel\"");
    }
    let ((from, _), (to, to_place), (sweep, place)) = (from?, to?, sweep?);
    if from >= to {
        let message = format!("the scale from {from} to {to} does not rise");
        let cure = "write the lowest value at `from`; a dial that runs anticlockwise has a sweep below zero";
        table.fault(to_place, "to", "scale_not_rising", message, cure);
        return None;
    }
    if sweep == 0.0 || sweep.abs() > 360.0 {
        let message =
            format!("`sweep` is {sweep}; expected up to 360 degrees, clockwise or (below zero) anticlockwise");
        table.fault(place, "sweep", "out_of_range", message, "measure it from the first mark to the last one");
        return None;
    }
    let start = if as_it_stands { start?.0 } else { 0.0 };
    Some((vec![(from, start), (to, start + sweep)], ("sweep", place)))
}

/// The steps of the ticks.
pub(super) fn ticks(table: &mut Section<'_>) -> Option<Ticks> {
    let Some(mut ticks) = table.section("ticks") else {
        table.missing("ticks", "their steps, e.g. ticks = { long = 20, middle = 10, short = 2 }");
        return None;
    };
    let long = ticks.number("long");
    let (middle, short) = (ticks.number("middle"), ticks.number("short"));
    if long.is_none() {
        ticks.missing("long", "the step of the long ticks");
    }
    let sound = match &long {
        Some((step, place)) if *step <= 0.0 => {
            ticks.fault(
                place.clone(),
                "long",
                "out_of_range",
                format!("the step {step} is not above zero"),
                "give a step above zero",
            );
            false
        }
        _ => true,
    };
    ticks.end();
    let step = |s: Option<(f64, keyfile::Place)>| s.map_or(0.0, |s| s.0);
    Some(Ticks { long: long.filter(|_| sound)?.0, middle: step(middle), short: step(short) })
}
