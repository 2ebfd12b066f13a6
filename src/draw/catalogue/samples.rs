//! The faces of an imaginary aircraft.

use crate::panel::{
    Bar, ByPower, Dial, DriveRule, Gauge, Marking, Pair, Scale, Severity, Tachometer, Tape, Ticks, Tile,
};

fn scale(breakpoints: &[(f64, f64)], ticks: (f64, f64, f64), numerals: &[(f64, &str)]) -> Scale {
    Scale {
        breakpoints: breakpoints.to_vec(),
        ticks: Ticks { long: ticks.0, middle: ticks.1, short: ticks.2 },
        numerals: numerals.iter().map(|&(value, text)| (value, text.to_owned())).collect(),
    }
}

/// Airspeed of an imaginary aircraft; the dial starts at 20 kt, where the hand rests in a hover.
pub(super) fn airspeed() -> Dial {
    let numerals = [(20.0, "20"), (40.0, "40"), (60.0, "60"), (80.0, "80"), (100.0, "100")];
    Dial {
        channel: "airspeed".into(),
        title: vec!["AIRSPEED".into()],
        unit: "kt".into(),
        decimals: 0,
        scale: scale(&[(20.0, -126.0), (110.0, 126.0)], (20.0, 10.0, 2.0), &numerals),
        markings: vec![
            Marking::Normal { from: 20.0, to: 78.0 },
            Marking::Precaution { from: 78.0, to: 95.0 },
            Marking::Limit { at: 95.0 },
        ],
    }
}

pub(super) fn exhaust() -> Dial {
    let numerals = [(200.0, "2"), (400.0, "4"), (600.0, "6"), (800.0, "8")];
    Dial {
        channel: "egt".into(),
        title: vec!["EGT".into()],
        unit: "\u{b0}C".into(),
        decimals: 0,
        scale: scale(&[(0.0, -140.0), (400.0, -60.0), (800.0, 100.0)], (200.0, 100.0, 50.0), &numerals),
        markings: vec![
            Marking::Normal { from: 400.0, to: 660.0 },
            Marking::Precaution { from: 660.0, to: 710.0 },
            Marking::Limit { at: 710.0 },
        ],
    }
}

pub(super) fn flow() -> Dial {
    let numerals = [(0.0, "0"), (4.0, "4"), (8.0, "8"), (12.0, "12"), (16.0, "16"), (20.0, "20")];
    Dial {
        channel: "fuel_flow".into(),
        title: vec!["FUEL FLOW".into()],
        unit: "US gal/h".into(),
        decimals: 1,
        scale: scale(&[(0.0, -104.0), (20.0, 104.0)], (4.0, 2.0, 1.0), &numerals),
        markings: vec![
            Marking::Normal { from: 5.0, to: 14.0 },
            Marking::Precaution { from: 14.0, to: 17.5 },
            Marking::Limit { at: 17.5 },
        ],
    }
}

pub(super) fn vibration() -> Dial {
    let numerals = [(0.0, "0"), (0.5, ".5"), (1.0, "1")];
    Dial {
        channel: "vibration".into(),
        title: vec!["VIBRATION".into()],
        unit: "in/s".into(),
        decimals: 2,
        scale: scale(&[(0.0, -120.0), (1.0, 120.0)], (0.5, 0.1, 0.05), &numerals),
        markings: vec![Marking::Normal { from: 0.0, to: 0.5 }, Marking::Forbidden { from: 0.7, to: 1.0 }],
    }
}

pub(super) fn gearbox() -> Dial {
    let numerals = [(50.0, "50"), (100.0, "100")];
    Dial {
        channel: "gearbox_oil_temperature".into(),
        title: vec!["GEARBOX".into(), "OIL T".into()],
        unit: "\u{b0}C".into(),
        decimals: 0,
        scale: scale(&[(0.0, -108.0), (150.0, 108.0)], (50.0, 25.0, 5.0), &numerals),
        markings: vec![
            Marking::Normal { from: 40.0, to: 110.0 },
            Marking::Precaution { from: 110.0, to: 125.0 },
            Marking::Limit { at: 125.0 },
        ],
    }
}

pub(super) fn tachometer() -> Tachometer {
    let numerals =
        [(0.0, "0"), (40.0, "40"), (80.0, "80"), (90.0, "90"), (100.0, "100"), (110.0, "110"), (120.0, "120")];
    Tachometer {
        rotor: "rotor".into(),
        engine: "engine".into(),
        title: "RPM".into(),
        decimals: 0,
        scale: scale(&[(0.0, -142.0), (80.0, -90.0), (120.0, 90.0)], (20.0, 10.0, 1.0), &numerals),
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
            source: String::new(),
        }),
    }
}

pub(super) fn volts() -> Tile {
    Tile { channel: "bus_volts".into(), title: "VOLTS".into(), unit: "V".into(), decimals: 1 }
}

pub(super) fn fuel_bar(width_m: f64) -> Bar {
    Bar {
        channel: "fuel".into(),
        title: "FUEL".into(),
        unit: "US gal".into(),
        decimals: 1,
        scale: Bar::linear(0.0, 20.0, 5.0).unwrap_or_default(),
        markings: vec![
            Marking::Forbidden { from: 0.0, to: 1.5 },
            Marking::Precaution { from: 1.5, to: 4.0 },
            Marking::Normal { from: 4.0, to: 20.0 },
        ],
        width_m,
    }
}

pub(super) fn volts_bar() -> Bar {
    Bar {
        channel: "bus_volts".into(),
        title: "VOLTS".into(),
        unit: "V".into(),
        decimals: 1,
        scale: Bar::linear(20.0, 32.0, 2.0).unwrap_or_default(),
        markings: vec![
            Marking::Limit { at: 22.0 },
            Marking::Precaution { from: 22.0, to: 26.0 },
            Marking::Normal { from: 26.0, to: 29.0 },
            Marking::Precaution { from: 29.0, to: 31.0 },
            Marking::Limit { at: 31.0 },
        ],
        width_m: 0.480,
    }
}

pub(super) fn oil() -> Pair {
    let gauge = |letter: &str, unit: &str, scale: Scale, markings: Vec<Marking>| Gauge {
        channel: letter.into(),
        letter: letter.into(),
        unit: unit.into(),
        decimals: 0,
        scale,
        markings,
    };
    let pressure = scale(&[(0.0, -140.0), (50.0, -90.0), (100.0, -40.0)], (50.0, 25.0, 5.0), &[(100.0, "100")]);
    let temperature = scale(&[(0.0, 140.0), (75.0, 90.0), (150.0, 40.0)], (50.0, 25.0, 5.0), &[(150.0, "150")]);
    let (p, t) = (
        vec![
            Marking::Limit { at: 15.0 },
            Marking::Precaution { from: 15.0, to: 30.0 },
            Marking::Normal { from: 30.0, to: 75.0 },
            Marking::Limit { at: 90.0 },
        ],
        vec![
            Marking::Normal { from: 40.0, to: 110.0 },
            Marking::Precaution { from: 110.0, to: 125.0 },
            Marking::Limit { at: 125.0 },
        ],
    );
    Pair { title: "OIL".into(), left: gauge("P", "psi", pressure, p), right: gauge("T", "\u{b0}C", temperature, t) }
}

pub(super) fn speed_tape() -> Tape {
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
