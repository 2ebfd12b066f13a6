//! Holds the table of rooms: which room (top folder of `src/`) may import which. `DEVELOPERS.md` has the reasons.
//!
//! Names are read from the source text by `rooms/scan.rs`, so the wall holds for every feature set and target at once.
//! Test code inside `src/` may look into other rooms and is left out; `unsafe` and FFmpeg's names are looked for there too.

#[path = "rooms/scan.rs"]
mod scan;

use scan::Source;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// A room and the rooms it may import. `finding` may be imported by all and is not repeated.
const TABLE: &[(&str, &[&str])] = &[
    // Values and formulae: they import nothing.
    ("finding", &[]),
    ("output", &[]),
    ("units", &[]),
    ("time", &[]),
    ("pixel", &[]),
    ("air", &[]),
    ("meaning", &["units"]),
    ("formula", &["units"]),
    // Records and what is made of them.
    ("signal", &["units", "time"]),
    ("recorder", &["signal", "units", "time"]),
    ("clock", &["signal", "time"]),
    // TOML with the place of every value, under the two files that owners write.
    ("keyfile", &[]),
    ("panel", &["units", "keyfile", "meaning"]),
    ("session", &["signal", "clock", "air", "recorder", "time", "units", "meaning", "formula"]),
    ("judge", &["session", "panel", "air", "meaning", "signal", "time", "units"]),
    ("flight", &["panel", "session", "judge", "clock", "recorder", "keyfile", "formula", "units", "time"]),
    // Readings. `signal` and `time` for the types of a reading and of session time, which this room
    // hands on, `units` for a panel in other units than the log.
    ("readout", &["judge", "session", "panel", "signal", "time", "units"]),
    // Pictures and frames: the two sides of the wall, and the neutral ground between them.
    ("draw", &["panel", "readout", "signal", "units", "pixel"]),
    ("video", &["time", "pixel"]),
    ("blend", &["pixel"]),
    // What joins them.
    ("align", &["video", "clock", "session"]),
    ("render", RENDER),
    ("report", &["judge", "session", "clock", "recorder", "panel", "readout", "signal", "units", "time", "meaning"]),
    ("demo", &[]),
    ("demo/flight", &["air", "signal", "panel"]),
    ("demo/film", &["output", "time", "pixel", "draw", "video", "blend", "demo/flight"]),
    ("cli", CLI),
    // The two crate roots: `lib` only lists the rooms, `main` only calls the command line.
    ("lib", &[]),
    ("main", &["cli"]),
];

/// All that stand above it in the table, but `flight`.
const RENDER: &[&str] = &[
    "output", "units", "time", "pixel", "air", "meaning", "signal", "recorder", "clock", "panel", "session", "judge",
    "readout", "draw", "video", "blend", "align",
];

/// All rooms but the crate roots; the only user of `flight`.
const CLI: &[&str] = &[
    "output",
    "keyfile",
    "units",
    "time",
    "pixel",
    "air",
    "meaning",
    "signal",
    "recorder",
    "clock",
    "panel",
    "session",
    "judge",
    "flight",
    "readout",
    "draw",
    "video",
    "blend",
    "align",
    "render",
    "report",
    "demo",
    "demo/flight",
    "demo/film",
];

/// Imported by all.
const FOR_ALL: &str = "finding";

/// The only rooms, with `main` above them, that may know both sides of the wall between drawing and codecs.
const KNOW_BOTH_SIDES: &[&str] = &["render", "demo/film", "cli", "main"];

/// What rooms import, by name.
type Imports = BTreeMap<String, BTreeSet<String>>;

/// The table as a map, with what is for all added.
fn table() -> Imports {
    TABLE
        .iter()
        .map(|&(room, may)| {
            let for_all = (room != FOR_ALL).then_some(FOR_ALL);
            (room.to_string(), may.iter().copied().chain(for_all).map(String::from).collect())
        })
        .collect()
}

/// The room of a module path (`["video", "encode"]`): its first name, or two where the table splits a folder in two.
fn room_of(module: &[String]) -> String {
    match module {
        [first, second, ..] if TABLE.iter().any(|(room, _)| *room == format!("{first}/{second}")) => {
            format!("{first}/{second}")
        }
        [first, ..] => first.clone(),
        [] => "lib".into(),
    }
}

/// What one file does against the table, one sentence each.
fn violations(path: &Path, text: &str) -> Vec<String> {
    let source = Source::read(path, text);
    let room = room_of(&source.module);
    let table = table();
    let Some(may) = table.get(&room) else {
        return vec![format!("{}: room `{room}` is not in the table", path.display())];
    };
    let mut found = source.complaints.clone();
    let mut named = BTreeSet::new();
    for import in &source.imports {
        let other = room_of(import);
        if other != room && !may.contains(&other) && named.insert(other) {
            found.push(format!("`{room}` may not import `{}`", import.join("::")));
        }
    }
    if room != "video" {
        for name in ["unsafe", "ffmpeg_next", "ffmpeg_sys_next"] {
            if source.words.contains(name) {
                found.push(format!("only `video` may say `{name}`"));
            }
        }
    }
    found.into_iter().map(|what| format!("{}: {what}", path.display())).collect()
}

/// All rooms that can be reached from `room`, itself included.
fn reach(imports: &Imports, room: &str) -> BTreeSet<String> {
    let mut reached = BTreeSet::new();
    let mut open = vec![room.to_string()];
    while let Some(next) = open.pop() {
        open.extend(imports.get(&next).into_iter().flatten().filter(|other| !reached.contains(*other)).cloned());
        reached.insert(next);
    }
    reached
}

/// Where the imports breach the wall between `draw` and `video`, or go round in a circle.
fn breaches(imports: &Imports) -> Vec<String> {
    let mut found = Vec::new();
    for (room, direct) in imports {
        let reached = reach(imports, room);
        if reached.contains("draw") && reached.contains("video") && !KNOW_BOTH_SIDES.contains(&room.as_str()) {
            found.push(format!("`{room}` knows both `draw` and `video`"));
        }
        if direct.iter().any(|other| other != room && reach(imports, other).contains(room)) {
            found.push(format!("`{room}` imports itself through another room"));
        }
    }
    found
}

/// Every Rust file under `folder`, with its path from there.
fn rust_files(folder: &Path) -> std::io::Result<Vec<(PathBuf, String)>> {
    let mut files = Vec::new();
    let mut open = vec![folder.to_path_buf()];
    while let Some(next) = open.pop() {
        for entry in std::fs::read_dir(next)? {
            let path = entry?.path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|ending| ending == "rs") {
                let text = std::fs::read_to_string(&path)?;
                files.push((path.strip_prefix(folder).unwrap_or(&path).to_path_buf(), text));
            }
        }
    }
    files.sort();
    Ok(files)
}

#[test]
fn every_room_imports_only_what_the_table_allows() {
    let files = rust_files(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src")).unwrap();
    assert!(files.iter().any(|(path, _)| path == Path::new("lib.rs")), "no source files found");
    let found: Vec<String> = files.iter().flat_map(|(path, text)| violations(path, text)).collect();
    assert!(found.is_empty(), "\n{}", found.join("\n"));
}

/// The rooms obey the table, so what holds for the table holds for them.
#[test]
fn the_table_itself_keeps_the_wall_and_goes_one_way() {
    let table = table();
    assert_eq!(breaches(&table), Vec::<String>::new());
    for (room, may) in &table {
        assert!(
            may.iter().all(|other| table.contains_key(other)),
            "`{room}` may import a room that is not in the table"
        );
    }
}

mod the_checker {
    use super::{breaches, table, violations};
    use std::path::Path;

    fn check(path: &str, text: &str) -> Vec<String> {
        violations(Path::new(path), text)
    }

    #[test]
    fn sees_every_way_to_name_another_room() {
        for text in [
            "use crate::video::Clip;",
            "pub(crate) use crate::{pixel::Patch, video};",
            "use crate::{pixel::{Patch, Planes}, video::{self, Clip}};",
            "use crate :: /* far */ video;",
            "use super::video::Clip;",
            "fn f() -> crate::video::Clip { todo() }",
            "fn f() { super::video::open() }",
            "macro_rules! m { () => { $crate::video::open() } }",
            "use jumpseat::video::Clip;",
            "use ::jumpseat::{video};",
            "use crate::r#video;",
            "#[cfg(feature = \"codec\")] use crate::video::Clip;",
            "#[cfg(not(test))] use crate::video::Clip;",
            "#[cfg_attr(test, allow(unused))] use crate::video::Clip;",
            "fn c() -> char { '\"' } use crate::video; fn d() -> char { '\"' }",
            "fn a<'a>(s: &'a str) { let _ = r#\"\"\"#; crate::video::open() }",
        ] {
            assert_eq!(check("draw/mod.rs", text).len(), 1, "{text}");
        }
        assert_eq!(check("draw/raster.rs", "use super::super::video;").len(), 1);
        assert_eq!(check("draw.rs", "use super::video;").len(), 1);
        assert_eq!(check("draw/dial/face.rs", "use super::super::super::{video, pixel};").len(), 1);
        assert_eq!(
            check("draw/mod.rs", "use crate::video::Clip;"),
            ["draw/mod.rs: `draw` may not import `video::Clip`"]
        );
    }

    #[test]
    fn passes_what_the_table_allows() {
        for (path, text) in [
            ("draw/raster.rs", "use crate::pixel::Patch; use super::{Scene, text::Font}; use std::sync::Arc;"),
            ("draw/dial/face.rs", "use super::super::Scene; pub(in crate::draw) struct Face; pub(super) struct Hand;"),
            ("recorder/csv.rs", "use crate::finding::Finding;"),
            ("render/mod.rs", "use crate::{blend, draw, video};"),
            ("demo/film.rs", "use crate::{draw::Scene, video}; use super::flight;"),
            ("main.rs", "use jumpseat::cli; fn main() { cli::run() }"),
            ("lib.rs", "pub mod draw; pub mod video;"),
            // Text and remarks import nothing.
            (
                "draw/mod.rs",
                "//! Unlike [`crate::video`], no codec.\n/* crate::video /* nested */ unsafe */ const S: &str = \"crate::video\";",
            ),
        ] {
            assert_eq!(check(path, text), Vec::<String>::new(), "{path}: {text}");
        }
    }

    #[test]
    fn leaves_out_test_code_and_nothing_after_it() {
        let test_code =
            "#[cfg(test)]\n#[allow(clippy::all)]\nmod tests { use crate::video::Clip; fn f() { if true {} } }\n";
        assert_eq!(check("draw/mod.rs", test_code), Vec::<String>::new());
        assert_eq!(
            check("draw/mod.rs", "#[cfg(all(test, feature = \"codec\"))] use crate::video;"),
            Vec::<String>::new()
        );
        assert_eq!(check("draw/tests.rs", "use crate::video;"), Vec::<String>::new());
        assert_eq!(check("draw/mod.rs", &format!("{test_code}use crate::video::Clip;")).len(), 1);
        assert_eq!(check("draw/mod.rs", "#[cfg(test)] mod tests; use crate::video::Clip;").len(), 1);
        assert_eq!(check("draw/mod.rs", "#[cfg(any(test, unix))] use crate::video::Clip;").len(), 1);
    }

    #[test]
    fn refuses_what_would_hide_a_path() {
        for text in ["use crate as house;", "use crate::*;", "use crate::{self as house};", "use super::*;"] {
            assert_eq!(check("draw/mod.rs", text).len(), 1, "{text}");
        }
        assert!(check("draw/mod.rs", "mod inner {}")[0].contains("give it a file"));
        assert_eq!(check("draw/raster.rs", "use super::*;"), Vec::<String>::new());
    }

    #[test]
    fn refuses_rooms_that_are_not_in_the_table() {
        assert_eq!(check("attic/mod.rs", ""), ["attic/mod.rs: room `attic` is not in the table"]);
        assert_eq!(check("cli/mod.rs", "use crate::attic::Box;").len(), 1);
        assert_eq!(check("demo/attic.rs", "use crate::signal;").len(), 1);
    }

    #[test]
    fn keeps_unsafe_code_and_ffmpeg_in_their_room() {
        for text in ["fn f() { unsafe {} }", "use ffmpeg_next as f;", "fn f() { ffmpeg_sys_next::av_free() }"] {
            assert_eq!(check("draw/mod.rs", text).len(), 1, "{text}");
            assert_eq!(check("draw/mod.rs", &format!("#[cfg(test)] mod tests {{ {text} }}")).len(), 1, "{text}");
            assert_eq!(check("video/ff.rs", text), Vec::<String>::new(), "{text}");
        }
    }

    #[test]
    fn sees_a_breach_of_the_wall_through_a_third_room() {
        let also = |room: &str, other: &str| {
            let mut imports = table();
            imports.entry(room.into()).or_default().insert(other.into());
            breaches(&imports)
        };
        assert!(also("draw", "video").contains(&"`draw` knows both `draw` and `video`".to_string()));
        assert!(also("readout", "align").contains(&"`draw` knows both `draw` and `video`".to_string()));
        assert!(also("video", "draw").contains(&"`video` knows both `draw` and `video`".to_string()));
        assert_eq!(also("signal", "recorder").len(), 2, "a circle of two");
    }
}
