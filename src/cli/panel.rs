//! `jumpseat panel`: the instruments alone.

use super::{Failure, Report};
use crate::draw::{Catalogue, Theme};
use crate::output::Pending;
use clap::ValueEnum;
use image::{DynamicImage, ImageFormat, RgbaImage};
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// Arguments of `panel`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Every instrument in every state, with an imaginary aircraft's scales
    #[arg(long, required = true)]
    catalogue: bool,
    /// Colours
    #[arg(long, value_enum, default_value_t)]
    theme: ThemeName,
    /// Width of the picture in pixels
    #[arg(long, default_value_t = 1920, value_parser = clap::value_parser!(u32).range(320..=7680))]
    width: u32,
    /// The picture to write (.png or .svg)
    #[arg(short, long, value_name = "PIC")]
    output: PathBuf,
    /// Replace a picture that exists
    #[arg(long)]
    overwrite: bool,
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
    let sheet = Catalogue::new(arguments.width, arguments.theme.into());
    let (width, height) = sheet.size();
    let output = &arguments.output;
    let ending = output.extension().unwrap_or_default().to_string_lossy().to_ascii_lowercase();
    match ending.as_str() {
        "svg" => {
            let text = sheet.svg().map_err(Failure::work)?;
            write_with(output, arguments.overwrite, &[], |writer| writer.write_all(text.as_bytes()))?;
        }
        "png" => {
            let picture = RgbaImage::from_raw(width, height, sheet.pixels().map_err(Failure::work)?)
                .ok_or_else(|| Failure::work("the catalogue does not fit its own picture"))?;
            write_picture(&picture.into(), ImageFormat::Png, output, arguments.overwrite, &[])?;
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
fn write_with(
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
