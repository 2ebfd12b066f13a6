//! Pictures against the ones in `tests/golden`.
//!
//! `JUMPSEAT_REFRESH_GOLDENS=1` writes them anew: look at each before it is committed.

use std::path::{Path, PathBuf};

use image::{Rgb, RgbImage};
use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{DiscSize, Face, Panel, Side};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::{InstrumentState, Notice, PanelState};

use super::{instrument, over};

/// Libm, vector units and reciprocals differ by processor: so many levels may a few pixels differ, and so many all.
const FEW: u8 = 3;
const ALL: u8 = 1;
/// Share of pixels that may differ by more than `ALL`.
const SHARE: f64 = 0.001;

/// The patch over snow on the left and night on the right, so that opacity is tested too.
pub fn seen(patch: &Patch) -> RgbImage {
    let place = patch.place;
    RgbImage::from_fn(place.width, place.height, |x, y| {
        let ground = if x < place.width / 2 { [0.95; 3] } else { [0.05; 3] };
        Rgb(over(patch, place.x + x, place.y + y, ground).map(|v| (v * 255.0).round() as u8))
    })
}

pub fn compare(name: &str, picture: &RgbImage) -> Result<(), String> {
    let golden = Path::new("tests/golden").join(format!("{name}.png"));
    if std::env::var_os("JUMPSEAT_REFRESH_GOLDENS").is_some() {
        return picture.save(&golden).map_err(|e| format!("{}: {e}", golden.display()));
    }
    let expected = image::open(&golden).map_err(|e| format!("{}: {e}", golden.display()))?.to_rgb8();
    if expected.dimensions() != picture.dimensions() {
        return Err(format!("{name}: {:?} expected, {:?} drawn", expected.dimensions(), picture.dimensions()));
    }
    let step = |a: &Rgb<u8>, b: &Rgb<u8>| (0..3).map(|c| a[c].abs_diff(b[c])).max().unwrap_or(0);
    let steps: Vec<u8> = expected.pixels().zip(picture.pixels()).map(|(a, b)| step(a, b)).collect();
    let worst = steps.iter().copied().max().unwrap_or(0);
    let many = steps.iter().filter(|&&s| s > ALL).count();
    if worst <= FEW && many as f64 <= SHARE * steps.len() as f64 {
        return Ok(());
    }
    let folder = PathBuf::from("target/golden");
    std::fs::create_dir_all(&folder).map_err(|e| e.to_string())?;
    let difference = RgbImage::from_fn(picture.width(), picture.height(), |x, y| {
        Rgb([steps[(y * picture.width() + x) as usize].saturating_mul(20); 3])
    });
    let (drawn, diff) = (folder.join(format!("{name}.png")), folder.join(format!("{name}.difference.png")));
    picture.save(&drawn).map_err(|e| e.to_string())?;
    difference.save(&diff).map_err(|e| e.to_string())?;
    Err(format!("{name}: {many} pixels differ, by up to {worst}; see {} and {}", drawn.display(), diff.display()))
}

pub fn report(results: impl IntoIterator<Item = Result<(), String>>) {
    let faults: Vec<String> = results.into_iter().filter_map(Result::err).collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// One instrument of this size in the lower left of a frame of 640 x 360.
pub fn shown(face: Face, size: DiscSize, state: InstrumentState, theme: Theme) -> RgbImage {
    let panel = Panel { instruments: vec![instrument("shown", face, size, Side::Left, 0.42, 0.3)], ..Panel::default() };
    let mut painter = Painter::new(&panel, FrameShape::plain(640, 360), theme).unwrap();
    let state = PanelState { instruments: vec![state], notice: Notice::Bare, session_s: 30.0, ..PanelState::default() };
    seen(&painter.draw(&state)[0].patch)
}
