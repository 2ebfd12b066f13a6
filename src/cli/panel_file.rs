//! The owner's panel file: opened, its fonts read, and every fault found that its picture shows.

use super::load::at;
use crate::draw::{self, DrawError, Faint, Look, Theme, Typeface};
use crate::finding::Severity;
use crate::keyfile::Fault;
use crate::panel::file::{FontFile, PanelFile};
use crate::pixel::FrameShape;
use std::path::Path;

/// Longest font file that is read, in bytes.
const LONGEST_FONT: u64 = 64 << 20;
/// What to do where the typeface lacks a character.
pub(super) const FONT_CURE: &str =
    "name a font of your own that has it: [theme] font = \"FILE.ttf\"; or write it otherwise";

/// Reads a panel file and its fonts. The error is a panel file that cannot be opened.
pub(crate) fn open(file: &Path) -> Result<(PanelFile, Look), Box<Fault>> {
    let mut owners = crate::panel::file::open(file)?;
    let [regular, bold] = owners.fonts.clone().map(|font| font.map(|font| read(&font).map_err(|why| (font, why))));
    let mut faults = Vec::new();
    let mut typeface = None;
    match (regular.transpose(), bold.transpose()) {
        (Ok(None), _) => typeface = Some(Typeface::B612),
        (Ok(Some(regular)), Ok(bold)) => typeface = Typeface::new(regular, bold).ok(),
        (regular, bold) => {
            let wrong = [regular.err(), bold.err()].into_iter().flatten();
            faults.extend(wrong.map(|(font, why)| font_fault(&owners, &font, why)));
        }
    }
    let look = Look { theme: Theme::of(owners.panel.theme), typeface: typeface.unwrap_or_default() };
    // What a font that cannot be used would have held, nobody knows.
    if typeface.is_some() {
        let missing = draw::glyph_faults(&owners.panel, look.typeface);
        faults.extend(missing.iter().map(|error| fault(&owners, error)));
    }
    faults.extend(colour_faults(&owners));
    owners.faults.extend(faults);
    owners.faults.sort_by_key(|f| (f.line, f.place.start));
    Ok((owners, look))
}

/// Colours of the owner's own that are too faint.
fn colour_faults(panel: &PanelFile) -> Vec<Fault> {
    let fault = |faint: Faint| {
        let i = panel.panel.colours.iter().position(|colour| *colour == faint.colour);
        let place = i.and_then(|i| panel.colours.get(i)).cloned().unwrap_or(0..0);
        let (ratio, floor) = (faint.ratio, faint.floor);
        let message =
            format!("this colour has a contrast of {ratio:.1} over the worst film; it should be at least {floor}");
        let cure = "take a colour farther from that of the disc";
        at(&panel.document, &place, Severity::Warning, "faint_colour", "colours", message, cure)
    };
    draw::faint_colours(&panel.panel, Theme::of(panel.panel.theme)).into_iter().map(fault).collect()
}

/// What keeps a panel from being drawn on a picture of this shape.
pub(crate) fn place_faults(owners: &PanelFile, shape: FrameShape, look: Look) -> Vec<Fault> {
    let faults = draw::faults(&owners.panel, shape, look).into_iter();
    let of_places = faults.filter(|error| !matches!(error, DrawError::Glyph { .. }));
    of_places.map(|error| fault(owners, &error)).collect()
}

/// The bytes of a font that can be drawn with.
fn read(font: &FontFile) -> Result<Vec<u8>, String> {
    let name = font.file.display();
    let length = std::fs::metadata(&font.file).map_err(|e| format!("{name}: {e}"))?;
    if !length.is_file() || length.len() > LONGEST_FONT {
        return Err(format!("{name}: not a file, or longer than {LONGEST_FONT} bytes"));
    }
    let bytes = std::fs::read(&font.file).map_err(|e| format!("{name}: {e}"))?;
    match Typeface::new(bytes.clone(), None) {
        Ok(_) => Ok(bytes),
        Err(error) => Err(format!("{name} {error}")),
    }
}

fn font_fault(owners: &PanelFile, font: &FontFile, why: String) -> Fault {
    let cure = "name a TrueType or OpenType file (.ttf, .otf) whose figures are all equally wide, or take the line out";
    at(&owners.document, &font.place, Severity::Error, "bad_font", &format!("theme.{}", font.key), why, cure)
}

/// A fault of the drawing at the line that can mend it.
fn fault(owners: &PanelFile, error: &DrawError) -> Fault {
    let (code, key, cure) = match error {
        DrawError::Glyph { key, .. } => ("glyph_missing", *key, FONT_CURE),
        DrawError::Scale { .. } => ("scale", "scale", "mend the breakpoints"),
        // The banner has one place only.
        _ if error.instrument() == draw::BANNER => ("place", "banner", "take it out, or move the other"),
        DrawError::Overlap { .. } => ("place", "place", "move it, or choose a smaller size"),
        _ => ("place", "place", "move it"),
    };
    let name = error.instrument();
    let i = owners.panel.instruments.iter().position(|i| i.name == name);
    let lines = i.and_then(|i| owners.lines.get(i));
    let place = match error {
        DrawError::Glyph { .. } => lines.map(|lines| lines.head.clone()),
        _ => lines.map(|lines| lines.place.clone()),
    };
    // The row of lamps is nobody's table; the first lamp leads there.
    let lamps = || owners.lamp_channels.iter().chain(&owners.limit_channels).next().map(|(_, place)| place.clone());
    let banner = owners.banner.clone().filter(|_| name == draw::BANNER);
    let place = banner.or(place).or_else(lamps).unwrap_or(0..0);
    at(&owners.document, &place, Severity::Error, code, key, error.to_string(), cure)
}
