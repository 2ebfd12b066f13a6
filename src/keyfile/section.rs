//! A table of a file, read key by key.

use super::fault::{Fault, Place, line_of, nearest, of_file};
use crate::finding::Severity;
use std::cell::RefCell;
use std::path::{Path, PathBuf};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Longest file that is read, in bytes.
const LONGEST: u64 = 1 << 20;

/// A file's text and the faults found in it so far.
#[derive(Debug)]
pub struct Document {
    /// The file.
    pub file: PathBuf,
    /// Its text.
    pub text: String,
    faults: RefCell<Vec<Fault>>,
}

impl Document {
    /// Reads a file. The error is a fault without a line.
    pub fn open(file: &Path) -> Result<Self, Box<Fault>> {
        // Devices and pipes never end; nobody writes a megabyte by hand.
        let length = std::fs::metadata(file).map(|m| if m.is_file() { m.len() } else { u64::MAX });
        if length.is_ok_and(|length| length > LONGEST) {
            let message = format!("{}: not a file, or longer than {LONGEST} bytes", file.display());
            return Err(of_file(file, "not_a_text", message, "name the TOML file"));
        }
        match std::fs::read(file) {
            Ok(bytes) => match String::from_utf8(bytes) {
                Ok(text) => Ok(Self::of(file, text)),
                Err(e) => {
                    let at = e.utf8_error().valid_up_to();
                    let message = format!("{}: byte {at} is not UTF-8 text", file.display());
                    Err(of_file(file, "not_utf8", message, "save the file as UTF-8"))
                }
            },
            Err(e) => Err(of_file(file, "cannot_open", format!("{}: {e}", file.display()), "")),
        }
    }

    /// A text as if it stood in a file.
    pub fn of(file: &Path, text: String) -> Self {
        Self { file: file.to_owned(), text, faults: RefCell::default() }
    }

    /// Reads the text with `read`, which takes the top table; hands back what it made, and all faults in the order of the lines.
    pub fn read<T>(&self, read: impl FnOnce(Section<'_>) -> T) -> (T, Vec<Fault>) {
        let (table, errors) = DeTable::parse_recoverable(&self.text);
        for error in errors {
            let place = error.span().unwrap_or(0..0);
            self.fault(place, "", "not_toml", error.message().trim().to_owned(), "mend the line's form");
        }
        let section =
            Section { document: self, table: table.get_ref(), place: 0..0, path: String::new(), known: Vec::new() };
        let made = read(section);
        let mut faults = self.faults.take();
        faults.sort_by_key(|f| (f.line, f.place.start));
        (made, faults)
    }

    /// Line of a byte of the text, from 1.
    pub fn line_of(&self, byte: usize) -> usize {
        line_of(&self.text, byte)
    }

    fn fault(&self, place: Place, key: &str, code: &'static str, message: String, cure: &str) {
        let line = line_of(&self.text, place.start);
        let (file, key, cure) = (self.file.clone(), key.to_owned(), cure.to_owned());
        self.faults.borrow_mut().push(Fault { severity: Severity::Error, file, line, place, key, code, message, cure });
    }
}

/// A table being read. Every key that is asked for is known; [`Section::end`] reports the others.
#[derive(Debug)]
pub struct Section<'d> {
    document: &'d Document,
    table: &'d DeTable<'d>,
    place: Place,
    path: String,
    known: Vec<String>,
}

impl<'d> Section<'d> {
    /// Where the table's head stands.
    pub fn place(&self) -> Place {
        self.place.clone()
    }

    /// A fault at a place of this file.
    pub fn fault(&self, place: Place, key: &str, code: &'static str, message: impl Into<String>, cure: &str) {
        self.document.fault(place, &self.full(key), code, message.into(), cure);
    }

    /// A text, and where it stands.
    pub fn text(&mut self, key: &'static str) -> Option<(String, Place)> {
        self.named_text(key)
    }

    /// A text under a key whose name comes from elsewhere in the file.
    pub fn named_text(&mut self, key: &str) -> Option<(String, Place)> {
        let value = self.get(key)?;
        match value.get_ref() {
            DeValue::String(text) => Some((text.clone().into_owned(), value.span())),
            other => self.wrong(key, value, other, "a text in quotes", "put it in quotes"),
        }
    }

    /// A number, whole or not.
    pub fn number(&mut self, key: &'static str) -> Option<(f64, Place)> {
        let value = self.get(key)?;
        match number(value.get_ref()) {
            Some(number) => Some((number, value.span())),
            None => self.wrong(key, value, value.get_ref(), "a number", "write it without quotes and without a unit"),
        }
    }

    /// Whether the key is there and its value is a number.
    pub fn is_number(&self, key: &str) -> bool {
        matches!(self.table.get(key).map(Spanned::get_ref), Some(DeValue::Integer(_) | DeValue::Float(_)))
    }

    /// Whether the key is there and its value is a list.
    pub fn is_list(&self, key: &str) -> bool {
        matches!(self.table.get(key).map(Spanned::get_ref), Some(DeValue::Array(_)))
    }

    /// A number under a key whose name comes from elsewhere in the file.
    pub fn named_number(&mut self, key: &str) -> Option<f64> {
        let value = self.get(key)?;
        number(value.get_ref()).or_else(|| {
            self.wrong(key, value, value.get_ref(), "a number of seconds", "write it without quotes and without a unit")
        })
    }

    /// `true` or `false`.
    pub fn flag(&mut self, key: &'static str) -> Option<bool> {
        let value = self.get(key)?;
        match value.get_ref() {
            DeValue::Boolean(flag) => Some(*flag),
            other => self.wrong(key, value, other, "true or false", "write true or false, without quotes"),
        }
    }

    /// One of a list of words; the fault names the nearest.
    pub fn word<T: Copy>(&mut self, key: &'static str, words: &[(&'static str, T)]) -> Option<(T, Place)> {
        let (text, place) = self.text(key)?;
        if let Some((_, meaning)) = words.iter().find(|(word, _)| *word == text) {
            return Some((*meaning, place));
        }
        let names: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let cure = nearest(&text, &names).map_or("take one of them".into(), |near| format!("did you mean \"{near}\"?"));
        let message = format!("`{}` is \"{text}\"; expected one of {}", self.full(key), names.join(", "));
        self.fault(place, key, "unknown_word", message, &cure);
        None
    }

    /// How far local time is ahead of UTC: `+02:00`, `-05:30` or `Z`.
    pub fn utc_offset(&mut self, key: &'static str) -> Option<jiff::tz::Offset> {
        let (text, place) = self.text(key)?;
        let offset = offset(&text);
        if offset.is_none() {
            let message =
                format!("`{key}` is \"{text}\"; expected how far local time is ahead of UTC, -18:00 to +18:00");
            self.fault(place, key, "bad_offset", message, "write \"+02:00\" or \"-05:30\"");
        }
        offset
    }

    /// A list of texts; a single text stands for a list of one.
    pub fn texts(&mut self, key: &'static str) -> Option<Vec<(String, Place)>> {
        let value = self.get(key)?;
        let one = |v: &Spanned<DeValue<'_>>| v.get_ref().as_str().map(|s| (s.to_owned(), v.span()));
        let all = match value.get_ref() {
            DeValue::Array(items) => items.iter().map(one).collect(),
            _ => one(value).map(|text| vec![text]),
        };
        all.or_else(|| self.wrong(key, value, value.get_ref(), "a text, or a list of texts", "put each in quotes"))
    }

    /// A list of rows of numbers, each with `width` numbers.
    pub fn rows(&mut self, key: &'static str, width: usize) -> Option<(Vec<Vec<f64>>, Place)> {
        let value = self.get(key)?;
        let row = |v: &Spanned<DeValue<'_>>| -> Option<Vec<f64>> {
            let items = v.get_ref().as_array()?;
            let row: Option<Vec<f64>> = items.iter().map(|n| number(n.get_ref())).collect();
            row.filter(|r| r.len() == width)
        };
        let rows = value.get_ref().as_array().and_then(|rows| rows.iter().map(row).collect());
        match rows {
            Some(rows) => Some((rows, value.span())),
            None => {
                let expected = format!("a list of [{}]", vec!["number"; width].join(", "));
                self.wrong(key, value, value.get_ref(), &expected, "write for example [[20, -126], [110, 126]]")
            }
        }
    }

    /// A list of numbers.
    pub fn numbers(&mut self, key: &'static str) -> Option<(Vec<f64>, Place)> {
        let value = self.get(key)?;
        let numbers = value.get_ref().as_array().and_then(|items| items.iter().map(|n| number(n.get_ref())).collect());
        match numbers {
            Some(numbers) => Some((numbers, value.span())),
            None => self.wrong(key, value, value.get_ref(), "a list of numbers", "write [1, 2, 3]"),
        }
    }

    /// A table inside this one.
    pub fn section(&mut self, key: &'static str) -> Option<Section<'d>> {
        let value = self.get(key)?;
        match value.get_ref() {
            DeValue::Table(table) => Some(self.inner(table, value.span(), self.full(key))),
            other => self.wrong(key, value, other, "a table", "start it with its name in square brackets"),
        }
    }

    /// The tables of a list `[[key]]`, none where there is none.
    pub fn sections(&mut self, key: &'static str) -> Vec<Section<'d>> {
        let Some(value) = self.get(key) else { return Vec::new() };
        let mut sections = Vec::new();
        let Some(items) = value.get_ref().as_array() else {
            let expected = format!("a list of tables, each under [[{key}]]");
            self.wrong::<()>(key, value, value.get_ref(), &expected, "write its name in double square brackets");
            return sections;
        };
        for (i, item) in items.iter().enumerate() {
            match item.get_ref() {
                DeValue::Table(table) => {
                    sections.push(self.inner(table, item.span(), format!("{}[{}]", self.full(key), i + 1)))
                }
                other => {
                    self.wrong::<()>(key, item, other, "a table", "write its name in double square brackets");
                }
            }
        }
        sections
    }

    /// One table, or a list of tables; none where there is none.
    pub fn one_or_more(&mut self, key: &'static str) -> Vec<Section<'d>> {
        match self.table.get(key).map(Spanned::get_ref) {
            Some(DeValue::Table(_)) => self.section(key).into_iter().collect(),
            _ => self.sections(key),
        }
    }

    /// Every key of a table whose names are free, with its text.
    pub fn free_texts(&mut self, key: &'static str) -> Vec<(String, Place, String, Place)> {
        let Some(section) = self.section(key) else { return Vec::new() };
        let mut pairs = Vec::new();
        for (name, value) in section.table {
            match value.get_ref() {
                DeValue::String(text) => {
                    pairs.push((
                        name.get_ref().clone().into_owned(),
                        name.span(),
                        text.clone().into_owned(),
                        value.span(),
                    ));
                }
                other => {
                    let message =
                        format!("`{}.{}` is {}; expected a text in quotes", section.path, name.get_ref(), kind(other));
                    section.fault(value.span(), name.get_ref(), "wrong_kind", message, "put it in quotes");
                }
            }
        }
        pairs
    }

    /// Whether the key is there, with whatever value.
    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    /// Where the value of a key stands, if it is there.
    pub fn place_of(&self, key: &str) -> Option<Place> {
        self.table.get(key).map(Spanned::span)
    }

    /// Reports that a key which must be there is missing. A key that is there with a wrong value was reported already.
    pub fn missing(&self, key: &str, expected: &str) {
        if self.has(key) {
            return;
        }
        let name = if self.path.is_empty() { "the file".into() } else { format!("`{}`", self.path) };
        let message = format!("{name} lacks `{key}`: {expected}");
        self.fault(self.place(), key, "missing_key", message, &format!("add {key} = ..."));
    }

    /// Ends the reading: keys that nobody asked for are reported with the nearest known one.
    pub fn end(self) {
        let known: Vec<&str> = self.known.iter().map(String::as_str).collect();
        for name in self.table.keys().filter(|name| !known.contains(&name.get_ref().as_ref())) {
            let cure = match nearest(name.get_ref(), &known) {
                Some(near) => format!("did you mean {near}?"),
                None => format!("known here: {}", known.join(", ")),
            };
            let message = format!("unknown key `{}`", self.full(name.get_ref()));
            self.document.fault(name.span(), &self.full(name.get_ref()), "unknown_key", message, &cure);
        }
    }

    /// The same table, for faults that show only after its reading has ended.
    pub fn again(&self) -> Section<'d> {
        self.inner(self.table, self.place(), self.path.clone())
    }

    fn inner(&self, table: &'d DeTable<'d>, place: Place, path: String) -> Section<'d> {
        Section { document: self.document, table, place, path, known: Vec::new() }
    }

    fn get(&mut self, key: &str) -> Option<&'d Spanned<DeValue<'d>>> {
        self.known.push(key.to_owned());
        self.table.get(key)
    }

    fn full(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    fn wrong<T>(
        &self,
        key: &str,
        value: &Spanned<DeValue<'_>>,
        found: &DeValue<'_>,
        expected: &str,
        cure: &str,
    ) -> Option<T> {
        let message = format!("`{}` is {}; expected {expected}", self.full(key), kind(found));
        self.fault(value.span(), key, "wrong_kind", message, cure);
        None
    }
}

/// `+02:00`, `-05:30` or `Z`.
fn offset(text: &str) -> Option<jiff::tz::Offset> {
    if text == "Z" {
        return Some(jiff::tz::Offset::UTC);
    }
    let sign = match text.as_bytes().first()? {
        b'+' => 1,
        b'-' => -1,
        _ => return None,
    };
    let (hours, minutes) = text[1..].split_once(':')?;
    let digits = |s: &str| s.len() == 2 && s.bytes().all(|b| b.is_ascii_digit());
    if !digits(hours) || !digits(minutes) {
        return None;
    }
    let (hours, minutes): (i32, i32) = (hours.parse().ok()?, minutes.parse().ok()?);
    if minutes > 59 || hours > 18 {
        return None;
    }
    jiff::tz::Offset::from_seconds(sign * (hours * 3600 + minutes * 60)).ok()
}

fn number(value: &DeValue<'_>) -> Option<f64> {
    let number: f64 = match value {
        DeValue::Integer(n) if n.radix() == 10 => n.as_str().parse().ok()?,
        DeValue::Float(n) => n.as_str().parse().ok()?,
        _ => return None,
    };
    number.is_finite().then_some(number)
}

/// What a value is, for messages.
fn kind(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("the text \"{text}\""),
        DeValue::Integer(n) => format!("the number {n}"),
        DeValue::Float(n) => format!("the number {n}"),
        DeValue::Boolean(flag) => format!("{flag}"),
        DeValue::Datetime(date) => format!("the date {date}"),
        DeValue::Array(items) if items.is_empty() => "an empty list".into(),
        DeValue::Array(_) => "a list".into(),
        DeValue::Table(_) => "a table".into(),
    }
}
