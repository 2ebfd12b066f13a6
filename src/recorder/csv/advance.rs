//! Rows whose clock stands still, falls back or leaps ahead for one row.
//!
//! Rule. Times must rise. Of rows with the same stamp the first is kept: the clock had just ticked then, so its stamp is
//! the truest; the others are refused, for spreading them would invent times. A row that lies before the row kept last is
//! refused until the clock has caught up. A single row that leaps ahead, after which the clock goes on from before, is
//! refused itself and not the rows that follow it.

use super::rows::RowList;
use crate::finding::{Finding, Severity};

/// What is left of the rows.
pub(in crate::recorder) struct Advance {
    /// Indices of the rows kept, times strictly rising.
    pub(in crate::recorder) kept: Vec<usize>,
    /// What was refused.
    pub(in crate::recorder) findings: Vec<Finding>,
}

/// Applies the rule of this module. `text` gives a row's stamp as written.
pub(in crate::recorder) fn advance(ns: &[i64], rows: &[u64], text: &dyn Fn(usize) -> String) -> Advance {
    let mut kept: Vec<usize> = Vec::with_capacity(ns.len());
    let (mut repeated, mut ahead) = (RowList::default(), RowList::default());
    let mut back = RowList::default();
    let mut first_back = None;
    for (i, &now) in ns.iter().enumerate() {
        let Some(&last) = kept.last() else {
            kept.push(i);
            continue;
        };
        if now > ns[last] {
            kept.push(i);
        } else if now == ns[last] {
            repeated.push(rows[i]);
        } else if leapt(ns, &kept, i) {
            kept.pop();
            kept.push(i);
            ahead.push(rows[last]);
        } else {
            first_back.get_or_insert((i, last));
            back.push(rows[i]);
        }
    }
    let warn = |code, list: &RowList, why: String| {
        let message = format!("{list}: {why}");
        list.first().map(|row| Finding::new(Severity::Warning, code, message).at_row(row))
    };
    let fall = first_back.map(|(i, last)| format!("from `{}` to `{}`", text(last), text(i))).unwrap_or_default();
    let findings = [
        warn("stamp_repeated", &repeated, "the clock stands still; only the first row of a stamp was taken".to_owned()),
        warn("stamp_ahead", &ahead, "the clock leaps ahead for one row; that row was refused".to_owned()),
        warn("clock_back", &back, format!("the clock falls back, first {fall}; rows were refused until it caught up")),
    ];
    Advance { kept, findings: findings.into_iter().flatten().collect() }
}

/// Whether the row kept last leapt ahead: without it row `i` is in order, and the row after `i` still lies before it.
fn leapt(ns: &[i64], kept: &[usize], i: usize) -> bool {
    let [.., last] = kept else { return false };
    let before = kept.len().checked_sub(2).map(|k| ns[kept[k]]);
    let next = ns.get(i + 1);
    before.is_none_or(|before| ns[i] > before)
        && next.is_some_and(|next| (ns[i]..=ns[*last]).contains(next) && *next > ns[i])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kept(ns: &[i64]) -> (Vec<i64>, Vec<&'static str>) {
        let rows: Vec<u64> = (2..).take(ns.len()).collect();
        let result = advance(ns, &rows, &|i| ns[i].to_string());
        (result.kept.iter().map(|&i| ns[i]).collect(), result.findings.iter().map(|f| f.code).collect())
    }

    #[test]
    fn rule() {
        assert_eq!(kept(&[1, 2, 3]), (vec![1, 2, 3], vec![]));
        assert_eq!(kept(&[1, 1, 1, 2, 2]), (vec![1, 2], vec!["stamp_repeated"]));
        assert_eq!(kept(&[10, 11, 12, 9, 10, 13]), (vec![10, 11, 12, 13], vec!["clock_back"]));
        assert_eq!(kept(&[10, 11, 99, 12, 13]), (vec![10, 11, 12, 13], vec!["stamp_ahead"]));
        assert_eq!(kept(&[99, 10, 11]), (vec![10, 11], vec!["stamp_ahead"]));
        assert_eq!(kept(&[10, 20, 30, 0, 10, 20]), (vec![10, 20, 30], vec!["clock_back"]), "a restart");
    }

    #[test]
    fn findings_name_rows_and_stamps() {
        let result = advance(&[10, 11, 12, 9, 10, 13], &[2, 3, 4, 5, 6, 7], &|i| format!("s{i}"));
        assert_eq!(result.findings[0].row, Some(5));
        assert!(result.findings[0].message.starts_with("rows 5, 6: "), "{}", result.findings[0].message);
        assert!(result.findings[0].message.contains("from `s2` to `s3`"));
    }

    proptest::proptest! {
        /// Whatever the stamps: what is kept rises strictly, and nothing is lost without a finding.
        #[test]
        fn kept_rows_rise(ns in proptest::collection::vec(-5i64..40, 0..60)) {
            let (kept, codes) = kept(&ns);
            proptest::prop_assert!(kept.windows(2).all(|pair| pair[0] < pair[1]));
            proptest::prop_assert_eq!(kept.len() < ns.len(), !codes.is_empty());
        }
    }
}
