//! Frames with instruments on them, through the ffmpeg tool's own H.264 encoder and back.

use std::io::Write;
use std::process::{Command, Stdio};

use jumpseat::blend::Layer;
use jumpseat::pixel::{ChromaSiting, Colour, Matrix, Patch, PlanesMut, Range, Sampling};

/// How the frames are coded and tagged.
pub const COLOUR: Colour = Colour { matrix: Matrix::Bt709, range: Range::Limited, siting: ChromaSiting::Left };

/// An 8-bit 4:2:0 frame.
#[derive(Clone)]
pub struct Frame {
    pub width: u32,
    pub height: u32,
    y: Vec<u8>,
    u: Vec<u8>,
    v: Vec<u8>,
}

impl Frame {
    /// A picture full of edges, textures and colours that moves with its number.
    pub fn busy(width: u32, height: u32, number: u32) -> Self {
        let (dx, dy) = (3 * number, number);
        let hash = |x: u32, y: u32, salt: u32| {
            let mut h = x.wrapping_mul(0x9e37_79b1) ^ y.wrapping_mul(0x85eb_ca6b) ^ salt.wrapping_mul(0xc2b2_ae35);
            h ^= h >> 15;
            h = h.wrapping_mul(0x2c1b_3c6d);
            (h ^ (h >> 13)) & 0xff
        };
        let luma = |x: u32, y: u32| {
            let (x, y) = (x + dx, y + dy);
            // Blocks of 64 and of 12 pixels, slanting stripes on every third of the large ones, and grain.
            let large = hash(x / 64, y / 64, 1);
            let stripes = if large % 3 == 0 { ((x + y) / 5 % 2) * 70 } else { 0 };
            16 + (large * 90 + hash(x / 12, y / 12, 2) * 60 + hash(x, y, 3) * 12) / 255 + stripes / 2
        };
        let chroma = |x: u32, y: u32, salt: u32| 88 + hash((2 * x + dx) / 64, (2 * y + dy) / 64, salt) * 80 / 255;
        let plane = |w: u32, h: u32, at: &dyn Fn(u32, u32) -> u32| {
            (0..h).flat_map(|y| (0..w).map(move |x| (x, y))).map(|(x, y)| at(x, y).min(235) as u8).collect()
        };
        Self {
            width,
            height,
            y: plane(width, height, &luma),
            u: plane(width / 2, height / 2, &|x, y| chroma(x, y, 4)),
            v: plane(width / 2, height / 2, &|x, y| chroma(x, y, 5)),
        }
    }

    /// Its planes, to be written to.
    pub fn planes(&mut self) -> PlanesMut<'_> {
        PlanesMut {
            y: &mut self.y,
            u: &mut self.u,
            v: &mut self.v,
            y_stride: self.width as usize,
            c_stride: self.width as usize / 2,
            width: self.width,
            height: self.height,
            sampling: Sampling::Quarter,
        }
    }

    /// Lays a picture over it.
    pub fn lay(&mut self, patch: &Patch) {
        Layer::new(patch, &COLOUR).unwrap().blend(&mut self.planes(), None).unwrap();
    }

    /// All its bytes.
    pub fn bytes(&self) -> Vec<u8> {
        [&*self.y, &self.u, &self.v].concat()
    }
}

/// Encodes frames as an owner's film is by default (libx264, medium, crf 23) and decodes them again, both with the ffmpeg
/// tool: RGB, three bytes a pixel, frame after frame. Frames are made one by one, so that few are in memory.
pub fn through_h264(count: usize, (width, height): (u32, u32), frame: impl Fn(usize) -> Frame + Sync) -> Vec<Vec<u8>> {
    let folder = tempfile::tempdir().unwrap();
    let film = folder.path().join("film.mp4");
    let tags = "-colorspace bt709 -color_primaries bt709 -color_trc bt709 -color_range tv";
    let encode = format!(
        "-nostdin -v error -f rawvideo -pix_fmt yuv420p -s {width}x{height} -r 30 -i - -c:v libx264 -preset medium -crf 23 {tags}"
    );
    let mut encoder = Command::new("ffmpeg")
        .args(encode.split(' ').filter(|a| *a != "-nostdin"))
        .arg(&film)
        .stdin(Stdio::piped())
        .spawn()
        .expect("the ffmpeg tool is installed");
    let mut pipe = encoder.stdin.take().unwrap();
    for number in 0..count {
        pipe.write_all(&frame(number).bytes()).unwrap();
    }
    drop(pipe);
    assert!(encoder.wait().unwrap().success(), "encoded");
    let decoded = Command::new("ffmpeg")
        .args(["-nostdin", "-v", "error", "-i"])
        .arg(&film)
        .args(
            "-fps_mode passthrough -sws_flags bilinear+accurate_rnd+full_chroma_int -f rawvideo -pix_fmt rgb24 -"
                .split(' '),
        )
        .output()
        .expect("the ffmpeg tool is installed");
    assert!(decoded.status.success(), "{}", String::from_utf8_lossy(&decoded.stderr));
    let frames: Vec<Vec<u8>> = decoded.stdout.chunks(3 * (width * height) as usize).map(<[u8]>::to_vec).collect();
    assert_eq!(frames.len(), count, "as many frames as were encoded");
    frames
}
