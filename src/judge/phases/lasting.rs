//! A condition that sets in and lets go only when it lasts.

/// Whether a condition holds from each of these moments on.
///
/// It sets in where `start` has been so for `start_s` without a break, and lets go where `end` has been so for `end_s`; both
/// count from where that began, since the whole flight is known. Nothing is known where the answer asked for is none, and
/// after that until one of the two is certain anew.
pub(super) fn lasting(
    times: &[f64],
    start: impl Fn(usize) -> Option<bool>,
    start_s: f64,
    end: impl Fn(usize) -> Option<bool>,
    end_s: f64,
) -> Vec<Option<bool>> {
    let mut holds = vec![None; times.len()];
    let (mut now, mut since): (Option<bool>, Option<usize>) = (None, None);
    for (i, &time) in times.iter().enumerate() {
        let until = times.get(i + 1).copied().unwrap_or(time);
        let (turns, seconds) = if now == Some(true) { (end(i), end_s) } else { (start(i), start_s) };
        match turns {
            None => (now, since) = (None, None),
            Some(false) => {
                let begun = since.take();
                if now.is_none() {
                    // What began after a gap and did not last was nothing.
                    now = Some(false);
                    holds[begun.unwrap_or(i)..i].fill(now);
                }
                holds[i] = now;
            }
            Some(true) => {
                let from = *since.get_or_insert(i);
                holds[i] = now;
                if until - times[from] >= seconds - 1e-9 {
                    now = Some(now != Some(true));
                    holds[from..=i].fill(now);
                    since = None;
                }
            }
        }
    }
    holds
}

#[cfg(test)]
mod tests {
    use super::lasting;
    use proptest::prelude::*;

    /// One tick a second; between the two bounds nothing is asked for.
    fn held(values: &[Option<f64>]) -> Vec<Option<bool>> {
        let times: Vec<f64> = (0..values.len()).map(|i| i as f64).collect();
        lasting(&times, |i| values[i].map(|v| v > 2.0), 3.0, |i| values[i].map(|v| v < 1.0), 2.0)
    }

    fn word(holds: &[Option<bool>]) -> String {
        holds.iter().map(|h| h.map_or('?', |yes| if yes { '#' } else { '.' })).collect()
    }

    fn read(text: &str) -> Vec<Option<f64>> {
        text.chars().map(|c| c.to_digit(10).map(|d| f64::from(d) / 2.0)).collect()
    }

    #[test]
    fn it_counts_from_where_it_began() {
        for (values, expected) in [
            ("00555533300000", "..#######....."),
            ("005500555000", "......###..."),
            ("0555330330333", ".############"),
            ("0555503055", ".#########"),
            ("0555?33300555000", ".###?.....###..."),
            ("0555?5?5550", ".###???####"),
            ("0555?5500", ".###?...."),
            ("0??", ".??"),
        ] {
            assert_eq!(word(&held(&read(values))), expected, "{values}");
        }
    }

    proptest! {
        /// Whatever comes, a spell that is not broken by a gap lasts as long as its own rule says.
        #[test]
        fn spells_last(values in proptest::collection::vec(proptest::option::weighted(0.95, 0.0f64..3.0), 1..80)) {
            let holds = held(&values);
            for (i, value) in values.iter().enumerate() {
                prop_assert!(value.is_some() || holds[i].is_none(), "nothing is known where there is no value");
            }
            let mut start = 0;
            while start < holds.len() {
                let end = start + holds[start..].iter().take_while(|h| **h == holds[start]).count();
                let bounded = |i: usize| holds.get(i).is_some_and(Option::is_some);
                if start > 0 && bounded(start - 1) && bounded(end) {
                    match holds[start] {
                        Some(true) => prop_assert!(end - start >= 3, "{}", word(&holds)),
                        Some(false) => prop_assert!(end - start >= 2, "{}", word(&holds)),
                        None => {}
                    }
                }
                start = end;
            }
        }
    }
}
