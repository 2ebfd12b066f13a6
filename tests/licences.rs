//! Holds the licences of the tree: everything that a build or a test of this crate draws in must be usable under a
//! permissive licence. The statements are SPDX expressions (SPDX specification 2.3, annex D), which this file evaluates.

use serde_json::Value;
use std::collections::BTreeSet;
use std::path::Path;
use std::process::Command;

/// Licences that ask for no more than a notice. `deny.toml` says the same for those who have cargo-deny.
const PERMISSIVE: &[&str] = &[
    "0BSD",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSL-1.0",
    "CC0-1.0",
    "ISC",
    "MIT",
    "MIT-0",
    "NCSA",
    "Unicode-3.0",
    "Unlicense",
    "WTFPL",
    "Zlib",
];

/// Whether the permissive licences alone satisfy the expression: one side of an `OR`, both of an `AND`.
///
/// A slash means `OR`, as it did in old manifests. An error says what is wrong with the expression.
fn is_permissive(expression: &str) -> Result<bool, String> {
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let mut words = Words { left: spaced.split_whitespace().collect::<Vec<_>>() };
    words.left.reverse();
    let verdict = words.alternatives()?;
    match words.left.last() {
        Some(word) => Err(format!("`{word}` is out of place in `{expression}`")),
        None => Ok(verdict),
    }
}

/// The words of an expression that are still to be read, the next one last.
struct Words<'a> {
    left: Vec<&'a str>,
}

impl Words<'_> {
    fn take(&mut self, word: &str) -> bool {
        self.left.pop_if(|next| *next == word).is_some()
    }

    /// `a OR b`, which binds least. Both sides are read to the end, so that none hides a mistake.
    fn alternatives(&mut self) -> Result<bool, String> {
        let mut verdict = self.together()?;
        while self.take("OR") {
            verdict |= self.together()?;
        }
        Ok(verdict)
    }

    /// `a AND b`.
    fn together(&mut self) -> Result<bool, String> {
        let mut verdict = self.licence()?;
        while self.take("AND") {
            verdict &= self.licence()?;
        }
        Ok(verdict)
    }

    /// One licence, perhaps with an exception, or an expression in brackets.
    fn licence(&mut self) -> Result<bool, String> {
        if self.take("(") {
            let verdict = self.alternatives()?;
            return if self.take(")") { Ok(verdict) } else { Err("a bracket is not closed".into()) };
        }
        let mut name = self.name()?;
        if self.take("WITH") {
            name = format!("{name} WITH {}", self.name()?);
        }
        Ok(PERMISSIVE.contains(&name.as_str()))
    }

    fn name(&mut self) -> Result<String, String> {
        match self.left.pop() {
            Some(word) if !["OR", "AND", "WITH", "(", ")"].contains(&word) => Ok(word.into()),
            other => Err(format!("a licence is missing before `{}`", other.unwrap_or("the end"))),
        }
    }
}

/// What is wrong with the licence of one package of `cargo metadata`, if anything.
fn objection(package: &Value) -> Option<String> {
    let why = match package["license"].as_str().map(|licence| (licence, is_permissive(licence))) {
        Some((_, Ok(true))) => return None,
        Some((licence, Ok(false))) => format!("`{licence}` asks for more than the permissive licences do"),
        Some((licence, Err(why))) => format!("`{licence}` cannot be read: {why}"),
        None => "states no licence".into(),
    };
    Some(format!("{} {}: {why}", package["name"], package["version"]))
}

/// What cargo prints for these arguments, run in the project's folder; its own message when it fails.
fn cargo(arguments: &[&str]) -> Result<String, String> {
    let run = Command::new(env!("CARGO")).args(arguments).current_dir(env!("CARGO_MANIFEST_DIR")).output();
    let run = run.map_err(|error| error.to_string())?;
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    if run.status.success() { Ok(text(&run.stdout)) } else { Err(text(&run.stderr)) }
}

/// The tree of this machine's platform, all features, builds and tests: those packages are here already, since they have
/// just been built, so the test needs no network.
#[test]
fn the_tree_is_permissive() {
    let version = cargo(&["-vV"]).unwrap();
    let host = version.lines().find_map(|line| line.strip_prefix("host: ")).unwrap();
    let metadata = cargo(&["metadata", "--format-version=1", "--locked", "--all-features", "--filter-platform", host]);
    let metadata: Value = serde_json::from_str(&metadata.unwrap()).unwrap();
    let resolved: BTreeSet<&str> =
        metadata["resolve"]["nodes"].as_array().unwrap().iter().filter_map(|node| node["id"].as_str()).collect();
    let packages: Vec<&Value> = metadata["packages"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|package| package["id"].as_str().is_some_and(|id| resolved.contains(id)))
        .collect();
    assert_eq!(packages.len(), resolved.len(), "a package of the tree says nothing about itself");
    assert!(packages.iter().any(|package| package["name"] == "ffmpeg-next"), "the tree lacks what `codec` draws in");
    let objections: Vec<String> = packages.iter().filter_map(|package| objection(package)).collect();
    assert!(objections.is_empty(), "\n{}", objections.join("\n"));
}

#[test]
fn deny_toml_allows_the_same() {
    let text = std::fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("deny.toml")).unwrap();
    let (_, list) = text.split_once("\nallow = [").unwrap();
    let (list, _) = list.split_once(']').unwrap();
    let allowed: Vec<&str> = list.split('"').skip(1).step_by(2).collect();
    assert_eq!(allowed, PERMISSIVE);
}

#[test]
fn an_or_needs_one_side_and_an_and_needs_both() {
    for (expression, permissive) in [
        ("MIT", true),
        ("MIT OR GPL-3.0-only", true),
        ("GPL-3.0-only OR MIT", true),
        ("MIT AND GPL-3.0-only", false),
        ("(MIT OR Apache-2.0) AND Unicode-3.0", true),
        ("(MIT OR Apache-2.0) AND LGPL-2.1-or-later", false),
        // AND binds closer than OR.
        ("MIT OR Zlib AND GPL-2.0-only", true),
        ("GPL-2.0-only AND MIT OR MPL-2.0", false),
        ("GPL-2.0-only AND (MIT OR MPL-2.0)", false),
        ("MIT/Apache-2.0", true),
        ("GPL-3.0-only / MPL-2.0", false),
        ("Apache-2.0 WITH LLVM-exception", true),
        // An exception to a licence is part of its name: nothing else may ride on it.
        ("GPL-2.0-only WITH Classpath-exception-2.0", false),
        ("MIT WITH LLVM-exception", false),
        ("((MIT))", true),
    ] {
        assert_eq!(is_permissive(expression), Ok(permissive), "{expression}");
    }
}

#[test]
fn copyleft_and_unknown_licences_are_refused() {
    for licence in
        ["GPL-2.0-only", "GPL-3.0-or-later", "LGPL-2.1-or-later", "AGPL-3.0-only", "MPL-2.0", "GPL-2.0+", "mit", "Mine"]
    {
        let package = serde_json::json!({ "name": "winch", "version": "1.0.0", "license": licence });
        assert!(objection(&package).unwrap().contains("asks for more"), "{licence}");
    }
    let silent = serde_json::json!({ "name": "winch", "version": "1.0.0", "license": null, "license_file": "COPYING" });
    assert!(objection(&silent).unwrap().contains("states no licence"));
}

#[test]
fn a_broken_expression_is_refused() {
    for expression in ["", "MIT OR", "OR MIT", "(MIT", "MIT)", "MIT Apache-2.0", "MIT AND OR Zlib", "MIT WITH", "()"] {
        assert!(is_permissive(expression).is_err(), "{expression}");
        let package = serde_json::json!({ "name": "winch", "version": "1.0.0", "license": expression });
        assert!(objection(&package).unwrap().contains("cannot be read"), "{expression}");
    }
}
