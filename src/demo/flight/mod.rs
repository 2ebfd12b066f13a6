//! The data of the invented flight: two logs on two clocks that disagree, panel and flight file, and the truth.
//!
//! The aircraft is the *Dunlin*, an imaginary single-seat turbine helicopter, and flies from *Harrowmere*, an imaginary
//! field. Every number is invented. All values are closed forms of *true time*, which no logger knows: logs and truth are
//! written from the same functions, so nothing in the truth was ever resampled.

mod chance;
mod clocks;
mod curve;
mod dunlin;
mod files;
mod keys;
mod script;
#[cfg(test)]
mod tests;
mod texts;

#[cfg(feature = "codec")]
pub(super) use chance::Chance;
#[cfg(not(feature = "codec"))]
use chance::Chance;
use clocks::Clocks;
use dunlin::Dunlin;
use script::Script;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

/// The shortest flight, in seconds: below it, events would be shorter than a logger's step.
pub const SHORTEST_S: f64 = 60.0;
/// The longest flight, in seconds: the truth of three hours is about half a gigabyte.
pub const LONGEST_S: f64 = 10_800.0;

/// What flight is invented.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DemoOptions {
    /// Length of the flight from battery on to rotor stopped, in seconds; the engine logger runs some time before it.
    /// Below 600 the flight is compressed.
    pub seconds: f64,
    /// Choice of clocks, peaks and gusts; the same seed gives the same bytes.
    pub seed: u64,
    /// Whether a film `cockpit.mp4` lies beside the logs: the flight file then names it, and its marks carry film times.
    pub film: bool,
}

impl Default for DemoOptions {
    fn default() -> Self {
        Self { seconds: 90.0, seed: 1, film: false }
    }
}

/// Why the flight could not be written.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// A length outside what the script can bear.
    #[error("a flight of {found} s cannot be invented; expected {SHORTEST_S} to {LONGEST_S} seconds")]
    Seconds {
        /// The length asked for.
        found: f64,
    },
    /// A file of that name is there already, and may be the owner's.
    #[error("{}: is there already and is left as it is; name an empty or a new folder", file.display())]
    Exists {
        /// The file.
        file: PathBuf,
    },
    /// A file could not be written.
    #[error("{}: cannot be written: {source}; check the rights and the room on the disk", file.display())]
    Write {
        /// The file or folder.
        file: PathBuf,
        /// What the system said.
        source: io::Error,
    },
}

/// Everything that is known of one invented flight.
pub(super) struct Flight {
    script: Script,
    dunlin: Dunlin,
    clocks: Clocks,
    options: DemoOptions,
}

impl Flight {
    pub(super) fn invent(options: &DemoOptions) -> Result<Self, DemoError> {
        if !(SHORTEST_S..=LONGEST_S).contains(&options.seconds) {
            return Err(DemoError::Seconds { found: options.seconds });
        }
        let mut chance = Chance::new(options.seed);
        let script = Script::new(options.seconds, &mut chance);
        let clocks = Clocks::new(&script, &mut chance);
        let dunlin = Dunlin::new(&script, &mut chance);
        Ok(Self { script, dunlin, clocks, options: *options })
    }
}

/// What a camera in the cockpit needs.
#[cfg(feature = "codec")]
impl Flight {
    /// The values of the air log's columns at a true time: kt, ft, ft, ft/min, degrees, °C, kt.
    pub(super) fn air(&self, t: f64) -> [f64; dunlin::AIR.len()] {
        self.dunlin.air(t)
    }

    /// The values of the engine log's columns at a true time, in the order of the log; lamps are 0 or 1.
    pub(super) fn engine(&self, t: f64) -> [f64; dunlin::ENGINE.len()] {
        self.dunlin.engine(t)
    }

    /// True time at a film time.
    pub(super) fn true_time(&self, film_s: f64) -> f64 {
        self.clocks.film.time(film_s)
    }

    /// Film time at which the camera is switched off: with the engine log's last record, the rotor having stopped.
    pub(super) fn film_end_s(&self) -> f64 {
        self.clocks.film.at(self.clocks.engine_end)
    }

    /// UTC as the air logger counts it at film time 0, in seconds since midnight.
    pub(super) fn film_start_utc_s(&self) -> f64 {
        self.clocks.air_first_tenths as f64 / 10.0 + self.clocks.air.at(self.true_time(0.0))
    }

    /// Height of the field above the sea, in feet.
    pub(super) const FIELD_FT: f64 = dunlin::FIELD_FT;

    /// The choice of everything that chance decides.
    pub(super) fn seed(&self) -> u64 {
        self.options.seed
    }
}

/// How one of the files is written.
type Writer = fn(&Flight, &mut dyn Write) -> io::Result<()>;

/// The files, in the order in which they are written.
const FILES: [(&str, Writer); 6] = [
    ("air.csv", files::air),
    ("engine.csv", files::engine),
    ("truth.csv", files::truth),
    ("events.csv", files::events),
    ("panel.toml", texts::panel),
    ("flight.toml", texts::flight),
];

/// Invents a flight and writes `air.csv`, `engine.csv`, `truth.csv`, `events.csv`, `panel.toml` and `flight.toml` into
/// `dir`, which is made if it is not there.
///
/// # Errors
/// [`DemoError`]: the length is out of range, one of the files is there already, or one cannot be written.
pub fn write(dir: &Path, options: &DemoOptions) -> Result<(), DemoError> {
    let flight = Flight::invent(options)?;
    prepare(dir)?;
    write_files(dir, &flight)
}

/// Makes the folder, and refuses one that holds any of the files.
pub(super) fn prepare(dir: &Path) -> Result<(), DemoError> {
    fs::create_dir_all(dir).map_err(|source| DemoError::Write { file: dir.to_owned(), source })?;
    match FILES.iter().map(|(name, _)| dir.join(name)).find(|file| file.exists()) {
        Some(file) => Err(DemoError::Exists { file }),
        None => Ok(()),
    }
}

/// Writes all files but a film; all of them or none.
pub(super) fn write_files(dir: &Path, flight: &Flight) -> Result<(), DemoError> {
    for (i, (name, writer)) in FILES.into_iter().enumerate() {
        let file = dir.join(name);
        let written = File::create_new(&file).and_then(|opened| {
            let mut out = BufWriter::with_capacity(1 << 16, opened);
            writer(flight, &mut out)?;
            out.flush()
        });
        if let Err(source) = written {
            // Half a flight would stand in the way of the next try. What cannot be removed either is named by the error.
            for (name, _) in &FILES[..=i] {
                let _ = fs::remove_file(dir.join(name));
            }
            return Err(DemoError::Write { file, source });
        }
    }
    Ok(())
}
