//! Local stamps of a named zone as instants.
//!
//! Rule. A stamp in the hour that never comes is refused: the clock was not that of the zone. In the hour that comes twice
//! the log itself may tell: rows that follow or precede others within half an hour belong to the same pass, and a step back
//! by no more than the hour begins the second one. Where it does not tell, no instant is given.

use super::rows::RowList;
use super::stamp::SECOND;
use crate::finding::{Finding, Severity};
use jiff::tz::{AmbiguousOffset, Offset, TimeZone};

/// Stamps turned into instants.
pub(super) struct Instants {
    /// Nanoseconds since 1970-01-01 UTC, one for every row that was given; of no meaning in rows that are not live.
    pub(super) ns: Vec<i64>,
    /// Indices of the rows whose stamp exists.
    pub(super) live: Vec<usize>,
    /// Whether every instant is sure.
    pub(super) certain: bool,
    /// What was odd.
    pub(super) findings: Vec<Finding>,
}

/// How far within one pass two neighbours may lie apart.
const NEAR: i64 = 1800 * SECOND;

/// Turns local nanoseconds into instants. `text` gives a row's stamp as written.
pub(super) fn instants(local: &[i64], rows: &[u64], zone: &TimeZone, text: &dyn Fn(usize) -> String) -> Instants {
    if let Ok(offset) = zone.to_fixed_offset() {
        let ns = local.iter().map(|ns| ns - nanoseconds(offset)).collect();
        return Instants { ns, live: (0..local.len()).collect(), certain: true, findings: Vec::new() };
    }
    let offsets: Vec<Option<AmbiguousOffset>> = local.iter().map(|ns| offset(*ns, zone)).collect();
    let (mut never, mut twice, mut open) = (RowList::default(), RowList::default(), RowList::default());
    let (mut first_never, mut first_twice) = (None, None);
    let mut chosen: Vec<Option<Offset>> = vec![None; local.len()];
    let mut before: Option<usize> = None;
    for i in 0..local.len() {
        match offsets[i] {
            Some(AmbiguousOffset::Unambiguous { offset }) => chosen[i] = Some(offset),
            Some(AmbiguousOffset::Fold { before: early, after: late }) => {
                twice.push(rows[i]);
                first_twice.get_or_insert(i);
                if let Some(last) = before {
                    let step = local[i] - local[last];
                    let hour = nanoseconds(early) - nanoseconds(late);
                    if (0..=NEAR).contains(&step) {
                        chosen[i] = chosen[last].filter(|c| *c == early || *c == late);
                    } else if (-hour..0).contains(&step) && step < -hour / 2 && chosen[last] != Some(late) {
                        chosen[i] = Some(late);
                        // What leads up to the step is the first pass.
                        for j in (0..=last).rev() {
                            let is_pass = matches!(offsets[j], Some(AmbiguousOffset::Fold { .. }));
                            if chosen[j].is_some() || !is_pass {
                                break;
                            }
                            chosen[j] = Some(early);
                        }
                    }
                }
            }
            _ => {
                never.push(rows[i]);
                first_never.get_or_insert(i);
                continue;
            }
        }
        before = Some(i);
    }
    let live: Vec<usize> =
        (0..local.len()).filter(|&i| !matches!(offsets[i], None | Some(AmbiguousOffset::Gap { .. }))).collect();
    for pair in live.windows(2).rev() {
        let near = (0..=NEAR).contains(&(local[pair[1]] - local[pair[0]]));
        if let (None, true, Some(AmbiguousOffset::Fold { before, after })) = (chosen[pair[0]], near, offsets[pair[0]]) {
            chosen[pair[0]] = chosen[pair[1]].filter(|c| *c == before || *c == after);
        }
    }
    let mut certain = true;
    let mut ns = local.to_vec();
    for &i in &live {
        if chosen[i].is_none() {
            certain = false;
            open.push(rows[i]);
        }
        let early = match offsets[i] {
            Some(AmbiguousOffset::Fold { before, .. }) => before,
            _ => Offset::UTC,
        };
        ns[i] -= nanoseconds(chosen[i].unwrap_or(early));
    }
    let name = zone.iana_name().unwrap_or("the zone");
    let mut findings = Vec::new();
    if let (Some(row), Some(first)) = (never.first(), first_never) {
        let message = format!(
            "{never}: `{}` never comes in {name}, where the clocks are put forward then; refused: the logger's clock is not \
             that of the zone, state utc_offset",
            text(first)
        );
        findings.push(Finding::new(Severity::Warning, "local_time_never", message).at_row(row));
    }
    if let (Some(row), Some(first)) = (twice.first(), first_twice) {
        let stamp = text(first);
        let (severity, message) = if certain {
            let message = format!(
                "{twice}: `{stamp}` comes twice in {name}; the rows before and after show which of the two it is"
            );
            (Severity::Note, message)
        } else {
            let message = format!(
                "{open}: `{stamp}` comes twice in {name}, and nothing shows which of the two it is: no instant is given; \
                 state utc_offset in place of zone"
            );
            (Severity::Warning, message)
        };
        findings.push(Finding::new(severity, "local_time_twice", message).at_row(row));
    }
    Instants { ns, live, certain, findings }
}

fn nanoseconds(offset: Offset) -> i64 {
    i64::from(offset.seconds()) * SECOND
}

fn offset(local: i64, zone: &TimeZone) -> Option<AmbiguousOffset> {
    let as_utc = jiff::Timestamp::from_nanosecond(i128::from(local)).ok()?;
    Some(zone.to_ambiguous_timestamp(Offset::UTC.to_datetime(as_utc)).offset())
}
