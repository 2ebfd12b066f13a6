//! Captions: one or two lines on a plate of their own, in the freest place low on the picture.
//!
//! The place is found once, from the grounds of everything else on the panel: room for two lines as wide as may be, and of
//! all such places the nearest to the middle of the lower edge. A plate is as wide as its words and stands on the lower edge of
//! that room, so one line stands where a second one would. The lines start on one edge, behind a mark in the shape of
//! their severity; the owner's own words stand behind a bar.

use crate::panel::Panel;
use crate::pixel::FrameShape;
use crate::readout::{CaptionOf, CaptionWords, InstrumentState, PanelState};

use super::face::{Face, Ground};
use super::lamp::{self, Shape};
use super::layout::Canvas;
use super::marks::{self, HALO_REACH, PLATE_HALO};
use super::painter::{self, DrawError};
use super::part::{Part, StateKey};
use super::path::{Path, Rect};
use super::scene::Scene;
use super::sizes::SMALLEST_EM;
use super::text::{Run, Setting, Weight};
use super::theme::Look;

/// Em, in modules: capitals of 17 minutes of arc on a phone (`advice`), where 16 is the least that may be.
const EM: f64 = 0.0360;
/// From line to line, and from a plate's edge to the capitals nearest to it, over the em.
const PITCH: f64 = 1.36;
const ABOVE: f64 = 0.62;
const SIDE: f64 = 0.80;
/// Side of the mark, and from there to the words, over the em.
const MARK: f64 = 1.00;
const MARK_GAP: f64 = 0.55;
/// Width of the bar before the owner's words, over the em.
const BAR: f64 = 0.16;
/// Widest and narrowest room for words, over the em, and by which steps it is sought: 37 figures, and 20.
const ROOM: [f64; 2] = [24.0, 13.0];
const STEP: f64 = 1.0;
/// Share of the picture's width that a caption takes at most: of a wide one, and of others (BBC, *Subtitle Guidelines*, section
/// 3.1, as quoted by clevercast.com, stored copy).
const WIDEST: [f64; 2] = [0.68, 0.90];
/// From the picture's edges, in modules.
const EDGE: f64 = 0.022;
/// Radius of the plate's corners, in modules.
const CORNER: f64 = 0.012;

/// Where captions stand on a picture, and how they are set.
#[derive(Debug, Clone, Copy)]
pub struct CaptionPlace {
    /// Room for two lines, with their plate.
    rect: Rect,
    /// Width that words may take.
    room: f64,
    setting: Setting,
    canvas: Canvas,
}

impl CaptionPlace {
    /// The place on a panel's picture.
    ///
    /// # Errors
    /// [`DrawError::NoRoomForCaptions`] where the panel leaves none that is wide enough.
    pub fn new(panel: &Panel, shape: FrameShape, look: impl Into<Look>) -> Result<Self, DrawError> {
        let (canvas, grounds) = painter::grounds(panel, shape.shown_size(), look.into());
        Self::beside(panel, &grounds, canvas)
    }

    /// The place on a picture of which this much is covered.
    pub(super) fn beside(panel: &Panel, grounds: &[Ground], canvas: Canvas) -> Result<Self, DrawError> {
        let Canvas { width, height, m, palette } = canvas;
        let em = (EM * m).max(SMALLEST_EM);
        let taken = taken(panel, grounds, canvas);
        let beside_words = (2.0 * SIDE + MARK + MARK_GAP) * em;
        let high = (2.0 * ABOVE + 0.75 + PITCH) * em;
        let widest = WIDEST[usize::from(width < 1.4 * height)] * width - beside_words;
        let mut room = (ROOM[0] * em).min(widest);
        let least = ROOM[1] * em;
        let no_room = |widest| DrawError::NoRoomForCaptions {
            width: (least + beside_words).ceil() as u64,
            height: high.ceil() as u64,
            widest,
        };
        while room > 0.0 {
            let wide = room + beside_words;
            if let Some(rect) = lowest(&taken, (wide, high), (width, height), EDGE * m) {
                if room < least {
                    let place = (wide.floor() as u64, rect.left.max(0.0) as u64, rect.top.max(0.0) as u64);
                    return Err(no_room(Some(place)));
                }
                return Ok(Self { rect, room, setting: palette.setting(em), canvas });
            }
            room -= STEP * em;
        }
        Err(no_room(None))
    }

    /// Whether a line has room.
    pub fn fits(&self, line: &str) -> bool {
        self.setting.width(&[self.run(line)]) <= self.room
    }

    /// The room for two lines on the shown picture: left, upper, right and lower edge in pixels.
    pub fn rect(&self) -> Rect {
        self.rect
    }

    fn run<'a>(&self, text: &'a str) -> Run<'a> {
        Run { text, weight: Weight::Bold, colour: self.canvas.palette.ink }
    }

    fn draw(&self, scene: &mut Scene, words: &CaptionWords) {
        let (em, Canvas { m, palette, .. }) = (self.setting.em, self.canvas);
        let wide = words.lines.iter().map(|line| self.setting.width(&[self.run(line)])).fold(0.0, f64::max);
        let mark = match words.of {
            CaptionOf::Warning => Some(Shape::Warning),
            CaptionOf::Caution => Some(Shape::Caution),
            CaptionOf::Advisory => Some(Shape::Advisory),
            CaptionOf::Note | CaptionOf::Part => None,
        };
        let is_note = words.of == CaptionOf::Note;
        let lead = match mark {
            Some(_) => MARK + MARK_GAP,
            None if is_note => BAR + MARK_GAP,
            None => 0.0,
        } * em;
        let rows = words.lines.len().saturating_sub(1) as f64;
        let high = (2.0 * ABOVE + 0.75 + PITCH * rows) * em;
        let middle = (self.rect.left + self.rect.right) / 2.0;
        let half = (wide + lead) / 2.0 + SIDE * em;
        let plate = Rect { left: middle - half, top: self.rect.bottom - high, right: middle + half, ..self.rect };
        marks::plate(scene, plate, CORNER * m, m, palette);
        let left = plate.left + SIDE * em;
        let first = plate.top + (ABOVE + 0.375) * em;
        if let Some(shape) = mark {
            let sign = Rect::centred((left + MARK * em / 2.0, first), MARK * em, MARK * em).snapped();
            lamp::ground(scene, shape, sign, m, palette);
        }
        if is_note {
            let (top, bottom) = (plate.top + 0.75 * ABOVE * em, plate.bottom - 0.75 * ABOVE * em);
            let bar = Rect { left, top, right: left + (BAR * em).max(2.0), bottom }.snapped();
            scene.fill(Path::rounded(bar, 0.0), palette.ink2);
        }
        for (i, line) in words.lines.iter().enumerate() {
            let run = [self.run(line)];
            let x = left + lead + self.setting.width(&run) / 2.0;
            self.setting.draw(scene, &run, (x, first + PITCH * em * i as f64), Some(marks::plain(palette)));
        }
    }
}

/// What no caption may lie on: the grounds with what reaches beyond them and beyond a caption's own plate, and what the owner keeps
/// clear.
fn taken(panel: &Panel, grounds: &[Ground], Canvas { width, height, m, .. }: Canvas) -> Vec<Ground> {
    let reached = grounds.iter().map(|ground| match *ground {
        Ground::Disc(middle, r) => Ground::Disc(middle, HALO_REACH * r + PLATE_HALO * m),
        Ground::Plate(rect) => Ground::Plate(rect.grown(lamp::reach(m) + PLATE_HALO * m)),
    });
    let kept = panel.keep_clear.iter().map(|kept| {
        let (left, top) = (kept.x * width, kept.y * height);
        let kept = Rect { left, top, right: left + kept.width * width, bottom: top + kept.height * height };
        Ground::Plate(kept.grown(PLATE_HALO * m))
    });
    reached.chain(kept).collect()
}

/// Of all places of a size that are free, the nearest to the middle of the lower edge: such a one lies in the middle, at an edge,
/// or beside something.
fn lowest(taken: &[Ground], (wide, high): (f64, f64), (width, height): (f64, f64), edge: f64) -> Option<Rect> {
    let boxes = || taken.iter().map(|ground| ground.rect());
    let inside = |at: &f64, half: f64, length: f64| *at - half >= edge - 1e-6 && *at + half <= length - edge + 1e-6;
    let beside = boxes().flat_map(|rect| [rect.left - wide / 2.0, rect.right + wide / 2.0]);
    let across: Vec<f64> = beside.chain([width / 2.0]).filter(|x| inside(x, wide / 2.0, width)).collect();
    let over = boxes().flat_map(|rect| [rect.top - high / 2.0, rect.bottom + high / 2.0]);
    let up: Vec<f64> = over.chain([height - edge - high / 2.0]).filter(|y| inside(y, high / 2.0, height)).collect();
    let places = across.iter().flat_map(|&x| up.iter().map(move |&y| (x, y)));
    let free = places.map(|middle| (middle, Rect::centred(middle, wide, high))).filter(|(_, rect)| {
        let ground = Ground::Plate(*rect);
        // A rounding error is no overlap.
        taken.iter().all(|other| ground.overlap(*other) < 1e-6)
    });
    let far = |(x, y): (f64, f64)| (x - width / 2.0).hypot(height - y);
    free.min_by(|a, b| far(a.0).total_cmp(&far(b.0))).map(|(_, rect)| rect)
}

impl Face for CaptionPlace {
    /// All of it comes and goes.
    fn face(&self) -> Scene {
        Scene::default()
    }

    fn key(&self, _: &InstrumentState, panel: &PanelState) -> StateKey {
        panel.caption.iter().map(|words| Part::Caption(std::sync::Arc::clone(words))).collect()
    }

    fn part(&self, part: &Part) -> Scene {
        let mut scene = Scene::default();
        if let Part::Caption(words) = part {
            self.draw(&mut scene, words);
        }
        scene
    }

    fn ground(&self) -> Ground {
        Ground::Plate(self.rect)
    }

    fn extent(&self) -> Scene {
        let mut scene = Scene::default();
        scene.fill(Path::rounded(self.rect.grown(lamp::reach(self.canvas.m)), 0.0), super::Rgba::opaque(0).at(0.0));
        scene
    }
}
