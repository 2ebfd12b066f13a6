//! `jumpseat render`: the film.

use super::plan::{Moment as When, PlanArguments, of_file, prepare};
use super::progress::Shown;
use super::{Failure, Report, clocks, interrupt, layer, pieces};
use crate::finding::Finding;
use crate::render::{FilmJob, Input, Plan, Share, Summary, Timing, render, render_to_size};
use crate::report::{self, Moment, moments};
use crate::video::{self, Chapter, Codec, Container, EncodeSettings, Rate, Speed, VideoError};
use clap::ValueEnum;
use serde_json::{Value, json};
use std::path::PathBuf;
use std::time::Instant;

/// Arguments of `render`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    #[command(flatten)]
    plan: PlanArguments,
    /// The film to write (.mp4, .mov, .mkv or .webm)
    #[arg(short, long, value_name = "FILM")]
    pub(super) output: PathBuf,
    /// Start at this moment: [[h:]m:]s[.fff] of the film, or an RFC 3339 instant
    #[arg(long, value_name = "TIME")]
    pub(super) from: Option<When>,
    /// End before this moment
    #[arg(long, value_name = "TIME")]
    pub(super) to: Option<When>,
    /// Write only this piece of the film, for example 2/7, beside FILM; `join` makes the film of all of them
    #[arg(long, value_name = "I/N", conflicts_with_all = ["ledger", "resume"])]
    part: Option<Share>,
    /// Work in pieces of about a minute, so that a film that was interrupted goes on from those that are there
    #[arg(long, conflicts_with = "ledger")]
    resume: bool,
    /// Work on so many pieces at the same time, each with its share of the threads, and join them [default: by the machine, 1 for
    /// each 8 threads, on films of two minutes and more]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=64), conflicts_with_all = ["ledger", "part", "layer", "size", "fast_start", "timing", "json"])]
    abreast: Option<u16>,
    /// Leave sound, subtitles and the source's chapters out
    #[arg(long)]
    no_sound: bool,
    /// Chapters: of the flight's phases and events (where they are judged), of the source, or none
    #[arg(long, value_enum, default_value_t, value_name = "WHOSE", conflicts_with = "layer")]
    chapters: Chapters,
    /// Leave out the tags that say where the film was taken (a ground track on the panel tells it too)
    #[arg(long)]
    pub(super) no_location: bool,
    /// Sound that the film's format cannot hold as it is: an error (copy), or encoded as AAC
    #[arg(long, value_enum, default_value_t, conflicts_with_all = ["no_sound", "layer"])]
    sound: Sound,
    /// Put the index at the film's start, so that players on the network need not wait for its end (.mp4 and .mov)
    #[arg(long)]
    fast_start: bool,
    /// Write the instruments alone, with alpha, to be laid over the film in an editor: .mov, .webm, or pictures such as layer-%06d.png
    #[arg(long, conflicts_with_all = ["ledger", "part", "resume", "fast_start", "timing", "json", "no_panel"])]
    pub(super) layer: bool,
    /// Say where the time went, stage by stage
    #[arg(long)]
    timing: bool,
    /// Write what was shown on every frame to this CSV file
    #[arg(long, value_name = "CSV")]
    ledger: Option<PathBuf>,
    /// Codec of the pictures; by the ending h264, or vp9 for .webm; of a layer animation, png, prores (.mov) or vp9 (.webm)
    #[arg(long, value_enum)]
    pub(super) codec: Option<CodecName>,
    /// Quality: 0 keeps every bit, 51 (h264, hevc) or 63 (av1, vp9) is worst; by default 20, 22, 28 and 30
    #[arg(long, value_parser = clap::value_parser!(u8).range(0..=63))]
    pub(super) crf: Option<u8>,
    /// Bits a second of the pictures, instead of a quality: 8M, 500k
    #[arg(long, value_name = "RATE", conflicts_with_all = ["crf", "layer"])]
    bit_rate: Option<Amount>,
    /// Size of the whole film in bytes, met in two passes: 200M, 1.5G (h264, hevc, av1 and vp9)
    #[arg(long, value_name = "BYTES", conflicts_with_all = ["crf", "bit_rate", "layer", "part", "resume"])]
    size: Option<Amount>,
    /// Time spent on a smaller file
    #[arg(long, value_enum, default_value_t)]
    pub(super) speed: Thinking,
    /// Threads for the decoder and as many for the encoder; 0 for as many as the machine has
    #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u16).range(0..=64))]
    pub(super) threads: u16,
    /// Replace an output that exists
    #[arg(long)]
    pub(super) overwrite: bool,
    /// Say what was done as one JSON document on standard output
    #[arg(long)]
    json: bool,
}

/// A number with thousands, millions or thousands of millions behind it: `8M`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Amount(u64);

impl std::str::FromStr for Amount {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let (number, times) = match text.as_bytes().last() {
            Some(b'k' | b'K') => (&text[..text.len() - 1], 1e3),
            Some(b'M') => (&text[..text.len() - 1], 1e6),
            Some(b'G') => (&text[..text.len() - 1], 1e9),
            _ => (text, 1.0),
        };
        let amount = number.parse::<f64>().ok().map(|n| n * times).filter(|n| (1000.0..1e15).contains(n));
        amount.map(|n| Self(n.round() as u64)).ok_or_else(|| {
            format!("`{text}` is no amount from 1000 on; write a number with k, M or G (1000 each), for example 8M")
        })
    }
}

/// What becomes of sound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Sound {
    #[default]
    Copy,
    Aac,
}

/// Whose chapters a film has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
enum Chapters {
    #[default]
    Flight,
    Source,
    None,
}

impl Chapters {
    /// The film's own chapters; none for the source's.
    fn of(self, plan: &Plan) -> Option<Vec<Chapter>> {
        match self {
            Self::Source => None,
            Self::None => Some(Vec::new()),
            // A flight of which nothing is judged leaves the source's as they are.
            Self::Flight => Some(flight_chapters(plan)).filter(|chapters| !chapters.is_empty()),
        }
    }
}

/// What is worth looking at in the film of a plan.
pub(super) fn film_moments(plan: &Plan) -> Vec<Moment> {
    let end_s = plan.clip.duration_s;
    moments(&plan.session, &plan.panel, &plan.judged, &plan.fit, end_s)
}

fn flight_chapters(plan: &Plan) -> Vec<Chapter> {
    let chapters = report::chapters(&plan.judged, &film_moments(plan), &plan.fit, plan.clip.duration_s);
    let us = |seconds: f64| (seconds * 1e6).round() as i64;
    let chapter = |c: report::Chapter| Chapter { from_us: us(c.from_s), to_us: us(c.to_s), title: c.title };
    chapters.into_iter().map(chapter).collect()
}

/// Codecs by their names.
#[derive(Clone, Copy, ValueEnum)]
pub(super) enum CodecName {
    H264,
    Hevc,
    Av1,
    Vp9,
    #[value(name = "prores")]
    ProRes,
    Ffv1,
    Animation,
    Png,
}

/// How long the encoder may think.
#[derive(Clone, Copy, Default, ValueEnum)]
pub(super) enum Thinking {
    Fastest,
    #[default]
    Fast,
    Balanced,
    Thorough,
}

impl From<Thinking> for Speed {
    fn from(thinking: Thinking) -> Self {
        match thinking {
            Thinking::Fastest => Self::Fastest,
            Thinking::Fast => Self::Fast,
            Thinking::Balanced => Self::Balanced,
            Thinking::Thorough => Self::Thorough,
        }
    }
}

impl Arguments {
    fn settings(&self) -> Result<EncodeSettings, VideoError> {
        let codec = match self.codec {
            None => Codec::of(Container::of(&self.output)?),
            Some(CodecName::H264) => Codec::H264,
            Some(CodecName::Hevc) => Codec::Hevc,
            Some(CodecName::Av1) => Codec::Av1,
            Some(CodecName::Vp9) => Codec::Vp9,
            Some(CodecName::ProRes) => Codec::ProRes,
            Some(CodecName::Ffv1) => Codec::Ffv1,
            Some(CodecName::Animation | CodecName::Png) => {
                let what = "animation and png are codecs of a layer; give --layer, or another codec".into();
                return Err(VideoError::Asked { file: self.output.clone(), what });
            }
        };
        let rate = self.bit_rate.map(|Amount(bits)| Rate { bits, pass: None });
        Ok(EncodeSettings { codec, crf: self.crf, rate, speed: self.speed.into(), threads: usize::from(self.threads) })
    }
}

impl Arguments {
    /// Whether the stages' times are to be told.
    pub(super) fn timing(&self) -> bool {
        self.timing
    }

    fn all_threads(&self) -> usize {
        match self.threads {
            0 => std::thread::available_parallelism().map_or(1, usize::from),
            asked => usize::from(asked),
        }
    }

    /// Pieces that are rendered at the same time: as asked, else by the machine where a film in pieces can do all that is asked.
    fn at_once(&self, film_s: f64) -> usize {
        let whole = self.ledger.is_some() || self.timing || self.json || self.fast_start || self.size.is_some();
        match self.abreast {
            Some(asked) => usize::from(asked),
            None if whole => 1,
            None => pieces::abreast(self.all_threads(), film_s),
        }
    }

    /// Threads of each of so many pieces; 0, as many as the machine has, for one alone.
    fn threads_of_each(&self, at_once: usize) -> usize {
        if at_once == 1 { usize::from(self.threads) } else { (self.all_threads() / at_once).max(1) }
    }
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    // A layer reads packet times alone.
    let reading = (!arguments.layer).then_some(usize::from(arguments.threads));
    let prepared = prepare(&arguments.plan, reading, report)?;
    prepared.show(arguments.plan.strict, report)?;
    let plan = &prepared.plan;
    if arguments.layer {
        return layer::run(arguments, &prepared, report);
    }
    let at = |moment: Option<When>| moment.map(|m| m.film_time(plan)).transpose();
    let job = FilmJob {
        from: at(arguments.from)?,
        to: at(arguments.to)?,
        with_sound: !arguments.no_sound,
        recodes_sound: arguments.sound == Sound::Aac,
        fast_start: arguments.fast_start,
        chapters: arguments.chapters.of(plan),
        drops_location: arguments.no_location,
        keeps_unfinished: true,
        overwrite: arguments.overwrite,
        ledger: arguments.ledger.clone(),
        strict: arguments.plan.strict,
        ..job(plan, &prepared.inputs, arguments.output.clone(), arguments.settings()?)?
    };
    report.say(&clocks::clock_line(&plan.fit));
    let cancel = interrupt::listen()?;
    let mut progress = Shown::new(report.is_quiet());
    let start = Instant::now();
    if let Some(share) = arguments.part {
        return pieces::one(plan, &job, share, arguments, (&mut progress, cancel), report);
    }
    let (from_s, to_s) = (job.from.map_or(0.0, |t| t.0), job.to.map_or(plan.clip.duration_s, |t| t.0));
    let at_once = arguments.at_once(to_s - from_s);
    if arguments.resume || at_once > 1 {
        let each = arguments.threads_of_each(at_once);
        let settings = EncodeSettings { threads: each, ..job.settings };
        let job = FilmJob { settings, decoder_threads: each, ..job };
        return pieces::all(plan, &job, at_once, (&mut progress, cancel), report);
    }
    let result = match arguments.size {
        Some(Amount(bytes)) => render_to_size(plan, &job, bytes, &mut progress, cancel),
        None => render(plan, &job, &mut progress, cancel),
    };
    progress.end();
    let summary = match result {
        Ok(mut summary) => {
            // Opened twice, the clip is complained about twice.
            summary.findings.retain(|f| !prepared.findings.iter().any(|(_, known)| known == f));
            summary
        }
        Err(error) => {
            report.findings(&plan.clip.file, &video::take_findings());
            return Err(error.into());
        }
    };
    report.findings(&plan.clip.file, &summary.findings);
    let seconds = start.elapsed().as_secs_f64();
    report.say(&format!(
        "wrote {}: {} frames in {seconds:.1} s ({:.1} frames/s)\n\
         Recorded data, not for use in flight. The flight manual and the owner's own limits govern.",
        job.output.display(),
        summary.frames,
        summary.frames as f64 / seconds.max(1e-3)
    ));
    if arguments.timing {
        report.say(&timing_text(&summary.timing, summary.frames));
    }
    if arguments.json {
        let mut findings = prepared.findings.clone();
        findings.extend(of_file(&plan.clip.file, &summary.findings));
        report.json(&document(plan, &job, &summary, &findings, seconds));
    }
    Ok(())
}

/// The job of a whole film with its sound, that replaces nothing.
pub(super) fn job(
    plan: &Plan,
    inputs: &[PathBuf],
    output: PathBuf,
    settings: EncodeSettings,
) -> Result<FilmJob, Failure> {
    Ok(FilmJob {
        from: None,
        to: None,
        ticks: None,
        container: Container::of(&output)?,
        with_sound: true,
        recodes_sound: false,
        fast_start: false,
        comment: Some(comment(plan, inputs)?),
        chapters: None,
        drops_location: false,
        keeps_unfinished: false,
        output,
        overwrite: false,
        ledger: None,
        inputs: inputs.to_vec(),
        decoder_threads: settings.threads,
        settings,
        strict: false,
        skip_copies: false,
    })
}

/// Says in the film what was done to it, and from which logs.
pub(super) fn comment(plan: &Plan, inputs: &[PathBuf]) -> Result<String, Failure> {
    let clip = plan.clip.files();
    let logs = inputs.iter().filter(|file| !clip.contains(file));
    let mut text = concat!(
        "Instruments added by jumpseat ",
        env!("CARGO_PKG_VERSION"),
        " from recorded data, not for use in flight."
    )
    .to_owned();
    for file in logs {
        let input = Input::of(file)?;
        let name = file.file_name().unwrap_or_default().to_string_lossy().into_owned();
        text += &format!(" {name} SHA-256 {}.", input.sha256);
    }
    Ok(text)
}

/// Time of each stage in words.
pub(super) fn timing_text(timing: &Timing, frames: u64) -> String {
    let whole = timing.whole.as_secs_f64().max(1e-9);
    let frames = frames.max(1) as f64;
    let stages = timing.stages().map(|(name, time)| {
        let seconds = time.as_secs_f64();
        format!(
            "{name} {seconds:.2} s ({:.2} ms a frame, {:.0} % of the time)",
            1000.0 * seconds / frames,
            100.0 * seconds / whole
        )
    });
    format!("timing: {}; the others waited for {}", stages.join(", "), timing.bottleneck())
}

fn document(plan: &Plan, job: &FilmJob, summary: &Summary, findings: &[(PathBuf, Finding)], seconds: f64) -> Value {
    let fit = &plan.fit;
    json!({
        "film": job.output,
        "frames": summary.frames,
        "seconds": seconds,
        "covered_share": summary.covered_share,
        "instruments": plan.panel.instruments.iter().map(|i| i.name.as_str()).collect::<Vec<_>>(),
        "clock": {
            "clip": plan.clip.file,
            "pivot_s": fit.pivot_s,
            "offset_s": fit.offset_s(),
            "rate": fit.rate,
            "sigma_s": fit.cov[0][0].sqrt(),
            "sigma_rate": fit.cov[1][1].sqrt(),
            "evidence": fit.evidence,
        },
        "findings": findings.iter().map(|(file, finding)| {
            let mut value = json!(finding);
            value["file"] = json!(file);
            value
        }).collect::<Vec<_>>(),
    })
}

#[cfg(test)]
mod tests {
    use super::Amount;

    #[test]
    fn amounts_count_by_thousands() {
        for (text, amount) in [("8M", 8_000_000), ("500k", 500_000), ("1.5G", 1_500_000_000), ("20000", 20_000)] {
            assert_eq!(text.parse(), Ok(Amount(amount)), "{text}");
        }
        for text in ["", "M", "-3M", "8MB", "8 M", "12", "NaN", "inf", "1e30", "\u{e9}"] {
            assert!(text.parse::<Amount>().is_err(), "{text}");
        }
    }
}
