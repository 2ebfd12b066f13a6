//! Panels whose instruments stand in slots: no two overlap in any shape of picture, and what has no room is named.
#![allow(clippy::expect_used, reason = "a test stops at the first thing that is not as it must be")]

use jumpseat::draw::{Painter, Theme, faults};
use jumpseat::keyfile::Document;
use jumpseat::panel::{Density, Panel, file};
use jumpseat::pixel::FrameShape;
use jumpseat::readout::PanelState;
use std::fmt::Write;
use std::path::Path;

const SHAPES: [(u32, u32); 6] = [(1920, 1080), (3840, 2160), (640, 360), (1440, 1080), (1080, 1920), (1080, 1080)];

fn panel(slots: &[(&str, &str)], lamps: usize, density: &str) -> Panel {
    let mut text = format!("[layout]\ndensity = \"{density}\"\n");
    for (i, (slot, size)) in slots.iter().enumerate() {
        let kind = if *slot == "foot" { "tile" } else { "dial" };
        let size = if size.starts_with('0') { (*size).to_owned() } else { format!("\"{size}\"") };
        writeln!(
            text,
            "[[instrument]]\nname = \"i{i}\"\nkind = \"{kind}\"\nchannel = \"a\"\nplace = {{ slot = \"{slot}\", size = {size} }}"
        )
        .expect("text");
        if kind == "dial" {
            text += "scale.breakpoints = [[0, -120], [10, 120]]\nscale.ticks = { long = 5 }\n";
        }
    }
    for i in 0..lamps {
        writeln!(
            text,
            "[[lamp]]\nname = \"l{i}\"\nchannel = \"l{i}\"\nsubject = \"L{i}\"\nlit = \"ON\"\nseverity = \"caution\""
        )
        .expect("text");
    }
    let read = file::read(Document::of(Path::new("panel.toml"), text));
    assert!(read.faults.is_empty(), "{:?}", read.faults);
    read.panel
}

fn refused(panel: &Panel, (width, height): (u32, u32)) -> Vec<String> {
    faults(panel, FrameShape::plain(width, height), Theme::Graphite).iter().map(ToString::to_string).collect()
}

const BOWL: [(&str, &str); 9] = [
    ("left", "XL"),
    ("left", "L"),
    ("left", "M"),
    ("right", "XL"),
    ("right", "L"),
    ("right", "M"),
    ("inner left", "M"),
    ("foot", "M"),
    ("foot", "M"),
];

#[test]
fn one_panel_stands_in_every_shape_of_picture() {
    for shape in SHAPES {
        for lamps in [0, 4, 6] {
            assert_eq!(refused(&panel(&BOWL, lamps, "house"), shape), [""; 0], "{shape:?}, {lamps} lamps");
        }
    }
    let phone = &BOWL[..8];
    for shape in [(1920, 1080), (1280, 720), (1080, 1920)] {
        assert_eq!(refused(&panel(phone, 4, "phone"), shape), [""; 0], "{shape:?}");
    }
}

/// A panel for phones is drawn 1.18 times as large as one for monitors.
#[test]
fn a_panel_for_phones_is_larger() {
    let width = |density| {
        let one = panel(&BOWL[..1], 0, density);
        let mut painter = Painter::new(&one, FrameShape::plain(1920, 1080), Theme::Graphite).expect("painter");
        f64::from(painter.draw(&PanelState::default())[0].patch.place.width)
    };
    let (house, phone) = (width("house"), width("phone"));
    assert!((phone / house - 1.18).abs() < 0.02, "{house} and {phone}");
    assert_eq!(panel(&[], 0, "phone").density, Density::Phone);
}

#[test]
fn what_has_no_room_is_named() {
    let many = panel(&[("left", "XL"); 7], 0, "house");
    let said = refused(&many, (1920, 1080)).join("\n");
    assert!(said.contains("no room for `i6` in its slot"), "{said}");
    let mut wrong = panel(&BOWL, 0, "house");
    wrong.instruments[8].place = wrong.instruments[0].place;
    let said = refused(&wrong, (1920, 1080)).join("\n");
    assert!(said.contains("`i8` is a plate"), "{said}");
    let own = panel(&[("left", "0.28"), ("left", "0.2"), ("left", "0.2"), ("right", "0.45")], 0, "house");
    assert_eq!(refused(&own, (1920, 1080)), [""; 0]);
}
