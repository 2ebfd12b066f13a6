//! Drawn pictures against outside truth: WCAG contrast (every kind of instrument: `published_contrast`), and where the hand points, measured on the picture.

mod drawing;

use jumpseat::draw::{Rgba, Theme};
use jumpseat::pixel::{FrameShape, Orientation, Patch};

use drawing::{airspeed, airspeed_patch, contrast, luminance, over};

fn rgb(colour: Rgba) -> [f64; 3] {
    colour.rgb.map(|c| f64::from(c) / 255.0)
}

/// Alpha blended in sRGB, as players do.
fn blend(above: Rgba, alpha: f64, below: [f64; 3]) -> [f64; 3] {
    let above = rgb(above);
    [0, 1, 2].map(|c| above[c] * alpha + below[c] * (1.0 - alpha))
}

const GROUNDS: [[f64; 3]; 3] = [[1.0; 3], [128.0 / 255.0; 3], [0.0; 3]];
/// SC 1.4.3 for text; SC 1.4.11 for graphics (numbers of both: W3C, WCAG 2.2).
const TEXT: f64 = 4.5;
const GRAPHIC: f64 = 3.0;

/// Middle and radius of the XL dial on a plain frame, as the panel places it.
fn dial_on(shape: FrameShape) -> ((f64, f64), f64) {
    let m = f64::from(shape.height);
    ((0.172 * m, m - 0.172 * m), 0.15 * m)
}

fn sample(patch: &Patch, at: (f64, f64), ground: [f64; 3]) -> [f64; 3] {
    over(patch, at.0 as u32, at.1 as u32, ground)
}

fn polar(centre: (f64, f64), r: f64, degrees: f64) -> (f64, f64) {
    let (sin, cos) = degrees.to_radians().sin_cos();
    (centre.0 + r * sin, centre.1 - r * cos)
}

#[test]
fn value_hand_and_marks_hold_their_contrast_on_every_footage() {
    let shape = FrameShape::plain(3840, 2160);
    let (centre, r) = dial_on(shape);
    let scale = airspeed().scale;
    for theme in Theme::ALL {
        let patch = airspeed_patch(58.0, shape, theme);
        for ground in GROUNDS {
            let at = |radius: f64, degrees: f64| sample(&patch, polar(centre, radius * r, degrees), ground);
            let hand = contrast(at(0.30, scale.angle(58.0)), at(0.30, 60.0));
            assert!(hand >= GRAPHIC, "{theme:?} {ground:?}: hand {hand:.2}");

            // The value's letters are the pixels of greatest contrast in its box; beside it lies the disc.
            let beside = at(0.50, 122.0);
            let value = (-30..30)
                .flat_map(|x| (-8..8).map(move |y| (f64::from(x) * 0.01, 0.53 + f64::from(y) * 0.01)))
                .map(|(x, y)| contrast(sample(&patch, (centre.0 + x * r, centre.1 + y * r), ground), beside))
                .fold(0.0, f64::max);
            assert!(value >= TEXT, "{theme:?} {ground:?}: value {value:.2}");

            // Marks against the casing just inside their lane: half the mark and half its edge further in.
            for (mark, value, half) in [("green", 50.0, 0.017), ("amber", 78.4, 0.026)] {
                let angle = scale.angle(value);
                let found = contrast(at(0.945, angle), at(0.945 - half - 0.006, angle));
                assert!(found >= GRAPHIC, "{theme:?} {ground:?}: {mark} {found:.2}");
            }
            let limit = scale.angle(95.0);
            let found = contrast(at(0.86, limit), at(0.86, limit + (0.017f64 + 0.006).atan2(0.86).to_degrees()));
            assert!(found >= GRAPHIC, "{theme:?} {ground:?}: red {found:.2}");
        }
    }
}

/// Text by the palette's numbers: the disc's opacity where the text stands; a tag and a lamp's words against their own halo.
#[test]
fn text_colours_hold_their_contrast_on_every_footage() {
    for theme in Theme::ALL {
        let p = theme.palette();
        let [middle, at_45, at_72, rim] = p.disc_alpha.map(f64::from);
        let at_60 = at_45 + (at_72 - at_45) * (0.60 - 0.45) / (0.72 - 0.45);
        let at_80 = at_72 + (rim - at_72) * (0.80 - 0.72) / (1.0 - 0.72);
        for ground in GROUNDS {
            let disc = |alpha: f64| blend(p.disc, alpha, ground);
            let halo = blend(p.casing, 0.88, disc(middle));
            // A window, and a hand seen to go on behind it.
            let [glass, hand] = [disc(at_45), rgb(p.ink)].map(|below| blend(p.casing, 0.80, below));
            for (what, colour, below) in [
                ("numeral", p.ink, disc(at_60)),
                ("unit", p.ink2, disc(at_80)),
                ("tag", p.cyan, halo),
                ("held value", p.ink2, disc(at_45)),
                ("value in a window", p.ink, glass),
                ("value over a hand behind its window", p.ink, hand),
                ("held value in a window", p.ink2, glass),
                ("PRESSURE in a window", p.cyan, glass),
                ("tile", p.ink, blend(p.plate, f64::from(p.plate.alpha), ground)),
                ("advisory", p.cyan, blend(p.casing, 0.60, blend(p.plate, f64::from(p.plate.alpha), ground))),
                ("unlit lamp", p.ink2, blend(p.casing, 0.60, blend(p.plate, f64::from(p.plate.alpha) * 0.846, ground))),
                ("warning", p.warning_text, rgb(p.warning)),
                ("caution", p.caution_text, rgb(p.caution)),
                ("calc tab", p.cyan, blend(p.casing, 0.92, ground)),
                ("bare notice", p.ink, blend(p.casing, 0.90, ground)),
            ] {
                let found = contrast(blend(colour, f64::from(colour.alpha), below), below);
                assert!(found >= TEXT, "{theme:?} {ground:?}: {what} {found:.2}");
            }
        }
    }
}

/// Where the hand points on the picture: its brightness over the direction, between hub and numerals, and the middle of
/// the bright sector.
fn measured_angle(patch: &Patch, centre: (f64, f64), r: f64, near: f64) -> f64 {
    let profile: Vec<(f64, f64)> = (-300..=300)
        .map(|i| {
            let offset = f64::from(i) * 0.05;
            let sum: f64 = (0..40)
                .map(|j| {
                    let (x, y) = polar(centre, (0.14 + 0.004 * f64::from(j)) * r, near + offset);
                    bilinear(patch, x - 0.5, y - 0.5)
                })
                .sum();
            (offset, sum / 40.0)
        })
        .collect();
    let peak = profile.iter().map(|p| p.1).fold(0.0, f64::max);
    let bright: Vec<_> = profile.into_iter().map(|(a, v)| (a, (v - 0.5 * peak).max(0.0))).collect();
    let (moment, weight) = bright.iter().fold((0.0, 0.0), |(m, w), (a, v)| (m + a * v, w + v));
    near + moment / weight
}

fn bilinear(patch: &Patch, x: f64, y: f64) -> f64 {
    let (left, top) = (x.floor(), y.floor());
    let (fx, fy) = (x - left, y - top);
    let light = |dx: u32, dy: u32| luminance(over(patch, left as u32 + dx, top as u32 + dy, [0.0; 3]));
    (light(0, 0) * (1.0 - fx) + light(1, 0) * fx) * (1.0 - fy) + (light(0, 1) * (1.0 - fx) + light(1, 1) * fx) * fy
}

#[test]
fn the_hand_points_at_its_value() {
    let scale = airspeed().scale;
    for shape in [FrameShape::plain(1920, 1080), FrameShape::plain(1280, 720), FrameShape::plain(3840, 2160)] {
        let (centre, r) = dial_on(shape);
        for value in [20.0, 33.3, 47.0, 58.0, 65.0, 80.4, 97.0, 110.0] {
            let expected = scale.angle(value);
            let patch = airspeed_patch(value, shape, Theme::Graphite);
            // Searched about a direction a little off, so that an empty profile does not look right.
            let found = measured_angle(&patch, centre, r, expected + 1.7);
            assert!((found - expected).abs() < 0.3, "{}: {value} kt at {found:.2}, not {expected:.2}", shape.height);
        }
    }
}

#[test]
fn beyond_the_scale_the_hand_parks_seven_degrees_past_the_end() {
    let shape = FrameShape::plain(1920, 1080);
    let (centre, r) = dial_on(shape);
    let found = |value| measured_angle(&airspeed_patch(value, shape, Theme::Graphite), centre, r, 130.0);
    assert!((found(118.0) - 133.0).abs() < 0.3, "{}", found(118.0));
    let low = measured_angle(&airspeed_patch(3.0, shape, Theme::Graphite), centre, r, -124.0);
    assert!((low + 126.0).abs() < 0.3, "below the scale it rests on the first mark: {low}");
}

/// A frame that players turn or mirror: what they show is what an unturned frame shows.
#[test]
fn turned_and_mirrored_frames_show_the_same_dial() {
    let (w, h) = (640u32, 360u32);
    let plain = airspeed_patch(58.0, FrameShape::plain(w, h), Theme::Graphite);
    for quarter_turns in 0..4u8 {
        for mirrored in [false, true] {
            let (width, height) = if quarter_turns % 2 == 1 { (h, w) } else { (w, h) };
            let orientation = Orientation { quarter_turns, mirrored };
            let shape = FrameShape { width, height, pixel_aspect: 1.0, orientation };
            assert_eq!(shape.shown_size(), (f64::from(w), f64::from(h)));
            let turned = airspeed_patch(58.0, shape, Theme::Graphite);
            let (mut sum, mut far, mut count) = (0.0, 0usize, 0usize);
            for y in plain.place.y + 2..plain.place.bottom() - 2 {
                for x in plain.place.x + 2..plain.place.right() - 2 {
                    let (cx, cy) = shape.shown_to_coded().apply(f64::from(x) + 0.5, f64::from(y) + 0.5);
                    let a = over(&plain, x, y, [0.5; 3]);
                    let b = over(&turned, cx as u32, cy as u32, [0.5; 3]);
                    let step = (0..3).map(|c| (a[c] - b[c]).abs()).fold(0.0, f64::max) * 255.0;
                    sum += step;
                    far += usize::from(step > 40.0);
                    count += 1;
                }
            }
            // Edges are sampled finer along rows than across them; nothing else may differ.
            let mean = sum / count as f64;
            assert!(mean < 1.0, "{orientation:?}: mean {mean:.3}");
            assert!(far as f64 <= 0.002 * count as f64, "{orientation:?}: {far} of {count} pixels");
        }
    }
}

/// PAL 16:9: pixels 64:45 wide (ITU-R BT.601 raster, pixel aspect from memory). Shown, the disc is round.
#[test]
fn the_disc_is_round_when_wide_pixels_are_shown() {
    let aspect = 64.0 / 45.0;
    let shape = FrameShape { width: 720, height: 576, pixel_aspect: aspect, orientation: Orientation::default() };
    let patch = airspeed_patch(58.0, shape, Theme::HighContrast);
    let dense = |x: u32, y: u32| {
        let i = 4 * ((y - patch.place.y) * patch.place.width + (x - patch.place.x)) as usize;
        patch.rgba[i + 3] > 200
    };
    let (columns, rows) = (patch.place.x..patch.place.right(), patch.place.y..patch.place.bottom());
    let width = columns.clone().filter(|&x| rows.clone().any(|y| dense(x, y))).count() as f64;
    let height = rows.clone().filter(|&y| columns.clone().any(|x| dense(x, y))).count() as f64;
    assert!((width * aspect - height).abs() < 2.0 * aspect, "{width} columns, {height} rows");
    assert!((height - 2.0 * 0.15 * 576.0).abs() < 2.0, "{height} rows");
}
