//! The edge of a disc or plate says it too where a value is not measured at this moment: a cyan line where it is computed, a
//! broken one where it is held. Hand and tag say the same, but on a small film their few pixels blur.
//! On a face that has no rim and no value of its own to put on a plate, the edge also shows that a limit is passed.

use crate::panel::{DiscSize, Marking};
use crate::readout::{InstrumentState, PanelState};
use crate::signal::State;

use super::advice::Form;
use super::face::{Face, Ground};
use super::layout::Canvas;
use super::part::{Alarm, Arrow, Frame, Part, RowValue, StateKey};
use super::path::Path;
use super::scene::Scene;
use super::sizes::Sizes;
use super::states;
use super::theme::Palette;

/// Width of the line in modules, the same as of an advisory's pill, and its dashes, the same as of lamps that disagree.
const LINE: f64 = 0.0026;
const DASH: (f64, f64) = (0.011, 0.006);
/// A thinner line would not outlast an encoder.
const THINNEST_PX: f64 = 1.4;
/// Rounding of a plate's corners in modules, by its size.
const CORNER: f64 = 0.012;

/// What the edge says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Edge {
    /// The value is computed.
    Derived,
    /// The value is held.
    Held,
    /// A limit on one of its channels is passed.
    Passed(Alarm),
    /// The hand went to its stop by this half of the dial, which both ends of the scale share.
    Way(Arrow),
}

/// Any face with its edge.
pub(super) struct Edged {
    face: Box<dyn Face>,
    palette: &'static Palette,
    line: f64,
    dash: (f64, f64),
    corner: f64,
}

impl Edged {
    pub fn new(face: Box<dyn Face>, size: DiscSize, Canvas { m, palette, .. }: Canvas) -> Self {
        let (line, dash) = ((LINE * m).max(THINNEST_PX), (DASH.0 * m, DASH.1 * m));
        Self { face, palette, line, dash, corner: CORNER * Sizes::new(size, m).step * m }
    }

    fn draw(&self, edge: Edge) -> Scene {
        let inset = self.line / 2.0;
        let mut scene = Scene::default();
        let (path, round) = match self.face.ground() {
            Ground::Disc(centre, r) => (Path::circle(centre, r - inset), Some((centre, r - inset))),
            Ground::Plate(rect) => (Path::rounded(rect.snapped().grown(-inset), self.corner - inset), None),
        };
        match (edge, round) {
            (Edge::Derived, _) => scene.stroke(path, self.line, self.palette.cyan),
            (Edge::Held, _) => scene.dashed(path, self.line, self.palette.ink, self.dash),
            (Edge::Passed(Alarm::Caution), _) => {
                scene.stroke(path.clone(), 2.6 * self.line, self.palette.casing.at(0.55));
                scene.dashed(path, 2.0 * self.line, self.palette.caution, self.dash);
            }
            (Edge::Passed(Alarm::Warning), _) => {
                // Edged in white, as the rims of a dial are: on dark ground red alone would not be seen.
                scene.stroke(path.clone(), 3.4 * self.line, self.palette.warning_text);
                scene.stroke(path.clone(), 2.4 * self.line, self.palette.warning);
                scene.stroke(path, 0.6 * self.line, self.palette.warning_text);
            }
            (Edge::Way(arrow), Some((centre, r))) => {
                let to = if arrow == Arrow::Up { 90.0 } else { -270.0 };
                scene.stroke(Path::arc(centre, r, -90.0, to), self.line, self.palette.ink);
            }
            (Edge::Way(_), None) => {}
        }
        scene
    }
}

/// Of several hands, the one that can be trusted least decides. Older data and none at all are plain enough without.
fn edge(state: &InstrumentState) -> Option<Edge> {
    let least = match state.written() {
        Some(_) => state.hands.first().map(|hand| hand.state),
        None if state.hands.is_empty() => None,
        None => Some(states::worst((0..state.hands.len()).map(|hand| states::nth(state, hand))).state),
    };
    match least? {
        State::Derived => Some(Edge::Derived),
        State::Held => Some(Edge::Held),
        State::Measured | State::Stale | State::Invalid | State::SaturatedLow | State::SaturatedHigh => None,
    }
}

/// Whether a part of the face shows that a limit is passed.
fn tells_of_a_limit(part: &Part) -> bool {
    match part {
        Part::Rim(_) => true,
        Part::Chip(chip) | Part::Row { value: RowValue::Chip(chip), .. } => matches!(chip.frame, Frame::Plate(_)),
        _ => false,
    }
}

impl Face for Edged {
    fn face(&self) -> Scene {
        self.face.face()
    }

    fn lettering(&self) -> Scene {
        self.face.lettering()
    }

    fn forms(&self) -> Vec<Vec<(Marking, Form)>> {
        self.face.forms()
    }

    fn key(&self, instrument: &InstrumentState, panel: &PanelState) -> StateKey {
        // Below everything else: the mark of a heading card and the rim of a passed limit reach over the edge.
        let key = self.face.key(instrument, panel);
        let passed = states::alarm(instrument).filter(|_| !key.iter().any(tells_of_a_limit)).map(Edge::Passed);
        let edge = passed.or_else(|| edge(instrument)).map(Part::Edge);
        edge.into_iter().chain(key).collect()
    }

    fn part(&self, part: &Part) -> Scene {
        if let Part::Edge(edge) = part { self.draw(*edge) } else { self.face.part(part) }
    }

    fn ground(&self) -> Ground {
        self.face.ground()
    }

    fn extent(&self) -> Scene {
        self.face.extent()
    }
}
