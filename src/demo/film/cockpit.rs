//! The cockpit round the camera: door posts, bow, glareshield and panel, and the light that falls on them.

use super::dials;
use crate::draw::{Path, Point, Rect, Rgba, Scene, Segment, label};

const DARK: Rgba = Rgba::opaque(0x16181a);

/// A closed outline: a start, then curves (two control points, end).
fn outline(start: Point, curves: &[(Point, Point, Point)]) -> Path {
    let mut path = Path { segments: vec![Segment::Move(start)] };
    path.segments.extend(curves.iter().map(|&(a, b, c)| Segment::Cubic(a, b, c)));
    path.segments.push(Segment::Close);
    path
}

fn straight(from: Point, to: Point) -> (Point, Point, Point) {
    (from, to, to)
}

/// A door post; `mirror` puts it on the right.
fn post(scene: &mut Scene, mirror: bool) {
    let side = |p: Point| if mirror { (1280.0 - p.0, p.1) } else { p };
    // Drawn far beyond the frame, for films of another shape.
    let body = outline(
        (214.0, -900.0),
        &[
            straight((214.0, -900.0), (214.0, -20.0)),
            ((150.0, 150.0), (86.0, 330.0), (60.0, 760.0)),
            straight((60.0, 760.0), (6.0, 760.0)),
            ((24.0, 330.0), (86.0, 150.0), (158.0, -20.0)),
            straight((158.0, -20.0), (158.0, -900.0)),
        ],
    );
    scene.fill(body.map(side), DARK);
    let edge = Path {
        segments: vec![Segment::Move((209.0, -20.0)), Segment::Cubic((146.0, 150.0), (82.0, 330.0), (56.0, 760.0))],
    };
    scene.stroke(edge.map(side), 3.0, Rgba::opaque(0x4e555b).at(0.75));
    let middle = Path {
        segments: vec![Segment::Move((186.0, -20.0)), Segment::Cubic((120.0, 150.0), (56.0, 330.0), (34.0, 760.0))],
    };
    scene.stroke(middle.map(side), 16.0, Rgba::opaque(0x2b3034).at(0.8));
    for (x, y) in [(163.0, 60.0), (112.0, 190.0), (76.0, 330.0), (52.0, 490.0)] {
        dials::screw(scene, side((x, y)), 3.0, 50.0);
    }
}

/// The bow above the windscreen, at the upper edge of the film.
fn bow(scene: &mut Scene, above: f64) {
    let body = outline(
        (-900.0, -900.0),
        &[
            straight((-900.0, -900.0), (2180.0, -900.0)),
            straight((2180.0, -900.0), (2180.0, 40.0)),
            straight((2180.0, 40.0), (1280.0, 40.0)),
            ((1060.0, 6.0), (820.0, 0.0), (640.0, 0.0)),
            ((460.0, 0.0), (220.0, 6.0), (0.0, 40.0)),
            straight((0.0, 40.0), (-900.0, 40.0)),
        ],
    );
    scene.fill(body.map(|p| (p.0, p.1 - above)), DARK);
}

/// Glareshield and panel.
fn panel(scene: &mut Scene) {
    let shield = outline(
        (318.0, 1000.0),
        &[
            straight((318.0, 1000.0), (340.0, 450.0)),
            ((346.0, 372.0), (362.0, 332.0), (430.0, 326.0)),
            ((540.0, 318.0), (740.0, 318.0), (850.0, 326.0)),
            ((918.0, 332.0), (934.0, 372.0), (940.0, 450.0)),
            straight((940.0, 450.0), (962.0, 1000.0)),
        ],
    );
    scene.radial(
        shield,
        (600.0, 150.0),
        640.0,
        vec![
            (0.0, Rgba::opaque(0x494c4d)),
            (0.36, Rgba::opaque(0x34373a)),
            (0.6, Rgba::opaque(0x1c1e20)),
            (1.0, Rgba::opaque(0x121314)),
        ],
    );
    let rim = Path {
        segments: vec![
            Segment::Move((343.0, 440.0)),
            Segment::Cubic((349.0, 376.0), (364.0, 335.0), (431.0, 328.5)),
            Segment::Cubic((541.0, 320.5), (739.0, 320.5), (849.0, 328.5)),
            Segment::Cubic((916.0, 335.0), (931.0, 376.0), (937.0, 440.0)),
        ],
    };
    scene.stroke(rim, 2.2, Rgba::opaque(0x8a9094).at(0.5));
    // The plate that carries the dials, in crackle paint.
    let plate = Rect { left: 378.0, top: 341.0, right: 902.0, bottom: 620.0 };
    scene.fill(Path::rounded(plate.grown(3.0), 15.0), Rgba::opaque(0x0d0e0f));
    scene.radial(
        Path::rounded(plate, 12.0),
        (560.0, 330.0),
        520.0,
        vec![(0.0, Rgba::opaque(0x45494d)), (0.5, Rgba::opaque(0x34383b)), (1.0, Rgba::opaque(0x232629))],
    );
    let mut chance = super::super::flight::Chance::new(11);
    for _ in 0..2600 {
        let at = (chance.between(379.0, 901.0), chance.between(362.0, 619.0));
        let light = chance.next().is_multiple_of(2);
        let speck = if light { Rgba::opaque(0xffffff).at(0.045) } else { Rgba::opaque(0).at(0.10) };
        scene.fill(Path::circle(at, chance.between(0.5, 1.2)), speck);
    }
    scene.stroke(Path::rounded(plate.grown(-1.2), 11.0), 1.2, Rgba::opaque(0x787d81).at(0.35));
    for (x, y) in [(389.0, 351.0), (891.0, 351.0), (389.0, 608.0), (891.0, 608.0)] {
        dials::screw(scene, (x, y), 3.6, x + y);
    }
    let print = Rgba::opaque(0xd8d6cd);
    label(scene, "DUNLIN", (640.0, 548.0), 9.0, print);
    for (i, text) in ["BATT", "GEN", "FUEL", "IGN", "CLUTCH", "LIGHT"].iter().enumerate() {
        let x = 640.0 + (i as f64 - 2.5) * 78.0;
        scene.fill(Path::circle((x, 578.0), 8.5), Rgba::opaque(0x101112));
        scene.radial(
            Path::circle((x, 578.0), 7.0),
            (x - 2.0, 575.0),
            10.0,
            vec![(0.0, Rgba::opaque(0xb9bcbe)), (1.0, Rgba::opaque(0x54585b))],
        );
        let lever = Rect::centred((x, 572.0), 5.0, 15.0);
        scene.fill(Path::rounded(lever, 2.5), Rgba::opaque(0xd6d8d8));
        label(scene, text, (x, 597.0), 7.0, print);
    }
}

/// Everything of the cockpit that never moves, in the drawing's pixels, for a film that is `above` higher.
pub(super) fn fixed(above: f64) -> Scene {
    let mut scene = Scene::default();
    bow(&mut scene, above);
    post(&mut scene, false);
    post(&mut scene, true);
    panel(&mut scene);
    dials::faces(&mut scene);
    scene
}
