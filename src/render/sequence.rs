//! Names of numbered pictures: `layer-%06d.png`.

use crate::finding::{Finding, Severity};
use std::path::{Path, PathBuf};

/// A name with a place for a number of so many digits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sequence {
    folder: PathBuf,
    before: String,
    digits: usize,
    after: String,
}

impl Sequence {
    /// Takes a name with `%06d` or its like, and the ending .png. The error says in words what is wrong.
    pub fn of(path: &Path) -> Result<Self, String> {
        let refused = |why: &str| {
            let name = path.display();
            Err(format!("{name}: {why}; a layer is a .mov or a .webm, or numbered pictures such as layer-%06d.png"))
        };
        let Some(name) = path.file_name().and_then(|name| name.to_str()) else {
            return refused("names no file");
        };
        let Some(rest) = name.strip_suffix(".png") else {
            return refused("the ending names nothing that a layer is written in");
        };
        let Some((before, rest)) = rest.split_once('%') else {
            return refused("one picture has no room for a film's frames: the name lacks the place of their number");
        };
        let Some((digits, after)) = rest.split_once('d') else {
            return refused("the place of the number is written %06d");
        };
        let padded = digits.strip_prefix('0').and_then(|digits| digits.parse().ok());
        match padded.filter(|digits| (1..=12).contains(digits)) {
            Some(digits) if !after.contains('%') && !path.with_file_name("").to_string_lossy().contains('%') => {
                Ok(Self {
                    folder: path.parent().map_or_else(PathBuf::new, Path::to_owned),
                    before: before.to_owned(),
                    digits,
                    after: format!("{after}.png"),
                })
            }
            _ => refused("the place of the number is written %06d, once, in the file's name"),
        }
    }

    /// The file of a number.
    pub fn file(&self, number: u64) -> PathBuf {
        let Self { folder, before, digits, after } = self;
        folder.join(format!("{before}{number:0digits$}{after}"))
    }

    /// Pictures have no times: says so where those of the film are not even.
    pub(super) fn remark(&self, spans: &[(i64, i64)]) -> Option<Finding> {
        let steps = spans.windows(2).map(|pair| pair[1].0 - pair[0].0);
        let (least, most) = (steps.clone().min()?, steps.max()?);
        (most - least > 1 && (most - least) as f64 > 0.01 * least as f64).then(|| {
            let text = "pictures carry no times, and those of the film are not even: laid on at one rate they drift; take a .mov";
            Finding::new(Severity::Warning, "pictures_without_times", text.to_owned())
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_have_one_place_for_a_number() {
        let names = Sequence::of(Path::new("out/a-%04d-b.png")).expect("a name");
        assert_eq!(names.file(12), Path::new("out/a-0012-b.png"));
        assert_eq!(names.file(123_456), Path::new("out/a-123456-b.png"));
        for name in
            ["a.png", "a%d.png", "a%6d.png", "a%06d%02d.png", "a%06d.jpg", "a%x.png", "%02d/a.png", "a%099d.png"]
        {
            let said = Sequence::of(Path::new(name)).expect_err(name);
            assert!(said.contains("layer-%06d.png"), "{said}");
        }
    }
}
