//! `jumpseat inspect --plot`: a log as a page of strips.

use super::panel::{write_picture, write_with};
use super::report::place_and_message;
use super::{Failure, Report};
use crate::draw::{Look, Plot, PlotMark};
use crate::finding::Finding;
use crate::recorder::Recording;
use image::{ImageFormat, RgbaImage};
use std::io::Write;
use std::path::Path;

/// Findings that get a line on the page.
const MOST: usize = 12;

/// Writes the page in the form that the output's ending names.
pub(super) fn write(recording: &Recording, output: &Path, overwrite: bool, report: &Report) -> Result<(), Failure> {
    let clock = &recording.clock;
    let name = recording.file.file_name().unwrap_or_default().to_string_lossy();
    let subtitle = format!(
        "{}, {} rows read, {} refused; {} to {}; pale: nothing recorded",
        recording.format.word(),
        recording.rows_read,
        recording.rows_refused,
        clock.first,
        clock.last
    );
    let marks = marks(recording);
    let plot = Plot {
        title: &name,
        subtitle: &subtitle,
        channels: &recording.channels,
        marks: &marks,
        duration_s: recording.duration_s(),
        look: Look::default(),
    };
    let (inputs, (width, height)) = ([recording.file.clone()], plot.size());
    match ending(output).as_str() {
        "svg" => write_with(output, overwrite, &inputs, |writer| writer.write_all(plot.svg().as_bytes()))?,
        _ => {
            let picture = RgbaImage::from_raw(width, height, plot.pixels().rgba)
                .ok_or_else(|| Failure::work("the page does not fit its own picture"))?;
            write_picture(&picture.into(), ImageFormat::Png, output, overwrite, &inputs)?;
        }
    }
    report.say(&format!("wrote {} ({width} x {height})", output.display()));
    Ok(())
}

/// Refuses an ending that names no picture before any log is read.
pub(super) fn check_ending(output: &Path) -> Result<(), Failure> {
    match ending(output).as_str() {
        "svg" | "png" => Ok(()),
        _ => Err(Failure::input(format!(
            "{}: the ending names no picture that is written; use .png or .svg",
            output.display()
        ))),
    }
}

fn ending(output: &Path) -> String {
    output.extension().unwrap_or_default().to_string_lossy().to_ascii_lowercase()
}

/// The graver findings first, as they are told, each where its row was written.
fn marks(recording: &Recording) -> Vec<PlotMark> {
    let mut sorted: Vec<&Finding> = recording.findings.iter().collect();
    sorted.sort_by_key(|finding| std::cmp::Reverse(finding.severity));
    let mark = |finding: &&Finding| PlotMark {
        at_s: finding.at_s,
        column: finding.column.clone(),
        severity: finding.severity,
        text: place_and_message(finding),
    };
    sorted.iter().take(MOST).map(mark).collect()
}
