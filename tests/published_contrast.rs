//! WCAG contrast of every text, hand and mark of every kind of instrument, measured in the drawn picture over white, grey and
//! black, after the formula itself agrees with `published/contrast_ratio.csv`.
//!
//! The scene says only where a letter or a mark lies. Both colours are the drawn picture's: that of the pixels wholly inside
//! it which nothing else covers, and the mean of the second and third pixels outside it, on a picture of 2160 rows, which no
//! other letter or mark covers and which lie on the instrument. So a text counts against what lies right beside its letters: its halo, where it has one.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a panic is how a test fails")]

mod drawing;

use drawing::colour::{contrast, luminance, unit};
use drawing::kinds::{Kind, NOW_S, assert_complete, every_kind};
use drawing::{instrument, lamps, lamps_state, limits, over};
use jumpseat::draw::{Item, Painter, Palette, Rgba, Scene, Theme, scene, svg};
use jumpseat::panel::{DiscSize, Panel, Side};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::{AlertShown, CaptionOf, CaptionWords, LampShown, Notice, PanelState};
use jumpseat::signal::State;
use rayon::prelude::*;
use tiny_skia::{FillRule, Mask, PathBuilder, Stroke, StrokeDash, Transform};

/// WCAG 2.2 SC 1.4.3 for text and SC 1.4.11 for graphics (`published/contrast_ratio.csv` names both).
const TEXT: f64 = 4.5;
const GRAPHIC: f64 = 3.0;
/// White, middle grey and black film.
const GROUNDS: [[f64; 3]; 3] = [[1.0; 3], [128.0 / 255.0; 3], [0.0; 3]];
/// What is laid on thinner than this is meant to be dim: grids, and cards that are not of this moment.
const INKED: f64 = 0.70;
const SIZE: (u32, u32) = (3840, 2160);

#[test]
fn the_formula_itself() {
    let text = std::fs::read_to_string("tests/published/contrast_ratio.csv").unwrap();
    let rows = text.lines().skip(2).map(|line| line.split(',').map(|cell| cell.parse().unwrap()).collect::<Vec<f64>>());
    let mut count = 0;
    for row in rows {
        let [a, b] = [0, 3].map(|i| [row[i], row[i + 1], row[i + 2]].map(|code| code / 255.0));
        let found = [luminance(a), luminance(b), contrast(a, b)];
        assert!((found[0] - row[6]).abs() < 1e-6 && (found[1] - row[7]).abs() < 1e-6, "{row:?}: {found:?}");
        assert!((found[2] - row[8]).abs() < 1e-4, "{row:?}: {found:?}");
        count += 1;
    }
    assert_eq!(count, 20);
}

/// One outline of the scene.
struct Shape {
    is_text: bool,
    /// A letter or a mark; the others only lie over some.
    counts: bool,
    colour: [f64; 3],
    opacity: f64,
    mask: Window,
}

/// Coverage of a part of the frame.
struct Window {
    x: u32,
    y: u32,
    width: usize,
    height: usize,
    values: Vec<u8>,
}

/// Clear pixels kept round a shape.
const MARGIN: u32 = 6;

fn attribute<'a>(element: &'a str, name: &str) -> Option<&'a str> {
    let from = element.find(&format!(" {name}=\""))? + name.len() + 3;
    Some(&element[from..from + element[from..].find('"')?])
}

/// An SVG outline as a path: the letters M, L, Q, C and Z in absolute coordinates.
fn path(data: &str) -> Option<tiny_skia::Path> {
    let mut builder = PathBuilder::new();
    let letters = data.match_indices(|c: char| c.is_ascii_alphabetic()).map(|(i, _)| i);
    let starts: Vec<usize> = letters.chain([data.len()]).collect();
    for part in starts.windows(2).map(|w| &data[w[0]..w[1]]) {
        let numbers: Vec<f32> = part[1..].split_whitespace().map(|n| n.parse().unwrap()).collect();
        match (&part[..1], &numbers[..]) {
            ("M", &[x, y]) => builder.move_to(x, y),
            ("L", &[x, y]) => builder.line_to(x, y),
            ("Q", &[a, b, x, y]) => builder.quad_to(a, b, x, y),
            ("C", &[a, b, c, d, x, y]) => builder.cubic_to(a, b, c, d, x, y),
            ("Z", &[]) => builder.close(),
            other => panic!("{other:?} in an outline"),
        }
    }
    builder.finish()
}

fn window(path: &tiny_skia::Path) -> Option<Window> {
    let bounds = path.bounds();
    let (x, y) = (bounds.left().max(8.0) as u32 - MARGIN, bounds.top().max(8.0) as u32 - MARGIN);
    let (width, height) = (bounds.right() as u32 + MARGIN + 2 - x, bounds.bottom() as u32 + MARGIN + 2 - y);
    let mut mask = Mask::new(width, height)?;
    mask.fill_path(path, FillRule::Winding, true, Transform::from_translate(-(x as f32), -(y as f32)));
    Some(Window { x, y, width: width as usize, height: height as usize, values: mask.data().to_vec() })
}

/// The outlines of a scene; letters and marks are those in one of the colours that say something.
fn shapes(scene: &Scene, palette: &Palette) -> Vec<Shape> {
    let rgb = |colour: Rgba| unit(colour.rgb);
    let marks =
        [palette.ink, palette.ink2, palette.hand2, palette.green, palette.amber, palette.red, palette.cyan].map(rgb);
    let mut shapes = Vec::new();
    for item in &scene.items {
        let is_text = matches!(item, Item::Text(_));
        let alone = Scene { items: vec![item.clone()] };
        for element in svg(SIZE.0, SIZE.1, [&alone]).lines().filter(|line| line.starts_with("<path")) {
            let stroked = attribute(element, "fill") == Some("none");
            let paint = if stroked { "stroke" } else { "fill" };
            let Some(hex) = attribute(element, paint).and_then(|c| c.strip_prefix('#')) else { continue };
            let colour = [0, 2, 4].map(|i| f64::from(u8::from_str_radix(&hex[i..i + 2], 16).unwrap()) / 255.0);
            let opacity = attribute(element, &format!("{paint}-opacity")).map_or(1.0, |o| o.parse().unwrap());
            // The first outline of a text is its halo.
            let halo = is_text && colour == rgb(palette.casing);
            let counts = opacity >= INKED && !halo && (is_text || marks.contains(&colour));
            let Some(mut outline) = attribute(element, "d").and_then(path) else { continue };
            if stroked {
                let width = attribute(element, "stroke-width").unwrap().parse().unwrap();
                let dash = attribute(element, "stroke-dasharray")
                    .map(|dash| StrokeDash::new(dash.split(' ').map(|n| n.parse().unwrap()).collect(), 0.0).unwrap());
                let dashed = dash.and_then(|dash| outline.dash(&dash, 1.0));
                let line = Stroke { width, ..Stroke::default() };
                let Some(stroked) = dashed.as_ref().unwrap_or(&outline).stroke(&line, 1.0) else { continue };
                outline = stroked;
            }
            let Some(mask) = window(&outline) else { continue };
            shapes.push(Shape { is_text, counts, colour, opacity, mask });
        }
    }
    shapes
}

/// Everything within so many pixels of what is covered.
fn grown(window: &Window, times: usize) -> Vec<bool> {
    let mut covered: Vec<bool> = window.values.iter().map(|&v| v > 0).collect();
    for _ in 0..times {
        let before = covered.clone();
        for y in 1..window.height - 1 {
            for x in 1..window.width - 1 {
                let i = y * window.width + x;
                let beside = [i - 1, i + 1, i - window.width, i + window.width];
                covered[i] = before[i] || beside.into_iter().any(|j| before[j]);
            }
        }
    }
    covered
}

/// The least contrast of a shape over the three grounds; none where the picture shows nothing of it.
fn measured(shape: &Shape, all: &[Shape], patch: &Patch) -> Option<f64> {
    let window = &shape.mask;
    let inside = |i: usize| {
        let (x, y) = (window.x + (i % window.width) as u32, window.y + (i / window.width) as u32);
        let place = patch.place;
        let holds = (place.x..place.right()).contains(&x) && (place.y..place.bottom()).contains(&y);
        holds.then_some((x, y))
    };
    let over_it: Vec<&Shape> = all.iter().skip_while(|other| !std::ptr::eq(*other, shape)).collect();
    let beside_it: Vec<&Shape> = all.iter().filter(|other| other.counts).collect();
    let free_of = |others: &[&Shape], (x, y): (u32, u32)| {
        others.iter().filter(|other| !std::ptr::eq(**other, shape)).map(|other| &other.mask).all(|w| {
            let (Some(column), Some(row)) = (x.checked_sub(w.x), y.checked_sub(w.y)) else { return true };
            let (column, row) = (column as usize, row as usize);
            column >= w.width || row >= w.height || w.values[row * w.width + column] == 0
        })
    };
    // The instrument's own ground, not the bare film beside a mark on its edge.
    let dense = |(x, y): (u32, u32)| {
        let (column, row) = (x - patch.place.x, y - patch.place.y);
        patch.rgba[4 * (row * patch.place.width + column) as usize + 3] >= 128
    };
    // What the picture shows of the shape itself: nothing lies over it.
    let shown = |at: (u32, u32)| {
        let seen = over(patch, at.0, at.1, [0.0; 3]);
        shape.opacity < 1.0 || (0..3).all(|c| (seen[c] - shape.colour[c]).abs() < 0.02)
    };
    let core: Vec<(u32, u32)> = (0..window.values.len())
        .filter(|&i| window.values[i] == 255)
        .filter_map(inside)
        .filter(|at| shown(*at) && free_of(&over_it, *at))
        .collect();
    let (near, far) = (grown(window, 1), grown(window, 3));
    let ring: Vec<(u32, u32)> = (0..near.len())
        .filter(|&i| far[i] && !near[i])
        .filter_map(inside)
        .filter(|at| free_of(&beside_it, *at) && dense(*at))
        .collect();
    if core.len() < 12 || ring.len() < 12 {
        return None;
    }
    let mean = |of: &[(u32, u32)], ground: [f64; 3]| {
        let sum = of.iter().fold([0.0; 3], |sum, at| {
            let px = over(patch, at.0, at.1, ground);
            [0, 1, 2].map(|c| sum[c] + px[c])
        });
        sum.map(|v| v / of.len() as f64)
    };
    GROUNDS.into_iter().map(|ground| contrast(mean(&core, ground), mean(&ring, ground))).reduce(f64::min)
}

/// Every text and mark of a panel's first picture that falls short.
fn faults(name: &str, panel: &Panel, state: &PanelState, theme: Theme) -> (usize, Vec<String>) {
    let mut painter = Painter::new(panel, FrameShape::plain(SIZE.0, SIZE.1), theme).unwrap();
    let patch = painter.draw(state)[0].patch.clone();
    let scene = scene(panel, (f64::from(SIZE.0), f64::from(SIZE.1)), theme, state).unwrap();
    let width = patch.place.width as usize;
    let all = shapes(&scene, theme.palette());
    // The edge of a disc or plate is no mark.
    let marks = all.iter().filter(|shape| shape.counts && (shape.mask.width < width * 17 / 20 || shape.is_text));
    let found: Vec<(&Shape, f64)> = marks.filter_map(|shape| Some((shape, measured(shape, &all, &patch)?))).collect();
    let short = found.iter().filter(|(shape, contrast)| *contrast < if shape.is_text { TEXT } else { GRAPHIC });
    let say = |(shape, contrast): &(&Shape, f64)| {
        let Window { x, y, width, height, .. } = shape.mask;
        let [r, g, b] = shape.colour.map(|c| (c * 255.0).round());
        let kind = if shape.is_text { "text" } else { "mark" };
        let at = (x - patch.place.x, y - patch.place.y);
        format!("{name}, {theme:?}: a {kind} of {r} {g} {b} at {at:?}, {width} x {height}: {contrast:.2}")
    };
    (found.len(), short.map(say).collect())
}

#[test]
fn every_text_and_mark_over_every_film() {
    let kinds = every_kind();
    assert_complete(&kinds);
    let states =
        [("measured", State::Measured), ("derived", State::Derived), ("held", State::Held), ("stale", State::Stale)];
    let states = [&states[..], &[("saturated", State::SaturatedHigh)]].concat();
    let mut jobs: Vec<(String, Panel, PanelState)> = Vec::new();
    for kind in &kinds {
        let one = |kind: &Kind| {
            let it = instrument(kind.name, kind.face.clone(), DiscSize::M, Side::Centre, 0.0, 0.5);
            Panel { instruments: vec![it], ..Panel::default() }
        };
        for (name, state) in &states {
            if !(kind.is_text() && matches!(state, State::SaturatedHigh)) {
                let shown = PanelState {
                    instruments: vec![kind.all(*state, 0.6)],
                    notice: Notice::Bare,
                    session_s: NOW_S,
                    ..PanelState::default()
                };
                jobs.push((format!("{} {name}", kind.name), one(kind), shown));
            }
        }
    }
    let row = Panel { lamps: lamps(), limits: limits(), ..Panel::default() };
    use LampShown::{Disagree, Lit, Stale, Unlit};
    for (name, groups) in [
        ("lit lamps", [Lit(0), Lit(2), Lit(3), Lit(4)]),
        ("more lamps", [Unlit, Stale { age_s: 9.4 }, Disagree, Lit(5)]),
        ("advisory", [Unlit, Unlit, Unlit, Lit(6)]),
    ] {
        let lamps = lamps_state(groups, [AlertShown::Off; 6]);
        jobs.push((name.to_owned(), row.clone(), PanelState { lamps, notice: Notice::Bare, ..PanelState::default() }));
    }
    let talking = Panel { captions: true, ..Panel::default() };
    for of in [CaptionOf::Warning, CaptionOf::Caution, CaptionOf::Note, CaptionOf::Advisory, CaptionOf::Part] {
        let lines = vec!["EGT above 640 \u{b0}C: 667 \u{b0}C,".to_owned(), "for at least 1 min 19.5 s".to_owned()];
        let caption = Some(std::sync::Arc::new(CaptionWords { of, lines }));
        let shown = PanelState { caption, notice: Notice::Bare, ..PanelState::default() };
        jobs.push((format!("caption {of:?}"), talking.clone(), shown));
    }
    let jobs: Vec<_> = jobs.iter().flat_map(|job| Theme::ALL.map(|theme| (job, theme))).collect();
    let results: Vec<(usize, Vec<String>)> =
        jobs.par_iter().map(|((name, panel, state), theme)| faults(name, panel, state, *theme)).collect();
    let count: usize = results.iter().map(|(count, _)| count).sum();
    println!("{count} texts and marks");
    assert!(count > 3000, "{count} texts and marks");
    let faults: Vec<String> = results.into_iter().flat_map(|(_, faults)| faults).collect();
    assert!(faults.is_empty(), "{} fall short:\n{}", faults.len(), faults.join("\n"));
}
