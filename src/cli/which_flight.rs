//! The flight of a command: a flight file, or what `--film` and `--log` stand for.

use super::Failure;
use super::hearing::Listen;
use super::load::{Compute, Loaded, load, load_flight};
use crate::flight;
use crate::keyfile::{Document, Fault};
use crate::session::DERIVED;
use std::fmt::Write;
use std::path::{Path, PathBuf};

/// What the flight of `--film` and `--log` is called where a flight file would be named.
const LOOSE: &str = "--film and --log";

/// Arguments of every command that reads a flight and makes no film of it.
#[derive(clap::Args)]
pub(crate) struct FlightArguments {
    /// The flight file; or give --film and --log instead
    #[arg(value_name = "FLIGHT", required_unless_present = "log", conflicts_with_all = ["film", "log", "panel", "offset"])]
    flight: Option<PathBuf>,
    /// A clip; may be repeated
    #[arg(long, value_name = "CLIP", requires = "log")]
    film: Vec<PathBuf>,
    /// A log; may be repeated, and the first one's clock is that of the session
    #[arg(long, value_name = "LOG")]
    log: Vec<PathBuf>,
    /// The panel file
    #[arg(long, value_name = "PANEL", requires = "log")]
    panel: Option<PathBuf>,
    /// The first log's time (seconds since its first sample) at the first film's first frame
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true, requires_all = ["film", "log"])]
    offset: Option<f64>,
}

impl FlightArguments {
    /// Reads the flight and all that it names.
    pub(crate) fn load(&self, compute: Compute, listen: Listen) -> Result<Loaded, Box<Fault>> {
        match &self.flight {
            Some(file) => load(file, compute, listen),
            None => {
                let text = self.text().map_err(|message| Box::new(Fault::of_arguments(Path::new(LOOSE), message)))?;
                Ok(load_flight(flight::read(Document::of(Path::new(LOOSE), text)), compute, listen, None))
            }
        }
    }

    /// The flight file, if there is one.
    pub(crate) fn file(&self) -> Result<&Path, Failure> {
        self.flight.as_deref().ok_or_else(|| {
            Failure::input(format!("{LOOSE}: there is no flight file to write into; jumpseat new makes one"))
        })
    }

    /// What to call the flight.
    pub(crate) fn name(&self) -> String {
        self.flight.as_deref().unwrap_or(Path::new(LOOSE)).display().to_string()
    }

    /// The flight file that the arguments stand for, its paths relative to where the program runs.
    fn text(&self) -> Result<String, String> {
        let quoted = |text: &str| toml_edit::value(text).to_string();
        let path = |file: &PathBuf| {
            let text =
                file.to_str().ok_or_else(|| format!("{}: the name is not UTF-8; rename the file", file.display()));
            text.map(quoted)
        };
        let mut text = String::new();
        let mut names: Vec<String> = Vec::new();
        // A string takes whatever is written to it.
        if let Some(panel) = &self.panel {
            let _ = writeln!(text, "panel = {}", path(panel)?);
        }
        for film in &self.film {
            let _ = writeln!(text, "\n[[film]]\nfile = {}", path(film)?);
        }
        for log in &self.log {
            let name = log_name(log, &names);
            let _ = writeln!(text, "\n[[log]]\nname = {}\nfile = {}", quoted(&name), path(log)?);
            names.push(name);
        }
        if let (Some(offset), Some(log)) = (self.offset, names.first()) {
            if offset.is_nan() || offset.abs() > 1e9 {
                return Err("--offset takes seconds, less than 1e9 of them".into());
            }
            let _ = writeln!(text, "\n[[clock.mark]]\nfilm = \"0\"\n{} = {offset:?}", quoted(log));
        }
        Ok(text)
    }
}

/// A short name from the file's own, plain and not taken yet.
pub(super) fn log_name(file: &Path, taken: &[String]) -> String {
    let stem = file.file_stem().unwrap_or_default().to_string_lossy();
    let plain = |c: char| if c.is_alphanumeric() || c == '-' { c } else { '_' };
    let plain: String = stem.chars().map(plain).collect();
    let plain = if plain.is_empty() { "log".to_owned() } else { plain };
    let free = |name: &str| name != "film" && name != DERIVED && taken.iter().all(|log| log != name);
    let numbered = (2..).map(|n| format!("{plain}_{n}"));
    std::iter::once(plain.clone()).chain(numbered).find(|name| free(name)).unwrap_or(plain)
}
