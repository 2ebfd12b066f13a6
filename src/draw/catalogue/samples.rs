//! The faces of an imaginary aircraft.

use crate::panel::{Dial, DriveRule, Marking, Scale, Severity, Tachometer, Ticks, Tile};

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
