//! Sound that a film's container cannot hold, encoded as AAC on request: at its time, said, and only then.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::*;
use jumpseat::video::{self, Codec, Container, EncodeSettings, Excerpt, Item, Reader, Speed, Target, Writer};
use std::path::Path;
use std::process::Command;

const HZ: f64 = 48_000.0;
/// A frame of AAC (ISO/IEC 14496-3), in seconds.
const FRAME_S: f64 = 1024.0 / HZ;

/// The samples of a sound track as a player hears them beside the film, from film time 0 on: left and right in turn.
fn heard(file: &Path) -> Vec<f32> {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error", "-i"]).arg(file);
    command.args("-map 0:a:0 -af aresample=async=1:first_pts=0 -ac 2 -f f32le -".split(' '));
    let output = command.output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{command:?}: {}", said(&output));
    output.stdout.as_chunks::<4>().0.iter().map(|bytes| f32::from_le_bytes(*bytes)).collect()
}

/// When a channel first gets loud, in seconds.
fn onset(samples: &[f32], channel: usize) -> f64 {
    let loud = samples.iter().skip(channel).step_by(2).position(|sample| sample.abs() > 0.2);
    loud.expect("something to be heard") as f64 / HZ
}

/// By how many samples two tracks are best laid over each other, up to a frame of AAC either way.
fn apart(a: &[f32], b: &[f32], around: usize) -> i64 {
    let left = |samples: &[f32]| samples.iter().step_by(2).copied().collect::<Vec<f32>>();
    let (a, b) = (left(a), left(b));
    let alike = |shift: i64| -> f64 {
        let there = |i: usize| b.get((i as i64 + shift) as usize).copied().unwrap_or(0.0);
        (around..around + 4800).map(|i| f64::from(a[i]) * f64::from(there(i))).sum()
    };
    (-1024..=1024).max_by(|&one, &other| alike(one).total_cmp(&alike(other))).expect("shifts")
}

/// A clip whose left channel sounds for a moment at 1 s, the right one at 1.25 s, each a tone that rises.
fn clip(folder: &Path, name: &str, more: &str) {
    let burst =
        |at: f64| format!("if(between(t\\,{at}\\,{})\\,0.7*sin(2*PI*(500+4000*(t-{at}))*(t-{at}))\\,0)", at + 0.1);
    let tones = format!("aevalsrc=exprs={}|{}:s=48000:d=2", burst(1.0), burst(1.25));
    let recipe = format!(
        "-f lavfi -i testsrc2=s=640x360:r=25:d=2 {more} -f lavfi -i {tones} -map 0:v -map 1:a -c:v libx264 -pix_fmt yuv420p \
         -c:a pcm_s24le -metadata:s:a:0 language=nor"
    );
    make_clip(folder, name, &recipe);
}

fn render(folder: &Path, film: &str, line: &str) -> String {
    let output = run(folder, &format!("render --log dunlin.csv --offset 0 --speed fastest -o {film} {line}"));
    assert!(output.status.success(), "{line}: {}", said(&output));
    said(&output)
}

#[test]
fn sound_is_encoded_at_its_time() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 10);
    clip(folder, "pcm.mov", "");
    clip(folder, "late.mov", "-itsoffset 0.3");
    for (source, film, more, moved) in [
        ("pcm.mov", "film.mp4", "", 0.0),
        ("pcm.mov", "part.mp4", "--from 0.52 --to 1.6", -0.52),
        ("late.mov", "late.mp4", "", 0.3),
        ("late.mov", "late_part.mp4", "--from 0.8", -0.5),
    ] {
        let text = render(folder, film, &format!("--film {source} --sound aac {more}"));
        assert!(text.contains("MP4 cannot hold pcm_s24le sound, which is encoded as AAC"), "{film}: {text}");
        let (film, source) = (folder.join(film), folder.join(source));
        let track = ffprobe(&film, "-select_streams a -show_streams")["streams"][0].clone();
        assert_eq!((track["codec_name"].as_str(), track["channels"].as_u64()), (Some("aac"), Some(2)));
        assert_eq!(track["tags"]["language"], "nor");
        let (old, new) = (heard(&source), heard(&film));
        for (channel, at) in [(0, 1.0), (1, 1.25)] {
            assert!(
                (onset(&old, channel) - at - if moved == 0.3 { 0.3 } else { 0.0 }).abs() < 1.0,
                "the clip is not as meant"
            );
            let late = onset(&new, channel) - at - moved;
            assert!(late.abs() < FRAME_S, "{}: channel {channel} is {late:.4} s late", film.display());
        }
        if moved == 0.0 {
            // To the sample, not only to the frame.
            assert_eq!(apart(&old, &new, HZ as usize), 0, "{}", film.display());
            assert!((new.len() as f64 - old.len() as f64).abs() / 2.0 <= 1024.0, "{} of {}", new.len(), old.len());
        }
        let seconds = new.len() as f64 / 2.0 / HZ;
        let film_s = frame_ticks(&film).len() as f64 / 25.0;
        assert!((seconds - film_s).abs() < 0.35, "{}: {seconds} s beside {film_s} s", film.display());
    }
}

#[test]
fn only_what_the_container_cannot_hold_is_encoded() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 10);
    clip(folder, "pcm.mov", "");
    let line = "render --film pcm.mov --log dunlin.csv --offset 0";
    let refused = run(folder, &format!("{line} -o film.mp4"));
    assert!(refused.status.code() == Some(2) && said(&refused).contains("--sound aac"), "{}", said(&refused));
    let webm = run(folder, &format!("{line} -o film.webm --sound aac"));
    assert!(webm.status.code() == Some(2) && !said(&webm).contains("--sound aac"), "{}", said(&webm));
    let codec =
        |film: &str| ffprobe(&folder.join(film), "-select_streams a -show_streams")["streams"][0]["codec_name"].clone();
    render(folder, "kept.mov", "--film pcm.mov --sound aac");
    assert_eq!(codec("kept.mov"), "pcm_s24le");
    // Through pieces as well, and within a size.
    render(folder, "pieces.mp4", "--film pcm.mov --sound aac --resume");
    assert_eq!(codec("pieces.mp4"), "aac");
    render(folder, "whole.mp4", "--film pcm.mov --sound aac");
    assert_eq!(heard(&folder.join("pieces.mp4")), heard(&folder.join("whole.mp4")));
    render(folder, "sized.mp4", "--film pcm.mov --sound aac --size 300k");
    let bytes = std::fs::metadata(folder.join("sized.mp4")).expect("film").len();
    assert!((200_000..330_000).contains(&bytes), "{bytes} bytes");
}

/// Which of sound and pictures come first to the writer is a matter of threads: in the film, sound from before the first picture stands
/// before it all the same, and every time is what it would be.
#[test]
fn sound_and_pictures_may_come_in_any_order() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    make_clip(folder, "clip.mp4", &BASE.replace("d=4", "d=1"));
    let clip = video::probe(&folder.join("clip.mp4")).expect("clip");
    let written = |name: &str, pictures_first: bool| {
        let mut reader = Reader::open_clip(&clip, 1).expect("clip");
        let (mut frames, mut sound) = (Vec::new(), Vec::new());
        while let Some(item) = reader.read_item().expect("item") {
            match item {
                Item::Frame(frame) => frames.push(frame),
                Item::Sound(packet) => sound.push(packet),
            }
        }
        let path = folder.join(name);
        let target = Target {
            path: &path,
            named: &path,
            container: Container::Mkv,
            with_sound: true,
            recodes_sound: false,
            fast_start: false,
            comment: None,
            chapters: None,
            drops_location: false,
        };
        let excerpt = Excerpt { first_pts: frames[0].pts, end_pts: None, is_part: false };
        let settings = EncodeSettings { codec: Codec::Ffv1, crf: None, rate: None, speed: Speed::Fastest, threads: 1 };
        let mut writer = Writer::create(&target, &reader, &clip, excerpt, &settings).expect("film");
        let (mut frames, mut sound) = (frames.into_iter(), sound.into_iter());
        if pictures_first {
            // As many as may be under way when the first sound arrives.
            frames.by_ref().take(12).for_each(|mut frame| writer.frame(&mut frame).expect("frame"));
        }
        sound.by_ref().for_each(|packet| writer.sound(packet).expect("sound"));
        frames.for_each(|mut frame| writer.frame(&mut frame).expect("frame"));
        writer.finish().expect("film");
        let json = ffprobe(&path, "-show_entries packet=stream_index,pts,dts");
        json["packets"].as_array().expect("packets").clone()
    };
    let sound_first = written("sound.mkv", false);
    assert_eq!(sound_first[0]["stream_index"], 1, "the clip's sound begins before its picture");
    assert_eq!(sound_first, written("pictures.mkv", true));
}
