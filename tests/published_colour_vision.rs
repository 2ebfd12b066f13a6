//! Range markings as colour-blind viewers see them: by colour, with the simulation of Machado, Oliveira and Fernandes (2009),
//! checked against `published/cvd_colours.csv` first; and by shape alone, read from grey pictures by a small classifier.

#![allow(clippy::unwrap_used, reason = "a panic is how a test fails")]

mod drawing;

use drawing::colour::{apart, encoded, linear, luminance, unit};
use drawing::needle::disc;
use drawing::{airspeed, instrument, over, reading, state, tachometer};
use jumpseat::draw::{Painter, Theme};
use jumpseat::panel::{
    ByPower, Dial, DiscSize, Face, Instrument, Marking, Panel, Place, Power, Scale, Side, Tachometer, Ticks, UsualRange,
};
use jumpseat::pixel::{FrameShape, Patch};
use jumpseat::readout::Notice;
use jumpseat::signal::State;

/// Colours farther apart than this, CIE 1976, are told apart as thin marks: the encoder takes up to twenty from a pixel of a
/// film (`state_matrix`), and two or three can just be noticed. A pair below must be told apart by shape.
const BY_COLOUR: f64 = 25.0;

fn rows(name: &str) -> Vec<Vec<String>> {
    let text = std::fs::read_to_string(format!("tests/published/{name}.csv")).unwrap();
    text.lines().skip(2).map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

/// A deficiency's matrix on linear RGB.
fn matrix(kind: &str) -> [f64; 9] {
    let of_kind = rows("cvd_matrices").into_iter().find(|row| row[0] == kind && row[1] == "1.0").unwrap();
    std::array::from_fn(|i| of_kind[2 + i].parse().unwrap())
}

const DEFICIENCIES: [&str; 3] = ["protanomaly", "deuteranomaly", "tritanomaly"];

fn simulated(rgb: [f64; 3], m: &[f64; 9]) -> [f64; 3] {
    let light = rgb.map(linear);
    [0, 3, 6].map(|i| encoded((m[i] * light[0] + m[i + 1] * light[1] + m[i + 2] * light[2]).clamp(0.0, 1.0)))
}

#[test]
fn the_simulation_itself() {
    let rows = rows("cvd_colours");
    assert_eq!(rows.len(), 12);
    for row in rows {
        let code = |i: usize| row[i].parse::<f64>().unwrap();
        for (j, kind) in DEFICIENCIES.iter().enumerate() {
            let found = simulated([1, 2, 3].map(|i| code(i) / 255.0), &matrix(kind)).map(|v| 255.0 * v);
            let expected = [4, 5, 6].map(|i| code(i + 3 * j));
            assert!((0..3).all(|c| (found[c] - expected[c]).abs() <= 1.0), "{row:?}, {kind}: {found:.1?}");
        }
    }
}

/// The kinds of marking, and the bracket of a usual range. A new one does not compile before it is here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Normal,
    Precaution,
    Limit,
    Forbidden,
    Reference,
    Usual,
}

const KINDS: [Kind; 6] = [Kind::Normal, Kind::Precaution, Kind::Limit, Kind::Forbidden, Kind::Reference, Kind::Usual];

const fn kind_of(marking: &Marking) -> Kind {
    match marking {
        Marking::Normal { .. } => Kind::Normal,
        Marking::Precaution { .. } => Kind::Precaution,
        Marking::Limit { .. } => Kind::Limit,
        Marking::Forbidden { .. } => Kind::Forbidden,
        Marking::Reference { .. } => Kind::Reference,
    }
}

/// The marking of a kind; none for the bracket, which the instrument has.
const fn marking(kind: Kind, from: f64, to: f64) -> Option<Marking> {
    Some(match kind {
        Kind::Normal => Marking::Normal { from, to },
        Kind::Precaution => Marking::Precaution { from, to },
        Kind::Limit => Marking::Limit { at: (from + to) / 2.0 },
        Kind::Forbidden => Marking::Forbidden { from, to },
        Kind::Reference => Marking::Reference { at: (from + to) / 2.0 },
        Kind::Usual => return None,
    })
}

/// Degrees between the angles of a marking.
const SPAN: f64 = 34.0;

/// A dial with one marking, between two angles.
struct Sample {
    patch: Patch,
    centre: (f64, f64),
    r: f64,
    theme: Theme,
    angles: (f64, f64),
}

impl Sample {
    fn new(kind: Kind, size: (u32, DiscSize), theme: Theme, from: f64) -> Self {
        let scale = Scale {
            breakpoints: vec![(0.0, -150.0), (300.0, 150.0)],
            ticks: Ticks { long: 50.0, middle: 25.0, short: 5.0 },
            numerals: vec![(0.0, "0".into()), (150.0, "15".into()), (300.0, "30".into())],
        };
        let ends = (from + 150.0, from + 150.0 + SPAN);
        let markings: Vec<Marking> = marking(kind, ends.0, ends.1).into_iter().collect();
        assert!(markings.iter().all(|marking| kind_of(marking) == kind));
        let dial = Dial { scale, markings, ..airspeed() };
        let mut of = instrument("dial", Face::Dial(dial), size.1, Side::Left, 0.2, 0.2);
        if kind == Kind::Usual {
            of.usual.push(UsualRange { hand: 0, from: ends.0, to: ends.1, condition: None });
        }
        // The hand stands on the other side.
        let value = if from < -17.0 { 290.0 } else { 10.0 };
        Self::drawn(of, &[value], size, theme, from)
    }

    /// The same on a tachometer's rotor lane, about the rotor's normal value: of the set of limits that counts with power on, or off.
    fn of_power(kind: Kind, power: Power, size: (u32, DiscSize), theme: Theme, from: f64) -> Self {
        // 4.5 degrees for one percent about 100 at twelve: the fold of this scale.
        let markings: Vec<Marking> =
            marking(kind, 100.0 + from / 4.5, 100.0 + (from + SPAN) / 4.5).into_iter().collect();
        let sets = match power {
            Power::On => ByPower { on: markings, ..ByPower::default() },
            Power::Off => ByPower { off: markings, ..ByPower::default() },
        };
        let bare = Tachometer { rotor_markings: Vec::new(), engine_markings: Vec::new(), ..tachometer() };
        let face = Face::Tachometer(Tachometer { rotor_by_power: sets, ..bare });
        Self::drawn(instrument("rpm", face, size.1, Side::Left, 0.2, 0.2), &[10.0; 2], size, theme, from)
    }

    fn drawn(of: Instrument, values: &[f64], (height, size): (u32, DiscSize), theme: Theme, from: f64) -> Self {
        let panel = Panel { instruments: vec![of], ..Panel::default() };
        let place = Place { side: Side::Left, from_side_m: 0.2, from_bottom_m: 0.2, size };
        let shape = FrameShape::plain(height * 16 / 9 / 2 * 2, height);
        let mut painter = Painter::new(&panel, shape, theme).unwrap();
        let mut shown = state(&[reading(values[0], State::Measured, 0.0)], Notice::Bare);
        shown.instruments[0].hands = values.iter().map(|&value| reading(value, State::Measured, 0.0)).collect();
        shown.instruments[0].usual = vec![true];
        let patch = painter.draw(&shown)[0].patch.clone();
        let (centre, r) = disc(place, (f64::from(shape.width), f64::from(height)));
        Self { patch, centre, r, theme, angles: (from, from + SPAN) }
    }

    /// The colour at a pixel of the dial, over middle grey.
    fn rgb(&self, radius: f64, degrees: f64) -> [f64; 3] {
        let (sin, cos) = degrees.to_radians().sin_cos();
        let (x, y) = (self.centre.0 + radius * self.r * sin - 0.5, self.centre.1 - radius * self.r * cos - 0.5);
        let (fx, fy) = (x.fract(), y.fract());
        let at = |dx: u32, dy: u32| over(&self.patch, x as u32 + dx, y as u32 + dy, [0.5; 3]);
        let (a, b, c, d) = (at(0, 0), at(1, 0), at(0, 1), at(1, 1));
        [0, 1, 2].map(|i| (a[i] * (1.0 - fx) + b[i] * fx) * (1.0 - fy) + (c[i] * (1.0 - fx) + d[i] * fx) * fy)
    }

    /// Grey alone: the light of the pixel as it is encoded, whatever its colour.
    fn grey(&self, radius: f64, degrees: f64) -> f64 {
        encoded(luminance(self.rgb(radius, degrees)))
    }

    /// How far a place stands out from the same ring beside the marking.
    fn stands_out(&self, radius: f64, degrees: f64) -> f64 {
        let beside = [-9.0, -7.5, -6.0].map(|d| self.angles.0 + d).into_iter();
        let beside = beside.chain([6.0, 7.5, 9.0].map(|d| self.angles.1 + d)).map(|at| self.grey(radius, at));
        let mut beside: Vec<f64> = beside.collect();
        beside.sort_by(f64::total_cmp);
        let sign = if self.theme == Theme::Porcelain { -1.0 } else { 1.0 };
        sign * (self.grey(radius, degrees) - beside[3])
    }

    /// Which parts of a ring are lit along the marking's range, four a degree: more than a share of its brightest.
    fn lit(&self, radius: f64, least: f64) -> Vec<bool> {
        let steps = ((self.angles.1 - self.angles.0) * 4.0) as i32;
        let at = |i: i32| self.stands_out(radius, self.angles.0 + f64::from(i) / 4.0);
        let light: Vec<f64> = (0..=steps).map(at).collect();
        let most = light.iter().copied().fold(0.0, f64::max);
        light.into_iter().map(|v| v > 0.12 && v > least * most).collect()
    }

    /// Told from the grey picture by shape: a limit is short along the ring and reaches far inward; a reference is as short and does not; a normal range is one
    /// smooth band; a forbidden one is an unbroken line outside and broken further in; a precautionary
    /// one is broken everywhere; of a usual range the two caps alone reach across the lane.
    fn told(&self) -> Option<Kind> {
        let share = |lit: &[bool]| lit.iter().filter(|lit| **lit).count() as f64 / lit.len() as f64;
        let runs = |lit: &[bool]| lit.chunk_by(|a, b| a == b).filter(|run| run[0]).count();
        let (outer, middle) = (self.lit(0.969, 0.45), self.lit(0.938, 0.60));
        let at = (self.angles.0 + self.angles.1) / 2.0;
        let stem = [0.80, 0.83, 0.86].map(|radius| self.stands_out(radius, at));
        let short = share(&middle) < 0.45 && runs(&middle) <= 1;
        if short {
            let reaches_in = stem.into_iter().all(|light| light > 0.12);
            return Some(if reaches_in { Kind::Limit } else { Kind::Reference });
        }
        if runs(&middle) == 1 && share(&middle) > 0.9 {
            return Some(Kind::Normal);
        }
        if runs(&middle) == 2 && share(&middle) < 0.3 {
            return Some(Kind::Usual);
        }
        if runs(&middle) >= 3 {
            return Some(if runs(&outer) == 1 && share(&outer) > 0.9 { Kind::Forbidden } else { Kind::Precaution });
        }
        None
    }
}

/// Marks of a rotor's two sets of limits, hollow with power off, told from the grey picture by shape.
impl Sample {
    /// Its kind and its set. As on a dial's lane; and a hollow mark is dark between its two sides, a hollow tooth between its
    /// flanks.
    fn told_of_power(&self) -> Option<(Kind, Power)> {
        let share = |lit: &[bool]| lit.iter().filter(|lit| **lit).count() as f64 / lit.len() as f64;
        let runs = |lit: &[bool]| lit.chunk_by(|a, b| a == b).filter(|run| run[0]).count();
        let ends = |lit: &[bool]| {
            let first = lit.iter().position(|lit| *lit).unwrap_or(0);
            (lit.iter().rposition(|lit| *lit).unwrap_or(0) - first) as f64
        };
        let power = |hollow: bool| if hollow { Power::Off } else { Power::On };
        let (line, edge, inner) = (self.lit(0.987, 0.45), self.lit(0.976, 0.45), self.lit(0.952, 0.45));
        if share(&inner) < 0.15 {
            let middle = (self.angles.0 + self.angles.1) / 2.0;
            let across = |i: i32| self.stands_out(0.980, middle + f64::from(i) / 10.0);
            let hollow = is_dark_within(&(-40..=40).map(across).collect::<Vec<_>>());
            // The head of a T is broad at once, a triangle by and by; a hollow stem is broader than a full one.
            let broad = if hollow { 1.85 } else { 2.4 };
            let is_limit = ends(&line) > broad * ends(&self.lit(0.958, 0.45));
            return Some((if is_limit { Kind::Limit } else { Kind::Reference }, power(hollow)));
        }
        if share(&line) > 0.95 && runs(&line) == 1 && runs(&inner) >= 5 {
            return Some((Kind::Forbidden, power(runs(&inner) >= 10)));
        }
        // The mean of all angles, outward; without the hair that leads to a lane's first marking.
        let along = |radius: f64| (1..68).map(move |i| self.stands_out(radius, self.angles.0 + f64::from(i) / 2.0));
        let outward = (0..=26).map(|i| 0.930 + f64::from(i) * 0.002).filter(|radius| !(0.957..0.967).contains(radius));
        let hollow = is_dark_within(&outward.map(|radius| along(radius).sum()).collect::<Vec<f64>>());
        if share(&edge) > 0.85 {
            return Some((Kind::Normal, power(hollow)));
        }
        (runs(&edge) >= 5).then(|| (Kind::Precaution, power(hollow)))
    }
}

/// Whether a way across a mark has no light somewhere between its first and its last light.
fn is_dark_within(way: &[f64]) -> bool {
    let most = way.iter().copied().fold(0.0, f64::max);
    let lit = |light: &f64| *light > 0.5 * most;
    let (first, last) = (way.iter().position(lit).unwrap_or(0), way.iter().rposition(lit).unwrap_or(0));
    way[first..=last].iter().any(|light| *light < 0.45 * most)
}

/// Frame heights and sizes from a radius of 54 pixels up: below it the teeth of a forbidden range are closer than four pixels.
const SIZES: [(u32, DiscSize); 9] = [
    (360, DiscSize::Xl),
    (720, DiscSize::S),
    (720, DiscSize::L),
    (1080, DiscSize::S),
    (1080, DiscSize::M),
    (1080, DiscSize::Xl),
    (1440, DiscSize::L),
    (2160, DiscSize::S),
    (2160, DiscSize::Xl),
];

#[test]
fn grey_markings_are_told_by_shape_alone() {
    let mut faults = Vec::new();
    let mut count = 0;
    for size in SIZES {
        for theme in Theme::ALL {
            for from in [-133.0, -96.5, -61.0, -20.0, 28.0, 79.0] {
                for kind in KINDS {
                    let told = Sample::new(kind, size, theme, from).told();
                    count += 1;
                    if told != Some(kind) {
                        faults.push(format!("{kind:?} at {from} on {size:?}, {theme:?}: taken for {told:?}"));
                    }
                }
            }
        }
    }
    assert!(faults.is_empty(), "{} of {count}:\n{}", faults.len(), faults.join("\n"));
}

/// A tachometer's, from a radius of 100 pixels up: below it the two sides of a hollow mark run into one.
#[test]
fn grey_markings_of_either_power_are_told_by_shape_alone() {
    let sizes = [(1080, DiscSize::M), (1080, DiscSize::Xl), (1440, DiscSize::L), (2160, DiscSize::Xl)];
    let mut faults = Vec::new();
    let mut count = 0;
    for size in sizes {
        for theme in Theme::ALL {
            for from in [-51.0, -22.0, 13.0, 40.0] {
                for kind in KINDS.into_iter().filter(|kind| *kind != Kind::Usual) {
                    for power in [Power::On, Power::Off] {
                        let told = Sample::of_power(kind, power, size, theme, from).told_of_power();
                        count += 1;
                        if told != Some((kind, power)) {
                            faults.push(format!(
                                "{kind:?} with power {power:?} at {from} on {size:?}, {theme:?}: taken for {told:?}"
                            ));
                        }
                    }
                }
            }
        }
    }
    assert!(faults.is_empty(), "{} of {count}:\n{}", faults.len(), faults.join("\n"));
}

/// By the colours that the pictures show, or else by shape.
#[test]
fn pairs_of_markings_by_colour() {
    for theme in Theme::ALL {
        let colour = |kind: Kind| {
            let sample = Sample::new(kind, (2160, DiscSize::Xl), theme, -20.0);
            // The first block and the stem of a T lie elsewhere than a band's middle.
            let (from, to) = sample.angles;
            match kind {
                Kind::Limit => sample.rgb(0.85, (from + to) / 2.0),
                Kind::Forbidden | Kind::Reference => sample.rgb(0.969, (from + to) / 2.0),
                Kind::Normal | Kind::Precaution => sample.rgb(0.945, from + 1.5),
                Kind::Usual => sample.rgb(0.945, from),
            }
        };
        let p = theme.palette();
        for (kind, drawn) in [(Kind::Normal, p.green), (Kind::Precaution, p.amber), (Kind::Limit, p.red)] {
            assert!(apart(colour(kind), unit(drawn.rgb)) < 1.0, "{theme:?}: {kind:?} is drawn in its colour");
        }
        let pairs = (0..KINDS.len()).flat_map(|i| (0..i).map(move |j| (KINDS[j], KINDS[i])));
        for (a, b) in pairs {
            let (ca, cb) = (colour(a), colour(b));
            let by_kind = DEFICIENCIES.map(|kind| {
                let m = matrix(kind);
                apart(simulated(ca, &m), simulated(cb, &m))
            });
            println!("{theme:?}: {a:?} and {b:?}: {:.0}; {by_kind:.0?}", apart(ca, cb));
            let least = by_kind.into_iter().fold(apart(ca, cb), f64::min);
            let by_shape = || {
                [a, b].into_iter().all(|kind| Sample::new(kind, (1080, DiscSize::M), theme, -20.0).told() == Some(kind))
            };
            assert!(least > BY_COLOUR || by_shape(), "{theme:?}: {a:?} and {b:?} are {least:.1} apart, of one shape");
        }
    }
}
