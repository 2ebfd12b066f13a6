//! The house layout: where instruments stand that were given a slot instead of a place.
//!
//! Flight at the left, machine at the right, what runs out in the middle. The biggest dials stand in the lower corners,
//! smaller ones up the edges and inward, so that the middle of the picture stays empty; where one is missing, the others
//! close up toward their corner. Lengths are in modules.

use super::place::{Density, DiscSize, Gaps, Place, Side, Slot, module_px};

/// Width and height of a plate of middle size.
pub const PLATE: (f64, f64) = (0.165, 0.074);
/// What the notice takes at the top.
const NOTICE: f64 = 0.044;

/// The arrangement of a panel, by the shape of the shown picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arrangement {
    /// Width and height in modules.
    width: f64,
    height: f64,
    gaps: Gaps,
}

impl Arrangement {
    /// The arrangement for a shown picture of this size in pixels.
    pub fn of(width: f64, height: f64, density: Density) -> Self {
        let m = module_px(width, height, density);
        Self { width: width / m, height: height / m, gaps: density.gaps() }
    }

    /// Taller than wide, or square: the plates take the whole width of the foot, and the dials stand above them.
    pub fn is_narrow(self) -> bool {
        self.width <= self.height * 1.05
    }

    /// Where what stands lowest in the picture's foot ends, and dials in its corners.
    pub const fn edge(self) -> f64 {
        self.gaps.edge
    }

    /// Between two plates.
    pub const fn plate_gap(self) -> f64 {
        self.gaps.plate
    }

    /// How far from either side plates may reach in the foot: beside the dials in the corners and those beside them.
    pub fn foot_from_side(self) -> f64 {
        if self.is_narrow() { self.gaps.edge } else { self.gaps.beside_dials() }
    }

    /// Where dials stand lowest above plates that reach up to `plates_top`; 0 for none.
    pub fn foot(self, plates_top: f64) -> f64 {
        if self.is_narrow() && plates_top > 0.0 { plates_top + self.gaps.sill } else { self.gaps.edge }
    }

    /// Places for dials in their slots, in their order, above a foot that [`Arrangement::foot`] gives; none for one that has no
    /// room, and for a plate's slot.
    pub fn dials(self, wanted: &[(Slot, DiscSize)], foot: f64) -> Vec<Option<Place>> {
        let mut columns = Columns { arrangement: self, foot, edges: [Vec::new(), Vec::new()] };
        let mut places = vec![None; wanted.len()];
        let edge = |slot: Slot| match slot {
            Slot::Left => Some(Side::Left),
            Slot::Right => Some(Side::Right),
            Slot::InnerRight if self.is_narrow() => Some(Side::Right),
            Slot::InnerLeft | Slot::InnerRight | Slot::Foot => None,
        };
        for (place, &(slot, size)) in places.iter_mut().zip(wanted) {
            if let Some(side) = edge(slot) {
                *place = columns.climb(side, size).or_else(|| columns.climb(other(side), size));
            }
        }
        let mut inner = [0.0; 2];
        for (place, &(slot, size)) in places.iter_mut().zip(wanted) {
            if edge(slot).is_some() || slot == Slot::Foot {
                continue;
            }
            *place = if self.is_narrow() {
                columns.middle(size)
            } else {
                let side = if slot == Slot::InnerLeft { Side::Left } else { Side::Right };
                columns.inward(side, size, &mut inner[usize::from(side == Side::Right)])
            };
        }
        places
    }

    /// Places for plates of these widths and heights, row upon row from the foot, each row about the middle; and how high they
    /// reach, 0 where there are none.
    pub fn plates(self, sizes: &[(f64, f64)]) -> (Vec<Place>, f64) {
        let room = self.width - 2.0 * self.foot_from_side() + 1e-9;
        let (mut places, mut bottom) = (Vec::with_capacity(sizes.len()), self.gaps.edge);
        let mut rest = sizes;
        while !rest.is_empty() {
            let mut across = -self.gaps.plate;
            let fits = |&&(wide, _): &&(f64, f64)| {
                across += wide + self.gaps.plate;
                across <= room
            };
            let (row, later) = rest.split_at(rest.iter().take_while(fits).count().max(1));
            let across: f64 = row.iter().map(|size| size.0 + self.gaps.plate).sum::<f64>() - self.gaps.plate;
            let high = row.iter().map(|size| size.1).fold(0.0, f64::max);
            let mut left = -across / 2.0;
            for &(wide, _) in row {
                let (from_side_m, from_bottom_m) = (left + wide / 2.0, bottom + high / 2.0);
                places.push(Place { side: Side::Centre, from_side_m, from_bottom_m, size: DiscSize::M });
                left += wide + self.gaps.plate;
            }
            bottom += high + self.gaps.plate;
            rest = later;
        }
        (places, if sizes.is_empty() { 0.0 } else { bottom - self.gaps.plate })
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
        let Gaps { edge, disc: gap, .. } = self.arrangement.gaps;
        let foot = self.foot;
        let column = self.edge(side);
        let y = column.last().map_or(foot, |(y, r)| y + r + gap) + r;
        if y + r > top {
            return None;
        }
        column.push((y, r));
        Some(Place { side, from_side_m: edge + r, from_bottom_m: y, size })
    }

    /// The next place along the foot, beside the corner's dial; `taken` is how far this side is taken already.
    fn inward(&mut self, side: Side, size: DiscSize, taken: &mut f64) -> Option<Place> {
        let (r, y) = (size.diameter_m() / 2.0, self.foot + size.diameter_m() / 2.0);
        let Gaps { edge, disc: gap, plate, .. } = self.arrangement.gaps;
        let from = match (*taken > 0.0, self.edge(side).first()) {
            (true, _) => *taken + gap,
            (false, Some((_, corner))) => edge + 2.0 * corner + gap,
            (false, None) => edge,
        };
        // Room for a plate stays between the two sides.
        if from + 2.0 * r > self.arrangement.width / 2.0 - PLATE.0 / 2.0 - plate {
            return None;
        }
        *taken = from + 2.0 * r;
        Some(Place { side, from_side_m: from + r, from_bottom_m: y, size })
    }

    /// The only place in the middle, between the two corners.
    fn middle(&mut self, size: DiscSize) -> Option<Place> {
        let r = size.diameter_m() / 2.0;
        let Gaps { edge, disc: gap, .. } = self.arrangement.gaps;
        let reach = |column: &Vec<(f64, f64)>| column.first().map_or(0.0, |(_, r)| edge + 2.0 * r + gap);
        let wide = self.edges.iter().map(reach).fold(0.0, f64::max);
        let free = self.arrangement.width / 2.0 - wide;
        (r <= free).then_some(Place { side: Side::Centre, from_side_m: 0.0, from_bottom_m: self.foot + r, size })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use DiscSize::{L, M, S, Xl};
    use Slot::{InnerLeft, InnerRight, Left, Right};

    fn wide() -> Arrangement {
        Arrangement::of(1920.0, 1080.0, Density::House)
    }

    fn places(arrangement: Arrangement, wanted: &[(Slot, DiscSize)]) -> Vec<(f64, f64)> {
        let places = arrangement.dials(wanted, arrangement.foot(0.0)).into_iter().flatten();
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
        let found = places(wide(), &all);
        assert_eq!(found.len(), expected.len());
        for (a, b) in found.iter().zip(expected) {
            assert!((a.0 - b.0).abs() < 0.001 && (a.1 - b.1).abs() < 0.001, "{found:?}");
        }
    }

    #[test]
    fn what_is_missing_closes_up_toward_its_corner() {
        let found = places(wide(), &[(Right, L), (Right, M), (InnerRight, M)]);
        for (a, b) in found.iter().zip([(0.141, 0.141), (0.117, 0.366), (0.366, 0.117)]) {
            assert!((a.0 - b.0).abs() < 0.001 && (a.1 - b.1).abs() < 0.001, "{found:?}");
        }
    }

    #[test]
    fn an_edge_that_is_full_gives_way_to_the_other() {
        let wanted = [(Right, Xl), (Right, L), (Right, L), (Right, L), (Right, S)];
        let sides: Vec<_> = wide().dials(&wanted, 0.022).into_iter().map(|p| p.map(|p| p.side)).collect();
        let (left, right) = (Some(Side::Left), Some(Side::Right));
        assert_eq!(sides, [right, right, right, left, left]);
        let many = [(Right, Xl); 9];
        let none = wide().dials(&many, 0.022).iter().filter(|p| p.is_none()).count();
        assert_eq!(none, 3, "three a side");
    }

    #[test]
    fn plates_stand_in_rows_about_the_middle() {
        let (plates, top) = wide().plates(&[PLATE; 5]);
        let xs: Vec<f64> = plates.iter().map(|p| (p.from_side_m * 1000.0).round()).collect();
        assert_eq!(xs, [-261.0, -87.0, 87.0, 261.0, 0.0]);
        assert!((plates[0].from_bottom_m - 0.059).abs() < 1e-9 && (plates[4].from_bottom_m - 0.142).abs() < 1e-9);
        assert!((top - 0.179).abs() < 1e-9);
        let upright = Arrangement::of(1080.0, 1920.0, Density::House);
        let (plates, top) = upright.plates(&[PLATE; 4]);
        let foot = upright.foot(top);
        assert_eq!(plates.len(), 4);
        let corner = upright.dials(&[(Left, Xl)], foot)[0].unwrap();
        assert!((corner.from_bottom_m - (0.022 + 0.074 + 0.016 + 0.150)).abs() < 1e-9);
        let (wide_and_low, _) = wide().plates(&[(0.40, 0.074), (0.165, 0.074), (0.40, 0.050)]);
        let rounded: Vec<_> =
            wide_and_low.iter().map(|p| ((p.from_side_m * 1e4).round(), (p.from_bottom_m * 1e4).round())).collect();
        assert_eq!(rounded, [(-870.0, 590.0), (2045.0, 590.0), (0.0, 1300.0)]);
    }
}
