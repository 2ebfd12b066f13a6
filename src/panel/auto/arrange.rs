//! Where the instruments of a panel without a panel file stand.
//!
//! Flight at the left, machine at the right, what runs out in the middle. The biggest dials stand in the lower corners,
//! smaller ones up the edges and inward, so that the middle of the picture stays empty; where one is missing, the others
//! close up toward their corner.

use crate::panel::{DiscSize, Place, Side};

/// Between the picture's edge and a disc or plate, between two discs, and between two plates, in modules.
const EDGE: f64 = 0.022;
const GAP: f64 = 0.0115;
const PLATE_GAP: f64 = 0.009;
/// Width and height of a plate of middle size.
const PLATE: (f64, f64) = (0.165, 0.074);
/// Between the plates and dials that stand above them.
const SILL: f64 = 0.016;
/// What the notice takes at the top.
const NOTICE: f64 = 0.044;

/// The arrangement of a panel, by the shape of the shown picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrangement {
    /// Width and height in modules.
    width: f64,
    height: f64,
}

/// Which part of the picture an instrument belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// Up the left edge.
    Left,
    /// Up the right edge.
    Right,
    /// Beside the dial in the left corner; where the picture is narrow, in the middle.
    InnerLeft,
    /// Beside the dial in the right corner; where the picture is narrow, up the right edge.
    InnerRight,
}

impl Arrangement {
    /// The arrangement for a shown picture of this size in pixels.
    pub fn of(width: f64, height: f64) -> Self {
        let m = crate::panel::module_px(width, height);
        Self { width: width / m, height: height / m }
    }

    /// Taller than wide, or square: the plates take the whole width of the foot, and the dials stand above them.
    pub(super) fn is_narrow(self) -> bool {
        self.width <= self.height * 1.05
    }

    /// Where dials stand lowest, for so many plates.
    fn foot(self, plates: usize) -> f64 {
        if !self.is_narrow() || plates == 0 {
            return EDGE;
        }
        let rows = plates.div_ceil(self.plates_a_row()) as f64;
        EDGE + rows * (PLATE.1 + PLATE_GAP) - PLATE_GAP + SILL
    }

    /// Half of what the dials in the corners leave between them.
    fn plates_a_row(self) -> usize {
        let corners = if self.is_narrow() { 2.0 * EDGE } else { 2.0 * 0.5385 };
        (((self.width - corners + PLATE_GAP) / (PLATE.0 + PLATE_GAP) + 1e-9) as usize).max(1)
    }

    /// Places for dials of these sizes, in their order, beside so many plates; none for one that has no room.
    pub(super) fn dials(self, wanted: &[(Part, DiscSize)], plates: usize) -> Vec<Option<Place>> {
        let foot = self.foot(plates);
        let mut columns = Columns { arrangement: self, foot, edges: [Vec::new(), Vec::new()] };
        let mut places = vec![None; wanted.len()];
        let edge = |part: Part| match part {
            Part::Left => Some(Side::Left),
            Part::Right => Some(Side::Right),
            Part::InnerRight if self.is_narrow() => Some(Side::Right),
            Part::InnerLeft | Part::InnerRight => None,
        };
        for (place, &(part, size)) in places.iter_mut().zip(wanted) {
            if let Some(side) = edge(part) {
                *place = columns.climb(side, size).or_else(|| columns.climb(other(side), size));
            }
        }
        let mut inner = [0.0; 2];
        for (place, &(part, size)) in places.iter_mut().zip(wanted) {
            if edge(part).is_some() {
                continue;
            }
            *place = if self.is_narrow() {
                columns.middle(size)
            } else {
                let side = if part == Part::InnerLeft { Side::Left } else { Side::Right };
                columns.inward(side, size, &mut inner[usize::from(side == Side::Right)])
            };
        }
        places
    }

    /// Places for plates, row upon row from the foot, each row about the middle.
    pub(super) fn plates(self, count: usize) -> Vec<Place> {
        let a_row = self.plates_a_row();
        let place = |i: usize| {
            let (row, column) = (i / a_row, i % a_row);
            let in_row = a_row.min(count - row * a_row);
            let from_middle = column as f64 - (in_row - 1) as f64 / 2.0;
            Place {
                side: Side::Centre,
                from_side_m: from_middle * (PLATE.0 + PLATE_GAP),
                from_bottom_m: EDGE + PLATE.1 / 2.0 + row as f64 * (PLATE.1 + PLATE_GAP),
                size: DiscSize::M,
            }
        };
        (0..count).map(place).collect()
    }
}

fn other(side: Side) -> Side {
    if side == Side::Left { Side::Right } else { Side::Left }
}

/// The dials up both edges so far: height of the middle, and radius.
struct Columns {
    arrangement: Arrangement,
    foot: f64,
    edges: [Vec<(f64, f64)>; 2],
}

impl Columns {
    fn edge(&mut self, side: Side) -> &mut Vec<(f64, f64)> {
        &mut self.edges[usize::from(side == Side::Right)]
    }

    /// The next place up an edge.
    fn climb(&mut self, side: Side, size: DiscSize) -> Option<Place> {
        let r = size.diameter_m() / 2.0;
        let top = self.arrangement.height - NOTICE / 2.0;
        let foot = self.foot;
        let column = self.edge(side);
        let y = column.last().map_or(foot, |(y, r)| y + r + GAP) + r;
        if y + r > top {
            return None;
        }
        column.push((y, r));
        Some(Place { side, from_side_m: EDGE + r, from_bottom_m: y, size })
    }

    /// The next place along the foot, beside the corner's dial; `taken` is how far this side is taken already.
    fn inward(&mut self, side: Side, size: DiscSize, taken: &mut f64) -> Option<Place> {
        let (r, y) = (size.diameter_m() / 2.0, self.foot + size.diameter_m() / 2.0);
        let from = match (*taken > 0.0, self.edge(side).first()) {
            (true, _) => *taken + GAP,
            (false, Some((_, corner))) => EDGE + 2.0 * corner + GAP,
            (false, None) => EDGE,
        };
        // Room for two plates stays between the two sides.
        if from + 2.0 * r > self.arrangement.width / 2.0 - PLATE.0 - PLATE_GAP {
            return None;
        }
        *taken = from + 2.0 * r;
        Some(Place { side, from_side_m: from + r, from_bottom_m: y, size })
    }

    /// The only place in the middle, between the two corners.
    fn middle(&mut self, size: DiscSize) -> Option<Place> {
        let r = size.diameter_m() / 2.0;
        let reach = |column: &Vec<(f64, f64)>| column.first().map_or(0.0, |(_, r)| EDGE + 2.0 * r + GAP);
        let wide = self.edges.iter().map(reach).fold(0.0, f64::max);
        let free = self.arrangement.width / 2.0 - wide;
        (r <= free).then_some(Place { side: Side::Centre, from_side_m: 0.0, from_bottom_m: self.foot + r, size })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use DiscSize::{L, M, S, Xl};
    use Part::{InnerLeft, InnerRight, Left, Right};

    fn places(arrangement: Arrangement, wanted: &[(Part, DiscSize)], plates: usize) -> Vec<(f64, f64)> {
        let places = arrangement.dials(wanted, plates).into_iter().flatten();
        places.map(|p| (p.from_side_m, p.from_bottom_m)).collect()
    }

    /// The places of the house layout, each to a thousandth of the height.
    #[test]
    fn a_full_landscape_panel_stands_as_the_house_wants_it() {
        let wanted = [(Left, Xl), (Left, L), (Left, L), (Right, Xl), (Right, L), (Right, M), (Right, S)];
        let all = [&wanted[..], &[(InnerLeft, M), (InnerRight, M)]].concat();
        let expected = [
            (0.172, 0.172),
            (0.141, 0.453),
            (0.141, 0.703),
            (0.172, 0.172),
            (0.141, 0.453),
            (0.117, 0.678),
            (0.097, 0.859),
            (0.428, 0.117),
            (0.428, 0.117),
        ];
        let found = places(Arrangement::of(1920.0, 1080.0), &all, 2);
        assert_eq!(found.len(), expected.len());
        for (a, b) in found.iter().zip(expected) {
            assert!((a.0 - b.0).abs() < 0.001 && (a.1 - b.1).abs() < 0.001, "{found:?}");
        }
    }

    #[test]
    fn what_is_missing_closes_up_toward_its_corner() {
        let found = places(Arrangement::of(1920.0, 1080.0), &[(Right, L), (Right, M), (InnerRight, M)], 0);
        for (a, b) in found.iter().zip([(0.141, 0.141), (0.117, 0.366), (0.366, 0.117)]) {
            assert!((a.0 - b.0).abs() < 0.001 && (a.1 - b.1).abs() < 0.001, "{found:?}");
        }
    }

    #[test]
    fn an_edge_that_is_full_gives_way_to_the_other() {
        let wanted = [(Right, Xl), (Right, L), (Right, L), (Right, L), (Right, S)];
        let sides: Vec<_> =
            Arrangement::of(1920.0, 1080.0).dials(&wanted, 0).into_iter().map(|p| p.map(|p| p.side)).collect();
        let (left, right) = (Some(Side::Left), Some(Side::Right));
        assert_eq!(sides, [right, right, right, left, left]);
        let many = [(Right, Xl); 9];
        let none = Arrangement::of(1920.0, 1080.0).dials(&many, 0).iter().filter(|p| p.is_none()).count();
        assert_eq!(none, 3, "three a side");
    }

    #[test]
    fn plates_stand_in_rows_about_the_middle() {
        let plates = Arrangement::of(1920.0, 1080.0).plates(5);
        let xs: Vec<f64> = plates.iter().map(|p| (p.from_side_m * 1000.0).round()).collect();
        assert_eq!(xs, [-261.0, -87.0, 87.0, 261.0, 0.0]);
        assert!((plates[0].from_bottom_m - 0.059).abs() < 1e-9 && (plates[4].from_bottom_m - 0.142).abs() < 1e-9);
        let upright = Arrangement::of(1080.0, 1920.0);
        assert!(
            (upright.dials(&[(Left, Xl)], 4)[0].unwrap().from_bottom_m - (0.022 + 0.074 + 0.016 + 0.150)).abs() < 1e-9
        );
    }
}
