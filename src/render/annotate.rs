//! One frame at a time: what the panel shows, drawn and laid over the frame's planes.

use super::{Plan, RenderError};
use crate::blend::{Layer, covered_share};
use crate::draw::Painter;
use crate::pixel::PlanesMut;
use crate::readout::{Notice, PanelState, Readout};
use crate::time::FilmTime;

/// Draws the panel over frames, in any order of time: the picture depends on the moment alone.
pub struct Annotator<'a> {
    plan: &'a Plan,
    readout: Readout<'a>,
    painter: Painter<Layer>,
    /// Film times between which the film runs, for the notice.
    span: (f64, f64),
}

impl<'a> Annotator<'a> {
    /// Prepares everything that does not change from frame to frame. `span` is the film times at which the film starts and ends.
    pub fn new(plan: &'a Plan, span: (f64, f64)) -> Result<Self, RenderError> {
        let video = &plan.clip.video;
        let painter = Painter::in_form(&plan.panel, video.shape, plan.look, video.colour)?;
        Ok(Self {
            plan,
            readout: Readout::new(&plan.session, &plan.judged, &plan.panel),
            painter,
            span,
        })
    }

    /// What the panel shows at a film time.
    pub fn state_at(&mut self, film: FilmTime) -> PanelState {
        let notice = Notice::at(film.0, self.span.0, self.span.1);
        self.readout.in_film(film, self.plan.session_time(film), notice)
    }

    /// Lays the panel in this state over the frame.
    pub fn lay_over(&mut self, state: &PanelState, planes: &mut PlanesMut<'_>) -> Result<(), RenderError> {
        for drawn in self.painter.draw(state).iter().filter(|drawn| drawn.opacity > 0) {
            drawn.patch.blend(planes, Some(drawn.opacity))?;
        }
        Ok(())
    }

    /// The pictures as last drawn: which samples they cover.
    pub fn layers(&self) -> Vec<&Layer> {
        self.painter.pictures().collect()
    }

    /// Share of the frame's luma samples that the panel covers.
    pub fn covered_share(&self) -> f64 {
        let shape = self.plan.clip.video.shape;
        covered_share(&self.layers(), shape.width, shape.height)
    }
}
