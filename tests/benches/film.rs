//! What a film costs beside the plain ffmpeg tool, in one run; reports only. Called by `tests/bench`.
//!
//! Rounds are interleaved, so that a busy moment of the machine meets every row. CPU is user and system time of the whole
//! process; "decode" and "decode + panel" are the CPU clock of the thread that draws plus the decoder's, per frame.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

#[path = "../common/mod.rs"]
mod common;

use common::{make_clip, run, said};
use jumpseat::render::{Annotator, Plan};
use jumpseat::time::FilmTime;
use jumpseat::video::{FramePool, Item, Reader};
use std::path::Path;
use std::process::Command;
use std::time::Instant;

const ROUNDS: usize = 7;

/// Median, least and greatest.
fn spread(values: &mut [f64]) -> (f64, f64, f64) {
    values.sort_by(f64::total_cmp);
    (values[values.len() / 2], values[0], values[values.len() - 1])
}

/// A log whose hands move by a pixel or more on every frame.
fn busy_log(folder: &Path) -> std::path::PathBuf {
    let mut text = String::from(
        "time_ms,Rotor,IAS,EGT,RPM,Fuel Flow,Oil P,Oil T,Gearbox T,Volts,Fuel\nms,%,kt,degC,rpm,gal/h,psi,degC,degC,V,gal\n",
    );
    for i in 0..1200 {
        let wave = |f: f64| (1.0 + (f64::from(i) * f).sin()) / 2.0;
        let (a, b, c) = (wave(0.21), wave(0.17), wave(0.13));
        text += &format!(
            "{},{:.2},{:.2},{:.1},{:.0},{:.2},{:.1},{:.1},{:.1},{:.2},{:.2}\n",
            i * 100,
            100.0 * a,
            110.0 * b,
            800.0 * c,
            2700.0 * a,
            20.0 * b,
            90.0 * c,
            120.0 * a,
            110.0 * b,
            24.0 + 4.0 * c,
            20.0 * a
        );
    }
    let path = folder.join("busy.csv");
    std::fs::write(&path, text).expect("log written");
    path
}

fn thread_cpu_s() -> f64 {
    let t = rustix::time::clock_gettime(rustix::time::ClockId::ThreadCPUTime);
    t.tv_sec as f64 + t.tv_nsec as f64 * 1e-9
}

/// CPU milliseconds a frame on this thread: decoding (one decoder thread, which is this one), then copy, draw and blend.
fn in_process(plan: &Plan) -> (f64, f64) {
    let mut reader = Reader::open(&plan.clip.file, 1).expect("clip");
    let mut annotator = Annotator::new(plan, plan.film_span()).expect("panel");
    let mut pool = None;
    let (mut decode, mut panel, mut frames) = (0.0, 0.0, 0.0);
    loop {
        let start = thread_cpu_s();
        let item = reader.read_item().expect("decoded");
        decode += thread_cpu_s() - start;
        match item {
            None => break,
            Some(Item::Sound(_)) => {}
            Some(Item::Frame(frame)) => {
                let start = thread_cpu_s();
                let film = FilmTime(plan.clip.video.time_base.seconds(frame.pts - plan.clip.video.first_pts));
                let state = annotator.state_at(film);
                let pool = pool.get_or_insert_with(|| FramePool::like(&frame).expect("pool"));
                let mut frame = pool.copy(&frame).expect("copy");
                annotator.lay_over(&state, &mut frame.planes_mut().expect("planes")).expect("laid over");
                panel += thread_cpu_s() - start;
                frames += 1.0;
            }
        }
    }
    (decode * 1000.0 / frames, panel * 1000.0 / frames)
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
    // `tests/bench 4K` runs that size alone; cargo adds options of its own.
    let wanted = std::env::args().skip(1).find(|a| !a.starts_with('-'));
    for (size, name, frames) in [("1920x1080", "1080p", 120.0), ("3840x2160", "4K", 24.0)] {
        if wanted.as_ref().is_some_and(|w| w != name) {
            continue;
        }
        let recipe = format!(
            "-f lavfi -i testsrc2=s={size}:r=30:d={} -f lavfi -i sine=r=48000:d={0} -vf noise=alls=8:allf=t -c:v libx264 \
             -preset veryfast -crf 18 -pix_fmt yuv420p -c:a aac",
            frames / 30.0
        );
        let clip = make_clip(folder, &format!("{name}.mp4"), &recipe);
        let plan = common::plan(&clip, &log);
        let still = run(folder, &format!("still --film {name}.mp4 --log busy.csv --offset 0 --at 0.5 -o {name}.png"));
        assert!(still.status.success(), "{}", said(&still));

        let ours = format!(
            "{} render --film {name}.mp4 --log busy.csv --offset 0 -o out.mp4 --overwrite --quiet",
            env!("CARGO_BIN_EXE_jumpseat")
        );
        // The plain tool on the annotated film as well: instruments hide part of the picture and make it easier to encode.
        run(
            folder,
            &format!(
                "render --film {name}.mp4 --log busy.csv --offset 0 -o annotated.mp4 --crf 10 --overwrite --quiet"
            ),
        );
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
        let decode = format!("ffmpeg -nostdin -v error -i {name}.mp4");
        let stills: String = (1..=8)
            .map(|i| {
                let (from, to) = (if i == 1 { "0:v".to_owned() } else { format!("v{}", i - 1) }, format!("v{i}"));
                let (x, y) = ((i - 1) % 4 * 420, (i - 1) / 4 * 420);
                format!("[{from}][{i}:v]overlay={x}:{y}[{to}];")
            })
            .collect();
        let stills = stills.trim_end_matches(';');
        let rows = [
            ("decode alone", format!("{decode} -map 0:v -f null -")),
            (
                "decode, eight still patches over it",
                format!("{decode}{} -filter_complex '{stills}' -map '[v8]' -f null -", " -i patch.png".repeat(8)),
            ),
            (
                "decode, a moving layer over it",
                format!("{decode} -i layer.mov -filter_complex '[0:v][1:v]overlay[v]' -map '[v]' -f null -"),
            ),
            ("plain ffmpeg", plain(&format!("{name}.mp4"))),
            ("plain ffmpeg on the annotated film", plain("annotated.mp4")),
            ("ours, no panel", format!("{ours} --no-panel")),
            ("ours, with panel", ours.clone()),
        ];
        let mut wall = vec![Vec::new(); rows.len()];
        let mut cpu = vec![Vec::new(); rows.len()];
        let (mut decode, mut draw) = (Vec::new(), Vec::new());
        for _ in 0..ROUNDS {
            for (i, (_, line)) in rows.iter().enumerate() {
                let (w, c) = timed(folder, line);
                wall[i].push(w * 1000.0 / frames);
                cpu[i].push(c * 1000.0 / frames);
            }
            let (d, p) = in_process(&plan);
            decode.push(d);
            draw.push(p);
        }
        println!(
            "{name}, {} instruments, {ROUNDS} rounds; ms a frame: median (least - greatest)",
            plan.panel.instruments.len()
        );
        for (what, values) in [("decode, thread CPU", &mut decode), ("copy + draw + blend, thread CPU", &mut draw)] {
            let (m, low, high) = spread(values);
            println!("  {what:38} {m:7.2} ({low:.2} - {high:.2})");
        }
        let plain = rows.iter().position(|(what, _)| *what == "plain ffmpeg").expect("the row");
        let base = (spread(&mut wall[plain]).0, spread(&mut cpu[plain]).0);
        for (i, (what, _)) in rows.iter().enumerate() {
            let (w, wl, wh) = spread(&mut wall[i]);
            let (c, cl, ch) = spread(&mut cpu[i]);
            println!(
                "  {what:38} wall {w:6.1} ({wl:.1} - {wh:.1}) = {:.2}; CPU {c:6.1} ({cl:.1} - {ch:.1}) = {:.2}",
                w / base.0,
                c / base.1
            );
        }
    }
}
