//! What a film costs beside the plain ffmpeg tool, in one run; reports only. Called by `tests/bench`.
//!
//! Rounds are interleaved, so that a busy moment of the machine meets every row. CPU is user and system time of the whole
//! process; the stages are the CPU clock of the one thread that walks the film.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

#[path = "../common/mod.rs"]
mod common;
#[path = "logs.rs"]
mod logs;
#[path = "overlay.rs"]
mod overlay;

use common::{make_clip, run, said};
use jumpseat::blend::Film;
use jumpseat::clock::ClockFit;
use jumpseat::draw::Painter;
use jumpseat::readout::{Notice, PanelState, Readout};
use jumpseat::render::{Annotator, Plan};
use jumpseat::session::Session;
use jumpseat::time::FilmTime;
use jumpseat::video::{self, Frame, FramePool, Item, Reader};
use jumpseat::{panel, recorder};
use logs::{busy_log, flight_file};
use std::collections::VecDeque;
use std::path::Path;
use std::process::Command;
use std::time::Instant;

const ROUNDS: usize = 7;
/// Frames that are drawn together, and frames that wait beside them, as in `render`.
const TOGETHER: usize = 6;
const WAITING: usize = 4;

/// Median, least and greatest.
fn spread(values: &mut [f64]) -> (f64, f64, f64) {
    values.sort_by(f64::total_cmp);
    (values[values.len() / 2], values[0], values[values.len() - 1])
}

/// The flight file of a clip, and the plan that it makes.
fn flight(folder: &Path, name: &str, log: &Path) -> Plan {
    flight_file(folder, name);
    let read = panel::file::open(&folder.join("panel.toml")).expect("panel");
    assert!(read.faults.is_empty(), "{:?}", read.faults);
    let recording = recorder::read(log, &recorder::Options::default()).expect("log");
    let clip = video::probe(&folder.join(format!("{name}.mp4"))).expect("clip");
    Plan::new(
        clip,
        Session::of(recording),
        read.panel,
        Default::default(),
        ClockFit { offset_at_pivot_s: 0.05, ..ClockFit::same() },
    )
}

fn thread_cpu_s() -> f64 {
    let t = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    t.tv_sec as f64 + t.tv_nsec as f64 * 1e-9
}

/// What a frame takes on this thread in CPU milliseconds, and how much of it is touched.
#[derive(Default)]
struct Stages {
    read_out: f64,
    copy: f64,
    /// Masks and blending, as `render` has them done: instrument after instrument, over all frames of a burst.
    painted: f64,
    /// The two apart, one frame after the other.
    draw: f64,
    blend: f64,
    /// Making the faces, which a film does once: the first frame, which is in none of the others.
    faces: f64,
    /// Share of the frames that the decoder still held, so that they had to be copied.
    copied: f64,
    /// Instruments that show anything new a frame, and the share of the frame covered.
    redrawn: f64,
    covered: f64,
}

/// A row of the report.
type Stage = (&'static str, fn(&Stages) -> f64);

/// Walks a film whose decoder has its own threads, as it has in `render` and in the tool. Frames go the way they go in
/// `render`: some wait, some are drawn together, those that the decoder still holds are copied. The first frame, for which the
/// faces are made, is counted by itself.
///
/// Drawing and blending are told apart (`apart`) in a walk of its own, for `render` does both for one instrument after the other.
fn in_process(plan: &Plan, apart: bool) -> Stages {
    let mut reader = Reader::open(&plan.clip.file, 0).expect("clip");
    let video = &plan.clip.video;
    let mut readout = Readout::new(&plan.session, &plan.judged, &plan.panel);
    let coded: Film = Film::coded(&video.coding);
    let mut painter = Painter::in_form(&plan.panel, video.shape, plan.look, coded).expect("panel");
    let (mut pool, mut stages, mut frames) = (None, Stages::default(), 0.0);
    let clocked = |stage: &mut f64, start: f64| *stage += 1000.0 * (thread_cpu_s() - start);
    let (mut waiting, mut ended) = (VecDeque::new(), false);
    loop {
        let full = WAITING + TOGETHER;
        while !ended && waiting.len() < full {
            match reader.read_item().expect("decoded") {
                None => ended = true,
                Some(Item::Sound(_)) => {}
                Some(Item::Frame(frame)) => waiting.push_back(frame),
            }
        }
        // The first one goes alone.
        let most = if stages.faces == 0.0 { 1 } else { TOGETHER };
        let burst: Vec<Frame> = waiting.drain(..waiting.len().min(most)).collect();
        if burst.is_empty() {
            break;
        }
        let start = thread_cpu_s();
        let state = |frame: &Frame| {
            let film = FilmTime(video.time_base.seconds(frame.pts - video.first_pts));
            readout.in_film(film, plan.session_time(film), Notice::Bare)
        };
        let states: Vec<PanelState> = burst.iter().map(state).collect();
        clocked(&mut stages.read_out, start);
        if stages.faces == 0.0 {
            // On all cores, so that no thread's clock tells.
            let start = Instant::now();
            painter.show(&states[0]);
            stages.faces = 1000.0 * start.elapsed().as_secs_f64();
            continue;
        }
        let start = thread_cpu_s();
        let own = |frame: Frame| {
            // As `render` does: what the decoder has done with is drawn on itself.
            if frame.is_writable() {
                return frame;
            }
            stages.copied += 1.0;
            pool.get_or_insert_with(|| FramePool::like(&frame).expect("pool")).copy(&frame).expect("copy")
        };
        let mut burst: Vec<Frame> = burst.into_iter().map(own).collect();
        clocked(&mut stages.copy, start);
        frames += burst.len() as f64;
        let start = thread_cpu_s();
        let canvas = |frame| coded.canvas(Frame::planes_mut(frame).expect("planes")).expect("canvas");
        let mut canvases: Vec<_> = burst.iter_mut().map(canvas).collect();
        if !apart {
            painter.paint(&states, &mut canvases);
            clocked(&mut stages.painted, start);
            continue;
        }
        for (state, canvas) in states.iter().zip(&mut canvases) {
            let start = thread_cpu_s();
            stages.redrawn += painter.show(state) as f64;
            clocked(&mut stages.draw, start);
            let start = thread_cpu_s();
            painter.lay(canvas);
            clocked(&mut stages.blend, start);
        }
    }
    let Stages { read_out, copy, painted, draw, blend, copied, redrawn, .. } = &mut stages;
    for sum in [read_out, copy, painted, draw, blend, copied, redrawn] {
        *sum /= frames;
    }
    let mut annotator = Annotator::new(plan, plan.film_span()).expect("panel");
    let state = annotator.state_at(FilmTime(1.0));
    let mut frame =
        FramePool::planar(video.shape.width, video.shape.height).and_then(|pool| pool.blank(0, 0)).expect("frame");
    annotator.lay_over(&[state], std::slice::from_mut(&mut frame)).expect("laid");
    stages.covered = annotator.covered_share().expect("share");
    stages
}

/// Wall and CPU seconds of a command, by the shell's own count of its children.
fn timed(folder: &Path, line: &str) -> (f64, f64) {
    let start = Instant::now();
    let output = Command::new("bash")
        .current_dir(folder)
        .args(["-c", &format!("{line} || exit 1; times")])
        .output()
        .expect("bash");
    let wall = start.elapsed().as_secs_f64();
    assert!(output.status.success(), "{line}: {}", said(&output));
    let text = String::from_utf8_lossy(&output.stdout).into_owned();
    let children = text.lines().last().expect("two lines of times");
    let seconds = |field: &str| {
        let (m, s) = field.trim_end_matches('s').split_once('m').expect("1m2.345s");
        m.parse::<f64>().expect("minutes") * 60.0 + s.parse::<f64>().expect("seconds")
    };
    (wall, children.split_whitespace().map(seconds).sum())
}

fn main() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    let log = busy_log(folder);
    // `tests/bench 4K` runs that size alone, `tests/bench 4K stages` the stages without the encoders; cargo adds options of its own.
    let words: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with('-')).collect();
    let wanted = words.iter().find(|word| *word != "stages");
    let stages_alone = words.iter().any(|word| word == "stages");
    for (size, name, frames) in [("1920x1080", "1080p", 360.0), ("3840x2160", "4K", 72.0)] {
        if wanted.is_some_and(|w| w != name) {
            continue;
        }
        let recipe = format!(
            "-f lavfi -i testsrc2=s={size}:r=30:d={} -f lavfi -i sine=r=48000:d={0} -vf noise=alls=8:allf=t -c:v libx264 \
             -preset veryfast -crf 18 -pix_fmt yuv420p -c:a aac",
            frames / 30.0
        );
        let clip = make_clip(folder, &format!("{name}.mp4"), &recipe);
        assert!(clip.is_file());
        let plan = flight(folder, name, &log);
        let still = run(folder, &format!("still {name}.toml --at 0.5 -o {name}.png"));
        assert!(still.status.success(), "{}", said(&still));

        let ours = format!("{} render {name}.toml -o out.mp4 --overwrite --quiet", env!("CARGO_BIN_EXE_jumpseat"));
        // The plain tool on the annotated film as well: instruments hide part of the picture and make it easier to encode.
        if !stages_alone {
            run(folder, &format!("render {name}.toml -o annotated.mp4 --crf 10 --overwrite --quiet"));
        }
        let plain = |input: &str| {
            format!("ffmpeg -nostdin -v error -y -i {input} -c:v libx264 -preset veryfast -crf 20 -c:a copy plain.mp4")
        };
        // What the tool itself takes to lay pictures over each frame: less "decode alone", to compare with ours below.
        make_clip(
            folder,
            "patch.png",
            "-f lavfi -i testsrc2=s=300x300,format=rgba,colorchannelmixer=aa=0.7 -frames:v 1",
        );
        let layer = format!(
            "-f lavfi -i testsrc2=s={size}:r=30:d={},format=argb,colorchannelmixer=aa=0.7 -c:v qtrle",
            frames / 30.0
        );
        make_clip(folder, "layer.mov", &layer);
        let stills: String = (1..=8)
            .map(|i| {
                let (from, to) = (if i == 1 { "0:v".to_owned() } else { format!("v{}", i - 1) }, format!("v{i}"));
                let (x, y) = ((i - 1) % 4 * 420, (i - 1) / 4 * 420);
                format!("[{from}][{i}:v]overlay={x}:{y}[{to}];")
            })
            .collect();
        let stills = stills.trim_end_matches(';');
        let mut stills_over = ["-i", "patch.png"].repeat(8);
        stills_over.extend(["-filter_complex", stills, "-map", "[v8]"]);
        let decode = format!("ffmpeg -nostdin -v error -i {name}.mp4");
        let rows = [
            ("decode alone", format!("{decode} -map 0:v -f null -")),
            (
                "decode, a moving layer over it",
                format!("{decode} -i layer.mov -filter_complex '[0:v][1:v]overlay[v]' -map '[v]' -f null -"),
            ),
            ("plain ffmpeg", plain(&format!("{name}.mp4"))),
            ("plain ffmpeg on the annotated film", plain("annotated.mp4")),
            ("ours, no panel", format!("{ours} --no-panel")),
            ("ours, with panel", ours.clone()),
        ];
        let rows = if stages_alone { &rows[..2] } else { &rows[..] };
        let mut wall = vec![Vec::new(); rows.len()];
        let mut cpu = vec![Vec::new(); rows.len()];
        let (mut rounds, mut apart, mut filters): (Vec<Stages>, Vec<Stages>, Vec<f64>) = Default::default();
        let mut tools = Vec::new();
        for _ in 0..ROUNDS {
            for (i, (_, line)) in rows.iter().enumerate() {
                let (w, c) = timed(folder, line);
                wall[i].push(w * 1000.0 / frames);
                cpu[i].push(c * 1000.0 / frames);
            }
            rounds.push(in_process(&plan, false));
            apart.push(in_process(&plan, true));
            tools.extend(overlay::of_the_tool_ms(folder, &format!("{name}.mp4"), &stills_over, frames as u32));
            filters.push(overlay::eight_patches_ms(&clip, &folder.join("patch.png"), thread_cpu_s));
        }
        let first = &rounds[0];
        println!(
            "{name}, {} instruments, {:.1} pictures with something new a frame, {:.1} % covered, {:.0} % of the frames copied, \
             faces made once in {:.0} ms of wall time; {ROUNDS} rounds; ms a frame: median (least - greatest)",
            plan.panel.instruments.len(),
            apart[0].redrawn,
            100.0 * first.covered,
            100.0 * first.copied,
            first.faces
        );
        let stages: [(&[Stages], Stage); 5] = [
            (&rounds, ("read out", |s| s.read_out)),
            (&rounds, ("copy", |s| s.copy)),
            (&rounds, ("copy + draw + blend", |s| s.copy + s.painted)),
            (&apart, ("draw by itself: masks", |s| s.draw)),
            (&apart, ("blend by itself: faces, hands, texts", |s| s.blend)),
        ];
        for (rounds, (what, of)) in stages {
            let (m, low, high) = spread(&mut rounds.iter().map(of).collect::<Vec<_>>());
            println!("  {:48} {m:7.2} ({low:.2} - {high:.2})", format!("{what}, thread CPU"));
        }
        // Round by round, since all of them are slower in some rounds than in others.
        let ours: Vec<f64> = rounds.iter().map(|s| s.copy + s.painted).collect();
        for (what, others) in [("ours over the tool", &tools), ("ours over its filters alone", &filters)] {
            if others.len() == ours.len() {
                let mut ratios: Vec<f64> = ours.iter().zip(others).map(|(ours, other)| ours / other).collect();
                let below = ratios.iter().filter(|ratio| **ratio < 1.0).count();
                let (m, low, high) = spread(&mut ratios);
                println!("  {what:48} {m:7.2} ({low:.2} - {high:.2}), less in {below} of {ROUNDS} rounds");
            }
        }
        // The layer is decoded on the tool's main thread, which works as much as one of its decoder's.
        let moving = cpu[1].iter().zip(&cpu[0]).map(|(with, without)| with - without).collect();
        for (what, mut values) in [
            ("the tool: eight still patches", tools),
            ("its filters alone, on this thread", filters),
            ("the tool: a moving layer, whole CPU", moving),
        ] {
            if values.is_empty() {
                println!("  {what:48} its decoder's threads are not told apart");
            } else {
                let (m, low, high) = spread(&mut values);
                println!("  {what:48} {m:7.2} ({low:.2} - {high:.2})");
            }
        }
        let Some(plain) = rows.iter().position(|(what, _)| *what == "plain ffmpeg") else { continue };
        let base = (spread(&mut wall[plain]).0, spread(&mut cpu[plain]).0);
        for (i, (what, _)) in rows.iter().enumerate() {
            let (w, wl, wh) = spread(&mut wall[i]);
            let (c, cl, ch) = spread(&mut cpu[i]);
            println!(
                "  {what:48} wall {w:6.1} ({wl:.1} - {wh:.1}) = {:.2}; CPU {c:6.1} ({cl:.1} - {ch:.1}) = {:.2}",
                w / base.0,
                c / base.1
            );
        }
    }
}
