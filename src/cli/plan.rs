//! From a flight file, or from `--film` and `--log`, to a plan that can be rendered.

use super::loose::LooseArguments;
use super::panel::ThemeName;
use super::panel_file::FONT_CURE;
use super::{Failure, Report, flight_plan, loose, report};
use crate::draw::{CaptionPlace, DrawError};
use crate::finding::{Finding, Severity};
use crate::panel::Face;
use crate::render::{Plan, RenderError};
use crate::report::{Caption, captions, moments, on_film};
use crate::signal::Samples;
use crate::time::{FilmTime, SessionTime, parse_film_time};
use crate::video::{Crop, Reshape, Scale};
use std::path::{Path, PathBuf};

/// Arguments of every command that lays logs over a film.
#[derive(clap::Args)]
pub(crate) struct PlanArguments {
    /// The flight file; or give --film and --log instead
    #[arg(value_name = "FLIGHT", required_unless_present_all = ["film", "log"], conflicts_with_all = ["film", "log", "offset", "dial", "date_order"])]
    flight: Option<PathBuf>,
    #[command(flatten)]
    loose: LooseArguments,
    /// The camera whose film is taken, by its name in the flight file [default: the first]
    #[arg(long, value_name = "NAME", conflicts_with_all = ["film", "log"])]
    camera: Option<String>,
    /// Colours of the instruments [default: the panel file's, else graphite]
    #[arg(long, value_enum)]
    theme: Option<ThemeName>,
    /// Leave the instruments out: the picture alone, encoded in the same way
    #[arg(long)]
    no_panel: bool,
    /// Keep this part of the picture, as it is seen: WxH+X+Y, or the largest of a shape in its middle, as 9:16
    #[arg(long, value_name = "PART")]
    crop: Option<Crop>,
    /// Bring the picture (after --crop) to this size: 1280x720, or one side alone, 1280x or x720
    #[arg(long, value_name = "SIZE")]
    scale: Option<Scale>,
    /// Make one whole picture of each that consists of two fields
    #[arg(long)]
    deinterlace: bool,
    /// Burn captions into the picture: what happened, with its numbers, and the notes of the flight file
    #[arg(long, conflicts_with = "no_panel")]
    captions: bool,
    /// Take every warning as an error
    #[arg(long)]
    pub(crate) strict: bool,
}

/// A plan and what was remarked while it was put together.
pub(crate) struct Prepared {
    pub(crate) plan: Plan,
    pub(crate) inputs: Vec<PathBuf>,
    /// Remarks by file.
    pub(crate) findings: Vec<(PathBuf, Finding)>,
    /// The owner's notes, in this film's time.
    pub(crate) notes: Vec<Caption>,
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

/// Opens, joins and checks everything. `reading` is the count of decoder threads with which the film is read soon after, if it is.
pub(crate) fn prepare(arguments: &PlanArguments, reading: Option<usize>, report: &Report) -> Result<Prepared, Failure> {
    let PlanArguments { crop, scale, deinterlace, .. } = *arguments;
    let reshape = Reshape { crop, scale, deinterlace };
    let mut prepared = match &arguments.flight {
        Some(flight) => flight_plan::prepare(flight, arguments.camera.as_deref(), reshape, reading, report)?,
        None => loose::prepare(&arguments.loose, reshape, arguments.no_panel, reading)?,
    };
    if let Some(theme) = arguments.theme {
        prepared.plan.look.theme = theme.into();
        // They were chosen for the panel file's theme.
        prepared.plan.panel.colours.clear();
    }
    if arguments.no_panel {
        prepared.plan.clear_panel();
    }
    let missing = missing_glyphs(&prepared.plan);
    prepared.findings.extend(missing);
    if arguments.captions {
        say(&mut prepared)?;
    }
    Ok(prepared)
}

/// Characters that logged texts hold and the typeface lacks: the first of each tile.
fn missing_glyphs(plan: &Plan) -> Vec<(PathBuf, Finding)> {
    let tiles = plan.panel.instruments.iter().filter_map(|instrument| match &instrument.face {
        Face::Tile(tile) => Some((&instrument.name, &tile.channel)),
        _ => None,
    });
    let missing = tiles.filter_map(|(name, wanted)| {
        let id = plan.session.find(wanted)?;
        let Samples::Texts(texts) = &plan.session.channel(id)?.samples else { return None };
        let glyph = texts.iter().flat_map(|text| plan.look.typeface.missing_glyphs(text)).next()?;
        let message = format!(
            "the typeface has no \u{201c}{glyph}\u{201d} (U+{:04X}), which `{wanted}` holds: `{name}` shows a box in its place; {FONT_CURE}",
            u32::from(glyph)
        );
        Some(Finding::new(Severity::Warning, "glyph_missing", message))
    });
    of_file(&plan.clip.file, &missing.collect::<Vec<_>>())
}

/// Finds captions their time and their place.
fn say(prepared: &mut Prepared) -> Result<(), Failure> {
    let Prepared { plan, findings, notes, .. } = prepared;
    plan.panel.captions = true;
    let place = CaptionPlace::new(&plan.panel, plan.clip.video.shape, plan.look).map_err(RenderError::from)?;
    let end_s = plan.clip.duration_s;
    let moments = moments(&plan.session, &plan.panel, &plan.judged, &plan.fit, end_s);
    let wanted = captions(&moments, notes.drain(..), end_s);
    if let Some(glyph) =
        wanted.iter().flat_map(|caption| plan.look.typeface.missing_glyphs(&one_line(&caption.text))).next()
    {
        return Err(
            RenderError::from(DrawError::Glyph { instrument: "the captions".into(), key: "text", glyph }).into()
        );
    }
    let said = on_film(wanted, end_s, |line| place.fits(line));
    let left_out = said.left_out.iter().map(|caption| {
        let text = one_line(&caption.text);
        let text = format!(
            "no time to read it beside others: at {:.1} s of the film, \u{201c}{text}\u{201d}; debrief --captions writes it",
            caption.from_s
        );
        Finding::new(Severity::Note, "caption_left_out", text)
    });
    findings.extend(of_file(&plan.clip.file, &left_out.collect::<Vec<_>>()));
    plan.captions = said.captions;
    Ok(())
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Remarks with the file that they are about.
pub(crate) fn of_file(file: &Path, findings: &[Finding]) -> Vec<(PathBuf, Finding)> {
    findings.iter().map(|finding| (file.to_owned(), finding.clone())).collect()
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
                let start = plan.session.utc(SessionTime(0.0)).ok_or_else(|| {
                    Failure::input("an instant was given, but the log does not know UTC; give film time instead")
                })?;
                Ok(FilmTime(plan.fit.inverse(instant.duration_since(start).as_secs_f64())))
            }
        }
    }
}
