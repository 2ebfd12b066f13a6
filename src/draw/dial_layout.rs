//! Where a dial's value, name and unit stand, so that each line fits the disc at its own height.

use crate::panel::{Dial, DiscSize};

use super::sizes::{SMALLEST_EM, Sizes};
use super::text::{Run, Setting, Weight};
use super::theme::Rgba;
use super::typeface::Typeface;
use super::words;

/// Height below the middle (fraction of the radius) and em in pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    pub y: f64,
    pub em: f64,
}

impl Line {
    /// Whether the line below it does not run into it.
    fn clears(self, below: Self, r: f64) -> bool {
        (below.y - self.y) * r >= 0.375 * (self.em + below.em)
    }
}

/// One line of the name: its text, and whether the unit stands on it.
#[derive(Debug, Clone)]
pub(super) struct Name {
    pub text: String,
    pub unit: String,
    pub line: Line,
}

/// A dial's lines of text.
pub(super) struct Layout {
    pub value: Line,
    pub names: Vec<Name>,
    pub tag_above: bool,
}

/// Where value, name and unit stand. The value keeps its room; the unit moves to a line of its own, or goes.
pub(super) fn layout(dial: &Dial, size: DiscSize, sizes: Sizes, typeface: Typeface) -> Layout {
    // Names on the smallest discs go before they are too small; on others they are set at the least size, if it fits.
    let gone = size == DiscSize::S && sizes.name < SMALLEST_EM;
    let name_em = if gone { 0.0 } else { sizes.name.max(SMALLEST_EM) };
    let unit = if sizes.name < SMALLEST_EM { "" } else { &*dial.unit };
    match &dial.title[..] {
        [title] => one_line(typeface, title, unit, (size, sizes), name_em),
        _ => None,
    }
    .unwrap_or_else(|| three_lines(typeface, &dial.title, unit, sizes, name_em))
}

/// Name and unit side by side under the value, if the disc is wide enough there.
fn one_line(typeface: Typeface, title: &str, unit: &str, (size, sizes): (DiscSize, Sizes), em: f64) -> Option<Layout> {
    let (value_y, y) = if size == DiscSize::Xl { (0.53, 0.79) } else { (0.46, 0.755) };
    let fits = |unit: &&str| width(typeface, title, unit, em) <= 2.0 * chord(y, em, sizes.r);
    let unit = [Some(unit), words::short_unit(unit)].into_iter().flatten().find(fits)?;
    let name = Name { text: title.to_owned(), unit: unit.to_owned(), line: Line { y, em } };
    let value = Line { y: value_y, em: sizes.value.max(SMALLEST_EM) };
    let names = if em > 0.0 && value.clears(name.line, sizes.r) { vec![name] } else { Vec::new() };
    Some(Layout { value, names, tag_above: true })
}

/// A name of two lines, or a long one with its unit below it.
fn three_lines(typeface: Typeface, title: &[String], unit: &str, sizes: Sizes, name_em: f64) -> Layout {
    let r = sizes.r;
    let (share, value_y, ys) =
        if title.len() < 2 { (0.92, 0.395, [0.650, 0.832]) } else { (0.90, 0.375, [0.650, 0.835]) };
    let first = title.first().cloned().unwrap_or_default();
    let second = title.get(1..).unwrap_or_default().join(" ");
    let rows = [(first, "", 0.205), (second, unit, 0.168)];
    let value = Line { y: value_y, em: (share * sizes.value).max(SMALLEST_EM) };
    let mut above = value;
    let mut names = Vec::new();
    for ((text, unit, widest), y) in rows.into_iter().zip(ys) {
        let em = if name_em > 0.0 { name_em.min(widest * r).max(SMALLEST_EM) } else { 0.0 };
        let room = 2.0 * chord(y, em, r);
        let fits = |unit: &&str| width(typeface, &text, unit, em) <= room;
        let unit = [Some(unit), words::short_unit(unit)].into_iter().flatten().find(fits).unwrap_or("");
        let em = em * (room / width(typeface, &text, unit, em)).min(1.0);
        let line = Line { y, em };
        if em >= SMALLEST_EM && above.clears(line, r) && !(text.is_empty() && unit.is_empty()) {
            names.push(Name { text, unit: unit.to_owned(), line });
            above = line;
        }
    }
    Layout { value, names, tag_above: false }
}

fn width(typeface: Typeface, text: &str, unit: &str, em: f64) -> f64 {
    let run = |text, weight| Run { text, weight, colour: Rgba::opaque(0) };
    let runs = [run(text, Weight::Bold), run(unit, Weight::Regular)];
    Setting::em(typeface, em).width(if unit.is_empty() { &runs[..1] } else { &runs })
}

/// Half the width that a line of text has at this height of the disc, in pixels.
pub(super) fn chord(y: f64, em: f64, r: f64) -> f64 {
    let foot = y.abs() + 0.375 * em / r;
    0.95 * (1.0 - foot * foot).max(0.0).sqrt() * r
}
