//! `jumpseat demo`: an invented flight with its film, its logs, its files and its truth.

use super::{Failure, Report};
use crate::demo::{self, DemoError, DemoOptions};
use std::path::PathBuf;

/// Arguments of `demo`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// The folder to fill; made if it is not there
    #[arg(value_name = "DIR")]
    folder: PathBuf,
    /// Length of the flight; below 600 it is compressed
    #[arg(long, default_value_t = 90.0, value_name = "SECONDS")]
    seconds: f64,
    /// Another number, another flight
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Logs, files and truth only
    #[arg(long)]
    #[cfg_attr(not(feature = "codec"), arg(required = true))]
    no_film: bool,
    #[cfg(feature = "codec")]
    #[command(flatten)]
    film: super::demo_film::FilmArguments,
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let options = DemoOptions { seconds: arguments.seconds, seed: arguments.seed, film: false };
    #[cfg(feature = "codec")]
    if !arguments.no_film {
        return super::demo_film::run(&arguments.folder, &options, &arguments.film, report);
    }
    demo::write(&arguments.folder, &options).map_err(|e| match e {
        DemoError::Seconds { .. } | DemoError::Exists { .. } => Failure::input(e),
        other => Failure::work(other),
    })?;
    let folder = arguments.folder.display();
    report.say(&format!(
        "wrote the flight of the Dunlin, of Harrowmere, to {folder}: everything in it is invented\n\
         next: jumpseat check {folder}/flight.toml; jumpseat readings {folder}/flight.toml -o readings.csv"
    ));
    Ok(())
}
