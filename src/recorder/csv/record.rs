//! One row's cells.

use csv::ByteRecord;

/// The cells of a row. A line without quotation marks is kept as it stands, with the places where its cells end; what has quotes
/// is what the `csv` crate makes of it.
#[derive(Debug, Clone, Default)]
pub(super) struct Record {
    /// A line as it stands, and the end of each of its cells; the byte after that parts it from the next.
    line: Vec<u8>,
    ends: Vec<usize>,
    /// A row with quotes, which then holds the cells.
    quoted: Option<ByteRecord>,
}

impl Record {
    /// Takes a line without quotes and line break.
    pub(super) fn take_line(&mut self, line: &[u8], separator: u8) {
        self.quoted = None;
        self.line.clear();
        self.line.extend_from_slice(line);
        self.ends.clear();
        let mut at = 0;
        let (chunks, rest) = line.as_chunks::<64>();
        let mut put = |chunk: &[u8; 64], at: usize| {
            let mut places = places(chunk, separator);
            while places != 0 {
                self.ends.push(at + places.trailing_zeros() as usize);
                places &= places - 1;
            }
        };
        for chunk in chunks {
            put(chunk, at);
            at += 64;
        }
        // No separator is NUL.
        let mut last = [0; 64];
        last[..rest.len()].copy_from_slice(rest);
        put(&last, at);
        self.ends.push(at + rest.len());
    }

    /// Takes a row that the `csv` crate reads.
    pub(super) fn take_quoted(&mut self) -> &mut ByteRecord {
        self.quoted.get_or_insert_default()
    }

    /// How many cells there are.
    #[inline]
    pub(super) fn len(&self) -> usize {
        self.quoted.as_ref().map_or(self.ends.len(), ByteRecord::len)
    }

    /// A text in which the cells stand one after the other, and where in it one of them stands.
    #[inline(always)]
    pub(super) fn place(&self, index: usize) -> Option<(&[u8], std::ops::Range<usize>)> {
        match &self.quoted {
            None => {
                let end = *self.ends.get(index)?;
                let start = if index == 0 { 0 } else { self.ends.get(index - 1)? + 1 };
                Some((&self.line, start..end))
            }
            Some(quoted) => Some((quoted.as_slice(), quoted.range(index)?)),
        }
    }

    /// One cell.
    #[inline]
    pub(super) fn get(&self, index: usize) -> Option<&[u8]> {
        let (text, place) = self.place(index)?;
        text.get(place)
    }

    /// All cells.
    pub(super) fn iter(&self) -> impl DoubleEndedIterator<Item = &[u8]> + Clone {
        (0..self.len()).map(|i| self.get(i).unwrap_or_default())
    }

    /// Whether there is but one cell, of nothing but blanks or the sign that ended texts once (control Z).
    pub(super) fn is_blank(&self) -> bool {
        let is_blank = |byte: &u8| byte.is_ascii_whitespace() || *byte == 0x1a;
        self.len() == 1 && self.get(0).unwrap_or_default().iter().all(is_blank)
    }
}

impl PartialEq for Record {
    fn eq(&self, other: &Self) -> bool {
        self.len() == other.len() && self.iter().eq(other.iter())
    }
}

/// Where a byte stands, as bits; the lowest is the first place. Eight bytes at a time as one word: a branch for each byte would
/// often be guessed wrong.
#[inline(always)]
fn places(chunk: &[u8; 64], byte: u8) -> u64 {
    const LOW: u64 = 0x7f7f_7f7f_7f7f_7f7f;
    let pattern = u64::from_ne_bytes([byte; 8]);
    let (words, _) = chunk.as_chunks::<8>();
    words.iter().enumerate().fold(0, |places, (i, word)| {
        let other = u64::from_le_bytes(*word) ^ pattern;
        // The highest bit of each byte that does not differ; no sum runs over into the next byte.
        let same = !(((other & LOW) + LOW) | other | LOW);
        // Gathers these eight bits in the highest byte.
        places | ((same >> 7).wrapping_mul(0x0102_0408_1020_4080) >> 56) << (8 * i)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    proptest::proptest! {
        /// The cells are those between separators, whatever the bytes.
        #[test]
        fn cells_of_a_line(line in proptest::collection::vec(
            proptest::prop_oneof![3 => proptest::sample::select(&b",-+\xac"[..]), 5 => 0u8..], 0..200)) {
            let mut record = Record::default();
            record.take_line(b"what,was,before", b',');
            record.take_line(&line, b',');
            let expected: Vec<&[u8]> = line.split(|b| *b == b',').collect();
            proptest::prop_assert_eq!(record.iter().collect::<Vec<_>>(), expected.clone());
            proptest::prop_assert_eq!(record.len(), expected.len());
            proptest::prop_assert_eq!(record.get(expected.len()), None);
        }
    }
}
