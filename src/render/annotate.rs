//! One frame at a time: what the panel shows, drawn and laid over the frame's planes.

use super::{Plan, RenderError};
use crate::blend::{Canvas, Film};
use crate::draw::Painter;
use crate::pixel::PlanesMut;
use crate::readout::{Notice, PanelState, Readout};
use crate::time::FilmTime;

/// Draws the panel over frames, in any order of time: the picture depends on the moment alone.
pub struct Annotator<'a> {
    plan: &'a Plan,
    readout: Readout<'a>,
    painter: Painter<Film>,
    /// Film times between which the film runs, for the notice.
    span: (f64, f64),
}

impl<'a> Annotator<'a> {
    /// Prepares everything that does not change from frame to frame. `span` is the film times at which the film starts and ends.
    pub fn new(plan: &'a Plan, span: (f64, f64)) -> Result<Self, RenderError> {
        let video = &plan.clip.video;
        let painter = Painter::in_form(&plan.panel, video.shape, plan.look, Film::new(&video.colour))?;
        Ok(Self { plan, readout: Readout::new(&plan.session, &plan.judged, &plan.panel), painter, span })
    }

    /// What the panel shows at a film time.
    pub fn state_at(&mut self, film: FilmTime) -> PanelState {
        let notice = Notice::at(film.0, self.span.0, self.span.1);
        self.readout.in_film(film, self.plan.session_time(film), notice)
    }

    /// Lays the panel in this state over the frame.
    pub fn lay_over(&mut self, state: &PanelState, planes: PlanesMut<'_>) -> Result<(), RenderError> {
        let mut canvas = Canvas::new(planes)?;
        self.painter.show(state);
        self.painter.lay(&mut canvas);
        Ok(())
    }

    /// Share of the frame's luma samples that the panel covers as it was last laid.
    ///
    /// # Errors
    /// None that a film's own shape can cause.
    pub fn covered_share(&mut self) -> Result<f64, RenderError> {
        // What covers a sample at all moves it from black, or from white.
        let shape = self.plan.clip.video.shape;
        let (width, height) = (shape.width, shape.height);
        let mut on = |code: u8| -> Result<Vec<u8>, RenderError> {
            let samples = width as usize * height as usize;
            let (mut y, mut u, mut v) = (vec![code; samples], vec![code; samples / 4], vec![code; samples / 4]);
            let (y_stride, c_stride) = (width as usize, width as usize / 2);
            let planes = PlanesMut { y: &mut y, u: &mut u, v: &mut v, y_stride, c_stride, width, height };
            self.painter.lay(&mut Canvas::new(planes)?);
            Ok(y)
        };
        let (black, white) = (on(0)?, on(255)?);
        let covered = black.iter().zip(&white).filter(|&(&black, &white)| (black, white) != (0, 255)).count();
        Ok(covered as f64 / black.len().max(1) as f64)
    }
}
