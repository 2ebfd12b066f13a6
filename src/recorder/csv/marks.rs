//! The marks inside numbers: which one is the decimal mark, which one parts thousands, and what unit sticks on.
//!
//! Rule. `1,5` can only have a decimal comma, `1,234,567` and `1,234.5` only one that parts thousands; `1,234` may be
//! either. The whole column decides; where all of its cells are open, the rest of the table does, because a logger
//! writes one way. Where that is open too, the column stays text, with both readings named: never a guess. Only `1.234`
//! in a table without any comma is read as every other program reads it.

use super::cells::{number, plain_figures};
use super::options::Decimal;
use crate::units::Unit;

/// How the numbers of a column are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Marks {
    /// A decimal point; a comma parts thousands.
    #[default]
    Point,
    /// A decimal comma; a point parts thousands.
    Comma,
    /// Not to be told: the cells stay texts.
    Open,
}

impl Marks {
    /// The byte of the decimal mark, where it is known.
    pub(super) fn decimal(self) -> Option<u8> {
        match self {
            Self::Open => None,
            Self::Point => Some(b'.'),
            Self::Comma => Some(b','),
        }
    }
}

/// What the cells of a column, or of a table, say of their marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Evidence(u8);

impl Evidence {
    const POINT: Self = Self(1);
    const COMMA: Self = Self(2);
    /// `1.234`
    const OPEN_POINT: Self = Self(4);
    /// `1,234`
    const OPEN_COMMA: Self = Self(8);

    pub(super) fn add(&mut self, other: Self) {
        self.0 |= other.0;
    }

    /// Whether it shows a decimal comma.
    pub(super) fn is_comma(self) -> bool {
        self.has(Self::COMMA)
    }

    fn has(self, other: Self) -> bool {
        self.0 & other.0 != 0
    }

    /// What one (trimmed) cell says.
    pub(super) fn of(cell: &[u8]) -> Self {
        Self::of_figures(cell).unwrap_or_else(|| Self::of_any(cell))
    }

    /// What a cell says that holds figures and at most one mark among them, as nearly every one does.
    fn of_figures(cell: &[u8]) -> Option<Self> {
        let figures = cell.strip_prefix(b"-").unwrap_or(cell);
        let plain = |text: &[u8]| !text.is_empty() && text.iter().all(u8::is_ascii_digit);
        let Some(at) = figures.iter().position(|b| !b.is_ascii_digit()) else { return Some(Self(0)) };
        let (whole, part) = (&figures[..at], &figures[at + 1..]);
        let (sure, open) = match figures[at] {
            b',' => (Self::COMMA, Self::OPEN_COMMA),
            b'.' => (Self::POINT, Self::OPEN_POINT),
            _ => return None,
        };
        plain(part).then(|| if parts_thousands(whole, part) { open } else { sure })
    }

    fn of_any(cell: &[u8]) -> Self {
        let Ok(text) = std::str::from_utf8(cell) else { return Self(0) };
        let text = text.trim_start_matches(['+', '-', '\u{2212}']);
        let end = text.find(|c: char| !(c.is_ascii_digit() || is_mark(c) || is_blank(c))).unwrap_or(text.len());
        let (figures, rest) = text.split_at(end);
        if !figures.contains(['.', ',']) {
            return Self(0);
        }
        // A unit may stick on; letters, slashes and colons make it something else.
        if !rest.is_empty() && stuck_unit(rest.as_bytes()).is_none() {
            return Self(0);
        }
        let figures = figures.trim_end();
        let decimal = |mark: char, groups: char| {
            let (whole, part) = figures.rsplit_once(mark)?;
            let plain = !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
            (plain && grouped(whole, groups)).then_some((whole, part))
        };
        match (figures.matches('.').count(), figures.matches(',').count()) {
            (0, 1) | (1, 0) => {
                let comma = figures.contains(',');
                let (mark, sure, open) =
                    if comma { (',', Self::COMMA, Self::OPEN_COMMA) } else { ('.', Self::POINT, Self::OPEN_POINT) };
                let Some((whole, part)) = decimal(mark, '\'') else { return Self(0) };
                if parts_thousands(whole.as_bytes(), part.as_bytes()) { open } else { sure }
            }
            (0, _) if grouped(figures, ',') => Self::POINT,
            (_, 0) if grouped(figures, '.') => Self::COMMA,
            (1, _) if decimal('.', ',').is_some() => Self::POINT,
            (_, 1) if decimal(',', '.').is_some() => Self::COMMA,
            _ => Self(0),
        }
    }

    /// How a column is written, by its own cells, then by the table's, then by the owner's word, which outranks both.
    pub(super) fn decide(self, table: Self, owner: Option<Decimal>) -> Marks {
        match owner {
            Some(Decimal::Point) => return Marks::Point,
            Some(Decimal::Comma) => return Marks::Comma,
            None => {}
        }
        for evidence in [self, table] {
            match (evidence.has(Self::POINT), evidence.has(Self::COMMA)) {
                (true, false) => return Marks::Point,
                (false, true) => return Marks::Comma,
                // One column with both kinds is read by the point, and the others are refused one by one.
                (true, true) if evidence == self => return Marks::Point,
                _ => {}
            }
        }
        let open = self.has(Self::OPEN_COMMA) || (self.has(Self::OPEN_POINT) && table.has(Self::OPEN_COMMA));
        let torn = table.has(Self::POINT) && table.has(Self::COMMA);
        if open || (torn && self.has(Self::OPEN_POINT)) { Marks::Open } else { Marks::Point }
    }
}

/// Whether a mark between these figures may part thousands.
fn parts_thousands(whole: &[u8], part: &[u8]) -> bool {
    part.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with(b"0")
}

fn is_mark(c: char) -> bool {
    matches!(c, '.' | ',' | '\'' | '\u{2019}')
}

/// Blanks that part thousands: plain, no-break, thin, narrow no-break.
fn is_blank(c: char) -> bool {
    matches!(c, ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}')
}

/// Whether a text is digits, plain or in groups of three with one kind of mark between them.
fn grouped(text: &str, mark: char) -> bool {
    let same = |c: char| c == mark || (mark == '\'' && (c == '\u{2019}' || is_blank(c)));
    let mut groups = text.split(same);
    let first = groups.next().unwrap_or_default();
    let digits = |g: &str| g.bytes().all(|b| b.is_ascii_digit());
    let mut rest = groups.peekable();
    if rest.peek().is_none() {
        return digits(first);
    }
    (1..=3).contains(&first.len()) && digits(first) && rest.all(|g| g.len() == 3 && digits(g))
}

/// The number that a whole (trimmed) cell writes under these marks.
pub(super) fn value(cell: &[u8], marks: Marks) -> Option<f64> {
    plain(cell, marks).or_else(|| with_groups(cell, marks))
}

/// A number without groups.
pub(super) fn plain(cell: &[u8], marks: Marks) -> Option<f64> {
    match marks {
        Marks::Open => None,
        Marks::Point => number(cell),
        // To the quick way a point is a decimal mark.
        Marks::Comma => plain_figures(cell, b',')
            .or_else(|| with_comma(cell))
            .or_else(|| if cell.contains(&b'.') { None } else { number(cell) }),
    }
}

/// A number in whose thousands a mark may stand, or with a sign or blank that is not ASCII.
pub(super) fn with_groups(cell: &[u8], marks: Marks) -> Option<f64> {
    match marks {
        Marks::Open => None,
        Marks::Point => marked(cell, '.', ','),
        Marks::Comma => marked(cell, ',', '.'),
    }
}

/// `20,25` read as `20.25`.
fn with_comma(cell: &[u8]) -> Option<f64> {
    let mut copy = [0; 32];
    let copy = copy.get_mut(..cell.len())?;
    copy.copy_from_slice(cell);
    let at = cell.iter().position(|b| matches!(b, b',' | b'.'))?;
    let follows = |b: &u8| b.is_ascii_digit();
    if cell[at] == b'.' || !cell.get(at + 1).is_some_and(follows) {
        return None;
    }
    copy[at] = b'.';
    number(copy)
}

/// A number with a decimal mark other than the point, or with groups of thousands.
fn marked(cell: &[u8], decimal: char, groups: char) -> Option<f64> {
    let first = *cell.first()?;
    if cell.len() > 60 || !(first.is_ascii_digit() || first >= 0x80 || b"+-.,".contains(&first)) {
        return None;
    }
    let text = std::str::from_utf8(cell).ok()?.trim_matches(is_blank);
    let text = text.strip_prefix('+').unwrap_or(text);
    let (minus, text) = match text.strip_prefix(['-', '\u{2212}']) {
        Some(rest) => ("-", rest.trim_start()),
        None => ("", text),
    };
    let (whole, part) = text.split_once(decimal).map_or((text, None), |(whole, part)| (whole, Some(part)));
    let part_is_plain = part.is_none_or(|p| p.bytes().next().is_some_and(|b| b.is_ascii_digit()));
    if !part_is_plain || !(grouped(whole, groups) || grouped(whole, '\'')) || (whole.is_empty() && part.is_none()) {
        return None;
    }
    let digits = whole.chars().filter(char::is_ascii_digit).collect::<String>();
    number(format!("{minus}0{digits}.{}", part.unwrap_or("0")).as_bytes())
}

/// The unit that a text after a number names. `N`, `S`, `E` and `W` are points of the compass there, `D` a dimension.
fn stuck_unit(text: &[u8]) -> Option<&'static Unit> {
    let text = std::str::from_utf8(text).ok()?.trim_matches(is_blank);
    if matches!(text, "N" | "S" | "E" | "W" | "d" | "") {
        return None;
    }
    Unit::find(text)
}

/// A number with the unit stuck on: `98%`, `12.3 kt`.
pub(super) fn with_unit(cell: &[u8], marks: Marks) -> Option<(f64, &'static Unit)> {
    let starts = |b: &u8| b.is_ascii_digit() || b"+-.,".contains(b) || *b == 0xe2;
    let end = cell.iter().rposition(|b| b.is_ascii_digit())? + 1;
    // Digits inside the unit, as in `m/s2`, are not met with here.
    if !cell.first().is_some_and(starts) || end == cell.len() {
        return None;
    }
    let figures = std::str::from_utf8(&cell[..end]).ok()?;
    Some((value(figures.as_bytes(), marks)?, stuck_unit(&cell[end..])?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_cell_says() {
        for text in ["1.5", "12.3456", "0.123", "1,234,567", "1,234.5", "1234.567", "1'234.5", "12.3 kt"] {
            assert_eq!(Evidence::of(text.as_bytes()), Evidence::POINT, "{text}");
        }
        for text in ["1,5", "20,25", "0,123", "1.234,5", "1.234.567", "1234,567", ",5", "-1,5", "98,5%"] {
            assert_eq!(Evidence::of(text.as_bytes()), Evidence::COMMA, "{text}");
        }
        for text in ["12", "", "1,2,3", "15.06.2026", "37.20.16", "08:30:00,5", "a,b", "1,", "1 234"] {
            assert_eq!(Evidence::of(text.as_bytes()), Evidence(0), "{text}");
        }
        assert_eq!(Evidence::of(b"1,234"), Evidence::OPEN_COMMA);
        assert_eq!(Evidence::of(b"1.234"), Evidence::OPEN_POINT);
    }

    #[test]
    fn values() {
        for (text, marks, expected) in [
            ("1,5", Marks::Comma, Some(1.5)),
            ("1.234,5", Marks::Comma, Some(1234.5)),
            ("-1.234", Marks::Comma, Some(-1234.0)),
            ("1,234.5", Marks::Point, Some(1234.5)),
            ("1 234", Marks::Point, Some(1234.0)),
            ("1\u{a0}234\u{202f}567,25", Marks::Comma, Some(1_234_567.25)),
            ("\u{2212}3,5", Marks::Comma, Some(-3.5)),
            ("1'234.5", Marks::Point, Some(1234.5)),
            ("1,5e3", Marks::Comma, Some(1500.0)),
            (",5", Marks::Comma, Some(0.5)),
            ("1,23", Marks::Point, None),
            ("12.5", Marks::Comma, None),
            ("1,5", Marks::Open, None),
            ("1,2,3", Marks::Comma, None),
            ("12 34", Marks::Point, None),
        ] {
            assert_eq!(value(text.as_bytes(), marks), expected, "{text} {marks:?}");
        }
    }

    #[test]
    fn units_stuck_on() {
        let read = |text: &str| with_unit(text.as_bytes(), Marks::Point).map(|(v, u)| (v, u.symbol));
        assert_eq!(read("98%"), Some((98.0, "%")));
        assert_eq!(read("12.3kt"), Some((12.3, "kt")));
        assert_eq!(read("-4 °C"), Some((-4.0, "°C")));
        for text in ["51.5N", "0.1W", "12", "3D", "kt", "N1 kt", "12.3.4kt"] {
            assert_eq!(read(text), None, "{text}");
        }
    }

    #[test]
    fn who_decides() {
        let (none, point, comma) = (Evidence(0), Evidence::POINT, Evidence::COMMA);
        let (open_comma, open_point) = (Evidence::OPEN_COMMA, Evidence::OPEN_POINT);
        assert_eq!(comma.decide(point, None), Marks::Comma, "the column's own cells come first");
        assert_eq!(open_comma.decide(comma, None), Marks::Comma);
        assert_eq!(open_comma.decide(point, None), Marks::Point, "its commas part thousands");
        assert_eq!(open_comma.decide(open_comma, None), Marks::Open);
        assert_eq!(open_point.decide(open_point, None), Marks::Point, "no comma anywhere");
        assert_eq!(open_point.decide(comma, None), Marks::Comma);
        assert_eq!(none.decide(open_comma, None), Marks::Point);
        assert_eq!(open_comma.decide(open_comma, Some(Decimal::Comma)), Marks::Comma);
    }
}
