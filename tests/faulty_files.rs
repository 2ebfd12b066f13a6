//! Flight and panel files with one fault each: the message must show the line, what was found, what was expected, and the cure.
//!
//! `JUMPSEAT_SHOW_FAULTS=1 cargo test --test faulty_files -- --nocapture` prints every message as a person sees it.
#![allow(clippy::expect_used, clippy::panic, reason = "a test stops at the first thing that is not as it must be")]

#[path = "faulty_files/flight.rs"]
mod flight;
#[path = "faulty_files/kinds.rs"]
mod kinds;
#[path = "faulty_files/panel.rs"]
mod panel;
#[path = "faulty_files/scales.rs"]
mod scales;
#[path = "faulty_files/texts.rs"]
mod texts;

use std::path::Path;
use std::process::Command;
use texts::{AIR, Case, ENGINE, FLIGHT, PANEL};

fn check(folder: &Path) -> (Option<i32>, serde_json::Value, String) {
    let program = || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_jumpseat"));
        command.current_dir(folder).args(["check", "flight.toml"]);
        command
    };
    let json = program().arg("--json").output().expect("started");
    let text = program().output().expect("started");
    let document = serde_json::from_slice(&json.stdout).expect("one JSON document");
    assert_eq!(json.status.code(), text.status.code());
    (text.status.code(), document, String::from_utf8_lossy(&text.stderr).into_owned())
}

fn write(folder: &Path, panel: &str, flight: &str) {
    for (name, text) in [("panel.toml", panel), ("flight.toml", flight), ("air.csv", AIR), ("engine.csv", ENGINE)] {
        std::fs::write(folder.join(name), text).expect("file");
    }
}

#[test]
fn sound_files_pass() {
    let folder = tempfile::tempdir().expect("folder");
    write(folder.path(), PANEL, FLIGHT);
    let (code, document, text) = check(folder.path());
    assert_eq!((code, &document["ok"]), (Some(0), &true.into()), "{text}");
    assert_eq!(document["findings"].as_array().map(Vec::len), Some(0), "{text}");
}

#[test]
fn every_fault_shows_its_line_and_its_cure() {
    let cases: Vec<&Case> = panel::CASES.iter().chain(kinds::CASES).chain(scales::CASES).chain(flight::CASES).collect();
    assert!(cases.len() >= 40);
    let mut wrong = Vec::new();
    for case in &cases {
        let folder = tempfile::tempdir().expect("folder");
        let source = if case.panel { PANEL } else { FLIGHT };
        let faulty = source.replacen(case.out, case.put, 1);
        assert_ne!(faulty, source, "nothing to replace: {}", case.out);
        if case.panel {
            write(folder.path(), &faulty, FLIGHT)
        } else {
            write(folder.path(), PANEL, &faulty)
        }
        let (code, document, text) = check(folder.path());
        if std::env::var_os("JUMPSEAT_SHOW_FAULTS").is_some() {
            println!("---- {} -> {}\n{text}", case.out, case.put);
        }
        let mut complain = |what: String| wrong.push(format!("{what}: {} -> {}\n{text}", case.out, case.put));
        // What no logger recorded and what is faint are remarks, the only ones that are made here.
        if code != Some(if matches!(case.code, "not_recorded" | "faint_colour") { 0 } else { 2 }) {
            complain(format!("exit code {code:?}"));
        }
        let findings = document["findings"].as_array().expect("findings");
        let Some(found) = findings.iter().find(|f| f["code"] == case.code) else {
            complain(format!("no {}", case.code));
            continue;
        };
        // A value that is wrong is not missing as well, nor is anything else wrong because of it.
        if matches!(case.code, "unknown_word" | "wrong_kind" | "out_of_range" | "unknown_unit") && findings.len() != 1 {
            complain(format!("{} faults for one", findings.len()));
        }
        let said = format!("{} {} {}", found["message"], found["cure"], found["key"]).replace('\\', "");
        for word in case.words.iter().filter(|w| !said.contains(**w)) {
            complain(format!("no `{word}` in {said}"));
        }
        let line = found["line"].as_u64().expect("a line") as usize;
        let shown = faulty.lines().nth(line - 1).unwrap_or_default();
        if !shown.contains(case.line) {
            complain(format!("line {line} is `{shown}`"));
        }
        // The text form shows the same line with a caret under it.
        if !text.contains('^') || !text.contains(shown.trim()) {
            complain("no line with a caret".into());
        }
    }
    assert!(wrong.is_empty(), "{} of {} cases:\n{}", wrong.len(), cases.len(), wrong.join("\n"));
}
