//! What every kind of instrument is to the painter: a face drawn once, and parts on top of it that change.

use crate::panel::{Marking, UsualRange};
use crate::readout::{InstrumentState, PanelState};

use super::advice::Form;
use super::dial;
use super::part::{Part, StateKey};
use super::path::{Path, Point, Rect};
use super::scene::Scene;
use super::theme::Rgba;

/// One instrument in its place on the picture.
pub(super) trait Face: Send + Sync {
    /// What never changes and lies under the hands.
    fn face(&self) -> Scene;

    /// What never changes and lies above the hands.
    fn lettering(&self) -> Scene {
        Scene::default()
    }

    /// What it shows, rounded to what can be seen. `instrument` is its own entry of `panel`.
    fn key(&self, instrument: &InstrumentState, panel: &PanelState) -> StateKey;

    /// One part as outlines.
    fn part(&self, part: &Part) -> Scene;

    /// Its range markings as they are drawn, lane by lane.
    fn forms(&self) -> Vec<Vec<(Marking, Form)>> {
        Vec::new()
    }

    /// The bracket of a usual range; none on a face without a scale that stands still.
    fn bracket(&self, _: &UsualRange) -> Scene {
        Scene::default()
    }

    /// The ground that it covers.
    fn ground(&self) -> Ground;

    /// An outline that holds everything that it ever paints: for a disc its halo, for a plate the face itself.
    fn extent(&self) -> Scene {
        match self.ground() {
            Ground::Disc(centre, r) => {
                let mut scene = Scene::default();
                scene.fill(Path::rounded(dial::reach(centre, r), 0.0), Rgba::opaque(0).at(0.0));
                scene
            }
            Ground::Plate(_) => self.face(),
        }
    }
}

/// The ground that an instrument covers: halos may overlap, this may not.
#[derive(Debug, Clone, Copy)]
pub(super) enum Ground {
    /// Middle and radius.
    Disc(Point, f64),
    /// A plate's edges.
    Plate(Rect),
}

impl Ground {
    /// The box round it.
    pub fn rect(self) -> Rect {
        match self {
            Self::Disc(centre, r) => Rect::centred(centre, 2.0 * r, 2.0 * r),
            Self::Plate(rect) => rect,
        }
    }

    /// Whether two grounds share more than an edge.
    pub fn overlaps(self, other: Self) -> bool {
        self.overlap(other) > 0.0
    }

    /// How many pixels one of two grounds has to move, at least, until they share no more than an edge; 0 or less if they do not.
    pub fn overlap(self, other: Self) -> f64 {
        match (self, other) {
            (Self::Disc(a, r), Self::Disc(b, s)) => r + s - (a.0 - b.0).hypot(a.1 - b.1),
            (Self::Plate(a), Self::Plate(b)) => {
                let across = (a.right - b.left).min(b.right - a.left);
                across.min((a.bottom - b.top).min(b.bottom - a.top))
            }
            (Self::Disc(c, r), Self::Plate(p)) | (Self::Plate(p), Self::Disc(c, r)) => {
                let nearest = (c.0.max(p.left).min(p.right), c.1.max(p.top).min(p.bottom));
                let apart = (c.0 - nearest.0).hypot(c.1 - nearest.1);
                // From a middle inside the plate, the way out leads over the nearest edge.
                let inside = (c.0 - p.left).min(p.right - c.0).min((c.1 - p.top).min(p.bottom - c.1));
                if apart > 0.0 { r - apart } else { r + inside }
            }
        }
    }
}
