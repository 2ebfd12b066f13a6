//! The legend card.

/// A card that explains the marks and states of its panel.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Legend {
    /// Film time in seconds from which it is shown; from the first frame on where none is given.
    pub from_s: Option<f64>,
    /// Film time in seconds at which it goes; never where none is given.
    pub to_s: Option<f64>,
}

impl Legend {
    /// Whether it is shown at a film time in seconds.
    pub fn is_shown(&self, film_s: f64) -> bool {
        self.from_s.is_none_or(|from| film_s >= from) && self.to_s.is_none_or(|to| film_s < to)
    }
}
