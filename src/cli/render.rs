//! `jumpseat render`: the film.

use super::plan::{Moment, PlanArguments, of_file, prepare};
use super::progress::Shown;
use super::{Failure, Report, clocks, interrupt};
use crate::finding::Finding;
use crate::render::{FilmJob, Plan, Summary, render};
use crate::video::{self, Codec, Container, EncodeSettings, Speed, VideoError};
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
    output: PathBuf,
    /// Start at this moment: [[h:]m:]s[.fff] of the film, or an RFC 3339 instant
    #[arg(long, value_name = "TIME")]
    from: Option<Moment>,
    /// End before this moment
    #[arg(long, value_name = "TIME")]
    to: Option<Moment>,
    /// Write what was shown on every frame to this CSV file
    #[arg(long, value_name = "CSV")]
    ledger: Option<PathBuf>,
    /// Codec of the pictures; by the ending h264, or vp9 for .webm
    #[arg(long, value_enum)]
    codec: Option<CodecName>,
    /// Quality: 0 keeps every bit, 51 (h264, hevc) or 63 (av1, vp9) is worst; by default 20, 22, 28 and 30
    #[arg(long, value_parser = clap::value_parser!(u8).range(0..=63))]
    crf: Option<u8>,
    /// Time spent on a smaller file
    #[arg(long, value_enum, default_value_t)]
    speed: Thinking,
    /// Threads for the decoder and as many for the encoder; 0 for as many as the machine has
    #[arg(long, default_value_t = 0, value_parser = clap::value_parser!(u16).range(0..=64))]
    threads: u16,
    /// Replace an output that exists
    #[arg(long)]
    overwrite: bool,
    /// Say what was done as one JSON document on standard output
    #[arg(long)]
    json: bool,
}

/// Codecs by their names.
#[derive(Clone, Copy, ValueEnum)]
enum CodecName {
    H264,
    Hevc,
    Av1,
    Vp9,
    #[value(name = "prores")]
    ProRes,
    Ffv1,
}

/// How long the encoder may think.
#[derive(Clone, Copy, Default, ValueEnum)]
enum Thinking {
    Fastest,
    #[default]
    Fast,
    Balanced,
    Thorough,
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
        };
        let speed = match self.speed {
            Thinking::Fastest => Speed::Fastest,
            Thinking::Fast => Speed::Fast,
            Thinking::Balanced => Speed::Balanced,
            Thinking::Thorough => Speed::Thorough,
        };
        Ok(EncodeSettings { codec, crf: self.crf, speed, threads: usize::from(self.threads) })
    }
}

pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    let prepared = prepare(&arguments.plan, report)?;
    prepared.show(arguments.plan.strict, report)?;
    let plan = &prepared.plan;
    let at = |moment: Option<Moment>| moment.map(|m| m.film_time(plan)).transpose();
    let job = FilmJob {
        from: at(arguments.from)?,
        to: at(arguments.to)?,
        output: arguments.output.clone(),
        overwrite: arguments.overwrite,
        ledger: arguments.ledger.clone(),
        inputs: prepared.inputs.clone(),
        settings: arguments.settings()?,
        decoder_threads: usize::from(arguments.threads),
        strict: arguments.plan.strict,
        skip_copies: false,
    };
    report.say(&clocks::clock_line(&plan.fit));
    let cancel = interrupt::listen()?;
    let mut progress = Shown::new(report.is_quiet());
    let start = Instant::now();
    let result = render(plan, &job, &mut progress, cancel);
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
    if arguments.json {
        let mut findings = prepared.findings.clone();
        findings.extend(of_file(&plan.clip.file, &summary.findings));
        report.json(&document(plan, &job, &summary, &findings, seconds));
    }
    Ok(())
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
