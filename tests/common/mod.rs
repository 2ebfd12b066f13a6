//! What the end-to-end tests share: the program under test, clips made on the spot, and independent readings of films by the
//! ffmpeg and ffprobe tools.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![allow(dead_code, reason = "each test file takes what it needs")]

pub mod faults;

use jumpseat::panel::{Arrangement, Density, recognised};
use jumpseat::readout::facts;
use jumpseat::recorder;
use jumpseat::render::{FilmJob, Plan};
use jumpseat::session::Session;
use jumpseat::video;
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// The compiled program, in a folder.
pub fn jumpseat(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat"));
    command.current_dir(folder);
    command
}

/// Runs the program with arguments split at blanks.
pub fn run(folder: &Path, arguments: &str) -> Output {
    jumpseat(folder).args(arguments.split_whitespace()).output().expect("the program starts")
}

/// Standard error as text.
pub fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A file that came with the project: `real/clips/...`.
pub fn real(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/real").join(name)
}

/// Makes a clip with the ffmpeg tool: everything between the global options and the output's name.
pub fn make_clip(folder: &Path, name: &str, recipe: &str) -> PathBuf {
    let path = folder.join(name);
    let mut command = Command::new("ffmpeg");
    command.current_dir(folder).args(["-nostdin", "-v", "error", "-y"]).args(recipe.split_whitespace()).arg(&path);
    let output = command.output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{command:?}: {}", said(&output));
    path
}

/// A plain clip of four seconds with sound.
pub const BASE: &str = "-f lavfi -i testsrc2=s=640x360:r=30:d=4 -f lavfi -i sine=f=440:r=48000:d=4 \
    -c:v libx264 -preset veryfast -pix_fmt yuv420p -c:a aac";

/// A log of the imaginary helicopter *Dunlin*: ten rows a second, milliseconds since power-up, units row.
pub fn dunlin_log(folder: &Path, name: &str, seconds: usize) -> PathBuf {
    let mut text = String::from("time_ms,Rotor,IAS,EGT,Volts\nms,%,kt,degC,V\n");
    for i in 0..=seconds * 10 {
        let t = i as f64 / 10.0;
        let rotor = 98.0 + 3.0 * (t * 0.9).sin();
        let ias = 45.0 + 30.0 * (t * 0.5).sin();
        let egt = 500.0 + 60.0 * (t * 0.31).cos();
        text += &format!("{},{rotor:.2},{ias:.2},{egt:.1},{:.2}\n", i * 100, 27.9 - 0.01 * t);
    }
    let path = folder.join(name);
    std::fs::write(&path, text).expect("log written");
    path
}

/// What ffprobe says, as JSON.
pub fn ffprobe(file: &Path, arguments: &str) -> Value {
    let mut command = Command::new("ffprobe");
    command.args(["-v", "error", "-of", "json"]).args(arguments.split_whitespace()).arg(file);
    let output = command.output().expect("the ffprobe tool is installed");
    assert!(output.status.success(), "{command:?}: {}", said(&output));
    serde_json::from_slice(&output.stdout).expect("ffprobe writes JSON")
}

/// Decoded frames' times of the film track in ticks of its time base.
pub fn frame_ticks(file: &Path) -> Vec<i64> {
    let json = ffprobe(file, "-select_streams V:0 -show_entries frame=best_effort_timestamp");
    let frames = json["frames"].as_array().expect("frames");
    frames.iter().map(|f| f["best_effort_timestamp"].as_i64().expect("a time")).collect()
}

/// The film track's description.
pub fn film_track(file: &Path) -> Value {
    ffprobe(file, "-select_streams V:0 -show_streams")["streams"][0].clone()
}

/// Seconds a tick of a `num/den` text.
pub fn ratio(text: &Value) -> f64 {
    let (num, den) = text.as_str().expect("a ratio").split_once('/').expect("a ratio");
    num.parse::<f64>().expect("number") / den.parse::<f64>().expect("number")
}

/// Frames of the film track as stored, neither turned nor re-timed: luma, then both chroma planes, frame after frame.
pub fn raw_frames(file: &Path) -> Vec<u8> {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error", "-noautorotate", "-i"]).arg(file);
    command.args("-map 0:V:0 -fps_mode passthrough -f rawvideo -".split(' '));
    let output = command.output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{}", said(&output));
    output.stdout
}

/// The plan that `render --film CLIP --log LOG --offset 0` makes.
pub fn plan(clip: &Path, log: &Path) -> Plan {
    let recording = recorder::read(log, &recorder::Options::default()).expect("log");
    let session = Session::of(recording);
    let clip = video::probe(clip).expect("clip");
    let (width, height) = clip.video.shape.shown_size();
    let panel = recognised(&facts(&session), Arrangement::of(width, height, Density::House)).panel;
    Plan::new(clip, session, panel, Default::default(), jumpseat::clock::ClockFit::same())
}

/// A whole film, encoded without loss.
pub fn lossless_job(clip: &Path, output: PathBuf) -> FilmJob {
    FilmJob {
        from: None,
        to: None,
        ticks: None,
        container: video::Container::of(&output).expect("a container"),
        with_sound: true,
        recodes_sound: false,
        fast_start: false,
        comment: None,
        chapters: None,
        drops_location: false,
        keeps_unfinished: false,
        output,
        overwrite: true,
        ledger: None,
        inputs: vec![clip.to_owned()],
        settings: video::EncodeSettings {
            codec: video::Codec::H264,
            crf: Some(0),
            rate: None,
            speed: video::Speed::Fastest,
            threads: 0,
        },
        decoder_threads: 0,
        strict: false,
        skip_copies: false,
    }
}

/// Progress that nobody watches.
pub struct Silent;

impl jumpseat::render::Progress for Silent {
    fn frame(&mut self, _: u64, _: u64, _: jumpseat::time::FilmTime) {}
}
