//! What moves or changes on an instrument, as data rounded to what can be seen: equal parts, equal pixels.

use std::sync::Arc;

use crate::panel::Power;
use crate::readout::CaptionWords;

use super::columns::Column;
use super::edge::Edge;
use super::hands::HandStyle;
use super::lamp::{Plate, Shape};
use super::leaves::Leaves;

/// Everything that is drawn on top of an instrument's face, in painting order.
pub(super) type StateKey = Vec<Part>;

/// One thing on top of a face.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) enum Part {
    /// The hand, at a whole number of steps clockwise from twelve; or the bar, card or tape that moves in its place.
    Hand { style: HandStyle, steps: i32 },
    /// The short hand of two that turn at their own paces.
    ShortHand { style: HandStyle, steps: i32 },
    /// Rotor and engine hands, and what lies between them.
    Leaves(Leaves),
    /// The bar on which the hand of a saturated sensor leans.
    Stop { steps: i32 },
    /// The fixed mark at which a card or a tape is read.
    Index { style: HandStyle },
    /// The cap over the hand's pivot.
    Hub,
    /// The markings of a rotor's two sets of limits: which of them is in force, if that is known.
    Sets(Option<Power>),
    /// The bracket of the instrument's usual range of that number.
    Usual(usize),
    /// A line along the instrument's edge.
    Edge(Edge),
    /// The rim of a dial whose limit is passed.
    Rim(Alarm),
    /// The cross over a face that has nothing to show.
    Cross,
    /// The written value.
    Value { text: String, ink: ValueInk },
    /// What one of two hands shows, in the row of that number.
    Row { row: u8, value: RowValue, tag: String, short: String },
    /// A dark ground under the value in the row of that number, where a hand passes behind it.
    Shade { row: u8 },
    /// A framed text in the value's place, or at the hub.
    Chip(Chip),
    /// Where the value comes from, in cyan.
    Tag { text: String, lower: bool },
    /// Name, and unit or tag beside it.
    Name { unit: bool, tag: String },
    /// What a difference of two hands is called, over the lower rim.
    Badge(Chip),
    /// What the face shows beside its hands, in a window.
    Note { text: String },
    /// The last seconds of a strip chart, a column a pixel, one list a trace.
    Traces(Vec<Vec<Column>>),
    /// Where a trace stands now, at a height in quarters of a pixel.
    Now { row: u8, height: i32, held: bool },
    /// The horizon, in whole steps: pitch up, and bank to the right.
    Horizon { style: HandStyle, pitch: i32, bank: i32 },
    /// A mark that moves over a plate, in quarters of a pixel from its middle.
    Marker { of: u8, style: HandStyle, x: i32, y: i32 },
    /// The cross over a part of a plate that has nothing to show.
    Lost { of: u8 },
    /// Dots of the older way, in quarters of a pixel from the plate's middle.
    Dots(Vec<(i32, i32)>),
    /// The last minute's way, in quarters of a pixel from the plate's middle.
    Way(Vec<Vec<(i32, i32)>>),
    /// The part of a way that belongs to the present, in quarters of a pixel from where it starts.
    Present(Vec<Vec<(i32, i32)>>),
    /// The ring where the way starts.
    Start { x: i32, y: i32 },
    /// The aircraft on a map: its place, and where its nose points in steps of two degrees; none where it has not moved.
    Craft { style: HandStyle, x: i32, y: i32, nose: Option<i32> },
    /// The bar of a map's scale: its length in quarters of a pixel, and in words.
    Bar { length: i32, text: String },
    /// A line of the banner, rows counted from the top: what, how it stands to its limit, for how long.
    Banner { row: u8, shape: Shape, texts: [String; 3] },
    /// What is said over the film.
    Caption(Arc<CaptionWords>),
    /// The notice, on its plate or bare.
    Notice { plate: bool },
    /// A lamp or a badge in its place, rows counted from the top.
    Lamp { row: usize, column: usize, plate: Plate },
    /// The disc at a badge that its lamp contradicts: between the two, or beside it where the lamp stands elsewhere.
    Differs { row: usize, column: usize, joined: bool },
}

impl Part {
    /// Whether it moves so often that no picture of it is worth keeping.
    pub const fn is_hand(&self) -> bool {
        matches!(
            self,
            Self::Hand { .. }
                | Self::ShortHand { .. }
                | Self::Leaves(_)
                | Self::Traces(_)
                | Self::Horizon { .. }
                | Self::Dots(_)
                | Self::Way(_)
                | Self::Present(_)
        )
    }

    /// Whether it stays as it is for most of a film, so that it is drawn together with the face.
    pub const fn is_still(&self) -> bool {
        match self {
            Self::Name { tag, .. } => tag.is_empty(),
            Self::Hub
            | Self::Index { .. }
            | Self::Sets(_)
            | Self::Usual(_)
            | Self::Edge(_)
            | Self::Rim(_)
            | Self::Cross
            | Self::Shade { .. }
            | Self::Lost { .. }
            | Self::Caption(_)
            | Self::Notice { .. }
            | Self::Lamp { .. }
            | Self::Differs { .. } => true,
            _ => false,
        }
    }

    /// Whether numerals and other lettering of the face stand above it.
    pub const fn under_lettering(&self) -> bool {
        self.is_hand()
            || matches!(
                self,
                Self::Stop { .. } | Self::Hub | Self::Marker { .. } | Self::Edge(_) | Self::Sets(_) | Self::Usual(_)
            )
    }
}

/// A state in the order in which it is painted: what is still comes with the face below or with the lettering above.
#[derive(Debug, Default, PartialEq)]
pub(super) struct Order {
    /// Over the face.
    pub lower: Vec<Part>,
    /// Over that: hands and whatever else lies under the lettering.
    pub hands: Vec<Part>,
    /// Over those, under the lettering.
    pub caps: Vec<Part>,
    /// Over the lettering.
    pub upper: Vec<Part>,
    /// Over that: texts.
    pub texts: Vec<Part>,
    /// Over everything.
    pub top: Vec<Part>,
}

impl Order {
    pub fn of(key: StateKey) -> Self {
        let mut order = Self::default();
        let after_texts = key.iter().rposition(|part| !part.is_still() && !part.under_lettering());
        for (i, part) in key.into_iter().enumerate() {
            let last = after_texts.is_none_or(|text| i > text);
            let to = match (part.is_still(), part.under_lettering()) {
                (true, true) if order.hands.is_empty() => &mut order.lower,
                (true, true) => &mut order.caps,
                (false, true) => &mut order.hands,
                (true, false) if order.texts.is_empty() => &mut order.upper,
                (true, false) if last => &mut order.top,
                // Between two texts it is laid as they are.
                (_, false) => &mut order.texts,
            };
            to.push(part);
        }
        order
    }
}

/// What stands in a row.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) enum RowValue {
    /// A number.
    Plain { text: String, ink: ValueInk },
    /// A framed text.
    Chip(Chip),
}

/// How a value is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum ValueInk {
    /// A value of this moment.
    Full,
    /// A value that is held.
    Dim,
    /// Not a value but where it lies, `< 20`: smaller.
    Beyond,
    /// The same, held.
    BeyondDim,
}

/// A framed text.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Chip {
    /// The text.
    pub text: String,
    /// A shorter form for a small dial.
    pub short: String,
    /// Its frame.
    pub frame: Frame,
    /// The triangle before the text.
    pub arrow: Option<Arrow>,
    /// At the hub rather than in the value's place.
    pub at_hub: bool,
}

/// How a chip is framed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Frame {
    /// A hairline.
    Hairline,
    /// A dashed line: the data, not the aircraft, is the matter.
    Dashed,
    /// The plate of a lamp of this gravity: the value has passed a limit of the owner's.
    Plate(Alarm),
    /// A pill: to be known, nothing more.
    Pill,
}

/// What a passed limit does to a dial. One of which one should only know does nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Alarm {
    /// A possible need for future corrective action.
    Caution,
    /// A hazard that may require immediate corrective action.
    Warning,
}

/// Where a value lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Arrow {
    /// Above the end.
    Up,
    /// Below the end.
    Down,
}
