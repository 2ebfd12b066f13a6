//! Pictures of every instrument in every data state against the ones in `tests/golden`.
//!
//! `JUMPSEAT_REFRESH_GOLDENS=1` writes them anew: look at each before it is committed.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use image::RgbImage;
use jumpseat::draw::{Painter, Theme};
use jumpseat::judge::Drive;
use jumpseat::panel::{Altimeter, Datum, DiscSize, Face, Instrument, Panel, Severity, Side, VerticalSpeed};
use jumpseat::pixel::FrameShape;
use jumpseat::readout::{AlertShown, InstrumentState, LampShown, Notice, PanelState};
use jumpseat::signal::{Reading, State};

use drawing::golden::{compare, report, seen};
use drawing::{airspeed, altimeter, gearbox, instrument, lamps, lamps_state, limits, reading, state, tachometer};
use drawing::{fuel_bar, heading, heading_tape, oil, speed_tape, vertical_speed, volts};

fn states(on: f64, low: f64, high: f64) -> [(&'static str, Reading); 9] {
    [
        ("measured", reading(on, State::Measured, 0.0)),
        ("derived", reading(on, State::Derived, 0.0)),
        ("held", reading(on, State::Held, 0.6)),
        ("stale", Reading { value: None, state: State::Stale, age_s: 9.4 }),
        ("invalid", Reading::INVALID),
        ("saturated_low", reading(on, State::SaturatedLow, 0.0)),
        ("saturated_high", reading(on, State::SaturatedHigh, 0.0)),
        ("below", reading(low, State::Measured, 0.0)),
        ("above", reading(high, State::Measured, 0.0)),
    ]
}

fn draw(instrument: Instrument, reading: Reading, theme: Theme) -> RgbImage {
    draw_hands(instrument, &[reading], theme)
}

#[test]
fn dial_in_every_state() {
    let dial = || instrument("airspeed", Face::Dial(airspeed()), DiscSize::Xl, Side::Left, 0.2, 0.2);
    let mut results = Vec::new();
    for (name, reading) in states(58.0, 12.0, 118.0) {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(name, "measured" | "invalid") {
                let picture = draw(dial(), reading, theme);
                results.push(compare(&format!("dial_{name}_{}", theme.name()), &picture));
            }
        }
    }
    // A caller that still knows where the value was may let the hollow hand stand there.
    let last = reading(58.0, State::Stale, 125.0);
    results.push(compare("dial_stale_hand_graphite", &draw(dial(), last, Theme::Graphite)));
    report(results);
}

/// A value of 100 beside a small 0 was read as a thousand: the numeral goes, its tick stays.
#[test]
fn no_numeral_beside_the_value() {
    let mut dial = airspeed();
    dial.title = vec!["ROTOR".into()];
    dial.unit = "%".into();
    dial.scale.breakpoints = vec![(0.0, -220.0), (110.0, 22.0)];
    dial.scale.numerals = [0, 20, 40, 60, 80, 100].map(|v| (f64::from(v), v.to_string())).to_vec();
    dial.markings.clear();
    let dial = instrument("rotor", Face::Dial(dial), DiscSize::Xl, Side::Left, 0.2, 0.2);
    report([compare(
        "numeral_beside_value_graphite",
        &draw(dial, reading(100.0, State::Measured, 0.0), Theme::Graphite),
    )]);
}

#[test]
fn small_dial_with_a_long_name_in_every_state() {
    let dial = || instrument("gearbox", Face::Dial(gearbox()), DiscSize::L, Side::Left, 0.2, 0.2);
    report(
        states(74.0, -20.0, 166.0).map(|(name, reading)| {
            compare(&format!("gearbox_{name}_graphite"), &draw(dial(), reading, Theme::Graphite))
        }),
    );
}

#[test]
fn tile_in_every_state() {
    let tile = || instrument("volts", Face::Tile(volts()), DiscSize::M, Side::Left, 0.2, 0.2);
    let mut results = Vec::new();
    for (name, reading) in states(27.9, 0.0, 0.0).into_iter().take(7) {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(name, "measured" | "invalid") {
                results.push(compare(&format!("tile_{name}_{}", theme.name()), &draw(tile(), reading, theme)));
            }
        }
    }
    report(results);
}

/// The face of a passed limit: rim and plate by its gravity, whatever the theme.
#[test]
fn a_passed_limit_in_every_theme() {
    let dial = || instrument("airspeed", Face::Dial(airspeed()), DiscSize::L, Side::Left, 0.2, 0.2);
    let both = || instrument("rpm", Face::Tachometer(tachometer()), DiscSize::L, Side::Left, 0.2, 0.2);
    let tile = || instrument("volts", Face::Tile(volts()), DiscSize::M, Side::Left, 0.2, 0.2);
    let pair = || instrument("oil", Face::Pair(oil()), DiscSize::L, Side::Left, 0.2, 0.2);
    let bar = || instrument("fuel", Face::Bar(fuel_bar()), DiscSize::M, Side::Left, 0.3, 0.2);
    let at = |value| reading(value, State::Measured, 0.0);
    let mut results = Vec::new();
    for theme in Theme::ALL {
        for (name, instrument, hands, severity) in [
            ("dial_caution", dial(), vec![at(84.0)], Severity::Caution),
            ("dial_warning", dial(), vec![at(98.0)], Severity::Warning),
            ("tachometer_warning", both(), vec![at(91.0); 2], Severity::Warning),
            ("tile_caution", tile(), vec![at(25.1)], Severity::Caution),
            ("pair_warning", pair(), vec![at(18.0), at(78.0)], Severity::Warning),
            ("bar_caution", bar(), vec![at(2.4)], Severity::Caution),
        ] {
            let picture = draw_state(instrument, &hands, Some(severity), theme);
            results.push(compare(&format!("passed_{name}_{}", theme.name()), &picture));
        }
    }
    let plain = draw_state(dial(), &[at(84.0)], None, Theme::Graphite);
    assert_eq!(
        plain,
        draw_state(dial(), &[at(84.0)], Some(Severity::Advisory), Theme::Graphite),
        "only the badge says so"
    );
    let stale = [reading(98.0, State::Stale, 9.4)];
    let quiet = draw_state(dial(), &stale, None, Theme::Graphite);
    assert_eq!(
        quiet,
        draw_state(dial(), &stale, Some(Severity::Warning), Theme::Graphite),
        "a stale value raises none"
    );
    report(results);
}

fn draw_hands(instrument: Instrument, hands: &[Reading], theme: Theme) -> RgbImage {
    draw_state(instrument, hands, None, theme)
}

fn draw_state(instrument: Instrument, hands: &[Reading], alert: Option<Severity>, theme: Theme) -> RgbImage {
    let note = instrument.face.note_at(0.0).unwrap_or_default().to_owned();
    draw_shown(instrument, InstrumentState { hands: hands.to_vec(), note, alert, ..Default::default() }, theme)
}

fn draw_on(frame: FrameShape, instrument: Instrument, hands: &[Reading], theme: Theme) -> RgbImage {
    let note = instrument.face.note_at(0.0).unwrap_or_default().to_owned();
    draw_shown_on(frame, instrument, InstrumentState { hands: hands.to_vec(), note, ..Default::default() }, theme)
}

fn draw_shown(instrument: Instrument, shown: InstrumentState, theme: Theme) -> RgbImage {
    draw_shown_on(FrameShape::plain(640, 360), instrument, shown, theme)
}

fn draw_shown_on(frame: FrameShape, instrument: Instrument, shown: InstrumentState, theme: Theme) -> RgbImage {
    let panel = Panel { instruments: vec![instrument], ..Panel::default() };
    let mut painter = Painter::new(&panel, frame, theme).unwrap();
    let shown = PanelState { instruments: vec![shown], notice: Notice::Bare, ..PanelState::default() };
    seen(&painter.draw(&shown)[0].patch)
}

/// Each hand in every state while the other one is measured, and both together.
#[test]
fn tachometer_in_every_state() {
    let both = || instrument("rotor", Face::Tachometer(tachometer()), DiscSize::Xl, Side::Left, 0.2, 0.2);
    let measured = |value| reading(value, State::Measured, 0.0);
    let mut pairs: Vec<(String, [Reading; 2])> = [
        ("joined", 100.0, 100.0),
        ("rotor_1_ahead", 101.0, 100.0),
        ("engine_1_ahead", 100.0, 101.0),
        ("rotor_2_ahead", 102.0, 100.0),
        ("engine_2_ahead", 98.0, 100.0),
        ("rotor_20_ahead", 104.0, 84.0),
        ("engine_8_ahead", 91.0, 99.0),
        ("start", 0.0, 62.0),
    ]
    .map(|(name, rotor, engine)| (name.to_owned(), [measured(rotor), measured(engine)]))
    .to_vec();
    for (name, reading) in states(101.0, -1.0, 126.0).into_iter().skip(1) {
        pairs.push((format!("rotor_{name}"), [reading, measured(99.0)]));
        pairs.push((format!("engine_{name}"), [measured(99.0), reading]));
        pairs.push((format!("both_{name}"), [reading, reading]));
    }
    let last = reading(96.0, State::Stale, 9.4);
    pairs.push(("rotor_stale_hand".into(), [last, measured(99.0)]));
    let mut results: Vec<_> = pairs
        .iter()
        .map(|(name, hands)| {
            compare(&format!("tachometer_{name}_graphite"), &draw_hands(both(), hands, Theme::Graphite))
        })
        .collect();
    for theme in [Theme::Porcelain, Theme::HighContrast] {
        let hands = [measured(104.0), measured(84.0)];
        let name = format!("tachometer_rotor_20_ahead_{}", theme.name());
        results.push(compare(&name, &draw_hands(both(), &hands, theme)));
    }
    for theme in Theme::ALL {
        for (name, hands, drive) in
            [("rotor_ahead", [104.0, 84.0], Drive::RotorAhead), ("slipping", [91.0, 99.0], Drive::Slipping)]
        {
            let hands = hands.map(measured).to_vec();
            let picture = draw_shown(both(), InstrumentState { hands, drive, ..Default::default() }, theme);
            results.push(compare(&format!("tachometer_{name}_{}", theme.name()), &picture));
        }
    }
    let mut full = tachometer();
    full.scale.breakpoints = vec![(0.0, -220.0), (110.0, 22.0)];
    full.scale.ticks.short = 2.0;
    full.scale.numerals.retain(|n| n.0 != 90.0 && n.0 < 105.0);
    let full = instrument("rotor", Face::Tachometer(full), DiscSize::Xl, Side::Left, 0.2, 0.2);
    let hands = [measured(100.0), measured(98.0)];
    results.push(compare("tachometer_unfolded_graphite", &draw_hands(full, &hands, Theme::Graphite)));
    report(results);
}

/// One face of flight in every state, and measured in every theme and size.
fn flight_face(name: &str, face: &Face, (on, low, high): (f64, f64, f64)) -> Vec<Result<(), String>> {
    let at = |size| instrument(name, face.clone(), size, Side::Left, 0.2, 0.2);
    let mut results = Vec::new();
    for (state, reading) in states(on, low, high) {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(state, "measured" | "invalid") {
                let picture = draw(at(DiscSize::L), reading, theme);
                results.push(compare(&format!("{name}_{state}_{}", theme.name()), &picture));
            }
        }
    }
    results.push(compare(
        &format!("{name}_stale_hand_graphite"),
        &draw(at(DiscSize::L), reading(on, State::Stale, 9.4), Theme::Graphite),
    ));
    for size in [DiscSize::Xl, DiscSize::M, DiscSize::S] {
        let picture = draw(at(size), reading(on, State::Measured, 0.0), Theme::Graphite);
        results.push(compare(&format!("{name}_{size:?}_graphite").to_lowercase(), &picture));
    }
    results
}

#[test]
fn vertical_speed_in_every_state() {
    let feet = Face::VerticalSpeed(vertical_speed());
    let mut results = flight_face("vertical_speed", &feet, (350.0, -2350.0, 2350.0));
    let metric = Face::VerticalSpeed(VerticalSpeed::new("climb".into(), "m/s", 10.0).unwrap());
    let metric = instrument("metric", metric, DiscSize::L, Side::Left, 0.2, 0.2);
    let picture = draw(metric, reading(-4.26, State::Measured, 0.0), Theme::Graphite);
    results.push(compare("vertical_speed_metric_graphite", &picture));
    report(results);
}

#[test]
fn altimeter_in_every_state() {
    let mut results = flight_face("altimeter", &Face::Altimeter(altimeter()), (2340.0, -200.0, 12_345.0));
    for (name, datum, feet) in [
        ("pressure", Datum::Pressure, 3480.0),
        ("no_setting", Datum::Indicated(Vec::new()), 210.0),
        ("behind_the_glass", Datum::Indicated(Vec::new()), 4650.0),
    ] {
        let face = Face::Altimeter(Altimeter { datum, ..altimeter() });
        let altimeter = instrument("altitude", face, DiscSize::L, Side::Left, 0.2, 0.2);
        let picture = draw(altimeter, reading(feet, State::Measured, 0.0), Theme::Graphite);
        results.push(compare(&format!("altimeter_{name}_graphite"), &picture));
    }
    report(results);
}

/// One face of one hand in every state, measured and invalid in every theme, and measured in every size, on a frame with
/// room for wide plates.
fn wide_face(
    name: &str,
    face: &Face,
    (size, sizes): (DiscSize, &[DiscSize]),
    values: (f64, f64, f64),
) -> Vec<Result<(), String>> {
    let draw = |size, shown, theme| {
        let panel = Panel {
            instruments: vec![instrument(name, face.clone(), size, Side::Centre, 0.0, 0.2)],
            ..Panel::default()
        };
        let mut painter = Painter::new(&panel, FrameShape::plain(960, 540), theme).unwrap();
        seen(&painter.draw(&state(&[shown], Notice::Bare))[0].patch)
    };
    let mut results = Vec::new();
    let last = ("stale_hand", reading(values.0, State::Stale, 9.4));
    for (state, shown) in states(values.0, values.1, values.2).into_iter().chain([last]) {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(state, "measured" | "invalid") {
                results.push(compare(&format!("{name}_{state}_{}", theme.name()), &draw(size, shown, theme)));
            }
        }
    }
    let measured = reading(values.0, State::Measured, 0.0);
    for &size in sizes {
        let picture = draw(size, measured, Theme::Graphite);
        results.push(compare(&format!("{name}_{size:?}_graphite").to_lowercase(), &picture));
    }
    results
}

#[test]
fn bar_in_every_state() {
    let sizes = (DiscSize::M, &[DiscSize::L, DiscSize::S][..]);
    report(wide_face("bar", &Face::Bar(fuel_bar()), sizes, (13.4, -1.0, 22.5)));
}

#[test]
fn heading_card_in_every_state() {
    let sizes = (DiscSize::L, &[DiscSize::Xl, DiscSize::M, DiscSize::S][..]);
    report(wide_face("heading", &Face::Heading(heading()), sizes, (284.0, 0.0, 94.0)));
}

#[test]
fn compass_in_every_state() {
    let sizes = (DiscSize::L, &[DiscSize::Xl, DiscSize::M, DiscSize::S][..]);
    report(wide_face("compass", &Face::Compass(heading()), sizes, (284.0, 0.0, 94.0)));
}

#[test]
fn heading_tape_in_every_state() {
    let sizes = (DiscSize::M, &[DiscSize::L, DiscSize::S][..]);
    report(wide_face("heading_tape", &Face::HeadingTape(heading_tape()), sizes, (284.0, 0.0, 94.0)));
}

#[test]
fn tape_in_every_state() {
    let sizes = (DiscSize::L, &[DiscSize::Xl, DiscSize::M, DiscSize::S][..]);
    report(wide_face("tape", &Face::Tape(speed_tape()), sizes, (58.0, 4.0, 118.0)));
}

/// Each hand in every state while the other one is measured, and both together.
#[test]
fn pair_in_every_state() {
    let pair = |size| instrument("oil", Face::Pair(oil()), size, Side::Left, 0.2, 0.2);
    let measured = |value| reading(value, State::Measured, 0.0);
    let mut results = Vec::new();
    let pressure = states(52.0, -3.0, 112.0).into_iter().chain([("stale_hand", reading(52.0, State::Stale, 9.4))]);
    for ((name, p), (_, t)) in
        pressure.zip(states(78.0, -20.0, 166.0).into_iter().chain([("", reading(78.0, State::Stale, 9.4))]))
    {
        for (which, hands) in [("p", [p, measured(78.0)]), ("t", [measured(52.0), t]), ("both", [p, t])] {
            if name == "measured" && which != "both" {
                continue;
            }
            for theme in Theme::ALL {
                if theme == Theme::Graphite || which == "both" && matches!(name, "measured" | "invalid") {
                    let picture = draw_on(FrameShape::plain(960, 540), pair(DiscSize::L), &hands, theme);
                    results.push(compare(&format!("pair_{which}_{name}_{}", theme.name()), &picture));
                }
            }
        }
    }
    for size in [DiscSize::Xl, DiscSize::M, DiscSize::S] {
        let picture =
            draw_on(FrameShape::plain(960, 540), pair(size), &[measured(52.0), measured(104.0)], Theme::Graphite);
        results.push(compare(&format!("pair_{size:?}_graphite").to_lowercase(), &picture));
    }
    report(results);
}

/// Every shape of a lamp and of a badge, in rows of four as they stand in a film.
#[test]
fn lamps_and_badges_in_every_state() {
    use AlertShown::{Lost, Off, On, Unknown};
    use LampShown::{Disagree, Invalid, Lit, NotRecorded, Stale, Unlit};
    let (none, stale) = ([Unknown; 6], Stale { age_s: 9.4 });
    let lost = Lost { age_s: 9.4 };
    let rows = [
        ("lit", [Lit(0), Lit(2), Lit(3), Lit(4)], [On, Off, Off, Off, Off, Off]),
        ("unlit", [Unlit, Unlit, Unlit, Lit(5)], [Off; 6]),
        ("high_disengaged", [Lit(1), Unlit, Unlit, Lit(6)], [Off, On, Off, Off, Off, Off]),
        ("stale", [stale; 4], [lost, Unknown, lost, Unknown, Unknown, Unknown]),
        ("invalid", [Invalid, Invalid, Invalid, Disagree], none),
        ("alert_without_lamp", [Unlit, Unlit, Unlit, Lit(4)], [On, Off, Off, Off, Off, Off]),
        ("lamp_without_alert", [Lit(0), Unlit, Unlit, Lit(4)], [Off; 6]),
        ("four_alerts", [Lit(0), Unlit, Unlit, Lit(4)], [On, Off, Off, On, On, On]),
        ("six_alerts", [Lit(0), Unlit, Unlit, Lit(4)], [On; 6]),
        ("not_recorded", [NotRecorded, Unlit, Lit(3), NotRecorded], [On, Off, Off, On, Off, Off]),
    ];
    let panel = Panel { lamps: lamps(), limits: limits(), ..Panel::default() };
    let mut results = Vec::new();
    for (name, groups, alerts) in rows {
        for theme in Theme::ALL {
            if theme == Theme::Graphite || matches!(name, "lit" | "unlit" | "invalid" | "alert_without_lamp") {
                let mut painter = Painter::new(&panel, FrameShape::plain(960, 540), theme).unwrap();
                let shown = PanelState { lamps: lamps_state(groups, alerts), ..PanelState::default() };
                results.push(compare(&format!("lamps_{name}_{}", theme.name()), &seen(&painter.draw(&shown)[0].patch)));
            }
        }
    }
    report(results);
}

#[test]
fn notice() {
    let mut painter = Painter::new(&Panel::default(), FrameShape::plain(960, 540), Theme::Graphite).unwrap();
    let mut results = Vec::new();
    for (name, notice) in [("plate", Notice::Plate), ("bare", Notice::Bare)] {
        let picture = seen(&painter.draw(&state(&[], notice))[0].patch);
        results.push(compare(&format!("notice_{name}_graphite"), &picture));
    }
    report(results);
}
