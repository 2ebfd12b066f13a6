//! `jumpseat panel`: the instruments alone.

use super::{Failure, Report, panel_advice, panel_file};
use crate::draw::{Catalogue, DrawError, PanelSheet, Theme};
use crate::finding::Severity;
use crate::output::Pending;
use crate::pixel::FrameShape;
use clap::ValueEnum;
use image::{DynamicImage, ImageFormat, RgbaImage};
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Arguments of `panel`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// The panel file: drawn over white, black, grey and a busy picture, then every instrument alone
    #[arg(value_name = "PANEL", required_unless_present = "catalogue", conflicts_with = "catalogue")]
    panel: Option<PathBuf>,
    /// Every instrument in every state, with an imaginary aircraft's scales
    #[arg(long)]
    catalogue: bool,
    /// Colours [default: the panel file's, else graphite]
    #[arg(long, value_enum)]
    theme: Option<ThemeName>,
    /// Size of the film that the panel is for; its sheet is twice as wide [default: 1920x1080]
    #[arg(long, value_name = "WxH", conflicts_with = "catalogue")]
    size: Option<FilmSize>,
    /// Width of the picture in pixels [default: 1920 with --catalogue, else twice the film's]
    #[arg(long, value_parser = clap::value_parser!(u32).range(320..=7680))]
    width: Option<u32>,
    /// The picture to write (.png or .svg)
    #[arg(short, long, value_name = "PIC")]
    output: PathBuf,
    /// Replace a picture that exists
    #[arg(long)]
    overwrite: bool,
}

/// A film's width and height in pixels.
#[derive(Debug, Clone, Copy)]
struct FilmSize {
    width: u32,
    height: u32,
}

impl std::str::FromStr for FilmSize {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let size = text.split_once('x').and_then(|(w, h)| Some((w.parse().ok()?, h.parse().ok()?)));
        match size {
            Some((width, height)) if [width, height].iter().all(|side| (160..=3840).contains(side)) => {
                Ok(Self { width, height })
            }
            _ => Err("expected WIDTHxHEIGHT with sides of 160 to 3840 pixels, for example 1920x1080".to_owned()),
        }
    }
}

/// The colour themes by name.
#[derive(Clone, Copy, Default, ValueEnum)]
pub(crate) enum ThemeName {
    #[default]
    Graphite,
    Porcelain,
    HighContrast,
}

impl From<ThemeName> for Theme {
    fn from(name: ThemeName) -> Self {
        match name {
            ThemeName::Graphite => Self::Graphite,
            ThemeName::Porcelain => Self::Porcelain,
            ThemeName::HighContrast => Self::HighContrast,
        }
    }
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let Some(file) = &arguments.panel else {
        let theme = arguments.theme.unwrap_or_default();
        let sheet = Catalogue::new(arguments.width.unwrap_or(1920), theme.into());
        return write_sheet(arguments, report, &[], sheet.size(), || sheet.svg(), || sheet.pixels());
    };
    let (mut owners, mut look) = panel_file::open(file).map_err(|fault| Failure::input(fault.message))?;
    if let Some(theme) = arguments.theme {
        look.theme = theme.into();
        // They were chosen for the panel file's theme.
        owners.panel.colours.clear();
    }
    let film = arguments.film();
    let shape = FrameShape::plain(film.0, film.1);
    let mut faults = owners.faults.clone();
    faults.extend(panel_file::place_faults(&owners, shape, look));
    faults.extend(panel_advice::remarks(&owners, shape, look));
    for fault in faults.iter().filter(|f| f.severity == Severity::Error || !report.is_quiet()) {
        report.block(&fault.with_caret(&owners.document.text, report.coloured()));
    }
    let errors = faults.iter().filter(|f| f.severity == Severity::Error).count();
    if errors > 0 {
        let faults = if errors == 1 { "1 fault".into() } else { format!("{errors} faults") };
        return Err(Failure::input(format!("{}: {faults} to mend", file.display())));
    }
    let sheet = PanelSheet::new(&owners.panel, film, look).map_err(Failure::work)?;
    let fonts = owners.fonts.iter().flatten().map(|font| font.file.clone());
    let inputs: Vec<PathBuf> = [file.clone()].into_iter().chain(fonts).collect();
    write_sheet(arguments, report, &inputs, sheet.size(), || sheet.svg(), || sheet.pixels())
}

impl Arguments {
    /// Size of the film on the sheet: as it is, or brought to half the width that was asked for.
    fn film(&self) -> (u32, u32) {
        let FilmSize { width, height } = self.size.unwrap_or(FilmSize { width: 1920, height: 1080 });
        match self.width {
            None => (width, height),
            Some(sheet) => {
                let scaled = f64::from(height) * f64::from(sheet / 2) / f64::from(width);
                (sheet / 2, (scaled.round() as u32).max(2))
            }
        }
    }
}

/// Writes a sheet in the form that the output's ending names.
fn write_sheet(
    arguments: &Arguments,
    report: &Report,
    inputs: &[PathBuf],
    (width, height): (u32, u32),
    svg: impl FnOnce() -> Result<String, DrawError>,
    pixels: impl FnOnce() -> Result<Vec<u8>, DrawError>,
) -> Result<(), Failure> {
    let output = &arguments.output;
    let ending = output.extension().unwrap_or_default().to_string_lossy().to_ascii_lowercase();
    match ending.as_str() {
        "svg" => {
            let text = svg().map_err(Failure::work)?;
            write_with(output, arguments.overwrite, inputs, |writer| writer.write_all(text.as_bytes()))?;
        }
        "png" => {
            let picture = RgbaImage::from_raw(width, height, pixels().map_err(Failure::work)?)
                .ok_or_else(|| Failure::work("the sheet does not fit its own picture"))?;
            write_picture(&picture.into(), ImageFormat::Png, output, arguments.overwrite, inputs)?;
        }
        _ => {
            let file = output.display();
            return Err(Failure::input(format!(
                "{file}: the ending names no picture that is written; use .png or .svg"
            )));
        }
    }
    report.say(&format!("wrote {} ({width} x {height})", output.display()));
    Ok(())
}

/// Writes a picture that appears under its name only when it is complete.
pub(crate) fn write_picture(
    picture: &DynamicImage,
    format: ImageFormat,
    output: &Path,
    overwrite: bool,
    inputs: &[PathBuf],
) -> Result<(), Failure> {
    write_with(output, overwrite, inputs, |writer| picture.write_to(writer, format).map_err(io::Error::other))
}

/// Writes a file that appears under its name only when it is complete.
pub(crate) fn write_with(
    output: &Path,
    overwrite: bool,
    inputs: &[PathBuf],
    write: impl FnOnce(&mut BufWriter<&File>) -> io::Result<()>,
) -> Result<(), Failure> {
    let pending = Pending::create(output, overwrite, inputs).map_err(Failure::from_output)?;
    let mut writer = BufWriter::new(pending.file());
    let written = write(&mut writer).and_then(|()| writer.flush());
    written.map_err(|e| Failure::work(format!("{}: writing failed: {e}", output.display())))?;
    drop(writer);
    pending.finish().map_err(Failure::from_output)
}
