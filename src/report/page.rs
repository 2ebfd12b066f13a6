//! The page: one file that holds the document, all numbers, its type and its script, and asks for nothing else but the film.

use super::channels::drawn;
use super::packed::Bytes;
use super::{Document, Flight};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use flate2::Compression;
use flate2::write::ZlibEncoder;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::io::{self, Write};

const TEMPLATE: &str = include_str!("page/page.html");
const STYLES: [&str; 2] = [include_str!("page/vendor/uPlot.min.css"), include_str!("page/page.css")];
const PLOT: &str = include_str!("page/vendor/uPlot.iife.min.js");
/// One script in several files, each of which holds one idea.
const SCRIPTS: [&str; 11] = [
    include_str!("page/records.js"),
    include_str!("page/words.js"),
    include_str!("page/tables.js"),
    include_str!("page/profile.js"),
    include_str!("page/lanes.js"),
    include_str!("page/rows.js"),
    include_str!("page/controls.js"),
    include_str!("page/track.js"),
    include_str!("page/film.js"),
    include_str!("page/compare.js"),
    include_str!("page/page.js"),
];
const REGULAR: &[u8] = include_bytes!("page/B612-Regular.woff2");
const BOLD: &[u8] = include_bytes!("page/B612-Bold.woff2");

/// An annotated film beside the page.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PageFilm {
    /// Its address as the page is to ask for it.
    pub address: String,
    /// What it is called there.
    pub name: String,
    /// Which of the flight's films it shows, counted in the document's order from 0; that one has a fit.
    pub camera: usize,
    /// Where it begins, in seconds of that one's film time.
    pub from_s: f64,
    /// How long it is, in seconds, if that is known.
    pub duration_s: Option<f64>,
}

/// Writes the page, with annotated films beside it. `other` is the flight with which the document compares this one, whose numbers the
/// page carries too.
///
/// # Errors
/// Never but for a document that cannot be written as JSON.
pub fn page(
    flight: &Flight<'_>,
    document: &Document,
    films: &[PageFilm],
    other: Option<&Flight<'_>>,
) -> serde_json::Result<String> {
    let mut bytes = Bytes::default();
    let mut draw = |flight: &Flight<'_>| drawn(flight.session, flight.panel, flight.judged, flight.located, &mut bytes);
    let (drawn, other) = (draw(flight), other.map(draw));
    let face = |weight: &str, font: &[u8]| {
        let font = STANDARD.encode(font);
        format!(
            "@font-face{{font-family:B612;font-weight:{weight};src:url(data:font/woff2;base64,{font}) format('woff2')}}"
        )
    };
    let style = [&*face("400", REGULAR), &*face("700", BOLD), STYLES[0], STYLES[1]].join("\n");
    // It waits for its numbers to be unpacked.
    let script = format!("'use strict';\n(async () => {{\n{}}})();\n", SCRIPTS.concat());
    let policy = format!(
        "default-src 'none'; script-src {} {}; style-src {}; font-src data:; img-src data:; media-src {}; base-uri 'none'; \
         form-action 'none'",
        hash(PLOT),
        hash(&script),
        hash(&style),
        // A page that lies on a disk has no origin that its film could share.
        if films.is_empty() { "'none'" } else { "'self' file:" },
    );
    let title = if document.flight.title.is_empty() { "Flight debrief" } else { &document.flight.title };
    let numbers = STANDARD.encode(compressed(&bytes.0).map_err(serde_json::Error::io)?);
    let fill = |name: &str| match name {
        "policy" => escaped(&policy),
        "title" => escaped(title),
        "style" => style.clone(),
        "plot" => PLOT.to_owned(),
        "script" => script.clone(),
        "bytes" => numbers.clone(),
        _ => String::new(),
    };
    let json = [
        ("document", in_script(&serde_json::to_string(document)?)),
        ("drawn", in_script(&serde_json::to_string(&drawn)?)),
        ("other", in_script(&serde_json::to_string(&other)?)),
        ("film", in_script(&serde_json::to_string(films)?)),
    ];
    let mut page = String::with_capacity(numbers.len() + 500_000);
    // What was filled in is never looked at again: a log's texts may look like one of these names.
    let mut rest = TEMPLATE;
    while let Some((before, after)) = rest.split_once("{{") {
        let Some((name, after)) = after.split_once("}}") else { break };
        page += before;
        match json.iter().find(|(known, _)| *known == name) {
            Some((_, text)) => page += text,
            None => page += &fill(name),
        }
        rest = after;
    }
    page += rest;
    Ok(page)
}

/// A script or a style that a page's policy lets pass, by its hash (Content Security Policy Level 3, section 2.3.1).
fn hash(text: &str) -> String {
    format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text.as_bytes())))
}

/// Bytes in the zlib format (RFC 1950), which browsers unpack by themselves.
fn compressed(bytes: &[u8]) -> io::Result<Vec<u8>> {
    let mut encoder = ZlibEncoder::new(Vec::new(), Compression::default());
    encoder.write_all(bytes)?;
    encoder.finish()
}

/// Text in markup or in an attribute. Control characters are left out: no page may hold them.
fn escaped(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars().filter(|c| !c.is_control()) {
        match c {
            '&' => escaped += "&amp;",
            '<' => escaped += "&lt;",
            '>' => escaped += "&gt;",
            '"' => escaped += "&quot;",
            '\'' => escaped += "&#39;",
            c => escaped.push(c),
        }
    }
    escaped
}

/// JSON inside a script element, which nothing in it can end: `<` stands only inside strings, where it can be written otherwise.
fn in_script(json: &str) -> String {
    json.replace('<', "\\u003c").replace('\u{2028}', "\\u2028").replace('\u{2029}', "\\u2029")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_ends_a_script_or_an_attribute() {
        assert_eq!(in_script(r#"["</script><!--"]"#), r#"["\u003c/script>\u003c!--"]"#);
        assert_eq!(escaped("a\"b'<c>&\u{7}\n"), "a&quot;b&#39;&lt;c&gt;&amp;");
        let scripts = SCRIPTS.concat() + PLOT;
        assert!(!scripts.contains("</script") && !scripts.contains("<!--"));
        assert!(!STYLES.concat().contains("</style"));
    }

    #[test]
    fn every_name_of_the_template_is_known() {
        let names: Vec<&str> = TEMPLATE.split("{{").skip(1).filter_map(|s| s.split_once("}}")).map(|s| s.0).collect();
        assert_eq!(
            names,
            ["policy", "title", "style", "document", "drawn", "other", "film", "bytes", "plot", "script"]
        );
    }
}
