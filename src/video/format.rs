//! Pixel formats: which can be laid on as they are, and into which the others are taken apart.

use super::ff;
use crate::pixel::Sampling;
use ffmpeg_next::ffi;
use std::ffi::CString;

/// A pixel format, as far as laying something over its samples goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct PixelFormat {
    /// The library's number.
    pub(super) id: i32,
    /// How chroma is sampled; RGB counts as full.
    pub(super) sampling: Sampling,
    /// Bits of a sample.
    pub(super) depth: u8,
    /// Whether its planes are green, blue and red.
    pub(super) is_rgb: bool,
    /// The format with the same samples, each kind in a plane of its own: itself where they lie like that.
    pub(super) planar: i32,
}

/// The most bits that a sample may have.
const DEEPEST: i32 = 14;

impl PixelFormat {
    /// Looks a format up. The error says in words what is not taken.
    pub(super) fn of(id: i32) -> Result<Self, String> {
        let refused = |why: &str| Err(format!("the pixel format {}{why} is not taken", name(id)));
        let Some(desc) = descriptor(id) else { return refused("") };
        let has = |flag: i32| desc.flags & flag as u64 != 0;
        let alpha = has(ffi::AV_PIX_FMT_FLAG_ALPHA);
        let kinds = usize::from(desc.nb_components) - usize::from(alpha);
        let comps = desc.comp.get(..kinds).unwrap_or_default();
        let depth = comps.first().map_or(0, |c| c.depth);
        if has(ffi::AV_PIX_FMT_FLAG_HWACCEL) {
            return refused(", which lives in a graphics card,");
        }
        let odd = ffi::AV_PIX_FMT_FLAG_PAL
            | ffi::AV_PIX_FMT_FLAG_BITSTREAM
            | ffi::AV_PIX_FMT_FLAG_BAYER
            | ffi::AV_PIX_FMT_FLAG_FLOAT;
        if has(odd) || name(id).starts_with("xyz") || comps.iter().any(|c| c.depth != depth) {
            return refused("");
        }
        if !(8..=DEEPEST).contains(&depth) {
            return refused(&format!(" with {depth} bits a sample (8 to {DEEPEST} can be)"));
        }
        let sampling = match (kinds, desc.log2_chroma_w, desc.log2_chroma_h) {
            (1, ..) => Sampling::Gray,
            (3, 0, 0) => Sampling::Full,
            (3, 1, 0) => Sampling::Half,
            (3, 1, 1) => Sampling::Quarter,
            _ => return refused(", with such coarse chroma,"),
        };
        let is_rgb = has(ffi::AV_PIX_FMT_FLAG_RGB);
        let bytes = if depth > 8 { 2 } else { 1 };
        let lies_planar = |c: &ffi::AVComponentDescriptor| c.step == bytes && c.shift == 0 && c.offset == 0;
        let big_endian = has(ffi::AV_PIX_FMT_FLAG_BE) && bytes == 2;
        let planes_apart = kinds == 1 || (comps[0].plane != comps[1].plane && comps[1].plane != comps[2].plane);
        let planar = if comps.iter().all(lies_planar) && planes_apart && !big_endian && !alpha {
            id
        } else {
            let model = match sampling {
                _ if is_rgb => "gbrp",
                Sampling::Gray => "gray",
                Sampling::Full => "yuv444p",
                Sampling::Half => "yuv422p",
                Sampling::Quarter => "yuv420p",
            };
            let wanted = if depth > 8 { format!("{model}{depth}") } else { model.to_owned() };
            match by_name(&wanted) {
                Some(planar) => planar,
                None => return refused(""),
            }
        };
        Ok(Self { id, sampling, depth: depth as u8, is_rgb, planar })
    }

    /// Whether its name alone says full range.
    pub(super) fn is_full_range(self) -> bool {
        name(self.id).starts_with("yuvj")
    }

    /// The same samples by a name that says nothing of their range: some encoders know only that.
    pub(super) fn without_range(self) -> i32 {
        let plain = name(self.id).replacen("yuvj", "yuv", 1);
        by_name(&plain).unwrap_or(self.id)
    }
}

/// The library's name of a format.
pub(super) fn name(id: i32) -> String {
    // SAFETY: the number came from the library; it is only looked up, and unknown ones give null.
    ff::name(unsafe { ffi::av_get_pix_fmt_name(std::mem::transmute::<i32, ffi::AVPixelFormat>(id)) })
}

/// The library's description of a format.
pub(super) fn descriptor(id: i32) -> Option<&'static ffi::AVPixFmtDescriptor> {
    // SAFETY: as above; descriptors are static.
    unsafe { ffi::av_pix_fmt_desc_get(std::mem::transmute::<i32, ffi::AVPixelFormat>(id)).as_ref() }
}

fn by_name(wanted: &str) -> Option<i32> {
    let wanted = CString::new(wanted).ok()?;
    // SAFETY: the name is a nul-terminated string that lives through the call.
    let id = unsafe { ffi::av_get_pix_fmt(wanted.as_ptr()) } as i32;
    (id >= 0).then_some(id)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(wanted: &str) -> Result<(Sampling, u8, bool, String), String> {
        let id = by_name(wanted).expect("known to the library");
        PixelFormat::of(id).map(|f| (f.sampling, f.depth, f.is_rgb, name(f.planar)))
    }

    #[test]
    fn formats_are_told_apart() {
        let known = |name: &str, sampling, depth, is_rgb, planar: &str| {
            assert_eq!(of(name), Ok((sampling, depth, is_rgb, planar.to_owned())), "{name}");
        };
        known("yuv420p", Sampling::Quarter, 8, false, "yuv420p");
        known("yuvj422p", Sampling::Half, 8, false, "yuvj422p");
        known("yuv444p12le", Sampling::Full, 12, false, "yuv444p12le");
        known("yuv420p10be", Sampling::Quarter, 10, false, "yuv420p10le");
        known("nv12", Sampling::Quarter, 8, false, "yuv420p");
        known("p010le", Sampling::Quarter, 10, false, "yuv420p10le");
        known("uyvy422", Sampling::Half, 8, false, "yuv422p");
        known("gray10le", Sampling::Gray, 10, false, "gray10le");
        known("gbrp12le", Sampling::Full, 12, true, "gbrp12le");
        known("bgr24", Sampling::Full, 8, true, "gbrp");
        known("rgba", Sampling::Full, 8, true, "gbrp");
        known("yuva444p10le", Sampling::Full, 10, false, "yuv444p10le");
        for odd in ["pal8", "monow", "rgb565le", "yuv411p", "gray16le", "gbrpf32le", "vaapi", "xyz12le"] {
            assert!(of(odd).is_err_and(|said| said.contains(odd)), "{odd}");
        }
    }
}
