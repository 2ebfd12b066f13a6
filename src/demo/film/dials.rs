//! The Dunlin's own dials, screwed into its panel: dark cases, white print, straight pointers that follow the truth.

use super::moment::Moment;
use crate::draw::{Path, Point, Rgba, Scene, label, polar};

/// A straight pointer: what it shows, its length in radii, and its colour.
struct Pointer {
    value: fn(&Moment) -> f64,
    /// Value to degrees: from, to.
    values: (f64, f64),
    length: f64,
    colour: u32,
}

/// One dial.
struct Dial {
    centre: Point,
    radius: f64,
    title: &'static str,
    /// Degrees clockwise from twelve o'clock at the first and the last value of every pointer.
    angles: (f64, f64),
    /// A pointer goes round and round instead of stopping at the ends.
    round: bool,
    /// Long ticks, and short ticks from one to the next.
    ticks: (u32, u32),
    numerals: &'static [&'static str],
    /// Where the red line stands, as a fraction of the scale.
    red: Option<f64>,
    green: Option<(f64, f64)>,
    pointers: &'static [Pointer],
}

const WHITE: u32 = 0xf1f0ea;
const UPPER_Y: f64 = 411.0;
const LOWER_Y: f64 = 501.0;
/// The row of lamps above the dials.
const LAMP_Y: f64 = 354.0;

const fn upper(i: u32) -> Point {
    (640.0 + (i as f64 - 2.0) * 102.0, UPPER_Y)
}

const fn lower(i: u32) -> Point {
    (640.0 + (i as f64 - 2.5) * 84.0, LOWER_Y)
}

const fn pointer(value: fn(&Moment) -> f64, from: f64, to: f64) -> Pointer {
    Pointer { value, values: (from, to), length: 0.80, colour: WHITE }
}

const SMALL: (f64, f64) = (-125.0, 125.0);

/// All dials, from left to right, the upper row first.
const DIALS: [Dial; 11] = [
    Dial {
        centre: upper(0),
        radius: 42.0,
        title: "AIRSPEED",
        angles: (-150.0, 150.0),
        round: false,
        ticks: (6, 4),
        numerals: &["0", "20", "40", "60", "80", "100", "120"],
        red: Some(105.0 / 120.0),
        green: None,
        pointers: &[pointer(|m| m.air[0], 0.0, 120.0)],
    },
    Dial {
        centre: upper(1),
        radius: 42.0,
        title: "% RPM",
        angles: (-150.0, 150.0),
        round: false,
        ticks: (6, 4),
        numerals: &["0", "20", "40", "60", "80", "100", "120"],
        red: Some(106.0 / 120.0),
        green: Some((97.0 / 120.0, 103.0 / 120.0)),
        pointers: &[
            Pointer { value: |m| m.engine[1], values: (0.0, 120.0), length: 0.56, colour: 0xe8b23a },
            pointer(|m| m.engine[0], 0.0, 120.0),
        ],
    },
    Dial {
        centre: upper(2),
        radius: 42.0,
        title: "ALT",
        angles: (0.0, 360.0),
        round: true,
        ticks: (10, 5),
        numerals: &["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"],
        red: None,
        green: None,
        pointers: &[
            Pointer { value: |m| m.air[1], values: (0.0, 10_000.0), length: 0.46, colour: WHITE },
            pointer(|m| m.air[1], 0.0, 1000.0),
        ],
    },
    Dial {
        centre: upper(3),
        radius: 42.0,
        title: "CLIMB",
        angles: (-240.0, 60.0),
        round: false,
        ticks: (8, 2),
        numerals: &["", "15", "10", "5", "0", "5", "10", "15", ""],
        red: None,
        green: None,
        pointers: &[pointer(|m| m.air[3], -2000.0, 2000.0)],
    },
    Dial {
        centre: upper(4),
        radius: 42.0,
        title: "EGT",
        angles: (-140.0, 140.0),
        round: false,
        ticks: (8, 2),
        numerals: &["0", "1", "2", "3", "4", "5", "6", "7", "8"],
        red: Some(0.9),
        green: Some((0.5, 0.8125)),
        pointers: &[pointer(|m| m.engine[6], 0.0, 800.0)],
    },
    Dial {
        centre: lower(0),
        radius: 31.0,
        title: "OIL P",
        angles: SMALL,
        round: false,
        ticks: (5, 2),
        numerals: &["0", "20", "40", "60", "80", "100"],
        red: Some(0.25),
        green: Some((0.4, 0.75)),
        pointers: &[pointer(|m| m.engine[3], 0.0, 100.0)],
    },
    Dial {
        centre: lower(1),
        radius: 31.0,
        title: "OIL T",
        angles: SMALL,
        round: false,
        ticks: (6, 2),
        numerals: &["0", "", "40", "", "80", "", "120"],
        red: Some(110.0 / 120.0),
        green: Some((40.0 / 120.0, 100.0 / 120.0)),
        pointers: &[pointer(|m| m.engine[4], 0.0, 120.0)],
    },
    Dial {
        centre: lower(2),
        radius: 31.0,
        title: "GEAR T",
        angles: SMALL,
        round: false,
        ticks: (6, 2),
        numerals: &["0", "", "40", "", "80", "", "120"],
        red: Some(105.0 / 120.0),
        green: Some((20.0 / 120.0, 95.0 / 120.0)),
        pointers: &[pointer(|m| m.engine[5], 0.0, 120.0)],
    },
    Dial {
        centre: lower(3),
        radius: 31.0,
        title: "FLOW",
        angles: SMALL,
        round: false,
        ticks: (4, 4),
        numerals: &["0", "4", "8", "12", "16"],
        red: Some(15.0 / 16.0),
        green: None,
        pointers: &[pointer(|m| m.engine[2], 0.0, 16.0)],
    },
    Dial {
        centre: lower(4),
        radius: 31.0,
        title: "FUEL",
        angles: SMALL,
        round: false,
        ticks: (4, 2),
        numerals: &["E", "", "1/2", "", "F"],
        red: Some(0.1),
        green: None,
        pointers: &[pointer(|m| m.engine[7], 0.0, 16.0)],
    },
    Dial {
        centre: lower(5),
        radius: 31.0,
        title: "VOLTS",
        angles: SMALL,
        round: false,
        ticks: (4, 4),
        numerals: &["16", "20", "24", "28", "32"],
        red: None,
        green: Some((0.625, 0.8125)),
        pointers: &[pointer(|m| m.engine[8], 16.0, 32.0)],
    },
];

/// The lamps: what is printed on them, their place along the row, the colour of their light, whether they are lit.
type Lamp = (&'static str, f64, u32, fn(&Moment) -> bool);
const LAMPS: [Lamp; 5] = [
    ("LOW ROTOR", 456.0, 0xff5a3c, |m| m.engine[9] > 0.5),
    ("HIGH ROTOR", 548.0, 0xff5a3c, |m| m.engine[10] > 0.5),
    ("CHARGE", 640.0, 0xffb52e, |m| m.engine[11] > 0.5),
    ("CHIP", 732.0, 0xffb52e, |m| m.engine[12] > 0.5),
    ("CLUTCH", 824.0, 0xffb52e, |m| m.engine[14] > 0.5),
];
const LAMP_SIZE: (f64, f64) = (62.0, 13.0);

fn black(alpha: f32) -> Rgba {
    Rgba::opaque(0).at(alpha)
}

impl Dial {
    fn degrees(&self, part: f64) -> f64 {
        self.angles.0 + part * (self.angles.1 - self.angles.0)
    }

    /// Case, face and print: what never moves.
    fn face(&self, scene: &mut Scene) {
        let (c, r) = (self.centre, self.radius);
        let case = 1.16 * r;
        // The case throws a shadow and catches light on its upper left edge.
        scene.radial(
            Path::circle((c.0 + 2.0, c.1 + 3.0), 1.3 * r),
            (c.0 + 2.0, c.1 + 3.0),
            1.3 * r,
            vec![(0.0, black(0.75)), (0.86, black(0.6)), (1.0, black(0.0))],
        );
        let rim = |grey: u32| Rgba::opaque(grey);
        scene.radial(
            Path::circle(c, case),
            (c.0 - 0.45 * r, c.1 - 0.6 * r),
            1.9 * r,
            vec![(0.0, rim(0x6c7074)), (0.45, rim(0x3a3d40)), (1.0, rim(0x151618))],
        );
        scene.stroke(Path::arc(c, case - 0.6, -95.0, 35.0), 1.1, Rgba::opaque(0xa9adb0).at(0.55));
        scene.fill(Path::circle(c, 1.02 * r), black(0.9));
        let dark = |grey: u32| Rgba::opaque(grey);
        scene.radial(
            Path::circle(c, r),
            c,
            r,
            vec![(0.0, dark(0x17181a)), (0.75, dark(0x121315)), (1.0, dark(0x08090a))],
        );
        let span = if self.round { 360.0 } else { self.angles.1 - self.angles.0 };
        if let Some((from, to)) = self.green {
            scene.stroke(
                Path::arc(c, 0.91 * r, self.degrees(from), self.degrees(to)),
                0.075 * r,
                Rgba::opaque(0x3f9d58),
            );
        }
        let (long, short) = self.ticks;
        let all = long * short;
        for i in 0..=all {
            if self.round && i == all {
                break;
            }
            let degrees = self.angles.0 + span * f64::from(i) / f64::from(all);
            let (inner, width) = if i % short == 0 { (0.78, 0.045) } else { (0.86, 0.026) };
            let tick = Path::polyline(&[polar(c, inner * r, degrees), polar(c, 0.95 * r, degrees)]);
            scene.stroke(tick, width * r, Rgba::opaque(WHITE));
        }
        if let Some(red) = self.red {
            let degrees = self.degrees(red);
            let line = Path::polyline(&[polar(c, 0.74 * r, degrees), polar(c, 0.98 * r, degrees)]);
            scene.stroke(line, 0.08 * r, Rgba::opaque(0xe0402c));
        }
        for (i, text) in self.numerals.iter().enumerate() {
            let degrees = self.angles.0 + span * i as f64 / f64::from(long);
            label(scene, text, polar(c, 0.62 * r, degrees), 0.20 * r, Rgba::opaque(WHITE));
        }
        // Where no numeral stands.
        let below = if self.round {
            -0.30
        } else if span > 280.0 {
            0.28
        } else {
            0.44
        };
        label(scene, self.title, (c.0, c.1 + below * r), 0.15 * r, Rgba::opaque(0xc9c8c2));
        for degrees in [45.0, 135.0, 225.0, 315.0] {
            screw(scene, polar(c, 1.40 * r, degrees), 0.075 * r + 0.6, 37.0 * degrees);
        }
    }

    /// The pointers, over the face.
    fn pointers(&self, scene: &mut Scene, moment: &Moment) {
        let (c, r) = (self.centre, self.radius);
        for pointer in self.pointers {
            let part = ((pointer.value)(moment) - pointer.values.0) / (pointer.values.1 - pointer.values.0);
            let degrees = self.degrees(if self.round { part.rem_euclid(1.0) } else { part.clamp(-0.02, 1.02) });
            let bar = |shift: f64, wide: f64| {
                let c = (c.0 + 0.7 * shift, c.1 + shift);
                let (tip, neck, tail) = (pointer.length * r, (pointer.length - 0.14) * r, 0.22 * r);
                let (sin, cos) = degrees.to_radians().sin_cos();
                let at = |side: f64, far: f64| (c.0 + far * sin + side * cos, c.1 - far * cos + side * sin);
                let w = wide * r;
                Path::polygon(&[
                    at(-w, -tail),
                    at(w, -tail),
                    at(w, neck),
                    at(0.25 * w, tip),
                    at(-0.25 * w, tip),
                    at(-w, neck),
                ])
            };
            scene.fill(bar(1.6, 0.05), black(0.5));
            scene.fill(bar(0.0, 0.042), Rgba::opaque(pointer.colour));
        }
        scene.fill(Path::circle(c, 0.13 * r), Rgba::opaque(0x2a2c2e));
        scene.stroke(Path::arc(c, 0.12 * r, -100.0, 40.0), 0.8, Rgba::opaque(0x8a8d90));
        // Glass catches a little of the sky.
        scene.stroke(Path::arc(c, 0.9 * r, -62.0, -22.0), 0.07 * r, Rgba::opaque(0xdfeaf2).at(0.10));
    }
}

/// A slotted screw.
pub(super) fn screw(scene: &mut Scene, at: Point, r: f64, degrees: f64) {
    scene.fill(Path::circle((at.0 + 0.5, at.1 + 0.8), 1.1 * r), black(0.6));
    scene.radial(
        Path::circle(at, r),
        (at.0 - 0.4 * r, at.1 - 0.4 * r),
        1.6 * r,
        vec![(0.0, Rgba::opaque(0x9b9ea0)), (1.0, Rgba::opaque(0x3d4043))],
    );
    let slot = Path::polyline(&[polar(at, 0.8 * r, degrees), polar(at, 0.8 * r, degrees + 180.0)]);
    scene.stroke(slot, 0.35 * r, black(0.8));
}

/// Everything of dials and lamps that never moves.
pub(super) fn faces(scene: &mut Scene) {
    for dial in &DIALS {
        dial.face(scene);
    }
    for (text, x, colour, _) in LAMPS {
        lamp(scene, text, x, colour, false);
    }
}

fn lamp(scene: &mut Scene, text: &str, x: f64, colour: u32, lit: bool) {
    let (wide, tall) = LAMP_SIZE;
    let at = (x, LAMP_Y);
    let body = crate::draw::Rect::centred(at, wide, tall);
    if lit {
        let c = Rgba::opaque(colour);
        let glow = 0.75 * wide;
        scene.radial(Path::circle(at, glow), at, glow, vec![(0.0, c.at(0.55)), (0.5, c.at(0.2)), (1.0, c.at(0.0))]);
        scene.fill(Path::rounded(body, 2.0), c);
        let bright = Rgba::opaque(0xfff3d0);
        scene.radial(
            Path::rounded(body.grown(-1.0), 2.0),
            at,
            0.5 * wide,
            vec![(0.0, bright.at(0.75)), (1.0, bright.at(0.0))],
        );
        label(scene, text, at, 7.0, Rgba::opaque(0x1b0d06));
    } else {
        scene.fill(Path::rounded(body.grown(1.6), 3.0), Rgba::opaque(0x0b0c0d));
        scene.fill(Path::rounded(body, 2.0), Rgba::opaque(0x1d1c1b));
        scene.fill(Path::rounded(body, 2.0), Rgba::opaque(colour).at(0.07));
        label(scene, text, at, 7.0, Rgba::opaque(0x6a655e));
    }
}

/// What moves on the panel at a moment, each in its box (upper left and lower right corner).
pub(super) fn moving(moment: &Moment) -> Vec<(Scene, Point, Point)> {
    let mut parts = Vec::new();
    for dial in &DIALS {
        let mut scene = Scene::default();
        dial.pointers(&mut scene, moment);
        let ((x, y), r) = (dial.centre, dial.radius + 2.0);
        parts.push((scene, (x - r, y - r), (x + r, y + r)));
    }
    for (text, x, colour, _) in LAMPS.iter().filter(|lamp| (lamp.3)(moment)) {
        let mut scene = Scene::default();
        lamp(&mut scene, text, *x, *colour, true);
        parts.push((scene, (x - 48.0, LAMP_Y - 48.0), (x + 48.0, LAMP_Y + 48.0)));
    }
    parts
}
