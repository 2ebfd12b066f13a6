//! The pilot's gloved hand on the stick.

use super::moment::Moment;
use crate::draw::{Path, Point, Rgba, Scene, Segment};
use std::f64::consts::TAU;

/// The box of the drawing inside which hand and stick move.
pub(super) const BOX: (Point, Point) = ((640.0, 420.0), (1100.0, 720.0));

const GLOVE: u32 = 0x8a5f3a;
const SLEEVE: u32 = 0x39506a;

/// Where the hand is at a moment: pixels to the right and down, and degrees.
fn sway(moment: &Moment) -> (f64, f64, f64) {
    let wave = |s: f64, phase: f64| (TAU * (moment.film_s / s + phase)).sin();
    let slow = (5.0 * wave(4.7, 0.1) + 3.0 * wave(2.3, 0.4), 4.0 * wave(3.9, 0.7) + 2.0 * wave(1.7, 0.2));
    let stick = (moment.bank * 60.0, -moment.pitch * 90.0);
    let busy = (moment.engine[0] / 100.0).clamp(0.15, 1.0);
    (slow.0 * busy + stick.0 + moment.tremble(5), slow.1 * busy + stick.1 + moment.tremble(6), 0.3 * slow.0 * busy)
}

/// A finger: a bent sausage with a seam.
fn finger(scene: &mut Scene, from: Point, bend: Point, to: Point, width: f64, tone: f64) {
    let line = Path { segments: vec![Segment::Move(from), Segment::Quad(bend, to)] };
    let dark = shade(GLOVE, tone - 0.38);
    for (end, r) in [(from, width / 2.0), (to, width / 2.0)] {
        scene.fill(Path::circle(end, r + 1.4), dark);
    }
    scene.stroke(line.clone(), width + 2.8, dark);
    let body = shade(GLOVE, tone);
    for end in [from, to] {
        scene.fill(Path::circle(end, width / 2.0), body);
    }
    scene.stroke(line.clone(), width, body);
    let light = line.map(|p| (p.0 - 0.5, p.1 - 0.22 * width));
    scene.stroke(light, 0.32 * width, shade(GLOVE, tone + 0.2).at(0.65));
}

/// A colour made lighter or darker.
fn shade(hex: u32, by: f64) -> Rgba {
    let c = Rgba::opaque(hex);
    let to = if by > 0.0 { 255.0 } else { 0.0 };
    Rgba { rgb: c.rgb.map(|v| (f64::from(v) + (to - f64::from(v)) * by.abs().min(1.0)) as u8), alpha: 1.0 }
}

/// Hand and stick at a moment, in the drawing's pixels.
pub(super) fn scene(moment: &Moment) -> Scene {
    let (right, down, degrees) = sway(moment);
    let mut scene = Scene::default();
    let (sin, cos) = degrees.to_radians().sin_cos();
    let foot = (770.0, 760.0);
    let grip = move |p: Point| {
        let (x, y) = (p.0 - 800.0, p.1 - 540.0);
        (800.0 + x * cos - y * sin + right, 540.0 + x * sin + y * cos + down)
    };
    let mut hand = Scene::default();
    // The stick from the floor, its grip with a button on top.
    let neck = grip((796.0, 600.0));
    let tube = Path { segments: vec![Segment::Move(foot), Segment::Quad((776.0, 680.0), neck)] };
    scene.stroke(tube.clone(), 17.0, Rgba::opaque(0x0e0f10));
    scene.stroke(tube.map(|p| (p.0 - 3.0, p.1)), 4.0, Rgba::opaque(0x50565b));
    let body = Path::polygon(&[
        (783.0, 610.0),
        (812.0, 610.0),
        (818.0, 500.0),
        (810.0, 474.0),
        (788.0, 474.0),
        (780.0, 500.0),
    ]);
    hand.fill(body, Rgba::opaque(0x17181a));
    hand.fill(Path::circle((799.0, 478.0), 12.0), Rgba::opaque(0x202224));
    hand.fill(Path::circle((797.0, 473.0), 5.0), Rgba::opaque(0xa8342a));
    // Sleeve and wrist come from the lower right.
    let sleeve = Path {
        segments: vec![
            Segment::Move((868.0, 596.0)),
            Segment::Cubic((930.0, 628.0), (1000.0, 690.0), (1060.0, 800.0)),
            Segment::Line((930.0, 820.0)),
            Segment::Cubic((900.0, 730.0), (868.0, 680.0), (822.0, 646.0)),
            Segment::Close,
        ],
    };
    hand.fill(sleeve.clone(), Rgba::opaque(SLEEVE));
    hand.stroke(sleeve, 2.0, Rgba::opaque(0x1f2c3a));
    for (a, b, c) in
        [((880.0, 640.0), (920.0, 680.0), (952.0, 740.0)), ((905.0, 634.0), (950.0, 680.0), (990.0, 750.0))]
    {
        hand.stroke(
            Path { segments: vec![Segment::Move(a), Segment::Quad(b, c)] },
            3.0,
            Rgba::opaque(0x2a3d52).at(0.8),
        );
    }
    let back = Path {
        segments: vec![
            Segment::Move((806.0, 508.0)),
            Segment::Cubic((838.0, 494.0), (868.0, 516.0), (880.0, 556.0)),
            Segment::Cubic((888.0, 582.0), (888.0, 600.0), (874.0, 612.0)),
            Segment::Cubic((850.0, 634.0), (820.0, 630.0), (806.0, 606.0)),
            Segment::Close,
        ],
    };
    hand.stroke(back.clone(), 3.0, shade(GLOVE, -0.4));
    hand.radial(
        back,
        (836.0, 520.0),
        110.0,
        vec![(0.0, shade(GLOVE, 0.18)), (0.5, shade(GLOVE, 0.0)), (1.0, shade(GLOVE, -0.3))],
    );
    let cuff = Path { segments: vec![Segment::Move((884.0, 590.0)), Segment::Quad((868.0, 640.0), (818.0, 644.0))] };
    hand.stroke(cuff.clone(), 15.0, shade(GLOVE, -0.35));
    hand.stroke(cuff, 11.0, shade(GLOVE, -0.18));
    for (i, y) in [524.0, 549.0, 573.0, 595.0].into_iter().enumerate() {
        let out = [0.0, 3.0, 2.0, -4.0][i];
        finger(
            &mut hand,
            (842.0, y - 4.0),
            (800.0, y - 13.0),
            (776.0 - out, y + 1.0),
            22.0 - i as f64,
            0.04 - 0.05 * i as f64,
        );
    }
    // The thumb lies over the grip.
    finger(&mut hand, (846.0, 520.0), (832.0, 492.0), (808.0, 486.0), 20.0, 0.12);
    scene.append(hand.moved(grip, 1.0));
    scene
}
