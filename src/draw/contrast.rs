//! Whether what is drawn stands out from the disc, over whatever film.

use crate::panel::{ColourOf, OwnColour};

use super::colour_vision::contrast as ratio;
use super::theme::{Palette, Rgba};

/// Least contrast of text, and of hands and marks (WCAG 2.2, success criteria 1.4.3 and 1.4.11).
const TEXT: f64 = 4.5;
const GRAPHICS: f64 = 3.0;
/// Film that a disc may lie over.
const FILM: [u8; 3] = [255, 128, 0];

/// A colour of the owner's that does not stand out enough.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Faint {
    /// The colour.
    pub colour: OwnColour,
    /// Its contrast over the worst film.
    pub ratio: f64,
    /// What it should be at least.
    pub floor: f64,
}

/// The owner's colours that are too faint on the discs of a palette that holds them already.
///
/// Text is measured on the casing under it, which every text has, marks on theirs; a hand on the disc where it is thinnest.
pub(super) fn faint(own: &[OwnColour], palette: &Palette) -> Vec<Faint> {
    let thinnest = palette.disc.at(palette.disc_alpha[0]);
    let cased = |film: u8| over(palette.casing, over(thinnest, [film; 3]));
    let bare = |film: u8| over(thinnest, [film; 3]);
    let judged = |&colour: &OwnColour| {
        let (ground, floor): (&dyn Fn(u8) -> [u8; 3], f64) = match colour.of {
            ColourOf::Disc => return None,
            ColourOf::Ink | ColourOf::Unit | ColourOf::Tag => (&cased, TEXT),
            ColourOf::SecondHand => (&bare, GRAPHICS),
            ColourOf::Normal | ColourOf::Precaution | ColourOf::Limit => (&cased, GRAPHICS),
        };
        let worst = FILM.map(|film| ratio(colour.rgb, ground(film))).into_iter().fold(f64::INFINITY, f64::min);
        (worst < floor).then_some(Faint { colour, ratio: worst, floor })
    };
    own.iter().filter_map(judged).collect()
}

/// A colour over an opaque one, blended as the film is: in encoded values.
fn over(colour: Rgba, ground: [u8; 3]) -> [u8; 3] {
    let alpha = colour.alpha;
    std::array::from_fn(|i| (f32::from(colour.rgb[i]) * alpha + f32::from(ground[i]) * (1.0 - alpha)).round() as u8)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::Theme;

    /// Rows of a table computed from the WCAG 2.x formula; black on white is 21 by definition.
    #[test]
    fn the_ratio_is_that_of_the_guideline() {
        for (a, b, expected) in [
            ([0, 0, 0], [255, 255, 255], 21.0),
            ([255, 255, 255], [255, 255, 255], 1.0),
            // The textbook pair that just passes: #767676 on white (from memory).
            ([0x76, 0x76, 0x76], [255, 255, 255], 4.54),
        ] {
            assert!((ratio(a, b) - expected).abs() < 0.005, "{a:?} {b:?}: {}", ratio(a, b));
        }
    }

    #[test]
    fn a_dark_ink_on_a_dark_disc_is_named() {
        let own = |of, rgb| OwnColour { of, rgb };
        let colours = [own(ColourOf::Ink, [90, 90, 90]), own(ColourOf::Limit, [255, 120, 110])];
        let palette = Theme::Graphite.palette().with(&colours);
        let found = faint(&colours, &palette);
        assert!(matches!(&found[..], [Faint { colour: OwnColour { of: ColourOf::Ink, .. }, .. }]), "{found:?}");
        for theme in Theme::ALL {
            let p = theme.palette();
            let house =
                [own(ColourOf::Ink, p.ink.rgb), own(ColourOf::Unit, p.ink2.rgb), own(ColourOf::Normal, p.green.rgb)];
            assert_eq!(faint(&house, p), [], "{}", theme.name());
        }
    }
}
