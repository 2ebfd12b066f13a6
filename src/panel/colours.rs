//! Colours of the owner's own.

/// What may have a colour of its own. The plates of lamps and alerts may not: red and amber are theirs everywhere (convention from
/// 14 CFR 27.1322).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColourOf {
    /// Discs and plates.
    Disc,
    /// Values, numerals, names and hands.
    Ink,
    /// The engine's hand beside the rotor's.
    SecondHand,
    /// Units, and values that are held.
    Unit,
    /// What says where a value comes from.
    Tag,
    /// The mark of a normal range.
    Normal,
    /// The mark of a precautionary range.
    Precaution,
    /// The mark of a limit and of a forbidden range.
    Limit,
}

impl ColourOf {
    /// Every one, with its key in the panel file.
    pub const ALL: [(&'static str, Self); 8] = [
        ("disc", Self::Disc),
        ("ink", Self::Ink),
        ("second_hand", Self::SecondHand),
        ("unit", Self::Unit),
        ("tag", Self::Tag),
        ("normal", Self::Normal),
        ("precaution", Self::Precaution),
        ("limit", Self::Limit),
    ];
}

/// A colour in place of the theme's: red, green and blue, 0 to 255.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OwnColour {
    /// Of what.
    pub of: ColourOf,
    /// Red, green and blue, encoded like sRGB.
    pub rgb: [u8; 3],
}
