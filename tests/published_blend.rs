//! Blending against published numbers; each table names its sources in its first line.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops at the first surprise")]

use jumpseat::blend::{Film, Layer, forward_rows, hlg_signal, pq_signal, srgb_light};
use jumpseat::pixel::{
    ChromaSiting, Coding, Colour, Light, Matrix, Patch, PixelBox, PlanesMut, Range, Sample, Sampling,
};

/// The records of a table, by its header's names; those with a comma within a cell are not of those functions that are used here.
fn table(text: &'static str) -> Vec<impl Fn(&str) -> &'static str> {
    let mut lines = text.lines().filter(|line| !line.starts_with('#') && !line.contains('"'));
    let header: Vec<_> = lines.next().unwrap().split(',').collect();
    let record = |line: &'static str| {
        let (header, cells) = (header.clone(), line.split(',').collect::<Vec<_>>());
        assert_eq!(header.len(), cells.len(), "{line}");
        move |name: &str| cells[header.iter().position(|h| *h == name).unwrap()]
    };
    lines.map(record).collect()
}

fn number(text: &str) -> f64 {
    text.parse().unwrap()
}

fn matrix(name: &str) -> Matrix {
    match name {
        "BT.601" => Matrix::Bt601,
        "BT.709" => Matrix::Bt709,
        "BT.2020" => Matrix::Bt2020,
        _ => panic!("unknown matrix {name}"),
    }
}

/// Lays a patch of one premultiplied colour over a frame of one cell; at the frame's edge nothing else leaks in.
fn over_cell(rgba: [u8; 4], film: [u8; 3], colour: &Colour) -> [u8; 3] {
    in_film::<u8>(rgba, film, &Coding::common(*colour))
}

/// The same in any coding: the codes of the first sample of each plane, all of which are alike.
fn in_film<T: Sample>(rgba: [u8; 4], film: [T; 3], coding: &Coding) -> [T; 3] {
    let place = PixelBox { x: 0, y: 0, width: 2, height: 2 };
    let layer = Layer::in_film(&Patch { place, rgba: rgba.repeat(4) }, Film::<T>::coded(coding)).unwrap();
    let chroma = match coding.sampling {
        Sampling::Gray => 0,
        Sampling::Full => 4,
        Sampling::Half => 2,
        Sampling::Quarter => 1,
    };
    let [mut y, mut u, mut v] = [(film[0], 4), (film[1], chroma), (film[2], chroma)].map(|(code, n)| vec![code; n]);
    let (y_stride, c_stride) = (2, if coding.sampling == Sampling::Full { 2 } else { 1 });
    let (y_plane, u_plane, v_plane) = (&mut y[..], &mut u[..], &mut v[..]);
    let (width, height, sampling) = (2, 2, coding.sampling);
    let mut frame = PlanesMut { y: y_plane, u: u_plane, v: v_plane, y_stride, c_stride, width, height, sampling };
    layer.blend(&mut frame, None).unwrap();
    for plane in [&y, &u, &v] {
        assert!(plane.iter().all(|code| *code == plane[0]), "{plane:?}");
    }
    [y[0], u.first().copied().unwrap_or(film[1]), v.first().copied().unwrap_or(film[2])]
}

/// ITU-R BT.601-7, BT.709-6 and BT.2020-2 by their Kr and Kb, with the code points of ITU-T H.273.
#[test]
fn the_matrices_are_the_recommendations() {
    let records = table(include_str!("published/ycbcr_matrices.csv"));
    assert_eq!(records.len(), 18);
    for record in &records {
        let matrix = matrix(record("matrix"));
        let rows = forward_rows(matrix);
        let published = ["c1", "c2", "c3"].map(|name| number(record(name)));
        let (kr, kb) = matrix.kr_kb();
        assert_eq!((kr, kb), (number(record("Kr")), number(record("Kb"))));
        let wanted = if record("direction") == "forward" {
            let row = ["Y", "Cb", "Cr"].iter().position(|name| *name == record("row")).unwrap();
            (rows[row], published)
        } else {
            // An inverse row times the forward matrix is a row of the identity.
            let row = ["R", "G", "B"].iter().position(|name| *name == record("row")).unwrap();
            let product = std::array::from_fn(|column| (0..3).map(|k| published[k] * rows[k][column]).sum());
            (product, std::array::from_fn(|column| f64::from(u8::from(column == row))))
        };
        let close = wanted.0.iter().zip(wanted.1).all(|(a, b)| (a - b).abs() < 1e-9);
        assert!(close, "{} {} {}: {wanted:?}", record("matrix"), record("direction"), record("row"));
    }
}

/// The same recommendations' quantisation, at every chroma siting: an opaque patch gives the published code.
#[test]
fn opaque_colours_become_the_published_codes() {
    let records = table(include_str!("published/ycbcr_codes.csv"));
    assert_eq!(records.len(), 72);
    for record in &records {
        let code = |name: &str| record(name).parse::<u8>().unwrap();
        let rgba = [code("R"), code("G"), code("B"), 255];
        for siting in [ChromaSiting::Left, ChromaSiting::Centre, ChromaSiting::TopLeft] {
            let colour = |range| Colour { matrix: matrix(record("matrix")), range, siting };
            let limited = over_cell(rgba, [7, 99, 201], &colour(Range::Limited));
            assert_eq!(limited, ["Y8L", "Cb8L", "Cr8L"].map(code), "{} {rgba:?} {siting:?}", record("matrix"));
            // A full-range chroma of exactly -0.5 is a tie, where the sources differ by one code.
            let full = over_cell(rgba, [7, 99, 201], &colour(Range::Full));
            for (ours, name) in full.into_iter().zip(["Y8F", "Cb8F", "Cr8F"]) {
                let slack = u8::from(number(record(name)) <= 1.0);
                assert!(ours.abs_diff(code(name)) <= slack, "{} {rgba:?} {siting:?} {name}: {ours}", record("matrix"));
            }
        }
    }
}

/// The same table's ten bits, and both depths in every other sampling of chroma.
#[test]
fn opaque_colours_become_the_published_codes_in_every_sampling_and_depth() {
    for record in &table(include_str!("published/ycbcr_codes.csv")) {
        let code = |name: &str| record(name).parse::<u16>().unwrap();
        let rgba = [code("R"), code("G"), code("B"), 255].map(|c| c as u8);
        for sampling in [Sampling::Gray, Sampling::Full, Sampling::Half, Sampling::Quarter] {
            for range in [Range::Limited, Range::Full] {
                let colour = Colour { matrix: matrix(record("matrix")), range, siting: ChromaSiting::Left };
                let coding = |depth| Coding { colour, sampling, depth, light: Light::Ordinary };
                let eight = in_film::<u8>(rgba, [7, 99, 201], &coding(8)).map(u16::from);
                let ten = in_film::<u16>(rgba, [7, 399, 801], &coding(10));
                for (ours, depth) in [(eight, "8"), (ten, "10")] {
                    let letter = if range == Range::Limited { "L" } else { "F" };
                    let planes = if sampling == Sampling::Gray { 1 } else { 3 };
                    for (ours, plane) in ours.into_iter().zip(["Y", "Cb", "Cr"]).take(planes) {
                        let wanted = code(&format!("{plane}{depth}{letter}"));
                        // A full-range chroma of exactly -0.5 is a tie, where the sources differ by one code.
                        let slack = u16::from(range == Range::Full && wanted <= 1);
                        let what = format!("{} {rgba:?} {sampling:?} {plane}{depth}{letter}", record("matrix"));
                        assert!(ours.abs_diff(wanted) <= slack, "{what}: {ours} for {wanted}");
                    }
                }
            }
        }
    }
}

/// RGB planes are green, blue and red (ITU-T H.273, matrix code 0): an opaque colour is its own codes, at more bits in proportion.
#[test]
fn rgb_films_hold_the_colour_itself() {
    let colour = Colour { matrix: Matrix::Rgb, range: Range::Full, siting: ChromaSiting::Left };
    let coding = |depth| Coding { colour, sampling: Sampling::Full, depth, light: Light::Ordinary };
    for [r, g, b] in [[0, 0, 0], [255, 255, 255], [12, 200, 99], [255, 1, 128]] {
        assert_eq!(in_film::<u8>([r, g, b, 255], [7, 99, 201], &coding(8)), [g, b, r]);
        let twelve = [g, b, r].map(|c| (f64::from(c) * 4095.0 / 255.0).round() as u16);
        assert_eq!(in_film::<u16>([r, g, b, 255], [7, 99, 201], &coding(12)), twelve);
    }
}

/// SMPTE ST 2084, ITU-R BT.2100 and IEC 61966-2-1; the table's first line names its sources.
#[test]
fn the_transfer_functions_are_the_published_ones() {
    let mut seen = 0;
    for record in &table(include_str!("published/transfer_functions.csv")) {
        let (input, output) = (number(record("input")), number(record("output")));
        let ours = match record("function") {
            "sRGB_EOTF" => srgb_light(input),
            "PQ_inverse_EOTF" => pq_signal(input),
            "HLG_OETF" => hlg_signal(input),
            _ => continue,
        };
        assert!((ours - output).abs() < 1e-6, "{} {input}: {ours} for {output}", record("function"));
        seen += 1;
    }
    assert!(seen >= 45, "{seen}");
}

/// A drawn white is graphics white: 203 cd/m2, 58 % of PQ and 75 % of HLG (ITU-R BT.2408), 10-bit codes 573 and 721; a drawn gray
/// has its share of that light and tints nothing; what is clear leaves the film alone.
#[test]
fn drawn_white_is_graphics_white_in_films_of_high_dynamic_range() {
    let colour = Colour { matrix: Matrix::Bt2020, range: Range::Limited, siting: ChromaSiting::TopLeft };
    for (light, white) in [(Light::Pq, 573), (Light::Hlg, 721)] {
        let coding = Coding { colour, sampling: Sampling::Quarter, depth: 10, light };
        let laid = |rgba| in_film::<u16>(rgba, [300, 500, 600], &coding);
        assert_eq!(laid([255, 255, 255, 255]), [white, 512, 512]);
        assert_eq!(laid([0, 0, 0, 255]), [64, 512, 512]);
        assert_eq!(laid([0, 0, 0, 0]), [300, 500, 600]);
        let gray = 203.0 * srgb_light(128.0 / 255.0);
        let signal = match light {
            Light::Pq => pq_signal(gray),
            // A gray's luminance is its own light: scene light by the system gamma of 1.2 backwards.
            _ => hlg_signal((gray / 1000.0_f64).powf(1.0 / 1.2)),
        };
        let [y, cb, cr] = laid([128, 128, 128, 255]);
        assert!(
            (f64::from(y) - (64.0 + 876.0 * signal)).abs() <= 1.0 && (cb, cr) == (512, 512),
            "{light:?}: {y}, {cb}, {cr}"
        );
        // Red stays red, and darker than white.
        let [y, _, cr] = laid([255, 0, 0, 255]);
        assert!(y < white && cr > 560, "{light:?}: {y}, {cr}");
    }
}

/// Porter and Duff 1984, "over" on an opaque ground, within one code in all three planes.
#[test]
fn over_is_porter_and_duffs() {
    let colour = Colour { matrix: Matrix::Bt709, range: Range::Full, siting: ChromaSiting::Left };
    let records = table(include_str!("published/porter_duff_over.csv"));
    let opaque_ground: Vec<_> = records.iter().filter(|record| number(record("d_A")) == 1.0).collect();
    assert_eq!(opaque_ground.len(), 6);
    for record in opaque_ground {
        let values = |names: [&str; 3]| names.map(|name| number(record(name)));
        // Real codes of an R'G'B' colour, by the published matrix rows.
        let codes = |rgb: [f64; 3]| {
            let [y, cb, cr] =
                forward_rows(Matrix::Bt709).map(|row| row.iter().zip(rgb).map(|(k, c)| 255.0 * k * c).sum());
            [y, f64::clamp(128.0 + cb, 0.0, 255.0), f64::clamp(128.0 + cr, 0.0, 255.0)]
        };
        let alpha = number(record("s_A"));
        let [r, g, b] = values(["s_R", "s_G", "s_B"]).map(|c| (255.0 * c * alpha).round() as u8);
        let film = codes(values(["d_R", "d_G", "d_B"])).map(|c| c.round() as u8);
        let ours = over_cell([r, g, b, (255.0 * alpha).round() as u8], film, &colour);
        let wanted = codes(values(["o_Rp", "o_Gp", "o_Bp"])).map(f64::round);
        for (ours, wanted) in ours.into_iter().zip(wanted) {
            assert!((f64::from(ours) - wanted).abs() <= 1.0, "{:?}: {ours} {wanted}", values(["s_R", "s_G", "s_B"]));
        }
    }
}

/// The integer form that the same table's first line states, `(s a + d (255 - a) + 127) / 255`, for every alpha and
/// every film code, with black and white laid over it.
#[test]
fn over_rounds_to_nearest_for_every_alpha_and_code() {
    let colour = Colour { matrix: Matrix::Bt601, range: Range::Full, siting: ChromaSiting::Centre };
    let place = PixelBox { x: 0, y: 0, width: 256, height: 256 };
    for shade in [0_u8, 255] {
        let rgba =
            (0..=255_u8).flat_map(|alpha| [alpha.min(shade), alpha.min(shade), alpha.min(shade), alpha].repeat(256));
        let layer = Layer::new(&Patch { place, rgba: rgba.collect() }, &colour).unwrap();
        let mut y: Vec<u8> = (0..=255_u8).cycle().take(256 * 256).collect();
        let (mut u, mut v) = (vec![128; 128 * 128], vec![128; 128 * 128]);
        let (y_stride, c_stride) = (256, 128);
        let mut frame = PlanesMut {
            y: &mut y,
            u: &mut u,
            v: &mut v,
            y_stride,
            c_stride,
            width: 256,
            height: 256,
            sampling: Sampling::Quarter,
        };
        layer.blend(&mut frame, None).unwrap();
        for (at, ours) in (0_u32..).zip(y) {
            let (alpha, film) = (at / 256, at % 256);
            let wanted = (u32::from(shade) * alpha + film * (255 - alpha) + 127) / 255;
            assert_eq!(u32::from(ours), wanted, "shade {shade}, alpha {alpha}, film {film}");
        }
        assert!(u.iter().chain(&v).all(|c| *c == 128), "a gray tints nothing, whatever its alpha");
    }
}
