//! What the names of a recording's files say of their order: cameras count them.

use crate::finding::{Finding, Severity};
use std::path::{Path, PathBuf};

/// Longer numbers in a name are dates and times, which do not count files (common practice, no source).
const LONGEST_COUNT: usize = 5;
/// More numbers than this are left out between two recordings, not in one (common practice, no source).
const MOST_MISSING: u64 = 9;

/// Warnings on files that are out of their order, missing or named twice. Names that do not count say nothing.
pub(super) fn remarks(files: &[PathBuf]) -> Vec<Finding> {
    files.windows(2).filter_map(|pair| remark(&pair[0], &pair[1], files)).collect()
}

/// Whether the second name's number is the next one.
pub(super) fn counts_on(first: &Path, next: &Path) -> bool {
    let counted = numbers(&stem(first), &stem(next)).filter(|(_, _, digits)| *digits <= LONGEST_COUNT);
    counted.is_some_and(|(from, to, _)| Some(to) == from.checked_add(1))
}

fn remark(first: &Path, second: &Path, all: &[PathBuf]) -> Option<Finding> {
    let (a, b) = (name(first), name(second));
    let warn = |code, text| Some(Finding::new(Severity::Warning, code, text));
    if first == second {
        return warn("films_out_of_order", format!("{b} is named twice, one after the other"));
    }
    let (from, to, digits) = numbers(&stem(first), &stem(second))?;
    if to < from {
        let text = format!(
            "by its name {b} was recorded before {a}, which it follows here; name the files of one recording in their order"
        );
        return warn("films_out_of_order", text);
    }
    // A file that is named elsewhere is out of its order there, and not missing here.
    let between = |file: &PathBuf| numbers(&stem(first), &stem(file)).is_some_and(|(_, n, _)| from < n && n < to);
    if all.iter().any(between) {
        return None;
    }
    let missing = to.checked_sub(from + 1).filter(|n| digits <= LONGEST_COUNT && (1..=MOST_MISSING).contains(n))?;
    let (number, lacks) = if missing == 1 {
        (format!("number {}", from + 1), "is")
    } else {
        (format!("numbers {} to {}", from + 1, to - 1), "are")
    };
    let text = format!(
        "{number} {lacks} missing between {a} and {b}, which are joined without a gap; name the missing file, or give {b} a \
         [[film]] of its own"
    );
    warn("film_missing", text)
}

/// The two numbers by which alone two names differ, and how many digits the longer one has.
fn numbers(a: &str, b: &str) -> Option<(u64, u64, usize)> {
    let (a, b) = (pieces(a), pieces(b));
    let mut differ = a.iter().zip(&b).filter(|(a, b)| a != b);
    let (x, y) = differ.next().filter(|_| a.len() == b.len() && differ.next().is_none())?;
    Some((x.parse().ok()?, y.parse().ok()?, x.len().max(y.len())))
}

/// A name as its runs of digits and what lies between them.
fn pieces(name: &str) -> Vec<&str> {
    let is_digit = |c: char| c.is_ascii_digit();
    let mut pieces = Vec::new();
    let mut rest = name;
    while let Some(first) = rest.chars().next() {
        let end = rest.find(|c| is_digit(c) != is_digit(first)).unwrap_or(rest.len());
        let (piece, after) = rest.split_at(end);
        pieces.push(piece);
        rest = after;
    }
    pieces
}

fn name(file: &Path) -> String {
    file.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

fn stem(file: &Path) -> String {
    file.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_that_count_tell_what_is_missing_and_what_is_out_of_order() {
        let said = |files: &[&str]| {
            let files: Vec<PathBuf> = files.iter().map(PathBuf::from).collect();
            remarks(&files).into_iter().map(|f| (f.code, f.message)).collect::<Vec<_>>()
        };
        for whole in [
            &["clip_0009.mp4", "clip_0010.mp4", "clip_0011.mp4"][..],
            &["clip_9.mp4", "clip_10.mp4"],
            &["2026-05-17_101500.mp4", "2026-05-17_103000.mp4"],
            &["start.mp4", "landing.mp4"],
            &["cam1_0007.mp4", "cam2_0003.mp4"],
            &["A0001.mp4", "A0500.mp4"],
        ] {
            assert_eq!(said(whole), [], "{whole:?}");
        }
        let one = said(&["clip_0001.mp4", "clip_0003.mp4"]);
        assert!(one.len() == 1 && one[0].0 == "film_missing", "{one:?}");
        assert!(one[0].1.starts_with("number 2 is missing between clip_0001.mp4 and clip_0003.mp4"), "{one:?}");
        assert!(said(&["a1.mp4", "a2.mp4", "a6.mp4"])[0].1.starts_with("numbers 3 to 5 are missing"));
        let swapped = said(&["a1.mp4", "a3.mp4", "a2.mp4"]);
        assert!(swapped.len() == 1 && swapped[0].0 == "films_out_of_order", "{swapped:?}");
        for wrong in [["b2.mp4", "b1.mp4"], ["2026-05-17_103000.mp4", "2026-05-17_101500.mp4"], ["c.mp4", "c.mp4"]] {
            assert_eq!(said(&wrong)[0].0, "films_out_of_order", "{wrong:?}");
        }
    }
}
