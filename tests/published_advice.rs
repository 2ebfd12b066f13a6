//! What a panel's owner is told about small text and colours, against tables computed outside this program from published
//! figures: `published/text_size.csv` (NUREG-0700 rev. 3), `cvd_matrices.csv` and `cvd_colours.csv` (Machado, Oliveira and
//! Fernandes, IEEE TVCG 15(6), 2009, by colour-science 0.4.7), `contrast_ratio.csv` (W3C, WCAG 2.x).
#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use drawing::{airspeed, gearbox, instrument};
use jumpseat::draw::advice::{LEAST_MINUTES, PHONE_DISTANCE_MM, PHONE_SIDE_MM, alike, arc_minutes, small_on_a_phone};
use jumpseat::draw::colour_vision::{Vision, contrast};
use jumpseat::draw::{Look, Theme};
use jumpseat::panel::{ColourOf, DiscSize, Face, Marking, OwnColour, Panel, Side};

fn rows(name: &str) -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(format!("tests/published/{name}.csv")).unwrap();
    text.lines().skip(2).map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

fn rgb(cells: &[String]) -> [u8; 3] {
    [0, 1, 2].map(|i| cells[i].parse().unwrap())
}

#[test]
fn visual_angles() {
    let rows = rows("text_size");
    assert_eq!(rows.len(), 10);
    for row in rows {
        let cell = |i: usize| row[i].parse::<f64>().unwrap();
        for (column, distance) in [(1, 350.0), (2, 500.0), (3, 600.0), (4, 3000.0)] {
            // The heights are printed to a ten thousandth of a millimetre.
            let found = arc_minutes(cell(column), distance);
            assert!((found - cell(0)).abs() < 0.002, "{} mm at {distance} mm: {found}, not {}'", cell(column), cell(0));
        }
        let share = arc_minutes(cell(5) * PHONE_SIDE_MM, PHONE_DISTANCE_MM);
        assert!((share - cell(0)).abs() < 0.005, "{share}, not {}", cell(0));
    }
}

#[test]
fn colours_as_others_see_them() {
    let rows = rows("cvd_colours");
    assert_eq!(rows.len(), 12);
    for row in rows {
        for (vision, at) in [(Vision::Protanopia, 4), (Vision::Deuteranopia, 7), (Vision::Tritanopia, 10)] {
            let (found, expected) = (vision.simulated(rgb(&row[1..])), rgb(&row[at..]));
            assert!(
                (0..3).all(|i| found[i].abs_diff(expected[i]) <= 1),
                "{} {vision:?}: {found:?}, not {expected:?}",
                row[0]
            );
        }
        assert_eq!(Vision::Usual.simulated(rgb(&row[1..])), rgb(&row[1..]));
    }
}

/// The simulated pure colours are the matrices' columns: all nine numbers of each.
#[test]
fn matrices_of_full_severity() {
    let full: Vec<_> = rows("cvd_matrices").into_iter().filter(|row| row[1] == "1.0").collect();
    assert_eq!(full.len(), 3);
    let encode = |v: f64| {
        let v = v.clamp(0.0, 1.0);
        255.0 * if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 }
    };
    for row in full {
        let vision = Vision::ALL.into_iter().find(|v| v.name()[..4] == row[0][..4]).unwrap();
        for (column, pure) in [[255, 0, 0], [0, 255, 0], [0, 0, 255]].into_iter().enumerate() {
            let seen = vision.simulated(pure);
            for (line, &code) in seen.iter().enumerate() {
                let expected = encode(row[2 + 3 * line + column].parse().unwrap());
                assert!((f64::from(code) - expected).abs() <= 0.51, "{vision:?} {pure:?}: {seen:?}, {expected}");
            }
        }
    }
}

/// L*a*b* of sRGB's primaries: red (53.24, 80.09, 67.20), green (87.73, -86.18, 83.18), blue (32.30, 79.19, -107.86), as
/// colour calculators print them (from memory); black and white are 100 apart by definition.
#[test]
fn colour_differences() {
    let far = |a, b| Vision::Usual.difference(a, b);
    let lab: [[f64; 3]; 3] = [[53.24, 80.09, 67.20], [87.73, -86.18, 83.18], [32.30, 79.19, -107.86]];
    let pure = [[255, 0, 0], [0, 255, 0], [0, 0, 255]];
    for (i, j) in [(0, 1), (1, 2), (0, 2)] {
        let expected = (0..3).map(|k| (lab[i][k] - lab[j][k]).powi(2)).sum::<f64>().sqrt();
        assert!((far(pure[i], pure[j]) - expected).abs() < 0.03, "{expected}");
    }
    assert!((far([0; 3], [255; 3]) - 100.0).abs() < 1e-3);
}

#[test]
fn contrast_ratios() {
    let rows = rows("contrast_ratio");
    assert_eq!(rows.len(), 20);
    for row in rows {
        let (found, expected) = (contrast(rgb(&row), rgb(&row[3..])), row[8].parse::<f64>().unwrap());
        assert!((found - expected).abs() < 1e-3, "{row:?}: {found}");
    }
}

fn one(face: Face, size: DiscSize) -> Panel {
    Panel { instruments: vec![instrument("shown", face, size, Side::Left, 0.3, 0.3)], ..Panel::default() }
}

/// 16 minutes on a phone are 27.07 pixels of 1080 (`text_size.csv`): a value of the house's XL dial, .0520 em of the height with
/// capitals of .750, is 42.1 pixels high; that of an S dial .0310 x .90 (two lines of name), 22.6 pixels.
#[test]
fn small_values_are_named_with_the_size_that_cures_them() {
    let judge = |face, size, picture| small_on_a_phone(&one(face, size), picture, Look::default());
    let large = judge(Face::Dial(airspeed()), DiscSize::Xl, (1920.0, 1080.0));
    let names: Vec<_> =
        large.iter().map(|s| (s.value.clone(), s.lettering.as_ref().map(|t| t.text.as_str()))).collect();
    assert_eq!(names, [(None, Some("AIRSPEED kt"))], "its value is large enough, its name is not");
    for picture in [(1920.0, 1080.0), (1280.0, 720.0), (1080.0, 1920.0)] {
        let small = judge(Face::Dial(gearbox()), DiscSize::S, picture);
        let value = small[0].value.as_ref().unwrap();
        // Upright, the module is .600 of the height, and the phone's width is its shorter side.
        let module = if picture.0 > picture.1 { picture.1 } else { 0.6 * picture.1 };
        let height = 0.75 * 0.90 * 0.0310 * module * PHONE_SIDE_MM / f64::min(picture.0, picture.1);
        let expected = arc_minutes(height, PHONE_DISTANCE_MM);
        assert!((value.minutes - expected).abs() < 0.05, "{picture:?}: {value:?}, not {expected}");
        assert!(value.minutes < LEAST_MINUTES);
        assert_eq!(small[0].cure.map(|cure| cure.0), Some(DiscSize::L));
    }
}

/// A precautionary range so short that it is one block has the shape of a normal range; a longer one has not.
#[test]
fn short_ranges_in_colours_that_some_cannot_tell_apart() {
    let own = [(ColourOf::Normal, [0x8f, 0xb0, 0x32]), (ColourOf::Precaution, [0xd8, 0x98, 0x30])];
    let own = own.map(|(of, rgb)| OwnColour { of, rgb }).to_vec();
    let panel = |to: f64, colours: Vec<OwnColour>| {
        let mut dial = airspeed();
        dial.markings = vec![Marking::Normal { from: 20.0, to: 78.0 }, Marking::Precaution { from: 78.0, to }];
        Panel { colours, ..one(Face::Dial(dial), DiscSize::Xl) }
    };
    let judge = |to, colours, look: Look| alike(&panel(to, colours), (1920.0, 1080.0), look);
    let found = judge(80.0, own.clone(), Look::default());
    assert_eq!(found.len(), 1);
    assert_eq!((found[0].lower, found[0].instrument.as_str()), (Marking::Normal { from: 20.0, to: 78.0 }, "shown"));
    assert_ne!(found[0].vision, Vision::Usual);
    assert!(judge(95.0, own, Look::default()).is_empty(), "blocks are not a band");
    for theme in Theme::ALL {
        assert!(judge(80.0, Vec::new(), theme.into()).is_empty(), "{theme:?}");
    }
}
