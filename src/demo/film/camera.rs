//! The camera: everything that is painted once, and a frame made from it.

use super::canvas::{Canvas, layer};
use super::grain::Grain;
use super::light::Light;
use super::moment::{Moment, Track};
use super::world::{Camera, FOCAL, World};
use super::{cockpit, dials, hand, strip};
use crate::blend::{BlendError, Layer};
use crate::demo::flight::Flight;
use crate::pixel::{Patch, PlanesMut};
use crate::time::Rational;
use std::ops::Range;

/// Where the cockpit stands in the picture when the camera trembles, in pixels of a film 1280 wide; drawn once each.
const SHIFTS: [(f64, f64); 5] = [(0.0, 0.0), (0.5, 0.25), (-0.4, 0.45), (0.25, -0.5), (-0.5, -0.3)];
/// The horizon of a level flight, in rows of the drawing.
const HORIZON: (f64, f64) = (640.0, 262.0);
/// How far the view outside trembles, in pixels of a film 1280 wide.
const TREMBLE: f64 = 1.6;
/// Shorter hidden runs are painted all the same.
const SHORT_RUN: usize = 16;

/// One place of the cockpit: its layer, and how far everything on it is shifted, in film pixels.
struct Stand {
    layer: Layer,
    shift: (f64, f64),
}

/// Makes the film's frames, in any order and from any thread.
pub(super) struct Studio<'a> {
    flight: &'a Flight,
    frame_rate: Rational,
    canvas: Canvas,
    track: Track,
    world: World,
    stands: Vec<Stand>,
    /// For each row, the columns through which something of the outside is seen.
    windows: Vec<Vec<Range<usize>>>,
    light: Light,
    grain: Grain,
}

impl<'a> Studio<'a> {
    /// Paints everything that is the same on all frames.
    pub fn new(
        flight: &'a Flight,
        (width, height): (u32, u32),
        frame_rate: Rational,
        end_s: f64,
    ) -> Result<Self, BlendError> {
        let canvas = Canvas::new(width, height);
        let track = Track::new(flight, end_s);
        let fixed = cockpit::fixed(canvas.above());
        let shifts = SHIFTS.map(|(x, y)| (x * canvas.scale, y * canvas.scale));
        let mut stands = Vec::new();
        let mut windows = vec![Vec::new(); height as usize];
        for shift in shifts {
            let patch = canvas.draw(&fixed, shift, canvas.frame());
            for (row, runs) in windows.iter_mut().enumerate() {
                *runs = joined(runs, &seen_through(&patch, row));
            }
            stands.push(Stand { layer: layer(&patch)?, shift });
        }
        // Two rows share their chroma: what is seen through one is looked for in both. And a chroma sample takes the columns
        // beside it into account, so that an edge's chroma shows through where its luma does not.
        for pair in windows.chunks_exact_mut(2) {
            let wider = joined(&pair[0], &pair[1]).into_iter();
            let wider: Vec<_> =
                wider.map(|run| run.start.saturating_sub(2)..(run.end + 2).min(width as usize)).collect();
            pair.fill(joined(&wider, &[]));
        }
        Ok(Self {
            flight,
            frame_rate,
            canvas,
            world: World::new(canvas.scale, track.last()),
            track,
            stands,
            windows,
            light: Light::new(&canvas)?,
            grain: Grain::new(flight.seed()),
        })
    }

    /// Film time of a frame.
    pub fn film_s(&self, number: u64) -> f64 {
        number as f64 * f64::from(self.frame_rate.den) / f64::from(self.frame_rate.num)
    }

    /// Paints a frame.
    pub fn paint(&self, number: u64, planes: &mut PlanesMut<'_>) -> Result<(), BlendError> {
        let moment = Moment::new(self.flight, &self.track, self.film_s(number));
        let scale = self.canvas.scale;
        let middle = self.canvas.at(HORIZON);
        let trembled = (middle.0 + TREMBLE * scale * moment.tremble(0), middle.1 + TREMBLE * scale * moment.tremble(1));
        self.outside(&self.world.camera(FOCAL * scale, trembled, &moment), planes);

        let stand = &self.stands[stand_of(number, moment.shake)];
        stand.layer.blend(planes, None)?;
        for (scene, low, high) in dials::moving(&moment) {
            let place = self.canvas.boxed(low, high);
            layer(&self.canvas.draw(&scene, stand.shift, place))?.blend(planes, None)?;
        }
        self.light.lay(planes, &moment)?;
        let place = self.canvas.boxed(hand::BOX.0, hand::BOX.1);
        layer(&self.canvas.draw(&hand::scene(&moment), stand.shift, place))?.blend(planes, None)?;
        self.grain.add(planes, number);
        strip::write(planes, number);
        Ok(())
    }

    /// What is seen through the windows. Every second column is looked at: the camera is sharp for the panel, and the
    /// distance a little soft.
    fn outside(&self, camera: &Camera, planes: &mut PlanesMut<'_>) {
        for (row, runs) in self.windows.iter().enumerate() {
            let luma = &mut planes.y[row * planes.y_stride..];
            let chroma = row / 2 * planes.c_stride;
            for run in runs {
                let look = |cell: usize| self.world.at(camera, 2.0 * cell as f32, row as f32);
                let cells = run.start / 2..run.end.div_ceil(2);
                let mut next = look(cells.start);
                for cell in cells {
                    let seen = next;
                    next = look(cell + 1);
                    luma[2 * cell] = seen[0];
                    luma[2 * cell + 1] = ((u16::from(seen[0]) + u16::from(next[0])) / 2) as u8;
                    let (u, v) = (&mut planes.u[chroma + cell], &mut planes.v[chroma + cell]);
                    if row % 2 == 0 {
                        (*u, *v) = (seen[1], seen[2]);
                    } else {
                        (*u, *v) = (u.midpoint(seen[1]), v.midpoint(seen[2]));
                    }
                }
            }
        }
    }
}

/// Where the cockpit stands on a frame: more often beside its place the more the machine trembles.
fn stand_of(number: u64, shake: f64) -> usize {
    let mixed = (number.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> 33) as u32;
    let moved = f64::from(mixed % 1024) < 900.0 * shake;
    if moved { 1 + (mixed >> 10) as usize % (SHIFTS.len() - 1) } else { 0 }
}

/// The runs of a row where a picture of the whole frame is not opaque.
fn seen_through(patch: &Patch, row: usize) -> Vec<Range<usize>> {
    let width = patch.place.width as usize;
    let pixels = &patch.rgba.as_chunks::<4>().0[row * width..][..width];
    let mut runs: Vec<Range<usize>> = Vec::new();
    for (x, _) in pixels.iter().enumerate().filter(|(_, pixel)| pixel[3] < 255) {
        match runs.last_mut() {
            Some(run) if x < run.end + SHORT_RUN => run.end = x + 1,
            _ => runs.push(x..x + 1),
        }
    }
    runs
}

/// What lies in one of two lists of runs, or in both.
fn joined(a: &[Range<usize>], b: &[Range<usize>]) -> Vec<Range<usize>> {
    let mut all: Vec<Range<usize>> = a.iter().chain(b).cloned().collect();
    all.sort_by_key(|run| run.start);
    let mut runs: Vec<Range<usize>> = Vec::new();
    for run in all {
        match runs.last_mut() {
            Some(last) if run.start <= last.end => last.end = last.end.max(run.end),
            _ => runs.push(run),
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::joined;

    #[test]
    fn runs_are_joined() {
        assert_eq!(joined(&[0..4, 9..12], &[3..6, 20..21]), [0..6, 9..12, 20..21]);
    }
}
