//! The looks of a panel: the colours of the three themes, an owner's own in their place, and the typeface.
//!
//! The disc is thinner in the middle and denser where text sits, so that the cockpit shows through where nothing is read.

use std::sync::{Mutex, PoisonError};

use crate::panel::{ColourOf, OwnColour, Panel, ThemeName};

use super::text::Setting;
use super::typeface::Typeface;

/// A colour with straight (not premultiplied) alpha, encoded like sRGB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rgba {
    /// Red, green and blue, 0 to 255.
    pub rgb: [u8; 3],
    /// Opacity, 0 to 1.
    pub alpha: f32,
}

impl Rgba {
    /// An opaque colour from `0xRRGGBB`.
    pub const fn opaque(hex: u32) -> Self {
        let [_, r, g, b] = hex.to_be_bytes();
        Self { rgb: [r, g, b], alpha: 1.0 }
    }

    /// The same colour with another opacity.
    #[must_use]
    pub const fn at(self, alpha: f32) -> Self {
        Self { rgb: self.rgb, alpha }
    }
}

/// The looks that an owner can choose from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Theme {
    /// Dark glass, the default by day and by night.
    #[default]
    Graphite,
    /// Light, for snow and for paper; at night its discs would be the brightest thing in the frame.
    Porcelain,
    /// Black and white, heavier ticks, no short ones.
    HighContrast,
}

impl Theme {
    /// Every theme, in the order of the pictures.
    pub const ALL: [Self; 3] = [Self::Graphite, Self::Porcelain, Self::HighContrast];

    /// The one that a panel file names, or the default.
    pub const fn of(name: Option<ThemeName>) -> Self {
        match name {
            Some(ThemeName::Graphite) | None => Self::Graphite,
            Some(ThemeName::Porcelain) => Self::Porcelain,
            Some(ThemeName::HighContrast) => Self::HighContrast,
        }
    }

    /// Its name in files and options.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Graphite => "graphite",
            Self::Porcelain => "porcelain",
            Self::HighContrast => "high-contrast",
        }
    }

    /// Its colours.
    pub const fn palette(self) -> &'static Palette {
        match self {
            Self::Graphite => &GRAPHITE,
            Self::Porcelain => &PORCELAIN,
            Self::HighContrast => &HIGH_CONTRAST,
        }
    }
}

/// How a panel is drawn, but for colours of its own, which the panel itself holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Look {
    /// The theme.
    pub theme: Theme,
    /// What texts are set in.
    pub typeface: Typeface,
}

impl From<Theme> for Look {
    fn from(theme: Theme) -> Self {
        Self { theme, ..Self::default() }
    }
}

impl Look {
    /// The colours and the typeface for a panel, with its owner's own colours in them.
    pub(super) fn palette(self, panel: &Panel) -> &'static Palette {
        let house = self.theme.palette();
        let palette = Palette { typeface: self.typeface, ..house.with(&panel.colours) };
        if palette == *house { house } else { palette.kept() }
    }
}

/// The colours of one theme by their use, and its typeface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Palette {
    /// Opaque colour of a dial's disc.
    pub disc: Rgba,
    /// Opacity of the disc at 0, .45, .72 and 1 of its radius.
    pub disc_alpha: [f32; 4],
    /// What lies round a disc or a plate and sets it off from the picture.
    pub halo: Rgba,
    /// The hairline on the rim of a disc or a plate.
    pub rim: Rgba,
    /// A tile's or the notice's plate.
    pub plate: Rgba,
    /// The dark (porcelain: light) edge under marks, hands and text; users set their own opacity.
    pub casing: Rgba,
    /// Values, numerals, names, hands.
    pub ink: Rgba,
    /// The engine's hand beside the rotor's, its letter and its value.
    pub hand2: Rgba,
    /// Units and values that are held.
    pub ink2: Rgba,
    /// Normal range.
    pub green: Rgba,
    /// Precautionary range.
    pub amber: Rgba,
    /// Limit.
    pub red: Rgba,
    /// The plate of a warning.
    pub warning: Rgba,
    /// Text on it.
    pub warning_text: Rgba,
    /// The plate of a caution.
    pub caution: Rgba,
    /// Text on it, and its outline.
    pub caution_text: Rgba,
    /// Tags that say where a value comes from.
    pub cyan: Rgba,
    /// Above the horizon.
    pub sky: Rgba,
    /// Below it.
    pub ground: Rgba,
    /// Factor on the width of ticks.
    pub tick_weight: f64,
    /// Whether short ticks are drawn.
    pub short_ticks: bool,
    /// What texts are set in.
    pub typeface: Typeface,
}

impl Palette {
    /// A plain setting of text of this size in pixels.
    pub(super) const fn setting(&self, em: f64) -> Setting {
        Setting::em(self.typeface, em)
    }

    /// The same with some of the owner's own colours.
    #[must_use]
    pub fn with(&self, own: &[OwnColour]) -> Self {
        let mut palette = *self;
        for colour in own {
            let targets: &mut [&mut Rgba] = match colour.of {
                ColourOf::Disc => &mut [&mut palette.disc, &mut palette.plate],
                ColourOf::Ink => &mut [&mut palette.ink],
                ColourOf::SecondHand => &mut [&mut palette.hand2],
                ColourOf::Unit => &mut [&mut palette.ink2],
                ColourOf::Tag => &mut [&mut palette.cyan],
                ColourOf::Normal => &mut [&mut palette.green],
                ColourOf::Precaution => &mut [&mut palette.amber],
                ColourOf::Limit => &mut [&mut palette.red],
            };
            targets.iter_mut().for_each(|target| target.rgb = colour.rgb);
        }
        palette
    }

    /// Keeps a palette for as long as the program runs, equal ones once: faces share it as they share those of the themes.
    pub(super) fn kept(self) -> &'static Self {
        static KEPT: Mutex<Vec<&'static Palette>> = Mutex::new(Vec::new());
        let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(same) = kept.iter().find(|palette| ***palette == self) {
            return same;
        }
        let new: &'static Self = Box::leak(Box::new(self));
        kept.push(new);
        new
    }
}

/// Radii of the disc's opacity steps, as fractions of its own.
pub const DISC_STOPS: [f32; 4] = [0.0, 0.45, 0.72, 1.0];

static GRAPHITE: Palette = Palette {
    disc: Rgba::opaque(0x14_19_1f),
    disc_alpha: [0.66, 0.70, 0.78, 0.82],
    halo: Rgba::opaque(0x0b_0e_12).at(0.42),
    rim: Rgba::opaque(0xff_ff_ff).at(0.22),
    plate: Rgba::opaque(0x14_19_1f).at(0.78),
    casing: Rgba::opaque(0x0b_0e_12).at(0.80),
    ink: Rgba::opaque(0xf7_f5_ef),
    hand2: Rgba::opaque(0xbc_cb_d8),
    ink2: Rgba::opaque(0xd3_da_e0),
    green: Rgba::opaque(0x57_d9_8a),
    amber: Rgba::opaque(0xff_c0_43),
    // Lighter than a warning plate, so that a thin line holds its contrast.
    red: Rgba::opaque(0xff_6a_5c),
    warning: Rgba::opaque(0xc4_16_1c),
    warning_text: Rgba::opaque(0xff_ff_ff),
    caution: Rgba::opaque(0xff_b8_1f),
    caution_text: Rgba::opaque(0x1a_12_05),
    cyan: Rgba::opaque(0x86_e2_f7),
    sky: Rgba::opaque(0x5d_8f_b8).at(0.62),
    ground: Rgba::opaque(0x7a_5d_43).at(0.72),
    tick_weight: 1.0,
    short_ticks: true,
    typeface: Typeface::B612,
};

static PORCELAIN: Palette = Palette {
    disc: Rgba::opaque(0xf4_f2_ec),
    disc_alpha: [0.70, 0.745, 0.835, 0.88],
    halo: Rgba::opaque(0xff_ff_ff).at(0.42),
    rim: Rgba::opaque(0x12_16_1b).at(0.30),
    plate: Rgba::opaque(0xf4_f2_ec).at(0.86),
    casing: Rgba::opaque(0xff_ff_ff).at(0.75),
    ink: Rgba::opaque(0x12_16_1b),
    hand2: Rgba::opaque(0x42_56_6a),
    ink2: Rgba::opaque(0x3b_44_4e),
    green: Rgba::opaque(0x0b_7a_3e),
    amber: Rgba::opaque(0xa8_64_00),
    red: Rgba::opaque(0xc4_16_1c),
    warning: Rgba::opaque(0xc4_16_1c),
    warning_text: Rgba::opaque(0xff_ff_ff),
    caution: Rgba::opaque(0xff_b8_1f),
    caution_text: Rgba::opaque(0x1a_12_05),
    cyan: Rgba::opaque(0x00_55_6c),
    sky: Rgba::opaque(0x7f_b4_dc).at(0.66),
    ground: Rgba::opaque(0xb5_93_6b).at(0.76),
    tick_weight: 1.0,
    short_ticks: true,
    typeface: Typeface::B612,
};

static HIGH_CONTRAST: Palette = Palette {
    disc: Rgba::opaque(0x00_00_00),
    disc_alpha: [0.94; 4],
    halo: Rgba::opaque(0x00_00_00).at(0.42),
    rim: Rgba::opaque(0xff_ff_ff).at(0.95),
    plate: Rgba::opaque(0x00_00_00).at(0.94),
    casing: Rgba::opaque(0x00_00_00).at(0.80),
    ink: Rgba::opaque(0xff_ff_ff),
    hand2: Rgba::opaque(0xb4_d2_ec),
    ink2: Rgba::opaque(0xff_ff_ff),
    green: Rgba::opaque(0x4d_ff_9a),
    amber: Rgba::opaque(0xff_d0_00),
    red: Rgba::opaque(0xff_7a_70),
    warning: Rgba::opaque(0xd4_00_00),
    warning_text: Rgba::opaque(0xff_ff_ff),
    caution: Rgba::opaque(0xff_b8_1f),
    caution_text: Rgba::opaque(0x1a_12_05),
    cyan: Rgba::opaque(0x9a_ea_ff),
    sky: Rgba::opaque(0x1d_5c_96).at(0.94),
    ground: Rgba::opaque(0x5c_3f_22).at(0.94),
    tick_weight: 1.3,
    short_ticks: false,
    typeface: Typeface::B612,
};
