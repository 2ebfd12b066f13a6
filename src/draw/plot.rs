//! A log on one page: a strip for each channel on one time axis, with its gaps, its ends and the marks of its findings.

use crate::finding::Severity;
use crate::pixel::{Patch, PixelBox};
use crate::signal::{Channel, Samples};

use super::page::{Hand, Side, box_of};
use super::path::{Path, Point};
use super::scene::Scene;
use super::sheet::sheet;
use super::svg::svg;
use super::text::Weight;
use super::theme::{Look, Palette, Rgba};

/// Width of the page in pixels.
const WIDTH: f64 = 1920.0;
/// Left and right of the traces stand names and ends.
const LEFT: f64 = 520.0;
const RIGHT: f64 = 220.0;
const EDGE: f64 = 36.0;
/// Title, axis, and one finding's line.
const HEAD: f64 = 144.0;
const AXIS: f64 = 52.0;
const LINE: f64 = 42.0;
/// Height of a strip: the more of them, the lower, but never too low to be read.
const HIGHEST: f64 = 150.0;
const LOWEST: f64 = 92.0;
/// Between two strips, and from a strip's edge to its trace.
const BETWEEN: f64 = 8.0;
const INSIDE: f64 = 10.0;
/// Radius of the dot of a lone record.
const DOT: f64 = 3.5;
/// Sizes of letters in pixels: the page shrunk to a phone's 640 pixels can still be read.
const TITLE_EM: f64 = 42.0;
const NAME_EM: f64 = 32.0;
const SMALL_EM: f64 = 29.0;

/// A finding on the page.
#[derive(Debug, Clone, PartialEq)]
pub struct PlotMark {
    /// Where it stands, in seconds of the log; none for one of the whole file.
    pub at_s: Option<f64>,
    /// The channel that it concerns; none for all.
    pub column: Option<String>,
    /// How much it matters.
    pub severity: Severity,
    /// Its sentence.
    pub text: String,
}

/// What is to be plotted.
#[derive(Debug, Clone)]
pub struct Plot<'a> {
    /// The log's name.
    pub title: &'a str,
    /// What it is, in one line.
    pub subtitle: &'a str,
    /// Its channels.
    pub channels: &'a [Channel],
    /// Its findings.
    pub marks: &'a [PlotMark],
    /// Seconds that it lasts.
    pub duration_s: f64,
    /// Colours and typeface.
    pub look: Look,
}

impl Plot<'_> {
    /// Width and height of the page in pixels: the height grows with the channels.
    pub fn size(&self) -> (u32, u32) {
        let strips = self.channels.len() as f64;
        let high = HEAD + AXIS + strips * (self.strip() + BETWEEN) + AXIS + self.marks.len() as f64 * LINE + EDGE;
        (WIDTH as u32, high.ceil() as u32)
    }

    /// The page as pixels.
    pub fn pixels(&self) -> Patch {
        let (width, height) = self.size();
        sheet(&self.scene(), PixelBox { x: 0, y: 0, width, height })
    }

    /// The same outlines as SVG.
    pub fn svg(&self) -> String {
        let (width, height) = self.size();
        svg(width, height, [&self.scene()])
    }

    fn strip(&self) -> f64 {
        (900.0 / self.channels.len().max(1) as f64).clamp(LOWEST, HIGHEST)
    }

    fn palette(&self) -> &'static Palette {
        self.look.theme.palette()
    }

    /// Where a time stands.
    fn x(&self, seconds: f64) -> f64 {
        LEFT + (WIDTH - LEFT - RIGHT) * (seconds / self.duration_s.max(1e-9)).clamp(0.0, 1.0)
    }

    fn scene(&self) -> Scene {
        let (palette, (width, height)) = (self.palette(), self.size());
        let mut scene = Scene::default();
        scene.fill(box_of(0.0, 0.0, f64::from(width), f64::from(height)), palette.plate.at(1.0));
        let room = WIDTH - 2.0 * EDGE;
        self.write(&mut scene, self.title, Weight::Bold, palette.ink, TITLE_EM, (EDGE, 50.0), Side::Left, room);
        self.write(&mut scene, self.subtitle, Weight::Regular, palette.ink2, SMALL_EM, (EDGE, 106.0), Side::Left, room);
        let top = HEAD + AXIS;
        let bottom = top + self.channels.len() as f64 * (self.strip() + BETWEEN) - BETWEEN;
        for (i, channel) in self.channels.iter().enumerate() {
            let y = top + i as f64 * (self.strip() + BETWEEN);
            self.channel(&mut scene, channel, y);
        }
        self.axis(&mut scene, top, bottom);
        self.findings(&mut scene, top, bottom);
        scene
    }

    /// One strip: ground, gaps, trace, name, unit and ends.
    fn channel(&self, scene: &mut Scene, channel: &Channel, top: f64) {
        let (palette, high) = (self.palette(), self.strip());
        let (middle, right) = (top + high / 2.0, WIDTH - RIGHT);
        scene.fill(box_of(LEFT, top, right, top + high), palette.ink.at(0.05));
        let unit = channel.unit.as_deref().unwrap_or("");
        let room = LEFT - EDGE - 20.0;
        self.write(scene, &channel.name, Weight::Bold, palette.ink, NAME_EM, (EDGE, middle - 18.0), Side::Left, room);
        self.write(scene, unit, Weight::Regular, palette.ink2, SMALL_EM, (EDGE, middle + 22.0), Side::Left, room);
        let joined = channel.rules.joined_s;
        let (mut last, end) = (0.0, self.duration_s);
        // A channel of few records has them far apart: what cannot be joined is a gap here as on a dial.
        for time in channel.times.iter().copied().chain([end]) {
            if time - last > joined {
                scene.fill(box_of(self.x(last), top, self.x(time), top + high), palette.cyan.at(0.13));
            }
            last = time;
        }
        let Samples::Numbers(values) = &channel.samples else {
            let text = format!("{} texts", channel.times.len());
            self.write(
                scene,
                &text,
                Weight::Regular,
                palette.ink2,
                SMALL_EM,
                (right + 16.0, middle),
                Side::Left,
                RIGHT - EDGE,
            );
            let mut before: Option<&str> = None;
            if let Samples::Texts(texts) = &channel.samples {
                for (time, text) in channel.times.iter().zip(texts) {
                    if before.replace(text).is_none_or(|before| before != &**text) {
                        let x = self.x(*time);
                        scene.stroke(
                            Path::polyline(&[(x, top + INSIDE), (x, top + high - INSIDE)]),
                            2.0,
                            palette.ink2.at(0.8),
                        );
                    }
                }
            }
            return;
        };
        let Some((low, greatest)) = channel.range() else {
            self.write(
                scene,
                "no record",
                Weight::Regular,
                palette.ink2,
                SMALL_EM,
                (right + 16.0, middle),
                Side::Left,
                RIGHT - EDGE,
            );
            return;
        };
        let span = greatest - low;
        let y = |value: f64| {
            let share = if span > 0.0 { (value - low) / span } else { 0.5 };
            top + high - INSIDE - share * (high - 2.0 * INSIDE)
        };
        if low < 0.0 && greatest > 0.0 {
            scene.stroke(Path::polyline(&[(LEFT, y(0.0)), (right, y(0.0))]), 1.2, palette.ink2.at(0.35));
        }
        let mut piece: Vec<(f64, f64)> = Vec::new();
        for (i, (&time, &value)) in channel.times.iter().zip(values).enumerate() {
            if i > 0 && time - channel.times[i - 1] > joined {
                self.trace(scene, &piece, &y);
                piece.clear();
            }
            piece.push((time, value));
        }
        self.trace(scene, &piece, &y);
        let ends = if span > 0.0 { vec![(greatest, middle - 21.0), (low, middle + 21.0)] } else { vec![(low, middle)] };
        for (value, y) in ends {
            let at = (right + 16.0, y);
            self.write(scene, &short(value), Weight::Regular, palette.ink2, SMALL_EM, at, Side::Left, RIGHT - EDGE);
        }
    }

    /// A line through records that may be joined; of all in one pixel column only its ends, its least and its greatest value.
    fn trace(&self, scene: &mut Scene, piece: &[(f64, f64)], y: &impl Fn(f64) -> f64) {
        let ink = self.palette().ink;
        let mut points: Vec<Point> = Vec::new();
        let column = |time: f64| self.x(time).floor();
        for of_column in piece.chunk_by(|a, b| column(a.0) == column(b.0)) {
            let (Some(first), Some(last)) = (of_column.first(), of_column.last()) else { continue };
            if of_column.len() <= 4 {
                points.extend(of_column.iter().map(|&(time, value)| (self.x(time), y(value))));
                continue;
            }
            let values = || of_column.iter().map(|record| record.1);
            let (least, greatest) =
                (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
            let x = column(first.0) + 0.5;
            points.extend([first.1, least, greatest, last.1].map(|value| (x, y(value))));
        }
        if let [_, _, ..] = &points[..] {
            scene.stroke(Path::polyline(&points), 2.0, ink);
        }
        // A few records among hours have no length to be seen by.
        if let (Some(first), Some(last)) = (points.first(), points.last())
            && last.0 - first.0 < DOT
        {
            scene.fill(Path::circle(*first, DOT), ink);
        }
    }

    /// Times above and below, and hairs through all strips.
    fn axis(&self, scene: &mut Scene, top: f64, bottom: f64) {
        let palette = self.palette();
        let step = time_step(self.duration_s);
        let count = (self.duration_s / step).floor() as usize;
        for i in 0..=count {
            let seconds = i as f64 * step;
            let x = self.x(seconds);
            scene.stroke(Path::polyline(&[(x, top), (x, bottom)]), 1.2, palette.ink2.at(0.16));
            for y in [top - 24.0, bottom + 28.0] {
                let text = clock_text(seconds, step);
                self.write(scene, &text, Weight::Regular, palette.ink2, SMALL_EM, (x, y), Side::Middle, 150.0);
            }
        }
    }

    /// Marks on the strips, by number, and their sentences below.
    fn findings(&self, scene: &mut Scene, top: f64, bottom: f64) {
        let palette = self.palette();
        let mut flags: Vec<Flag> = Vec::new();
        for (i, mark) in self.marks.iter().enumerate() {
            let colour = match mark.severity {
                Severity::Error => palette.red,
                Severity::Warning => palette.amber,
                Severity::Note => palette.ink2,
            };
            let number = (i + 1).to_string();
            let y = bottom + AXIS + 12.0 + (i as f64 + 0.5) * LINE;
            self.write(scene, &number, Weight::Bold, colour, SMALL_EM, (EDGE + 38.0, y), Side::Right, 60.0);
            let room = WIDTH - 2.0 * EDGE - 56.0;
            self.write(scene, &mark.text, Weight::Regular, palette.ink2, SMALL_EM, (EDGE + 56.0, y), Side::Left, room);
            let Some(at_s) = mark.at_s else { continue };
            let of = self.channels.iter().position(|c| mark.column.as_ref().is_some_and(|column| *column == c.name));
            let (from, to) = of.map_or((top, bottom), |i| {
                let y = top + i as f64 * (self.strip() + BETWEEN);
                (y, y + self.strip())
            });
            let x = self.x(at_s);
            // Marks that would stand on each other share the place of the first, the gravest.
            let near = |flag: &&mut Flag| flag.from == from && (flag.x - x).abs() < 40.0;
            match flags.iter_mut().find(near) {
                Some(flag) => flag.label += &format!(", {number}"),
                None => flags.push(Flag { x, from, to, colour, label: number }),
            }
        }
        for Flag { x, from, to, colour, label } in flags {
            scene.dashed(Path::polyline(&[(x, from), (x, to)]), 2.0, colour.at(0.75), (7.0, 6.0));
            scene.fill(Path::polygon(&[(x - 8.0, from), (x + 8.0, from), (x, from + 13.0)]), colour);
            let at_end = x > (LEFT + WIDTH - RIGHT) / 2.0;
            let (at, side) = if at_end { (x - 14.0, Side::Right) } else { (x + 14.0, Side::Left) };
            self.write(scene, &label, Weight::Bold, colour, SMALL_EM, (at, from + 14.0), side, 400.0);
        }
    }

    #[allow(clippy::too_many_arguments, reason = "a line of text, and where it stands")]
    fn write(
        &self,
        scene: &mut Scene,
        text: &str,
        weight: Weight,
        colour: Rgba,
        em: f64,
        at: Point,
        side: Side,
        room: f64,
    ) {
        Hand { typeface: self.look.typeface, weight, colour, em }.write(scene, text, at, side, room);
    }
}

/// Marks at one place.
struct Flag {
    x: f64,
    from: f64,
    to: f64,
    colour: Rgba,
    label: String,
}

/// A round step that makes at most nine marks.
fn time_step(duration_s: f64) -> f64 {
    const STEPS: [f64; 21] = [
        0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1200.0, 1800.0, 3600.0, 7200.0,
        14_400.0, 43_200.0, 86_400.0, 604_800.0,
    ];
    let fits = |step: &f64| duration_s / step <= 8.5;
    STEPS.into_iter().find(fits).unwrap_or_else(|| (duration_s / 8.0 / 604_800.0).ceil() * 604_800.0)
}

/// Seconds as `h:mm:ss`, with a fraction where the marks need it.
fn clock_text(seconds: f64, step: f64) -> String {
    if step < 1.0 {
        return format!("{seconds:.1} s");
    }
    let whole = seconds.round() as u64;
    let (hours, minutes, rest) = (whole / 3600, whole / 60 % 60, whole % 60);
    if hours > 0 { format!("{hours}:{minutes:02}:{rest:02}") } else { format!("{minutes}:{rest:02}") }
}

/// A value with about five digits.
fn short(value: f64) -> String {
    let size = value.abs();
    if size != 0.0 && !(1e-4..1e9).contains(&size) {
        return format!("{value:.3e}");
    }
    let decimals = if size >= 1000.0 {
        1
    } else if size >= 1.0 {
        3
    } else {
        5
    };
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_and_times_are_round() {
        for (duration, step) in [(3.9, 0.5), (58.0, 10.0), (600.0, 120.0), (10_800.0, 1800.0), (17_759.0, 3600.0)] {
            assert_eq!(time_step(duration), step, "{duration}");
            assert!(duration / time_step(duration) <= 8.5);
        }
        assert_eq!(
            [clock_text(3.5, 0.5), clock_text(90.0, 30.0), clock_text(7260.0, 60.0)],
            ["3.5 s", "1:30", "2:01:00"]
        );
        assert_eq!(time_step(1e9) % 604_800.0, 0.0);
    }

    #[test]
    fn ends_keep_their_digits_and_no_more() {
        let all = [0.0, 28.1, 1407.0, 45.451028869, -0.02, 1e12].map(short);
        assert_eq!(all, ["0", "28.1", "1407", "45.451", "-0.02", "1.000e12"]);
    }
}
