//! Blending against a plain reading of its documented formula in real numbers, and its promises on touched samples.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops at the first surprise")]

use jumpseat::blend::{BlendError, Film as OnFilm, Layer};
use jumpseat::pixel::{
    ChromaSiting, Colour, Form, Ink, Mask, Matrix, Patch, PixelBox, Pixels, PlanesMut, Range, Sampling,
};
use proptest::collection::vec;
use proptest::prelude::*;
use std::sync::Arc;

const WIDTH: u32 = 20;
const HEIGHT: u32 = 16;

#[derive(Debug, Clone, PartialEq, Eq)]
struct Film {
    y: Vec<u8>,
    u: Vec<u8>,
    v: Vec<u8>,
}

impl Film {
    fn plain(code: u8) -> Self {
        let (luma, chroma) = ((WIDTH * HEIGHT) as usize, (WIDTH * HEIGHT / 4) as usize);
        Self { y: vec![code; luma], u: vec![code; chroma], v: vec![code; chroma] }
    }

    fn planes(&mut self) -> PlanesMut<'_> {
        let (y_stride, c_stride) = (WIDTH as usize, WIDTH as usize / 2);
        let (y, u, v) = (&mut self.y, &mut self.u, &mut self.v);
        PlanesMut { y, u, v, y_stride, c_stride, width: WIDTH, height: HEIGHT, sampling: Sampling::Quarter }
    }

    fn under(&self, layer: &Layer, opacity: Option<u8>) -> Self {
        let mut film = self.clone();
        layer.blend(&mut film.planes(), opacity).unwrap();
        film
    }
}

fn layer_of(patch: &Patch, colour: &Colour) -> Layer {
    Layer::new(patch, colour).unwrap()
}

/// The documented formula in real numbers, sample by sample.
struct Exact<'a> {
    patch: &'a Patch,
    colour: Colour,
    opacity: f64,
}

impl Exact<'_> {
    /// Premultiplied R'G'B' and alpha, 0 to 1, at a frame position; transparent beyond the patch, and at the frame's left
    /// and top edge the edge sample repeated.
    fn pixel(&self, x: i64, y: i64) -> [f64; 4] {
        let place = self.patch.place;
        let (column, row) = (x.max(0) - i64::from(place.x), y.max(0) - i64::from(place.y));
        if !(0..i64::from(place.width)).contains(&column) || !(0..i64::from(place.height)).contains(&row) {
            return [0.0; 4];
        }
        let at = 4 * (row * i64::from(place.width) + column) as usize;
        std::array::from_fn(|i| f64::from(self.patch.rgba[at + i]) / 255.0)
    }

    /// Alpha times Y, Cb, Cr codes.
    fn codes(&self, [r, g, b, a]: [f64; 4]) -> [f64; 3] {
        let (kr, kb) = self.colour.matrix.kr_kb();
        let (black, luma, chroma) =
            if self.colour.range == Range::Limited { (16.0, 219.0, 224.0) } else { (0.0, 255.0, 255.0) };
        let y = kr * r + (1.0 - kr - kb) * g + kb * b;
        let (cb, cr) = ((b - y) / (2.0 - 2.0 * kb), (r - y) / (2.0 - 2.0 * kr));
        [black * a + luma * y, 128.0 * a + chroma * cb, 128.0 * a + chroma * cr]
    }

    fn mix(&self, film: u8, term: f64, alpha: f64) -> f64 {
        let film = f64::from(film);
        let laid = (film * (1.0 - alpha) + term).clamp(0.0, 255.0);
        film + (laid - film) * self.opacity
    }

    fn luma(&self, x: u32, y: u32, film: u8) -> f64 {
        let pixel = self.pixel(i64::from(x), i64::from(y));
        self.mix(film, self.codes(pixel)[0], pixel[3])
    }

    fn chroma(&self, cx: u32, cy: u32, film: [u8; 2]) -> [f64; 2] {
        let (x, y) = (2 * i64::from(cx), 2 * i64::from(cy));
        let own = [(0, 0), (1, 0), (0, 1), (1, 1)];
        if own.iter().all(|(dx, dy)| self.pixel(x + dx, y + dy)[3] == 0.0) {
            return film.map(f64::from);
        }
        let (on, between) = ([0.25, 0.5, 0.25], [0.0, 0.5, 0.5]);
        let (across, down) = match self.colour.siting {
            ChromaSiting::Left => (on, between),
            ChromaSiting::Centre => (between, between),
            ChromaSiting::TopLeft => (on, on),
        };
        let mut mean = [0.0; 4];
        for (dy, down) in (-1..).zip(down) {
            for (dx, across) in (-1..).zip(across) {
                let pixel = self.pixel(x + dx, y + dy);
                mean = std::array::from_fn(|i| mean[i] + down * across * pixel[i]);
            }
        }
        let [_, cb, cr] = self.codes(mean);
        [self.mix(film[0], cb, mean[3]), self.mix(film[1], cr, mean[3])]
    }
}

fn any_colour() -> impl Strategy<Value = Colour> {
    let matrix = prop_oneof![Just(Matrix::Bt601), Just(Matrix::Bt709), Just(Matrix::Bt2020)];
    let range = prop_oneof![Just(Range::Limited), Just(Range::Full)];
    let siting = prop_oneof![Just(ChromaSiting::Left), Just(ChromaSiting::Centre), Just(ChromaSiting::TopLeft)];
    (matrix, range, siting).prop_map(|(matrix, range, siting)| Colour { matrix, range, siting })
}

fn any_film() -> impl Strategy<Value = Film> {
    let (luma, chroma) = ((WIDTH * HEIGHT) as usize, (WIDTH * HEIGHT / 4) as usize);
    let code = || prop_oneof![any::<u8>(), Just(0), Just(255)];
    (vec(code(), luma), vec(code(), chroma), vec(code(), chroma)).prop_map(|(y, u, v)| Film { y, u, v })
}

/// Even boxes inside the frame, edges included.
fn any_place() -> impl Strategy<Value = PixelBox> {
    (0..WIDTH / 2, 0..HEIGHT / 2).prop_flat_map(|(x, y)| {
        (1..=WIDTH / 2 - x, 1..=HEIGHT / 2 - y).prop_map(move |(width, height)| PixelBox {
            x: 2 * x,
            y: 2 * y,
            width: 2 * width,
            height: 2 * height,
        })
    })
}

/// Premultiplied pixels, many of them fully transparent or opaque and of pure colour.
fn pixels(count: u32, opaque: bool) -> impl Strategy<Value = Vec<u8>> {
    let alpha = prop_oneof![3 => Just(0_u8), 3 => Just(255), 1 => 1..4_u8, 3 => any::<u8>()];
    let share = || prop_oneof![any::<u8>(), Just(0), Just(255)];
    let pixel = (alpha, share(), share(), share()).prop_map(move |(a, r, g, b)| {
        let a = if opaque { 255 } else { a };
        let times = |c: u8| ((u16::from(c) * u16::from(a) + 127) / 255) as u8;
        [times(r), times(g), times(b), a]
    });
    vec(pixel, count as usize).prop_map(|pixels| pixels.concat())
}

fn any_patch(opaque: bool) -> impl Strategy<Value = Patch> {
    any_place().prop_flat_map(move |place| {
        pixels(place.width * place.height, opaque).prop_map(move |rgba| Patch { place, rgba })
    })
}

fn any_opacity() -> impl Strategy<Value = Option<u8>> {
    proptest::option::of(0..=70_u8)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn every_sample_is_within_one_code_of_the_formula(
        patch in any_patch(false), film in any_film(), colour in any_colour(), opacity in any_opacity()
    ) {
        let after = film.under(&layer_of(&patch, &colour), opacity);
        let exact = Exact { patch: &patch, colour, opacity: f64::from(opacity.unwrap_or(64).min(64)) / 64.0 };
        // Mixing with the film as it was rounds once more.
        let mixed = if exact.opacity < 1.0 { 0.5 } else { 0.0 };
        for y in 0..HEIGHT {
            for x in 0..WIDTH {
                let at = (y * WIDTH + x) as usize;
                let wanted = exact.luma(x, y, film.y[at]);
                prop_assert!((f64::from(after.y[at]) - wanted).abs() < 1.01 + mixed, "luma {x} {y}: {} {wanted}", after.y[at]);
            }
        }
        for cy in 0..HEIGHT / 2 {
            for cx in 0..WIDTH / 2 {
                let at = (cy * WIDTH / 2 + cx) as usize;
                let wanted = exact.chroma(cx, cy, [film.u[at], film.v[at]]);
                for (ours, wanted) in [after.u[at], after.v[at]].into_iter().zip(wanted) {
                    prop_assert!((f64::from(ours) - wanted).abs() < 1.51 + mixed, "chroma {cx} {cy}: {ours} {wanted}");
                }
            }
        }
    }

    #[test]
    fn only_samples_of_the_mask_change(
        patch in any_patch(false), film in any_film(), colour in any_colour(), opacity in any_opacity()
    ) {
        let layer = layer_of(&patch, &colour);
        let after = film.under(&layer, opacity);
        let place = patch.place;
        // The mask from the drawn pixels themselves.
        let drawn = |x: u32, y: u32| {
            let inside = x >= place.x && x < place.right() && y >= place.y && y < place.bottom();
            inside && patch.rgba[4 * ((y - place.y) * place.width + x - place.x) as usize + 3] != 0
        };
        for y in 0..HEIGHT {
            for x in 0..WIDTH {
                let at = (y * WIDTH + x) as usize;
                prop_assert!(drawn(x, y) || after.y[at] == film.y[at], "luma {} {}", x, y);
            }
        }
        for cy in 0..HEIGHT / 2 {
            for cx in 0..WIDTH / 2 {
                let at = (cy * WIDTH / 2 + cx) as usize;
                let cell = (0..4).any(|i| drawn(2 * cx + i % 2, 2 * cy + i / 2));
                prop_assert!(cell || (after.u[at], after.v[at]) == (film.u[at], film.v[at]), "chroma {} {}", cx, cy);
            }
        }
    }

    #[test]
    fn an_opaque_pixel_hides_the_film(patch in any_patch(true), colour in any_colour(), film in any_film()) {
        let layer = layer_of(&patch, &colour);
        let (after, other) = (film.under(&layer, None), Film::plain(90).under(&layer, None));
        let exact = Exact { patch: &patch, colour, opacity: 1.0 };
        let place = patch.place;
        for y in place.y..place.bottom() {
            for x in place.x..place.right() {
                let at = (y * WIDTH + x) as usize;
                prop_assert_eq!(after.y[at], other.y[at]);
                prop_assert!((f64::from(after.y[at]) - exact.luma(x, y, 0)).abs() < 0.505);
            }
        }
        // The first cells may take in transparent neighbours on the left and above.
        for cy in place.y / 2 + 1..place.bottom() / 2 {
            for cx in place.x / 2 + 1..place.right() / 2 {
                let at = (cy * WIDTH / 2 + cx) as usize;
                prop_assert_eq!((after.u[at], after.v[at]), (other.u[at], other.v[at]));
                for (ours, wanted) in [after.u[at], after.v[at]].into_iter().zip(exact.chroma(cx, cy, [0, 0])) {
                    prop_assert!((f64::from(ours) - wanted).abs() < 0.505, "chroma {cx} {cy}: {ours} {wanted}");
                }
            }
        }
    }

    /// Many layers laid box by box are the same as laid in one, byte for byte; and mixed with what was there before, they are
    /// their share of the way.
    #[test]
    fn laying_in_boxes_equals_laying_the_whole(
        place in any_place(), ground in pixels(WIDTH * HEIGHT, false), marks in vec(any_mark(), 1..4),
        colour in any_colour(), film in any_film(), cut in (0..=WIDTH / 2, 0..=HEIGHT / 2), opacity in 0..=64_u8
    ) {
        let form = OnFilm::new(&colour);
        let ground = Patch { place, rgba: ground[..4 * (place.width * place.height) as usize].to_vec() };
        let ground = form.picture(&ground);
        let stencils: Vec<_> = marks.iter().map(|(mask, by, ink)| (form.stencil(Arc::clone(mask), *by), *ink)).collect();
        let compose = |film: &mut Film, area| {
            let mut canvas = form.canvas(film.planes()).unwrap();
            form.over(&mut canvas, &ground, area);
            stencils.iter().for_each(|(stencil, ink)| form.lay(&mut canvas, stencil, (0, 0), *ink, area));
        };
        let (mut whole, mut parts) = (film.clone(), film.clone());
        compose(&mut whole, place);
        let (x, y) = (2 * cut.0, 2 * cut.1);
        for (left, right) in [(0, x), (x, WIDTH)] {
            for (top, bottom) in [(0, y), (y, HEIGHT)] {
                let area = PixelBox { x: left, y: top, width: right - left, height: bottom - top };
                compose(&mut parts, area.intersect(place));
            }
        }
        prop_assert_eq!(&parts, &whole);

        let mut faint = film.clone();
        let (mut canvas, mut kept) = (form.canvas(faint.planes()).unwrap(), Default::default());
        form.keep(&mut canvas, place, &mut kept);
        form.over(&mut canvas, &ground, place);
        stencils.iter().for_each(|(stencil, ink)| form.lay(&mut canvas, stencil, (0, 0), *ink, place));
        form.fade(&mut canvas, place, &kept, opacity);
        let planes = |film: &Film| [film.y.clone(), film.u.clone(), film.v.clone()].concat();
        for ((faint, whole), film) in planes(&faint).into_iter().zip(planes(&whole)).zip(planes(&film)) {
            let share = f64::from(opacity) / 64.0;
            let wanted = f64::from(film) + (f64::from(whole) - f64::from(film)) * share;
            prop_assert!((f64::from(faint) - wanted).abs() <= 0.5, "{faint} {wanted}");
        }
    }

    /// A mask that was moved before it was made ready, and one moved afterwards by even columns and rows, are the same.
    #[test]
    fn a_ready_mask_moves_by_cells(mark in any_mark(), colour in any_colour(), film in any_film(), by in (-4..5_i32, -4..5_i32)) {
        let (mask, own, ink) = mark;
        let form = OnFilm::new(&colour);
        let (whole, by) = (PixelBox { x: 0, y: 0, width: WIDTH, height: HEIGHT }, (2 * by.0, 2 * by.1));
        let lay = |stencil, by| {
            let mut film = film.clone();
            form.lay(&mut form.canvas(film.planes()).unwrap(), &stencil, by, ink, whole);
            film
        };
        let before = lay(form.stencil(Arc::clone(&mask), (own.0 + by.0, own.1 + by.1)), (0, 0));
        let after = lay(form.stencil(Arc::clone(&mask), own), by);
        prop_assert_eq!(before, after);
    }

    /// A colour through a mask in a film's samples is the same colour through the same mask in pixels, converted.
    #[test]
    fn a_mask_laid_in_samples_is_the_mask_laid_in_pixels(
        place in any_place(), mark in any_mark(), colour in any_colour(), film in any_film()
    ) {
        let (mask, by, ink) = mark;
        let form = OnFilm::new(&colour);
        let mut laid = film.clone();
        let stencil = form.stencil(Arc::clone(&mask), by);
        form.lay(&mut form.canvas(laid.planes()).unwrap(), &stencil, (0, 0), ink, place);
        let mut patch = Patch::clear(place);
        Pixels.lay(&mut patch, &(mask, by), (0, 0), ink, place);
        let converted = film.under(&layer_of(&patch, &colour), None);
        let apart = |a: &[u8], b: &[u8]| a.iter().zip(b).map(|(a, b)| a.abs_diff(*b)).max();
        prop_assert!(apart(&laid.y, &converted.y) <= Some(2), "luma {:?}", apart(&laid.y, &converted.y));
        // Beside the box the mask goes on, the pixels end: cells at its left and upper edge may differ.
        for cy in place.y / 2 + 1..place.bottom() / 2 {
            for cx in place.x / 2 + 1..place.right() / 2 {
                let at = (cy * WIDTH / 2 + cx) as usize;
                for (ours, theirs) in [(laid.u[at], converted.u[at]), (laid.v[at], converted.v[at])] {
                    prop_assert!(ours.abs_diff(theirs) <= 2, "chroma {} {}: {} {}", cx, cy, ours, theirs);
                }
            }
        }
    }

    #[test]
    fn bytes_that_are_no_premultiplied_picture_still_give_legal_codes(
        bytes in vec(any::<u8>(), 4).prop_map(|pixel| pixel.repeat(8 * 8)), colour in any_colour()
    ) {
        let place = PixelBox { x: 14, y: 12, width: 8, height: 8 };
        let layer = layer_of(&Patch { place, rgba: bytes }, &colour);
        for legal in [16, 235] {
            let after = Film::plain(legal).under(&layer, None);
            if colour.range == Range::Limited {
                prop_assert!(after.y.iter().all(|code| (16..=235).contains(code)));
                prop_assert!(after.u.iter().chain(&after.v).all(|code| (16..=240).contains(code)));
            }
        }
    }
}

/// A mask with holes and a ragged edge, moved, and a colour.
fn any_mark() -> impl Strategy<Value = (Arc<Mask>, (i32, i32), Ink)> {
    let value = prop_oneof![2 => Just(0_u8), 2 => Just(255), 3 => any::<u8>()];
    let row = (0..4_i32, vec(value, 0..12));
    let ink = (any::<[u8; 3]>(), prop_oneof![Just(255_u8), any::<u8>()]).prop_map(|(rgb, alpha)| Ink { rgb, alpha });
    (vec(row, 1..10), (-6..WIDTH as i32, -6..HEIGHT as i32), ink).prop_map(|(rows, by, ink)| {
        let mut mask = Mask::default();
        (-1..).zip(rows).for_each(|(y, (x, values))| mask.push((x, y), &values));
        (Arc::new(mask), by, ink)
    })
}

const COLOUR: Colour = Colour { matrix: Matrix::Bt709, range: Range::Limited, siting: ChromaSiting::Left };

fn white(place: PixelBox) -> Patch {
    Patch { place, rgba: vec![255; 4 * (place.width * place.height) as usize] }
}

#[test]
fn a_box_beyond_the_frame_is_cut_and_padding_stays() {
    let place = PixelBox { x: 2, y: 2, width: 40, height: 40 };
    let layer = layer_of(&white(place), &COLOUR);
    let (mut y, mut u, mut v) = ([1; 8 * 6], [2; 5 * 3], [3; 5 * 3]);
    let mut frame = PlanesMut {
        y: &mut y,
        u: &mut u,
        v: &mut v,
        y_stride: 8,
        c_stride: 5,
        width: 6,
        height: 6,
        sampling: Sampling::Quarter,
    };
    layer.blend(&mut frame, None).unwrap();
    for (at, code) in y.into_iter().enumerate() {
        let inside = (2..6).contains(&(at % 8)) && at / 8 >= 2;
        assert_eq!(code, if inside { 235 } else { 1 }, "sample {at}");
    }
    let outside = |at: &usize| !(1..3).contains(&(at % 5)) || at / 5 < 1;
    assert!((0..15).filter(outside).all(|at| (u[at], v[at]) == (2, 3)));
    assert_eq!((u[12], v[12]), (128, 128));

    let aside = layer_of(&white(PixelBox { x: 8, y: 0, width: 2, height: 2 }), &COLOUR);
    let before = y;
    let mut frame = PlanesMut {
        y: &mut y,
        u: &mut u,
        v: &mut v,
        y_stride: 8,
        c_stride: 5,
        width: 6,
        height: 6,
        sampling: Sampling::Quarter,
    };
    aside.blend(&mut frame, None).unwrap();
    assert_eq!(y, before);
}

#[test]
fn sizes_that_disagree_are_refused() {
    for place in [
        PixelBox { x: 1, y: 0, width: 2, height: 2 },
        PixelBox { x: 0, y: 0, width: 2, height: 3 },
        PixelBox { x: u32::MAX - 1, y: 0, width: 2, height: 2 },
        PixelBox { x: 0, y: 0, width: 1 << 20, height: 2 },
    ] {
        let patch = Patch { place, rgba: Vec::new() };
        assert_eq!(Layer::new(&patch, &COLOUR).unwrap_err(), BlendError::Place { place });
    }
    let place = PixelBox { x: 0, y: 0, width: 4, height: 4 };
    for bytes in [0, 63, 65, 68] {
        let patch = Patch { place, rgba: vec![255; bytes] };
        assert_eq!(Layer::new(&patch, &COLOUR).unwrap_err(), BlendError::Pixels { place, bytes });
    }

    let layer = layer_of(&white(place), &COLOUR);
    let lengths = |y: usize, u: usize, v: usize, y_stride| {
        let (mut y, mut u, mut v) = (vec![9; y], vec![9; u], vec![9; v]);
        let (y, u, v) = (&mut y[..], &mut u[..], &mut v[..]);
        let laid = layer.blend(
            &mut PlanesMut { y, u, v, y_stride, c_stride: 2, width: 4, height: 4, sampling: Sampling::Quarter },
            None,
        );
        laid.err().map(|error| if let BlendError::Planes { plane, .. } = error { plane } else { "other" })
    };
    assert_eq!(lengths(16, 4, 4, 4), None);
    assert_eq!(lengths(15, 4, 4, 4), Some("first"));
    assert_eq!(lengths(16, 4, 4, 3), Some("first"));
    assert_eq!(lengths(16, 4, 4, usize::MAX), Some("first"));
    assert_eq!(lengths(16, 3, 4, 4), Some("second"));
    assert_eq!(lengths(16, 4, 3, 4), Some("third"));
}
