//! The instruments alone, with alpha: laid over the film by the rule of straight alpha they give the annotated film, at the film's own
//! times. Clips are made by the ffmpeg tool, and all is read back by it.

#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]
#![cfg(feature = "codec")]

mod common;

use common::faults::{end_of, interrupt, names, wait_for_writing};
use common::*;
use std::path::{Path, PathBuf};
use std::process::Command;

const WIDTH: usize = 640;
const HEIGHT: usize = 360;

fn render(folder: &Path, clip: &str, output: &str, more: &str) -> PathBuf {
    let line = format!("render --film {clip} --log dunlin.csv --offset 0 -o {output} {more}");
    let output_of = run(folder, &line);
    assert!(output_of.status.success(), "{line}: {}", said(&output_of));
    folder.join(output)
}

fn refused(folder: &Path, line: &str, words: &[&str]) {
    let output = run(folder, &format!("render --film clip.mkv --log dunlin.csv --offset 0 {line}"));
    let text = said(&output);
    assert_eq!(output.status.code(), Some(2), "{line}: {text}");
    assert!(words.iter().all(|word| text.contains(word)), "{line}: {text}");
}

/// All frames in packed RGB, with alpha or without, as stored and not turned.
fn pixels(file: &Path, decoder: &str, format: &str) -> Vec<u8> {
    let mut command = Command::new("ffmpeg");
    command.args(["-nostdin", "-v", "error", "-noautorotate"]).args(decoder.split_whitespace()).arg("-i").arg(file);
    command.args(format!("-map 0:V:0 -fps_mode passthrough -f rawvideo -pix_fmt {format} -").split(' '));
    let output = command.output().expect("the ffmpeg tool is installed");
    assert!(output.status.success(), "{command:?}: {}", said(&output));
    output.stdout
}

/// A layer over a picture: `layer * alpha + picture * (1 - alpha)`.
fn laid_over(layer: &[u8], picture: &[u8]) -> Vec<f64> {
    let both = layer.as_chunks::<4>().0.iter().zip(picture.as_chunks::<3>().0);
    let laid = both.flat_map(|(&[r, g, b, a], under)| {
        let alpha = f64::from(a) / 255.0;
        [r, g, b]
            .into_iter()
            .zip(under)
            .map(move |(over, &under)| f64::from(over) * alpha + f64::from(under) * (1.0 - alpha))
    });
    laid.collect()
}

/// Stored times of a film in seconds.
fn times(file: &Path) -> Vec<f64> {
    let tick = ratio(&film_track(file)["time_base"]);
    let json = ffprobe(file, "-select_streams V:0 -show_entries packet=pts");
    let packets = json["packets"].as_array().expect("packets");
    let mut ticks: Vec<i64> = packets.iter().map(|p| p["pts"].as_i64().expect("a time")).collect();
    ticks.sort_unstable();
    ticks.into_iter().map(|t| t as f64 * tick).collect()
}

fn same_times(a: &[f64], b: &[f64], what: &str) {
    assert_eq!(a.len(), b.len(), "{what}: frames");
    let apart = a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    assert!(apart < 1e-7, "{what}: {apart} s apart");
}

#[test]
fn a_layer_over_the_film_is_the_annotated_film() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    make_clip(folder, "clip.mkv", "-f lavfi -i testsrc2=s=640x360:r=10:d=1.5 -c:v ffv1 -pix_fmt gbrp");
    let clip = pixels(&folder.join("clip.mkv"), "", "rgb24");
    let film = pixels(&render(folder, "clip.mkv", "film.mkv", "--codec ffv1"), "", "rgb24");
    assert_eq!(film.len(), 15 * 3 * WIDTH * HEIGHT);
    assert_ne!(clip, film, "no panel");
    let exact = |layer: &[u8], what: &str| {
        let laid = laid_over(layer, &clip);
        assert_eq!(laid.len(), film.len(), "{what}");
        // Each thing that lies on another is rounded once on the film, and once in the layer's colour and alpha.
        let apart: Vec<f64> = laid.iter().zip(&film).map(|(a, &b)| (a - f64::from(b)).abs()).collect();
        let most = apart.iter().copied().fold(0.0, f64::max);
        let beyond = apart.iter().filter(|&&d| d > 2.0).count() as f64 / apart.len() as f64;
        println!("{what}: {most} codes apart at most, more than 2 in {beyond:e}");
        assert!(most <= 3.0 && beyond < 1e-4, "{what}: {most} codes apart at most, more than 2 in {beyond:e}");
    };
    let animation = render(folder, "clip.mkv", "layer.mov", "--layer");
    let drawn = pixels(&animation, "", "rgba");
    exact(&drawn, "animation");
    assert_eq!(film_track(&animation)["codec_name"], "qtrle");
    same_times(&times(&animation), &times(&folder.join("clip.mkv")), "animation");
    // Colour that was multiplied by alpha is never beyond it.
    let bright = |&[r, g, b, a]: &[u8; 4]| a > 0 && r.max(g).max(b) > a;
    assert!(drawn.as_chunks::<4>().0.iter().any(bright), "colour seems to be multiplied by alpha");

    let png = render(folder, "clip.mkv", "png.mov", "--layer --codec png");
    assert_eq!(pixels(&png, "", "rgba"), drawn);
    assert_eq!(film_track(&png)["pix_fmt"], "rgba");
    let pictures = render(folder, "clip.mkv", "layer-%04d.png", "--layer");
    assert_eq!(pixels(&pictures, "", "rgba"), drawn);
    assert!(folder.join("layer-0015.png").exists() && !folder.join("layer-0016.png").exists());

    // What loses a little.
    for (name, codec, decoder, most) in [("p.mov", "prores", "", 1.0), ("v.webm", "vp9", "-c:v libvpx-vp9", 2.5)] {
        let layer = render(folder, "clip.mkv", name, &format!("--layer --codec {codec}"));
        let laid = laid_over(&pixels(&layer, decoder, "rgba"), &clip);
        assert_eq!(laid.len(), film.len(), "{codec}");
        let sum: f64 = laid.iter().zip(&film).map(|(a, &b)| (a - f64::from(b)).abs()).sum();
        let mean = sum / film.len() as f64;
        assert!(mean < most, "{codec}: {mean} codes apart on average");
        same_times(&times(&layer), &times(&folder.join("clip.mkv")), codec);
    }
    assert!(film_track(&folder.join("p.mov"))["pix_fmt"].as_str().is_some_and(|f| f.starts_with("yuva444p")));
    assert_eq!(film_track(&folder.join("v.webm"))["tags"]["alpha_mode"], "1");
}

#[test]
fn a_layer_has_the_films_times() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    make_clip(folder, "steady.mp4", &BASE.replace("d=4", "d=2"));
    let variable = "-f lavfi -i testsrc2=s=640x360:r=30:d=2 -vf select='not(between(mod(n\\,10)\\,3\\,5))',setpts='PTS+if(eq(mod(N,7),3),0.004/TB,0)' \
        -vsync vfr -enc_time_base 1:90000 -c:v libx264 -pix_fmt yuv420p -video_track_timescale 90000";
    make_clip(folder, "variable.mp4", variable);
    make_clip(folder, "later.mkv", "-i steady.mp4 -c copy -output_ts_offset 10");
    make_clip(folder, "cut.mp4", "-ss 0.434 -i steady.mp4 -c copy");
    for (clip, film, more) in [
        ("steady.mp4", "steady_film.mov", ""),
        ("variable.mp4", "variable_film.mov", ""),
        ("variable.mp4", "excerpt_film.mov", "--from 0.7 --to 1.6"),
        ("later.mkv", "later_film.mov", ""),
        ("cut.mp4", "cut_film.mov", ""),
    ] {
        let annotated = render(folder, clip, film, &format!("--speed fastest --no-sound {more}"));
        let layer = render(folder, clip, &format!("layer_{film}"), &format!("--layer {more}"));
        same_times(&times(&layer), &times(&annotated), film);
        let streams = ffprobe(&layer, "-show_streams")["streams"].as_array().map_or(0, Vec::len);
        assert_eq!(streams, 1, "{film}: a layer has no sound");
    }
}

#[test]
fn a_turned_film_has_a_turned_layer() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    make_clip(folder, "steady.mp4", &BASE.replace("d=4", "d=1"));
    make_clip(folder, "turned.mp4", "-i steady.mp4 -c copy -metadata:s:v:0 rotate=90");
    let layer = render(folder, "turned.mp4", "layer.mov", "--layer");
    let (old, new) = (film_track(&folder.join("turned.mp4")), film_track(&layer));
    assert_eq!((&new["width"], &new["height"]), (&old["width"], &old["height"]));
    let matrix = |track: &serde_json::Value| track["side_data_list"][0]["displaymatrix"].clone();
    assert!(matrix(&new).is_string() && matrix(&new) == matrix(&old));
    // Where nothing can say so, the picture is drawn as it is seen.
    render(folder, "turned.mp4", "upright-%02d.png", "--layer");
    let picture = image::open(folder.join("upright-01.png")).expect("a picture");
    assert_eq!((picture.width(), picture.height()), (HEIGHT as u32, WIDTH as u32));
    let webm = film_track(&render(folder, "turned.mp4", "upright.webm", "--layer"));
    assert_eq!((webm["width"].as_u64(), webm["height"].as_u64()), (Some(HEIGHT as u64), Some(WIDTH as u64)));
}

#[test]
fn a_layer_decodes_nothing_of_the_film() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    let clip = make_clip(folder, "clip.mp4", "-f lavfi -i testsrc2=s=640x360:r=30:d=2 -c:v libx264 -pix_fmt yuv420p");
    let mut bytes = std::fs::read(&clip).expect("clip");
    let (from, to) = (bytes.len() / 2, bytes.len() * 4 / 5);
    bytes[from..to].fill(0xaa);
    std::fs::write(&clip, bytes).expect("written");
    let film = run(folder, "render --film clip.mp4 --log dunlin.csv --offset 0 -o film.mp4 --strict");
    assert_ne!(film.status.code(), Some(0), "a film of broken pictures is remarked");
    assert_eq!(times(&render(folder, "clip.mp4", "layer.mov", "--layer --strict")).len(), 60);
}

#[test]
fn what_makes_no_layer_is_refused() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    make_clip(folder, "clip.mkv", "-f lavfi -i testsrc2=s=640x360:r=10:d=0.5 -c:v ffv1");
    refused(folder, "-o layer.mp4 --layer", &["layer.mp4", ".mov", ".webm", "%06d.png"]);
    refused(folder, "-o layer.png --layer", &["layer-%06d.png"]);
    refused(folder, "-o layer.mov --layer --codec h264", &["no alpha", "animation"]);
    refused(folder, "-o layer.mov --layer --codec vp9", &["WebM", ".webm"]);
    refused(folder, "-o layer.mov --layer --crf 20", &["--crf"]);
    refused(folder, "-o film.mov --codec animation", &["--layer"]);
    assert!(!folder.join("layer.mov").exists());
    std::fs::write(folder.join("layer-000003.png"), b"mine").expect("written");
    let output = run(folder, "render --film clip.mkv --log dunlin.csv --offset 0 -o layer-%06d.png --layer");
    assert!(!output.status.success() && said(&output).contains("layer-000003.png"), "{}", said(&output));
    assert!(!folder.join("layer-000001.png").exists(), "refused before the first picture");
    render(folder, "clip.mkv", "layer-%06d.png", "--layer --overwrite");
    assert!(std::fs::read(folder.join("layer-000003.png")).is_ok_and(|bytes| bytes != b"mine"));
}

/// As of a film, what is there when the user interrupts is kept: it can be played, and it is said how far it goes.
#[test]
fn an_interrupted_layer_keeps_what_is_there() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    dunlin_log(folder, "dunlin.csv", 60);
    let recipe = "-f lavfi -i testsrc2=s=1280x720:r=30:d=60 -c:v libx264 -preset ultrafast -pix_fmt yuv420p";
    make_clip(folder, "long.mp4", recipe);
    let start = |output: &str| {
        let line = format!("render --film long.mp4 --log dunlin.csv --offset 0 --layer -o {output}");
        let mut command = jumpseat(folder);
        command.args(line.split_whitespace()).stderr(std::process::Stdio::piped()).spawn().expect("started")
    };
    let child = start("layer.mov");
    wait_for_writing(folder);
    assert!(interrupt(&child));
    let (code, text) = end_of(child, 60);
    assert_eq!(code, Some(130), "{text}");
    assert_eq!(names(folder), ["dunlin.csv", "layer.part.mov", "long.mp4"]);
    let frames = times(&folder.join("layer.part.mov")).len();
    assert!(frames < 1800 && text.contains(&format!("layer.part.mov holds {frames} frames")), "{frames}: {text}");
    std::fs::remove_file(folder.join("layer.part.mov")).expect("removed");

    let child = start("picture-%04d.png");
    while !folder.join("picture-0020.png").exists() {
        std::thread::sleep(std::time::Duration::from_millis(5));
    }
    assert!(interrupt(&child));
    let (code, text) = end_of(child, 60);
    assert_eq!(code, Some(130), "{text}");
    let pictures: Vec<String> = names(folder).into_iter().filter(|name| name.ends_with(".png")).collect();
    let last = pictures.last().expect("pictures");
    assert_eq!(names(folder).len(), pictures.len() + 2, "{:?}", names(folder));
    assert_eq!(*last, format!("picture-{:04}.png", pictures.len()), "none is missing before the last");
    assert!(text.contains(&format!("{} pictures are there, the last one, {last}", pictures.len())), "{text}");
    pictures.iter().for_each(|name| assert!(image::open(folder.join(name)).is_ok(), "{name}"));
}
