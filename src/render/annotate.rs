//! What the panel shows, drawn and laid over the planes of some frames at a time.

use super::{Plan, RenderError};
use crate::blend::Film;
use crate::draw::Painter;
use crate::pixel::{PlanesMut, Sample, Sampling};
use crate::readout::{Notice, PanelState, Readout};
use crate::time::FilmTime;
use crate::video::Frame;

/// Draws the panel over frames, in any order of time: the picture depends on the moment alone.
pub struct Annotator<'a> {
    plan: &'a Plan,
    readout: Readout<'a>,
    painting: Painting,
    /// Film times between which the film runs, for the notice.
    span: (f64, f64),
}

/// A panel in the samples of a film, and how its frames are laid on.
struct Laid<T: Sample> {
    painter: Painter<Film<T>>,
    film: Film<T>,
}

/// By the type of the film's samples.
enum Painting {
    Bytes(Laid<u8>),
    Words(Laid<u16>),
}

impl<T: Sample> Laid<T> {
    fn new(plan: &Plan) -> Result<Self, RenderError> {
        let video = &plan.clip.video;
        let film = Film::coded(&video.coding);
        Ok(Self { painter: Painter::in_form(&plan.panel, video.shape, plan.look, film)?, film })
    }

    fn paint<'f>(
        &mut self,
        states: &[PanelState],
        planes: impl Iterator<Item = Option<PlanesMut<'f, T>>>,
    ) -> Result<(), RenderError> {
        let canvas = |planes: Option<PlanesMut<'f, T>>| Ok(self.film.canvas(planes.ok_or(RenderError::OtherFrame)?)?);
        let mut frames = planes.map(canvas).collect::<Result<Vec<_>, RenderError>>()?;
        self.painter.paint(states, &mut frames);
        Ok(())
    }

    fn lay(&mut self, planes: PlanesMut<'_, T>) -> Result<(), RenderError> {
        self.painter.lay(&mut self.film.canvas(planes)?);
        Ok(())
    }

    /// Luma samples that the panel covers as it was last laid: what covers a sample at all moves it from black, or from white.
    fn covered(&mut self, plan: &Plan) -> Result<usize, RenderError> {
        let video = &plan.clip.video;
        let (width, height, sampling) = (video.shape.width, video.shape.height, video.coding.sampling);
        let highest = T::of((1 << video.coding.depth) - 1);
        let mut on = |code: T| -> Result<Vec<T>, RenderError> {
            let samples = width as usize * height as usize;
            let chroma = if sampling == Sampling::Gray { 0 } else { samples };
            let (mut y, mut u, mut v) = (vec![code; samples], vec![code; chroma], vec![code; chroma]);
            let stride = width as usize;
            self.lay(PlanesMut {
                y: &mut y,
                u: &mut u,
                v: &mut v,
                y_stride: stride,
                c_stride: stride,
                width,
                height,
                sampling,
            })?;
            Ok(y)
        };
        let (black, white) = (on(T::default())?, on(highest)?);
        Ok(black.iter().zip(&white).filter(|&(&black, &white)| (black, white) != (T::default(), highest)).count())
    }
}

impl<'a> Annotator<'a> {
    /// Prepares everything that does not change from frame to frame. `span` is the film times at which the film starts and ends.
    pub fn new(plan: &'a Plan, span: (f64, f64)) -> Result<Self, RenderError> {
        let painting = if plan.clip.video.coding.depth > 8 {
            Painting::Words(Laid::new(plan)?)
        } else {
            Painting::Bytes(Laid::new(plan)?)
        };
        let readout = Readout::new(&plan.session, &plan.judged, &plan.panel).with_captions(&plan.captions);
        Ok(Self { plan, readout, painting, span })
    }

    /// What the panel shows at a film time.
    pub fn state_at(&mut self, film: FilmTime) -> PanelState {
        let notice = Notice::at(film.0, self.span.0, self.span.1);
        self.readout.in_film(film, self.plan.session_time(film), notice)
    }

    /// Lays the panel over frames, which nobody else may hold, over each in the state of its number.
    ///
    /// # Errors
    /// A frame is not one of the film that this was made for; nothing is laid then.
    pub fn lay_over(&mut self, states: &[PanelState], frames: &mut [Frame]) -> Result<(), RenderError> {
        match &mut self.painting {
            Painting::Bytes(laid) => laid.paint(states, frames.iter_mut().map(Frame::planes_mut)),
            Painting::Words(laid) => laid.paint(states, frames.iter_mut().map(Frame::planes_mut)),
        }
    }

    /// Share of the frame's luma samples that the panel covers as it was last laid.
    ///
    /// # Errors
    /// None that a film's own shape can cause.
    pub fn covered_share(&mut self) -> Result<f64, RenderError> {
        let covered = match &mut self.painting {
            Painting::Bytes(laid) => laid.covered(self.plan)?,
            Painting::Words(laid) => laid.covered(self.plan)?,
        };
        let shape = self.plan.clip.video.shape;
        Ok(covered as f64 / (f64::from(shape.width) * f64::from(shape.height)).max(1.0))
    }
}
