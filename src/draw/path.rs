//! Outlines: lines and curves in the shown picture's pixels, x to the right, y down.

/// A point in pixels.
pub type Point = (f64, f64);

/// One step of an outline.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Segment {
    /// Starts a new contour.
    Move(Point),
    /// A straight line to a point.
    Line(Point),
    /// A quadratic curve: control point, end.
    Quad(Point, Point),
    /// A cubic curve: two control points, end.
    Cubic(Point, Point, Point),
    /// Back to the contour's start.
    Close,
}

/// Contours, filled by the non-zero rule.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    /// The steps, in order.
    pub segments: Vec<Segment>,
}

/// The point at `radius` from `centre` in a direction given in degrees clockwise from twelve o'clock.
pub fn polar(centre: Point, radius: f64, degrees: f64) -> Point {
    let (sin, cos) = degrees.to_radians().sin_cos();
    (centre.0 + radius * sin, centre.1 - radius * cos)
}

/// To a point, then by straight lines to the others.
fn steps(points: &[Point]) -> impl Iterator<Item = Segment> {
    let step = |(i, &p): (usize, &Point)| if i == 0 { Segment::Move(p) } else { Segment::Line(p) };
    points.iter().enumerate().map(step)
}

impl Path {
    /// A closed contour through points.
    pub fn polygon(points: &[Point]) -> Self {
        Self { segments: steps(points).chain(std::iter::once(Segment::Close)).collect() }
    }

    /// An open line through points.
    pub fn polyline(points: &[Point]) -> Self {
        Self { segments: steps(points).collect() }
    }

    /// A full circle.
    pub fn circle(centre: Point, radius: f64) -> Self {
        let mut path = Self::arc(centre, radius, 0.0, 360.0);
        path.segments.push(Segment::Close);
        path
    }

    /// An open arc between two directions, in degrees clockwise from twelve o'clock.
    pub fn arc(centre: Point, radius: f64, from: f64, to: f64) -> Self {
        // A cubic over 45 degrees misses the circle by 4e-6 of its radius.
        let pieces = ((to - from).abs() / 45.0).ceil().max(1.0);
        let step = (to - from) / pieces;
        let handle = radius * 4.0 / 3.0 * (step.to_radians() / 4.0).tan();
        let tangent = |degrees: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            (cos * handle, sin * handle)
        };
        let mut segments = vec![Segment::Move(polar(centre, radius, from))];
        for i in 0..pieces as u32 {
            let (a, b) = (from + step * f64::from(i), from + step * f64::from(i + 1));
            let (start, end) = (polar(centre, radius, a), polar(centre, radius, b));
            let (ta, tb) = (tangent(a), tangent(b));
            segments.push(Segment::Cubic((start.0 + ta.0, start.1 + ta.1), (end.0 - tb.0, end.1 - tb.1), end));
        }
        Self { segments }
    }

    /// A straight piece of this width along a ray: a tick.
    pub(super) fn tick(centre: Point, (from, to): (f64, f64), degrees: f64, width: f64) -> Self {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let corner = |along: f64, side: f64| (centre.0 + along * sin + side * cos, centre.1 - along * cos + side * sin);
        let half = width / 2.0;
        Self::polygon(&[corner(from, -half), corner(to, -half), corner(to, half), corner(from, half)])
    }

    /// An arc of this width, closed.
    pub(super) fn arc_band(centre: Point, radius: f64, (from, to): (f64, f64), width: f64) -> Self {
        let mut band = Self::arc(centre, radius + width / 2.0, from, to);
        let mut back = Self::arc(centre, radius - width / 2.0, to, from).segments;
        if let Some(first @ Segment::Move(_)) = back.first_mut() {
            *first = Segment::Line(polar(centre, radius - width / 2.0, to));
        }
        band.segments.append(&mut back);
        band.segments.push(Segment::Close);
        band
    }

    /// All between two directions up to a radius.
    pub(super) fn wedge(centre: Point, radius: f64, (from, to): (f64, f64)) -> Self {
        let mut rim = Self::arc(centre, radius, from, to).segments;
        rim[0] = Segment::Line(polar(centre, radius, from));
        rim.insert(0, Segment::Move(centre));
        rim.push(Segment::Close);
        Self { segments: rim }
    }

    /// A rectangle with round corners.
    pub fn rounded(rect: Rect, radius: f64) -> Self {
        let (l, t, r, b) = (rect.left, rect.top, rect.right, rect.bottom);
        let radius = radius.min((r - l) / 2.0).min((b - t) / 2.0);
        let corners = [
            ((r - radius, t + radius), 0.0),
            ((r - radius, b - radius), 90.0),
            ((l + radius, b - radius), 180.0),
            ((l + radius, t + radius), 270.0),
        ];
        let mut path = Self::default();
        for (centre, from) in corners {
            let mut corner = Self::arc(centre, radius, from, from + 90.0).segments;
            if let (Some(Segment::Move(start)), false) = (corner.first().copied(), path.segments.is_empty()) {
                corner[0] = Segment::Line(start);
            }
            path.segments.append(&mut corner);
        }
        path.segments.push(Segment::Close);
        path
    }

    /// Adds another outline's contours.
    pub fn append(&mut self, mut other: Self) {
        self.segments.append(&mut other.segments);
    }

    /// The same outline with every point moved by a rule that keeps lines straight.
    #[must_use]
    pub fn map(&self, to: impl Fn(Point) -> Point) -> Self {
        let step = |segment: &Segment| match *segment {
            Segment::Move(p) => Segment::Move(to(p)),
            Segment::Line(p) => Segment::Line(to(p)),
            Segment::Quad(c, p) => Segment::Quad(to(c), to(p)),
            Segment::Cubic(c, d, p) => Segment::Cubic(to(c), to(d), to(p)),
            Segment::Close => Segment::Close,
        };
        Self { segments: self.segments.iter().map(step).collect() }
    }

    /// Every point, control points included; their hull holds the outline.
    pub fn points(&self) -> impl Iterator<Item = Point> + '_ {
        self.segments.iter().flat_map(|segment| {
            let (points, count) = match *segment {
                Segment::Move(p) | Segment::Line(p) => ([p; 3], 1),
                Segment::Quad(c, p) => ([c, p, p], 2),
                Segment::Cubic(c, d, p) => ([c, d, p], 3),
                Segment::Close => ([(0.0, 0.0); 3], 0),
            };
            points.into_iter().take(count)
        })
    }
}

/// A rectangle in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Lower edge.
    pub bottom: f64,
}

impl Rect {
    /// A rectangle by its centre and its sides.
    pub fn centred(centre: Point, width: f64, height: f64) -> Self {
        let (w, h) = (width / 2.0, height / 2.0);
        Self { left: centre.0 - w, top: centre.1 - h, right: centre.0 + w, bottom: centre.1 + h }
    }

    /// Larger by the same distance on every side.
    #[must_use]
    pub fn grown(self, by: f64) -> Self {
        Self { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    /// With every edge on a whole pixel: a plate's edge is sharp, not smeared over two columns.
    #[must_use]
    pub fn snapped(self) -> Self {
        Self { left: self.left.round(), top: self.top.round(), right: self.right.round(), bottom: self.bottom.round() }
    }
}
