//! The bytes of a table: is it text at all, in which encoding, and a reader that gives UTF-8.

use super::super::RecorderError;
use super::decoding::{CrEnds, Decoding};
use encoding_rs::{Encoding, UTF_8, UTF_16BE, UTF_16LE};
use std::cell::Cell;
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
    /// Bytes of the file, or of the decoded text.
    length: u64,
    /// Bytes before the text: a byte order mark of UTF-8.
    skip: u64,
    /// What it has to be decoded from, if it is not UTF-8.
    decoded: Option<&'static Encoding>,
    /// Whether lines end in CR alone.
    cr_ends: bool,
    /// The first part of the text, whole lines only unless it is one long line.
    pub(super) head: Vec<u8>,
    /// Name of the encoding, where it is not UTF-8, and how it is known.
    pub(super) encoding: Option<(&'static str, &'static str)>,
    /// NUL bytes passed over so far, and the line of the first.
    pub(super) nuls: Nuls,
    /// Whether the file ends in the middle of a line.
    pub(super) ends_open: bool,
}

/// NUL bytes: how many, and the physical line of the first.
#[derive(Debug, Default)]
pub(super) struct Nuls {
    pub(super) count: Cell<u64>,
    pub(super) row: Cell<u64>,
}

impl Source {
    /// Opens a file and looks at its first part. `stated`: the encoding by the owner's word.
    pub(super) fn open(path: &Path, stated: Option<&'static Encoding>) -> Result<Self, RecorderError> {
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
        let mut source = Self {
            file: path.to_owned(),
            length: 0,
            skip: 0,
            decoded: None,
            cr_ends: false,
            head,
            encoding: None,
            nuls: Nuls::default(),
            ends_open: false,
        };
        source.settle_encoding(&mut file, stated)?;
        let other = |found| Err(RecorderError::NotALog { file: path.to_owned(), found });
        if let Some((.., found)) = OTHERS.iter().find(|(at, sign, _)| source.starts_at(*at, sign)) {
            return other(found);
        }
        if !is_text(&source.head) {
            return other("its bytes are not text");
        }
        let is_part = source.head.len() >= HEAD;
        source.head.retain(|b| *b != 0);
        if source.head.iter().all(u8::is_ascii_whitespace) {
            return other("it holds only blanks; copy it anew from the logger's card");
        }
        if is_part && let Some(end) = source.head.iter().rposition(|&b| b == b'\n') {
            source.head.truncate(end + 1);
        }
        Ok(source)
    }

    /// About how many lines there are, if all are like those of the first part.
    pub(super) fn rows_expected(&self) -> usize {
        let lines = self.head.iter().filter(|b| **b == b'\n').count() as u64;
        let all = u128::from(self.length) * u128::from(lines + 1) / self.head.len().max(1) as u128;
        usize::try_from(all + all / 50).unwrap_or(usize::MAX)
    }

    /// The text from its start, as UTF-8 without NUL bytes, its lines ended by LF or CR LF, the last one too.
    pub(super) fn reader(&self) -> Result<Box<dyn Read + '_>, RecorderError> {
        self.nuls.count.set(0);
        let ending: &[u8] = if self.ends_open { b"\n" } else { b"" };
        let opened = |source| RecorderError::Open { file: self.file.clone(), source };
        let mut file = File::open(&self.file).map_err(opened)?;
        file.seek(SeekFrom::Start(self.skip)).map_err(opened)?;
        let text = self.decoding(file);
        Ok(Box::new(WithoutNuls { text, nuls: &self.nuls, line: 1 }.chain(ending)))
    }

    /// The file's bytes as UTF-8.
    fn decoding(&self, file: File) -> Box<dyn Read> {
        let text: Box<dyn Read> = match self.decoded {
            Some(encoding) => Box::new(Decoding::new(file, encoding)),
            None => Box::new(file),
        };
        if self.cr_ends { Box::new(CrEnds(text)) } else { text }
    }

    fn starts_at(&self, at: usize, sign: &[u8]) -> bool {
        self.head.get(at..).is_some_and(|bytes| bytes.starts_with(sign))
    }

    /// UTF-8 is read as it comes. Anything else, and lines that end in CR alone, are read once beforehand: only the whole text
    /// tells how its lines end.
    fn settle_encoding(&mut self, file: &mut File, stated: Option<&'static Encoding>) -> Result<(), RecorderError> {
        let read = |source| RecorderError::Read { file: self.file.clone(), row: 0, source };
        let utf8 = match std::str::from_utf8(&self.head) {
            Ok(_) => true,
            Err(error) => error.error_len().is_none() && self.head.len() >= HEAD,
        };
        let marked = Encoding::for_bom(&self.head);
        let (encoding, how) = match (stated, marked, utf16(&self.head)) {
            (Some(encoding), ..) => (encoding, "as the flight file says"),
            (None, Some((encoding, _)), _) => (encoding, "by its byte order mark"),
            (None, None, Some(encoding)) => (encoding, "guessed from its bytes: every other one is NUL"),
            _ if utf8 || !is_text(&self.head) => (UTF_8, ""),
            _ => {
                let mut detector = chardetng::EncodingDetector::new(chardetng::Iso2022JpDetection::Deny);
                detector.feed(&self.head, self.head.len() < HEAD);
                (detector.guess(None, chardetng::Utf8Detection::Deny), "guessed from its bytes")
            }
        };
        if encoding != UTF_8 {
            self.encoding = Some((encoding.name(), how));
        }
        let old_mac = self.head.contains(&b'\r') && !self.head.contains(&b'\n') && is_text(&self.head);
        if encoding == UTF_8 && !old_mac {
            if let Some((_, length)) = marked.filter(|(e, _)| *e == UTF_8) {
                self.skip = length as u64;
                self.head.drain(..length);
            }
            self.length = file.metadata().map_err(read)?.len();
            let mut last = [b'\n'];
            if self.length > 0 {
                file.seek(SeekFrom::End(-1)).and_then(|_| file.read_exact(&mut last)).map_err(read)?;
            }
            self.ends_open = last != [b'\n'];
            return Ok(());
        }
        self.decoded = Some(encoding);
        file.rewind().map_err(read)?;
        let mut text = Decoding::new(file, encoding);
        let mut head = Vec::with_capacity(HEAD);
        text.by_ref().take(HEAD as u64).read_to_end(&mut head).map_err(read)?;
        let (mut part, mut length) = (head.clone(), 0);
        let (mut has_lf, mut last) = (false, None);
        while !part.is_empty() {
            length += part.len() as u64;
            has_lf |= part.contains(&b'\n');
            last = part.last().copied();
            part.clear();
            text.by_ref().take(HEAD as u64).read_to_end(&mut part).map_err(read)?;
        }
        self.cr_ends = !has_lf;
        if self.cr_ends {
            head.iter_mut().filter(|b| **b == b'\r').for_each(|b| *b = b'\n');
        }
        self.ends_open = last != Some(if self.cr_ends { b'\r' } else { b'\n' });
        (self.head, self.length) = (head, length);
        Ok(())
    }
}

/// Passes over NUL bytes, which a logger leaves where it reserved room and lost power.
struct WithoutNuls<'a, R> {
    text: R,
    nuls: &'a Nuls,
    line: u64,
}

impl<R: Read> Read for WithoutNuls<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        loop {
            let n = self.text.read(buffer)?;
            let bytes = &mut buffer[..n];
            // Sums of single bytes, which the compiler takes many at a time, with none left over in a chunk.
            let of_chunk = |chunk: &[u8]| u64::from(chunk.iter().map(|b| u8::from(*b == b'\n')).sum::<u8>());
            let lines = |bytes: &[u8]| bytes.chunks(224).map(of_chunk).sum::<u64>();
            if n == 0 || !bytes.contains(&0) {
                // Lines are only counted up to the first NUL.
                if self.nuls.count.get() == 0 {
                    self.line += lines(bytes);
                }
                return Ok(n);
            }
            if self.nuls.count.get() == 0 {
                let first = bytes.iter().position(|b| *b == 0).unwrap_or(0);
                self.nuls.row.set(self.line + lines(&bytes[..first]));
            }
            let mut kept = 0;
            for i in 0..n {
                if bytes[i] != 0 {
                    bytes[kept] = bytes[i];
                    kept += 1;
                }
            }
            self.nuls.count.set(self.nuls.count.get() + (n - kept) as u64);
            if kept > 0 {
                return Ok(kept);
            }
        }
    }
}

/// UTF-16 without a byte order mark: the text of a log is nearly all below U+0100, so every other byte is NUL.
fn utf16(bytes: &[u8]) -> Option<&'static Encoding> {
    let bytes = &bytes[..bytes.len().min(4096) / 2 * 2];
    let nuls = |parity: usize| bytes.iter().skip(parity).step_by(2).filter(|b| **b == 0).count();
    let most = |many: usize, few: usize| many * 10 >= bytes.len() / 2 * 8 && few * 50 <= many;
    let (even, odd) = (nuls(0), nuls(1));
    match bytes.len() >= 8 {
        true if most(odd, even) => Some(UTF_16LE),
        true if most(even, odd) => Some(UTF_16BE),
        _ => None,
    }
}

/// Whether the first part of a file may be the text of a log: UTF-16 by its mark or its looks, or text in which hardly any
/// byte is a control byte. NUL bytes do not count, if anything stands between them: a logger leaves them where it loses power.
pub(crate) fn is_text(bytes: &[u8]) -> bool {
    if matches!(Encoding::for_bom(bytes), Some((encoding, _)) if encoding != UTF_8) || utf16(bytes).is_some() {
        return true;
    }
    let odd = |b: u8| b != 0 && b < 32 && !matches!(b, b'\t' | b'\n' | b'\r' | 0x0c | 0x1a | 0x1b);
    let (odd, written) = bytes.iter().fold((0, 0), |(o, w), &b| (o + usize::from(odd(b)), w + usize::from(b != 0)));
    odd * 100 <= written && written * 20 >= bytes.len().min(4096)
}
