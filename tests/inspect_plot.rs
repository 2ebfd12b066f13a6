//! `inspect --plot`: the page of a log, written by the compiled program and read back.
#![allow(missing_docs, clippy::expect_used)]

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn inspect(folder: &Path, arguments: &str) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat"));
    command.current_dir(folder).arg("inspect").args(arguments.split_whitespace());
    command.output().expect("the program starts")
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A step that must show, a spike of one record among many, a gap, and texts.
fn log(folder: &Path) -> PathBuf {
    let rows: String = (0..20_000)
        .map(|i| {
            let gap = if (8000..12_000).contains(&i) { String::new() } else { format!("{}", i % 7) };
            let spike = if i == 10_003 { 900 } else { 10 };
            format!("{}.{:02},{spike},{gap},0021\n", i / 100, i % 100)
        })
        .collect();
    let file = folder.join("log.csv");
    std::fs::write(&file, format!("t_s,spike (V),gap,code\n{rows}")).expect("log");
    file
}

#[test]
fn the_page_shows_spikes_and_gaps() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    log(folder);
    let output = inspect(folder, "log.csv --plot page.png");
    assert!(output.status.success(), "{}", said(&output));
    let table = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(table.contains("spike") && !table.contains('\u{2581}'), "no sparkline where nobody looks: {table}");
    let page = image::open(folder.join("page.png")).expect("page").to_rgb8();
    assert_eq!(page.width(), 1920);
    // The strips begin below title and axis; at most 150 pixels high, 8 apart.
    let strip = |i: u32| 196 + i * 158;
    let x = |share: f64| (520.0 + share * 1180.0) as u32;
    let bright = |x: u32, y: u32| page.get_pixel(x, y).0.iter().all(|&c| c > 150);
    let near = |share: f64, y: u32| (x(share) - 3..=x(share) + 3).any(|x| bright(x, y));
    let middle = strip(0) + 75;
    assert!(near(10_003.0 / 20_000.0, middle), "the spike of one record of twenty thousand reaches up");
    assert!(!near(0.4, middle) && near(0.4, strip(0) + 139), "the line beside it stays down");
    let ground = |share: f64| page.get_pixel(x(share), strip(1) + 4).0;
    assert!(
        ground(0.5)[2] > ground(0.2)[2] + 10 && ground(0.5) == ground(0.47),
        "the gap is pale: {:?} {:?}",
        ground(0.5),
        ground(0.2)
    );
    assert!((strip(1)..strip(1) + 140).all(|y| !bright(x(0.47), y)), "nothing is drawn across it");

    let output = inspect(folder, "log.csv --plot page.svg --json");
    assert!(output.status.success() && output.stdout.starts_with(b"["), "{}", said(&output));
    let svg = std::fs::read_to_string(folder.join("page.svg")).expect("page");
    assert!(svg.starts_with("<svg") && svg.len() < 600_000, "thinned by columns: {} bytes", svg.len());
}

/// A log whose clock stands still for an hour: a finding stands where its row was written, not where the row stands in the file.
#[test]
fn findings_stand_at_their_rows_own_time() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    let time = |i: u32| if i < 900 { i } else { i + 3600 };
    let rows: String =
        (0..1000).map(|i| format!("{},{}\n", time(i), if i == 600 { "x,y".into() } else { i.to_string() })).collect();
    std::fs::write(folder.join("late.csv"), format!("t_s,A (V)\n{rows}")).expect("log");
    let output = inspect(folder, "late.csv --plot page.png --json");
    assert!(output.status.success(), "{}", said(&output));
    let told: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let finding = told[0]["findings"].as_array().expect("findings").iter().find(|f| f["row"] == 602).expect("row 602");
    assert_eq!(finding["at_s"], 599.0, "the last record before it: {finding}");
    let page = image::open(folder.join("page.png")).expect("page").to_rgb8();
    // The flag hangs from the first strip's upper edge, in amber.
    let amber = |x: u32| page.get_pixel(x, 199).0;
    let is_flag = |x: u32| amber(x)[0] > 180 && amber(x)[2] < 120;
    let at = |seconds: f64| (520.0 + seconds / 4599.0 * 1180.0) as u32;
    assert!((at(599.0) - 4..at(599.0) + 4).any(is_flag), "at a tenth of the time");
    assert!(!(at(2700.0)..at(2800.0)).any(is_flag), "not at six tenths of the page");
}

#[test]
fn many_channels_make_a_higher_page() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    let twin = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/real/logs/engine_monitor_twin_Flt53.csv");
    let output = inspect(folder, &format!("{} --plot page.png", twin.display()));
    assert!(output.status.success(), "{}", said(&output));
    let (width, height) = image::image_dimensions(folder.join("page.png")).expect("page");
    let columns = std::fs::read_to_string(&twin).expect("log").lines().next().expect("header").split(',').count();
    // All but the date and the time have a strip that stays high enough to be read.
    assert!(width == 1920 && height > 100 * (columns as u32 - 2), "{height} for {columns}");
}

#[test]
fn wrong_wishes_are_refused() {
    let folder = tempfile::tempdir().expect("folder");
    let folder = folder.path();
    log(folder);
    std::fs::write(folder.join("clip.mp4"), b"no clip").expect("file");
    std::fs::write(folder.join("there.png"), b"precious").expect("file");
    for (arguments, why) in [
        ("log.csv --plot page.bmp", "use .png or .svg"),
        ("log.csv log.csv --plot page.png", "draws one log"),
        ("clip.mp4 --plot page.png", "draws one log"),
        ("log.csv --plot there.png", "add --overwrite"),
        ("log.csv --overwrite", "--plot"),
        ("log.csv --plot missing/page.png", "choose a folder that exists"),
    ] {
        let output = inspect(folder, arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments}: {}", said(&output));
        assert!(said(&output).contains(why), "{arguments}: {}", said(&output));
    }
    assert_eq!(std::fs::read(folder.join("there.png")).expect("file"), b"precious");
    let names = std::fs::read_dir(folder).expect("folder").count();
    assert_eq!(names, 3, "nothing is left behind");
}
