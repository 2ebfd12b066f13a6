//! A channel as one line of blocks, for a terminal that is wide enough.

use crate::signal::{Channel, Cursor, Samples};

const BLOCKS: [char; 8] =
    ['\u{2581}', '\u{2582}', '\u{2583}', '\u{2584}', '\u{2585}', '\u{2586}', '\u{2587}', '\u{2588}'];
/// What stands where nothing is known.
const GAP: char = '\u{b7}';
/// Cells of the table before it, and fewest and most of its own.
const TABLE: usize = 82;
const CELLS: std::ops::RangeInclusive<usize> = 16..=60;

/// How many cells there is room for beside the table; none where that is too few, or nobody looks.
pub(super) fn room() -> Option<usize> {
    use std::io::IsTerminal;
    let columns = std::io::stdout().is_terminal().then(terminal_size::terminal_size)?;
    cells(usize::from(columns?.0.0))
}

fn cells(columns: usize) -> Option<usize> {
    let free = columns.saturating_sub(TABLE);
    (free >= *CELLS.start()).then_some(free.min(*CELLS.end()))
}

/// The channel over `duration_s` in so many cells: each shows the mean of its records, or what stands between its neighbours.
pub(super) fn sparkline(channel: &Channel, duration_s: f64, cells: usize) -> String {
    let (Samples::Numbers(values), Some((low, high))) = (&channel.samples, channel.range()) else {
        return String::new();
    };
    let (width, mut cursor) = (duration_s.max(1e-9) / cells as f64, Cursor::default());
    let block = |value: f64| {
        let share = if high > low { (value - low) / (high - low) } else { 0.5 };
        BLOCKS[((share * 8.0) as usize).min(7)]
    };
    let cell = |i: usize| {
        let (from, to) = (i as f64 * width, (i + 1) as f64 * width);
        let first = channel.times.partition_point(|&t| t < from);
        // The last record ends the last cell.
        let end = if i + 1 == cells { channel.times.len() } else { channel.times.partition_point(|&t| t < to) };
        match values.get(first..end) {
            Some(inside @ [_, ..]) => block(inside.iter().sum::<f64>() / inside.len() as f64),
            _ => channel.reading_at((from + to) / 2.0, &mut cursor).number().map_or(GAP, block),
        }
    };
    (0..cells).map(cell).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::recorder::{Options, read};

    fn line(table: &str, cells: usize) -> Vec<String> {
        let folder = tempfile::tempdir().expect("folder");
        let file = folder.path().join("log.csv");
        std::fs::write(&file, table).expect("log");
        let log = read(&file, &Options::default()).expect("read");
        log.channels.iter().map(|c| sparkline(c, log.duration_s(), cells)).collect()
    }

    #[test]
    fn rises_gaps_and_constants_show() {
        let rows: String = (0..160)
            .map(|i| {
                let gap = if (60..100).contains(&i) { String::new() } else { format!("{i}") };
                format!("{}.{},{i},{gap},5,0021\n", i / 10, i % 10)
            })
            .collect();
        let lines = line(&format!("t_s,up,gap,still,squawk\n{rows}"), 16);
        assert_eq!(
            lines[0],
            "\u{2581}\u{2581}\u{2582}\u{2582}\u{2583}\u{2583}\u{2584}\u{2584}\u{2585}\u{2585}\u{2586}\u{2586}\u{2587}\u{2587}\u{2588}\u{2588}"
        );
        assert!(
            lines[1].contains(GAP) && lines[1].starts_with('\u{2581}') && lines[1].ends_with('\u{2588}'),
            "{}",
            lines[1]
        );
        assert!(lines[2].chars().all(|c| c == BLOCKS[4]), "{}", lines[2]);
        assert!([0, 1, 2].iter().all(|&i| lines[i].chars().count() == 16) && lines[3].is_empty(), "{lines:?}");
    }

    #[test]
    fn a_narrow_terminal_has_none() {
        assert_eq!([80, 97, 98, 120, 300].map(cells), [None, None, Some(16), Some(38), Some(60)]);
    }
}
