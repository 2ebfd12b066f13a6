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
    painter: Painter,
    /// One an instrument, and those of the lamps and the notice.
    layers: Vec<Layer>,
    /// How strongly each of them is laid over the frame, in 1/64.
    opacities: Vec<u8>,
    /// Film times between which the film runs, for the notice.
    span: (f64, f64),
}

impl<'a> Annotator<'a> {
    /// Prepares everything that does not change from frame to frame. `span` is the film times at which the film starts and ends.
    pub fn new(plan: &'a Plan, span: (f64, f64)) -> Result<Self, RenderError> {
        let painter = Painter::new(&plan.panel, plan.clip.video.shape, plan.look)?;
        Ok(Self {
            plan,
            readout: Readout::new(&plan.session, &plan.judged, &plan.panel),
            painter,
            layers: Vec::new(),
            opacities: Vec::new(),
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
        self.opacities.clear();
        for (i, drawn) in self.painter.draw(state).into_iter().enumerate() {
            self.opacities.push(drawn.opacity);
            if i == self.layers.len() {
                self.layers.push(Layer::new(drawn.patch.place)?);
            }
            for &dirty in drawn.dirty {
                self.layers[i].update(drawn.patch, dirty, &self.plan.clip.video.colour)?;
            }
        }
        for (layer, &opacity) in self.layers.iter().zip(&self.opacities).filter(|(_, opacity)| **opacity > 0) {
            layer.blend(planes, Some(opacity))?;
        }
        Ok(())
    }

    /// The layers as last drawn: which samples they cover.
    pub fn layers(&self) -> &[Layer] {
        &self.layers
    }

    /// Share of the frame's luma samples that the panel covers.
    pub fn covered_share(&self) -> f64 {
        let shape = self.plan.clip.video.shape;
        covered_share(&self.layers, shape.width, shape.height)
    }
}
