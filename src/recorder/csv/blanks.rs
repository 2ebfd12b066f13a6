//! Cells that stand under each other, divided by blanks: turned into cells divided by a byte that no text holds.

use std::io::{self, BufRead, BufReader, Read};

/// Stands between two cells once the blanks are gone: the unit separator of ASCII.
pub(super) const DIVIDER: u8 = 0x1f;

/// More places than these are no table's.
const MOST_PLACES: usize = 1000;

/// Where a line of blanks is cut.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Blanks {
    /// At every run of at least so many.
    Runs(usize),
    /// Before these characters of the line, counted from 0: an empty cell is then blank, and not missing.
    Places(Vec<usize>),
}

impl Blanks {
    /// The places that are blank in every data line and in the line above the first of them.
    pub(super) fn places(head: &[u8]) -> Option<Self> {
        let text = String::from_utf8_lossy(head);
        let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).take(400).collect();
        let is_data = |line: &&&str| line.trim_start().starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c));
        let first = lines.iter().position(|line| is_data(&line))?;
        let header = first.checked_sub(1).and_then(|i| lines.get(i))?;
        let fill = |filled: &mut Vec<bool>, line: &str| {
            for (i, _) in line.chars().enumerate().filter(|(_, c)| !c.is_whitespace()) {
                filled.resize(filled.len().max(i + 1), false);
                filled[i] = true;
            }
        };
        let mut by_data = Vec::new();
        lines[first..].iter().filter(is_data).for_each(|line| fill(&mut by_data, line));
        let mut filled = by_data.clone();
        fill(&mut filled, header);
        let is_filled = |i: Option<usize>| i.is_some_and(|i| filled[i]);
        let begins = |&i: &usize| {
            // A name of several words may reach beyond its cells: one blank does not part what stands over nothing.
            let end = filled[i..].iter().position(|f| !f).map_or(filled.len(), |n| i + n);
            let over_cells = (i..end).any(|i| by_data.get(i) == Some(&true));
            let parted = !is_filled(i.checked_sub(1)) && (over_cells || !is_filled(i.checked_sub(2)));
            filled[i] && parted
        };
        let places: Vec<usize> = (0..filled.len()).filter(begins).skip(1).collect();
        (1..=MOST_PLACES).contains(&places.len()).then_some(Self::Places(places))
    }

    /// One line, cut.
    fn cut(&self, line: &str, out: &mut Vec<u8>) {
        let text = line.trim_end();
        let mut put = |c: char| out.extend_from_slice(c.encode_utf8(&mut [0; 4]).as_bytes());
        match self {
            Self::Places(places) => {
                let chars: Vec<char> = text.chars().collect();
                // A line whose last cells are blank ends early; an empty one has none.
                let places = if chars.is_empty() { &[][..] } else { places };
                let mut from = 0;
                for (k, &place) in places.iter().enumerate() {
                    let next = places.get(k + 1).copied();
                    let Some(at) = cut_at(&chars, from, place, next) else { continue };
                    chars[from..at].iter().for_each(|c| put(*c));
                    put(char::from(DIVIDER));
                    from = at;
                }
                chars[from..].iter().for_each(|c| put(*c));
            }
            Self::Runs(least) => {
                let (mut run, mut quoted) = (0, false);
                for c in text.trim_start().chars() {
                    if c == '"' {
                        quoted = !quoted;
                    }
                    if matches!(c, ' ' | '\t') && !quoted {
                        run += 1;
                        continue;
                    }
                    match run {
                        0 => {}
                        run if run >= *least => put(char::from(DIVIDER)),
                        run => (0..run).for_each(|_| put(' ')),
                    }
                    run = 0;
                    put(c);
                }
            }
        }
        out.push(b'\n');
    }
}

/// Where a line is cut for a place, after the cut at `from`. What grew beyond its cell, as a height of five figures does
/// below those of four, is not cut in two: a part of a number is another number. It belongs to the right if a number by itself
/// stands left of it and nothing else right of it; a name belongs there where other names stand left of it. Else nothing tells
/// whose it is, and the row lacks a cell.
fn cut_at(chars: &[char], from: usize, place: usize, next: Option<usize>) -> Option<usize> {
    let place = place.min(chars.len());
    let is_blank = |c: &char| c.is_whitespace();
    let before = chars[..place].iter().rev().take_while(|c| !is_blank(c)).count();
    let beyond = chars[place..].iter().take_while(|c| !is_blank(c)).count();
    if before == 0 || beyond == 0 {
        return Some(place);
    }
    let (start, end) = (place - before, place + beyond);
    let rest = end..next.map_or(chars.len(), |next| next.clamp(end, chars.len()));
    let mut words = chars.get(from..start)?.split(is_blank).filter(|word| !word.is_empty());
    let is_number = |word: &[char]| word.first().is_some_and(|c| c.is_ascii_digit() || "+-.".contains(*c));
    let is_right = if chars.split(is_blank).any(is_number) {
        words.next().is_some_and(is_number) && words.next().is_none() && chars[rest].iter().all(is_blank)
    } else {
        words.next().is_some()
    };
    is_right.then_some(start)
}

/// Reads lines and hands them on cut.
pub(super) struct Cut<R> {
    lines: BufReader<R>,
    blanks: Blanks,
    line: Vec<u8>,
    out: Vec<u8>,
    given: usize,
}

impl<R: Read> Cut<R> {
    pub(super) fn new(text: R, blanks: Blanks) -> Self {
        Self { lines: BufReader::new(text), blanks, line: Vec::new(), out: Vec::new(), given: 0 }
    }
}

impl<R: Read> Read for Cut<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        if self.given == self.out.len() {
            (self.given, self.line) = (0, Vec::new());
            self.out.clear();
            if self.lines.read_until(b'\n', &mut self.line)? > 0 {
                self.blanks.cut(&String::from_utf8_lossy(&self.line), &mut self.out);
            }
        }
        let n = (&self.out[self.given..]).read(buffer)?;
        self.given += n;
        Ok(n)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cut(blanks: Blanks, text: &str) -> String {
        let mut out = String::new();
        Cut::new(text.as_bytes(), blanks).read_to_string(&mut out).unwrap();
        out.replace(char::from(DIVIDER), "|")
    }

    #[test]
    fn runs_and_places() {
        assert_eq!(cut(Blanks::Runs(1), "  a  b c\n1 2   3 \n\n"), "a|b|c\n1|2|3\n\n");
        assert_eq!(cut(Blanks::Runs(2), "t [s]   Oil T\n 1   2\n"), "t [s]|Oil T\n1|2\n");
        let text = "Note on a flight\n t  Oil T  x\n 1   80.5  2\n 2         3\n 3   81.0\n";
        let places = Blanks::places(text.as_bytes()).unwrap();
        assert_eq!(cut(places, &text[17..]), " t  |Oil T  |x\n 1  | 80.5  |2\n 2  |       |3\n 3  | 81.0|\n");
    }

    #[test]
    fn what_grows_beyond_its_cell_is_not_cut_in_two() {
        let places = Blanks::Places(vec![6, 13]);
        let text = "Leg 10000     40\nt       alt    ias\n1      9998     40\n2     10000     41\n3    100000     42\n4    100000 43  44\n     100000     45\nDunlin Valley\n";
        let expected = "Leg 10000    | 40\nt     |  alt  |  ias\n1     | 9998  |   40\n2     |10000  |   41\n3    |100000  |   42\n4    100000 43  44\n     100000  |   45\nDunlin| Valley|\n";
        assert_eq!(cut(places, text), expected);
    }
}
