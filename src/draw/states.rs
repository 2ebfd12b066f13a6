//! What a data state makes of a hand, a value and a tag, on faces that show one reading.

use crate::panel::{OffScale, Scale, Severity};
use crate::readout::InstrumentState;
use crate::signal::{Reading, State};

use super::dial::no_data;
use super::hands::HandStyle;
use super::part::{Alarm, Arrow, Chip, Frame, Part, RowValue, ValueInk};
use super::words;

/// The only reading of a face.
pub(super) fn only(state: &InstrumentState) -> Reading {
    nth(state, 0)
}

/// One reading of a face. One that has no value to show is invalid; a stale one has its age even so.
pub(super) fn nth(state: &InstrumentState, hand: usize) -> Reading {
    let reading = state.hands.get(hand).copied().unwrap_or(Reading::INVALID);
    let value = reading.value.filter(|v| v.is_finite());
    if value.is_none() && reading.state != State::Stale { Reading::INVALID } else { Reading { value, ..reading } }
}

/// A text in the value's place, its ink, and where it comes from; none where none may be written.
pub(super) fn text(state: &InstrumentState) -> Option<(String, ValueInk, String)> {
    let (text, reading) = (state.written()?, state.hands.first().copied()?);
    let ink = if reading.state == State::Held { ValueInk::Dim } else { ValueInk::Full };
    Some((text.to_owned(), ink, tag(reading)))
}

/// Of several readings the one that can be trusted least.
pub(super) fn worst(readings: impl IntoIterator<Item = Reading>) -> Reading {
    let rank = |reading: &Reading| match reading.state {
        State::Measured => 0,
        State::Derived => 1,
        State::Held => 2,
        State::SaturatedLow | State::SaturatedHigh => 3,
        State::Stale => 4,
        State::Invalid => 5,
    };
    let worse = |a: &Reading, b: &Reading| rank(a).cmp(&rank(b)).then(a.age_s.total_cmp(&b.age_s));
    readings.into_iter().max_by(worse).unwrap_or(Reading::INVALID)
}

/// What a passed limit does to a face whose value can be read. A data state beats an alert: a stale value raises none.
pub(super) fn alarm(state: &InstrumentState) -> Option<Alarm> {
    let can_be_read = |r: &Reading| matches!(r.state, State::Measured | State::Derived | State::Held);
    let known = state.hands.iter().any(can_be_read);
    match state.alert.filter(|_| known)? {
        Severity::Warning => Some(Alarm::Warning),
        Severity::Caution => Some(Alarm::Caution),
        Severity::InTransit | Severity::Advisory | Severity::Normal => None,
    }
}

/// The value on the plate of the alarm, in place of the plain one.
pub(super) fn plated(value: Part, alarm: Option<Alarm>) -> Part {
    match (value, alarm) {
        (Part::Value { text, .. }, Some(alarm)) => {
            let frame = Frame::Plate(alarm);
            Part::Chip(Chip { short: text.clone(), text, frame, arrow: None, at_hub: false })
        }
        (Part::Chip(chip), Some(alarm)) if chip.frame == Frame::Hairline && !chip.at_hub => {
            Part::Chip(Chip { frame: Frame::Plate(alarm), ..chip })
        }
        (value, _) => value,
    }
}

/// The same for a value in a row.
pub(super) fn plated_row(value: RowValue, alarm: Option<Alarm>) -> RowValue {
    let part = match value {
        RowValue::Plain { text, ink } => Part::Value { text, ink },
        RowValue::Chip(chip) => Part::Chip(chip),
    };
    match plated(part, alarm) {
        Part::Value { text, ink } => RowValue::Plain { text, ink },
        Part::Chip(chip) => RowValue::Chip(chip),
        _ => RowValue::Chip(no_data()),
    }
}

/// How far the hand is to be trusted.
pub(super) const fn style(state: State) -> HandStyle {
    match state {
        State::Derived => HandStyle::Pierced,
        State::Held => HandStyle::Planked,
        State::Stale => HandStyle::Dashed,
        State::SaturatedLow | State::SaturatedHigh => HandStyle::Hollow,
        State::Measured | State::Invalid => HandStyle::Solid,
    }
}

/// What stands in the value's place: a number as `write` writes it, or a chip.
pub(super) fn value(reading: Reading, write: impl Fn(f64) -> String) -> Part {
    let edge = |number: String, sign: char, arrow| {
        let text = format!("{sign} {number}");
        Part::Chip(Chip { short: text.clone(), text, frame: Frame::Dashed, arrow: Some(arrow), at_hub: false })
    };
    match (reading.state, reading.value.map(write)) {
        (State::Measured | State::Derived, Some(text)) => Part::Value { text, ink: ValueInk::Full },
        (State::Held, Some(text)) => Part::Value { text, ink: ValueInk::Dim },
        (State::SaturatedLow, Some(text)) => edge(text, '\u{2264}', Arrow::Down),
        (State::SaturatedHigh, Some(text)) => edge(text, '\u{2265}', Arrow::Up),
        (State::Stale, _) => {
            let [text, short] = words::old(reading.age_s);
            Part::Chip(Chip { text, short, frame: Frame::Dashed, arrow: None, at_hub: false })
        }
        _ => Part::Chip(no_data()),
    }
}

/// The same on a face whose scale has ends: below it stands `< 20` and nothing is wrong, above it an arrow and the value.
pub(super) fn on_scale(reading: Reading, scale: &Scale, decimals: u8) -> RowValue {
    let trusted = matches!(reading.state, State::Measured | State::Derived | State::Held);
    let number = |v| words::number(v, decimals);
    match reading.value.filter(|_| trusted).map(|v| (scale.place_told(v), v)) {
        Some((OffScale::Low, _)) => {
            let ink = if reading.state == State::Held { ValueInk::BeyondDim } else { ValueInk::Beyond };
            return RowValue::Plain { text: format!("< {}", number(scale.ends().0)), ink };
        }
        Some((OffScale::High, v)) => {
            let (text, frame, arrow) = (number(v), Frame::Hairline, Some(Arrow::Up));
            return RowValue::Chip(Chip { short: text.clone(), text, frame, arrow, at_hub: false });
        }
        _ => {}
    }
    match value(reading, number) {
        Part::Value { text, ink } => RowValue::Plain { text, ink },
        Part::Chip(chip) => RowValue::Chip(chip),
        _ => RowValue::Chip(no_data()),
    }
}

/// A tag's short form, for where the long one would be too small: `held 0.6 s` to `held`, `SENSOR MAX` to `MAX`.
pub(super) fn short_tag(tag: &str) -> &str {
    tag.strip_prefix("SENSOR ").or_else(|| tag.split(' ').next()).unwrap_or(tag)
}

/// Where the value comes from; empty for one that was measured, and where none is shown.
pub(super) fn tag(reading: Reading) -> String {
    match reading.state {
        State::Derived => "calc".to_owned(),
        State::Held => words::held(reading.age_s),
        State::SaturatedLow => "SENSOR MIN".to_owned(),
        State::SaturatedHigh => "SENSOR MAX".to_owned(),
        State::Measured | State::Stale | State::Invalid => String::new(),
    }
}
