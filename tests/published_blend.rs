//! Blending against published numbers; each table names its sources in its first line.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops at the first surprise")]

use jumpseat::blend::{Layer, forward_rows};
use jumpseat::pixel::{ChromaSiting, Colour, Matrix, Patch, PixelBox, PlanesMut, Range};

/// The records of a table, by its header's names.
fn table(text: &'static str) -> Vec<impl Fn(&str) -> &'static str> {
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
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
    let place = PixelBox { x: 0, y: 0, width: 2, height: 2 };
    let layer = Layer::new(&Patch { place, rgba: rgba.repeat(4) }, colour).unwrap();
    let (mut y, mut u, mut v) = ([film[0]; 4], [film[1]], [film[2]]);
    let mut frame = PlanesMut { y: &mut y, u: &mut u, v: &mut v, y_stride: 2, c_stride: 1, width: 2, height: 2 };
    layer.blend(&mut frame, None).unwrap();
    assert_eq!(y, [y[0]; 4]);
    [y[0], u[0], v[0]]
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
        let mut frame = PlanesMut { y: &mut y, u: &mut u, v: &mut v, y_stride, c_stride, width: 256, height: 256 };
        layer.blend(&mut frame, None).unwrap();
        for (at, ours) in (0_u32..).zip(y) {
            let (alpha, film) = (at / 256, at % 256);
            let wanted = (u32::from(shade) * alpha + film * (255 - alpha) + 127) / 255;
            assert_eq!(u32::from(ours), wanted, "shade {shade}, alpha {alpha}, film {film}");
        }
        assert!(u.iter().chain(&v).all(|c| *c == 128), "a gray tints nothing, whatever its alpha");
    }
}
