//! What stands on each page, with its titles.

use crate::panel::{Altimeter, AltimeterSetting, Datum, DiscSize, Face, Severity, VerticalSpeed};
use crate::readout::{Drive, Notice, PanelState};
use crate::signal::{Reading, State};

use super::samples::{airspeed, exhaust, flow, gearbox, tachometer, vibration, volts};
use super::{LAMP_WIDTH, Page};
use super::{cards, markings, phases, plates};
use crate::draw::lamp::{self, Icon, Plate, Shape, Words};
use crate::draw::part::Arrow;
use crate::draw::path::Rect;

/// Every page, in the sheet's order.
pub(super) fn all() -> Vec<Page> {
    vec![
        dial_states(),
        other_faces(),
        two_hands(),
        vertical_speeds(),
        altitudes(),
        passed_limits(),
        markings::page(),
        lamps(),
        cards::bars(),
        cards::pairs(),
        cards::headings(),
        cards::compasses(),
        cards::tapes(),
        plates::texts(),
        plates::strips(),
        plates::motion(),
        plates::tracks(),
        phases::page(),
    ]
}

pub(super) fn reading(value: f64, state: State, age_s: f64) -> Reading {
    Reading { value: Some(value), state, age_s }
}

/// What a reading can be: title, note, and the reading with its value on, below or above the scale.
pub(super) fn states(on: f64, low: f64, high: f64) -> [(&'static str, &'static str, Reading); 10] {
    let stale = |value| Reading { value, state: State::Stale, age_s: 9.4 };
    [
        ("MEASURED", "plain", reading(on, State::Measured, 0.0)),
        ("DERIVED", "pierced hand, calc", reading(on, State::Derived, 0.0)),
        ("HELD", "planked hand, time", reading(on, State::Held, 0.6)),
        ("STALE", "hollow dashed hand, age", stale(Some(on))),
        ("INVALID", "no hand, crossed face", Reading::INVALID),
        ("OFF THE DIAL, LOW", "quiet stop: nothing is wrong", reading(low, State::Measured, 0.0)),
        ("OFF THE DIAL, HIGH", "past the end; arrow, value", reading(high, State::Measured, 0.0)),
        ("SENSOR SAT. LOW", "hollow hand on its own stop", reading(on / 2.0 + 1.0, State::SaturatedLow, 0.0)),
        ("SENSOR SAT. HIGH", "a fault: \u{201c}at least\u{201d}", reading(on * 1.5 + 1.0, State::SaturatedHigh, 0.0)),
        ("STALE, VALUE GONE", "age only", stale(None)),
    ]
}

fn dial_states() -> Page {
    let mut page = Page::default();
    for (i, (title, note, reading)) in states(58.0, 12.0, 118.0).into_iter().enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, if i < 5 { 0.22 } else { 0.685 });
        page.add(Face::Dial(airspeed()), DiscSize::Xl, at, reading, title, note);
    }
    page
}

fn other_faces() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let measured = |value| reading(value, State::Measured, 0.0);
    let dials = [
        (exhaust(), DiscSize::Xl, 548.0, "EGT", "folded: hinge pin at 400"),
        (exhaust(), DiscSize::L, 706.0, "EGT, L", "past its limit"),
        (flow(), DiscSize::M, 10.2, "FUEL FLOW, M", "unit on its own line"),
        (vibration(), DiscSize::M, 0.3, "VIBRATION, M", "a range that is forbidden"),
        (gearbox(), DiscSize::S, 74.0, "GEARBOX OIL T, S", "a name of two lines"),
    ];
    for (i, (dial, size, value, title, note)) in dials.into_iter().enumerate() {
        let at = (0.17 + 0.31 * i as f64, 0.22);
        page.add(Face::Dial(dial), size, at, measured(value), title, note);
    }
    let tiles =
        states(27.9, 27.9, 27.9).into_iter().filter(|(title, ..)| !title.contains("DIAL") && !title.contains("GONE"));
    for (i, (title, _, reading)) in tiles.enumerate() {
        let at = (0.17 + 0.21 * i as f64, 0.53);
        page.add(Face::Tile(volts()), DiscSize::M, at, reading, title, "tile");
    }
    for (i, (title, _, reading)) in states(74.0, -20.0, 166.0).into_iter().take(9).enumerate() {
        let at = (0.12 + 0.17 * i as f64, 0.80);
        page.add(Face::Dial(gearbox()), DiscSize::S, at, reading, title, "S");
    }
    page
}

fn two_hands() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let measured = |value| reading(value, State::Measured, 0.0);
    let held = reading(101.0, State::Held, 0.6);
    let faces = [
        (measured(100.0), measured(100.0), "JOINED", "one whole leaf"),
        (measured(102.0), measured(100.0), "ROTOR +2 %", "the leaf opens by 9 degrees"),
        (measured(98.0), measured(100.0), "ENGINE +2 %", "and by the same 9 degrees"),
        (measured(104.0), measured(84.0), "ROTOR AHEAD", "freewheeling: not an alarm"),
        (measured(91.0), measured(99.0), "ENGINE AHEAD", "clutch engaged: the hidden danger"),
        (measured(0.0), measured(62.0), "START-UP", "in the folded tail"),
        (held, measured(100.0), "ROTOR HELD", "each hand has its own state"),
        (Reading::INVALID, measured(100.0), "ROTOR INVALID", "the other hand stays"),
        (reading(88.0, State::SaturatedHigh, 0.0), measured(98.0), "ROTOR SENSOR SAT.", "a hollow half"),
        (measured(126.0), measured(100.0), "ROTOR OFF THE DIAL", "past the end; arrow, value"),
    ];
    for (i, (rotor, engine, title, note)) in faces.into_iter().enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, if i < 5 { 0.22 } else { 0.685 });
        page.add_hands(Face::Tachometer(tachometer()), DiscSize::Xl, at, vec![rotor, engine], (title, note));
        match title {
            "ROTOR AHEAD" => page.drive(Drive::RotorAhead),
            "ENGINE AHEAD" => page.drive(Drive::Slipping),
            _ => {}
        }
    }
    page
}

fn vertical_speeds() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let measured = |value| reading(value, State::Measured, 0.0);
    let named = states(350.0, -2350.0, 2350.0).map(|(title, note, reading)| match title {
        "OFF THE DIAL, LOW" => ("OFF THE DIAL, DOWN", "at three; arrow, value", reading),
        "OFF THE DIAL, HIGH" => ("OFF THE DIAL, UP", "at three; arrow, value", reading),
        _ => (title, note, reading),
    });
    let more = [
        ("LEVEL", "zero at nine, without a sign", measured(0.0)),
        ("+1000", "straight up", measured(1000.0)),
        ("\u{2212}1000", "straight down", measured(-1000.0)),
        ("+2000", "full climb", measured(2000.0)),
        ("\u{2212}2000", "full descent: the arrow tells", measured(-2000.0)),
    ];
    let Some(feet) = VerticalSpeed::new("vertical_speed".into(), "ft/min", 2000.0) else { return page };
    for (i, (title, note, reading)) in named.into_iter().chain(more).enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, 0.17 + 0.315 * (i / 5) as f64);
        page.add(Face::VerticalSpeed(feet.clone()), DiscSize::L, at, reading, title, note);
    }
    page
}

fn altitudes() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let measured = |value| reading(value, State::Measured, 0.0);
    let named = states(2340.0, -200.0, 12_345.0).map(|(title, note, reading)| match title {
        "OFF THE DIAL, LOW" => ("BELOW ZERO", "both hands turn back", reading),
        "OFF THE DIAL, HIGH" => ("12 345 ft", "nothing is off the scale", reading),
        "SENSOR SAT. LOW" => (title, "no end, so no stop", reading),
        "STALE" => (title, "hollow dashed hands, age", reading),
        _ => (title, note, reading),
    });
    let more = [
        ("210 ft", "short .21, long 2.1", measured(210.0)),
        ("4650 ft", "hands behind the glass", measured(4650.0)),
        ("6400 ft", "and on the other side", measured(6400.0)),
    ];
    let indicated = |text: &str| {
        let setting = AltimeterSetting { from_s: f64::NEG_INFINITY, text: text.to_owned() };
        Altimeter { channel: "altitude".into(), datum: Datum::Indicated(vec![setting]) }
    };
    let mut shown: Vec<_> = named.into_iter().chain(more).map(|shown| (indicated("29.92 inHg"), shown)).collect();
    shown.push((indicated(""), ("NO SETTING", "a dash: it is not known", measured(2340.0))));
    let pressure = Altimeter { datum: Datum::Pressure, ..indicated("") };
    shown.push((pressure, ("PRESSURE ALTITUDE", "says so in the setting\u{2019}s place", measured(3480.0))));
    for (i, (altimeter, (title, note, reading))) in shown.into_iter().enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, 0.17 + 0.315 * (i / 5) as f64);
        page.add(Face::Altimeter(altimeter), DiscSize::L, at, reading, title, note);
    }
    page
}

/// Dials and plates whose limit is passed.
fn passed_limits() -> Page {
    use DiscSize::{L, M, S, Xl};
    use Severity::{Advisory, Caution, Warning};
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let at_work = |value| reading(value, State::Measured, 0.0);
    let held = |value| reading(value, State::Held, 0.6);
    let stale = Reading { value: Some(706.0), state: State::Stale, age_s: 9.4 };
    let dial = Face::Dial;
    let shown = [
        (dial(airspeed()), Xl, vec![at_work(84.0)], Caution, "IN CAUTION", "dashed rim, pointed chip"),
        (dial(exhaust()), Xl, vec![at_work(736.0)], Warning, "EXCEEDANCE", "double rim, octagon chip"),
        (Face::Tachometer(tachometer()), Xl, vec![at_work(91.0), at_work(91.0)], Warning, "LOW ROTOR", "double rim"),
        (dial(airspeed()), Xl, vec![at_work(118.0)], Warning, "OFF THE DIAL", "arrow and value on the octagon"),
        (dial(exhaust()), Xl, vec![at_work(680.0)], Advisory, "ADVISORY", "only the badge says so"),
        (dial(exhaust()), L, vec![held(736.0)], Warning, "HELD", "a held value counts"),
        (dial(exhaust()), L, vec![stale], Warning, "STALE", "a stale value raises none"),
        (dial(flow()), M, vec![at_work(16.1)], Caution, "FUEL FLOW, M", "in caution"),
        (dial(gearbox()), S, vec![at_work(131.0)], Warning, "GEARBOX, S", "exceedance"),
        (Face::Tile(volts()), M, vec![at_work(25.1)], Caution, "VOLTS", "tile in caution"),
    ];
    for (i, (face, size, hands, severity, title, note)) in shown.into_iter().enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, if i < 5 { 0.22 } else { 0.685 });
        page.add_hands(face, size, at, hands, (title, note));
        page.alert(severity);
    }
    page
}

/// Every shape of a lamp, recorded and computed.
fn lamps() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let state = |subject: &str, word: &str, icon| Words::State { subject: subject.into(), word: word.into(), icon };
    let phrase = |upper: &str, lower: &str| Words::Phrase([upper.into(), lower.into()]);
    let (down, up) = (Some(Icon::Arrow(Arrow::Down)), Some(Icon::Arrow(Arrow::Up)));
    let recorded = [
        (Shape::Warning, state("ROTOR", "LOW", down), "WARNING", "octagon, double frame"),
        (Shape::Caution, phrase("XMSN", "CHIP"), "CAUTION", "pointed plate"),
        (Shape::InTransit, state("CLUTCH", "ENGAGING", None), "IN TRANSIT", "outline, striped points"),
        (Shape::Advisory, state("CLUTCH", "DISENGAGED", None), "ADVISORY", "pill"),
        (Shape::Normal, state("CLUTCH", "ENGAGED", None), "NORMAL", "plain plate, underline"),
        (Shape::Unlit, Words::Subject("XMSN CHIP".into()), "UNLIT", "corner brackets"),
        (Shape::Stale, state("XMSN CHIP", "9 s old", None), "STALE", "dashed frame, age"),
        (Shape::Invalid, state("CHARGE", "NO DATA", None), "INVALID", "dashed and crossed"),
        (
            Shape::Disagree,
            state("CLUTCH", "DISAGREE", Some(Icon::Unequal)),
            "NONE OR TWO LIT",
            "of which one should be",
        ),
        (Shape::Caution, phrase("NOT", "CHARGING"), "ONE PHRASE", "both lines one size"),
        (Shape::Warning, state("ROTOR", "HIGH", up), "ONE SUBJECT", "one lamp"),
    ];
    let computed = [
        (Shape::Warning, state("ROTOR", "LOW", down), "COMPUTED WARNING", "same shape, calc tab"),
        (Shape::Caution, state("OIL T", "HIGH", up), "COMPUTED CAUTION", "no lamp recorded it"),
        (Shape::Advisory, state("FUEL", "LOW", down), "COMPUTED ADVISORY", "a limit of the owner's"),
        (Shape::Stale, state("ROTOR", "9 s old", None), "ALERT, DATA GONE", "it was on; its age"),
        (Shape::Caution, state("+2", "ALERTS", None), "MORE ALERTS", "than there are places"),
    ];
    let both = recorded.into_iter().map(|r| (r, false)).chain(computed.into_iter().map(|c| (c, true)));
    for (i, ((shape, words, title, note), computed)) in both.enumerate() {
        let at = (0.125 + 0.195 * (i % 8) as f64, 0.13 + 0.19 * (i / 8) as f64);
        page.labels.push(((at.0, at.1 + 0.054), title.into(), note));
        page.plates.push((at, Plate { shape, words, computed }));
    }
    let unlit =
        |subject: &str, computed| Plate { shape: Shape::Unlit, words: Words::Subject(subject.into()), computed };
    let low = |computed| Plate { shape: Shape::Warning, words: state("ROTOR", "LOW", down), computed };
    let pairs = [
        (low(true), unlit("ROTOR", false), "ALERT WITHOUT LAMP", "both stand, joined"),
        (unlit("ROTOR", true), low(false), "LAMP WITHOUT ALERT", "both stand, joined"),
    ];
    for (i, (alert, lamp, title, note)) in pairs.into_iter().enumerate() {
        let (at, gap) = ((0.125 + 0.25 * i as f64, 0.53), 0.009);
        let below = (at.0, at.1 + lamp::HEIGHT + gap);
        page.plates.extend([(at, alert), (below, lamp)]);
        page.joins.push(lamp::join(Rect::centred(at, LAMP_WIDTH, lamp::HEIGHT), gap));
        page.labels.push(((at.0, below.1 + 0.054), title.into(), note));
    }
    page
}
