//! What must hold of a clip, whatever its bytes: the fuzz target `clip` and `tests/fuzz_corpora.rs` hold the same.
//!
//! No panic, and none of our reading beyond what the library handed out; frames come in the order of their times, and every sample of
//! each can be read and written in the pool's copy of it; a clip that is refused is told.
#![allow(clippy::expect_used, clippy::panic, reason = "a check stops at a fault")]

use jumpseat::pixel::{PlanesMut, Sample};
use jumpseat::video::{self, Crop, FramePool, Item, Reader, Reshape, Scale};
use std::path::Path;

/// Frames and packets that are looked at, and the largest picture: bytes can promise more than there is time for.
const MOST: usize = 40;
const LARGEST: u64 = 1 << 20;

/// A clip: opened, decoded, counted and listened to.
pub fn clip(bytes: &[u8]) {
    let memory = Path::new("/dev/shm");
    let folder = if memory.is_dir() { memory.to_owned() } else { std::env::temp_dir() };
    let file = folder.join(format!("jumpseat-fuzz-{}-{:?}.bin", std::process::id(), std::thread::current().id()));
    std::fs::write(&file, bytes).expect("a file to read");
    look_at(&file);
    std::fs::remove_file(&file).expect("removed");
    video::take_findings();
}

fn look_at(file: &Path) {
    let clip = match video::probe(file) {
        Ok(clip) => clip,
        Err(e) => {
            assert!(!e.to_string().is_empty());
            return;
        }
    };
    let shape = clip.video.shape;
    if u64::from(shape.width) * u64::from(shape.height) > LARGEST {
        return;
    }
    assert!(clip.duration_s.is_finite() && shape.pixel_aspect > 0.0, "{clip:?}");
    decode(&clip);
    let smaller = Reshape { crop: Some(Crop::Ratio { width: 1, height: 1 }), scale: None, deinterlace: false };
    let scaled = Reshape { scale: Some(Scale { width: Some(24), height: None }), ..smaller };
    for reshape in [smaller, scaled, Reshape { deinterlace: true, ..Reshape::default() }] {
        if let Ok(clip) = clip.clone().reshaped(reshape) {
            decode(&clip);
        }
    }
    let spans = video::frame_spans(&clip).unwrap_or_default();
    assert!(spans.windows(2).all(|pair| pair[0].0 < pair[1].0), "{spans:?}");
    let mut samples = 0_usize;
    // A few bytes may stand for hours of silence: what matters is how it begins.
    let _ = video::listen(&clip, 8000, |heard| {
        samples += heard.len();
        assert!(heard.iter().all(|sample| !sample.is_nan()), "{heard:?}");
    });
}

fn decode(clip: &video::Clip) {
    let Ok(mut reader) = Reader::open_clip(clip, 1) else { return };
    walk(&mut reader);
    if reader.seek(clip.video.first_pts.saturating_add(3)).is_ok() {
        walk(&mut reader);
    }
    reader.findings();
}

fn walk(reader: &mut Reader) {
    let (mut last, mut pool) = (None, None);
    for _ in 0..MOST {
        let Ok(Some(item)) = reader.read_item() else { break };
        let frame = match item {
            Item::Frame(frame) => frame,
            Item::Sound(packet) => {
                assert!(packet.start_s.is_none_or(f64::is_finite));
                continue;
            }
        };
        assert!(last.is_none_or(|last| frame.pts > last), "{} after {last:?}", frame.pts);
        last = Some(frame.pts);
        if pool.is_none() {
            pool = FramePool::like(&frame).ok();
        }
        let Some(Ok(mut copy)) = pool.as_ref().map(|pool| pool.copy(&frame)) else { break };
        if let Some(planes) = copy.planes_mut::<u8>() {
            touch(planes);
        } else if let Some(planes) = copy.planes_mut::<u16>() {
            touch(planes);
        } else {
            panic!("a frame without planes");
        }
    }
}

/// Reads and writes every sample.
fn touch<T: Sample + PartialEq>(planes: PlanesMut<'_, T>) {
    for plane in [planes.y, planes.u, planes.v] {
        for sample in plane {
            *sample = std::hint::black_box(*sample);
        }
    }
}
