//! NMEA 0183 sentences.
//!
//! A *moment* is a run of sentences with one time of day; sentences without a time belong to the moment before them. Counted
//! are sentences, not lines, for a damaged line may hold two. Rules: a sentence whose checksum fails is refused; one without
//! a checksum is taken only where no sentence of the file has one, else it is a cut line. The date comes from RMC or ZDA.

mod dates;
mod sentence;

use super::csv::{RowList, SECOND};
use super::series::{Dated, Rest, Series, lines, recording, tell};
use super::{Format, RecorderError, Recording};
use crate::finding::{Finding, Severity};
use dates::Moment;
use sentence::{Piece, frame, pieces};
use std::collections::BTreeMap;
use std::path::Path;

/// Whether these are the first bytes of such a log: a third of the lines, notes aside, hold a sentence, one of a known kind.
pub(super) fn looks_like(head: &[u8]) -> bool {
    let (mut all, mut sentences, mut known) = (0, 0, false);
    for (_, line) in lines(head).filter(|(_, line)| !line.trim_ascii().is_empty() && !line.starts_with(b"#")) {
        all += 1;
        let mut any = false;
        for piece in pieces(line) {
            match frame(piece) {
                Piece::Good { .. } => (any, known) = (true, true),
                Piece::Other(_) => any = true,
                Piece::BadSum => {
                    any = true;
                    known |=
                        piece.get(3..6).and_then(|kind| std::str::from_utf8(kind).ok()).is_some_and(sentence::is_read);
                }
                Piece::Noise => (),
            }
        }
        sentences += usize::from(any);
    }
    known && 3 * sentences >= all
}

/// Lists of what was refused or is odd.
#[derive(Default)]
struct Odd {
    noise: RowList,
    sum: RowList,
    cut: RowList,
    field: RowList,
    early: RowList,
    again: RowList,
    unsummed: RowList,
    void: RowList,
}

/// Reads such a log.
pub(super) fn read(path: &Path, bytes: &[u8], zone: Option<&jiff::tz::TimeZone>) -> Result<Recording, RecorderError> {
    let all = || lines(bytes).filter(|(_, line)| !line.starts_with(b"#"));
    let summed = all().any(|(_, l)| pieces(l).any(|p| matches!(frame(p), Piece::Good { sum: true, .. })));
    let mut odd = Odd::default();
    let mut skipped: BTreeMap<&str, usize> = BTreeMap::new();
    let mut series = Series::default();
    let mut moments: Vec<Moment> = Vec::new();
    let mut kinds: Vec<&str> = Vec::new();
    let notes = lines(bytes).filter(|(_, line)| line.starts_with(b"#")).count();
    for (row, piece) in all().flat_map(|(row, line)| pieces(line).map(move |piece| (row, piece))) {
        let (kind, fields) = match frame(piece) {
            Piece::Noise => {
                odd.noise.push(row);
                continue;
            }
            Piece::BadSum => {
                odd.sum.push(row);
                continue;
            }
            Piece::Other(kind) => {
                *skipped.entry(kind).or_default() += 1;
                continue;
            }
            Piece::Good { sum: false, .. } if summed => {
                odd.cut.push(row);
                continue;
            }
            Piece::Good { kind, fields, sum } => {
                if !sum {
                    odd.unsummed.push(row);
                }
                (kind, fields)
            }
        };
        let Ok(said) = sentence::read(kind, &fields) else {
            odd.field.push(row);
            continue;
        };
        let carries_time = matches!(kind, "RMC" | "GGA" | "GLL" | "ZDA");
        let same = moments.last().is_some_and(|m| said.time.is_none_or(|time| time == m.time));
        // The same kind with the same time once more is a stamp that stands still.
        let again = same && kinds.contains(&kind);
        match said.time {
            Some(time) if !same || again => {
                kinds.clear();
                series.begin(time.0, row);
                moments.push(Moment { time, day: None, fix: None });
            }
            // RMC and its like before the receiver knows the time: nothing can be dated.
            None if carries_time || moments.is_empty() => {
                odd.early.push(row);
                continue;
            }
            None if again && kind != "GSA" => {
                odd.again.push(row);
                continue;
            }
            _ => (),
        }
        kinds.push(kind);
        series.count();
        if let Some(moment) = moments.last_mut() {
            moment.day = moment.day.or(said.day);
            moment.fix = match (moment.fix, said.fix) {
                (Some(a), Some(b)) => Some(a || b),
                (a, b) => a.or(b),
            };
        }
        if said.fix == Some(false) {
            odd.void.push(row);
        }
        said.values.into_iter().for_each(|(head, value)| series.put(head, value));
    }
    if moments.is_empty() {
        let why = "no RMC, GGA, GLL or ZDA sentence with a time can be read; copy the file anew, or let the receiver send them";
        return Err(RecorderError::NothingDated { file: path.to_owned(), format: "NMEA 0183", why: why.to_owned() });
    }
    let refused = [&odd.noise, &odd.sum, &odd.cut, &odd.field, &odd.early, &odd.again].iter().map(|l| l.count).sum();
    let mut findings = odd.findings();
    if !skipped.is_empty() {
        let counts: Vec<String> = skipped.iter().map(|(kind, n)| format!("{n} {kind}")).collect();
        let message = format!("sentences of kinds that are not read: {}", counts.join(", "));
        findings.push(Finding::new(Severity::Note, "sentences_skipped", message));
    }
    if notes > 0 {
        findings.push(Finding::new(Severity::Note, "comments", format!("{notes} lines begin with #: not looked at")));
    }
    let found = dates::resolve(&moments, &series.rows, &mut findings);
    series.ns = found.ns;
    if found.barred.iter().all(|b| *b) {
        let why = "every moment has a date or a second that never was".to_owned();
        return Err(RecorderError::NothingDated { file: path.to_owned(), format: "NMEA 0183", why });
    }
    let settled = series.settle(None, &found.barred);
    if found.dated {
        dates::rollover(settled.first_ns / (86_400 * SECOND), &moments, &mut findings);
    }
    let rest = Rest { refused, skipped: skipped.values().sum::<usize>() + notes, findings };
    recording(path, Format::Nmea, if found.dated { Dated::Utc } else { Dated::TimeOfDay }, zone, settled, rest)
}

impl Odd {
    fn findings(&self) -> Vec<Finding> {
        use Severity::{Note, Warning};
        [
            tell(&self.noise, Warning, "not_a_sentence", "text or bytes that are no sentence; refused"),
            tell(&self.sum, Warning, "checksum", "the checksum does not fit; refused"),
            tell(&self.cut, Warning, "cut_sentence", "no checksum, though other sentences have one: cut off; refused"),
            tell(&self.field, Warning, "bad_field", "fields are missing, cannot be read or lie out of range; refused"),
            tell(&self.early, Note, "sentence_without_time", "no time to go by; refused"),
            tell(&self.again, Note, "sentence_repeated", "the same kind again within one moment; refused"),
            tell(&self.unsummed, Note, "no_checksum", "no sentence of the file has a checksum; taken as they are"),
            tell(&self.void, Note, "void_fix", "the receiver says that it has no fix: only the time is used"),
        ]
        .into_iter()
        .flatten()
        .collect()
    }
}
