//! Scenes as SVG 1.1: the same outlines that the raster gets, text included, so that no reader needs the typeface.

use std::fmt::Write;

use super::path::{Path, Segment};
use super::scene::{Outline, Paint, Scene, Stroke};
use super::theme::Rgba;

/// No line is thinner than this many pixels, as in the raster.
const THINNEST: f64 = 1.01;

/// A picture of `width` by `height` pixels with scenes over each other, first one lowest. Outside them it is clear.
pub fn svg<'a>(width: u32, height: u32, scenes: impl IntoIterator<Item = &'a Scene>) -> String {
    let mut out = Document { text: String::new(), gradients: 0 };
    out.put(format_args!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\">\n"
    ));
    for item in scenes.into_iter().flat_map(|scene| &scene.items) {
        item.outlines().iter().for_each(|outline| out.item(outline));
    }
    out.text.push_str("</svg>\n");
    out.text
}

struct Document {
    text: String,
    gradients: u32,
}

impl Document {
    fn put(&mut self, what: std::fmt::Arguments<'_>) {
        // Writing to a String cannot fail.
        let _ = self.text.write_fmt(what);
    }

    /// The line, then the fill over it.
    fn item(&mut self, item: &Outline) {
        let outline = outline(&item.path);
        if let Some(Stroke { width, colour, dash }) = item.stroke {
            let (hex, width) = (hex(colour), width.max(THINNEST));
            self.put(format_args!(
                "<path d=\"{outline}\" fill=\"none\" stroke=\"{hex}\" stroke-width=\"{width:.3}\" stroke-linejoin=\"round\""
            ));
            if colour.alpha < 1.0 {
                self.put(format_args!(" stroke-opacity=\"{:.3}\"", colour.alpha));
            }
            if let Some((on, off)) = dash {
                self.put(format_args!(" stroke-dasharray=\"{on:.3} {off:.3}\""));
            }
            self.text.push_str("/>\n");
        }
        match &item.fill {
            None => {}
            Some(Paint::Solid(colour)) => {
                self.put(format_args!("<path d=\"{outline}\" fill=\"{}\"", hex(*colour)));
                if colour.alpha < 1.0 {
                    self.put(format_args!(" fill-opacity=\"{:.3}\"", colour.alpha));
                }
                self.text.push_str("/>\n");
            }
            Some(Paint::Radial { centre, radius, stops }) => {
                let id = self.gradients;
                self.gradients += 1;
                let (x, y) = centre;
                self.put(format_args!(
                    "<radialGradient id=\"g{id}\" gradientUnits=\"userSpaceOnUse\" cx=\"{x:.3}\" cy=\"{y:.3}\" r=\"{radius:.3}\">"
                ));
                for (at, colour) in stops {
                    let (hex, alpha) = (hex(*colour), colour.alpha);
                    self.put(format_args!(
                        "<stop offset=\"{at:.4}\" stop-color=\"{hex}\" stop-opacity=\"{alpha:.3}\"/>"
                    ));
                }
                self.put(format_args!("</radialGradient>\n<path d=\"{outline}\" fill=\"url(#g{id})\"/>\n"));
            }
        }
    }
}

fn hex(colour: Rgba) -> String {
    let [r, g, b] = colour.rgb;
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// Path data with hundredths of a pixel.
fn outline(path: &Path) -> String {
    let mut text = String::with_capacity(24 * path.segments.len());
    let mut put = |letter: char, points: &[(f64, f64)]| {
        text.push(letter);
        for (i, (x, y)) in points.iter().enumerate() {
            let gap = if i == 0 { "" } else { " " };
            let _ = write!(text, "{gap}{x:.2} {y:.2}");
        }
    };
    for segment in &path.segments {
        match *segment {
            Segment::Move(p) => put('M', &[p]),
            Segment::Line(p) => put('L', &[p]),
            Segment::Quad(c, p) => put('Q', &[c, p]),
            Segment::Cubic(c, d, p) => put('C', &[c, d, p]),
            Segment::Close => put('Z', &[]),
        }
    }
    text
}
