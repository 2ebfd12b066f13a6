//! The bytes of a table: is it text at all, in which encoding, and a reader that gives UTF-8.

use super::super::RecorderError;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom};
use std::path::{Path, PathBuf};

/// How much of the file is looked at before reading starts.
const HEAD: usize = 256 * 1024;

/// First bytes of what people hand over instead of a log, and what to say about it.
const OTHERS: &[(usize, &[u8], &str)] = &[
    (4, b"ftyp", "it is a film (MP4 or MOV); give it as a film"),
    (4, b"moov", "it is a film (MOV); give it as a film"),
    (0, b"\x1a\x45\xdf\xa3", "it is a film (Matroska); give it as a film"),
    (0, b"RIFF", "it is a film or a sound (AVI or WAV)"),
    (0, b"PK\x03\x04", "it is a spreadsheet or a ZIP archive; save the sheet as CSV, or unpack it"),
    (0, b"\x1f\x8b", "it is compressed (gzip); unpack it first"),
    (0, b"%PDF", "it is a PDF document"),
    (0, b"\x89PNG", "it is a picture (PNG)"),
    (0, b"\xff\xd8\xff", "it is a picture (JPEG)"),
    (0, b"SQLite format", "it is a database (SQLite); export the table as CSV"),
    (0, b"<", "it is XML or HTML text, but no GPX"),
    (0, b"$GP", "it begins like NMEA 0183, but few of its lines are sentences"),
    (0, b"$GN", "it begins like NMEA 0183, but few of its lines are sentences"),
];

/// A file that was found to be text.
pub(super) struct Source {
    file: PathBuf,
    /// Bytes before the text: a byte order mark of UTF-8.
    skip: u64,
    /// The whole text where it had to be decoded.
    decoded: Option<Vec<u8>>,
    /// The first part of the text, whole lines only unless it is one long line.
    pub(super) head: Vec<u8>,
    /// Name of the encoding, where it is not UTF-8, and whether it is a guess.
    pub(super) encoding: Option<(&'static str, bool)>,
}

impl Source {
    /// Opens a file and looks at its first part.
    pub(super) fn open(path: &Path) -> Result<Self, RecorderError> {
        let opened = |source| RecorderError::Open { file: path.to_owned(), source };
        // Opening a pipe would wait for a writer, and the file is read twice.
        if !std::fs::metadata(path).map_err(opened)?.is_file() {
            return Err(RecorderError::NotALog {
                file: path.to_owned(),
                found: "a folder or a pipe, not a file; save it first",
            });
        }
        let mut file = File::open(path).map_err(opened)?;
        let mut head = Vec::with_capacity(HEAD);
        file.by_ref().take(HEAD as u64).read_to_end(&mut head).map_err(opened)?;
        if head.is_empty() {
            return Err(RecorderError::Empty { file: path.to_owned() });
        }
        let mut source = Self { file: path.to_owned(), skip: 0, decoded: None, head, encoding: None };
        source.settle_encoding(&mut file)?;
        let other = |found| Err(RecorderError::NotALog { file: path.to_owned(), found });
        if let Some((.., found)) = OTHERS.iter().find(|(at, sign, _)| source.starts_at(*at, sign)) {
            return other(found);
        }
        if !looks_like_text(&source.head) {
            return other("its bytes are not text");
        }
        if source.head.iter().all(u8::is_ascii_whitespace) {
            return other("it holds only blanks; copy it anew from the logger's card");
        }
        if source.head.len() >= HEAD
            && let Some(end) = source.head.iter().rposition(|&b| b == b'\n')
        {
            source.head.truncate(end + 1);
        }
        Ok(source)
    }

    /// The text from its start, as UTF-8 with lines that end in LF or CR LF, the last one too.
    pub(super) fn reader(&self) -> Result<Box<dyn Read + '_>, RecorderError> {
        if let Some(text) = &self.decoded {
            return Ok(Box::new(text.chain(line_end(text.last()))));
        }
        let opened = |source| RecorderError::Open { file: self.file.clone(), source };
        let mut file = File::open(&self.file).map_err(opened)?;
        let mut last = [0];
        file.seek(SeekFrom::End(-1)).and_then(|_| file.read_exact(&mut last)).map_err(opened)?;
        file.seek(SeekFrom::Start(self.skip)).map_err(opened)?;
        Ok(Box::new(file.chain(line_end(last.first()))))
    }

    fn starts_at(&self, at: usize, sign: &[u8]) -> bool {
        self.head.get(at..).is_some_and(|bytes| bytes.starts_with(sign))
    }

    /// UTF-8 is read as it comes; anything else, and lines that end in CR alone, are decoded in memory first.
    fn settle_encoding(&mut self, file: &mut File) -> Result<(), RecorderError> {
        let utf8 = match std::str::from_utf8(&self.head) {
            Ok(_) => true,
            Err(error) => error.error_len().is_none() && self.head.len() >= HEAD,
        };
        let marked = encoding_rs::Encoding::for_bom(&self.head);
        let (encoding, guess) = match marked {
            Some((encoding, length)) if encoding == encoding_rs::UTF_8 => {
                self.skip = length as u64;
                self.head.drain(..length);
                (encoding, false)
            }
            Some((encoding, _)) => (encoding, false),
            None if utf8 || !looks_like_text(&self.head) => (encoding_rs::UTF_8, false),
            None => {
                let mut detector = chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
                detector.feed(&self.head, self.head.len() < HEAD);
                (detector.guess(None, chardetng::Utf8Detection::Deny), true)
            }
        };
        let old_mac = self.head.contains(&b'\r') && !self.head.contains(&b'\n') && looks_like_text(&self.head);
        if encoding == encoding_rs::UTF_8 && !old_mac {
            return Ok(());
        }
        let whole =
            self.rest(file).map_err(|source| RecorderError::Read { file: self.file.clone(), row: 0, source })?;
        let mut text = encoding.decode(&whole).0.into_owned().into_bytes();
        if !text.contains(&b'\n') {
            text.iter_mut().filter(|b| **b == b'\r').for_each(|b| *b = b'\n');
        }
        if encoding != encoding_rs::UTF_8 {
            self.encoding = Some((encoding.name(), guess));
        }
        self.head = text[..text.len().min(HEAD)].to_vec();
        self.decoded = Some(text);
        Ok(())
    }

    fn rest(&self, file: &mut File) -> io::Result<Vec<u8>> {
        let mut whole = self.head.clone();
        file.read_to_end(&mut whole)?;
        Ok(whole)
    }
}

/// What is missing after the last byte for the last line to be a whole one.
fn line_end(last: Option<&u8>) -> &'static [u8] {
    if last == Some(&b'\n') { b"" } else { b"\n" }
}

/// Text has no NUL and hardly any other control byte.
fn looks_like_text(bytes: &[u8]) -> bool {
    let odd = bytes.iter().filter(|&&b| b < 32 && !matches!(b, b'\t' | b'\n' | b'\r' | 0x0c | 0x1a | 0x1b)).count();
    !bytes.contains(&0) && odd * 100 <= bytes.len()
}
