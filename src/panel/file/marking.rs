//! A marking's table, the same on every face that takes markings.

use crate::keyfile::{self, Section};
use crate::panel::Marking;

/// Every marking of a face with one scale; nothing if one of them is no marking.
pub(super) fn all(section: &mut Section<'_>, of: Option<&str>, ends: Option<(f64, f64)>) -> Option<Vec<Marking>> {
    section.sections("marking").into_iter().map(|table| one(table, of, ends)).collect()
}

/// One marking of the instrument with this name, on a scale with these ends.
pub(super) fn one(mut section: Section<'_>, of: Option<&str>, ends: Option<(f64, f64)>) -> Option<Marking> {
    #[derive(Clone, Copy, PartialEq)]
    enum Kind {
        Normal,
        Precaution,
        Forbidden,
        Limit,
        Reference,
    }
    let kinds = [
        ("normal", Kind::Normal),
        ("precaution", Kind::Precaution),
        ("forbidden", Kind::Forbidden),
        ("limit", Kind::Limit),
        ("reference", Kind::Reference),
    ];
    let kind = section.word("kind", &kinds);
    let (from, to, at) = (section.number("from"), section.number("to"), section.number("at"));
    // Kept beside the mark for the owner; the picture has no room for it.
    section.text("source");
    let what = kinds.iter().find(|k| kind.as_ref().is_some_and(|kind| kind.0 == k.1)).map_or("this", |k| k.0);
    let what = format!("the {what} marking{}", of.map(|name| format!(" of `{name}`")).unwrap_or_default());
    for (key, value) in [("from", &from), ("to", &to), ("at", &at)] {
        on_scale(&section, &what, key, value.as_ref(), ends);
    }
    let Some((kind, _)) = kind else {
        section.missing("kind", "normal, precaution, forbidden, limit or reference");
        section.end();
        return None;
    };
    let stands_at_one = matches!(kind, Kind::Limit | Kind::Reference);
    let stray = if stands_at_one { [("from", &from), ("to", &to)].to_vec() } else { [("at", &at)].to_vec() };
    for (key, (_, place)) in stray.into_iter().filter_map(|(key, value)| Some((key, value.as_ref()?))) {
        let (message, cure) = if stands_at_one {
            (format!("`{key}` says nothing of {what}, which stands at one value"), "write it at `at`")
        } else {
            (format!("`{key}` says nothing of {what}, which is a range"), "write `from` and `to`")
        };
        section.fault(place.clone(), key, "key_has_no_place", message, cure);
    }
    let made = match kind {
        Kind::Limit | Kind::Reference => {
            if at.is_none() {
                section.missing("at", "the value at which it stands");
            }
            at.map(|(at, _)| if kind == Kind::Limit { Marking::Limit { at } } else { Marking::Reference { at } })
        }
        Kind::Normal | Kind::Precaution | Kind::Forbidden => {
            for (key, there) in [("from", from.is_some()), ("to", to.is_some())] {
                if !there {
                    section.missing(key, "where the range starts and ends");
                }
            }
            from.zip(to).map(|((from, _), (to, place))| {
                if from >= to {
                    let message = format!("the range from {from} to {to} is empty");
                    section.fault(place, "to", "empty_range", message, "write the lower value at `from`");
                }
                match kind {
                    Kind::Normal => Marking::Normal { from, to },
                    Kind::Precaution => Marking::Precaution { from, to },
                    _ => Marking::Forbidden { from, to },
                }
            })
        }
    };
    section.end();
    made
}

/// A fault where something lies off the scale, of which an end may be infinite.
pub(super) fn on_scale(
    section: &Section<'_>,
    what: &str,
    key: &str,
    value: Option<&(f64, keyfile::Place)>,
    ends: Option<(f64, f64)>,
) {
    let Some(((value, place), (low, high))) = value.zip(ends) else { return };
    if (low..=high).contains(value) {
        return;
    }
    let scale = match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("runs from {low} to {high}"),
        (true, false) => format!("starts at {low}"),
        _ => format!("ends at {high}"),
    };
    let message = format!("{what} lies off the scale: `{key}` is {value}, and the scale {scale}");
    section.fault(place.clone(), key, "marking_off_scale", message, "move the mark, or lengthen the scale");
}
