//! What may be hard to see on a panel, judged by published figures: no fault, but its owner should know.

use crate::panel::{DiscSize, Instrument, Marking, Panel, Place, Placing};
use crate::readout::PanelState;

use super::colour_vision::Vision;
use super::face::Face;
use super::layout::Canvas;
use super::painter;
use super::part::Part;
use super::scene::{Item, Scene};
use super::specimen::{self, Stand};
use super::text::CAPITAL;
use super::theme::{Look, Palette, Rgba};

/// Least visual angle of text that has to be read, in minutes of arc: NUREG-0700 rev. 3, text size.
pub const LEAST_MINUTES: f64 = 16.0;
/// The shorter side of a phone's picture, and how far it is held, in millimetres (assumptions, no source).
pub const PHONE_SIDE_MM: f64 = 65.0;
/// See [`PHONE_SIDE_MM`].
pub const PHONE_DISTANCE_MM: f64 = 350.0;
/// Markings of one shape have to lie so far apart, CIE 1976 (common practice, no source; no pair of the house's themes that
/// can ever have one shape lies closer than 20).
pub const LEAST_DIFFERENCE: f64 = 15.0;
/// Two ranges are neighbours if what lies between them is no wider than this share of both.
const NEIGHBOURS: f64 = 0.05;

/// The visual angle of something `height` high at a `distance` in the same unit, in minutes of arc.
pub fn arc_minutes(height: f64, distance: f64) -> f64 {
    60.0 * (2.0 * (height / 2.0 / distance).atan()).to_degrees()
}

/// A text and the visual angle of its capitals on a phone.
#[derive(Debug, Clone, PartialEq)]
pub struct Text {
    /// What it says.
    pub text: String,
    /// In minutes of arc.
    pub minutes: f64,
}

/// Texts of one instrument that are too small for a phone.
#[derive(Debug, Clone, PartialEq)]
pub struct SmallText {
    /// The instrument's name.
    pub instrument: String,
    /// The smallest value that it ever writes, if that one is too small.
    pub value: Option<Text>,
    /// The smallest name, unit or numeral, if that one is too small.
    pub lettering: Option<Text>,
    /// The least size of the instrument that cures the value, if one does, and the angle there.
    pub cure: Option<(DiscSize, f64)>,
}

/// The instruments with texts under [`LEAST_MINUTES`] on a phone, where a shown picture of `size` pixels fills the screen.
pub fn small_on_a_phone(panel: &Panel, size: (f64, f64), look: Look) -> Vec<SmallText> {
    let canvas = painter::canvas(panel, size, look);
    let (faces, _) = painter::faces(panel, canvas);
    let made = faces.iter().filter_map(|(name, index, face)| {
        let instrument = index.and_then(|i| panel.instruments.get(i));
        let [value, lettering] = smallest(panel, instrument, face.as_ref(), size);
        let small = |text: &Text| text.minutes < LEAST_MINUTES;
        let (value, lettering) = (value.filter(small), lettering.filter(small));
        let cure = instrument.filter(|_| value.is_some()).and_then(|instrument| cure(panel, instrument, canvas));
        let found = value.is_some() || lettering.is_some();
        found.then(|| SmallText { instrument: (*name).to_owned(), value, lettering, cure })
    });
    made.collect()
}

/// The least size at which an instrument's values are large enough, and their angle.
fn cure(panel: &Panel, instrument: &Instrument, canvas: Canvas) -> Option<(DiscSize, f64)> {
    let sizes = [DiscSize::M, DiscSize::L, DiscSize::Xl].into_iter();
    let mut larger = sizes.filter(|size| size.diameter_m() > instrument.place.size().diameter_m());
    larger.find_map(|size| {
        let place = match instrument.place {
            Placing::At(place) => Placing::At(Place { size, ..place }),
            Placing::Slot(slot, _) => Placing::Slot(slot, size),
        };
        let instrument = Instrument { place, ..instrument.clone() };
        let face = painter::face(panel, &instrument, (0.0, 0.0), canvas);
        let [value, _] = smallest(panel, Some(&instrument), face.as_ref(), (canvas.width, canvas.height));
        value.filter(|value| value.minutes >= LEAST_MINUTES).map(|value| (size, value.minutes))
    })
}

/// The smallest value and the smallest other text of a face, in all states that have a value.
fn smallest(panel: &Panel, instrument: Option<&Instrument>, face: &dyn Face, size: (f64, f64)) -> [Option<Text>; 2] {
    let mut texts: [Vec<Text>; 2] = Default::default();
    // Beside a number stand its letter and its unit.
    let mut take = |scene: Scene, value: bool| {
        for item in scene.items {
            if let Item::Text(line) = item {
                let height = CAPITAL * line.em * PHONE_SIDE_MM / size.0.min(size.1);
                let minutes = arc_minutes(height, PHONE_DISTANCE_MM);
                let text = line.text();
                let number = value && text.contains(|c: char| c.is_ascii_digit());
                texts[usize::from(!number)].push(Text { text, minutes });
            }
        }
    };
    take(face.face(), false);
    take(face.lettering(), false);
    for stand in [Stand::Lowest, Stand::Middle, Stand::Highest] {
        let shown = instrument.map(|i| specimen::state(&i.face, stand)).unwrap_or_default();
        let state = PanelState { lamps: specimen::lamps(panel, stand), ..PanelState::default() };
        for part in face.key(&shown, &state) {
            let value = matches!(part, Part::Value { .. } | Part::Chip(_) | Part::Row { .. });
            take(face.part(&part), value);
        }
    }
    texts.map(|texts| {
        let said = texts.into_iter().filter(|text| !text.text.trim().is_empty());
        said.min_by(|a, b| a.minutes.total_cmp(&b.minutes))
    })
}

/// How a range is drawn: shape has to tell ranges apart where colour does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// In one piece.
    Whole,
    /// In several.
    Blocks,
    /// With teeth.
    Teeth,
}

/// Two neighbouring ranges of one form, in colours that some cannot tell apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Alike {
    /// The instrument's name.
    pub instrument: String,
    /// The lower range.
    pub lower: Marking,
    /// The upper range.
    pub upper: Marking,
    /// To whom they look most alike.
    pub vision: Vision,
    /// How far apart the colours lie for them.
    pub difference: f64,
}

/// Every such pair on a panel.
pub fn alike(panel: &Panel, size: (f64, f64), look: Look) -> Vec<Alike> {
    let canvas = painter::canvas(panel, size, look);
    let palette = canvas.palette;
    let mut found = Vec::new();
    for (name, _, face) in painter::faces(panel, canvas).0 {
        for lane in face.forms() {
            let pairs = lane.iter().flat_map(|a| lane.iter().map(move |b| (*a, *b)));
            found.extend(pairs.filter_map(|((lower, a), (upper, b))| {
                let (vision, difference) = look_alike((lower, a), (upper, b), palette)?;
                Some(Alike { instrument: name.to_owned(), lower, upper, vision, difference })
            }));
        }
    }
    found
}

/// To whom a range looks like the one that follows it, if to anybody, and how far apart their colours lie then.
fn look_alike((lower, a): (Marking, Form), (upper, b): (Marking, Form), palette: &Palette) -> Option<(Vision, f64)> {
    let ((from, mid), (next, to)) = (ends(lower)?, ends(upper)?);
    let neighbours = (next - mid).abs() <= NEIGHBOURS * (to - from).abs() && from < next;
    let (lower, upper) = (colour(lower, palette).rgb, colour(upper, palette).rgb);
    if !neighbours || a != b || lower == upper {
        return None;
    }
    let seen = Vision::ALL.map(|vision| (vision, vision.difference(lower, upper)));
    seen.into_iter().filter(|seen| seen.1 < LEAST_DIFFERENCE).min_by(|a, b| a.1.total_cmp(&b.1))
}

/// Where a range starts and ends; a limit is no range.
const fn ends(marking: Marking) -> Option<(f64, f64)> {
    match marking {
        Marking::Normal { from, to } | Marking::Precaution { from, to } | Marking::Forbidden { from, to } => {
            Some((from, to))
        }
        Marking::Limit { .. } | Marking::Reference { .. } => None,
    }
}

const fn colour(marking: Marking, palette: &Palette) -> Rgba {
    match marking {
        Marking::Normal { .. } => palette.green,
        Marking::Precaution { .. } => palette.amber,
        Marking::Forbidden { .. } | Marking::Limit { .. } => palette.red,
        Marking::Reference { .. } => palette.ink,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draw::theme::Theme;
    use crate::panel::{ColourOf, OwnColour};

    const NORMAL: Marking = Marking::Normal { from: 20.0, to: 80.0 };
    const PRECAUTION: Marking = Marking::Precaution { from: 80.0, to: 82.0 };

    fn judge(palette: &Palette, a: Form, b: Form) -> Option<(Vision, f64)> {
        look_alike((NORMAL, a), (PRECAUTION, b), palette)
    }

    #[test]
    fn colour_alone_never_tells_the_house_themes_apart_nor_fails_to() {
        for theme in Theme::ALL {
            assert_eq!(judge(theme.palette(), Form::Whole, Form::Blocks), None, "{theme:?}: shapes differ");
            assert_eq!(
                judge(theme.palette(), Form::Whole, Form::Whole),
                None,
                "{theme:?}: colours are far enough apart"
            );
        }
    }

    #[test]
    fn colours_that_some_cannot_tell_apart_are_found_where_the_shapes_are_the_same() {
        // A green and an orange that differ plainly to most people.
        let own = [(ColourOf::Normal, [0x8f, 0xb0, 0x32]), (ColourOf::Precaution, [0xd8, 0x98, 0x30])];
        let palette = Theme::Graphite.palette().with(&own.map(|(of, rgb)| OwnColour { of, rgb }));
        let usual = Vision::Usual.difference([0x8f, 0xb0, 0x32], [0xd8, 0x98, 0x30]);
        assert!(usual > 2.0 * LEAST_DIFFERENCE, "{usual}");
        assert!(matches!(
            judge(&palette, Form::Whole, Form::Whole),
            Some((Vision::Protanopia | Vision::Deuteranopia, _))
        ));
        assert_eq!(judge(&palette, Form::Whole, Form::Blocks), None, "the shapes differ");
        let apart = Marking::Precaution { from: 100.0, to: 110.0 };
        assert_eq!(look_alike((NORMAL, Form::Whole), (apart, Form::Whole), &palette), None, "no neighbours");
    }
}
