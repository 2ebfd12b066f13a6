//! What is the same on every round face: hand and stop, the cap, the cross, the rim.

use super::hands::{Hand, Pivot};
use super::marks;
use super::part::Part;
use super::scene::Scene;
use super::theme::Palette;

/// The parts that a round face draws like any other; none for those of its own. `hand` is the hand that turns in steps of so
/// many degrees, on a face that has one.
pub(super) fn part(part: &Part, pivot: Pivot, hand: Option<(&Hand, f64)>, palette: &Palette) -> Option<Scene> {
    match (part, hand) {
        (Part::Hand { style, steps }, Some((hand, step))) => Some(hand.draw(*style, f64::from(*steps) * step, palette)),
        (Part::Stop { steps }, Some((_, step))) => Some(pivot.stop(f64::from(*steps) * step, palette)),
        (Part::Hub, _) => Some(pivot.hub(palette)),
        (Part::Cross, _) => Some(pivot.cross(palette)),
        (Part::Rim(alarm), _) => Some(marks::rim(pivot, *alarm, palette)),
        _ => None,
    }
}
