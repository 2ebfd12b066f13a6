//! A plan from `--film` and `--log` alone: what a flight file would say is filled in from what is found.

use super::inputs::DateArguments;
use super::plan::{Prepared, of_file};
use super::{Failure, clocks};
use crate::align;
use crate::clock::{self, ClockFit, ClockId, Clocks, timestamps};
use crate::draw::{DrawError, Painter};
use crate::finding::{Finding, Severity};
use crate::panel::{self, Arrangement, ChannelFacts, Density, Made, Panel};
use crate::readout;
use crate::recorder::{self, CsvOptions, Options, Recording};
use crate::render::Plan;
use crate::session::{Basis, Session, dated};
use crate::video::{self, Clip, Reshape};
use std::path::{Path, PathBuf};

/// What takes a flight file's place.
#[derive(clap::Args)]
pub(crate) struct LooseArguments {
    /// The clip
    #[arg(long, value_name = "CLIP")]
    film: Vec<PathBuf>,
    /// The log
    #[arg(long, value_name = "LOG")]
    log: Vec<PathBuf>,
    /// The log's time (seconds since its first sample) at the film's first frame
    #[arg(long, value_name = "SECONDS", allow_negative_numbers = true)]
    offset: Option<f64>,
    /// Show this column as a dial, in this unit if the log states none; may be repeated [default: what is recognised]
    #[arg(long, value_name = "COLUMN[=UNIT]")]
    dial: Vec<DialArgument>,
    /// The unit of a column for which the log states none; may be repeated
    #[arg(long, value_name = "COLUMN=UNIT", conflicts_with = "dial")]
    unit: Vec<UnitArgument>,
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

/// The owner's word for a column's unit.
#[derive(Debug, Clone)]
struct UnitArgument {
    column: String,
    unit: String,
}

impl std::str::FromStr for UnitArgument {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (column, unit) = text.split_once('=').ok_or("expected COLUMN=UNIT, for example FF='US gal/h'")?;
        Ok(Self { column: column.to_owned(), unit: unit.to_owned() })
    }
}

/// Opens, joins and checks everything. `reading` is the count of decoder threads with which the film is read soon after.
pub(crate) fn prepare(
    arguments: &LooseArguments,
    reshape: Reshape,
    no_panel: bool,
    reading: Option<usize>,
) -> Result<Prepared, Failure> {
    let ([film], [log]) = (&arguments.film[..], &arguments.log[..]) else {
        return Err(Failure::input("one --film and one --log are taken; name several logs in a flight file"));
    };
    let clip = match reading {
        Some(threads) => video::probe_to_read(std::slice::from_ref(film), threads)?,
        None => video::probe(film)?,
    };
    let clip = clip.reshaped(reshape)?;
    let recording = read_log(log, arguments)?;
    let (fit, remark) = fit(&clip, &recording, arguments.offset)?;
    let mut findings = of_file(film, &clip.findings);
    findings.extend(of_file(film, remark.as_slice()));
    let unsure = clocks::too_unsure(&fit, clip.duration_s, clocks::LIMIT_S);
    let unsure = unsure.map(|text| Finding::new(Severity::Warning, "clock_unsure", text));
    findings.extend(of_file(film, unsure.as_slice()));
    findings.extend(of_file(film, &video::take_findings()));
    findings.extend(of_file(log, &recording.findings));
    let (width, height) = clip.video.shape.shown_size();
    let session = Session::of(recording).derived(&Basis::default());
    let facts = readout::facts(&session);
    let panel = if no_panel {
        Panel::default()
    } else {
        let made = panel_for(log, &facts, arguments, Arrangement::of(width, height, Density::House))?;
        findings.extend(of_file(film, &made.left_out.iter().map(|name| left_out(name)).collect::<Vec<_>>()));
        made.panel
    };
    if arguments.dial.is_empty() && !no_panel {
        findings.extend(of_file(log, unit_wanted(&facts).as_slice()));
    }
    let mut plan = Plan::new(clip, session, panel, Default::default(), fit);
    findings.extend(of_file(film, &leave_out_what_has_no_room(&mut plan)));
    if plan.panel.instruments.is_empty() && !no_panel {
        let (file, width, height) = (film.display(), plan.clip.video.shape.width, plan.clip.video.shape.height);
        return Err(Failure::input(format!("{file}: no instrument has room on a picture of {width} x {height}")));
    }
    findings.extend(of_file(film, &plan.check_overlap(None, None)?));
    Ok(Prepared { plan, inputs: vec![film.clone(), log.clone()], findings, notes: Vec::new() })
}

/// A remark on columns that are left out only because the log states no unit for them.
fn unit_wanted(facts: &[ChannelFacts]) -> Option<Finding> {
    let (names, how) = lacking(facts)?;
    let text = format!("{names} would become instruments if their units were known: {how}");
    Some(Finding::new(Severity::Note, "unit_wanted", text))
}

/// The columns that lack a unit, each with those that it might be in, and how to say so; none where there are none.
fn lacking(facts: &[ChannelFacts]) -> Option<(String, String)> {
    let wanted = panel::lack_a_unit(facts);
    let (first, units) = wanted.first()?;
    let names: Vec<String> = wanted.iter().map(|(name, units)| format!("{name} ({})", units.join(", "))).collect();
    let example = units.first().copied().unwrap_or_default();
    Some((names.join(", "), format!("name each, for example --unit {first}='{example}' if that is what it is")))
}

/// Reads a log as the arguments say.
fn read_log(file: &Path, arguments: &LooseArguments) -> Result<Recording, Failure> {
    let of_dials = arguments.dial.iter().filter_map(|d| Some((d.column.clone(), d.unit.clone()?)));
    let units = arguments.unit.iter().map(|u| (u.column.clone(), u.unit.clone())).chain(of_dials).collect();
    let csv = CsvOptions { date_order: arguments.dates.order(), units, ..CsvOptions::default() };
    recorder::read(file, &Options { csv }).map_err(Failure::input)
}

/// The film's clock on the log's: the owner's word first, else the dates that both carry. With a remark on a zone that was guessed.
fn fit(clip: &Clip, recording: &Recording, offset: Option<f64>) -> Result<(ClockFit, Option<Finding>), Failure> {
    let (film, log) = (ClockId::Film(0), ClockId::Log(0));
    let clocks = Clocks { reference: 0, logs: vec![dated(recording)], loggers: vec![0], films: 1 };
    let mut remark = None;
    let evidence = match offset {
        // Thirty years: more is a date in the wrong place.
        Some(offset) if offset.is_nan() || offset.abs() > 1e9 => {
            return Err(Failure::input("--offset takes seconds, less than 1e9 of them"));
        }
        Some(offset) => vec![clock::marks::from_owner(film, log, offset)],
        None => match (clocks.epoch(), clocks.utc_span()) {
            (Some(epoch), Some(span)) => {
                let (readings, finding) = timestamps::of_film(0, &align::stamps(clip), span, epoch);
                remark = finding;
                readings
            }
            _ => Vec::new(),
        },
    };
    let joined = clocks.join(evidence);
    match joined.network.fit(film, log) {
        Some(fit) => Ok((fit, remark)),
        None => Err(Failure::input(not_lined_up(clip, recording))),
    }
}

/// Why dates do not line film and log up.
fn not_lined_up(clip: &Clip, recording: &Recording) -> String {
    let (file, lacks) = match (&clip.created, recording.clock.first_utc) {
        (_, Some(start)) => {
            let said =
                clip.created.as_deref().map_or("carries no creation time".to_owned(), |c| format!("was made {c}"));
            let last = &recording.clock.last;
            (
                &clip.file,
                format!("the clip {said}, and no reading of its dates puts it beside the log, {start} to {last}"),
            )
        }
        (None, None) => (&clip.file, "the clip carries no creation time".to_owned()),
        (Some(_), None) => {
            let why = match &recording.clock.date_readings {
                Some((day_first, month_first)) => format!(
                    "its first date reads {day_first} (day first) or {month_first} (month first), and no zone is stated"
                ),
                None => "its times are not UTC and name no zone".into(),
            };
            (&recording.file, format!("the log's instants are not known: {why}"))
        }
    };
    format!(
        "{}: {lacks}, so film and log cannot be lined up by their dates; \
         set --offset to the log's time (seconds since its first sample) at the film's first frame",
        file.display()
    )
}

/// The columns that the owner named, or the recognised ones.
fn panel_for(
    log: &Path,
    facts: &[ChannelFacts],
    arguments: &LooseArguments,
    arrangement: Arrangement,
) -> Result<Made, Failure> {
    let log = log.display();
    let made = if arguments.dial.is_empty() {
        panel::recognised(facts, arrangement)
    } else {
        let mut chosen = Vec::new();
        for dial in &arguments.dial {
            let known = facts
                .iter()
                .find(|f| f.column == dial.column)
                .ok_or_else(|| Failure::input(no_column(&log.to_string(), facts, &dial.column)))?;
            chosen.push(known.clone());
        }
        let made = panel::chosen(&chosen, arrangement);
        if !made.left_out.is_empty() {
            let names = made.left_out.join(", ");
            return Err(Failure::input(format!("there is no place for so many dials: leave out {names}")));
        }
        made
    };
    if made.panel.instruments.is_empty() {
        let name = |f: &ChannelFacts| f.unit.as_ref().map_or(f.column.clone(), |u| format!("{} [{u}]", f.column));
        let wanted = lacking(facts).map(|(names, how)| format!(" {names} would be, if their units were known: {how}."));
        return Err(Failure::input(format!(
            "{log}: no column is recognised by its exact name and unit.{} Name what to show with --dial COLUMN or --dial \
             COLUMN=UNIT. Columns with numbers: {}",
            wanted.unwrap_or_else(|| " State a unit with --unit COLUMN=UNIT.".to_owned()),
            facts.iter().map(name).collect::<Vec<_>>().join(", ")
        )));
    }
    Ok(made)
}

/// Why a column that was asked for cannot be shown, with the nearest one that can.
fn no_column(log: &str, facts: &[ChannelFacts], column: &str) -> String {
    let distance = |f: &&ChannelFacts| strsim::damerau_levenshtein(&f.column.to_lowercase(), &column.to_lowercase());
    let nearest = facts.iter().min_by_key(distance).map(|f| format!("; the nearest is {}", f.column));
    format!("{log}: no column {column} with numbers to show{}", nearest.unwrap_or_default())
}

fn left_out(name: &str) -> Finding {
    let text = format!("there is no room for the instrument {name} on a picture of this shape; it is left out");
    Finding::new(Severity::Warning, "instrument_left_out", text)
}

/// Takes instruments that do not fit an unusual picture off the panel that was made for it, the later one of two that overlap.
fn leave_out_what_has_no_room(plan: &mut Plan) -> Vec<Finding> {
    let mut findings = Vec::new();
    while let Err(DrawError::Overlap { second: name, .. } | DrawError::OutsideFrame { instrument: name, .. }) =
        Painter::new(&plan.panel, plan.clip.video.shape, plan.look)
    {
        let before = plan.panel.instruments.len();
        plan.panel.instruments.retain(|i| i.name != name);
        if plan.panel.instruments.len() == before {
            break;
        }
        findings.push(left_out(&name));
    }
    findings
}
