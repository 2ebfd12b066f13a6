//! The codec's colour tags as the terms that blending knows (ITU-T H.273 codes).

use crate::pixel::{ChromaSiting, Colour, Matrix, Range};
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
    /// on, BT.601 below. Untagged siting is left, in the middle for Motion JPEG, top left for BT.2020.
    /// The error is the name of a matrix that is not taken.
    pub(super) fn colour(
        self,
        full_range_format: bool,
        jpeg: bool,
        width: u32,
        height: u32,
    ) -> Result<(Colour, bool), String> {
        let guessed = self.matrix == UNSPECIFIED;
        let matrix = match self.matrix {
            1 => Matrix::Bt709,
            5 | 6 => Matrix::Bt601,
            9 => Matrix::Bt2020,
            UNSPECIFIED if jpeg => Matrix::Bt601,
            UNSPECIFIED if width >= 1280 || height >= 720 => Matrix::Bt709,
            UNSPECIFIED => Matrix::Bt601,
            _ => return Err(self.matrix_name()),
        };
        let full = full_range_format || self.range == ffi::AVColorRange::AVCOL_RANGE_JPEG as i32;
        let siting = match self.siting {
            1 => ChromaSiting::Left,
            2 => ChromaSiting::Centre,
            3 => ChromaSiting::TopLeft,
            _ if jpeg => ChromaSiting::Centre,
            _ if matrix == Matrix::Bt2020 => ChromaSiting::TopLeft,
            _ => ChromaSiting::Left,
        };
        Ok((Colour { matrix, range: if full { Range::Full } else { Range::Limited }, siting }, guessed))
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

    #[test]
    fn untagged_follows_the_size_rule() {
        let small = tags(2, 0, 0).colour(false, false, 640, 480);
        assert_eq!(
            small,
            Ok((Colour { matrix: Matrix::Bt601, range: Range::Limited, siting: ChromaSiting::Left }, true))
        );
        let large = tags(2, 0, 0).colour(false, false, 1280, 720);
        assert_eq!(large.map(|c| c.0.matrix), Ok(Matrix::Bt709));
    }

    #[test]
    fn tags_win_over_guesses() {
        let (colour, guessed) = tags(9, 2, 2).colour(false, false, 640, 480).expect("taken");
        assert_eq!(colour, Colour { matrix: Matrix::Bt2020, range: Range::Full, siting: ChromaSiting::Centre });
        assert!(!guessed);
        assert_eq!(tags(8, 0, 0).colour(false, false, 640, 480), Err("ycgco".into()));
    }
}
