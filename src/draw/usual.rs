//! What an owner is used to in one part of a flight: a thin bracket over the marking lane, shown while it counts.
//!
//! It is ink and hollow, with caps at both ends: no band, block, tooth or T of a limit looks like it.

use crate::panel::{Marking, UsualRange};
use crate::readout::{InstrumentState, PanelState};

use super::advice::Form;
use super::face::{Face, Ground};
use super::part::{Part, StateKey};
use super::scene::Scene;

/// A face with the brackets of its usual ranges.
struct WithUsual {
    face: Box<dyn Face>,
    /// One a range.
    brackets: Vec<Scene>,
}

/// A face with its usual ranges; the face itself where there are none.
pub(super) fn with_usual(face: Box<dyn Face>, ranges: &[UsualRange]) -> Box<dyn Face> {
    if ranges.is_empty() {
        return face;
    }
    let brackets = ranges.iter().map(|range| face.bracket(range)).collect();
    Box::new(WithUsual { face, brackets })
}

impl Face for WithUsual {
    fn face(&self) -> Scene {
        self.face.face()
    }

    fn lettering(&self) -> Scene {
        self.face.lettering()
    }

    /// The brackets lie under the hands.
    fn key(&self, instrument: &InstrumentState, panel: &PanelState) -> StateKey {
        let counts = |i: &usize| instrument.usual.get(*i).copied().unwrap_or(false);
        let brackets = (0..self.brackets.len()).filter(counts).map(Part::Usual);
        brackets.chain(self.face.key(instrument, panel)).collect()
    }

    fn part(&self, part: &Part) -> Scene {
        match part {
            Part::Usual(i) => self.brackets.get(*i).cloned().unwrap_or_default(),
            part => self.face.part(part),
        }
    }

    fn forms(&self) -> Vec<Vec<(Marking, Form)>> {
        self.face.forms()
    }

    fn ground(&self) -> Ground {
        self.face.ground()
    }

    fn extent(&self) -> Scene {
        self.face.extent()
    }
}
