//! Captions as they are burned into a film: in lines at whose ends one may pause, for as long as they take to read, one at a time.
//!
//! The gravest is placed first, at its own moment and for the time that it takes to read; a lighter one takes what is left from its
//! own moment on, later by a few seconds at most. What finds no time is handed back, not squeezed in. Where nothing follows, a
//! caption stands longer.

use std::sync::Arc;

use crate::readout::{CaptionWords, FilmCaption};

use super::captions::Caption;

/// Most characters of a line: 37 to 42 are usual (soniox.com, *Captions and subtitles: SRT, VTT, and timing*, stored copy).
const LINE: usize = 42;
/// Seconds to read a word. Guidelines for broadcasts give 160 to 180 words a minute, 0.33 to 0.375 s a word, and more for figures
/// and where there is something else to look at (BBC, *Subtitle Guidelines*, sections 4.1 and 4.3, as quoted by clevercast.com,
/// stored copy). Here are figures, and dials to look at: 120 a minute (common practice, no source).
const WORD_S: f64 = 0.5;
/// No caption is gone before it has been found, in seconds (common practice, no source).
const LEAST_S: f64 = 2.0;
/// Fewer words than this look lost on a page of their own.
const ALONE: usize = 4;
/// So much later than its moment a caption may come, in seconds: later, it would be taken for something else (common practice,
/// no source).
const LATE_S: f64 = 5.0;

/// The captions of a film in their times, and those that found none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OnFilm {
    /// By their starts; no two at once.
    pub captions: Vec<FilmCaption>,
    /// What is not said, by its start.
    pub left_out: Vec<Caption>,
}

/// Lays captions over a film that ends at `film_end_s`; `fits` says whether a line has room on its picture.
pub fn on_film(captions: Vec<Caption>, film_end_s: f64, fits: impl Fn(&str) -> bool) -> OnFilm {
    let fits = |line: &str| line.chars().count() <= LINE && fits(line);
    let mut waiting = captions;
    waiting.sort_by(|a, b| a.of.cmp(&b.of).then(a.from_s.total_cmp(&b.from_s)));
    let (mut placed, mut left_out): (Vec<Placed>, Vec<Caption>) = Default::default();
    for caption in waiting {
        let pages: Vec<(Vec<String>, f64)> = pages(&caption.text, &fits).into_iter().map(timed).collect();
        let needed_s: f64 = pages.iter().map(|page| page.1).sum();
        match free(&placed, caption.from_s, needed_s, film_end_s).filter(|_| !pages.is_empty()) {
            Some(from_s) => placed.push(Placed { from_s, needed_s, caption, pages }),
            None => left_out.push(caption),
        }
    }
    placed.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    left_out.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    // Where nothing else waits it stands for as long as it was meant to.
    let ends: Vec<f64> = placed.iter().skip(1).map(|next| next.from_s).chain([film_end_s]).collect();
    let captions = placed.into_iter().zip(ends).flat_map(|(it, end_s)| {
        let wanted_s = (it.caption.to_s - it.caption.from_s).max(it.needed_s).min(end_s - it.from_s);
        let mut start = it.from_s;
        it.pages.into_iter().map(move |(lines, reading_s)| {
            let from_s = start;
            start += wanted_s * reading_s / it.needed_s;
            FilmCaption { from_s, to_s: start, words: Arc::new(CaptionWords { of: it.caption.of, lines }) }
        })
    });
    OnFilm { captions: captions.collect(), left_out }
}

/// A caption that has found its time.
struct Placed {
    from_s: f64,
    needed_s: f64,
    caption: Caption,
    /// Its lines, page by page, with the time to read them.
    pages: Vec<(Vec<String>, f64)>,
}

fn timed(lines: Vec<String>) -> (Vec<String>, f64) {
    let time = reading_s(&lines);
    (lines, time)
}

/// How long some lines take to read.
fn reading_s(lines: &[String]) -> f64 {
    let words: usize = lines.iter().map(|line| line.split_whitespace().count()).sum();
    (words as f64 * WORD_S).max(LEAST_S)
}

/// The first moment, from one on, at which nothing else stands for so long.
fn free(placed: &[Placed], from_s: f64, needed_s: f64, end_s: f64) -> Option<f64> {
    let ends = placed.iter().map(|other| other.from_s + other.needed_s);
    let mut starts: Vec<f64> = ends.filter(|&end| end > from_s && end <= from_s + LATE_S).chain([from_s]).collect();
    starts.sort_by(f64::total_cmp);
    let is_free = |start: f64| {
        let apart = |other: &Placed| other.from_s + other.needed_s <= start || start + needed_s <= other.from_s;
        start + needed_s <= end_s && placed.iter().all(apart)
    };
    starts.into_iter().find(|&start| is_free(start))
}

/// A text in pages of at most two lines.
fn pages(text: &str, fits: &impl Fn(&str) -> bool) -> Vec<Vec<String>> {
    let mut words: Vec<String> = Vec::new();
    for line in text.lines() {
        let first = words.len();
        words.extend(line.split_whitespace().flat_map(|word| pieces(word, fits)));
        // The owner's own line ends there.
        if words.len() > first
            && let Some(last) = words.last_mut()
        {
            last.push('\n');
        }
    }
    let mut pages = Vec::new();
    let mut rest = &words[..];
    while !rest.is_empty() {
        let page = (1..=rest.len()).filter_map(|count| Some((count, two_lines(&rest[..count], fits)?)));
        // As much as there is room for, but rather less than a break where nobody would pause, or two words that come alone.
        let most = page.clone().count();
        let value = |count: usize| {
            let left = rest.len() - count;
            let alone = if (1..ALONE).contains(&left) { 0.5 } else { 0.0 };
            count as f64 / most as f64 - alone - if left > 0 { pause(rest, count) } else { 0.0 }
        };
        let Some((count, lines)) = page.max_by(|a, b| value(a.0).total_cmp(&value(b.0))) else { break };
        pages.push(lines);
        rest = &rest[count..];
    }
    pages
}

/// A word that is longer than a line, in pieces that are not.
fn pieces(word: &str, fits: &impl Fn(&str) -> bool) -> Vec<String> {
    let mut pieces = vec![String::new()];
    for letter in word.chars() {
        if let Some(last) = pieces.last_mut() {
            last.push(letter);
            if !fits(last) && last.chars().count() > 1 {
                last.pop();
                pieces.push(letter.to_string());
            }
        }
    }
    pieces
}

/// Some words in one line, or in the two between which one would pause first; none where they do not fit.
fn two_lines(words: &[String], fits: &impl Fn(&str) -> bool) -> Option<Vec<String>> {
    let joined = |words: &[String]| words.iter().map(|word| word.trim_end()).collect::<Vec<_>>().join(" ");
    let owners = words.iter().take(words.len().saturating_sub(1)).any(|word| word.ends_with('\n'));
    let whole = joined(words);
    if fits(&whole) && !owners {
        return Some(vec![whole]);
    }
    let pairs = (1..words.len()).map(|i| (i, joined(&words[..i]), joined(&words[i..])));
    let fitting = pairs.filter(|(_, first, second)| fits(first) && fits(second));
    let rough = |(i, first, second): &(usize, String, String)| {
        let [a, b] = [first, second].map(|line| line.chars().count() as f64);
        pause(words, *i) + 0.5 * (a - b).abs() / (a + b)
    };
    let best = fitting.min_by(|a, b| rough(a).total_cmp(&rough(b)))?;
    Some(vec![best.1, best.2])
}

/// How little sense there is in a pause before a word, from 0 (a sentence has ended) to 1 (a number would lose its unit).
fn pause(words: &[String], i: usize) -> f64 {
    let (before, after) = (words[i - 1].as_str(), words[i].trim_end());
    let opens = |word: &str| {
        const OPENING: [&str; 22] = [
            "for", "and", "or", "but", "while", "with", "without", "at", "in", "on", "from", "to", "then", "above",
            "below", "after", "before", "when", "only", "if", "which", "because",
        ];
        OPENING.contains(&word)
    };
    let is_number = |word: &str| word.starts_with(|c: char| c.is_ascii_digit() || c == '\u{2212}');
    match before.chars().last() {
        Some('\n') => 0.0,
        Some('.' | '!' | '?' | ';') => 0.05,
        Some(':' | ',') => 0.1,
        _ if is_number(before) => 1.0,
        _ if opens(before) => 0.8,
        _ if opens(after) => 0.25,
        _ => 0.5,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::readout::CaptionOf;

    fn said(of: CaptionOf, from_s: f64, to_s: f64, text: &str) -> Caption {
        Caption { from_s, to_s, of, text: text.into() }
    }

    fn lines(text: &str) -> Vec<Vec<String>> {
        pages(text, &|line: &str| line.chars().count() <= LINE)
    }

    #[test]
    fn lines_end_where_one_pauses() {
        for (text, expected) in [
            ("Take-off", vec![vec!["Take-off"]]),
            (
                "EGT above 640 \u{b0}C: 667 \u{b0}C, for at least 1 min 19.5 s",
                vec![vec!["EGT above 640 \u{b0}C: 667 \u{b0}C,", "for at least 1 min 19.5 s"]],
            ),
            (
                "Low rotor, droop: least rotor speed 92.4 % of the governed",
                vec![vec!["Low rotor, droop:", "least rotor speed 92.4 % of the governed"]],
            ),
            (
                "Watch the clutch lamp: it goes from ENGAGING to ENGAGED only when the belts are tight.",
                vec![
                    vec!["Watch the clutch lamp:", "it goes from ENGAGING to ENGAGED"],
                    vec!["only when the belts are tight."],
                ],
            ),
            // The owner's own lines stay.
            ("Watch the clutch.\nThen the lamp.", vec![vec!["Watch the clutch.", "Then the lamp."]]),
            (
                "The student lowers the lever late. The horn sounds at 95 % and he recovers with 300 ft to spare, which was enough.",
                vec![
                    vec!["The student lowers the lever late.", "The horn sounds at 95 % and he recovers"],
                    vec!["with 300 ft to spare, which was enough."],
                ],
            ),
        ] {
            assert_eq!(lines(text), expected, "{text}");
        }
        let long = lines(&"x".repeat(100));
        assert!(long.iter().flatten().all(|line| line.len() <= LINE), "a word without end is cut: {long:?}");
    }

    #[test]
    fn the_graver_has_its_moment_and_nothing_is_too_short_to_read() {
        let all = vec![
            said(CaptionOf::Advisory, 9.0, 14.0, "one two three four"),
            said(CaptionOf::Warning, 10.0, 18.0, "one two three four five six"),
            said(CaptionOf::Caution, 10.0, 14.0, "caution"),
            said(CaptionOf::Note, 30.0, 33.0, "note"),
            said(CaptionOf::Advisory, 31.0, 40.0, "advisory"),
            said(CaptionOf::Part, 99.5, 104.0, "too late to be read"),
        ];
        let found = on_film(all, 100.0, |_| true);
        let spans: Vec<(f64, f64, CaptionOf)> = found.captions.iter().map(|c| (c.from_s, c.to_s, c.words.of)).collect();
        assert_eq!(
            spans,
            [
                // Three seconds to read the warning; the first advisory has one second before it, and none soon after.
                (10.0, 13.0, CaptionOf::Warning),
                (13.0, 17.0, CaptionOf::Caution),
                (30.0, 32.0, CaptionOf::Note),
                (32.0, 41.0, CaptionOf::Advisory),
            ]
        );
        let left_out: Vec<&str> = found.left_out.iter().map(|caption| caption.text.as_str()).collect();
        assert_eq!(left_out, ["one two three four", "too late to be read"]);
    }

    /// Sources stand at the figures above.
    #[test]
    fn nobody_reads_faster_than_guidelines_say() {
        let texts =
            ["one", "EGT above 640 \u{b0}C: 667 \u{b0}C, for 19.5 s", "Low rotor, droop: least rotor speed 92.4 %"];
        let long = "A sentence of the owner's with many words in it. ".repeat(8);
        for text in texts.into_iter().chain([long.as_str()]) {
            let found = on_film(vec![said(CaptionOf::Warning, 1.0, 1.1, text)], 1e3, |_| true);
            assert!(!found.captions.is_empty());
            for caption in &found.captions {
                let seconds = caption.to_s - caption.from_s;
                let lines = &caption.words.lines;
                let words: usize = lines.iter().map(|line| line.split_whitespace().count()).sum();
                let letters: usize = lines.iter().map(|line| line.chars().count()).sum();
                assert!(words as f64 / seconds <= 160.0 / 60.0, "{lines:?}: {words} words in {seconds} s");
                assert!(letters as f64 / seconds <= 17.0, "{lines:?}: {letters} characters in {seconds} s");
                assert!(lines.len() <= CaptionWords::MOST && lines.iter().all(|line| line.chars().count() <= 42));
            }
        }
    }

    #[test]
    fn no_two_captions_stand_at_once() {
        let of = [CaptionOf::Warning, CaptionOf::Caution, CaptionOf::Note, CaptionOf::Advisory, CaptionOf::Part];
        let mut seed = 7_u64;
        let mut random = |most: f64| {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            most * (seed >> 11) as f64 / (1_u64 << 53) as f64
        };
        for _ in 0..200 {
            let all: Vec<Caption> = (0..20)
                .map(|i| {
                    let from = random(60.0);
                    said(of[i % 5], from, from + random(9.0), &"word ".repeat(1 + random(25.0) as usize))
                })
                .collect();
            let count = all.len();
            let starts: Vec<(CaptionOf, f64)> = all.iter().map(|c| (c.of, c.from_s)).collect();
            let found = on_film(all, 70.0, |_| true);
            assert!(found.captions.windows(2).all(|pair| pair[0].to_s <= pair[1].from_s + 1e-9));
            for caption in &found.captions {
                assert!(
                    caption.to_s <= 70.0 + 1e-9
                        && caption.to_s - caption.from_s >= reading_s(&caption.words.lines) - 1e-9
                );
            }
            assert!(found.left_out.len() < count);
            // The gravest that starts first is never the one that goes.
            let first = starts.iter().min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1))).expect("some");
            assert!(found.captions.iter().any(|c| c.words.of == first.0 && c.from_s == first.1));
        }
    }
}
