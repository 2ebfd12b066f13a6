//! Pieces of a film that were encoded one by one, read packet by packet.

use super::ff::{self, check};
use super::{Packet, VideoError, open};
use crate::time::Rational;
use ffmpeg_next::ffi;
use ffmpeg_next::format::context::Input;
use std::path::{Path, PathBuf};

/// One piece: a file with nothing but a film's packets, the first frame at zero.
pub struct Piece {
    file: PathBuf,
    input: Input,
    base: Rational,
}

impl Piece {
    /// Opens a piece.
    ///
    /// # Errors
    /// The file cannot be read, or holds no film.
    pub fn open(file: &Path) -> Result<Self, VideoError> {
        super::init();
        std::fs::File::open(file).map_err(|source| VideoError::Open { file: file.to_owned(), source })?;
        let url = ff::url(file)?;
        let mut context = std::ptr::null_mut();
        // SAFETY: the library fills `context` or leaves it null; the wrapper takes ownership of a filled one and closes it.
        let input = unsafe {
            let code = ffi::avformat_open_input(&mut context, url.as_ptr(), std::ptr::null(), std::ptr::null_mut());
            if code < 0 {
                return Err(open::open_error(file, code));
            }
            let input = Input::wrap(context);
            check(ffi::avformat_find_stream_info(context, std::ptr::null_mut())).map_err(|e| VideoError::Piece {
                file: file.to_owned(),
                what: format!("this piece cannot be read: {e}"),
            })?;
            input
        };
        let Some(stream) = input.stream(0) else {
            return Err(VideoError::Piece { file: file.to_owned(), what: "this piece holds no film".into() });
        };
        let base = ff::rational(stream.time_base().into());
        Ok(Self { file: file.to_owned(), base, input })
    }

    /// Its stream, alive as long as this is.
    pub(super) fn stream(&self) -> *const ffi::AVStream {
        // SAFETY: a first stream was found when it was opened.
        unsafe { (*(*self.input.as_ptr()).streams).cast_const() }
    }

    /// What a decoder must know before the first packet: pieces of one film agree in it.
    pub fn header(&self) -> Vec<u8> {
        // SAFETY: the stream is alive; the bytes are copied by their stated length.
        unsafe {
            let parameters = &*(*self.stream()).codecpar;
            match usize::try_from(parameters.extradata_size) {
                Ok(size @ 1..) => std::slice::from_raw_parts(parameters.extradata, size).to_vec(),
                _ => Vec::new(),
            }
        }
    }

    /// The next packet, its times in ticks of `base` after `first`; none at the end.
    ///
    /// # Errors
    /// The piece is damaged.
    pub fn next_packet(&mut self, base: Rational, first: i64) -> Result<Option<Packet>, VideoError> {
        let mut packet = ffmpeg_next::Packet::empty();
        match packet.read(&mut self.input) {
            Ok(()) => {}
            Err(ffmpeg_next::Error::Eof) => return Ok(None),
            Err(e) => {
                let what = format!("this piece is damaged: {e}; render it once more");
                return Err(VideoError::Piece { file: self.file.clone(), what });
            }
        }
        packet.rescale_ts(ff::av_rational(self.base), ff::av_rational(base));
        packet.set_pts(packet.pts().map(|t| t + first));
        packet.set_dts(packet.dts().map(|t| t + first));
        Ok(Some(Packet { inner: packet, start_s: None }))
    }
}
