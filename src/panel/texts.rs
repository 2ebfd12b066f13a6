//! Everything that stands written on a panel in its owner's words.

use super::{Face, LitWords, Panel, Scale, VerticalSpeed};

/// A text of the panel file that appears on the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Written<'a> {
    /// The name of the instrument, lamp or limit.
    pub of: &'a str,
    /// The key that holds it.
    pub key: &'static str,
    /// The text.
    pub text: &'a str,
}

impl Panel {
    /// Every such text, in the panel's order.
    pub fn texts(&self) -> Vec<Written<'_>> {
        let faces = self
            .instruments
            .iter()
            .flat_map(|i| i.face.texts().into_iter().map(|(key, text)| Written { of: i.name.as_str(), key, text }));
        let lamps = self.lamps.iter().flat_map(|lamp| {
            let lit: Vec<&str> = match &lamp.lit {
                LitWords::Word(word) => vec![word],
                LitWords::Phrase(lines) => lines.iter().map(String::as_str).collect(),
            };
            let words = lit.into_iter().map(|text| ("lit", text)).chain([("subject", lamp.subject.as_str())]);
            words.map(|(key, text)| Written { of: lamp.name.as_str(), key, text })
        });
        let limits = self.limits.iter().flat_map(|limit| {
            [("subject", &limit.subject), ("word", &limit.word)].map(|(key, text)| Written {
                of: &limit.name,
                key,
                text,
            })
        });
        faces.chain(lamps).chain(limits).collect()
    }
}

impl Face {
    fn texts(&self) -> Vec<(&'static str, &str)> {
        match self {
            Self::Dial(dial) => {
                let titles = dial.title.iter().map(|line| ("title", line.as_str()));
                titles.chain([("unit", dial.unit.as_str())]).chain(numerals(&dial.scale)).collect()
            }
            Self::Tachometer(both) => {
                [("title", both.title.as_str())].into_iter().chain(numerals(&both.scale)).collect()
            }
            Self::Pair(pair) => {
                let sides = [&pair.left, &pair.right].into_iter().flat_map(|gauge| {
                    let words = [("letter", gauge.letter.as_str()), ("unit", gauge.unit.as_str())];
                    words.into_iter().chain(numerals(&gauge.scale))
                });
                [("title", pair.title.as_str())].into_iter().chain(sides).collect()
            }
            Self::Strip(strip) => {
                let names = strip.traces.iter().map(|trace| ("names", trace.name.as_str()));
                [("title", strip.title.as_str()), ("unit", strip.unit.as_str())].into_iter().chain(names).collect()
            }
            Self::Tile(tile) => vec![("title", tile.title.as_str()), ("unit", tile.unit.as_str())],
            Self::Bar(bar) => vec![("title", bar.title.as_str()), ("unit", bar.unit.as_str())],
            Self::Tape(tape) => vec![("title", tape.title.as_str()), ("unit", tape.unit.as_str())],
            Self::VerticalSpeed(VerticalSpeed { unit, .. }) => vec![("unit", unit.as_str())],
            Self::Clock(clock) => vec![("title", clock.title.as_str())],
            Self::Altimeter(_) | Self::Heading(_) | Self::HeadingTape(_) | Self::Compass(_) => Vec::new(),
            Self::Attitude(_) | Self::Controls(_) | Self::Slip(_) | Self::Track(_) => Vec::new(),
            Self::Legend | Self::PhaseStrip(_) => Vec::new(),
        }
    }
}

fn numerals(scale: &Scale) -> impl Iterator<Item = (&'static str, &str)> {
    scale.numerals.iter().map(|(_, text)| ("scale.numerals_text", text.as_str()))
}
