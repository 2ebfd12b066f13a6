//! Pictures made of two fields become whole ones on request: as many, at their times, and those that the ffmpeg tool makes.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::*;
use std::path::Path;
use std::process::Command;

/// Two seconds of 25 pictures of two fields each, in motion.
const FIELDS: &str = "-f lavfi -i testsrc2=s=640x480:r=50:d=2 -f lavfi -i sine=d=2 -vf interlace=scan=tff,setfield=tff -c:v libx264 \
    -pix_fmt yuv420p -g 6 -flags +ildct+ilme -x264-params tff=1 -c:a aac";

/// Checksums of the frames, after a filter of the tool.
fn sums(file: &Path, filter: &str) -> Vec<String> {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error", "-i"]).arg(file);
    command.args(["-map", "0:V:0", "-vf", filter, "-fps_mode", "passthrough", "-f", "framemd5", "-"]);
    let output = command.output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{command:?}: {}", said(&output));
    let text = String::from_utf8(output.stdout).expect("text");
    let lines = text.lines().filter(|line| !line.starts_with('#'));
    lines.filter_map(|line| line.rsplit(',').next().map(|sum| sum.trim().to_owned())).collect()
}

/// What the tool's own judge of combs says of the pictures: interlaced, and progressive.
fn combs(file: &Path) -> (u64, u64) {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "info", "-i"]).arg(file).args(["-vf", "idet", "-f", "null", "-"]);
    let text = said(&command.output().expect("the ffmpeg tool is installed"));
    let line = text.lines().find(|line| line.contains("Single frame detection")).expect("a judgement");
    let after = |name: &str| -> u64 {
        let rest = line.split(name).nth(1).expect("a count").trim_start();
        rest.split(' ').next().and_then(|count| count.parse().ok()).expect("a count")
    };
    (after("TFF:") + after("BFF:"), after("Progressive:"))
}

#[test]
fn fields_become_whole_pictures_at_their_times() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 10);
    let clip = make_clip(folder, "fields.mp4", FIELDS);
    let line = "render --film fields.mp4 --log dunlin.csv --offset 0 --no-panel --codec h264 --crf 0 --speed fastest";
    let render = |film: &str, more: &str| {
        let output = run(folder, &format!("{line} -o {film} {more}"));
        assert!(output.status.success(), "{more}: {}", said(&output));
        folder.join(film)
    };
    let film = render("whole.mp4", "--deinterlace");
    assert_eq!(frame_ticks(&film), frame_ticks(&clip));
    let made = sums(&clip, "bwdif=mode=send_frame");
    assert_eq!(sums(&film, "null"), made, "not the pictures that the tool makes");
    let (track, frames) =
        (film_track(&film), ffprobe(&film, "-select_streams V:0 -show_entries frame=interlaced_frame"));
    assert_eq!(track["field_order"], "progressive");
    let flags = frames["frames"].as_array().expect("frames").iter();
    assert!(flags.clone().count() == 50 && flags.into_iter().all(|f| f["interlaced_frame"] == 0));
    let (before, after) = (combs(&clip), combs(&film));
    assert!(before.0 > 40 && after.0 == 0 && after.1 > 40, "combs were {before:?}, are {after:?}");

    // A part that begins at a key frame begins with the whole film's picture, though that is made of the one before too.
    let keys = ffprobe(&clip, "-select_streams V:0 -skip_frame nokey -show_entries frame=best_effort_timestamp_time");
    let times =
        keys["frames"].as_array().expect("frames").iter().filter_map(|f| f["best_effort_timestamp_time"].as_str());
    assert!(times.into_iter().any(|time| time == "0.720000"), "{keys}");
    let part = render("part.mp4", "--deinterlace --from 0.72 --to 1.4");
    assert_eq!(sums(&part, "null"), made[18..35]);
    // Cut and scaled only once they are whole.
    let small = render("small.mp4", "--deinterlace --crop 4:3 --scale 320x");
    let track = film_track(&small);
    assert_eq!((track["width"].as_u64(), track["height"].as_u64()), (Some(320), Some(240)));
    assert_eq!(frame_ticks(&small).len(), 50);

    let output = run(folder, "render --film fields.mp4 --log dunlin.csv --offset 0 -o hevc.mp4 --codec hevc");
    assert!(output.status.code() == Some(2) && said(&output).contains("--deinterlace"), "{}", said(&output));
    make_clip(folder, "plain.mp4", BASE);
    let output = run(folder, "render --film plain.mp4 --log dunlin.csv --offset 0 -o film.mp4 --deinterlace");
    let text = said(&output);
    assert!(output.status.code() == Some(2) && text.contains("plain.mp4") && text.contains("not interlaced"), "{text}");
}

/// With instruments on it, and its last picture not lost.
#[test]
fn instruments_lie_on_whole_pictures() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 10);
    let clip = make_clip(folder, "fields.mp4", FIELDS);
    let line = "render --film fields.mp4 --log dunlin.csv --offset 0 --crf 0 --speed fastest --deinterlace -o film.mp4";
    let output = run(folder, line);
    assert!(output.status.success(), "{}", said(&output));
    let film = folder.join("film.mp4");
    let free = "crop=200:120:0:40";
    assert_eq!(sums(&film, free), sums(&clip, &format!("bwdif=mode=send_frame,{free}")));
    assert_ne!(sums(&film, "null"), sums(&clip, "bwdif=mode=send_frame"));
}
