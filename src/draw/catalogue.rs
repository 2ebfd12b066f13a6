//! Every instrument in every state on one sheet, over light, grey and dark, for people to look at.
//!
//! The panel is invented: no scale, range or limit here belongs to a real aircraft.

use crate::panel::{
    Altimeter, AltimeterSetting, Datum, Dial, DiscSize, Face, Instrument, Marking, Panel, Place, Scale, Side,
};
use crate::panel::{Tachometer, Ticks, Tile, VerticalSpeed};
use crate::pixel::{FrameShape, PixelBox};
use crate::readout::{InstrumentState, Notice, PanelState};
use crate::signal::{Reading, State};

use super::lamp::{self, Icon, Plate, Shape, Words};
use super::painter::{self, DrawError, Painter};
use super::part::Arrow;
use super::path::{Path, Point, Rect};
use super::raster::{Grid, over};
use super::scene::Scene;
use super::svg::svg;
use super::text::{Casing, CasingWidth, Run, Setting, Weight};
use super::theme::{Palette, Rgba, Theme};

/// Narrowest and widest sheet in pixels; other widths are brought between.
const WIDTHS: (u32, u32) = (640, 7680);
/// Width of a page in modules; its height is one.
const WIDE: f64 = 1.6;
/// Width of a lamp of its own, in modules: that of four in a row on a 16:9 picture.
const LAMP_WIDTH: f64 = 0.1684;

/// The sheet at one width in one theme.
pub struct Catalogue {
    page: FrameShape,
    theme: Theme,
    pages: Vec<Page>,
}

impl Catalogue {
    /// A sheet as near to this width as can be read.
    pub fn new(width_px: u32, theme: Theme) -> Self {
        let width = width_px.clamp(WIDTHS.0, WIDTHS.1).next_multiple_of(2);
        let height = ((f64::from(width) / WIDE).round() as u32).next_multiple_of(2);
        let pages = vec![dial_states(), other_faces(), two_hands(), vertical_speeds(), altitudes(), lamps()];
        Self { page: FrameShape::plain(width, height), theme, pages }
    }

    /// Width and height in pixels.
    pub fn size(&self) -> (u32, u32) {
        (self.page.width, self.page.height * self.pages.len() as u32)
    }

    /// Opaque RGBA, four bytes a pixel, drawn as a film's frames are.
    ///
    /// # Errors
    /// None in practice: the sheet's own panel is sound at every width.
    pub fn pixels(&self) -> Result<Vec<u8>, DrawError> {
        let pages = self.pages.iter().map(|page| page.draw(self.page, self.theme));
        Ok(pages.collect::<Result<Vec<_>, _>>()?.concat())
    }

    /// The same outlines as SVG.
    ///
    /// # Errors
    /// As for the pixels.
    pub fn svg(&self) -> Result<String, DrawError> {
        let mut scenes = Vec::new();
        for (n, page) in self.pages.iter().enumerate() {
            let down = f64::from(self.page.height) * n as f64;
            scenes.push(page.scene(self.page, self.theme)?.moved(0.0, down));
        }
        let (width, height) = self.size();
        Ok(svg(width, height, &scenes))
    }
}

/// Instruments with what they show and what is written under them.
#[derive(Default)]
struct Page {
    panel: Panel,
    state: PanelState,
    labels: Vec<(Point, String, &'static str)>,
    plates: Vec<(Point, Plate)>,
    /// Discs that join two plates.
    joins: Vec<Point>,
}

impl Page {
    /// Adds an instrument at a place given in modules from the upper left corner.
    fn add(&mut self, face: Face, size: DiscSize, at: Point, reading: Reading, title: &str, note: &'static str) {
        self.add_hands(face, size, at, vec![reading], (title, note));
    }

    /// The same for a face with several hands.
    fn add_hands(
        &mut self,
        face: Face,
        size: DiscSize,
        at: Point,
        hands: Vec<Reading>,
        (title, note): (&str, &'static str),
    ) {
        let below = match &face {
            Face::Tile(_) => 0.062,
            _ => size.diameter_m() / 2.0 + 0.036,
        };
        self.labels.push(((at.0, at.1 + below), title.to_owned(), note));
        let place = Place { side: Side::Left, from_side_m: at.0, from_bottom_m: 1.0 - at.1, size };
        let note = face.note_at(0.0).unwrap_or_default().to_owned();
        self.panel.instruments.push(Instrument { name: title.to_owned(), place, face });
        self.state.instruments.push(InstrumentState { hands, note });
    }

    fn draw(&self, shape: FrameShape, theme: Theme) -> Result<Vec<u8>, DrawError> {
        let grid = Grid::new(shape);
        let place = PixelBox { x: 0, y: 0, width: shape.width, height: shape.height };
        let mut picture = grid.picture(&backdrop(shape), place, Vec::new());
        let mut painter = Painter::new(&self.panel, shape, theme)?;
        for drawn in painter.draw(&self.state) {
            over(&mut picture, drawn.patch, drawn.patch.place);
        }
        over(&mut picture, &grid.sprite(&self.words(shape, theme), place, Vec::new()), place);
        Ok(picture.rgba)
    }

    /// The whole page as outlines.
    fn scene(&self, shape: FrameShape, theme: Theme) -> Result<Scene, DrawError> {
        let mut scene = backdrop(shape);
        scene.append(painter::scene(&self.panel, shape.shown_size(), theme, &self.state)?);
        scene.append(self.words(shape, theme));
        Ok(scene)
    }

    /// What is written under the instruments.
    fn words(&self, shape: FrameShape, theme: Theme) -> Scene {
        let m = f64::from(shape.height);
        let mut words = Scene::default();
        for (at, plate) in &self.plates {
            let rect = Rect::centred((at.0 * m, at.1 * m), LAMP_WIDTH * m, lamp::HEIGHT * m);
            lamp::draw(&mut words, plate, rect, m, theme.palette());
        }
        for at in &self.joins {
            lamp::differs(&mut words, (at.0 * m, at.1 * m), m, theme.palette());
        }
        for (at, title, note) in &self.labels {
            let at = (at.0 * m, at.1 * m);
            label(&mut words, title, Weight::Bold, 0.0175 * m, at, theme.palette());
            label(&mut words, note, Weight::Regular, 0.0150 * m, (at.0, at.1 + 0.023 * m), theme.palette());
        }
        words
    }
}

fn label(scene: &mut Scene, text: &str, weight: Weight, em: f64, at: Point, palette: &Palette) {
    let casing = Casing { width: CasingWidth::Bare, colour: palette.casing.at(0.90) };
    Setting::em(em).draw(scene, &[Run { text, weight, colour: palette.ink }], at, Some(casing));
}

/// Slanting stripes from snow to night, so that every instrument is seen on something else.
fn backdrop(shape: FrameShape) -> Scene {
    let (w, h) = (f64::from(shape.width), f64::from(shape.height));
    let mut scene = Scene::default();
    let stripes = [(-0.2, 0xf6_f9_fb), (0.23, 0xc3_ce_d6), (0.43, 0x8d_96_9d), (0.62, 0x4c_54_5b), (0.84, 0x11_14_17)];
    for (from, colour) in stripes {
        let corners = [((from + 0.05) * w, 0.0), (2.0 * w, 0.0), (2.0 * w, h), ((from - 0.05) * w, h)];
        scene.fill(Path::polygon(&corners), Rgba::opaque(colour));
    }
    scene
}

fn reading(value: f64, state: State, age_s: f64) -> Reading {
    Reading { value: Some(value), state, age_s }
}

/// What a reading can be: title, note, and the reading with its value on, below or above the scale.
fn states(on: f64, low: f64, high: f64) -> [(&'static str, &'static str, Reading); 10] {
    let stale = |value| Reading { value, state: State::Stale, age_s: 9.4 };
    [
        ("MEASURED", "plain", reading(on, State::Measured, 0.0)),
        ("DERIVED", "pierced hand, calc", reading(on, State::Derived, 0.0)),
        ("HELD", "planked hand, time", reading(on, State::Held, 0.6)),
        ("STALE", "hollow dashed hand, age", stale(Some(on))),
        ("INVALID", "no hand, crossed face", Reading::INVALID),
        ("OFF THE DIAL, LOW", "quiet stop: nothing is wrong", reading(low, State::Measured, 0.0)),
        ("OFF THE DIAL, HIGH", "past the end; arrow, value", reading(high, State::Measured, 0.0)),
        ("SENSOR SAT. LOW", "hollow hand on its own stop", reading(on / 2.0 + 1.0, State::SaturatedLow, 0.0)),
        ("SENSOR SAT. HIGH", "a fault: \u{201c}at least\u{201d}", reading(on * 1.5 + 1.0, State::SaturatedHigh, 0.0)),
        ("STALE, VALUE GONE", "age only", stale(None)),
    ]
}

fn dial_states() -> Page {
    let mut page = Page::default();
    for (i, (title, note, reading)) in states(58.0, 12.0, 118.0).into_iter().enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, if i < 5 { 0.22 } else { 0.685 });
        page.add(Face::Dial(airspeed()), DiscSize::Xl, at, reading, title, note);
    }
    page
}

fn other_faces() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let measured = |value| reading(value, State::Measured, 0.0);
    let dials = [
        (exhaust(), DiscSize::Xl, 548.0, "EGT", "folded: hinge pin at 400"),
        (exhaust(), DiscSize::L, 706.0, "EGT, L", "past its limit"),
        (flow(), DiscSize::M, 10.2, "FUEL FLOW, M", "unit on its own line"),
        (vibration(), DiscSize::M, 0.3, "VIBRATION, M", "a range that is forbidden"),
        (gearbox(), DiscSize::S, 74.0, "GEARBOX OIL T, S", "a name of two lines"),
    ];
    for (i, (dial, size, value, title, note)) in dials.into_iter().enumerate() {
        let at = (0.17 + 0.31 * i as f64, 0.22);
        page.add(Face::Dial(dial), size, at, measured(value), title, note);
    }
    let tiles =
        states(27.9, 27.9, 27.9).into_iter().filter(|(title, ..)| !title.contains("DIAL") && !title.contains("GONE"));
    for (i, (title, _, reading)) in tiles.enumerate() {
        let at = (0.17 + 0.21 * i as f64, 0.53);
        page.add(Face::Tile(volts()), DiscSize::M, at, reading, title, "tile");
    }
    for (i, (title, _, reading)) in states(74.0, -20.0, 166.0).into_iter().take(9).enumerate() {
        let at = (0.12 + 0.17 * i as f64, 0.80);
        page.add(Face::Dial(gearbox()), DiscSize::S, at, reading, title, "S");
    }
    page
}

fn two_hands() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let measured = |value| reading(value, State::Measured, 0.0);
    let held = reading(101.0, State::Held, 0.6);
    let faces = [
        (measured(100.0), measured(100.0), "JOINED", "one whole leaf"),
        (measured(102.0), measured(100.0), "ROTOR +2 %", "the leaf opens by 9 degrees"),
        (measured(98.0), measured(100.0), "ENGINE +2 %", "and by the same 9 degrees"),
        (measured(104.0), measured(84.0), "ROTOR AHEAD", "a neutral sector"),
        (measured(91.0), measured(99.0), "ENGINE AHEAD", "neutral too: no judgement here"),
        (measured(0.0), measured(62.0), "START-UP", "in the folded tail"),
        (held, measured(100.0), "ROTOR HELD", "each hand has its own state"),
        (Reading::INVALID, measured(100.0), "ROTOR INVALID", "the other hand stays"),
        (reading(88.0, State::SaturatedHigh, 0.0), measured(98.0), "ROTOR SENSOR SAT.", "a hollow half"),
        (measured(126.0), measured(100.0), "ROTOR OFF THE DIAL", "past the end; arrow, value"),
    ];
    for (i, (rotor, engine, title, note)) in faces.into_iter().enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, if i < 5 { 0.22 } else { 0.685 });
        page.add_hands(Face::Tachometer(tachometer()), DiscSize::Xl, at, vec![rotor, engine], (title, note));
    }
    page
}

fn vertical_speeds() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let measured = |value| reading(value, State::Measured, 0.0);
    let named = states(350.0, -2350.0, 2350.0).map(|(title, note, reading)| match title {
        "OFF THE DIAL, LOW" => ("OFF THE DIAL, DOWN", "at three; arrow, value", reading),
        "OFF THE DIAL, HIGH" => ("OFF THE DIAL, UP", "at three; arrow, value", reading),
        _ => (title, note, reading),
    });
    let more = [
        ("LEVEL", "zero at nine, without a sign", measured(0.0)),
        ("+1000", "straight up", measured(1000.0)),
        ("\u{2212}1000", "straight down", measured(-1000.0)),
        ("+2000", "full climb", measured(2000.0)),
        ("\u{2212}2000", "full descent: the arrow tells", measured(-2000.0)),
    ];
    let Some(feet) = VerticalSpeed::new("vertical_speed".into(), "ft/min", 2000.0) else { return page };
    for (i, (title, note, reading)) in named.into_iter().chain(more).enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, 0.17 + 0.315 * (i / 5) as f64);
        page.add(Face::VerticalSpeed(feet.clone()), DiscSize::L, at, reading, title, note);
    }
    page
}

fn altitudes() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let measured = |value| reading(value, State::Measured, 0.0);
    let named = states(2340.0, -200.0, 12_345.0).map(|(title, note, reading)| match title {
        "OFF THE DIAL, LOW" => ("BELOW ZERO", "both hands turn back", reading),
        "OFF THE DIAL, HIGH" => ("12 345 ft", "nothing is off the scale", reading),
        "SENSOR SAT. LOW" => (title, "no end, so no stop", reading),
        "STALE" => (title, "hollow dashed hands, age", reading),
        _ => (title, note, reading),
    });
    let more = [
        ("210 ft", "short .21, long 2.1", measured(210.0)),
        ("4650 ft", "hands behind the glass", measured(4650.0)),
        ("6400 ft", "and on the other side", measured(6400.0)),
    ];
    let indicated = |text: &str| {
        let setting = AltimeterSetting { from_s: f64::NEG_INFINITY, text: text.to_owned() };
        Altimeter { channel: "altitude".into(), datum: Datum::Indicated(vec![setting]) }
    };
    let mut shown: Vec<_> = named.into_iter().chain(more).map(|shown| (indicated("29.92 inHg"), shown)).collect();
    shown.push((indicated(""), ("NO SETTING", "a dash: it is not known", measured(2340.0))));
    let pressure = Altimeter { datum: Datum::Pressure, ..indicated("") };
    shown.push((pressure, ("PRESSURE ALTITUDE", "says so in the setting\u{2019}s place", measured(3480.0))));
    for (i, (altimeter, (title, note, reading))) in shown.into_iter().enumerate() {
        let at = (0.16 + 0.32 * (i % 5) as f64, 0.17 + 0.315 * (i / 5) as f64);
        page.add(Face::Altimeter(altimeter), DiscSize::L, at, reading, title, note);
    }
    page
}

/// Every shape of a lamp, recorded and computed.
fn lamps() -> Page {
    let mut page = Page { state: PanelState { notice: Notice::Bare, ..PanelState::default() }, ..Page::default() };
    let state = |subject: &str, word: &str, icon| Words::State { subject: subject.into(), word: word.into(), icon };
    let phrase = |upper: &str, lower: &str| Words::Phrase([upper.into(), lower.into()]);
    let (down, up) = (Some(Icon::Arrow(Arrow::Down)), Some(Icon::Arrow(Arrow::Up)));
    let recorded = [
        (Shape::Warning, state("ROTOR", "LOW", down), "WARNING", "octagon, double frame"),
        (Shape::Caution, phrase("XMSN", "CHIP"), "CAUTION", "pointed plate"),
        (Shape::InTransit, state("CLUTCH", "ENGAGING", None), "IN TRANSIT", "outline, striped points"),
        (Shape::Advisory, state("CLUTCH", "DISENGAGED", None), "ADVISORY", "pill"),
        (Shape::Normal, state("CLUTCH", "ENGAGED", None), "NORMAL", "plain plate, underline"),
        (Shape::Unlit, Words::Subject("XMSN CHIP".into()), "UNLIT", "corner brackets"),
        (Shape::Stale, state("XMSN CHIP", "9 s old", None), "STALE", "dashed frame, age"),
        (Shape::Invalid, state("CHARGE", "NO DATA", None), "INVALID", "dashed and crossed"),
        (
            Shape::Disagree,
            state("CLUTCH", "DISAGREE", Some(Icon::Unequal)),
            "NONE OR TWO LIT",
            "of which one should be",
        ),
        (Shape::Caution, phrase("NOT", "CHARGING"), "ONE PHRASE", "both lines one size"),
        (Shape::Warning, state("ROTOR", "HIGH", up), "ONE SUBJECT", "one lamp"),
    ];
    let computed = [
        (Shape::Warning, state("ROTOR", "LOW", down), "COMPUTED WARNING", "same shape, calc tab"),
        (Shape::Caution, state("OIL T", "HIGH", up), "COMPUTED CAUTION", "no lamp recorded it"),
        (Shape::Advisory, state("FUEL", "LOW", down), "COMPUTED ADVISORY", "a limit of the owner's"),
        (Shape::Stale, state("ROTOR", "9 s old", None), "ALERT, DATA GONE", "it was on; its age"),
        (Shape::Caution, state("+2", "ALERTS", None), "MORE ALERTS", "than there are places"),
    ];
    let both = recorded.into_iter().map(|r| (r, false)).chain(computed.into_iter().map(|c| (c, true)));
    for (i, ((shape, words, title, note), computed)) in both.enumerate() {
        let at = (0.125 + 0.195 * (i % 8) as f64, 0.13 + 0.19 * (i / 8) as f64);
        page.labels.push(((at.0, at.1 + 0.054), title.into(), note));
        page.plates.push((at, Plate { shape, words, computed }));
    }
    let unlit =
        |subject: &str, computed| Plate { shape: Shape::Unlit, words: Words::Subject(subject.into()), computed };
    let low = |computed| Plate { shape: Shape::Warning, words: state("ROTOR", "LOW", down), computed };
    let pairs = [
        (low(true), unlit("ROTOR", false), "ALERT WITHOUT LAMP", "both stand, joined"),
        (unlit("ROTOR", true), low(false), "LAMP WITHOUT ALERT", "both stand, joined"),
    ];
    for (i, (alert, lamp, title, note)) in pairs.into_iter().enumerate() {
        let (at, gap) = ((0.125 + 0.25 * i as f64, 0.53), 0.009);
        let below = (at.0, at.1 + lamp::HEIGHT + gap);
        page.plates.extend([(at, alert), (below, lamp)]);
        page.joins.push(lamp::join(Rect::centred(at, LAMP_WIDTH, lamp::HEIGHT), gap));
        page.labels.push(((at.0, below.1 + 0.054), title.into(), note));
    }
    page
}

fn scale(breakpoints: &[(f64, f64)], ticks: (f64, f64, f64), numerals: &[(f64, &str)]) -> Scale {
    Scale {
        breakpoints: breakpoints.to_vec(),
        ticks: Ticks { long: ticks.0, middle: ticks.1, short: ticks.2 },
        numerals: numerals.iter().map(|&(value, text)| (value, text.to_owned())).collect(),
    }
}

/// Airspeed of an imaginary aircraft; the dial starts at 20 kt, where the hand rests in a hover.
fn airspeed() -> Dial {
    let numerals = [(20.0, "20"), (40.0, "40"), (60.0, "60"), (80.0, "80"), (100.0, "100")];
    Dial {
        channel: "airspeed".into(),
        title: vec!["AIRSPEED".into()],
        unit: "kt".into(),
        decimals: 0,
        scale: scale(&[(20.0, -126.0), (110.0, 126.0)], (20.0, 10.0, 2.0), &numerals),
        markings: vec![
            Marking::Normal { from: 20.0, to: 78.0 },
            Marking::Precaution { from: 78.0, to: 95.0 },
            Marking::Limit { at: 95.0 },
        ],
    }
}

fn exhaust() -> Dial {
    let numerals = [(200.0, "2"), (400.0, "4"), (600.0, "6"), (800.0, "8")];
    Dial {
        channel: "egt".into(),
        title: vec!["EGT".into()],
        unit: "\u{b0}C".into(),
        decimals: 0,
        scale: scale(&[(0.0, -140.0), (400.0, -60.0), (800.0, 100.0)], (200.0, 100.0, 50.0), &numerals),
        markings: vec![
            Marking::Normal { from: 400.0, to: 660.0 },
            Marking::Precaution { from: 660.0, to: 710.0 },
            Marking::Limit { at: 710.0 },
        ],
    }
}

fn flow() -> Dial {
    let numerals = [(0.0, "0"), (4.0, "4"), (8.0, "8"), (12.0, "12"), (16.0, "16"), (20.0, "20")];
    Dial {
        channel: "fuel_flow".into(),
        title: vec!["FUEL FLOW".into()],
        unit: "US gal/h".into(),
        decimals: 1,
        scale: scale(&[(0.0, -104.0), (20.0, 104.0)], (4.0, 2.0, 1.0), &numerals),
        markings: vec![
            Marking::Normal { from: 5.0, to: 14.0 },
            Marking::Precaution { from: 14.0, to: 17.5 },
            Marking::Limit { at: 17.5 },
        ],
    }
}

fn vibration() -> Dial {
    let numerals = [(0.0, "0"), (0.5, ".5"), (1.0, "1")];
    Dial {
        channel: "vibration".into(),
        title: vec!["VIBRATION".into()],
        unit: "in/s".into(),
        decimals: 2,
        scale: scale(&[(0.0, -120.0), (1.0, 120.0)], (0.5, 0.1, 0.05), &numerals),
        markings: vec![Marking::Normal { from: 0.0, to: 0.5 }, Marking::Forbidden { from: 0.7, to: 1.0 }],
    }
}

fn gearbox() -> Dial {
    let numerals = [(50.0, "50"), (100.0, "100")];
    Dial {
        channel: "gearbox_oil_temperature".into(),
        title: vec!["GEARBOX".into(), "OIL T".into()],
        unit: "\u{b0}C".into(),
        decimals: 0,
        scale: scale(&[(0.0, -108.0), (150.0, 108.0)], (50.0, 25.0, 5.0), &numerals),
        markings: vec![
            Marking::Normal { from: 40.0, to: 110.0 },
            Marking::Precaution { from: 110.0, to: 125.0 },
            Marking::Limit { at: 125.0 },
        ],
    }
}

fn tachometer() -> Tachometer {
    let numerals =
        [(0.0, "0"), (40.0, "40"), (80.0, "80"), (90.0, "90"), (100.0, "100"), (110.0, "110"), (120.0, "120")];
    Tachometer {
        rotor: "rotor".into(),
        engine: "engine".into(),
        title: "RPM".into(),
        decimals: 0,
        scale: scale(&[(0.0, -142.0), (80.0, -90.0), (120.0, 90.0)], (20.0, 10.0, 1.0), &numerals),
        rotor_markings: vec![
            Marking::Precaution { from: 95.0, to: 97.0 },
            Marking::Normal { from: 97.0, to: 103.0 },
            Marking::Limit { at: 95.0 },
            Marking::Limit { at: 104.0 },
        ],
        engine_markings: vec![Marking::Normal { from: 97.0, to: 102.0 }, Marking::Limit { at: 105.5 }],
    }
}

fn volts() -> Tile {
    Tile { channel: "bus_volts".into(), title: "VOLTS".into(), unit: "V".into(), decimals: 1 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_theme_at_the_narrowest_and_a_usual_width() {
        for theme in Theme::ALL {
            for (asked, expected) in [(1, 640), (1281, 1282)] {
                let sheet = Catalogue::new(asked, theme);
                let ((width, height), rgba) = (sheet.size(), sheet.pixels().unwrap());
                assert_eq!(width, expected);
                assert_eq!(rgba.len(), 4 * width as usize * height as usize);
                assert!(rgba.chunks(4).all(|pixel| pixel[3] == 255), "opaque throughout");
            }
        }
    }
}
