//! A part of the picture, another size, a bit rate, a size of the file: read back by the ffmpeg tools.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::*;
use std::path::Path;
use std::process::Command;

fn done(folder: &Path, arguments: &str) {
    let output = run(folder, &format!("render --log log.csv --offset 0 {arguments}"));
    assert!(output.status.success(), "{arguments}: {}", said(&output));
}

/// Frames after a filter of the ffmpeg tool, as stored or turned as a viewer sees them.
fn filtered(file: &Path, filter: &str, turned: bool) -> Vec<u8> {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error"]);
    command.args(["-noautorotate"].iter().filter(|_| !turned)).arg("-i").arg(file);
    command.args(["-vf", filter, "-fps_mode", "passthrough", "-f", "rawvideo", "-"]);
    let output = command.output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{}", said(&output));
    output.stdout
}

#[test]
fn a_part_or_another_size_keeps_frames_times_and_tags() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "log.csv", 60);
    let tags = "-colorspace bt709 -color_primaries bt709 -color_trc bt709 -color_range tv";
    let clip = make_clip(folder, "clip.mp4", &format!("{BASE} {tags}"));
    make_clip(folder, "turned.mp4", "-i clip.mp4 -c copy -metadata:s:v:0 rotate=90");
    make_clip(folder, "bare.mp4", "-f lavfi -i testsrc2=s=1280x720:r=10:d=1 -c:v libx264 -pix_fmt yuv420p");
    // Cut exactly, and the same again as the viewer of a turned film sees it.
    done(folder, "--film clip.mp4 --no-panel --codec ffv1 --crop 320x200+100+40 -o cut.mkv");
    assert_eq!(raw_frames(&folder.join("cut.mkv")), filtered(&clip, "crop=320:200:100:40", false));
    done(folder, "--film turned.mp4 --no-panel --crf 0 --crop 200x320+40+100 -o turned_cut.mp4");
    let seen = |name: &str, filter: &str| filtered(&folder.join(name), filter, true);
    assert_eq!(seen("turned_cut.mp4", "null"), seen("turned.mp4", "crop=200:320:40:100"));
    let turn = |name: &str| film_track(&folder.join(name))["side_data_list"][0]["rotation"].clone();
    assert!(turn("turned.mp4").is_number() && turn("turned_cut.mp4") == turn("turned.mp4"));
    // A portrait out of a landscape film, with its panel, smaller.
    done(folder, "--film clip.mp4 --crop 9:16 --scale x640 -o portrait.mp4");
    let track = film_track(&folder.join("portrait.mp4"));
    assert_eq!((track["width"].as_i64(), track["height"].as_i64()), (Some(362), Some(640)));
    for (key, value) in [("color_space", "bt709"), ("color_transfer", "bt709"), ("color_range", "tv")] {
        assert_eq!(track[key], value, "{key}");
    }
    assert_eq!(frame_ticks(&folder.join("portrait.mp4")), frame_ticks(&clip));
    // Scaled exactly as by the tool, once that is told where chroma lies (left, as H.264 has it untagged).
    done(folder, "--film clip.mp4 --no-panel --codec ffv1 --scale 320x -o small.mkv");
    let sited = "in_h_chr_pos=0:in_v_chr_pos=128:out_h_chr_pos=0:out_v_chr_pos=128";
    let tool = filtered(&clip, &format!("scale=320:180:flags=bicubic+accurate_rnd:{sited}"), false);
    assert!(raw_frames(&folder.join("small.mkv")) == tool, "scaled otherwise than by the tool");
    // A matrix that was told by the size is written down.
    done(folder, "--film bare.mp4 --no-panel --scale 320x -o bare_small.mp4");
    assert_eq!(film_track(&folder.join("bare_small.mp4"))["color_space"], "bt709");
    // A still is of the same picture.
    let output =
        run(folder, "still --film clip.mp4 --log log.csv --offset 0 --crop 9:16 --scale x640 --at 1 -o still.png");
    assert!(output.status.success(), "{}", said(&output));
    let track = film_track(&folder.join("still.png"));
    assert_eq!((track["width"].as_i64(), track["height"].as_i64()), (Some(362), Some(640)));
}

#[test]
fn parts_and_sizes_that_cannot_be_are_refused() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "log.csv", 60);
    make_clip(folder, "clip.mp4", BASE);
    let interlaced = "-f lavfi -i testsrc2=s=640x480:r=60:d=1 -vf interlace=scan=tff,setfield=tff -c:v libx264 -flags +ildct+ilme \
        -x264-params tff=1 -pix_fmt yuv420p";
    make_clip(folder, "fields.mp4", interlaced);
    let refused = |arguments: &str, words: &[&str]| {
        let output = run(folder, &format!("render --log log.csv --offset 0 --no-panel {arguments}"));
        assert_eq!(output.status.code(), Some(2), "{arguments}: {}", said(&output));
        let text = said(&output);
        assert!(words.iter().all(|word| text.contains(word)), "{arguments}: {text}");
    };
    refused("--film clip.mp4 --crop 640x360+2+0 -o o.mp4", &["does not lie in the picture", "640 x 360"]);
    refused("--film clip.mp4 --crop 300x200+1+0 -o o.mp4", &["even"]);
    refused("--film clip.mp4 --crop 301x200+0+0 -o o.mp4", &["301 x 200", "--codec ffv1 or vp9"]);
    refused("--film clip.mp4 --crop wide -o o.mp4", &["9:16"]);
    refused("--film clip.mp4 --scale 641 -o o.mp4", &["1280x720"]);
    refused("--film fields.mp4 --scale 320x -o o.mp4", &["interlaced", "--deinterlace"]);
    refused("--film clip.mp4 --codec ffv1 --bit-rate 1M -o o.mkv", &["ffv1", "h264"]);
    refused("--film clip.mp4 --codec prores --size 1M -o o.mov", &["prores", "vp9"]);
    refused("--film clip.mp4 --size 20k -o o.mp4", &["no room", "--no-sound"]);
    refused("--film clip.mp4 --size 1M --crf 20 -o o.mp4", &["--crf"]);
    let names = std::fs::read_dir(folder).expect("folder").count();
    assert_eq!(names, 3, "nothing is left");
}

#[test]
fn a_rate_and_a_size_are_met() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "log.csv", 70);
    let recipe = "-f lavfi -i testsrc2=s=320x180:r=15:d=60 -f lavfi -i sine=f=440:r=48000:d=60 -vf noise=alls=12:allf=t -c:v libx264 \
        -preset ultrafast -crf 18 -pix_fmt yuv420p -c:a aac -b:a 64k";
    make_clip(folder, "minute.mp4", recipe);
    let near = |name: &str, wanted: f64, within: f64| {
        let bytes = std::fs::metadata(folder.join(name)).expect("film").len() as f64;
        println!("{name}: {bytes} of {wanted} bytes");
        assert!((bytes / wanted - 1.0).abs() < within, "{name}: {bytes} bytes, {wanted} wanted");
    };
    for (name, codec) in [("h264.mp4", "h264"), ("hevc.mp4", "hevc"), ("vp9.mkv", "vp9"), ("av1.mp4", "av1")] {
        done(folder, &format!("--film minute.mp4 --speed fastest --codec {codec} --size 2M -o {name}"));
        near(name, 2e6, 0.05);
        assert_eq!(frame_ticks(&folder.join(name)).len(), 900);
    }
    done(folder, "--film minute.mp4 --speed fastest --bit-rate 300k --no-sound -o rate.mp4");
    near("rate.mp4", 300e3 * 60.0 / 8.0, 0.1);
    let names = std::fs::read_dir(folder).expect("folder").count();
    assert_eq!(names, 7, "nothing lies beside the films");
}
