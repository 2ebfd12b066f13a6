//! `jumpseat still`: single frames.

use super::panel::write_picture;
use super::plan::{Moment, PlanArguments, prepare};
use super::{Failure, Report, clocks, still_strip};
use crate::render::still;
use clap::ArgAction;
use image::{DynamicImage, ImageFormat};
use std::path::{Path, PathBuf};

/// Arguments of `still`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    #[command(flatten)]
    plan: PlanArguments,
    /// The moment: the last frame at or before it is written; may be repeated
    #[arg(long, value_name = "TIME", required = true, action = ArgAction::Append)]
    at: Vec<Moment>,
    /// The picture to write (.png or .jpg); several moments are numbered: pic-1.png, pic-2.png ...
    #[arg(short, long, value_name = "PIC")]
    output: PathBuf,
    /// Nine frames around each moment on one page
    #[arg(long)]
    strip: bool,
    /// Time between two frames of the strip, in seconds
    #[arg(long, default_value = "0.1s", value_name = "SECONDS", value_parser = super::readings::seconds, requires = "strip")]
    every: f64,
    /// Replace pictures that exist
    #[arg(long)]
    overwrite: bool,
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let format = match ImageFormat::from_path(&arguments.output) {
        Ok(format @ (ImageFormat::Png | ImageFormat::Jpeg)) => format,
        _ => {
            let file = arguments.output.display();
            return Err(Failure::input(format!(
                "{file}: the ending names no picture format that is written; use .png or .jpg"
            )));
        }
    };
    let prepared = prepare(&arguments.plan, None, report)?;
    prepared.show(arguments.plan.strict, report)?;
    // Every moment is drawn before the first is written: a bad one leaves no half of a set behind.
    let plan = &prepared.plan;
    report.say(&clocks::clock_line(&plan.fit));
    let drawn = arguments.at.iter().map(|moment| {
        let at = moment.film_time(plan)?;
        if arguments.strip { still_strip::page(plan, at, arguments.every) } else { Ok(still(plan, at)?.into()) }
    });
    for (i, image) in drawn.collect::<Result<Vec<DynamicImage>, Failure>>()?.into_iter().enumerate() {
        let output = numbered(&arguments.output, (arguments.at.len() > 1).then_some(i + 1));
        let size = format!("{} x {}", image.width(), image.height());
        write_picture(&image, format, &output, arguments.overwrite, &prepared.inputs)?;
        report.say(&format!("wrote {} ({size})", output.display()));
    }
    Ok(())
}

/// `pic.png` -> `pic-2.png`.
fn numbered(output: &Path, number: Option<usize>) -> PathBuf {
    let Some(number) = number else { return output.to_owned() };
    let stem = output.file_stem().unwrap_or_default().to_string_lossy();
    let ending = output.extension().unwrap_or_default().to_string_lossy();
    output.with_file_name(format!("{stem}-{number}.{ending}"))
}
