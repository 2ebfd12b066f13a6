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
