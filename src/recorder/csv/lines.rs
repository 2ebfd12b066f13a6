//! Text line by line, for those who look at a line before they decide how to read it.

use std::io::{self, Read};
use std::ops::Range;

/// How much is read at a time.
const PART: usize = 256 * 1024;

/// Lines of a text. As a reader it hands out one line at a time, or less: whoever reads what ends with a line has then read
/// nothing beyond it.
pub(super) struct Lines<R> {
    text: R,
    buffer: Vec<u8>,
    /// What of the buffer is filled and was not handed out.
    held: Range<usize>,
    ended: bool,
    /// Line breaks handed out.
    pub(super) breaks: u64,
}

impl<R: Read> Lines<R> {
    pub(super) fn new(text: R) -> Self {
        Self { text, buffer: vec![0; PART], held: 0..0, ended: false, breaks: 0 }
    }

    /// The next line with its break, where one ends it; it stays the next one. Empty at the end of the text.
    pub(super) fn peek(&mut self) -> io::Result<&[u8]> {
        let mut looked = 0;
        loop {
            let held = &self.buffer[self.held.clone()];
            match memchr::memchr(b'\n', &held[looked..]) {
                Some(at) => return Ok(&self.buffer[self.held.start..][..looked + at + 1]),
                None if self.ended => return Ok(&self.buffer[self.held.clone()]),
                None => looked = held.len(),
            }
            self.fill()?;
        }
    }

    /// Passes over so many bytes of the next line.
    pub(super) fn pass(&mut self, n: usize, ends_line: bool) {
        self.held.start = (self.held.start + n).min(self.held.end);
        self.breaks += u64::from(ends_line);
    }

    fn fill(&mut self) -> io::Result<()> {
        self.buffer.copy_within(self.held.clone(), 0);
        self.held = 0..self.held.len();
        if self.held.end == self.buffer.len() {
            self.buffer.resize(2 * self.buffer.len(), 0);
        }
        let n = loop {
            match self.text.read(&mut self.buffer[self.held.end..]) {
                Err(error) if error.kind() == io::ErrorKind::Interrupted => {}
                read => break read?,
            }
        };
        self.ended = n == 0;
        self.held.end += n;
        Ok(())
    }
}

impl<R: Read> Read for Lines<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let mut line = self.peek()?;
        let n = line.read(buffer)?;
        let ends_line = buffer[..n].last() == Some(&b'\n');
        self.pass(n, ends_line);
        Ok(n)
    }
}
