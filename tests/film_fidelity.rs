//! The written film against its source, both read by the ffmpeg tools: times, sound, tags, and every sample outside the panel.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::*;
use jumpseat::draw::Painter;
use jumpseat::render::{Annotator, Plan};
use jumpseat::time::FilmTime;
use jumpseat::video::{self, Clip, FramePool, Item, Reader};
use serde_json::Value;
use std::path::Path;

/// Frames lie where they lay: in MP4 and MOV to the tick of the source, in MKV within half a millisecond, without drift.
fn check_times(source: &Path, film: &Path) {
    let (old, new) = (frame_ticks(source), frame_ticks(film));
    assert_eq!(old.len(), new.len(), "frames of {}", film.display());
    let (old_base, new_base) = (ratio(&film_track(source)["time_base"]), ratio(&film_track(film)["time_base"]));
    let half_tick = if film.extension().is_some_and(|e| e == "mkv") { 0.0005 + 1e-9 } else { 1e-9 };
    for (a, b) in old.iter().zip(&new) {
        let (a, b) = ((a - old[0]) as f64 * old_base, (b - new[0]) as f64 * new_base);
        assert!((a - b).abs() <= half_tick, "{}: {a} became {b}", film.display());
    }
}

fn packets(file: &Path, track: usize) -> Vec<Value> {
    let entries = "-show_entries packet=pts,dts,duration,size,data_hash:packet_side_data -show_data_hash md5";
    let json = ffprobe(file, &format!("-select_streams a:{track} {entries}"));
    json["packets"].as_array().cloned().unwrap_or_default()
}

/// Sound packets equal in bytes, times, durations and skip data. `exact` where source and film are of one kind of container.
fn check_sound(source: &Path, film: &Path, exact: bool) -> usize {
    let tracks = |file: &Path| {
        ffprobe(file, "-select_streams a -show_streams")["streams"].as_array().cloned().unwrap_or_default()
    };
    let (old, new) = (tracks(source), tracks(film));
    assert_eq!(old.len(), new.len(), "sound tracks of {}", film.display());
    let mut count = 0;
    for (i, (a, b)) in old.iter().zip(&new).enumerate() {
        assert_eq!(a["codec_name"], b["codec_name"]);
        let (old, new) = (packets(source, i), packets(film, i));
        assert_eq!(old.len(), new.len(), "sound packets of {}", film.display());
        let seconds = |p: &Value, track: &Value| p["pts"].as_i64().map(|t| t as f64 * ratio(&track["time_base"]));
        let shift = seconds(&new[0], b).expect("time") - seconds(&old[0], a).expect("time");
        for (p, q) in old.iter().zip(&new) {
            if exact {
                assert_eq!(p, q, "{} track {i}", film.display());
            } else {
                assert_eq!((&p["size"], &p["data_hash"]), (&q["size"], &q["data_hash"]));
                let moved = seconds(q, b).expect("time") - seconds(p, a).expect("time") - shift;
                assert!(moved.abs() < 0.001, "{}: sound moved by {moved} s", film.display());
            }
        }
        count += old.len();
    }
    count
}

/// How far sound stands from the picture, first packet to first frame.
fn sound_offset(file: &Path) -> Option<f64> {
    let sound = ffprobe(file, "-select_streams a:0 -show_streams")["streams"][0].clone();
    let first = packets(file, 0).first()?["pts"].as_i64()? as f64 * ratio(&sound["time_base"]);
    Some(first - frame_ticks(file)[0] as f64 * ratio(&film_track(file)["time_base"]))
}

/// Every sample that the panel does not cover is that of the source; returns the covered share of the last frame.
fn check_samples(plan: &Plan, source: &Path, film: &Path) -> f64 {
    let shape = plan.clip.video.shape;
    let (width, height) = (shape.width as usize, shape.height as usize);
    let (old, new) = (raw_frames(source), raw_frames(film));
    assert_eq!(old.len(), new.len());
    let size = width * height * 3 / 2;
    let mut annotator = Annotator::new(plan, plan.film_span()).expect("panel fits");
    let mut painter = Painter::new(&plan.panel, shape, plan.look).expect("panel fits");
    let ticks = frame_ticks(source);
    let mut touched = 0;
    for (n, (a, b)) in old.chunks(size).zip(new.chunks(size)).enumerate() {
        // The panel of this frame in pixels says what it covers.
        let film_time = plan.clip.video.time_base.seconds(ticks[n] - ticks[0]);
        let state = annotator.state_at(FilmTime(film_time));
        let mut mask = vec![false; width * height];
        for drawn in painter.draw(&state) {
            let place = drawn.patch.place;
            let pixels = drawn.patch.rgba.as_chunks::<4>().0;
            for (row, line) in (place.y..).zip(pixels.chunks_exact(place.width.max(1) as usize)) {
                for (column, pixel) in (place.x..).zip(line) {
                    mask[row as usize * width + column as usize] |= pixel[3] != 0;
                }
            }
        }
        let covered = |x: usize, y: usize| mask[y * width + x];
        for (i, (p, q)) in a.iter().zip(b).enumerate() {
            if p == q {
                continue;
            }
            touched += 1;
            if i < width * height {
                assert!(covered(i % width, i / width), "frame {n}: luma {},{} changed", i % width, i / width);
            } else {
                let i = (i - width * height) % (width * height / 4);
                let (x, y) = (i % (width / 2), i / (width / 2));
                // The mask of the promise: cells that hold a covered luma sample.
                let cell = covered(2 * x, 2 * y)
                    || covered(2 * x + 1, 2 * y)
                    || covered(2 * x, 2 * y + 1)
                    || covered(2 * x + 1, 2 * y + 1);
                assert!(cell, "frame {n}: chroma {x},{y} changed");
            }
        }
    }
    assert!(touched > 0, "the panel is not in the film");
    let mut frame = FramePool::planar(shape.width, shape.height).and_then(|pool| pool.blank(0, 0)).expect("frame");
    let last = plan.clip.video.time_base.seconds(ticks[ticks.len() - 1] - ticks[0]);
    let state = annotator.state_at(FilmTime(last));
    annotator.lay_over(&[state], std::slice::from_mut(&mut frame)).expect("laid over");
    annotator.covered_share().expect("share")
}

fn render(folder: &Path, clip: &Path, film: &str) -> std::path::PathBuf {
    let arguments =
        format!("render --film {} --log dunlin.csv --offset 0 -o {film} --crf 0 --speed fastest", clip.display());
    let output = run(folder, &arguments);
    assert!(output.status.success(), "{arguments}: {}", said(&output));
    folder.join(film)
}

/// Lossless must be lossless before it can prove anything: the encoder alone, no panel.
#[test]
fn the_lossless_setting_is_lossless() {
    let folder = tempfile::tempdir().expect("folder");
    let clip = make_clip(folder.path(), "clip.mp4", BASE);
    dunlin_log(folder.path(), "dunlin.csv", 10);
    let mut plan = plan(&clip, &folder.path().join("dunlin.csv"));
    plan.panel.instruments.clear();
    let film = folder.path().join("film.mp4");
    jumpseat::render::render(&plan, &lossless_job(&clip, film.clone()), &mut Silent, &Default::default())
        .expect("film");
    assert_eq!(raw_frames(&clip), raw_frames(&film));
}

#[test]
fn real_clips_keep_times_sound_and_picture() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    let log = dunlin_log(folder, "dunlin.csv", 60);
    for (name, film, frames) in [
        ("portrait_4k60.mp4", "portrait.mp4", 18),
        ("portrait_4k60.mp4", "portrait.mov", 18),
        ("h265_with_metadata_track.mp4", "h265.mp4", 3),
        ("sample_android_slow_motion.mp4", "slow.mp4", 7),
        ("sample_sef_slow_motion.mp4", "sef.mp4", 63),
        ("sample_sef_slow_motion.mp4", "sef.mkv", 63),
        ("sample_with_htc_rotation_track_name.mkv", "htc.mkv", 30),
    ] {
        let clip = real("clips").join(name);
        let film = render(folder, &clip, film);
        assert_eq!(frame_ticks(&film).len(), frames, "{name}");
        check_times(&clip, &film);
        let same_kind = (clip.extension() == Some("mkv".as_ref())) == (film.extension() == Some("mkv".as_ref()));
        check_sound(&clip, &film, same_kind);
        if let (Some(old), Some(new)) = (sound_offset(&clip), sound_offset(&film)) {
            assert!(
                (old - new).abs() < if same_kind { 1e-4 } else { 1e-3 },
                "{name}: sound stood {old} s, stands {new} s"
            );
        }
        let share = check_samples(&plan(&clip, &log), &clip, &film);
        assert!(share > 0.05 && share < 0.35, "{name}: the panel covers {share}");
        for key in
            ["color_range", "color_space", "color_transfer", "color_primaries", "width", "height", "side_data_list"]
        {
            assert_eq!(film_track(&clip)[key], film_track(&film)[key], "{name}: {key}");
        }
    }
}

#[test]
fn odd_time_lines_are_kept() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    let log = dunlin_log(folder, "dunlin.csv", 60);
    let base = make_clip(folder, "base.mp4", BASE);
    let base = base.display();
    let vfr = "-f lavfi -i testsrc2=s=640x360:r=30:d=4 -vf select='not(between(mod(n\\,10)\\,3\\,5))',\
        setpts='PTS+if(eq(mod(N,7),3),0.004/TB,0)' -vsync vfr -enc_time_base 1:90000 -c:v libx264 -pix_fmt yuv420p \
        -video_track_timescale 90000";
    let vfr: String = vfr.replace(",        setpts", ",setpts");
    for (name, recipe) in [
        ("turned.mp4", format!("-i {base} -c copy -metadata:s:v:0 rotate=90")),
        ("edit_list.mp4", format!("-ss 1.234 -i {base} -c copy")),
        ("sound_late.mp4", format!("-i {base} -itsoffset 0.5 -i {base} -map 0:v -map 1:a -c copy")),
        ("picture_late.mp4", format!("-itsoffset 0.5 -i {base} -i {base} -map 0:v -map 1:a -c copy")),
        ("no_edit_list.mp4", format!("-i {base} -c copy -use_editlist 0 -avoid_negative_ts disabled")),
        ("two_tracks.mov", format!("-i {base} -f lavfi -i sine=f=880:r=44100:d=4 -map 0 -map 1 -c:v copy -c:a aac")),
        ("pcm.mov", format!("-i {base} -c:v copy -c:a pcm_s16le")),
        ("start_ten.mkv", format!("-i {base} -c copy -output_ts_offset 10")),
        ("variable.mp4", vfr),
        ("wide_pixels.mp4", "-f lavfi -i testsrc2=s=720x576:r=25:d=2 -vf setsar=64/45 -c:v libx264 -pix_fmt yuv420p".into()),
        ("full_range.mp4", "-f lavfi -i testsrc2=s=640x360:r=60000/1001:d=2 -vf scale=out_range=pc,format=yuv420p -c:v libx264 -color_range pc".into()),
    ] {
        let clip = make_clip(folder, name, &recipe);
        let film = render(folder, &clip, &format!("film_{name}"));
        check_times(&clip, &film);
        check_sound(&clip, &film, true);
        if let (Some(old), Some(new)) = (sound_offset(&clip), sound_offset(&film)) {
            assert!((old - new).abs() < 1e-4, "{name}: sound stood {old} s, stands {new} s");
        }
        check_samples(&plan(&clip, &log), &clip, &film);
        for key in ["sample_aspect_ratio", "side_data_list", "color_range"] {
            assert_eq!(film_track(&clip)[key], film_track(&film)[key], "{name}: {key}");
        }
    }
}

/// A picture before zero would be hidden by the edit list of MP4: everything moves together.
#[test]
fn a_negative_start_loses_no_frame() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    let base = make_clip(folder, "base.mp4", BASE);
    // The 33-bit clock of a transport stream wraps just after the start.
    let clip = make_clip(folder, "wrap.ts", &format!("-i {} -c copy -output_ts_offset 95442", base.display()));
    assert!(frame_ticks(&clip)[0] < 0, "the clip no longer starts before zero");
    let film = render(folder, &clip, "film.mp4");
    assert_eq!(frame_ticks(&film).len(), 120);
    let (old, new) = (sound_offset(&clip).expect("sound"), sound_offset(&film).expect("sound"));
    assert!((old - new).abs() < 1e-4, "sound stood {old} s, stands {new} s");
}

/// Going on with the reader that looked at a clip gives what opening it anew does, from the start and after a jump.
#[test]
fn what_was_looked_at_is_read_on() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    let base = make_clip(folder, "base.mp4", BASE);
    let base = base.display();
    let items = |mut reader: Reader, from: Option<i64>| {
        if let Some(from) = from {
            reader.seek(from).expect("seek");
        }
        let mut items = Vec::new();
        while let Some(item) = reader.read_item().expect("item") {
            items.push(match item {
                Item::Frame(frame) => format!("frame {} {}", frame.pts, frame.duration),
                Item::Sound(packet) => format!("sound {} {} {:?}", packet.stream(), packet.size(), packet.start_s),
            });
        }
        (items, reader.findings())
    };
    for (name, recipe) in [
        ("picture_late.mp4", format!("-itsoffset 0.5 -i {base} -i {base} -map 0:v -map 1:a -c copy")),
        ("stream.ts", format!("-i {base} -c copy")),
        ("edit_list.mp4", format!("-ss 1.234 -i {base} -c copy")),
        ("one_frame.mp4", format!("-i {base} -frames:v 1 -an -c:v libx264")),
    ] {
        let file = make_clip(folder, name, &recipe);
        for threads in [1, 3] {
            let look = || -> Clip { video::probe_to_read(std::slice::from_ref(&file), threads).expect("clip") };
            let (clip, again) = (look(), look());
            let from = clip.video.first_pts + (2.0 / clip.video.time_base.as_f64()) as i64;
            let kept = items(Reader::of_look(&clip, threads).expect("reader"), None);
            let anew = items(Reader::open_clip(&clip, threads).expect("reader"), None);
            assert_eq!(
                kept.0.iter().filter(|item| item.starts_with("frame")).count(),
                frame_ticks(&file).len(),
                "{name}"
            );
            assert_eq!(kept, anew, "{name}");
            let kept = items(Reader::of_look(&again, threads).expect("reader"), Some(from));
            assert_eq!(kept, items(Reader::open_clip(&clip, threads).expect("reader"), Some(from)), "{name}");
        }
    }
}

/// A part starts at zero with the frame asked for, and its sound with it.
#[test]
fn a_part_is_the_part() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    let clip = make_clip(folder, "clip.mp4", BASE);
    for film in ["part.mp4", "part.mkv"] {
        let output = run(
            folder,
            &format!(
                "render --film clip.mp4 --log dunlin.csv --offset 0 -o {film} --from 1 --to 2.5 --crf 0 --ledger {film}.csv"
            ),
        );
        assert!(output.status.success(), "{}", said(&output));
        let film = folder.join(film);
        let ticks = frame_ticks(&film);
        assert_eq!((ticks.len(), ticks[0]), (45, 0), "{}", film.display());
        // The middle column of the picture is never under the panel: it names the frame.
        let (old, new) = (raw_frames(&clip), raw_frames(&film));
        let pixel = |frames: &[u8], n: usize| frames[n * 640 * 540..][100 * 640 + 320..][..40].to_vec();
        for n in 0..45 {
            assert_eq!(pixel(&old, n + 30), pixel(&new, n), "frame {n}");
        }
        let sound: f64 = packets(&film, 0).iter().map(|p| p["duration"].as_f64().unwrap_or(0.0)).sum();
        let sound = sound * ratio(&ffprobe(&film, "-select_streams a:0 -show_streams")["streams"][0]["time_base"]);
        assert!((sound - 1.5).abs() < 0.05, "{} s of sound", sound);
        assert!(sound_offset(&film).expect("sound").abs() < 0.022);
    }
    let ledger = std::fs::read_to_string(folder.join("part.mp4.csv")).expect("ledger");
    assert_eq!(
        ledger.lines().nth(1).expect("row").split(',').take(3).collect::<Vec<_>>(),
        ["0", "0.000000", "1.000000"]
    );
    assert_eq!(ledger.lines().count(), 46);
}

/// A cover picture is a video stream too, and may stand first.
#[test]
fn a_cover_picture_is_not_the_film() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    make_clip(folder, "base.mp4", BASE);
    make_clip(folder, "cover.jpg", "-f lavfi -i color=red:s=600x600 -frames:v 1");
    make_clip(folder, "clip.mp4", "-i cover.jpg -i base.mp4 -map 0 -map 1 -c copy -disposition:v:0 attached_pic");
    let output = run(folder, "render --film clip.mp4 --log dunlin.csv --offset 0 -o film.mp4");
    assert!(output.status.success(), "{}", said(&output));
    assert!(said(&output).contains("is a cover picture and is not carried"), "{}", said(&output));
    let film = folder.join("film.mp4");
    assert_eq!((film_track(&film)["width"].as_i64(), frame_ticks(&film).len()), (Some(640), 120));
}

/// What is left of a damaged clip becomes a film; the codec library's complaints are remarks, never lines of its own.
#[test]
fn a_damaged_clip_is_remarked_upon() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    let clip = make_clip(folder, "clip.mkv", &format!("{BASE} -g 15"));
    let whole = std::fs::read(&clip).expect("clip");
    let mut torn = whole[..whole.len() * 6 / 10].to_vec();
    for byte in torn.iter_mut().skip(whole.len() * 3 / 10).step_by(97).take(40) {
        *byte ^= 0x5a;
    }
    std::fs::write(&clip, torn).expect("clip");
    let output = run(folder, "render --film clip.mkv --log dunlin.csv --offset 0 -o film.mp4");
    let text = said(&output);
    assert!(output.status.success(), "{text}");
    assert!(text.contains("warning: clip.mkv:") && text.contains("the codec library says"), "{text}");
    let known = ["note: ", "warning: ", "clocks: ", "progress ", "wrote ", "Recorded data", "       clip.mkv: "];
    for line in text.lines() {
        assert!(known.iter().any(|start| line.starts_with(start)), "a line of its own: {line}");
    }
    let frames = frame_ticks(&folder.join("film.mp4")).len();
    assert!((40..120).contains(&frames), "{frames} frames");
    // The same as an error, where warnings are not wanted: nothing is kept.
    let strict = run(folder, "render --film clip.mkv --log dunlin.csv --offset 0 -o strict.mp4 --strict");
    assert_eq!(strict.status.code(), Some(1), "{}", said(&strict));
    assert!(!folder.join("strict.mp4").exists());
}
