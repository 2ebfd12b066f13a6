//! From `--film` and `--log` to a plan that can be rendered: everything is opened, joined and checked here.

use super::inputs::DateArguments;
use super::panel::ThemeName;
use super::{Failure, Report, report};
use crate::clock::{self, ClockFit};
use crate::draw::{DrawError, Painter};
use crate::finding::{Finding, Severity};
use crate::panel::{self, Arrangement, ChannelFacts, Panel};
use crate::recorder::{self, CsvOptions, Options, Recording};
use crate::render::Plan;
use crate::session::Session;
use crate::signal::Channel;
use crate::time::{FilmTime, LogTime, parse_film_time};
use crate::video::{self, Clip};
use std::path::{Path, PathBuf};

/// Arguments of every command that lays a log over a film.
#[derive(clap::Args)]
pub(crate) struct PlanArguments {
    /// The clip
    #[arg(long, value_name = "CLIP", required = true)]
    film: Vec<PathBuf>,
    #[command(flatten)]
    log: LogArguments,
    /// The log's time (seconds since its first sample) at the film's first frame
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    offset: Option<f64>,
    /// Colours of the instruments
    #[arg(long, value_enum, default_value_t)]
    theme: ThemeName,
    /// Leave the instruments out: the picture alone, encoded in the same way
    #[arg(long)]
    no_panel: bool,
    /// Take every warning as an error
    #[arg(long)]
    pub(crate) strict: bool,
}

/// The log, and what of it is shown.
#[derive(clap::Args)]
struct LogArguments {
    /// The log
    #[arg(long, value_name = "LOG", required = true)]
    log: Vec<PathBuf>,
    /// Show this column as a dial, in this unit if the log states none; may be repeated [default: what is recognised]
    #[arg(long, value_name = "COLUMN[=UNIT]")]
    dial: Vec<DialArgument>,
    #[command(flatten)]
    dates: DateArguments,
}

/// A column to show, and the owner's word for its unit.
#[derive(Debug, Clone)]
struct DialArgument {
    column: String,
    unit: Option<String>,
}

impl std::str::FromStr for DialArgument {
    type Err = std::convert::Infallible;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (column, unit) = text.split_once('=').map_or((text, None), |(c, u)| (c, Some(u.to_owned())));
        Ok(Self { column: column.to_owned(), unit })
    }
}

/// A plan and what was remarked while it was put together.
pub(crate) struct Prepared {
    pub(crate) plan: Plan,
    pub(crate) inputs: Vec<PathBuf>,
    /// Remarks by file.
    pub(crate) findings: Vec<(PathBuf, Finding)>,
}

impl Prepared {
    /// Shows the remarks; with `--strict` the first warning ends the work before it starts.
    pub(crate) fn show(&self, strict: bool, report: &Report) -> Result<(), Failure> {
        if strict {
            report::strict(self.findings.iter().map(|(file, finding)| (file.as_path(), finding)))?;
        }
        let mut rest = &self.findings[..];
        while let Some((file, _)) = rest.first() {
            let (these, others) = rest.split_at(rest.iter().take_while(|(f, _)| f == file).count());
            let these: Vec<Finding> = these.iter().map(|(_, finding)| finding.clone()).collect();
            report.findings(file, &these);
            rest = others;
        }
        Ok(())
    }
}

/// Opens, joins and checks everything.
pub(crate) fn prepare(arguments: &PlanArguments) -> Result<Prepared, Failure> {
    let ([film], [log]) = (&arguments.film[..], &arguments.log.log[..]) else {
        return Err(Failure::input(
            "one --film and one --log are taken; several need a flight file, which this version does not read yet",
        ));
    };
    let clip = video::probe(film)?;
    let recording = read_log(log, &arguments.log)?;
    let fit = fit(&clip, &recording, arguments.offset)?;
    let mut findings = of_file(film, &clip.findings);
    findings.extend(of_file(film, &video::take_findings()));
    findings.extend(of_file(log, &recording.findings));
    let (width, height) = clip.video.shape.shown_size();
    let panel = if arguments.no_panel {
        Panel::default()
    } else {
        panel_for(&recording, &arguments.log, Arrangement::of(width, height))?
    };
    let session = Session::of(recording);
    let mut plan = Plan { clip, session, panel, theme: arguments.theme.into(), fit };
    findings.extend(of_file(film, &leave_out_what_has_no_room(&mut plan)));
    findings.extend(of_file(film, &plan.check_overlap(None, None)?));
    Ok(Prepared { plan, inputs: vec![film.clone(), log.clone()], findings })
}

/// Reads a log as the arguments say.
fn read_log(file: &Path, arguments: &LogArguments) -> Result<Recording, Failure> {
    let units = arguments.dial.iter().filter_map(|d| Some((d.column.clone(), d.unit.clone()?))).collect();
    let csv = CsvOptions { date_order: arguments.dates.order(), units, ..CsvOptions::default() };
    recorder::read(file, &Options { csv }).map_err(Failure::input)
}

/// Remarks with the file that they are about.
pub(crate) fn of_file(file: &Path, findings: &[Finding]) -> Vec<(PathBuf, Finding)> {
    findings.iter().map(|finding| (file.to_owned(), finding.clone())).collect()
}

/// The film's clock on the log's: the owner's word first, else the dates that both carry.
fn fit(clip: &Clip, recording: &Recording, offset: Option<f64>) -> Result<ClockFit, Failure> {
    if let Some(offset) = offset {
        if !offset.is_finite() {
            return Err(Failure::input("--offset takes a number of seconds"));
        }
        return Ok(clock::from_owner(offset));
    }
    let created: Option<jiff::Timestamp> = clip.created.as_deref().and_then(|text| text.parse().ok());
    match (created, recording.clock.first_utc) {
        (Some(created), Some(start)) => Ok(clock::from_creation_time(created, start, recording.clock.resolution_s)),
        (created, _) => {
            let (file, lacks) = if created.is_none() {
                (&clip.file, "the clip carries no creation time".to_owned())
            } else {
                let why = match &recording.clock.date_readings {
                    Some((day_first, month_first)) => format!(
                        "its first date reads {day_first} (day first) or {month_first} (month first), and no zone is stated"
                    ),
                    None => "its times are not UTC and name no zone".into(),
                };
                (&recording.file, format!("the log's instants are not known: {why}"))
            };
            Err(Failure::input(format!(
                "{}: {lacks}, so film and log cannot be lined up by their dates; \
                 set --offset to the log's time (seconds since its first sample) at the film's first frame",
                file.display()
            )))
        }
    }
}

/// The columns that the owner named, or the recognised ones.
fn panel_for(recording: &Recording, arguments: &LogArguments, arrangement: Arrangement) -> Result<Panel, Failure> {
    let facts =
        |c: &Channel| c.range().map(|(min, max)| ChannelFacts { name: c.name.clone(), unit: c.unit.clone(), min, max });
    let panel = if arguments.dial.is_empty() {
        panel::recognised(&recording.channels.iter().filter_map(facts).collect::<Vec<_>>(), arrangement)
    } else {
        let mut chosen = Vec::new();
        for dial in &arguments.dial {
            let channel = recording.channels.iter().find(|c| c.name == dial.column);
            let known = channel.and_then(facts).ok_or_else(|| {
                Failure::input(format!("{}: column {} holds no number to show", recording.file.display(), dial.column))
            })?;
            chosen.push(known);
        }
        let (panel, left) = panel::chosen(&chosen, arrangement);
        if !left.is_empty() {
            return Err(Failure::input(format!("there is no place for so many dials: leave out {}", left.join(", "))));
        }
        panel
    };
    if panel.instruments.is_empty() {
        let names: Vec<String> = recording
            .channels
            .iter()
            .filter(|c| c.range().is_some())
            .map(|c| c.unit.as_ref().map_or(c.name.clone(), |u| format!("{} [{u}]", c.name)))
            .collect();
        return Err(Failure::input(format!(
            "{}: no column is recognised by its exact name and unit; name what to show with --dial COLUMN or --dial COLUMN=UNIT. \
             Columns with numbers: {}",
            recording.file.display(),
            names.join(", ")
        )));
    }
    Ok(panel)
}

/// Takes instruments that do not fit an unusual picture off the panel that was made for it, the later one of two that overlap.
fn leave_out_what_has_no_room(plan: &mut Plan) -> Vec<Finding> {
    let mut findings = Vec::new();
    while let Err(DrawError::Overlap { second: name, .. } | DrawError::OutsideFrame { instrument: name, .. }) =
        Painter::new(&plan.panel, plan.clip.video.shape, plan.theme)
    {
        let before = plan.panel.instruments.len();
        plan.panel.instruments.retain(|i| i.name != name);
        if plan.panel.instruments.len() == before {
            break;
        }
        let text = format!("there is no room for the instrument {name} on a picture of this shape; it is left out");
        findings.push(Finding::new(Severity::Warning, "instrument_left_out", text));
    }
    findings
}

/// A moment on the command line: film time, or an instant where the log knows UTC.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Moment {
    Film(FilmTime),
    Instant(jiff::Timestamp),
}

impl std::str::FromStr for Moment {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        match text.parse() {
            Ok(instant) => Ok(Self::Instant(instant)),
            Err(_) => parse_film_time(text).map(Self::Film).map_err(|e| format!("{e}, or an RFC 3339 instant")),
        }
    }
}

impl Moment {
    /// The film time of this moment in a plan.
    pub(crate) fn film_time(self, plan: &Plan) -> Result<FilmTime, Failure> {
        match self {
            Self::Film(film) => Ok(film),
            Self::Instant(instant) => {
                let start = plan.session.utc(crate::time::SessionTime(0.0)).ok_or_else(|| {
                    Failure::input("an instant was given, but the log does not know UTC; give film time instead")
                })?;
                Ok(plan.fit.film_time(LogTime(instant.duration_since(start).as_secs_f64())))
            }
        }
    }
}
