//! The codec's colour tags as the terms that blending knows (ITU-T H.273 codes).

use super::format::PixelFormat;
use crate::pixel::{ChromaSiting, Coding, Colour, Light, Matrix, Range, Sampling};
use ffmpeg_next::ffi;

/// Colour tags as raw H.273 codes, so that a code the library's headers do not know is still a number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Tags {
    pub(super) range: i32,
    pub(super) primaries: i32,
    pub(super) transfer: i32,
    pub(super) matrix: i32,
    pub(super) siting: i32,
}

const UNSPECIFIED: i32 = 2;

impl Tags {
    /// The tags of a stream.
    pub(super) fn of(parameters: *const ffi::AVCodecParameters) -> Self {
        // SAFETY: the caller passes the live parameters of an open stream. The fields are C enums, read as plain integers
        // because a file can carry codes that the Rust enum has no variant for.
        unsafe {
            Self {
                range: (&raw const (*parameters).color_range).cast::<i32>().read(),
                primaries: (&raw const (*parameters).color_primaries).cast::<i32>().read(),
                transfer: (&raw const (*parameters).color_trc).cast::<i32>().read(),
                matrix: (&raw const (*parameters).color_space).cast::<i32>().read(),
                siting: (&raw const (*parameters).chroma_location).cast::<i32>().read(),
            }
        }
    }

    /// Writes the tags into an encoder that is not open yet.
    pub(super) fn put(self, context: *mut ffi::AVCodecContext) {
        // SAFETY: the caller owns the context; the integers came out of fields of the same C types.
        unsafe {
            (&raw mut (*context).color_range).cast::<i32>().write(self.range);
            (&raw mut (*context).color_primaries).cast::<i32>().write(self.primaries);
            (&raw mut (*context).color_trc).cast::<i32>().write(self.transfer);
            (&raw mut (*context).colorspace).cast::<i32>().write(self.matrix);
            (&raw mut (*context).chroma_sample_location).cast::<i32>().write(self.siting);
        }
    }

    /// What blending must know, and whether the matrix is a guess.
    ///
    /// An untagged matrix follows the usual size rule (common practice, no source): BT.709 from 720 rows or 1280 columns
    /// on, BT.601 below. Untagged siting is left, in the middle for Motion JPEG, top left for BT.2020. RGB without a range is full,
    /// as is gray: that is how the library shows both.
    /// The error is the name of a matrix that is not taken.
    pub(super) fn coding(
        self,
        format: &PixelFormat,
        jpeg: bool,
        width: u32,
        height: u32,
    ) -> Result<(Coding, bool), String> {
        let has_chroma = !format.is_rgb && format.sampling != Sampling::Gray;
        let guessed = self.matrix == UNSPECIFIED && has_chroma;
        let matrix = match self.matrix {
            _ if format.is_rgb => Matrix::Rgb,
            1 => Matrix::Bt709,
            5 | 6 => Matrix::Bt601,
            9 => Matrix::Bt2020,
            UNSPECIFIED if jpeg => Matrix::Bt601,
            UNSPECIFIED if width >= 1280 || height >= 720 => Matrix::Bt709,
            UNSPECIFIED => Matrix::Bt601,
            _ => return Err(self.matrix_name()),
        };
        let full = match self.range {
            1 => false,
            2 => true,
            _ => format.is_full_range() || !has_chroma,
        };
        let siting = match self.siting {
            1 => ChromaSiting::Left,
            2 => ChromaSiting::Centre,
            3 => ChromaSiting::TopLeft,
            _ if jpeg => ChromaSiting::Centre,
            _ if matrix == Matrix::Bt2020 => ChromaSiting::TopLeft,
            _ => ChromaSiting::Left,
        };
        let light = match self.transfer {
            16 => Light::Pq,
            18 => Light::Hlg,
            _ => Light::Ordinary,
        };
        let colour = Colour { matrix, range: if full { Range::Full } else { Range::Limited }, siting };
        Ok((Coding { colour, sampling: format.sampling, depth: format.depth, light }, guessed))
    }

    pub(super) fn range_name(self, full_range_format: bool) -> &'static str {
        match self.range {
            2 => "full",
            1 => "limited",
            _ if full_range_format => "full",
            _ => "unspecified",
        }
    }

    pub(super) fn matrix_name(self) -> String {
        let name = match self.matrix {
            0 => "rgb",
            1 => "bt709",
            UNSPECIFIED => "unspecified",
            4 => "fcc",
            5 => "bt470bg",
            6 => "smpte170m",
            7 => "smpte240m",
            8 => "ycgco",
            9 => "bt2020nc",
            10 => "bt2020c",
            14 => "ictcp",
            code => return format!("code {code}"),
        };
        name.into()
    }

    pub(super) fn transfer_name(self) -> String {
        let name = match self.transfer {
            1 => "bt709",
            UNSPECIFIED => "unspecified",
            4 => "gamma22",
            5 => "gamma28",
            6 => "smpte170m",
            7 => "smpte240m",
            8 => "linear",
            11 => "iec61966-2-4",
            13 => "srgb",
            14 => "bt2020-10",
            15 => "bt2020-12",
            16 => "pq",
            17 => "smpte428",
            18 => "hlg",
            code => return format!("code {code}"),
        };
        name.into()
    }

    pub(super) fn primaries_name(self) -> String {
        let name = match self.primaries {
            1 => "bt709",
            UNSPECIFIED => "unspecified",
            4 => "bt470m",
            5 => "bt470bg",
            6 => "smpte170m",
            7 => "smpte240m",
            8 => "film",
            9 => "bt2020",
            11 => "smpte431",
            12 => "smpte432",
            code => return format!("code {code}"),
        };
        name.into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tags(matrix: i32, range: i32, siting: i32) -> Tags {
        Tags { range, primaries: 2, transfer: 2, matrix, siting }
    }

    fn format(id: ffi::AVPixelFormat) -> PixelFormat {
        PixelFormat::of(id as i32).expect("taken")
    }

    #[test]
    fn untagged_follows_the_size_rule() {
        let planar = format(ffi::AVPixelFormat::AV_PIX_FMT_YUV420P);
        let small = tags(2, 0, 0).coding(&planar, false, 640, 480);
        let colour = Colour { matrix: Matrix::Bt601, range: Range::Limited, siting: ChromaSiting::Left };
        assert_eq!(small, Ok((Coding::common(colour), true)));
        let large = tags(2, 0, 0).coding(&planar, false, 1280, 720);
        assert_eq!(large.map(|c| c.0.colour.matrix), Ok(Matrix::Bt709));
        let rgb = tags(2, 0, 0).coding(&format(ffi::AVPixelFormat::AV_PIX_FMT_GBRP), false, 1280, 720);
        assert!(
            rgb.is_ok_and(
                |(c, guessed)| (c.colour.matrix, c.colour.range, guessed) == (Matrix::Rgb, Range::Full, false)
            )
        );
    }

    #[test]
    fn tags_win_over_guesses() {
        let deep = format(ffi::AVPixelFormat::AV_PIX_FMT_YUV420P10LE);
        let hlg = Tags { transfer: 18, ..tags(9, 2, 2) };
        let (coding, guessed) = hlg.coding(&deep, false, 640, 480).expect("taken");
        assert_eq!(coding.colour, Colour { matrix: Matrix::Bt2020, range: Range::Full, siting: ChromaSiting::Centre });
        assert_eq!((coding.depth, coding.light, guessed), (10, Light::Hlg, false));
        assert_eq!(tags(8, 0, 0).coding(&deep, false, 640, 480), Err("ycgco".into()));
    }
}
