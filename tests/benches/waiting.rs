//! What one waits for beside the plain ffmpeg tool, held against the aims of the issue in one run; reports only. Called by `tests/bench
//! waiting`.
//!
//! Each round runs every row once, so that a busy moment of the machine meets all of them; a ratio is taken within its round. An aim is
//! missed only where even the low end of the ratio's interval lies beyond it (95 %, Student's t over the logarithms of the rounds'
//! ratios). Wall times say little while others work on the machine; CPU is user and system time of the whole process.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

#[path = "../common/mod.rs"]
mod common;
#[path = "logs.rs"]
mod logs;

use common::make_clip;
use logs::{busy_log, flight_file};
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const ROUNDS: usize = 7;
/// Student's t, two-sided 95 %, six degrees of freedom (NIST/SEMATECH e-Handbook, 1.3.6.7.2).
const STUDENT: f64 = 2.447;
/// What both tools gather before they write to the file at all (FFmpeg's I/O buffer).
const FIRST_BYTES: u64 = 32 << 10;

/// What one run took.
#[derive(Debug, Clone, Copy)]
struct Run {
    wall: f64,
    cpu: f64,
    /// Greatest resident memory, MiB.
    memory: f64,
    /// Until the first frame went to the encoder, where the program says so, and until the first bytes were in the file.
    first_frame: f64,
    first_bytes: f64,
}

/// User and system seconds of all children that have ended.
fn children_cpu_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").expect("Linux");
    let fields: Vec<&str> = stat.rsplit(')').next().expect("fields").split_whitespace().collect();
    // Fields 16 and 17 of proc(5), in hundredths; the list begins at field 3.
    fields[13..15].iter().map(|ticks| ticks.parse::<f64>().expect("ticks") / 100.0).sum()
}

/// A number of kB out of a process's status.
fn status_kb(pid: u32, key: &str) -> Option<f64> {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).ok()?;
    let line = status.lines().find(|line| line.starts_with(key))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

/// The file that a run writes, finished or not.
fn written(folder: &Path, name: &str) -> u64 {
    let entries = std::fs::read_dir(folder).expect("folder").flatten();
    let ours = entries.filter(|entry| entry.file_name().to_string_lossy().contains(name));
    ours.filter_map(|entry| entry.metadata().ok()).map(|data| data.len()).max().unwrap_or(0)
}

/// Runs a program to its end; `to` is the file that it writes. `progress` is told the lines that it says, with the time.
fn run(folder: &Path, line: &str, to: &str, progress: &mut dyn FnMut(&str, u32)) -> Run {
    let _ = std::fs::remove_file(folder.join(to));
    let before = children_cpu_s();
    let mut words = line.split_whitespace();
    let mut command = Command::new(words.next().expect("a program"));
    command.current_dir(folder).args(words).stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::piped());
    let start = Instant::now();
    let mut child = command.spawn().expect("started");
    let pid = child.id();
    let (say, said) = std::sync::mpsc::channel();
    let lines = BufReader::new(child.stderr.take().expect("lines")).lines();
    let listener = std::thread::spawn(move || {
        for line in lines.map_while(Result::ok) {
            if say.send((line, start.elapsed().as_secs_f64())).is_err() {
                break;
            }
        }
    });
    let mut one = Run { wall: 0.0, cpu: 0.0, memory: 0.0, first_frame: f64::NAN, first_bytes: f64::NAN };
    let mut last = String::new();
    let status = loop {
        if let Some(kb) = status_kb(pid, "VmHWM") {
            one.memory = kb / 1024.0;
        }
        while let Ok((line, at)) = said.try_recv() {
            if line.starts_with("progress") && one.first_frame.is_nan() {
                one.first_frame = at;
            }
            progress(&line, pid);
            last = line;
        }
        if one.first_bytes.is_nan() && written(folder, to) >= FIRST_BYTES {
            one.first_bytes = start.elapsed().as_secs_f64();
        }
        match child.try_wait().expect("state") {
            Some(status) => break status,
            None => std::thread::sleep(Duration::from_millis(5)),
        }
    };
    one.wall = start.elapsed().as_secs_f64();
    listener.join().expect("lines");
    assert!(status.success(), "{line}: {last}");
    one.cpu = children_cpu_s() - before;
    one
}

/// Mean ratio and its interval.
fn ratio(over: &[f64], under: &[f64]) -> (f64, f64, f64) {
    let logs: Vec<f64> = over.iter().zip(under).map(|(a, b)| (a / b).ln()).collect();
    let n = logs.len() as f64;
    let mean = logs.iter().sum::<f64>() / n;
    let variance = logs.iter().map(|l| (l - mean).powi(2)).sum::<f64>() / (n - 1.0);
    let half = STUDENT * (variance / n).sqrt();
    (mean.exp(), (mean - half).exp(), (mean + half).exp())
}

/// Prints a ratio, held against an aim where there is one.
fn say_ratio(what: &str, (mean, low, high): (f64, f64, f64), aim: Option<f64>) {
    let aim = aim.map_or_else(String::new, |aim| {
        format!(
            "; aim {aim:.2}: {}",
            if low > aim {
                "MISSED"
            } else if high <= aim {
                "met"
            } else {
                "not missed"
            }
        )
    });
    println!("    {what:34} {mean:.3} ({low:.3} to {high:.3}){aim}");
}

fn median(runs: &[Run], of: impl Fn(&Run) -> f64) -> f64 {
    let mut values: Vec<f64> = runs.iter().map(of).collect();
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// One kind of film.
struct Film {
    name: &'static str,
    size: &'static str,
    frames: usize,
    source: &'static str,
    /// The plain tool's encoder, with the settings that ours has.
    plain: &'static str,
    ours: &'static str,
    most_memory: f64,
}

const FILMS: [Film; 2] = [
    Film {
        name: "1080p30 H.264, 8 bit",
        size: "1920x1080",
        frames: 90,
        source: "-c:v libx264 -preset veryfast -crf 18 -pix_fmt yuv420p",
        plain: "-c:v libx264 -preset veryfast -crf 20",
        ours: "--codec h264",
        most_memory: 60.0,
    },
    Film {
        name: "4K30 HEVC, 10 bit",
        size: "3840x2160",
        frames: 12,
        source: "-c:v libx265 -preset ultrafast -crf 18 -pix_fmt yuv420p10le -x265-params log-level=error",
        plain: "-c:v libx265 -preset veryfast -crf 22 -x265-params log-level=error:open-gop=0",
        ours: "--codec hevc",
        most_memory: 200.0,
    },
];

fn film(folder: &Path, film: &Film) {
    let Film { name, size, frames, source, plain, ours, most_memory } = *film;
    let seconds = frames as f64 / 30.0;
    let recipe = format!(
        "-f lavfi -i testsrc2=s={size}:r=30:d={seconds} -f lavfi -i sine=r=48000:d={seconds} -vf noise=alls=8:allf=t {source} -c:a aac"
    );
    make_clip(folder, "clip.mp4", &recipe);
    flight_file(folder, "clip");
    let program = env!("CARGO_BIN_EXE_jumpseat");
    let render = format!("{program} render clip.toml --overwrite");
    let rows = [
        ("plain ffmpeg", format!("ffmpeg -nostdin -v error -y -i clip.mp4 {plain} -c:a copy plain.mp4"), "plain.mp4"),
        ("ours, no panel", format!("{render} {ours} --no-panel -o bare.mp4"), "bare.mp4"),
        ("ours, full panel", format!("{render} {ours} -o full.mp4"), "full.mp4"),
        ("layer, Animation", format!("{render} --layer -o layer.mov"), "layer.mov"),
        ("layer, PNG", format!("{render} --layer --codec png -o png.mov"), "png.mov"),
    ];
    let mut runs = vec![Vec::new(); rows.len()];
    for _ in 0..ROUNDS {
        for (runs, (_, line, to)) in runs.iter_mut().zip(&rows) {
            runs.push(run(folder, line, to, &mut |_, _| {}));
        }
    }
    println!("{name}: {frames} frames, {ROUNDS} rounds; a frame's median in ms, then the process");
    for (runs, (what, ..)) in runs.iter().zip(&rows) {
        let per_frame = |of: fn(&Run) -> f64| median(runs, of) * 1000.0 / frames as f64;
        println!(
            "  {what:18} CPU {:7.1}  wall {:7.1}; memory {:6.1} MiB, first frame at {:.2} s, first bytes at {:.2} s",
            per_frame(|r| r.cpu),
            per_frame(|r| r.wall),
            median(runs, |r| r.memory),
            median(runs, |r| r.first_frame),
            median(runs, |r| r.first_bytes)
        );
    }
    let of = |row: usize, of: fn(&Run) -> f64| runs[row].iter().map(of).collect::<Vec<f64>>();
    say_ratio("no panel / plain, CPU", ratio(&of(1, |r| r.cpu), &of(0, |r| r.cpu)), Some(1.02));
    say_ratio("no panel / plain, wall", ratio(&of(1, |r| r.wall), &of(0, |r| r.wall)), Some(1.02));
    say_ratio("full panel / no panel, CPU", ratio(&of(2, |r| r.cpu), &of(1, |r| r.cpu)), None);
    say_ratio("full panel / plain, CPU", ratio(&of(2, |r| r.cpu), &of(0, |r| r.cpu)), None);
    say_ratio("layer, Animation / full panel, wall", ratio(&of(3, |r| r.wall), &of(2, |r| r.wall)), Some(1.0));
    say_ratio("layer, PNG / full panel, wall", ratio(&of(4, |r| r.wall), &of(2, |r| r.wall)), Some(1.0));
    let above = median(&runs[2], |r| r.memory) - median(&runs[0], |r| r.memory);
    println!("    memory above plain                 {above:.1} MiB; aim {most_memory:.0}");
    let later = median(&runs[2], |r| r.first_bytes) - median(&runs[0], |r| r.first_bytes);
    println!("    first frame at                     {:.2} s; aim 0.40", median(&runs[2], |r| r.first_frame));
    println!("    first bytes later than plain's by  {later:.2} s; aim 0.20");
}

/// How memory grows from frame 1,000 to the 18,000th, bytes a frame: the slope through what is held whenever the program says how far
/// it is.
fn growth(folder: &Path) {
    let seconds = 18_200.0 / 30.0;
    let recipe = format!(
        "-f lavfi -i testsrc2=s=320x180:r=30:d={seconds} -f lavfi -i sine=r=48000:d={seconds} -c:v libx264 -preset ultrafast \
         -pix_fmt yuv420p -g 60 -c:a aac"
    );
    make_clip(folder, "long.mp4", &recipe);
    make_clip(folder, "late.mp4", "-i long.mp4 -itsoffset 60 -i long.mp4 -map 0:v -map 1:a -c copy");
    for clip in ["long", "late"] {
        flight_file(folder, clip);
        let line =
            format!("{} render {clip}.toml --overwrite --speed fastest -o out.mp4", env!("CARGO_BIN_EXE_jumpseat"));
        let mut held: Vec<(f64, f64)> = Vec::new();
        run(folder, &line, "out.mp4", &mut |line, pid| {
            let frame = line.split("frame=").nth(1).and_then(|rest| rest.split(' ').next()?.parse::<f64>().ok());
            if let (Some(frame), Some(kb)) =
                (frame.filter(|f| (1000.0..=18_000.0).contains(f)), status_kb(pid, "VmRSS"))
            {
                held.push((frame, kb * 1024.0));
            }
        });
        let n = held.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| held.iter().map(of).sum::<f64>() / n;
        let (frame, bytes) = (mean(|h| h.0), mean(|h| h.1));
        let slope = held.iter().map(|h| (h.0 - frame) * (h.1 - bytes)).sum::<f64>()
            / held.iter().map(|h| (h.0 - frame).powi(2)).sum::<f64>();
        let what = if clip == "late" { "sound a minute late" } else { "sound beside its picture" };
        println!(
            "memory of 18,200 frames of 320x180, {what}: {:.1} MiB, grows by {slope:.0} bytes a frame ({n} readings); aim 1000",
            bytes / 1048576.0
        );
    }
}

fn main() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    busy_log(folder);
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let load = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    println!("{cores} cores, load before the run {}", load.split(' ').take(3).collect::<Vec<_>>().join(" "));
    // `tests/bench waiting growth`, `waiting 1080p30`, `waiting 4K30`: that part alone; cargo adds options of its own.
    let wanted = std::env::args().skip(1).find(|word| !word.starts_with('-'));
    let is_wanted = |name: &str| wanted.as_ref().is_none_or(|word| name.starts_with(word.as_str()));
    if is_wanted("growth") {
        growth(folder);
    }
    for one in FILMS.iter().filter(|one| is_wanted(one.name)) {
        film(folder, one);
    }
}
