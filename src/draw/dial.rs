//! The round dial with one hand: where its texts stand, what it shows in each data state.

use crate::panel::{Dial, DiscSize, Marking, OffScale, UsualRange};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::{Reading, State};

use super::advice::Form;
use super::chips;
use super::dial_layout::{Layout, Line, Name, chord, layout};
use super::face::{Face, Ground};
use super::hands::{Hand, HandStyle, Pivot, REACH};
use super::lanes;
use super::marks;
use super::part::{Arrow, Chip, Frame, Part, StateKey, ValueInk};
use super::path::{Point, Rect};
use super::round;
use super::scene::Scene;
use super::sizes::{SMALLEST_EM, Sizes};
use super::states;
use super::text::{Run, Weight};
use super::theme::Palette;
use super::words;

/// The hand moves in steps of this many pixels at its tip.
const STEP_PX: f64 = 0.25;
/// The stop of a saturated sensor stands this many degrees beyond its hand.
const STOP: f64 = 5.5;
/// Em of a chip's text over that of the value; small enough to leave the numerals beside it alone.
const CHIP: f64 = 0.56;
/// The same for a value on the plate of an alarm.
const PLATE: f64 = 0.66;
/// The same for NO DATA at the hub.
const HUB_CHIP: f64 = 0.62;
/// Where a tag stands alone when the name's last line has no room for it.
const TAG_ROW: f64 = 0.680;

/// A dial in its place.
#[derive(Debug, Clone)]
pub(super) struct DialFace {
    dial: Dial,
    pivot: Pivot,
    hand: Hand,
    sizes: Sizes,
    palette: &'static Palette,
    step_deg: f64,
    /// The value's height below the middle, and its em.
    value: Line,
    names: Vec<Name>,
    /// Name and unit share one line, so there is room for a tag between hub and value.
    tag_above: bool,
    /// A hand can pass under the value.
    value_passed: bool,
}

impl DialFace {
    pub fn new(dial: &Dial, size: DiscSize, centre: Point, m: f64, palette: &'static Palette) -> Self {
        let sizes = Sizes::new(size, m);
        let pivot = Pivot { centre, r: sizes.r, k: sizes.k };
        let step_deg = (STEP_PX / (REACH * sizes.r)).to_degrees();
        let Layout { value, names, tag_above } = layout(dial, size, sizes, palette.typeface);
        let mut face = Self {
            tag_above,
            dial: dial.clone(),
            pivot,
            hand: Hand::new(pivot),
            sizes,
            palette,
            step_deg,
            value,
            names,
            value_passed: false,
        };
        face.value_passed = face.hand_passes_value();
        face
    }

    /// A value that can be read.
    fn shown(&self, value: f64, reading: Reading) -> StateKey {
        let (style, tag) = match reading.state {
            State::Held => (HandStyle::Planked, Some(words::held(reading.age_s))),
            State::Derived => (HandStyle::Pierced, Some("calc".to_owned())),
            _ => (HandStyle::Solid, None),
        };
        let held = reading.state == State::Held;
        let number = words::number(value, self.dial.decimals);
        let place = self.dial.scale.place_told(value);
        let mut angle = self.dial.scale.angle(value);
        if place == OffScale::High {
            angle += self.dial.scale.parked();
        }
        let mut key = vec![self.hand(style, angle), Part::Hub];
        key.push(match place {
            OffScale::On => Part::Value { text: number, ink: if held { ValueInk::Dim } else { ValueInk::Full } },
            // Standing on the first mark is normal (a hover, an engine at rest): nothing calls for attention.
            OffScale::Low => {
                let text = format!("< {}", words::number(self.dial.scale.ends().0, self.dial.decimals));
                Part::Value { text, ink: if held { ValueInk::BeyondDim } else { ValueInk::Beyond } }
            }
            OffScale::High => Part::Chip(Chip {
                short: number.clone(),
                text: number,
                frame: Frame::Hairline,
                arrow: Some(Arrow::Up),
                at_hub: false,
            }),
        });
        match tag {
            Some(tag) => key.extend(self.tagged(tag, held)),
            None => key.push(name(true)),
        }
        key
    }

    fn stale(&self, value: Option<f64>, age_s: f64) -> StateKey {
        let [text, short] = words::old(age_s);
        let mut key = Vec::with_capacity(4);
        if let Some(value) = value {
            key.push(self.hand(HandStyle::Dashed, self.dial.scale.angle(value)));
            key.push(Part::Hub);
        }
        key.push(Part::Chip(Chip { text, short, frame: Frame::Dashed, arrow: None, at_hub: false }));
        key.push(name(false));
        key
    }

    fn saturated(&self, value: f64, state: State) -> StateKey {
        let low = state == State::SaturatedLow;
        let number = words::number(value, self.dial.decimals);
        let (text, tag, arrow, beyond) = if low {
            (format!("\u{2264} {number}"), "SENSOR MIN", Arrow::Down, -STOP)
        } else {
            (format!("\u{2265} {number}"), "SENSOR MAX", Arrow::Up, STOP)
        };
        let angle = self.dial.scale.angle(value);
        let mut key = vec![
            Part::Stop { steps: self.steps(angle + beyond * self.dial.scale.sense()) },
            self.hand(HandStyle::Hollow, angle),
            Part::Hub,
            Part::Chip(Chip { short: text.clone(), text, frame: Frame::Dashed, arrow: Some(arrow), at_hub: false }),
        ];
        key.extend(self.tagged(tag.to_owned(), true));
        key
    }

    fn steps(&self, degrees: f64) -> i32 {
        (degrees / self.step_deg).round() as i32
    }

    fn hand(&self, style: HandStyle, degrees: f64) -> Part {
        Part::Hand { style, steps: self.steps(degrees) }
    }

    /// The name with a tag: where the tag shows, the unit goes.
    fn tagged(&self, tag: String, lower: bool) -> Vec<Part> {
        if self.tag_above {
            vec![name(false), Part::Tag { text: tag, lower }]
        } else {
            vec![Part::Name { unit: false, tag }]
        }
    }

    fn below(&self, y: f64) -> Point {
        (self.pivot.centre.0, self.pivot.centre.1 + y * self.pivot.r)
    }

    /// Chips keep clear of the numerals above them, or of a name of two lines below.
    fn chip_y(&self) -> f64 {
        self.value.y + if self.tag_above { 0.02 } else { -0.02 }
    }

    fn draw_value(&self, scene: &mut Scene, text: &str, ink: ValueInk) {
        let (share, colour) = match ink {
            ValueInk::Full => (1.0, self.palette.ink),
            ValueInk::Dim => (1.0, self.palette.ink2),
            ValueInk::Beyond => (0.80, self.palette.ink),
            ValueInk::BeyondDim => (0.80, self.palette.ink2),
        };
        let run = [Run { text, weight: Weight::Bold, colour }];
        let em = (share * self.value.em).max(SMALLEST_EM);
        let room = 2.0 * chord(self.value.y, em, self.pivot.r);
        let setting = self.palette.setting(em).fitted(&run, room).at_least(SMALLEST_EM);
        let casing = if self.value_passed { marks::passed(self.palette) } else { marks::plain(self.palette) };
        setting.draw(scene, &run, self.below(self.value.y), Some(casing));
    }

    fn draw_tag(&self, scene: &mut Scene, text: &str, lower: bool) {
        let em = (0.95 * self.sizes.name).min(0.150 * self.pivot.r).max(SMALLEST_EM);
        let run = [Run { text, weight: Weight::Bold, colour: self.palette.cyan }];
        let setting = self.palette.setting(em).fitted(&run, 0.72 * self.pivot.r).at_least(SMALLEST_EM);
        // Between the hub and whatever stands in the value's place.
        let value_top =
            self.value.y - (0.375 * self.value.em).max(chips::half_height(CHIP * self.value.em)) / self.pivot.r;
        let lowest = value_top - 0.375 * setting.em / self.pivot.r - 0.025;
        let y = if lower { 0.265 } else { 0.165 };
        setting.draw(scene, &run, self.below(f64::min(y, lowest)), Some(marks::passed(self.palette)));
    }

    fn draw_names(&self, scene: &mut Scene, with_unit: bool, tag: &str) {
        let mut rows = &self.names[..];
        if !tag.is_empty() {
            rows = self.draw_name_with_tag(scene, tag);
        }
        for Name { text, unit, line } in rows {
            let unit = if with_unit { &**unit } else { "" };
            let runs = self.runs(text, unit);
            self.palette.setting(line.em).draw(scene, &runs, self.below(line.y), Some(marks::plain(self.palette)));
        }
    }

    /// Writes a tag after the name's last line, or in its place, or in place of the whole name; returns the lines left.
    fn draw_name_with_tag(&self, scene: &mut Scene, tag: &str) -> &[Name] {
        let tag = Run { text: tag, weight: Weight::Bold, colour: self.palette.cyan };
        let middle = Line { y: TAG_ROW, em: self.sizes.name };
        let (last, others) = self.names.split_last().map_or(("", &[][..]), |(name, rest)| (&*name.text, rest));
        let line = self.names.last().map_or(middle, |name| name.line);
        let after = [Run { text: last, weight: Weight::Bold, colour: self.palette.ink }, tag];
        // A name shrunk much beside its tag is worse than a tag alone.
        let choices =
            [(&after[..], line, others, 0.8), (&after[1..], line, others, 0.0), (&after[1..], middle, &[][..], 0.0)];
        let fitted = |runs: &[Run<'_>], line: Line| {
            self.palette.setting(line.em).fitted(runs, 2.0 * chord(line.y, line.em, self.pivot.r))
        };
        for (runs, line, rest, least) in choices {
            let runs = if last.is_empty() { &runs[runs.len() - 1..] } else { runs };
            let setting = fitted(runs, line);
            if setting.em >= SMALLEST_EM.max(least * line.em) {
                setting.draw(scene, runs, self.below(line.y), Some(marks::plain(self.palette)));
                return rest;
            }
        }
        self.palette.setting(SMALLEST_EM).draw(scene, &[tag], self.below(middle.y), Some(marks::passed(self.palette)));
        &[]
    }

    /// Name and unit as they stand on one line; a unit alone on its line is as heavy as a name.
    fn runs<'a>(&self, text: &'a str, unit: &'a str) -> Vec<Run<'a>> {
        let weight = if text.is_empty() { Weight::Bold } else { Weight::Regular };
        let name = Run { text, weight: Weight::Bold, colour: self.palette.ink };
        let unit = Run { text: unit, weight, colour: self.palette.ink2 };
        [name, unit].into_iter().filter(|run| !run.text.is_empty()).collect()
    }

    /// Half width and upper edge, in fractions of the radius, of what the widest value on the scale covers.
    fn value_box(&self) -> (f64, f64) {
        let (low, high) = self.dial.scale.ends();
        let widest = [low, high].map(|v| {
            let text = words::number(v, self.dial.decimals);
            let run = Run { text: &text, weight: Weight::Bold, colour: self.palette.ink };
            self.palette.setting(self.value.em).width(&[run])
        });
        let r = self.pivot.r;
        (widest[0].max(widest[1]) / 2.0 / r, self.value.y - 0.375 * self.value.em / r)
    }

    /// What value and name cover, in the same terms.
    fn rooms(&self) -> Vec<(f64, f64)> {
        let r = self.pivot.r;
        let name = |name: &Name| {
            let Line { y, em } = name.line;
            (self.palette.setting(em).width(&self.runs(&name.text, &name.unit)) / 2.0 / r, y - 0.375 * em / r - 0.03)
        };
        self.names.iter().map(name).chain([self.value_box()]).collect()
    }

    /// Whether the hand, anywhere on its scale or parked past its end, reaches the value's box.
    fn hand_passes_value(&self) -> bool {
        let (from, to) = self.dial.scale.ends();
        let (a, b) = (self.dial.scale.angle(from), self.dial.scale.angle(to) + self.dial.scale.parked());
        let (half, top) = self.value_box();
        let reach = half.atan2(top).to_degrees() + 3.0;
        let (low, high) = (a.min(b), a.max(b));
        // Does some 180 + 360 n, widened by the reach, lie between them?
        let n = ((low - reach - 180.0) / 360.0).ceil();
        180.0 + 360.0 * n <= high + reach
    }
}

impl Face for DialFace {
    fn face(&self) -> Scene {
        let mut scene = Scene::default();
        marks::disc(&mut scene, self.pivot, self.palette);
        let lanes = [(lanes::LANE, &self.dial.markings[..])];
        lanes::scale(&mut scene, self.pivot, &self.dial.scale, REACH, &lanes, self.palette);
        scene
    }

    fn lettering(&self) -> Scene {
        let mut scene = Scene::default();
        marks::numerals(&mut scene, self.pivot, self.sizes, &self.dial.scale, REACH, &self.rooms(), self.palette);
        scene
    }

    fn key(&self, state: &InstrumentState, _: &PanelState) -> StateKey {
        let reading = state.hands.first().copied().unwrap_or(Reading::INVALID);
        let value = reading.value.filter(|v| v.is_finite());
        match (reading.state, value) {
            (State::Stale, value) => self.stale(value, reading.age_s),
            (State::SaturatedLow | State::SaturatedHigh, Some(value)) => self.saturated(value, reading.state),
            (State::Measured | State::Derived | State::Held, Some(value)) => {
                let alarm = states::alarm(state);
                let shown = self.shown(value, reading).into_iter().map(|part| states::plated(part, alarm));
                // Above the plate a tag has to stand close to the hub.
                let key = shown.map(|part| match part {
                    Part::Tag { text, .. } if alarm.is_some() => Part::Tag { text, lower: false },
                    part => part,
                });
                key.chain(alarm.map(Part::Rim)).collect()
            }
            _ => {
                let chip = no_data();
                vec![Part::Cross, Part::Chip(Chip { at_hub: true, ..chip }), name(false)]
            }
        }
    }

    fn part(&self, part: &Part) -> Scene {
        if let Some(scene) = round::part(part, self.pivot, Some((&self.hand, self.step_deg)), self.palette) {
            return scene;
        }
        let mut scene = Scene::default();
        match part {
            Part::Value { text, ink } => self.draw_value(&mut scene, text, *ink),
            Part::Chip(chip) => {
                let room = 1.9 * self.pivot.r;
                if chip.at_hub {
                    chips::draw(&mut scene, chip, self.pivot.centre, HUB_CHIP * self.value.em, room, self.palette);
                } else {
                    let y = self.chip_y();
                    // A plate is higher, and the name below it stays whole.
                    let (share, up) = if matches!(chip.frame, Frame::Plate(_)) { (PLATE, 0.035) } else { (CHIP, 0.0) };
                    chips::draw(&mut scene, chip, self.below(y - up), share * self.value.em, room, self.palette);
                }
            }
            Part::Tag { text, lower } => self.draw_tag(&mut scene, text, *lower),
            Part::Name { unit, tag } => self.draw_names(&mut scene, *unit, tag),
            _ => {}
        }
        scene
    }

    fn forms(&self) -> Vec<Vec<(Marking, Form)>> {
        vec![lanes::forms(self.pivot, &self.dial.scale, (lanes::LANE, &self.dial.markings), self.palette)]
    }

    fn bracket(&self, range: &UsualRange) -> Scene {
        lanes::bracket(self.pivot, &self.dial.scale, lanes::LANE, (range.from, range.to), self.palette)
    }

    fn ground(&self) -> Ground {
        Ground::Disc(self.pivot.centre, self.pivot.r)
    }
}

/// What stands where nothing can be shown.
pub(super) fn no_data() -> Chip {
    Chip {
        text: "NO DATA".to_owned(),
        short: "\u{2013}".to_owned(),
        frame: Frame::Hairline,
        arrow: None,
        at_hub: false,
    }
}

/// The name line without a tag.
fn name(unit: bool) -> Part {
    Part::Name { unit, tag: String::new() }
}

/// What a dial may cover: its halo, and on the smallest discs a value that sticks out on both sides.
pub(super) fn reach(centre: Point, r: f64) -> Rect {
    let halo = marks::HALO_REACH * r;
    Rect::centred(centre, 2.0 * halo.max(4.0 * SMALLEST_EM), 2.0 * halo)
}
