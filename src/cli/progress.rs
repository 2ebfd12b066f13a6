//! How the work goes on: a bar on a terminal, plain lines elsewhere.

use crate::render::Progress;
use crate::time::{FilmTime, format_film_time};
use indicatif::{ProgressBar, ProgressStyle};
use std::io::IsTerminal;
use std::time::{Duration, Instant};

/// Time between two plain lines.
const EVERY: Duration = Duration::from_secs(1);

/// Progress for a person, or for a program that reads lines.
pub(crate) enum Shown {
    /// Nothing.
    Silent,
    /// A bar that is drawn over.
    Bar(ProgressBar),
    /// A line a second: `progress frame=N of=N film_s=S per_s=N left_s=N`.
    Lines {
        /// When the work began.
        start: Instant,
        /// When the last line was written.
        last: Option<Instant>,
        /// What the next line will say, for the last one.
        waiting: Option<String>,
    },
}

impl Shown {
    pub(crate) fn new(quiet: bool) -> Self {
        if quiet {
            Self::Silent
        } else if std::io::stderr().is_terminal() {
            let bar = ProgressBar::new(0);
            let style = "{wide_bar} {percent}%  film {msg}  {per_sec}  {eta} left";
            if let Ok(style) = ProgressStyle::with_template(style) {
                bar.set_style(style);
            }
            Self::Bar(bar)
        } else {
            Self::Lines { start: Instant::now(), last: None, waiting: None }
        }
    }

    /// Takes the bar away, or writes the last line.
    pub(crate) fn end(&mut self) {
        match self {
            Self::Silent => {}
            Self::Bar(bar) => bar.finish_and_clear(),
            Self::Lines { waiting, .. } => {
                if let Some(line) = waiting.take() {
                    eprintln!("{line}");
                }
            }
        }
    }
}

impl Progress for Shown {
    fn frame(&mut self, done: u64, expected: u64, film: FilmTime) {
        // The container's own count is a guess for some; the work may go beyond it.
        let expected = expected.max(done);
        match self {
            Self::Silent => {}
            Self::Bar(bar) => {
                bar.set_length(expected);
                bar.set_position(done);
                bar.set_message(format_film_time(film));
            }
            Self::Lines { start, last, waiting } => {
                let now = Instant::now();
                let rate = done as f64 / (now - *start).as_secs_f64().max(1e-3);
                let left = (expected - done) as f64 / rate.max(1e-9);
                let line = format!(
                    "progress frame={done} of={expected} film_s={:.3} per_s={rate:.1} left_s={left:.0}",
                    film.0
                );
                if last.is_some_and(|last| now - last < EVERY) {
                    *waiting = Some(line);
                } else {
                    (*last, *waiting) = (Some(now), None);
                    eprintln!("{line}");
                }
            }
        }
    }
}
