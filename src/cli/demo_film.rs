//! `jumpseat demo` with its cockpit film, or with the film's sound alone.

use super::progress::Shown;
use super::{Failure, Report, interrupt};
use crate::demo::DemoOptions;
use crate::demo::film::{self, FilmError, FilmOptions};
use crate::render::Progress;
use crate::time::Rational;
use std::path::Path;
use std::time::Instant;

/// Arguments of `demo` that concern its film.
#[derive(clap::Args)]
pub(crate) struct FilmArguments {
    /// The film's sound only, as an audio file
    #[arg(long, conflicts_with_all = ["no_film", "size", "fps"])]
    sound_only: bool,
    /// Size of the film: even sides from 320x180 to 3840x2160
    #[arg(long, default_value = "1280x720", value_name = "WIDTHxHEIGHT", value_parser = size, conflicts_with = "no_film")]
    size: (u32, u32),
    /// Frames a second, 1 to 240, whole or a ratio such as 30000/1001
    #[arg(long, default_value = "30", value_name = "RATE", value_parser = rate, conflicts_with = "no_film")]
    fps: Rational,
}

fn size(text: &str) -> Result<(u32, u32), String> {
    let sides = text.split_once('x').and_then(|(w, h)| Some((w.parse().ok()?, h.parse().ok()?)));
    sides.ok_or_else(|| "expected width and height in pixels, for example 1280x720".into())
}

fn rate(text: &str) -> Result<Rational, String> {
    let (num, den) = text.split_once('/').unwrap_or((text, "1"));
    match (num.parse(), den.parse()) {
        (Ok(num @ 1..), Ok(den @ 1..)) => Ok(Rational::new(num, den)),
        _ => Err("expected frames a second, for example 30 or 30000/1001".into()),
    }
}

pub(crate) fn run(
    folder: &Path,
    options: &DemoOptions,
    arguments: &FilmArguments,
    report: &Report,
) -> Result<(), Failure> {
    let failed = |e: FilmError| Failure { code: e.exit_code(), message: e.to_string() };
    let cancel = interrupt::listen()?;
    let start = Instant::now();
    let shown = folder.display();
    if arguments.sound_only {
        let written = film::write_sound(folder, options, cancel).map_err(failed)?;
        report.say(&format!(
            "wrote the flight of the Dunlin, of Harrowmere, to {shown}, and {:.1} s of its sound to {}, in {:.1} s: everything in it is invented",
            written.seconds,
            written.file.display(),
            start.elapsed().as_secs_f64()
        ));
        return Ok(());
    }
    let film = FilmOptions { width: arguments.size.0, height: arguments.size.1, frame_rate: arguments.fps };
    let mut progress = Shown::new(report.is_quiet());
    let written = film::write(folder, options, &film, &mut |done, all, at| progress.frame(done, all, at), cancel);
    progress.end();
    let written = written.map_err(failed)?;
    report.say(&format!(
        "wrote the flight of the Dunlin, of Harrowmere, to {shown}, with a cockpit film of {} frames in {:.1} s: everything in it is invented\n\
         next: jumpseat check {shown}/flight.toml; jumpseat render {shown}/flight.toml -o film.mp4",
        written.frames,
        start.elapsed().as_secs_f64()
    ));
    Ok(())
}
