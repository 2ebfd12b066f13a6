//! Pixel formats, colours and shapes of pictures: what the panel does not cover leaves the film as it came in, in its own samples, and
//! what is said of them stays. Clips are made by the ffmpeg tool, films read back by it; lossless codecs throughout.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::*;
use std::path::{Path, PathBuf};
use std::process::Command;

/// A clip and what becomes of it.
struct Case {
    clip: &'static str,
    /// What the ffmpeg tool is to make.
    recipe: &'static str,
    /// The film and its codec.
    film: &'static str,
    codec: &'static str,
    /// The format in which source and film are compared: its samples, each kind in a plane.
    planar: &'static str,
}

const fn case(
    clip: &'static str,
    recipe: &'static str,
    film: &'static str,
    codec: &'static str,
    planar: &'static str,
) -> Case {
    Case { clip, recipe, film, codec, planar }
}

/// Checksums of the frames' upper left part, where no instrument lies, and of their lower half.
fn sums(file: &Path, planar: &str, crop: &str) -> Vec<String> {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error", "-noautorotate", "-i"]).arg(file);
    command.args(["-map", "0:V:0", "-vf", crop, "-pix_fmt", planar, "-fps_mode", "passthrough", "-f", "framemd5", "-"]);
    let output = command.output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{command:?}: {}", said(&output));
    let text = String::from_utf8(output.stdout).expect("text");
    let lines = text.lines().filter(|line| !line.starts_with('#'));
    lines.filter_map(|line| line.rsplit(',').next().map(|sum| sum.trim().to_owned())).collect()
}

fn check(cases: &[Case]) {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 10);
    for one in cases {
        let clip = make_clip(folder, one.clip, one.recipe);
        let film = film_of(folder, one);
        same_picture(one, &clip, &film);
        for key in ["color_range", "color_space", "color_transfer", "color_primaries"] {
            let (old, new) = (film_track(&clip)[key].clone(), film_track(&film)[key].clone());
            // An encoder may say outright what was left to the usual rule.
            assert!(old == new || old.is_null(), "{}: {key} was {old}, is {new}", one.clip);
        }
    }
}

fn film_of(folder: &Path, one: &Case) -> PathBuf {
    let crf = if one.codec == "ffv1" { "" } else { "--crf 0" };
    let Case { clip, film, codec, .. } = one;
    let line = format!("render --film {clip} --log dunlin.csv --offset 0 -o {film} --codec {codec} {crf} --overwrite");
    let output = run(folder, &line);
    assert!(output.status.success(), "{clip}: {}", said(&output));
    folder.join(film)
}

fn same_picture(one: &Case, clip: &Path, film: &Path) {
    let (free, panel) = ("crop=64:44:0:20", "crop=iw:80:0:100");
    let (old, new) = (sums(clip, one.planar, free), sums(film, one.planar, free));
    assert!(!old.is_empty() && old == new, "{}: the picture beside the panel is another one", one.clip);
    let (old, new) = (sums(clip, one.planar, panel), sums(film, one.planar, panel));
    assert!(old.iter().zip(&new).all(|(old, new)| old != new), "{}: no panel", one.clip);
}

#[test]
fn every_sampling_and_depth_keeps_its_samples() {
    const SOURCE: &str = "-f lavfi -i testsrc2=s=320x180:r=10:d=0.5";
    let recipe = |rest: &str| -> &'static str { Box::leak(format!("{SOURCE} {rest}").into_boxed_str()) };
    let x264 = |format: &str| recipe(&format!("-c:v libx264 -pix_fmt {format}"));
    let x265 = |format: &str| recipe(&format!("-c:v libx265 -x265-params log-level=error -pix_fmt {format}"));
    let raw = |format: &str| recipe(&format!("-c:v rawvideo -pix_fmt {format}"));
    let ffv1 = |format: &str| recipe(&format!("-c:v ffv1 -pix_fmt {format}"));
    check(&[
        case("x420.mp4", x264("yuv420p"), "1.mp4", "h264", "yuv420p"),
        case("x422.mp4", x264("yuv422p"), "2.mp4", "h264", "yuv422p"),
        case("x444.mp4", x264("yuv444p"), "3.mp4", "h264", "yuv444p"),
        case("x420_10.mp4", x264("yuv420p10le"), "4.mp4", "h264", "yuv420p10le"),
        case("x422_10.mp4", x264("yuv422p10le"), "5.mp4", "h264", "yuv422p10le"),
        case("x444_10.mp4", x264("yuv444p10le"), "6.mp4", "h264", "yuv444p10le"),
        case("h420_10.mp4", x265("yuv420p10le"), "7.mp4", "hevc", "yuv420p10le"),
        case("h422_12.mp4", x265("yuv422p12le"), "8.mp4", "hevc", "yuv422p12le"),
        case("h420_12.mp4", x265("yuv420p12le"), "9.mkv", "ffv1", "yuv420p12le"),
        case("h444_12.mp4", x265("yuv444p12le"), "10.mkv", "ffv1", "yuv444p12le"),
        case("rgb.mp4", x265("gbrp"), "11.mp4", "hevc", "gbrp"),
        case("rgb_10.mp4", x265("gbrp10le"), "12.mkv", "ffv1", "gbrp10le"),
        case("rgb_12.mp4", x265("gbrp12le"), "13.mkv", "ffv1", "gbrp12le"),
        case("rgb_8_in_ffv1.mp4", x265("gbrp"), "14.mkv", "ffv1", "gbrp"),
        case("gray.mkv", ffv1("gray"), "15.mkv", "ffv1", "gray"),
        case("gray_10.mkv", ffv1("gray10le"), "16.mp4", "h264", "gray10le"),
        case("f422_14.mkv", ffv1("yuv422p14le"), "17.mkv", "ffv1", "yuv422p14le"),
        case("nv12.nut", raw("nv12"), "18.mp4", "h264", "yuv420p"),
        case("uyvy.mov", raw("uyvy422"), "19.mp4", "h264", "yuv422p"),
        case("bgra.nut", raw("bgra"), "20.mkv", "ffv1", "gbrp"),
        case("rgb24.nut", raw("rgb24"), "21.mkv", "ffv1", "gbrp"),
        case("big_endian.nut", raw("yuv420p10be"), "22.mp4", "h264", "yuv420p10le"),
        case("prores.mov", recipe("-c:v prores_ks -pix_fmt yuv422p10le"), "23.mkv", "ffv1", "yuv422p10le"),
        case(
            "prores_alpha.mov",
            recipe("-c:v prores_ks -profile:v 4 -pix_fmt yuva444p10le"),
            "24.mkv",
            "ffv1",
            "yuv444p12le",
        ),
        case(
            "vp9_10.webm",
            recipe("-c:v libvpx-vp9 -lossless 1 -pix_fmt yuv420p10le"),
            "25.webm",
            "vp9",
            "yuv420p10le",
        ),
        case("animation.mov", recipe("-c:v qtrle -pix_fmt rgb24"), "26.mkv", "ffv1", "gbrp"),
        case("odd_ffv1.mkv", recipe("-vf scale=321:181,format=yuv420p -c:v ffv1"), "27.mkv", "ffv1", "yuv420p"),
        case("odd_vp9.mkv", recipe("-vf scale=321:181,format=yuv420p -c:v ffv1"), "28.webm", "vp9", "yuv420p"),
        case("odd_444.mp4", recipe("-vf scale=321:181,format=yuv444p -c:v libx264"), "29.mp4", "h264", "yuv444p"),
    ]);
}

#[test]
fn colour_is_said_as_it_was() {
    check(&[
        case(
            "jpeg_422.mov",
            "-f lavfi -i testsrc2=s=320x180:r=10:d=0.5 -c:v mjpeg -pix_fmt yuvj422p",
            "a.mp4",
            "h264",
            "yuvj422p",
        ),
        case(
            "bt709.mp4",
            "-f lavfi -i testsrc2=s=320x180:r=10:d=0.5 -c:v libx264 -pix_fmt yuv420p -colorspace bt709 -color_trc bt709 \
            -color_primaries bt709 -color_range tv",
            "b.mp4",
            "hevc",
            "yuv420p",
        ),
        case(
            "bt601_full.mp4",
            "-f lavfi -i testsrc2=s=320x180:r=10:d=0.5 -c:v libx264 -pix_fmt yuv420p -colorspace smpte170m -color_range pc",
            "c.mov",
            "h264",
            "yuvj420p",
        ),
        case(
            "hlg.mp4",
            "-f lavfi -i testsrc2=s=320x180:r=10:d=0.5 -pix_fmt yuv420p10le -c:v libx265 -tag:v hvc1 \
            -x265-params log-level=error:colorprim=bt2020:transfer=arib-std-b67:colormatrix=bt2020nc",
            "d.mp4",
            "hevc",
            "yuv420p10le",
        ),
    ]);
}

/// SMPTE ST 2086 and CTA-861.3: the numbers come out as they went in, from the codec's own messages into the container.
#[test]
fn light_data_is_kept() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 10);
    let recipe = "-f lavfi -i testsrc2=s=320x180:r=10:d=0.5 -pix_fmt yuv420p10le -c:v libx265 -x265-params \
        log-level=error:colorprim=bt2020:colormatrix=bt2020nc:transfer=smpte2084:hdr10=1:\
        master-display=G(13250,34500)B(7500,3000)R(34000,16000)WP(15635,16450)L(10000000,50):max-cll=1000,400";
    let clip = make_clip(folder, "pq.mp4", recipe);
    let from_frame = |file: &Path| {
        let frames = ffprobe(file, "-select_streams V:0 -read_intervals %+#1 -show_frames");
        frames["frames"][0]["side_data_list"].clone()
    };
    let light = |data: &serde_json::Value| {
        let all = data.as_array().cloned().unwrap_or_default();
        let number = |value: &serde_json::Value| value.as_str().map(|_| ratio(value));
        let display = all.iter().find(|d| d["side_data_type"] == "Mastering display metadata").cloned()?;
        let levels = all.iter().find(|d| d["side_data_type"] == "Content light level metadata").cloned()?;
        let names = ["red_x", "green_y", "blue_x", "white_point_y", "min_luminance", "max_luminance"];
        let display: Option<Vec<f64>> = names.iter().map(|name| number(&display[*name])).collect();
        Some((display?, levels["max_content"].clone(), levels["max_average"].clone()))
    };
    let old = light(&from_frame(&clip)).expect("the clip carries both");
    for (film, codec) in [("a.mp4", "hevc"), ("b.mp4", "h264"), ("c.mkv", "hevc"), ("d.webm", "vp9"), ("e.mkv", "av1")]
    {
        let line =
            format!("render --film pq.mp4 --log dunlin.csv --offset 0 -o {film} --codec {codec} --speed fastest");
        let output = run(folder, &line);
        assert!(output.status.success(), "{film}: {}", said(&output));
        let film = folder.join(film);
        let in_stream = light(&film_track(&film)["side_data_list"]);
        let new = in_stream.or_else(|| light(&from_frame(&film))).unwrap_or_else(|| panic!("{codec}: no light data"));
        assert_eq!((&old.1, &old.2), (&new.1, &new.2), "{codec}");
        assert!(
            old.0.iter().zip(&new.0).all(|(a, b)| (a - b).abs() < 1e-4 * a.max(1.0)),
            "{codec}: {:?} {:?}",
            old.0,
            new.0
        );
        assert_eq!(film_track(&film)["color_transfer"], "smpte2084", "{codec}");
    }
}

/// Fields stay fields, in their order, and pixels keep their aspect; both in the codec and in the container.
#[test]
fn interlaced_and_stretched_pictures_stay_what_they_are() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 10);
    for (order, said_by) in [("tff", "tt"), ("bff", "bb")] {
        let recipe = format!(
            "-f lavfi -i testsrc2=s=720x576:r=50:d=0.5 -vf interlace=scan={order},setfield={order},setsar=64/45 -c:v libx264 \
            -pix_fmt yuv420p -flags +ildct+ilme -x264-params {}=1",
            if order == "tff" { "tff" } else { "bff" }
        );
        let clip = make_clip(folder, &format!("{order}.mp4"), &recipe);
        for (codec, film) in [("h264", "mp4"), ("ffv1", "mkv"), ("prores", "mov")] {
            let film = format!("{order}_{codec}.{film}");
            let crf = if codec == "h264" { "--crf 0" } else { "" };
            let line = format!("render --film {order}.mp4 --log dunlin.csv --offset 0 -o {film} --codec {codec} {crf}");
            let output = run(folder, &line);
            assert!(output.status.success(), "{film}: {}", said(&output));
            let film = folder.join(film);
            let track = film_track(&film);
            assert_eq!(
                (&track["field_order"], &track["sample_aspect_ratio"]),
                (&said_by.into(), &"64:45".into()),
                "{codec}"
            );
            let frames =
                ffprobe(&film, "-select_streams V:0 -show_frames")["frames"].as_array().cloned().expect("frames");
            let top = i64::from(order == "tff");
            let all = frames.iter().all(|f| f["interlaced_frame"] == 1 && f["top_field_first"].as_i64() == Some(top));
            assert!(all || codec == "ffv1", "{codec}: a frame lost its fields");
            if codec != "prores" {
                let free = "crop=180:144:0:72";
                assert_eq!(sums(&clip, "yuv420p", free), sums(&film, "yuv420p", free), "{codec}");
            }
        }
        let output =
            run(folder, &format!("render --film {order}.mp4 --log dunlin.csv --offset 0 -o no.mp4 --codec hevc"));
        assert!(output.status.code() == Some(2) && said(&output).contains("interlaced"), "{}", said(&output));
    }
}

/// Nothing is bent in silence: what a codec, a container or this program cannot hold is refused with what can.
#[test]
fn what_cannot_be_kept_is_refused() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 10);
    let source = "-f lavfi -i testsrc2=s=320x180:r=10:d=0.5";
    make_clip(folder, "odd.mkv", &format!("{source} -vf scale=321:181,format=yuv420p -c:v ffv1"));
    make_clip(folder, "twelve.mkv", &format!("{source} -c:v ffv1 -pix_fmt yuv420p12le"));
    make_clip(folder, "palette.mkv", &format!("{source} -c:v png -pix_fmt pal8"));
    make_clip(folder, "coarse.mkv", &format!("{source} -c:v ffv1 -pix_fmt yuv411p"));
    make_clip(folder, "plain.mp4", &format!("{source} -c:v libx264 -pix_fmt yuv420p"));
    for (size, name) in [("320x240", "small.ts"), ("640x360", "large.ts")] {
        let recipe = format!("-f lavfi -i testsrc2=s={size}:r=10:d=1 -c:v libx264 -pix_fmt yuv420p");
        make_clip(folder, name, &recipe);
    }
    let read = |name: &str| std::fs::read(folder.join(name)).expect("clip");
    std::fs::write(folder.join("grows.ts"), [read("small.ts"), read("large.ts")].concat()).expect("clip");
    for (clip, rest, words) in [
        ("odd.mkv", "-o film.mp4", ["321 x 181", "--codec ffv1"]),
        ("twelve.mkv", "-o film.mp4", ["yuv420p12le", "--codec hevc"]),
        ("palette.mkv", "-o film.mp4", ["pal8", "convert the clip"]),
        ("coarse.mkv", "-o film.mp4", ["yuv411p", "convert the clip"]),
        ("plain.mp4", "-o film.mp4 --codec ffv1", ["MP4 cannot hold ffv1", ".mkv"]),
        ("plain.mp4", "-o film.webm --codec h264", ["WebM cannot hold h264", ".mp4"]),
        ("plain.mp4", "-o film.mov --codec prores --crf 3", ["prores", "--crf"]),
        ("plain.mp4", "-o film.mp4 --crf 60", ["--crf 60", "51"]),
        ("plain.mp4", "-o film.mkv --codec av1 --crf 0", ["av1", "every bit"]),
        ("grows.ts", "-o film.mp4", ["320 x 240", "640 x 360"]),
    ] {
        let output = run(folder, &format!("render --film {clip} --log dunlin.csv --offset 0 {rest}"));
        let text = said(&output);
        assert_eq!(output.status.code(), Some(2), "{clip} {rest}: {text}");
        assert!(words.iter().all(|word| text.contains(word)), "{clip} {rest}: {text}");
        assert!(!folder.join("film.mp4").exists(), "{clip} {rest}: something was left");
    }
}
