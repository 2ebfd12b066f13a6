//! Text in another encoding, turned into UTF-8 while it is read.

use encoding_rs::{Decoder, Encoding};
use std::io::{self, Read};

/// How many bytes are turned at a time.
const PART: usize = 64 * 1024;

/// Reads bytes and hands them on as UTF-8; what the encoding does not know becomes the sign of replacement.
pub(super) struct Decoding<R> {
    bytes: R,
    decoder: Decoder,
    part: Vec<u8>,
    text: String,
    given: usize,
    ended: bool,
}

impl<R: Read> Decoding<R> {
    pub(super) fn new(bytes: R, encoding: &'static Encoding) -> Self {
        let decoder = encoding.new_decoder();
        Self { bytes, decoder, part: vec![0; PART], text: String::new(), given: 0, ended: false }
    }
}

impl<R: Read> Read for Decoding<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        while self.given == self.text.len() && !self.ended {
            let n = self.bytes.read(&mut self.part)?;
            (self.given, self.ended) = (0, n == 0);
            self.text.clear();
            self.text.reserve(self.decoder.max_utf8_buffer_length(n).unwrap_or(0));
            // There is room for all of it.
            let _ = self.decoder.decode_to_string(&self.part[..n], &mut self.text, self.ended);
        }
        let n = (&self.text.as_bytes()[self.given..]).read(buffer)?;
        self.given += n;
        Ok(n)
    }
}

/// Reads bytes and ends lines with LF instead of CR.
pub(super) struct CrEnds<R>(pub(super) R);

impl<R: Read> Read for CrEnds<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let n = self.0.read(buffer)?;
        buffer[..n].iter_mut().filter(|b| **b == b'\r').for_each(|b| *b = b'\n');
        Ok(n)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Hands out a few bytes at a time, so that characters are cut.
    struct Bits<'a>(&'a [u8], usize);

    impl Read for Bits<'_> {
        fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
            let n = self.1.min(self.0.len()).min(buffer.len());
            buffer[..n].copy_from_slice(&self.0[..n]);
            self.0 = &self.0[n..];
            Ok(n)
        }
    }

    proptest::proptest! {
        /// However the bytes come in, the text is that of the whole.
        #[test]
        fn in_parts_as_in_one(bytes in proptest::collection::vec(0u8.., 0..200), bits in 1usize..7, which in 0usize..5) {
            let encodings = [encoding_rs::UTF_16LE, encoding_rs::UTF_16BE, encoding_rs::WINDOWS_1252, encoding_rs::SHIFT_JIS,
                encoding_rs::UTF_8];
            let mut text = Vec::new();
            Decoding::new(Bits(&bytes, bits), encodings[which]).read_to_end(&mut text).unwrap();
            let whole = encodings[which].decode(&bytes).0;
            proptest::prop_assert_eq!(text, whole.as_bytes());
        }
    }
}
