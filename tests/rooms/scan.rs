//! What a source file names: a small reader of Rust text, just enough to find paths to the crate's other modules.

use std::collections::BTreeSet;
use std::path::Path;

/// What one source file of the crate names.
pub struct Source {
    /// The file's own module path from the crate root; `["main"]` for the program, `["lib"]` for the library's root.
    pub module: Vec<String>,
    /// Module paths from the crate root that its code names, test code left out.
    pub imports: Vec<Vec<String>>,
    /// Every word of the file, test code included; remarks and texts left out.
    pub words: BTreeSet<String>,
    /// What would keep this reader from seeing a path.
    pub complaints: Vec<String>,
}

impl Source {
    /// Reads the file that lies at `path` under `src/`.
    pub fn read(path: &Path, text: &str) -> Self {
        let mut module: Vec<String> =
            path.with_extension("").iter().map(|part| part.to_string_lossy().into_owned()).collect();
        module.pop_if(|name| name == "mod");
        let test_code = module.iter().any(|name| name == "tests");
        let tokens = tokens(text);
        let mut source =
            Self { module, imports: Vec::new(), words: tokens.iter().cloned().collect(), complaints: Vec::new() };
        if !test_code {
            source.collect(&without_test_code(&tokens));
        }
        source
    }

    /// Finds paths that start at the crate root or climb towards it.
    fn collect(&mut self, tokens: &[String]) {
        let mut at = 0;
        while at < tokens.len() {
            let here = at;
            at += 1;
            let next = tokens.get(at).map(String::as_str);
            match tokens[here].as_str() {
                "mod" if tokens.get(here + 2).is_some_and(|token| token == "{") => {
                    self.complaints.push("a module in braces hides its paths from this test: give it a file".into());
                }
                "crate" | "jumpseat" if next == Some("as") => {
                    self.complaints.push("another name for the crate root hides paths from this test".into());
                }
                "crate" | "jumpseat" if next == Some("::") => at = self.path(tokens, here, Vec::new()),
                "super" if next == Some("::") => at = self.path(tokens, here, parent(&self.module)),
                _ => {}
            }
        }
    }

    /// Reads on from `at`, the last word of a path whose module is `base`; returns where the path ends.
    fn path(&mut self, tokens: &[String], mut at: usize, mut base: Vec<String>) -> usize {
        let token = |at: usize| tokens.get(at).map_or("", String::as_str);
        loop {
            if token(at + 1) != "::" {
                self.arrive(base);
                return at + 1;
            }
            at += 2;
            match token(at) {
                "{" => return self.group(tokens, at, &base),
                "*" => {
                    self.arrive(base);
                    return at + 1;
                }
                name if is_word(name) => base = below(&base, name),
                // The type arguments of a call, `name::<T>`.
                _ => {
                    self.arrive(base);
                    return at;
                }
            }
        }
    }

    /// Reads a group in braces, `{a, b::c, d::{e}}`, that opens at `at`; returns where it ends.
    fn group(&mut self, tokens: &[String], mut at: usize, base: &[String]) -> usize {
        at += 1;
        while let Some(token) = tokens.get(at) {
            match token.as_str() {
                "}" => return at + 1,
                "self" | "*" => {
                    self.arrive(base.to_vec());
                    at += 1;
                }
                "as" => at += 2,
                name if is_word(name) => at = self.path(tokens, at, below(base, name)),
                _ => at += 1,
            }
        }
        at
    }

    /// Notes the path that was read to its end.
    fn arrive(&mut self, path: Vec<String>) {
        if path.is_empty() {
            self.complaints.push("the whole crate root is imported, which hides paths from this test".into());
        } else {
            self.imports.push(path);
        }
    }
}

fn parent(module: &[String]) -> Vec<String> {
    module.split_last().map_or(Vec::new(), |(_, above)| above.to_vec())
}

/// The module that `name` means inside `module`.
fn below(module: &[String], name: &str) -> Vec<String> {
    if name == "super" { parent(module) } else { [module, &[name.to_string()]].concat() }
}

fn is_word(token: &str) -> bool {
    token.starts_with(|first: char| first.is_alphabetic() || first == '_')
}

/// The tokens without items that exist in tests only: from `#[cfg(test)]` to the end of what it stands on.
fn without_test_code(tokens: &[String]) -> Vec<String> {
    let mut kept = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let end = after_attribute(tokens, at);
        let attribute = &tokens[at..end];
        let says = |word: &str| attribute.iter().any(|token| token == word);
        // `not(test)` and `any(test, ...)` exist outside tests too.
        if says("cfg") && says("test") && !says("not") && !says("any") {
            at = after_item(tokens, end);
        } else {
            let end = end.max(at + 1);
            kept.extend_from_slice(&tokens[at..end]);
            at = end;
        }
    }
    kept
}

/// Where the outer attribute that starts at `at` ends; `at` itself where none starts.
fn after_attribute(tokens: &[String], at: usize) -> usize {
    if tokens[at] != "#" || tokens.get(at + 1).is_none_or(|token| token != "[") {
        return at;
    }
    let mut depth = 0;
    for (offset, token) in tokens[at..].iter().enumerate() {
        match token.as_str() {
            "[" => depth += 1,
            "]" if depth == 1 => return at + offset + 1,
            "]" => depth -= 1,
            _ => {}
        }
    }
    tokens.len()
}

/// Where the item that starts at `at` ends: after its `;` or its closing brace.
fn after_item(tokens: &[String], at: usize) -> usize {
    let mut depth = 0;
    for (offset, token) in tokens[at..].iter().enumerate() {
        match token.as_str() {
            "{" | "(" | "[" => depth += 1,
            "}" if depth == 0 => return at + offset,
            "}" if depth == 1 => return at + offset + 1,
            "}" | ")" | "]" => depth -= 1,
            ";" if depth == 0 => return at + offset + 1,
            _ => {}
        }
    }
    tokens.len()
}

/// Words, `::` and single signs; remarks, texts and characters left out.
fn tokens(text: &str) -> Vec<String> {
    let mut tokens = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let (length, is_token) = match first {
            '/' if rest.starts_with("//") => (rest.find('\n').unwrap_or(rest.len()), false),
            '/' if rest.starts_with("/*") => (block_remark(rest), false),
            '"' => (quoted(rest), false),
            '\'' => (character(rest), false),
            ':' if rest.starts_with("::") => (2, true),
            _ if is_word(rest) => match raw_text(rest) {
                Some(length) => (length, false),
                None if rest.starts_with("r#") => (2, false),
                None => (rest.find(|c: char| !c.is_alphanumeric() && c != '_').unwrap_or(rest.len()), true),
            },
            _ => (first.len_utf8(), !first.is_whitespace()),
        };
        if is_token {
            tokens.push(rest[..length].to_string());
        }
        rest = &rest[length..];
    }
    tokens
}

/// Length of the remark in `/*` and `*/`, which may hold others, at the start of `text`.
fn block_remark(text: &str) -> usize {
    let mut depth = 0;
    let mut at = 0;
    loop {
        let rest = &text[at..];
        if rest.starts_with("/*") {
            depth += 1;
            at += 2;
        } else if rest.starts_with("*/") {
            depth -= 1;
            at += 2;
        } else {
            at += rest.chars().next().map_or(0, char::len_utf8);
        }
        if depth == 0 || at == text.len() {
            return at;
        }
    }
}

/// Length of the text in quotation marks, with escapes, at the start of `text`.
fn quoted(text: &str) -> usize {
    let mut escaped = false;
    for (at, c) in text.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at + 1,
            _ => {}
        }
    }
    text.len()
}

/// Length of the text without escapes (`r"..."`, `br#"..."#`) at the start of `text`.
fn raw_text(text: &str) -> Option<usize> {
    let prefix = ["r", "br", "cr"]
        .into_iter()
        .find(|prefix| text.strip_prefix(prefix).is_some_and(|rest| rest.trim_start_matches('#').starts_with('"')))?;
    let after = &text[prefix.len()..];
    let hashes = after.len() - after.trim_start_matches('#').len();
    let end = format!("\"{}", "#".repeat(hashes));
    let start = prefix.len() + hashes + 1;
    Some(text[start..].find(&end).map_or(text.len(), |at| start + at + end.len()))
}

/// Length of the character (`'a'`, `'\n'`) at the start of `text`; of the mark alone where it begins a lifetime.
fn character(text: &str) -> usize {
    let mut after = text.char_indices().skip(1);
    match (after.next(), after.next()) {
        (Some((_, '\\')), Some((at, escaped))) => {
            let from = at + escaped.len_utf8();
            text[from..].find('\'').map_or(text.len(), |end| from + end + 1)
        }
        (Some(_), Some((at, '\''))) => at + 1,
        _ => 1,
    }
}
