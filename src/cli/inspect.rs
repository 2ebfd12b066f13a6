//! `jumpseat inspect`: what a file holds.

use super::inputs::{DateArguments, look_at_log};
use super::sparkline::{self, sparkline};
use super::{Failure, Report, inspect_plot};
use crate::recorder::{self, Recording};
use anstream::println;
use serde_json::Value;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Arguments of `inspect`.
#[derive(clap::Args)]
pub(crate) struct Arguments {
    /// Logs and clips
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    #[command(flatten)]
    dates: DateArguments,
    /// One JSON document on standard output
    #[arg(long)]
    json: bool,
    /// Draw a log's channels as strips on one time axis (.png or .svg); one log alone is taken
    #[arg(long, value_name = "PIC")]
    plot: Option<PathBuf>,
    /// Replace a picture that exists
    #[arg(long, requires = "plot")]
    overwrite: bool,
}

/// A bad file among several is reported and the others are still looked at; the worst one decides the exit code.
pub(crate) fn run(arguments: &Arguments, report: &Report) -> Result<(), Failure> {
    if let Some(plot) = &arguments.plot {
        inspect_plot::check_ending(plot)?;
        match &arguments.files[..] {
            [file] if !is_clip(file) => {}
            _ => return Err(Failure::input("--plot draws one log: name it alone, and clips without --plot")),
        }
    }
    let mut documents = Vec::new();
    let mut failed: Option<Failure> = None;
    for file in &arguments.files {
        let looked = if is_clip(file) { clip(file, arguments, report) } else { log(file, arguments, report) };
        match looked {
            Ok(document) => documents.push(document),
            Err(failure) => {
                if let Some(earlier) = failed.replace(failure) {
                    report.failure(&earlier);
                }
            }
        }
    }
    if arguments.json {
        report.json(&Value::Array(documents));
    }
    failed.map_or(Ok(()), Err)
}

/// Whether a file is to be looked at as a clip: by its ending, else by a NUL byte at its start that is not one of a text.
fn is_clip(file: &Path) -> bool {
    const ENDINGS: [&str; 12] = ["mp4", "mov", "mkv", "m4v", "avi", "mts", "m2ts", "ts", "webm", "mpg", "3gp", "m4a"];
    // A pipe would be waited for; the log reader refuses it by name.
    if !std::fs::metadata(file).is_ok_and(|m| m.is_file()) {
        return false;
    }
    let ending = file.extension().map(|e| e.to_string_lossy().to_lowercase());
    if ending.is_some_and(|e| ENDINGS.contains(&e.as_str())) {
        return true;
    }
    let mut start = Vec::new();
    let read = std::fs::File::open(file).and_then(|f| f.take(4096).read_to_end(&mut start));
    read.is_ok() && start.contains(&0) && !recorder::is_text(&start)
}

fn log(file: &Path, arguments: &Arguments, report: &Report) -> Result<Value, Failure> {
    let recording = look_at_log(file, &arguments.dates)?;
    if !arguments.json {
        print_log(&recording);
        report.findings(file, &recording.findings);
    }
    if let Some(plot) = &arguments.plot {
        inspect_plot::write(&recording, plot, arguments.overwrite, report)?;
    }
    Ok(serde_json::json!(recorder::describe(&recording)))
}

fn print_log(recording: &Recording) {
    let clock = &recording.clock;
    println!("{}", recording.file.display());
    println!(
        "  log ({}), {} rows read, {} refused, {} without data",
        recording.format.word(),
        recording.rows_read,
        recording.rows_refused,
        recording.rows_left_out
    );
    println!("  clock: {} to {}, steps of {} s", clock.first, clock.last, clock.resolution_s);
    if let Some((day_first, month_first)) = &clock.date_readings {
        println!("  the date is open: {day_first} (day first) or {month_first} (month first); --date-order decides");
    }
    for (i, part) in recording.parts.iter().enumerate() {
        println!(
            "  part {}: {} to {}, {} rows in lines {} to {}{}",
            i + 1,
            part.first,
            part.last,
            part.rows,
            part.first_row,
            part.last_row,
            if part.read { ", read here" } else { "" }
        );
    }
    println!("  {:24} {:>10} {:>8} {:>8} {:>12} {:>12}", "channel", "unit", "samples", "missing", "least", "greatest");
    let (sparklines, duration_s) = (sparkline::room(), recording.duration_s());
    for channel in &recording.channels {
        let line = sparklines.map(|cells| sparkline(channel, duration_s, cells)).unwrap_or_default();
        let (low, high) = channel.range().map_or_else(Default::default, |(l, h)| (short(l), short(h)));
        let unit = channel.unit.as_deref().unwrap_or("-");
        println!(
            "  {:24} {unit:>10} {:>8} {:>8} {low:>12} {high:>12}{}{line}",
            channel.name,
            channel.times.len(),
            channel.missing,
            if line.is_empty() { "" } else { "  " }
        );
    }
}

/// A number that keeps its column.
fn short(value: f64) -> String {
    let plain = format!("{value}");
    if plain.len() <= 12 {
        return plain;
    }
    let rounded = (0..=7).rev().map(|decimals| format!("{value:.decimals$}")).find(|text| text.len() <= 12);
    match rounded.filter(|_| value.abs() >= 1e-3) {
        Some(text) if text.contains('.') => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        Some(text) => text,
        None => format!("{value:.5e}"),
    }
}

#[cfg(not(feature = "codec"))]
fn clip(file: &Path, _: &Arguments, _: &Report) -> Result<Value, Failure> {
    let file = file.display();
    Err(Failure::input(format!(
        "{file}: a clip, but this program was built without the codec feature; build it with FFmpeg"
    )))
}

#[cfg(feature = "codec")]
fn clip(file: &Path, arguments: &Arguments, report: &Report) -> Result<Value, Failure> {
    use crate::video;

    let clip = video::probe(file)?;
    let counted = video::count_frames(file)?;
    let mut findings = clip.findings.clone();
    findings.extend(video::take_findings());
    if !arguments.json {
        let (width, height) = clip.video.shape.shown_size();
        println!("{}", file.display());
        println!(
            "  clip ({}), {:.3} s, made {}",
            clip.container,
            clip.duration_s,
            clip.created.as_deref().unwrap_or("unknown")
        );
        println!(
            "  picture: {} {} x {}, shown {width:.0} x {height:.0}, {}, {} frames, {:.3} a second{}",
            clip.video.codec,
            clip.video.shape.width,
            clip.video.shape.height,
            clip.video.pixel_format,
            counted.frames,
            clip.video.frame_rate.as_f64(),
            if counted.variable_rate { ", variable" } else { "" }
        );
        for track in &clip.audio {
            println!("  sound: {} {} Hz, {} channels", track.codec, track.rate_hz, track.channels);
        }
        report.findings(file, &findings);
    }
    Ok(describe_clip(&clip, &counted, &findings))
}

#[cfg(feature = "codec")]
fn describe_clip(
    clip: &crate::video::Clip,
    counted: &crate::video::FrameCount,
    findings: &[crate::finding::Finding],
) -> Value {
    let video = &clip.video;
    let [matrix, range, transfer, primaries] = &video.tags;
    serde_json::json!({
        "file": clip.file,
        "kind": "clip",
        "container": clip.container,
        "duration_s": clip.duration_s,
        "created": clip.created,
        "created_from": clip.created_from,
        "timecode": clip.timecode,
        "video": {
            "codec": video.codec,
            "width": video.shape.width,
            "height": video.shape.height,
            "pixel_format": video.pixel_format,
            "frames": counted.frames,
            "frame_rate": video.frame_rate.as_f64(),
            "variable_rate": counted.variable_rate,
            // Clockwise, as the player turns the coded picture.
            "rotation_deg": u32::from(video.shape.orientation.quarter_turns) * 90,
            "mirrored": video.shape.orientation.mirrored,
            "pixel_aspect": video.shape.pixel_aspect,
            "first_pts_s": video.time_base.seconds(video.first_pts),
            "matrix": matrix,
            "range": range,
            "transfer": transfer,
            "primaries": primaries,
        },
        "audio": clip.audio.iter().map(|a| serde_json::json!({
            "codec": a.codec,
            "rate_hz": a.rate_hz,
            "channels": a.channels,
            "duration_s": a.duration_s,
        })).collect::<Vec<_>>(),
        "findings": findings,
    })
}
