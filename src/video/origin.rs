//! What a written film says of the film that it was made from: which one, and from where on. It is the last sentence of its comment.

use std::path::Path;

const BEGINS: &str = "Begins at ";
const OF: &str = " s of ";

/// Where a film comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Origin {
    /// The name of the source's file, without its folder.
    pub file: String,
    /// Film time of the source, in seconds, of the film's first frame.
    pub from_s: f64,
}

impl Origin {
    /// Of a film that begins at `from_s` of a file.
    pub(super) fn of(file: &Path, from_s: f64) -> Self {
        let file = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        Self { file, from_s }
    }

    /// As a sentence; the microsecond is finer than any film's ticks need.
    pub(super) fn sentence(&self) -> String {
        format!("{BEGINS}{:.6}{OF}{}.", self.from_s, self.file)
    }

    /// Out of a comment, if it says so; of several the last, which was written last.
    pub(super) fn in_comment(comment: &str) -> Option<Self> {
        let (_, said) = comment.rsplit_once(BEGINS)?;
        let (seconds, file) = said.split_once(OF)?;
        let from_s = seconds.parse().ok().filter(|s: &f64| s.is_finite() && *s >= 0.0)?;
        Some(Self { file: file.trim_end().strip_suffix('.')?.to_owned(), from_s })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read() {
        for (file, from_s) in [("cockpit.mp4", 0.0), ("my film s of 3. take.mp4", 61.733_333), ("a.mkv", 7200.1)] {
            let origin = Origin::of(&Path::new("folder").join(file), from_s);
            let comment = format!("The camera's own words.\nInstruments added by jumpseat. {}", origin.sentence());
            assert_eq!(Origin::in_comment(&comment), Some(origin));
        }
        for comment in ["", "Begins at noon of a.mp4.", "Begins at -1 s of a.mp4.", "Begins at 3 s of a.mp4"] {
            assert_eq!(Origin::in_comment(comment), None, "{comment}");
        }
    }
}
