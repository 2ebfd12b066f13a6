//! The plate of one lamp or one computed alert. Shape says how grave it is, the word says the state.
//!
//! | shape | means |
//! |---|---|
//! | octagon, white double frame | warning |
//! | pointed plate, dark outline | caution |
//! | the same in outline, striped points | in transit |
//! | pill | advisory; its line dashed, `≠`: lamps of one subject contradict each other |
//! | plain plate, green underline | normal |
//! | corner brackets, subject alone | unlit |
//! | dashed frame | stale, with the age; crossed: nothing recorded |
//!
//! A plate as it is was recorded; one with a `calc` tab on its upper edge was computed.

use super::marks;
use super::part::Arrow;
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::sizes::SMALLEST_EM;
use super::text::{CAPITAL, Run, Weight};
use super::theme::{Palette, Rgba};

/// Height of a lamp in a landscape picture, in modules: its type is in proportion to it.
pub(super) const HEIGHT: f64 = 0.062;
/// Ems over the height, and where the lines stand in it.
const SUBJECT: f64 = 0.0182 / HEIGHT;
const WORD: f64 = 0.0232 / HEIGHT;
const PHRASE: f64 = 0.0205 / HEIGHT;
/// Em of a subject that stands alone, over the height.
const ALONE: f64 = 0.0200 / HEIGHT;
const LINES: (f64, f64) = (0.305, 0.685);
const PHRASE_LINES: (f64, f64) = (0.31, 0.69);
/// Largest em over the height at which two lines still stand clear of each other.
const TALLEST: f64 = 0.44;
/// Below this many pixels an em nothing is left to read; a longer word then rather sticks out.
const SMALLEST_WORD_EM: f64 = 6.0;
/// Em of the tab, in modules, and its height over that.
const TAB: f64 = 0.0150;
const TAB_HEIGHT: f64 = 1.30;
const TAB_TEXT: &str = "calc";
/// Radius of the disc that joins two which contradict each other, in modules.
const DISC: f64 = 0.014;
/// Where it stands, as a share of the width.
const JOIN: f64 = 0.13;
/// How far a plate's halo and its tab reach beyond it, in modules, and in pixels on small pictures.
const REACH: (f64, f64) = (0.022, 16.0);

/// Height of a warning from which on it has its second line, in pixels.
const SECOND_LINE_PX: f64 = 30.0;

/// How a plate is shaped.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Shape {
    Warning,
    Caution,
    InTransit,
    Advisory,
    Normal,
    Unlit,
    Stale,
    Invalid,
    Disagree,
}

/// What is written on a plate.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) enum Words {
    /// The subject alone, in the middle.
    Subject(String),
    /// The subject over the state word.
    State { subject: String, word: String, icon: Option<Icon> },
    /// Two lines of one size, not to be read by halves.
    Phrase([String; 2]),
}

/// What repeats the word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Icon {
    /// A triangle.
    Arrow(Arrow),
    /// An equals sign struck through.
    Unequal,
}

/// Everything that is seen of a lamp or an alert.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub(super) struct Plate {
    pub shape: Shape,
    pub words: Words,
    /// With a `calc` tab.
    pub computed: bool,
}

/// How far anything of a plate reaches beyond it, in pixels.
pub(super) fn reach(m: f64) -> f64 {
    (REACH.0 * m).max(REACH.1)
}

/// Draws a plate.
pub(super) fn draw(scene: &mut Scene, plate: &Plate, rect: Rect, m: f64, palette: &Palette) {
    let rect = rect.snapped();
    ground(scene, plate.shape, rect, m, palette);
    let top_of_text = words(scene, plate, rect, palette);
    if plate.computed {
        tab(scene, rect, top_of_text, m, palette);
    }
}

/// The outline of a shape, larger by `by` on every side.
pub(super) fn outline(shape: Shape, rect: Rect, by: f64) -> Path {
    let h = rect.bottom - rect.top;
    let Rect { left: l, top: t, right: r, bottom: b } = rect.grown(by);
    match shape {
        Shape::Warning => {
            // The cut grows by 2 - sqrt 2 of the distance between two octagons whose edges run side by side.
            let c = 0.24 * h + 0.586 * by;
            Path::polygon(&[
                (l + c, t),
                (r - c, t),
                (r, t + c),
                (r, b - c),
                (r - c, b),
                (l + c, b),
                (l, b - c),
                (l, t + c),
            ])
        }
        Shape::Caution | Shape::InTransit => {
            let (c, y) = (0.34 * h + 0.25 * by, (t + b) / 2.0);
            Path::polygon(&[(l + c, t), (r - c, t), (r, y), (r - c, b), (l + c, b), (l, y)])
        }
        Shape::Advisory | Shape::Disagree => Path::rounded(Rect { left: l, top: t, right: r, bottom: b }, h / 2.0 + by),
        Shape::Unlit => Path::rounded(Rect { left: l, top: t, right: r, bottom: b }, by.max(0.0)),
        Shape::Normal | Shape::Stale | Shape::Invalid => {
            Path::rounded(Rect { left: l, top: t, right: r, bottom: b }, 0.18 * h + by)
        }
    }
}

/// Halo, plate, frame.
pub(super) fn ground(scene: &mut Scene, shape: Shape, rect: Rect, m: f64, palette: &Palette) {
    let h = rect.bottom - rect.top;
    let line = |width: f64| (width * m).max(1.0);
    let strong = matches!(shape, Shape::Warning | Shape::Caution | Shape::InTransit);
    let halo = if strong {
        [(0.0025, 0.22), (0.0045, 0.14), (0.0070, 0.10)]
    } else {
        [(0.0025, 0.14), (0.0055, 0.10), (0.0085, 0.07)]
    };
    for (reach, alpha) in halo {
        scene.stroke(outline(shape, rect, reach * m / 2.0), reach * m, palette.halo.at(alpha));
    }
    let within = |width: f64| outline(shape, rect, -width / 2.0);
    match shape {
        Shape::Warning => {
            scene.fill(outline(shape, rect, 0.0), palette.warning);
            scene.stroke(within(line(0.0030)), line(0.0030), palette.warning_text);
            // On the smallest pictures the second line would run through the words.
            if h >= SECOND_LINE_PX {
                scene.stroke(within(2.0 * 0.0062 * m), line(0.0013), palette.warning_text);
            }
        }
        Shape::Caution => {
            scene.cased(outline(shape, rect, 0.0), palette.caution, 2.0 * line(0.0016), palette.caution_text);
        }
        Shape::InTransit => {
            scene.fill(outline(shape, rect, 0.0), palette.plate);
            stripes(scene, rect, palette);
            scene.stroke(within(line(0.0026)), line(0.0026), palette.amber);
        }
        Shape::Advisory => {
            scene.fill(outline(shape, rect, 0.0), palette.plate);
            scene.stroke(within(line(0.0026)), line(0.0026), palette.cyan);
        }
        Shape::Disagree => {
            scene.fill(outline(shape, rect, 0.0), palette.plate);
            scene.dashed(within(line(0.0026)), line(0.0026), palette.cyan, (0.011 * m, 0.006 * m));
        }
        Shape::Normal => {
            scene.fill(outline(shape, rect, 0.0), palette.plate);
            scene.stroke(within(line(0.0012)), line(0.0012), palette.rim);
            let (half, y) = (0.32 * (rect.right - rect.left), rect.bottom - 0.0056 * m);
            let middle = (rect.left + rect.right) / 2.0;
            let underline = Path::polyline(&[(middle - half, y), (middle + half, y)]);
            scene.stroke(underline.clone(), line(0.0052) + 0.0030 * m, palette.casing);
            scene.stroke(underline, line(0.0052), palette.green);
        }
        Shape::Unlit => {
            scene.fill(outline(shape, rect, 0.0), palette.plate.at(palette.plate.alpha * UNLIT));
            brackets(scene, rect, 0.26 * h, line(0.0018), palette.ink2);
        }
        Shape::Stale | Shape::Invalid => {
            scene.fill(outline(shape, rect, 0.0), palette.plate);
            if shape == Shape::Invalid {
                let d = 0.05 * h;
                let Rect { left: l, top: t, right: r, bottom: b } = rect.grown(-d);
                for ends in [[(l, t), (r, b)], [(l, b), (r, t)]] {
                    scene.stroke(Path::polyline(&ends), line(0.0016), palette.ink.at(0.40));
                }
            }
            scene.dashed(within(line(0.0020)), line(0.0020), palette.ink.at(0.95), (0.0085 * m, 0.0055 * m));
        }
    }
}

/// How dense an unlit plate is beside others.
const UNLIT: f32 = 0.66 / 0.78;

/// Four corners along a plate's edge.
fn brackets(scene: &mut Scene, rect: Rect, length: f64, width: f64, colour: Rgba) {
    let Rect { left: l, top: t, right: r, bottom: b } = rect.grown(-width / 2.0);
    for (x, y, right, down) in [(l, t, 1.0, 1.0), (r, t, -1.0, 1.0), (r, b, -1.0, -1.0), (l, b, 1.0, -1.0)] {
        let corner = [(x + right * length, y), (x, y), (x, y + down * length)];
        scene.stroke(Path::polyline(&corner), width, colour);
    }
}

/// Two stripes in each point.
fn stripes(scene: &mut Scene, rect: Rect, palette: &Palette) {
    let Rect { left, top, right, bottom } = rect;
    let h = bottom - top;
    let (cut, lean) = (0.34 * h, 0.20 * h);
    for from in [0.10, 0.33] {
        // A slanting band, cut by the two edges of the point and by the foot of the point.
        let band = |y: f64| {
            let x = left + from * h + lean * (bottom - y) / h - 0.10 * h;
            (x, x + 0.13 * h)
        };
        let edge = |y: f64| left + cut * ((y - (top + bottom) / 2.0).abs() / (h / 2.0));
        let steps = 24;
        let at = |i: i32| top + h * f64::from(i) / f64::from(steps);
        let side = |y: f64, x: f64| (x.clamp(edge(y), left + 0.43 * h), y);
        let mut points: Vec<Point> = (0..=steps).map(|i| side(at(i), band(at(i)).0)).collect();
        points.extend((0..=steps).rev().map(|i| side(at(i), band(at(i)).1)));
        let mirrored: Vec<Point> = points.iter().map(|p| (left + right - p.0, top + bottom - p.1)).collect();
        scene.fill(Path::polygon(&points), palette.amber);
        scene.fill(Path::polygon(&mirrored), palette.amber);
    }
}

/// Writes the words; hands back where the capitals of the first line start.
fn words(scene: &mut Scene, plate: &Plate, rect: Rect, palette: &Palette) -> f64 {
    let h = rect.bottom - rect.top;
    let side = match plate.shape {
        Shape::Caution => 0.30,
        Shape::InTransit => 0.53,
        Shape::Warning | Shape::Advisory | Shape::Disagree => 0.20,
        Shape::Normal | Shape::Unlit | Shape::Stale | Shape::Invalid => 0.12,
    };
    let room = rect.right - rect.left - 2.0 * side * h;
    let (first, second) = match plate.shape {
        Shape::Warning => (palette.warning_text, palette.warning_text),
        Shape::Caution => (palette.caution_text, palette.caution_text),
        Shape::Advisory | Shape::Disagree => (palette.ink, palette.cyan),
        // The word of a lamp in transit too: amber on porcelain's plate would be too pale to read.
        Shape::InTransit | Shape::Normal | Shape::Stale | Shape::Invalid => (palette.ink, palette.ink),
        Shape::Unlit => (palette.ink2, palette.ink2),
    };
    let casing = (!matches!(plate.shape, Shape::Warning | Shape::Caution)).then(|| marks::plain(palette));
    let middle = (rect.left + rect.right) / 2.0;
    let lead = |icon: Option<Icon>| if icon.is_some() { ICON + ICON_GAP } else { 0.0 };
    let fitted = |text: &str, weight: Weight, size: f64, icon: Option<Icon>| {
        let em = (size * h).max(SMALLEST_EM).min(TALLEST * h);
        let wide = palette.setting(em).width(&[Run { text, weight, colour: first }]) + lead(icon) * em;
        (em * (room / wide).min(1.0)).max(SMALLEST_WORD_EM)
    };
    let mut line = |text: &str, weight: Weight, colour: Rgba, share: f64, em: f64, icon: Option<Icon>| {
        let run = [Run { text, weight, colour }];
        let setting = palette.setting(em);
        let y = rect.top + share * h;
        if let Some(icon) = icon {
            let x = middle - (setting.width(&run) + lead(Some(icon)) * em) / 2.0 + ICON / 2.0 * em;
            draw_icon(scene, icon, (x, y), em, colour);
        }
        setting.draw(scene, &run, (middle + lead(icon) * em / 2.0, y), casing);
        y - CAPITAL / 2.0 * em
    };
    match &plate.words {
        Words::Subject(subject) => {
            let em = fitted(subject, Weight::Regular, ALONE, None);
            line(subject, Weight::Regular, second, 0.5, em, None)
        }
        Words::State { subject, word, icon } => {
            line(word, Weight::Bold, second, LINES.1, fitted(word, Weight::Bold, WORD, *icon), *icon);
            line(subject, Weight::Bold, first, LINES.0, fitted(subject, Weight::Bold, SUBJECT, None), None)
        }
        Words::Phrase(lines) => {
            let ems = lines.each_ref().map(|text| fitted(text, Weight::Bold, PHRASE, None));
            let em = ems[0].min(ems[1]);
            line(&lines[1], Weight::Bold, second, PHRASE_LINES.1, em, None);
            line(&lines[0], Weight::Bold, second, PHRASE_LINES.0, em, None)
        }
    }
}

/// Width of an icon and the gap after it, in em.
const ICON: f64 = 0.72;
const ICON_GAP: f64 = 0.22;

fn draw_icon(scene: &mut Scene, icon: Icon, (x, y): Point, em: f64, colour: Rgba) {
    let half = ICON / 2.0 * em;
    match icon {
        Icon::Arrow(arrow) => {
            let tip = if arrow == Arrow::Up { -0.36 * em } else { 0.36 * em };
            scene.fill(Path::polygon(&[(x, y + tip), (x + half, y - 0.8 * tip), (x - half, y - 0.8 * tip)]), colour);
        }
        Icon::Unequal => unequal(scene, (x, y), half, colour),
    }
}

/// An equals sign struck through, within `half` of its middle.
fn unequal(scene: &mut Scene, (x, y): Point, half: f64, colour: Rgba) {
    let width = 0.34 * half;
    for down in [-0.34 * half, 0.34 * half] {
        scene.stroke(Path::polyline(&[(x - 0.82 * half, y + down), (x + 0.82 * half, y + down)]), width, colour);
    }
    scene.stroke(
        Path::polyline(&[(x - 0.42 * half, y + 0.92 * half), (x + 0.42 * half, y - 0.92 * half)]),
        width,
        colour,
    );
}

/// The tab of what was computed: half over the upper edge, but never over the words.
fn tab(scene: &mut Scene, rect: Rect, top_of_text: f64, m: f64, palette: &Palette) {
    let em = (TAB * m).max(SMALLEST_EM);
    let y = rect.top.min(top_of_text - 0.5 * TAB_HEIGHT * em - (0.0050 * m).max(1.0));
    tab_at(scene, ((rect.left + rect.right) / 2.0, y), em, 0.0013 * m, palette);
}

/// How wide the tab is for text of this em in pixels, or the least that can be read.
pub(super) fn tab_width(em: f64, palette: &Palette) -> f64 {
    let setting = palette.setting(em.max(SMALLEST_EM));
    setting.width(&[Run { text: TAB_TEXT, weight: Weight::Bold, colour: Rgba::opaque(0) }]) + 1.1 * setting.em
}

/// The tab about a point, with text and line of these sizes in pixels, or the least that can be read.
pub(super) fn tab_at(scene: &mut Scene, centre: Point, em: f64, line: f64, palette: &Palette) {
    let em = em.max(SMALLEST_EM);
    let run = [Run { text: TAB_TEXT, weight: Weight::Bold, colour: palette.cyan }];
    let setting = palette.setting(em);
    let height = TAB_HEIGHT * em;
    let frame = Path::rounded(Rect::centred(centre, tab_width(em, palette), height), height / 2.0);
    scene.fill(frame.clone(), palette.casing.at(0.92));
    scene.stroke(frame, line.max(1.0), palette.cyan);
    // A hair above the middle of the capitals: the word has none but a `l`.
    setting.draw(scene, &run, (centre.0, centre.1 - 0.02 * em), None);
}

/// Where a plate and the one below it are joined: in the gap, left of the words.
pub(super) fn join(rect: Rect, gap: f64) -> Point {
    (rect.left + JOIN * (rect.right - rect.left), rect.bottom + gap / 2.0)
}

/// The disc that says that a lamp and an alert contradict each other.
pub(super) fn differs(scene: &mut Scene, centre: Point, m: f64, palette: &Palette) {
    let r = (DISC * m).max(6.0);
    scene.fill(Path::circle(centre, r), palette.casing.at(0.96));
    scene.stroke(Path::circle(centre, r), (0.0013 * m).max(1.0), palette.ink);
    unequal(scene, centre, 0.66 * r, palette.ink);
}
