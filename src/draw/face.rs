//! What every kind of instrument is to the painter: a face drawn once, and parts on top of it that change.

use crate::panel::UsualRange;
use crate::readout::{InstrumentState, PanelState};

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
        match (self, other) {
            (Self::Disc(a, r), Self::Disc(b, s)) => (a.0 - b.0).hypot(a.1 - b.1) < r + s,
            (Self::Plate(a), Self::Plate(b)) => {
                a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
            }
            (Self::Disc(c, r), Self::Plate(p)) | (Self::Plate(p), Self::Disc(c, r)) => {
                let nearest = (c.0.max(p.left).min(p.right), c.1.max(p.top).min(p.bottom));
                (c.0 - nearest.0).hypot(c.1 - nearest.1) < r
            }
        }
    }
}
