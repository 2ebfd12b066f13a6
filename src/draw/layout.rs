//! Where the instruments of a panel stand on a picture: at the places that their owner chose, or in the slots of the house layout.

use crate::panel::{Arrangement, DiscSize, Panel, Place, Placing, Side, Slot};

use super::face::{Face, Ground};
use super::lamp_row::LampRow;
use super::painter::{self, DrawError};
use super::path::Point;
use super::theme::Palette;

/// A shown picture and the colours on it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Canvas {
    pub width: f64,
    pub height: f64,
    /// The module in pixels.
    pub m: f64,
    pub palette: &'static Palette,
}

/// The middle of every instrument, in the panel's order, and the row of lamps.
pub(super) struct Layout {
    /// An instrument that finds no place is left out, and its fault says so.
    pub centres: Vec<Result<Point, DrawError>>,
    pub lamps: Option<LampRow>,
}

impl Layout {
    pub fn new(panel: &Panel, canvas: Canvas) -> Self {
        let Canvas { width, height, .. } = canvas;
        let arrangement = Arrangement::of(width, height, panel.density);
        let placings: Vec<Placing> = panel.instruments.iter().map(|instrument| instrument.place).collect();
        let in_slots = |wanted: fn(Slot) -> bool| {
            let slots = placings.iter().enumerate().filter_map(|(i, placing)| match *placing {
                Placing::Slot(slot, size) if wanted(slot) => Some((i, slot, size)),
                _ => None,
            });
            slots.collect::<Vec<(usize, Slot, DiscSize)>>()
        };

        // From the foot upward: plates, lamps, dials.
        let plates = in_slots(|slot| slot == Slot::Foot);
        let sizes: Vec<(f64, f64)> = plates.iter().map(|&(i, ..)| measured(panel, i, canvas)).collect();
        let (plate_places, plates_top) = arrangement.plates(&sizes);
        let dials = in_slots(|slot| slot != Slot::Foot);
        let stand = if plates.is_empty() { arrangement.edge() } else { plates_top + arrangement.plate_gap() };
        let lamps = LampRow::new(panel, canvas, (!(plates.is_empty() && dials.is_empty())).then_some(stand));
        let top = lamps.as_ref().map_or(plates_top, |lamps| lamps.top_m(height));
        let wanted: Vec<(Slot, DiscSize)> = dials.iter().map(|&(_, slot, size)| (slot, size)).collect();
        let dial_places = arrangement.dials(&wanted, arrangement.foot(top));

        let mut places: Vec<Option<Place>> = placings
            .iter()
            .map(|placing| match *placing {
                Placing::At(place) => Some(place),
                Placing::Slot(..) => None,
            })
            .collect();
        plates.iter().zip(plate_places).for_each(|(&(i, ..), place)| places[i] = Some(place));
        dials.iter().zip(dial_places).for_each(|(&(i, ..), place)| places[i] = place);
        let centre = |(i, place): (usize, Option<Place>)| {
            let instrument = panel.instruments[i].name.clone();
            let is_plate = || matches!(at_origin(panel, i, canvas).ground(), Ground::Plate(_));
            match (place, placings[i]) {
                (_, Placing::Slot(slot, _)) if slot != Slot::Foot && is_plate() => {
                    Err(DrawError::PlateInDialSlot { instrument })
                }
                (Some(place), _) => Ok(centre(place, canvas)),
                (None, _) => Err(DrawError::SlotFull { instrument }),
            }
        };
        Self { centres: places.into_iter().enumerate().map(centre).collect(), lamps }
    }
}

/// Width and height of an instrument in modules, wherever it stands.
fn measured(panel: &Panel, i: usize, canvas: Canvas) -> (f64, f64) {
    let rect = at_origin(panel, i, canvas).ground().rect();
    ((rect.right - rect.left) / canvas.m, (rect.bottom - rect.top) / canvas.m)
}

fn at_origin(panel: &Panel, i: usize, canvas: Canvas) -> Box<dyn Face> {
    painter::face(panel, &panel.instruments[i], (0.0, 0.0), canvas)
}

fn centre(place: Place, Canvas { width, height, m, .. }: Canvas) -> Point {
    let along = place.from_side_m * m;
    let x = match place.side {
        Side::Left => along,
        Side::Right => width - along,
        Side::Centre => width / 2.0 + along,
    };
    (x, height - place.from_bottom_m * m)
}
