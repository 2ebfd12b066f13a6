//! An owner's own font in place of B612: `fonts/boxes.ttf` and `fonts/uneven.ttf`, made by `fonts/make.py`.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a panic is how a test fails")]

mod drawing;

use drawing::{instrument, over, reading, state};
use jumpseat::draw::{DrawError, FontError, Look, Painter, Typeface, scene, svg};
use jumpseat::panel::{DiscSize, Face, Panel, Side, Tile};
use jumpseat::pixel::FrameShape;
use jumpseat::readout::{Notice, PanelState};
use jumpseat::signal::State;
use std::path::Path;
use std::process::Command;

fn font(name: &str) -> Vec<u8> {
    std::fs::read(Path::new("tests/fonts").join(name)).unwrap()
}

fn boxes() -> Look {
    Look { typeface: Typeface::new(font("boxes.ttf"), None).unwrap(), ..Look::default() }
}

fn tile(title: &str, unit: &str) -> Panel {
    let tile = Tile { channel: "c".into(), title: title.into(), unit: unit.into(), decimals: 1 };
    let instruments = vec![instrument("shown", Face::Tile(tile), DiscSize::Xl, Side::Left, 0.4, 0.4)];
    Panel { instruments, ..Panel::default() }
}

/// Columns of the picture that one text covers, from the outlines of a scene that holds nothing else of its height.
fn widths(panel: &Panel, value: f64, look: Look) -> Vec<f64> {
    let shown = state(&[reading(value, State::Measured, 0.0)], Notice::Bare);
    let picture = scene(panel, (1920.0, 1080.0), look, &shown).unwrap();
    let text = svg(1920, 1080, [&picture]);
    // Every path's extent from left to right.
    let paths = text.lines().filter_map(|line| Some(line.split_once("<path d=\"")?.1.split_once('"')?.0.to_owned()));
    let extent = |path: String| {
        let numbers: Vec<f64> = path
            .split(|c: char| c.is_ascii_alphabetic() || c == ' ')
            .filter_map(|number| number.parse().ok())
            .collect();
        let xs = numbers.iter().step_by(2);
        xs.clone().fold(f64::MIN, |a, b| a.max(*b)) - xs.fold(f64::MAX, |a, b| a.min(*b))
    };
    paths.map(extent).collect()
}

#[test]
fn every_unit_can_be_written() {
    let signs = "\u{b0}C \u{b0}F \u{b5}V \u{3bc} m\u{b2} m\u{b3} US gal/h \u{b7} % \u{2212} \u{2264} \u{2265} \u{2260} \u{2013}";
    assert_eq!(Typeface::B612.missing_glyphs(signs), Vec::<char>::new());
    for unit in ["\u{b0}C", "\u{b0}F", "US gal/h", "ft/min", "m/s", "kg/m\u{b3}", "\u{b5}V", "%", "inHg", "hPa"] {
        assert_eq!(Typeface::B612.missing_glyphs(unit), Vec::<char>::new(), "{unit}");
    }
}

#[test]
fn a_character_that_is_nowhere_is_an_error_and_an_owners_font_cures_it() {
    let panel = tile("\u{416}A", "kt");
    let shape = FrameShape::plain(1920, 1080);
    let fault = Painter::new(&panel, shape, Look::default()).err().unwrap();
    assert_eq!(fault, DrawError::Glyph { instrument: "shown".into(), key: "title", glyph: '\u{416}' });
    assert!(fault.to_string().contains("U+0416"), "{fault}");
    assert!(Painter::new(&panel, shape, boxes()).is_ok());
    // What the owner's font lacks is taken from B612.
    assert!(Painter::new(&tile("\u{416}q", "\u{b0}C"), shape, boxes()).is_ok());
}

#[test]
fn what_is_no_font_for_values_is_refused() {
    assert_eq!(Typeface::new(b"no font at all".to_vec(), None), Err(FontError::NotAFont));
    assert_eq!(Typeface::new(font("boxes.ttf"), Some(Vec::new())), Err(FontError::NotAFont));
    match Typeface::new(font("uneven.ttf"), None) {
        Err(FontError::Figures { narrow: '1', narrow_em, wide_em, .. }) => {
            assert!((wide_em / narrow_em - 1.5).abs() < 1e-3, "{narrow_em} {wide_em}");
        }
        other => panic!("{other:?}"),
    }
}

/// Pairs as `make.py` gives them: A V .120 em closer, and the same beside figures, where nothing may move.
#[test]
fn text_is_set_in_the_owners_font_and_kerned_but_for_figures() {
    let look = boxes();
    let names = |title: &str| widths(&tile(title, ""), 50.0, look);
    // The letters of a name are one path, and an A is .600 em wide.
    let widest = |title: &str, other: &str| {
        let (a, b) = (names(title), names(other));
        a.iter().zip(&b).map(|(a, b)| b - a).fold(0.0, f64::max)
    };
    let (closer, step) = (widest("AV", "AA"), widest("A", "AA"));
    assert!((closer / step - 0.120 / 0.600).abs() < 0.01, "A V is {closer:.2} closer, an A is {step:.2} wide");
    assert!(widest("A1", "AH") < 0.02 && widest("12", "11") < 0.02, "beside a figure nothing moves");
}

/// While a value changes, its other figures stay where they are.
#[test]
fn figures_keep_their_columns() {
    let columns = |value: f64| {
        let mut painter = Painter::new(&tile("", ""), FrameShape::plain(1920, 1080), boxes()).unwrap();
        let shown: PanelState = state(&[reading(value, State::Measured, 0.0)], Notice::Bare);
        let patch = painter.draw(&shown)[0].patch.clone();
        let light =
            |x: u32| (patch.place.y..patch.place.bottom()).map(|y| over(&patch, x, y, [0.0; 3])[1]).fold(0.0, f64::max);
        (patch.place.x..patch.place.right()).map(|x| (light(x) * 255.0) as u8).collect::<Vec<u8>>()
    };
    let first = columns(11.1);
    assert!(first.iter().any(|&light| light > 200));
    for value in [12.1, 21.2, 88.8] {
        assert_eq!(columns(value), first, "{value}: boxes all look the same, so nothing may change");
    }
}

#[test]
fn faults_of_fonts_in_a_panel_file() {
    let folder = tempfile::tempdir().expect("folder");
    let path = |name: &str| folder.path().join(name);
    std::fs::create_dir(path("panels")).expect("folder");
    for name in ["boxes.ttf", "uneven.ttf"] {
        std::fs::write(path(name), font(name)).expect("font");
    }
    std::fs::write(path("notes.txt"), "no font").expect("file");
    let run = |theme: &str, title: &str| {
        let text = format!(
            "[theme]\n{theme}\n[[instrument]]\nname = \"speed\"\nkind = \"tile\"\nchannel = \"air.IAS\"\ntitle = \"{title}\"\n\
             place = {{ side = \"left\", from_side = 0.3, from_bottom = 0.3, size = \"M\" }}\n"
        );
        std::fs::write(path("panels/panel.toml"), text).expect("panel");
        let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat"));
        command
            .current_dir(folder.path())
            .args("panel panels/panel.toml --width 640 --overwrite -o sheet.png".split(' '));
        let output = command.output().expect("started");
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    let cases: [(&str, &str, i32, &[&str]); 9] = [
        ("", "SPEED", 0, &["wrote"]),
        ("font = \"../boxes.ttf\"", "\u{416}", 0, &["wrote"]),
        ("font = \"../boxes.ttf\"\nbold = \"../boxes.ttf\"", "SPEED", 0, &["wrote"]),
        ("", "\u{416}", 2, &["\u{416}", "U+0416", "`title` of `speed`", "[theme] font", "[[instrument]]", "^"]),
        ("font = \"boxes.ttf\"", "SPEED", 2, &["panels/boxes.ttf", "No such file", "font = \"boxes.ttf\"", "^"]),
        ("font = \"..\"", "SPEED", 2, &["not a file"]),
        ("font = \"../notes.txt\"", "SPEED", 2, &["notes.txt is not a TrueType or OpenType font", ".otf"]),
        ("font = \"../uneven.ttf\"", "SPEED", 2, &["figures of different widths", "`1` advances", "equally wide"]),
        ("bold = \"../boxes.ttf\"", "SPEED", 2, &["companion of `font`", "add font"]),
    ];
    for (theme, title, code, words) in cases {
        let (found, said) = run(theme, title);
        assert_eq!(found, Some(code), "{theme}: {said}");
        for word in words {
            assert!(said.contains(word), "{theme} {title}: no `{word}` in\n{said}");
        }
    }
}
