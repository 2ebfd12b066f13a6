//! `jumpseat excerpts`: a short film of every event.

use super::plan::{PlanArguments, prepare};
use super::progress::Shown;
use super::render::{Thinking, film_moments, job};
use super::{Failure, Report, clocks, interrupt};
use crate::panel::Severity;
use crate::render::{FilmJob, render};
use crate::report::Moment;
use crate::time::FilmTime;
use crate::video::{Codec, EncodeSettings};
use clap::ValueEnum;
use std::path::PathBuf;

/// Arguments of `excerpts`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    #[command(flatten)]
    plan: PlanArguments,
    /// The folder for the films, which is made if it is not there
    #[arg(short, long, value_name = "DIR")]
    output: PathBuf,
    /// The least grave events that get a film; all takes in what is only part of a flight, as a take-off
    #[arg(long, value_enum, default_value_t)]
    least: Least,
    /// Seconds before an event
    #[arg(long, default_value_t = 5.0, value_name = "SECONDS", value_parser = seconds)]
    lead_in: f64,
    /// Seconds after an event
    #[arg(long, default_value_t = 5.0, value_name = "SECONDS", value_parser = seconds)]
    lead_out: f64,
    /// Say which films there would be, and write none
    #[arg(long)]
    list: bool,
    /// Leave out the tags that say where the film was taken
    #[arg(long)]
    no_location: bool,
    /// Quality: 0 keeps every bit, 51 is worst; 20 by default
    #[arg(long, value_parser = clap::value_parser!(u8).range(0..=51))]
    crf: Option<u8>,
    /// Time spent on smaller files
    #[arg(long, value_enum, default_value_t)]
    speed: Thinking,
    /// Threads for the decoder and as many for the encoder; 0 for as many as the machine has
    #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u16).range(0..=64))]
    threads: u16,
    /// Replace films that exist
    #[arg(long)]
    overwrite: bool,
}

/// Which events get a film.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Least {
    Warning,
    Caution,
    #[default]
    Advisory,
    All,
}

impl Least {
    fn takes(self, moment: &Moment) -> bool {
        match self {
            Self::Warning => moment.severity == Some(Severity::Warning),
            Self::Caution => moment.severity.is_some_and(|severity| severity <= Severity::Caution),
            Self::Advisory => moment.severity.is_some(),
            Self::All => true,
        }
    }
}

fn seconds(text: &str) -> Result<f64, String> {
    match text.strip_suffix('s').unwrap_or(text).parse::<f64>() {
        Ok(seconds) if (0.0..=600.0).contains(&seconds) => Ok(seconds),
        _ => Err("expected seconds from 0 to 600, for example 5".into()),
    }
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let prepared = prepare(&arguments.plan, None, report)?;
    prepared.show(arguments.plan.strict, report)?;
    let plan = &prepared.plan;
    report.say(&clocks::clock_line(&plan.fit));
    let wanted: Vec<Moment> = film_moments(plan).into_iter().filter(|moment| arguments.least.takes(moment)).collect();
    let settings = EncodeSettings {
        codec: Codec::H264,
        crf: arguments.crf,
        rate: None,
        speed: arguments.speed.into(),
        threads: usize::from(arguments.threads),
    };
    let films: Vec<(PathBuf, &Moment, (f64, f64))> = wanted
        .iter()
        .enumerate()
        .map(|(i, moment)| {
            let span = (moment.from_s - arguments.lead_in, moment.to_s + arguments.lead_out);
            let span = (span.0.max(0.0), span.1.min(plan.clip.duration_s));
            (arguments.output.join(format!("{:02}-{}.mp4", i + 1, plain(&moment.name))), moment, span)
        })
        .collect();
    if arguments.list {
        for (file, moment, (from, to)) in &films {
            report.say(&format!("{}: {from:.1} to {to:.1} s of the film: {}", file.display(), moment.text));
        }
    }
    if films.is_empty() {
        report.say(
            "the film shows no event that was asked for; jumpseat debrief says what was judged, --least all takes more",
        );
    }
    if arguments.list || films.is_empty() {
        return Ok(());
    }
    std::fs::create_dir_all(&arguments.output).map_err(|e| {
        let folder = arguments.output.display();
        Failure::input(format!("{folder}: cannot be made: {e}; choose a folder that may be written"))
    })?;
    // Refused before the work, not in the middle of it.
    if let Some((file, ..)) = films.iter().find(|(file, ..)| file.exists() && !arguments.overwrite) {
        return Err(Failure::input(format!("{}: is there already; give --overwrite to replace it", file.display())));
    }
    let cancel = interrupt::listen()?;
    for (file, moment, (from, to)) in films {
        let job = FilmJob {
            from: Some(FilmTime(from)),
            to: Some(FilmTime(to)),
            // Of a few seconds there is nothing to choose from.
            chapters: Some(Vec::new()),
            drops_location: arguments.no_location,
            overwrite: arguments.overwrite,
            strict: arguments.plan.strict,
            ..job(plan, &prepared.inputs, file, settings.clone())?
        };
        let mut progress = Shown::new(report.is_quiet());
        let result = render(plan, &job, &mut progress, cancel);
        progress.end();
        let summary = result?;
        report.findings(&plan.clip.file, &summary.findings);
        report.say(&format!("wrote {}: {}, {} frames", job.output.display(), moment.text, summary.frames));
    }
    report.say("Recorded data, not for use in flight. The flight manual and the owner's own limits govern.");
    Ok(())
}

/// A name that every file system takes: small letters and digits, the rest as single hyphens.
fn plain(name: &str) -> String {
    let letters = name.chars().map(|c| if c.is_alphanumeric() { c.to_ascii_lowercase() } else { ' ' });
    letters.collect::<String>().split_whitespace().collect::<Vec<_>>().join("-")
}
