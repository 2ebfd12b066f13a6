//! Finding a hand in a picture by image analysis alone: nothing here knows what the program's hands look like, only that one
//! stands on a ray from the dial's middle, is as wide on both sides of it, and was elsewhere in two other pictures.

use jumpseat::draw::Theme;
use jumpseat::panel::{DiscSize, Place, Scale, Side};
use jumpseat::pixel::Patch;

use super::over;

/// A part of a picture as light from 0 to 1.
pub struct Gray {
    at: (u32, u32),
    width: usize,
    light: Vec<f32>,
}

impl Gray {
    /// A patch over black.
    pub fn of_patch(patch: &Patch) -> Self {
        let place = patch.place;
        let pixels = (place.y..place.bottom()).flat_map(|y| (place.x..place.right()).map(move |x| (x, y)));
        let light = pixels.map(|(x, y)| over(patch, x, y, [0.0; 3])[1] as f32).collect();
        Self { at: (place.x, place.y), width: place.width as usize, light }
    }

    /// A whole frame of three bytes a pixel.
    pub fn of_frame(frame: &[u8], width: u32) -> Self {
        let light = frame.chunks(3).map(|px| f32::from(px[1]) / 255.0).collect();
        Self { at: (0, 0), width: width as usize, light }
    }

    /// The light at a pixel.
    pub fn at(&self, x: u32, y: u32) -> f64 {
        let (Some(column), Some(row)) = (x.checked_sub(self.at.0), y.checked_sub(self.at.1)) else { return 0.0 };
        let inside = (column as usize) < self.width;
        let light = self.light.get(row as usize * self.width + column as usize).filter(|_| inside);
        f64::from(*light.unwrap_or(&0.0))
    }

    fn between(&self, x: f64, y: f64) -> f64 {
        let (x, y) = (x - 0.5, y - 0.5);
        let (left, top) = (x.floor(), y.floor());
        let (fx, fy) = (x - left, y - top);
        let at = |dx: u32, dy: u32| self.at(left as u32 + dx, top as u32 + dy);
        (at(0, 0) * (1.0 - fx) + at(1, 0) * fx) * (1.0 - fy) + (at(0, 1) * (1.0 - fx) + at(1, 1) * fx) * fy
    }
}

/// A round dial in three pictures; its hand stands elsewhere in the two others.
pub struct Dial<'a> {
    pub with: &'a Gray,
    pub others: [&'a Gray; 2],
    pub centre: (f64, f64),
    pub r: f64,
    /// Whether hands are darker than the disc.
    pub dark_hands: bool,
    /// Radii between which the hand is looked for.
    pub radii: (f64, f64),
}

/// Where a disc stands on a frame of this size: its middle and its radius in pixels.
pub fn disc(place: Place, (width, height): (f64, f64)) -> ((f64, f64), f64) {
    let along = place.from_side_m * height;
    let x = match place.side {
        Side::Left => along,
        Side::Right => width - along,
        Side::Centre => width / 2.0 + along,
    };
    ((x, height - place.from_bottom_m * height), radius(place.size, height))
}

fn radius(size: DiscSize, m: f64) -> f64 {
    size.diameter_m() / 2.0 * m
}

/// Whether the hands of a theme are darker than its discs.
pub fn dark_hands(theme: Theme) -> bool {
    theme == Theme::Porcelain
}

impl Dial<'_> {
    /// What is the hand's here and was not there in either of the other pictures.
    fn gain(&self, radius: f64, degrees: f64) -> f64 {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let (x, y) = (self.centre.0 + radius * self.r * sin, self.centre.1 - radius * self.r * cos);
        let sign = if self.dark_hands { -1.0 } else { 1.0 };
        let here = self.with.between(x, y);
        let more = self.others.map(|other| sign * (here - other.between(x, y)));
        more[0].min(more[1]).max(0.0)
    }

    fn rings(&self, count: usize) -> impl Iterator<Item = f64> {
        let (from, to) = self.radii;
        (0..count).map(move |i| from + (to - from) * (i as f64 + 0.5) / count as f64)
    }

    /// The ray that is lit without a break along the greatest part of its length: texts over a hand break it, and strokes of a
    /// text are short. Outside the numerals, where a tip is, hardly a text stands: light counts more there.
    fn ray(&self) -> f64 {
        let radii: Vec<f64> = self.rings(60).collect();
        let run = |degrees: f64| {
            let lit: Vec<bool> = radii.iter().map(|&radius| self.gain(radius, degrees) > 0.25).collect();
            let tip = lit.iter().zip(&radii).filter(|(lit, radius)| **lit && **radius > 0.74).count();
            3 * tip + lit.chunk_by(|a, b| a == b).filter(|run| run[0]).map(<[bool]>::len).max().unwrap_or(0)
        };
        let profile: Vec<usize> = (0..720).map(|i| run(f64::from(i) / 2.0)).collect();
        let around = |i: usize| (0..5).map(|d| profile[(i + 718 + d) % 720]).sum::<usize>();
        let best = (0..720).max_by_key(|&i| around(i)).unwrap();
        assert!(around(best) > 5, "no hand is to be seen");
        // The middle of all rays that are as good.
        let end = (best..best + 720).find(|&i| around(i % 720) < around(best)).unwrap_or(best);
        let start = (0..720).find(|&i| around((best + 720 - i) % 720) < around(best)).unwrap_or(0);
        (best as f64 + end as f64 - start as f64) / 4.0
    }

    /// A ring a pixel.
    fn ring_count(&self) -> usize {
        ((self.radii.1 - self.radii.0) * self.r).round().max(8.0) as usize
    }

    /// On each ring the two directions at which half of the hand's light is reached; rings on which something dims the hand
    /// are left out.
    fn edges(&self, ray: f64) -> Vec<(f64, f64)> {
        // The middle of what is brightest near the ray.
        let peak = |radius: f64| {
            let around: Vec<(f64, f64)> =
                (-16..=16).map(|i| ray + f64::from(i) / 2.0).map(|at| (at, self.gain(radius, at))).collect();
            let light = around.iter().map(|a| a.1).fold(0.0, f64::max);
            let bright: Vec<f64> = around.iter().filter(|a| a.1 > 0.9 * light).map(|a| a.0).collect();
            (bright.iter().sum::<f64>() / bright.len().max(1) as f64, light)
        };
        let rings: Vec<(f64, (f64, f64))> =
            self.rings(self.ring_count()).map(|radius| (radius, peak(radius))).collect();
        let full = rings.iter().map(|(_, (_, light))| *light).fold(0.0, f64::max);
        let edge = |(radius, (middle, light)): (f64, (f64, f64))| {
            let half = light / 2.0;
            // A seventh of the radius to each side is farther than any hand is broad.
            let reach = (0.14f64 / radius).atan().to_degrees();
            let fall = |side: f64| {
                let steps = (reach / 0.1) as usize;
                let at = |i: usize| middle + side * 0.1 * i as f64;
                let i = (1..=steps).find(|&i| self.gain(radius, at(i)) < half)?;
                let (a, b) = (self.gain(radius, at(i - 1)), self.gain(radius, at(i)));
                Some(at(i - 1) + side * 0.1 * (a - half) / (a - b))
            };
            (light > 0.55 * full).then_some((fall(-1.0)?, fall(1.0)?))
        };
        rings.into_iter().filter_map(edge).collect()
    }

    /// The direction of a hand whose sides are alike, in degrees clockwise from twelve.
    pub fn middle(&self) -> f64 {
        let edges = self.edges(self.ray());
        enough(densest(edges.into_iter().map(|(left, right)| (left + right) / 2.0).collect()))
    }

    /// The direction of the straight edge of a half hand: the one that keeps its direction from ring to ring.
    pub fn straight_edge(&self) -> f64 {
        let (left, right): (Vec<f64>, Vec<f64>) = self.edges(self.ray()).into_iter().unzip();
        let (left, right) = (densest(left), densest(right));
        enough(if left.0 > right.0 { left } else { right })
    }
}

/// The direction on which most rings agree within half a degree, and how many do: a text over the hand moves its edges
/// on each ring in another way.
fn densest(mut found: Vec<f64>) -> (usize, f64) {
    found.sort_by(f64::total_cmp);
    let within = |i: usize| found[i..].iter().take_while(|a| **a - found[i] <= 0.5).count();
    let first = (0..found.len()).max_by_key(|&i| within(i)).expect("the hand is seen on no ring");
    let count = within(first);
    (count, found[first..first + count].iter().sum::<f64>() / count as f64)
}

fn enough((count, direction): (usize, f64)) -> f64 {
    assert!(count >= 3, "the hand is seen alike on {count} rings only");
    direction
}

/// The value that stands at a direction on a scale.
pub fn value_at(scale: &Scale, degrees: f64) -> f64 {
    let points = &scale.breakpoints;
    let (first, last) = (points[0].1, points[points.len() - 1].1);
    let (low, high) = (first.min(last), first.max(last));
    let outside = |a: f64| (low - a).max(a - high).max(0.0);
    let turns = (-3..=3).map(|n| degrees + 360.0 * f64::from(n));
    let angle = turns.min_by(|a, b| outside(*a).total_cmp(&outside(*b))).unwrap();
    assert!(outside(angle) < 3.0, "a hand at {degrees:.1} degrees stands on no part of the scale");
    let part = points.windows(2).find(|p| (p[0].1.min(p[1].1)..=p[0].1.max(p[1].1)).contains(&angle));
    let part = part.unwrap_or(if (angle - first).abs() < (angle - last).abs() {
        &points[..2]
    } else {
        &points[points.len() - 2..]
    });
    let ((v, a), (w, b)) = (part[0], part[1]);
    v + (w - v) * (angle - a) / (b - a)
}

/// The smaller angle between two directions.
pub fn aside(a: f64, b: f64) -> f64 {
    ((a - b + 180.0).rem_euclid(360.0) - 180.0).abs()
}
