//! Instruments of an imaginary aircraft and help to look at what was drawn.
#![allow(dead_code, reason = "each test file uses its own part")]
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a panic is how a test fails")]

pub mod colour;
pub mod film;
pub mod golden;
pub mod kinds;
pub mod measure;
pub mod needle;

#[allow(unused_imports, reason = "each test file uses its own part")]
pub use colour::{contrast, luminance};

use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{
    Altimeter, AltimeterSetting, Datum, Dial, DiscSize, Face, Instrument, Marking, Panel, Place, Scale,
};
use jumpseat::panel::{Bar, ByPower, Gauge, Heading, HeadingTape, Pair, Reference, Tape};
use jumpseat::panel::{DriveRule, Lamp, Limit, LitWords, Severity};
use jumpseat::panel::{Side, Tachometer, Ticks, Tile, VerticalSpeed};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::{AlertShown, InstrumentState, LampShown, LampWord, LampsState, Notice, PanelState};
use jumpseat::signal::{Reading, State};

pub fn airspeed() -> Dial {
    Dial {
        channel: "airspeed".into(),
        title: vec!["AIRSPEED".into()],
        unit: "kt".into(),
        decimals: 0,
        scale: Scale {
            breakpoints: vec![(20.0, -126.0), (110.0, 126.0)],
            ticks: Ticks { long: 20.0, middle: 10.0, short: 2.0 },
            numerals: [20, 40, 60, 80, 100].map(|v| (f64::from(v), v.to_string())).to_vec(),
        },
        markings: vec![
            Marking::Normal { from: 20.0, to: 78.0 },
            Marking::Precaution { from: 78.0, to: 95.0 },
            Marking::Limit { at: 95.0 },
        ],
    }
}

/// A folded scale with a forbidden range and a name of two lines.
pub fn gearbox() -> Dial {
    Dial {
        channel: "gearbox_oil_temperature".into(),
        title: vec!["GEARBOX".into(), "OIL T".into()],
        unit: "\u{b0}C".into(),
        decimals: 1,
        scale: Scale {
            breakpoints: vec![(0.0, -108.0), (50.0, -60.0), (150.0, 108.0)],
            ticks: Ticks { long: 50.0, middle: 25.0, short: 5.0 },
            numerals: vec![(50.0, "50".into()), (100.0, "100".into())],
        },
        markings: vec![Marking::Normal { from: 50.0, to: 110.0 }, Marking::Forbidden { from: 125.0, to: 150.0 }],
    }
}

/// Folded at 400.
pub fn exhaust() -> Dial {
    Dial {
        channel: "egt".into(),
        title: vec!["EGT".into()],
        unit: "\u{b0}C".into(),
        decimals: 0,
        scale: Scale {
            breakpoints: vec![(0.0, -140.0), (400.0, -60.0), (800.0, 100.0)],
            ticks: Ticks { long: 200.0, middle: 100.0, short: 50.0 },
            numerals: [200, 400, 600, 800].map(|v| (f64::from(v), (v / 100).to_string())).to_vec(),
        },
        markings: vec![
            Marking::Normal { from: 400.0, to: 660.0 },
            Marking::Precaution { from: 660.0, to: 710.0 },
            Marking::Limit { at: 710.0 },
        ],
    }
}

pub fn volts() -> Tile {
    Tile { channel: "bus_volts".into(), title: "VOLTS".into(), unit: "V".into(), decimals: 1 }
}

/// Folded at 80 %, so that 1 % is 4.5 degrees and 100 % stands at twelve.
pub fn tachometer() -> Tachometer {
    Tachometer {
        rotor: "rotor".into(),
        engine: "engine".into(),
        title: "RPM".into(),
        decimals: 0,
        scale: Scale {
            breakpoints: vec![(0.0, -142.0), (80.0, -90.0), (120.0, 90.0)],
            ticks: Ticks { long: 20.0, middle: 10.0, short: 1.0 },
            numerals: [0, 40, 80, 90, 100, 110, 120].map(|v| (f64::from(v), v.to_string())).to_vec(),
        },
        rotor_markings: vec![
            Marking::Precaution { from: 95.0, to: 97.0 },
            Marking::Normal { from: 97.0, to: 103.0 },
            Marking::Limit { at: 95.0 },
            Marking::Limit { at: 104.0 },
        ],
        rotor_by_power: ByPower::default(),
        engine_markings: vec![Marking::Normal { from: 97.0, to: 102.0 }, Marking::Limit { at: 105.5 }],
        drive: Some(DriveRule {
            apart: 2.0,
            seconds: 1.0,
            clutch: None,
            severity: Severity::Warning,
            source: "invented".into(),
        }),
    }
}

/// Power on 95 to 104, power off 90 to 108.
pub fn two_sets() -> Tachometer {
    let on = vec![
        Marking::Precaution { from: 95.0, to: 97.0 },
        Marking::Normal { from: 97.0, to: 103.0 },
        Marking::Limit { at: 95.0 },
        Marking::Limit { at: 104.0 },
    ];
    let off =
        vec![Marking::Normal { from: 92.0, to: 106.0 }, Marking::Limit { at: 90.0 }, Marking::Limit { at: 108.0 }];
    Tachometer { rotor_markings: Vec::new(), rotor_by_power: ByPower { on, off }, ..tachometer() }
}

pub fn instrument(
    name: &str,
    face: Face,
    size: DiscSize,
    side: Side,
    from_side_m: f64,
    from_bottom_m: f64,
) -> Instrument {
    Instrument::new(name, Place { side, from_side_m, from_bottom_m, size }, face)
}

pub fn altimeter() -> Altimeter {
    let setting = AltimeterSetting { from_s: 0.0, text: "29.92 inHg".into() };
    Altimeter { channel: "altitude".into(), datum: Datum::Indicated(vec![setting]) }
}

pub fn vertical_speed() -> VerticalSpeed {
    VerticalSpeed::new("climb".into(), "ft/min", 2000.0).unwrap()
}

pub fn fuel_bar() -> Bar {
    Bar {
        channel: "fuel".into(),
        title: "FUEL".into(),
        unit: "US gal".into(),
        decimals: 1,
        scale: Bar::linear(0.0, 20.0, 5.0).unwrap(),
        markings: vec![
            Marking::Forbidden { from: 0.0, to: 1.5 },
            Marking::Precaution { from: 1.5, to: 4.0 },
            Marking::Normal { from: 4.0, to: 18.0 },
            Marking::Limit { at: 19.0 },
        ],
        width_m: Bar::WIDTH_M,
    }
}

/// Both hands level at 50 and at 75.
pub fn oil() -> Pair {
    let ticks = Ticks { long: 50.0, middle: 25.0, short: 5.0 };
    let gauge = |letter: &str, unit: &str, breakpoints, numeral: &str, markings| Gauge {
        channel: letter.into(),
        letter: letter.into(),
        unit: unit.into(),
        decimals: 0,
        scale: Scale { breakpoints, ticks, numerals: vec![(numeral.parse().unwrap(), numeral.into())] },
        markings,
    };
    let pressure = vec![(0.0, -140.0), (50.0, -90.0), (100.0, -40.0)];
    let temperature = vec![(0.0, 140.0), (75.0, 90.0), (150.0, 40.0)];
    Pair {
        title: "OIL".into(),
        left: gauge(
            "P",
            "psi",
            pressure,
            "100",
            vec![Marking::Limit { at: 15.0 }, Marking::Normal { from: 30.0, to: 75.0 }],
        ),
        right: gauge(
            "T",
            "\u{b0}C",
            temperature,
            "150",
            vec![
                Marking::Normal { from: 40.0, to: 110.0 },
                Marking::Precaution { from: 110.0, to: 125.0 },
                Marking::Limit { at: 125.0 },
            ],
        ),
    }
}

pub fn heading() -> Heading {
    Heading { channel: "heading".into(), reference: Reference::Magnetic }
}

pub fn heading_tape() -> HeadingTape {
    HeadingTape { heading: heading(), width_m: HeadingTape::WIDTH_M }
}

pub fn speed_tape() -> Tape {
    Tape {
        channel: "airspeed".into(),
        title: "AIRSPEED".into(),
        unit: "kt".into(),
        decimals: 0,
        span: 60.0,
        ticks: Ticks { long: 10.0, middle: 5.0, short: 1.0 },
        ends: (0.0, f64::INFINITY),
        markings: vec![
            Marking::Normal { from: 20.0, to: 78.0 },
            Marking::Precaution { from: 78.0, to: 95.0 },
            Marking::Limit { at: 95.0 },
            Marking::Forbidden { from: 95.0, to: 140.0 },
        ],
    }
}

/// An XL dial at the lower left, an M dial at the lower right, a tile in the middle, altimeter and climb above the dials.
pub fn panel() -> Panel {
    Panel {
        instruments: vec![
            instrument("airspeed", Face::Dial(airspeed()), DiscSize::Xl, Side::Left, 0.172, 0.172),
            instrument("gearbox", Face::Dial(gearbox()), DiscSize::M, Side::Right, 0.117, 0.117),
            instrument("volts", Face::Tile(volts()), DiscSize::M, Side::Centre, 0.02, 0.059),
            instrument("altitude", Face::Altimeter(altimeter()), DiscSize::L, Side::Left, 0.141, 0.453),
            instrument("climb", Face::VerticalSpeed(vertical_speed()), DiscSize::M, Side::Right, 0.141, 0.453),
        ],
        lamps: lamps(),
        limits: limits(),
        ..Panel::default()
    }
}

/// A pair, a heading card and three plates, clear of the row of lamps.
pub fn cards() -> Panel {
    let (bar, tape) = (Bar { width_m: 0.5, ..fuel_bar() }, HeadingTape { width_m: 0.3, ..heading_tape() });
    Panel {
        instruments: vec![
            instrument("oil", Face::Pair(oil()), DiscSize::Xl, Side::Left, 0.172, 0.172),
            instrument("heading", Face::Heading(heading()), DiscSize::M, Side::Right, 0.117, 0.117),
            instrument("fuel", Face::Bar(bar), DiscSize::M, Side::Centre, 0.02, 0.059),
            instrument("speed", Face::Tape(speed_tape()), DiscSize::L, Side::Left, 0.141, 0.453),
            instrument("compass", Face::HeadingTape(tape), DiscSize::M, Side::Right, 0.200, 0.453),
        ],
        lamps: lamps(),
        limits: limits(),
        ..Panel::default()
    }
}

/// Seven lamps of four subjects.
pub fn lamps() -> Vec<Lamp> {
    let word = |text: &str| LitWords::Word(text.into());
    let phrase = |upper: &str, lower: &str| LitWords::Phrase([upper.into(), lower.into()]);
    let lamps = [
        ("ROTOR", word("LOW"), Severity::Warning, false),
        ("ROTOR", word("HIGH"), Severity::Warning, false),
        ("CHARGE", phrase("NOT", "CHARGING"), Severity::Caution, false),
        ("XMSN CHIP", phrase("XMSN", "CHIP"), Severity::Caution, false),
        ("CLUTCH", word("ENGAGED"), Severity::Normal, true),
        ("CLUTCH", word("ENGAGING"), Severity::InTransit, true),
        ("CLUTCH", word("DISENGAGED"), Severity::Advisory, true),
    ];
    let lamp = |(i, (subject, lit, severity, always_one)): (usize, (&str, LitWords, Severity, bool))| Lamp {
        name: format!("lamp {i}"),
        channel: format!("lamp {i}"),
        subject: subject.into(),
        lit,
        severity,
        always_one,
    };
    lamps.into_iter().enumerate().map(lamp).collect()
}

/// Six limits, two of them on the subject of a lamp.
pub fn limits() -> Vec<Limit> {
    let limits = [
        ("ROTOR", true, Severity::Warning),
        ("ROTOR", false, Severity::Warning),
        ("OIL T", false, Severity::Caution),
        ("OIL P", true, Severity::Warning),
        ("VOLTS", true, Severity::Caution),
        ("FUEL", true, Severity::Advisory),
    ];
    let limit = |(i, (subject, is_minimum, severity)): (usize, (&str, bool, Severity))| Limit {
        name: format!("limit {i}"),
        severity,
        subject: subject.into(),
        word: if is_minimum { "LOW" } else { "HIGH" }.into(),
        source: "invented".into(),
        ..Limit::bare(format!("limit {i}"), 0.0, is_minimum)
    };
    limits.into_iter().enumerate().map(limit).collect()
}

/// The four subjects as given, each lamp's word to match, and the alerts.
pub fn lamps_state(groups: [LampShown; 4], alerts: [AlertShown; 6]) -> LampsState {
    let recorded = Panel { lamps: lamps(), ..Panel::default() }
        .lamp_groups()
        .into_iter()
        .zip(groups)
        .flat_map(|(members, shown)| members.into_iter().map(move |i| (i, shown)))
        .map(|(i, shown)| match shown {
            LampShown::Lit(lit) if lit == i => LampWord::On,
            LampShown::Lit(_) | LampShown::Unlit => LampWord::Off,
            LampShown::NotRecorded => LampWord::NotRecorded,
            LampShown::Disagree => LampWord::Disagree,
            LampShown::Stale { .. } | LampShown::Invalid => LampWord::Unknown,
        });
    LampsState { recorded: recorded.collect(), groups: groups.to_vec(), alerts: alerts.to_vec() }
}

pub fn reading(value: f64, state: State, age_s: f64) -> Reading {
    Reading { value: Some(value), state, age_s }
}

pub fn state(readings: &[Reading], notice: Notice) -> PanelState {
    let instruments = readings.iter().map(|&r| InstrumentState { hands: vec![r], ..Default::default() }).collect();
    PanelState { instruments, notice, ..PanelState::default() }
}

/// One measured value on the XL dial alone.
pub fn airspeed_patch(value: f64, shape: FrameShape, theme: Theme) -> Patch {
    let mut panel = panel();
    panel.instruments.truncate(1);
    let mut painter = Painter::new(&panel, shape, theme).unwrap();
    let shown = state(&[reading(value, State::Measured, 0.0)], Notice::Bare);
    painter.draw(&shown)[0].patch.clone()
}

/// Colour of a patch's pixel laid over an opaque one, as fractions of full scale.
pub fn over(patch: &Patch, x: u32, y: u32, below: [f64; 3]) -> [f64; 3] {
    let i = 4 * ((y - patch.place.y) * patch.place.width + (x - patch.place.x)) as usize;
    let px = &patch.rgba[i..i + 4];
    let rest = 1.0 - f64::from(px[3]) / 255.0;
    [0, 1, 2].map(|c| f64::from(px[c]) / 255.0 + below[c] * rest)
}
