//! `jumpseat render --layer`: the instruments alone, with alpha.

use super::plan::{Moment, Prepared};
use super::progress::Shown;
use super::render::{Arguments, CodecName, comment};
use super::{Failure, Report, clocks, interrupt};
use crate::render::{LayerJob, LayerOutput, Sequence, render_layer};
use crate::video::{self, Container, LayerCodec, LayerSettings};
use std::time::Instant;

pub(super) fn run(arguments: &Arguments, prepared: &Prepared, report: &Report) -> Result<(), Failure> {
    let plan = &prepared.plan;
    if plan.panel.is_empty() {
        return Err(Failure::input("there is no instrument that a layer could show"));
    }
    let at = |moment: Option<Moment>| moment.map(|m| m.film_time(plan)).transpose();
    let job = LayerJob {
        from: at(arguments.from)?,
        to: at(arguments.to)?,
        output: output(arguments).map_err(Failure::input)?,
        comment: Some(comment(plan, &prepared.inputs)?),
        drops_location: arguments.no_location,
        overwrite: arguments.overwrite,
        inputs: prepared.inputs.clone(),
    };
    report.say(&clocks::clock_line(&plan.fit));
    let cancel = interrupt::listen()?;
    let mut progress = Shown::new(report.is_quiet());
    let start = Instant::now();
    let result = render_layer(plan, &job, &mut progress, cancel);
    progress.end();
    if result.is_err() {
        report.findings(&plan.clip.file, &video::take_findings());
    }
    let (frames, findings) = result?;
    report.findings(&plan.clip.file, &findings);
    let seconds = start.elapsed().as_secs_f64();
    report.say(&format!(
        "wrote {}: the instruments alone, {frames} frames in {seconds:.1} s ({:.1} frames/s); alpha is straight\n\
         Recorded data, not for use in flight. The flight manual and the owner's own limits govern.",
        arguments.output.display(),
        frames as f64 / seconds.max(1e-3)
    ));
    Ok(())
}

/// What the output's name and the codec come to; the error says in words what is wrong.
fn output(arguments: &Arguments) -> Result<LayerOutput, String> {
    let file = &arguments.output;
    let codec = match arguments.codec {
        None => None,
        Some(CodecName::Animation) => Some(LayerCodec::Animation),
        Some(CodecName::Png) => Some(LayerCodec::Png),
        Some(CodecName::ProRes) => Some(LayerCodec::ProRes),
        Some(CodecName::Vp9) => Some(LayerCodec::Vp9),
        Some(_) => {
            let known = LayerCodec::ALL.map(LayerCodec::name).join(", ");
            return Err(format!("{}: this codec has no alpha; a layer takes --codec {known}", file.display()));
        }
    };
    let threads = usize::from(arguments.threads);
    let container = Container::of(file).ok();
    let Some((container, usual)) = container.and_then(|c| Some((c, LayerCodec::of(c)?))) else {
        let names = Sequence::of(file)?;
        if codec.is_some_and(|codec| codec != LayerCodec::Png) || arguments.crf.is_some() {
            return Err(format!("{}: pictures are PNG, without a quality to be chosen", file.display()));
        }
        return Ok(LayerOutput::Pictures { names, threads });
    };
    let settings =
        LayerSettings { codec: codec.unwrap_or(usual), crf: arguments.crf, speed: arguments.speed.into(), threads };
    Ok(LayerOutput::Film { file: file.clone(), container, settings })
}
