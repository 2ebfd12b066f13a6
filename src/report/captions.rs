//! Captions of a film: what happened, and the owner's notes, as WebVTT (W3C) and as SRT (common practice, no standard).

use super::moments::Moment;
use crate::panel::Severity;
use crate::readout::CaptionOf;
use std::fmt::Write;

/// How long the sentence about a moment stands at least and at most, in seconds: time to read it twice, and not in the way of
/// what comes next (common practice, no source).
const SHOWN_S: (f64, f64) = (4.0, 8.0);

/// One sentence over the film.
#[derive(Debug, Clone, PartialEq)]
pub struct Caption {
    /// Film time in seconds.
    pub from_s: f64,
    /// Film time in seconds.
    pub to_s: f64,
    /// What it speaks of.
    pub of: CaptionOf,
    /// What it says.
    pub text: String,
}

/// How captions are written to a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CaptionFormat {
    /// WebVTT.
    Vtt,
    /// SubRip text.
    Srt,
}

/// The captions of a film, by their starts: of its moments, and the notes as they are.
pub fn captions(moments: &[Moment], notes: impl IntoIterator<Item = Caption>, film_end_s: f64) -> Vec<Caption> {
    let of_moment = |moment: &Moment| Caption {
        from_s: moment.from_s,
        to_s: moment.from_s + (moment.to_s - moment.from_s).clamp(SHOWN_S.0, SHOWN_S.1),
        of: match moment.severity {
            Some(Severity::Warning) => CaptionOf::Warning,
            Some(Severity::Caution) => CaptionOf::Caution,
            Some(Severity::Advisory) => CaptionOf::Advisory,
            _ => CaptionOf::Part,
        },
        text: moment.text.clone(),
    };
    let mut all: Vec<Caption> = moments.iter().map(of_moment).chain(notes).collect();
    all.retain(|caption| caption.from_s < film_end_s && caption.to_s > 0.0);
    for caption in &mut all {
        (caption.from_s, caption.to_s) = (caption.from_s.max(0.0), caption.to_s.min(film_end_s));
    }
    all.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
    all
}

/// The captions as the text of a file.
pub fn caption_file(captions: &[Caption], format: CaptionFormat) -> String {
    let mut text = String::new();
    if format == CaptionFormat::Vtt {
        text += "WEBVTT\n\nNOTE Recorded data, not for use in flight. The flight manual and the owner's own limits govern.\n\n";
    }
    for (i, caption) in captions.iter().enumerate() {
        let (from, to) = (stamp(caption.from_s, format), stamp(caption.to_s, format));
        let said = plain(&caption.text, format);
        // A string takes whatever is written to it.
        let _ = write!(text, "{}\n{from} --> {to}\n{said}\n\n", i + 1);
    }
    text
}

/// Hours, minutes, seconds and thousandths.
fn stamp(seconds: f64, format: CaptionFormat) -> String {
    let thousandths = (seconds.max(0.0) * 1000.0).round() as u64;
    let point = if format == CaptionFormat::Vtt { '.' } else { ',' };
    let (hours, minutes) = (thousandths / 3_600_000, thousandths / 60_000 % 60);
    format!("{hours:02}:{minutes:02}:{:02}{point}{:03}", thousandths / 1000 % 60, thousandths % 1000)
}

/// A text that ends no caption and starts no mark-up.
fn plain(text: &str, format: CaptionFormat) -> String {
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    let joined = lines.collect::<Vec<_>>().join("\n").replace("-->", "\u{2192}");
    match format {
        CaptionFormat::Vtt => joined.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;"),
        // A player of SRT takes what stands between angle brackets for its colour.
        CaptionFormat::Srt => joined.replace('<', "\u{2039}").replace('>', "\u{203a}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_hold_what_was_said_and_nothing_that_breaks_them() {
        let note = Caption { from_s: 3725.5, to_s: 3731.25, of: CaptionOf::Note, text: "two\n\nlines --> <b>&".into() };
        let vtt = caption_file(std::slice::from_ref(&note), CaptionFormat::Vtt);
        assert!(vtt.starts_with("WEBVTT\n\n"));
        assert!(vtt.ends_with("1\n01:02:05.500 --> 01:02:11.250\ntwo\nlines \u{2192} &lt;b&gt;&amp;\n\n"), "{vtt}");
        let srt = caption_file(&[note], CaptionFormat::Srt);
        assert_eq!(srt, "1\n01:02:05,500 --> 01:02:11,250\ntwo\nlines \u{2192} \u{2039}b\u{203a}&\n\n");
    }
}
