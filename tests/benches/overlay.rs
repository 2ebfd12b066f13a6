//! What FFmpeg's own overlay costs, over the frames that its decoder gives.
//!
//! The tool's cost as a process, less that of decoding, is the difference of two large figures that vary by more than what is
//! looked for. So the tool's threads are told apart, and those of its decoder left out; and the same filters run in this process on
//! this thread, as our drawing does, where nothing but they is clocked.

#![allow(clippy::expect_used, reason = "a bench stops at the first thing that is not as it must be")]

use ffmpeg_next as ffmpeg;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

/// Times that the tool reads the film in one run.
const TURNS: u32 = 2;

/// What the tool takes to lay pictures over a film of so many frames, in CPU milliseconds a frame on all threads but its decoder's: a
/// run with the pictures less one without, and of either only what the frames after the first take, since starting is not
/// laying. `over` comes after the film's input; none where the decoder's threads cannot be told from the others.
pub fn of_the_tool_ms(folder: &Path, clip: &str, over: &[&str], frames: u32) -> Option<f64> {
    let run = |over: &[&str]| {
        let first = [over, &["-frames:v", "1"]].concat();
        Some(beside_the_decoder_ms(folder, clip, over)? - beside_the_decoder_ms(folder, clip, &first)?)
    };
    Some((run(over)? - run(&["-map", "0:v"])?) / f64::from(TURNS * frames - 1))
}

/// CPU milliseconds of all threads of the tool but its decoder's, which are the first that it starts.
fn beside_the_decoder_ms(folder: &Path, clip: &str, arguments: &[&str]) -> Option<f64> {
    let decoders = std::thread::available_parallelism().map_or(1, usize::from) + 1;
    let mut command = Command::new("ffmpeg");
    command.current_dir(folder).args(["-nostdin", "-v", "error", "-threads", &decoders.to_string()]);
    command.args(["-stream_loop", &(TURNS - 1).to_string(), "-i", clip]);
    let mut tool = command.args(arguments).args(["-f", "null", "-"]).stdout(Stdio::null()).spawn().expect("ffmpeg");
    let mut threads: BTreeMap<u32, u64> = BTreeMap::new();
    while tool.try_wait().expect("ffmpeg").is_none() {
        // The last look at a thread stands for it: what it does later is less than a look apart.
        for thread in std::fs::read_dir(format!("/proc/{}/task", tool.id())).into_iter().flatten().flatten() {
            let text = std::fs::read_to_string(thread.path().join("schedstat")).unwrap_or_default();
            let number = thread.file_name().to_str().and_then(|name| name.parse().ok());
            if let Some((number, ns)) = number.zip(text.split(' ').next().and_then(|ns| ns.parse().ok())) {
                threads.insert(number, ns);
            }
        }
        std::thread::sleep(Duration::from_millis(2));
    }
    assert!(tool.wait().expect("ffmpeg").success(), "{arguments:?}");
    // The process itself comes first.
    let ns: Vec<u64> = threads.into_values().collect();
    let (own, (decoding, others)) =
        ns.split_first().and_then(|(own, rest)| Some((own, rest.split_at_checked(decoders)?)))?;
    let least = decoding.iter().min()?;
    others.iter().all(|others| others < least).then(|| (own + others.iter().sum::<u64>()) as f64 / 1e6)
}

/// CPU milliseconds a frame of laying eight still patches over a film, without the first frame, which reads the patches.
pub fn eight_patches_ms(clip: &Path, patch: &Path, thread_cpu_s: fn() -> f64) -> f64 {
    let mut input = ffmpeg::format::input(clip).expect("clip");
    let stream = input.streams().best(ffmpeg::media::Type::Video).expect("picture");
    let (index, base) = (stream.index(), stream.time_base());
    let mut context = ffmpeg::codec::context::Context::from_parameters(stream.parameters()).expect("parameters");
    // The decoder has threads of its own, as in the tool and in `render`.
    context.set_threading(ffmpeg::threading::Config { kind: ffmpeg::threading::Type::Frame, ..Default::default() });
    let mut decoder = context.decoder().video().expect("decoder");

    let mut graph = ffmpeg::filter::Graph::new();
    let (width, height) = (decoder.width(), decoder.height());
    let (num, den) = (base.numerator(), base.denominator());
    let form = format!("video_size={width}x{height}:pix_fmt=yuv420p:time_base={num}/{den}:pixel_aspect=1/1");
    for (filter, name, form) in [("buffer", "in", &*form), ("buffersink", "out", "")] {
        graph.add(&ffmpeg::filter::find(filter).expect("filter"), name, form).expect("end");
    }
    let overlays: String = (0..8)
        .map(|i| {
            let from = if i == 0 { "in".to_owned() } else { format!("v{i}") };
            let to = if i == 7 { "out".to_owned() } else { format!("v{}", i + 1) };
            let (x, y) = (i % 4 * 420, i / 4 * 420);
            // One thread, this one: no work escapes its clock.
            format!("movie={}[p{i}];[{from}][p{i}]overlay={x}:{y}:threads=1[{to}];", patch.display())
        })
        .collect();
    let ends = graph.output("in", 0).and_then(|graph| graph.input("out", 0)).expect("ends");
    ends.parse(overlays.trim_end_matches(';')).expect("overlays");
    graph.validate().expect("graph");

    let (mut cpu_s, mut frames) = (0.0, -1.0);
    let mut lay = |frame: ffmpeg::frame::Video| {
        let start = thread_cpu_s();
        graph.get("in").expect("end").source().add(&frame).expect("frame taken");
        drop(frame);
        let mut laid = ffmpeg::frame::Video::empty();
        while graph.get("out").expect("end").sink().frame(&mut laid).is_ok() {}
        if frames >= 0.0 {
            cpu_s += thread_cpu_s() - start;
        }
        frames += 1.0;
    };
    let mut decoded = |decoder: &mut ffmpeg::decoder::Video| loop {
        let mut frame = ffmpeg::frame::Video::empty();
        if decoder.receive_frame(&mut frame).is_err() {
            break;
        }
        lay(frame);
    };
    for (stream, packet) in input.packets() {
        if stream.index() == index {
            decoder.send_packet(&packet).expect("packet");
            decoded(&mut decoder);
        }
    }
    decoder.send_eof().expect("end of the film");
    decoded(&mut decoder);
    1000.0 * cpu_s / frames
}
