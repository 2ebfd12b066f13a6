//! `jumpseat join`: pieces of a film become the film.

use super::{Failure, Report, interrupt};
use crate::render;
use std::path::PathBuf;

/// Arguments of `join`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// The pieces that `render --part` wrote, in any order, each with its manifest beside it
    #[arg(value_name = "PART", required = true)]
    parts: Vec<PathBuf>,
    /// The film to write
    #[arg(short, long, value_name = "FILM")]
    output: PathBuf,
    /// Replace an output that exists
    #[arg(long)]
    overwrite: bool,
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let cancel = interrupt::listen()?;
    let (frames, findings) = render::join(&arguments.parts, &arguments.output, arguments.overwrite, cancel)?;
    report.findings(&arguments.output, &findings);
    let film = arguments.output.display();
    report.say(&format!("wrote {film}: {frames} frames from {} pieces, none encoded again", arguments.parts.len()));
    Ok(())
}
