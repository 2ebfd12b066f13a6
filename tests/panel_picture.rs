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

const PANEL: &str = r#"
[[instrument]]
name = "speed"
kind = "dial"
channel = "air.IAS"
unit = "kt"
place = { side = "left", from_side = 0.172, from_bottom = 0.30, size = "XL" }
scale.breakpoints = [[20, -126], [110, 126]]
scale.ticks = { long = 20, middle = 10, short = 2 }

[[instrument]]
name = "compass"
kind = "compass"
channel = "air.HDG"
reference = "magnetic"
place = { side = "right", from_side = 0.117, from_bottom = 0.30, size = "M" }

[[instrument]]
name = "fuel"
kind = "bar"
channel = "air.Fuel"
unit = "US gal"
scale = { from = 0, to = 20, step = 5 }
place = { side = "centre", from_side = 0, from_bottom = 0.06, size = "M" }

[[lamp]]
name = "low_rotor"
channel = "air.Low"
subject = "ROTOR"
lit = "LOW"
severity = "warning"
"#;

/// Over white, black, grey and a busy picture, each as large as the film; then every instrument alone.
#[test]
fn an_owners_panel_on_a_sheet() {
    let folder = tempfile::tempdir().expect("folder");
    std::fs::write(folder.path().join("panel.toml"), PANEL).expect("panel");
    let run = |options: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat"));
        let output =
            command.current_dir(folder.path()).arg("panel").args(options.split(' ')).output().expect("started");
        (output.status.code(), String::from_utf8_lossy(&output.stderr).into_owned())
    };
    for (size, width, height) in [("640x360", 640, 360), ("360x640", 360, 640)] {
        let (code, said) = run(&format!("panel.toml --size {size} --overwrite -o sheet.png"));
        assert_eq!(code, Some(0), "{said}");
        // One remark, whatever the number of instruments.
        assert_eq!(said.matches("note:").count(), 1, "{said}");
        assert!(said.contains("small on a phone") && said.contains("compass ("), "{said}");
        let sheet = image::open(folder.path().join("sheet.png")).expect("a picture").to_rgb8();
        assert_eq!(sheet.width(), 2 * width);
        assert!(sheet.height() > 2 * height + 60, "the instruments alone stand below");
        // A place that no instrument covers, in the first three pictures.
        let (x, y) = (width / 2, height / 2);
        let grounds = [(0, 0, 255), (width, 0, 0), (0, height, 128)];
        for (left, top, grey) in grounds {
            assert_eq!(sheet.get_pixel(left + x, top + y).0, [grey; 3], "{size}");
        }
        // The same instruments in the same places: the middle of the dial differs only by what shines through it.
        let colours = |left: u32, top: u32| {
            let of_it = (0..width).flat_map(|x| (0..height).map(move |y| (x, y)));
            of_it.map(|(x, y)| sheet.get_pixel(left + x, top + y).0).collect::<std::collections::HashSet<_>>().len()
        };
        assert!(colours(0, 0) > 300 && colours(width, 0) > 300 && colours(0, height) > 300, "{size}");
        assert!(colours(width, height) > colours(0, height), "the last picture is a busy one");
    }
    assert_eq!(run("panel.toml --width 800 --overwrite -o sheet.png").0, Some(0));
    assert_eq!(image::image_dimensions(folder.path().join("sheet.png")).expect("a picture").0, 800);

    let wrong = [
        ("missing.toml -o sheet.png", "missing.toml"),
        ("panel.toml --size 8x8 -o sheet.png", "160 to 3840"),
        ("panel.toml --catalogue -o sheet.png", "cannot be used with"),
        ("-o sheet.png", "required"),
        ("panel.toml -o sheet.gif", "use .png or .svg"),
        ("panel.toml --overwrite -o panel.toml.png --size 360x200x3", "WIDTHxHEIGHT"),
    ];
    for (options, words) in wrong {
        let (code, said) = run(options);
        assert!(code == Some(2) && said.contains(words), "{options}: {code:?} {said}");
    }
    // Faults come with their lines, as `check` gives them.
    let near = PANEL.replace("side = \"right\", from_side = 0.117", "side = \"left\", from_side = 0.40");
    std::fs::write(folder.path().join("panel.toml"), near.replace("US gal", "US gall")).expect("panel");
    let (code, said) = run("panel.toml --overwrite -o sheet.png");
    assert_eq!(code, Some(2));
    for words in ["US gall", "unit = ", "^^^", "`speed` and `compass` overlap on the picture by", "2 faults"] {
        assert!(said.contains(words), "no {words}:\n{said}");
    }
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
    std::fs::write(folder.path().join("panel.toml"), PANEL).expect("panel");
    let sheets =
        ["graphite", "porcelain", "high-contrast"].map(|theme| format!("--catalogue --width 1280 --theme {theme}"));
    for options in sheets.into_iter().chain(["panel.toml --quiet".to_owned()]) {
        for ending in ["png", "svg"] {
            run(env!("CARGO_BIN_EXE_jumpseat"), &format!("panel {options} --overwrite -o sheet.{ending}"));
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
        assert!(mean < 1.5 && worst < 9.0, "{options}: of 255 levels {mean:.2} apart, in the worst corner {worst:.1}");
    }
}
