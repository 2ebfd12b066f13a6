//! Dials to a picture, with or without the codec: the wall between drawing and film stands.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

use std::process::Command;

#[test]
fn the_catalogue_is_a_picture() {
    let folder = tempfile::tempdir().expect("folder");
    let draw = |more: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat"));
        command
            .current_dir(folder.path())
            .args(["panel", "--catalogue", "--width", "960", "-o", "sheet.png"])
            .args(more);
        command.output().expect("started").status.code()
    };
    assert_eq!(draw(&[]), Some(0));
    let sheet = image::open(folder.path().join("sheet.png")).expect("a picture").to_rgb8();
    assert_eq!(sheet.width(), 960);
    // Instruments and labels: far more colours than a bare ground has.
    let colours: std::collections::HashSet<_> = sheet.pixels().map(|p| p.0).collect();
    assert!(colours.len() > 5000, "{} colours", colours.len());
    assert_eq!(draw(&[]), Some(2), "a picture that exists is not replaced unasked");
    assert_eq!(draw(&["--overwrite", "--theme", "porcelain"]), Some(0));
}

/// The same outlines drawn by librsvg, which shares nothing with our raster. Both round every edge in their own way, and a
/// dashed line may start elsewhere on its outline: hence the tolerance.
#[test]
fn the_svg_is_the_same_picture() {
    let folder = tempfile::tempdir().expect("folder");
    let run = |program: &str, arguments: &str| {
        let output = Command::new(program).current_dir(folder.path()).args(arguments.split(' ')).output();
        let output = output.unwrap_or_else(|e| panic!("{program} is not installed (samples/set-up names it): {e}"));
        assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    };
    let open = |name: &str| image::open(folder.path().join(name)).expect("a picture").to_rgb8();
    for theme in ["graphite", "porcelain", "high-contrast"] {
        for ending in ["png", "svg"] {
            let options = format!("--catalogue --width 1280 --overwrite --theme {theme} -o sheet.{ending}");
            run(env!("CARGO_BIN_EXE_jumpseat"), &format!("panel {options}"));
        }
        run("rsvg-convert", "sheet.svg -o theirs.png");
        let (ours, theirs) = (open("sheet.png"), open("theirs.png"));
        assert_eq!(ours.dimensions(), theirs.dimensions());
        let apart =
            |(a, b): (&image::Rgb<u8>, &image::Rgb<u8>)| (0..3).map(|i| a.0[i].abs_diff(b.0[i])).max().unwrap_or(0);
        let apart: Vec<u8> = ours.pixels().zip(theirs.pixels()).map(apart).collect();
        let mean = apart.iter().map(|&d| f64::from(d)).sum::<f64>() / apart.len() as f64;
        // A line that is missing shows in its own corner only.
        let (width, side) = (ours.width() as usize, 32);
        let mut corners = vec![0_u32; apart.len() / width / side * (width / side)];
        for (i, &d) in apart.iter().enumerate() {
            let (x, y) = (i % width / side, i / width / side);
            if let Some(corner) = corners.get_mut(y * (width / side) + x) {
                *corner += u32::from(d);
            }
        }
        let worst = f64::from(corners.into_iter().max().unwrap_or(0)) / (side * side) as f64;
        assert!(mean < 1.5 && worst < 9.0, "{theme}: of 255 levels {mean:.2} apart, in the worst corner {worst:.1}");
    }
}
